/* Write a calibration into a folder: a case with the fitted values, JSON, CSV, a picture of the
 * curves. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "calibrate/calibrate_parts.h"
#include "compare/lines.h"
#include "seek/case_file.h"
#include "caution/caution.h"
#include "write/file_set.h"
#include "write/json.h"
#include "write/text.h"

enum { DIGITS = 9, SHORT_DIGITS = 5, DRAWN_MAX = PLOT_COLOURS };

/* A prediction that densifies must not flatten the tested curves: the picture ends at this multiple
 * of them. */
static const double predicted_share = 2.5;

/* ---- the case ----------------------------------------------- */

static sp_status write_case(sp_context *context, const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    char head[2048], source[SP_FILE_SIZE], misfit[SP_NUMBER_SIZE], value[64];
    sp_case request;
    sp_plan_case(t->plan, 0, &request);
    sp_printable(t->source, source, sizeof source);
    size_t used = (size_t)snprintf(head, sizeof head, "# calibrated on %.400s, strutpress %s\n",
                                   source, sp_version());
    for (int v = 0; v < t->variable_count; v++) {
        sp_seek_variable_set(&t->variable[v], &request, c->x[v]);
        sp_seek_variable_text(&t->variable[v], c->x[v], value, sizeof value);
        used += (size_t)snprintf(head + used, sizeof head - used, "# %s %s\n", t->variable[v].key,
                                 value);
    }
    snprintf(head + used, sizeof head - used, "# misfit %s %% of the mean force\n# %s\n",
             sp_number(misfit, 100 * sp_calibration_misfit(c), 3), SP_CAUTION_SAFETY);
    sp_seek_write_case(&request, head, stream);
    return sp_stream_end(context, stream);
}

/* ---- JSON ----------------------------------------------- */

static json_t *values(const sp_calibration *c, int *failed)
{
    json_t *all = json_object();
    for (int v = 0; v < c->tested->variable_count; v++) {
        json_t *one = json_object(), *without = json_array();
        for (int i = 0; i < c->tested->tested_count && c->left_out; i++)
            sp_json_append(without, sp_json_number(sp_cal_fit_value(c, &c->left_out[i], v)),
                           failed);
        sp_json_put(one, "start", sp_json_number(c->point[c->before.point].x[v]), failed);
        sp_json_put(one, "fitted", sp_json_number(c->x[v]), failed);
        sp_json_put(one, "from", sp_json_number(c->tested->variable[v].low), failed);
        sp_json_put(one, "to", sp_json_number(c->tested->variable[v].high), failed);
        sp_json_put(one, "left_out", without, failed);
        sp_json_put(one, "standard_deviation", sp_json_number(sqrt(c->doubt.covariance[v][v])),
                    failed);
        sp_json_put(all, c->tested->variable[v].key, one, failed);
    }
    return all;
}

/* Rows and columns in the order of `values`. */
static json_t *correlation(const sp_calibration *c, int *failed)
{
    const int n = c->tested->variable_count;
    json_t *one = json_object(), *keys = json_array(), *all = json_array(), *words = json_array();
    for (int a = 0; a < n; a++) {
        json_t *row = json_array();
        char text[600];
        sp_json_append(keys, sp_json_text(c->tested->variable[a].key), failed);
        for (int b = 0; b < n; b++)
            sp_json_append(row, sp_json_number(c->doubt.correlation[a][b]), failed);
        sp_json_append(all, row, failed);
        for (int b = a + 1; b < n; b++)
            if (sp_cal_pair_words(c, a, b, text, sizeof text))
                sp_json_append(words, sp_json_text(text), failed);
    }
    sp_json_put(one, "keys", keys, failed);
    sp_json_put(one, "matrix", all, failed);
    sp_json_put(one, "not_told_apart", words, failed);
    return one;
}

