/* Points of a search: pressed with every flaw seed, or taken from the store; judged by the
 * conditions. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "measure/spread.h"
#include "seek/seek_parts.h"

/* Share of the search that is left after one round: for the progress line only. */
static const double round_left = 0.88;

enum { STORED_VALUES_MAX = 1000 };

/* ---- judging ----------------------------------------------- */

static void take_spread(seek_record *record, int figure)
{
    double value[SEEK_SEED_MAX];
    for (int s = 0; s < record->seeds; s++) value[s] = record->value[s][figure];
    const sp_spread got = sp_spread_of(value, record->seeds);
    record->reached[figure] = got.count;
    record->median[figure] = got.median;
    record->low[figure] = got.low;
    record->high[figure] = got.high;
}

/* Return the logarithm of value over bound, which is almost straight over the logarithm of the
 * density; else the relative distance. */
static double margin_of(double more, double less, double bound)
{
    const double scale = fabs(bound) > 0 ? fabs(bound) : 1;
    return more > 0 && less > 0 ? log(more / less) : (more - less) / scale;
}

void sp_seek_judge_record(const sp_target *target, seek_record *record)
{
    record->least = INFINITY;
    for (int f = 0; f < target->figure_count; f++) take_spread(record, f);
    for (int c = 0; c < target->condition_count; c++) {
        const seek_condition *condition = &target->condition[c];
        const int f = condition->figure, worst = target->judge == SEEK_WORST;
        const int known = record->reached[f] == record->seeds;
        const double low = worst ? record->low[f] : record->median[f];
        const double high = worst ? record->high[f] : record->median[f];
        double *margin = record->margin[c];
        margin[0] = margin[1] = INFINITY;
        if (isfinite(condition->low))
            margin[0] = known ? margin_of(low, condition->low, condition->low) : NAN;
        if (isfinite(condition->high))
            margin[1] = known ? margin_of(condition->high, high, condition->high) : NAN;
        for (int side = 0; side < 2; side++) /* a figure that is not reached, NaN, meets no bound */
            if (!isnan(record->least) && !(margin[side] >= record->least))
                record->least = margin[side];
    }
}

/* ---- records ----------------------------------------------- */

void sp_seek_record_case(const sp_answer *answer, const seek_variant *variant, const double *x,
                         int seed, sp_case *request)
{
    const sp_target *target = answer->target;
    sp_seek_candidate_case(target, variant->candidate, seed, request);
    for (int v = 0; v < target->variable_count; v++)
        sp_seek_variable_set(&target->variable[v], request, x[v]);
}

static int same_point(const sp_target *target, const double *a, const double *b)
{
    for (int v = 0; v < target->variable_count; v++)
        if (a[v] < b[v] || a[v] > b[v]) return 0;
    return 1;
}

const seek_record *sp_seek_record_at(const sp_answer *answer, const seek_variant *variant,
                                     const double *x)
{
    for (int i = 0; i < variant->count; i++)
        if (same_point(answer->target, variant->record[i].x, x)) return &variant->record[i];
    return NULL;
}

static sp_status add_record(sp_answer *answer, seek_variant *variant, const double *x,
                            seek_record **record)
{
    seek_record *grown =
        sp_grow(variant->record, variant->count, &variant->capacity, 8, sizeof *grown);
    if (!grown)
        return sp_fail(answer->context, SP_NO_MEMORY, "no memory for %d points",
                       variant->count + 1);
    variant->record = grown;
    *record = &variant->record[variant->count++];
    memset(*record, 0, sizeof **record);
    memcpy((*record)->x, x, sizeof(*record)->x);
    (*record)->load_end = NAN;
    return SP_OK;
}

/* Return whether the load limit ended the press of this case. */
static double load_end_of(const sp_case *request, const sp_found *found, const sp_measure *measure)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count && !found->outcome; i++)
        if (!strcmp(row[i].name, "final_strain") && measure[i].reached)
            return sp_measure_load_end_at(request, measure[i].value);
    return NAN;
}

/* Read the values of one seed from the store; all are NaN without a result. */
static sp_status read_values(sp_answer *answer, seek_variant *variant, seek_record *record,
                             int seed, const sp_case *request, const sp_found *found,
                             const sp_measure *measure)
{
    const sp_target *target = answer->target;
    const int ended = found->outcome == sp_status_exit(SP_GAVE_UP);
    sp_curve_point *point = NULL;
    int count = 0, curves = 0;
    for (int f = 0; f < target->figure_count; f++) curves += target->figure[f].row != NULL;
    if (found->outcome && !variant->reason[0])
        snprintf(variant->reason, sizeof variant->reason, "%s", found->reason);
    record->failed += found->outcome && !ended;
    sp_status status =
        curves ? sp_store_curve(answer->context, answer->store, found->id, &count, &point) : SP_OK;
    const sp_curve curve = sp_curve_of_points(request, count, point);
    for (int f = 0; f < target->figure_count && status == SP_OK; f++) {
        const sp_figure *figure = &target->figure[f];
        const sp_measure got = sp_seek_match_is(figure) ? sp_seek_match_take(target, figure, &curve)
                                                        : sp_figure_take(figure, measure, &curve);
        record->value[seed][f] = got.reached && isfinite(got.value) ? got.value : NAN;
        if (isnan(record->value[seed][f]) && isnan(record->load_end))
            record->load_end = load_end_of(request, found, measure);
    }
    sp_store_free_curve(point);
    return status;
}

