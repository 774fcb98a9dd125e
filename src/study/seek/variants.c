/* Make variants: the candidates with each combination of their whole numbers, and the range in
 * which they can be built. */
#include <math.h>
#include <string.h>

#include <strutpress/network.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "seek/seek_parts.h"

enum { BUILD_TRIES = 8 };

/* Set number `place` of the combinations of whole numbers; the other variables start from the case,
 * or in the middle. */
static void fill_point(const sp_target *target, int candidate, int place, double *x)
{
    sp_case request;
    sp_seek_candidate_case(target, candidate, 0, &request);
    for (int v = target->variable_count - 1; v >= 0; v--) {
        const seek_variable *variable = &target->variable[v];
        const int span = (int)(variable->high - variable->low) + 1;
        const double given = sp_seek_variable_value(variable, &request);
        if (variable->whole) {
            x[v] = variable->low + place % span;
            place /= span;
        } else if (given >= variable->low && given <= variable->high) {
            x[v] = given;
        } else {
            x[v] = sp_seek_variable_round(variable, 0.5 * (variable->low + variable->high));
        }
    }
}

sp_status sp_seek_make_variants(sp_answer *answer)
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

/* Find out whether the coupon can be built. Say why not, and pass on failures that are not caused
 * by the coupon. */
static sp_status try_build(sp_answer *answer, const seek_variant *variant, double first, int *built,
                           char reason[SP_MESSAGE_SIZE])
{
    sp_watch part;
    sp_context *quiet = &part.inner;
    sp_case request;
    sp_resolved resolved = {0};
    sp_network network = {0};
    double x[SEEK_VARIABLE_MAX];
    memcpy(x, variant->x, sizeof x);
    sp_watch_part(&part, answer->context,
                  (double)(variant - answer->variant) / answer->variant_count,
                  "looking for what can be built");
    if (answer->target->first >= 0) x[answer->target->first] = first;
    sp_seek_record_case(answer, variant, x, 0, &request);
    sp_status status = SP_OK;
    /* A range that runs up to 100 % must not end in a coupon of another kind than it goes through.
     */
    if (strcmp(request.pattern, SP_SOLID_NAME) && sp_case_is_solid(&request))
        status = sp_fail(quiet, SP_BAD_CASE,
                         "infill.density 100 %% is the solid block; valid: below 100 %%, or "
                         "infill.pattern solid");
    if (status == SP_OK) status = sp_case_resolve(quiet, &request, &resolved);
    if (status == SP_OK) status = sp_resolved_network(quiet, &resolved, 0, &network);
    sp_network_free(&network);
    sp_resolved_free(&resolved);
    *built = status == SP_OK;
    if (sp_interrupted(answer->context))
        return sp_fail(answer->context, SP_INTERRUPTED,
                       "interrupted: %d of %d candidates looked at; nothing was pressed",
                       (int)(variant - answer->variant), answer->variant_count);
    if (status != SP_OK) snprintf(reason, SP_MESSAGE_SIZE, "%s", quiet->message);
    return status == SP_NO_MEMORY ? sp_fail(answer->context, status, "%s", quiet->message) : SP_OK;
}

/* Move `bad` to the edge of what can be built, on the side of `good`. */
static sp_status find_edge(sp_answer *answer, const seek_variant *variant, double good, double *bad,
                           char reason[SP_MESSAGE_SIZE])
{
    const seek_variable *first = &answer->target->variable[answer->target->first];
    sp_status status = SP_OK;
    double edge = *bad;
    while (fabs(good - edge) > 0.25 * first->within && status == SP_OK) {
        const double middle = sp_seek_variable_round(first, 0.5 * (good + edge));
        int built = 0;
        if (!(fabs(middle - good) > 0 && fabs(middle - edge) > 0)) break;
        status = try_build(answer, variant, middle, &built, reason);
        if (built)
            good = middle;
        else
            edge = middle;
    }
    *bad = good;
    return status;
}

int sp_seek_candidate_is_solid(const sp_target *target, int index)
{
    sp_case request;
    sp_seek_candidate_case(target, index, 0, &request);
    return !strcmp(request.pattern, SP_SOLID_NAME);
}

/* The solid block has one density, whatever the range is for the others. */
static int is_full(const sp_target *target, const seek_variant *variant)
{
    return target->first >= 0 && sp_seek_candidate_is_solid(target, variant->candidate) &&
           !strcmp(target->variable[target->first].key, "infill.density");
}

sp_status sp_seek_trim_range(sp_answer *answer, seek_variant *variant)
{
    const sp_target *target = answer->target;
    if (is_full(target, variant)) {
        variant->low = variant->high = 1;
        variant->state = VARIANT_ACTIVE;
        return SP_OK;
    }
    const seek_variable *first = target->first >= 0 ? &target->variable[target->first] : NULL;
    double good = NAN;
    int low_built = 0, high_built = 0;
    variant->low = first ? first->low : 0;
    variant->high = first ? first->high : 0;
    sp_status status = try_build(answer, variant, variant->low, &low_built, variant->low_reason);
    if (first && status == SP_OK)
        status = try_build(answer, variant, variant->high, &high_built, variant->high_reason);
    if (low_built || high_built) good = low_built ? variant->low : variant->high;
    for (int i = 1; first && i < BUILD_TRIES && !(good > 0 || good <= 0) && status == SP_OK; i++) {
        int built;
        const double x = sp_seek_variable_round(first, first->low + i * (first->high - first->low) /
                                                                        BUILD_TRIES);
        status = try_build(answer, variant, x, &built, variant->reason);
        if (built) good = x;
    }
    if (status != SP_OK) return status;
    variant->state = isfinite(good) ? VARIANT_ACTIVE : VARIANT_EMPTY;
    variant->reason[0] = 0;
    if (variant->state == VARIANT_EMPTY)
        memcpy(variant->reason, variant->low_reason, sizeof variant->reason);
    if (variant->state == VARIANT_EMPTY || !first) return SP_OK;
    if (!low_built) status = find_edge(answer, variant, good, &variant->low, variant->low_reason);
    if (!high_built && status == SP_OK)
        status = find_edge(answer, variant, good, &variant->high, variant->high_reason);
    return status;
}
