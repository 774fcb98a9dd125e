/* Simple cubic: one joint and three struts in a cube of side 1, six neighbours at distance 1.
 * Ashcroft & Mermin, Solid State Physics (1976), chapter 4. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_simple_cubic_lattice(sp_context *context, const sp_case *request, sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0, 0}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 1, vertex, 1);
    return SP_OK;
}
