/* Make the data of the page: one JSON object that page.js reads. */
#include "report/report_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "caution/caution.h"
#include "measure/spread.h"
#include "write/colour.h"
#include "write/json.h"
#include "write/text.h"

enum { TESTED_STATES = 500 }; /* of a tested curve on the page */

/* ---- settings -------------------------------------------------------------------------------- */

/* Write "12 %" for "infill.density 0.12"; the name of a file stays as it is. */
static json_t *value_words(const char *line, int index)
{
    char value[SP_FILE_SIZE];
    sp_case holder;
    const char *space = strchr(line, ' ');
    snprintf(value, sizeof value, "%s", space ? space + 1 : "");
    if (!strcmp(value, "-")) return sp_json_text("not given");
    sp_case_default(&holder);
    if (sp_case_row_at(index)->kind != SP_KIND_FILE && sp_case_row_parse(&holder, index, value))
        sp_case_value_text(&holder, index, value, sizeof value);
    return sp_json_text(value);
}

static const char *line_of(const report *r, int which, int index)
{
    const group *g = &r->compare->group[which];
    return index < g->line_count ? g->line[index] : "";
}

static int differs_between(const report *r, int index)
{
    for (int g = 1; g < r->compare->group_count; g++)
        if (strcmp(line_of(r, 0, index), line_of(r, g, index))) return 1;
    return 0;
}

/* Return 1 when a line of the resolved case says what the default says. */
static int is_default(const char *line, int index, const sp_coupon_key *usual)
{
    const char *at = usual->text;
    for (int i = 0; i < index && at; i++) at = strchr(at, '\n') ? strchr(at, '\n') + 1 : NULL;
    return at && strlen(line) == strcspn(at, "\n") && !strncmp(at, line, strlen(line));
}

static json_t *setting(const char *line, int index, int *failed)
{
    json_t *one = json_object();
    sp_json_put(one, "key", sp_json_text(sp_parameter_at(index).key), failed);
    sp_json_put(one, "value", value_words(line, index), failed);
    return one;
}

/* For one group, list its values of the settings in which the groups differ; for group -1, the
 * settings that all groups share and that are not defaults. */
static json_t *settings(report *r, int which, int *failed)
{
    json_t *all = json_array();
    sp_case defaults;
    sp_coupon_key usual;
    sp_case_default(&defaults);
    if (sp_coupon_key_of_case(r->context, &defaults, &usual) != SP_OK) *failed = 1;
    for (int i = 0; i < sp_parameter_count() && !*failed; i++) {
        const char *line = line_of(r, which < 0 ? 0 : which, i);
        const int differs = differs_between(r, i);
        if (!strcmp(sp_parameter_at(i).key, "flaws.seed")) continue; /* stands in its own column */
        if (which < 0 ? !differs && !is_default(line, i, &usual) : differs)
            sp_json_append(all, setting(line, i, failed), failed);
    }
    return all;
}

/* ---- table ----------------------------------------------------------------------------------- */

static json_t *columns(const report *r, int *failed)
{
    int count;
    const sp_measure_row *rows = sp_measure_rows(&count);
    json_t *all = json_array();
    for (int k = COLUMN_FIXED; k < r->compare->column_count; k++) {
        const sp_figure *column = &r->compare->column[k];
        const char *doc = column->row ? column->row->doc : rows[column->measure].doc;
        json_t *one = json_object();
        sp_json_put(one, "name", sp_json_text(column->name), failed);
        sp_json_put(one, "unit", sp_json_text(column->unit), failed);
        sp_json_put(one, "doc", sp_json_text(doc), failed);
        sp_json_append(all, one, failed);
    }
    if (r->compare->tested_count > 0) {
        json_t *one = json_object();
        sp_json_put(one, "name", sp_json_text("tested_misfit"), failed);
        sp_json_put(one, "unit", sp_json_text("-"), failed);
        sp_json_put(
            one, "doc",
            sp_json_text("root mean square of what a curve is off the mean of the tested ones, "
                         "over their mean stress"),
            failed);
        sp_json_append(all, one, failed);
    }
    return all;
}

/* How far the curves of a group are off the tested ones. */
static json_t *misfit(const report *r, const group *g, sp_status *status, int *failed)
{
    char words[64] = "nothing to compare";
    sp_spread off = {0};
    double end = 0;
    json_t *one = json_object();
    if (*status == SP_OK) *status = sp_compare_tested_misfit(r->context, r->compare, g, &off, &end);
    const int known = *status == SP_OK && off.count > 0;
    sp_json_put(one, "count", json_integer(known ? off.count : 0), failed);
    sp_json_put(one, "median", sp_json_number(known ? off.median : NAN), failed);
    sp_json_put(one, "low", sp_json_number(known ? off.low : NAN), failed);
    sp_json_put(one, "high", sp_json_number(known ? off.high : NAN), failed);
    if (known) sp_format(words, sizeof words, "to %.3g %% strain", 100 * end);
    sp_json_put(one, "words", sp_json_text(words), failed);
    return one;
}

