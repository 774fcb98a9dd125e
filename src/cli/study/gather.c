/* gather: bring several stores into one. */
#include <getopt.h> /* optind */

#include "terminal/cli.h"

typedef struct gather_options {
    char **file;
    int file_count;
    const char *store;
} gather_options;

void explain_gather(FILE *stream)
{
    fprintf(stream,
            "  --store FILE             where the coupons go; made when missing\n\n"
            "For the stores of a plan that was pressed in shares (`batch --share`). Each store is\n"
            "gathered whole or not at all and is not changed itself; what was gathered before is\n"
            "left as it is, so that the same command may be given again. A coupon whose figures\n"
            "differ between two stores is told, each store keeps its own, and the exit status is "
            "9.\n"
            "Stores of a newer format or with coupons of another version of the program are "
            "refused\n"
            "before anything is gathered. Then `batch PLAN.yaml --store FILE` presses what is "
            "missing.\n");
}

/* Open every store first, so that a misspelt name is refused before anything is gathered. */
static sp_status check_all(sp_context *context, const gather_options *options)
{
    sp_status status = SP_OK;
    for (int i = 0; i < options->file_count && status == SP_OK; i++) {
        sp_store *from = NULL;
        status = sp_store_open(context, options->file[i], SP_STORE_READ, &from);
        if (status == SP_OK) status = sp_store_check_program(context, from);
        sp_store_close(from);
    }
    return status;
}

static sp_status gather_file(sp_context *context, sp_store *into, const char *file, int *different)
{
    sp_gather_report report;
    sp_store *from = NULL;
    sp_status status = sp_store_open(context, file, SP_STORE_READ, &from);
    if (status == SP_OK) status = sp_store_gather(context, into, from, &report);
    if (status == SP_OK) {
        printf("gathered   %d coupons of %s, %d there before", report.added, shown(file),
               report.same);
        if (report.different) printf(", %d with other figures", report.different);
        printf("\n");
        *different += report.different;
    }
    sp_store_close(from);
    return status;
}

static sp_status gather(const gather_options *options)
{
    sp_context context = {0};
    sp_store *into = NULL;
    int different = 0;
    char file[SP_FILE_SIZE + 16];
    start_talk(&context, 1);
    catch_interrupt(&context);
    sp_status status = check_all(&context, options);
    if (status == SP_OK)
        status = open_new_store(&context, options->store, options->store, file, sizeof file, &into);
    for (int i = 0; i < options->file_count && status == SP_OK; i++)
        status = gather_file(&context, into, options->file[i], &different);
    sp_store_close(into);
    if (status == SP_OK) printf("store      %s\n", shown(options->store));
    if (status == SP_OK && different)
        status = sp_fail(&context, SP_CONFLICT,
                         "%d coupons have other figures in %s; valid: the same figures of a coupon "
                         "in every store",
                         different, options->store);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}

sp_status command_gather(int argc, char **argv)
{
    gather_options options = {0};
    const option_row rows[] = {{"store", 0, option_text, &options.store}};
    int help;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    if (!options.store || !options.store[0])
        return fail_usage(argv[0], "received no --store; valid: --store and a file name");
    if (optind == argc) return fail_usage(argv[0], "received no store to gather from");
    options.file = argv + optind;
    options.file_count = argc - optind;
    return gather(&options);
}
