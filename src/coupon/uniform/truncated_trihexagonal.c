/* 4.6.12: twelve-sided polygons, hexagons and squares. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Eighteen edges per period; the vertices are the corners of the polygon about the origin. */
double sp_truncated_trihexagonal_line_density(const sp_case *request)
{
    (void)request;
    return 36 / (sqrt(3) * (12 + 6 * sqrt(3)));
}

sp_status sp_truncated_trihexagonal_tiling(sp_context *context, const sp_case *request,
                                           sp_tiling *tiling)
{
    (void)context, (void)request;
    double period = 3 + sqrt(3), corner = 0.5 / sin(M_PI / 12);
    *tiling =
        (sp_tiling){.basis = {{period, 0}, {period / 2, period * sqrt(3) / 2}}, .vertex_count = 12};
    for (int k = 0; k < 12; k++) {
        double angle = (2 * k + 1) * M_PI / 12;
        tiling->vertex[k][0] = corner * cos(angle);
        tiling->vertex[k][1] = corner * sin(angle);
    }
    sp_tiling_link(tiling);
    return SP_OK;
}
