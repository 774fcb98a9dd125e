/* press: case file to table, curve and pictures. */
#include <string.h>

#include "terminal/cli.h"

void explain_press(FILE *stream)
{
    fprintf(
        stream,
        "  --out FOLDER             where the files go; default out/ and the name of "
        "the case file\n"
        "  --set section.name=value override one value of the case; may be repeated\n"
        "  --figures \"A, B 25 %%\"    figures read off the curve, below the table: those of\n"
        "                           `list measures`, such as `force_at 6 mm`\n"
        "  --seeds N                press N seeds of the flaws, in place of press.seeds\n"
        "  --format json|csv        print result.json or curve.csv in place of the table\n"
        "  --quiet                  no progress and no last line\n\n"
        "One seed of the flaws predicts nothing late in a press: at 65 %% strain seeds are a\n"
        "third apart. So five are pressed, from flaws.seed on, on all cores (press.seeds), and\n"
        "each figure is their median with the lowest and the highest; one where a press is\n"
        "forecast to take over a minute, or where the coupon has no flaws. Curve, states and\n"
        "pictures are those of flaws.seed where the case gives it, else of the seed whose\n"
        "figures are nearest the medians; curve.svg has the band of all. flaws.seed: 3 with\n"
        "press.seeds: 1 presses exactly seed 3. batch, seek, calibrate and cushion press the\n"
        "seeds that their own files name.\n\n"
        "A planar pattern is printed in layers along coupon.depth and pressed along\n"
        "coupon.height, in the plane of its layers: on its side. A pad that is printed flat\n"
        "and pressed from above is another test: press.direction along.\n\n"
        "Every force goes with material.modulus: docs/filament.md says how to measure it.\n\n"
        "Prints the table of the run. Writes into the folder:\n");
    int count;
    const sp_writer_row *writer = sp_writer_rows(&count);
    for (int i = 0; i < count; i++) fprintf(stream, "  %-16s %s\n", writer[i].file, writer[i].doc);
    fprintf(stream, "\nCtrl-C or SIGTERM stops the press and keeps the curve so far; a second one "
                    "ends the program.\n");
}

enum { FIGURES_MAX = 32, FIGURE_TEXT = 200 };

typedef struct asked_figures {
    int count;
    sp_figure figure[FIGURES_MAX];
} asked_figures;

/* Find the figures of --figures before anything is pressed. */
static sp_status read_figures(const char *text, asked_figures *asked)
{
    asked->count = 0;
    while (text && *text) {
        char one[FIGURE_TEXT], valid[SP_MESSAGE_SIZE], nearest[SP_NAME_SIZE];
        const size_t length = strcspn(text, ",");
        const char *begin = text + strspn(text, " ");
        int used = begin < text + length ? (int)(text + length - begin) : 0;
        while (used && begin[used - 1] == ' ') used--;
        snprintf(one, sizeof one, "%.*s", used, begin);
        if (asked->count == FIGURES_MAX)
            return fail_usage("press", "received more than %d figures; valid: up to that",
                              FIGURES_MAX);
        if (!sp_figure_find(one, &asked->figure[asked->count++], valid, sizeof valid, nearest))
            return fail_usage("press", "--figures: received '%.60s'; valid: %s%s%s%s", one, valid,
                              nearest[0] ? " (did you mean '" : "", nearest,
                              nearest[0] ? "'?)" : "");
        text += length + (text[length] == ',');
    }
    return SP_OK;
}

