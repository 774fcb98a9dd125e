/* Make slabs and struts for a printer from a network. */
#include "printing/body.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "printing/slab.h"
#include "printing/struts.h"
#include "printing/taper.h"
#include "write/text.h"

double sp_body_wall(const sp_case *request)
{
    if (!strcmp(request->pattern, SP_PRINTED_NAME)) return 0; /* its lines are beads of the path */
    const double drawn = request->wall_beads * request->bead_width;
    return drawn > 0 ? drawn + 0.5 * request->width_offset
                     : 0; /* the outer half of the wall is cut off */
}

sp_resolved sp_body_as_drawn(const sp_resolved *resolved)
{
    sp_resolved drawn = *resolved;
    drawn.request.width_offset = drawn.request.diameter_offset = 0;
    drawn.request.thickening = 1;
    return drawn;
}

void sp_body_title(const sp_network *network, char text[SP_MESSAGE_SIZE])
{
    const double *size = network->size;
    const int flat = sp_built_is_flat(network->built);
    sp_format(text, SP_MESSAGE_SIZE, "coupon of %.6g x %.6g x %.6g mm, pressed along %c",
              sp_finite(size[0]), sp_finite(size[flat ? 2 : 1]), sp_finite(size[flat ? 1 : 2]),
              flat ? 'z' : 'y');
}

/* Neighbouring layers overlap by this much, so that a tool does not take them for bodies that only
 * touch [mm]. */
static const double layer_overlap = 0.001;

typedef struct body {
    const sp_network *network;
    double wall, scale;
    int without_walls;
} body;

static void take_bead(const body *b, const int joint[2], const double p[2], const double q[2],
                      const double width[2], sp_slab *slab)
{
    sp_bead *bead = &slab->bead[slab->bead_count++];
    *bead = (sp_bead){.end = {{p[0], p[1]}, {q[0], q[1]}},
                      .joint = {joint[0], joint[1]},
                      .width = {b->scale * width[0], b->scale * width[1]}};
}

/* Find where a joint of a strut lies in the plane of the print; for a coupon that is printed flat,
 * y runs opposite to its z. */
static void as_printed(const sp_network *network, int joint, double at[2])
{
    const double *p = network->joint_position + 3 * (size_t)joint;
    at[0] = p[0];
    at[1] = sp_built_is_flat(network->built) ? network->size[2] - p[2] : p[1];
}

/* Add a strut as one bead, or as one for each of its pieces when its ends are thicker. */
static void take_strut(const body *b, int s, sp_slab *slab)
{
    const sp_network *network = b->network;
    const int *joint = network->strut_joint + 2 * (size_t)s;
    double p[2], q[2];
    as_printed(network, joint[0], p);
    as_printed(network, joint[1], q);
    const double length = sp_network_strut_length(network, s);
    double at[SP_CUTS_MAX], along = 0, from[2] = {p[0], p[1]};
    const int count = sp_taper_cuts(network, s, at);
    for (int i = 0; i <= count; i++) {
        const double next = i < count ? at[i] : length;
        const int ends[2] = {i == 0 ? joint[0] : -1, i == count ? joint[1] : -1};
        const double width[2] = {sp_network_thickness_at(network, s, along),
                                 sp_network_thickness_at(network, s, next)};
        double to[2] = {q[0], q[1]};
        for (int k = 0; i < count && k < 2; k++) to[k] = p[k] + next / length * (q[k] - p[k]);
        take_bead(b, ends, from, to, width, slab);
        along = next, from[0] = to[0], from[1] = to[1];
    }
}

/* The walls around are one frame, not beads; plates of a coupon without walls are beads. */
static int is_bead(const body *b, int role)
{
    return role == SP_ROLE_INFILL || b->wall <= 0;
}

/* Add the struts of one layer; -1: all. */
static void take_struts(const body *b, int layer, sp_slab *slab)
{
    const sp_network *network = b->network;
    for (int s = 0; s < network->strut_count; s++) {
        if (!is_bead(b, network->strut_role[s])) continue;
        if (layer >= 0 && network->strut_piece[s].layer != layer) continue;
        take_strut(b, s, slab);
    }
    slab->joint_count = network->joint_count;
}

/* Add the pattern on which panels stand, with its y opposite to z of the coupon. */
static void take_panels(const body *b, sp_slab *slab)
{
    const sp_network *network = b->network;
    const int levels = network->panel_count ? network->panel[0].up + 1 : 1;
    for (int k = 0; k < network->panel_count; k++) {
        const sp_panel *panel = &network->panel[k];
        if (!is_bead(b, panel->role)) continue;
        double end[2][2];
        for (int e = 0; e < 2; e++) {
            const double *p = network->joint_position + 3 * (size_t)panel->line[e] * (size_t)levels;
            end[e][0] = p[0];
            end[e][1] = network->size[2] - p[2];
        }
        take_bead(b, panel->line, end[0], end[1], (double[]){panel->thickness, panel->thickness},
                  slab);
    }
    slab->joint_count = network->joint_count;
}

