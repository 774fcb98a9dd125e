/* This is a measured or predicted curve of force over shortening, with the figures that are read
 * off it. */
#ifndef TESTS_MEASURED_CURVE_H
#define TESTS_MEASURED_CURVE_H

#include <strutpress/path.h>

typedef struct measured_curve {
    int count;
    double *shortening; /* count [mm], growing */
    double *force;      /* count [N] */
} measured_curve;

/* Read the pairs of columns u1 f1 u2 f2 ... below one line of names into `count` curves. Returns 0
 * when the file does not hold such columns. Free each with measured_curve_free. */
int measured_curves_read(const char *file, measured_curve *curve, int count);
int measured_curve_of_path(const sp_path *path, measured_curve *curve); /* 0: no memory */
void measured_curve_free(measured_curve *curve);

/* Return the force at a shortening, straight between the points; NaN beyond the curve. */
double measured_force(const measured_curve *curve, double shortening);

/* Return the slope [N/mm] of the straight line, by least squares of the shortening, through the
 * first passes of every newton from `low` to `high`; NaN where the curve does not get there. */
double measured_stiffness(const measured_curve *curve, int low, int high);

/* Return the force [N] at which the curve falls 0.1 mm behind that straight line; NaN where it
 * never does. */
double measured_bend(const measured_curve *curve, int low, int high);

/* Find the first maximum that is followed by a fall of 2 % or more [N], and where it is [mm]; NaN
 * when there is none. */
double measured_first_peak(const measured_curve *curve, double *shortening);

#endif
