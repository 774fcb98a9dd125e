/* Write the body of a coupon to files for a printer. */
#include <strutpress/print.h>

#include <math.h>

#include "caution/caution.h"
#include "printing/body.h"
#include "printing/mesh_3mf.h"
#include "printing/overlap.h"
#include "write/file_set.h"
#include "write/text.h"

/* Struts in space overlap in their joints: their body is measured by rays. */
static sp_status summarise(sp_context *context, const sp_resolved *resolved,
                           const sp_network *network, const sp_print_options *options,
                           const sp_surface *surface, sp_print_summary *summary)
{
    const int overlap = network->built == SP_BUILT_SPATIAL;
    const int scaled = options->width_scale > 0 && options->width_scale != 1;
    const double density = resolved->request.solid_density;
    double uncertain;
    sp_status status = SP_OK;
    *summary =
        (sp_print_summary){.triangles = surface->triangle_count, .shells = surface->shell_count};
    double low[3] = {INFINITY, INFINITY, INFINITY}, high[3] = {-INFINITY, -INFINITY, -INFINITY};
    for (int i = 0; i < 3 * surface->vertex_count; i++) {
        low[i % 3] = fmin(low[i % 3], surface->vertex[i]);
        high[i % 3] = fmax(high[i % 3], surface->vertex[i]);
    }
    for (int k = 0; k < 3; k++) summary->size[k] = high[k] - low[k];
    if (overlap)
        status = sp_surface_body_volume(context, surface, &summary->volume, &uncertain);
    else
        summary->volume = sp_surface_volume(surface);
    summary->mass = summary->volume * density / 1000;
    summary->within =
        overlap && scaled ? NAN
        : overlap ? network->solid_fraction * network->size[0] * network->size[1] * network->size[2]
                  : summary->volume;
    return status;
}

static sp_status write_3mf(sp_context *context, const sp_network *network,
                           const sp_print_options *options, const sp_surface *surface, FILE *stream)
{
    char title[SP_MESSAGE_SIZE];
    const int as_drawn = !(options->width_scale > 0) || options->width_scale == 1;
    sp_body_title(network, title);
    const sp_mesh_file file = {
        .surface = surface,
        .beams = network->built == SP_BUILT_SPATIAL && as_drawn ? network : NULL,
        .lines = as_drawn && !options->without_walls && network->built == SP_BUILT_EXTRUDED
                     ? network
                     : NULL,
        .title = title,
        .description = SP_CAUTION_SAFETY};
    return sp_mesh_3mf(context, &file, stream);
}

static sp_status write_files(sp_context *context, const sp_network *network,
                             const sp_print_options *options, const sp_surface *surface,
                             const char *folder)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, "mesh", 2);
    if (status != SP_OK) return status;
    status = sp_file_set_open(context, &set, SP_PRINT_3MF);
    if (status == SP_OK) status = write_3mf(context, network, options, surface, set.stream);
    status = sp_file_set_close(context, &set, status);
    if (status == SP_OK) status = sp_file_set_open(context, &set, SP_PRINT_STL);
    if (status == SP_OK) {
        status = sp_mesh_stl(context, surface, set.stream);
        status = sp_file_set_close(context, &set, status);
    }
    return sp_file_set_end(context, &set, status);
}

/* Build the body; the caller frees network and surface of a success. */
static sp_status build_body(sp_context *context, const sp_resolved *resolved,
                            const sp_print_options *options, sp_network *network,
                            sp_surface *surface, sp_print_summary *summary)
{
    const sp_body_options body = {.without_walls = options->without_walls,
                                  .width_scale = options->width_scale};
    const sp_resolved drawn = sp_body_as_drawn(resolved);
    sp_status status = sp_resolved_network(context, &drawn, options->with_flaws, network);
    if (status != SP_OK) return status;
    status = sp_body_build(context, network, sp_body_wall(&drawn.request), &body, surface);
    if (status == SP_OK) {
        status = summarise(context, resolved, network, options, surface, summary);
        if (status != SP_OK) sp_surface_free(surface);
    }
    if (status != SP_OK) sp_network_free(network);
    return status;
}

sp_status sp_print_body(sp_context *context, const sp_resolved *resolved,
                        const sp_print_options *options, sp_print_summary *summary)
{
    sp_context own = {0};
    sp_network network;
    sp_surface surface;
    const sp_status status =
        build_body(context ? context : &own, resolved, options, &network, &surface, summary);
    if (status != SP_OK) return status;
    sp_surface_free(&surface);
    sp_network_free(&network);
    return SP_OK;
}

sp_status sp_print_mesh(sp_context *context, const sp_resolved *resolved,
                        const sp_print_options *options, const char *folder,
                        sp_print_summary *summary)
{
    sp_context own = {0};
    sp_network network;
    sp_surface surface;
    sp_print_summary ignored;
    if (!context) context = &own;
    sp_status status =
        build_body(context, resolved, options, &network, &surface, summary ? summary : &ignored);
    if (status != SP_OK) return status;
    status = write_files(context, &network, options, &surface, folder);
    sp_surface_free(&surface);
    sp_network_free(&network);
    return status;
}
