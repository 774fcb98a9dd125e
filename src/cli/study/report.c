/* report: write one HTML page of a store or of case files. */
#include <getopt.h> /* optind */
#include <stdlib.h>
#include <string.h>

#include "terminal/cli.h"

typedef struct report_options {
    const char *out;
    const char *show[SP_REPORT_STATES_MAX];
    sp_report_options how;
    int quiet;
    tested_curves tested;
    int file_count;
    char **file;
} report_options;

void explain_report(FILE *stream)
{
    fprintf(
        stream,
        "  --out FILE               the page; default out/, the name of the first file and .html\n"
        "  --title TEXT             heading of the page\n"
        "  --question TEXT          what the page is to answer, below the heading\n"
        "  --measures A,B,...       columns of the table: names of `list measures`, also with an\n"
        "                           argument as `force_at 6 mm`; --figures is the same\n"
        "  --rank MEASURE           of the ranking at equal mass; default energy_per_volume_50\n"
        "  --states N               coupons whose states are drawn, 0 .. %d; default 4 of a "
        "store,\n"
        "                           all of case files\n"
        "  --show TEXT              draw the states of the coupons whose name contains TEXT; may "
        "be\n"
        "                           repeated\n"
        "  --beside \"25 %%\"         draw the same coupons side by side at one strain, or under "
        "one\n"
        "                           force (\"300 N\"), in a picture beside the page: its name with "
        ".svg\n"
        "  --tested FILE            curves of a rig, see `strutpress rig`, of a part of the size "
        "of\n"
        "                           these case files: they are drawn beside the curves, and each "
        "row\n"
        "                           says how far it is off their mean\n"
        "  --threads N              coupons pressed at once; default one per core\n"
        "  --seeds N                press N seeds of the flaws of each case file, in place of its\n"
        "                           press.seeds: figures are medians, curves have the band of all\n"
        "  --quiet                  no progress and no last line\n\n"
        "The files are case files (.yaml, .yml), which are pressed, or one store. The page needs\n"
        "no network: question, sortable table, curves, the deformed states with a slider, modes,\n"
        "settings, cautions. A store holds no shapes, so the coupons whose states are drawn are\n"
        "pressed again: of each pattern the first of the ranking, then the next ones.\n",
        SP_REPORT_STATES_MAX);
}

static sp_status read_out(const char *command, const char *text, void *target)
{
    const size_t length = strlen(text);
    if (!length || text[length - 1] == '/')
        return fail_usage(command, "--out: received '%.60s'; valid: the name of a file", text);
    return option_text(command, text, target);
}

/* Read "25 %", "0.25" or "300 N". */
static sp_status read_beside(const char *command, const char *text, void *target)
{
    sp_report_options *how = target;
    char *end;
    const double number = strtod(text, &end);
    const char *unit = end + strspn(end, " ");
    const int is_force = !strcmp(unit, "N");
    const double strain = !strcmp(unit, "%") ? number / 100 : number;
    if (end == text || !(number > 0) || (!is_force && (strain >= 1 || (*unit && *unit != '%'))) ||
        (is_force && number > 1e9) || strspn(text, "0123456789.") < (size_t)(end - text))
        return fail_usage(command,
                          "--beside: received '%.60s'; valid: a strain such as \"25 %%\", or a "
                          "force such as \"300 N\"",
                          text);
    how->beside_force = is_force ? number : 0;
    how->beside_strain = is_force ? 0 : strain;
    return SP_OK;
}

static sp_status read_states(const char *command, const char *text, void *target)
{
    return read_count(command, "--states", text, 0, SP_REPORT_STATES_MAX, target);
}

static sp_status add_shown(const char *command, const char *text, void *target)
{
    report_options *options = target;
    if (!text[0])
        return fail_usage(command, "--show: received ''; valid: a part of a coupon's name");
    if (options->how.show_count == SP_REPORT_STATES_MAX)
        return fail_usage(command, "received --show more than %d times; valid: once per coupon",
                          SP_REPORT_STATES_MAX);
    options->show[options->how.show_count++] = text;
    return SP_OK;
}

