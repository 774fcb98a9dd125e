/* Cells: patterns that fill space with straight lines. One file per pattern plus one row in
 * cell_list.h.
 *
 * Like a planar pattern, a cell knows nothing of coupons: the network stretches, turns, shifts,
 * clips and joins. y is the pressing direction. */
#ifndef SP_PATTERN_CELL_H
#define SP_PATTERN_CELL_H

#include "pattern/lattice.h"

typedef struct sp_cell_row {
    const char *name, *alias; /* alias "": none */
    const char *doc;          /* one line: what it is */
    /* Find the lattice of a periodic cell; the case gives angles and ratios. NULL for random cells.
     * Errors: SP_BAD_CASE. */
    sp_status (*lattice)(sp_context *context, const sp_case *request, sp_lattice *lattice);
    /* Emit all lines of random cells, one per cell length cubed, that touch the box -half .. half.
     * NULL for periodic cells. */
    sp_status (*emit)(sp_context *context, const sp_case *request, const double half[3],
                      sp_lines *lines);
} sp_cell_row;

const sp_cell_row *sp_cell_rows(int *count);
const sp_cell_row *sp_cell_find(const char *name_or_alias); /* NULL when it is unknown or planar */

#define SP_CELL(key, name, alias, doc)                                                             \
    sp_status sp_##key##_lattice(sp_context *context, const sp_case *request, sp_lattice *lattice);
#define SP_RANDOM_CELL(key, name, alias, doc)                                                      \
    sp_status sp_##key##_emit(sp_context *context, const sp_case *request, const double half[3],   \
                              sp_lines *lines);
#include "pattern/cell_list.h"
#undef SP_CELL
#undef SP_RANDOM_CELL

#endif
