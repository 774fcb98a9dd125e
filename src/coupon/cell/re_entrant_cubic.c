/* Re-entrant hexagons in both upright planes: upright struts of length h stand on a square grid,
 * the top of each joined to the feet of its four neighbours, which stand a course higher, by struts
 * of length l at theta from level; theta below 0 folds the cells inwards. In each upright plane
 * this is the planar cell of Gibson & Ashby, Cellular Solids (1997), chapter 4, from memory. Cell
 * length = width of the repeating box, 2 l cos theta; cell_ratio = h / l. */
#include <math.h>
#include <stdio.h>

#include "case/case_parts.h"
#include "pattern/cell.h"

/* The top of an upright and the foot of the next one above it are h + 2 l sin theta apart. */
static sp_status check(sp_context *context, const sp_case *request, double slope)
{
    char text[160];
    if (request->cell_ratio + 2 * slope > 0) return SP_OK;
    snprintf(text, sizeof text,
             "more than %.4g: at %.4g deg facing corners of a cell touch below that", -2 * slope,
             request->cell_angle);
    return sp_case_fail_at(context, request, "infill.cell_ratio", NULL, text, NULL);
}

sp_status sp_re_entrant_cubic_lattice(sp_context *context, const sp_case *request,
                                      sp_lattice *lattice)
{
    double theta = request->cell_angle * M_PI / 180;
    double slanted = 0.5 / cos(theta), half = 0.5 * request->cell_ratio * slanted;
    double course = 2 * half + slanted * sin(theta);
    sp_status status = check(context, request, sin(theta));
    if (status != SP_OK) return status;
    /* one upright per point of a body-centred lattice: its foot is vertex 0, its top vertex 1 */
    *lattice = (sp_lattice){
        .box = {1, 2 * course, 1},
        .basis = {{0.5, course, 0}, {-0.5, course, 0}, {0, course, 0.5}},
        .vertex_count = 2,
        .vertex = {{0, -half, 0}, {0, half, 0}},
        .edge_count = 5,
        .edge = {
            {0, 1, 0, 0, 0}, {1, 0, 1, 0, 0}, {1, 0, 0, 1, 0}, {1, 0, 0, 0, 1}, {1, 0, 1, 1, -1}}};
    return SP_OK;
}
