/* These functions find I1 - 3 and I2 - 3 of an incompressible fibre against its stretch l, with
 * first and second derivative (E26, E27).
 *
 *   uniaxial      I1 = l^2 + 2/l            I2 = 2 l + 1/l^2
 *   plane strain  I1 = I2 = l^2 + 1/l^2 + 1
 *
 * They are written as products with l - 1, so that nothing cancels near the unloaded state: the
 * energy of a small strain keeps all its digits. Source: Treloar, The Physics of Rubber Elasticity
 * (1975). */
#ifndef SP_LAW_INVARIANTS_H
#define SP_LAW_INVARIANTS_H

#include <math.h>

#include "law/law_list.h"

#define SP_INLINE static inline __attribute__((always_inline))

typedef struct sp_invariant {
    double v, d, dd; /* value - 3, d/dl, d2/dl2 */
} sp_invariant;

/* Move a stretch into the domain; a NaN becomes the smallest stretch, for which sp_law_energy is
 * then +inf. */
SP_INLINE double sp_law_inside(double stretch)
{
    return stretch > SP_LAW_SMALLEST_STRETCH ? stretch : SP_LAW_SMALLEST_STRETCH;
}

SP_INLINE double sp_law_energy(double stretch, double w)
{
    return stretch > SP_LAW_SMALLEST_STRETCH ? w : (double)INFINITY;
}

SP_INLINE sp_invariant sp_first_invariant(int strain_state, double l)
{
    const double i = 1 / l, e = l - 1;
    if (strain_state == SP_UNIAXIAL)
        return (sp_invariant){e * e * (l + 2) * i, 2 * e * (l * l + l + 1) * i * i,
                              2 + 4 * i * i * i};
    const double g = e * (l + 1) * i; /* l - 1/l */
    return (sp_invariant){g * g, 2 * g * (1 + i * i), 2 + 6 * i * i * i * i};
}

SP_INLINE sp_invariant sp_second_invariant(int strain_state, double l)
{
    if (strain_state != SP_UNIAXIAL) return sp_first_invariant(strain_state, l);
    const double i = 1 / l, e = l - 1;
    return (sp_invariant){e * e * (2 * l + 1) * i * i, 2 * e * (l * l + l + 1) * i * i * i,
                          6 * i * i * i * i};
}

#endif
