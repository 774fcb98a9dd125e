/* Diamond cubic: two face-centred cubic lattices a quarter of a space diagonal apart, four
 * neighbours at sqrt(3)/4. Ashcroft & Mermin, Solid State Physics (1976), chapter 4. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_diamond_cubic_lattice(sp_context *context, const sp_case *request, sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0, 0},          {0, 0.5, 0.5},      {0.5, 0, 0.5},
                                       {0.5, 0.5, 0},      {0.25, 0.25, 0.25}, {0.25, 0.75, 0.75},
                                       {0.75, 0.25, 0.75}, {0.75, 0.75, 0.25}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 8, vertex, sqrt(3) / 4);
    return SP_OK;
}
