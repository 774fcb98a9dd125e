/* From a case to its network: pattern, clip, clean, walls, flaws, zones, figures. */
#include "build/build.h"
#include "network/graph.h"
#include "build/layers.h"
#include "panel/panels.h"
#include "spatial/drawn.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "pattern/drawn.h"
#include "spatial/plan.h"

#define PIECES_MAX 4e6      /* more pieces than any press could take */
#define RESCALES_MAX 8      /* tries to meet the density of random cells */
#define DENSITY_SLACK 0.002 /* relative; met well within by the tries above */
#define SCALE_SPAN 1.25     /* random cells are emitted so that they can shrink by this factor */

typedef struct sp_layout {
    const sp_case *request;
    const sp_drawing *drawing; /* of a drawn pattern */
    const sp_pattern_row *pattern;
    double line_density;    /* per cell length; 0 drawn to scale, NaN known after emit */
    double wall;            /* thickness [mm] */
    double low[2], high[2]; /* rectangle of the graph */
    double inside[2];       /* width and height inside the walls */
    double shift[2];        /* of the pattern, in cell lengths, before it is turned */
} sp_layout;

/* The offset counts periods along the lattice vectors. Random cells are shifted where they are made. */
static sp_status find_shift(sp_context *context, sp_layout *plan)
{
    const sp_case *request = plan->request;
    double vector[2][2];
    sp_status status = sp_pattern_lattice(context, plan->pattern, request, vector);
    for (int k = 0; status == SP_OK && plan->pattern->perfect && k < 2; k++)
        plan->shift[k] = request->offset_x * vector[0][k] + request->offset_y * vector[1][k];
    return status;
}

static sp_status make_layout(sp_context *context, const sp_case *request, sp_layout *plan)
{
    char text[160];
    plan->request = request;
    plan->pattern = sp_pattern_find(request->pattern);
    if (!plan->pattern)
        return sp_case_fail_at(context, request, "infill.pattern", NULL,
                               "a pattern of `list patterns`", NULL);
    plan->wall = request->wall_beads * request->bead_width;
    double size[2] = {request->width, request->height};
    for (int k = 0; k < 2; k++) {
        plan->low[k] = plan->wall / 2;
        plan->high[k] = size[k] - plan->wall / 2;
        plan->inside[k] = size[k] - 2 * plan->wall;
    }
    double smallest = fmin(plan->inside[0], plan->inside[1]);
    if (!(smallest > 2 * request->bead_width)) {
        snprintf(text, sizeof text,
                 "walls that leave more than two beads inside (walls %.4g mm on each side of "
                 "%.4g x %.4g mm)",
                 plan->wall, size[0], size[1]);
        return sp_case_fail_at(context, request, request->wall_beads ? "bead.walls" : "bead.width",
                               NULL, text, NULL);
    }
    plan->line_density = plan->pattern->line_density(request);
    return find_shift(context, plan);
}

/* Cells must fit inside, and the pieces into memory. */
static sp_status check_cell(sp_context *context, const sp_layout *plan, double cell, double radius)
{
    char text[160];
    const sp_case *request = plan->request;
    double smallest = fmin(plan->inside[0], plan->inside[1]);
    if (!(cell <= smallest)) {
        snprintf(text, sizeof text,
                 "at least %.4g %% (cells of %.4g mm do not fit %.4g mm inside the walls)",
                 100 * request->density * cell / smallest, cell, smallest);
        return sp_case_fail_at(context, request, "infill.density", NULL, text, NULL);
    }
    if (!(M_PI * radius * radius * 3.5 < PIECES_MAX)) {
        double shift = hypot(plan->shift[0], plan->shift[1]);
        const char *key = 2 * shift < radius                                  ? "infill.density"
                          : fabs(request->offset_x) > fabs(request->offset_y) ? "infill.offset_x"
                                                                              : "infill.offset_y";
        snprintf(text, sizeof text, "what takes fewer than %.2g line pieces (cells of %.4g mm)",
                 PIECES_MAX, cell);
        return sp_case_fail_at(context, request, key, NULL, text, NULL);
    }
    return SP_OK;
}

/* A periodic pattern whose own struts are shorter than a bead is solid in print: it cannot be a network. */
static sp_status check_shortest(sp_context *context, const sp_layout *plan, double cell,
                                const sp_pieces *pieces)
{
    char text[160];
    double shortest = INFINITY, bead = plan->request->bead_width;
    for (int i = 0; i < pieces->count; i++) {
        const double *end = pieces->end + 4 * (size_t)i;
        shortest = fmin(shortest, cell * hypot(end[2] - end[0], end[3] - end[1]));
    }
    if (shortest >= bead * (1 - 1e-9)) return SP_OK;
    snprintf(text, sizeof text,
             "at most %.4g %% (pattern %s has struts of %.4g mm, a bead is %.4g mm)",
             100 * plan->request->density * shortest / bead, plan->pattern->name, shortest, bead);
    return sp_case_fail_at(context, plan->request, "infill.density", NULL, text, NULL);
}

