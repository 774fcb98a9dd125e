/* Say what a search will take, before it begins. */
#include <math.h>
#include <omp.h>
#include <string.h>

#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "seek/seek_parts.h"

/* Points of a bracket take 4 to 8 presses as a rule; two of them get all flaw seeds (docs/seek.md).
 */
enum { USUAL_POINTS = 6, DECIDING_POINTS = 2 };

static int presses_of(const sp_target *target)
{
    const int seeds = target->seed_count;
    if (target->first < 0) return seeds;
    const int several = sp_seek_free_count(target) > 1 ? target->tries : 0;
    return USUAL_POINTS + several + DECIDING_POINTS * (seeds - 1);
}

/* Forecast the press in the middle of the range, or at its lower end where the middle cannot be
 * built. */
static sp_status forecast_variant(sp_answer *answer, const seek_variant *variant, double done,
                                  sp_forecast *forecast)
{
    const int first = answer->target->first;
    sp_status status = SP_BAD_CASE;
    for (int i = 0; i < 2 && status == SP_BAD_CASE; i++) {
        double x[SEEK_VARIABLE_MAX];
        sp_case request;
        sp_resolved resolved;
        sp_network network = {0};
        sp_watch part;
        sp_watch_part(&part, answer->context, done, "building networks");
        memcpy(x, variant->x, sizeof x);
        if (first >= 0)
            x[first] = i ? variant->low
                         : sp_seek_variable_round(&answer->target->variable[first],
                                                  0.5 * (variant->low + variant->high));
        sp_seek_record_case(answer, variant, x, 0, &request);
        status = sp_case_resolve(&part.inner, &request, &resolved);
        if (status == SP_OK) status = sp_resolved_network(&part.inner, &resolved, 1, &network);
        if (status == SP_OK)
            status = sp_forecast_network(&part.inner, &resolved.request, &network, forecast);
        sp_network_free(&network);
        sp_resolved_free(&resolved);
        if (status != SP_OK) sp_fail(answer->context, status, "%s", part.inner.message);
    }
    return status;
}

/* Its range is known. */
static sp_status look_at(sp_answer *answer, int i, sp_outlook *outlook)
{
    const seek_variant *variant = &answer->variant[i];
    sp_forecast forecast;
    char label[SEEK_LABEL_SIZE], reason[SP_MESSAGE_SIZE];
    const char *why = variant->reason;
    if (variant->state != VARIANT_EMPTY) {
        const sp_status status =
            forecast_variant(answer, variant, (double)i / answer->variant_count, &forecast);
        if (status == SP_NO_MEMORY || status == SP_NO_READ || status == SP_INTERRUPTED)
            return status;
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

sp_status sp_seek_say_forecast(sp_answer *answer)
{
    sp_context *context = answer->context;
    sp_outlook outlook = {.coupons = answer->variant_count};
    sp_status status = SP_OK;
    char all[32], here[32], range[80];
    if (!context->say) return SP_OK;
    for (int i = 0; i < answer->variant_count && status == SP_OK; i++)
        status = look_at(answer, i, &outlook);
    context->message[0] = 0; /* a candidate that cannot be built does not end the search */
    if (status == SP_INTERRUPTED)
        return sp_fail(context, status, "interrupted in the forecast; nothing was pressed");
    if (status != SP_OK || !outlook.presses) return status;
    int threads = answer->threads > 0 ? answer->threads : omp_get_max_threads();
    if (threads > outlook.presses) threads = outlook.presses;
    const sp_forecast_all sum =
        sp_forecast_of_all(outlook.seconds, outlook.coupons - outlook.refused);
    const double share = sum.seconds / threads;
    sp_forecast_time_text(sum.seconds, all, sizeof all);
    sp_forecast_range_text(sum.low, sum.high, range, sizeof range);
    sp_forecast_time_text(fmax(share, outlook.longest.seconds), here, sizeof here);
    sp_say(context,
           "%d candidate%s, about %d presses less those stored: %s of "
           "processor time on a workstation, %s on %d thread%s, up to %.0f MB each; 9 of 10 times "
           "%s",
           outlook.coupons - outlook.refused, outlook.coupons - outlook.refused == 1 ? "" : "s",
           outlook.presses, all, here, threads, threads == 1 ? "" : "s", 1e-6 * outlook.most_bytes,
           range);
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
        status = sp_seek_trim_range(answer, &answer->variant[i]);
        if (status == SP_OK) status = look_at(answer, i, outlook);
        if (status == SP_INTERRUPTED)
            sp_fail(context, status, "interrupted: %d of %d candidates looked at", i,
                    answer->variant_count);
    }
    sp_answer_free(answer);
    return status;
}
