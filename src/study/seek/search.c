/* The search: rounds of presses that bracket the first variable of every variant, then the others.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "seek/bracket.h"
#include "seek/seek_parts.h"

/* The margin of a place that is looked at more closely. */
static const double close_margin = -0.05;
static const double no_news = 0.02;      /* a margin that differs by less is nothing new */
static const int near_steps = 3;         /* times `within` */
static const double corner_share = 0.25; /* of the range */
/* Least share of the ups and downs of a figure that leads from end to end. */
static const double even_share = 0.6;

enum { SCAN_PARTS = 12 };

/* ---- the next point of one variant ----------------------------------------------- */

/* The records of the present search, with the other variables as they are held, in the order of the
 * first variable. */
typedef struct track {
    const sp_target *target;
    double low, high, within; /* of the first variable */
    int count;
    const seek_record **record;
} track;

static double place_of(const track *t, int i)
{
    return t->record[i]->x[t->target->first];
}

/* `record` and `point` have room for all records of the variant. */
static track make_track(const sp_answer *answer, const seek_variant *variant,
                        const seek_record **record)
{
    const sp_target *target = answer->target;
    const int first = target->first;
    track t = {.target = target,
               .low = variant->low,
               .high = variant->high,
               .within = target->variable[first].within,
               .record = record};
    for (int i = 0; i < variant->count; i++) {
        double held[SEEK_VARIABLE_MAX];
        memcpy(held, variant->x, sizeof held);
        held[first] = variant->record[i].x[first];
        if (sp_seek_record_at(answer, variant, held) != &variant->record[i]) continue;
        if (!(held[first] >= t.low && held[first] <= t.high)) continue;
        int at = t.count++;
        for (; at > 0 && place_of(&t, at - 1) > held[first]; at--) record[at] = record[at - 1];
        record[at] = &variant->record[i];
    }
    return t;
}

/* Points in a corner of the range say little about the whole. */
static int is_corner(const track *t)
{
    return t->count < 2 ||
           place_of(t, t->count - 1) - place_of(t, 0) < corner_share * (t->high - t->low);
}

typedef enum { RISES, FALLS, UNEVEN } trend;

/* Measure how a figure goes along the records: the way from end to end against all its ups and
 * downs. As long as little is known it is taken to rise, as most figures do with the density. */
static trend trend_of(const track *t, int figure)
{
    double net = 0, all = 0, last = NAN;
    if (is_corner(t)) return RISES;
    for (int i = 0; i < t->count; i++) {
        const double value = t->record[i]->median[figure];
        if (!isfinite(value)) continue;
        if (isfinite(last)) {
            net += value - last;
            all += fabs(value - last);
        }
        last = value;
    }
    if (fabs(net) < even_share * all) return UNEVEN;
    return net >= 0 ? RISES : FALLS;
}

/* Kinds of bounds: those that get easier as the first variable grows, those that get harder, and
 * those of uneven figures. */
typedef enum { EASIER, HARDER, ANYHOW } side_kind;

/* Return the least margin of one kind of bounds at one record; infinite when there are none. */
static double side_margin(const track *t, int i, side_kind kind)
{
    double least = INFINITY;
    for (int c = 0; c < t->target->condition_count; c++) {
        const trend way = trend_of(t, t->target->condition[c].figure);
        for (int side = 0; side < 2; side++) {
            const double margin = t->record[i]->margin[c][side];
            const side_kind mine = way == UNEVEN             ? ANYHOW
                                   : (way == RISES) == !side ? EASIER
                                                             : HARDER;
            if (mine == kind && !(margin >= least)) least = margin;
        }
    }
    return least;
}

/* Find the first record at which all bounds hold; t->count when none does. */
static int find_held(const track *t)
{
    int held = 0;
    while (held < t->count && !(t->record[held]->least >= 0)) held++;
    return held;
}

