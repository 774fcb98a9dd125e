/* Forces as a share of those of the solid block (E84, E85). */
#include "measure/curve.h"
#include "measure/measure_list.h"

static sp_measure share_at(const sp_path *path, const sp_case *request, int percent)
{
    const sp_curve curve = sp_curve_of_path(path);
    const sp_solid_curve *solid = &path->solid;
    const sp_measure force = sp_curve_force(&curve, percent / 100.0 * path->size[1]);
    if (!force.reached || percent >= solid->count) return sp_not_reached();
    const double raise = request->platens == SP_PLATENS_SLIDING ? 1 : solid->raise;
    return sp_reached(force.value / (raise * solid->force[percent]));
}

#define SHARE_AT(percent)                                                                          \
    sp_measure sp_measure_solid_share_##percent(const sp_path *path, const sp_network *network,    \
                                                const sp_case *request)                            \
    {                                                                                              \
        (void)network;                                                                             \
        return share_at(path, request, percent);                                                   \
    }

SHARE_AT(10)
SHARE_AT(25)
SHARE_AT(40)
