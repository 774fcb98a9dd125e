/* The press: predict, find the next equilibrium, judge it, record it (E16, E17).
 *
 * u travel, F platen force, F' = dF/du of the accepted tangent, E stored energy. A step is accepted when the work
 * integrated along it (Hermite rule on F and F') matches the change of E; otherwise it holds a jump, which is recorded
 * as a snap with the energy it released, or is too long and is cut. */
#include <math.h>
#include <string.h>
#include <time.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "press/record.h"
#include "press/walker.h"
#include "stability/mechanism.h"
#include "state/balance.h"

static const double balance_share = 1e-3; /* |work - dE| allowed per step, of the work */
static const double balance_floor = 1e-9; /* and of the stored energy */
static const double corner_share = 0.1;   /* more is a jump even where K never bent */
static const double corner_step =
    1.0 / 8; /* of a planned step: shorter ones are not cut at a corner */
/* A step that is tried, not taken, shows which push holds the faces by friction (friction.h): it is so much of a planned step and of
 * the height at most, and is tried until its limits change by no more than this. */
static const double try_share = 1e-2, longest_try = 6.25e-6, near_enough = 1e-3;
static const int most_tries = 40;
static const double smallest_share = 1e-7; /* of a planned step: below this the press gives up */
static const double cut = 0.25, grow = 1.5;
static const double first_back =
    0.1; /* of a planned step: where yield ends, the tangent changes at the turn */
static const int easy_iterations = 6; /* a step that took no more may be followed by a longer one */
static const int most_iterations = 14; /* where K stays positive definite; more: cut */
/* Where a contact or a grip lets go the path ends though K stays positive definite all the way to the next state: no step is
 * short enough then, and the shortest goes as far down as a jump may. */
static const int most_in_the_last = 600;
static const double limit_share = 1e-3; /* the load limit is met to this share */
/* Of the time of a press, for `time left`: growth of its rate over the whole way, and what the way back takes of it. */
static const double cost_growth = 1.5, way_back_share = 0.6;
static const double unloaded_share = 1e-4; /* of the largest force: less is none */

static double seconds_since(const struct timespec *begin)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)(t.tv_sec - begin->tv_sec) + 1e-9 * (double)(t.tv_nsec - begin->tv_nsec);
}

size_t sp_walker_unknowns(const sp_walker *w)
{
    return (size_t)w->system->model->unknowns * (size_t)w->system->model->node_count;
}

/* x after `step` more travel: along the tangent and the curvature of the path, into `x`. */
static void predict_path(const sp_walker *w, double step, double *x)
{
    sp_model_move(w->system->model, w->system->accepted, step, w->tangent, x);
    if (!(fabs(w->before_step) > 0)) return;
    for (size_t i = 0; i < sp_walker_unknowns(w); i++) w->change[i] = w->tangent[i] - w->before[i];
    sp_model_move(w->system->model, x, 0.5 * step * step / w->before_step, w->change, x);
}

/* Squash of the whole picture: an affine map lets no strut through another. */
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
                       .time = w->at.time + system->step_time};
    return sp_system_tangent(context, system, w->candidate_tangent, &found->stiffness);
}

/* Hermite rule: work from state a to state b (E17). */
static double work_between(const sp_step *a, const sp_step *b)
{
    const double u = b->shortening - a->shortening;
    return 0.5 * u * (a->force + b->force) + u * u / 12 * (a->stiffness - b->stiffness);
}

/* Work over `travel` from a state on, were its path to go on as it does there. */
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

