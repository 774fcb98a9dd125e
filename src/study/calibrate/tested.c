/* Read a YAML file of tested coupons: the parts of a plan, curves of the rig, values to fit,
 * coupons to predict. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "base/decimal.h"
#include "calibrate/calibrate_parts.h"
#include "case/case_parts.h"
#include "measure/curve.h"
#include "write/file_set.h"
#include "write/text.h"

enum { USUAL_TRIES = 40, TRIES_MAX = 10000 };
static const double usual_strain = 0.5;
static const double strain_max = 0.95; /* of a press */
static const double weight_least = 1e-3, weight_most = 1e3;
/* The weights by scatter add this error of predictions of a well printed coupon (a guess, no
 * source), so that a curve that scatters less counts only a little more. */
static const double scatter_floor = 0.05;

static const char coupon_valid[] =
    "a list of `{section.name: value, ...}`, for tested ones with `curve: FILE`, and `starts_at`, "
    "`weight`, `name` when wanted";

/* ---- what is fitted ----------------------------------------------- */

static sp_status read_fit(plan_reader *r, const yaml_node_t *node)
{
    sp_tested *tested = r->user;
    sp_status status =
        sp_seek_variables_read(r, node, "fit", tested->variable, &tested->variable_count);
    for (int v = 0; v < tested->variable_count && status == SP_OK; v++)
        if (tested->variable[v].whole)
            status = sp_plan_refuse(r, node, "fit", tested->variable[v].key,
                                    "keys whose numbers need not be whole", NULL);
    return status;
}

static sp_status read_strain(plan_reader *r, const yaml_node_t *node)
{
    sp_tested *tested = r->user;
    if (node->type == YAML_SCALAR_NODE &&
        sp_case_number_parse(sp_case_row_find("press.strain"), sp_plan_text(node),
                             &tested->strain) &&
        tested->strain > 0 && tested->strain <= strain_max)
        return SP_OK;
    return sp_plan_refuse(r, node, "strain", sp_plan_text(node), "above 0 and at most 95 %", NULL);
}

static sp_status read_tries(plan_reader *r, const yaml_node_t *node)
{
    sp_tested *tested = r->user;
    return sp_plan_read_count(r, node, "tries", TRIES_MAX, &tested->tries);
}

static sp_status read_weights(plan_reader *r, const yaml_node_t *node)
{
    static const char *const word[] = {"even", "scatter"};
    sp_tested *tested = r->user;
    return sp_plan_read_word(r, node, "weights", word, 2, "even, scatter", &tested->weights);
}

static sp_status read_search(plan_reader *r, const yaml_node_t *node)
{
    static const char *const word[] = {"auto", "local", "global"};
    sp_tested *tested = r->user;
    return sp_plan_read_word(r, node, "search", word, 3, "auto, local, global", &tested->search);
}

static sp_status read_seeds(plan_reader *r, const yaml_node_t *node)
{
    sp_tested *tested = r->user;
    return sp_plan_read_few_seeds(r, node, CAL_SEED_MAX, &tested->seed_count);
}

/* ---- coupons ----------------------------------------------- */

typedef struct entry {
    const yaml_node_t *name, *curve, *starts_at, *weight;
    cal_coupon *coupon;
    char rest[CAL_NAME_SIZE]; /* the rest of the name */
    size_t used;
    int given[SP_PARAMETER_MAX];
} entry;

/* Write ", density 12 %" behind the pattern, which comes first and is known last. */
static void add_to_name(entry *e, const char *key, const char *value)
{
    if (!strcmp(key, "infill.pattern") || e->used >= CAL_NAME_SIZE) return;
    e->used += (size_t)snprintf(e->rest + e->used, CAL_NAME_SIZE - e->used, ", %s %s",
                                strrchr(key, '.') ? strrchr(key, '.') + 1 : key, value);
}

