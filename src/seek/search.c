/* The search: variants of the candidates, rounds of presses that bracket the first variable, then the others. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/network.h>

#include "base/alloc.h"
#include "seek/bracket.h"
#include "seek/seek_parts.h"

enum { BUILD_TRIES = 8, DIGITS = 7 };

/* ---- variants -------------------------------------------------------------------------------------------------- */

/* Numbers of a point are rounded, so that they read well in a case file. */
static double rounded(double value)
{
    char text[32];
    snprintf(text, sizeof text, "%.*g", DIGITS, value);
    return strtod(text, NULL);
}

/* Number `place` of the combinations of whole numbers; the other variables start from the case, or in the middle. */
static void fill_point(const sp_target *target, int candidate, int place, double *x)
{
    sp_case request;
    seek_candidate_case(target, candidate, 0, &request);
    for (int v = target->variable_count - 1; v >= 0; v--) {
        const seek_variable *variable = &target->variable[v];
        const int span = (int)(variable->high - variable->low) + 1;
        const double given = seek_variable_value(variable, &request);
        if (variable->whole) {
            x[v] = variable->low + place % span;
            place /= span;
        } else if (given >= variable->low && given <= variable->high) {
            x[v] = given;
        } else {
            x[v] = rounded(0.5 * (variable->low + variable->high));
        }
    }
}

static sp_status make_variants(sp_answer *answer)
{
    const sp_target *target = answer->target;
    int each = 1;
    for (int v = 0; v < target->variable_count; v++)
        if (target->variable[v].whole)
            each *= (int)(target->variable[v].high - target->variable[v].low) + 1;
    const size_t candidates = (size_t)target->candidate_count;
    answer->variant = sp_alloc(candidates * (size_t)each, sizeof *answer->variant);
    answer->best = sp_alloc(candidates, sizeof *answer->best);
    answer->order = sp_alloc(candidates, sizeof *answer->order);
    if (!answer->variant || !answer->best || !answer->order)
        return sp_fail(answer->context, SP_NO_MEMORY, "no memory for %zu candidates", candidates);
    for (int c = 0; c < target->candidate_count; c++)
        for (int i = 0; i < each; i++) {
            seek_variant *variant = &answer->variant[answer->variant_count++];
            *variant = (seek_variant){.candidate = c, .best = -1};
            fill_point(target, c, i, variant->x);
        }
    return SP_OK;
}

/* Can the coupon be built? Passes on what is no fault of the coupon. */
static sp_status try_build(sp_answer *answer, seek_variant *variant, double first, int *built)
{
    sp_context quiet = {0};
    sp_case request;
    sp_network network = {0};
    double x[SEEK_VARIABLE_MAX];
    memcpy(x, variant->x, sizeof x);
    if (answer->target->first >= 0) x[answer->target->first] = first;
    seek_record_case(answer, variant, x, 0, &request);
    sp_status status = sp_case_check(&quiet, &request);
    if (status == SP_OK) status = sp_network_build(&quiet, &request, 0, &network);
    sp_network_free(&network);
    *built = status == SP_OK;
    if (status != SP_OK && !variant->reason[0])
        snprintf(variant->reason, sizeof variant->reason, "%s", quiet.message);
    return status == SP_NO_MEMORY ? sp_fail(answer->context, status, "%s", quiet.message) : SP_OK;
}

/* Move `bad` to the edge of what can be built, on the side of `good`. */
static sp_status find_edge(sp_answer *answer, seek_variant *variant, double good, double *bad)
{
    const double within = 0.25 * answer->target->variable[answer->target->first].within;
    sp_status status = SP_OK;
    double edge = *bad;
    while (fabs(good - edge) > within && status == SP_OK) {
        const double middle = rounded(0.5 * (good + edge));
        int built = 0;
        if (!(fabs(middle - good) > 0 && fabs(middle - edge) > 0)) break;
        status = try_build(answer, variant, middle, &built);
        if (built)
            good = middle;
        else
            edge = middle;
    }
    *bad = good;
    return status;
}

