/* check: the resolved case with the origin of every value, and the figures of its network. */
#include <math.h>
#include <string.h>

#include "cli/cli.h"

void explain_check(FILE *stream)
{
    fprintf(
        stream,
        "  --out FOLDER             also write the unloaded coupon: network.svg (a picture),\n"
        "                           network.vtk (lines), network.3mf (spatial: to be printed)\n"
        "  --set section.name=value override one value of the case; may be repeated\n"
        "  --quiet                  no last line\n\n"
        "Prints every value with its origin (default, line of the file, set, derived), then what\n"
        "the network looks like. Cautions go to stderr. Nothing is pressed.\n");
}

static void print_length(const char *name, double value)
{
    if (isnan(value))
        printf("%-26s -\n", name);
    else
        printf("%-26s %.4g mm\n", name, value);
}

/* `planar`: the network is one, or a stack of layers that are. */
static void print_figures(const sp_inspection *in, int planar)
{
    printf("%-26s %.4g %%\n", "nominal density achieved", 100 * in->nominal_density);
    printf("%-26s %.4g %%\n", planar ? "solid fraction, walls in" : "solid fraction, as union",
           100 * in->solid_fraction);
    printf("%-26s %.4g g\n", "mass", in->mass);
    print_length("cell size", in->cell_size);
    if (isnan(in->cells_across))
        printf("%-26s -\n", "cells across the width");
    else
        printf("%-26s %.3g\n", "cells across the width", in->cells_across);
    printf("%-26s %d infill, %d %s, %d joints\n", "struts", in->infill_struts, in->wall_struts,
           planar ? "wall" : "plate and frame", in->joints);
    if (in->infill_struts) {
        print_length("free length, median", in->free_length_median);
        printf("%-26s %.3g (least %.3g, most %.3g)\n", "slenderness, median",
               in->slenderness_median, in->slenderness_least, in->slenderness_most);
        printf("%-26s %d\n",
               in->dimension == 2 ? "struts under 2 beads free" : "struts under 2 d free",
               in->short_struts);
    }
    printf("%-26s %.4g MPa at no strain, stable for stretch %.3g .. %.3g\n",
           "law in its strain state", in->law_modulus, in->stretch_min, in->stretch_max);
    if (in->modulus_high > 0)
        printf("%-26s %.3g .. %.3g MPa\n", "modulus by hardness", in->modulus_low,
               in->modulus_high);
}

static const char *files_folder;

static void print_file(const char *file, const char *doc)
{
    printf("%-26s %s/%s\n", strstr(doc, "picture") ? "picture" : "network", shown(files_folder),
           file);
}

static sp_status write_files(sp_context *context, const sp_case *request, const sp_network *network,
                             const char *folder)
{
    sp_status status = make_folder(context, folder);
    files_folder = folder;
    if (status != SP_OK) return status;
    return sp_write_network(context, request, network, folder, print_file);
}

static sp_status check(const case_options *options)
{
    sp_context context = {0};
    sp_case request;
    sp_network network = {0};
    sp_inspection inspection;
    sp_status status = read_case(&context, options, &request);
    if (status != SP_OK) return status;
    start_talk(&context, options->quiet);
    status = sp_case_validate_names(&context, &request);
    if (status == SP_OK) status = sp_network_build(&context, &request, 1, &network);
    if (status == SP_OK) status = sp_inspect(&context, &request, &network, &inspection);
    if (status == SP_OK) {
        sp_case_print(&request, 0, stdout);
        printf("\n");
        print_figures(&inspection, inspection.dimension == 2 || request.layers);
        if (options->out) status = write_files(&context, &request, &network, options->out);
    }
    sp_network_free(&network);
    end_talk(options->quiet || status != SP_OK);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}

sp_status command_check(int argc, char **argv)
{
    case_options options;
    int help;
    sp_status status = read_case_options(argc, argv, &options, &help);
    return status != SP_OK || help ? status : check(&options);
}
