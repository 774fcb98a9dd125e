/* 6.6.6: hexagonal tiling: hexagons with upright walls, three at each joint. Edge length = cell
 * length. Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote
 * it. */
#include <math.h>

#include "pattern/parts.h"

/* Three edges in an area of 3 sqrt(3) / 2; the origin is the centre of a hexagon. */
double sp_hexagonal_line_density(const sp_case *request)
{
    (void)request;
    return 2 / sqrt(3);
}

sp_status sp_hexagonal_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    double h = sqrt(3) / 2;
    *tiling = (sp_tiling){
        .basis = {{2 * h, 0}, {h, 1.5}}, .vertex_count = 2, .vertex = {{h, 0.5}, {h, -0.5}}};
    sp_tiling_link(tiling);
    return SP_OK;
}
