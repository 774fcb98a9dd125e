/* A press begins from the unloaded state, which this file makes. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/machine.h"
#include "press/record.h"
#include "press/walker.h"
#include "stability/mechanism.h"

/* A first step that is tried and not taken shows which push holds the faces by friction
 * (friction.h). It is at most this share of a planned step and of the height, and is tried until
 * the limits of friction change by no more than the last share. */
static const double try_share = 1e-2, longest_try = 6.25e-6, near_enough = 1e-3;
static const int most_tries = 40;
/* A try is given this many iterations, because it is not known yet which grips slide and which
 * stick. */
static const int most_in_a_try = 200;
static const double cut = 0.25; /* what is left of a try that finds nothing */

static sp_status take_start_tangent(sp_context *context, sp_walker *w)
{
    sp_step found;
    const sp_status status = sp_walker_describe(context, w, &found);
    if (status != SP_OK) return status;
    memcpy(w->tangent, w->candidate_tangent, sp_walker_unknowns(w) * sizeof(double));
    w->at.stiffness = w->path->step[0].stiffness = found.stiffness;
    return SP_OK;
}

/* Evaluate the unloaded state. Where nothing pushes, friction would hold nothing, and the coupon
 * would hang on nothing: so the joints on its faces hold without a limit (friction.h). */
static sp_status evaluate_unloaded(sp_context *context, sp_walker *w)
{
    sp_system *system = w->system;
    const double *x = system->model->reference;
    const sp_status status = sp_system_evaluate(context, system, x, 0);
    if (status != SP_OK || system->contact.friction.face_count == 0) return status;
    sp_system_accept(system, 0);
    return sp_system_evaluate(context, system, x, 0);
}

/* Accept the unloaded state: find how the push of the platens on the faces will grow, and the
 * tangent under the friction that this makes. Limits grow in proportion to the travel, so a shorter
 * try says the same. */
static sp_status start_friction(sp_context *context, sp_walker *w)
{
    sp_system *system = w->system;
    sp_friction *friction = &system->contact.friction;
    double step = fmin(try_share * w->planned, longest_try * system->model->height);
    double change = INFINITY;
    sp_attempt attempt = {.end = SP_FAR};
    int found = 0;
    for (int i = 0; i < most_tries && !(found > 0 && change <= near_enough); i++) {
        sp_status status = sp_walker_predict(context, w, step);
        if (status == SP_OK)
            status =
                sp_equilibrium_descend(context, system, w->guess, step, most_in_a_try, &attempt);
        if (status != SP_OK || attempt.end == SP_STOPPED) return status;
        if (attempt.end == SP_FOUND) {
            found++;
            change = sp_friction_start(friction, system->model, system->gradient, step);
        } else {
            step *= cut;
        }
    }
    if (found == 0) { /* no try found a state: the press begins without friction */
        sp_status status = sp_system_restore(context, system);
        sp_friction_start(friction, system->model, system->gradient, step);
        return status;
    }
    return attempt.end == SP_FOUND ? take_start_tangent(context, w) : SP_OK;
}

sp_status sp_walker_room(sp_context *context, sp_walker *w)
{
    const size_t unknowns = sp_walker_unknowns(w);
    w->guess = sp_alloc(sp_system_values(w->system), sizeof(double));
    w->tangent = sp_alloc(unknowns, sizeof(double));
    w->before = sp_alloc(unknowns, sizeof(double));
    w->change = sp_alloc(unknowns, sizeof(double));
    w->candidate_tangent = sp_alloc(unknowns, sizeof(double));
    if (w->guess && w->tangent && w->before && w->change && w->candidate_tangent) return SP_OK;
    return sp_fail(context, SP_NO_MEMORY, "no memory for a press of %d nodes",
                   w->system->model->node_count);
}

void sp_walker_free_room(sp_walker *w)
{
    sp_free(w->guess);
    sp_free(w->tangent);
    sp_free(w->before);
    sp_free(w->change);
    sp_free(w->candidate_tangent);
}

sp_status sp_walker_begin(sp_context *context, sp_walker *w)
{
    sp_system *system = w->system;
    const sp_model *model = system->model;
    w->begin = sp_clock_seconds();
    w->target = w->options->strain * model->height;
    w->planned = w->step = w->target / w->options->steps;
    w->search_critical = w->options->follow_perfect;
    w->load_limit = w->options->load_limit;
    sp_status status = sp_walker_room(context, w);
    if (status != SP_OK) return status;
    sp_begin(context, "looking for what moves without resistance");
    status = sp_mechanism_refuse(context, model);
    if (status == SP_OK) status = sp_buckle_watch_create(context, model, &w->watch);
    if (status != SP_OK) return status;
    int negative;
    sp_step found;
    sp_begin(context, "solving the unloaded coupon");
    status = evaluate_unloaded(context, w);
    if (status == SP_OK) status = sp_system_factor(context, system, 0, &negative);
    if (status == SP_OK && negative != 0)
        status = sp_fail(context, SP_BAD_NETWORK, "the unloaded network is not stable");
    if (status == SP_OK) status = sp_walker_describe(context, w, &found);
    /* The unloaded state is free of force: what is found is round-off of the mesh. */
    if (status == SP_OK) found.force = found.stored = 0;
    if (status == SP_OK) status = sp_walker_accept(context, w, &found, 1);
    if (status == SP_OK && system->contact.friction.face_count > 0)
        status = start_friction(context, w);
    return status;
}

sp_status sp_walker_begin_protocol(sp_context *context, sp_walker *w)
{
    const sp_segment *first = &w->options->protocol->segment[0];
    w->speed = first->kind == SP_SEGMENT_DROP ? sp_drop_speed(first)
               : first->speed > 0             ? first->speed
                                              : first->strain_rate * w->system->model->height;
    if (!w->options->follow_perfect) sp_walker_plan_first(w, first);
    return sp_path_begin_stage(context, w->path, first);
}
