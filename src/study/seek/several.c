/* Several variables: NLopt's COBYLA (Powell 1994, A direct search optimization method that models
 * the objective and constraint functions by linear interpolation), from the best point of the
 * bracket on. The only user of nlopt.h.
 *
 *   u  the variables that are not whole numbers, each 0 .. 1 over its range
 *
 * COBYLA may end a little short of a bound. So the first variable is bracketed once more, with the
 * others as they are at its end, and the answer is the best point that was pressed. */
#include <math.h>
#include <nlopt.h>
#include <string.h>

#include "base/alloc.h"
#include "seek/seek_parts.h"

static const double first_step = 0.15; /* of each range */
static const double no_news = 1e-3;    /* a smaller saving is not worth a press */
/* It stands for a condition whose figure is not reached: missed by about a factor e. */
static const double not_known = 1.0;

typedef struct several {
    sp_answer *answer;
    int variant;
    nlopt_opt search;
    double scale; /* of what is saved, at the start */
    int count;    /* variables of the search */
    int variable[SEEK_VARIABLE_MAX];
    seek_record first_seed; /* the present record */
    sp_status status;
} several;

static void point_of(const several *s, const double *u, double *x)
{
    memcpy(x, s->answer->variant[s->variant].x, sizeof(double) * SEEK_VARIABLE_MAX);
    for (int i = 0; i < s->count; i++) {
        const seek_variable *v = &s->answer->target->variable[s->variable[i]];
        x[s->variable[i]] = sp_seek_variable_round(v, v->low + u[i] * (v->high - v->low));
    }
}

/* Find the record at u, which is pressed when it is new; NULL after a failure, which ends the
 * search. */
static const seek_record *press_at(several *s, const double *u)
{
    seek_wanted wanted = {.variant = s->variant, .seeds = 1};
    const seek_variant *variant = &s->answer->variant[s->variant];
    point_of(s, u, wanted.x);
    const seek_record *record = sp_seek_record_at(s->answer, variant, wanted.x);
    if (record || s->status != SP_OK) return record;
    s->status = sp_seek_press(s->answer, &wanted, 1);
    if (s->status == SP_OK) return sp_seek_record_at(s->answer, variant, wanted.x);
    nlopt_force_stop(s->search);
    return NULL;
}

/* Find the record by the first flaw seed alone, so that a point with all seeds does not stand out
 * from its neighbours; NULL as above. */
static const seek_record *judge_at(several *s, const double *u)
{
    const seek_record *record = press_at(s, u);
    if (!record) return NULL;
    s->first_seed = *record;
    s->first_seed.seeds = 1;
    sp_seek_judge_record(s->answer->target, &s->first_seed);
    return &s->first_seed;
}

static double saved(unsigned count, const double *u, double *gradient, void *user)
{
    several *s = user;
    (void)count, (void)gradient;
    const seek_record *record = judge_at(s, u);
    const double value = record ? record->median[s->answer->target->save] : NAN;
    return isfinite(value) ? value / s->scale : 2;
}

/* Find by how much every bound is missed: at most 0 where it holds. */
static void missed(unsigned bounds, double *result, unsigned count, const double *u,
                   double *gradient, void *user)
{
    several *s = user;
    const sp_target *target = s->answer->target;
    const seek_record *record = judge_at(s, u);
    unsigned used = 0;
    (void)count, (void)gradient;
    for (int c = 0; c < target->condition_count; c++)
        for (int side = 0; side < 2 && used < bounds; side++) {
            const double bound = side ? target->condition[c].high : target->condition[c].low;
            if (!isfinite(bound)) continue;
            const double margin = record ? record->margin[c][side] : NAN;
            result[used++] = isfinite(margin) ? -margin : not_known;
        }
}

static unsigned count_bounds(const sp_target *target)
{
    unsigned bounds = 0;
    for (int c = 0; c < target->condition_count; c++)
        bounds += (unsigned)isfinite(target->condition[c].low) +
                  (unsigned)isfinite(target->condition[c].high);
    return bounds;
}

