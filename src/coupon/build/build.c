/* Make the network of a case, whatever kind of coupon it is. */
#include "build/build.h"

#include <math.h>
#include <string.h>
#include "build/layers.h"
#include "panel/panels.h"
#include "pattern/cell.h"
#include "pattern/drawn.h"
#include "planar/plan.h"
#include "spatial/drawn.h"
#include "spatial/plan.h"

#include "case/case_parts.h"

/* Sum the length of the lines of either role times their thickness [mm2]. */
static void measure_lines(const sp_network *plan, double area[2])
{
    area[SP_ROLE_INFILL] = area[SP_ROLE_WALL] = 0;
    for (int s = 0; s < plan->strut_count; s++)
        area[plan->strut_role[s]] += sp_network_strut_length(plan, s) * plan->strut_thickness[s];
}

/* Find the shortest way along x (axis 0) or y that brings a turned pattern onto itself; 0 where
 * none is as short as eight of its lattice vectors. */
static double period_along(double vector[2][2], double angle, int axis)
{
    enum { MOST = 8 };
    const double c = cos(angle), s = sin(angle);
    double least = INFINITY;
    for (int i = -MOST; i <= MOST; i++)
        for (int j = -MOST; j <= MOST; j++) {
            const double x = i * vector[0][0] + j * vector[1][0],
                         y = i * vector[0][1] + j * vector[1][1];
            const double way[2] = {c * x - s * y, s * x + c * y};
            if (way[axis] > 1e-6 && fabs(way[1 - axis]) < 1e-6) least = fmin(least, way[axis]);
        }
    return least < INFINITY ? least : 0;
}

/* Side of a block of at least so many cells that is cut as the whole coupon is, whose pattern lies
 * about its middle: whole periods shorter on either side. */
static double block_side(double whole, double least, double period)
{
    if (whole <= least) return whole;
    if (!(period > 0)) return least;
    return whole - 2 * period * floor((whole - least) / (2 * period) + 1e-9);
}

/* Put the plan of a block with the same perimeter walls in the place of `plan`, which is that of
 * the whole coupon, and keep what the network has to know of the whole (E171). */
static sp_status take_block(sp_context *context, const sp_case *flat, const sp_drawing *drawing,
                            int with_flaws, sp_network *plan, sp_network *network)
{
    sp_case part = *flat;
    sp_network block;
    double of_whole[2], of_block[2];
    double vector[2][2] = {{0}};
    const double cell = plan->cell_size, angle = sp_pattern_angle(flat) * M_PI / 180,
                 least = flat->block * cell + flat->wall_beads * flat->bead_width;
    const sp_pattern_row *pattern = sp_pattern_find(flat->pattern);
    sp_status status = SP_OK;
    if (pattern->perfect) status = sp_pattern_lattice(context, pattern, flat, vector);
    if (status != SP_OK) return status;
    part.width = block_side(flat->width, least, cell * period_along(vector, angle, 0));
    part.height = block_side(flat->height, least, cell * period_along(vector, angle, 1));
    if (part.width >= flat->width && part.height >= flat->height) return SP_OK;
    status = sp_planar_build(context, &part, drawing, with_flaws, &block);
    if (status != SP_OK) return status;
    measure_lines(plan, of_whole);
    measure_lines(&block, of_block);
    network->block = flat->block;
    network->whole[0] = flat->width;
    network->whole[1] = flat->depth;
    network->whole[2] = flat->height;
    for (int role = 0; role < 2; role++)
        network->stands_for[role] = of_block[role] > 0 ? of_whole[role] / of_block[role] : 1;
    block.solid_fraction = plan->solid_fraction;
    block.nominal_density = plan->nominal_density;
    sp_network_free(plan);
    *plan = block;
    return SP_OK;
}

/* Find the pattern as it is printed, seen from above, and the panels that stand on it. */
static sp_status build_panels(sp_context *context, const sp_case *request,
                              const sp_drawing *drawing, int with_flaws, sp_network *network)
{
    const sp_panel_mesh mesh = {.height = request->height,
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
        status = take_block(context, &flat, drawing, with_flaws, &plan, &about);
    if (status == SP_OK) status = sp_panels_build(context, &plan, &mesh, network);
    if (status == SP_OK) {
        network->block = about.block;
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
