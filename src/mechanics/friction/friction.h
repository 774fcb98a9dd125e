/* This is friction where struts lie on struts and on the platens (E68 to E71, E73 to E77, E247).
 *
 * A contact point that bore load in the last accepted state has a grip there: its layer is sheared
 * as the point slides from then on, and its force is at most the friction coefficient times the
 * push. Within a step grips are constant, so the potential has an exact gradient and a symmetric
 * Hessian; the next accepted state makes new ones. */
#ifndef SP_FRICTION_H
#define SP_FRICTION_H

#include <strutpress/context.h>

#include "model/model.h"

enum { SP_ON_LOWER_PLATEN = -1, SP_ON_UPPER_PLATEN = -2 };

/* Struts whose angle has a smaller sine lie side by side, and roll across each other without
 * resistance. */
#define SP_ROLLS 0.1

/* This is what one contact point bears on the segment or platen that it lies on, at the last
 * evaluation. */
typedef struct sp_load {
    int from, on;     /* segment of the point; segment it lies on, or a platen */
    int may_cross;    /* space: 1: on a strut, where slip across counts once they cross; 0: on a
                         wall of its layer, which faces it, or on a platen */
    double place;     /* of the point on its segment, 0 to 1 */
    double push[3];   /* force on the point                                                   [N] */
    double stiffness; /* of the layer in shear                                             [N/mm] */
    double foot[2];   /* where it lies: share of the length along, and aside of the piece (in space:
                         in   the plane of both struts) [mm]; x (and z) on a platen [mm] */
    int next;         /* load, or grip, of the same segment, -1: none */
} sp_load;

typedef struct sp_grip {
    sp_load load;    /* when the state was accepted */
    double side[3];  /* unit direction of the whole push on the point from this side */
    double axis[3];  /* space: unit direction along the strut it slides on */
    double aside[3]; /* and across that strut, in the plane of both */
    double across;   /* space: how much slip across it counts, 0 to 1 (E247) */
    double along[2]; /* plane: direction across the push, along and aside of the piece */
    double most;     /* force it would hold at most in that state                           [N] */
    double rate;     /* growth of `most` by travel before that state                       [N/mm] */
    double part; /* space, on a strut: share of its piece in what its place holds at most  [-] */
    double was;  /* and the share that the piece had in the state before                   [-] */
    double own;  /* share of the grip in what its piece holds at most                      [-] */
    int start;   /* unloaded: see sp_friction_start */
    double drag; /* share of the layer's stiffness that is left where it slides (E76)    [-] */
    double began[2]; /* its force in that state; in the plane one value, in space along and across
                        the strut it lies on, or x and z on a platen [N] */
    double limit;    /* most it holds at the end of the present step                         [N] */
    double held[2];  /* as much of `began` as the limit leaves                                [N] */
    /* These are the force without a limit and the expected force at the last evaluation [N]. */
    double trial[2], expected[2];
    /* The same at the state from which Newton's method goes on [N]. */
    double mark[2], dual[2];
    int block[10]; /* of the nodes, as in sp_candidate; block[0] -1: not looked up */
} sp_grip;

/* The grips of one press. The friction coefficients are those of the model; nothing is allocated
 * when both are 0. */
typedef struct sp_friction {
    int load_count, load_capacity;
    sp_load *load; /* noted by an evaluation; NULL without friction */
    int count;
    sp_grip *grip, *before; /* load_capacity + face_count each */
    int *first;             /* per chain point: first load, or grip, of its segment, -1: none */
    int *face_point;        /* face_count: chain points of the joints that slide on a platen */
    int face_count;
    int loose;       /* 1: friction is all that holds the coupon sideways */
    double fraction; /* of Newton's step at which evaluations are made, 0: not along one */
    /* This is set above 0 where stability is judged, for the present evaluation: a grip that sticks
     * then counts only as stiff as it is against a sideways push of this length, after which it
     * would slide, so that the judgement does not jump where friction begins (E78) [mm]. At 0 the
     * stiffness is the exact tangent. */
    double nudge;
    int started;   /* 0 until the first step */
    double energy; /* of the grips at the last evaluation, since they were made [mJ] */
    double work;   /* work of the grips since then, by the mean of their forces (E71) [mJ] */
    double done;   /* the same for all steps before [mJ] */
} sp_friction;

sp_status sp_friction_create(sp_context *context, const sp_model *model, sp_friction *friction);
void sp_friction_free(sp_friction *friction);

/* Make room for `loads` loads. Errors: SP_NO_MEMORY. */
sp_status sp_friction_reserve(sp_context *context, sp_friction *friction, int loads);

/* Note what a point bears; there must be room. */
static inline void sp_friction_note(sp_friction *friction, sp_load load)
{
    friction->load[friction->load_count++] = load;
}

/* Find the force of a point that has slid by `slip` since its grip was made (the second number is 0
 * but for platens and crossings in space), and the derivatives xx, xz, zz of that force by the
 * slip. Returns the energy taken [mJ] (E69); adds to friction->energy and work. */
double sp_friction_slide(sp_friction *friction, sp_grip *grip, const double slip[2],
                         double force[2], double stiffness[3]);

/* Turn gradient g (n) and Hessian h (n x n) of a slip along one direction into those of its energy.
 */
void sp_friction_rows(int n, double force, double stiffness, double *g, double *h);

/* Return 1 when next to nothing holds the coupon against a rigid move along x, along z and about
 * the upright through the origin (space): at the last evaluation everything slides that this move
 * would drag over the platens. `position` is that of the chain points. */
int sp_friction_lets_go(const sp_friction *friction, const double *position, const double move[3]);

/* Where all that is on the platens slides and the friction forces do not add up to zero, the whole
 * coupon moves until something sticks again and they do. Write how far it goes along x and z into
 * drift [mm], E77. Returns 0 when the forces add up to at most `force`, or when something
 * sticks. */
int sp_friction_drift(const sp_friction *friction, const double *position, double force,
                      double drift[2]);

/* Mark the evaluated state as the one from which Newton's method takes its step. While
 * friction->fraction is set, an evaluation is at that share of the step. At 0 the stiffness is the
 * derivative of the force. */
void sp_friction_mark(sp_friction *friction);

/* Find the force of a grip at the last evaluation [N] and its derivatives xx, xz, zz by the slip.
 */
void sp_friction_force(const sp_grip *grip, double force[2]);
void sp_friction_tangent(const sp_grip *grip, double stiffness[3]);

/* Accept the evaluated state, `travel` after the last one (0: by a jump, which says nothing of the
 * next step). New grips are made where the coupon bears load in it, with the forces that the old
 * ones held. `gradient` has `unknowns` per node, for the push on face joints; `position` is that of
 * the chain points. */
void sp_friction_keep(sp_friction *friction, const sp_model *model, const double *position,
                      const double *gradient, double travel);

/* Set the limits for a step of this travel from the accepted state: each push is expected to grow
 * or fall as it did in the step before. */
void sp_friction_expect(sp_friction *friction, double travel);

/* Set the limits of the unloaded coupon. No push is known yet, and a coupon that leans at an angle
 * which friction can hold would slide away before friction holds it. So the joints on the faces
 * hold without a limit until a short first step has been tried: its state, `travel` from the
 * unloaded one, says at which rate their push grows. Returns the largest change of a limit as a
 * share of the largest limit: call it again until that is small. */
double sp_friction_start(sp_friction *friction, const sp_model *model, const double *gradient,
                         double travel);

/* Return the energy that the grips still hold in their layers [mJ]; the rest of `done` is
 * dissipated. */
double sp_friction_stored(const sp_friction *friction);

#endif
