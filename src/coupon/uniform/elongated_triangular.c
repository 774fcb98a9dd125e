/* 3.3.3.4.4: rows of squares between rows of triangles. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Five edges in an area of 1 + sqrt(3) / 2. */
double sp_elongated_triangular_line_density(const sp_case *request)
{
    (void)request;
    return 10 / (2 + sqrt(3));
}

sp_status sp_elongated_triangular_tiling(sp_context *context, const sp_case *request,
                                         sp_tiling *tiling)
{
    (void)context, (void)request;
    *tiling = (sp_tiling){.basis = {{1, 0}, {0.5, 1 + sqrt(3) / 2}},
                          .vertex_count = 2,
                          .vertex = {{0, 0.5}, {0, -0.5}}};
    sp_tiling_link(tiling);
    return SP_OK;
}
