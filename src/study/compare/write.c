/* Write the comparison as CSV and pictures. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/compare_parts.h"
#include "write/file_set.h"
#include "write/text.h"

enum { DIGITS = 9 };

static void put_number(FILE *stream, double value, int known)
{
    char text[SP_NUMBER_SIZE];
    sp_print(stream, ",%s", known ? sp_number(text, value, DIGITS) : "");
}

/* Name every column that leaves something out, and say what it leaves out. */
static void say_modelled(const sp_compare *c, const group *g, char cell[SP_MESSAGE_SIZE])
{
    char words[SP_MODELLED_SIZE];
    cell[0] = 0;
    for (int k = COLUMN_FIXED; k < c->column_count; k++) {
        const size_t used = strlen(cell);
        sp_compare_modelled(c, g, k, words);
        if (words[0])
            snprintf(cell + used, SP_MESSAGE_SIZE - used, "%s%s: %s", used ? "; " : "",
                     sp_compare_column_name(c, k), words);
    }
}

enum { NAME_SIZE = 2 * SP_NAME_SIZE, FIGURE_COLUMNS = 4 };
enum { NAMES_MAX = LINE_MAX + FIGURE_COLUMNS * COLUMN_MAX + 12 };

typedef struct column_names {
    int count;
    char room[NAMES_MAX][NAME_SIZE];
    const char *name[NAMES_MAX];
} column_names;

static void add_name(column_names *names, const char *text, const char *ending)
{
    char *to = names->room[names->count];
    snprintf(to, NAME_SIZE, "%s%s", text, ending);
    names->name[names->count++] = to;
}

/* A line of a resolved case is its key, a blank and its value. */
static void add_key(column_names *names, const char *line)
{
    char key[NAME_SIZE];
    snprintf(key, sizeof key, "%.*s", (int)strcspn(line, " "), line);
    add_name(names, key, "");
}

static void name_columns(const sp_compare *c, column_names *names)
{
    static const char *const first[] = {"seeds", "failed", "ended_early", "cautions"};
    names->count = 0;
    add_name(names, "coupon", "");
    for (int i = 0; i < c->varied_count; i++) add_key(names, c->group[0].line[c->varied[i]]);
    for (int i = 0; i < 4; i++) add_name(names, first[i], "");
    for (int k = COLUMN_FIXED; k < c->column_count; k++) {
        const char *name = sp_compare_column_name(c, k);
        add_name(names, name, "_median");
        add_name(names, name, "_low");
        add_name(names, name, "_high");
        add_name(names, name, "_reached");
    }
    if (c->tested_count > 0) {
        add_name(names, "tested_misfit", "_median");
        add_name(names, "tested_misfit", "_low");
        add_name(names, "tested_misfit", "_high");
        add_name(names, "tested_to_strain", "");
    }
    add_name(names, "not_modelled", "");
}

/* Write a value of a case as it stands in the text of the group: a number, or a text. */
static void put_value(sp_records *records, const group *g, int line)
{
    const char *text = line < g->line_count ? strchr(g->line[line], ' ') : NULL;
    char *end = NULL;
    const double number = text ? strtod(text, &end) : NAN;
    if (text && end != text && *end == 0)
        sp_records_number(records, number);
    else
        sp_records_text(records, text ? text + 1 : "");
}

