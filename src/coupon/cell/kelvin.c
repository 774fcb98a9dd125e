/* Bitruncated cubic honeycomb: truncated octahedra about the corners and the centre of a cube;
 * joints lie at the permutations of (0, 1/4, 1/2), four neighbours at sqrt(2)/4. Thomson (Lord
 * Kelvin) 1887, Phil. Mag. 24, 503. The box is that around one of the bodies: its squares lie in
 * the faces, nothing is cut. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_kelvin_lattice(sp_context *context, const sp_case *request, sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0.25, 0.5}, {0, 0.75, 0.5}, {0, 0.5, 0.25},
                                       {0, 0.5, 0.75}, {0.5, 0, 0.25}, {0.5, 0, 0.75},
                                       {0.25, 0, 0.5}, {0.75, 0, 0.5}, {0.25, 0.5, 0},
                                       {0.75, 0.5, 0}, {0.5, 0.25, 0}, {0.5, 0.75, 0}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 12, vertex, sqrt(2) / 4);
    return SP_OK;
}
