/* These tests press one coupon with several seeds of its flaws: medians and ends are compared with
 * single presses; which press is kept, and what ends all of them, is checked. */
#include "check.h"

#include <omp.h>

#include <strutpress/strutpress.h>

#include "base/alloc.h"

static sp_case small_case(void)
{
    sp_context context = {0};
    sp_case request;
    const char text[] = "coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}\n"
                        "infill: {density: 25 %}\n"
                        "press: {strain: 20 %, steps: 10}\n";
    assert_int_equal(sp_case_parse(&context, "c.yaml", text, strlen(text), &request), SP_OK);
    return request;
}

static double force(const sp_result *result, const char *figure)
{
    const char *unit;
    sp_measure value;
    assert_int_equal(sp_result_figure(NULL, result, figure, &value, &unit), SP_OK);
    assert_true(value.reached);
    return value.value;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Each seed is the press that sp_run makes of it, to the last bit, and the spread is that of their
 * figures. */
static void spread_is_that_of_single_presses(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request = small_case(), one = request;
    sp_result *all, *single;
    double value[3];
    int kept, count, points, alone;
    assert_int_equal(sp_run_seeds(&context, &request, 3, &all), SP_OK);
    assert_int_equal(sp_result_seeds(all, &kept), 3);
    assert_ptr_equal(sp_result_of_seed(all, kept), all);
    assert_null(sp_result_of_seed(all, 3));
    for (int k = 0; k < 3; k++) {
        one.flaw_seed = 1 + k;
        assert_int_equal(sp_run(&context, &one, &single), SP_OK);
        const sp_result *of_seed = sp_result_of_seed(all, k);
        assert_int_equal(sp_result_case(of_seed)->flaw_seed, 1 + k);
        const sp_step *a = sp_result_steps(of_seed, &count), *b = sp_result_steps(single, &alone);
        assert_int_equal(count, alone);
        for (int i = 0; i < count; i++) assert_true(a[i].force == b[i].force);
        const sp_measure *m = sp_result_measures(of_seed, &count),
                         *n = sp_result_measures(single, &alone);
        assert_int_equal(count, alone);
        for (int i = 0; i < count; i++)
            assert_true(m[i].reached == n[i].reached &&
                        (!m[i].reached || m[i].value == n[i].value));
        value[k] = force(single, "force_at 20 %");
        sp_result_free(single);
    }
    sp_spread spread;
    const char *unit;
    assert_int_equal(sp_result_spread(&context, all, "force_at 20 %", &spread, &unit), SP_OK);
    qsort(value, 3, sizeof *value, by_size);
    assert_int_equal(spread.count, 3);
    assert_true(value[0] < value[2]);
    assert_true(spread.low == value[0] && spread.median == value[1] && spread.high == value[2]);
    const sp_band *band = sp_result_band(all, &points);
    assert_true(points > 2);
    assert_true(fabs(band[points - 1].strain - 0.2) < 1e-9);
    assert_true(band[points - 1].low == value[0] && band[points - 1].high == value[2]);
    for (int i = 0; i < points; i++)
        assert_true(band[i].low <= band[i].median && band[i].median <= band[i].high);
    sp_result_free(all);
}

/* There are five seeds by default, another number where the case says so, and one where the seeds
 * are alike. */
static void number_follows_case_and_flaws(void **state)
{
    (void)state;
    static const struct {
        int flaw_seed, flaws, seeds, asked, want;
        double row_scatter;
    } row[] = {{1, 1, 0, 0, 5, 0}, {1, 1, 2, 0, 2, 0}, {1, 1, 2, 3, 3, 0}, {1, 1, 1, 0, 1, 0},
               {0, 1, 0, 0, 1, 0}, {1, 0, 0, 0, 1, 0}, {1, 0, 0, 4, 1, 0}, {1, 0, 2, 0, 2, 0.1}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_context context = {0};
        sp_case request = small_case();
        sp_result *result;
        int kept;
        request.strain = 0.02, request.steps = 2, request.find_critical = 0;
        request.flaw_seed = row[i].flaw_seed, request.seeds = row[i].seeds;
        if (!row[i].flaws)
            request.bow = request.thickness_scatter = request.missing = request.joint_offset = 0;
        request.row_scatter = row[i].row_scatter;
        assert_int_equal(sp_run_seeds(&context, &request, row[i].asked, &result), SP_OK);
        assert_int_equal(sp_result_seeds(result, &kept), row[i].want);
        sp_result_free(result);
    }
}

static void a_named_seed_is_kept(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request = small_case();
    sp_result *result;
    int kept;
    request.find_critical = 0;
    assert_int_equal(sp_case_set(&context, &request, "flaws.seed", "3"), SP_OK);
    assert_int_equal(sp_run_seeds(&context, &request, 5, &result), SP_OK);
    sp_result_seeds(result, &kept);
    assert_int_equal(kept, 0);
    assert_int_equal(sp_result_case(result)->flaw_seed, 3);
    sp_result_free(result);
}

/* An error of the case or the count is reported once; an interruption ends all presses. */
static void failures_and_interruption(void **state)
{
    (void)state;
    volatile sig_atomic_t stop = 1;
    sp_context context = {0};
    sp_case request = small_case();
    sp_result *result;
    assert_int_equal(sp_run_seeds(&context, &request, 100, &result), SP_BAD_USAGE);
    assert_null(result);
    assert_non_null(strstr(context.message, "received 100 flaw seeds"));
    request.density = 7;
    assert_int_equal(sp_run_seeds(&context, &request, 2, &result), SP_BAD_CASE);
    assert_null(result);
    request = small_case();
    context.interrupt = &stop;
    assert_int_equal(sp_run_seeds(&context, &request, 2, &result), SP_OK);
    assert_int_equal(sp_result_stop(result), SP_STOP_INTERRUPTED);
    sp_result_free(result);
}

/* Every allocation of the way to five presses fails once, in one thread. */
static void lack_of_memory_leaves_nothing(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request = small_case();
    sp_result *result = NULL;
    int failed = 0;
    const int threads = omp_get_max_threads();
    const long blocks = sp_alloc_count();
    omp_set_num_threads(1);
    request.strain = 0.02, request.steps = 2, request.find_critical = 0;
    for (long n = 1; n < 4000; n += 37) {
        sp_alloc_fail_at(n);
        const sp_status status = sp_run_seeds(&context, &request, 2, &result);
        sp_alloc_fail_at(0);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
        assert_null(result);
        assert_int_equal(sp_alloc_count(), blocks);
        failed++;
    }
    omp_set_num_threads(threads);
    print_message("%d allocations failed\n", failed);
    assert_true(failed > 5);
    sp_result_free(result);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spread_is_that_of_single_presses),
        cmocka_unit_test(number_follows_case_and_flaws),
        cmocka_unit_test(a_named_seed_is_kept),
        cmocka_unit_test(failures_and_interruption),
        cmocka_unit_test(lack_of_memory_leaves_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