/* The error of predictions, and how it is known (E240 to E244). */
static json_t *doubt(const sp_calibration *c, int *failed)
{
    const cal_doubt *d = &c->doubt;
    json_t *one = json_object(), *ranges = json_array();
    for (int i = 0; i < CAL_RANGES; i++) {
        json_t *range = json_object();
        sp_json_put(range, "from", sp_json_number(c->tested->strain * i / CAL_RANGES), failed);
        sp_json_put(range, "to", sp_json_number(c->tested->strain * (i + 1) / CAL_RANGES), failed);
        sp_json_put(range, "error", sp_json_number(d->range_error[i]), failed);
        sp_json_append(ranges, range, failed);
    }
    sp_json_put(one, "left_out_ranges", ranges, failed);
    sp_json_put(one, "model_misfit", sp_json_number(d->model), failed);
    sp_json_put(one, "independent_residuals", sp_json_number(d->effective), failed);
    sp_json_put(one, "band_share", sp_json_number(0.8), failed);
    sp_json_put(one, "left_out_held", sp_json_number(d->held), failed);
    return one;
}

static json_t *curve(const double *force, double factor, int *failed)
{
    json_t *all = json_array();
    for (int k = 0; k < CAL_STRETCHES; k++)
        sp_json_append(all, sp_json_number(factor * force[k]), failed);
    return all;
}

static json_t *tested_coupon(const sp_calibration *c, int i, int *failed)
{
    const cal_coupon *coupon = &c->tested->tested[i];
    const double *fitted = c->fitted + i * CAL_NUMBERS, *without = sp_cal_left_out_force(c, i);
    json_t *one = json_object(), *figures = json_object();
    for (int f = 0; f < CAL_FIGURES; f++) {
        json_t *figure = json_object();
        sp_json_put(figure, "unit", sp_json_text(sp_cal_figure[f].row->unit), failed);
        sp_json_put(figure, "measured", sp_json_number(sp_cal_figure_of(coupon->measured, f, 1)),
                    failed);
        sp_json_put(figure, "fitted", sp_json_number(sp_cal_figure_of(fitted, f, 1)), failed);
        sp_json_put(figure, "left_out", sp_json_number(sp_cal_left_out_figure(c, i, f)), failed);
        sp_json_put(figures, sp_cal_figure[f].name, figure, failed);
    }
    sp_json_put(one, "name", sp_json_text(coupon->name), failed);
    sp_json_put(one, "end_mm", sp_json_number(coupon->end), failed);
    sp_json_put(one, "weight", sp_json_number(coupon->weight), failed);
    sp_json_put(one, "misfit", sp_json_number(sp_cal_misfit(coupon, fitted, 1)), failed);
    sp_json_put(one, "figures", figures, failed);
    sp_json_put(one, "measured_N", curve(coupon->measured, 1, failed), failed);
    sp_json_put(one, "fitted_N", curve(fitted, 1, failed), failed);
    if (without)
        sp_json_put(one, "left_out_N", curve(without, c->left_out[i].factor, failed), failed);
    return one;
}

static json_t *predicted_coupon(const sp_calibration *c, int i, int *failed)
{
    const cal_coupon *coupon = &c->tested->predicted[i];
    const double *force = c->predicted + i * CAL_NUMBERS;
    double half[CAL_STRETCHES];
    json_t *one = json_object(), *figures = json_object();
    for (int f = 0; f < CAL_FIGURES; f++) {
        json_t *figure = json_object();
        sp_json_put(figure, "unit", sp_json_text(sp_cal_figure[f].row->unit), failed);
        sp_json_put(figure, "predicted", sp_json_number(sp_cal_figure_of(force, f, 1)), failed);
        sp_json_put(figure, "left_out_deviation", sp_json_number(sp_cal_left_out_deviation(c, f)),
                    failed);
        sp_json_put(figure, "band", sp_json_number(sp_cal_figure_band(c, i, f)), failed);
        sp_json_put(figures, sp_cal_figure[f].name, figure, failed);
    }
    sp_json_put(one, "name", sp_json_text(coupon->name), failed);
    sp_json_put(one, "end_mm", sp_json_number(coupon->end), failed);
    sp_json_put(one, "figures", figures, failed);
    sp_json_put(one, "predicted_N", curve(force, 1, failed), failed);
    sp_cal_band(c, i, half);
    sp_json_put(one, "band_N", curve(half, 1, failed), failed);
    return one;
}

