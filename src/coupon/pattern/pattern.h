/* Patterns: each fills a box with straight line pieces by geometry. One file per pattern plus one
 * row in pattern_list.h.
 *
 * A pattern row knows nothing of coupons or walls: it emits pieces that cover a disc of given
 * radius about the origin, for a unit cell length; the network module scales, turns, shifts, clips
 * and joins them. */
#ifndef SP_PATTERN_H
#define SP_PATTERN_H

#include <strutpress/case.h>
#include <strutpress/context.h>

typedef struct sp_pieces {
    int count, capacity;
    double *end; /* 4 per piece: xa ya xb yb, in units of the pattern's length */
} sp_pieces;

sp_status sp_pieces_add(sp_context *context, sp_pieces *pieces, double xa, double ya, double xb,
                        double yb);
void sp_pieces_free(sp_pieces *pieces);

struct sp_tiling;

typedef struct sp_pattern_row {
    const char *name;  /* "4.4.4.4" (vertex configuration) or plain */
    const char *alias; /* for example "square"; "" when it has none */
    const char *doc;   /* one line: what it is */
    int perfect;       /* 1: periodic; 0: random or drawn */
    /* Struts longer than this cell length never occur; it is for the slenderness, and 0 when
     * unknown. */
    double unit_edges;
    /* Turn of the pattern when the case gives no angle: the one that is tested most often (common
     * practice, no source) [deg]. */
    double angle;
    /* Line length per area of the endless pattern for cell length 1 (exact), [1/length]. NaN when
     * only known after emit; 0 when drawn to scale: its pieces are in mm and are not scaled, turned
     * or shifted by the case. */
    double (*line_density)(const sp_case *request);
    /* Tilings: their lattice vectors, vertices and edges. NULL for the others. Errors:
     * SP_BAD_CASE. */
    sp_status (*tiling)(sp_context *context, const sp_case *request, struct sp_tiling *tiling);
    /* Patterns that are not tilings have these two functions, behind sp_pattern_lattice and
     * sp_pattern_emit. */
    void (*lattice)(const sp_case *request, double vector[2][2]);
    sp_status (*emit)(sp_context *context, const sp_case *request, double radius,
                      sp_pieces *pieces);
} sp_pattern_row;

/* Lattice vectors in cell lengths, before the pattern is turned: a shift by either leaves the
 * endless pattern as it is. Random cells: one mean cell length along x and y. Drawn: zero. Errors:
 * SP_BAD_CASE. */
sp_status sp_pattern_lattice(sp_context *context, const sp_pattern_row *row, const sp_case *request,
                             double vector[2][2]);

/* Emit all pieces that touch the disc of `radius` (in cell lengths) about the origin. Errors:
 * SP_BAD_CASE, SP_NO_MEMORY. */
sp_status sp_pattern_emit(sp_context *context, const sp_pattern_row *row, const sp_case *request,
                          double radius, sp_pieces *pieces);

const sp_pattern_row *sp_pattern_rows(int *count);
const sp_pattern_row *sp_pattern_find(const char *name_or_alias); /* NULL when it is unknown */

/* The pattern that a word of geometry is near ("square" of "grid"), a row here or in cell_list.h;
 * NULL when none. */
const char *sp_pattern_near(const char *word);

/* Turn of the pattern of a case counter-clockwise [deg]: the one it gives, else that of its row. */
double sp_pattern_angle(const sp_case *request);

#endif
