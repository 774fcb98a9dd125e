/* 4.4.4.4: square tiling: squares, four at each joint. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* One vertex and two edges in an area of 1. */
double sp_square_line_density(const sp_case *request)
{
    (void)request;
    return 2;
}

sp_status sp_square_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    *tiling = (sp_tiling){.basis = {{1, 0}, {0, 1}}, .vertex_count = 1};
    sp_tiling_link(tiling);
    return SP_OK;
}
