/* A strut may stretch over more than the length that bends, because the bodies of its joints
 * stretch, too (docs/theory.md E148).
 *
 *   spread  length that stretches over length that bends, 1 or more
 *   e       strain of the chord of what bends, between the rigid arms (eps_b in docs/theory.md)
 *   eps     strain of the fibres: 1 + eps = (1 + e)^(1/spread), e/spread where both are small
 *
 * All of the shortening is counted between the arms, whose length stays. The logarithms of the
 * stretches are shared, not the strains: so the fibres are squeezed to nothing only when the chord
 * is, and the law resists. */
#ifndef SP_SECTION_SPREAD_H
#define SP_SECTION_SPREAD_H

#include <math.h>

typedef struct sp_spread_strain {
    double eps, slope, bend; /* and its first and second derivative by e */
} sp_spread_strain;

/* Return 0 where the chord has no length left. */
static inline int sp_spread_eval(double spread, double e, sp_spread_strain *fibre)
{
    *fibre = (sp_spread_strain){e, 1, 0};
    if (spread == 1) return 1;
    const double chord = 1 + e;
    if (!(chord > 0)) return 0;
    const double stretch = pow(chord, 1 / spread);
    fibre->eps = stretch - 1;
    fibre->slope = stretch / (spread * chord);
    fibre->bend = fibre->slope * (1 / spread - 1) / chord;
    return 1;
}

/* Return the chord, over its unloaded length, of fibres with the strain eps. */
static inline double sp_spread_chord(double spread, double eps)
{
    if (spread == 1) return 1 + eps;
    return eps > -1 ? pow(1 + eps, spread) : 0;
}

#endif