static json_t *figures(const report *r, const group *g, sp_status *status, int *failed)
{
    char words[SP_MODELLED_SIZE];
    json_t *all = json_array();
    for (int k = COLUMN_FIXED; k < r->compare->column_count; k++) {
        const sp_spread *f = &g->figure[k];
        json_t *one = json_object();
        sp_json_put(one, "count", json_integer(f->count), failed);
        sp_json_put(one, "median", sp_json_number(f->median), failed);
        sp_json_put(one, "low", sp_json_number(f->low), failed);
        sp_json_put(one, "high", sp_json_number(f->high), failed);
        sp_compare_modelled(r->compare, g, k, words);
        if (words[0]) sp_json_put(one, "words", sp_json_text(words), failed);
        sp_json_append(all, one, failed);
    }
    if (r->compare->tested_count > 0) sp_json_append(all, misfit(r, g, status, failed), failed);
    return all;
}

/* Make a tested curve like that of a coupon, with at most this many states. */
static json_t *tested_curve(const sp_curve *curve, int *failed)
{
    static const char *const name[] = {"strain", "stress_MPa", "shortening_mm", "force_N"};
    json_t *all = json_object(), *column[4];
    const int every = (curve->count + TESTED_STATES - 1) / TESTED_STATES;
    for (int k = 0; k < 4; k++) column[k] = json_array();
    for (int i = 0; i < curve->count; i++) {
        double shortening, force;
        if (i % every && i < curve->count - 1) continue;
        sp_compare_tested_state(curve, i, &shortening, &force);
        const double number[] = {shortening / curve->height, force / curve->area, shortening,
                                 force};
        for (int k = 0; k < 4; k++) sp_json_append(column[k], sp_json_number(number[k]), failed);
    }
    for (int k = 0; k < 4; k++) sp_json_put(all, name[k], column[k], failed);
    return all;
}

static json_t *tested(const report *r, int *failed)
{
    const sp_compare *c = r->compare;
    json_t *all = json_array();
    for (int i = 0; i < c->tested_count; i++) {
        const char *slash = strrchr(c->tested_name, '/');
        char label[160];
        json_t *one = json_object();
        int used =
            snprintf(label, sizeof label, "tested: %.100s", slash ? slash + 1 : c->tested_name);
        if (c->tested_count > 1) snprintf(label + used, sizeof label - (size_t)used, ", %d", i + 1);
        sp_json_put(one, "label", sp_json_text(label), failed);
        sp_json_put(one, "curve", tested_curve(&c->tested[i], failed), failed);
        sp_json_append(all, one, failed);
    }
    return all;
}

static json_t *curve(report *r, long long id, double *last_strain, sp_status *status, int *failed)
{
    static const char *const name[] = {"strain", "stress_MPa", "shortening_mm", "force_N",
                                       "work_mJ"};
    int count;
    sp_curve_point *point;
    json_t *all = json_object(), *column[5];
    *status = sp_store_curve(r->context, r->store, id, &count, &point);
    for (int k = 0; k < 5; k++) column[k] = json_array();
    for (int i = 0; i < count; i++) {
        const double number[] = {point[i].strain, point[i].stress, point[i].shortening,
                                 point[i].force, point[i].work};
        for (int k = 0; k < 5; k++) sp_json_append(column[k], sp_json_number(number[k]), failed);
        *last_strain = point[i].strain;
    }
    for (int k = 0; k < 5; k++) sp_json_put(all, name[k], column[k], failed);
    sp_store_free_curve(point);
    return all;
}

typedef struct stored_curve {
    sp_curve_point *point;
    int count;
} stored_curve;

static json_t *band_data(const stored_curve *kept, double *value, int count, double end,
                         int *failed)
{
    json_t *all = json_object(), *column[4];
    static const char *const name[] = {"strain", "median_MPa", "low_MPa", "high_MPa"};
    for (int k = 0; k < 4; k++) column[k] = json_array();
    for (int i = 0; i < BAND_POINTS; i++) {
        const double strain = end * i / (BAND_POINTS - 1);
        for (int k = 0; k < count; k++)
            value[k] = sp_compare_stress_at(kept[k].point, kept[k].count, strain);
        const sp_spread at = sp_spread_of(value, count);
        if (at.count < count) continue; /* round-off at the end of the shortest curve */
        const double number[] = {strain, at.median, at.low, at.high};
        for (int k = 0; k < 4; k++) sp_json_append(column[k], sp_json_number(number[k]), failed);
    }
    for (int k = 0; k < 4; k++) sp_json_put(all, name[k], column[k], failed);
    return all;
}

