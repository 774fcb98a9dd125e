/* This is the state of one press, one per thread: node values, potential, gradient, Hessian and
 * factor.
 *
 * The potential (E6) is the strain energy of all elements plus the contact energy, at the platen
 * travel u ("shortening"). */
#ifndef SP_SYSTEM_H
#define SP_SYSTEM_H

#include <stdint.h>

#include "beam/beam.h"
#include "contact/contact.h"
#include "model/model.h"
#include "sparse/blocks.h"
#include "sparse/sparse.h"

typedef struct sp_system {
    const sp_model *model;
    sp_contact contact;
    sp_blocks blocks;
    sp_sparse *sparse;
    int pattern_ready;
    int no_factor; /* 1: the system is evaluated only, so its pattern is not analysed */

    /* These hold at the last evaluation. */
    double shortening;   /* u [mm] */
    double energy;       /* [mJ], +inf when a fibre or a layer is outside its law */
    double force;        /* dE/du = upper platen force, compression positive [N] */
    double lower_force;  /* force of the lower platen, from element forces [N] */
    sp_platen_push push; /* push of struts that fold against the platens */
    int contacts;

    double *x;             /* `values` of the model per node */
    double *gradient;      /* `unknowns` per node, dE/dx */
    double *push_coupling; /* unknown_count: part of `coupling` by struts that fold against the
                              upper platen */
    double *coupling;      /* unknown_count: d gradient / du, see sp_system_couple */
    double *free_gradient; /* unknown_count */
    double *direction;     /* unknown_count */
    double *softest;       /* unknown_count: the last direction found by sp_softest_direction */
    double *change;        /* `unknowns` per node: the direction, with held unknowns */
    double *trial, *base;  /* `values` per node: work space of the Newton loop */
    double *accepted;      /* `values` per node: the last accepted state ... */
    double accepted_shortening; /* ... and its travel [mm] */
    double *points;             /* `dimension` per chain point */

    /* These are results of a batch of elements (2 unknowns, their square each) and of all elements
     * (1 per element), and the blocks into which they are added (AA, lower, BB). */
    int threads; /* number of threads that evaluate a batch */
    int batch;
    double *element_gradient, *element_hessian, *element_energy;
    sp_beam_state *element_state;
    int *element_block;

    /* This is the history of the fibres up to the last accepted state; both are NULL when the law
     * is reversible. */
    size_t *history_first; /* element_count + 1: where the history of element e begins */
    double *history;       /* see sp_law_history */
    double step_time;      /* seconds of the present step under a law in time, see sp_system_arm */
} sp_system;

/* Allocate everything for a model and set x to the unloaded state. For `count_pivots` see
 * sp_sparse_create; a system that only descends needs none. Errors: SP_NO_MEMORY. */
sp_status sp_system_create(sp_context *context, const sp_model *model, int count_pivots,
                           sp_system *system);
void sp_system_free(sp_system *system);

/* Return the length of x and of every array that holds values of all nodes. */
static inline size_t sp_system_values(const sp_system *system)
{
    return (size_t)system->model->values * (size_t)system->model->node_count;
}

/* Evaluate energy, gradient, Hessian and platen forces at x (values of the nodes; becomes
 * system->x) and travel u. This looks for contacts again and renews the pattern when that is
 * needed, and sets held and moved unknowns of x from u. */
sp_status sp_system_evaluate(sp_context *context, sp_system *system, const double *x,
                             double shortening);

/* Do the same at a fraction of the Newton step from the last state that friction has marked
 * (sp_friction_mark); 0: the state is not on such a step. */
sp_status sp_system_evaluate_along(sp_context *context, sp_system *system, const double *x,
                                   double shortening, double fraction);

/* Evaluate the present state again to judge its stability: a grip that sticks counts only as stiff
 * as it is against a sideways push of this length (E78) [mm]. The next evaluation has the exact
 * tangent. */
sp_status sp_system_evaluate_nudged(sp_context *context, sp_system *system, double nudge);

