/* What the files of a calibration share. */
#ifndef SP_CALIBRATE_CALIBRATE_PARTS_H
#define SP_CALIBRATE_CALIBRATE_PARTS_H

#include <strutpress/calibrate.h>

#include "rig/measured.h"
#include "seek/variable.h"

enum {
    CAL_COUPON_MAX = 64, /* tested, and predicted */
    CAL_SEED_MAX = 16,
    CAL_NAME_SIZE = 80,
    CAL_STRETCHES = 80, /* of a curve, of even length: each counts with its mean force */
    CAL_FIGURES = 4,    /* taken from the same curve by rows of figure_list.h */
    /* What a fit knows of a coupon: the forces of its stretches, then its figures. All of them are
     * proportional to the modulus where the forces are. */
    CAL_NUMBERS = CAL_STRETCHES + CAL_FIGURES
};

/* ---- what was tested ----------------------------------------------- */

typedef struct cal_coupon {
    char name[CAL_NAME_SIZE];
    sp_case request; /* without the values that are fitted */
    double end;      /* shortening up to which it counts, or is predicted [mm] */
    double work_end; /* of the figure `energy` [mm], at most `end` */
    /* Only for a tested coupon: */
    double measured[CAL_NUMBERS]; /* mean force of each stretch [N], and figures */
    double mean;                  /* of the forces; above 0 */
    double weight;                /* its share of the misfit, in units of a usual coupon */
    sp_measured curve;            /* the curve that it was taken from */
} cal_coupon;

enum { CAL_WEIGHTS_EVEN, CAL_WEIGHTS_SCATTER }; /* weights of coupons that give none */
enum { CAL_SEARCH_AUTO, CAL_SEARCH_LOCAL, CAL_SEARCH_GLOBAL };

struct sp_tested {
    char source[SP_FILE_SIZE];
    sp_plan *plan; /* the base case; flaw seeds changing fastest */
    int seed_count;
    int variable_count;
    seek_variable variable[SEEK_VARIABLE_MAX];
    int tested_count, predicted_count;
    cal_coupon *tested, *predicted;
    double strain; /* curves count up to this strain */
    int tries;     /* points that the search may try */
    int weights;   /* CAL_WEIGHTS_* */
    int search;    /* CAL_SEARCH_* */
};

/* Take from a curve what the fit knows of a coupon: the mean force of all stretches up to its end,
 * and its figures; NaN beyond the curve. */
void sp_cal_take(const cal_coupon *coupon, const sp_curve *curve, double number[CAL_NUMBERS]);

/* Make the case of a coupon with these values and flaw seed number `seed`: it is pressed as far as
 * it counts, whatever the load. */
void sp_cal_case(const sp_tested *tested, const cal_coupon *coupon, const double *x, int seed,
                 sp_case *request);

/* ---- the fit ----------------------------------------------- */

/* One set of values with what all tested coupons carry with them. */
typedef struct cal_point {
    double x[SEEK_VARIABLE_MAX];
    /* tested_count x CAL_NUMBERS, mean over the flaw seeds; NaN: not reached. Owned. */
    double *force;
} cal_point;

/* A point whose forces are multiplied by a factor, which is that of the scaling variable. */
typedef struct cal_fit {
    int point;
    double factor, misfit;
} cal_fit;

/* ---- figures ----------------------------------------------- */

typedef struct cal_figure_row {
    const char *name;
    const sp_figure_row *row; /* what is read from the curve, and its unit */
    double strain;            /* at which it is read; 0: at work_end */
} cal_figure_row;
extern const cal_figure_row sp_cal_figure[CAL_FIGURES];
/* Return a figure of a coupon of which these numbers are known, times a factor; NaN where it lies
 * beyond the curve. */
double sp_cal_figure_of(const double number[CAL_NUMBERS], int figure, double factor);

/* ---- what the fit leaves open ----------------------------------------------- */

enum { CAL_RANGES = 4 }; /* of the strain, left out one after the other */

