/* Press a plan into a store: each thread takes the largest coupon that is left, and every finished
 * coupon is committed at once. */
#include <strutpress/batch.h>

#include <omp.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "base/machine.h"
#include "batch/plan_parts.h"
#include "caution/caution.h"

enum { CAUTIONS_SIZE = 2048 };

typedef struct batch {
    sp_context *context;
    const sp_plan *plan;
    sp_store *store;
    sp_batch_report *report;
    plan_job *job;
    int count, next;
    double work, work_done, begin;
    sp_status status; /* what ended the batch early */
} batch;

/* ---- what is to do ----------------------------------------------- */

static sp_status list_jobs(batch *b)
{
    sp_case request;
    sp_coupon_key known;
    sp_status status = sp_plan_list_jobs(b->context, b->plan, &b->job, &b->report->planned);
    for (int i = 0; i < b->report->planned && status == SP_OK; i++) {
        int found = 0;
        sp_plan_case(b->plan, b->job[i].index, &request);
        status = sp_coupon_key_of_case(b->context, &request, &known);
        if (status == SP_OK) status = sp_store_has(b->context, b->store, &known, &found);
        if (status != SP_OK) return status;
        b->report->stored += found;
        if (!found) b->work += b->job[i].work;
        if (!found) memmove(&b->job[b->count++], &b->job[i], sizeof *b->job);
    }
    return status;
}

/* ---- one coupon ----------------------------------------------- */

typedef struct cautions {
    char text[CAUTIONS_SIZE];
    size_t used;
} cautions;

static void keep_caution(void *user, const char *line)
{
    cautions *kept = user;
    int length = snprintf(kept->text + kept->used, sizeof kept->text - kept->used, "%s%s",
                          kept->used ? "; " : "", line);
    if (length > 0) kept->used += (size_t)length;
    if (kept->used >= sizeof kept->text) kept->used = sizeof kept->text - 1;
}

/* These ends say something about the machine or the user, and nothing about the coupon: it is
 * pressed again the next time. */
static int is_passing(sp_status outcome)
{
    return outcome == SP_INTERRUPTED || outcome == SP_NO_MEMORY || outcome == SP_NO_WRITE ||
           outcome == SP_NO_READ;
}

static void tell_progress(batch *b, double work)
{
    char text[96];
    b->work_done += work;
    if (!b->context->progress) return;
    const int done = b->report->pressed, all = b->report->planned;
    const double seconds = sp_clock_seconds() - b->begin;
    snprintf(text, sizeof text, "%d / %d coupons, %.3g per minute", done + b->report->stored, all,
             seconds > 0 ? 60 * done / seconds : 0.0);
    b->context->progress(b->context->user, b->work > 0 ? b->work_done / b->work : 1, text);
}

/* One thread at a time runs this; the store, the report and the context of the batch belong to it
 * meanwhile. */
static void finish(batch *b, const plan_job *done, const sp_coupon_key *known, sp_status outcome,
                   const sp_context *own, const char *kept, const sp_result *result)
{
    if (is_passing(outcome)) {
        b->report->not_stored++;
        if (outcome == SP_NO_MEMORY || outcome == SP_NO_READ)
            sp_warn(b->context, "coupon %d of the plan: %s; it is left for the next time",
                    sp_plan_number(b->plan, done->index), own->message);
        return;
    }
    const sp_status status = sp_store_put(b->context, b->store, known, outcome, own->message, kept,
                                          result->path.step_count ? result : NULL);
    if (status != SP_OK) {
        b->report->not_stored++;
        b->status = status;
        return;
    }
    b->report->pressed++;
    b->report->ended += outcome == SP_GAVE_UP;
    b->report->failed += outcome != SP_OK && outcome != SP_GAVE_UP;
    if (outcome != SP_OK)
        sp_warn(b->context, "coupon %d of the plan: %s", sp_plan_number(b->plan, done->index),
                own->message[0] ? own->message : sp_status_text(outcome));
    tell_progress(b, done->work);
}

/* Another batch on the same store may have pressed the coupon meanwhile. */
static int is_stored_now(batch *b, const sp_coupon_key *known)
{
    int found = 0;
#pragma omp critical(sp_batch)
    {
        if (b->status == SP_OK) b->status = sp_store_has(b->context, b->store, known, &found);
        b->report->stored += found;
    }
    return found;
}

/* A file of the coupon that was readable when the batch began is not readable now. */
static void end_batch(batch *b, sp_status status, const char *message)
{
#pragma omp critical(sp_batch)
    if (b->status == SP_OK) b->status = sp_fail(b->context, status, "%s", message);
}

