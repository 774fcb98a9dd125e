/* 3.3.3.3.6: hexagons in a sea of triangles: the triangular tiling without every seventh joint.
 * Edge length = cell length. Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of
 * the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Fifteen edges in an area of 7 sqrt(3) / 2; the origin is the joint left out. */
double sp_snub_hexagonal_line_density(const sp_case *request)
{
    (void)request;
    return 30 / (7 * sqrt(3));
}

sp_status sp_snub_hexagonal_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    double h = sqrt(3) / 2;
    *tiling = (sp_tiling){.basis = {{2.5, h}, {0.5, 3 * h}},
                          .vertex_count = 6,
                          .vertex = {{1, 0}, {0.5, h}, {-0.5, h}, {-1, 0}, {-0.5, -h}, {0.5, -h}}};
    sp_tiling_link(tiling);
    return SP_OK;
}
