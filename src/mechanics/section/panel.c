#include "section/panel.h"

#include <math.h>

#include "section/gauss.h"

static const double framework_ratio = 1.0 / 3; /* Poisson's ratio of the framework */
/* Against shear across the plate the bars of all directions together count 3/2 of it. E102 */
static const double shear_share = 2.0 / 3;
static const double in_panel_share = 1e-2; /* of the bending stiffness in the panel */

void sp_panel_section(sp_spatial_section *section, const sp_law *law, double width,
                      double thickness, double rim, int points)
{
    const int n = points < 2 ? 2 : points > SP_SPATIAL_SIDE_MAX ? SP_SPATIAL_SIDE_MAX : points;
    const double area = width * thickness, nu = law->poisson_ratio;
    const double stretch2 = (1 - framework_ratio * framework_ratio) / (1 - nu * nu); /* E101 */
    const double shear = shear_share * 5.0 / 6 * law->shear_modulus * area;
    double x[SP_SPATIAL_SIDE_MAX] = {0}, weight[SP_SPATIAL_SIDE_MAX] = {0};
    sp_gauss_rule(n, x, weight);
    *section = (sp_spatial_section){.law = law,
                                    .shape = SP_SHAPE_PANEL,
                                    .spread = 1,
                                    .size = {thickness, width},
                                    .points = n,
                                    .axial_stiffness = law->modulus * area,
                                    .shear_stiffness = {shear, shear}};
    /* The bars twist on free edges only. E102 */
    section->torsion_stiffness = law->shear_modulus * thickness * thickness * thickness / 3 * rim;
    for (int i = 0; i < n; i++) {
        section->y[i] = 0.5 * thickness * sqrt(stretch2) * x[i];
        section->weight[i] = 0.5 * area * weight[i];
    }
    section->bending_stiffness[0] = in_panel_share * law->modulus * area * width * width / 12;
    section->bending_stiffness[1] = law->modulus * area * stretch2 * thickness * thickness / 12;
}
