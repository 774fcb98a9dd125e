/* This tells how far a press has come, as a share of the time that it will take. */
#include <math.h>

#include "press/block.h"
#include "press/walker.h"

/* Fitted to the accepted states of 91 presses of random coupons (`make forecast`), by least
 * absolute distances of the logarithms: what is left is the rate of the last fifth of the way times
 * e^(rest_now + rest_growth way) ahead^rest_power. After the first quarter of a press this is
 * within a factor of 2 for four fifths of its time: jumps and contacts that are still to come show
 * in nothing known before. */
static const double rest_now = -0.56, rest_growth = 1.03, rest_power = 0.94;
/* The way back takes as long as the press, and most of that while the coupon is still dense: of the
 * time of the press it has back_now e^(-back_fall way) ahead^back_power left. */
static const double way_back_share = 0.93, back_now = 0.8, back_fall = 1.4, back_power = 0.13;
/* These shares of the time of the first press are taken by a segment of a protocol that moves the
 * platen, and by one in which it stands. */
static const double moving_share = 0.45, standing_share = 0.3;
static const double least_left = 0.1; /* of a segment that has taken as long as was expected */

double sp_walker_seconds(const sp_walker *w)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)(t.tv_sec - w->begin.tv_sec) + 1e-9 * (double)(t.tv_nsec - w->begin.tv_nsec);
}

/* Return the way to the target, or to the load limit, whichever is nearer. */
static double way_done(const sp_walker *w)
{
    const double limit = w->load_limit;
    const double force = sp_whole_force(w->system->model->network, &w->at);
    const double load = limit < INFINITY ? force / limit : 0;
    return fmin(1, fmax(0, fmax(w->at.shortening / w->target, load)));
}

/* Return the seconds that the rest of the first press will take. */
static double press_left(sp_walker *w, double elapsed)
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
    return rate * exp(rest_now + rest_growth * way) * pow(ahead, rest_power);
}

/* Return the seconds that the rest of the way back will take. */
static double back_left(const sp_walker *w)
{
    const double ahead = fmin(1, fmax(0, w->at.shortening / fmax(1e-12, w->turned_at)));
    return w->turned_after * back_now * exp(-back_fall * (1 - ahead)) * pow(ahead, back_power);
}

/* Sum the shares of the first press that the segments of a protocol take from number `from` on. */
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

/* Return the seconds that are left of the whole. */
static double seconds_left(sp_walker *w, double elapsed)
{
    if (w->later) return segments_left(w, elapsed);
    if (w->back) return back_left(w);
    w->turned_after = elapsed;
    w->turned_at = w->at.shortening;
    const double rest = press_left(w, elapsed);
    const double more = w->options->protocol ? segments_share(w->options->protocol, 1)
                        : w->options->unload ? way_back_share
                                             : 0;
    return rest + more * (elapsed + rest);
}

void sp_walker_tell_progress(sp_context *context, sp_walker *w)
{
    if (!context || !context->progress) return;
    const double elapsed = sp_walker_seconds(w);
    if (w->options->stop_at_critical) { /* nobody knows where it is */
        sp_begin(context, "searching for the critical step");
        return;
    }
    const double whole = elapsed + seconds_left(w, elapsed);
    context->progress(context->user, whole > 0 && whole < INFINITY ? fmin(1, elapsed / whole) : 0,
                      w->back ? "going back" : "pressing");
}
