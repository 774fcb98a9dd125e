/* Slopes of all curves by the fitted values (E241): differences over a twentieth of each range,
 * wide enough that the corners of single folds do not count. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "calibrate/calibrate_parts.h"

static const double slope_share = 0.05; /* of the range of a value, to either side */

const double *sp_cal_slope(const sp_calibration *c, int coupon, int variable)
{
    return c->doubt.slope +
           ((size_t)coupon * (size_t)c->tested->variable_count + (size_t)variable) * CAL_NUMBERS;
}

static double *slope_of(sp_calibration *c, int coupon, int variable)
{
    return c->doubt.slope +
           ((size_t)coupon * (size_t)c->tested->variable_count + (size_t)variable) * CAL_NUMBERS;
}

/* Find the forces of all coupons, tested ones first, with these values. */
static sp_status press_all(sp_calibration *c, const double *x, double *force)
{
    const sp_tested *t = c->tested;
    int point;
    const sp_status status = sp_cal_point_at(c, x, &point);
    if (status != SP_OK) return status;
    const size_t own = (size_t)t->tested_count * CAL_NUMBERS;
    memcpy(force, c->point[point].force, own * sizeof *force);
    if (!t->predicted_count) return SP_OK;
    return sp_cal_press(c, t->predicted, t->predicted_count, x, force + own);
}

static void put_slopes(sp_calibration *c, int variable, const double *low, const double *high,
                       double distance)
{
    const int coupons = c->tested->tested_count + c->tested->predicted_count;
    for (int i = 0; i < coupons; i++)
        for (int k = 0; k < CAL_NUMBERS; k++)
            slope_of(c, i, variable)[k] =
                (high[i * CAL_NUMBERS + k] - low[i * CAL_NUMBERS + k]) / distance;
}

/* Find the slopes (E241). Forces that are proportional to a value need no press. */
static sp_status find_slope(sp_calibration *c, int variable, double *low, double *high)
{
    const sp_tested *t = c->tested;
    const seek_variable *v = &t->variable[variable];
    double x[SEEK_VARIABLE_MAX];
    memcpy(x, c->x, sizeof x);
    if (variable == c->scaling) {
        const sp_status status = press_all(c, x, high); /* all of these are stored already */
        memset(low, 0, (size_t)(t->tested_count + t->predicted_count) * CAL_NUMBERS * sizeof *low);
        put_slopes(c, variable, low, high, x[variable]);
        return status;
    }
    const double step = fmax(v->within, slope_share * (v->high - v->low));
    const double from = sp_seek_variable_round(v, fmax(v->low, c->x[variable] - step));
    const double to = sp_seek_variable_round(v, fmin(v->high, c->x[variable] + step));
    x[variable] = from;
    sp_status status = press_all(c, x, low);
    x[variable] = to;
    if (status == SP_OK) status = press_all(c, x, high);
    if (status == SP_OK) put_slopes(c, variable, low, high, to - from);
    return status;
}

sp_status sp_cal_find_slopes(sp_calibration *c)
{
    const sp_tested *t = c->tested;
    const size_t size = (size_t)(t->tested_count + t->predicted_count) * CAL_NUMBERS;
    double *low = sp_alloc(size, sizeof *low), *high = sp_alloc(size, sizeof *high);
    c->doubt.slope = sp_alloc(size * (size_t)t->variable_count, sizeof *c->doubt.slope);
    sp_status status = low && high && c->doubt.slope
                           ? SP_OK
                           : sp_fail(c->context, SP_NO_MEMORY, "no memory for slopes");
    for (int v = 0; v < t->variable_count && status == SP_OK; v++)
        status = find_slope(c, v, low, high);
    sp_free(low);
    sp_free(high);
    return status;
}
