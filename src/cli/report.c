/* report: one HTML page of a store or of case files. */
#include <getopt.h>
#include <stdlib.h>
#include <string.h>

#include "cli/cli.h"

typedef struct report_options {
    const char *out;
    const char *show[SP_REPORT_STATES_MAX];
    sp_report_options how;
    int quiet, help;
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
        "  --measures A,B,...       columns of the table; see `list measures`\n"
        "  --rank MEASURE           of the ranking at equal mass; default energy_per_volume_50\n"
        "  --states N               coupons whose states are drawn, 0 .. %d; default 4 of a "
        "store,\n"
        "                           all of case files\n"
        "  --show TEXT              draw the states of the coupons whose name contains TEXT; may "
        "be\n"
        "                           repeated\n"
        "  --threads N              coupons pressed at once; default one per core\n"
        "  --quiet                  no progress and no last line\n\n"
        "The files are case files (.yaml, .yml), which are pressed, or one store. The page needs\n"
        "no network: question, sortable table, curves, the deformed states with a slider, modes,\n"
        "settings, cautions. A store holds no shapes, so the coupons whose states are drawn are\n"
        "pressed again: of each pattern the first of the ranking, then the next ones.\n",
        SP_REPORT_STATES_MAX);
}

static sp_status read_count(const char *name, long low, long high, int *count)
{
    char *end;
    const long value = strtol(optarg, &end, 10);
    if (end == optarg || *end || value < low || value > high)
        return fail_usage("report", "%s: received '%.60s'; valid: %ld .. %ld", name, optarg, low,
                          high);
    *count = (int)value;
    return SP_OK;
}

static sp_status read_out(report_options *options)
{
    const size_t length = strlen(optarg);
    if (!length || optarg[length - 1] == '/')
        return fail_usage("report", "--out: received '%.60s'; valid: the name of a file", optarg);
    options->out = optarg;
    return SP_OK;
}

static sp_status add_shown(report_options *options)
{
    if (!optarg[0])
        return fail_usage("report", "--show: received ''; valid: a part of a coupon's name");
    if (options->how.show_count == SP_REPORT_STATES_MAX)
        return fail_usage("report", "received --show more than %d times; valid: once per coupon",
                          SP_REPORT_STATES_MAX);
    options->show[options->how.show_count++] = optarg;
    return SP_OK;
}

static sp_status read_option(int option, char *word, report_options *options)
{
    switch (option) {
    case 'o':
        return read_out(options);
    case 't':
        options->how.title = optarg;
        return SP_OK;
    case 'u':
        options->how.question = optarg;
        return SP_OK;
    case 'm':
        options->how.compare.measures = optarg;
        return SP_OK;
    case 'r':
        options->how.compare.rank = optarg;
        return SP_OK;
    case 's':
        return read_count("--states", 0, SP_REPORT_STATES_MAX, &options->how.states);
    case 'w':
        return add_shown(options);
    case 'n':
        return read_count("--threads", 1, 1024, &options->how.threads);
    case 'q':
        options->quiet = 1;
        return SP_OK;
    case 'h':
        options->help = 1;
        return SP_OK;
    case ':':
        return fail_usage("report", "received '%.60s' without its value", word);
    default:
        return fail_usage("report",
                          "received '%.60s'; valid: --out, --title, --question, --measures, "
                          "--rank, --states, --show, --threads, --quiet, --help",
                          word);
    }
}

static int is_case_file(const char *file)
{
    const char *dot = strrchr(file, '.');
    return dot && (!strcmp(dot, ".yaml") || !strcmp(dot, ".yml"));
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
    if (count > SP_REPORT_CASES_MAX)
        return fail_usage("report", "received %d case files; valid: at most %d", count,
                          SP_REPORT_CASES_MAX);
    options->file = file;
    options->file_count = count;
    return SP_OK;
}

static sp_status read_options(int argc, char **argv, report_options *options)
{
    static const struct option table[] = {
        {"out", required_argument, NULL, 'o'},
        {"title", required_argument, NULL, 't'},
        {"question", required_argument, NULL, 'u'},
        {"measures", required_argument, NULL, 'm'},
        {"rank", required_argument, NULL, 'r'},
        {"states", required_argument, NULL, 's'},
        {"show", required_argument, NULL, 'w'},
        {"threads", required_argument, NULL, 'n'},
        {"quiet", no_argument, NULL, 'q'},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    int option;
    sp_status status = SP_OK;
    memset(options, 0, sizeof *options);
    options->how.states = -1;
    options->how.show = options->show;
    opterr = 0;
    optind = 1;
    while (status == SP_OK && (option = getopt_long(argc, argv, ":o:qh", table, NULL)) != -1)
        status = read_option(option, argv[optind - 1], options);
    if (status != SP_OK || options->help) return status;
    return read_files(argc - optind, argv + optind, options);
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

/* Made when the input has been read: a slip in a case file leaves nothing behind. */
static sp_status make_folder_of(sp_context *context, const char *file)
{
    char folder[SP_FILE_SIZE + 16];
    snprintf(folder, sizeof folder, "%s", file);
    char *slash = strrchr(folder, '/');
    if (!slash || slash == folder) return SP_OK;
    *slash = 0;
    return make_folder(context, folder);
}

static sp_status report_cases(sp_context *context, const report_options *options, const char *file,
                              sp_report_summary *summary)
{
    const int count = options->file_count;
    sp_case *request = calloc((size_t)count, sizeof *request);
    sp_status status = request ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for the cases");
    for (int i = 0; i < count && status == SP_OK; i++)
        status = sp_case_read(context, options->file[i], &request[i]);
    if (status == SP_OK) status = make_folder_of(context, file);
    if (status == SP_OK)
        status = sp_report_cases(context, count, request, &options->how, file, summary);
    free(request);
    return status;
}

static sp_status report_store(sp_context *context, const report_options *options, const char *file,
                              sp_report_summary *summary)
{
    sp_store *store = NULL;
    sp_status status = sp_store_open(context, options->file[0], SP_STORE_READ, &store);
    if (status == SP_OK) status = make_folder_of(context, file);
    if (status == SP_OK) status = sp_report_store(context, store, &options->how, file, summary);
    sp_store_close(store);
    return status;
}

static sp_status report(const report_options *options)
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
    if (status != SP_OK) fail_with(&context, status);
    if (status != SP_OK && status != SP_GAVE_UP) return status;
    printf("coupons    %d, %d with curves, %d with their states\npage       %s, %.1f MB\n",
           summary.rows, summary.curves, summary.shown, file, (double)summary.size / 1e6);
    end_talk(options->quiet);
    return status;
}

sp_status command_report(int argc, char **argv)
{
    report_options options;
    sp_status status = read_options(argc, argv, &options);
    if (status == SP_OK && options.help)
        print_command_help(command_find("report"), stdout);
    else if (status == SP_OK)
        status = report(&options);
    return status;
}
