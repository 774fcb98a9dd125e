/* One step of a press predicts the next state, finds the equilibrium, judges it and records it
 * (E16, E17).
 *
 * u is the travel, F the platen force, F' = dF/du of the accepted tangent, E the stored energy. A
 * step is accepted when the work integrated along it (Hermite rule on F and F') matches the change
 * of E; otherwise it holds a jump, which is recorded as a snap with the energy it released, or it
 * is too long and is cut. */
#include <math.h>
#include <string.h>

#include "press/block.h"
#include "press/record.h"
#include "press/walker.h"
#include "state/balance.h"

/* A step may miss this much, |work - dE|: a share of the work, and one of the stored energy. */
static const double balance_share = 1e-3, balance_floor = 1e-9;
/* A step that misses more than this share of its work is a jump, even where K stayed positive
 * definite. */
static const double corner_share = 0.1;
/* Corners may miss this share of the work of the whole press, as far as it can be foreseen. What
 * they miss beyond it has gone where no state shows it, into layers that let go as their grips are
 * made again: it counts as released. */
static const double corners_share = 1e-3;
/* Crushed material is looked for where the stress on the platens is this many shear moduli. */
static const double crushing_stress = 10;
/* Steps shorter than this share of a planned step are not cut at a corner. */
static const double corner_step = 1.0 / 8;
static const double smallest_share = 1e-7; /* of a planned step: below this the press gives up */
static const double cut = 0.25, grow = 1.5;
/* A step with at most this many iterations may be followed by a longer one. */
static const int easy_iterations = 6;
static const double limit_share = 1e-3; /* the load limit is met to this share of it */
/* A force below this share of the largest force counts as none. */
static const double unloaded_share = 1e-4;

/* The tangent of a steady path changes by less than this share over a step. A path that bends more
 * has met a contact or a fold, and its curvature says nothing about what follows. */
static const double steady_share = 0.05;

size_t sp_walker_unknowns(const sp_walker *w)
{
    return (size_t)w->system->model->unknowns * (size_t)w->system->model->node_count;
}

/* Put the difference of the tangents of the last two states into w->change; returns its size as a
 * share of the last tangent. Turns count times the thickest strut. */
static double tangent_change(const sp_walker *w)
{
    const sp_model *model = w->system->model;
    double apart = 0, whole = 0;
    for (int n = 0, k = 0; n < model->node_count; n++)
        for (int i = 0; i < model->unknowns; i++, k++) {
            const double scale = i < model->dimension ? 1 : model->thickest;
            w->change[k] = w->tangent[k] - w->before[k];
            apart += scale * scale * w->change[k] * w->change[k];
            whole += scale * scale * w->tangent[k] * w->tangent[k];
        }
    return whole > 0 ? sqrt(apart / whole) : INFINITY;
}

/* Predict x after `step` more travel: along the tangent, with the curvature of a path that bends
 * little. E258 */
static void predict_path(const sp_walker *w, double step, double *x)
{
    sp_model_move(w->system->model, w->system->accepted, step, w->tangent, x);
    if (!(fabs(w->before_step) > 0)) return;
    const double share = step / w->before_step;
    if (fabs(share) * tangent_change(w) <= steady_share)
        sp_model_move(w->system->model, x, 0.5 * step * share, w->change, x);
}

/* Predict x by squashing the whole coupon: an affine map moves no strut through another. */
static void predict_squash(const sp_walker *w, double step, double *x)
{
    const double gap = w->system->model->height - w->at.shortening;
    const size_t values = sp_system_values(w->system);
    memcpy(x, w->system->accepted, values * sizeof *x);
    for (size_t i = 1; i < values; i += (size_t)w->system->model->values)
        x[i] *= (gap - step) / gap;
}

sp_status sp_walker_predict(sp_context *context, sp_walker *w, double step)
{
    sp_system *system = w->system;
    const sp_status status =
        sp_system_try(context, system, step, w->speed > 0 ? fabs(step) / w->speed : 0);
    if (status != SP_OK) return status;
    predict_path(w, step, w->guess);
    if (!sp_system_is_safe(system, w->guess)) predict_squash(w, step, w->guess);
    return SP_OK;
}

sp_status sp_walker_describe(sp_context *context, sp_walker *w, sp_step *found)
{
    sp_system *system = w->system;
    sp_balance balance;
    sp_balance_of_platens(system, &balance);
    *found = (sp_step){.shortening = system->shortening,
                       .force = system->force,
                       .stored = sp_system_stored(system),
                       .residual = sp_system_residual(system),
                       .imbalance = sp_balance_largest(&balance, system->model->network->size),
                       .contacts = system->contacts,
                       .wall_force = sp_system_wall_force(system),
                       .time = w->at.time + system->step_time};
    return sp_system_tangent(context, system, w->candidate_tangent, &found->stiffness);
}

