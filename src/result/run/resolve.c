/* From what was asked to the resolved case: names, hardness, drawing and dimension, and the values
 * that follow from those that were given. */
#include <strutpress/resolve.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/inspect.h>
#include <strutpress/protocol.h>

#include "base/alloc.h"
#include "build/build.h"
#include "build/layers.h"
#include "case/case_parts.h"
#include "filament/filament.h"
#include "law/hardness.h"
#include "law/law.h"
#include "network/parts.h"
#include "pattern/cell.h"
#include "pattern/drawn.h"
#include "pattern/pattern.h"
#include "run/resolve_parts.h"

/* Steps of a press along the walls, when the case gives none. */
static const int fewest_steps[2] = {20, 100}; /* along the walls; of cells in space */

static sp_status check_pattern(sp_context *context, const sp_case *request, const char *key,
                               const char *name)
{
    char valid[SP_VALID_SIZE] = "";
    sp_nearest nearest = {0};
    if (sp_pattern_find(name) || sp_cell_find(name)) return SP_OK;
    if (!strcmp(key, "infill.pattern") &&
        (!strcmp(name, SP_SOLID_NAME) || !strcmp(name, SP_PRINTED_NAME)))
        return SP_OK;
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        sp_listed row = sp_list_pattern_at(i);
        sp_case_add_name(valid, sizeof valid, row.alias[0] ? row.alias : row.name);
        sp_nearest_offer(&nearest, name, row.name);
        sp_nearest_offer(&nearest, name, row.alias);
    }
    const char *near = sp_pattern_near(name);
    return sp_case_fail_at(context, request, key, NULL, valid, near ? near : nearest.name);
}

static int is_spatial(const sp_resolved *resolved)
{
    return sp_cell_find(resolved->request.pattern) ||
           (resolved->drawing && resolved->drawing->is_spatial &&
            !strcmp(resolved->request.pattern, "drawn"));
}

/* Return the layers of the case, or of a tool path. */
static int is_stack(const sp_resolved *resolved)
{
    return resolved->request.layers > 0 || sp_layers_of_path(resolved->drawing);
}

/* All layers must be planar. */
static sp_status check_layers(sp_context *context, const sp_resolved *resolved)
{
    const sp_case *request = &resolved->request;
    if (!request->layers) return SP_OK;
    if (sp_layers_of_path(resolved->drawing))
        return sp_case_fail_at(context, request, "infill.layers", NULL,
                               "0, because the layers of the tool path repeat: they are stacked as "
                               "they are",
                               NULL);
    if (is_spatial(resolved))
        return sp_case_fail_at(context, request, "infill.layers", NULL,
                               "0, because infill.pattern is spatial (layers are planar)", NULL);
    if (!request->layer_pattern[0]) return SP_OK;
    if (sp_cell_find(request->layer_pattern))
        return sp_case_fail_at(context, request, "infill.layer_pattern", NULL, "a planar pattern",
                               NULL);
    return check_pattern(context, request, "infill.layer_pattern", request->layer_pattern);
}

/* Only walls that are extruded can stand along the load. */
static sp_status check_direction(sp_context *context, const sp_resolved *resolved)
{
    const sp_case *request = &resolved->request;
    const char *valid =
        is_spatial(resolved) ? "across, because infill.pattern is spatial: its struts are pressed "
                               "as they lie"
        : is_stack(resolved)
            ? request->press_direction == SP_PRESS_THROUGH
                  ? NULL
                  : "across or through, because the coupon has layers of their own: no wall stands "
                    "all along its height"
        : request->press_direction == SP_PRESS_THROUGH
            ? "across or along, because the coupon has no layers of their own (infill.layers, or a "
              "tool path whose layers repeat)"
            : NULL;
    if (request->press_direction == SP_PRESS_ACROSS || !valid || sp_case_is_solid(request))
        return SP_OK;
    return sp_case_fail_at(context, request, "press.direction", NULL, valid, NULL);
}

/* Pressed through the stack, beads are beams that lie flat: a bead that is higher than wide is a
 * wall. */
