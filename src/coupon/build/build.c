/* Make the network of a case, whatever kind of coupon it is. */
#include "build/build.h"

#include <math.h>
#include <string.h>
#include "build/block.h"
#include "build/layers.h"
#include "panel/panels.h"
#include "pattern/cell.h"
#include "pattern/drawn.h"
#include "planar/plan.h"
#include "spatial/drawn.h"
#include "spatial/plan.h"

#include "case/case_parts.h"

/* Find the pattern as it is printed, seen from above, and the panels that stand on it. */
static sp_status build_panels(sp_context *context, const sp_case *request,
                              const sp_drawing *drawing, int with_flaws, sp_network *network)
{
    sp_panel_mesh mesh = {.height = request->height,
                          .skin = request->skin,
                          .across = request->elements_per_strut,
                          .across_layers = request->across_layers,
                          .flanks = request->flanks};
    sp_case flat = *request;
    sp_network plan;
    flat.height = request->depth;
    flat.depth = request->height;
    flat.joint_zone = 0; /* panels turn freely about their joint lines */
    flat.thickening = 1;
    sp_status status = sp_planar_build(context, &flat, drawing, with_flaws, &plan);
    if (status != SP_OK) return status;
    sp_network about = {0};
    if (request->block > 0 && plan.cell_size > 0)
        status = sp_block_take(context, &flat, drawing, with_flaws, &plan, &about);
    mesh.mirror = about.mirror;
    if (status == SP_OK) status = sp_panels_build(context, &plan, &mesh, network);
    if (status == SP_OK) {
        network->block = about.block;
        network->mirror = about.mirror;
        memcpy(network->whole, about.whole, sizeof about.whole);
        memcpy(network->stands_for, about.stands_for, sizeof about.stands_for);
    }
    sp_network_free(&plan);
    return status;
}

/* Make the block without holes, which has no struts. */
static sp_status build_solid(const sp_case *request, sp_network *network)
{
    *network = (sp_network){.dimension = 2,
                            .size = {request->width, request->height, request->depth},
                            .nominal_density = 1,
                            .solid_fraction = 1};
    return SP_OK;
}

static sp_status build_any(sp_context *context, const sp_case *request, const sp_drawing *drawing,
                           int with_flaws, sp_network *network)
{
    if (sp_case_is_solid(request)) return build_solid(request, network);
    if (sp_cell_find(request->pattern))
        return sp_spatial_build(context, request, with_flaws, network);
    if (request->layers || sp_layers_of_path(drawing))
        return sp_layers_build(context, request, drawing, with_flaws, network);
    if (drawing && drawing->is_spatial)
        return sp_spatial_build_drawn(context, request, with_flaws, drawing, network);
    if (request->press_direction == SP_PRESS_ALONG)
        return build_panels(context, request, drawing, with_flaws, network);
    return sp_planar_build(context, request, drawing, with_flaws, network);
}

sp_status sp_network_build_from(sp_context *context, const sp_case *request,
                                const sp_drawing *drawing, int with_flaws, sp_network *network)
{
    sp_status status = build_any(context, request, drawing, with_flaws, network);
    if (status != SP_OK) return status;
    const int is_stack = request->layers || sp_layers_of_path(drawing);
    network->built = sp_case_is_solid(request)                      ? SP_BUILT_SOLID
                     : network->panel                               ? SP_BUILT_PANELS
                     : network->dimension == 2                      ? SP_BUILT_EXTRUDED
                     : !is_stack                                    ? SP_BUILT_SPATIAL
                     : request->press_direction == SP_PRESS_THROUGH ? SP_BUILT_STACK
                                                                    : SP_BUILT_LAYERS;
    return SP_OK;
}

sp_status sp_network_build(sp_context *context, const sp_case *request, int with_flaws,
                           sp_network *network)
{
    sp_drawing drawing = {0};
    sp_status status = SP_OK;
    *network = (sp_network){0};
    if (sp_drawn_is_used(request)) status = sp_drawn_read(context, request, &drawing);
    if (status == SP_OK)
        status = sp_network_build_from(context, request, &drawing, with_flaws, network);
    sp_drawing_free(&drawing);
    return status;
}