static sp_status write_json(sp_context *context, const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    int failed = 0;
    json_t *all = json_object(), *tested = json_array(), *predicted = json_array();
    for (int i = 0; i < t->tested_count; i++)
        sp_json_append(tested, tested_coupon(c, i, &failed), &failed);
    for (int i = 0; i < t->predicted_count; i++)
        sp_json_append(predicted, predicted_coupon(c, i, &failed), &failed);
    sp_json_put(all, "program", sp_json_text("strutpress"), &failed);
    sp_json_put(all, "version", sp_json_text(sp_version()), &failed);
    sp_json_put(all, "caution", sp_json_text(SP_CAUTION_SAFETY), &failed);
    sp_json_put(all, "source", sp_json_text(t->source), &failed);
    sp_json_put(all, "strain", sp_json_number(t->strain), &failed);
    sp_json_put(all, "flaw_seeds", json_integer(t->seed_count), &failed);
    sp_json_put(all, "misfit_start", sp_json_number(sp_calibration_misfit_before(c)), &failed);
    sp_json_put(all, "misfit_fitted", sp_json_number(sp_calibration_misfit(c)), &failed);
    sp_json_put(all, "values", values(c, &failed), &failed);
    sp_json_put(all, "correlation", correlation(c, &failed), &failed);
    sp_json_put(all, "doubt", doubt(c, &failed), &failed);
    sp_json_put(all, "stretches", json_integer(CAL_STRETCHES), &failed);
    sp_json_put(all, "tested", tested, &failed);
    sp_json_put(all, "predicted", predicted, &failed);
    failed |= json_dumpf(all, stream, JSON_INDENT(1) | JSON_REAL_PRECISION(DIGITS)) != 0;
    json_decref(all);
    if (failed && !ferror(stream))
        return sp_fail(context, SP_NO_MEMORY, "no memory for calibrate.json");
    sp_print(stream, "\n");
    return sp_stream_end(context, stream);
}

/* ---- CSV ----------------------------------------------- */

static void put_csv_row(const char *name, const char *kind, int figure, const double value[4],
                        FILE *stream)
{
    char number[SP_NUMBER_SIZE];
    sp_csv_text(stream, name);
    sp_print(stream, ",%s,%s,%s", kind, sp_cal_figure[figure].name,
             sp_cal_figure[figure].row->unit);
    for (int i = 0; i < 4; i++) sp_print(stream, ",%s", sp_number(number, value[i], DIGITS));
    sp_print(stream, "\n");
}

static sp_status write_csv(sp_context *context, const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    sp_print(stream, "coupon,kind,figure,unit,measured,predicted,left_out,band\n");
    for (int i = 0; i < t->tested_count; i++)
        for (int f = 0; f < CAL_FIGURES; f++) {
            const cal_coupon *coupon = &t->tested[i];
            const double value[4] = {sp_cal_figure_of(coupon->measured, f, 1),
                                     sp_cal_figure_of(c->fitted + i * CAL_NUMBERS, f, 1),
                                     sp_cal_left_out_figure(c, i, f), NAN};
            put_csv_row(coupon->name, "tested", f, value, stream);
        }
    for (int i = 0; i < t->predicted_count; i++)
        for (int f = 0; f < CAL_FIGURES; f++) {
            const cal_coupon *coupon = &t->predicted[i];
            const double value[4] = {NAN, sp_cal_figure_of(c->predicted + i * CAL_NUMBERS, f, 1),
                                     NAN, sp_cal_figure_band(c, i, f)};
            put_csv_row(coupon->name, "predicted", f, value, stream);
        }
    return sp_stream_end(context, stream);
}

/* ---- picture ----------------------------------------------- */

/* Draw nominal stress over strain, at the middles of the stretches. 0: no memory. */
static int add_line(plot_lines *all, const cal_coupon *coupon, const char *kind, int style,
                    const double *force)
{
    char label[CAL_NAME_SIZE + 16];
    const sp_case *request = &coupon->request;
    snprintf(label, sizeof label, "%s: %s", kind, coupon->name);
    plot_line *line = sp_plot_lines_add(all, style, CAL_STRETCHES, label);
    for (int k = 0; k < CAL_STRETCHES; k++)
        sp_plot_lines_point(line, 100 * (k + 0.5) / CAL_STRETCHES * coupon->end / request->height,
                            force[k] / (request->width * request->depth));
    return line != NULL;
}

