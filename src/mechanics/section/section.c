/* Rectangular sections are integrated by quadrature of a law through the thickness.
 *
 * The symbols are those of section.h: eta is the place of a fibre, l = 1 + eps - eta kappa its
 * stretch; W, P and A are those of the law. */
#include "section/section.h"

#include <math.h>

#include "law/in_time.h"
#include "section/gauss.h"

/* The shear factor is 5/6 (energy of the parabolic shear stress; Reissner 1945) for every Poisson's
 * ratio. Cowper's (1966) 10 (1 + nu)/(12 + 11 nu) for a narrow rectangle, 0.857 at nu = 0.5,
 * assumes free sides, while the struts are walls or strips that are deep out of the plane of
 * bending. The two factors differ by 3 % of the shear flexibility. */
static const double shear_factor = 5.0 / 6;

void sp_section_rectangle(sp_section *section, const sp_law *law, double thickness, double depth,
                          int points)
{
    const int n = points < 2 ? 2 : points > SP_SECTION_POINTS_MAX ? SP_SECTION_POINTS_MAX : points;
    const double area = thickness * depth;
    double x[SP_SECTION_POINTS_MAX] = {0}, weight[SP_SECTION_POINTS_MAX] = {0};
    sp_gauss_rule(n, x, weight);
    *section =
        (sp_section){.law = law, .points = n, .thickness = thickness, .depth = depth, .spread = 1};
    for (int i = 0; i < n; i++) {
        section->eta[i] = 0.5 * thickness * x[i];
        section->weight[i] = 0.5 * area * weight[i];
    }
    section->axial_stiffness = law->modulus * area;
    section->bending_stiffness = law->modulus * area * thickness * thickness / 12;
    section->shear_stiffness = shear_factor * law->shear_modulus * area;
}

/* The Gauss rule of an odd number of points already has a fibre in the middle. */
void sp_section_spread(sp_section *section, double spread)
{
    const double area = (spread - 1) * section->thickness * section->depth;
    section->spread = spread;
    if (spread == 1) return;
    const int middle = section->points / 2;
    if (section->points % 2 == 1) {
        section->weight[middle] += area;
        return;
    }
    section->eta[section->points] = 0;
    section->weight[section->points++] = area;
}

static void find_stretches(const sp_section *section, double eps, double kappa, double *l)
{
    for (int i = 0; i < section->points; i++) l[i] = 1 + eps - section->eta[i] * kappa;
}

void sp_section_eval(const sp_section *section, double eps, double kappa, const double *history,
                     sp_resultants *out)
{
    double l[SP_SECTION_FIBRES_MAX] = {0}, w[SP_SECTION_FIBRES_MAX];
    double p[SP_SECTION_FIBRES_MAX], a[SP_SECTION_FIBRES_MAX];
    const int n = section->points;
    find_stretches(section, eps, kappa, l);
    sp_law_eval(section->law, n, l, history, w, p, a);
    sp_resultants sum = {0};
    for (int i = 0; i < n; i++) {
        const double weight = section->weight[i], eta = section->eta[i];
        const double force = weight * p[i], stiffness = weight * a[i];
        sum.energy += weight * w[i];
        sum.force += force;
        sum.moment -= eta * force;
        sum.c_ee += stiffness;
        sum.c_ek -= eta * stiffness;
        sum.c_kk += eta * eta * stiffness;
    }
    *out = sum;
}

double sp_section_keep(const sp_section *section, double eps, double kappa, double *history)
{
    double l[SP_SECTION_FIBRES_MAX] = {0};
    find_stretches(section, eps, kappa, l);
    return sp_law_keep(section->law, section->points, l, section->weight, history);
}

double sp_section_spent(const sp_section *section, double eps, double kappa, const double *history)
{
    double l[SP_SECTION_FIBRES_MAX] = {0};
    find_stretches(section, eps, kappa, l);
    return sp_law_spent(section->law, section->points, l, section->weight, history);
}

double sp_section_fibre_strain(const sp_section *section, double eps, double kappa)
{
    return fabs(eps) + 0.5 * section->thickness * fabs(kappa);
}
