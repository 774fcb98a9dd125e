/* This file turns Shore hardness into a band of Young's modulus E [MPa] at small strain. Hardness
 * is measured as a dent under a fixed spring: it gives a band, not a number, and a measured modulus
 * overrides it.
 *
 *   S  Shore A, or Shore D + 50
 *
 * Gent 1958, rubber: E = 0.0981 (56 + 7.62336 S)/(0.137505 (254 - 2.54 S)), diverges at S = 100
 * (E36). Qi, Joyce & Boyce 2003 (second hand): log10 E = 0.0235 S - 0.6403 (E37). Printed
 * urethanes: E = 26.7 exp(0.093 (S - 85)), through the small-strain moduli of 85 A (26.5) and 98 A
 * (89.5 MPa) of Bates, Farrow & Trask 2016, second hand (E90). Beyond 98 A the last relation is
 * continued; below 85 A that of rubber is taken where it is the stiffer one. */
#include "law/hardness.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "law/law.h"

/* Beyond this hardness the relation of Gent is left out: it diverges at 100. */
static const double gent_last = 98;
static const double urethane_first = 85; /* the softest urethane that was measured */
/* No hardness gives a modulus more closely than this factor. */
static const double least_factor = 1.5;

static double gent(double s)
{
    return 0.0981 * (56 + 7.62336 * s) / (0.137505 * (254 - 2.54 * s));
}

static double qi_joyce_boyce(double s)
{
    return pow(10, 0.0235 * s - 0.6403);
}

static double printed_urethane(double s)
{
    const double urethane = 26.7 * exp(0.093 * (s - 85));
    return s < urethane_first ? fmax(urethane, gent(s)) : urethane;
}

static sp_hardness band_at(double s)
{
    const double centre = printed_urethane(s), other = qi_joyce_boyce(s);
    const double rubber = s <= gent_last ? gent(s) : centre;
    return (sp_hardness){
        .centre = centre,
        .low = fmin(centre / least_factor, fmin(other, rubber)),
        .high = fmax(centre * least_factor, fmax(other, rubber)),
    };
}

static int is_in(double modulus, const sp_hardness *band)
{
    return modulus >= band->low && modulus <= band->high;
}

sp_hardness sp_hardness_a(double shore_a)
{
    return isnan(shore_a) ? (sp_hardness){0} : band_at(shore_a);
}

sp_hardness sp_hardness_d(double shore_d)
{
    return isnan(shore_d) ? (sp_hardness){0} : band_at(shore_d + 50);
}

int sp_hardness_agree(double shore_a, double shore_d)
{
    const sp_hardness a = sp_hardness_a(shore_a), d = sp_hardness_d(shore_d);
    if (!(a.centre > 0 && d.centre > 0)) return 1;
    return is_in(a.centre, &d) || is_in(d.centre, &a);
}

sp_hardness sp_hardness_band(double shore_a, double shore_d)
{
    const sp_hardness a = sp_hardness_a(shore_a), d = sp_hardness_d(shore_d);
    if (!(a.centre > 0)) return d;
    if (!(d.centre > 0)) return a;
    return (sp_hardness){sqrt(a.centre * d.centre), fmin(a.low, d.low), fmax(a.high, d.high)};
}

int sp_hardness_of(const sp_case *request, sp_hardness *band)
{
    *band = sp_hardness_band(request->shore_a, request->shore_d);
    if (!(band->centre > 0) || fabs(request->modulus - band->centre) > 1e-9 * band->centre)
        return 0;
    return sp_law_goes_with_modulus(request);
}

void sp_hardness_text(const sp_case *request, char *text, size_t size)
{
    const int a = !isnan(request->shore_a), d = !isnan(request->shore_d);
    text[0] = '\0';
    if (a) snprintf(text, size, "%.4g Shore A", request->shore_a);
    const size_t used = strlen(text);
    if (d) snprintf(text + used, size - used, "%s%.4g Shore D", a ? " and " : "", request->shore_d);
}

int sp_hardness_caution(const sp_case *request, char *text, size_t size)
{
    char words[64];
    sp_hardness band;
    text[0] = '\0';
    if (!sp_hardness_of(request, &band)) return 0;
    sp_hardness_text(request, words, sizeof words);
    snprintf(
        text, size,
        "The modulus %.3g MPa comes from a hardness (%s: %.3g .. %.3g MPa): every force may be "
        "%.2g to %.2g times what is given. Measure it (docs/filament.md).",
        band.centre, words, band.low, band.high, band.low / band.centre, band.high / band.centre);
    return 1;
}
