/* Order the coupons of a plan by expected work, and deal them out among machines. */
#include <stdlib.h>
#include <string.h>

#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "batch/plan_parts.h"

/* Find key and expected work of one coupon; a coupon that cannot be built counts as no work. */
static sp_status make_job(sp_context *context, const sp_plan *plan, int index, plan_job *job)
{
    sp_watch part;
    sp_case request;
    sp_resolved resolved;
    sp_coupon_key known;
    sp_watch_part(&part, context, 0, "listing the coupons");
    sp_plan_case(plan, index, &request);
    sp_status status = sp_case_resolve(&part.inner, &request, &resolved);
    *job = (plan_job){.index = index};
    if (status == SP_OK) job->work = resolved.expected.seconds;
    if (status == SP_OK) job->bytes = resolved.expected.bytes;
    if (sp_interrupted(context))
        status = sp_fail(context, SP_INTERRUPTED,
                         "interrupted while the coupons were listed; nothing was pressed");
    else if (status == SP_NO_MEMORY)
        sp_fail(context, status, "%s", part.inner.message);
    else
        status = sp_coupon_key_of(context, &resolved, &known);
    if (status == SP_OK) memcpy(job->key, known.key, sizeof known.key);
    sp_resolved_free(&resolved);
    return status;
}

static int compare_keys(const void *left, const void *right)
{
    const plan_job *a = left, *b = right;
    const int order = strcmp(a->key, b->key);
    return order ? order : (a->index > b->index) - (a->index < b->index);
}

static int compare_work(const void *left, const void *right)
{
    const plan_job *a = left, *b = right;
    if (a->work > b->work || a->work < b->work) return a->work > b->work ? -1 : 1;
    return (a->index > b->index) - (a->index < b->index);
}

/* Coupons may be equal: two densities that round to the same text, or a pattern under both of its
 * names. */
static int drop_equal(plan_job *job, int count)
{
    int kept = 0;
    qsort(job, (size_t)count, sizeof *job, compare_keys);
    for (int i = 0; i < count; i++)
        if (!kept || strcmp(job[i].key, job[kept - 1].key))
            memmove(&job[kept++], &job[i], sizeof *job);
    return kept;
}

sp_status sp_plan_list_jobs(sp_context *context, const sp_plan *plan, plan_job **job, int *count)
{
    const int planned = sp_plan_count(plan);
    *job = sp_alloc((size_t)planned, sizeof **job);
    sp_status status =
        *job ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for %d coupons", planned);
    for (int i = 0; i < planned && status == SP_OK; i++)
        status = make_job(context, plan, i, &(*job)[i]);
    if (status != SP_OK) {
        sp_free(*job);
        *job = NULL;
        *count = 0;
        return status;
    }
    *count = drop_equal(*job, planned);
    qsort(*job, (size_t)*count, sizeof **job, compare_work);
    return SP_OK;
}

static int compare_places(const void *left, const void *right)
{
    const plan_job *a = left, *b = right;
    return (a->index > b->index) - (a->index < b->index);
}

void sp_plan_sort_jobs(plan_job *job, int count)
{
    qsort(job, (size_t)count, sizeof *job, compare_places);
}

/* ---- shares ----------------------------------------------- */

/* Shares are dealt there and back, so that the first share does not get the largest coupon of every
 * round: 1 2 3 3 2 1 1 2 3 ... */
static int dealt_to(int turn, int shares)
{
    const int round = turn / shares, place = turn % shares;
    return round % 2 ? shares - place : place + 1;
}

static int compare_indices(const void *left, const void *right)
{
    const int a = *(const int *)left, b = *(const int *)right;
    return (a > b) - (a < b);
}

sp_status sp_plan_share(sp_context *context, sp_plan *plan, int share, int shares)
{
    plan_job *job;
    int count, kept = 0;
    if (share < 1 || share > shares)
        return sp_fail(context, SP_BAD_USAGE, "received share %d of %d; valid: 1 .. %d", share,
                       shares, shares);
    sp_status status = sp_plan_list_jobs(context, plan, &job, &count);
    if (status != SP_OK) return status;
    int *mine = sp_alloc((size_t)count, sizeof *mine);
    int *number = sp_alloc((size_t)count, sizeof *number);
    if (!mine || !number) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d coupons", count);
        goto done;
    }
    for (int i = 0; i < count; i++)
        if (dealt_to(i, shares) == share) mine[kept++] = job[i].index;
    qsort(mine, (size_t)kept, sizeof *mine, compare_indices);
    for (int i = 0; i < kept; i++) {
        number[i] = sp_plan_number(plan, mine[i]);
        plan->place[i] = plan->place[mine[i]]; /* mine[i] >= i: nothing is overwritten early */
    }
    plan->count = kept;
    sp_free(plan->number);
    plan->number = number;
    number = NULL; /* it is the plan's */
done:
    sp_free(number);
    sp_free(mine);
    sp_free(job);
    return status;
}
