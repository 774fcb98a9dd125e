/* seek: from a target to the coupons that meet it. */
#include "terminal/cli.h"

void explain_seek(FILE *stream)
{
    fprintf(stream,
            "  --format json|csv        print seek.json or seek.csv in place of the table\n");
    explain_store_options(stream, "target");
    fprintf(
        stream,
        "The target (docs/seek.md) says what must hold and what may change:\n"
        "  base: foot-soft.yaml\n"
        "  candidates:\n"
        "    infill.pattern: [square, kagome]\n"
        "  vary:\n"
        "    infill.density: {from: 8 %%, to: 25 %%, within: 0.2 %%}\n"
        "  require:\n"
        "    force_25: {at_least: 20 N, at_most: 40 N}\n"
        "    drop_after_maximum: {at_most: 5 %%}\n"
        "  save: mass\n"
        "  seeds: 3\n\n"
        "Besides the measures there are force_at 6 mm and energy_before 0.15 MPa, with any value.\n"
        "A coupon that is stored is not pressed again: the same command goes on where it was\n"
        "stopped. Prints the candidates in order and writes into the folder seek.json, seek.csv,\n"
        "and for each candidate that reaches the target answer-N-PATTERN.yaml, a case file for\n"
        "`press`, and answer-N-PATTERN.vtk, its centrelines with their widths; of a network in\n"
        "space answer-N-PATTERN.3mf, too, to be printed. That no candidate reaches the target is\n"
        "an answer as well: exit status 0.\n");
}

static sp_status show(sp_context *context, const sp_answer *answer, sp_record_format format,
                      const char *folder, const char *store)
{
    const int is_table = format == SP_FORMAT_TABLE;
    const sp_status printed = is_table ? sp_answer_table(context, answer, stdout)
                                       : sp_answer_records(context, answer, format, stdout);
    sp_status status = make_folder_after(context, printed, folder);
    if (status == SP_OK) status = sp_answer_write(context, answer, folder);
    if (status == SP_OK && is_table)
        printf("files: %s/   store: %s\n", shown(folder), shown(store));
    return status;
}

static sp_status seek(const store_options *options)
{
    sp_context context = {0};
    sp_target *target = NULL;
    sp_store *store = NULL;
    sp_answer *answer = NULL;
    char file[SP_FILE_SIZE + 16], folder[SP_FILE_SIZE];
    choose_folder(options->out, options->file, folder, sizeof folder);
    guard_files(&context);
    start_talk(&context, options->quiet);
    head_lines("curve"); /* of a target with `match:` */
    sp_status status = sp_target_read(&context, options->file, &target);
    head_lines("forecast");
    if (status == SP_OK) status = try_folder(&context, folder, sp_folder_try);
    if (status == SP_OK)
        status = open_new_store(&context, options->file, options->store, file, sizeof file, &store);
    if (status == SP_OK) {
        catch_interrupt(&context);
        status = sp_seek(&context, target, store, options->threads, &answer);
        end_talk(1); /* no progress line may stand under the table */
    }
    if (status == SP_OK) status = show(&context, answer, options->format, folder, file);
    if (status != SP_OK) fail_with(&context, status);
    if (answer) end_talk(options->quiet);
    sp_answer_free(answer);
    sp_store_close(store);
    sp_target_free(target);
    return status;
}

sp_status command_seek(int argc, char **argv)
{
    store_options options;
    int help;
    const sp_status status = read_store_options(argc, argv, "target", &options, &help);
    return status == SP_OK && !help ? seek(&options) : status;
}
