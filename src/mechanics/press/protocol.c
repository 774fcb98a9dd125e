/* This file follows a protocol after its first press: presses and releases in steps of travel,
 * holds and rests in steps of time (E130 to E132).
 *
 * Time steps grow with the time since the segment began, and end at the times that figures are read
 * at. */
#include <math.h>
#include <string.h>

#include "base/poll.h"
#include "press/record.h"
#include "press/walker.h"

/* The first step of a segment takes first_step, or less after a short segment such as a drop. */
static const double first_step = 0.05;   /* [s] */
static const double share_before = 0.05; /* of the time that the segment before took */
/* A step takes this share of the time since the segment began, which makes nine steps per decade.
 */
static const double step_growth = 0.28;
static const double shortest_step = 1e-6; /* [s] */
static const double first_turn = 0.1;     /* of a planned step */
static const double later_steps = 3;      /* planned steps of the first press */
/* A segment that moves the platen has at least so many planned steps, where its way can be
 * foreseen: the planned steps are shares of the strain limit, which a press to a small force ends
 * far below. */
static const double least_steps = 4;
static const double cut = 0.25;
static const double force_share = 1e-7; /* of the largest force: a force is met to this */
static const double jump_share = 1e-4;  /* of the stored energy: a smaller drop is no jump */
static const double marks[] = {1, 10, 60, 100, 600, 1000, 1800, 3600, 1e4, 86400, 1e5};
static const int most_iterations = 30;

static void travel_to(sp_walker *w, const sp_segment *segment, double *travel)
{
    const double height = w->system->model->height - w->zero;
    if (segment->to_strain >= 0) *travel = w->zero + segment->to_strain * height;
    if (segment->to_travel >= 0) *travel = w->zero + segment->to_travel;
}

/* Return the planned step of later segments. They are as smooth as the first press, and the balance
 * of energy of every step is checked. */
static double later_step(const sp_walker *w)
{
    return later_steps * w->options->strain * w->system->model->height / w->options->steps;
}

/* Shorten the planned step for a segment that moves the platen by `way` [mm], or from the accepted
 * state to the force that ends it (`to_force`, NAN: no force does). */
static void plan_way(sp_walker *w, double way, double to_force)
{
    if (to_force > w->at.force && w->at.stiffness > 0)
        way = fmin(way, (to_force - w->at.force) / w->at.stiffness);
    if (way > 0) w->planned = fmin(w->planned, way / least_steps);
}

void sp_walker_plan_first(sp_walker *w, const sp_segment *first)
{
    if (first->kind == SP_SEGMENT_DROP) return;
    double target = w->target;
    travel_to(w, first, &target);
    plan_way(w, target, first->to_force);
    w->step = w->planned;
}

void sp_walker_turn_to(sp_walker *w, const sp_segment *segment)
{
    w->speed =
        segment->speed > 0 ? segment->speed : segment->strain_rate * w->system->model->height;
    w->back = segment->kind == SP_SEGMENT_RELEASE;
    w->before_step = 0;
    w->planned = later_step(w);
    w->load_limit = w->options->load_limit;
    w->back_to = w->back_to_force = 0;
    if (w->back) {
        travel_to(w, segment, &w->back_to);
        if (segment->to_force > 0) w->back_to_force = segment->to_force;
        plan_way(w, w->at.shortening - w->back_to, NAN);
    } else {
        w->target = w->options->strain * w->system->model->height;
        travel_to(w, segment, &w->target);
        if (segment->to_force > 0) w->load_limit = fmin(w->load_limit, segment->to_force);
        plan_way(w, w->target - w->at.shortening, segment->to_force);
    }
    w->step = first_turn * w->planned;
}

/* --- segments that stand in time --- */

/* Return the length of the first step. What relaxes quicker than the segment before took has
 * relaxed already. */
static double first_time(const sp_walker *w)
{
    const sp_path *path = w->path;
    if (path->stage_count < 2) return first_step;
    const sp_stage *before = &path->stage[path->stage_count - 2];
    const double took =
        sp_path_state(path, before->last)->time - sp_path_state(path, before->first)->time;
    return took > 0 ? fmin(first_step, share_before * took) : first_step;
}