/* Linearised about the fitted values: E240 to E244 of docs/theory.md. */
typedef struct cal_doubt {
    /* tested_count, then predicted_count times variable_count x CAL_NUMBERS: forces and figures
     * per unit of each value. Owned. */
    double *slope;
    double residual;  /* of the fit, root mean square over a stretch / mean force of the coupon */
    double run;       /* stretches that go together: how many count as one */
    double effective; /* number of independent residuals of the fit */
    double covariance[SEEK_VARIABLE_MAX][SEEK_VARIABLE_MAX];
    double correlation[SEEK_VARIABLE_MAX][SEEK_VARIABLE_MAX];
    /* Misfit of the left-out range; NaN where a single one is left. */
    double range_error[CAL_RANGES];
    double model;              /* error of predictions besides that of the values, / mean force */
    double model_run, freedom; /* of the left-out residuals */
    double held;               /* share of the left-out points inside their bands; NaN: none */
} cal_doubt;

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
    const double *fitted; /* tested_count x CAL_NUMBERS: pressed with x */
    double *predicted;    /* predicted_count x CAL_NUMBERS, owned */
    cal_doubt doubt;
    int searched_globally;
    int pressed, stored; /* coupons */
    /* Only while it runs: */
    sp_context *context;
    int rounds, rounds_expected;
};

/* Return the factor of least squares, sum of given x wanted / sum of given^2; NaN without any
 * (E75). */
double sp_cal_proportion(int count, const double *given, const double *wanted);
/* Return the root mean square of factor x force less the measured one over the stretches, over its
 * mean. */
double sp_cal_misfit(const cal_coupon *coupon, const double *force, double factor);
/* Return the root mean square of that misfit over the tested coupons except `left_out` (-1: all of
 * them), whose forces stand one after the other. */
double sp_cal_misfit_of_all(const sp_tested *tested, const double *force, double factor,
                            int left_out);
/* Return the least misfit of a point over the tested coupons except `left_out` (-1: all of them).
 */
cal_fit sp_cal_fit_point(const sp_calibration *c, int point, int left_out);
/* Return the value of a variable in a fit. */
double sp_cal_fit_value(const sp_calibration *c, const cal_fit *fit, int variable);
/* Find forces and figure of a tested coupon by the fit to all others; NULL and NaN: nothing was
 * left out. The forces still have to be multiplied by the factor of that fit. */
const double *sp_cal_left_out_force(const sp_calibration *c, int coupon);
double sp_cal_left_out_figure(const sp_calibration *c, int coupon, int figure);
/* Return the deviation of a left-out figure from the measured one, root mean square over the tested
 * coupons; NaN: not known. */
double sp_cal_left_out_deviation(const sp_calibration *c, int figure);

/* Press coupons with given values, or take them from the store: force[count x CAL_NUMBERS], mean
 * over the flaw seeds. */
sp_status sp_cal_press(sp_calibration *c, const cal_coupon *coupon, int count, const double *x,
                       double *force);
/* Find the point with these values, which is pressed when it is new. */
sp_status sp_cal_point_at(sp_calibration *c, const double *x, int *point);
/* slopes.c: the forces of all coupons per unit of each value, by differences about the fitted
 * values; presses two sets of values for each value that the forces are not proportional to. */
sp_status sp_cal_find_slopes(sp_calibration *c);
/* Return the slopes of one coupon, tested ones first: CAL_NUMBERS per unit of the value. */
const double *sp_cal_slope(const sp_calibration *c, int coupon, int variable);

/* doubt.c: find the covariance of the values, the errors of what is left out, and the misfit of the
 * model. */
void sp_cal_find_doubt(sp_calibration *c);
/* List the left-out residuals of a tested coupon over its mean force, NaN where there are none;
 * returns their mean square. */
double sp_cal_left_out_residuals(const sp_calibration *c, int coupon, double r[CAL_STRETCHES]);
/* Write into text which values cannot be told apart, one sentence for each pair; 0: this pair can.
 */
int sp_cal_pair_words(const sp_calibration *c, int a, int b, char *text, size_t size);

/* band.c: Student's t within which this share lies on both sides together; and half of the band of
 * a predicted figure that should hold 80 % [in its unit]; NaN: not known. */
double sp_cal_student(double freedom);
/* Return the variance of the force of a stretch due to the error of the values [N^2]; tested ones
 * first. */
double sp_cal_variance(const sp_calibration *c, int coupon, int stretch);
double sp_cal_figure_band(const sp_calibration *c, int predicted, int figure);
/* Find half of the band of each stretch of a predicted coupon [N]. */
void sp_cal_band(const sp_calibration *c, int predicted, double half[CAL_STRETCHES]);
/* Return the share of the left-out points that lie in bands made without their own coupon or range.
 */
double sp_cal_share_held(const sp_calibration *c);

/* Search the values of least misfit without one coupon (-1: with all), starting from a point. */
sp_status sp_cal_search(sp_calibration *c, int left_out, int from, cal_fit *fit);

#endif
