/* Figures of a press in time: its hold, its rest, its cycles, and where the energy went. */
#include <math.h>

#include "measure/curve.h"
#include "measure/measure_list.h"
#include "measure/stages.h"

#define ARGUMENTS const sp_path *path, const sp_network *network, const sp_case *request

static const double decade = 10;

/* --- hold: the force / that at the end of the ramp, when the hold begins --- */

static sp_measure held_force(const sp_path *path, double seconds)
{
    const sp_stage *hold = sp_stage_first(path, SP_SEGMENT_HOLD);
    const sp_measure now = sp_stage_force(path, hold, seconds);
    if (!now.reached) return now;
    const double before = sp_path_state(path, hold->first)->force;
    return before > 0 ? sp_reached(now.value / before) : sp_not_reached();
}

sp_measure sp_measure_hold_force_1_s(ARGUMENTS)
{
    (void)network, (void)request;
    return held_force(path, 1);
}

sp_measure sp_measure_hold_force_10_s(ARGUMENTS)
{
    (void)network, (void)request;
    return held_force(path, 10);
}

sp_measure sp_measure_hold_force_100_s(ARGUMENTS)
{
    (void)network, (void)request;
    return held_force(path, 100);
}

sp_measure sp_measure_hold_force_1000_s(ARGUMENTS)
{
    (void)network, (void)request;
    return held_force(path, 1000);
}

sp_measure sp_measure_hold_decay(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *hold = sp_stage_first(path, SP_SEGMENT_HOLD);
    if (!hold || !hold->reached || hold->segment.duration < decade) return sp_not_reached();
    const double end = hold->segment.duration;
    const sp_measure last = sp_stage_force(path, hold, end),
                     before = sp_stage_force(path, hold, end / decade);
    if (!last.reached || !before.reached || !(before.value > 0)) return sp_not_reached();
    return sp_reached(1 - last.value / before.value);
}

/* --- rest: what is left / the deepest shortening --- */

static double deepest(const sp_path *path)
{
    double most = 0;
    for (int i = 0; i < path->step_count + path->back_count; i++)
        most = fmax(most, sp_path_state(path, i)->shortening);
    return most;
}

static sp_measure set_after(const sp_path *path, double seconds)
{
    const sp_measure left =
        sp_stage_shortening(path, sp_stage_last(path, SP_SEGMENT_REST), seconds);
    return left.reached ? sp_reached(left.value / deepest(path)) : left;
}

sp_measure sp_measure_set_1_s(ARGUMENTS)
{
    (void)network, (void)request;
    return set_after(path, 1);
}

sp_measure sp_measure_set_1_min(ARGUMENTS)
{
    (void)network, (void)request;
    return set_after(path, 60);
}

sp_measure sp_measure_set_30_min(ARGUMENTS)
{
    (void)network, (void)request;
    return set_after(path, 1800);
}

sp_measure sp_measure_set_24_h(ARGUMENTS)
{
    (void)network, (void)request;
    return set_after(path, 86400);
}

sp_measure sp_measure_set_half_time(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *rest = sp_stage_last(path, SP_SEGMENT_REST);
    if (!rest) return sp_not_reached();
    return sp_stage_time_to(path, rest, 0.5 * sp_path_state(path, rest->first)->shortening);
}

sp_measure sp_measure_recovered_height(ARGUMENTS)
{
    (void)network, (void)request;
    const sp_stage *rest = sp_stage_last(path, SP_SEGMENT_REST);
    if (!rest || !rest->reached) return sp_not_reached();
    return sp_reached(path->size[1] - sp_path_state(path, rest->last)->shortening);
}

/* --- cycles --- */

/* Find the first cycle, and the last or the one that the protocol reads; 0: there is none. */
static int end_cycles(const sp_path *path, sp_cycle *first, sp_cycle *last)
{
    sp_cycle all[SP_SEGMENT_MAX];
    const int count = sp_cycles(path, all, SP_SEGMENT_MAX);
    if (count == 0) return 0;
    *first = all[0];
    *last = all[count - 1];
    for (int i = 0; i < count && path->read_cycle > 0; i++)
        if (all[i].number == path->read_cycle) *last = all[i];
    return path->read_cycle == 1 ? 1 : count;
}

static sp_measure last_cycle_force(const sp_path *path, double strain)
{
    sp_cycle first, last;
    if (!end_cycles(path, &first, &last)) return sp_not_reached();
    return sp_cycle_force(path, last.number, strain);
}

sp_measure sp_measure_cycle_force_25(ARGUMENTS)
{
    (void)network, (void)request;
    return last_cycle_force(path, 0.25);
}

sp_measure sp_measure_cycle_force_40(ARGUMENTS)
{
    (void)network, (void)request;
    return last_cycle_force(path, 0.40);
}

sp_measure sp_measure_cycle_force_50(ARGUMENTS)
{
    (void)network, (void)request;
    return last_cycle_force(path, 0.50);
}

sp_measure sp_measure_cycle_force_65(ARGUMENTS)
{
    (void)network, (void)request;
    return last_cycle_force(path, 0.65);
}

sp_measure sp_measure_cycle_peak(ARGUMENTS)
{
    (void)network, (void)request;
    sp_cycle first, last;
    return end_cycles(path, &first, &last) ? sp_reached(last.peak) : sp_not_reached();
}

sp_measure sp_measure_cycle_softening(ARGUMENTS)
{
    (void)network, (void)request;
    sp_cycle first, last;
    if (end_cycles(path, &first, &last) < 2 || !(first.end_force > 0)) return sp_not_reached();
    if (fabs(first.end_strain - last.end_strain) > 1e-6) return sp_not_reached();
    return sp_reached(last.end_force / first.end_force);
}

static sp_measure loss_of(const sp_cycle *cycle)
{
    if (!cycle->released || !(cycle->work > 0)) return sp_not_reached();
    return sp_reached(1 - cycle->returned / cycle->work);
}

sp_measure sp_measure_cycle_loss_first(ARGUMENTS)
{
    (void)network, (void)request;
    sp_cycle first, last;
    return end_cycles(path, &first, &last) ? loss_of(&first) : sp_not_reached();
}

sp_measure sp_measure_cycle_loss(ARGUMENTS)
{
    (void)network, (void)request;
    sp_cycle first, last;
    return end_cycles(path, &first, &last) ? loss_of(&last) : sp_not_reached();
}

/* --- where the energy went --- */

static const sp_step *last_state(const sp_path *path)
{
    return sp_path_state(path, path->step_count + path->back_count - 1);
}

sp_measure sp_measure_energy_softened(ARGUMENTS)
{
    (void)network, (void)request;
    return path->step_count ? sp_reached(last_state(path)->softened) : sp_not_reached();
}

sp_measure sp_measure_energy_relaxed(ARGUMENTS)
{
    (void)network, (void)request;
    return path->step_count ? sp_reached(last_state(path)->relaxed) : sp_not_reached();
}

sp_measure sp_measure_energy_flowed(ARGUMENTS)
{
    (void)network, (void)request;
    return path->step_count ? sp_reached(last_state(path)->flowed) : sp_not_reached();
}
