/* Print a calibration as a table. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "calibrate/calibrate_parts.h"
#include "caution/caution.h"
#include "write/text.h"

static const double least_share = 5e-4; /* a smaller share is printed as 0 % */
enum { CELL = 40, DIGITS = 4, LABEL = 2, KIND = 9 };

/* Write a value such as "12.4 MPa". */
static void put_value(const sp_calibration *c, int variable, double value, char cell[CELL])
{
    sp_seek_variable_text(&c->tested->variable[variable],
                          sp_seek_variable_round(&c->tested->variable[variable], value), cell,
                          CELL);
}

/* Write the standard deviation of a fitted value, with two digits. */
static void put_deviation(const sp_calibration *c, int variable, char cell[CELL])
{
    char number[SP_NUMBER_SIZE], text[CELL - 2];
    const double deviation = sqrt(c->doubt.covariance[variable][variable]);
    sp_seek_variable_text(&c->tested->variable[variable],
                          strtod(sp_number(number, deviation, 2), NULL), text, sizeof text);
    snprintf(cell, CELL, "+-%s", text);
}

static void put_values(const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    sp_print(stream, "%-26s%14s%14s%15s%s\n", "", "start", "fitted", "deviation",
             c->left_out ? "   when one coupon is left out" : "");
    for (int v = 0; v < t->variable_count; v++) {
        char start[CELL], fitted[CELL], low[CELL], high[CELL], within[CELL];
        double least = INFINITY, most = -INFINITY;
        put_value(c, v, c->point[c->before.point].x[v], start);
        put_value(c, v, c->x[v], fitted);
        put_deviation(c, v, within);
        sp_print(stream, "%-26s%14s%14s%15s", t->variable[v].key, start, fitted, within);
        for (int i = 0; i < t->tested_count && c->left_out; i++) {
            least = fmin(least, sp_cal_fit_value(c, &c->left_out[i], v));
            most = fmax(most, sp_cal_fit_value(c, &c->left_out[i], v));
        }
        if (c->left_out) {
            put_value(c, v, least, low);
            put_value(c, v, most, high);
            sp_print(stream, "   %s .. %s", low, high);
        }
        sp_print(stream, "\n");
    }
}

static void put_percent(double share, int sign, char cell[CELL])
{
    const double percent = fabs(share) < least_share ? 0 : 100 * share;
    if (isfinite(share))
        sp_format(cell, CELL, sign ? "%+.2g %%" : "%.2g %%", percent);
    else
        snprintf(cell, CELL, "-");
}

/* Write "12.3"; "12.3 +4.1 %" beside a measured value; "12.3 +-6.2 %" with the error of left-out
 * coupons. */
static void put_figure(double value, double measured, double within, char cell[CELL])
{
    char number[SP_NUMBER_SIZE], percent[CELL] = "";
    if (!isfinite(value)) {
        snprintf(cell, CELL, "-");
        return;
    }
    if (isfinite(measured)) put_percent(value / measured - 1, 1, percent);
    if (isfinite(within)) sp_format(percent, sizeof percent, "+-%.2g %%", 100 * within);
    snprintf(cell, CELL, "%.15s%s%.20s", sp_number(number, value, DIGITS), percent[0] ? "  " : "",
             percent);
}

typedef struct row {
    const char *kind;
    const cal_coupon *coupon;
    const double *force;
    double factor, misfit; /* NaN: none */
    int is_measured, is_predicted;
    int predicted; /* its number, of a predicted one */
} row;

static void put_row(const sp_calibration *c, const row *r, int width, FILE *stream)
{
    char cell[CELL];
    const int pad = width - sp_text_columns(r->coupon->name);
    if (r->is_measured || r->is_predicted)
        sp_print(stream, "%s%*s", r->coupon->name, pad > 0 ? pad : 0, "");
    else
        sp_print(stream, "%*s", width, "");
    put_percent(r->misfit, 0, cell);
    sp_print(stream, "  %-*s%9s", KIND, r->kind, isfinite(r->misfit) ? cell : "");
    for (int f = 0; f < CAL_FIGURES; f++) {
        const double value = sp_cal_figure_of(r->force, f, r->factor);
        const double measured =
            r->is_measured || r->is_predicted ? NAN : sp_cal_figure_of(r->coupon->measured, f, 1);
        put_figure(value, measured,
                   r->is_predicted ? sp_cal_figure_band(c, r->predicted, f) / value : NAN, cell);
        sp_print(stream, "  %14s", cell);
    }
    sp_print(stream, "\n");
}