/* Return the length of the next step, `since` seconds after the segment began. */
static double next_time(double since, double duration, double first, double most)
{
    const double step = fmin(most, first + step_growth * since);
    double end = duration;
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (marks[i] > since * (1 + 1e-9)) {
            end = fmin(end, marks[i]);
            break;
        }
    return since + 1.3 * step >= end ? end - since : step;
}

/* This is the change in the last step by the logarithm of time: the next step is predicted to go on
 * in the same way. */
typedef struct course {
    double travel; /* [mm] */
    double length; /* of that step in the logarithm of time; 0: there was no such step */
} course;

static double log_time(double since, double first)
{
    return log(since + first / step_growth);
}

/* Predict the next state from the course: values of the nodes into w->guess, the travel into *u. */
static void go_on(sp_walker *w, const course *last, double length, double *u)
{
    sp_system *system = w->system;
    const double share = last->length > 0 ? length / last->length : 0;
    sp_model_move(system->model, system->accepted, share, w->change, w->guess);
    if (sp_system_is_safe(system, w->guess))
        *u += share * last->travel;
    else
        memcpy(w->guess, system->accepted, sp_system_values(system) * sizeof *w->guess);
}

/* Find the state under the load. Where the coupon gives way, as when grips let go of a face that is
 * unloaded, the platen goes to where a descent meets the load. */
static sp_status meet_load(sp_context *context, sp_walker *w, const sp_platen_load *load, double u,
                           int most, sp_attempt *attempt)
{
    sp_system *system = w->system;
    sp_status status = sp_equilibrium_load(context, system, w->guess, load, most_iterations,
                                           w->candidate_tangent, &u, attempt);
    if (status != SP_OK || attempt->end == SP_FOUND || attempt->end == SP_STOPPED) return status;
    u = w->at.shortening;
    return sp_equilibrium_load_down(context, system, system->accepted, load, most, w->planned,
                                    w->candidate_tangent, &u, attempt);
}

static sp_status reach_in_time(sp_context *context, sp_walker *w, double dt, const double *force,
                               const course *last, double length, sp_attempt *attempt)
{
    sp_system *system = w->system;
    /* Where grips let go the coupon gives way though K stays positive definite, and no step is
     * short enough: the shortest one is given as many iterations as a jump. */
    const int most = dt * cut < shortest_step ? SP_MOST_IN_A_JUMP : most_iterations;
    double u = w->at.shortening;
    sp_status status = sp_system_try(context, system, 0, dt);
    if (status != SP_OK) return status;
    go_on(w, last, length, &u);
    if (!force)
        status = sp_equilibrium_descend(context, system, w->guess, w->at.shortening, most, attempt);
    else
        status = meet_load(
            context, w,
            &(sp_platen_load){.force = *force,
                              .energy = w->at.stored,
                              .tolerance = force_share * fmax(w->largest_force, fabs(*force))},
            u, most, attempt);
    w->iterations += attempt->iterations;
    w->factorizations += attempt->factorizations;
    return status;
}

/* Accept a state in time. A platen does work only under a constant force; a drop of the energy
 * stored and dissipated is that of a jump (E132). */
static sp_status accept_in_time(sp_context *context, sp_walker *w, const sp_attempt *attempt)
{
    sp_step found;
    const sp_status status = sp_walker_describe(context, w, &found);
    if (status != SP_OK) return status;
    found.work =
        w->at.work + 0.5 * (w->at.force + found.force) * (found.shortening - w->at.shortening);
    const double drop = w->at.stored + (found.work - w->at.work) - found.stored;
    const int jumped = attempt->bent > 0 && drop > jump_share * w->at.stored;
    found.released = w->at.released + (jumped ? drop : 0);
    return sp_walker_accept(context, w, &found, 1);
}

