/* 4.8.8: octagons and squares. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Six edges per period; half of the eight corners around the origin belong to its cell. */
double sp_truncated_square_line_density(const sp_case *request)
{
    (void)request;
    return 6 / (3 + 2 * sqrt(2));
}

sp_status sp_truncated_square_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    double period = 1 + sqrt(2), corner = 0.5 / sin(M_PI / 8);
    *tiling = (sp_tiling){.basis = {{period, 0}, {0, period}}, .vertex_count = 4};
    for (int k = 0; k < 4; k++) {
        double angle = (2 * k - 1) * M_PI / 8;
        tiling->vertex[k][0] = corner * cos(angle);
        tiling->vertex[k][1] = corner * sin(angle);
    }
    sp_tiling_link(tiling);
    return SP_OK;
}