/* A step from the accepted state begins with sp_system_try, before states are looked for. It ends
 * with sp_system_accept at the state that was found. Where none was found no call is needed,
 * because the next try goes back by itself. */

/* Go back to the accepted state, evaluating it again unless it was evaluated last, and begin a step
 * of this travel [mm] which takes dt seconds (under a law in time; else 0). */
sp_status sp_system_try(sp_context *context, sp_system *system, double travel, double dt);

/* Return 1 when no pair of struts would pass through another on the straight way from the evaluated
 * state to these values. */
int sp_system_is_safe(sp_system *system, const double *x);

/* Evaluate the accepted state again; no time passes there. */
sp_status sp_system_restore(sp_context *context, sp_system *system);

/* Change the accepted state by `fraction` of a move (`unknowns` per node). The next try begins
 * there. */
void sp_system_push(sp_system *system, double fraction, const double *move);

/* Return the energy at the last evaluation, including all that friction has taken since the
 * beginning [mJ]; see E71. Under a law in time this is the energy stored and dissipated, which is
 * not the potential (E124). */
double sp_system_stored(const sp_system *system);

/* Let friction take up to `most` less in the step to the evaluated state than its grips say, and no
 * less than nothing; returns by how much [mJ]. It is asked of a jump, in which pushes may fall
 * while points slide: grips know those before it. */
double sp_system_spend_less(sp_system *system, double most);

/* Accept the evaluated state, `travel` after the last one (0: by a jump): take it into the history
 * of all fibres, and make new grips. Returns the energy that fibres and friction have dissipated so
 * far [mJ]. The next evaluation there gives the same energy and forces, but for friction where the
 * push has changed (E73). */
double sp_system_accept(sp_system *system, double travel);

/* Begin a step of `dt` seconds from the last accepted state, under a law in time. States that are
 * evaluated from here on stand at the end of the step, until one is accepted. Then no time passes
 * until the next call. */
void sp_system_arm(sp_system *system, double dt);

/* Return 1 when the law is one in time. */
int sp_system_in_time(const sp_system *system);

/* Return what the struts have dissipated so far by each way of a law in time [mJ]. */
sp_law_lost sp_system_lost(const sp_system *system);

/* Return the history of the fibres of one element; NULL when the law is reversible. */
static inline const double *sp_system_history(const sp_system *system, int element)
{
    return system->history ? system->history + system->history_first[element] : NULL;
}

/* Return the largest out-of-balance force on a free unknown; moments are divided by the thickest
 * strut. */
double sp_system_residual(const sp_system *system);

/* Copy the Hessian into the solver and factor K + shift D; see sp_sparse_factor. */
sp_status sp_system_factor(sp_context *context, sp_system *system, double shift, int *negative);

/* Put d gradient / du into system->coupling; returns d2E/du2 with the free unknowns held [N/mm]. */
double sp_system_couple(sp_system *system);

/* Find, with the current factor of K, tangent (unknowns of the nodes) = dx/du along the path, and
 * dF/du. */
sp_status sp_system_tangent(sp_context *context, sp_system *system, double *tangent,
                            double *stiffness);

/* Return the part of system->force that stands on the perimeter walls of a coupon with walls along
 * the load [N]; 0 for other coupons. */
double sp_system_wall_force(const sp_system *system);

/* Return the largest |fibre strain| of one element, and of all, at the last evaluation. */
double sp_system_element_strain(const sp_system *system, int element);
double sp_system_fibre_strain(const sp_system *system);
/* Widen *least .. *most [stretch] to hold the stretches of all fibres on the outlines of the
 * sections. */
void sp_system_fibre_range(const sp_system *system, double *least, double *most);

/* Find the mean axial compression of a strut at the last evaluation [N] and the distance of its
 * joints [mm]. */
double sp_system_strut_force(const sp_system *system, int strut);
double sp_system_strut_chord(const sp_system *system, int strut);

#endif
