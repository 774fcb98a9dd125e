/* Forces at fixed strains and the ratio of two of them (ISO 2439 support factor, 65 % against 25 %, from memory). */
#include "measure/curve.h"
#include "measure/measure_list.h"

#define FORCE_AT(percent)                                                                          \
    sp_measure sp_measure_force_##percent(const sp_path *path, const sp_network *network,          \
                                          const sp_case *request)                                  \
    {                                                                                              \
        (void)network, (void)request;                                                              \
        return sp_curve_force(path, percent / 100.0 * path->size[1]);                              \
    }

FORCE_AT(10)
FORCE_AT(25)
FORCE_AT(40)
FORCE_AT(50)
FORCE_AT(65)

sp_measure sp_measure_support_ratio(const sp_path *path, const sp_network *network,
                                    const sp_case *request)
{
    sp_measure high = sp_measure_force_65(path, network, request);
    sp_measure low = sp_measure_force_25(path, network, request);
    if (!high.reached || !low.reached || !(low.value > 0.0)) return sp_not_reached();
    return sp_reached(high.value / low.value);
}
