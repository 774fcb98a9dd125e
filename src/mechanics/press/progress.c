/* How far a press has come, as a share of the time that it will take. */
#include <math.h>

#include "press/block.h"
#include "press/walker.h"

/* Growth of the time per travel over the whole way, and what the way back takes of the time of the
 * press. */
static const double cost_growth = 1.5, way_back_share = 0.6;

double sp_walker_seconds(const sp_walker *w)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)(t.tv_sec - w->begin.tv_sec) + 1e-9 * (double)(t.tv_nsec - w->begin.tv_nsec);
}

/* The way to the target, or to the load limit, whichever is nearer. */
static double way_done(const sp_walker *w)
{
    const double limit = w->load_limit;
    const double force = sp_whole_force(w->system->model->network, &w->at);
    const double load = limit < INFINITY ? force / limit : 0;
    return fmin(1, fmax(0, fmax(w->at.shortening / w->target, load)));
}

/* Seconds that the rest of the press will take. A coupon that is pressed flat costs more per step
 * than one that is not: the rate of the last fifth of the way grows on, as it does in the presses
 * of benchmarks/speed/forecast.csv. */
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

void sp_walker_tell_progress(sp_context *context, sp_walker *w)
{
    if (!context || !context->progress) return;
    const double elapsed = sp_walker_seconds(w);
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
