/* rig: print what the export of a test rig holds, in words and in a picture. */
#include "terminal/cli.h"

#include <string.h>

typedef struct rig_options {
    const char *file, *out;
    sp_rig_request request;
} rig_options;

void explain_rig(FILE *stream)
{
    fprintf(
        stream,
        "  --specimen N             one of several in the file; default all of them\n"
        "  --cycle N                loading of that cycle; default the first that goes furthest\n"
        "  --zero WHERE             auto, file, contact, or toe (compensation by the steepest "
        "line\n"
        "                           of the start, ASTM D695 annex); default auto\n"
        "  --preload N              zero is where the force first stays at this many N\n"
        "  --starts-at MM           zero is at this shortening of the file\n"
        "  --travel COLUMN, --force COLUMN\n"
        "                           names or numbers of columns, where they are not recognised\n"
        "  --machine-stiffness N/MM of the machine without a coupon: its own shortening is taken "
        "off\n"
        "  --machine-curve FILE     the same by a curve of platen on platen\n"
        "  --height MM, --area MM2  of the specimen: turn strain and stress into mm and N\n"
        "  --out FOLDER             for the files; default out/NAME\n\n"
        "Reads a text file of columns as rigs export it (docs/rig.md): any delimiter, decimal "
        "point\n"
        "or comma, head lines, UTF-8, UTF-16 or Latin-1, columns by name, unit or number, one or\n"
        "several specimens. Prints what was understood, draws it into rig.svg, and writes\n"
        "rig.json and for each specimen rig-N.csv, shortening in mm and force in N from zero on.\n"
        "`calibrate` and `seek` read curves in the same way.\n");
}

static sp_status read_key(const char *command, const char *option, const char *key,
                          const char *text, sp_rig_request *request)
{
    char valid[160];
    if (sp_rig_request_set(request, key, text, valid, sizeof valid)) return SP_OK;
    return fail_usage(command, "--%s: received '%.60s'; valid: %s", option, text, valid);
}

#define READ_KEY(name, option)                                                                     \
    static sp_status read_##name(const char *command, const char *text, void *target)              \
    {                                                                                              \
        return read_key(command, option, #name, text, target);                                     \
    }
READ_KEY(specimen, "specimen")
READ_KEY(cycle, "cycle")
READ_KEY(zero, "zero")
READ_KEY(preload, "preload")
READ_KEY(starts_at, "starts-at")
READ_KEY(travel, "travel")
READ_KEY(force, "force")
READ_KEY(machine_stiffness, "machine-stiffness")
READ_KEY(machine_curve, "machine-curve")
READ_KEY(height, "height")
READ_KEY(area, "area")
#undef READ_KEY

static sp_status show(sp_context *context, const sp_rig *rig, const char *folder)
{
    const sp_status printed = sp_rig_table(context, rig, stdout);
    sp_status status = make_folder_after(context, printed, folder);
    if (status == SP_OK) status = sp_rig_write(context, rig, folder);
    if (status == SP_OK) printf("files: %s/\n", shown(folder));
    return status;
}

/* Make "out/NAME" from ".../NAME.csv". */
static void choose_rig_folder(const rig_options *options, char folder[SP_FILE_SIZE])
{
    const char *slash = strrchr(options->file, '/'), *name = slash ? slash + 1 : options->file;
    const char *dot = strrchr(name, '.');
    if (options->out)
        snprintf(folder, SP_FILE_SIZE, "%s", options->out);
    else
        snprintf(folder, SP_FILE_SIZE, "out/%.*s", dot && dot > name ? (int)(dot - name) : 255,
                 name);
}

sp_status command_rig(int argc, char **argv)
{
    rig_options options = {0};
    sp_context context = {0};
    sp_rig *rig = NULL;
    char folder[SP_FILE_SIZE];
    int help;
    sp_rig_request *q = &options.request;
    const option_row rows[] = {
        {"specimen", 0, read_specimen, q},
        {"cycle", 0, read_cycle, q},
        {"zero", 0, read_zero, q},
        {"preload", 0, read_preload, q},
        {"starts-at", 0, read_starts_at, q},
        {"travel", 0, read_travel, q},
        {"force", 0, read_force, q},
        {"machine-stiffness", 0, read_machine_stiffness, q},
        {"machine-curve", 0, read_machine_curve, q},
        {"height", 0, read_height, q},
        {"area", 0, read_area, q},
        {"out", 'o', option_folder, &options.out},
    };
    sp_rig_request_default(q);
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status == SP_OK && !help)
        status = read_one_file(argc, argv, "file of a rig", &options.file);
    if (status != SP_OK || help) return status;
    choose_rig_folder(&options, folder);
    guard_files(&context);
    start_talk(&context, 1);
    status = sp_rig_read(&context, options.file, q, &rig);
    if (status == SP_OK) status = show(&context, rig, folder);
    if (status != SP_OK) fail_with(&context, status);
    sp_rig_free(rig);
    return status;
}