static sp_status find_coupon(sp_answer *answer, const sp_case *request, sp_found *found,
                             sp_measure *measure)
{
    sp_coupon_key known;
    sp_status status = sp_coupon_key_of_case(answer->context, request, &known);
    return status == SP_OK ? sp_store_get(answer->context, answer->store, &known, found, measure)
                           : status;
}

sp_status sp_seek_record_points(sp_context *context, const sp_answer *answer,
                                const seek_variant *variant, const seek_record *record, int seed,
                                int *count, sp_curve_point **point)
{
    sp_case request;
    sp_coupon_key known;
    sp_found found;
    int measures;
    sp_measure_rows(&measures);
    sp_measure *measure = sp_alloc((size_t)measures, sizeof *measure);
    *count = 0;
    *point = NULL;
    if (!measure) return sp_fail(context, SP_NO_MEMORY, "no memory for %d measures", measures);
    sp_seek_record_case(answer, variant, record->x, seed, &request);
    sp_status status = sp_coupon_key_of_case(context, &request, &known);
    if (status == SP_OK) status = sp_store_get(context, answer->store, &known, &found, measure);
    if (status == SP_OK && found.found)
        status = sp_store_curve(context, answer->store, found.id, count, point);
    sp_free(measure);
    return status;
}

static sp_measure *new_measures(sp_context *context)
{
    int count;
    sp_measure_rows(&count);
    sp_measure *measure = sp_alloc((size_t)count, sizeof *measure);
    if (!measure) sp_fail(context, SP_NO_MEMORY, "no memory for %d measures", count);
    return measure;
}

sp_status sp_seek_take_point(sp_answer *answer, seek_variant *variant, const double *x, int *taken)
{
    const sp_target *target = answer->target;
    sp_measure *measure = new_measures(answer->context);
    sp_status status = measure ? SP_OK : SP_NO_MEMORY;
    seek_record *record = NULL;
    for (int s = 0; s < target->seed_count && status == SP_OK; s++) {
        sp_case request;
        sp_found found;
        sp_seek_record_case(answer, variant, x, s, &request);
        status = find_coupon(answer, &request, &found, measure);
        if (status == SP_OK && !found.found) break;
        if (status == SP_OK && !record) status = add_record(answer, variant, x, &record);
        if (status == SP_OK)
            status = read_values(answer, variant, record, s, &request, &found, measure);
        if (status == SP_OK) record->stored = record->seeds = s + 1;
    }
    /* Some seeds of several say less than the first alone: which ones there are depends on the
     * store. */
    if (record && record->seeds < target->seed_count) record->stored = record->seeds = 1;
    *taken = status == SP_OK && record;
    if (*taken) sp_seek_judge_record(target, record);
    sp_free(measure);
    return status;
}

/* ---- presses ----------------------------------------------- */

/* Return the share that a round takes: later rounds take less, so that the progress never goes
 * back. */
static void tell_progress(void *user, double fraction, const char *text)
{
    sp_answer *answer = user;
    char line[96];
    int active = 0;
    (void)text;
    for (int i = 0; i < answer->variant_count; i++)
        active += answer->variant[i].state == VARIANT_ACTIVE;
    const double left = pow(round_left, answer->round + fraction);
    snprintf(line, sizeof line, "%d pressed, %d of %d searches settled", answer->pressed,
             answer->variant_count - active, answer->variant_count);
    answer->context->progress(
        answer->context->user,
        answer->share_from + (answer->share_to - answer->share_from) * (1 - left), line);
}

/* Count the seeds that a point has already. */
static int known_seeds(const sp_answer *answer, const seek_wanted *wanted)
{
    const seek_record *record =
        sp_seek_record_at(answer, &answer->variant[wanted->variant], wanted->x);
    return record ? record->seeds : 0;
}

/* List the coupons of the points that are missing in the store. */
static sp_status list_missing(sp_answer *answer, const seek_wanted *wanted, int count,
                              sp_measure *measure, sp_case *missing, int *missing_count,
                              unsigned char *stored)
{
    const sp_target *target = answer->target;
    sp_status status = SP_OK;
    *missing_count = 0;
    for (int i = 0; i < count && status == SP_OK; i++)
        for (int s = known_seeds(answer, &wanted[i]); s < wanted[i].seeds && status == SP_OK; s++) {
            sp_found found;
            sp_case *request = &missing[*missing_count];
            sp_seek_record_case(answer, &answer->variant[wanted[i].variant], wanted[i].x, s,
                                request);
            status = find_coupon(answer, request, &found, measure);
            stored[i * target->seed_count + s] = (unsigned char)found.found;
            *missing_count += !found.found;
        }
    return status;
}