/* Return the work from state a to state b by Hermite's rule (E17). */
static double work_between(const sp_step *a, const sp_step *b)
{
    const double u = b->shortening - a->shortening;
    return 0.5 * u * (a->force + b->force) + u * u / 12 * (a->stiffness - b->stiffness);
}

/* Return the work over `travel` from a state on, if its path goes on as it does there. */
static double work_ahead(const sp_step *a, double travel)
{
    return travel * (a->force + 0.5 * travel * a->stiffness);
}

int sp_walker_balanced(const sp_step *a, const sp_step *b)
{
    const double work = work_between(a, b);
    return fabs(work - (b->stored - a->stored)) <=
           balance_share * fabs(work) + balance_floor * b->stored;
}

static double missing_between(const sp_step *a, const sp_step *b)
{
    return work_between(a, b) - (b->stored - a->stored);
}

/* Return 1 when the work rule misses no more than it does where a contact closes within the
 * smallest step. */
static int nearly_balanced(const sp_step *a, const sp_step *b)
{
    return fabs(missing_between(a, b)) <= corner_share * fabs(work_between(a, b));
}

/* Return 1 when one more corner keeps what all corners have missed small beside the work of the
 * press. */
static int may_miss(const sp_walker *w, const sp_step *found)
{
    const double ahead = fmax(0, w->target - found->shortening) * fabs(found->force);
    const double missed = w->missed + missing_between(&w->at, found);
    return missed <= corners_share * (w->most_work + ahead);
}

static void keep_frame(sp_walker *w)
{
    const int frames = w->options->frames;
    if (frames > 0 && w->at.shortening >= w->next_frame - 1e-9) {
        sp_path_add_frame(w->system, w->path);
        const double every = w->target / (frames - 2);
        w->next_frame = every * (floor(w->at.shortening / every + 1e-6) + 1);
    }
}

/* Show the accepted state to the caller of the press. The search for the critical step shows none,
 * because it is not the press that the caller asked for. */
static void tell_accepted(sp_context *context, const sp_walker *w)
{
    if (context && context->accepted && !w->options->stop_at_critical)
        context->accepted(context->user, w->path);
}

/* Check that the forces and moments of the platens on the whole coupon add up to no more than the
 * residuals of its nodes, turns included. */
static sp_status check_balance(sp_context *context, const sp_walker *w, const sp_step *found)
{
    const double most = 2 * w->system->model->unknown_count * sp_equilibrium_tolerance(w->system);
    if (found->imbalance <= most) return SP_OK;
    return sp_fail(context, SP_INTERNAL,
                   "the platens do not balance each other at a shortening of %.4g mm: %.3g N is "
                   "left of %.3g N, %.3g N would be round-off",
                   found->shortening, found->imbalance, found->force, most);
}

static const double width_strains[SP_WIDTH_STRAINS] = {0.10, 0.25, 0.40};

static int count_snaps(const sp_path *path)
{
    int count = 0;
    for (int i = 0; i < path->event_count; i++) count += path->event[i].kind == SP_EVENT_SNAP;
    return count;
}

/* Find how the first stiffness changes with the width, and so the force of the first states at or
 * beyond some strains. `found` is described and not accepted yet, so that the history of the fibres
 * before it is available. */
static sp_status tell_width(sp_context *context, sp_walker *w, const sp_step *found, int snapped)
{
    sp_width_pair *pair = w->options->width;
    const sp_path *path = w->path;
    sp_width *width = &w->path->width;
    if (!pair || !pair->model[0] || w->back || w->later) return SP_OK;
    if (path->step_count == 0) {
        width->stiffness = found->stiffness;
        return sp_width_stiffness_slope(context, w->system, w->candidate_tangent, pair,
                                        &width->stiffness_slope);
    }
    sp_status status = SP_OK;
    const double strain = found->shortening / w->system->model->height;
    for (int i = 0; i < SP_WIDTH_STRAINS && status == SP_OK; i++) {
        sp_width_slope *at = &width->force[i];
        if (at->strain > 0 || strain < width_strains[i] * (1 - 1e-9)) continue;
        *at = (sp_width_slope){strain, found->force, NAN, count_snaps(path) + snapped};
        status = sp_width_force_slope(context, w->system, w->candidate_tangent, pair, &at->slope);
    }
    if (width->force[SP_WIDTH_STRAINS - 1].strain > 0) sp_width_drop(pair);
    return status;
}

