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

/* With `half` as the share both places are those of Gauss, with a quarter those of Radau, of which
 * one is the joint (Davis & Rabinowitz 1984): any share between them integrates squares exactly. */
static const double least_share = 0.25, most_share = 0.5;
static const double hinge_length = 0.75; /* thicknesses */

void sp_section_split(sp_section *section, double length)
{
    const int n = section->points;
    const double share =
        fmin(most_share, fmax(least_share, hinge_length * section->thickness / length));
    for (int i = 0; i < n; i++) {
        section->eta[n + i] = section->eta[i];
        section->weight[n + i] = (1 - share) * section->weight[i];
        section->weight[i] *= share;
    }
    section->points = 2 * n;
    section->two = (sp_two_places){.first = n,
                                   .share = share,
                                   .back = share / (1 - share),
                                   .turn = sqrt(share / (12 * (1 - share))),
                                   .bow = share * share * (3 * share - 1) / (24 * (1 - share))};
}

static void find_stretches(const sp_section *section, const sp_section_strain *z, double *l)
{
    const sp_two_places *two = &section->two;
    if (two->first == 0) {
        for (int i = 0; i < section->points; i++) l[i] = 1 + z->eps - section->eta[i] * z->kappa;
        return;
    }
    for (int i = 0; i < section->points; i++) {
        const double by = i < two->first ? 1 : -two->back;
        l[i] = 1 + (z->eps + by * z->more_eps) - section->eta[i] * (z->kappa + by * z->more_kappa);
    }
}

/* Sum the fibres from `from` to `to`. */
static sp_resultants sum_fibres(const sp_section *section, int from, int to, const double *w,
                                const double *p, const double *a)
{
    sp_resultants sum = {0};
    for (int i = from; i < to; i++) {
        const double weight = section->weight[i], eta = section->eta[i];
        const double force = weight * p[i], stiffness = weight * a[i];
        sum.energy += weight * w[i];
        sum.force += force;
        sum.moment -= eta * force;
        sum.c_ee += stiffness;
        sum.c_ek -= eta * stiffness;
        sum.c_kk += eta * eta * stiffness;
    }
    return sum;
}

void sp_section_eval(const sp_section *section, const sp_section_strain *strain,
                     const double *history, sp_resultants *out)
{
    double l[SP_SECTION_FIBRES_MAX], w[SP_SECTION_FIBRES_MAX];
    double p[SP_SECTION_FIBRES_MAX], a[SP_SECTION_FIBRES_MAX];
    const int n = section->points;
    find_stretches(section, strain, l);
    sp_law_eval(section->law, n, l, history, w, p, a);
    *out = sum_fibres(section, 0, n, w, p, a);
}

void sp_section_eval_two(const sp_section *section, const sp_section_strain *strain,
                         const double *history, sp_resultants out[2])
{
    double l[SP_SECTION_FIBRES_MAX], w[SP_SECTION_FIBRES_MAX];
    double p[SP_SECTION_FIBRES_MAX], a[SP_SECTION_FIBRES_MAX];
    const int n = section->points, first = section->two.first;
    find_stretches(section, strain, l);
    sp_law_eval(section->law, n, l, history, w, p, a);
    out[0] = sum_fibres(section, 0, first, w, p, a);
    out[1] = sum_fibres(section, first, n, w, p, a);
}

double sp_section_keep(const sp_section *section, const sp_section_strain *strain, double *history)
{
    double l[SP_SECTION_FIBRES_MAX];
    find_stretches(section, strain, l);
    return sp_law_keep(section->law, section->points, l, section->weight, history);
}

double sp_section_spent(const sp_section *section, const sp_section_strain *strain,
                        const double *history)
{
    double l[SP_SECTION_FIBRES_MAX];
    find_stretches(section, strain, l);
    return sp_law_spent(section->law, section->points, l, section->weight, history);
}

double sp_section_fibre_strain(const sp_section *section, const sp_section_strain *z)
{
    const double half = 0.5 * section->thickness, back = section->two.back;
    if (section->two.first == 0) return fabs(z->eps) + half * fabs(z->kappa);
    return fmax(fabs(z->eps + z->more_eps) + half * fabs(z->kappa + z->more_kappa),
                fabs(z->eps - back * z->more_eps) + half * fabs(z->kappa - back * z->more_kappa));
}
