/* GET /api/shelf: every coupon of the store, with figures, what varies, and a thinned curve.
 * Presses that differ in the seed of their flaws alone are one coupon: its figures are their
 * medians. */
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <strutpress/measure.h>

#include "place/place.h"
#include "base/alloc.h"
#include "case/case_parts.h"
#include "compare/compare_parts.h"
#include "measure/curve.h"
#include "measure/spread.h"
#include "write/json.h"
#include "write/text.h"

enum { FIGURES_MAX = 24, PRESSES_MAX = 20000, SEEDS_MAX = 99 };

/* One press of the store. */
typedef struct press_row {
    long long id;
    char key[SP_KEY_SIZE], family[SP_KEY_SIZE];
    int outcome, flaw_seed;
    sp_case request;
    double value[FIGURES_MAX]; /* NaN: not reached */
} press_row;

/* The curve of a press, read while its coupon is written. */
typedef struct press_curve {
    int count;
    sp_curve_point *point;
    sp_curve curve;
} press_curve;

/* Presses that stand one after the other in the store. */
typedef struct pressed_coupon {
    const press_row *row; /* of the first */
    int count, shown;     /* number of presses; the one whose curve and states are shown */
    press_curve read[SEEDS_MAX];
} pressed_coupon;

typedef struct shelf {
    sp_context context;
    const sp_desk *desk;
    sp_store *store;
    int figure_count, now;
    sp_figure figure[FIGURES_MAX];
    int count, room;
    press_row *row;
    int varies[SP_PARAMETER_MAX];
    long points; /* of a thinned curve; 0: none */
    int failed;
} shelf;

/* ---- reading ----------------------------------------------- */

static sp_status keep_press(void *user, const sp_stored *stored)
{
    shelf *s = user;
    if (s->count == PRESSES_MAX) return SP_OK;
    if (s->count == s->room) {
        const int room = 2 * s->room + 64;
        press_row *larger = sp_alloc((size_t)room, sizeof *larger);
        if (!larger) return sp_fail(&s->context, SP_NO_MEMORY, "no memory for the shelf");
        if (s->count) memcpy(larger, s->row, (size_t)s->count * sizeof *larger);
        sp_free(s->row);
        s->row = larger;
        s->room = room;
    }
    press_row *row = &s->row[s->count++];
    row->id = stored->id;
    snprintf(row->key, sizeof row->key, "%s", stored->key);
    snprintf(row->family, sizeof row->family, "%s", stored->family);
    row->outcome = stored->outcome;
    row->flaw_seed = stored->flaw_seed;
    sp_compare_case_of_text(stored->text, &row->request);
    for (int f = 0; f < s->figure_count; f++) row->value[f] = NAN;
    return SP_OK;
}

static sp_status keep_value(void *user, long long id, double value)
{
    shelf *s = user;
    for (int i = 0; i < s->count; i++)
        if (s->row[i].id == id) s->row[i].value[s->now] = value;
    return SP_OK;
}

static sp_status read_figures(shelf *s, const char *text)
{
    while (*text) {
        char one[SP_FIGURE_NAME_SIZE], valid[SP_MESSAGE_SIZE], nearest[SP_NAME_SIZE];
        const size_t length = strcspn(text, ",");
        snprintf(one, sizeof one, "%.*s", (int)length, text);
        if (s->figure_count == FIGURES_MAX)
            return sp_fail(&s->context, SP_BAD_USAGE, "figures: valid: at most %d", FIGURES_MAX);
        if (one[0] &&
            !sp_figure_find(one, &s->figure[s->figure_count++], valid, sizeof valid, nearest))
            return sp_fail(&s->context, SP_BAD_CASE, "figures: received '%.60s'; valid: %s", one,
                           valid);
        text += length + (text[length] == ',');
    }
    return SP_OK;
}

static sp_status read_values(shelf *s)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    sp_status status = SP_OK;
    for (s->now = 0; s->now < s->figure_count && status == SP_OK; s->now++)
        if (!s->figure[s->now].row)
            status = sp_store_each_value(&s->context, s->store, row[s->figure[s->now].measure].name,
                                         keep_value, s);
    return status;
}

static void find_varied(shelf *s)
{
    char first[SP_MESSAGE_SIZE + SP_FILE_SIZE], other[SP_MESSAGE_SIZE + SP_FILE_SIZE];
    const int seed = sp_case_row_find("flaws.seed"), seeds = sp_case_row_find("press.seeds");
    for (int row = 0; row < sp_parameter_count() && s->count; row++) {
        if (row == seed || row == seeds) continue;
        sp_case_value_text(&s->row[0].request, row, first, sizeof first);
        for (int i = 1; i < s->count && !s->varies[row]; i++) {
            sp_case_value_text(&s->row[i].request, row, other, sizeof other);
            s->varies[row] = strcmp(first, other) != 0;
        }
    }
}

/* ---- one coupon ----------------------------------------------- */

