/* Rhombic dodecahedral honeycomb: its edges join the corners where eight of them meet (a
 * face-centred cubic lattice) to their eight neighbours at sqrt(3)/4, where four meet; the
 * neighbourhoods of fluorite. That its cells have eight corners of three faces and six of four was
 * read in public texts, which cite Coxeter, Regular Polytopes (1973). */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_rhombic_dodecahedral_lattice(sp_context *context, const sp_case *request,
                                          sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0, 0},          {0, 0.5, 0.5},      {0.5, 0, 0.5},
                                       {0.5, 0.5, 0},      {0.25, 0.25, 0.25}, {0.75, 0.25, 0.25},
                                       {0.25, 0.75, 0.25}, {0.25, 0.25, 0.75}, {0.75, 0.75, 0.25},
                                       {0.75, 0.25, 0.75}, {0.25, 0.75, 0.75}, {0.75, 0.75, 0.75}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 12, vertex, sqrt(3) / 4);
    return SP_OK;
}
