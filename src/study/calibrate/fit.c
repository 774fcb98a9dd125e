/* The misfit, the factor to which all forces are proportional, and figures. */
#include <math.h>
#include <string.h>

#include "calibrate/calibrate_parts.h"
#include "measure/figure_list.h"

/* A fit compares the mean force of each stretch of travel with that of the rig, so that noise and
 * the spacing of states do not matter. The figures beside it are those that press, rig and compare
 * print, read from the same curves by the same rows. */
const cal_figure_row sp_cal_figure[CAL_FIGURES] = {
    {"force_10", &sp_figure_row_of[SP_FIGURE_force_at], 0.1},
    {"force_25", &sp_figure_row_of[SP_FIGURE_force_at], 0.25},
    {"force_50", &sp_figure_row_of[SP_FIGURE_force_at], 0.5},
    {"energy", &sp_figure_row_of[SP_FIGURE_energy_to], 0}};

void sp_cal_take(const cal_coupon *coupon, const sp_curve *curve, double number[CAL_NUMBERS])
{
    for (int k = 0; k < CAL_STRETCHES; k++)
        number[k] = sp_curve_mean_force(curve, coupon->end * k / CAL_STRETCHES,
                                        coupon->end * (k + 1) / CAL_STRETCHES);
    for (int f = 0; f < CAL_FIGURES; f++) {
        const cal_figure_row *figure = &sp_cal_figure[f];
        const double u =
            figure->strain > 0 ? figure->strain * coupon->request.height : coupon->work_end;
        const sp_measure taken = figure->row->take(curve, u);
        number[CAL_STRETCHES + f] = taken.reached ? taken.value : NAN;
    }
}

double sp_cal_figure_of(const double number[CAL_NUMBERS], int figure, double factor)
{
    return factor * number[CAL_STRETCHES + figure];
}

double sp_cal_proportion(int count, const double *given, const double *wanted)
{
    double both = 0, square = 0;
    for (int i = 0; i < count; i++) {
        both += given[i] * wanted[i];
        square += given[i] * given[i];
    }
    return square > 0 ? both / square : NAN;
}

/* List the forces of a coupon over its mean measured one, times the root of its weight, as far as
 * it was pressed; returns how many. */
static int put_relative(const cal_coupon *coupon, const double *force, double *given,
                        double *wanted)
{
    const double scale = sqrt(coupon->weight) / coupon->mean;
    int count = 0;
    for (int k = 0; k < CAL_STRETCHES; k++) {
        if (!isfinite(force[k])) continue;
        given[count] = scale * force[k];
        wanted[count++] = scale * coupon->measured[k];
    }
    return count;
}

/* Stretches that the press does not reach count as if it carried nothing there. */
double sp_cal_misfit(const cal_coupon *coupon, const double *force, double factor)
{
    double square = 0;
    for (int k = 0; k < CAL_STRETCHES; k++) {
        const double got = isfinite(force[k]) ? factor * force[k] : 0;
        square += (got - coupon->measured[k]) * (got - coupon->measured[k]);
    }
    return sqrt(square / CAL_STRETCHES) / coupon->mean;
}

double sp_cal_misfit_of_all(const sp_tested *tested, const double *force, double factor,
                            int left_out)
{
    double square = 0, weights = 0;
    for (int i = 0; i < tested->tested_count; i++) {
        if (i == left_out) continue;
        const double misfit = sp_cal_misfit(&tested->tested[i], force + i * CAL_NUMBERS, factor);
        square += tested->tested[i].weight * misfit * misfit;
        weights += tested->tested[i].weight;
    }
    return sqrt(square / weights);
}

/* Find the factor of the scaling variable with the least misfit, inside its range. */
static double best_factor(const sp_calibration *c, const double *force, int left_out)
{
    static _Thread_local double given[CAL_COUPON_MAX * CAL_STRETCHES];
    static _Thread_local double wanted[CAL_COUPON_MAX * CAL_STRETCHES];
    const sp_tested *t = c->tested;
    const seek_variable *v = &t->variable[c->scaling];
    int count = 0;
    for (int i = 0; i < t->tested_count; i++)
        if (i != left_out)
            count +=
                put_relative(&t->tested[i], force + i * CAL_NUMBERS, given + count, wanted + count);
    const double factor = sp_cal_proportion(count, given, wanted);
    return fmin(v->high, fmax(v->low, isnan(factor) ? v->low : factor * c->reference)) /
           c->reference;
}

cal_fit sp_cal_fit_point(const sp_calibration *c, int point, int left_out)
{
    const double *force = c->point[point].force;
    const double factor = c->scaling >= 0 ? best_factor(c, force, left_out) : 1;
    return (cal_fit){point, factor, sp_cal_misfit_of_all(c->tested, force, factor, left_out)};
}

double sp_cal_fit_value(const sp_calibration *c, const cal_fit *fit, int variable)
{
    const double x = c->point[fit->point].x[variable];
    return variable == c->scaling ? x * fit->factor : x;
}

const double *sp_cal_left_out_force(const sp_calibration *c, int coupon)
{
    return c->left_out ? c->point[c->left_out[coupon].point].force + coupon * CAL_NUMBERS : NULL;
}

double sp_cal_left_out_figure(const sp_calibration *c, int coupon, int figure)
{
    const double *force = sp_cal_left_out_force(c, coupon);
    return force ? sp_cal_figure_of(force, figure, c->left_out[coupon].factor) : NAN;
}

double sp_cal_left_out_deviation(const sp_calibration *c, int figure)
{
    double square = 0;
    int count = 0;
    for (int i = 0; i < c->tested->tested_count; i++) {
        const cal_coupon *coupon = &c->tested->tested[i];
        const double measured = sp_cal_figure_of(coupon->measured, figure, 1);
        const double off = sp_cal_left_out_figure(c, i, figure) / measured - 1;
        if (!isfinite(off)) continue;
        square += off * off;
        count++;
    }
    return count ? sqrt(square / count) : NAN;
}

double sp_calibration_misfit(const sp_calibration *c)
{
    return sp_cal_misfit_of_all(c->tested, c->fitted, 1, -1);
}

double sp_calibration_misfit_before(const sp_calibration *c)
{
    return c->before.misfit;
}