/* Part of the range where a network comes about: no press is spent on cells that do not fit. */
static sp_status trim_range(sp_answer *answer, seek_variant *variant)
{
    const sp_target *target = answer->target;
    const seek_variable *first = target->first >= 0 ? &target->variable[target->first] : NULL;
    double good = NAN;
    int low_built = 0, high_built = 0;
    variant->low = first ? first->low : 0;
    variant->high = first ? first->high : 0;
    sp_status status = try_build(answer, variant, variant->low, &low_built);
    if (first && status == SP_OK) status = try_build(answer, variant, variant->high, &high_built);
    if (low_built || high_built) good = low_built ? variant->low : variant->high;
    for (int i = 1; first && i < BUILD_TRIES && !(good > 0 || good <= 0) && status == SP_OK; i++) {
        int built;
        const double x = rounded(first->low + i * (first->high - first->low) / BUILD_TRIES);
        status = try_build(answer, variant, x, &built);
        if (built) good = x;
    }
    if (status != SP_OK) return status;
    variant->state = isfinite(good) ? VARIANT_ACTIVE : VARIANT_EMPTY;
    if (variant->state == VARIANT_EMPTY || !first) return SP_OK;
    variant->reason[0] = 0;
    if (!low_built) status = find_edge(answer, variant, good, &variant->low);
    if (!high_built && status == SP_OK) status = find_edge(answer, variant, good, &variant->high);
    return status;
}

/* ---- the next point of one variant ----------------------------------------------------------------------------- */

/* Does the figure rise with the first variable? Judged by the ends of what is known; one point says nothing: then yes. */
static int figure_rises(const seek_variant *variant, int first, int figure)
{
    const seek_record *low = NULL, *high = NULL;
    for (int i = 0; i < variant->count; i++) {
        const seek_record *r = &variant->record[i];
        if (!isfinite(r->median[figure])) continue;
        if (!low || r->x[first] < low->x[first]) low = r;
        if (!high || r->x[first] > high->x[first]) high = r;
    }
    return !low || low == high || high->median[figure] >= low->median[figure];
}

/* Least margin of the bounds that get easier as the first variable grows, or of those that get harder. */
static double side_margin(const sp_target *target, const seek_variant *variant,
                          const seek_record *record, int easier)
{
    double least = INFINITY;
    for (int c = 0; c < target->condition_count; c++)
        for (int side = 0; side < 2; side++) {
            const int rises = figure_rises(variant, target->first, target->condition[c].figure);
            const double margin = record->margin[c][side];
            if ((rises == !side) == easier && !(margin >= least)) least = margin;
        }
    return least;
}

/* Points of the search in hand, in the order of x: the easier bounds alone, or balanced against the harder ones. */
static int list_points(const sp_answer *answer, const seek_variant *variant, int balance,
                       double low, double high, bracket_point *point)
{
    const sp_target *target = answer->target;
    int count = 0;
    for (int i = 0; i < variant->count; i++) {
        const seek_record *record = &variant->record[i];
        const double x = record->x[target->first];
        double held[SEEK_VARIABLE_MAX];
        memcpy(held, variant->x, sizeof held);
        held[target->first] = x;
        if (seek_record_at(answer, variant, held) != record || x < low || x > high) continue;
        double value = side_margin(target, variant, record, 1);
        if (balance) value -= side_margin(target, variant, record, 0);
        int at = count++;
        for (; at > 0 && point[at - 1].x > x; at--) point[at] = point[at - 1];
        point[at] = (bracket_point){x, value};
    }
    return count;
}

/* First where the easier bounds begin to hold. When the harder ones do not hold there, no place holds both, and the
 * place that comes nearest is where both are missed alike. */
