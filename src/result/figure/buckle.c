/* First buckle by both definitions, as figures. */
#include "measure/curve.h"
#include "measure/measure_list.h"

/* Return a figure of the critical step (coupon without flaws) or of the first buckled strut (coupon
 * with flaws). */
#define BUCKLE_FIGURE(name, answer, member)                                                        \
    sp_measure sp_measure_##name(const sp_path *path, const sp_network *network,                   \
                                 const sp_case *request)                                           \
    {                                                                                              \
        (void)network, (void)request;                                                              \
        return path->answer.found ? sp_reached(path->answer.member) : sp_not_reached();            \
    }

BUCKLE_FIGURE(critical_strain, critical, strain)
BUCKLE_FIGURE(critical_force, critical, force)
BUCKLE_FIGURE(buckled_strain, buckled, strain)
BUCKLE_FIGURE(buckled_force, buckled, strut_force)
BUCKLE_FIGURE(buckled_slenderness, buckled, slenderness)
BUCKLE_FIGURE(buckled_euler_ratio, buckled, euler_ratio)
