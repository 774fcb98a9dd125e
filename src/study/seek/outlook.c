/* What a search will take, before it begins. */
#include <string.h>

#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "seek/seek_parts.h"

/* Points of a bracket take 4 to 8 presses as a rule; two of them get all flaw seeds (docs/seek.md). */
enum { USUAL_POINTS = 6, DECIDING_POINTS = 2 };

static int presses_of(const sp_target *target)
{
    const int seeds = target->seed_count;
    if (target->first < 0) return seeds;
    const int several = sp_seek_free_count(target) > 1 ? target->tries : 0;
    return USUAL_POINTS + several + DECIDING_POINTS * (seeds - 1);
}

/* In the middle of the range that can be built, or at its lower end where the middle cannot. */
static sp_status forecast_variant(sp_answer *answer, const seek_variant *variant,
                                  sp_forecast *forecast)
{
    const int first = answer->target->first;
    sp_status status = SP_BAD_CASE;
    for (int i = 0; i < 2 && status == SP_BAD_CASE; i++) {
        double x[SEEK_VARIABLE_MAX];
        sp_case request;
        sp_resolved resolved;
        sp_network network = {0};
        sp_context quiet = {0};
        memcpy(x, variant->x, sizeof x);
        if (first >= 0)
            x[first] = i ? variant->low
                         : sp_seek_variable_round(&answer->target->variable[first],
                                                  0.5 * (variant->low + variant->high));
        sp_seek_record_case(answer, variant, x, 0, &request);
        status = sp_case_resolve(&quiet, &request, &resolved);
        if (status == SP_OK) status = sp_resolved_network(&quiet, &resolved, 1, &network);
        if (status == SP_OK)
            status = sp_forecast_network(&quiet, &resolved.request, &network, forecast);
        sp_network_free(&network);
        sp_resolved_free(&resolved);
        if (status != SP_OK) sp_fail(answer->context, status, "%s", quiet.message);
    }
    return status;
}

static sp_status look_at(sp_answer *answer, int i, sp_outlook *outlook)
{
    seek_variant *variant = &answer->variant[i];
    sp_forecast forecast;
    char label[SEEK_LABEL_SIZE], reason[SP_MESSAGE_SIZE];
    sp_status status = sp_seek_trim_range(answer, variant);
    if (status != SP_OK) return status;
    const char *why = variant->reason;
    if (variant->state != VARIANT_EMPTY) {
        status = forecast_variant(answer, variant, &forecast);
        if (status == SP_NO_MEMORY || status == SP_NO_READ) return status;
        if (status == SP_OK) {
            sp_outlook_add(outlook, i + 1, &forecast, presses_of(answer->target), NULL);
            return SP_OK;
        }
        why = answer->context->message;
    }
    sp_seek_candidate_label(answer->target, variant->candidate, label);
    snprintf(reason, sizeof reason, "%.120s: %.600s", label, why);
    sp_outlook_add(outlook, i + 1, NULL, 0, reason);
    return SP_OK;
}

sp_status sp_target_outlook(sp_context *context, const sp_target *target, sp_outlook *outlook)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    sp_answer *answer = sp_alloc(1, sizeof *answer);
    memset(outlook, 0, sizeof *outlook);
    if (!answer) return sp_fail(context, SP_NO_MEMORY, "no memory for a search");
    *answer = (sp_answer){.target = target, .context = context};
    sp_status status = sp_seek_make_variants(answer);
    outlook->coupons = answer->variant_count;
    for (int i = 0; i < answer->variant_count && status == SP_OK; i++) {
        if (context->interrupt && *context->interrupt)
            status = sp_fail(context, SP_INTERRUPTED, "interrupted: %d of %d candidates looked at",
                             i, answer->variant_count);
        else
            status = look_at(answer, i, outlook);
        if (context->progress)
            context->progress(context->user, (i + 1.0) / answer->variant_count,
                              "building networks");
    }
    sp_answer_free(answer);
    return status;
}
