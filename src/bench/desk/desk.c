/* The queue of a bench and its workers; see desk.h. */
#include "desk/desk.h"

#include <limits.h>
#include <omp.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "base/alloc.h"
#include "base/machine.h"
#include "run/result.h"

enum { WORKERS_MAX = 64 };
static const char store_name[] = "bench.store";

const char *sp_task_word(sp_task_state state)
{
    static const char *const word[] = {"waiting", "offered", "pressing",
                                       "done",    "stopped", "failed"};
    return word[state];
}

/* ---- progress of a task ----------------------------------------------- */

void sp_task_keep_progress(void *user, double fraction, const char *text)
{
    sp_task *task = user;
    pthread_mutex_lock(&task->desk->lock);
    task->share = fraction;
    task->seconds = sp_clock_seconds() - task->begun;
    task->left_low = task->told_low;
    task->left_high = task->told_high;
    task->told_low = task->told_high = 0;
    snprintf(task->doing, sizeof task->doing, "%s", text);
    pthread_mutex_unlock(&task->desk->lock);
}

void sp_task_keep_left(void *user, double low, double high)
{
    sp_task *task = user;
    pthread_mutex_lock(&task->desk->lock);
    task->told_low = low;
    task->told_high = high;
    pthread_mutex_unlock(&task->desk->lock);
}

void sp_task_begin(sp_task *task)
{
    task->begun = sp_clock_seconds();
}

void sp_task_end(sp_task *task, sp_task_state state, const char *message)
{
    task->state = state;
    snprintf(task->message, sizeof task->message, "%s", message);
    task->share = 1;
    task->left_low = task->left_high = 0;
    task->seconds = sp_clock_seconds() - task->begun;
    task->doing[0] = 0;
}

/* ---- workers ----------------------------------------------- */

/* Return the threads for one more task: the cores are shared among the tasks that run and wait. */
static int threads_for_one(const sp_desk *desk)
{
    int active = 0;
    for (int i = 0; i < desk->task_count; i++)
        active +=
            desk->task[i]->state == SP_TASK_RUNNING || desk->task[i]->state == SP_TASK_WAITING;
    const int threads = desk->worker_count / (active > 0 ? active : 1);
    return threads > 1 ? threads : 1;
}

/* Find the oldest task that waits, and mark it as running; NULL when the bench closes. Called with
 * the lock held. */
static sp_task *next_task(sp_desk *desk)
{
    while (!desk->ending) {
        for (int i = 0; i < desk->task_count; i++) {
            sp_task *task = desk->task[i];
            if (task->state != SP_TASK_WAITING) continue;
            task->threads = threads_for_one(desk);
            task->state = SP_TASK_RUNNING;
            return task;
        }
        pthread_cond_wait(&desk->wake, &desk->lock);
    }
    return NULL;
}

static void *work(void *user)
{
    sp_desk *desk = user;
    pthread_mutex_lock(&desk->lock);
    for (sp_task *task; (task = next_task(desk)) != NULL;) {
        pthread_mutex_unlock(&desk->lock);
        sp_queue_mark_begun(desk, task);
        omp_set_num_threads(task->threads);
        if (task->is_search)
            sp_desk_search(desk, task);
        else
            sp_desk_press(desk, task);
        pthread_mutex_lock(&desk->lock);
        if (task->state == SP_TASK_STOPPED && desk->ending)
            sp_queue_mark_waiting(desk, task);
        else
            sp_queue_remove(desk, task);
    }
    pthread_mutex_unlock(&desk->lock);
    return NULL;
}

static sp_status start_workers(sp_context *context, sp_desk *desk, int count)
{
    const int cores = omp_get_max_threads();
    if (count < 1) count = cores > 0 ? cores : 1;
    if (count > WORKERS_MAX) count = WORKERS_MAX;
    desk->worker = sp_alloc((size_t)count, sizeof *desk->worker);
    if (!desk->worker) return sp_fail(context, SP_NO_MEMORY, "no memory for the bench");
    pthread_mutex_lock(&desk->lock); /* the first ones wait until all are counted */
    for (; desk->worker_count < count; desk->worker_count++)
        if (pthread_create(&desk->worker[desk->worker_count], NULL, work, desk)) break;
    pthread_mutex_unlock(&desk->lock);
    if (!desk->worker_count) return sp_fail(context, SP_NO_MEMORY, "no thread for a press");
    return SP_OK;
}

