/* The inside of a file of tested coupons and of a calibration. */
#ifndef SP_CALIBRATE_CALIBRATE_PARTS_H
#define SP_CALIBRATE_CALIBRATE_PARTS_H

#include <strutpress/calibrate.h>

#include "rig/measured.h"
#include "seek/variable.h"

enum {
    CAL_COUPON_MAX = 64, /* tested, and predicted */
    CAL_SEED_MAX = 16,
    CAL_NAME_SIZE = 80,
    CAL_STRETCHES = 80 /* of a curve, of even length: each counts with its mean force */
};

/* ---- what was tested ----------------------------------------------- */

typedef struct cal_coupon {
    char name[CAL_NAME_SIZE];
    sp_case request; /* without what is fitted */
    double end;      /* shortening up to which it counts, or is predicted [mm] */
    double work_end; /* of the figure `energy` [mm], at most `end` */
    /* a tested one */
    double measured[CAL_STRETCHES]; /* mean force of each stretch [N] */
    double mean;                    /* of them; above 0 */
    sp_measured curve;              /* what it was taken from */
} cal_coupon;

struct sp_tested {
    char source[SP_FILE_SIZE];
    sp_plan *plan; /* the base case; flaw seeds changing fastest */
    int seed_count;
    int variable_count;
    seek_variable variable[SEEK_VARIABLE_MAX];
    int tested_count, predicted_count;
    cal_coupon *tested, *predicted;
    double strain; /* curves count up to here */
    int tries;     /* points that the search may try */
};

/* Mean force of all stretches up to `end`, NaN beyond the curve. */
void sp_cal_stretches(const sp_curve *curve, double end, double force[CAL_STRETCHES]);

/* A coupon to press with these values and flaw seed number `seed`: as far as it counts, whatever
 * the load. */
void sp_cal_case(const sp_tested *tested, const cal_coupon *coupon, const double *x, int seed,
                 sp_case *request);

/* ---- the fit ----------------------------------------------- */

/* One set of values with what all tested coupons carry with them. */
typedef struct cal_point {
    double x[SEEK_VARIABLE_MAX];
    double *
        force; /* tested_count x CAL_STRETCHES, mean over the flaw seeds; NaN: not reached. Owned */
} cal_point;

/* A point whose forces are multiplied by a factor, which is that of the scaling variable. */
typedef struct cal_fit {
    int point;
    double factor, misfit;
} cal_fit;

/* ---- figures ----------------------------------------------- */

enum { CAL_FIGURES = 4 };
typedef struct cal_figure_row {
    const char *name, *unit;
    double strain; /* force there; 0: the work up to work_end */
} cal_figure_row;
extern const cal_figure_row sp_cal_figure[CAL_FIGURES];
/* From the forces of the stretches times a factor; NaN beyond them. */
double sp_cal_figure_take(const cal_coupon *coupon, int figure, const double *force, double factor);

struct sp_calibration {
    const sp_tested *tested;
    sp_store *store;
    int threads;
    /* The variable that all forces are proportional to, -1: none; points of the search are pressed
     * with `reference` in its place. */
    int scaling;
    double reference;
    int point_count, point_capacity;
    cal_point *point;
    cal_fit before, best;
    cal_fit *left_out; /* tested_count: fitted to all others; NULL: a single coupon */
    double x[SEEK_VARIABLE_MAX];
    const double *fitted; /* tested_count x CAL_STRETCHES: pressed with x */
    double *predicted;    /* predicted_count x CAL_STRETCHES, owned */
    int pressed, stored;  /* coupons */
    /* while it runs */
    sp_context *context;
    int rounds, rounds_expected;
};

/* The factor of least squares, sum of given x wanted / sum of given^2; NaN without any (E75). */
double sp_cal_proportion(int count, const double *given, const double *wanted);
/* Root mean square of factor x force less the measured one over the stretches, over its mean. */
double sp_cal_misfit(const cal_coupon *coupon, const double *force, double factor);
/* Root mean square of it over the tested coupons but `left_out` (-1: all of them), whose forces
 * stand one after the other. */
double sp_cal_misfit_of_all(const sp_tested *tested, const double *force, double factor,
                            int left_out);
/* Least misfit of a point over the tested coupons but `left_out` (-1: all of them). */
cal_fit sp_cal_fit_point(const sp_calibration *c, int point, int left_out);
/* Value of a variable in a fit. */
double sp_cal_fit_value(const sp_calibration *c, const cal_fit *fit, int variable);
/* Forces and figure of a tested coupon by the fit to all others; NULL and NaN: nothing was left
 * out. The forces want the factor of that fit. */
const double *sp_cal_left_out_force(const sp_calibration *c, int coupon);
double sp_cal_left_out_figure(const sp_calibration *c, int coupon, int figure);
/* Deviation of a left-out figure from the measured one, root mean square over the tested coupons;
 * NaN: not known. */
double sp_cal_left_out_deviation(const sp_calibration *c, int figure);

/* Press coupons with given values, or take them from the store: force[count x CAL_STRETCHES], mean
 * over the flaw seeds. */
sp_status sp_cal_press(sp_calibration *c, const cal_coupon *coupon, int count, const double *x,
                       double *force);
/* The point with these values, pressed when it is new. */
sp_status sp_cal_point_at(sp_calibration *c, const double *x, int *point);
/* Search the values of least misfit without one coupon (-1: with all), from a point on. */
sp_status sp_cal_search(sp_calibration *c, int left_out, int from, cal_fit *fit);

#endif
