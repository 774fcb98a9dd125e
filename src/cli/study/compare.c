/* compare: print the coupons of a store, or cases, which are pressed when the store lacks them. */
#include <getopt.h> /* optind */
#include <stdlib.h>
#include <string.h>

#include "terminal/cli.h"

enum { CASES_MAX = 64 };
static const char case_store[] = "out/compare.store";

typedef struct compare_options {
    char **file; /* one store, or case files */
    int file_count, are_cases;
    const char *out, *store;
    tested_curves tested;
    sp_compare_options how;
    int dump, threads, quiet;
    sp_record_format format; /* of the printed output */
} compare_options;

void explain_compare(FILE *stream)
{
    fprintf(
        stream,
        "  --out FOLDER             also write CSV and pictures there\n"
        "  --measures A,B,...       columns of the table: names of `list measures`, also with an\n"
        "                           argument as `force_at 6 mm`; --figures is the same\n"
        "  --rank MEASURE           of the ranking at equal mass, the largest first; default\n"
        "                           energy_per_volume_50\n"
        "  --mass GRAMS             of the ranking; default the middle of what all can have\n"
        "  --format json|csv        print the rows of compare.csv in place of the table\n"
        "  --dump                   print every stored figure and nothing else\n"
        "of case files (names that end in .yaml):\n"
        "  --tested FILE            curves of a rig, see `strutpress rig`, of a part of the size\n"
        "                           of these coupons: each coupon is compared with their mean,\n"
        "                           and curves.svg draws them\n"
        "  --store FILE             where they are kept; default out/compare.store\n"
        "  --threads N              coupons pressed at once; default one per core\n"
        "  --quiet                  no progress and no last line\n\n"
        "Case files are pressed first, unless the store has them already, and compared by their\n"
        "names; other coupons of that store are left out.\n"
        "Coupons that differ in the flaw seed alone are one row: median and spread. Coupons that\n"
        "differ in the density alone are one series: exponents of stiffness and plateau stress\n"
        "over the solid fraction, and one place in the ranking. Writes into the folder\n"
        "compare.csv, fits.csv, ranking.csv, curves.csv (every state of every press), and\n"
        "curves.svg, energy.svg, stiffness.svg, plateau.svg.\n");
}

static sp_status read_mass(const char *command, const char *text, void *target)
{
    char *end;
    const double mass = strtod(text, &end);
    if (end == text || *end || text[strspn(text, "0123456789.eE+-")] || !(mass > 0 && mass < 1e9))
        return fail_usage(command, "--mass: received '%.60s'; valid: grams above 0", text);
    *(double *)target = mass;
    return SP_OK;
}

static sp_status check_files(compare_options *options)
{
    if (!options->file_count)
        return fail_usage("compare", "received no store; valid: a store, or case files (.yaml)");
    options->are_cases = is_case_file(options->file[0]);
    for (int i = 1; i < options->file_count; i++) {
        if (!options->are_cases)
            return fail_usage("compare",
                              "received '%.60s' after the store; valid: one store (`strutpress "
                              "gather` makes one of several), or case files (.yaml) alone",
                              options->file[i]);
        if (!is_case_file(options->file[i]))
            return fail_usage("compare",
                              "received '%.60s' among case files; valid: names that end in .yaml",
                              options->file[i]);
    }
    if (options->file_count > CASES_MAX)
        return fail_usage("compare",
                          "received %d case files; valid: at most %d, more with `strutpress batch`",
                          options->file_count, CASES_MAX);
    if (options->are_cases && options->dump)
        return fail_usage("compare", "received --dump with case files; valid: --dump with a store");
    if (!options->are_cases && (options->store || options->threads || options->tested.file))
        return fail_usage("compare",
                          "received --%s with a store; valid: --store, --threads and --tested with "
                          "case files (.yaml)",
                          options->store     ? "store"
                          : options->threads ? "threads"
                                             : "tested");
    return SP_OK;
}

/* The name of a coupon in tables: "foot-soft" for "docs/demo/foot-soft.yaml", or the whole path
 * where two files would get the same name. */
static void name_case(const compare_options *options, int index, char name[SP_FILE_SIZE])
{
    char other[SP_FILE_SIZE];
    const size_t folder = strlen("out/");
    default_folder(options->file[index], name, SP_FILE_SIZE);
    memmove(name, name + folder, strlen(name) - folder + 1);
    for (int i = 0; i < options->file_count; i++) {
        default_folder(options->file[i], other, sizeof other);
        if (i == index || strcmp(name, other + folder)) continue;
        snprintf(name, SP_FILE_SIZE, "%s", options->file[index]);
        return;
    }
}

