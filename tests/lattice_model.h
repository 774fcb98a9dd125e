/* These functions set up lattices of straight struts joint by joint, for checks against published
 * moduli and buckling loads: cells between planes of symmetry, periodic rows, or whole fields,
 * without contact and without joint zones.
 *
 * The order of calls is lattice_begin, lattice_joint, lattice_strut, lattice_mesh, then
 * lattice_half, lattice_hold, lattice_tie..., lattice_ready. Every failure fails the test that
 * calls. */
#ifndef TESTS_LATTICE_MODEL_H
#define TESTS_LATTICE_MODEL_H

#include <strutpress/path.h>

#include "model/model.h"

enum { LATTICE_X = 0, LATTICE_Y = 1, LATTICE_TURN = 2 };

typedef struct lattice {
    sp_context context;
    sp_law law;
    sp_network network;
    sp_model model;
    int shear_rigid;   /* 1: no shear flexibility, as in the sources */
    int link_count;    /* sections of links behind those of the struts */
    double link_reach; /* length of a link that pins: small against the struts [mm] */
} lattice;

/* Begin a field of the given size (mm) and depth 1 mm, under the linear law of modulus 1 MPa and
 * Poisson ratio nu in `strain_state`. */
void lattice_begin(lattice *l, double width, double height, double nu, int strain_state);
void lattice_end(lattice *l);

/* Return the joint at (x, y), a new one unless there is one already. Joints at y = 0 and y = height
 * belong to the platens. */
int lattice_joint(lattice *l, double x, double y);
/* Add a joint even where there is one already, and return it; it belongs to no platen. */
int lattice_extra_joint(lattice *l, double x, double y);
/* Return the strut from (xa, ya) to (xb, yb). */
int lattice_strut(lattice *l, double xa, double ya, double xb, double yb, double thickness);

/* Make sliding platens; joints on them turn freely. Nothing holds the lattice sideways yet. */
void lattice_mesh(lattice *l, int elements_per_strut);
/* Halve the section of a strut that lies in a plane of symmetry. */
void lattice_half(lattice *l, int strut);
/* Halve every strut that lies in x = 0, x = width, y = 0 or y = height. */
void lattice_halve_rim(lattice *l);
void lattice_hold(lattice *l, int node, int direction, int how);
/* Hold the direction of every joint with coordinate `axis` (LATTICE_X, LATTICE_Y) equal to `at`. */
void lattice_hold_line(lattice *l, int axis, double at, int direction);

/* Tie two nodes by a link that is stiff or without resistance in each strain. `from` and `to` are
 * nodes, `place` is where both ends meet at rest; an end away from its node is fixed to it by a
 * rigid arm that turns with it. The link points from `from` at `place` along +x (facing 1) or -x
 * (facing -1): mirror images keep a symmetric lattice free of imperfections. */
enum { LINK_AXIAL = 1, LINK_SHEAR = 2, LINK_TURN = 4 };
void lattice_link(lattice *l, int from, int to, const double place[2], int facing, int stiff);

/* Number the unknowns; the model may be pressed from here on. */
void lattice_ready(lattice *l);

/* Find the stiffness of the cell between its platens and the sides x = 0, x = width, whose joints
 * must be held sideways, as stress per strain / modulus: c[0] across (xx), c[1] along the press
 * (yy), c[2] the coupling measured by pressing, c[3] the coupling measured by widening. */
void lattice_stiffness(lattice *l, double strain, double c[4]);

/* Press along the perfect path until the detector of sp_press finds stability lost; fails when it
 * finds none up to `strain` or calls it a limit. Returns the nominal stress / modulus midway
 * between the last stable state and the first unstable one, which are strain / steps or less
 * apart. */
double lattice_critical_stress(lattice *l, double strain, int steps, sp_critical *critical);

#endif
