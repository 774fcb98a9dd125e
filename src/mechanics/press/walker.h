/* The walker is one press in progress: the last accepted state, what leads from it to the next, and
 * the parts of a step that the press (step.c) and the search for the critical step (search.c)
 * share. */
#ifndef SP_WALKER_H
#define SP_WALKER_H

#include "press/press.h"
#include "press/progress.h"
#include "stability/buckled.h"
#include "state/equilibrium.h"
#include "state/range.h"
#include "state/system.h"

enum {
    SP_STEP_ITERATIONS = 14
}; /* where K stays positive definite; a step that needs more is cut */

typedef struct sp_walker {
    const sp_press_options *options;
    sp_system *system;
    sp_path *path;
    sp_buckle_watch watch;
    /* This is the last accepted state. */
    sp_step at;
    double *guess;      /* `values` per node: where the next state is looked for */
    double *tangent;    /* `unknowns` per node */
    double *before;     /* tangent of the state before, for the curvature of the path */
    double *change;     /* `unknowns` per node: work space of the prediction */
    double before_step; /* travel between those two states; 0: not usable (start, snap, turn) */
    double *candidate_tangent;    /* of the state being judged */
    double planned, step, target; /* [mm] */
    int back;                     /* 1: the platen goes up again */
    int front_frames;             /* shapes kept of the first press, known when `later` is 1 */
    double load_limit;            /* [N], infinity: none */
    /* These serve a press in time. */
    int later;                /* 1: the first press is over, states go to path->back */
    double speed;             /* [mm/s]; 0: no time passes */
    double back_to;           /* way back: it ends at this travel [mm] ... */
    double back_to_force;     /* ... or at this force, 0: when nothing is carried [N] */
    double largest_force;     /* [N] */
    double zero;              /* travel that strains of a protocol count from [mm] */
    double most_work, missed; /* largest work so far; what the work rule missed at corners [mJ] */
    double next_frame;        /* travel at which the next shape is kept */
    int iterations, factorizations; /* of the present step, cut attempts included */
    int search_critical;
    double unloaded_softest; /* search: softest stiffness of the unloaded coupon [-] */
    /* The search keeps the softest stiffness [-] at the last bracket, and the travel there [mm]. */
    double seen_softest, seen_at;
    double looked_at;   /* branches: travel at which other states were looked for last [mm] */
    int switched;       /* branches: 1: the accepted state was exchanged for one of less energy */
    double *crossing;   /* branches: `values` per node: a state that will hold less energy ... */
    double crossing_at; /* ... from this travel on [mm]; 0: none */
    sp_range range;     /* end of the model at which the press ended */
    double begin;       /* by sp_clock_seconds */
    int looks;          /* branches: 1: other stable states are being looked for */
    sp_pace *pace;      /* of the run: that of the options, or own_pace */
    sp_pace own_pace;
    double turned_after; /* time that the first press took [s] ... */
    double turned_at;    /* ... and travel at its end [mm] */
    int stages_seen;     /* number of segments of a protocol that have begun */
    double stage_begin;  /* when the last of these segments began [s] */
} sp_walker;

/* A judgement says what follows the step that was just taken. */
typedef enum {
    SP_GO_ON,
    SP_END_TARGET,
    SP_END_LOAD,
    SP_END_BOUNCED,
    SP_END_CRITICAL,
    SP_END_RANGE,
    SP_END_GAVE_UP,
    SP_END_STOPPED
} sp_judgement;

/* Return the number of entries of a vector with all unknowns of all nodes. */
size_t sp_walker_unknowns(const sp_walker *w);

/* Try a step from the accepted state (sp_system_try), and predict the state `step` ahead into
 * w->guess. */
sp_status sp_walker_predict(sp_context *context, sp_walker *w, double step);

/* Find the figures of the state just found (the factor is that of K), and its tangent into
 * candidate_tangent. */
sp_status sp_walker_describe(sp_context *context, sp_walker *w, sp_step *found);

/* Return 1 when the work from state a to state b matches the change of the energy (E17). */
int sp_walker_balanced(const sp_step *a, const sp_step *b);