/* Draw the band of a prediction around its line, which was added last. */
static void add_band(plot_lines *all, const sp_calibration *c, int i)
{
    const sp_case *request = &c->tested->predicted[i].request;
    double half[CAL_STRETCHES];
    plot_line *line = &all->line[all->count - 1];
    sp_cal_band(c, i, half);
    for (int k = 0; k < CAL_STRETCHES; k++) {
        const double stress = half[k] / (request->width * request->depth);
        sp_plot_lines_band(line, k, isfinite(stress) ? fmax(0, line->y[k] - stress) : NAN,
                           line->y[k] + stress);
    }
}

static int add_lines(plot_lines *all, const sp_calibration *c, int tested, int predicted)
{
    const sp_tested *t = c->tested;
    int added = 1;
    for (int i = 0; added && i < tested; i++)
        added = add_line(all, &t->tested[i], "measured", i, t->tested[i].measured) &&
                add_line(all, &t->tested[i], "fitted", DRAWN_MAX + i, c->fitted + i * CAL_NUMBERS);
    for (int i = 0; added && i < predicted; i++) {
        added = add_line(all, &t->predicted[i], "predicted",
                         2 * DRAWN_MAX + (tested + i) % DRAWN_MAX, c->predicted + i * CAL_NUMBERS);
        if (added) add_band(all, c, i);
    }
    return added;
}

static double highest_of(const plot_lines *all, int lines)
{
    double highest = 0;
    for (int i = 0; i < lines; i++)
        for (int k = 0; k < all->line[i].count; k++)
            if (isfinite(all->line[i].y[k])) highest = fmax(highest, all->line[i].y[k]);
    return highest;
}

static sp_status write_picture(sp_context *context, const sp_calibration *c, FILE *stream)
{
    const sp_tested *t = c->tested;
    const int tested = t->tested_count < DRAWN_MAX ? t->tested_count : DRAWN_MAX;
    const int predicted = t->predicted_count < DRAWN_MAX ? t->predicted_count : DRAWN_MAX;
    char note[240] = "measured: full lines; fitted: broken; predicted: dotted, with the band that "
                     "should hold 80 % of tests";
    plot_lines all = {0};
    sp_status status = SP_OK;
    if (!add_lines(&all, c, tested, predicted)) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
        goto done;
    }
    if (tested < t->tested_count || predicted < t->predicted_count)
        snprintf(note, sizeof note,
                 "the first %d tested and predicted coupons; full lines "
                 "measured, broken fitted, dotted predicted with the band that should hold 80 %% "
                 "of tests",
                 DRAWN_MAX);
    const double tested_end = highest_of(&all, 2 * tested), all_end = highest_of(&all, all.count);
    const plot drawn = {.title = "Tested and fitted",
                        .x_name = "nominal strain [%]",
                        .y_name = "nominal stress [MPa]",
                        .y_end = fmin(all_end, predicted_share * tested_end),
                        .note = note,
                        .line_count = all.count,
                        .line = all.line};
    sp_plot_draw(&drawn, stream);
    status = sp_stream_end(context, stream);
done:
    sp_plot_lines_free(&all);
    return status;
}

sp_status sp_calibration_records(sp_context *context, const sp_calibration *calibration,
                                 sp_record_format format, FILE *stream)
{
    return format == SP_FORMAT_JSON ? write_json(context, calibration, stream)
                                    : write_csv(context, calibration, stream);
}

/* ---- the folder ----------------------------------------------- */

sp_status sp_calibration_write(sp_context *context, const sp_calibration *calibration,
                               const char *folder)
{
    static const struct {
        const char *name;
        sp_status (*write)(sp_context *context, const sp_calibration *c, FILE *stream);
    } file[] = {{"calibrated.yaml", write_case},
                {"calibrate.json", write_json},
                {"calibrate.csv", write_csv},
                {"curves.svg", write_picture}};
    const int count = sizeof file / sizeof file[0];
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, "calibrate", count);
    if (status != SP_OK) return status;
    for (int i = 0; i < count && status == SP_OK; i++) {
        status = sp_file_set_open(context, &set, file[i].name);
        if (status == SP_OK)
            status =
                sp_file_set_close(context, &set, file[i].write(context, calibration, set.stream));
    }
    return sp_file_set_end(context, &set, status);
}
