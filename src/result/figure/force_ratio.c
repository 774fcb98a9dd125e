/* The ratio of the forces at 65 % and at 25 % strain. */
#include "measure/curve.h"
#include "measure/measure_list.h"

sp_measure sp_measure_force_ratio_65_25(const sp_path *path, const sp_network *network,
                                        const sp_case *request)
{
    (void)network, (void)request;
    const sp_curve curve = sp_curve_of_path(path);
    const sp_measure high = sp_curve_force(&curve, 0.65 * curve.height);
    const sp_measure low = sp_curve_force(&curve, 0.25 * curve.height);
    if (!high.reached || !low.reached || !(low.value > 0.0)) return sp_not_reached();
    return sp_reached(high.value / low.value);
}