static sp_status check_stack(sp_context *context, const sp_resolved *resolved)
{
    static const double most = 1.5, slack = 1e-9; /* height / width of a bead */
    const sp_case *request = &resolved->request;
    char valid[SP_VALID_SIZE];
    if (request->press_direction != SP_PRESS_THROUGH || sp_case_is_solid(request)) return SP_OK;
    if (request->layers == 1)
        return sp_case_fail_at(context, request, "infill.layers", NULL,
                               "2 or more, to be pressed through the stack", NULL);
    const double widest = most * request->bead_width;
    if (request->layers == 0 || request->height <= (1 + slack) * request->layers * widest)
        return SP_OK;
    snprintf(valid, sizeof valid,
             "%d or more, because layers that are pressed through the stack are beads, no higher "
             "than %.4g mm",
             (int)ceil(request->height / widest), widest);
    return sp_case_fail_at(context, request, "infill.layers", NULL, valid, NULL);
}

/* Find the first of the keys that stands in the case file, so that the failure line points at
 * something the user wrote; else the first. */
static const char *given_key(const sp_case *request, const char *const *keys, int count)
{
    for (int i = 0; i < count; i++)
        if (request->line[sp_case_row_find(keys[i])]) return keys[i];
    return keys[0];
}

/* A block of one cell is refused, because it could fold only as its mirror images do. A press in
 * time follows the force on the whole coupon, so it takes no block. */
static sp_status check_block(sp_context *context, const sp_case *request)
{
    if (request->press_direction != SP_PRESS_ALONG) return SP_OK;
    if (request->block_sides == SP_SIDES_MIRROR && request->block == 0)
        return sp_case_fail_at(context, request, "coupon.block_sides", NULL,
                               "free, or a block to have such sides (coupon.block: 2 or more)",
                               NULL);
    if (request->block_sides == SP_SIDES_MIRROR && request->wall_beads > 0)
        return sp_case_fail_at(context, request, "coupon.block_sides", NULL,
                               "free, or bead.walls: 0, because there is no perimeter between "
                               "planes of symmetry",
                               NULL);
    if (request->block == 0) return SP_OK;
    if (request->block == 1)
        return sp_case_fail_at(context, request, "coupon.block", NULL,
                               "0 (the whole coupon), or 2 and more cells a side", NULL);
    if (sp_protocol_takes_time(request))
        return sp_case_fail_at(context, request, "coupon.block", NULL,
                               "0, because the press takes time: a block is pressed without", NULL);
    return SP_OK;
}

/* Round flanks are half circles as high as a layer, and a bead is wider than that. */
static sp_status check_flanks(sp_context *context, const sp_case *request)
{
    static const double most = 0.8; /* of the width; flaws make walls thinner than that */
    char valid[SP_VALID_SIZE];
    const double width = request->bead_width + fmin(0, request->width_offset);
    if (request->press_direction != SP_PRESS_ALONG || request->flanks <= most * width) return SP_OK;
    snprintf(valid, sizeof valid, "0 (flat) to %.4g mm: a bead is wider than high", most * width);
    return sp_case_fail_at(context, request, "bead.flanks", NULL, valid, NULL);
}

/* Panels must stand between the skins, and skins fill all of their height. */
static sp_status check_skins(sp_context *context, const sp_case *request)
{
    static const double most = 0.4; /* of the height, for either skin */
    char valid[SP_VALID_SIZE];
    if (request->press_direction != SP_PRESS_ALONG || request->skin <= most * request->height)
        return SP_OK;
    snprintf(valid, sizeof valid,
             "0 to %g of coupon.height, %g mm: walls must stand between the two skins", most,
             most * request->height);
    return sp_case_fail_at(context, request, "coupon.skins", NULL, valid, NULL);
}