/* Make the state just described the accepted one. */
sp_status sp_walker_accept(sp_context *context, sp_walker *w, sp_step *found, int snapped)
{
    sp_status status = check_balance(context, w, found);
    if (status == SP_OK) status = tell_width(context, w, found, snapped);
    if (status != SP_OK) return status;
    const double travel = found->shortening - w->at.shortening;
    double *swap = w->before;
    found->iterations = w->iterations;
    found->factorizations = w->factorizations;
    found->fibre_strain = sp_system_fibre_strain(w->system);
    sp_system_fibre_range(w->system, &w->path->fibre_least, &w->path->fibre_most);
    found->dissipated = sp_system_accept(w->system, snapped ? 0 : travel);
    const sp_law_lost lost = sp_system_lost(w->system);
    found->softened = lost.softened;
    found->relaxed = lost.relaxed;
    found->flowed = lost.flowed;
    w->iterations = w->factorizations = w->switched = 0;
    w->before = w->tangent;
    w->tangent = w->candidate_tangent;
    w->candidate_tangent = swap;
    w->before_step = snapped ? 0 : travel;
    const int first_contact = w->at.contacts == 0 && found->contacts > 0;
    w->at = *found;
    w->largest_force = fmax(w->largest_force, found->force);
    w->most_work = fmax(w->most_work, found->work);
    if (w->back || w->later) {
        sp_walker_tell_progress(context, w);
        status = sp_path_add_back(context, w->path, found);
        tell_accepted(context, w);
        return status;
    }
    status = sp_path_add_step(context, w->path, found);
    if (status == SP_OK && first_contact)
        status = sp_path_add_event(context, w->path, SP_EVENT_FIRST_CONTACT, -1, 0);
    if (status == SP_OK) sp_buckle_watch_look(&w->watch, w->system, w->path->step_count - 1);
    if (status == SP_OK) keep_frame(w);
    sp_walker_tell_progress(context, w);
    tell_accepted(context, w);
    return status;
}

/* The modulus of a law of two measured curves depends on the side at the unloaded state, and so
 * does the stiffness of the coupon. So it is taken from the first step: it is that of the parabola
 * through both states with the slope that was found. */
static void settle_first_stiffness(sp_walker *w, const sp_step *found)
{
    if (w->path->step_count != 1 || !sp_model_law(w->system->model)->has_corner) return;
    const double secant = (found->force - w->at.force) / (found->shortening - w->at.shortening);
    w->at.stiffness = w->path->step[0].stiffness = 2 * secant - found->stiffness;
}

sp_status sp_walker_accept_smooth(sp_context *context, sp_walker *w, sp_step *found)
{
    settle_first_stiffness(w, found);
    found->work = w->at.work + work_between(&w->at, found);
    found->released = w->at.released;
    return sp_walker_accept(context, w, found, 0);
}

double sp_walker_released(const sp_walker *w, const sp_step *found)
{
    return w->at.stored + work_ahead(&w->at, found->shortening - w->at.shortening) - found->stored;
}

sp_status sp_walker_accept_snap(sp_context *context, sp_walker *w, sp_step *found)
{
    double released = sp_walker_released(w, found);
    if (released < 0) {
        found->stored -= sp_system_spend_less(w->system, -released);
        released = sp_walker_released(w, found);
    }
    found->work = w->at.work + work_ahead(&w->at, found->shortening - w->at.shortening);
    found->released = w->at.released + fmax(0, released);
    sp_status status = sp_walker_accept(context, w, found, 1);
    if (status == SP_OK && released > 0 && !w->back && !w->later)
        status = sp_path_add_event(context, w->path, SP_EVENT_SNAP, -1, released);
    return status;
}

static sp_status cut_step(sp_context *context, sp_walker *w)
{
    sp_status status = w->back || w->later
                           ? SP_OK
                           : sp_path_add_event(context, w->path, SP_EVENT_CUT, -1, w->step);
    w->step *= cut;
    return status;
}

double sp_walker_next_step(const sp_walker *w)
{
    const double smallest = smallest_share * w->planned;
    if (w->back) {
        const double step = fmin(w->step, w->at.shortening - w->back_to);
        const double above = w->at.force - w->back_to_force;
        const int past = w->at.stiffness > 0 && step * w->at.stiffness > above;
        return past ? fmax(above / w->at.stiffness, smallest) : step;
    }
    double step = fmin(w->step, w->target - w->at.shortening);
    const double whole = sp_whole_force(w->system->model->network, &w->at);
    const double left = (w->load_limit - whole) * (whole > 0 ? w->at.force / whole : 1);
    if (left < INFINITY && w->at.stiffness > 0 && step * w->at.stiffness > left)
        step = fmax(left / w->at.stiffness, smallest);
    return step;
}

/* Return 1 when the accepted state stands where material between struts is squeezed to nothing.
 * Steps go on to be found there, at forces that mean nothing. The check is made only where the
 * stress on the platens is far beyond what a press of this material reaches. */