static sp_status put_group(sp_context *context, sp_records *records, const sp_compare *c,
                           const group *g)
{
    char cell[SP_MESSAGE_SIZE];
    sp_spread misfit = {0};
    double end = NAN;
    sp_status status = SP_OK;
    if (c->tested_count > 0) status = sp_compare_tested_misfit(context, c, g, &misfit, &end);
    sp_records_text(records, g->label);
    for (int i = 0; i < c->varied_count; i++) put_value(records, g, c->varied[i]);
    sp_records_number(records, g->count);
    sp_records_number(records, g->failed);
    sp_records_number(records, g->ended);
    sp_records_number(records, g->cautions);
    for (int k = COLUMN_FIXED; k < c->column_count; k++) {
        const sp_spread *f = &g->figure[k];
        sp_records_number(records, f->median);
        sp_records_number(records, f->low);
        sp_records_number(records, f->high);
        sp_records_number(records, f->count);
    }
    if (c->tested_count > 0) {
        const int known = misfit.count > 0;
        sp_records_number(records, known ? misfit.median : NAN);
        sp_records_number(records, known ? misfit.low : NAN);
        sp_records_number(records, known ? misfit.high : NAN);
        sp_records_number(records, known ? end : NAN);
    }
    say_modelled(c, g, cell);
    sp_records_text(records, cell);
    return status;
}

sp_status sp_compare_records(sp_context *context, const sp_compare *c, sp_record_format format,
                             FILE *stream)
{
    sp_records records;
    column_names *names = sp_alloc(1, sizeof *names);
    if (!names) return sp_fail(context, SP_NO_MEMORY, "no memory for the comparison");
    name_columns(c, names);
    sp_records_begin(&records, stream, format, names->count, names->name);
    sp_status status = SP_OK;
    for (int i = 0; i < c->group_count && status == SP_OK; i++)
        status = put_group(context, &records, c, &c->group[c->order[i]]);
    sp_free(names);
    const sp_status ended = sp_records_end(context, &records);
    return status == SP_OK ? ended : status;
}

static sp_status write_groups(sp_context *context, const sp_compare *c, FILE *stream)
{
    return sp_compare_records(context, c, SP_FORMAT_CSV, stream);
}

static void put_fit(FILE *stream, const char *label, const char *measure, const line_fit *fit)
{
    sp_csv_text(stream, label);
    sp_print(stream, ",%s,%d", measure, fit->count);
    put_number(stream, fit->slope, fit->count);
    put_number(stream, fit->slope - fit->slope_half_width, fit->count);
    put_number(stream, fit->slope + fit->slope_half_width, fit->count);
    put_number(stream, pow(10, fit->intercept), fit->count);
    sp_print(stream, "\n");
}

static sp_status write_fits(sp_context *context, const sp_compare *c, FILE *stream)
{
    sp_print(stream, "series,measure,points,exponent,exponent_low_95,exponent_high_95,factor\n");
    for (int s = 0; s < c->series_count; s++) {
        put_fit(stream, c->series[s].label, "initial_stiffness", &c->series[s].stiffness);
        put_fit(stream, c->series[s].label, "plateau_stress", &c->series[s].plateau);
    }
    return sp_stream_end(context, stream);
}

static sp_status write_ranking(sp_context *context, const sp_compare *c, FILE *stream)
{
    sp_print(stream, "rank,series,mass_g,%s\n", sp_compare_column_name(c, COLUMN_RANK));
    for (int i = 0; i < c->series_count; i++) {
        const series *s = &c->series[c->ranking[i]];
        if (s->ranked) sp_print(stream, "%d", i + 1);
        fputc(',', stream);
        sp_csv_text(stream, s->label);
        put_number(stream, c->mass, c->mass > 0);
        put_number(stream, s->rank_value, s->ranked);
        sp_print(stream, "\n");
    }
    return sp_stream_end(context, stream);
}

/* ---- curves ----------------------------------------------- */

/* Write each state of one press as a record, with the values by which its coupon differs from the
 * others. */
static sp_status put_curve(sp_context *context, sp_records *records, const sp_compare *c,
                           const group *g, const coupon *one)
{
    sp_curve_point *point;
    int count;
    const sp_status status = sp_store_curve(context, c->store, one->id, &count, &point);
    for (int i = 0; i < count && status == SP_OK; i++) {
        const double number[] = {one->flaw_seed,      point[i].strain, point[i].stress,
                                 point[i].shortening, point[i].force,  point[i].work};
        sp_records_text(records, g->label);
        for (int k = 0; k < c->varied_count; k++) put_value(records, g, c->varied[k]);
        for (size_t k = 0; k < sizeof number / sizeof *number; k++)
            sp_records_number(records, number[k]);
    }
    sp_store_free_curve(point);
    return status;
}