static void put_coupons(const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    int width = (int)strlen("coupon");
    for (int i = 0; i < t->tested_count; i++)
        width = (int)fmax(width, sp_text_columns(t->tested[i].name));
    for (int i = 0; i < t->predicted_count; i++)
        width = (int)fmax(width, sp_text_columns(t->predicted[i].name));
    sp_print(stream, "%-*s  %-*s%9s", width, "coupon", KIND, "", "misfit");
    for (int f = 0; f < CAL_FIGURES; f++) {
        char head[CELL];
        snprintf(head, sizeof head, "%s [%s]", sp_cal_figure[f].name, sp_cal_figure[f].row->unit);
        sp_print(stream, "  %14s", head);
    }
    sp_print(stream, "\n");
    for (int i = 0; i < t->tested_count; i++) {
        const cal_coupon *coupon = &t->tested[i];
        const double *fitted = c->fitted + i * CAL_NUMBERS;
        row r = {"measured", coupon, coupon->measured, 1, NAN, 1, 0, 0};
        put_row(c, &r, width, stream);
        r = (row){"fitted", coupon, fitted, 1, sp_cal_misfit(coupon, fitted, 1), 0, 0, 0};
        put_row(c, &r, width, stream);
        if (!c->left_out) continue;
        const cal_fit *fit = &c->left_out[i];
        const double *without = sp_cal_left_out_force(c, i);
        r = (row){
            "left out", coupon, without, fit->factor, sp_cal_misfit(coupon, without, fit->factor),
            0,          0,      0};
        put_row(c, &r, width, stream);
    }
    for (int i = 0; i < t->predicted_count; i++) {
        const row r = {
            "predicted", &t->predicted[i], c->predicted + i * CAL_NUMBERS, 1, NAN, 0, 1, i};
        put_row(c, &r, width, stream);
    }
}

/* Print ranges of strain that were left out, values that cannot be told apart, and how far bands
 * can be trusted. */
static void put_doubt(const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    const cal_doubt *d = &c->doubt;
    char cell[CELL], text[600];
    sp_print(stream, "ranges     off by");
    for (int i = 0; i < CAL_RANGES; i++) {
        put_percent(d->range_error[i], 0, cell);
        sp_print(stream, "%s %s from %.3g to %.3g %%", i ? "," : "", cell,
                 100 * t->strain * i / CAL_RANGES, 100 * t->strain * (i + 1) / CAL_RANGES);
    }
    sp_print(stream, " of strain, each range left out (of the mean force)\n");
    for (int a = 0; a < t->variable_count; a++)
        for (int b = a + 1; b < t->variable_count; b++)
            if (sp_cal_pair_words(c, a, b, text, sizeof text))
                sp_print(stream, "apart      %s\n", text);
    if (c->searched_globally)
        sp_print(stream,
                 "search     over the whole of the ranges (DIRECT), then around its best\n");
    sp_print(stream, "\n");
}

static void put_band_words(const sp_calibration *c, FILE *stream)
{
    const cal_doubt *d = &c->doubt;
    char model[CELL];
    put_percent(d->model, 0, model);
    if (c->left_out) sp_print(stream, "left out: predicted from the fit to all other coupons\n");
    if (!c->tested->predicted_count) return;
    sp_print(stream,
             "+-: band that should hold 80 %% of tests: what the values leave open, and a model "
             "that is off by %s of the mean force (from left-out %s)",
             model, c->left_out ? "coupons" : "ranges");
    if (isfinite(d->held))
        sp_print(stream, "; such bands held %.0f %% of what was left out", 100 * d->held);
    sp_print(stream, "\n");
}

sp_status sp_calibration_table(sp_context *context, const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    char before[CELL], after[CELL], source[SP_FILE_SIZE];
    sp_printable(t->source, source, sizeof source);
    sp_print(stream, "tested     %s: %d coupon%s up to %.4g %% strain, %d flaw seed%s\n\n", source,
             t->tested_count, t->tested_count == 1 ? "" : "s", 100 * t->strain, t->seed_count,
             t->seed_count == 1 ? "" : "s");
    put_values(c, stream);
    put_percent(sp_calibration_misfit_before(c), 0, before);
    put_percent(sp_calibration_misfit(c), 0, after);
    sp_print(stream,
             "\nmisfit     %s at the start, %s fitted (root mean square over the curve / mean "
             "measured force)\n\n",
             before, after);
    put_doubt(c, stream);
    put_coupons(c, stream);
    put_band_words(c, stream);
    sp_print(stream, "%d coupons pressed now, %d taken from the store\n\n%s\n", c->pressed,
             c->stored, SP_CAUTION_SAFETY);
    return sp_stream_end(context, stream);
}
