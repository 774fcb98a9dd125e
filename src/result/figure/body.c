/* Figures of what the coupon is made of. */
#include "measure/curve.h"
#include "measure/measure_list.h"

static const double mm3_per_cm3 = 1000.0;

sp_measure sp_measure_nominal_density(const sp_path *path, const sp_network *network,
                                      const sp_case *request)
{
    (void)path, (void)request;
    return sp_reached(network->nominal_density);
}

sp_measure sp_measure_solid_fraction(const sp_path *path, const sp_network *network,
                                     const sp_case *request)
{
    (void)path, (void)request;
    return sp_reached(network->solid_fraction);
}

sp_measure sp_measure_mass(const sp_path *path, const sp_network *network, const sp_case *request)
{
    double volume = path->size[0] * path->size[1] * path->size[2] / mm3_per_cm3;
    return sp_reached(network->solid_fraction * volume * request->solid_density);
}