/* Write all curves of all seeds into one table, as programs for statistics read them. */
static sp_status write_states(sp_context *context, const sp_compare *c, FILE *stream)
{
    static const char *const last[] = {"flaw_seed",     "strain",  "stress_MPa",
                                       "shortening_mm", "force_N", "work_mJ"};
    sp_status status = SP_OK;
    sp_records records;
    column_names *names = sp_alloc(1, sizeof *names);
    if (!names) return sp_fail(context, SP_NO_MEMORY, "no memory for the curves");
    names->count = 0;
    add_name(names, "coupon", "");
    for (int i = 0; i < c->varied_count; i++) add_key(names, c->group[0].line[c->varied[i]]);
    for (size_t i = 0; i < sizeof last / sizeof *last; i++) add_name(names, last[i], "");
    sp_records_begin(&records, stream, SP_FORMAT_CSV, names->count, names->name);
    for (int i = 0; i < c->group_count; i++) {
        const group *g = &c->group[c->order[i]];
        for (int k = 0; k < g->count && status == SP_OK; k++)
            status = put_curve(context, &records, c, g, &c->coupon[g->first + k]);
    }
    const sp_status ended = sp_records_end(context, &records);
    sp_free(names);
    return status == SP_OK ? ended : status;
}

static const double kilo = 1000; /* MJ/m3 to kJ/m3 */

/* Add the line of a coupon: stress over strain [%], or (energy) work per volume [kJ/m3] over the
 * largest stress so far. */
static sp_status add_line(sp_context *context, const sp_compare *c, long long id, int energy,
                          int style, const char *label, plot_lines *all)
{
    sp_curve_point *point;
    int count;
    double peak = 0, work = 0;
    sp_status status = sp_store_curve(context, c->store, id, &count, &point);
    plot_line *line = status == SP_OK ? sp_plot_lines_add(all, style, count, label) : NULL;
    if (status == SP_OK && !line) status = sp_fail(context, SP_NO_MEMORY, "no memory for a curve");
    for (int i = 0; i < count && status == SP_OK; i++) {
        peak = fmax(peak, point[i].stress);
        if (i)
            work += 0.5 * (point[i].stress + point[i - 1].stress) *
                    (point[i].strain - point[i - 1].strain);
        sp_plot_lines_point(line, energy ? peak : 100 * point[i].strain,
                            energy ? kilo * work : point[i].stress);
    }
    sp_store_free_curve(point);
    return status;
}

/* Widen the band of a line by the curve of one more seed; where that curve has ended, so has the
 * band. */
static sp_status widen_band(sp_context *context, const sp_compare *c, long long id, plot_line *line)
{
    sp_curve_point *point;
    int count;
    const sp_status status = sp_store_curve(context, c->store, id, &count, &point);
    for (int i = 0; i < line->count && status == SP_OK && count; i++) {
        const double stress = sp_compare_stress_at(point, count, line->x[i] / 100);
        const int ends = isnan(stress) || isnan(line->low[i]);
        sp_plot_lines_band(line, i, ends ? NAN : fmin(line->low[i], stress),
                           ends ? NAN : fmax(line->high[i], stress));
    }
    sp_store_free_curve(point);
    return status;
}

/* Draw the band from the lowest to the highest stress of all seeds, at the strains of the line. */
static sp_status add_band(sp_context *context, const sp_compare *c, const group *g, plot_line *line)
{
    sp_status status = SP_OK;
    if (g->count < 2) return SP_OK;
    for (int k = 0; k < line->count; k++) sp_plot_lines_band(line, k, line->y[k], line->y[k]);
    for (int i = g->first; i < g->first + g->count && status == SP_OK; i++)
        status = widen_band(context, c, c->coupon[i].id, line);
    return status;
}

