/* One press of a bench: its curve and its shape grow where the page can see them; then it goes into
 * the store. */
#include <string.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "desk/desk.h"

/* ---- while it presses ----------------------------------------------- */

static void keep_caution(void *user, const char *line)
{
    sp_task *task = user;
    pthread_mutex_lock(&task->desk->lock);
    const size_t used = strlen(task->cautions);
    snprintf(task->cautions + used, sizeof task->cautions - used, "%s%s", used ? "; " : "", line);
    pthread_mutex_unlock(&task->desk->lock);
}

/* This is called with the lock held. The curve of another seed replaces the one before. Without
 * memory the curve stays as it is while the press goes on. */
static void take_steps(sp_task *task, const sp_path *path, int seed)
{
    const int count = path->step_count + path->back_count;
    if (task->curve_seed != seed) task->point_count = 0;
    task->curve_seed = seed;
    if (count > task->point_room) {
        const int room = 2 * count + 64;
        double(*larger)[2] = sp_alloc((size_t)room, sizeof *larger);
        if (!larger) return;
        if (task->point_count)
            memcpy(larger, task->point, (size_t)task->point_count * sizeof *larger);
        sp_free(task->point);
        task->point = larger;
        task->point_room = room;
    }
    for (; task->point_count < count; task->point_count++) {
        const sp_step *step = sp_path_state(path, task->point_count);
        task->point[task->point_count][0] = step->shortening;
        task->point[task->point_count][1] = step->force;
    }
}

static void take_state(void *user, const sp_path *path)
{
    sp_task *task = user;
    const int last = path->shapes.frame_count - 1;
    pthread_mutex_lock(&task->desk->lock);
    take_steps(task, path, task->request.flaw_seed);
    if (last >= 0 && path->shapes.point_count &&
        (!task->shape.position || task->shape.step != path->shapes.frame_step[last]))
        sp_shape_take(path, last, &task->shape);
    pthread_mutex_unlock(&task->desk->lock);
}

/* ---- when it has pressed ----------------------------------------------- */

/* Each seed is a coupon of the store, like those of a plan. */
static sp_status put_seeds(sp_context *context, sp_desk *desk, const sp_task *task,
                           const sp_result *result, sp_coupon_key *known)
{
    sp_status status = SP_OK;
    for (int k = 0; k < task->seeds && status == SP_OK; k++) {
        const sp_result *one = sp_result_of_seed(result, k);
        sp_case request = task->request;
        if (!one) continue;
        if (task->seeds > 1) request.flaw_seed += k;
        status = sp_coupon_key_of_case(context, &request, known);
        if (status == SP_OK)
            status = sp_store_put(context, desk->store, known, sp_stop_outcome(sp_result_stop(one)),
                                  sp_result_reason(one), task->cautions, one);
    }
    return status;
}

/* Write the press in words into a file of its own. */
static sp_status keep_words(sp_context *context, const sp_desk *desk, const char *key,
                            const sp_result *result)
{
    char name[SP_DESK_NAME], path[SP_FILE_SIZE], words[SP_DESK_WORDS];
    sp_words(result, words, sizeof words);
    snprintf(name, sizeof name, "%s.words", key);
    if (!sp_desk_path(desk, "coupons", name, path)) return SP_OK;
    return sp_desk_write(context, path, words, strlen(words));
}

/* Into the store, with the case as a file and the states of the seed that was kept beside it, whose
 * key is `known` in the end. */
static sp_status keep(sp_context *context, sp_desk *desk, sp_task *task, const sp_result *result,
                      sp_coupon_key *known)
{
    char name[SP_DESK_NAME], path[SP_FILE_SIZE];
    int kept;
    sp_case request = task->request;
    const int seeds = sp_result_seeds(result, &kept);
    pthread_mutex_lock(&desk->lock); /* the page asks for tasks meanwhile */
    task->seeds = seeds;
    pthread_mutex_unlock(&desk->lock);
    if (seeds > 1) request.flaw_seed += kept;
    sp_status status = sp_coupon_key_of_case(context, &request, known);
    if (status == SP_OK) status = sp_desk_make_folder(context, desk, "coupons");
    snprintf(name, sizeof name, "%s.yaml", known->key);
    if (status == SP_OK && sp_desk_path(desk, "coupons", name, path))
        status = sp_desk_write_case(context, path, &task->request);
    if (status == SP_OK) status = sp_shapes_write(context, desk, known->key, result);
    if (status == SP_OK) status = keep_words(context, desk, known->key, result);
    if (status == SP_OK) status = put_seeds(context, desk, task, result, known);
    return status == SP_OK ? sp_coupon_key_of_case(context, &request, known) : status;
}

/* This is called with the lock held. */
static void take_band(sp_task *task, const sp_result *result)
{
    int count;
    const sp_band *band = sp_result_band(result, &count);
    if (!count) return;
    task->band = sp_alloc((size_t)count, sizeof *task->band);
    for (int i = 0; task->band && i < count; i++) {
        task->band[i][0] = band[i].strain * sp_result_case(result)->height;
        task->band[i][1] = band[i].low;
        task->band[i][2] = band[i].high;
        task->band_count = i + 1;
    }
}

static void finish(sp_desk *desk, sp_task *task, sp_status status, const char *message,
                   const sp_result *result, const char *key)
{
    char words[SP_DESK_WORDS] = "";
    if (result) sp_words(result, words, sizeof words);
    pthread_mutex_lock(&desk->lock);
    if (result) take_steps(task, sp_result_path(result), sp_result_case(result)->flaw_seed);
    if (result) take_band(task, result);
    const int stopped = task->interrupt != 0;
    sp_task_end(task,
                status == SP_OK && stopped && !key[0] ? SP_TASK_STOPPED
                : status == SP_OK                     ? SP_TASK_DONE
                : stopped                             ? SP_TASK_STOPPED
                                                      : SP_TASK_FAILED,
                message);
    snprintf(task->words, sizeof task->words, "%s", words);
    snprintf(task->key, sizeof task->key, "%s", key);
    pthread_mutex_unlock(&desk->lock);
}

void sp_desk_press(sp_desk *desk, sp_task *task)
{
    sp_context context = {.interrupt = &task->interrupt,
                          .warn = keep_caution,
                          .progress = sp_task_keep_progress,
                          .left = sp_task_keep_left,
                          .accepted = take_state,
                          .user = task};
    sp_coupon_key *known = sp_alloc(1, sizeof *known);
    sp_result *result = NULL;
    sp_task_begin(task);
    sp_status status = known ? sp_run_seeds(&context, &task->request, task->seeds, &result)
                             : sp_fail(&context, SP_NO_MEMORY, "no memory for a press");
    const int whole = status == SP_OK && sp_result_stop(result) != SP_STOP_INTERRUPTED;
    if (whole) sp_cautions_each(result, keep_caution, task);
    if (whole) status = keep(&context, desk, task, result, known);
    finish(desk, task, status, status == SP_OK ? sp_result_reason(result) : context.message, result,
           whole && status == SP_OK ? known->key : "");
    sp_result_free(result);
    sp_free(known);
}
