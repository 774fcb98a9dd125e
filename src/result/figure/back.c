/* Figures of the way back: what stays of the shortening, and what energy is given back. */
#include <math.h>

#include "measure/curve.h"
#include "measure/measure_list.h"
#include "measure/stages.h"

/* Find the state at which the coupon carried nothing for the first time: that of the first release
 * or drop of a protocol, or the last state. */
static const sp_step *last_back(const sp_path *path)
{
    const sp_stage *release = sp_stage_first(path, SP_SEGMENT_RELEASE);
    if (path->stage_count && path->stage[0].segment.kind == SP_SEGMENT_DROP)
        release = &path->stage[0];
    if (path->unloaded && release) return sp_path_state(path, release->last);
    return path->unloaded && path->back_count ? &path->back[path->back_count - 1] : NULL;
}

/* Return the shortening without force: that of the last state, less what is left of the force
 * divided by its tangent. */
static double left_over(const sp_step *last)
{
    const double more = last->stiffness > 0 ? last->force / last->stiffness : 0;
    return fmax(0, last->shortening - more);
}

sp_measure sp_measure_set_strain(const sp_path *path, const sp_network *network,
                                 const sp_case *request)
{
    const sp_step *last = last_back(path);
    (void)network, (void)request;
    return last ? sp_reached(left_over(last) / path->size[1]) : sp_not_reached();
}

sp_measure sp_measure_instant_set(const sp_path *path, const sp_network *network,
                                  const sp_case *request)
{
    const sp_step *last = last_back(path);
    (void)network, (void)request;
    if (!last) return sp_not_reached();
    return sp_reached(left_over(last) / path->step[path->step_count - 1].shortening);
}

/* The work of the platens falls on the way back. */
sp_measure sp_measure_energy_returned(const sp_path *path, const sp_network *network,
                                      const sp_case *request)
{
    const sp_step *last = last_back(path);
    (void)network, (void)request;
    return last ? sp_reached(path->step[path->step_count - 1].work - last->work) : sp_not_reached();
}

sp_measure sp_measure_energy_kept(const sp_path *path, const sp_network *network,
                                  const sp_case *request)
{
    const sp_step *last = last_back(path);
    (void)network, (void)request;
    const double work = path->step_count ? path->step[path->step_count - 1].work : 0;
    return last && work > 0 ? sp_reached(last->work / work) : sp_not_reached();
}