static int is_crushed(sp_walker *w)
{
    const double *size = w->system->model->network->size;
    if (w->at.force < crushing_stress * w->system->model->layer_modulus * size[0] * size[2])
        return 0;
    if (!sp_range_is_crushed(w->system)) return 0;
    w->range = SP_RANGE_CRUSHED;
    return 1;
}

sp_judgement sp_walker_judge(sp_walker *w)
{
    if (!w->back && is_crushed(w)) return SP_END_RANGE;
    if (w->back)
        return w->at.force <= w->back_to_force + unloaded_share * w->largest_force ||
                       w->at.shortening <= w->back_to + smallest_share * w->planned
                   ? SP_END_TARGET
                   : SP_GO_ON;
    if (w->at.shortening >= w->target * (1 - 1e-9)) return SP_END_TARGET;
    if (sp_whole_force(w->system->model->network, &w->at) >= w->load_limit * (1 - limit_share))
        return SP_END_LOAD;
    return SP_GO_ON;
}

/* Return 1 when a state that is not balanced was reached by a jump: when K was not positive
 * definite on the way to it. A poor prediction may cause that, too, and the tangent of a state does
 * not know how the push on friction platens will grow: in these cases a jump is what releases
 * energy. */
static int jumped(const sp_walker *w, const sp_attempt *attempt, const sp_step *found)
{
    if (w->switched) return 1;
    if (attempt->bent == 0) return 0;
    const double released = sp_walker_released(w, found);
    if (w->system->contact.friction.face_count > 0) return released > 0;
    /* A jump releases energy, or misses no more than the balance of the whole press allows. */
    return released > -balance_share * fabs(w->at.work + work_between(&w->at, found));
}

/* End the press where no step leads on from the accepted state: it stands where the model ends, or
 * the attempt came to such a place, or the press gives up. */
sp_status sp_walker_end_early(sp_context *context, sp_walker *w, sp_judgement *end)
{
    w->range = sp_range_of(w->system);
    const sp_status status = sp_system_restore(context, w->system);
    if (status == SP_OK && w->range == SP_RANGE_INSIDE) w->range = sp_range_of(w->system);
    *end = w->range == SP_RANGE_INSIDE ? SP_END_GAVE_UP : SP_END_RANGE;
    return status;
}

/* Return 1 when a step of the way back has gone beyond the state that carries nothing, to one in
 * which held faces would pull. */
static int pulls(const sp_walker *w, const sp_step *found)
{
    return w->back && found->force < w->back_to_force - unloaded_share * w->largest_force;
}

sp_status sp_walker_descend_step(sp_context *context, sp_walker *w, sp_judgement *end)
{
    const double step = sp_walker_next_step(w), travel = w->back ? -step : step;
    const int is_short = step <= corner_step * w->planned,
              is_last = step * cut < smallest_share * w->planned;
    sp_attempt attempt;
    sp_step found;
    sp_status status = sp_walker_predict(context, w, travel);
    /* Where a contact or a grip lets go, K stays positive definite all the way to the next state
     * and no step is short enough: the shortest one is given as many iterations as a jump. */
    if (status == SP_OK)
        status = sp_equilibrium_descend(context, w->system, w->guess, w->at.shortening + travel,
                                        is_last ? SP_MOST_IN_A_JUMP : SP_STEP_ITERATIONS, &attempt);
    if (status != SP_OK) return status;
    w->iterations += attempt.iterations;
    w->factorizations += attempt.factorizations;
    if (attempt.end == SP_STOPPED) {
        *end = SP_END_STOPPED;
        return SP_OK;
    }
    if (attempt.end != SP_FOUND) {
        if (is_last) return sp_walker_end_early(context, w, end);
        w->step = step;
        return cut_step(context, w);
    }
    status = sp_walker_describe(context, w, &found);
    if (status != SP_OK) return status;
    if (!is_last && pulls(w, &found)) {
        w->step = step;
        return cut_step(context, w);
    }
    if (sp_walker_balanced(&w->at, &found)) {
        w->step = attempt.iterations <= easy_iterations
                      ? fmin(w->planned, fmax(w->step, step) * grow)
                      : step;
        status = sp_walker_accept_smooth(context, w, &found);
    } else if (jumped(w, &attempt, &found) ||
               (is_short && (!nearly_balanced(&w->at, &found) || !may_miss(w, &found)))) {
        status = sp_walker_accept_snap(context, w, &found);
        w->step = fmin(w->planned, step * grow);
    } else if (is_short) { /* a contact has closed: a corner in the curve, not a jump */
        w->missed += missing_between(&w->at, &found);
        status = sp_walker_accept_smooth(context, w, &found);
    } else {
        w->step = step;
        return cut_step(context, w);
    }
    if (status == SP_OK) *end = sp_walker_judge(w);
    return status;
}
