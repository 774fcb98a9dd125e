/* These tests run what the program does on several threads: seeds of a press, a batch, a report,
 * the workers of a bench. Each gives the result of one thread; under `make thread-check` no race is
 * found. */
#include "check.h"

#include <omp.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <strutpress/batch.h>
#include <strutpress/report.h>

#include "desk/desk.h"

enum { THREADS = 4, COUPONS = 8 };

/* A coupon that presses within milliseconds; its kinds differ in pattern, density and seed. */
static sp_case coupon_of(int kind)
{
    static const char *const pattern[] = {"square", "triangular", "bricks", "hexagonal"};
    sp_case request;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "%s", pattern[kind % 4]);
    request.width = 9, request.height = 8, request.depth = 5;
    request.wall_beads = 1;
    request.density = 0.24 + 0.02 * (kind / 4);
    request.strain = 0.05;
    request.steps = 3;
    request.find_critical = kind % 2;
    request.flaw_seed = 1 + kind;
    return request;
}

/* List the forces of all seeds, one after another; returns how many. */
static int forces_of_seeds(int threads, double *force, int most)
{
    sp_context context = {0};
    sp_result *result;
    const sp_case request = coupon_of(1);
    int count = 0, kept;
    omp_set_num_threads(threads);
    if (sp_run_seeds(&context, &request, 5, &result) != SP_OK) fail_msg("%s", context.message);
    const int seeds = sp_result_seeds(result, &kept);
    for (int k = 0; k < seeds; k++) {
        int steps;
        const sp_step *step = sp_result_steps(sp_result_of_seed(result, k), &steps);
        for (int i = 0; i < steps && count < most; i++) force[count++] = step[i].force;
    }
    sp_result_free(result);
    return count;
}

static void seeds_of_a_press(void **state)
{
    (void)state;
    static double one[200], many[200];
    const int count = forces_of_seeds(1, one, 200);
    assert_int_equal(forces_of_seeds(THREADS, many, 200), count);
    check_true(count >= 5 * 4);
    assert_memory_equal(one, many, (size_t)count * sizeof *one);
}

typedef struct values {
    int count;
    double value[COUPONS];
} values;

static sp_status keep_value(void *user, long long id, double value)
{
    values *v = user;
    (void)id;
    if (v->count < COUPONS) v->value[v->count++] = value;
    return SP_OK;
}

static int by_size(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

static values stiffness_of_batch(int threads)
{
    sp_context context = {0};
    sp_store *store;
    sp_batch_report report;
    sp_case request[COUPONS];
    values v = {0};
    for (int i = 0; i < COUPONS; i++) request[i] = coupon_of(i);
    assert_int_equal(sp_store_open(&context, "", SP_STORE_MEMORY, &store), SP_OK);
    if (sp_batch_press_cases(&context, request, COUPONS, store, threads, &report) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(report.pressed, COUPONS);
    assert_int_equal(report.failed, 0);
    assert_int_equal(sp_store_each_value(&context, store, "initial_stiffness", keep_value, &v),
                     SP_OK);
    sp_store_close(store);
    qsort(v.value, (size_t)v.count, sizeof *v.value, by_size);
    return v;
}

static void coupons_of_a_batch(void **state)
{
    (void)state;
    const values one = stiffness_of_batch(1), many = stiffness_of_batch(THREADS);
    assert_int_equal(one.count, COUPONS);
    assert_int_equal(many.count, COUPONS);
    assert_memory_equal(one.value, many.value, sizeof one.value);
}

static char folder[64];

static const char *in_folder(const char *name)
{
    static char path[2][128];
    static int turn;
    turn = !turn;
    snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
    return path[turn];
}

static int make_folder(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/strutpress_parallel_XXXXXX");
    return !mkdtemp(folder);
}

static int remove_folder(void **state)
{
    char command[128];
    (void)state;
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    return system(command);
}

static void coupons_of_a_report(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_report_summary summary;
    const sp_case request[2] = {coupon_of(0), coupon_of(3)};
    const sp_report_options options = {.states = -1, .threads = THREADS, .seeds = 3};
    if (sp_report_cases(&context, 2, request, &options, in_folder("page.html"), &summary) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(summary.curves, 2);
    assert_int_equal(summary.shown, 2);
    assert_int_equal(summary.ended, 0);
}

/* Return how many tasks have ended well, asked for as the page does. */
static int done_of(sp_desk *desk, const long *id, int count, int *points)
{
    int done = 0;
    *points = 0;
    pthread_mutex_lock(&desk->lock);
    for (int i = 0; i < count; i++) {
        const sp_task *task = sp_desk_find(desk, id[i]);
        assert_non_null(task);
        if (task->state == SP_TASK_FAILED) fail_msg("%s", task->message);
        done += task->state == SP_TASK_DONE;
        *points += task->point_count;
    }
    pthread_mutex_unlock(&desk->lock);
    return done;
}

/* Press all coupons on a bench with `workers` workers; returns the points of their curves. */
static int points_of_bench(const char *name, int workers)
{
    sp_context context = {0};
    sp_desk *desk;
    long id[COUPONS];
    int points;
    assert_int_equal(mkdir(in_folder(name), 0777), 0);
    if (sp_desk_open(&context, in_folder(name), workers, &desk) != SP_OK)
        fail_msg("%s", context.message);
    for (int i = 0; i < COUPONS; i++) {
        const sp_case request = coupon_of(i);
        assert_int_equal(sp_desk_add(&context, desk, "foot", &request, NULL, NULL, &id[i]), SP_OK);
    }
    for (int i = 0; i < 12000 && done_of(desk, id, COUPONS, &points) < COUPONS; i++)
        nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    assert_int_equal(done_of(desk, id, COUPONS, &points), COUPONS);
    sp_desk_close(desk);
    return points;
}

static void workers_of_a_bench(void **state)
{
    (void)state;
    const int points = points_of_bench("one", 1);
    check_true(points >= COUPONS * 4);
    assert_int_equal(points_of_bench("many", THREADS), points);
}

/* One store serves several threads: the transaction of a coupon is whole before the next begins. */
static void coupons_of_several_threads_in_one_store(void **state)
{
    (void)state;
    enum { KEPT = 400 };
    static sp_coupon_key key[KEPT];
    sp_context context = {0};
    sp_store *store;
    int failed = 0, kept = 0;
    for (int i = 0; i < KEPT; i++) {
        sp_case request = coupon_of(0);
        request.flaw_seed = 1 + i;
        assert_int_equal(sp_coupon_key_of_case(&context, &request, &key[i]), SP_OK);
    }
    assert_int_equal(sp_store_open(&context, "", SP_STORE_MEMORY, &store), SP_OK);
#pragma omp parallel for num_threads(THREADS) schedule(dynamic) reduction(+ : failed)
    for (int i = 0; i < KEPT; i++) {
        sp_context own = {0};
        failed += sp_store_put(&own, store, &key[i], SP_GAVE_UP, "a test", "", NULL) != SP_OK;
    }
    for (int i = 0; i < KEPT; i++) {
        int found = 0;
        assert_int_equal(sp_store_has(&context, store, &key[i], &found), SP_OK);
        kept += found;
    }
    sp_store_close(store);
    assert_int_equal(failed, 0);
    assert_int_equal(kept, KEPT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(seeds_of_a_press),
        cmocka_unit_test(coupons_of_a_batch),
        cmocka_unit_test(coupons_of_several_threads_in_one_store),
        cmocka_unit_test_setup_teardown(coupons_of_a_report, make_folder, remove_folder),
        cmocka_unit_test_setup_teardown(workers_of_a_bench, make_folder, remove_folder),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
