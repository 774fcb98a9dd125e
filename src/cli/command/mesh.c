/* mesh: the coupon of a case as a closed surface for a printer. */
#include "terminal/cli.h"

void explain_mesh(FILE *stream)
{
    fprintf(stream,
            "  --out FOLDER             folder for " SP_PRINT_3MF " and " SP_PRINT_STL
            " (default: out/NAME)\n"
            "  --set section.name=value override one value of the case; may be repeated\n"
            "  --without-walls          the infill alone, for walls that are added elsewhere\n"
            "  --with-flaws             with the flaws that a press takes; a print has its own\n"
            "  --width-scale FACTOR     multiply widths of beads and walls, and diameters\n"
            "  --quiet                  no last line\n\n"
            "Both files hold the same triangles, in millimetres: 3MF (ISO/IEC 25422) says so,\n"
            "STL has no units. A coupon of planar layers is the union of its beads and walls,\n"
            "raised to its depth. Struts in space are closed shells that overlap, which 3MF\n"
            "counts as one body (positive fill rule of its core specification), with the same\n"
            "struts as a beam lattice for tools that read it. The coupon stands as it is\n"
            "printed: layers upon each other along z. Nothing is pressed.\n");
}

/* A caution is printed when more than this share of the volume of the body lies outside the
 * coupon. */
static const double stands_out = 0.005;

typedef struct mesh_options {
    case_options request;
    sp_print_options print;
} mesh_options;

static void print_summary(const sp_print_summary *summary)
{
    printf("%-26s %.4g x %.4g x %.4g mm\n", "size", summary->size[0], summary->size[1],
           summary->size[2]);
    printf("%-26s %d in %d closed %s\n", "triangles", summary->triangles, summary->shells,
           summary->shells == 1 ? "shell" : "shells");
    printf("%-26s %.4g mm3, %.4g g\n", "volume", summary->volume, summary->mass);
    if (summary->within < (1 - stands_out) * summary->volume)
        printf("%-26s %.4g mm3, which is what solid fraction and mass of the coupon count: struts "
               "on its faces stand out\n",
               "within the coupon", summary->within);
}

static sp_status write_files(sp_context *context, const sp_resolved *resolved, const char *folder,
                             void *user)
{
    mesh_options *options = user;
    sp_print_summary summary;
    const sp_status status = sp_print_mesh(context, resolved, &options->print, folder, &summary);
    if (status != SP_OK) return status;
    print_summary(&summary);
    printf("files: %s/" SP_PRINT_3MF ", %s/" SP_PRINT_STL "\n", shown(folder), shown(folder));
    return SP_OK;
}

sp_status command_mesh(int argc, char **argv)
{
    mesh_options options = {0};
    const option_row rows[] = {
        {"out", 'o', option_folder, &options.request.out},
        {"set", 0, option_set, &options.request},
        {"without-walls", 0, NULL, &options.print.without_walls},
        {"with-flaws", 0, NULL, &options.print.with_flaws},
        {"width-scale", 0, option_scale, &options.print.width_scale},
        {"quiet", 'q', NULL, &options.request.quiet},
    };
    int help;
    sp_status status = read_options(argc, argv, rows, ROW_COUNT(rows), &help);
    if (status != SP_OK || help) return status;
    status = read_one_file(argc, argv, "case file", &options.request.file);
    return status == SP_OK ? work_into_folder(&options.request, write_files, &options) : status;
}
