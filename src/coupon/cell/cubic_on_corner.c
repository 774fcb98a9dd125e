/* Simple cubic with [111] upright. Edge length = cell length. Columns of joints stand sqrt(3) apart
 * in y and form a triangular lattice of spacing sqrt(2), so that a box of sqrt(2) x sqrt(3) x
 * sqrt(6) repeats it. The struts that cross its z faces are cut there. Ashcroft & Mermin, Solid
 * State Physics (1976), chapters 4 and 5. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_cubic_on_corner_lattice(sp_context *context, const sp_case *request,
                                     sp_lattice *lattice)
{
    const double x = sqrt(1.0 / 2), y = sqrt(1.0 / 3), z = sqrt(1.0 / 6);
    (void)context, (void)request;
    *lattice = (sp_lattice){.box = {2 * x, 3 * y, 6 * z},
                            .basis = {{x, y, -z}, {-x, y, -z}, {0, y, 2 * z}},
                            .vertex_count = 1};
    sp_lattice_link(lattice, 1);
    return SP_OK;
}