/* Print a figure; for several seeds its median, lowest and highest. */
static sp_status print_figures(sp_context *context, const asked_figures *asked,
                               const sp_result *result)
{
    int kept;
    const int seeds = sp_result_seeds(result, &kept);
    if (asked->count) printf("\nfigures asked for\n");
    for (int i = 0; i < asked->count; i++) {
        const char *name = asked->figure[i].name, *unit;
        char low[32], high[32];
        sp_spread got;
        const sp_status status = sp_result_spread(context, result, name, &got, &unit);
        if (status != SP_OK) return status;
        if (!got.count) {
            printf("  %-30s %14s\n", name, "not reached");
            continue;
        }
        printf("  %-30s %14.4g  %s", name, got.median, unit);
        snprintf(low, sizeof low, "%.4g", got.low);
        snprintf(high, sizeof high, "%.4g", got.high);
        if (strcmp(low, high)) printf("  (%s .. %s)", low, high);
        if (got.count < seeds) printf("  of %d seeds", got.count);
        printf("\n");
    }
    if (asked->count) printf("\n");
    return SP_OK;
}

/* Print on stdout what the writer of that name writes. */
static sp_status print_file(sp_context *context, const sp_result *result, const char *name)
{
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    while (strcmp(row->name, name)) row++;
    return row->write(context, result, stdout);
}

static sp_status print_result(sp_context *context, const sp_result *result,
                              const asked_figures *asked, sp_record_format format)
{
    if (format == SP_FORMAT_JSON) return print_file(context, result, "result-json");
    if (format == SP_FORMAT_CSV) return print_file(context, result, "curve-csv");
    const sp_status status = sp_write_table(context, result, stdout);
    return status == SP_OK ? print_figures(context, asked, result) : status;
}

static sp_status write_results(sp_context *context, const sp_result *result,
                               const asked_figures *asked, sp_record_format format,
                               const char *folder)
{
    const sp_status printed = print_result(context, result, asked, format);
    sp_status status = make_folder_after(context, printed, folder);
    if (status == SP_OK) status = sp_write_all(context, result, folder);
    if (status == SP_OK && format == SP_FORMAT_TABLE) printf("files: %s/\n", shown(folder));
    return status;
}

static sp_status tell_result(sp_context *context, const case_options *options,
                             const sp_result *result, const asked_figures *asked,
                             const char *folder)
{
    const sp_status ended = sp_stop_outcome(sp_result_stop(result));
    int steps;
    sp_result_steps(result, &steps);
    if (!steps) return fail_with(context, sp_fail(context, ended, "%s", sp_result_reason(result)));
    const sp_status written = write_results(context, result, asked, options->format, folder);
    if (ended != SP_OK) fprintf(stderr, "%s: %s\n", shown(options->file), sp_result_reason(result));
    if (written != SP_OK) fail_with(context, written);
    end_talk(options->quiet);
    return written != SP_OK ? written : ended;
}

static sp_status press(const case_options *options)
{
    sp_context context = {0};
    sp_case request;
    sp_result *result;
    char folder[SP_FILE_SIZE];
    asked_figures asked;
    sp_status status = read_figures(options->figures, &asked);
    if (status == SP_OK) status = read_case(&context, options, &request);
    if (status != SP_OK) return status;
    choose_folder(options->out, options->file, folder, sizeof folder);
    start_talk(&context, options->quiet);
    catch_interrupt(&context);
    status = try_folder(&context, folder, sp_write_try);
    if (status != SP_OK) return fail_with(&context, status);
    status = sp_run_seeds(&context, &request, options->seeds, &result);
    end_talk(1); /* no progress line may stand under the table */
    if (status != SP_OK) return fail_with(&context, status);
    status = tell_result(&context, options, result, &asked, folder);
    sp_result_free(result);
    return status;
}

sp_status command_press(int argc, char **argv)
{
    case_options options;
    int help;
    sp_status status = read_case_options(argc, argv, &options, &help);
    if (status != SP_OK || help) return status;
    if (options.try_seconds != TRY_USUAL)
        return fail_usage(argv[0], "received --try; valid: with check");
    if (options.beside) return fail_usage(argv[0], "received --case; valid: with check of a mesh");
    if (options.figures && options.format != SP_FORMAT_TABLE)
        return fail_usage(argv[0], "received --figures with --format; valid: with the table");
    return press(&options);
}
