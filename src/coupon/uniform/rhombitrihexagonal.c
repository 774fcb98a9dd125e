/* 3.4.6.4: hexagons framed by squares and triangles. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Twelve edges per period; the vertices are the corners of the hexagon about the origin. */
double sp_rhombitrihexagonal_line_density(const sp_case *request)
{
    (void)request;
    return 24 / (sqrt(3) * (4 + 2 * sqrt(3)));
}

sp_status sp_rhombitrihexagonal_tiling(sp_context *context, const sp_case *request,
                                       sp_tiling *tiling)
{
    (void)context, (void)request;
    double period = 1 + sqrt(3);
    *tiling =
        (sp_tiling){.basis = {{period, 0}, {period / 2, period * sqrt(3) / 2}}, .vertex_count = 6};
    for (int k = 0; k < 6; k++) {
        double angle = (2 * k + 1) * M_PI / 6;
        tiling->vertex[k][0] = cos(angle);
        tiling->vertex[k][1] = sin(angle);
    }
    sp_tiling_link(tiling);
    return SP_OK;
}
