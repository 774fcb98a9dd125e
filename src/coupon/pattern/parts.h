/* Shared by the files of planar patterns: the functions of every pattern, declared from the
 * list. */
#ifndef SP_PATTERN_PARTS_H
#define SP_PATTERN_PARTS_H

#include "pattern/tiling.h"

#define SP_TILING(key, name, alias, doc, perfect, unit_edges, angle)                               \
    double sp_##key##_line_density(const sp_case *request);                                        \
    sp_status sp_##key##_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling);
#define SP_PATTERN(key, name, alias, doc, perfect, unit_edges, angle)                              \
    double sp_##key##_line_density(const sp_case *request);                                        \
    void sp_##key##_lattice(const sp_case *request, double vector[2][2]);                          \
    sp_status sp_##key##_emit(sp_context *context, const sp_case *request, double radius,          \
                              sp_pieces *pieces);
#include "pattern/pattern_list.h"
#undef SP_TILING
#undef SP_PATTERN

#endif
