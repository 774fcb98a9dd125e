/* check: the resolved case with the origin of every value, and the figures of its network. */
#include <math.h>
#include <string.h>

#include "terminal/cli.h"

void explain_check(FILE *stream)
{
    fprintf(
        stream,
        "  --out FOLDER             also write the unloaded coupon: network.svg (a picture),\n"
        "                           network.vtk (lines), network.3mf (without flaws)\n"
        "  --set section.name=value override one value of the case; may be repeated\n"
        "  --case CASE.yaml         of a mesh: the case with which it is compared\n"
        "  --format json|csv        print settings, network and forecast as records\n"
        "  --try SECONDS            press the coupon coarsely, for at most this long, to forecast "
        "the\n"
        "                           time of a press; 0: never, else 2 s where a press takes over "
        "1\n"
        "  --quiet                  no last line\n\n"
        "Prints every value with its origin (default, line of the file, set, derived), then what\n"
        "the network looks like and what a press of it will take. Cautions go to stderr.\n"
        "Where a press is forecast to take over 1 s it is tried: pressed coarsely, which takes\n"
        "about a third of its time, for 2 s at most. The forecast says what it rests on, and\n"
        "between which times 9 of 10 coupons lie.\n"
        "Of a plan (`help batch`) or a target (`help seek`): how many presses, which\n"
        "coupons cannot be built and why, and what all of it will take.\n\n"
        "Of a mesh (.stl, .3mf): its box, whether its surface is closed, its volume and mass,\n"
        "with --case beside those of the body that `mesh` makes of that case. Its mass is that\n"
        "at material.solid_density of the case, or of --set. Parts that overlap count once.\n\n"
        "A planar pattern is printed in layers along coupon.depth and pressed along\n"
        "coupon.height, in the plane of its layers: on its side. With press.direction along\n"
        "it is printed flat and pressed from above, along the height as well.\n");
}

static void print_length(const char *name, double value)
{
    if (isnan(value))
        printf("%-26s -\n", name);
    else
        printf("%-26s %.4g mm\n", name, value);
}

/* Print the two shifts that leave the endless pattern as it is: `infill.offset` counts in them. */
static void print_lattice(const sp_inspection *in)
{
    if (isnan(in->lattice[0][0])) return;
    printf("%-26s (%.4g, %.4g) and (%.4g, %.4g) mm\n", "periods, [1, 0] and [0, 1]",
           in->lattice[0][0], in->lattice[0][1], in->lattice[1][0], in->lattice[1][1]);
}

/* `planar` says that the network is planar or a stack of planar layers. `walls` is the number of
 * wall beads; a coupon without wall beads may have plates, which are counted in their place. */
static void print_figures(const sp_inspection *in, int planar, int walls)
{
    printf("%-26s %.4g %%\n", "nominal density achieved", 100 * in->nominal_density);
    printf("%-26s %.4g %%\n", planar ? "solid fraction, walls in" : "solid fraction, as union",
           100 * in->solid_fraction);
    printf("%-26s %.4g g\n", "mass", in->mass);
    print_length("cell size", in->cell_size);
    print_lattice(in);
    if (isnan(in->cells_across))
        printf("%-26s -\n", "cells across the width");
    else
        printf("%-26s %.3g\n", "cells across the width", in->cells_across);
    printf("%-26s %d infill, %d %s, %d joints\n", "struts", in->infill_struts, in->wall_struts,
           !planar                     ? "plate and frame"
           : !walls && in->wall_struts ? "plate"
                                       : "wall",
           in->joints);
    if (in->bonds)
        printf("%-26s %d, where beads of two layers lie on each other\n", "bonds", in->bonds);
    if (in->shape_factor > 0)
        printf("%-26s %.4g; between bonded platens the force is %.4g times the sliding one\n",
               "shape factor of the block", in->shape_factor, in->solid_raise);
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
        printf("%-26s %.3g .. %.3g MPa, %.3g its centre\n", "modulus by hardness", in->modulus_low,
               in->modulus_high, in->modulus_centre);
}

static void print_pieces(const sp_network *network)
{
    char left_out[SP_LEFT_OUT_SIZE];
    sp_network_left_out(network, left_out);
    printf("%-26s %d from platen to platen\n", "connected pieces", network->piece_count);
    if (left_out[0]) printf("%-26s %s\n", "left out", left_out);
}