static double next_first(const sp_answer *answer, const seek_variant *variant, bracket_point *point)
{
    const double within = answer->target->variable[answer->target->first].within;
    bracket b = {.low = variant->low, .high = variant->high, .within = within, .point = point};
    b.count = list_points(answer, variant, 0, b.low, b.high, point);
    double next = bracket_next(&b), crossing = bracket_crossing(&b);
    if (!isnan(next) || isnan(crossing)) return next;
    for (int i = 0; i < variant->count; i++)
        if (variant->record[i].least >= 0) return NAN;
    b.high = crossing;
    b.within = 0.25 * within;
    b.count = list_points(answer, variant, 1, b.low, b.high, point);
    return bracket_next(&b);
}

/* The next point of a variant; 0 when its search is over. */
static int next_point(const sp_answer *answer, const seek_variant *variant, bracket_point *point,
                      double *x)
{
    const int first = answer->target->first;
    memcpy(x, variant->x, sizeof variant->x);
    if (first < 0) return variant->count == 0;
    const double next = next_first(answer, variant, point);
    if (isnan(next)) return 0;
    x[first] = rounded(next);
    /* a point that is known again says no more: rounding has met it */
    return !seek_record_at(answer, variant, x);
}

/* ---- rounds ---------------------------------------------------------------------------------------------------- */

void seek_settle(const sp_answer *answer, seek_variant *variant)
{
    const int save = answer->target->save;
    variant->best = -1;
    variant->reached = 0;
    for (int i = 0; i < variant->count; i++) {
        const seek_record *r = &variant->record[i];
        const seek_record *b = variant->best >= 0 ? &variant->record[variant->best] : NULL;
        const int reached = r->least >= 0 && isfinite(r->median[save]);
        int better = !b || (reached && !variant->reached);
        if (b && reached && variant->reached) better = r->median[save] < b->median[save];
        if (b && !reached && !variant->reached) better = r->least > b->least || isnan(b->least);
        if (!better) continue;
        variant->best = i;
        variant->reached = reached;
    }
}

/* A sibling reaches the target with less than this variant weighs where it still misses it. */
static int is_beaten(const sp_answer *answer, const seek_variant *variant)
{
    const int save = answer->target->save, first = answer->target->first;
    double least = INFINITY, missed = -INFINITY;
    if (first < 0 || !figure_rises(variant, first, save)) return 0;
    for (int i = 0; i < answer->variant_count; i++) {
        const seek_variant *other = &answer->variant[i];
        if (other->candidate != variant->candidate || !other->reached || other == variant) continue;
        least = fmin(least, other->record[other->best].median[save]);
    }
    for (int i = 0; i < variant->count; i++) {
        const seek_record *r = &variant->record[i];
        if (r->least >= 0) return 0;
        /* missed because of bounds that get easier: the target lies above */
        if (side_margin(answer->target, variant, r, 1) < 0) missed = fmax(missed, r->median[save]);
    }
    return missed >= least;
}

/* The points of one round; *wanted_count 0: every search is over. */
static sp_status list_wanted(sp_answer *answer, seek_wanted *wanted, int *wanted_count)
{
    *wanted_count = 0;
    for (int i = 0; i < answer->variant_count; i++) seek_settle(answer, &answer->variant[i]);
    for (int i = 0; i < answer->variant_count; i++) {
        seek_variant *variant = &answer->variant[i];
        seek_wanted *next = &wanted[*wanted_count];
        if (variant->state != VARIANT_ACTIVE) continue;
        bracket_point *point = sp_alloc((size_t)variant->count + 1, sizeof *point);
        if (!point) return sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
        next->variant = i;
        if (is_beaten(answer, variant))
            variant->state = VARIANT_DROPPED;
        else if (!next_point(answer, variant, point, next->x))
            variant->state = VARIANT_DONE;
        else
            (*wanted_count)++;
        sp_free(point);
    }
    return SP_OK;
}

sp_status seek_rounds(sp_answer *answer)
{
    int count = 0;
    seek_wanted *wanted = sp_alloc((size_t)answer->variant_count, sizeof *wanted);
    sp_status status =
        wanted ? SP_OK : sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
    while (status == SP_OK) {
        status = list_wanted(answer, wanted, &count);
        if (status != SP_OK || !count) break;
        status = seek_press(answer, wanted, count);
    }
    sp_free(wanted);
    return status;
}