static sp_status read_value(plan_reader *r, const yaml_node_t *key_node, const yaml_node_t *node,
                            entry *e)
{
    const sp_tested *tested = r->user;
    const char *key = sp_plan_text(key_node);
    char *text = NULL;
    for (int v = 0; v < tested->variable_count; v++)
        if (sp_case_keys_meet(tested->variable[v].key, key))
            return sp_plan_refuse(r, key_node, key, "a key that is fitted",
                                  "keys that are not, for single coupons", NULL);
    if (!strcmp(key, "flaws.seed"))
        return sp_plan_refuse(r, key_node, key, "a flaw seed", "`seeds:`, for all coupons alike",
                              NULL);
    sp_status status = sp_plan_check_given(r, key_node, key, e->given);
    if (status == SP_OK) status = sp_plan_copy_value(r, node, key, &text);
    if (status == SP_OK)
        status = sp_case_set_at(r->context, &e->coupon->request, key, sp_plan_line(key_node), text);
    if (status == SP_OK) add_to_name(e, key, text);
    sp_free(text);
    return status;
}

/* Say where the value of a key that is none of a case belongs; NULL: it is a key of a case. */
static const yaml_node_t **own_key(entry *e, const char *key, int tested)
{
    if (!strcmp(key, "name")) return &e->name;
    if (tested && !strcmp(key, "curve")) return &e->curve;
    if (tested && !strcmp(key, "starts_at")) return &e->starts_at;
    if (tested && !strcmp(key, "weight")) return &e->weight;
    return NULL;
}

/* What would be refused before a press is refused here, where its line is known. Cautions are given
 * with the press. */
static sp_status check_coupon(sp_context *context, const sp_case *request)
{
    sp_context quiet = {0};
    sp_resolved resolved;
    const sp_status status = sp_case_resolve(&quiet, request, &resolved);
    sp_resolved_free(&resolved);
    return status == SP_OK ? SP_OK : sp_fail(context, status, "%s", quiet.message);
}

static int read_weight(const yaml_node_t *node, double *weight)
{
    char *end;
    const char *text = node->type == YAML_SCALAR_NODE ? sp_plan_text(node) : "";
    return sp_decimal(text, &end, weight) && !*end && *weight >= weight_least &&
           *weight <= weight_most;
}

static sp_status read_entry(plan_reader *r, const yaml_node_t *node, const char *part, int tested,
                            entry *e)
{
    sp_status status = SP_OK;
    if (node->type != YAML_MAPPING_NODE)
        return sp_plan_refuse(r, node, part, sp_plan_text(node), coupon_valid, NULL);
    for (yaml_node_pair_t *p = node->data.mapping.pairs.start;
         p < node->data.mapping.pairs.top && status == SP_OK; p++) {
        const yaml_node_t *key = sp_plan_node(r, p->key), *value = sp_plan_node(r, p->value);
        const yaml_node_t **own = own_key(e, sp_plan_text(key), tested);
        if (own && *own)
            status =
                sp_plan_refuse(r, key, sp_plan_text(key), "the same key again", "once only", NULL);
        else if (own)
            *own = value;
        else
            status = read_value(r, key, value, e);
    }
    if (status != SP_OK) return status;
    if (tested && !e->curve)
        return sp_plan_refuse(r, node, part, "a coupon without a curve", "`curve: FILE`", NULL);
    if (e->name && (e->name->type != YAML_SCALAR_NODE || !sp_plan_text(e->name)[0]))
        return sp_plan_refuse(r, e->name, "name", sp_plan_text(e->name), "one line of text", NULL);
    if (e->weight && !read_weight(e->weight, &e->coupon->weight))
        return sp_plan_refuse(r, e->weight, "weight", sp_plan_text(e->weight), "0.001 to 1000",
                              NULL);
    char given[SP_NAME_SIZE + CAL_NAME_SIZE];
    snprintf(given, sizeof given, "%s%s", e->coupon->request.pattern, e->rest);
    sp_printable(e->name ? sp_plan_text(e->name) : given, e->coupon->name, CAL_NAME_SIZE);
    status = check_coupon(r->context, &e->coupon->request);
    const double fitted = ((const sp_tested *)r->user)->strain;
    e->coupon->end = e->coupon->request.height * (tested ? fitted : e->coupon->request.strain);
    e->coupon->work_end = fmin(e->coupon->end, e->coupon->request.height * fitted);
    return status;
}