/* Only planar networks have walls. */
static sp_status check_walls(sp_context *context, const sp_resolved *resolved)
{
    const sp_case *request = &resolved->request;
    const double walls = 2 * request->wall_beads * request->bead_width;
    const int along = request->press_direction != SP_PRESS_ACROSS;
    const double other = along ? request->depth : request->height;
    const double side = fmin(request->width, other);
    const char *const keys[] = {"bead.walls", "bead.width",
                                request->width <= other ? "coupon.width"
                                : along                 ? "coupon.depth"
                                                        : "coupon.height"};
    char valid[SP_VALID_SIZE];
    if (walls < side || is_spatial(resolved) || sp_case_is_solid(request)) return SP_OK;
    snprintf(valid, sizeof valid,
             "walls thinner than the coupon: 2 x walls x bead width = %g mm must be below %g mm",
             walls, side);
    return sp_case_fail_at(context, request, given_key(request, keys, 3), NULL, valid, NULL);
}

static sp_status check_law(sp_context *context, const sp_case *request)
{
    char valid[SP_VALID_SIZE] = "";
    sp_nearest nearest = {0};
    if (sp_law_find(request->law)) return SP_OK;
    for (int i = 0; i < sp_list_law_count(); i++) {
        sp_case_add_name(valid, sizeof valid, sp_list_law_at(i).name);
        sp_nearest_offer(&nearest, request->law, sp_list_law_at(i).name);
    }
    return sp_case_fail_at(context, request, "material.law", NULL, valid, nearest.name);
}

/* Read the drawing once: for the dimension, for the network with flaws and without, and for the key
 * in a store. */
static sp_status read_drawing(sp_context *context, sp_resolved *resolved)
{
    const sp_case *request = &resolved->request;
    if (!sp_drawn_is_used(request)) return SP_OK;
    if (!request->network_file[0] && strcmp(request->pattern, SP_PRINTED_NAME) != 0)
        return sp_case_fail_at(context, request, "infill.network", "nothing",
                               "the file of the lines, because infill.pattern is drawn", NULL);
    resolved->drawing = sp_alloc(1, sizeof *resolved->drawing);
    if (!resolved->drawing) return sp_fail(context, SP_NO_MEMORY, "no memory for a drawing");
    return sp_drawn_read(context, request, resolved->drawing);
}

static int is_default_modulus(const sp_case *request)
{
    sp_case usual;
    sp_case_default(&usual);
    return fabs(request->modulus - usual.modulus) <= 0;
}

/* A file, or sp_case_set, says that a modulus is measured and so overrides the hardness. A member
 * set by hand does not say so. */
static sp_status check_modulus(sp_context *context, const sp_case *request)
{
    const int is_hard = !isnan(request->shore_a) || !isnan(request->shore_d);
    if (!is_hard || is_default_modulus(request) ||
        request->origin[sp_case_row_find("material.modulus")] != SP_ORIGIN_DEFAULT)
        return SP_OK;
    return sp_case_fail_at(context, request, "material.modulus", NULL,
                           "no member set by hand beside a hardness; sp_case_set says that a "
                           "modulus is measured, and it then overrides the hardness",
                           NULL);
}

/* Two hardnesses that no one filament has are refused, because one of them must be a slip. */
static sp_status check_hardness(sp_context *context, const sp_case *request)
{
    const double shore_a = request->shore_a, shore_d = request->shore_d;
    const sp_hardness a = sp_hardness_a(shore_a), d = sp_hardness_d(shore_d);
    char valid[SP_VALID_SIZE];
    double least = 10, most = 90; /* Shore D that shore_a bears */
    if (sp_hardness_agree(shore_a, shore_d)) return SP_OK;
    while (least < most && !sp_hardness_agree(shore_a, least)) least++;
    while (most > least && !sp_hardness_agree(shore_a, most)) most--;
    snprintf(valid, sizeof valid,
             "%g .. %g beside shore_a %g, or one of the two: %g Shore A says %.3g MPa (%.3g .. "
             "%.3g), %g Shore D "
             "says %.3g MPa (%.3g .. %.3g)",
             least, most, shore_a, shore_a, a.centre, a.low, a.high, shore_d, d.centre, d.low,
             d.high);
    return sp_case_fail_at(context, request, "material.shore_d", NULL, valid, NULL);
}

/* The modulus is the centre of the band of its hardness. */
static void derive_modulus(sp_case *request)
{
    int row = sp_case_row_find("material.modulus");
    int given = !isnan(request->shore_a) || !isnan(request->shore_d);
    if (request->origin[row] == SP_ORIGIN_FILE || !given) return;
    request->modulus = sp_hardness_band(request->shore_a, request->shore_d).centre;
    request->origin[row] = SP_ORIGIN_DERIVED;
}