static sp_status print_comparison(sp_context *context, sp_store *store,
                                  const compare_options *options, const sp_compare_options *how)
{
    sp_compare *found = NULL;
    guard_files(context);
    sp_status status = sp_compare_read(context, store, how, &found);
    if (status == SP_OK)
        status = options->format == SP_FORMAT_TABLE
                     ? sp_compare_table(context, found, stdout)
                     : sp_compare_records(context, found, options->format, stdout);
    if (status == SP_OK && options->out) status = make_folder(context, options->out);
    if (status == SP_OK && options->out) status = sp_compare_write(context, found, options->out);
    if (status == SP_OK && options->out && options->format == SP_FORMAT_TABLE)
        printf("files: %s/\n", shown(options->out));
    sp_compare_free(found);
    return status;
}

static sp_status compare_store(const compare_options *options)
{
    sp_context context = {0};
    sp_store *store = NULL;
    sp_status status = sp_store_open(&context, options->file[0], SP_STORE_READ, &store);
    if (status == SP_OK && options->out) status = try_folder(&context, options->out, sp_folder_try);
    if (status == SP_OK && options->dump)
        status = sp_store_dump(&context, store, stdout);
    else if (status == SP_OK)
        status = print_comparison(&context, store, options, &options->how);
    sp_store_close(store);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}

static sp_status compare_pressed(sp_context *context, const sp_case *request, sp_store *store,
                                 const compare_options *options)
{
    static char name[CASES_MAX][SP_FILE_SIZE];
    static sp_compare_coupon only[CASES_MAX];
    static sp_coupon_key known;
    sp_compare_options how = options->how;
    sp_status status = SP_OK;
    how.only = only;
    how.only_count = options->file_count;
    for (int i = 0; i < options->file_count && status == SP_OK; i++) {
        status = sp_coupon_key_of_case(context, &request[i], &known);
        memcpy(only[i].key, known.key, sizeof known.key);
        name_case(options, i, name[i]);
        only[i].name = name[i];
    }
    return status == SP_OK ? print_comparison(context, store, options, &how) : status;
}

static sp_status compare_cases(compare_options *options)
{
    static sp_case request[CASES_MAX];
    sp_context context = {0};
    sp_store *store = NULL;
    sp_batch_report report;
    char file[SP_FILE_SIZE + 16];
    sp_status status = SP_OK;
    for (int i = 0; i < options->file_count && status == SP_OK; i++)
        status = sp_case_read(&context, options->file[i], &request[i]);
    if (status == SP_OK)
        status =
            read_tested(&context, request, options->file_count, &options->tested, &options->how);
    if (status == SP_OK && options->out) status = try_folder(&context, options->out, sp_folder_try);
    if (status == SP_OK)
        status = open_new_store(&context, case_store, options->store ? options->store : case_store,
                                file, sizeof file, &store);
    if (status == SP_OK) {
        start_talk(&context, options->quiet);
        catch_interrupt(&context);
        status = sp_batch_press_cases(&context, request, options->file_count, store,
                                      options->threads, &report);
        end_talk(1);
    }
    if (status == SP_OK && report.not_stored == report.planned)
        status = sp_fail(&context, SP_NO_MEMORY, "no memory for any of %d coupons", report.planned);
    if (status == SP_OK) {
        if (options->format == SP_FORMAT_TABLE)
            printf("cases      %d pressed now, %d stored before; store %s\n\n", report.pressed,
                   report.stored, shown(file));
        status = compare_pressed(&context, request, store, options);
    }
    sp_store_close(store);
    free_tested(&options->tested);
    if (status != SP_OK) return fail_with(&context, status);
    end_talk(options->quiet);
    return SP_OK;
}

sp_status command_compare(int argc, char **argv)
{
    compare_options options = {0};
    const option_row rows[] = {
        {"out", 'o', option_folder, &options.out},
        {"measures", 0, option_text, &options.how.measures},
        {"figures", 0, option_text, &options.how.measures}, /* the same */
        {"rank", 0, option_text, &options.how.rank},
        {"mass", 0, read_mass, &options.how.mass},
        {"dump", 0, NULL, &options.dump},
        {"format", 0, option_format, &options.format},
        {"store", 0, option_store, &options.store},
        {"tested", 0, option_text, &options.tested.file},
        {"threads", 0, option_threads, &options.threads},
        {"quiet", 'q', NULL, &options.quiet},
    };
    int help;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    options.file = argv + optind;
    options.file_count = argc - optind;
    status = check_files(&options);
    if (status != SP_OK) return status;
    return options.are_cases ? compare_cases(&options) : compare_store(&options);
}
