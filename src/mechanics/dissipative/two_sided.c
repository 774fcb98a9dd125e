/* Yielding with a curve of tension and another of compression (E251, E252).
 *
 *   e = k ln l      log strain of a fibre, k as in yielding.c
 *   ep, alpha       plastic strain and its accumulated amount, one for both sides
 *   E, y(x), I(x), a(x)   of the side that the fibre is loaded on (curve.h): tension where e - ep
 *                   >= 0, compression below
 *
 * On either side the flow stress is that of its curve at the plastic strain alpha, wherever that
 * was accumulated (isotropic hardening): a fibre that yields in tension goes on in compression from
 * the place x of that curve with a(x) = alpha. Nothing is solved while an equilibrium is sought;
 * the place on the other curve is found when a state is accepted. At e = ep the modulus jumps from
 * that of one side to that of the other, energy and stress do not. */
#include <math.h>

#include "dissipative/curve.h"
#include "law/invariants.h"

enum { SIDES = 2 };
enum {
    PLASTIC,
    ACCUMULATED,
    DISSIPATED,
    HARDENED,                  /* of each side: elastic limit strain less the one at its onset */
    OFFSET = HARDENED + SIDES, /* of each side: DISSIPATED less what its own curve dissipates up to
                                  alpha, 0 while only that side has yielded [MPa] */
    HISTORY = OFFSET + SIDES
};
_Static_assert((int)HISTORY == (int)SP_TWO_SIDED_HISTORY, "a fibre keeps what it needs");

/* [strain] as in yielding.c */
static const double at_limit = 1e-12;

typedef struct two_curves {
    sp_yield_curve side[SIDES];
    double k;
} two_curves;

static two_curves curves_of(const sp_law *law)
{
    return (two_curves){
        {sp_yield_curve_of(law, SP_YIELD_TENSION), sp_yield_curve_of(law, SP_YIELD_COMPRESSION)},
        law->constant[SP_YIELD_FACTOR]};
}

static int side_of(double elastic)
{
    return elastic < 0 ? SP_YIELD_COMPRESSION : SP_YIELD_TENSION;
}

/* E251: evaluate a stretch inside the domain; h is the HISTORY of the fibre. */
static void eval_fibre(const two_curves *both, double l, const double *h, double *w, double *p,
                       double *a)
{
    const double k = both->k, i = 1 / l, elastic = k * log(l) - h[PLASTIC], size = fabs(elastic);
    const int side = side_of(elastic);
    const sp_yield_curve *curve = &both->side[side];
    double stress = curve->modulus * elastic, slope = curve->modulus;
    if (size < curve->onset + h[HARDENED + side] - at_limit) {
        *w = 0.5 * stress * elastic + h[DISSIPATED];
    } else {
        sp_yield_curve_at(curve, size + h[ACCUMULATED], w, &stress, &slope);
        stress = copysign(stress, elastic);
        *w += h[OFFSET + side];
    }
    *p = k * stress * i;
    *a = k * (k * slope - stress) * i * i;
}

/* Find the history of least energy at a stretch (E252). */
static void keep_fibre(const two_curves *both, double l, double *h)
{
    const double e = both->k * log(l), elastic = e - h[PLASTIC], size = fabs(elastic);
    const int side = side_of(elastic), other = SIDES - 1 - side;
    const sp_yield_curve *curve = &both->side[side], *second = &both->side[other];
    if (size <= curve->onset + h[HARDENED + side]) return;
    const double x = size + h[ACCUMULATED];
    double integral, y, slope;
    sp_yield_curve_at(curve, x, &integral, &y, &slope);
    h[PLASTIC] = e - copysign(y / curve->modulus, elastic);
    h[ACCUMULATED] = x - y / curve->modulus;
    h[HARDENED + side] = y / curve->modulus - curve->onset;
    h[DISSIPATED] = integral - 0.5 * y * y / curve->modulus + h[OFFSET + side];
    const double place = sp_yield_curve_place(second, h[ACCUMULATED]);
    sp_yield_curve_at(second, place, &integral, &y, &slope);
    h[HARDENED + other] = y / second->modulus - second->onset;
    h[OFFSET + other] = h[DISSIPATED] - (integral - 0.5 * y * y / second->modulus);
}

static void eval(const sp_law *law, int n, const double *restrict stretch,
                 const double *restrict history, double *restrict w, double *restrict p,
                 double *restrict a)
{
    const two_curves both = curves_of(law);
    for (int i = 0; i < n; i++) {
        eval_fibre(&both, sp_law_inside(stretch[i]), history + HISTORY * i, &w[i], &p[i], &a[i]);
        w[i] = sp_law_energy(stretch[i], w[i]);
    }
}

static void keep(const sp_law *law, int n, const double *restrict stretch, double *restrict history)
{
    const two_curves both = curves_of(law);
    for (int i = 0; i < n; i++) keep_fibre(&both, sp_law_inside(stretch[i]), history + HISTORY * i);
}

const sp_law_history sp_law_two_sided_history = {
    .count = HISTORY, .dissipated = DISSIPATED, .eval = eval, .keep = keep};
