/* This file finds how far a press has come, and how long the rest of it will take. */
#include "press/progress.h"

#include <math.h>

#include "base/machine.h"
#include "press/block.h"
#include "press/walker.h"

/* Without a guide, the rest of a press takes the way ahead at the rate of the last fifth of the
 * way, times e^(rest_growth way); the constant is the fit with least absolute distances of the
 * logarithms. Jumps and contacts that are still to come cannot be foreseen: neither the solid
 * fraction, the compaction, friction nor the rates of other parts of the way make the forecast
 * better (`make left`). */
static const double rest_growth = 0.64;
static const double window = 0.2;        /* of the way */
static const double forecast_way = 0.05; /* of the way: until about here a forecast counts, too */
/* The way back takes way_back_share of the time of the press, and most of it while the coupon is
 * still dense. On the way back the time left is back_now e^(-back_fall way) ahead^back_power of the
 * time of the press. */
static const double way_back_share = 0.93, back_now = 0.8, back_fall = 1.4, back_power = 0.13;
/* Nine of ten runs take a time between these shares of the forecast: without a guide at the
 * beginning of the press and at its end, then on the way back, then with a guide that has come to
 * its end. */
static const double alone_low[2] = {0.3, 0.4}, alone_high[2] = {4.5, 2.6};
static const double back_low = 0.4, back_high = 2.2;
static const double guided_low = 0.45, guided_high = 2.4;
/* A search for the critical step goes on for these multiples of the time that it has taken so far:
 * low, middle and high. As often as not it ends at once. */
static const double search_more[3] = {0, 0.5, 4};
/* On the rest of the way to the target a search is slower by this factor. */
static const double search_slower = 2;
/* The ratio of the times of the two runs counts as measured from this share of the time of the
 * guide on; before, the expected ratio counts more. */
static const double measured_share = 0.05;

/* These are the times of later segments of a protocol as shares of the time of the first press: of
 * a segment that moves the platen, and of one in which it stands. */
static const double moving_share = 0.45, standing_share = 0.3;
static const double least_left = 0.1; /* of a segment that has taken as long as was expected */
static const double protocol_low = 0.33, protocol_high = 3; /* not measured yet */

/* ---- what a run has shown ----------------------------------------------- */

void sp_pace_note(sp_pace *pace, sp_pace_stage stage, double way, double seconds)
{
    const double from = stage == pace->stage ? pace->way : 0;
    if (pace->reached[stage] == 0) {
        /* The work before the unloaded state does not count as a part of the way. */
        pace->begin[stage] = way > 0 ? pace->seconds : seconds;
        pace->at[stage][0] = pace->begin[stage];
        pace->reached[stage] = 1;
    }
    const double before = stage == pace->stage && pace->seconds > pace->begin[stage]
                              ? pace->seconds
                              : pace->begin[stage];
    way = fmin(1, fmax(from, way));
    for (int *k = &pace->reached[stage]; *k <= SP_PACE_PARTS && *k <= way * SP_PACE_PARTS; ++*k) {
        const double mark = (double)*k / SP_PACE_PARTS;
        pace->at[stage][*k] =
            way > from ? before + (seconds - before) * (mark - from) / (way - from) : seconds;
    }
    pace->stage = stage;
    pace->way = way;
    pace->seconds = seconds;
    pace->end[stage] = seconds;
}

/* Return the seconds at which a run came to a place of a stage, or to its last state of the stage
 * where it has not come so far. */
static double time_at(const sp_pace *pace, sp_pace_stage stage, double way)
{
    const int count = pace->reached[stage];
    const double place = fmin(1, fmax(0, way)) * SP_PACE_PARTS;
    const int k = (int)place;
    if (count == 0) return pace->seconds;
    if (k + 1 < count)
        return pace->at[stage][k] + (place - k) * (pace->at[stage][k + 1] - pace->at[stage][k]);
    if (k < count && stage == pace->stage && pace->way * SP_PACE_PARTS > k + 1e-9) {
        const double share = (place - k) / (pace->way * SP_PACE_PARTS - k);
        return pace->at[stage][k] + fmin(1, share) * (pace->end[stage] - pace->at[stage][k]);
    }
    return pace->end[stage];
}

static double spent_in(const sp_pace *pace, sp_pace_stage stage)
{
    return pace->reached[stage] ? pace->end[stage] - pace->begin[stage] : 0;
}

/* Return 1 when the run has reached this place. */
static int has_passed(const sp_pace *pace, sp_pace_stage stage, double way)
{
    return pace->done || pace->stage > stage || (pace->stage == stage && pace->way >= way);
}

/* ---- by the run alone ----------------------------------------------- */