/* ---- order ----------------------------------------------------------------------------------------------------- */

/* Is variant a a better answer than b? */
static int is_better(const sp_answer *answer, const seek_variant *a, const seek_variant *b)
{
    const int save = answer->target->save;
    if (a->reached != b->reached) return a->reached;
    if ((a->best < 0) != (b->best < 0)) return b->best < 0;
    if (a->best < 0) return 0;
    const seek_record *p = &a->record[a->best], *q = &b->record[b->best];
    if (a->reached) return p->median[save] < q->median[save];
    return p->least > q->least || (isnan(q->least) && !isnan(p->least));
}

void seek_arrange(sp_answer *answer)
{
    const int count = answer->target->candidate_count;
    answer->reached_count = 0;
    for (int c = 0; c < count; c++) answer->best[c] = -1;
    for (int i = 0; i < answer->variant_count; i++) {
        int *best = &answer->best[answer->variant[i].candidate];
        seek_settle(answer, &answer->variant[i]);
        if (*best < 0 || is_better(answer, &answer->variant[i], &answer->variant[*best])) *best = i;
    }
    for (int c = 0; c < count; c++) {
        const seek_variant *mine = &answer->variant[answer->best[c]];
        int at = c;
        for (; at > 0 &&
               is_better(answer, mine, &answer->variant[answer->best[answer->order[at - 1]]]);
             at--)
            answer->order[at] = answer->order[at - 1];
        answer->order[at] = c;
        answer->reached_count += mine->reached;
    }
}

/* ---- the whole ------------------------------------------------------------------------------------------------- */

/* Each candidate from its best variant on. */
static sp_status search_several(sp_answer *answer)
{
    const int count = answer->target->candidate_count;
    sp_status status = SP_OK;
    seek_arrange(answer);
    for (int c = 0; c < count && status == SP_OK; c++) {
        answer->share_from = 0.5 + 0.5 * c / count;
        answer->share_to = 0.5 + 0.5 * (c + 1) / count;
        answer->round = 0;
        if (answer->variant[answer->best[c]].best >= 0)
            status = seek_several(answer, answer->best[c]);
    }
    return status;
}

static void count_coupons(sp_answer *answer)
{
    for (int i = 0; i < answer->variant_count; i++)
        for (int k = 0; k < answer->variant[i].count; k++)
            answer->stored += answer->variant[i].record[k].stored;
}

sp_status sp_seek(sp_context *context, const sp_target *target, sp_store *store, int threads,
                  sp_answer **answer)
{
    sp_answer *a = sp_alloc(1, sizeof *a);
    *answer = NULL;
    if (!a) return sp_fail(context, SP_NO_MEMORY, "no memory for a search");
    *a = (sp_answer){.target = target, .store = store, .threads = threads, .context = context};
    a->share_to = seek_needs_several(target) ? 0.5 : 1;
    sp_status status = make_variants(a);
    for (int i = 0; i < a->variant_count && status == SP_OK; i++)
        status = trim_range(a, &a->variant[i]);
    if (status == SP_OK) status = seek_take_stored(a);
    if (status == SP_OK) status = seek_rounds(a);
    if (status == SP_OK && seek_needs_several(target)) status = search_several(a);
    if (status == SP_OK) {
        seek_arrange(a);
        count_coupons(a);
        a->context = NULL; /* of this call only */
        *answer = a;
    } else {
        sp_answer_free(a);
    }
    return status;
}

void sp_answer_free(sp_answer *answer)
{
    if (!answer) return;
    for (int i = 0; i < answer->variant_count; i++) sp_free(answer->variant[i].record);
    sp_free(answer->variant);
    sp_free(answer->best);
    sp_free(answer->order);
    sp_free(answer);
}

int sp_answer_reached(const sp_answer *answer)
{
    return answer->reached_count;
}

int sp_answer_pressed(const sp_answer *answer)
{
    return answer->pressed;
}

int sp_answer_stored(const sp_answer *answer)
{
    return answer->stored;
}
