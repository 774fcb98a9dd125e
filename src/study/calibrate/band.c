/* Bands of predictions that should hold 80 % of what a test would show: the linearised posterior of
 * the values, and what the model is off by, which the left-out residuals tell (E244; Kennedy &
 * O'Hagan 2001, J. R. Stat. Soc. B 63, 425, keep the two apart in the same way). */
#include <math.h>

#include "calibrate/calibrate_parts.h"

/* 80 % of a normal distribution lie within this many standard deviations. */
static const double normal_quantile = 1.2815515655446004;

/* Return the quantile of Student's t: exact for 1 and 2, else by the expansion of Abramowitz &
 * Stegun 1964, 26.7.5. */
double sp_cal_student(double freedom)
{
    const double z = normal_quantile, z3 = z * z * z, z5 = z3 * z * z, z7 = z5 * z * z;
    if (freedom < 1.5) return 3.0776835371752527;
    if (freedom < 2.5) return 1.8856180831641267;
    return z + (z3 + z) / (4 * freedom) + (5 * z5 + 16 * z3 + 3 * z) / (96 * freedom * freedom) +
           (3 * z7 + 19 * z5 + 17 * z3 - 15 * z) / (384 * freedom * freedom * freedom);
}

/* Return g^T C g for slopes g; NaN where a slope is not known. */
static double variance_of(const sp_calibration *c, const double slope[SEEK_VARIABLE_MAX])
{
    double variance = 0;
    for (int v = 0; v < c->tested->variable_count; v++)
        for (int w = 0; w < c->tested->variable_count; w++)
            variance += slope[v] * c->doubt.covariance[v][w] * slope[w];
    return isnan(variance) ? NAN : fmax(0, variance);
}

double sp_cal_variance(const sp_calibration *c, int coupon, int stretch)
{
    double slope[SEEK_VARIABLE_MAX];
    for (int v = 0; v < c->tested->variable_count; v++)
        slope[v] = sp_cal_slope(c, coupon, v)[stretch];
    return variance_of(c, slope);
}

/* Return the mean predicted force over the strain up to which tested coupons count. */
static double predicted_mean(const sp_calibration *c, int predicted)
{
    const cal_coupon *coupon = &c->tested->predicted[predicted];
    const double *force = c->predicted + predicted * CAL_NUMBERS;
    double sum = 0;
    int count = 0;
    for (int k = 0; k < CAL_STRETCHES; k++)
        if (isfinite(force[k]) && (k + 0.5) * coupon->end / CAL_STRETCHES <= coupon->work_end)
            sum += force[k], count++;
    return count ? sum / count : NAN;
}

double sp_cal_figure_band(const sp_calibration *c, int predicted, int figure)
{
    const cal_coupon *coupon = &c->tested->predicted[predicted];
    const cal_doubt *d = &c->doubt;
    double slope[SEEK_VARIABLE_MAX], model = d->model * predicted_mean(c, predicted);
    for (int v = 0; v < c->tested->variable_count; v++)
        slope[v] =
            sp_cal_figure_of(sp_cal_slope(c, c->tested->tested_count + predicted, v), figure, 1);
    /* In the work, runs of residuals cancel. */
    if (!(sp_cal_figure[figure].strain > 0))
        model *= coupon->work_end * sqrt(fmin(1, d->model_run / CAL_STRETCHES));
    return sp_cal_student(d->freedom) * sqrt(variance_of(c, slope) + model * model);
}

void sp_cal_band(const sp_calibration *c, int predicted, double half[CAL_STRETCHES])
{
    const double model = c->doubt.model * predicted_mean(c, predicted);
    for (int k = 0; k < CAL_STRETCHES; k++)
        half[k] = sp_cal_student(c->doubt.freedom) *
                  sqrt(sp_cal_variance(c, c->tested->tested_count + predicted, k) + model * model);
}

/* Return the mean square by which a group is judged: that of all others. */
static double of_others(const double *square, const int *count, int groups, int own)
{
    double sum = 0;
    int all = 0;
    for (int g = 0; g < groups; g++)
        if (g != own && count[g]) sum += square[g], all += count[g];
    return all ? sum / all : NAN;
}

/* Groups are coupons, or ranges of the strain of a single coupon. The left-out residuals contain
 * the error of the values, too, so nothing is added for it. */
double sp_cal_share_held(const sp_calibration *c)
{
    const int coupons = c->tested->tested_count, single = coupons == 1;
    const int groups = single ? CAL_RANGES : coupons;
    double r[CAL_COUPON_MAX][CAL_STRETCHES], square[CAL_COUPON_MAX] = {0};
    int count[CAL_COUPON_MAX] = {0}, inside = 0, all = 0;
    for (int i = 0; i < coupons; i++) sp_cal_left_out_residuals(c, i, r[i]);
    for (int pass = 0; pass < 2; pass++)
        for (int i = 0; i < coupons; i++)
            for (int k = 0; k < CAL_STRETCHES; k++) {
                const int g = single ? k * CAL_RANGES / CAL_STRETCHES : i;
                if (!isfinite(r[i][k])) continue;
                if (!pass) {
                    square[g] += r[i][k] * r[i][k];
                    count[g]++;
                    continue;
                }
                const double half =
                    sp_cal_student(c->doubt.freedom) * sqrt(of_others(square, count, groups, g));
                inside += fabs(r[i][k]) <= half;
                all++;
            }
    return all ? (double)inside / all : NAN;
}