/* ---- the bench ----------------------------------------------- */

sp_status sp_desk_open(sp_context *context, const char *folder, int workers, sp_desk **made)
{
    char path[SP_FILE_SIZE], *whole = realpath(folder, NULL);
    struct stat found;
    *made = NULL;
    if (!whole || stat(whole, &found) || !S_ISDIR(found.st_mode) ||
        strlen(whole) > SP_FILE_SIZE - 2 * SP_DESK_NAME) {
        free(whole);
        return sp_fail(context, SP_NO_READ,
                       "%s: received a folder that cannot be opened; valid: "
                       "the name of a folder that exists",
                       folder);
    }
    sp_desk *desk = sp_alloc(1, sizeof *desk);
    if (desk) desk->task = sp_alloc(SP_DESK_TASKS, sizeof *desk->task);
    if (!desk || !desk->task) {
        free(whole);
        sp_free(desk);
        return sp_fail(context, SP_NO_MEMORY, "no memory for the bench");
    }
    snprintf(desk->folder, sizeof desk->folder, "%s", whole);
    desk->interrupt = context->interrupt;
    free(whole);
    pthread_mutex_init(&desk->lock, NULL);
    pthread_cond_init(&desk->wake, NULL);
    sp_desk_path(desk, "", store_name, path);
    sp_status status = SP_OK;
    if (!sp_desk_keeps(desk, store_name))
        status = sp_fail(context, SP_NO_READ,
                         "%s: received a link out of the folder; valid: a store that stands in it",
                         path);
    if (status == SP_OK) status = sp_store_open(context, path, SP_STORE_WRITE, &desk->store);
    if (status == SP_OK) status = sp_queue_take(context, desk);
    if (status == SP_OK) status = start_workers(context, desk, workers);
    if (status != SP_OK) {
        sp_desk_close(desk);
        return status;
    }
    *made = desk;
    return SP_OK;
}

sp_task *sp_desk_make_task(sp_desk *desk, const char *name)
{
    sp_task *task = sp_alloc(1, sizeof *task);
    if (!task) return NULL;
    task->desk = desk;
    task->seeds = 1;
    task->curve_seed = -1;
    snprintf(task->name, sizeof task->name, "%s", name);
    return task;
}

void sp_desk_free_task(sp_task *task)
{
    if (!task) return;
    sp_target_free(task->target);
    sp_shape_free(&task->shape);
    sp_free(task->point);
    sp_free(task->band);
    free(task->answer);
    sp_free(task);
}

void sp_desk_close(sp_desk *desk)
{
    if (!desk) return;
    pthread_mutex_lock(&desk->lock);
    desk->ending = 1;
    for (int i = 0; i < desk->task_count; i++)
        __atomic_store_n(&desk->task[i]->interrupt, 1, __ATOMIC_RELAXED);
    pthread_cond_broadcast(&desk->wake);
    pthread_mutex_unlock(&desk->lock);
    for (int i = 0; i < desk->worker_count; i++) pthread_join(desk->worker[i], NULL);
    for (int i = 0; i < desk->task_count; i++) sp_desk_free_task(desk->task[i]);
    sp_store_close(desk->store);
    pthread_cond_destroy(&desk->wake);
    pthread_mutex_destroy(&desk->lock);
    sp_free(desk->worker);
    sp_free(desk->task);
    sp_free(desk);
}

/* ---- tasks ----------------------------------------------- */

static sp_status make_room(sp_context *context, const sp_desk *desk)
{
    int waiting = 0;
    for (int i = 0; i < desk->task_count; i++) waiting += desk->task[i]->state == SP_TASK_WAITING;
    if (waiting >= SP_DESK_WAITING || desk->task_count >= SP_DESK_TASKS)
        return sp_fail(context, SP_BAD_USAGE,
                       "%d presses wait already; valid: wait for some of them, or a plan for "
                       "`strutpress batch`",
                       waiting);
    return SP_OK;
}

