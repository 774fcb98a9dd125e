/* These are monotone cubics between measured rows (Fritsch & Carlson 1980; E34), with their exact
 * integral and slope.
 *
 * A table has SP_CUBIC_COLUMNS numbers per row, with growing x: x and y are given, the slope and
 * the integral of y are filled in here. */
#ifndef SP_TABLE_CUBIC_H
#define SP_TABLE_CUBIC_H

enum { SP_CUBIC_X, SP_CUBIC_Y, SP_CUBIC_SLOPE, SP_CUBIC_INTEGRAL, SP_CUBIC_COLUMNS };

/* Find the slope at each of n >= 2 rows: that of the parabola through three of them, and zero where
 * the rows turn. */
void sp_cubic_slopes(double *table, int n);

/* Cut slopes down to alpha^2 + beta^2 <= 9, where alpha and beta are the end slopes of an interval
 * over its secant: then the curve between two rows stays between them. */
void sp_cubic_limit(double *table, int n);

/* Do the same for x - y/steepest, so that the cubics themselves are nowhere steeper than
 * `steepest`, which no secant may reach. */
void sp_cubic_limit_slope(double *table, int n, double steepest);

/* Find the integrals at the rows, outwards from the one given at row `origin`. */
void sp_cubic_integrals(double *table, int n, int origin);

/* Find value, its integral and slope at x; the curve goes straight on with the end slope beyond the
 * rows. Within an interval the integral starts from the row nearer to x = 0, so that a small one
 * keeps its digits. */
void sp_cubic_eval(const double *table, int n, double x, double *integral, double *y,
                   double *slope);

#endif
