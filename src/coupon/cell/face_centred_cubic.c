/* Face diagonals of a cube: joints of the face-centred cubic lattice, with struts from the corners
 * to the face centres only. A corner has all twelve neighbours of Ashcroft & Mermin, Solid State
 * Physics (1976), chapter 4; the octahedron inside the cube is left out. */
#include <math.h>
#include <string.h>

#include "pattern/cell.h"

sp_status sp_face_centred_cubic_lattice(sp_context *context, const sp_case *request,
                                        sp_lattice *lattice)
{
    int kept = 0;
    sp_status status = sp_octet_truss_lattice(context, request, lattice);
    for (int e = 0; e < lattice->edge_count; e++)
        if (lattice->edge[e][0] == 0) /* vertex 0 is the corner */
            memmove(lattice->edge[kept++], lattice->edge[e], sizeof lattice->edge[0]);
    lattice->edge_count = kept;
    return status;
}
