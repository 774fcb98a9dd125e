/* Energy absorption: efficiency, densification and energy per volume and mass. 1 mJ/mm3 = 1 MJ/m3,
 * 1 mJ/g = 1 J/kg.
 *
 * Source: Miltz & Gruenbaum 1981 (efficiency); Li, Magkiriadis & Harrigan 2006 (densification at
 * its maximum). */
#include "measure/curve.h"
#include "measure/measure_list.h"

sp_measure sp_measure_densification_strain(const sp_path *path, const sp_network *network,
                                           const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    sp_efficiency top = sp_curve_efficiency(&curve);
    return top.reached ? sp_reached(top.strain) : sp_not_reached();
}

sp_measure sp_measure_efficiency_max(const sp_path *path, const sp_network *network,
                                     const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    sp_efficiency top = sp_curve_efficiency(&curve);
    return top.reached ? sp_reached(top.value) : sp_not_reached();
}

static const double iso_strain = 0.50;

/* ISO 13314:2011: the energy over that of the largest stress, were it constant from the beginning.
 */
sp_measure sp_measure_efficiency_iso_13314(const sp_path *path, const sp_network *network,
                                           const sp_case *request)
{
    (void)network, (void)request;
    const sp_curve curve = sp_curve_of_path(path);
    const double end = iso_strain * path->size[1];
    const sp_measure work = sp_curve_work(&curve, 0.0, end), last = sp_curve_force(&curve, end);
    if (!work.reached || !last.reached) return sp_not_reached();
    double largest = last.value;
    for (int i = 0; i < path->step_count && path->step[i].shortening <= end; i++)
        if (path->step[i].force > largest) largest = path->step[i].force;
    return largest > 0.0 ? sp_reached(work.value / (largest * end)) : sp_not_reached();
}

static sp_measure energy_per_volume(const sp_path *path, double strain)
{
    const sp_curve curve = sp_curve_of_path(path);
    sp_measure work = sp_curve_work(&curve, 0.0, strain * path->size[1]);
    if (!work.reached) return work;
    return sp_reached(work.value / (curve.area * path->size[1]));
}

sp_measure sp_measure_energy_per_volume_densification(const sp_path *path,
                                                      const sp_network *network,
                                                      const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    sp_efficiency top = sp_curve_efficiency(&curve);
    return top.reached ? energy_per_volume(path, top.strain) : sp_not_reached();
}

sp_measure sp_measure_energy_per_volume_50(const sp_path *path, const sp_network *network,
                                           const sp_case *request)
{
    (void)network, (void)request;
    return energy_per_volume(path, 0.50);
}

sp_measure sp_measure_energy_per_mass(const sp_path *path, const sp_network *network,
                                      const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    sp_efficiency top = sp_curve_efficiency(&curve);
    sp_measure mass = sp_measure_mass(path, network, request);
    if (!top.reached || !mass.reached || !(mass.value > 0.0)) return sp_not_reached();
    sp_measure work = sp_curve_work(&curve, 0.0, top.strain * path->size[1]);
    return work.reached ? sp_reached(work.value / mass.value) : work;
}
