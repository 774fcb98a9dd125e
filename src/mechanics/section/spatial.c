/* The symbols are those of spatial.h; W, P and A are those of the law at each fibre. */
#include "section/spatial.h"

#include <math.h>

#include "law/in_time.h"
#include "section/gauss.h"

static const int most_rings = 4;

static int within(int n, int low, int high)
{
    return n < low ? low : n > high ? high : n;
}

static void add_fibre(sp_spatial_section *section, double y, double z, double weight)
{
    section->y[section->points] = y;
    section->z[section->points] = z;
    section->weight[section->points++] = weight;
}

void sp_spatial_circle(sp_spatial_section *section, const sp_law *law, double diameter, int rings)
{
    const int n = within(rings, 1, most_rings), around = 4 * n;
    const double radius = 0.5 * diameter, area = M_PI * radius * radius;
    const double nu = law->poisson_ratio;
    double x[SP_SPATIAL_SIDE_MAX] = {0}, weight[SP_SPATIAL_SIDE_MAX] = {0};
    sp_gauss_rule(n, x, weight);
    *section = (sp_spatial_section){
        .law = law, .shape = SP_SHAPE_CIRCLE, .size = {diameter, diameter}, .spread = 1};
    for (int i = 0; i < n; i++) /* dA = d(r^2)/2 dphi */
        for (int k = 0; k < around; k++) {
            const double r = radius * sqrt(0.5 * (1 + x[i])), phi = 2 * M_PI * (k + 0.5) / around;
            add_fibre(section, r * cos(phi), r * sin(phi), 0.5 * weight[i] * area / around);
        }
    section->axial_stiffness = law->modulus * area;
    section->bending_stiffness[0] = section->bending_stiffness[1] =
        law->modulus * area * radius * radius / 4;
    section->shear_stiffness[0] = section->shear_stiffness[1] =
        6 * (1 + nu) / (7 + 6 * nu) * law->shear_modulus * area;
    section->torsion_stiffness = law->shear_modulus * area * radius * radius / 2;
}

void sp_spatial_spread(sp_spatial_section *section, double spread)
{
    section->spread = spread;
    if (spread == 1) return;
    const double area = section->axial_stiffness / section->law->modulus;
    add_fibre(section, 0, 0, (spread - 1) * area);
}

void sp_spatial_set_shear_factor(sp_spatial_section *section, double factor)
{
    const sp_law *law = section->law;
    section->shear_stiffness[0] = section->shear_stiffness[1] =
        factor * law->shear_modulus / law->modulus * section->axial_stiffness;
}

/* The torsion constant is J = (1/3) a^3 b (1 - (192/pi^5)(a/b) sum over odd n of tanh(n pi
 * b/2a)/n^5), a <= b. Terms beyond the sum are below 1e-12. E51 */
double sp_rectangle_torsion(double side_1, double side_2)
{
    const double a = fmin(side_1, side_2), b = fmax(side_1, side_2);
    double sum = 0;
    for (int n = 401; n > 0; n -= 2) sum += tanh(0.5 * n * M_PI * b / a) / pow(n, 5);
    return a * a * a * b / 3 * (1 - 192 / pow(M_PI, 5) * a / b * sum);
}

/* Return the warping constant of a rectangle, a^3 b^3/144, E83. */
void sp_spatial_hold_warping(sp_spatial_section *section, double length)
{
    const double sides = section->size[0] * section->size[1];
    const double warping = section->law->modulus * sides * sides * sides / 144;
    const double k = 0.5 * length * sqrt(section->torsion_stiffness / warping);
    /* This is 1 - tanh(k)/k, and its series where the two terms cancel. */
    const double left = k < 0.02 ? k * k / 3 : 1 - tanh(k) / k;
    section->torsion_stiffness /= left;
}

void sp_spatial_rectangle(sp_spatial_section *section, const sp_law *law, double size2,
                          double size3, int points)
{
    const int n = within(points, 2, SP_SPATIAL_SIDE_MAX);
    const double area = size2 * size3, shear = 5.0 / 6 * law->shear_modulus * area;
    double x[SP_SPATIAL_SIDE_MAX] = {0}, weight[SP_SPATIAL_SIDE_MAX] = {0};
    sp_gauss_rule(n, x, weight);
    *section = (sp_spatial_section){.law = law,
                                    .shape = SP_SHAPE_RECTANGLE,
                                    .size = {size2, size3},
                                    .spread = 1,
                                    .shear_stiffness = {shear, shear}};
    for (int i = 0; i < n; i++)
        for (int k = 0; k < n; k++)
            add_fibre(section, 0.5 * size2 * x[i], 0.5 * size3 * x[k],
                      0.25 * area * weight[i] * weight[k]);
    section->axial_stiffness = law->modulus * area;
    section->bending_stiffness[0] = law->modulus * area * size3 * size3 / 12;
    section->bending_stiffness[1] = law->modulus * area * size2 * size2 / 12;
    section->torsion_stiffness = law->shear_modulus * sp_rectangle_torsion(size2, size3);
}

static void find_stretches(const sp_spatial_section *section, const double strain[3], double *l)
{
    for (int i = 0; i < section->points; i++)
        l[i] = 1 + strain[0] + section->z[i] * strain[1] - section->y[i] * strain[2];
}

void sp_spatial_section_eval(const sp_spatial_section *section, const double strain[3],
                             const double *history, sp_spatial_resultants *out)
{
    double l[SP_SPATIAL_FIBRES_MAX] = {0}, w[SP_SPATIAL_FIBRES_MAX];
    double p[SP_SPATIAL_FIBRES_MAX], a[SP_SPATIAL_FIBRES_MAX];
    const int n = section->points;
    find_stretches(section, strain, l);
    sp_law_eval(section->law, n, l, history, w, p, a);
    double u = 0, f = 0, m2 = 0, m3 = 0, ee = 0, e2 = 0, e3 = 0, c22 = 0, c23 = 0, c33 = 0;
    for (int i = 0; i < n; i++) {
        const double y = section->y[i], z = section->z[i], weight = section->weight[i];
        const double force = weight * p[i], stiffness = weight * a[i];
        u += weight * w[i];
        f += force;
        m2 += z * force;
        m3 -= y * force;
        ee += stiffness;
        e2 += z * stiffness;
        e3 -= y * stiffness;
        c22 += z * z * stiffness;
        c23 -= y * z * stiffness;
        c33 += y * y * stiffness;
    }
    *out = (sp_spatial_resultants){u, {f, m2, m3}, {{ee, e2, e3}, {e2, c22, c23}, {e3, c23, c33}}};
}

double sp_spatial_section_keep(const sp_spatial_section *section, const double strain[3],
                               double *history)
{
    double l[SP_SPATIAL_FIBRES_MAX] = {0};
    find_stretches(section, strain, l);
    return sp_law_keep(section->law, section->points, l, section->weight, history);
}

double sp_spatial_section_spent(const sp_spatial_section *section, const double strain[3],
                                const double *history)
{
    double l[SP_SPATIAL_FIBRES_MAX] = {0};
    find_stretches(section, strain, l);
    return sp_law_spent(section->law, section->points, l, section->weight, history);
}

double sp_spatial_fibre_strain(const sp_spatial_section *section, const double strain[3])
{
    const double b2 = section->shape >= SP_SHAPE_PANEL ? 0 : section->size[1] * strain[1];
    const double b3 = section->size[0] * strain[2];
    const double bend = section->shape == SP_SHAPE_CIRCLE ? hypot(b2, b3) : fabs(b2) + fabs(b3);
    return fabs(strain[0]) + 0.5 * bend;
}
