/* In this test many threads press at once through the public headers: 200 presses on 8 threads,
 * each with the figures that it has alone. Under `make thread-sanitize` no race is found. */
#include "check.h"

#include <pthread.h>

#include <strutpress/strutpress.h>

enum { THREADS = 8, PRESSES = 25, KINDS = 4 };

static const char *const pattern[KINDS] = {"triangular", "square", "bricks", "hexagonal"};

static sp_case coupon_of(int kind)
{
    sp_case request;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "%s", pattern[kind]);
    request.width = 9;
    request.height = 8;
    request.depth = 5;
    request.wall_beads = 1;
    request.density = 0.25 + 0.02 * kind;
    request.strain = 0.05;
    request.steps = 3;
    request.find_critical = 0;
    return request;
}

/* Return the last force of a press, 0 when it failed. */
static double press(int kind)
{
    sp_context context = {0};
    const sp_case request = coupon_of(kind);
    sp_result *result;
    int count;
    if (sp_run(&context, &request, &result) != SP_OK) return 0;
    const sp_step *step = sp_result_steps(result, &count);
    const double force = count ? step[count - 1].force : 0;
    sp_result_free(result);
    return force;
}

typedef struct worker {
    pthread_t thread;
    int first;
    double force[PRESSES];
} worker;

static void *press_many(void *user)
{
    worker *w = user;
    for (int i = 0; i < PRESSES; i++) w->force[i] = press((w->first + i) % KINDS);
    return NULL;
}

static void presses_run_beside_each_other(void **state)
{
    (void)state;
    static worker crew[THREADS];
    double alone[KINDS];
    for (int k = 0; k < KINDS; k++) {
        alone[k] = press(k);
        assert_true(alone[k] > 0);
    }
    for (int t = 0; t < THREADS; t++) {
        crew[t].first = t;
        assert_int_equal(pthread_create(&crew[t].thread, NULL, press_many, &crew[t]), 0);
    }
    for (int t = 0; t < THREADS; t++) pthread_join(crew[t].thread, NULL);
    for (int t = 0; t < THREADS; t++)
        for (int i = 0; i < PRESSES; i++)
            assert_memory_equal(&crew[t].force[i], &alone[(t + i) % KINDS], sizeof(double));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(presses_run_beside_each_other)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
