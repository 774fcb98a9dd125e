/* Body-centred cubic: joints at the corners and the centre of a cube, eight neighbours at
 * sqrt(3)/2. Ashcroft & Mermin, Solid State Physics (1976), chapter 4. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_body_centred_cubic_lattice(sp_context *context, const sp_case *request,
                                        sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0, 0}, {0.5, 0.5, 0.5}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 2, vertex, sqrt(3) / 2);
    return SP_OK;
}
