/* 3.12.12: twelve-sided polygons and triangles. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Nine edges per period; half of the twelve corners around the origin belong to its cell. */
double sp_truncated_hexagonal_line_density(const sp_case *request)
{
    (void)request;
    return 18 / (sqrt(3) * (2 + sqrt(3)) * (2 + sqrt(3)));
}

sp_status sp_truncated_hexagonal_tiling(sp_context *context, const sp_case *request,
                                        sp_tiling *tiling)
{
    (void)context, (void)request;
    double period = 2 + sqrt(3), corner = 0.5 / sin(M_PI / 12);
    *tiling =
        (sp_tiling){.basis = {{period, 0}, {period / 2, period * sqrt(3) / 2}}, .vertex_count = 6};
    for (int k = 0; k < 6; k++) {
        double angle = (2 * k - 1) * M_PI / 12;
        tiling->vertex[k][0] = corner * cos(angle);
        tiling->vertex[k][1] = corner * sin(angle);
    }
    sp_tiling_link(tiling);
    return SP_OK;
}
