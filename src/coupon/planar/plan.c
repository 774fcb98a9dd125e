/* Make the planar network of a case: its pattern or drawing is scaled, turned and placed. */
#include "planar/plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "pattern/drawn.h"
#include "pattern/pattern.h"
#include "planar/rules.h"

static const double pieces_max = 4e6; /* more pieces than any press could take */
static const int rescales_max = 8;    /* times that the density of random cells is corrected */
/* This is a relative error; the corrections reach a much smaller one. */
static const double density_slack = 0.002;
/* Random cells are emitted so large that they can shrink by this factor. */
static const double scale_span = 1.25;
static const double same_side = 1e-6; /* of a bead: a point closer to a side is on it */

typedef struct sp_layout {
    const sp_case *request;
    const sp_drawing *drawing; /* of a drawn pattern */
    const sp_pattern_row *pattern;
    double line_density;    /* per cell length; 0: drawn to scale, NaN: known after emit */
    double wall;            /* thickness [mm] */
    double low[2], high[2]; /* rectangle of the graph */
    double inside[2];       /* width and height inside the walls */
    double shift[2];        /* of the pattern, in cell lengths, before it is turned */
} sp_layout;

/* The offset counts periods along the lattice vectors. Random cells are shifted where they are
 * made. */
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

/* Check that the cells fit inside, and the pieces into memory. */
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
    if (!(M_PI * radius * radius * 3.5 < pieces_max)) {
        double shift = hypot(plan->shift[0], plan->shift[1]);
        const char *key = 2 * shift < radius                                  ? "infill.density"
                          : fabs(request->offset_x) > fabs(request->offset_y) ? "infill.offset_x"
                                                                              : "infill.offset_y";
        snprintf(text, sizeof text,
                 "cells that take fewer than %.2g line pieces (cells of %.4g mm)", pieces_max,
                 cell);
        return sp_case_fail_at(context, request, key, NULL, text, NULL);
    }
    return SP_OK;
}

/* A periodic pattern whose own struts are shorter than a bead is solid in print, so it is refused.
 */
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

/* How the pieces of a pattern are placed. */
typedef struct placing {
    double scale;    /* mm per unit of the pieces */
    double turn[2];  /* cosine and sine */
    double shift[2]; /* [mm], after scaling and turning */
} placing;

static sp_status add_corners(sp_context *context, const sp_layout *plan, sp_graph *graph)
{
    sp_status status = SP_OK;
    for (int k = 0; status == SP_OK && k < 4; k++) {
        const int right = k == 1 || k == 2, upper = k >= 2;
        const double at[3] = {right ? plan->high[0] : plan->low[0],
                              upper ? plan->high[1] : plan->low[1], 0};
        status = sp_graph_add_joint(context, graph, at);
    }
    return status;
}

static sp_status add_pieces(sp_context *context, const placing *lay, const sp_pieces *pieces,
                            sp_graph *graph)
{
    const double c = lay->scale * lay->turn[0], s = lay->scale * lay->turn[1];
    const double *shift = lay->shift;
    const sp_strut like = {.thickness = graph->bead, .role = SP_ROLE_INFILL, .origin = -1};
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < pieces->count; i++) {
        const double *end = pieces->end + 4 * (size_t)i;
        const double a[3] = {c * end[0] - s * end[1] + shift[0], s * end[0] + c * end[1] + shift[1],
                             0};
        const double b[3] = {c * end[2] - s * end[3] + shift[0], s * end[2] + c * end[3] + shift[1],
                             0};
        status = sp_graph_add_clipped(context, graph, a, b, &like);
    }
    return status;
}

