/* 3.6.3.6: kagome: three families of straight lines around triangles and hexagons. Edge length =
 * cell length. Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven
 * quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Six edges in an area of 2 sqrt(3); the origin is the centre of a hexagon. */
double sp_kagome_line_density(const sp_case *request)
{
    (void)request;
    return sqrt(3);
}

sp_status sp_kagome_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    double h = sqrt(3) / 2;
    *tiling = (sp_tiling){
        .basis = {{2, 0}, {1, 2 * h}}, .vertex_count = 3, .vertex = {{1, 0}, {0.5, h}, {-0.5, h}}};
    sp_tiling_link(tiling);
    return SP_OK;
}