/* The colour stands for the series, the dashes for the density in it, as on the page; when there
 * are more series than colours, lines are styled in their order. */
static int style_of(const sp_compare *c, int g, int order)
{
    const series *s = &c->series[c->group[g].series];
    int place = 0;
    if (c->series_count > PLOT_COLOURS || c->series_count == 1) return order;
    while (place < s->count && c->member[s->first + place] != g) place++;
    return c->group[g].series + PLOT_COLOURS * place;
}

static sp_status draw_curves(sp_context *context, const sp_compare *c, FILE *stream, int energy)
{
    plot_lines all = {0};
    char note[240] = "";
    int left = 0, bands = 0;
    double highest = 0;
    sp_status status = SP_OK;
    for (int i = 0; i < c->group_count && status == SP_OK; i++) {
        const group *g = &c->group[c->order[i]];
        const coupon *one = sp_compare_typical(c, g);
        if (!one) continue;
        if (all.count == PLOT_LINE_MAX) {
            left++;
            continue;
        }
        plot_line *line = &all.line[all.count];
        status = add_line(context, c, one->id, energy, style_of(c, c->order[i], all.count),
                          g->label, &all);
        if (status == SP_OK && !energy) status = add_band(context, c, g, line);
        bands += line->low != NULL;
        for (int k = 0; k < line->count; k++) highest = fmax(highest, line->y[k]);
    }
    for (int i = 0; i < c->tested_count && !energy && status == SP_OK && all.count < PLOT_LINE_MAX;
         i++)
        status = sp_compare_tested_line(context, c, i, &all);
    snprintf(note, sizeof note,
             "of each coupon the flaw seed whose plateau is nearest the median%s%s",
             bands ? ", in the band from the lowest to the highest seed, as far as all go" : "",
             left ? "; only the first 24 coupons are drawn" : "");
    const double end = sp_compare_stress_end(c);
    const plot picture = {.title = energy ? "Energy taken up against the largest stress so far"
                                          : "Stress against strain",
                          .x_name = energy ? "largest stress so far [MPa]" : "nominal strain [%]",
                          .y_name = energy ? "work per volume [kJ/m3]" : "nominal stress [MPa]",
                          .note = note,
                          .logarithmic = energy,
                          .y_end = !energy && highest > 1.5 * end ? end : 0,
                          .line_count = all.count,
                          .line = all.line};
    if (status == SP_OK) sp_plot_draw(&picture, stream);
    sp_plot_lines_free(&all);
    return status == SP_OK ? sp_stream_end(context, stream) : status;
}

static sp_status write_curves(sp_context *context, const sp_compare *c, FILE *stream)
{
    return draw_curves(context, c, stream, 0);
}

/* Draw the energy-absorption diagram of Maiti, Gibson & Ashby 1984, one line per coupon. */
static sp_status write_energy(sp_context *context, const sp_compare *c, FILE *stream)
{
    return draw_curves(context, c, stream, 1);
}

/* ---- laws over the solid fraction ----------------------------------------------- */

/* Add one point per pressed coupon of a series; NULL: no memory. */
static const plot_line *add_series(const sp_compare *c, const series *s, int column, int style,
                                   const char *label, plot_lines *all)
{
    int room = 0;
    for (int m = s->first; m < s->first + s->count; m++) room += c->group[c->member[m]].count;
    plot_line *points = sp_plot_lines_add(all, style, room, label);
    if (!points) return NULL;
    points->markers = 1;
    for (int m = s->first; m < s->first + s->count; m++) {
        const group *g = &c->group[c->member[m]];
        for (int i = g->first; i < g->first + g->count; i++) {
            const double *value = c->coupon[i].value;
            if (isfinite(value[COLUMN_SOLID]) && isfinite(value[column]))
                sp_plot_lines_point(points, 100 * value[COLUMN_SOLID], value[column]);
        }
    }
    return points;
}

