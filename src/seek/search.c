/* The search: variants of the candidates, rounds of presses that bracket the first variable, then the others. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/network.h>

#include "base/alloc.h"
#include "seek/bracket.h"
#include "seek/seek_parts.h"

#define CLOSE (-0.05) /* a margin that is worth a closer look */
#define NO_NEWS 0.02  /* margin */
#define NEAR 3        /* times `within` */
#define CORNER 0.25   /* of the range: points this close together say nothing of the whole */
#define EVEN 0.6      /* least share of the ups and downs of a figure that leads from end to end */

enum { BUILD_TRIES = 8, SCAN_PARTS = 12 };

/* ---- variants -------------------------------------------------------------------------------------------------- */

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
            x[v] = seek_variable_round(variable, 0.5 * (variable->low + variable->high));
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
    const seek_variable *first = &answer->target->variable[answer->target->first];
    sp_status status = SP_OK;
    double edge = *bad;
    while (fabs(good - edge) > 0.25 * first->within && status == SP_OK) {
        const double middle = seek_variable_round(first, 0.5 * (good + edge));
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
        const double x =
            seek_variable_round(first, first->low + i * (first->high - first->low) / BUILD_TRIES);
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

/* Records of the search in hand, the other variables as they are held, in the order of the first. */
static int list_records(const sp_answer *answer, const seek_variant *variant,
                        const seek_record **sorted)
{
    const int first = answer->target->first;
    int count = 0;
    for (int i = 0; i < variant->count; i++) {
        const seek_record *record = &variant->record[i];
        double held[SEEK_VARIABLE_MAX];
        memcpy(held, variant->x, sizeof held);
        held[first] = record->x[first];
        if (seek_record_at(answer, variant, held) != record) continue;
        if (!(held[first] >= variant->low && held[first] <= variant->high)) continue;
        int at = count++;
        for (; at > 0 && sorted[at - 1]->x[first] > held[first]; at--) sorted[at] = sorted[at - 1];
        sorted[at] = record;
    }
    return count;
}

typedef enum { RISES, FALLS, UNEVEN } trend;

/* How a figure goes along the records: the way from end to end against all its ups and downs. One point says nothing: most
 * figures rise with the density. */
static trend trend_of(const seek_record *const *sorted, int count, int figure)
{
    double net = 0, all = 0, last = NAN;
    for (int i = 0; i < count; i++) {
        const double value = sorted[i]->median[figure];
        if (!isfinite(value)) continue;
        if (isfinite(last)) {
            net += value - last;
            all += fabs(value - last);
        }
        last = value;
    }
    if (fabs(net) < EVEN * all) return UNEVEN;
    return net >= 0 ? RISES : FALLS;
}

/* Bounds that get easier as the first variable grows, those that get harder, those of uneven figures. */
typedef enum { EASIER, HARDER, ANYHOW } side_kind;

/* Least margin of one kind of bounds; infinite when there are none. */
static double side_margin(const sp_target *target, const seek_record *const *sorted, int count,
                          const seek_record *record, side_kind kind)
{
    double least = INFINITY;
    for (int c = 0; c < target->condition_count; c++) {
        const trend way = trend_of(sorted, count, target->condition[c].figure);
        for (int side = 0; side < 2; side++) {
            const side_kind mine = way == UNEVEN             ? ANYHOW
                                   : (way == RISES) == !side ? EASIER
                                                             : HARDER;
            if (mine == kind && !(record->margin[c][side] >= least))
                least = record->margin[c][side];
        }
    }
    return least;
}

/* No place holds both kinds of bounds: the nearest is where both are missed alike. */
static double next_balanced(const sp_answer *answer, const seek_variant *variant,
                            const seek_record **sorted, int count, double crossing,
                            bracket_point *point)
{
    const sp_target *target = answer->target;
    const double within = target->variable[target->first].within;
    double nearest = -INFINITY;
    bracket b = {.low = variant->low, .high = crossing, .within = within, .point = point};
    for (int i = 0; i < count; i++) {
        const double x = sorted[i]->x[target->first];
        nearest = fmax(nearest, sorted[i]->least);
        if (x > crossing) continue;
        point[b.count++] =
            (bracket_point){x, side_margin(target, sorted, count, sorted[i], EASIER) -
                                   side_margin(target, sorted, count, sorted[i], HARDER)};
    }
    if (nearest > CLOSE) b.within = 0.25 * within; /* the place may be narrower than `within` */
    return bracket_next(&b);
}

/* Uneven figures: look from `from` upwards, in steps, as far as the harder bounds hold. */
static double next_step(const sp_answer *answer, const seek_variant *variant,
                        const seek_record **sorted, int count, double from)
{
    const sp_target *target = answer->target;
    const double within = target->variable[target->first].within;
    const double step = fmax(within, (variant->high - variant->low) / SCAN_PARTS);
    double x = from;
    for (int i = 0; i <= count; i++) {
        const double next = i < count ? sorted[i]->x[target->first] : variant->high;
        if (next <= x) continue;
        if (next - x > step * (1 + 1e-9)) return x + fmin(step, 0.5 * (next - x));
        x = next;
        if (i < count && side_margin(target, sorted, count, sorted[i], HARDER) < 0) break;
    }
    return NAN;
}

/* First where the easier bounds begin to hold; then, when others do not hold there, on from that place. */
static double next_first(const sp_answer *answer, const seek_variant *variant,
                         const seek_record **sorted, int count, bracket_point *point)
{
    const sp_target *target = answer->target;
    const int first = target->first;
    const double range = variant->high - variant->low;
    const double within = target->variable[first].within;
    bracket b = {.low = variant->low,
                 .high = variant->high,
                 .within = within,
                 .count = count,
                 .point = point};
    int held = 0;
    for (int i = 0; i < count; i++)
        point[i] = (bracket_point){sorted[i]->x[first],
                                   side_margin(target, sorted, count, sorted[i], EASIER)};
    const double next = bracket_next(&b), crossing = bracket_crossing(&b);
    if (!isnan(next) || isnan(crossing)) return next;
    while (held < count && !(sorted[held]->least >= 0)) held++;
    if (held < count) { /* a place is found; close to it a lighter one? */
        const double x = sorted[held]->x[first], before = held ? sorted[held - 1]->x[first] : x;
        return x > crossing && x - before > within * (1 + 1e-9) ? 0.5 * (x + before) : NAN;
    }
    /* from a corner of the range a figure may seem to fall that rises */
    if (sorted[count - 1]->x[first] - sorted[0]->x[first] < CORNER * range)
        return variant->low + 0.5 * range;
    for (int i = 0; i < count; i++)
        if (!(sorted[i]->x[first] < crossing) &&
            side_margin(target, sorted, count, sorted[i], HARDER) >= 0)
            return next_step(answer, variant, sorted, count, crossing);
    return next_balanced(answer, variant, sorted, count, crossing, point);
}

/* The search is over by what is known: which of the points that decide has not all of its flaw seeds? These are the first
 * that holds and the one below it; without one that holds, the nearest. NULL: all have them. */
static const seek_record *find_open(const sp_target *target, const seek_record *const *sorted,
                                    int count)
{
    const seek_record *open = NULL, *nearest = NULL;
    int held = 0;
    while (held < count && !(sorted[held]->least >= 0)) held++;
    if (held < count) {
        if (sorted[held]->seeds < target->seed_count) return sorted[held];
        open = held ? sorted[held - 1] : NULL;
        return open && open->seeds < target->seed_count ? open : NULL;
    }
    for (int i = 0; i < count; i++) {
        const int whole = sorted[i]->seeds == target->seed_count;
        const seek_record **best = whole ? &nearest : &open;
        if (!*best || sorted[i]->least > (*best)->least || isnan((*best)->least)) *best = sorted[i];
    }
    /* a little nearer with one seed alone is no news */
    if (!nearest || !open) return open;
    return isfinite(open->least) && !(nearest->least + NO_NEWS >= open->least) ? open : NULL;
}

/* Are all flaw seeds known close to x? Then the search is near its end. */
static int is_near_whole(const sp_target *target, const seek_record *const *sorted, int count,
                         double x)
{
    const double within = target->variable[target->first].within;
    int whole = 0;
    for (int i = 0; i < count; i++)
        whole |= sorted[i]->seeds == target->seed_count &&
                 fabs(sorted[i]->x[target->first] - x) <= NEAR * within;
    return whole;
}

/* The next point of a variant; 0 when its search is over. The way is found with the first flaw seed, the end with all. */
static int next_point(const sp_answer *answer, const seek_variant *variant,
                      const seek_record **sorted, bracket_point *point, seek_wanted *wanted)
{
    const sp_target *target = answer->target;
    const int first = target->first;
    memcpy(wanted->x, variant->x, sizeof variant->x);
    wanted->seeds = target->seed_count;
    if (first < 0) return variant->count == 0;
    const int count = list_records(answer, variant, sorted);
    const double next = next_first(answer, variant, sorted, count, point);
    if (!isnan(next)) {
        wanted->x[first] = seek_variable_round(&target->variable[first], next);
        if (!is_near_whole(target, sorted, count, wanted->x[first])) wanted->seeds = 1;
        /* a point that is known again says no more: rounding has met it */
        if (!seek_record_at(answer, variant, wanted->x)) return 1;
    }
    const seek_record *open = find_open(target, sorted, count);
    if (!open) return 0;
    memcpy(wanted->x, open->x, sizeof wanted->x);
    wanted->seeds = target->seed_count;
    return 1;
}

/* ---- rounds ---------------------------------------------------------------------------------------------------- */

/* Less of what is saved; of equal ones the smaller first variable. */
static int saves_more(const sp_target *target, const seek_record *a, const seek_record *b)
{
    const double mine = a->median[target->save], other = b->median[target->save];
    if (mine < other || mine > other || target->first < 0) return mine < other;
    return a->x[target->first] < b->x[target->first];
}

void seek_settle(const sp_answer *answer, seek_variant *variant)
{
    const int save = answer->target->save;
    variant->best = -1;
    variant->reached = 0;
    for (int i = 0; i < variant->count; i++) {
        const seek_record *r = &variant->record[i];
        const seek_record *b = variant->best >= 0 ? &variant->record[variant->best] : NULL;
        if (r->seeds < answer->target->seed_count) continue;
        const int reached = r->least >= 0 && isfinite(r->median[save]);
        int better = !b || (reached && !variant->reached);
        if (b && reached && variant->reached) better = saves_more(answer->target, r, b);
        if (b && !reached && !variant->reached) better = r->least > b->least || isnan(b->least);
        if (!better) continue;
        variant->best = i;
        variant->reached = reached;
    }
}

/* A sibling reaches the target with less than this variant has where it still misses it. */
static int is_beaten(const sp_answer *answer, const seek_variant *variant,
                     const seek_record **sorted)
{
    const sp_target *target = answer->target;
    const int save = target->save;
    double least = INFINITY, missed = -INFINITY;
    if (target->first < 0) return 0;
    for (int i = 0; i < answer->variant_count; i++) {
        const seek_variant *other = &answer->variant[i];
        if (other->candidate != variant->candidate || !other->reached || other == variant) continue;
        least = fmin(least, other->record[other->best].median[save]);
    }
    const int count = list_records(answer, variant, sorted);
    if (trend_of(sorted, count, save) != RISES) return 0;
    for (int i = 0; i < count; i++) {
        if (sorted[i]->least >= 0) return 0;
        /* missed because of bounds that get easier: the target lies above */
        if (side_margin(target, sorted, count, sorted[i], EASIER) < 0)
            missed = fmax(missed, sorted[i]->median[save]);
    }
    return missed >= least;
}

/* Is this condition missed at a record below `end` where all bounds of even figures hold? */
static int is_missed(const sp_target *target, const seek_record *const *sorted, int count,
                     int condition, double end)
{
    for (int i = 0; i < count; i++) {
        const double *margin = sorted[i]->margin[condition];
        if (sorted[i]->x[target->first] >= end || (margin[0] >= 0 && margin[1] >= 0)) continue;
        if (side_margin(target, sorted, count, sorted[i], EASIER) >= 0 &&
            side_margin(target, sorted, count, sorted[i], HARDER) >= 0)
            return 1;
    }
    return 0;
}

static sp_status find_uneven(sp_answer *answer, seek_variant *variant)
{
    const sp_target *target = answer->target;
    variant->uneven = -1;
    if (target->first < 0 || variant->best < 0) return SP_OK;
    const double end =
        variant->reached ? variant->record[variant->best].x[target->first] : INFINITY;
    const seek_record **sorted = sp_alloc((size_t)variant->count, sizeof *sorted);
    if (!sorted) return sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
    const int count = list_records(answer, variant, sorted);
    for (int c = 0; c < target->condition_count && variant->uneven < 0; c++)
        if (trend_of(sorted, count, target->condition[c].figure) == UNEVEN &&
            is_missed(target, sorted, count, c, end))
            variant->uneven = target->condition[c].figure;
    sp_free(sorted);
    return SP_OK;
}

int seek_free_count(const sp_target *target)
{
    int count = 0;
    for (int v = 0; v < target->variable_count; v++) count += !target->variable[v].whole;
    return count;
}

/* The bracket finds the smallest value of its variable: that is the answer when what is saved rises with it. */
static int bracket_is_enough(const sp_answer *answer, const seek_variant *variant,
                             const seek_record **sorted)
{
    const int count = list_records(answer, variant, sorted);
    return seek_free_count(answer->target) < 2 &&
           trend_of(sorted, count, answer->target->save) == RISES;
}

/* The points of one round; *wanted_count 0: every search is over. */
static sp_status list_wanted(sp_answer *answer, seek_wanted *wanted, int *wanted_count)
{
    sp_status status = SP_OK;
    *wanted_count = 0;
    for (int i = 0; i < answer->variant_count; i++) seek_settle(answer, &answer->variant[i]);
    for (int i = 0; i < answer->variant_count && status == SP_OK; i++) {
        seek_variant *variant = &answer->variant[i];
        seek_wanted *next = &wanted[*wanted_count];
        if (variant->state != VARIANT_ACTIVE) continue;
        const size_t room = (size_t)variant->count + 1;
        bracket_point *point = sp_alloc(room, sizeof *point);
        const seek_record **sorted = sp_alloc(room, sizeof *sorted);
        next->variant = i;
        if (!point || !sorted)
            status = sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
        else if (is_beaten(answer, variant, sorted))
            variant->state = VARIANT_DROPPED;
        else if (!next_point(answer, variant, sorted, point, next))
            variant->state = VARIANT_DONE;
        else
            (*wanted_count)++;
        sp_free(sorted);
        sp_free(point);
    }
    return status;
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

/* Each candidate from its best variant on, where the bracket is not enough. */
static sp_status search_several(sp_answer *answer)
{
    const int count = answer->target->candidate_count;
    sp_status status = SP_OK;
    seek_arrange(answer);
    for (int c = 0; c < count && status == SP_OK; c++) {
        const seek_variant *variant = &answer->variant[answer->best[c]];
        const seek_record **sorted = sp_alloc((size_t)variant->count + 1, sizeof *sorted);
        if (!sorted) return sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
        const int enough = bracket_is_enough(answer, variant, sorted);
        sp_free(sorted);
        answer->share_from = 0.5 + 0.5 * c / count;
        answer->share_to = 0.5 + 0.5 * (c + 1) / count;
        answer->round = 0;
        if (variant->best >= 0 && !enough) status = seek_several(answer, answer->best[c]);
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
    a->share_to = seek_free_count(target) > 1 ? 0.5 : 1;
    sp_status status = make_variants(a);
    for (int i = 0; i < a->variant_count && status == SP_OK; i++)
        status = trim_range(a, &a->variant[i]);
    if (status == SP_OK) status = seek_take_stored(a);
    if (status == SP_OK) status = seek_rounds(a);
    if (status == SP_OK && target->first >= 0) status = search_several(a);
    if (status == SP_OK) seek_arrange(a);
    for (int i = 0; i < a->variant_count && status == SP_OK; i++)
        status = find_uneven(a, &a->variant[i]);
    if (status == SP_OK) {
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
