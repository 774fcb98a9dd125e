/* A root is bracketed by inverse interpolation, kept safe by bisection (after Brent 1973,
 * Algorithms for Minimization without Derivatives, ch. 4).
 *
 *   x  the variable
 *   t  ln x where the range is positive: stiffness and strength of cellular solids follow powers
 *      of the density (Gibson & Ashby 1997, ch. 4), so that the logarithm of a figure over its
 *      bound is almost straight in t
 *   f  the value */
#include "seek/bracket.h"

#include <math.h>
#include <stddef.h>

/* Slope df/dt of the first guess: between stretched (1) and bent struts (3). */
static const double usual_slope = 2.0;
/* Extrapolate a little beyond the crossing, to have it between two points. */
static const double further = 1.25;
static const double near_end = 0.1; /* share of the range that is not worth a point of its own */
/* A maximum below zero is followed to this share of the range. */
static const int finest_peak = 16;
static const int near_steps = 3;  /* times `within` */
static const int climb_most = 12; /* points below zero before the end of the range is tried */

static double line_of(const bracket *b, double x)
{
    return b->low > 0 ? log(x) : x;
}

static double x_of(const bracket *b, double t)
{
    return b->low > 0 ? exp(t) : t;
}

static int first_reached(const bracket *b)
{
    for (int i = 0; i < b->count; i++)
        if (b->point[i].value >= 0) return i;
    return -1;
}

double sp_bracket_crossing(const bracket *b)
{
    const int first = first_reached(b);
    return first < 0 ? NAN : b->point[first].x;
}

/* Return the slope between two neighbours; the usual one when no pair rises, NaN when nothing is
 * known of it. */
static double slope_at(const bracket *b, int left)
{
    const double usual = b->low > 0 ? usual_slope : NAN;
    if (left < 0 || left + 1 >= b->count) return usual;
    const bracket_point *p = &b->point[left], *q = p + 1;
    const double slope = (q->value - p->value) / (line_of(b, q->x) - line_of(b, p->x));
    /* Points that are closer show the noise of single struts. */
    const int far = q->x - p->x > near_steps * b->within;
    return isfinite(slope) && far ? slope : usual;
}

/* All values are negative up to the end of the range: look for a maximum inside. */
static double look_for_peak(const bracket *b)
{
    int best = -1;
    for (int i = 0; i < b->count; i++)
        if (isfinite(b->point[i].value) && (best < 0 || b->point[i].value > b->point[best].value))
            best = i;
    if (best == 0 && b->point[0].x > b->low) return b->low;
    if (best <= 0 || best == b->count - 1) return NAN;
    const bracket_point *p = &b->point[best];
    const double left = p->x - p[-1].x, right = p[1].x - p->x;
    if (fmax(left, right) <= fmax(b->within, (b->high - b->low) / finest_peak)) return NAN;
    return left > right ? p->x - 0.5 * left : p->x + 0.5 * right;
}

/* All values so far are negative: go up. */
static double climb(const bracket *b)
{
    const bracket_point *top = &b->point[b->count - 1];
    if (top->x >= b->high) return look_for_peak(b);
    const double slope = slope_at(b, b->count - 2);
    if (!isfinite(top->value) || !(slope > 0) || b->count > climb_most) return b->high;
    const double t = line_of(b, top->x) - further * top->value / slope;
    const double last = b->count > 1 ? top->x - top[-1].x : 0;
    /* Steps that bring nothing are made larger. */
    const int creeps = last <= near_steps * b->within;
    const double x = fmax(x_of(b, t), top->x + fmax(b->within, creeps ? 2 * last : 0));
    return x < b->high - near_end * (b->high - b->low) ? x : b->high;
}

/* The smallest x that is known has a positive value: go down. */
static double descend(const bracket *b)
{
    const bracket_point *bottom = &b->point[0];
    const double slope = slope_at(b, 0);
    if (bottom->x <= b->low) return NAN;
    if (!(slope > 0)) return b->low;
    const double t = line_of(b, bottom->x) - further * bottom->value / slope;
    const double x = fmin(x_of(b, t), bottom->x - b->within);
    return x > b->low + b->within ? x : b->low;
}

/* Return whether interpolation led to the same side twice, in steps of `within`: then the function
 * is bent or jumps. */
static int has_crept(const bracket *b, int left)
{
    const bracket_point *p = b->point;
    const int right = left + 1;
    const int from_right = right + 1 < b->count && p[right + 1].x - p[right].x <= b->within;
    return from_right || (left > 0 && p[left].x - p[left - 1].x <= b->within);
}

/* Find where f is zero between two neighbours, in t: by the inverse parabola through them and the
 * nearer point beside them, or by the secant when there is no such point or the parabola leads
 * outside (Brent 1973, ch. 4). */
static double crossing_between(const bracket *b, int left)
{
    const bracket_point *p = &b->point[left], *q = p + 1, *r = NULL;
    const double from = line_of(b, p->x), to = line_of(b, q->x);
    const double secant = from - p->value / (q->value - p->value) * (to - from);
    if (left > 0 && p[-1].value < p->value) r = p - 1;
    if (left + 2 < b->count && q[1].value > q->value && (!r || q[1].x - q->x < p->x - r->x))
        r = q + 1;
    if (!r || !isfinite(r->value)) return secant;
    const double pq = p->value - q->value, pr = p->value - r->value, qr = q->value - r->value;
    const double t = from * q->value * r->value / (pq * pr) - to * p->value * r->value / (pq * qr) +
                     line_of(b, r->x) * p->value * q->value / (pr * qr);
    return t > from && t < to ? t : secant;
}

/* The crossing lies between two neighbours. */
static double narrow(const bracket *b, int left)
{
    const bracket_point *p = &b->point[left], *q = p + 1;
    const double width = q->x - p->x;
    if (width <= b->within * (1 + 1e-9)) return NAN;
    /* This is as fast as bisection at every second point, however bent the function is. */
    const int slow = width > (b->high - b->low) * exp2(-0.5 * (b->count - 2));
    const int known = isfinite(p->value) && isfinite(q->value);
    if (slow || !known || has_crept(b, left)) return p->x + 0.5 * width;
    const double crossing = x_of(b, crossing_between(b, left));
    /* Go a little to the right of the crossing, then a little less than `within` to the left of
     * that: so both sides come close. */
    if (q->x - crossing > b->within) return crossing + 0.4 * b->within;
    return q->x - 0.95 * b->within;
}

double sp_bracket_next(const bracket *b)
{
    const int first = first_reached(b);
    if (!b->count) return b->low;
    if (first < 0) return climb(b);
    if (first == 0) return descend(b);
    return narrow(b, first - 1);
}