static double reach(const sp_layout *plan, double cell)
{
    double half = 0.5 * hypot(plan->high[0] - plan->low[0], plan->high[1] - plan->low[1]);
    return half / cell + hypot(plan->shift[0], plan->shift[1]) + 1e-6;
}

/* Pieces into a clean graph. */
static sp_status place(sp_context *context, const sp_layout *plan, const sp_placing *placing,
                       const sp_pieces *pieces, sp_graph *graph)
{
    sp_graph_free(graph);
    graph->bead = plan->request->bead_width;
    graph->walls = plan->request->wall_beads > 0;
    graph->standing = plan->request->press_direction == SP_PRESS_ALONG;
    graph->plates = plan->line_density == 0 && !graph->walls;
    memcpy(graph->low, plan->low, sizeof graph->low);
    memcpy(graph->high, plan->high, sizeof graph->high);
    sp_status status = SP_OK;
    for (int k = 0; graph->walls && status == SP_OK && k < 4; k++) {
        int right = k == 1 || k == 2, upper = k >= 2;
        status = sp_graph_add_node(context, graph, right ? plan->high[0] : plan->low[0],
                                   upper ? plan->high[1] : plan->low[1],
                                   (right ? SP_SIDE_RIGHT : SP_SIDE_LEFT) |
                                       (upper ? SP_SIDE_UPPER : SP_SIDE_LOWER));
    }
    if (status == SP_OK) status = sp_graph_add_pieces(context, graph, pieces, placing);
    if (status != SP_OK) return status;
    return sp_graph_clean(context, plan->request,
                          plan->line_density == 0 ? "infill.network" : "infill.density", graph);
}

static sp_placing about_middle(const sp_layout *plan, double cell)
{
    const sp_case *request = plan->request;
    const double *shift = plan->shift;
    double angle = sp_pattern_angle(request) * M_PI / 180, c = cos(angle), s = sin(angle);
    return (sp_placing){
        .scale = cell,
        .turn = {c, s},
        .shift = {0.5 * request->width + cell * (c * shift[0] - s * shift[1]),
                  0.5 * request->height + cell * (s * shift[0] + c * shift[1])},
    };
}

static sp_status build_periodic(sp_context *context, const sp_layout *plan, double *cell,
                                sp_graph *graph)
{
    sp_pieces pieces = {0};
    const sp_case *request = plan->request;
    *cell = plan->line_density * request->bead_width / request->density; /* E38 */
    double radius = reach(plan, *cell);
    sp_status status = check_cell(context, plan, *cell, radius);
    if (status == SP_OK) status = sp_pattern_emit(context, plan->pattern, request, radius, &pieces);
    if (status == SP_OK) status = check_shortest(context, plan, *cell, &pieces);
    if (status == SP_OK) {
        sp_placing placing = about_middle(plan, *cell);
        status = place(context, plan, &placing, &pieces, graph);
    }
    sp_pieces_free(&pieces);
    return status;
}

/* Line length of a graph inside the walls x bead / area. */
static double graph_share(const sp_graph *graph, const sp_layout *plan)
{
    double total = 0, half = plan->wall / 2;
    double low[2] = {plan->low[0] + half, plan->low[1] + half};
    double high[2] = {plan->high[0] - half, plan->high[1] - half};
    for (int e = 0; e < graph->edge_count; e++) {
        const sp_node *a = &graph->node[graph->edge[e].a], *b = &graph->node[graph->edge[e].b];
        double p[2] = {a->x, a->y}, q[2] = {b->x, b->y};
        total += sp_length_inside(p, q, low, high);
    }
    return total * graph->bead / (plan->inside[0] * plan->inside[1]);
}

