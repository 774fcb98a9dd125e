/* cushion: print the largest force over the weight against static stress, by energy and by drops.
 */
#include "terminal/cli.h"

void explain_cushion(FILE *stream)
{
    fprintf(
        stream,
        "  --heights LIST           heights of the fall, \"300 mm, 600 mm\" when not given\n"
        "  --masses LIST            masses that fall, such as \"0.5 kg, 1 kg\"; when not given\n"
        "                           half, once and twice the best one of each height\n"
        "  --out FOLDER             where the files go; default out/ and the name of "
        "the case file\n"
        "  --set section.name=value override one value of the case; may be repeated\n"
        "  --quiet                  no progress and no last line\n\n"
        "Presses the coupon once, slowly, as far as press.strain says, and drops every mass on\n"
        "a fresh coupon from every height. Prints both side by side and writes cushion.csv and\n"
        "cushion.svg into the folder. What several drops do to one coupon: press.protocol,\n"
        "`list protocols`.\n");
}

typedef struct cushion_options {
    case_options all;
    sp_cushion_asked asked;
} cushion_options;

static sp_status option_heights(const char *command, const char *text, void *target)
{
    if (sp_cushion_read_heights(text, &((cushion_options *)target)->asked)) return SP_OK;
    return fail_usage(command,
                      "--heights: received '%s'; valid: up to %d from 1 mm to 100 m with "
                      "their unit and commas between, such as \"300 mm, 600 mm\"",
                      shown(text), SP_CUSHION_HEIGHTS);
}

static sp_status option_masses(const char *command, const char *text, void *target)
{
    if (sp_cushion_read_masses(text, &((cushion_options *)target)->asked)) return SP_OK;
    return fail_usage(command,
                      "--masses: received '%s'; valid: up to %d from 0.1 g to 10 t with "
                      "their unit and commas between, such as \"0.5 kg, 1 kg\"",
                      shown(text), SP_CUSHION_MASSES);
}

static sp_status cushion(const cushion_options *options)
{
    sp_context context = {0};
    sp_case request;
    sp_cushion *made = NULL;
    char folder[SP_FILE_SIZE];
    sp_status status = read_case(&context, &options->all, &request);
    if (status != SP_OK) return status;
    choose_folder(options->all.out, options->all.file, folder, sizeof folder);
    guard_files(&context);
    status = try_folder(&context, folder, sp_folder_try);
    if (status == SP_OK) {
        start_talk(&context, options->all.quiet);
        catch_interrupt(&context);
        status = sp_cushion_press(&context, &request, &options->asked, &made);
        end_talk(1);
    }
    if (status == SP_OK)
        status = make_folder_after(&context, sp_cushion_table(&context, made, stdout), folder);
    if (status == SP_OK) status = sp_cushion_write(&context, made, folder);
    if (status == SP_OK) printf("files: %s/\n", shown(folder));
    if (status != SP_OK) fail_with(&context, status);
    if (made) end_talk(options->all.quiet);
    sp_cushion_free(made);
    return status;
}

sp_status command_cushion(int argc, char **argv)
{
    cushion_options options = {.asked = {.height_count = 2, .height = {300, 600}}};
    int help;
    const option_row rows[] = {
        {"out", 'o', option_folder, &options.all.out}, {"set", 0, option_set, &options.all},
        {"heights", 0, option_heights, &options},      {"masses", 0, option_masses, &options},
        {"quiet", 'q', NULL, &options.all.quiet},
    };
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    status = read_one_file(argc, argv, "case file", &options.all.file);
    return status == SP_OK ? cushion(&options) : status;
}
