/* 3.3.4.3.4: turned squares parted by pairs of triangles. Edge length = cell length.
 * Gruenbaum & Shephard, Tilings and Patterns (1987), as public lists of the eleven quote it. */
#include <math.h>

#include "pattern/parts.h"

/* Ten edges per period of area 2 + sqrt(3). */
double sp_snub_square_line_density(const sp_case *request)
{
    (void)request;
    return 10 / (2 + sqrt(3));
}

sp_status sp_snub_square_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context, (void)request;
    /* Square lattice of period p, p^2 = 2 + sqrt(3); vertices (u, u + 1/2) p and their turns by 90
     * deg, where 2 sqrt(2) u p = 1 makes the edge between two triangles as long as the others. */
    double p = sqrt(2 + sqrt(3)), u = sqrt(0.125), v = p / 2;
    *tiling = (sp_tiling){.basis = {{p, 0}, {0, p}},
                          .vertex_count = 4,
                          .vertex = {{u, v + u}, {-u, v - u}, {v - u, u}, {v + u, -u}}};
    sp_tiling_link(tiling);
    return SP_OK;
}