static json_t *settings_of(shelf *s, const press_row *row)
{
    char text[SP_MESSAGE_SIZE + SP_FILE_SIZE];
    json_t *all = json_object();
    for (int k = 0; k < sp_parameter_count(); k++) {
        if (!s->varies[k]) continue;
        sp_case_value_text(&row->request, k, text, sizeof text);
        sp_json_put(all, sp_case_row_at(k)->key, sp_json_text(text), &s->failed);
    }
    return all;
}

/* Write the state of a curve that stands at place `i` of the thinned one. */
static int state_at(const shelf *s, int count, long i)
{
    const long wanted = s->points < count ? s->points : count;
    return (int)(wanted > 1 ? i * (count - 1) / (wanted - 1) : 0);
}

/* Write the whole curve, or evenly chosen states of it with the last one. */
static json_t *thinned(shelf *s, const press_curve *read)
{
    json_t *all = json_array();
    for (long i = 0; i < s->points && i < read->count; i++) {
        const sp_curve_point *point = &read->point[state_at(s, read->count, i)];
        json_t *pair = json_array();
        sp_json_append(pair, sp_json_number(point->shortening), &s->failed);
        sp_json_append(pair, sp_json_number(point->force), &s->failed);
        sp_json_append(all, pair, &s->failed);
    }
    return all;
}

/* Write the lowest and highest force of the seeds at the same states, as far as all of them go. */
static json_t *band_of(shelf *s, const pressed_coupon *c)
{
    const press_curve *shown = &c->read[c->shown];
    json_t *all = json_array();
    for (long i = 0; i < s->points && i < shown->count; i++) {
        const double u = shown->point[state_at(s, shown->count, i)].shortening;
        double low = INFINITY, high = -INFINITY;
        for (int k = 0; k < c->count; k++) {
            const sp_measure force = sp_curve_force(&c->read[k].curve, u);
            if (!force.reached) return all;
            low = fmin(low, force.value);
            high = fmax(high, force.value);
        }
        json_t *pair = json_array();
        sp_json_append(pair, sp_json_number(low), &s->failed);
        sp_json_append(pair, sp_json_number(high), &s->failed);
        sp_json_append(all, pair, &s->failed);
    }
    return all;
}

static double load_end_of(const pressed_coupon *c)
{
    const press_row *row = &c->row[c->shown];
    const press_curve *read = &c->read[c->shown];
    return row->outcome
               ? NAN
               : sp_measure_load_end_at(&row->request, read->point[read->count - 1].strain);
}

static sp_spread spread_of(const pressed_coupon *c, const sp_figure *asked, int f)
{
    double value[SEEDS_MAX];
    for (int k = 0; k < c->count; k++) {
        value[k] = c->row[k].value[f];
        if (!asked->row) continue;
        const sp_measure got = sp_figure_take(asked, NULL, &c->read[k].curve);
        value[k] = got.reached ? got.value : NAN;
    }
    return sp_spread_of(value, c->count);
}

static void put_figures(shelf *s, json_t *one, const pressed_coupon *c)
{
    json_t *figures = json_object(), *reasons = json_object(), *ends = json_object();
    for (int f = 0; f < s->figure_count; f++) {
        const sp_figure *asked = &s->figure[f];
        const sp_spread spread = spread_of(c, asked, f);
        const double median = spread.count ? spread.median : NAN;
        sp_json_put(figures, asked->name, sp_json_number(median), &s->failed);
        if (spread.count && spread.high > spread.low) {
            json_t *pair = json_array();
            sp_json_append(pair, sp_json_number(spread.low), &s->failed);
            sp_json_append(pair, sp_json_number(spread.high), &s->failed);
            sp_json_put(ends, asked->name, pair, &s->failed);
        }
        if (spread.count) continue;
        char words[SP_MODELLED_SIZE] = "not reached";
        if (!asked->row)
            sp_measure_reason(asked->name, &c->row[c->shown].request, load_end_of(c), words);
        sp_json_put(reasons, asked->name, sp_json_text(words), &s->failed);
    }
    sp_json_put(one, "figures", figures, &s->failed);
    sp_json_put(one, "ends", ends, &s->failed);
    sp_json_put(one, "reason", reasons, &s->failed);
}

static void put_name(shelf *s, json_t *one, const press_row *row)
{
    char density[64], name[2 * SP_NAME_SIZE + 96];
    sp_format(density, sizeof density, "%.4g %%", 100 * row->request.density);
    sp_format(name, sizeof name, "%s, %s%s", row->request.pattern, density,
              row->flaw_seed ? "" : ", without flaws");
    sp_json_put(one, "name", sp_json_text(name), &s->failed);
}

static void put_members(shelf *s, json_t *one, const pressed_coupon *c)
{
    json_t *keys = json_array(), *seeds = json_array();
    for (int k = 0; k < c->count; k++) {
        sp_json_append(keys, sp_json_text(c->row[k].key), &s->failed);
        sp_json_append(seeds, json_integer(c->row[k].flaw_seed), &s->failed);
    }
    sp_json_put(one, "keys", keys, &s->failed);
    sp_json_put(one, "seeds", seeds, &s->failed);
}