static void print_directions(const sp_network *network)
{
    char text[SP_MESSAGE_SIZE];
    sp_network_printed_text(network, text, sizeof text);
    printf("%-26s %s\n", "printed", text);
    sp_network_pressed_text(network, text, sizeof text);
    printf("%-26s %s\n", "pressed", text);
}

static void print_forecast(const sp_forecast *forecast)
{
    char text[SP_MESSAGE_SIZE];
    sp_forecast_text(forecast, text, sizeof text);
    printf("%-26s %s\n", "forecast", text);
}

static const char *files_folder;

static void print_file(const char *file, const char *doc)
{
    printf("%-26s %s/%s\n", strstr(doc, "picture") ? "picture" : "network", shown(files_folder),
           file);
}

static sp_status write_files(sp_context *context, const sp_resolved *resolved,
                             const sp_network *network, const char *folder,
                             void (*written)(const char *, const char *))
{
    sp_status status = make_folder(context, folder);
    files_folder = folder;
    guard_files(context);
    if (status != SP_OK) return status;
    return sp_write_network(context, resolved, network, folder, written);
}

/* Print one record per value: settings of the case, then figures of the network, then the forecast.
 */
typedef struct check_row {
    const char *name, *unit;
    double value;
} check_row;

static void record_rows(sp_records *records, const char *part, const check_row *row, int count)
{
    for (int i = 0; i < count; i++) {
        sp_records_text(records, part);
        sp_records_text(records, row[i].name);
        sp_records_number(records, row[i].value);
        sp_records_text(records, row[i].unit);
        sp_records_text(records, "");
    }
}

static void record_settings(sp_records *records, const sp_case *request)
{
    static const char *const origin[] = {"default", "file", "derived"};
    char value[SP_MESSAGE_SIZE + SP_FILE_SIZE];
    for (int row = 0; row < sp_parameter_count(); row++) {
        sp_case_value_text(request, row, value, sizeof value);
        sp_records_text(records, "settings");
        sp_records_text(records, sp_parameter_at(row).key);
        sp_records_text(records, value);
        sp_records_text(records, ""); /* the value has it */
        sp_records_text(records, origin[request->origin[row]]);
    }
}

static sp_status print_records(sp_context *context, sp_record_format format, const sp_case *request,
                               const sp_inspection *in, const sp_network *network,
                               const sp_forecast *forecast)
{
    static const char *const columns[] = {"part", "name", "value", "unit", "origin"};
    const check_row built[] = {
        {"nominal_density", "", in->nominal_density},
        {"solid_fraction", "", in->solid_fraction},
        {"mass", "g", in->mass},
        {"cell_size", "mm", in->cell_size},
        {"cells_across", "", in->cells_across},
        {"infill_struts", "", in->infill_struts},
        {"wall_struts", "", in->wall_struts},
        {"bonds", "", in->bonds},
        {"joints", "", in->joints},
        {"pieces", "", network->piece_count},
        {"shape_factor", "", in->shape_factor > 0 ? in->shape_factor : NAN},
        {"free_length_median", "mm", in->infill_struts ? in->free_length_median : NAN},
        {"slenderness_least", "", in->infill_struts ? in->slenderness_least : NAN},
        {"slenderness_median", "", in->infill_struts ? in->slenderness_median : NAN},
        {"slenderness_most", "", in->infill_struts ? in->slenderness_most : NAN},
        {"short_struts", "", in->short_struts},
        {"law_modulus", "MPa", in->law_modulus},
        {"stretch_min", "", in->stretch_min},
        {"stretch_max", "", in->stretch_max},
    };
    const check_row expected[] = {
        {"seconds", "s", forecast->seconds},   {"seconds_low", "s", forecast->low},
        {"seconds_high", "s", forecast->high}, {"seconds_tried", "s", forecast->tried},
        {"bytes", "B", forecast->bytes},       {"elements", "", forecast->elements},
        {"unknowns", "", forecast->unknowns},
    };
    sp_records records;
    sp_records_begin(&records, stdout, format, ROW_COUNT(columns), columns);
    record_settings(&records, request);
    record_rows(&records, "network", built, ROW_COUNT(built));
    record_rows(&records, "forecast", expected, ROW_COUNT(expected));
    return sp_records_end(context, &records);
}