/* Add the line of a fit, as far as its points go; 0: no memory. */
static int add_fit(const line_fit *fit, const plot_line *points, int style, plot_lines *all)
{
    double low = INFINITY, high = 0;
    for (int i = 0; i < points->count; i++)
        low = fmin(low, points->x[i]), high = fmax(high, points->x[i]);
    if (!fit->count || !(high > 0)) return 1;
    plot_line *line = sp_plot_lines_add(all, style, 2, NULL);
    for (int i = 0; i < 2; i++) {
        const double x = i ? high : low;
        sp_plot_lines_point(line, x, pow(10, fit->intercept + fit->slope * log10(x / 100)));
    }
    return line != NULL;
}

static sp_status draw_law(sp_context *context, const sp_compare *c, FILE *stream, int column)
{
    plot_lines all = {0};
    char label[LABEL_SIZE + 48], title[96], y_name[96], words[SP_NAME_SIZE];
    const int count = c->series_count < PLOT_LINE_MAX ? c->series_count : PLOT_LINE_MAX;
    sp_status status = SP_OK;
    for (int i = 0; i < count && status == SP_OK; i++) {
        const series *s = &c->series[i];
        const line_fit *fit = column == COLUMN_STIFFNESS ? &s->stiffness : &s->plateau;
        if (fit->count)
            sp_format(label, sizeof label, "%s: exponent %.3g +- %.2g", s->label, fit->slope,
                      fit->slope_half_width);
        else
            sp_format(label, sizeof label, "%s", s->label);
        const plot_line *points = add_series(c, s, column, i, label, &all);
        if (!points || !add_fit(fit, points, i, &all))
            status = sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
    }
    snprintf(title, sizeof title, "%s over the solid fraction",
             column == COLUMN_STIFFNESS ? "Stiffness" : "Plateau stress");
    sp_name_in_words(sp_compare_column_name(c, column), words, sizeof words);
    snprintf(y_name, sizeof y_name, "%s [%s]", words, sp_compare_column_unit(c, column));
    const plot picture = {
        .title = title,
        .x_name = "solid fraction [%]",
        .y_name = y_name,
        .note = "in the legend the exponent of the medians with its 95 % interval; one point per "
                "pressed coupon",
        .logarithmic = 1,
        .line_count = all.count,
        .line = all.line};
    if (status == SP_OK) sp_plot_draw(&picture, stream);
    sp_plot_lines_free(&all);
    return status == SP_OK ? sp_stream_end(context, stream) : status;
}

static sp_status write_stiffness(sp_context *context, const sp_compare *c, FILE *stream)
{
    return draw_law(context, c, stream, COLUMN_STIFFNESS);
}

static sp_status write_plateau(sp_context *context, const sp_compare *c, FILE *stream)
{
    return draw_law(context, c, stream, COLUMN_PLATEAU);
}

static const struct {
    const char *file;
    sp_status (*write)(sp_context *context, const sp_compare *c, FILE *stream);
} files[] = {
    {"compare.csv", write_groups},  {"fits.csv", write_fits},
    {"ranking.csv", write_ranking}, {"curves.svg", write_curves},
    {"energy.svg", write_energy},   {"stiffness.svg", write_stiffness},
    {"plateau.svg", write_plateau}, {"curves.csv", write_states},
};
enum { FILE_COUNT = sizeof files / sizeof files[0] };

sp_status sp_compare_write(sp_context *context, const sp_compare *c, const char *folder)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, "compare", FILE_COUNT);
    if (status != SP_OK) return status;
    for (int i = 0; i < FILE_COUNT && status == SP_OK; i++) {
        status = sp_file_set_open(context, &set, files[i].file);
        if (status != SP_OK) break;
        status = files[i].write(context, c, set.stream);
        status = sp_file_set_close(context, &set, status);
    }
    return sp_file_set_end(context, &set, status);
}
