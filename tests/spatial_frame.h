/* These functions set up frames of spatial beams bar by bar, for checks against exact and published
 * solutions, and solve them with dense matrices.
 *
 * The order of calls is frame_begin, frame_section, frame_node and frame_bar, frame_hold and
 * frame_load, frame_ready, then solve. Every failure fails the test that calls. */
#ifndef TESTS_SPATIAL_FRAME_H
#define TESTS_SPATIAL_FRAME_H

#include <strutpress/context.h>

#include "beam/spatial.h"
#include "sparse/sparse.h"

enum { FRAME_X = 0, FRAME_Y, FRAME_Z, FRAME_TURN_X, FRAME_TURN_Y, FRAME_TURN_Z };

typedef struct frame {
    sp_context context;
    sp_law law;
    sp_spatial_section section[4];
    int section_count, node_count, element_count, unknown_count;
    double *reference, *x; /* 7 per node */
    double *start;         /* 7 per node: work space */
    double *load;          /* 6 per node: forces and moments that keep their direction */
    unsigned char *held;   /* 6 per node */
    int *unknown;          /* 6 per node, -1 when held */
    sp_spatial_element *element;
    int *section_of;  /* per element */
    double factor;    /* of the load */
    double size;      /* length that makes a displacement comparable with a rotation */
    double energy;    /* of the last evaluation */
    double *gradient; /* 6 per node */
    double *matrix;   /* unknowns x unknowns, second derivative along geodesics */
    double *step;     /* per unknown: right hand side and solution */
    sp_sparse *sparse;
} frame;

/* These are the small-strain stiffnesses of a linear section, in the order of the section axes. */
typedef struct frame_stiffness {
    double axial, shear[2], torsion, bending[2];
} frame_stiffness;

void frame_begin(frame *f, double size);
void frame_end(frame *f);
int frame_section(frame *f, frame_stiffness stiffness);
/* Take a section as it is; its law must outlive the frame. */
int frame_take_section(frame *f, const sp_spatial_section *section);
int frame_node(frame *f, double x, double y, double z);
/* Add a straight bar of equal elements; returns its first inner node (inner nodes are numbered on
 * from `from`). */
int frame_bar(frame *f, int from, int to, int section, int elements, const double up[3]);
/* Give the ends of a straight bar of `elements` from `first` on rigid arms of these lengths, and
 * spread the nodes between them again. */
void frame_rigid_ends(frame *f, int first, int elements, const double zone[2]);
/* Add a polygon with its corners on a circular arc in the x-y plane about (x, y), from angle `from`
 * to `to`. Returns the first node; a whole turn ends where it began. */
int frame_arc(frame *f, double x, double y, double radius, double from, double to, int section,
              int elements);
void frame_hold(frame *f, int node, int direction);
void frame_hold_all(frame *f, int node);
void frame_load(frame *f, int node, int direction, double value);
void frame_ready(frame *f);

/* Turn a node (held directions, too) by w in one step. */
void frame_turn(frame *f, int node, const double w[3]);

double frame_moved(const frame *f, int node, int direction); /* X, Y, Z */
static inline double frame_at(const frame *f, int node, int direction)
{
    return f->x[7 * node + direction];
}
/* Return the internal force or moment at a node, which its load and hold balance. */
double frame_force(const frame *f, int node, int direction);

/* Find the equilibrium near the present state, stable or not, by plain Newton on the residual by
 * spins, in more than one step of the load factor where it does not get there in one. */
void frame_follow(frame *f, double factor);
void frame_follow_in(frame *f, double factor, int steps);
/* Return the negative pivots of the Hessian at the present state. */
int frame_negative(frame *f);
/* Return the load factor between low and high from which the Hessian is not positive definite along
 * the path from `low`. */
double frame_critical(frame *f, double low, double high);
/* Return the displacement of a node by a small force on it there, on top of the present loads: the
 * tangent keeps what makes fixed moments non-conservative. */
double frame_compliance(frame *f, int node, int direction);

static inline double frame_extrapolate(double coarse,
                                       double fine) /* error of second order, half the length */
{
    return fine + (fine - coarse) / 3;
}

/* Set x = k^-1 x for a square matrix (n x n, by rows), which is lost. */
void space_solve(int n, double *k, double *x);

#endif
