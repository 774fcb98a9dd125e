/* Shared by the files of this folder: the two functions of every pattern, declared from the list. */
#ifndef SP_PATTERN_PARTS_H
#define SP_PATTERN_PARTS_H

#include "pattern/pattern.h"

#define SP_PATTERN(key, name, alias, doc, perfect, unit_edges, angle)                              \
    double sp_##key##_line_density(const sp_case *request);                                        \
    sp_status sp_##key##_emit(sp_context *context, const sp_case *request, double radius,          \
                              sp_pieces *pieces);
#include "pattern/pattern_list.h"
#undef SP_PATTERN

#endif
