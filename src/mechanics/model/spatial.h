/* This is the spatial strut element as the mesh stores it. */
#ifndef SP_MODEL_SPATIAL_H
#define SP_MODEL_SPATIAL_H

#include "section/spatial.h"

/* Node values are position and unit quaternion (w, x, y, z), which is 1 0 0 0 in the unloaded
 * coupon. Changes of a node are displacement and spin (rotation vector in fixed axes). */
#define SP_SPATIAL_VALUES 7
#define SP_SPATIAL_UNKNOWNS 6

typedef struct sp_spatial_element {
    int node[2];
    int strut;
    double arm[2]
              [3]; /* from the node to the element's end, turning with the node (joint zone) [mm] */
    double length; /* stress-free length L                                                [mm] */
    double frame[4];     /* unit quaternion: section axes where the nodes are unturned */
    double curvature[3]; /* K0: twist and curvatures of the stress-free element [1/mm] */
    double shear[2]; /* effective shear stiffness along axes 2 and 3, E5 of docs/theory.md   [N] */
} sp_spatial_element;

/* Make a straight, stress-free piece of a strut between two points (not the same) of the unloaded
 * coupon; section axis 2 lies in the plane of the piece and `up`. A bow is made of such pieces
 * (E7). Nodes, strut and arms are left zero: with an arm, `from` or `to` is where the arm ends. */
sp_spatial_element sp_spatial_piece(const sp_spatial_section *section, const double from[3],
                                    const double to[3], const double up[3]);

/* Find the shear stiffnesses again after a change of length or section. E5 */
void sp_spatial_set_shear(sp_spatial_element *element, const sp_spatial_section *section);

#endif