/* Stand for so long; `force` NULL: at this travel. */
static sp_status stand(sp_context *context, sp_walker *w, double duration, const double *force,
                       sp_judgement *end)
{
    const double begin = w->at.time, first = first_time(w);
    double most = INFINITY;
    course last = {0};
    sp_status status = SP_OK;
    memset(w->change, 0, sp_walker_unknowns(w) * sizeof *w->change);
    w->speed = 0;
    w->back = 0;
    while (status == SP_OK && *end == SP_GO_ON && w->at.time - begin < duration * (1 - 1e-12)) {
        const double since = w->at.time - begin, dt = next_time(since, duration, first, most),
                     length = log_time(since + dt, first) - log_time(since, first);
        sp_attempt attempt;
        if (sp_interrupted(context)) {
            *end = SP_END_STOPPED;
            break;
        }
        status = reach_in_time(context, w, dt, force, &last, length, &attempt);
        if (status != SP_OK) break;
        if (attempt.end == SP_FOUND) {
            sp_model_change(w->system->model, w->system->accepted, w->system->x, w->change);
            last =
                (course){w->system->shortening - w->at.shortening, attempt.bent > 0 ? 0 : length};
            status = accept_in_time(context, w, &attempt);
            most = 2 * fmax(dt, shortest_step);
        } else if (attempt.end == SP_STOPPED) {
            *end = SP_END_STOPPED;
        } else if (dt * cut < shortest_step) {
            *end = SP_END_GAVE_UP;
        } else {
            most = dt * cut;
            last.length = 0;
        }
    }
    if (status == SP_OK && *end == SP_GO_ON) *end = SP_END_TARGET;
    return status;
}

/* --- all of them --- */

sp_status sp_walker_move(sp_context *context, sp_walker *w, const sp_segment *segment,
                         sp_judgement *end)
{
    sp_status status = SP_OK;
    sp_walker_turn_to(w, segment);
    *end = sp_walker_judge(w);
    while (status == SP_OK && *end == SP_GO_ON)
        if (sp_interrupted(context))
            *end = SP_END_STOPPED;
        else
            status = sp_walker_descend_step(context, w, end);
    w->planned = later_step(w);
    return status;
}

static sp_status follow_segment(sp_context *context, sp_walker *w, const sp_segment *segment,
                                sp_judgement *end)
{
    static const double nothing = 0;
    const double force = w->at.force;
    *end = SP_GO_ON;
    switch (segment->kind) {
    case SP_SEGMENT_HOLD:
        return stand(context, w, segment->duration, NULL, end);
    case SP_SEGMENT_LOAD:
        return stand(context, w, segment->duration, &force, end);
    case SP_SEGMENT_REST:
        return stand(context, w, segment->duration, &nothing, end);
    case SP_SEGMENT_ZERO: {
        const sp_status status = sp_walker_move(context, w, segment, end);
        w->zero = w->at.shortening;
        return status;
    }
    case SP_SEGMENT_DROP:
        return sp_walker_drop(context, w, segment, end);
    case SP_SEGMENT_PRESS:
    case SP_SEGMENT_RELEASE:
    case SP_SEGMENT_KINDS:
        break;
    }
    return sp_walker_move(context, w, segment, end);
}

static void tell_end(sp_context *context, const sp_walker *w, const sp_segment *segment,
                     sp_judgement end)
{
    if (end == SP_END_STOPPED) {
        sp_path_end(w->path, SP_STOP_INTERRUPTED,
                    "interrupted in `%s` at %.4g s; the curve so far is kept", segment->text,
                    w->at.time);
        return;
    }
    sp_warn(context,
            "the protocol ends early: `%s` finds no equilibrium after %.4g s, at a shortening of "
            "%.4g mm; the curve so far is kept",
            segment->text, w->at.time, w->at.shortening);
}

sp_status sp_walker_follow(sp_context *context, sp_walker *w)
{
    const sp_protocol *protocol = w->options->protocol;
    sp_path *path = w->path;
    if (!w->later) w->front_frames = path->shapes.frame_count;
    sp_status status = SP_OK;
    w->later = 1;
    w->planned = w->options->strain * w->system->model->height / w->options->steps;
    for (int i = 1; status == SP_OK && i < protocol->count; i++) {
        const sp_segment *segment = &protocol->segment[i];
        sp_judgement end;
        status = sp_path_begin_stage(context, path, segment);
        if (status == SP_OK) status = follow_segment(context, w, segment, &end);
        if (status != SP_OK) break;
        const int reached = end == SP_END_TARGET || end == SP_END_LOAD || end == SP_END_BOUNCED;
        sp_path_end_stage(path, reached);
        if (!reached) tell_end(context, w, segment, end);
        if (reached) sp_path_add_frame(w->system, path);
        if (reached && segment->kind == SP_SEGMENT_RELEASE && !(w->back_to_force > 0) &&
            !(w->back_to > 0))
            path->unloaded = 1;
        if (!reached) break;
    }
    path->shapes.back_frames = path->shapes.frame_count - w->front_frames;
    return status;
}