/* Corners are as printed: a file of struts in space has sharp ones, beads leave round ones
 * (docs/theory.md, E145). */
static void settle_corners(sp_case *request, int is_spatial)
{
    if (!isnan(request->joint_zone)) return;
    request->joint_zone = sp_corners_as_printed(is_spatial);
    request->origin[sp_case_row_find("model.joint_zone")] = SP_ORIGIN_DERIVED;
}

/* Spatial struts are free struts; the default for planar ones would be a slip in every case. */
static sp_status settle_strain_state(sp_context *context, sp_case *request, int spatial)
{
    int row = sp_case_row_find("material.strain_state");
    if (!spatial || request->strain_state == SP_UNIAXIAL) return SP_OK;
    if (request->origin[row] == SP_ORIGIN_FILE)
        return sp_case_fail_at(context, request, "material.strain_state", NULL,
                               "uniaxial, because the struts of a spatial network are free", NULL);
    request->strain_state = SP_UNIAXIAL;
    request->origin[row] = SP_ORIGIN_DERIVED;
    return SP_OK;
}

static void derive(sp_case *request, const char *key)
{
    request->origin[sp_case_row_find(key)] = SP_ORIGIN_DERIVED;
}

/* The angle is written out for whoever reads the case; the network takes it from the row as well.
 */
static void settle_angle(sp_case *request)
{
    if (!isnan(request->angle) || !sp_pattern_find(request->pattern)) return;
    request->angle = sp_pattern_angle(request);
    derive(request, "infill.angle");
}

/* Give the block without holes its own name, whichever way it was asked for. */
static sp_status settle_solid(sp_context *context, sp_case *request)
{
    if (!sp_case_is_solid(request)) return SP_OK;
    const sp_law_row *law = sp_law_find(request->law);
    if (law && law->history)
        return sp_case_fail_at(
            context, request, "material.law", NULL,
            "a law that is reversible: the solid block (infill.pattern solid, or "
            "a density of 100 %) is not modelled for one that yields",
            NULL);
    if (strcmp(request->pattern, SP_SOLID_NAME) != 0) {
        sp_warn(context,
                "infill.density is 100 %%: the coupon is the solid block, and infill.pattern %s is "
                "not read",
                request->pattern);
        snprintf(request->pattern, sizeof request->pattern, "%s", SP_SOLID_NAME);
        derive(request, "infill.pattern");
    }
    if (request->density < 1) {
        if (request->origin[sp_case_row_find("infill.density")] == SP_ORIGIN_FILE)
            sp_warn(context, "infill.density %g %% is not read: infill.pattern %s is full",
                    100 * request->density, SP_SOLID_NAME);
        request->density = 1;
        derive(request, "infill.density");
    }
    request->layers = 0;
    return SP_OK;
}

/* Check that a press in time can be read, and that the coupon can be pressed in time. */
static sp_status check_time(sp_context *context, const sp_case *request)
{
    sp_protocol protocol;
    const sp_status status = sp_protocol_of_case(context, request, &protocol);
    if (status != SP_OK || !sp_case_is_solid(request) || !sp_protocol_takes_time(request))
        return status;
    return sp_case_fail_at(
        context, request, request->protocol[0] ? "press.protocol" : "infill.pattern", NULL,
        request->protocol[0] ? "none: the solid block is pressed in closed form, without time"
                             : "an infill: the solid block is not modelled for a law in time "
                               "(material.softening, relaxation, flow)",
        NULL);
}

/* No step is longer than 0.5 % of strain unless the case says so, because figures of the first few
 * steps need that. Walls along the load cost more per step than struts, and lose nothing by longer
 * steps: a step that is too long is cut where that matters (docs/theory.md, section 16). Cells in
 * space lose nothing by steps of 0.6 % either (E239). */
