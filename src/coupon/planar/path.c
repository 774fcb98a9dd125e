/* The planar network of a tool path: its lines have widths of their own, and where the same wall
 * runs all around it is the wall of the coupon. */
#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "planar/plan.h"
#include "planar/rules.h"

static const double same_side = 0.02;  /* of a bead: a point so near to a side lies on it */
static const double side_slack = 0.25; /* of a bead: a line so near to a side runs along it */
/* Sides whose thicknesses differ by less than this share have the same wall. */
static const double same_wall = 0.05;
static const double side_share = 0.7; /* of a side that a wall must cover */

typedef struct length_of {
    double thickness, length;
} length_of;

static int by_thickness(const void *a, const void *b)
{
    const double x = ((const length_of *)a)->thickness, y = ((const length_of *)b)->thickness;
    return (x > y) - (x < y);
}

static void ends_of(const sp_drawing *d, int line, const double **a, const double **b)
{
    *a = d->point + 3 * (size_t)d->line_point[2 * line];
    *b = d->point + 3 * (size_t)d->line_point[2 * line + 1];
}

static int is_of_layer(const sp_drawing *d, int line, int layer)
{
    return !d->repeat || (int)d->point[3 * (size_t)d->line_point[2 * line] + 2] == layer;
}

double sp_planar_usual_thickness(const sp_drawing *d, int layer)
{
    length_of *list = sp_alloc((size_t)d->line_count + 1, sizeof *list);
    double all = 0, sum = 0, usual = 0;
    int count = 0;
    if (!list) return 0;
    for (int i = 0; i < d->line_count; i++) {
        const double *a, *b;
        if (!is_of_layer(d, i, layer)) continue;
        ends_of(d, i, &a, &b);
        list[count] = (length_of){d->line_diameter[i], hypot(a[0] - b[0], a[1] - b[1])};
        all += list[count++].length;
    }
    qsort(list, (size_t)count, sizeof *list, by_thickness);
    for (int i = 0; i < count && sum <= 0.5 * all; i++)
        sum += list[i].length, usual = list[i].thickness;
    sp_free(list);
    return usual;
}

/* Return the thickness of the wall that runs along all four sides of the box of the lines; 0: there
 * is none. */
static double find_wall(const sp_drawing *d, int layer, const double low[3], const double high[3],
                        double bead)
{
    double covered[4] = {0}, thickness[4] = {0};
    for (int i = 0; i < d->line_count; i++) {
        const double *a, *b;
        if (!is_of_layer(d, i, layer)) continue;
        ends_of(d, i, &a, &b);
        for (int side = 0; side < 4; side++) {
            const int k = side / 2;
            const double place = side % 2 ? high[k] : low[k];
            if (fabs(a[k] - place) > side_slack * bead || fabs(b[k] - place) > side_slack * bead)
                continue;
            const double length = fabs(a[1 - k] - b[1 - k]);
            covered[side] += length;
            thickness[side] += length * d->line_diameter[i];
        }
    }
    double least = INFINITY, most = 0, sum = 0;
    for (int side = 0; side < 4; side++) {
        const int other = 1 - side / 2;
        if (covered[side] < side_share * (high[other] - low[other])) return 0;
        thickness[side] /= covered[side];
        least = fmin(least, thickness[side]);
        most = fmax(most, thickness[side]);
        sum += thickness[side] / 4;
    }
    return most - least <= same_wall * most ? sum : 0;
}

static sp_status add_lines(sp_context *context, const sp_drawing *d, int layer, double bead,
                           sp_graph *graph)
{
    sp_status status = SP_OK;
    for (int i = 0; i < d->line_count && status == SP_OK; i++) {
        const double *a, *b;
        if (!is_of_layer(d, i, layer)) continue;
        ends_of(d, i, &a, &b);
        const sp_strut like = {.thickness = d->line_diameter[i], .role = SP_ROLE_INFILL};
        const double p[3] = {a[0], a[1], 0}, q[3] = {b[0], b[1], 0};
        if (graph->wall > 0) {
            /* The box alone gives the wall, so its lines are left out. */
            int along = 0;
            for (int k = 0; k < 2; k++)
                along |= (fabs(p[k] - graph->low[k]) <= side_slack * bead &&
                          fabs(q[k] - graph->low[k]) <= side_slack * bead) ||
                         (fabs(p[k] - graph->high[k]) <= side_slack * bead &&
                          fabs(q[k] - graph->high[k]) <= side_slack * bead);
            if (along) continue;
        }
        status = sp_graph_add_clipped(context, graph, p, q, &like);
    }
    return status;
}

static sp_status add_corners(sp_context *context, sp_graph *graph)
{
    sp_status status = SP_OK;
    for (int k = 0; k < 4 && status == SP_OK; k++) {
        const double corner[3] = {k == 1 || k == 2 ? graph->high[0] : graph->low[0],
                                  k >= 2 ? graph->high[1] : graph->low[1], 0};
        status = sp_graph_add_joint(context, graph, corner);
    }
    return status;
}

sp_status sp_planar_build_path(sp_context *context, const sp_case *request,
                               const sp_drawing *drawing, int layer, int with_flaws,
                               sp_network *network)
{
    sp_graph graph = {.rules = &sp_planar_rules,
                      .low = {INFINITY, INFINITY, 0},
                      .high = {-INFINITY, -INFINITY, 0}};
    sp_case own = *request;
    const double bead = sp_planar_usual_thickness(drawing, layer);
    *network = (sp_network){0};
    if (!(bead > 0))
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", drawing->line_count);
    for (int i = 0; i < drawing->point_count; i++)
        for (int k = 0; k < 2; k++) {
            graph.low[k] = fmin(graph.low[k], drawing->point[3 * i + k]);
            graph.high[k] = fmax(graph.high[k], drawing->point[3 * i + k]);
        }
    own.bead_width = bead;
    graph.bead = bead;
    graph.same = same_side * bead;
    graph.wall = find_wall(drawing, layer, graph.low, graph.high, bead);
    graph.plates = !(graph.wall > 0);
    graph.standing = request->press_direction != SP_PRESS_ACROSS;
    graph.stacked = drawing->repeat > 0;
    sp_status status = SP_OK;
    if (graph.wall > 0) status = add_corners(context, &graph);
    if (status == SP_OK) status = add_lines(context, drawing, layer, bead, &graph);
    if (status == SP_OK) status = sp_graph_clean(context, request, "infill.toolpath", &graph);
    if (status == SP_OK) status = sp_graph_finish(context, &own, with_flaws, &graph, network);
    sp_graph_free(&graph);
    return status;
}
