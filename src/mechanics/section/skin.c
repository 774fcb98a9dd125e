/* The letters are those of docs/theory.md, section 16:
 *   h  thickness of the skin, a  half the thickness of the panel [mm]
 *   x  wave number times a,   L  what the layer gives over what a half plane would */
#include "section/skin.h"

#include <math.h>

static const double most_wave = 40; /* the sums end here, where 1e-4 of either is left */
enum { PLACES = 400 };              /* of Simpson's rule over the root of x */
/* Layers deeper than this many wave lengths over 2 pi are half planes to 1e-10. */
static const double deep = 15;

/* Return the ratio of the compliance of a layer, bonded to a rigid base, to that of the half plane.
 * E225 */
static double layer_of(double kh, double nu)
{
    const double k = 3 - 4 * nu;
    if (kh > deep) return 1;
    return (2 * k * sinh(2 * kh) - 4 * kh) / (2 * k * cosh(2 * kh) + 1 + k * k + 4 * kh * kh);
}

static double even_load(double x) /* (sin x/x)^2 */
{
    const double s = x > 1e-3 ? sin(x) / x : 1 - x * x / 6;
    return s * s;
}

static double odd_load(double x) /* (3 (sin x - x cos x)/x^2)^2 */
{
    const double j = x > 1e-2 ? 3 * (sin(x) - x * cos(x)) / (x * x) : x;
    return j * j;
}

/* Integrate L(x h/a) load(x)/x over all x, with x = s^2. */
static double sum_waves(double h, double a, double nu, double (*load)(double x))
{
    const double step = sqrt(most_wave) / PLACES;
    double sum = 0;
    for (int i = 1; i <= PLACES; i++) { /* the integrand is 0 at 0 */
        const double s = step * i, x = s * s;
        const double weight = i == PLACES ? 1 : i % 2 ? 4 : 2;
        sum += weight * layer_of(x * h / a, nu) * load(x) * 2 / s;
    }
    return sum * step / 3;
}

double sp_skin_squash(double layer, double strip, double poisson_ratio)
{
    return 2 / M_PI * sum_waves(layer, 0.5 * strip, poisson_ratio, even_load);
}

double sp_skin_turn(double layer, double strip, double poisson_ratio)
{
    return 2 / M_PI * sum_waves(layer, 0.5 * strip, poisson_ratio, odd_load);
}

/* Make the two fibres of the element that stands for a stretch of the skin. E228 */
void sp_skin_section(sp_spatial_section *section, const sp_law *law, double width, double thickness,
                     double skin)
{
    const double nu = law->poisson_ratio, a = 0.5 * thickness, plane = law->modulus / (1 - nu * nu);
    const double squash = plane * width / sp_skin_squash(skin, thickness, nu);
    const double turn = plane * a * a * width / sp_skin_turn(skin, thickness, nu);
    const double area = squash * skin / law->modulus, y = sqrt(turn / squash);
    *section = (sp_spatial_section){.law = law,
                                    .shape = SP_SHAPE_SKIN,
                                    .spread = 1,
                                    .size = {2 * y, width},
                                    .points = 2,
                                    .y = {-y, y},
                                    .weight = {0.5 * area, 0.5 * area},
                                    .axial_stiffness = squash * skin,
                                    .bending_stiffness = {0, turn * skin}};
}