static void settle_steps(sp_case *request, int is_spatial)
{
    const double strain_a_step = is_spatial ? 0.006 : 0.005;
    const int row = sp_case_row_find("press.steps");
    sp_case usual;
    sp_case_default(&usual);
    const int along = request->press_direction == SP_PRESS_ALONG && !sp_case_is_solid(request);
    if (sp_protocol_takes_time(request) || request->steps != usual.steps ||
        request->origin[row] != SP_ORIGIN_DEFAULT)
        return;
    const int steps =
        (int)fmax(fewest_steps[is_spatial], ceil(request->strain / strain_a_step - 1e-9));
    if (!along && !is_spatial && steps <= usual.steps) return;
    request->steps = steps;
    derive(request, "press.steps");
}

/* The checks stand in this order so that the first failure is what a reader would look at first. */
static sp_status settle(sp_context *context, sp_resolved *resolved, sp_spatial_count *cells)
{
    sp_case *request = &resolved->request;
    sp_status status = sp_filament_apply(context, request);
    if (status == SP_OK) status = sp_case_check(context, request);
    if (status == SP_OK)
        status = check_pattern(context, request, "infill.pattern", request->pattern);
    if (status == SP_OK) status = check_law(context, request);
    if (status == SP_OK) status = check_modulus(context, request);
    if (status == SP_OK) status = check_hardness(context, request);
    if (status == SP_OK) status = settle_solid(context, request);
    if (status == SP_OK) status = check_time(context, request);
    if (status == SP_OK) status = read_drawing(context, resolved);
    if (status == SP_OK) status = check_layers(context, resolved);
    if (status == SP_OK) status = check_direction(context, resolved);
    if (status == SP_OK) status = check_stack(context, resolved);
    if (status == SP_OK) status = check_block(context, &resolved->request);
    if (status == SP_OK) status = check_skins(context, &resolved->request);
    if (status == SP_OK) status = check_flanks(context, &resolved->request);
    if (status == SP_OK) status = check_walls(context, resolved);
    if (status == SP_OK)
        status = settle_strain_state(
            context, request,
            is_spatial(resolved) || is_stack(resolved) ||
                (request->press_direction == SP_PRESS_ALONG && !sp_case_is_solid(request)));
    if (status == SP_OK) status = sp_spatial_derive(context, request, cells);
    return status;
}

static sp_built built_of(const sp_resolved *resolved)
{
    return sp_case_is_solid(&resolved->request) ? SP_BUILT_SOLID
           : is_spatial(resolved)               ? SP_BUILT_SPATIAL
           : is_stack(resolved) && resolved->request.press_direction == SP_PRESS_THROUGH
               ? SP_BUILT_STACK
           : is_stack(resolved)                                  ? SP_BUILT_LAYERS
           : resolved->request.press_direction == SP_PRESS_ALONG ? SP_BUILT_PANELS
                                                                 : SP_BUILT_EXTRUDED;
}

sp_status sp_case_resolve(sp_context *context, const sp_case *asked, sp_resolved *resolved)
{
    sp_spatial_count cells = {0};
    *resolved = (sp_resolved){.request = *asked};
    const sp_status status = settle(context, resolved, &cells);
    resolved->built = built_of(resolved);
    resolved->dimension =
        resolved->built == SP_BUILT_SOLID || resolved->built == SP_BUILT_EXTRUDED ? 2 : 3;
    if (status == SP_OK ||
        resolved->drawing) { /* a drawing that cannot be read must not refuse anything else */
        derive_modulus(&resolved->request);
        settle_corners(&resolved->request, resolved->built == SP_BUILT_SPATIAL);
        settle_angle(&resolved->request);
        settle_steps(&resolved->request, is_spatial(resolved));
    }
    if (status != SP_OK) return status;
    sp_warn_of_unread(context, resolved);
    return sp_expect(context, resolved, &cells, &resolved->expected);
}

void sp_resolved_free(sp_resolved *resolved)
{
    if (resolved->drawing) sp_drawing_free(resolved->drawing);
    sp_free(resolved->drawing);
    *resolved = (sp_resolved){0};
}

sp_status sp_resolved_network(sp_context *context, const sp_resolved *resolved, int with_flaws,
                              sp_network *network)
{
    return sp_network_build_from(context, &resolved->request, resolved->drawing, with_flaws,
                                 network);
}
