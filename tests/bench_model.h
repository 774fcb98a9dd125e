/* These functions build networks by hand for checks against published frames, arches and rings:
 * chosen stiffnesses, chosen holds, dead loads, and paths by load, by travel or by arc length. The
 * potential is the energy of the library less P . x; assembly, factor, inertia and solve are those
 * of the library.
 *
 * The order of calls is bench_begin, bench_joint, bench_strut, bench_mesh, then bench_stiffness,
 * bench_hold, bench_load, then bench_ready, then solve. Every failure fails the test that calls. */
#ifndef TESTS_BENCH_MODEL_H
#define TESTS_BENCH_MODEL_H

#include "state/system.h"

enum { BENCH_X = 0, BENCH_Y = 1, BENCH_TURN = 2 };

typedef struct bench {
    sp_context context;
    sp_law law;
    sp_network network;
    sp_model model;
    sp_system system;
    double *load;                   /* 3 per node: dead load at load factor 1 */
    double *direction;              /* 3 per node: arc-length direction of the path */
    double *start, *solved, *along; /* 3 per node: work space */
    double factor;                  /* of the dead load */
    double size; /* length that makes a displacement comparable with a rotation */
    int points;  /* through the thickness; 0: 2 */
    int ready, no_contact;
} bench;

/* Begin a network under the linear law of modulus 1 MPa and Poisson ratio 0, with free struts;
 * `contact` 0 takes all contact out. */
void bench_begin(bench *b, double height, int contact);
void bench_end(bench *b);

/* Add a joint and return it; joint 0 is the first. */
int bench_joint(bench *b, double x, double y);
/* Add a strut and return it. */
int bench_strut(bench *b, int from, int to, double thickness);
/* Add joints and struts of a polygon of `count` equal sides around (x, y), from angle `from` to
 * `to`; a closed polygon ends at its first joint. Returns the first joint. */
int bench_arc(bench *b, double x, double y, double radius, double from, double to, int count,
              double thickness);

void bench_mesh(bench *b, int elements_per_strut);

/* Return the node at `place` elements from the start of a strut; 0 is its first joint. */
int bench_node(const bench *b, int strut, int place);

/* Give one strut (or all: -1) a linear section of these stiffnesses; depth and thickness follow
 * from them. */
void bench_stiffness(bench *b, int strut, double axial, double bending, double shear);
void bench_hold(bench *b, int node, int direction, int how);
/* Hold an unknown at this value instead of where the unloaded model has it. */
void bench_hold_at(bench *b, int node, int direction, double value);
void bench_load(bench *b, int node, int direction, double value);
void bench_ready(bench *b);

static inline double bench_at(const bench *b, int node, int direction)
{
    return b->system.x[3 * node + direction];
}
/* Return how far an unknown has moved. */
double bench_moved(const bench *b, int node, int direction);
/* Return the force (or moment) that the hold of an unknown puts on the model, dead load included.
 */
double bench_reaction(const bench *b, int node, int direction);

/* Find the equilibrium near the present state at this load factor and travel, stable or not, by
 * plain Newton. */
void bench_follow(bench *b, double factor, double travel);
/* Do the same in `steps` equal steps of factor and travel from the present ones. */
void bench_follow_in(bench *b, double factor, double travel, int steps);
/* Find a minimum of the potential, shifted where the tangent is not positive definite, with line
 * search and contact cap. */
void bench_descend(bench *b, double factor, double travel);
void bench_descend_in(bench *b, double factor, double travel, int steps);

/* Return the negative pivots of the tangent at the present state. */
int bench_negative(bench *b);
/* Return the load factor between low and high at which the tangent along the path stops being
 * positive definite, by bisection on the pivots to 1e-7 of it (closer to it round-off times the
 * soft mode is no longer small). The path is followed from `low`, where it must be stable. */
double bench_critical(bench *b, double low, double high);

/* Step by arc length (Riks 1979, with the plane normal to the path). The step counts rotation and
 * displacement/size, root mean square over the nodes; returns the step taken, which is shorter when
 * Newton does not get there. */
double bench_arc_step(bench *b, double step);
/* Return the growth of the load factor per arc length along the path: it is zero at a limit of the
 * load. */
double bench_load_rate(bench *b);
/* Step on from the present state to the next limit of the load factor; returns it. The state is
 * that of the limit. */
double bench_next_limit(bench *b, double step, int most_steps);

/* Return the value at element length 0 from two meshes, the second with half the length, for an
 * error of second order (Richardson). */
static inline double bench_extrapolate(double coarse, double fine)
{
    return fine + (fine - coarse) / 3;
}

#endif
