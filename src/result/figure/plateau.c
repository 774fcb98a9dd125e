/* The plateau: mean stress over a strain interval and where the curve leaves it (ISO 13314:2011;
 * the terms were read in public text about it, their numbers are from memory; the standard allows
 * 20-30 % and 20-40 %, so each name or doc says which). */
#include "measure/curve.h"
#include "measure/measure_list.h"

static const double plateau_from = 0.20;
static const double plateau_to = 0.40;
static const double plateau_rise = 1.3;

sp_measure sp_measure_plateau_stress(const sp_path *path, const sp_network *network,
                                     const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    return sp_curve_mean_stress(&curve, plateau_from, plateau_to);
}

sp_measure sp_measure_plateau_stress_20_30(const sp_path *path, const sp_network *network,
                                           const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    return sp_curve_mean_stress(&curve, plateau_from, 0.30);
}

/* The end of the plateau is the first rise through 1.3 x plateau stress beyond 20 %, so that a high
 * first maximum before the plateau is not its end. */
sp_measure sp_measure_plateau_end(const sp_path *path, const sp_network *network,
                                  const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    sp_measure plateau = sp_measure_plateau_stress(path, network, request);
    if (!plateau.reached || !(plateau.value > 0.0)) return sp_not_reached();
    double wanted = plateau_rise * plateau.value * curve.area;
    double from = plateau_from * path->size[1], u = from;
    double force = sp_curve_force(&curve, from).value;
    for (int i = 0; i < path->step_count; i++) {
        const sp_step *next = &path->step[i];
        if (next->shortening <= from) continue;
        if (force < wanted && next->force >= wanted) {
            double s = (wanted - force) / (next->force - force);
            return sp_reached((u + s * (next->shortening - u)) / path->size[1]);
        }
        u = next->shortening;
        force = next->force;
    }
    return sp_not_reached();
}