static nlopt_result set_up(several *s, double *u)
{
    const sp_target *target = s->answer->target;
    const seek_variant *variant = &s->answer->variant[s->variant];
    double within[SEEK_VARIABLE_MAX], tolerance[2 * SEEK_CONDITION_MAX] = {0};
    for (int i = 0; i < s->count; i++) {
        const seek_variable *v = &target->variable[s->variable[i]];
        u[i] = (variant->record[variant->best].x[s->variable[i]] - v->low) / (v->high - v->low);
        within[i] = v->within / (v->high - v->low);
    }
    nlopt_result done = nlopt_set_lower_bounds1(s->search, 0);
    if (done > 0) done = nlopt_set_upper_bounds1(s->search, 1);
    if (done > 0) done = nlopt_set_min_objective(s->search, saved, s);
    if (done > 0)
        done =
            nlopt_add_inequality_mconstraint(s->search, count_bounds(target), missed, s, tolerance);
    if (done > 0) done = nlopt_set_initial_step1(s->search, first_step);
    if (done > 0) done = nlopt_set_xtol_abs(s->search, within);
    if (done > 0) done = nlopt_set_maxeval(s->search, target->tries);
    return done;
}

/* u becomes where the search ends. */
static sp_status search(several *s, double *u)
{
    double value;
    const seek_variant *variant = &s->answer->variant[s->variant];
    const double start = variant->record[variant->best].median[s->answer->target->save];
    s->scale = isfinite(start) && start > 0 ? start : 1;
    s->search = nlopt_create(NLOPT_LN_COBYLA, (unsigned)s->count);
    if (!s->search) return sp_fail(s->answer->context, SP_NO_MEMORY, "no memory for NLopt");
    nlopt_result done = set_up(s, u);
    if (done > 0) done = nlopt_optimize(s->search, u, &value);
    nlopt_destroy(s->search);
    if (s->status != SP_OK) return s->status;
    if (done == NLOPT_OUT_OF_MEMORY)
        return sp_fail(s->answer->context, SP_NO_MEMORY, "no memory for NLopt");
    if (done == NLOPT_INVALID_ARGS)
        return sp_fail(s->answer->context, SP_INTERNAL, "NLopt refuses the search");
    return SP_OK; /* the points count, however the search ended */
}

/* Find the points that hold with the first flaw seed and save more than the best one, the one that
 * saves most first. */
static int find_better(const several *s, double *x)
{
    const sp_target *target = s->answer->target;
    seek_variant *variant = &s->answer->variant[s->variant];
    sp_seek_settle(s->answer, variant);
    double least =
        variant->reached ? variant->record[variant->best].median[target->save] : INFINITY;
    int found = 0;
    for (int i = 0; i < variant->count; i++) {
        const seek_record *record = &variant->record[i];
        if (record->seeds == target->seed_count || !(record->least >= 0)) continue;
        if (!(record->median[target->save] < (1 - no_news) * least)) continue;
        least = record->median[target->save];
        memcpy(x, record->x, sizeof record->x);
        found = 1;
    }
    return found;
}

sp_status sp_seek_several(sp_answer *answer, int index)
{
    several s = {.answer = answer, .variant = index};
    const sp_target *target = answer->target;
    seek_variant *variant = &answer->variant[index];
    double u[SEEK_VARIABLE_MAX], end[SEEK_VARIABLE_MAX];
    for (int v = 0; v < target->variable_count; v++)
        if (!target->variable[v].whole) s.variable[s.count++] = v;
    sp_status status = search(&s, u);
    if (status != SP_OK) return status;
    point_of(&s, u, end);
    memcpy(variant->x, end, sizeof variant->x);
    variant->state = VARIANT_ACTIVE;
    status = sp_seek_rounds(answer);
    seek_wanted wanted = {.variant = index, .seeds = target->seed_count};
    while (status == SP_OK && find_better(&s, wanted.x)) status = sp_seek_press(answer, &wanted, 1);
    return status;
}
