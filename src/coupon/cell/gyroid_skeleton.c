/* Laves graph (K4 crystal), the skeleton of one side of the gyroid: eight joints in a cube, three
 * neighbours at sqrt(2)/4, rings of ten. Sunada 2008, Notices AMS 55, 208. Its joints lie at (1/8,
 * 1/8, 1/8) and so on (Wyckoff position 8a of I4_1 32); here moved by an eighth, so that no strut
 * crosses the faces of the box. */
#include <math.h>

#include "pattern/cell.h"

sp_status sp_gyroid_skeleton_lattice(sp_context *context, const sp_case *request,
                                     sp_lattice *lattice)
{
    static const double vertex[][3] = {{0, 0, 0},         {0.25, 0.75, 0.5}, {0.75, 0.5, 0.25},
                                       {0.5, 0.25, 0.75}, {0.5, 0.5, 0.5},   {0.75, 0.25, 0},
                                       {0.25, 0, 0.75},   {0, 0.75, 0.25}};
    (void)context, (void)request;
    sp_lattice_cubic(lattice, 8, vertex, sqrt(2) / 4);
    return SP_OK;
}