static sp_left between(double low, double middle, double high)
{
    return (sp_left){fmin(low, middle), middle, fmax(high, middle)};
}

static sp_left press_left_alone(const sp_pace *own, const sp_pace_plan *plan)
{
    const double way = own->way, ahead = 1 - way, from = fmax(0, way - window);
    const double walked = way - from, elapsed = spent_in(own, SP_PACE_PRESS);
    const double expected = plan->forecast * ahead;
    if (!(walked > 0) || !(elapsed > 0))
        return expected > 0 ? between(plan->low * expected, expected, plan->high * expected)
                            : (sp_left){0, INFINITY, INFINITY};
    const double rate = (own->seconds - time_at(own, SP_PACE_PRESS, from)) / walked;
    const double back = plan->unload ? way_back_share : 0;
    double rest = rate * ahead * exp(rest_growth * way);
    if (expected > 0) { /* the forecast without the way back, which takes as much again */
        const double trust = way / (way + forecast_way);
        rest = pow(rest, trust) * pow(expected / (1 + back), 1 - trust);
    }
    const double low = rest * pow(alone_low[0], ahead) * pow(alone_low[1], way),
                 high = rest * pow(alone_high[0], ahead) * pow(alone_high[1], way);
    return between(low + back_low * back * (elapsed + low), rest + back * (elapsed + rest),
                   high + back_high * back * (elapsed + high));
}

static sp_left back_left_alone(const sp_pace *own)
{
    const double ahead = 1 - own->way;
    const double rest = spent_in(own, SP_PACE_PRESS) * back_now * exp(-back_fall * own->way) *
                        pow(ahead, back_power);
    return between(back_low * rest, rest, back_high * rest);
}

/* Find the time left of a search. It is not known where it ends: at the target at the latest, or
 * where it is cut short. */
static sp_left search_left_alone(const sp_pace *own, const sp_pace_plan *plan)
{
    const double spent = own->seconds, way = own->way;
    const double press = plan->forecast > 0 ? plan->forecast : spent;
    double most = search_more[2] * spent;
    if (way > 0) most = fmin(most, search_slower * spent * (1 - way) / way);
    if (own->budget > 0) most = fmin(most, spent * fmax(0, 1 - own->budget) / own->budget);
    return between(plan->low * press + fmin(most, search_more[0] * spent),
                   press + fmin(most, search_more[1] * spent), plan->high * press + most);
}

static sp_left left_alone(const sp_pace *own, const sp_pace_plan *plan)
{
    if (own->done) return (sp_left){0, 0, 0};
    if (own->stage == SP_PACE_SEARCH) return search_left_alone(own, plan);
    return own->stage == SP_PACE_BACK ? back_left_alone(own) : press_left_alone(own, plan);
}

/* ---- by a guide ----------------------------------------------- */

/* Return the ratio of the time of this run to that of the guide. */
static double measured_times(const sp_pace *own, const sp_pace *guide, double times)
{
    const sp_pace_stage stage = own->stage == SP_PACE_SEARCH ? SP_PACE_SEARCH : SP_PACE_PRESS;
    const double way = own->stage == SP_PACE_BACK ? 1 : own->way;
    const double theirs = time_at(guide, stage, way) - guide->begin[stage],
                 ours = spent_in(own, stage);
    const double all = guide->seconds - guide->begin[stage];
    if (!(theirs > 0) || !(ours > 0)) return times;
    const double share = theirs / fmax(theirs, all), weight = share / (share + measured_share);
    return exp(weight * log(ours / theirs) + (1 - weight) * log(times));
}

sp_left sp_pace_left(const sp_pace *own, const sp_pace *guide, double times,
                     const sp_pace_plan *plan)
{
    const sp_left alone = left_alone(own, plan);
    if (!guide || !(guide->seconds > 0) || !has_passed(guide, own->stage, own->way)) return alone;
    if (own->stage == SP_PACE_SEARCH && !guide->reached[SP_PACE_SEARCH]) {
        /* The guide is another seed, which did not search. */
        const sp_pace_plan told = {
            .forecast = times * guide->seconds, .low = guided_low, .high = guided_high};
        return search_left_alone(own, &told);
    }
    if (!guide->reached[own->stage]) return alone;
    const double ratio = measured_times(own, guide, times);
    const double passed = ratio * (guide->seconds - time_at(guide, own->stage, own->way));
    sp_pace_plan scaled = *plan;
    scaled.forecast /= fmax(1e-9, ratio);
    const sp_left rest = left_alone(guide, &scaled); /* rest of the guide itself */
    if (guide->done && !(passed > 0)) return alone;  /* the guide ended before this place */
    return between(guided_low * passed + ratio * rest.low, passed + ratio * rest.middle,
                   guided_high * passed + ratio * rest.high);
}

