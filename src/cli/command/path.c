/* path: the beads of a planar coupon as motion words for a printer. */
#include <math.h>

#include "terminal/cli.h"

void explain_path(FILE *stream)
{
    fprintf(stream,
            "  --bed X,Y,Z              reach of the machine from 0 [mm]; must be given\n"
            "  --corner X,Y             where the corner of the coupon stands [mm] (default: such\n"
            "                           that the coupon is in the middle of the bed)\n"
            "  --layer-height H         height of a layer [mm] (default: 0.2)\n"
            "  --filament D             diameter of the filament [mm] (default: 1.75)\n"
            "  --speed S                along a bead [mm/s] (default: 20)\n"
            "  --travel-speed S         between beads [mm/s] (default: 100)\n"
            "  --out FOLDER             folder for " SP_PRINT_PATH " (default: out/NAME)\n"
            "  --set section.name=value override one value of the case; may be repeated\n"
            "  --without-walls          the infill alone\n"
            "  --with-flaws             with the flaws that a press takes; a print has its own\n"
            "  --width-scale FACTOR     multiply widths of beads and walls\n"
            "  --quiet                  no last line\n\n"
            "Words of ISO 6983: G21 G90 M83 once, then G0 and G1 with X Y Z E F. E is the length\n"
            "of filament with the volume of the drawn bead, length x width x height of a layer.\n"
            "`pattern: printed` reads the file again (docs/printed.md). It sets no\n"
            "temperature, finds no zero and retracts nothing: put your own start before it and\n"
            "your own end behind it.\n\n"
            "The file moves a machine. Read it, and keep a hand at the switch: a path that fits\n"
            "the bed says nothing about clamps, and nothing about what the machine is set to.\n"
            "The manual and the safety rules of the machine come first.\n");
}

typedef struct path_options {
    case_options request;
    sp_bead_path_options path;
} path_options;

static sp_status option_bed(const char *command, const char *text, void *target)
{
    return read_numbers(command, "bed", text, 3, 1, 1e4, "three lengths in mm, as 220,220,250",
                        target);
}

static sp_status option_corner(const char *command, const char *text, void *target)
{
    return read_numbers(command, "corner", text, 2, 0, 1e4, "two lengths in mm, as 10,10", target);
}

static sp_status option_layer(const char *command, const char *text, void *target)
{
    return read_numbers(command, "layer-height", text, 1, 0.01, 10, "0.01 to 10 mm", target);
}

static sp_status option_filament(const char *command, const char *text, void *target)
{
    return read_numbers(command, "filament", text, 1, 0.5, 10, "0.5 to 10 mm", target);
}

static sp_status option_speed(const char *command, const char *text, void *target)
{
    return read_numbers(command, "speed", text, 1, 0.1, 2000, "0.1 to 2000 mm/s", target);
}

static sp_status option_travel(const char *command, const char *text, void *target)
{
    return read_numbers(command, "travel-speed", text, 1, 0.1, 2000, "0.1 to 2000 mm/s", target);
}

static void print_summary(const sp_bead_path_summary *summary)
{
    printf("%-26s %d layers, %d unbroken lines\n", "path", summary->layers, summary->lines);
    printf("%-26s %.4g mm of beads, %.4g mm of travel within layers\n", "length",
           summary->bead_length, summary->travel_length);
    printf("%-26s %.4g mm, %.4g mm3\n", "filament", summary->filament_length, summary->volume);
    printf("%-26s x %.4g to %.4g, y %.4g to %.4g, z to %.4g mm\n", "nozzle reaches",
           summary->low[0], summary->high[0], summary->low[1], summary->high[1], summary->top);
    printf("%-26s %.4g min at these speeds, without acceleration\n", "motion",
           summary->seconds / 60);
}

static sp_status write_files(sp_context *context, const sp_resolved *resolved, const char *folder,
                             void *user)
{
    path_options *options = user;
    sp_bead_path_summary summary;
    const sp_status status = sp_print_path(context, resolved, &options->path, folder, &summary);
    if (status != SP_OK) return status;
    print_summary(&summary);
    printf("file: %s/" SP_PRINT_PATH "\n", shown(folder));
    return SP_OK;
}

sp_status command_path(int argc, char **argv)
{
    path_options options = {.path = {.corner = {NAN, NAN}}};
    sp_bead_path_options *to = &options.path;
    const option_row rows[] = {
        {"bed", 0, option_bed, to->bed},
        {"corner", 0, option_corner, to->corner},
        {"layer-height", 0, option_layer, &to->layer_height},
        {"filament", 0, option_filament, &to->filament},
        {"speed", 0, option_speed, &to->speed},
        {"travel-speed", 0, option_travel, &to->travel_speed},
        {"out", 'o', option_folder, &options.request.out},
        {"set", 0, option_set, &options.request},
        {"without-walls", 0, NULL, &to->print.without_walls},
        {"with-flaws", 0, NULL, &to->print.with_flaws},
        {"width-scale", 0, option_scale, &to->print.width_scale},
        {"quiet", 'q', NULL, &options.request.quiet},
    };
    int help;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    if (!(to->bed[0] > 0))
        return fail_usage(argv[0], "--bed is missing; valid: the reach of the machine in mm, as "
                                   "--bed 220,220,250");
    status = read_one_file(argc, argv, "case file", &options.request.file);
    return status == SP_OK ? work_into_folder(&options.request, write_files, &options) : status;
}
