/* Courses of bricks, each shifted by half a brick. Cell length = height of a course, cell_ratio =
 * length / height. */
#include "pattern/parts.h"

/* Each brick has one length of level line and one upright of height 1 in an area of length x 1. */
double sp_bricks_line_density(const sp_case *request)
{
    return 1 + 1 / request->cell_ratio;
}

sp_status sp_bricks_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    (void)context;
    double half = request->cell_ratio / 2;
    *tiling = (sp_tiling){.basis = {{2 * half, 0}, {half, 1}},
                          .vertex_count = 2,
                          .vertex = {{-half / 2, -0.5}, {half / 2, -0.5}},
                          .edge_count = 3,
                          .edge = {{0, 1, 0, 0}, {1, 0, 1, 0}, {0, 1, -1, 1}}};
    return SP_OK;
}