static void press_one(batch *b, const plan_job *mine)
{
    sp_case request;
    sp_resolved resolved;
    sp_coupon_key known;
    sp_result result = {0};
    cautions kept = {0};
    sp_context own = {.interrupt = b->context->interrupt, .warn = keep_caution, .user = &kept};
    sp_plan_case(b->plan, mine->index, &request);
    sp_status outcome = sp_case_resolve(&own, &request, &resolved);
    sp_context keyed = {0};
    const sp_status named = sp_coupon_key_of(&keyed, &resolved, &known);
    if (named != SP_OK) {
        end_batch(b, named, keyed.message);
    } else if (!is_stored_now(b, &known)) {
        if (outcome == SP_OK) {
            outcome = sp_result_press_resolved(&own, &resolved, &result);
            if (outcome == SP_OK) { /* how the press ended is the outcome that is kept */
                outcome = sp_stop_outcome(result.path.end);
                memcpy(own.message, result.path.reason, sizeof own.message);
            }
        }
        if (result.path.step_count) sp_cautions_each(&result, keep_caution, &kept);
#pragma omp critical(sp_batch)
        finish(b, mine, &known, outcome, &own, kept.text, &result);
        sp_result_clear(&result);
    }
    sp_resolved_free(&resolved);
}

static int take_next(batch *b)
{
    int taken = -1;
#pragma omp critical(sp_batch)
    {
        const int left = b->next < b->count || b->report->not_stored;
        if (b->status == SP_OK && left && b->context->interrupt && *b->context->interrupt)
            b->status = SP_INTERRUPTED;
        if (b->status == SP_OK && b->next < b->count) taken = b->next++;
    }
    return taken;
}

/* Say before the first press what is left to press; no network is built for it. */
static void say_forecast(const batch *b, int threads)
{
    char all[32], here[32], range[80];
    const sp_forecast_all sum = sp_forecast_of_all(b->work, b->count);
    double bytes = 0;
    for (int i = 0; i < b->count; i++)
        if (b->job[i].bytes > bytes) bytes = b->job[i].bytes;
    const double longest = b->job[0].work, share = sum.seconds / threads;
    sp_forecast_time_text(sum.seconds, all, sizeof all);
    sp_forecast_range_text(sum.low, sum.high, range, sizeof range);
    sp_forecast_time_text(share > longest ? share : longest, here, sizeof here);
    sp_say(b->context,
           "%d coupons to press: %s of processor time on a workstation, %s on %d thread%s, "
           "up to %.0f MB each; 9 of 10 plans of as many random coupons take %s",
           b->count, all, here, threads, threads == 1 ? "" : "s", 1e-6 * bytes, range);
}

static sp_status press_plan(sp_context *context, const sp_plan *plan, sp_store *store, int threads,
                            int told, sp_batch_report *report)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    batch b = {.context = context, .plan = plan, .store = store, .report = report};
    memset(report, 0, sizeof *report);
    if (threads <= 0) threads = omp_get_max_threads();
    b.status = list_jobs(&b);
    if (b.status == SP_OK && b.count) {
        /* one press may use what is left of the threads for the elements of a large coupon, no more
         */
        const int asked = threads;
        if (threads > b.count) threads = b.count;
        threads = sp_thread_room(threads);
        b.begin = sp_clock_seconds();
        if (told) say_forecast(&b, threads);
#pragma omp parallel num_threads(threads)
        {
            omp_set_num_threads(asked / threads);
            for (int mine = take_next(&b); mine >= 0; mine = take_next(&b))
                press_one(&b, &b.job[mine]);
        }
    }
    report->threads = threads;
    report->not_stored = b.status == SP_OK || report->planned == 0
                             ? report->not_stored
                             : report->planned - report->stored - report->pressed;
    if (b.status == SP_INTERRUPTED && report->planned)
        sp_fail(context, SP_INTERRUPTED, "interrupted: %d coupons are stored, %d are left",
                report->stored + report->pressed, report->not_stored);
    sp_free(b.job);
    return b.status;
}

sp_status sp_batch_press(sp_context *context, const sp_plan *plan, sp_store *store, int threads,
                         sp_batch_report *report)
{
    return press_plan(context, plan, store, threads, 1, report);
}

sp_status sp_batch_press_cases(sp_context *context, const sp_case *request, int count,
                               sp_store *store, int threads, sp_batch_report *report)
{
    sp_plan *plan;
    memset(report, 0, sizeof *report);
    sp_status status = sp_plan_of_cases(context, request, count, &plan);
    if (status == SP_OK) status = press_plan(context, plan, store, threads, 0, report);
    sp_plan_free(plan);
    return status;
}