static sp_status read_back(sp_answer *answer, const seek_wanted *wanted, sp_measure *measure,
                           const unsigned char *stored)
{
    seek_variant *variant = &answer->variant[wanted->variant];
    const int known = known_seeds(answer, wanted);
    seek_record *record = NULL;
    sp_status status = SP_OK;
    for (int i = 0; i < variant->count; i++)
        if (same_point(answer->target, variant->record[i].x, wanted->x))
            record = &variant->record[i];
    if (!record) status = add_record(answer, variant, wanted->x, &record);
    for (int s = known; s < wanted->seeds && status == SP_OK; s++) {
        sp_case request;
        sp_found found;
        sp_seek_record_case(answer, variant, wanted->x, s, &request);
        status = find_coupon(answer, &request, &found, measure);
        if (status == SP_OK && !found.found)
            status = sp_fail(
                answer->context, SP_NO_MEMORY,
                "a coupon is not in the store after its press: there was no memory for it, or a "
                "file of its case has changed meanwhile; what is pressed is stored");
        if (status == SP_OK)
            status = read_values(answer, variant, record, s, &request, &found, measure);
        record->stored += stored[s];
        record->pressed += !stored[s];
        record->seeds = s + 1;
    }
    if (status == SP_OK) sp_seek_judge_record(answer->target, record);
    return status; /* after a failure there is no answer, so half a record has no use */
}

sp_status sp_seek_press(sp_answer *answer, const seek_wanted *wanted, int count)
{
    const int seeds = answer->target->seed_count, all = count * seeds;
    int missing_count = 0;
    sp_batch_report report = {0};
    sp_context *context = answer->context;
    sp_context own = {.interrupt = context->interrupt,
                      .progress = context->progress ? tell_progress : NULL,
                      .user = answer};
    sp_measure *measure = new_measures(context);
    sp_case *missing = sp_alloc((size_t)all, sizeof *missing);
    unsigned char *stored = sp_alloc((size_t)all, sizeof *stored);
    sp_status status = SP_OK;
    if (!measure || !missing || !stored)
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d coupons", all);
    if (status == SP_OK)
        status = list_missing(answer, wanted, count, measure, missing, &missing_count, stored);
    if (status == SP_OK && missing_count) {
        status = sp_batch_press_cases(&own, missing, missing_count, answer->store, answer->threads,
                                      &report);
        if (status == SP_INTERRUPTED)
            sp_fail(context, status,
                    "interrupted: %d presses of this search are stored; the same command goes on",
                    answer->pressed + report.pressed);
        else if (status != SP_OK)
            sp_fail(context, status, "%s", own.message);
    }
    answer->pressed += report.pressed;
    for (int i = 0; i < count && status == SP_OK; i++)
        status = read_back(answer, &wanted[i], measure, stored + i * seeds);
    answer->round++;
    sp_free(stored);
    sp_free(missing);
    sp_free(measure);
    return status;
}

/* ---- what the store holds already ----------------------------------------------- */

typedef struct stored_values {
    const char *key;
    double low, high;
    int count;
    double value[STORED_VALUES_MAX];
} stored_values;

/* The text of a coupon has one "section.name value" line per key. */
static sp_status take_value(void *user, const sp_stored *coupon)
{
    stored_values *values = user;
    const size_t length = strlen(values->key);
    if (strcmp(coupon->program, sp_version())) return SP_OK;
    for (const char *line = coupon->text; line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (strncmp(line, values->key, length) || line[length] != ' ') continue;
        const double value = strtod(line + length, NULL);
        int known = !(value >= values->low && value <= values->high);
        for (int i = 0; i < values->count && !known; i++)
            known = !(values->value[i] < value || values->value[i] > value);
        if (!known && values->count < STORED_VALUES_MAX) values->value[values->count++] = value;
        break;
    }
    return SP_OK;
}

sp_status sp_seek_take_stored(sp_answer *answer)
{
    const sp_target *target = answer->target;
    if (target->first < 0) return SP_OK;
    const seek_variable *first = &target->variable[target->first];
    stored_values *values = sp_alloc(1, sizeof *values);
    if (!values) return sp_fail(answer->context, SP_NO_MEMORY, "no memory for stored coupons");
    *values = (stored_values){.key = first->key, .low = first->low, .high = first->high};
    sp_status status = sp_store_each(answer->context, answer->store, take_value, values);
    for (int i = 0; i < answer->variant_count; i++) {
        seek_variant *variant = &answer->variant[i];
        for (int k = 0; k < values->count && status == SP_OK; k++) {
            double x[SEEK_VARIABLE_MAX];
            int taken;
            memcpy(x, variant->x, sizeof x);
            x[target->first] = values->value[k];
            if (sp_seek_record_at(answer, variant, x)) continue;
            if (!(x[target->first] >= variant->low && x[target->first] <= variant->high)) continue;
            status = sp_seek_take_point(answer, variant, x, &taken);
        }
    }
    sp_free(values);
    return status;
}