/* Find the part of the curve that counts: up to the strain, or as far as the coupon was pressed. */
static sp_status take_curve(plan_reader *r, const entry *e)
{
    cal_coupon *coupon = e->coupon;
    char file[SP_FILE_SIZE], valid[200];
    sp_rig_request request;
    sp_rig_request_default(&request);
    request.height = coupon->request.height;
    request.area = coupon->request.width * coupon->request.depth;
    if (e->starts_at && (e->starts_at->type != YAML_SCALAR_NODE ||
                         !sp_rig_request_set(&request, "starts_at", sp_plan_text(e->starts_at),
                                             valid, sizeof valid)))
        return sp_plan_refuse(r, e->starts_at, "starts_at", sp_plan_text(e->starts_at),
                              "a shortening in mm", NULL);
    sp_status status = sp_measured_node(r, e->curve, &request, file);
    if (status == SP_OK) status = sp_measured_read(r->context, file, &request, &coupon->curve);
    if (status != SP_OK) return status;
    const sp_curve view = sp_measured_view(&coupon->curve);
    coupon->end = fmin(coupon->end, sp_curve_end(&view));
    coupon->work_end = coupon->end;
    sp_cal_take(coupon, &view, coupon->measured);
    for (int k = 0; k < CAL_STRETCHES; k++) coupon->mean += coupon->measured[k] / CAL_STRETCHES;
    if (coupon->mean > 0) return SP_OK;
    return sp_fail(r->context, SP_NO_READ,
                   "%s: received a mean force of %g N up to %g mm; valid: above 0 (pressing is "
                   "positive)",
                   file, coupon->mean, coupon->end);
}

static sp_status read_coupons(plan_reader *r, const yaml_node_t *node, const char *part,
                              int with_curve, cal_coupon **list, int *count)
{
    sp_status status = SP_OK;
    if (node->type != YAML_SEQUENCE_NODE)
        return sp_plan_refuse(r, node, part, sp_plan_text(node), coupon_valid, NULL);
    const long items = node->data.sequence.items.top - node->data.sequence.items.start;
    if (items < 1 || items > CAL_COUPON_MAX)
        return sp_plan_refuse(r, node, part, items ? "a longer list" : "an empty list",
                              "1 to 64 coupons", NULL);
    *list = sp_alloc((size_t)items, sizeof **list);
    if (!*list) return sp_fail(r->context, SP_NO_MEMORY, "%s: out of memory", r->source);
    for (int i = 0; i < (int)items && status == SP_OK; i++) {
        entry e = {.coupon = &(*list)[i]};
        e.coupon->request = r->plan->base;
        status = read_entry(r, sp_plan_node(r, node->data.sequence.items.start[i]), part,
                            with_curve, &e);
        if (status == SP_OK && with_curve) status = take_curve(r, &e);
        *count = i + 1;
    }
    return status;
}

static sp_status read_tested(plan_reader *r, const yaml_node_t *node)
{
    sp_tested *t = r->user;
    return read_coupons(r, node, "tested", 1, &t->tested, &t->tested_count);
}

static sp_status read_predict(plan_reader *r, const yaml_node_t *node)
{
    sp_tested *t = r->user;
    return read_coupons(r, node, "predict", 0, &t->predicted, &t->predicted_count);
}

/* ---- the whole ----------------------------------------------- */

/* Find the weights of coupons that were given none, by the scatter of their specimens where that is
 * wanted (E240). Where a curve is that of one specimen, its scatter counts as the mean of the
 * others'. */
static void fill_weights(sp_tested *t)
{
    double usual = 0, sum = 0;
    int several = 0;
    for (int i = 0; i < t->tested_count; i++)
        if (t->tested[i].curve.spread > 0) usual += t->tested[i].curve.spread, several++;
    if (several) usual /= several;
    for (int i = 0; i < t->tested_count; i++) {
        cal_coupon *coupon = &t->tested[i];
        if (coupon->weight > 0) continue;
        const double own = coupon->curve.spread > 0 ? coupon->curve.spread : usual;
        coupon->weight = t->weights == CAL_WEIGHTS_EVEN
                             ? 1
                             : (scatter_floor * scatter_floor + usual * usual) /
                                   (scatter_floor * scatter_floor + own * own);
    }
    for (int i = 0; i < t->tested_count; i++) sum += t->tested[i].weight;
    for (int i = 0; i < t->tested_count; i++) t->tested[i].weight *= t->tested_count / sum;
}

