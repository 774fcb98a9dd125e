/* Say what a plan will take: every network is built and its press is forecast, and none is pressed.
 */
#include <string.h>

#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "base/poll.h"
#include "batch/plan_parts.h"

/* Return whether two texts have the same words, whatever the numbers in them. */
static int same_words(const char *a, const char *b)
{
    static const char number[] = "0123456789.+-";
    for (;;) {
        a += strspn(a, number);
        b += strspn(b, number);
        if (*a != *b) return 0;
        if (!*a) return 1;
        a++;
        b++;
    }
}

static void add_refusal(sp_outlook *outlook, int number, const char *reason)
{
    outlook->refused++;
    for (int i = 0; i < outlook->refusal_count; i++)
        if (same_words(outlook->refusal[i].text, reason)) {
            outlook->refusal[i].count++;
            return;
        }
    if (outlook->refusal_count == SP_REFUSAL_MAX) return;
    sp_refusal *mine = &outlook->refusal[outlook->refusal_count++];
    *mine = (sp_refusal){.count = 1, .first = number};
    snprintf(mine->text, sizeof mine->text, "%s", reason);
}

void sp_outlook_add(sp_outlook *outlook, int number, const sp_forecast *forecast, int presses,
                    const char *reason)
{
    outlook->looked_at++;
    if (!forecast) {
        add_refusal(outlook, number, reason);
        return;
    }
    outlook->presses += presses;
    outlook->seconds += presses * forecast->seconds;
    if (forecast->bytes > outlook->most_bytes) outlook->most_bytes = forecast->bytes;
    if (outlook->longest_number && forecast->seconds <= outlook->longest.seconds) return;
    outlook->longest = *forecast;
    outlook->longest_number = number;
}

/* Do what a press would do before its first step. */
static sp_status forecast_one(sp_context *context, const sp_case *request, sp_forecast *forecast)
{
    sp_network network = {0};
    sp_resolved resolved;
    char what[64];
    sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK) { /* a network that is too large is not even built */
        snprintf(what, sizeof what, "a press of %.3g struts", resolved.expected.struts);
        status = sp_memory_expect(context, resolved.expected.bytes, what);
    }
    if (status == SP_OK)
        status = sp_resolved_network(context, &resolved, request->flaw_seed != 0, &network);
    if (status == SP_OK)
        status = sp_forecast_network(context, &resolved.request, &network, forecast);
    sp_network_free(&network);
    sp_resolved_free(&resolved);
    return status;
}

sp_status sp_plan_outlook(sp_context *context, const sp_plan *plan, sp_outlook *outlook)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    plan_job *job;
    memset(outlook, 0, sizeof *outlook);
    sp_status status = sp_plan_list_jobs(context, plan, &job, &outlook->coupons);
    if (status != SP_OK) return status;
    sp_plan_sort_jobs(job, outlook->coupons);
    for (int i = 0; i < outlook->coupons && status == SP_OK; i++) {
        sp_watch part;
        sp_case request;
        sp_forecast forecast;
        sp_watch_part(&part, context, (double)i / outlook->coupons, "building networks");
        sp_plan_case(plan, job[i].index, &request);
        const sp_status built = forecast_one(&part.inner, &request, &forecast);
        const int number = sp_plan_number(plan, job[i].index);
        if (sp_interrupted(context)) {
            status = sp_fail(context, SP_INTERRUPTED, "interrupted: %d of %d coupons looked at", i,
                             outlook->coupons);
            break;
        }
        if (built == SP_OK)
            sp_outlook_add(outlook, number, &forecast, 1, NULL);
        else
            sp_outlook_add(outlook, number, NULL, 0,
                           part.inner.message[0] ? part.inner.message : sp_status_text(built));
    }
    sp_free(job);
    return status;
}
