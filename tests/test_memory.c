/* Every allocation of a whole run fails once (every third under the sanitizers): the run says so,
 * gives everything back and leaves an empty result. CHOLMOD, libyaml and Qhull allocate for
 * themselves and are not part of this. */
#include "coupon.h"

#include "run/result.h"

#include "base/alloc.h"
#include "every_law.h"
#include "temporary_file.h"
#include "whole_press.h"

/* Set a coupon that goes through all parts of a run within milliseconds: walls, flaws, contact, the
 * press of the perfect coupon, shapes. */
static void small_case(sp_case *request)
{
    sp_case_default(request);
    request->width = 8, request->height = 6;
    request->density = 0.2;
    request->wall_beads = 1;
    request->elements_per_strut = 2;
    request->strain = 0.3, request->steps = 12;
}

/* Run with a failure at one allocation; returns 1 when the run ended without meeting it. */
static int run_with_failure(const sp_case *request, long nth)
{
    sp_context context = {0};
    sp_result result;
    const long blocks = sp_alloc_count();
    sp_alloc_fail_at(nth);
    const sp_status status = press_whole(&context, request, &result);
    sp_alloc_fail_at(0);
    if (status == SP_OK) {
        check_true(result.path.step_count > 5 && result.measure_count > 0);
    } else {
        if (status != SP_NO_MEMORY)
            fail_msg("allocation %ld: status %d: %s", nth, (int)status, context.message);
        check_true(context.message[0] != 0 && !strchr(context.message, '\n'));
        check_true(result.path.step_count == 0 && result.network.strut_count == 0);
    }
    sp_result_clear(&result);
    if (sp_alloc_count() != blocks)
        fail_msg("allocation %ld: %ld blocks left", nth, sp_alloc_count() - blocks);
    return status == SP_OK;
}

static void fail_every_allocation(const sp_case *request, const char *name)
{
    const long stride = coupon_quick() ? 3 : 1;
    long nth = 1;
    while (!run_with_failure(request, nth)) nth += stride;
    print_message("%s: the run got through without allocation %ld failing\n", name, nth);
    check_true(nth > 50);
}

static void every_failed_allocation_of_a_run_is_reported(void **state)
{
    (void)state;
    sp_case request;
    small_case(&request);
    fail_every_allocation(&request, "flawed coupon and its perfect twin");
}

static void every_failed_allocation_of_a_perfect_run_is_reported(void **state)
{
    (void)state;
    sp_case request;
    small_case(&request);
    request.flaw_seed = 0;
    request.platens = SP_PLATENS_FRICTION;
    request.platen_friction = request.strut_friction = 0.4;
    fail_every_allocation(&request, "perfect coupon along its branch, with friction");
}

static void every_failed_allocation_of_a_yielding_run_is_reported(void **state)
{
    (void)state;
    sp_case request;
    small_case(&request);
    snprintf(request.law, sizeof request.law, "yielding");
    write_temporary_file(request.table_file, sizeof request.table_file,
                         every_law_table("yielding"));
    request.unload = 1;
    fail_every_allocation(&request, "coupon of a law with a history, and back");
    remove(request.table_file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_failed_allocation_of_a_run_is_reported),
        cmocka_unit_test(every_failed_allocation_of_a_perfect_run_is_reported),
        cmocka_unit_test(every_failed_allocation_of_a_yielding_run_is_reported),
    };
    return cmocka_run_group_tests_name("memory", tests, NULL, NULL);
}