/* The work rule misses this much where a contact closes within the smallest step. */
static int nearly_balanced(const sp_step *a, const sp_step *b)
{
    const double work = work_between(a, b);
    return fabs(work - (b->stored - a->stored)) <= corner_share * fabs(work);
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

/* What the platens exert on the whole coupon adds up to no more than what is left over at its nodes, turns included. */
static sp_status check_balance(sp_context *context, const sp_walker *w, const sp_step *found)
{
    const double most = 2 * w->system->model->unknown_count * sp_equilibrium_tolerance(w->system);
    if (found->imbalance <= most) return SP_OK;
    return sp_fail(context, SP_INTERNAL,
                   "the platens do not balance each other at a shortening of %.4g mm: %.3g N is "
                   "left of %.3g N, %.3g N would be round-off",
                   found->shortening, found->imbalance, found->force, most);
}

/* The way to the target, or to the load limit, whichever is nearer. */
static double way_done(const sp_walker *w)
{
    const double limit = w->load_limit;
    const double load = limit < INFINITY ? w->at.force / limit : 0;
    return fmin(1, fmax(0, fmax(w->at.shortening / w->target, load)));
}

/* Seconds that the rest of the press will take. What is pressed flat costs more than what is not: the rate of the last fifth of
 * the way grows on, as it does in the presses of benchmarks/speed/forecast.csv. */
static double seconds_left(sp_walker *w, double elapsed)
{
    const double way = way_done(w), ahead = 1 - way;
    const int part = (int)(SP_PROGRESS_PARTS * way);
    for (; w->marks <= part; w->marks++) {
        w->mark_time[w->marks] = elapsed;
        w->mark_way[w->marks] = way;
    }
    const int from = part > SP_PROGRESS_PARTS / 5 ? part - SP_PROGRESS_PARTS / 5 : 0;
    const double walked = way - w->mark_way[from];
    if (!(walked > 0)) return INFINITY;
    const double rate = (elapsed - w->mark_time[from]) / walked;
    const double rest = rate * expm1(cost_growth * ahead) / cost_growth;
    return w->options->unload ? rest + way_back_share * (elapsed + rest) : rest;
}

/* The share of the time, not of the way: who shows it divides the time by it. */
static void tell_progress(sp_context *context, sp_walker *w)
{
    if (!context || !context->progress) return;
    const double elapsed = seconds_since(&w->begin);
    if (w->options->stop_at_critical) { /* nobody knows where it is */
        sp_begin(context, "searching for the critical step");
        return;
    }
    if (!w->back) w->turned_after = elapsed;
    const double whole = w->back ? fmax((1 + way_back_share) * w->turned_after, 1.02 * elapsed)
                                 : elapsed + seconds_left(w, elapsed);
    context->progress(context->user, whole > 0 && whole < INFINITY ? fmin(1, elapsed / whole) : 0,
                      w->back ? "going back" : "pressing");
}

/* Make the state just described the accepted one. */
sp_status sp_walker_accept(sp_context *context, sp_walker *w, sp_step *found, int snapped)
{
    sp_status status = check_balance(context, w, found);
    if (status != SP_OK) return status;
    const double travel = found->shortening - w->at.shortening;
    double *swap = w->before;
    found->iterations = w->iterations;
    found->factorizations = w->factorizations;
    found->fibre_strain = sp_system_fibre_strain(w->system);
    found->dissipated = sp_system_accept(w->system, snapped ? 0 : travel);
    const sp_law_lost lost = sp_system_lost(w->system);
    found->softened = lost.softened;
    found->relaxed = lost.relaxed;
    found->flowed = lost.flowed;
    w->iterations = w->factorizations = 0;
    w->before = w->tangent;
    w->tangent = w->candidate_tangent;
    w->candidate_tangent = swap;
    w->before_step = snapped ? 0 : travel;
    const int first_contact = w->at.contacts == 0 && found->contacts > 0;
    w->at = *found;
    w->largest_force = fmax(w->largest_force, found->force);
    if (w->back || w->later) {
        tell_progress(context, w);
        return sp_path_add_back(context, w->path, found);
    }
    status = sp_path_add_step(context, w->path, found);
    if (status == SP_OK && first_contact)
        status = sp_path_add_event(context, w->path, SP_EVENT_FIRST_CONTACT, -1, 0);
    if (status == SP_OK) sp_buckle_watch_look(&w->watch, w->system, w->path->step_count - 1);
    if (status == SP_OK) keep_frame(w);
    tell_progress(context, w);
    return status;
}

sp_status sp_walker_accept_smooth(sp_context *context, sp_walker *w, sp_step *found)
{
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
    const double released = sp_walker_released(w, found);
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
    const double left = w->load_limit - w->at.force;
    if (left < INFINITY && w->at.stiffness > 0 && step * w->at.stiffness > left)
        step = fmax(left / w->at.stiffness, smallest);
    return step;
}

sp_judgement sp_walker_judge(const sp_walker *w)
{
    if (w->back)
        return w->at.force <= w->back_to_force + unloaded_share * w->largest_force ||
                       w->at.shortening <= w->back_to + smallest_share * w->planned
                   ? SP_END_TARGET
                   : SP_GO_ON;
    if (w->at.shortening >= w->target * (1 - 1e-9)) return SP_END_TARGET;
    if (w->at.force >= w->load_limit * (1 - limit_share)) return SP_END_LOAD;
    return SP_GO_ON;
}

/* What is not balanced has jumped when K was bent on the way to it. A poor prediction bends K, too, and the tangent of a state does
 * not know how the push on friction platens will grow: between these a jump is what releases energy. */
static int jumped(const sp_walker *w, const sp_attempt *attempt, const sp_step *found)
{
    if (attempt->bent == 0) return 0;
    const double released = sp_walker_released(w, found);
    if (w->system->contact.friction.face_count > 0) return released > 0;
    /* no more is missing than the balance of the whole press bears */
    return released > -balance_share * fabs(w->at.work + work_between(&w->at, found));
}

/* No step leads on from the accepted state: it stands where the model ends, or the attempt came there, or the press gives up. */
sp_status sp_walker_end_early(sp_context *context, sp_walker *w, sp_judgement *end)
{
    w->range = sp_range_of(w->system);
    const sp_status status = sp_system_restore(context, w->system);
    if (status == SP_OK && w->range == SP_RANGE_INSIDE) w->range = sp_range_of(w->system);
    *end = w->range == SP_RANGE_INSIDE ? SP_END_GAVE_UP : SP_END_RANGE;
    return status;
}

sp_status sp_walker_descend_step(sp_context *context, sp_walker *w, sp_judgement *end)
{
    const double step = sp_walker_next_step(w), travel = w->back ? -step : step;
    const int is_short = step <= corner_step * w->planned,
              is_last = step * cut < smallest_share * w->planned;
    sp_attempt attempt;
    sp_step found;
    sp_status status = sp_walker_predict(context, w, travel);
    if (status == SP_OK)
        status = sp_equilibrium_descend(context, w->system, w->guess, w->at.shortening + travel,
                                        is_last ? most_in_the_last : most_iterations, &attempt);
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
    if (sp_walker_balanced(&w->at, &found)) {
        w->step = attempt.iterations <= easy_iterations
                      ? fmin(w->planned, fmax(w->step, step) * grow)
                      : step;
        status = sp_walker_accept_smooth(context, w, &found);
    } else if (jumped(w, &attempt, &found) || (is_short && !nearly_balanced(&w->at, &found))) {
        status = sp_walker_accept_snap(context, w, &found);
        w->step = fmin(w->planned, step * grow);
    } else if (is_short) { /* a contact closed: no jump, only a corner in the curve */
        status = sp_walker_accept_smooth(context, w, &found);
    } else {
        w->step = step;
        return cut_step(context, w);
    }
    if (status == SP_OK) *end = sp_walker_judge(w);
    return status;
}

/* --- begin, end --- */

static sp_status take_start_tangent(sp_context *context, sp_walker *w)
{
    sp_step found;
    const sp_status status = sp_walker_describe(context, w, &found);
    if (status != SP_OK) return status;
    memcpy(w->tangent, w->candidate_tangent, sp_walker_unknowns(w) * sizeof(double));
    w->at.stiffness = w->path->step[0].stiffness = found.stiffness;
    return SP_OK;
}

/* Nothing is left of friction where nothing pushes: the face joints of the unloaded coupon hold whatever comes (friction.h), or it
 * would hang on nothing. */
static sp_status evaluate_unloaded(sp_context *context, sp_walker *w)
{
    sp_system *system = w->system;
    const double *x = system->model->reference;
    const sp_status status = sp_system_evaluate(context, system, x, 0);
    if (status != SP_OK || system->contact.friction.face_count == 0) return status;
    sp_system_accept(system, 0);
    return sp_system_evaluate(context, system, x, 0);
}

/* The unloaded state is accepted: how the push of the platens on the faces will grow, and the tangent under the friction that
 * this makes. Limits grow in step with the travel, so a shorter try says the same. */
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
                sp_equilibrium_descend(context, system, w->guess, step, most_iterations, &attempt);
        if (status != SP_OK || attempt.end == SP_STOPPED) return status;
        if (attempt.end == SP_FOUND) {
            found++;
            change = sp_friction_start(friction, system->model, system->gradient, step);
        } else {
            step *= cut;
        }
    }
    if (found == 0) { /* as the unloaded state has it: without friction until the next */
        sp_status status = sp_system_restore(context, system);
        sp_friction_start(friction, system->model, system->gradient, step);
        return status;
    }
    return attempt.end == SP_FOUND ? take_start_tangent(context, w) : SP_OK;
}

