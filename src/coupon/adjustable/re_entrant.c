/* Hexagons with upright walls of length h and slanted walls of length l at theta from level; theta
 * below 0 folds them inwards. Gibson & Ashby, Cellular Solids (1997), chapter 4, from memory. Cell
 * length = l, cell_ratio = h / l. */
#include <math.h>
#include <stdio.h>

#include "case/case_parts.h"
#include "pattern/parts.h"

static double course_height(const sp_case *request)
{
    return request->cell_ratio + sin(request->cell_angle * M_PI / 180);
}

/* Two slanted walls and one upright wall in an area of 2 cos theta (h/l + sin theta). */
double sp_re_entrant_line_density(const sp_case *request)
{
    double across = cos(request->cell_angle * M_PI / 180);
    return (request->cell_ratio + 2) / (2 * across * course_height(request));
}

/* Facing corners of a folded cell are h + 2 l sin theta apart and must leave more than a bead
 * between their lines. */
static sp_status check(sp_context *context, const sp_case *request)
{
    char text[160];
    double fold = -2 * sin(request->cell_angle * M_PI / 180), gap = request->cell_ratio - fold;
    if (gap > 0) {
        double cell = sp_re_entrant_line_density(request) * request->bead_width / request->density;
        if (gap * cell > request->bead_width) return SP_OK;
    }
    snprintf(text, sizeof text,
             "more than %.4g plus a bead: at %.4g deg facing corners of a cell touch below that "
             "(a lower density leaves more room)",
             fold, request->cell_angle);
    return sp_case_fail_at(context, request, "infill.cell_ratio", NULL, text, NULL);
}

sp_status sp_re_entrant_tiling(sp_context *context, const sp_case *request, sp_tiling *tiling)
{
    double across = cos(request->cell_angle * M_PI / 180), course = course_height(request);
    double half = request->cell_ratio / 2;
    *tiling = (sp_tiling){.basis = {{2 * across, 0}, {across, course}},
                          .vertex_count = 2,
                          .vertex = {{0, -half}, {0, half}},
                          .edge_count = 3,
                          .edge = {{0, 1, 0, 0}, {1, 0, 0, 1}, {1, 0, -1, 1}}};
    return check(context, request);
}
