/* Figures of the end of the path and its extremes. */
#include "measure/curve.h"
#include "measure/measure_list.h"

#include <math.h>

static const sp_step *last_step(const sp_path *path)
{
    return path->step_count > 0 ? &path->step[path->step_count - 1] : NULL;
}

/* Return the last state of all, that of the way back when there is one. */
static const sp_step *very_last(const sp_path *path)
{
    return path->back_count > 0 ? &path->back[path->back_count - 1] : last_step(path);
}

sp_measure sp_measure_final_strain(const sp_path *path, const sp_network *network,
                                   const sp_case *request)
{
    (void)network, (void)request;
    const sp_step *last = last_step(path);
    return last ? sp_reached(last->shortening / path->size[1]) : sp_not_reached();
}

sp_measure sp_measure_final_force(const sp_path *path, const sp_network *network,
                                  const sp_case *request)
{
    (void)network, (void)request;
    const sp_step *last = last_step(path);
    return last ? sp_reached(last->force) : sp_not_reached();
}

sp_measure sp_measure_energy_dissipated(const sp_path *path, const sp_network *network,
                                        const sp_case *request)
{
    (void)network, (void)request;
    const sp_step *last = very_last(path);
    return last ? sp_reached(last->dissipated) : sp_not_reached();
}

sp_measure sp_measure_fibre_strain_max(const sp_path *path, const sp_network *network,
                                       const sp_case *request)
{
    (void)network, (void)request;
    double largest = 0.0;
    for (int i = 0; i < path->step_count; i++) largest = fmax(largest, path->step[i].fibre_strain);
    return path->step_count > 0 ? sp_reached(largest) : sp_not_reached();
}