/* Random cells: scale the same cells until the density inside the walls is the one asked for. */
static sp_status build_random(sp_context *context, const sp_layout *plan, double *cell,
                              sp_graph *graph)
{
    sp_pieces pieces = {0};
    const sp_case *request = plan->request;
    double smallest = 2 * request->bead_width / request->density / SCALE_SPAN;
    *cell = SCALE_SPAN * smallest;
    double radius = reach(plan, smallest);
    sp_status status = check_cell(context, plan, *cell, radius);
    if (status == SP_OK) status = sp_pattern_emit(context, plan->pattern, request, radius, &pieces);
    double best = INFINITY, best_cell = *cell;
    for (int i = 0; status == SP_OK && i < RESCALES_MAX; i++) {
        sp_placing placing = about_middle(plan, *cell);
        status = place(context, plan, &placing, &pieces, graph);
        if (status != SP_OK) break;
        double ratio = graph_share(graph, plan) / request->density;
        if (fabs(ratio - 1) < best) best = fabs(ratio - 1), best_cell = *cell;
        if (best <= DENSITY_SLACK) break;
        *cell = fmax(smallest, *cell * ratio);
    }
    if (status == SP_OK && best > DENSITY_SLACK) {
        *cell = best_cell;
        sp_placing placing = about_middle(plan, *cell);
        status = place(context, plan, &placing, &pieces, graph);
    }
    if (status == SP_OK) status = check_cell(context, plan, *cell, radius);
    sp_pieces_free(&pieces);
    return status;
}

/* A drawing keeps its size in mm; the lower left corner of its lines goes to that of the rectangle. */
static sp_status build_drawn(sp_context *context, const sp_layout *plan, sp_graph *graph)
{
    sp_pieces pieces = {0};
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
    if (plan->drawing->is_spatial)
        return sp_case_fail_at(context, plan->request, "infill.network", NULL,
                               "a drawing with one z (a layer is planar)", NULL);
    sp_status status = sp_drawn_pieces(context, plan->drawing, &pieces);
    if (status != SP_OK) goto done;
    for (int i = 0; i < 4 * pieces.count; i++) {
        low[i % 2] = fmin(low[i % 2], pieces.end[i]);
        high[i % 2] = fmax(high[i % 2], pieces.end[i]);
    }
    double slack = plan->request->bead_width;
    if (high[0] - low[0] > plan->high[0] - plan->low[0] + slack ||
        high[1] - low[1] > plan->high[1] - plan->low[1] + slack)
        sp_warn(context, "%s: the drawing of %.4g x %.4g mm is cut to %.4g x %.4g mm",
                plan->request->network_file, high[0] - low[0], high[1] - low[1],
                plan->high[0] - plan->low[0], plan->high[1] - plan->low[1]);
    sp_placing placing = {
        .scale = 1, .turn = {1, 0}, .shift = {plan->low[0] - low[0], plan->low[1] - low[1]}};
    status = place(context, plan, &placing, &pieces, graph);
done:
    sp_pieces_free(&pieces);
    return status;
}

static void add_strut(sp_network *network, int a, int b, double thickness, int role)
{
    int s = network->strut_count++;
    network->strut_joint[2 * s] = a, network->strut_joint[2 * s + 1] = b;
    network->strut_thickness[s] = thickness;
    network->strut_role[s] = (unsigned char)role;
}

/* Graph to network: infill first, then the wall around. *origin: perfect number of each strut, caller frees. */
static sp_status finish(sp_context *context, const sp_layout *plan, const sp_graph *graph,
                        sp_network *network, int **origin)
{
    int *around = NULL, around_count = 0;
    sp_status status = SP_OK;
    if (graph->walls) status = sp_graph_around(context, graph, &around, &around_count);
    int struts = graph->edge_count + around_count;
    network->dimension = 2;
    if (status == SP_OK)
        status = sp_network_room(context, network, (size_t)graph->node_count, (size_t)struts);
    if (status == SP_OK && !(*origin = sp_alloc((size_t)struts, sizeof **origin)))
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", struts);
    if (status != SP_OK) goto done;

    network->size[0] = plan->request->width;
    network->size[1] = plan->request->height;
    network->size[2] = plan->request->depth;
    network->dropped_stubs = graph->dropped_stubs;
    network->dropped_pieces = graph->dropped_pieces;
    network->dropped_one_platen = graph->left_out.one_platen;
    network->dropped_no_platen = graph->left_out.no_platen;
    network->dropped_flat = graph->dropped_flat;
    network->joint_count = graph->node_count;
    for (int n = 0; n < graph->node_count; n++) {
        network->joint_position[3 * n] = graph->node[n].x;
        network->joint_position[3 * n + 1] = graph->node[n].y;
        int side = graph->node[n].side;
        network->joint_face[n] = (unsigned char)((side & SP_SIDE_LOWER ? SP_FACE_LOWER : 0) |
                                                 (side & SP_SIDE_UPPER ? SP_FACE_UPPER : 0));
    }
    for (int e = 0; e < graph->edge_count; e++) {
        add_strut(network, graph->edge[e].a, graph->edge[e].b, graph->bead,
                  sp_graph_is_plate(graph, e) ? SP_ROLE_WALL : SP_ROLE_INFILL);
        (*origin)[e] = graph->edge[e].origin;
    }
    for (int i = 0; i < around_count; i++) {
        (*origin)[network->strut_count] = -1;
        add_strut(network, around[i], around[(i + 1) % around_count], plan->wall, SP_ROLE_WALL);
    }
done:
    sp_free(around);
    return status;
}