static sp_status begin(sp_context *context, sp_walker *w)
{
    sp_system *system = w->system;
    const sp_model *model = system->model;
    clock_gettime(CLOCK_MONOTONIC, &w->begin);
    w->target = w->options->strain * model->height;
    w->planned = w->step = w->target / w->options->steps;
    w->search_critical = w->options->follow_perfect;
    w->load_limit = w->options->load_limit;
    w->guess = sp_alloc(sp_system_values(system), sizeof(double));
    w->tangent = sp_alloc(sp_walker_unknowns(w), sizeof(double));
    w->before = sp_alloc(sp_walker_unknowns(w), sizeof(double));
    w->change = sp_alloc(sp_walker_unknowns(w), sizeof(double));
    w->candidate_tangent = sp_alloc(sp_walker_unknowns(w), sizeof(double));
    if (!w->guess || !w->tangent || !w->before || !w->change || !w->candidate_tangent)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a press of %d nodes",
                       model->node_count);
    sp_begin(context, "looking for what moves without resistance");
    sp_status status = sp_mechanism_refuse(context, model);
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
    /* unloaded means free of force: what is left is round-off of the mesh */
    if (status == SP_OK) found.force = found.stored = 0;
    if (status == SP_OK) status = sp_walker_accept(context, w, &found, 1);
    if (status == SP_OK && system->contact.friction.face_count > 0)
        status = start_friction(context, w);
    return status;
}

