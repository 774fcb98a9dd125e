/* Shore hardness to a band of Young's modulus E [MPa] at small strain. Hardness is a dent under a fixed spring: it gives
 * a band, not a number, and a measured modulus overrides it.
 *
 * Gent 1958: E = 0.0981 (56 + 7.62336 S)/(0.137505 (254 - 2.54 S)), diverges at S = 100 (E36).
 * Qi, Joyce & Boyce 2003 (from memory): log10 E = 0.0235 S - 0.6403, S = Shore A, or Shore D + 50 (E37). */
#include "law/law.h"

#include <math.h>

static const double GENT_LAST = 98; /* Gent's relation is held from here on: it diverges at 100 */

static double gent(double s)
{
    s = fmin(s, GENT_LAST);
    return 0.0981 * (56 + 7.62336 * s) / (0.137505 * (254 - 2.54 * s));
}

static double qi_joyce_boyce(double s)
{
    return pow(10, 0.0235 * s - 0.6403);
}

static void widen(double s, double *low, double *high)
{
    *low = fmin(*low, fmin(gent(s), qi_joyce_boyce(s)));
    *high = fmax(*high, fmax(gent(s), qi_joyce_boyce(s)));
}

/* Both scales given: the band that holds both. None given: low = high = 0. */
void sp_hardness_band(double shore_a, double shore_d, double *low, double *high)
{
    *low = INFINITY;
    *high = 0;
    if (!isnan(shore_a)) widen(shore_a, low, high);
    if (!isnan(shore_d)) widen(shore_d + 50, low, high);
    if (*high <= 0) *low = 0;
}