/* No place meets both kinds of bounds: the nearest is where both are missed alike. */
static double next_balanced(const track *t, double crossing, bracket_point *point)
{
    double nearest = -INFINITY;
    bracket b = {.low = t->low, .high = crossing, .within = t->within, .point = point};
    for (int i = 0; i < t->count; i++) {
        nearest = fmax(nearest, t->record[i]->least);
        if (place_of(t, i) > crossing) continue;
        point[b.count++] =
            (bracket_point){place_of(t, i), side_margin(t, i, EASIER) - side_margin(t, i, HARDER)};
    }
    if (nearest > close_margin)
        b.within = 0.25 * t->within; /* the place may be narrower than `within` */
    return sp_bracket_next(&b);
}

/* Return the next place to look at for uneven figures: steps go from `from` up to `to`, as long as
 * the harder bounds hold. */
static double next_step(const track *t, double from, double to)
{
    const double step = fmax(t->within, (t->high - t->low) / SCAN_PARTS);
    double x = from;
    for (int i = 0; i <= t->count && x < to; i++) {
        const double next = i < t->count ? fmin(place_of(t, i), to) : to;
        if (next <= x) continue;
        if (next - x > step * (1 + 1e-9)) return x + fmin(step, 0.5 * (next - x));
        x = next;
        if (i < t->count && side_margin(t, i, HARDER) < 0) break;
    }
    return NAN;
}

/* A place is found. When uneven figures have led past the first place at which the easier bounds
 * hold, look whether there is a better place below. */
static double next_below(const track *t, double crossing, int held)
{
    const double x = place_of(t, held), before = held ? place_of(t, held - 1) : x;
    if (!(x > crossing)) return NAN;
    const double next = next_step(t, crossing, x);
    if (!isnan(next) || x - before <= t->within * (1 + 1e-9)) return next;
    return 0.5 * (x + before);
}

/* Look first where the easier bounds begin to hold; then, when others do not hold there, go on from
 * that place. */
static double next_place(const track *t, bracket_point *point)
{
    bracket b = {
        .low = t->low, .high = t->high, .within = t->within, .count = t->count, .point = point};
    for (int i = 0; i < t->count; i++)
        point[i] = (bracket_point){place_of(t, i), side_margin(t, i, EASIER)};
    const double next = sp_bracket_next(&b), crossing = sp_bracket_crossing(&b);
    if (!isnan(next) || isnan(crossing)) return next;
    const int held = find_held(t);
    if (held < t->count) return next_below(t, crossing, held);
    if (is_corner(t)) return t->low + 0.5 * (t->high - t->low);
    for (int i = 0; i < t->count; i++)
        if (!(place_of(t, i) < crossing) && side_margin(t, i, HARDER) >= 0)
            return next_step(t, crossing, t->high);
    return next_balanced(t, crossing, point);
}

/* The search is over by what is known. Find which of the points that decide has not all of its flaw
 * seeds: the first that holds and the one below it, or without one that holds, the nearest. NULL:
 * all have them. */
static const seek_record *find_open(const track *t)
{
    const int seeds = t->target->seed_count, held = find_held(t);
    const seek_record *open = NULL, *nearest = NULL;
    if (held < t->count) {
        if (t->record[held]->seeds < seeds) return t->record[held];
        return held && t->record[held - 1]->seeds < seeds ? t->record[held - 1] : NULL;
    }
    for (int i = 0; i < t->count; i++) {
        const seek_record **best = t->record[i]->seeds == seeds ? &nearest : &open;
        if (!*best || t->record[i]->least > (*best)->least || isnan((*best)->least))
            *best = t->record[i];
    }
    /* A point that is a little nearer with one seed alone is nothing new. */
    if (!nearest || !open) return open;
    return isfinite(open->least) && !(nearest->least + no_news >= open->least) ? open : NULL;
}

/* Return whether all flaw seeds are known close to x: then the search is near its end. */
static int is_near_whole(const track *t, double x)
{
    int whole = 0;
    for (int i = 0; i < t->count; i++)
        whole |= t->record[i]->seeds == t->target->seed_count &&
                 fabs(place_of(t, i) - x) <= near_steps * t->within;
    return whole;
}

