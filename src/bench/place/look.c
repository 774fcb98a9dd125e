/* POST /api/look: draw the coupon of a form and say what is known of it without a press. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/inspect.h>
#include <strutpress/resolve.h>

#include "place/place.h"
#include "case/case_parts.h"
#include "run/resolve_parts.h"
#include "run/result.h"
#include "write/json.h"
#include "write/text.h"

static const double struts_most = 60000; /* larger coupons are not drawn while the user types */

typedef struct look {
    sp_context context;
    sp_case request;
    sp_resolved resolved;
    sp_network network;
    sp_inspection inspection;
    sp_forecast forecast;
    json_t *cautions;
    int failed;
} look;

static void keep_caution(void *user, const char *line)
{
    look *l = user;
    sp_json_append(l->cautions, sp_json_text(line), &l->failed);
}

static void put_fact(look *l, json_t *facts, const char *label, double value, const char *unit)
{
    char number[SP_NUMBER_SIZE], text[64];
    const int digits = value == floor(value) ? 9 : 4; /* counts are written in full */
    if (!isfinite(value)) return;
    json_t *one = json_object();
    sp_format(text, sizeof text, "%s%s%s", sp_number(number, value, digits), unit[0] ? " " : "",
              unit);
    sp_json_put(one, "label", sp_json_text(label), &l->failed);
    sp_json_put(one, "value", sp_json_text(text), &l->failed);
    sp_json_append(facts, one, &l->failed);
}

static json_t *facts_of(look *l)
{
    const sp_inspection *in = &l->inspection;
    json_t *facts = json_array();
    put_fact(l, facts, "struts of the infill", in->infill_struts, "");
    put_fact(l, facts, "struts of walls and plates", in->wall_struts, "");
    put_fact(l, facts, "joints", in->joints, "");
    put_fact(l, facts, "density of the infill", 100 * in->nominal_density, "%");
    put_fact(l, facts, "solid fraction", 100 * in->solid_fraction, "%");
    put_fact(l, facts, "mass", in->mass, "g");
    put_fact(l, facts, "cell size", in->cell_size, "mm");
    put_fact(l, facts, "cells across the width", in->cells_across, "");
    if (in->infill_struts) {
        put_fact(l, facts, "free length of a strut, median", in->free_length_median, "mm");
        put_fact(l, facts, "slenderness, median", in->slenderness_median, "");
    }
    put_fact(l, facts, "modulus of the law in its strain state", in->law_modulus, "MPa");
    return facts;
}

static void put_settings(look *l, json_t *to)
{
    static const char *const origin[] = {"default", "given", "derived"};
    json_t *all = json_array(), *unread = json_array();
    const sp_case *settled = &l->resolved.request;
    for (int row = 0; row < sp_parameter_count(); row++) {
        char value[SP_MESSAGE_SIZE + SP_FILE_SIZE], why[SP_WHY_SIZE];
        json_t *one = json_object();
        sp_case_value_text(settled, row, value, sizeof value);
        sp_json_put(one, "key", sp_json_text(sp_case_row_at(row)->key), &l->failed);
        sp_json_put(one, "value", sp_json_text(value), &l->failed);
        sp_json_put(one, "origin", sp_json_text(origin[settled->origin[row]]), &l->failed);
        sp_json_append(all, one, &l->failed);
        if (!sp_case_reads(&l->resolved, row, why))
            sp_json_append(unread, sp_json_text(sp_case_row_at(row)->key), &l->failed);
    }
    sp_json_put(to, "resolved", all, &l->failed);
    sp_json_put(to, "unread", unread, &l->failed);
}

static json_t *forecast_of(look *l)
{
    const sp_forecast *forecast = &l->forecast;
    const int seeds = sp_seeds_wanted(&l->resolved, 0);
    char words[SP_MESSAGE_SIZE], time[32], range[80];
    json_t *one = json_object();
    sp_forecast_text(forecast, words, sizeof words);
    sp_json_put(one, "words", sp_json_text(words), &l->failed);
    sp_json_put(one, "seconds", sp_json_number(forecast->seconds), &l->failed);
    sp_json_put(one, "seeds", json_integer(seeds), &l->failed);
    /* Seeds of one coupon err together, so that their range is that of one. */
    sp_forecast_time_text(seeds * forecast->seconds, time, sizeof time);
    sp_forecast_range_text(seeds * forecast->low, seeds * forecast->high, range, sizeof range);
    sp_format(words, sizeof words, "%s of processor time together (9 of 10 such coupons take %s)",
              time, range);
    sp_json_put(one, "together", sp_json_text(words), &l->failed);
    sp_json_put(one, "bytes", sp_json_number(l->forecast.bytes), &l->failed);
    return one;
}