static sp_status complete(sp_context *context, const sp_tested *tested)
{
    if (!tested->variable_count)
        return sp_fail(context, SP_BAD_CASE,
                       "%s: received a file with nothing to fit; valid: `fit:` with "
                       "`material.modulus: {from: 5 MPa, to: 60 MPa}` or another key",
                       tested->source);
    if (!tested->tested_count)
        return sp_fail(context, SP_BAD_CASE,
                       "%s: received a file without tested coupons; valid: `tested:` with "
                       "`- {infill.density: 12 %%, curve: FILE}` lines",
                       tested->source);
    return SP_OK;
}

sp_status sp_tested_parse(sp_context *context, const char *name, const char *text, size_t size,
                          sp_tested **tested)
{
    static const plan_part part[] = {
        {"base", sp_plan_read_base}, {"case", sp_plan_read_case}, {"fit", read_fit},
        {"strain", read_strain},     {"tries", read_tries},       {"tested", read_tested},
        {"predict", read_predict},   {"seeds", read_seeds},       {"weights", read_weights},
        {"search", read_search},
    };
    sp_tested *t = sp_alloc(1, sizeof *t);
    *tested = NULL;
    if (!t) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", name);
    t->seed_count = 1;
    t->strain = usual_strain;
    t->tries = USUAL_TRIES;
    sp_status status = sp_plan_parse_parts(context, name, text, size, part,
                                           sizeof part / sizeof part[0], "tested", t, &t->plan);
    if (status == SP_OK) {
        snprintf(t->source, sizeof t->source, "%s", name);
        status = complete(context, t);
    }
    if (status == SP_OK) fill_weights(t);
    if (status == SP_OK)
        *tested = t;
    else
        sp_tested_free(t);
    return status;
}

sp_status sp_tested_read(sp_context *context, const char *file, sp_tested **tested)
{
    char *text;
    size_t size;
    *tested = NULL;
    sp_status status = sp_case_read_file(context, file, &text, &size);
    if (status == SP_OK) status = sp_tested_parse(context, file, text, size, tested);
    sp_free(text);
    return status;
}

sp_status sp_tested_draw(sp_context *context, const sp_tested *tested, const char *folder)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, "measured", tested->tested_count);
    if (status != SP_OK) return status;
    for (int i = 0; i < tested->tested_count && status == SP_OK; i++) {
        char name[40];
        snprintf(name, sizeof name, "measured-%d.svg", i + 1);
        status = sp_file_set_open(context, &set, name);
        if (status == SP_OK)
            status = sp_file_set_close(
                context, &set, sp_measured_draw(context, &tested->tested[i].curve, set.stream));
    }
    return sp_file_set_end(context, &set, status);
}

void sp_tested_free(sp_tested *tested)
{
    if (!tested) return;
    sp_plan_free(tested->plan);
    for (int i = 0; i < tested->tested_count; i++) sp_measured_free(&tested->tested[i].curve);
    sp_free(tested->tested);
    sp_free(tested->predicted);
    sp_free(tested);
}

void sp_cal_case(const sp_tested *tested, const cal_coupon *coupon, const double *x, int seed,
                 sp_case *request)
{
    sp_case seeded;
    sp_plan_case(tested->plan, seed, &seeded);
    *request = coupon->request;
    request->flaw_seed = seeded.flaw_seed;
    for (int v = 0; v < tested->variable_count; v++)
        sp_seek_variable_set(&tested->variable[v], request, x[v]);
    /* Steps are as long as those of the case; the load cell was that of the rig, so it sets no
     * limit. */
    const double strain = fmin(strain_max, coupon->end / request->height);
    request->steps = (int)ceil(request->steps * strain / request->strain - 1e-9);
    const double most = sp_case_row_at(sp_case_row_find("press.steps"))->high;
    request->steps = (int)fmin(most, fmax(1, request->steps));
    request->strain = strain;
    request->load_limit = INFINITY;
    request->find_critical = request->unload = 0;
}
