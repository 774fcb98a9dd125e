/* The symbols are those of layer.h; e_0 is the strain at which the layer carries nothing. */
#include "layer/layer.h"

#include <math.h>

/* These are the members of a history. */
enum {
    LARGEST,     /* largest e so far */
    FREE,        /* e_0 at the end of the step */
    FREE_ENERGY, /* potential at e_0 */
    SOFTENED,    /* energy dissipated by softening, per stiffness */
    SCALAR       /* first double of the scalar, see sp_law_scalar_count */
};

static const int most_steps = 60;
static const double near_enough = 1e-14;
/* Below this w, sqrt(2 w) is round-off of the distance. */
static const double no_press = 1e-28;

int sp_layer_count(const sp_law *law)
{
    return law->time.on ? SCALAR + sp_law_scalar_count(law) : 0;
}

/* Return the flow length of the layer: a shear stress makes a scalar flow when it exceeds G times
 * this length, which the layer has over `modulus`. */
static double flow_length(const sp_law *law, double modulus)
{
    return modulus / law->shear_modulus;
}

/* Return the energy of the first loading that softens a layer no further [MPa]. */
static double largest_energy(double modulus, const double *h)
{
    return 0.5 * modulus * h[LARGEST] * h[LARGEST];
}

/* Return the part that softening takes off the share that never relaxes, per stiffness. */
static sp_law_scalar softening(const sp_law *law, double modulus, double e, const double *h)
{
    double w = 0.5 * modulus * e * e, p = modulus * e, a = modulus;
    const double before = w, c = law->time.left / modulus;
    if (!(law->time.softening_ratio > 0)) return (sp_law_scalar){0, 0, 0};
    sp_law_soften(&law->time, largest_energy(modulus, h), &w, &p, &a);
    return (sp_law_scalar){c * (w - before), c * (p - modulus * e), c * (a - modulus)};
}

/* Find the energy, force and slope as if the layer could pull. */
static sp_law_scalar answer_at(const sp_law *law, double modulus, double e, const double *h)
{
    sp_law_scalar v = sp_law_scalar_eval(law, flow_length(law, modulus), e, h + SCALAR);
    const sp_law_scalar less = softening(law, modulus, e, h);
    v.energy += less.energy;
    v.force += less.force;
    v.slope += less.slope;
    return v;
}

/* Find the strain e_0 without force. The force grows with e, and is nowhere below 0 at the largest
 * e so far, so Newton's steps are taken, and the bracket is halved where a step leaves it. */
static void find_free(const sp_law *law, double modulus, double *h)
{
    double low = 0, high = h[LARGEST], e = 0;
    sp_law_scalar v = answer_at(law, modulus, 0, h);
    if (v.force < 0) {
        for (int i = 0; i < most_steps && fabs(v.force) > near_enough * v.slope * h[LARGEST]; i++) {
            e -= v.force / v.slope;
            if (!(e > low && e <= high)) e = 0.5 * (low + high);
            v = answer_at(law, modulus, e, h);
            if (v.force < 0)
                low = e;
            else
                high = e;
        }
    }
    h[FREE] = e;
    h[FREE_ENERGY] = v.energy;
}

static double strain_of(double w)
{
    return w > no_press ? sqrt(2 * w) : 0;
}

sp_layer_answer sp_layer_eval(const sp_law *law, double modulus, double w, const double *h)
{
    const double e = strain_of(w);
    if (!(e > h[FREE])) return (sp_layer_answer){0, 0, 0};
    const sp_law_scalar v = answer_at(law, modulus, e, h);
    const double by = v.force / e;
    return (sp_layer_answer){v.energy - h[FREE_ENERGY], by, (v.slope - by) / (e * e)};
}

void sp_layer_arm(const sp_law *law, double modulus, double dt, int n, double *history)
{
    const int count = sp_layer_count(law);
    sp_law_scalars_arm(law, dt, n, count, history + SCALAR);
    for (int i = 0; i < n; i++) find_free(law, modulus, history + (size_t)count * (size_t)i);
}

void sp_layer_keep(const sp_law *law, double modulus, int n, double *w, double *history)
{
    const int count = sp_layer_count(law);
    for (int i = 0; i < n; i++) {
        double *h = history + (size_t)count * (size_t)i;
        w[i] = fmax(strain_of(w[i]), h[FREE]);
        h[LARGEST] = fmax(h[LARGEST], w[i]);
    }
    sp_law_scalars_keep(law, flow_length(law, modulus), n, w, count, history + SCALAR);
    for (int i = 0; law->time.softening_ratio > 0 && i < n; i++) {
        double *h = history + (size_t)count * (size_t)i;
        h[SOFTENED] = law->time.left / modulus *
                      sp_law_softening_lost(&law->time, largest_energy(modulus, h));
    }
}

double sp_layer_spent(const sp_law *law, double modulus, double w, const double *h)
{
    const double e = fmax(strain_of(w), h[FREE]);
    return sp_law_scalar_spent(law, flow_length(law, modulus), e, h + SCALAR) +
           softening(law, modulus, e, h).energy;
}

void sp_layer_add_lost(const sp_law *law, double stiffness, const double *h, sp_law_lost *lost)
{
    lost->softened += law->time.on ? stiffness * h[SOFTENED] : 0;
    sp_law_scalar_add_lost(stiffness, h + SCALAR, lost);
}