static void put_coupon(shelf *s, json_t *list, const pressed_coupon *c)
{
    const press_row *row = &c->row[c->shown];
    json_t *one = json_object();
    sp_json_put(one, "key", sp_json_text(row->key), &s->failed);
    put_name(s, one, row);
    put_members(s, one, c);
    sp_json_put(one, "pattern", sp_json_text(row->request.pattern), &s->failed);
    sp_json_put(one, "density", sp_json_number(row->request.density), &s->failed);
    sp_json_put(one, "height_mm", sp_json_number(row->request.height), &s->failed);
    sp_json_put(one, "settings", settings_of(s, row), &s->failed);
    if (s->points) {
        sp_json_put(one, "curve", thinned(s, &c->read[c->shown]), &s->failed);
        if (c->count > 1) sp_json_put(one, "band", band_of(s, c), &s->failed);
    }
    put_figures(s, one, c);
    sp_json_append(list, one, &s->failed);
}

static int has_states(const shelf *s, const char *key)
{
    char name[SP_DESK_NAME], path[SP_FILE_SIZE];
    snprintf(name, sizeof name, "%s.shapes", key);
    return sp_desk_path(s->desk, "coupons", name, path) && access(path, R_OK) == 0;
}

/* Read the curves of the presses from `first` on that are one coupon; those without a curve are
 * left out. `*next` is where the next coupon begins. */
static sp_status read_coupon(shelf *s, int first, pressed_coupon *c, int *next)
{
    sp_status status = SP_OK;
    int i = first;
    *c = (pressed_coupon){.row = &s->row[first]};
    for (; i < s->count && !strcmp(s->row[i].family, s->row[first].family); i++) {
        press_curve *read = &c->read[c->count];
        if (status != SP_OK || c->count == SEEDS_MAX) continue;
        status = sp_store_curve(&s->context, s->store, s->row[i].id, &read->count, &read->point);
        if (status != SP_OK || !read->count) {
            sp_store_free_curve(read->point);
            *read = (press_curve){0};
            continue;
        }
        read->curve = sp_curve_of_points(&s->row[i].request, read->count, read->point);
        if (first + c->count != i) s->row[first + c->count] = s->row[i];
        c->count++;
    }
    *next = i;
    for (int k = c->count - 1; k >= 0; k--)
        if (has_states(s, c->row[k].key)) c->shown = k;
    return status;
}

static sp_status put_coupons(shelf *s, json_t *list)
{
    pressed_coupon *c = sp_alloc(1, sizeof *c);
    sp_status status = c ? SP_OK : sp_fail(&s->context, SP_NO_MEMORY, "no memory for the shelf");
    for (int i = 0; i < s->count && status == SP_OK;) {
        status = read_coupon(s, i, c, &i);
        if (status == SP_OK && c->count) put_coupon(s, list, c);
        for (int k = 0; k < c->count; k++) sp_store_free_curve(c->read[k].point);
    }
    sp_free(c);
    return status;
}

/* ---- the answer ----------------------------------------------- */

static sp_status put_all(shelf *s, const char *figures, json_t *all)
{
    json_t *coupons = json_array(), *varied = json_array();
    sp_status status = read_figures(s, figures);
    if (status == SP_OK) status = sp_store_each(&s->context, s->store, keep_press, s);
    if (status == SP_OK) status = read_values(s);
    if (status == SP_OK) {
        find_varied(s);
        status = put_coupons(s, coupons);
    }
    for (int k = 0; k < sp_parameter_count(); k++)
        if (s->varies[k]) sp_json_append(varied, sp_json_text(sp_case_row_at(k)->key), &s->failed);
    sp_json_put(all, "coupons", coupons, &s->failed);
    sp_json_put(all, "varied", varied, &s->failed);
    sp_free(s->row);
    return status;
}

/* Pages ask every few seconds: a page that names the state of the store that it knows is only told
 * that it is still the same. */
void sp_reply_shelf(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    shelf *s = calloc(1, sizeof *s);
    char now[SP_REQUEST_NAME] = "";
    long long count, last;
    json_t *all = json_object();
    if (!s) {
        sp_reply_fail(reply, 500, "no memory for the shelf", NULL);
        json_decref(all);
        return;
    }
    s->desk = desk;
    s->store = desk->store;
    s->points = request->from;
    sp_status status = sp_store_extent(&s->context, s->store, &count, &last);
    if (status == SP_OK) snprintf(now, sizeof now, "%lld-%lld", count, last);
    sp_json_put(all, "state", sp_json_text(now), &s->failed);
    if (status == SP_OK && !strcmp(now, request->name))
        sp_json_put(all, "unchanged", json_true(), &s->failed);
    else if (status == SP_OK)
        status = put_all(s, request->text, all);
    if (status == SP_OK) {
        sp_reply_json(reply, 200, all, s->failed);
    } else {
        sp_reply_status(reply, &s->context, status, NULL);
        json_decref(all);
    }
    free(s);
}