/* Find median, lowest and highest stress over the flaw seeds of a group, as far as the shortest of
 * their curves goes; null for one curve. */
static json_t *band(report *r, const group *g, sp_status *status, int *failed)
{
    stored_curve *kept = sp_alloc((size_t)g->count, sizeof *kept);
    double *value = sp_alloc((size_t)g->count, sizeof *value), end = INFINITY;
    json_t *all = NULL;
    int count = 0;
    if (!kept || !value) *status = sp_fail(r->context, SP_NO_MEMORY, "no memory for a band");
    for (int i = 0; i < g->count && *status == SP_OK; i++) {
        stored_curve *one = &kept[count];
        *status = sp_store_curve(r->context, r->store, r->compare->coupon[g->first + i].id,
                                 &one->count, &one->point);
        if (*status != SP_OK || one->count < 2) continue; /* a coupon that has no curve */
        end = fmin(end, one->point[one->count - 1].strain);
        count++;
    }
    if (*status == SP_OK && count > 1) all = band_data(kept, value, count, end, failed);
    for (int i = 0; kept && i < count; i++) sp_store_free_curve(kept[i].point);
    sp_free(kept);
    sp_free(value);
    return all ? all : json_null();
}

/* Say why a stored press ended; the store keeps no stop of a press that went well, but it can only
 * be one of two. */
static const char *stop_words(const report *r, const row *one, double last_strain)
{
    double target = 0;
    const char *line = line_of(r, one->group, sp_case_row_find("press.strain"));
    if (one->outcome == sp_status_exit(SP_GAVE_UP))
        return one->reason[0] ? one->reason : sp_stop_text(SP_STOP_GAVE_UP);
    if (one->outcome) return one->reason[0] ? one->reason : "no result";
    if (strchr(line, ' ')) target = strtod(strchr(line, ' '), NULL);
    return sp_stop_text(last_strain >= target * (1 - 1e-6) ? SP_STOP_STRAIN : SP_STOP_LOAD);
}

static json_t *note_lines(const notes *kept, int *failed)
{
    json_t *all = json_array();
    for (const char *at = kept->text; *at; at += strcspn(at, "\n"), at += *at == '\n') {
        char line[SP_MESSAGE_SIZE];
        snprintf(line, sizeof line, "%.*s", (int)strcspn(at, "\n"), at);
        sp_json_append(all, sp_json_text(line), failed);
    }
    return all;
}

static int place_in_series(const sp_compare *c, int which)
{
    const series *s = &c->series[c->group[which].series];
    for (int m = 0; m < s->count; m++)
        if (c->member[s->first + m] == which) return m;
    return 0;
}

static json_t *row_data(report *r, const row *one, int with_curve, sp_status *status, int *failed)
{
    const group *g = &r->compare->group[one->group];
    double last_strain = 0;
    json_t *all = json_object();
    json_t *drawn =
        with_curve ? curve(r, one->typical->id, &last_strain, status, failed) : json_null();
    sp_json_put(all, "label", sp_json_text(g->label), failed);
    sp_json_put(all, "series", json_integer(g->series), failed);
    sp_json_put(all, "place", json_integer(place_in_series(r->compare, one->group)), failed);
    sp_json_put(all, "seeds", json_integer(g->count), failed);
    sp_json_put(all, "failed", json_integer(g->failed), failed);
    sp_json_put(all, "ended_early", json_integer(g->ended), failed);
    sp_json_put(all, "figures", figures(r, g, status, failed), failed);
    sp_json_put(all, "seed", json_integer(one->seed), failed);
    sp_json_put(all, "hash", sp_json_text(one->key), failed);
    sp_json_put(all, "version", sp_json_text(one->program), failed);
    sp_json_put(all, "settings", settings(r, one->group, failed), failed);
    sp_json_put(all, "cautions", note_lines(&one->notes, failed), failed);
    sp_json_put(all, "stop",
                with_curve || one->outcome ? sp_json_text(stop_words(r, one, last_strain))
                                           : json_null(),
                failed);
    sp_json_put(all, "curve", drawn, failed);
    sp_json_put(all, "band",
                with_curve && *status == SP_OK ? band(r, g, status, failed) : json_null(), failed);
    return all;
}

