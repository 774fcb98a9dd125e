/* The symbols are
 *   h, d   width and secant of an interval
 *   m      slope at a row
 *   t      share of the way through an interval */
#include "table/cubic.h"

#include <math.h>

enum {
    X = SP_CUBIC_X,
    Y = SP_CUBIC_Y,
    SLOPE = SP_CUBIC_SLOPE,
    INTEGRAL = SP_CUBIC_INTEGRAL,
    COLUMNS = SP_CUBIC_COLUMNS
};

static double secant(const double *table, int i)
{
    const double *k = table + COLUMNS * i;
    return (k[COLUMNS + Y] - k[Y]) / (k[COLUMNS + X] - k[X]);
}

static double width(const double *table, int i)
{
    return table[COLUMNS * (i + 1) + X] - table[COLUMNS * i + X];
}

/* Return the slope of the parabola through three rows, at row i inside or at an end. */
static double parabola_slope(const double *table, int n, int i)
{
    if (n == 2) return secant(table, 0);
    const int left = i == 0 ? 0 : i == n - 1 ? n - 3 : i - 1; /* first of the two intervals */
    const double h0 = width(table, left), h1 = width(table, left + 1);
    const double d0 = secant(table, left), d1 = secant(table, left + 1);
    if (i == 0) return d0 + (d0 - d1) * h0 / (h0 + h1);
    if (i == n - 1) return d1 + (d1 - d0) * h1 / (h0 + h1);
    return (h1 * d0 + h0 * d1) / (h0 + h1);
}

void sp_cubic_slopes(double *table, int n)
{
    for (int i = 0; i < n; i++) {
        double slope = parabola_slope(table, n, i);
        const double left = secant(table, i > 0 ? i - 1 : 0);
        const double right = secant(table, i < n - 1 ? i : n - 2);
        if (left * right <= 0 || slope * left <= 0) slope = 0;
        table[COLUMNS * i + SLOPE] = slope;
    }
}

/* Find the factor by which the slopes in radius alpha^2 + beta^2 <= 9 are scaled. */
static double scale(double first, double last, double d)
{
    const double radius = hypot(first, last);
    return radius <= 3 * fabs(d) ? 1 : 3 * fabs(d) / radius;
}

void sp_cubic_limit(double *table, int n)
{
    for (int i = 0; i + 1 < n; i++) {
        double *here = &table[COLUMNS * i + SLOPE], *next = here + COLUMNS;
        const double by = scale(*here, *next, secant(table, i));
        *here *= by;
        *next *= by;
    }
}

void sp_cubic_limit_slope(double *table, int n, double steepest)
{
    for (int i = 0; i + 1 < n; i++) {
        double *here = &table[COLUMNS * i + SLOPE], *next = here + COLUMNS;
        const double first = 1 - *here / steepest, last = 1 - *next / steepest;
        const double by = scale(first, last, 1 - secant(table, i) / steepest);
        if (by == 1) continue;
        *here = steepest * (1 - by * first);
        *next = steepest * (1 - by * last);
    }
}

/* Integrate the cubic between two rows, from one of them to the share t of the way to the other (h
 * signed). */
static double cubic_integral(const double *from, const double *to, double h, double t)
{
    const double t2 = t * t, blend = t2 * t * (1 - 0.5 * t);
    const double slopes =
        from[SLOPE] * (0.5 - t * (2.0 / 3 - 0.25 * t)) - to[SLOPE] * t * (1.0 / 3 - 0.25 * t);
    return h * (from[Y] * (t - blend) + to[Y] * blend + h * t2 * slopes);
}

void sp_cubic_integrals(double *table, int n, int origin)
{
    for (int i = origin; i + 1 < n; i++) {
        double *k = table + COLUMNS * i, *next = k + COLUMNS;
        next[INTEGRAL] = k[INTEGRAL] + cubic_integral(k, next, width(table, i), 1);
    }
    for (int i = origin; i > 0; i--) {
        double *k = table + COLUMNS * i, *next = k - COLUMNS;
        next[INTEGRAL] = k[INTEGRAL] + cubic_integral(k, next, -width(table, i - 1), 1);
    }
}

/* Find the first row of the interval that holds a place inside the table. */
static int find_interval(const double *table, int n, double x)
{
    int low = 0, high = n - 1;
    while (high - low > 1) {
        const int middle = (low + high) / 2;
        if (table[COLUMNS * middle + X] <= x)
            low = middle;
        else
            high = middle;
    }
    return low;
}

/* Find the curve beyond the table, where it goes straight on with the end tangent. */
static void extrapolate(const double *row, double x, double *integral, double *y, double *slope)
{
    const double e = x - row[X];
    *slope = row[SLOPE];
    *y = row[Y] + row[SLOPE] * e;
    *integral = row[INTEGRAL] + e * (row[Y] + 0.5 * row[SLOPE] * e);
}

void sp_cubic_eval(const double *table, int n, double x, double *integral, double *y, double *slope)
{
    const double *first = table, *last = first + COLUMNS * (n - 1);
    if (x <= first[X] || x >= last[X]) {
        extrapolate(x <= first[X] ? first : last, x, integral, y, slope);
        return;
    }
    const double *from = first + COLUMNS * find_interval(table, n, x), *to = from + COLUMNS;
    if (x < 0) {
        to = from;
        from += COLUMNS;
    }
    const double h = to[X] - from[X], t = (x - from[X]) / h;
    const double rise = to[Y] - from[Y], m0 = h * from[SLOPE], m1 = h * to[SLOPE];
    const double c2 = 3 * rise - 2 * m0 - m1, c3 = m0 + m1 - 2 * rise;
    *integral = from[INTEGRAL] + cubic_integral(from, to, h, t);
    *y = from[Y] + t * (m0 + t * (c2 + t * c3));
    *slope = (m0 + t * (2 * c2 + t * 3 * c3)) / h;
}
