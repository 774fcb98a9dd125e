/* batch: press a plan into a store. */
#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "terminal/cli.h"

typedef struct batch_options {
    const char *file, *store; /* store NULL: not given */
    int threads, quiet;
    int share, shares; /* 0: the whole plan */
} batch_options;

void explain_batch(FILE *stream)
{
    fprintf(
        stream,
        "  --store FILE             where the coupons go; default out/, the name of the plan and "
        ".store\n"
        "  --threads N              coupons pressed at once; default one per core\n"
        "  --share I/N              press only the I-th of N shares, for N machines; the default\n"
        "                           store is then out/NAME.I-of-N.store, see `help gather`\n"
        "  --quiet                  no progress and no last line\n\n"
        "The plan (docs/batch.md) has a base case, axes over any key, flaw seeds and conditions:\n"
        "  base: foot-soft.yaml\n"
        "  axes:\n"
        "    infill.pattern: [square, triangular]\n"
        "    infill.density: {from: 10 %%, to: 20 %%, count: 3}\n"
        "  seeds: 3\n"
        "  where: infill.density <= 15 %% or infill.pattern = square\n\n"
        "Each finished coupon is kept at once, and a coupon that is stored is not pressed again:\n"
        "the same command goes on where it was stopped. A coupon that fails is stored with its\n"
        "reason. Ctrl-C presses nothing more and keeps what is done.\n");
}

/* Read "2/4". */
static sp_status read_share(const char *command, const char *text, void *target)
{
    batch_options *options = target;
    enum { SHARE_MAX = 100000 };
    char *slash, *end;
    const long share = strtol(text, &slash, 10);
    const int two = isdigit((unsigned char)text[0]) && *slash == '/';
    const long shares = two && isdigit((unsigned char)slash[1]) ? strtol(slash + 1, &end, 10) : 0;
    if (shares < 1 || *end || shares > SHARE_MAX || share < 1 || share > shares)
        return fail_usage(command,
                          "--share: received '%.60s'; valid: I/N, share I = 1 .. N of N shares, N "
                          "at most %d",
                          text, SHARE_MAX);
    options->share = (int)share;
    options->shares = (int)shares;
    return SP_OK;
}

/* Make "out/NAME.2-of-4.store". */
static void name_share(const batch_options *options, char *file, size_t size)
{
    char end[48];
    snprintf(end, sizeof end, ".%d-of-%d.store", options->share, options->shares);
    default_folder(options->file, file, size - sizeof end);
    strcat(file, end);
}

static void print_report(const batch_options *options, const sp_plan *plan,
                         const sp_batch_report *report, const char *file)
{
    printf("plan       %d coupons", report->planned);
    if (options->shares) printf(" in share %d of %d", options->share, options->shares);
    if (sp_plan_left_out(plan)) printf(", %d left out by its conditions", sp_plan_left_out(plan));
    printf("\npressed    %d now, %d stored before", report->pressed, report->stored);
    if (report->failed) printf(", %d failed (their rows hold the reason)", report->failed);
    if (report->ended) printf(", %d ended before their target", report->ended);
    if (report->not_stored) printf(", %d left", report->not_stored);
    printf("\nstore      %s\n", shown(file));
}

static sp_status batch(const batch_options *options)
{
    sp_context context = {0};
    sp_plan *plan = NULL;
    sp_store *store = NULL;
    sp_batch_report report;
    char file[SP_FILE_SIZE + 16], share_store[SP_FILE_SIZE];
    const char *given = options->store;
    sp_status status = sp_plan_read(&context, options->file, &plan);
    if (status == SP_OK && options->shares)
        status = sp_plan_share(&context, plan, options->share, options->shares);
    if (options->shares && !given) {
        name_share(options, share_store, sizeof share_store);
        given = share_store;
    }
    if (status == SP_OK)
        status = open_new_store(&context, options->file, given, file, sizeof file, &store);
    if (status != SP_OK) {
        sp_plan_free(plan);
        return fail_with(&context, status);
    }
    start_talk(&context, options->quiet);
    catch_interrupt(&context);
    status = sp_batch_press(&context, plan, store, options->threads, &report);
    end_talk(1);
    const int begun = status == SP_OK || report.planned;
    if (begun) print_report(options, plan, &report, file);
    if (status != SP_OK) fail_with(&context, status);
    sp_store_close(store);
    sp_plan_free(plan);
    end_talk(options->quiet || !begun);
    return status;
}

sp_status command_batch(int argc, char **argv)
{
    batch_options options = {0};
    const option_row rows[] = {
        {"store", 0, option_store, &options.store},
        {"threads", 0, option_threads, &options.threads},
        {"share", 0, read_share, &options},
        {"quiet", 'q', NULL, &options.quiet},
    };
    int help;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    status = read_one_file(argc, argv, "plan", &options.file);
    return status == SP_OK ? batch(&options) : status;
}
