/* How far the force falls behind the first maximum: 0 when it never falls, 1 when nothing is
 * carried any more. */
#include "measure/curve.h"
#include "measure/measure_list.h"

#include <math.h>

sp_measure sp_measure_drop_after_maximum(const sp_path *path, const sp_network *network,
                                         const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    const int top = sp_curve_first_maximum(&curve);
    if (path->step_count < 2) return sp_not_reached();
    if (top < 0) return sp_reached(0.0);
    const double highest = path->step[top].force;
    double lowest = highest;
    /* A fall behind a later and higher maximum belongs to that maximum. */
    for (int i = top + 1; i < path->step_count && path->step[i].force <= highest; i++)
        lowest = fmin(lowest, path->step[i].force);
    return sp_reached(1.0 - lowest / highest);
}