/* Add a full layer: one bead as wide as the coupon. */
static sp_status visit_skin(const body *b, const sp_slab *slab, double from, sp_slab_visit *visit,
                            void *user)
{
    const double *size = slab->size;
    sp_bead bead = {.end = {{-size[1], 0.5 * size[1]}, {size[0] + size[1], 0.5 * size[1]}},
                    .joint = {-1, -1},
                    .width = {2 * size[1], 2 * size[1]}};
    const sp_slab skin = {.bead = &bead,
                          .bead_count = 1,
                          .size = {size[0], size[1]},
                          .from = from,
                          .upto = from + b->network->skin};
    return visit(user, &skin);
}

/* Visit the slabs from the bottom up: a skin where there is one, the panels, a skin. */
static sp_status visit_panels(const body *b, sp_slab *slab, sp_slab_visit *visit, void *user)
{
    const double height = b->network->size[1], skin = b->network->skin;
    sp_status status = skin > 0 ? visit_skin(b, slab, 0, visit, user) : SP_OK;
    slab->from = skin;
    slab->upto = height - skin;
    take_panels(b, slab);
    if (status == SP_OK) status = visit(user, slab);
    if (status == SP_OK && skin > 0) status = visit_skin(b, slab, height - skin, visit, user);
    return status;
}

static int layer_count(const sp_network *network)
{
    int top = 0;
    for (int s = 0; s < network->strut_count; s++)
        if (network->strut_piece[s].layer > top) top = network->strut_piece[s].layer;
    return top + 1;
}

/* Return the height of a layer [mm]; layers of a tool path may differ. */
static double layer_height(const sp_network *network, int layer)
{
    int s = 0;
    while (s + 1 < network->strut_count && network->strut_piece[s].layer != layer) s++;
    return network->strut_height[s];
}

/* Fill a slab with each flat part in turn, from the bottom up, and hand it to `visit`. */
static sp_status visit_parts(const body *b, sp_slab *slab, sp_slab_visit *visit, void *user)
{
    const sp_network *network = b->network;
    sp_status status = SP_OK;
    slab->wall = b->without_walls ? 0 : b->scale * b->wall;
    slab->margin = b->without_walls ? b->wall : 0;
    slab->size[0] = network->size[0];
    if (network->built == SP_BUILT_PANELS) {
        slab->size[1] = network->size[2];
        return visit_panels(b, slab, visit, user);
    }
    slab->size[1] = network->size[network->built == SP_BUILT_STACK ? 2 : 1];
    if (!network->strut_piece) {
        slab->upto = network->size[2];
        take_struts(b, -1, slab);
        return visit(user, slab);
    }
    const int layers = layer_count(network);
    for (int k = 0; status == SP_OK && k < layers; k++) {
        slab->bead_count = 0;
        slab->from = k ? slab->upto : 0;
        slab->upto = slab->from + layer_height(network, k);
        take_struts(b, k, slab);
        status = visit(user, slab);
    }
    return status;
}

sp_status sp_body_slabs(sp_context *context, const sp_network *network, double wall,
                        const sp_body_options *options, sp_slab_visit *visit, void *user)
{
    const body b = {.network = network,
                    .wall = wall,
                    .scale = options->width_scale > 0 ? options->width_scale : 1,
                    .without_walls = options->without_walls};
    const size_t pieces = network->strut_taper ? SP_CUTS_MAX + 1 : 1; /* most pieces of a strut */
    const size_t most =
        pieces * (size_t)(network->panel ? network->panel_count : network->strut_count) + 1;
    sp_slab slab = {.bead = sp_alloc(most, sizeof *slab.bead)};
    if (!slab.bead) return sp_fail(context, SP_NO_MEMORY, "no memory for %zu beads", most);
    const sp_status status = visit_parts(&b, &slab, visit, user);
    sp_free(slab.bead);
    return status;
}

typedef struct growing {
    sp_context *context;
    sp_surface *surface;
} growing;

static sp_status add_slab(void *user, const sp_slab *slab)
{
    const growing *to = user;
    sp_slab lower = *slab;
    lower.from = fmax(0, slab->from - layer_overlap);
    return sp_slab_add(to->context, &lower, to->surface);
}

/* The block without holes is a wall that leaves no room inside. */
static sp_status add_block(sp_context *context, const double size[3], sp_surface *surface)
{
    const sp_slab slab = {.joint_count = 1,
                          .size = {size[0], size[1]},
                          .wall = fmax(size[0], size[1]),
                          .upto = size[2]};
    return sp_slab_add(context, &slab, surface);
}

static sp_status check_closed(sp_context *context, const sp_surface *surface)
{
    const int open = sp_surface_open_edges(surface);
    if (open < 0) return sp_fail(context, SP_NO_MEMORY, "no memory to check a surface");
    return open == 0
               ? SP_OK
               : sp_fail(context, SP_INTERNAL, "the surface of the coupon has %d open edges", open);
}

sp_status sp_body_build(sp_context *context, const sp_network *network, double wall,
                        const sp_body_options *options, sp_surface *surface)
{
    growing to = {context, surface};
    sp_status status = SP_OK;
    *surface = (sp_surface){0};
    if (network->built == SP_BUILT_SPATIAL)
        status = sp_struts_add(context, network,
                               options->width_scale > 0 ? options->width_scale : 1, surface);
    else if (network->built == SP_BUILT_SOLID)
        status = add_block(context, network->size, surface);
    else
        status = sp_body_slabs(context, network, wall, options, add_slab, &to);
    if (status == SP_OK) status = check_closed(context, surface);
    if (status != SP_OK) sp_surface_free(surface);
    return status;
}