static void put_yaml(look *l, json_t *to)
{
    char *text = sp_desk_case_text(&l->request, "");
    sp_json_put(to, "yaml", text ? json_string(text) : NULL, &l->failed);
    free(text);
}

static void put_directions(look *l, json_t *to)
{
    char printed[SP_MESSAGE_SIZE], pressed[SP_MESSAGE_SIZE], words[2 * SP_MESSAGE_SIZE + 32];
    sp_network_printed_text(&l->network, printed, sizeof printed);
    sp_network_pressed_text(&l->network, pressed, sizeof pressed);
    sp_format(words, sizeof words, "Printed: %s. Pressed: %s.", printed, pressed);
    sp_json_put(to, "direction", sp_json_text(words), &l->failed);
}

static sp_status take(look *l)
{
    const sp_case *settled = &l->resolved.request;
    if (l->resolved.expected.struts > struts_most)
        return sp_fail(&l->context, SP_BAD_USAGE,
                       "about %.0f struts: more than %.0f are not drawn here; valid: a smaller "
                       "coupon, or `strutpress check`",
                       l->resolved.expected.struts, struts_most);
    sp_status status = sp_resolved_network(&l->context, &l->resolved, 1, &l->network);
    if (status == SP_OK) status = sp_inspect(&l->context, settled, &l->network, &l->inspection);
    if (status == SP_OK)
        status = sp_forecast_network(&l->context, settled, &l->network, &l->forecast);
    return status;
}

static json_t *answer_of(look *l)
{
    json_t *all = json_object();
    sp_lines_of_network(all, &l->network, &l->failed);
    put_directions(l, all);
    sp_json_put(all, "facts", facts_of(l), &l->failed);
    sp_json_put(all, "forecast", forecast_of(l), &l->failed);
    put_settings(l, all);
    sp_json_put(all, "cautions", json_incref(l->cautions), &l->failed);
    put_yaml(l, all);
    return all;
}

static void draw(sp_desk *desk, sp_desk_look *turn, json_t *asked, sp_reply *reply)
{
    look *l = calloc(1, sizeof *l);
    char key[SP_NAME_SIZE];
    if (!l) {
        sp_reply_fail(reply, 500, "no memory for the coupon", NULL);
        return;
    }
    l->cautions = json_array();
    l->context.warn = keep_caution;
    l->context.user = l;
    l->context.interrupt = &turn->interrupt;
    sp_status status =
        sp_values_case(&l->context, desk, json_object_get(asked, "values"), &l->request, key);
    if (status == SP_OK) {
        status = sp_case_resolve(&l->context, &l->request, &l->resolved);
        if (status == SP_OK) status = take(l);
        if (status != SP_OK) sp_values_key_of(l->context.message, key);
    }
    if (status == SP_INTERRUPTED)
        sp_fail(&l->context, status,
                "drawing takes longer than %d s; valid: a smaller coupon, or `strutpress check`",
                SP_DESK_LOOK_SECONDS);
    if (status == SP_OK)
        sp_reply_json(reply, 200, answer_of(l), l->failed);
    else
        sp_reply_status(reply, &l->context, status, key);
    sp_network_free(&l->network);
    sp_resolved_free(&l->resolved);
    json_decref(l->cautions);
    free(l);
}

void sp_reply_look(sp_desk *desk, json_t *asked, sp_reply *reply)
{
    sp_desk_look *turn = sp_desk_begin_look(desk);
    if (!turn) {
        sp_reply_fail(reply, 429, "other coupons are being drawn; valid: ask again in a moment",
                      NULL);
        return;
    }
    draw(desk, turn, asked, reply);
    sp_desk_end_look(desk, turn);
}