/* Find the next point of a variant; 0 when its search is over. The way is found with the first flaw
 * seed, the end with all. */
static int next_point(const sp_answer *answer, const seek_variant *variant,
                      const seek_record **record, bracket_point *point, seek_wanted *wanted)
{
    const sp_target *target = answer->target;
    const int first = target->first;
    memcpy(wanted->x, variant->x, sizeof variant->x);
    wanted->seeds = target->seed_count;
    if (first < 0) return variant->count == 0;
    const track t = make_track(answer, variant, record);
    const double next = next_place(&t, point);
    if (!isnan(next)) {
        wanted->x[first] = variant->low < variant->high
                               ? sp_seek_variable_round(&target->variable[first], next)
                               : variant->low;
        if (!is_near_whole(&t, wanted->x[first])) wanted->seeds = 1;
        /* When a known point comes again, rounding has met it, and it says nothing new. */
        if (!sp_seek_record_at(answer, variant, wanted->x)) return 1;
    }
    const seek_record *open = find_open(&t);
    if (!open) return 0;
    memcpy(wanted->x, open->x, sizeof wanted->x);
    wanted->seeds = target->seed_count;
    return 1;
}

/* ---- rounds ----------------------------------------------- */

/* Less of what is saved is better, and of equal ones the smaller first variable. */
static int saves_more(const sp_target *target, const seek_record *a, const seek_record *b)
{
    const double mine = a->median[target->save], other = b->median[target->save];
    if (mine < other || mine > other || target->first < 0) return mine < other;
    return a->x[target->first] < b->x[target->first];
}

void sp_seek_settle(const sp_answer *answer, seek_variant *variant)
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

/* A point of another variant reaches the target with less than this variant has where it still
 * misses it. */
static int is_beaten(const sp_answer *answer, const seek_variant *variant,
                     const seek_record **record)
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
    const track t = make_track(answer, variant, record);
    if (trend_of(&t, save) != RISES || find_held(&t) < t.count) return 0;
    for (int i = 0; i < t.count; i++)
        if (side_margin(&t, i, EASIER) < 0) /* the target lies above */
            missed = fmax(missed, t.record[i]->median[save]);
    return missed >= least;
}

/* Return whether this condition is missed at a record below `end` where all bounds of even figures
 * hold. */