static sp_status read_files(int count, char **file, report_options *options)
{
    int cases = 0;
    for (int i = 0; i < count; i++) cases += is_case_file(file[i]);
    if (!count) return fail_usage("report", "received no store and no case file");
    if (cases < count && count > 1)
        return fail_usage("report",
                          "received %d case files and %d stores; valid: case files or "
                          "one store",
                          cases, count - cases);
    if (!cases && options->how.seeds)
        return fail_usage("report",
                          "received --seeds %d with a store, whose coupons are pressed already; "
                          "valid: --seeds with case files",
                          options->how.seeds);
    if (!cases && options->tested.file)
        return fail_usage(
            "report", "received --tested with a store; valid: --tested with case files (.yaml)");
    if (count > SP_REPORT_CASES_MAX)
        return fail_usage("report", "received %d case files; valid: at most %d", count,
                          SP_REPORT_CASES_MAX);
    options->file = file;
    options->file_count = count;
    return SP_OK;
}

static void name_page(const report_options *options, char *file, size_t size)
{
    static const char ending[] = ".store";
    if (options->out) {
        snprintf(file, size, "%s", options->out);
        return;
    }
    default_folder(options->file[0], file, size - strlen(".html"));
    const size_t length = strlen(file), tail = strlen(ending);
    if (length > tail && !strcmp(file + length - tail, ending)) file[length - tail] = 0;
    strcat(file, ".html");
}

/* The folder is made only after the input has been read, so that a refused case file leaves nothing
 * behind. */
static sp_status report_cases(sp_context *context, report_options *options, const char *file,
                              sp_report_summary *summary)
{
    const int count = options->file_count;
    sp_case *request = calloc((size_t)count, sizeof *request);
    sp_status status = request ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for the cases");
    for (int i = 0; i < count && status == SP_OK; i++)
        status = sp_case_read(context, options->file[i], &request[i]);
    if (status == SP_OK)
        status = read_tested(context, request, count, &options->tested, &options->how.compare);
    if (status == SP_OK) status = try_folder_of(context, file);
    if (status == SP_OK) status = make_folder_of(context, file);
    if (status == SP_OK)
        status = sp_report_cases(context, count, request, &options->how, file, summary);
    free(request);
    free_tested(&options->tested);
    return status;
}

static sp_status report_store(sp_context *context, const report_options *options, const char *file,
                              sp_report_summary *summary)
{
    sp_store *store = NULL;
    sp_status status = sp_store_open(context, options->file[0], SP_STORE_READ, &store);
    if (status == SP_OK) status = try_folder_of(context, file);
    if (status == SP_OK) status = make_folder_of(context, file);
    if (status == SP_OK) status = sp_report_store(context, store, &options->how, file, summary);
    sp_store_close(store);
    return status;
}

static sp_status report(report_options *options)
{
    sp_context context = {0};
    sp_report_summary summary = {0};
    char file[SP_FILE_SIZE + 16];
    name_page(options, file, sizeof file);
    start_talk(&context, options->quiet);
    catch_interrupt(&context);
    sp_status status = is_case_file(options->file[0])
                           ? report_cases(&context, options, file, &summary)
                           : report_store(&context, options, file, &summary);
    end_talk(1);
    if (status != SP_OK) return fail_with(&context, status);
    if (summary.ended)
        status = fail_with(&context, sp_fail(&context, SP_GAVE_UP, "%s", summary.reason));
    printf("coupons    %d, %d with curves, %d with their states\npage       %s, %.1f MB\n",
           summary.rows, summary.curves, summary.shown, shown(file), (double)summary.size / 1e6);
    end_talk(options->quiet);
    return status;
}

sp_status command_report(int argc, char **argv)
{
    report_options options = {.how.states = -1};
    const option_row rows[] = {
        {"out", 'o', read_out, &options.out},
        {"title", 0, option_text, &options.how.title},
        {"question", 0, option_text, &options.how.question},
        {"measures", 0, option_text, &options.how.compare.measures},
        {"figures", 0, option_text, &options.how.compare.measures}, /* the same */
        {"rank", 0, option_text, &options.how.compare.rank},
        {"states", 0, read_states, &options.how.states},
        {"show", 0, add_shown, &options},
        {"beside", 0, read_beside, &options.how},
        {"tested", 0, option_text, &options.tested.file},
        {"threads", 0, option_threads, &options.how.threads},
        {"seeds", 0, option_seeds, &options.how.seeds},
        {"quiet", 'q', NULL, &options.quiet},
    };
    int help;
    options.how.show = options.show;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    status = read_files(argc - optind, argv + optind, &options);
    return status == SP_OK ? report(&options) : status;
}
