/* GET /api/shelf: every coupon of the store, with figures, what varies, and a thinned curve. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/measure.h>

#include "place/place.h"
#include "base/alloc.h"
#include "case/case_parts.h"
#include "compare/compare_parts.h"
#include "write/json.h"
#include "write/text.h"

enum { FIGURES_MAX = 24, COUPONS_MAX = 5000 };

typedef struct coupon_row {
    long long id;
    char key[SP_KEY_SIZE];
    int outcome;
    sp_case request;
    double value[FIGURES_MAX]; /* NaN: not reached */
} coupon_row;

typedef struct shelf {
    sp_context context;
    sp_store *store;
    int figure_count, now;
    sp_figure figure[FIGURES_MAX];
    int count, room;
    coupon_row *row;
    int varies[SP_PARAMETER_MAX];
    long points; /* of a thinned curve; 0: none */
    int failed;
} shelf;

/* ---- reading ----------------------------------------------- */

static sp_status keep_coupon(void *user, const sp_stored *stored)
{
    shelf *s = user;
    if (s->count == COUPONS_MAX) return SP_OK;
    if (s->count == s->room) {
        const int room = 2 * s->room + 64;
        coupon_row *larger = sp_alloc((size_t)room, sizeof *larger);
        if (!larger) return sp_fail(&s->context, SP_NO_MEMORY, "no memory for the shelf");
        if (s->count) memcpy(larger, s->row, (size_t)s->count * sizeof *larger);
        sp_free(s->row);
        s->row = larger;
        s->room = room;
    }
    coupon_row *row = &s->row[s->count++];
    row->id = stored->id;
    snprintf(row->key, sizeof row->key, "%s", stored->key);
    row->outcome = stored->outcome;
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
    for (int row = 0; row < sp_parameter_count() && s->count; row++) {
        sp_case_value_text(&s->row[0].request, row, first, sizeof first);
        for (int i = 1; i < s->count && !s->varies[row]; i++) {
            sp_case_value_text(&s->row[i].request, row, other, sizeof other);
            s->varies[row] = strcmp(first, other) != 0;
        }
    }
}

/* ---- the answer ----------------------------------------------- */

static json_t *settings_of(shelf *s, const coupon_row *row)
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

/* The whole curve, or evenly chosen states of it with the last one. */
static json_t *thinned(shelf *s, int count, const sp_curve_point *point)
{
    json_t *all = json_array();
    const long wanted = s->points < count ? s->points : count;
    for (long i = 0; i < wanted; i++) {
        const long at = wanted > 1 ? i * (count - 1) / (wanted - 1) : 0;
        json_t *pair = json_array();
        sp_json_append(pair, sp_json_number(point[at].shortening), &s->failed);
        sp_json_append(pair, sp_json_number(point[at].force), &s->failed);
        sp_json_append(all, pair, &s->failed);
    }
    return all;
}

static void put_figures(shelf *s, json_t *one, const coupon_row *row, const sp_curve *curve,
                        double load_end)
{
    json_t *figures = json_object(), *reasons = json_object();
    for (int f = 0; f < s->figure_count; f++) {
        const sp_figure *asked = &s->figure[f];
        double value = row->value[f];
        if (asked->row) {
            const sp_measure got = sp_figure_take(asked, NULL, curve);
            value = got.reached ? got.value : NAN;
        }
        sp_json_put(figures, asked->name, sp_json_number(value), &s->failed);
        if (isfinite(value)) continue;
        char words[SP_MODELLED_SIZE] = "not reached";
        if (!asked->row) sp_measure_reason(asked->name, &row->request, load_end, words);
        sp_json_put(reasons, asked->name, sp_json_text(words), &s->failed);
    }
    sp_json_put(one, "figures", figures, &s->failed);
    sp_json_put(one, "reason", reasons, &s->failed);
}

static sp_status put_coupon(shelf *s, json_t *list, const coupon_row *row)
{
    char density[64], name[2 * SP_NAME_SIZE + 64];
    int count = 0;
    sp_curve_point *point = NULL;
    sp_status status = sp_store_curve(&s->context, s->store, row->id, &count, &point);
    if (status != SP_OK || !count) {
        sp_store_free_curve(point);
        return status;
    }
    json_t *one = json_object();
    const sp_curve curve = sp_curve_of_points(&row->request, count, point);
    sp_format(density, sizeof density, "%.4g %%", 100 * row->request.density);
    sp_format(name, sizeof name, "%s, %s", row->request.pattern, density);
    sp_json_put(one, "key", sp_json_text(row->key), &s->failed);
    sp_json_put(one, "name", sp_json_text(name), &s->failed);
    sp_json_put(one, "pattern", sp_json_text(row->request.pattern), &s->failed);
    sp_json_put(one, "density", sp_json_number(row->request.density), &s->failed);
    sp_json_put(one, "height_mm", sp_json_number(row->request.height), &s->failed);
    sp_json_put(one, "settings", settings_of(s, row), &s->failed);
    if (s->points) sp_json_put(one, "curve", thinned(s, count, point), &s->failed);
    put_figures(s, one, row, &curve,
                row->outcome ? NAN
                             : sp_measure_load_end_at(&row->request, point[count - 1].strain));
    sp_json_append(list, one, &s->failed);
    sp_store_free_curve(point);
    return SP_OK;
}

void sp_reply_shelf(sp_desk *desk, const sp_request *request, sp_reply *reply)
{
    shelf *s = calloc(1, sizeof *s);
    json_t *all = json_object(), *coupons = json_array(), *varied = json_array();
    if (!s) {
        sp_reply_fail(reply, 500, "no memory for the shelf", NULL);
        goto end;
    }
    s->store = desk->store;
    s->points = request->from;
    sp_status status = read_figures(s, request->text);
    if (status == SP_OK) status = sp_store_each(&s->context, s->store, keep_coupon, s);
    if (status == SP_OK) status = read_values(s);
    find_varied(s);
    for (int i = 0; i < s->count && status == SP_OK; i++)
        status = put_coupon(s, coupons, &s->row[i]);
    for (int k = 0; k < sp_parameter_count(); k++)
        if (s->varies[k]) sp_json_append(varied, sp_json_text(sp_case_row_at(k)->key), &s->failed);
    if (status == SP_OK) {
        sp_json_put(all, "coupons", json_incref(coupons), &s->failed);
        sp_json_put(all, "varied", json_incref(varied), &s->failed);
        sp_reply_json(reply, 200, json_incref(all), s->failed);
    } else {
        sp_reply_status(reply, &s->context, status, NULL);
    }
    sp_free(s->row);
end:
    json_decref(coupons);
    json_decref(varied);
    json_decref(all);
    free(s);
}
