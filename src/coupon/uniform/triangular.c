/* 3.3.3.3.3.3: triangular tiling: triangles, six at each joint. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Three edges in an area of sqrt(3) / 2. */
double sp_triangular_line_density(const sp_case *request)
{
    (void)request;
    return 2 * sqrt(3);
}

sp_status sp_triangular_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    *tiling = (sp_tiling){.basis = {{1, 0}, {0.5, sqrt(3) / 2}}, .vertex_count = 1};
    sp_tiling_link(tiling);
    return SP_OK;
}
