/* Press the coupons whose states are drawn. */
#include "report/report_parts.h"

#include <math.h>
#include <omp.h>
#include <string.h>

#include <strutpress/inspect.h>

#include "base/machine.h"

/* Forces may differ by this share of the largest one: other builds differ in the last digits. */
static const double same_force = 1e-6;

/* Where the context of one press leads: its cautions are kept with the coupon, and its progress
 * becomes a share of the progress of all presses. */
typedef struct watcher {
    const report *report;
    shown *one;
} watcher;

static void keep_caution(void *user, const char *line)
{
    watcher *w = user;
    sp_notes_add(&w->one->notes, line);
}

static void tell_progress(void *user, double fraction, const char *text)
{
    watcher *w = user;
    const report *r = w->report;
    (void)text;
#pragma omp critical(sp_report)
    {
        double sum = 0;
        w->one->done = fraction;
        for (int i = 0; i < r->shown_count; i++) sum += r->shown[i].done;
        if (r->context->progress)
            r->context->progress(r->context->user, sum / r->shown_count, "pressing for the page");
    }
}

static void press_one(const report *r, shown *one)
{
    watcher w = {r, one};
    sp_context own = {.interrupt = r->context->interrupt,
                      .warn = keep_caution,
                      .progress = tell_progress,
                      .user = &w};
    sp_inspection inspection;
    one->outcome = sp_result_press(&own, &one->request, &one->result);
    tell_progress(&w, 1, "");
    const char *reason = one->outcome == SP_OK ? one->result.path.reason : own.message;
    snprintf(one->reason, sizeof one->reason, "%s", reason);
    if (one->outcome == SP_OK) one->outcome = sp_stop_outcome(one->result.path.end);
    if (!one->result.path.step_count) return;
    const sp_status looked =
        sp_inspect(&own, &one->result.request, &one->result.network, &inspection);
    if (looked == SP_NO_MEMORY) one->outcome = looked;
}

/* Return the first status that ends the report, or SP_OK: an interruption, lack of memory, and with
 * `strict` a case that could not be pressed. */
static sp_status sum_up(const report *r, int strict)
{
    for (int i = 0; i < r->shown_count; i++) {
        const shown *one = &r->shown[i];
        const int is_kept = one->outcome == SP_OK || one->outcome == SP_GAVE_UP;
        if (one->outcome == SP_INTERRUPTED)
            return sp_fail(r->context, SP_INTERRUPTED, "interrupted: no page is written");
        if (one->outcome == SP_NO_MEMORY || (strict && !is_kept))
            return sp_fail(r->context, one->outcome, "%s",
                           one->reason[0] ? one->reason : sp_status_text(one->outcome));
    }
    return SP_OK;
}

sp_status sp_report_press(report *r, int strict)
{
    int threads = r->options->threads > 0 ? r->options->threads : omp_get_max_threads();
    if (threads > r->shown_count) threads = r->shown_count > 0 ? r->shown_count : 1;
    threads = sp_thread_room(threads);
    r->threads = threads;
#pragma omp parallel for schedule(dynamic) num_threads(threads)
    for (int i = 0; i < r->shown_count; i++) press_one(r, &r->shown[i]);
    return sum_up(r, strict);
}

sp_status sp_report_check_curve(report *r, shown *one)
{
    const sp_path *path = &one->result.path;
    char line[200];
    int count;
    double largest = 0, off = 0;
    sp_curve_point *point;
    sp_status status = sp_store_curve(r->context, r->store, one->id, &count, &point);
    for (int i = 0; i < count && i < path->step_count; i++) {
        largest = fmax(largest, fabs(point[i].force));
        off = fmax(off, fabs(point[i].force - path->step[i].force));
    }
    sp_store_free_curve(point);
    if (status != SP_OK || (count == path->step_count && off <= same_force * largest))
        return status;
    snprintf(line, sizeof line,
             "pressed again for the drawn states, this coupon differs from its stored curve (%d "
             "steps, stored %d; force off by up to %.3g N): another build pressed it",
             path->step_count, count, off);
    sp_notes_add(&one->notes, line);
    return SP_OK;
}