/* Make the state just described the accepted one, as a smooth continuation of the path or as the
 * end of a jump. */
sp_status sp_walker_accept_smooth(sp_context *context, sp_walker *w, sp_step *found);
sp_status sp_walker_accept_snap(sp_context *context, sp_walker *w, sp_step *found);

/* Return the energy that a jump from the accepted state to this one releases [mJ]: the energy that
 * the stable path, prolonged to the end of the step, would hold beyond that of this state. */
double sp_walker_released(const sp_walker *w, const sp_step *found);

/* Return the length of the next step. It does not go beyond the target, nor far beyond the load
 * limit, nor far beyond the state without load on the way back. */
double sp_walker_next_step(const sp_walker *w);

/* Judge whether the press goes on from the accepted state, which is the one evaluated last. */
sp_judgement sp_walker_judge(sp_walker *w);

/* Take one step by descent: it is accepted, or cut, or the press gives up. */
sp_status sp_walker_descend_step(sp_context *context, sp_walker *w, sp_judgement *end);

/* Accept a state and add it to the path; steps of travel and of time share this. `by_jump` 1: the
 * state does not continue the one before. */
sp_status sp_walker_accept(sp_context *context, sp_walker *w, sp_step *found, int by_jump);

/* --- begin.c --- */

/* Make room for the vectors of a press: guess, tangent, before, change and candidate_tangent.
 * sp_walker_free_room gives it back, also after an error. Errors: SP_NO_MEMORY. */
sp_status sp_walker_room(sp_context *context, sp_walker *w);
void sp_walker_free_room(sp_walker *w);

/* Make the unloaded state the accepted one: a coupon that can move without resistance is refused,
 * and friction is given the rate at which the push on the faces will grow. */
sp_status sp_walker_begin(sp_context *context, sp_walker *w);

/* Begin the first segment of the protocol; its end is that of the press. */
sp_status sp_walker_begin_protocol(sp_context *context, sp_walker *w);

/* --- branch.c: other stable states --- */

/* This is called after an accepted state of the press. Where a fold begins, look for other stable
 * states at its shortening, and go on from one of less energy (E253 to E256). */
sp_status sp_walker_branch(sp_context *context, sp_walker *w);

/* When the press is over, find how far the states that were not taken lie from its curve. */
void sp_branches_compare(sp_path *path);

/* --- progress.c --- */

/* Report to the context which share of its time the run has taken, and how much it has left; report
 * to its guide, too. Call it wherever long work goes on, with a new state or none. */
void sp_walker_tell_progress(sp_context *context, sp_walker *w);

/* --- protocol.c: what follows the first press of a protocol --- */

/* Plan the steps of the first segment: enough of them where it ends at a small force. */
void sp_walker_plan_first(sp_walker *w, const sp_segment *first);

/* Turn the walker to a segment that moves the platen. */
void sp_walker_turn_to(sp_walker *w, const sp_segment *segment);

/* Follow the segments after the first. A protocol that ends early is kept as far as it came, with a
 * caution. */
sp_status sp_walker_follow(sp_context *context, sp_walker *w);

/* End the press where no step leads on: at the end of the model, or because it gives up. */
sp_status sp_walker_end_early(sp_context *context, sp_walker *w, sp_judgement *end);

/* Move the platen as a press or a release of a protocol says. */
sp_status sp_walker_move(sp_context *context, sp_walker *w, const sp_segment *segment,
                         sp_judgement *end);

/* --- drop.c: a mass falls on the coupon --- */

/* Return the speed of the mass when it meets the coupon [mm/s]. */
double sp_drop_speed(const sp_segment *segment);

/* Follow the mass from contact until it has bounced off, when *end is SP_END_BOUNCED, or until it
 * is taken off because it stays. Where this is the first segment of a protocol, the way down is the
 * press. */
sp_status sp_walker_drop(sp_context *context, sp_walker *w, const sp_segment *segment,
                         sp_judgement *end);

/* --- search.c: the coupon without flaws --- */

/* Take one step along the path of the coupon without flaws; settles the critical step where
 * stability is lost. */
sp_status sp_search_step(sp_context *context, sp_walker *w, sp_judgement *end);

#endif