/* The first segment; its goal is that of the press. */
static sp_status begin_protocol(sp_context *context, sp_walker *w)
{
    const sp_segment *first = &w->options->protocol->segment[0];
    w->speed = first->kind == SP_SEGMENT_DROP ? sp_drop_speed(first)
               : first->speed > 0             ? first->speed
                                              : first->strain_rate * w->system->model->height;
    return sp_path_begin_stage(context, w->path, first);
}

/* --- the way back --- */

/* The platen goes up until the coupon carries nothing. What was kept of the press stays as it is; a way back that ends early
 * is kept as far as it came. */
static sp_status unload(sp_context *context, sp_walker *w)
{
    sp_judgement end = SP_GO_ON;
    sp_status status = SP_OK;
    w->back = 1;
    w->before_step = 0;
    w->step = first_back * w->planned;
    while (status == SP_OK && end == SP_GO_ON && !sp_interrupted(context))
        status = sp_walker_descend_step(context, w, &end);
    w->path->unloaded = end == SP_END_TARGET;
    if (status == SP_OK && w->path->unloaded) {
        const int before = w->path->shapes.frame_count;
        sp_path_add_frame(w->system, w->path);
        w->path->shapes.back_frames = w->path->shapes.frame_count - before;
    }
    if (status == SP_OK && (end == SP_GO_ON || end == SP_END_STOPPED))
        return sp_fail(
            context, SP_INTERRUPTED,
            "interrupted on the way back at a shortening of %.4g mm; the curve so far is "
            "kept",
            w->at.shortening);
    if (status == SP_OK && (end == SP_END_GAVE_UP || end == SP_END_RANGE))
        sp_warn(context,
                "the way back finds no equilibrium below a shortening of %.4g mm: no set is told",
                w->at.shortening);
    return status;
}