static int is_missed(const track *t, int condition, double end)
{
    for (int i = 0; i < t->count; i++) {
        const double *margin = t->record[i]->margin[condition];
        if (place_of(t, i) >= end || (margin[0] >= 0 && margin[1] >= 0)) continue;
        if (side_margin(t, i, EASIER) >= 0 && side_margin(t, i, HARDER) >= 0) return 1;
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
    const seek_record **record = sp_alloc((size_t)variant->count, sizeof *record);
    if (!record) return sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
    const track t = make_track(answer, variant, record);
    for (int c = 0; c < target->condition_count && variant->uneven < 0; c++)
        if (trend_of(&t, target->condition[c].figure) == UNEVEN && is_missed(&t, c, end))
            variant->uneven = target->condition[c].figure;
    sp_free(record);
    return SP_OK;
}

int sp_seek_free_count(const sp_target *target)
{
    int count = 0;
    for (int v = 0; v < target->variable_count; v++) count += !target->variable[v].whole;
    return count;
}

/* The bracket finds the smallest value of its variable: that is the answer when what is saved rises
 * with it. */
static int bracket_is_enough(const sp_answer *answer, const seek_variant *variant,
                             const seek_record **record)
{
    const track t = make_track(answer, variant, record);
    return sp_seek_free_count(answer->target) < 2 && trend_of(&t, answer->target->save) == RISES;
}

/* List the points of one round; *wanted_count 0: every search is over. */
static sp_status list_wanted(sp_answer *answer, seek_wanted *wanted, int *wanted_count)
{
    sp_status status = SP_OK;
    *wanted_count = 0;
    for (int i = 0; i < answer->variant_count; i++) sp_seek_settle(answer, &answer->variant[i]);
    for (int i = 0; i < answer->variant_count && status == SP_OK; i++) {
        seek_variant *variant = &answer->variant[i];
        seek_wanted *next = &wanted[*wanted_count];
        if (variant->state != VARIANT_ACTIVE) continue;
        const size_t room = (size_t)variant->count + 1;
        bracket_point *point = sp_alloc(room, sizeof *point);
        const seek_record **record = sp_alloc(room, sizeof *record);
        next->variant = i;
        if (!point || !record)
            status = sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
        else if (is_beaten(answer, variant, record))
            variant->state = VARIANT_DROPPED;
        else if (!next_point(answer, variant, record, point, next))
            variant->state = VARIANT_DONE;
        else
            (*wanted_count)++;
        sp_free(record);
        sp_free(point);
    }
    return status;
}

sp_status sp_seek_rounds(sp_answer *answer)
{
    int count = 0;
    seek_wanted *wanted = sp_alloc((size_t)answer->variant_count, sizeof *wanted);
    sp_status status =
        wanted ? SP_OK : sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
    while (status == SP_OK) {
        status = list_wanted(answer, wanted, &count);
        if (status != SP_OK || !count) break;
        status = sp_seek_press(answer, wanted, count);
    }
    sp_free(wanted);
    return status;
}

/* ---- order ----------------------------------------------- */

/* Return whether variant a is a better answer than b. */
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

void sp_seek_arrange(sp_answer *answer)
{
    const int count = answer->target->candidate_count;
    answer->reached_count = 0;
    for (int c = 0; c < count; c++) answer->best[c] = -1;
    for (int i = 0; i < answer->variant_count; i++) {
        int *best = &answer->best[answer->variant[i].candidate];
        sp_seek_settle(answer, &answer->variant[i]);
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

/* ---- the whole ----------------------------------------------- */

/* Search each candidate on from its best variant, where the bracket is not enough. */
static sp_status search_several(sp_answer *answer)
{
    const int count = answer->target->candidate_count;
    sp_status status = SP_OK;
    sp_seek_arrange(answer);
    for (int c = 0; c < count && status == SP_OK; c++) {
        const seek_variant *variant = &answer->variant[answer->best[c]];
        const seek_record **record = sp_alloc((size_t)variant->count + 1, sizeof *record);
        if (!record) return sp_fail(answer->context, SP_NO_MEMORY, "no memory for a search");
        const int enough = bracket_is_enough(answer, variant, record);
        sp_free(record);
        answer->share_from = 0.5 + 0.5 * c / count;
        answer->share_to = 0.5 + 0.5 * (c + 1) / count;
        answer->round = 0;
        if (variant->best >= 0 && !enough) status = sp_seek_several(answer, answer->best[c]);
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
    sp_context quiet = {0};
    if (!context) context = &quiet;
    sp_answer *a = sp_alloc(1, sizeof *a);
    *answer = NULL;
    if (!a) return sp_fail(context, SP_NO_MEMORY, "no memory for a search");
    *a = (sp_answer){.target = target, .store = store, .threads = threads, .context = context};
    a->share_to = sp_seek_free_count(target) > 1 ? 0.5 : 1;
    sp_status status = sp_seek_make_variants(a);
    for (int i = 0; i < a->variant_count && status == SP_OK; i++)
        status = sp_seek_trim_range(a, &a->variant[i]);
    if (status == SP_OK) status = sp_seek_say_forecast(a);
    if (status == SP_OK) status = sp_seek_take_stored(a);
    if (status == SP_OK) status = sp_seek_rounds(a);
    if (status == SP_OK && target->first >= 0) status = search_several(a);
    if (status == SP_OK) sp_seek_arrange(a);
    for (int i = 0; i < a->variant_count && status == SP_OK; i++)
        status = find_uneven(a, &a->variant[i]);
    if (status == SP_OK) {
        count_coupons(a);
        a->context = NULL; /* it belongs to this call only */
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