/* Clip the pieces into a graph and clean it. */
static sp_status place(sp_context *context, const sp_layout *plan, const placing *lay,
                       const sp_pieces *pieces, sp_graph *graph)
{
    sp_graph_free(graph);
    *graph = (sp_graph){.rules = &sp_planar_rules,
                        .low = {plan->low[0], plan->low[1]},
                        .high = {plan->high[0], plan->high[1]},
                        .same = same_side * plan->request->bead_width,
                        .bead = plan->request->bead_width,
                        .wall = plan->wall,
                        .standing = plan->request->press_direction != SP_PRESS_ACROSS,
                        .plates = plan->line_density == 0 && !(plan->wall > 0)};
    sp_status status = SP_OK;
    if (graph->wall > 0) status = add_corners(context, plan, graph);
    if (status == SP_OK) status = add_pieces(context, lay, pieces, graph);
    if (status != SP_OK) return status;
    return sp_graph_clean(context, plan->request,
                          plan->line_density == 0 ? "infill.network" : "infill.density", graph);
}

static placing about_middle(const sp_layout *plan, double cell)
{
    const sp_case *request = plan->request;
    const double *shift = plan->shift;
    double angle = sp_pattern_angle(request) * M_PI / 180, c = cos(angle), s = sin(angle);
    return (placing){
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
        const placing at = about_middle(plan, *cell);
        status = place(context, plan, &at, &pieces, graph);
    }
    sp_pieces_free(&pieces);
    return status;
}

/* Find the density as drawn: line length of a graph inside the walls x bead / area. */
static double graph_share(const sp_graph *graph, const sp_layout *plan)
{
    double total = 0, half = plan->wall / 2;
    double low[2] = {plan->low[0] + half, plan->low[1] + half};
    double high[2] = {plan->high[0] - half, plan->high[1] - half};
    for (int s = 0; s < graph->strut_count; s++) {
        const int *joint = graph->strut[s].joint;
        total += sp_length_inside(graph->joint[joint[0]].at, graph->joint[joint[1]].at, low, high);
    }
    return total * graph->bead / (plan->inside[0] * plan->inside[1]);
}

/* Random cells: scale the same cells until the density inside the walls is the one asked for. */
static sp_status build_random(sp_context *context, const sp_layout *plan, double *cell,
                              sp_graph *graph)
{
    sp_pieces pieces = {0};
    const sp_case *request = plan->request;
    double smallest = 2 * request->bead_width / request->density / scale_span;
    *cell = scale_span * smallest;
    double radius = reach(plan, smallest);
    sp_status status = check_cell(context, plan, *cell, radius);
    if (status == SP_OK) status = sp_pattern_emit(context, plan->pattern, request, radius, &pieces);
    double best = INFINITY, best_cell = *cell;
    for (int i = 0; status == SP_OK && i < rescales_max; i++) {
        const placing at = about_middle(plan, *cell);
        status = place(context, plan, &at, &pieces, graph);
        if (status != SP_OK) break;
        double ratio = graph_share(graph, plan) / request->density;
        if (fabs(ratio - 1) < best) best = fabs(ratio - 1), best_cell = *cell;
        if (best <= density_slack) break;
        *cell = fmax(smallest, *cell * ratio);
    }
    if (status == SP_OK && best > density_slack) {
        *cell = best_cell;
        const placing at = about_middle(plan, *cell);
        status = place(context, plan, &at, &pieces, graph);
    }
    if (status == SP_OK) status = check_cell(context, plan, *cell, radius);
    sp_pieces_free(&pieces);
    return status;
}

/* A drawing keeps its size in mm; the lower left corner of its lines goes to that of the rectangle.
 */
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
    const placing at = {
        .scale = 1, .turn = {1, 0}, .shift = {plan->low[0] - low[0], plan->low[1] - low[1]}};
    status = place(context, plan, &at, &pieces, graph);
done:
    sp_pieces_free(&pieces);
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
    if (drawing && !strcmp(request->pattern, SP_PRINTED_NAME))
        return sp_planar_build_path(context, request, drawing, 0, with_flaws, network);
    sp_layout layout = {.drawing = drawing};
    sp_graph graph = {0};
    double cell = 0;
    *network = (sp_network){0};
    sp_status status = make_layout(context, request, &layout);
    if (status == SP_OK) status = build_graph(context, &layout, &cell, &graph);
    if (status == SP_OK) status = sp_graph_finish(context, request, with_flaws, &graph, network);
    if (status == SP_OK) network->cell_size = cell;
    sp_graph_free(&graph);
    return status;
}