static sp_status build_graph(sp_context *context, const sp_layout *plan, double *cell,
                             sp_graph *graph)
{
    *cell = 0;
    if (plan->line_density == 0) return build_drawn(context, plan, graph);
    if (isnan(plan->line_density)) return build_random(context, plan, cell, graph);
    return build_periodic(context, plan, cell, graph);
}

sp_status sp_planar_build(sp_context *context, const sp_case *request, const sp_drawing *drawing,
                          int with_flaws, sp_network *network)
{
    sp_layout layout = {.drawing = drawing};
    sp_graph graph = {0};
    int *origin = NULL, nodes, edges;
    double rim; /* wall as printed */
    int flawed = with_flaws && request->flaw_seed != 0;

    *network = (sp_network){0};
    sp_status status = make_layout(context, request, &layout);
    if (status == SP_OK) status = build_graph(context, &layout, &network->cell_size, &graph);
    if (status != SP_OK) goto done;

    nodes = graph.node_count, edges = graph.edge_count;
    for (int n = 0; n < nodes; n++) graph.node[n].origin = n;
    for (int e = 0; e < edges; e++) graph.edge[e].origin = e;
    if (flawed) status = sp_flaws_missing(context, request, &graph);
    if (status == SP_OK && flawed) status = sp_flaws_move_joints(context, request, nodes, &graph);
    if (status == SP_OK) status = finish(context, &layout, &graph, network, &origin);
    if (status == SP_OK && flawed)
        status = sp_flaws_struts(context, request, origin, edges, network);
    if (status == SP_OK)
        status = sp_network_print_widths(context, request, request->bead_width, network);
    if (status == SP_OK) status = sp_network_zones(context, request->joint_zone, network);
    if (status == SP_OK)
        status = sp_network_thicken(context, request, request->bead_width, network);
    if (status != SP_OK) goto done;
    network->nominal_density = sp_network_line_share(network, layout.wall, request->bead_width);
    rim = layout.wall > 0 ? layout.wall + 0.5 * request->width_offset : 0;
    status = sp_network_solid(context, rim, request->bead_width, network);
    if (status == SP_OK) status = sp_network_count_pieces(context, network);
done:
    sp_free(origin);
    sp_graph_free(&graph);
    if (status != SP_OK) sp_network_free(network);
    return status;
}

/* The pattern as it is printed, seen from above, and the panels that stand on it. */
static sp_status build_panels(sp_context *context, const sp_case *request,
                              const sp_drawing *drawing, int with_flaws, sp_network *network)
{
    const sp_panel_mesh mesh = {.height = request->height,
                                .across = request->elements_per_strut,
                                .across_layers = request->across_layers};
    sp_case flat = *request;
    sp_network plan;
    flat.height = request->depth;
    flat.depth = request->height;
    flat.joint_zone = 0; /* panels turn about their joint lines */
    flat.thickening = 1;
    sp_status status = sp_planar_build(context, &flat, drawing, with_flaws, &plan);
    if (status != SP_OK) return status;
    status = sp_panels_build(context, &plan, &mesh, network);
    sp_network_free(&plan);
    return status;
}

/* The block without holes has no struts. */
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
        return sp_space_build(context, request, with_flaws, network);
    if (request->layers) return sp_layers_build(context, request, drawing, with_flaws, network);
    if (drawing && drawing->is_spatial)
        return sp_space_build_drawn(context, request, with_flaws, drawing, network);
    if (request->press_direction == SP_PRESS_ALONG)
        return build_panels(context, request, drawing, with_flaws, network);
    return sp_planar_build(context, request, drawing, with_flaws, network);
}

sp_status sp_network_build_from(sp_context *context, const sp_case *request,
                                const sp_drawing *drawing, int with_flaws, sp_network *network)
{
    sp_status status = build_any(context, request, drawing, with_flaws, network);
    if (status != SP_OK) return status;
    network->built = sp_case_is_solid(request) ? SP_BUILT_SOLID
                     : network->panel          ? SP_BUILT_PANELS
                     : network->dimension == 2 ? SP_BUILT_EXTRUDED
                     : request->layers         ? SP_BUILT_LAYERS
                                               : SP_BUILT_SPACE;
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
