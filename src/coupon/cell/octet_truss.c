/* Octet truss: joints of the face-centred cubic lattice, each strutted to its twelve neighbours at
 * sqrt(2)/2: octahedra and tetrahedra. Ashcroft & Mermin (1976), chapter 4; Deshpande, Fleck &
 * Ashby 2001, J. Mech. Phys. Solids 49, 1747. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_octet_truss_lattice(sp_context *context, const sp_case *request, sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0, 0}, {0, 0.5, 0.5}, {0.5, 0, 0.5}, {0.5, 0.5, 0}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 4, vertex, sqrt(0.5));
    return SP_OK;
}