static json_t *rows(report *r, sp_status *status, int *failed)
{
    json_t *all = json_array();
    int curves = 0;
    for (int i = 0; i < r->row_count && *status == SP_OK; i++) {
        const int with_curve = r->row[i].typical && curves < CURVE_MAX;
        curves += with_curve;
        sp_json_append(all, row_data(r, &r->row[i], with_curve, status, failed), failed);
    }
    return all;
}

/* Say why a series has no place in the ranking. */
static void rank_words(const series *s, char *words, size_t size)
{
    if (!(s->mass_high > 0))
        snprintf(words, size, "does not reach the measure");
    else if (s->mass_high > s->mass_low * (1 + 1e-6))
        snprintf(words, size, "pressed from %.4g to %.4g g only", s->mass_low, s->mass_high);
    else
        snprintf(words, size, "pressed at %.4g g only", s->mass_low);
}

static json_t *ranking(const report *r, int *failed)
{
    const sp_compare *c = r->compare;
    char words[96];
    json_t *all = json_object(), *list = json_array();
    for (int i = 0; i < c->series_count && i < ROW_MAX; i++) {
        const series *s = &c->series[c->ranking[i]];
        json_t *one = json_object();
        rank_words(s, words, sizeof words);
        sp_json_put(one, "label", sp_json_text(s->label), failed);
        sp_json_put(one, "value", s->ranked ? sp_json_number(s->rank_value) : json_null(), failed);
        sp_json_put(one, "words", sp_json_text(s->ranked ? "" : words), failed);
        sp_json_append(list, one, failed);
    }
    sp_json_put(all, "measure", sp_json_text(sp_compare_column_name(c, COLUMN_RANK)), failed);
    sp_json_put(all, "unit", sp_json_text(sp_compare_column_unit(c, COLUMN_RANK)), failed);
    sp_json_put(all, "mass_g", c->mass > 0 ? sp_json_number(c->mass) : json_null(), failed);
    sp_json_put(all, "rows", list, failed);
    return all;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static json_t *colours(int *failed)
{
    char text[8];
    json_t *all = json_array();
    for (int i = 0; i < SP_COLOUR_LEVELS; i++)
        sp_json_append(all, sp_json_text(sp_colour_text(i, text)), failed);
    return all;
}

static json_t *states(report *r, int *failed)
{
    json_t *all = json_array();
    for (int i = 0; i < r->shown_count; i++)
        if (r->shown[i].group >= 0)
            sp_json_append(all, sp_report_state_data(r, &r->shown[i], failed), failed);
    return all;
}

static json_t *program(const report *r, int *failed)
{
    json_t *all = json_object();
    sp_json_put(all, "version", sp_json_text(sp_version()), failed);
    sp_json_put(all, "build", sp_json_text(sp_build_text()), failed);
    sp_json_put(all, "threads", json_integer(r->threads), failed);
    sp_json_put(all, "critical_definition", sp_json_text(SP_CRITICAL_DEFINITION), failed);
    sp_json_put(all, "buckled_definition", sp_json_text(SP_BUCKLED_DEFINITION), failed);
    return all;
}

json_t *sp_report_data(report *r, sp_status *status)
{
    const char *title = r->options->title, *question = r->options->question;
    int failed = 0;
    json_t *all = json_object();
    *status = SP_OK;
    sp_json_put(all, "title", sp_json_text(title ? title : "Pressed coupons"), &failed);
    sp_json_put(
        all, "question",
        sp_json_text(question ? question : "Which of these coupons is worth printing and testing?"),
        &failed);
    sp_json_put(all, "source", sp_json_text(r->source), &failed);
    sp_json_put(all, "safety", sp_json_text(SP_CAUTION_SAFETY), &failed);
    sp_json_put(all, "program", program(r, &failed), &failed);
    sp_json_put(all, "columns", columns(r, &failed), &failed);
    sp_json_put(all, "rows", rows(r, status, &failed), &failed);
    sp_json_put(all, "tested", tested(r, &failed), &failed);
    sp_json_put(all, "rows_left_out", json_integer(r->compare->group_count - r->row_count),
                &failed);
    sp_json_put(all, "stress_end_MPa", sp_json_number(sp_compare_stress_end(r->compare)), &failed);
    sp_json_put(all, "ranking", ranking(r, &failed), &failed);
    sp_json_put(all, "settings", settings(r, -1, &failed), &failed);
    sp_json_put(all, "colours", colours(&failed), &failed);
    sp_json_put(all, "states", states(r, &failed), &failed);
    if (failed && *status == SP_OK)
        *status = sp_fail(r->context, SP_NO_MEMORY, "no memory for the page");
    return all;
}