sp_status sp_desk_forecast(sp_context *context, sp_task *task)
{
    sp_resolved resolved;
    const sp_status status = sp_case_resolve(context, &task->request, &resolved);
    if (status == SP_OK) {
        task->seeds = sp_seeds_wanted(&resolved, 0);
        task->expected = resolved.expected.seconds;
        task->expected_low = resolved.expected.low;
        task->expected_high = resolved.expected.high;
    }
    sp_resolved_free(&resolved);
    return status;
}

sp_status sp_desk_add(sp_context *context, sp_desk *desk, const char *name, const sp_case *request,
                      sp_target *target, const char *folder, long *id)
{
    sp_task *task = sp_desk_make_task(desk, name);
    if (!task) {
        sp_target_free(target);
        return sp_fail(context, SP_NO_MEMORY, "no memory for another press");
    }
    task->target = target;
    task->is_search = target != NULL;
    if (request) task->request = *request;
    snprintf(task->folder, sizeof task->folder, "%s", folder ? folder : "");
    sp_status status = target ? SP_OK : sp_desk_forecast(context, task);
    pthread_mutex_lock(&desk->lock);
    if (status == SP_OK) status = make_room(context, desk);
    /* The lock is held while the small file is written, so that no task begins before it has its
     * file. */
    if (status == SP_OK) status = sp_queue_write(context, desk, task);
    if (status == SP_OK) {
        task->id = *id = desk->task_count + 1;
        desk->task[desk->task_count++] = task;
        pthread_cond_signal(&desk->wake);
    }
    pthread_mutex_unlock(&desk->lock);
    if (status != SP_OK) sp_desk_free_task(task);
    return status;
}

sp_task *sp_desk_find(const sp_desk *desk, long id)
{
    return id >= 1 && id <= desk->task_count ? desk->task[id - 1] : NULL;
}

int sp_desk_stop(sp_desk *desk, long id)
{
    pthread_mutex_lock(&desk->lock);
    sp_task *task = sp_desk_find(desk, id);
    if (task && (task->state == SP_TASK_WAITING || task->state == SP_TASK_OFFERED)) {
        task->state = SP_TASK_STOPPED;
        sp_queue_remove(desk, task);
    }
    if (task) __atomic_store_n(&task->interrupt, 1, __ATOMIC_RELAXED);
    pthread_mutex_unlock(&desk->lock);
    return task != NULL;
}

int sp_desk_again(sp_desk *desk, long id)
{
    pthread_mutex_lock(&desk->lock);
    sp_task *task = sp_desk_find(desk, id);
    if (task && task->state == SP_TASK_OFFERED) {
        task->state = SP_TASK_WAITING;
        task->message[0] = 0;
        pthread_cond_signal(&desk->wake);
    }
    pthread_mutex_unlock(&desk->lock);
    return task != NULL;
}

/* ---- coupons that are drawn for forms ----------------------------------------------- */

sp_desk_look *sp_desk_begin_look(sp_desk *desk)
{
    sp_desk_look *turn = NULL;
    pthread_mutex_lock(&desk->lock);
    for (int i = 0; i < SP_DESK_LOOKS && !turn; i++)
        if (!(desk->look[i].begun > 0)) turn = &desk->look[i];
    if (turn) *turn = (sp_desk_look){.begun = sp_clock_seconds()};
    pthread_mutex_unlock(&desk->lock);
    return turn;
}

void sp_desk_end_look(sp_desk *desk, sp_desk_look *turn)
{
    pthread_mutex_lock(&desk->lock);
    turn->begun = 0;
    pthread_mutex_unlock(&desk->lock);
}

void sp_desk_watch_looks(sp_desk *desk)
{
    const int ending = desk->interrupt && __atomic_load_n(desk->interrupt, __ATOMIC_RELAXED);
    pthread_mutex_lock(&desk->lock);
    for (int i = 0; i < SP_DESK_LOOKS; i++) {
        sp_desk_look *one = &desk->look[i];
        if (one->begun > 0 && (ending || sp_clock_seconds() - one->begun > SP_DESK_LOOK_SECONDS))
            __atomic_store_n(&one->interrupt, 1, __ATOMIC_RELAXED);
    }
    pthread_mutex_unlock(&desk->lock);
}