static void close_path(sp_walker *w, sp_judgement end)
{
    sp_path *path = w->path;
    const sp_sparse_counts count = sp_sparse_count(w->system->sparse);
    static const sp_stop stop[] = {
        [SP_GO_ON] = SP_STOP_GAVE_UP,         [SP_END_TARGET] = SP_STOP_STRAIN,
        [SP_END_LOAD] = SP_STOP_LOAD,         [SP_END_BOUNCED] = SP_STOP_BOUNCED,
        [SP_END_CRITICAL] = SP_STOP_CRITICAL, [SP_END_RANGE] = SP_STOP_RANGE,
        [SP_END_GAVE_UP] = SP_STOP_GAVE_UP,   [SP_END_STOPPED] = SP_STOP_INTERRUPTED};
    path->stop = stop[end];
    if (w->search_critical) path->critical.strain = sp_path_strain(path, path->step_count - 1);
    sp_buckle_watch_first(&w->watch, w->system->model, &path->buckled);
    if (path->buckled.found) path->buckled.strain = sp_path_strain(path, path->buckled.step);
    path->analyses = count.analyses;
    path->seconds_analyse = count.seconds_analyse;
    path->factorizations = count.factorizations;
    path->seconds_factor = count.seconds_factor;
    path->factor_operations = count.operations;
    path->seconds_complete = count.seconds_complete;
    path->seconds_solver = count.seconds_factor + count.seconds_solve;
    path->seconds_total = seconds_since(&w->begin);
}

sp_status sp_press(sp_context *context, const sp_model *model, const sp_press_options *options,
                   sp_path *path)
{
    sp_system system = {0};
    sp_walker w = {.options = options, .system = &system, .path = path};
    sp_judgement end = SP_GO_ON;
    const int more = options->protocol ? 2 * options->protocol->count : options->unload;
    sp_status status =
        sp_path_begin(context, model, options->frames ? options->frames + more : 0, path);
    if (status == SP_OK)
        status = sp_system_create(context, model, options->follow_perfect, &system);
    if (status == SP_OK) status = begin(context, &w);
    if (status == SP_OK && options->protocol) status = begin_protocol(context, &w);
    const sp_segment *first = options->protocol ? &options->protocol->segment[0] : NULL;
    const int drops = first && first->kind == SP_SEGMENT_DROP && !options->follow_perfect;
    while (status == SP_OK && end == SP_GO_ON) {
        if (sp_interrupted(context))
            end = SP_END_STOPPED;
        else if (drops)
            status = sp_walker_drop(context, &w, first, &end);
        else if (w.search_critical)
            status = sp_search_step(context, &w, &end);
        else
            status = sp_walker_descend_step(context, &w, &end);
    }
    if (status == SP_OK) {
        if (end != SP_END_STOPPED && end != SP_END_GAVE_UP) sp_path_add_frame(&system, path);
        const int reached = end == SP_END_TARGET || end == SP_END_LOAD || end == SP_END_BOUNCED;
        if (drops && end == SP_END_BOUNCED) path->unloaded = 1;
        if (options->protocol && options->frames) {
            sp_path_end_stage(path, reached);
            if (reached) status = sp_walker_follow(context, &w);
        } else if (options->unload && (end == SP_END_TARGET || end == SP_END_LOAD))
            status = unload(context, &w);
        close_path(&w, end);
    }
    if (status == SP_OK) {
        if (end == SP_END_RANGE)
            status = sp_fail(context, SP_GAVE_UP,
                             "the press ends at a strain of %.4g %%, where %s; the curve so far is "
                             "kept",
                             100 * w.at.shortening / model->height, sp_range_text(w.range));
        if (end == SP_END_GAVE_UP)
            status = sp_fail(context, SP_GAVE_UP,
                             "no convergence at the smallest step after a shortening of %.4g mm "
                             "(strain %.4g); the curve so far is kept",
                             w.at.shortening, w.at.shortening / model->height);
        if (end == SP_END_STOPPED)
            status = sp_fail(context, SP_INTERRUPTED,
                             "interrupted at a shortening of %.4g mm; the curve so far is kept",
                             w.at.shortening);
    }
    sp_buckle_watch_free(&w.watch);
    sp_free(w.guess);
    sp_free(w.tangent);
    sp_free(w.before);
    sp_free(w.change);
    sp_free(w.candidate_tangent);
    sp_system_free(&system);
    if (status != SP_OK && status != SP_GAVE_UP && status != SP_INTERRUPTED) sp_path_free(path);
    return status;
}
