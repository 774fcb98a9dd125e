/* The start of the curve: stiffness, chord modulus and first maximum. */
#include <math.h>

#include "measure/curve.h"
#include "measure/measure_list.h"

static const double chord_from = 0.0005; /* strains of the chord: ISO 604, second hand */
static const double chord_to = 0.0025;
/* Longest step of a curve that is read between its states. */
static const double widest_step = 0.0050001;

sp_measure sp_measure_initial_stiffness(const sp_path *path, const sp_network *network,
                                        const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    sp_start start = sp_curve_start(&curve);
    return start.stiffness > 0.0 ? sp_reached(start.stiffness) : sp_not_reached();
}

sp_measure sp_measure_chord_modulus(const sp_path *path, const sp_network *network,
                                    const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    sp_start start = sp_curve_start(&curve);
    double height = path->size[1];
    double from = start.toe + chord_from * height, to = start.toe + chord_to * height;
    sp_measure a = sp_curve_force_by_tangents(&curve, from);
    sp_measure b = sp_curve_force_by_tangents(&curve, to);
    if (!a.reached || !b.reached) return sp_not_reached();
    if (fmax(sp_curve_step_at(&curve, from), sp_curve_step_at(&curve, to)) > widest_step * height)
        return sp_not_reached();
    return sp_reached((b.value - a.value) / (curve.area * (chord_to - chord_from)));
}

sp_measure sp_measure_first_maximum(const sp_path *path, const sp_network *network,
                                    const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    int top = sp_curve_first_maximum(&curve);
    return top >= 0 ? sp_reached(path->step[top].force / curve.area) : sp_not_reached();
}

sp_measure sp_measure_first_maximum_strain(const sp_path *path, const sp_network *network,
                                           const sp_case *request)
{
    const sp_curve curve = sp_curve_of_path(path);
    (void)network, (void)request;
    int top = sp_curve_first_maximum(&curve);
    return top >= 0 ? sp_reached(path->step[top].shortening / path->size[1]) : sp_not_reached();
}
