/* check of a plan or a target: say how many presses there are, how long they take, and which
 * coupons cannot be built. */
#include <unistd.h>

#include "terminal/cli.h"

enum { NAME = 26 };

static void print_refusals(const sp_outlook *outlook, const char *what)
{
    int told = 0;
    printf("%-*s %d", NAME, "cannot be built", outlook->refused);
    printf(outlook->refused ? ", for these reasons:\n" : "\n");
    for (int i = 0; i < outlook->refusal_count; i++) {
        const sp_refusal *refusal = &outlook->refusal[i];
        told += refusal->count;
        printf("  %s %d", what, refusal->first);
        if (refusal->count > 1) printf(" and %d more", refusal->count - 1);
        printf(": %s\n", refusal->text);
    }
    if (told < outlook->refused) printf("  %d for other reasons\n", outlook->refused - told);
}

static void print_time(const sp_outlook *outlook)
{
    char all[32], machine[32], range[80];
    const sp_forecast_all sum =
        sp_forecast_of_all(outlook->seconds, outlook->looked_at - outlook->refused);
    const long cores = sysconf(_SC_NPROCESSORS_ONLN);
    int threads = cores > 0 ? (int)cores : 1;
    if (threads > outlook->presses) threads = outlook->presses ? outlook->presses : 1;
    const double least = sum.seconds / threads;
    sp_forecast_time_text(sum.seconds, all, sizeof all);
    sp_forecast_range_text(sum.low, sum.high, range, sizeof range);
    sp_forecast_time_text(least > outlook->longest.seconds ? least : outlook->longest.seconds,
                          machine, sizeof machine);
    printf("%-*s %s of processor time; %s on %d thread%s, %.0f MB each at most; found from the "
           "cases alone: 9 of 10 plans of as many random coupons take %s\n",
           NAME, "forecast", all, machine, threads, threads == 1 ? "" : "s",
           1e-6 * outlook->most_bytes, range);
}

static void print_outlook(const sp_outlook *outlook, const char *what)
{
    char text[SP_MESSAGE_SIZE];
    print_refusals(outlook, what);
    if (!outlook->longest_number) return;
    print_time(outlook);
    sp_forecast_text(&outlook->longest, text, sizeof text);
    printf("%-*s %s %d: %s\n", NAME, "longest press", what, outlook->longest_number, text);
}

static sp_status end_check(sp_context *context, sp_status status, int quiet)
{
    end_talk(quiet || status != SP_OK);
    return status == SP_OK ? SP_OK : fail_with(context, status);
}

static int has_outlook(sp_status status)
{
    return status == SP_OK || status == SP_INTERRUPTED;
}

sp_status check_plan(const char *file, int quiet)
{
    sp_context context = {0};
    sp_plan *plan = NULL;
    sp_outlook outlook;
    sp_status status = sp_plan_read(&context, file, &plan);
    if (status != SP_OK) return fail_with(&context, status);
    start_talk(&context, quiet);
    catch_interrupt(&context);
    status = sp_plan_outlook(&context, plan, &outlook);
    end_talk(1);
    if (has_outlook(status)) {
        printf("%-*s %d coupons", NAME, "plan", outlook.coupons);
        if (sp_plan_left_out(plan))
            printf(", %d left out by its conditions", sp_plan_left_out(plan));
        printf("\n");
        print_outlook(&outlook, "coupon");
    }
    sp_plan_free(plan);
    return end_check(&context, status, quiet);
}

sp_status check_target(const char *file, int quiet)
{
    sp_context context = {0};
    sp_target *target = NULL;
    sp_outlook outlook;
    sp_status status = sp_target_read(&context, file, &target);
    if (status != SP_OK) return fail_with(&context, status);
    start_talk(&context, quiet);
    catch_interrupt(&context);
    status = sp_target_outlook(&context, target, &outlook);
    end_talk(1);
    if (has_outlook(status)) {
        printf("%-*s %d candidates, about %d presses\n", NAME, "target", outlook.coupons,
               outlook.presses);
        print_outlook(&outlook, "candidate");
    }
    sp_target_free(target);
    return end_check(&context, status, quiet);
}