static void print_table(const sp_resolved *resolved, const sp_network *network,
                        const sp_inspection *inspection, const sp_forecast *forecast)
{
    const sp_case *settled = &resolved->request;
    sp_case_print(settled, 0, stdout);
    printf("\n");
    print_directions(network);
    print_figures(inspection, resolved->built != SP_BUILT_SPATIAL, settled->wall_beads);
    if (network->built != SP_BUILT_SOLID) print_pieces(network);
    print_forecast(forecast);
}

static const double usual_try = 2; /* [s] */

static double seconds_to_try(const case_options *options, const sp_forecast *forecast)
{
    if (options->try_seconds != TRY_USUAL) return options->try_seconds;
    return sp_forecast_is_worth_trying(forecast) ? usual_try : 0;
}

static sp_status check(const case_options *options)
{
    sp_context context = {0};
    sp_case request;
    sp_resolved resolved;
    sp_network network = {0};
    sp_inspection inspection;
    sp_forecast forecast;
    sp_status status = read_case(&context, options, &request);
    if (status != SP_OK) return status;
    start_talk(&context, options->quiet);
    catch_interrupt(&context);
    status = sp_case_resolve(&context, &request, &resolved);
    const sp_case *settled = &resolved.request;
    if (status == SP_OK) status = sp_resolved_network(&context, &resolved, 1, &network);
    if (status == SP_OK) status = sp_inspect(&context, settled, &network, &inspection);
    if (status == SP_OK) status = sp_forecast_network(&context, settled, &network, &forecast);
    sp_status tried = SP_OK; /* what is known is printed, though the coarse press was interrupted */
    if (status == SP_OK && seconds_to_try(options, &forecast) > 0)
        tried = sp_forecast_try(&context, &resolved, &network, seconds_to_try(options, &forecast),
                                &forecast);
    end_talk(1); /* no progress line under the figures */
    if (status == SP_OK && options->format == SP_FORMAT_TABLE)
        print_table(&resolved, &network, &inspection, &forecast);
    else if (status == SP_OK)
        status =
            print_records(&context, options->format, settled, &inspection, &network, &forecast);
    if (status == SP_OK && options->format == SP_FORMAT_TABLE)
        status = sp_toolpath_table(&context, resolved.drawing, stdout);
    if (status == SP_OK && options->out)
        status = write_files(&context, &resolved, &network, options->out,
                             options->format == SP_FORMAT_TABLE ? print_file : NULL);
    if (status == SP_OK) status = tried;
    sp_network_free(&network);
    sp_resolved_free(&resolved);
    end_talk(options->quiet || status != SP_OK);
    return status == SP_OK ? SP_OK : fail_with(&context, status);
}

sp_status command_check(int argc, char **argv)
{
    case_options options;
    int help;
    sp_status status = read_case_options(argc, argv, &options, &help);
    if (status != SP_OK || help) return status;
    if (options.figures) return fail_usage(argv[0], "received --figures; valid: with press");
    if (options.seeds) return fail_usage(argv[0], "received --seeds; valid: with press");
    if (sp_mesh_is_named(options.file)) {
        if (options.out || options.try_seconds != TRY_USUAL || options.format != SP_FORMAT_TABLE)
            return fail_usage(argv[0], "received %s with a mesh; valid: with a case",
                              options.out                        ? "--out"
                              : options.try_seconds != TRY_USUAL ? "--try"
                                                                 : "--format");
        return check_mesh(&options);
    }
    if (options.beside)
        return fail_usage(argv[0], "received --case with a file that is no mesh; valid: with a "
                                   "file named .stl or .3mf");
    const sp_file_kind kind = sp_file_kind_of(options.file);
    if (kind == SP_FILE_CASE) return check(&options);
    if (options.out || options.set_count || options.try_seconds != TRY_USUAL ||
        options.format != SP_FORMAT_TABLE)
        return fail_usage(argv[0], "received %s with a %s; valid: with a case",
                          options.out                        ? "--out"
                          : options.set_count                ? "--set"
                          : options.try_seconds != TRY_USUAL ? "--try"
                                                             : "--format",
                          kind == SP_FILE_PLAN ? "plan" : "target");
    return kind == SP_FILE_PLAN ? check_plan(options.file, options.quiet)
                                : check_target(options.file, options.quiet);
}