void sp_guide_put(sp_guide *guide, const sp_pace *pace, int done)
{
    pthread_mutex_lock(&guide->lock);
    if (!guide->pace.done) {
        guide->pace = *pace;
        guide->pace.done = done;
    }
    pthread_mutex_unlock(&guide->lock);
}

sp_pace sp_guide_get(sp_guide *guide)
{
    pthread_mutex_lock(&guide->lock);
    const sp_pace pace = guide->pace;
    pthread_mutex_unlock(&guide->lock);
    return pace;
}

/* ---- a press in progress ----------------------------------------------- */

/* Return the share of the way that is done: to the target or to the load limit, whichever is
 * nearer, or on the way back. */
static double way_done(const sp_walker *w)
{
    if (w->back) return 1 - fmin(1, fmax(0, w->at.shortening / fmax(1e-12, w->turned_at)));
    const double limit = w->load_limit;
    const double force = sp_whole_force(w->system->model->network, &w->at);
    const double load = limit < INFINITY ? force / limit : 0;
    return fmin(1, fmax(0, fmax(w->at.shortening / w->target, load)));
}

/* Return the time that the segments of a protocol from number `from` on take, as a share of that of
 * the first press. */
static double segments_share(const sp_protocol *protocol, int from)
{
    double sum = 0;
    for (int i = from; i < protocol->count; i++)
        sum += protocol->segment[i].duration > 0 ? standing_share : moving_share;
    return sum;
}

/* Return the seconds that the present segment and those after it will take. */
static double segments_left(sp_walker *w, double elapsed)
{
    const sp_protocol *protocol = w->options->protocol;
    const int number = w->path->stage_count; /* of the next one */
    if (w->stages_seen < number) {
        w->stages_seen = number;
        w->stage_begin = elapsed;
    }
    const double whole = segments_share(protocol, number - 1) - segments_share(protocol, number);
    const double spent = (elapsed - w->stage_begin) / fmax(1e-9, w->turned_after);
    const double left = fmax(whole - spent, least_left * whole) + segments_share(protocol, number);
    return w->turned_after * left;
}

static sp_left left_of(sp_walker *w, double elapsed)
{
    sp_pace_plan plan = w->options->plan;
    plan.unload = w->options->unload;
    if (w->later) {
        const double rest = segments_left(w, elapsed);
        return between(protocol_low * rest, rest, protocol_high * rest);
    }
    sp_guide *guide = w->options->guide;
    sp_pace ahead;
    if (guide) ahead = sp_guide_get(guide);
    sp_left left = sp_pace_left(w->pace, guide ? &ahead : NULL, 1, &plan);
    if (!w->options->protocol) return left;
    const double more = segments_share(w->options->protocol, 1), spent = w->turned_after;
    return between(left.low + protocol_low * more * (spent + left.low),
                   left.middle + more * (spent + left.middle),
                   left.high + protocol_high * more * (spent + left.high));
}

static const char *doing(const sp_walker *w)
{
    if (w->options->stop_at_critical) return "searching for the critical step";
    if (w->looks) return "looking for other stable states";
    return w->back ? "going back" : "pressing";
}

/* Return which share of the factorizations allowed to it a search has made (search.c); 0: they are
 * not limited. */
static double budget_share(const sp_walker *w)
{
    const sp_press_options *options = w->options;
    const double factored = sp_sparse_count(w->system->sparse).factorizations;
    if (!(options->search_unknowns > 0) || options->search_factorizations <= 0) return 0;
    return fmin(factored / options->search_factorizations,
                factored * w->system->model->unknown_count / options->search_unknowns);
}

/* The time is noted for a state that is not accepted yet, too. */
void sp_walker_tell_progress(sp_context *context, sp_walker *w)
{
    const sp_press_options *options = w->options;
    if (!context || !context->progress) return;
    const double elapsed = sp_clock_seconds() - w->pace->clock;
    if (!w->back && !w->later) w->turned_at = w->at.shortening;
    if (!w->later) {
        sp_pace_note(w->pace,
                     options->stop_at_critical ? SP_PACE_SEARCH
                     : w->back                 ? SP_PACE_BACK
                                               : SP_PACE_PRESS,
                     way_done(w), elapsed);
        if (options->stop_at_critical) w->pace->budget = budget_share(w);
        if (!w->back) w->turned_after = spent_in(w->pace, SP_PACE_PRESS);
    }
    const sp_left left = left_of(w, elapsed);
    const double whole = elapsed + left.middle;
    if (context->left && left.high < INFINITY) context->left(context->user, left.low, left.high);
    context->progress(context->user, whole > 0 && whole < INFINITY ? fmin(1, elapsed / whole) : 0,
                      doing(w));
}
