/* Cut struts where a joint lies on them and where two of them cross, within a share of the thinner
 * one.
 *
 * A grid holds, for each of its cells, the struts that come near it; a strut is entered piece by
 * piece, so that a long slanted one does not fill the grid. */
#include "graph/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "graph/near.h"

static const double entries_max = 1e9;
/* A round takes about as long as this many comparisons for each strut and joint. */
static const int work_of_one = 10;

typedef struct grid {
    sp_graph_grid size;
    int count;         /* number of cells */
    int *first, *list; /* struts of cell c: list[first[c]] .. */
} grid;

static int cell_along(const sp_graph *graph, const grid *cells, double x, int k)
{
    const int n = cells->size.n[k], i = (int)floor((x - graph->low[k]) / cells->size.edge);
    return i < 0 ? 0 : i >= n ? n - 1 : i;
}

static int cell_of(const sp_graph *graph, const grid *cells, const double at[3])
{
    const int *n = cells->size.n, z = cell_along(graph, cells, at[2], 2);
    return (z * n[1] + cell_along(graph, cells, at[1], 1)) * n[0] +
           cell_along(graph, cells, at[0], 0);
}

/* Find the cells, from .. to, that part p of a strut comes near. */
static void cells_near(const sp_graph *graph, const grid *cells, int s, double near, int p,
                       int parts, int from[3], int to[3])
{
    const double *a = graph->joint[graph->strut[s].joint[0]].at;
    const double *b = graph->joint[graph->strut[s].joint[1]].at;
    for (int k = 0; k < 3; k++) {
        double x = a[k] + (b[k] - a[k]) * p / parts, y = a[k] + (b[k] - a[k]) * (p + 1) / parts;
        from[k] = cell_along(graph, cells, fmin(x, y) - near, k);
        to[k] = cell_along(graph, cells, fmax(x, y) + near, k);
    }
}

static int parts_of(const sp_graph *graph, const grid *cells, int s)
{
    return 1 + (int)(sp_graph_length(graph, s) / cells->size.edge);
}

/* Count (list NULL) or enter the cells of one strut, each of them once: `mark` holds the last strut
 * that was seen in a cell. */
static void enter(const sp_graph *graph, const grid *cells, int s, double near, int *mark,
                  int *start, int *list)
{
    const int parts = parts_of(graph, cells, s), *n = cells->size.n;
    for (int p = 0; p < parts; p++) {
        int from[3], to[3];
        cells_near(graph, cells, s, near, p, parts, from, to);
        for (int z = from[2]; z <= to[2]; z++)
            for (int y = from[1]; y <= to[1]; y++)
                for (int x = from[0]; x <= to[0]; x++) {
                    int c = (z * n[1] + y) * n[0] + x;
                    if (mark[c] == s + 1) continue;
                    mark[c] = s + 1;
                    if (list)
                        list[start[c]++] = s;
                    else
                        start[c + 1]++;
                }
    }
}

/* A thick strut among fine ones comes near very many cells, so these are counted before the strut
 * is entered. */
static sp_status check_cells(sp_context *context, const sp_graph *graph, const grid *cells,
                             double near)
{
    double count = 0;
    for (int s = 0; s < graph->strut_count; s++) {
        const int parts = parts_of(graph, cells, s);
        for (int p = 0; p < parts; p++) {
            int from[3], to[3];
            cells_near(graph, cells, s, near, p, parts, from, to);
            count += (to[0] - from[0] + 1.0) * (to[1] - from[1] + 1.0) * (to[2] - from[2] + 1.0);
        }
    }
    if (count <= entries_max) return SP_OK;
    return sp_network_too_many(context, count, "cells of a grid that struts come near",
                               entries_max);
}

static sp_status no_memory(sp_context *context, const sp_graph *graph)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", graph->strut_count);
}

static sp_status grid_build(sp_context *context, const sp_graph *graph, double near, grid *cells)
{
    double total = 0;
    for (int s = 0; s < graph->strut_count; s++) total += sp_graph_length(graph, s);
    graph->rules->choose_grid(graph, total, near, &cells->size);
    sp_status status = check_cells(context, graph, cells, near);
    if (status != SP_OK) return status;
    cells->count = cells->size.n[0] * cells->size.n[1] * cells->size.n[2];
    int *mark = sp_alloc((size_t)cells->count, sizeof *mark);
    cells->first = sp_alloc((size_t)cells->count + 2, sizeof *cells->first);
    if (!mark || !cells->first) {
        status = no_memory(context, graph);
        goto done;
    }
    int *start = cells->first + 1;
    for (int s = 0; s < graph->strut_count; s++) enter(graph, cells, s, near, mark, start, NULL);
    for (int c = 0; c < cells->count; c++) start[c + 1] += start[c], mark[c] = 0;
    cells->list = sp_alloc((size_t)start[cells->count], sizeof *cells->list);
    if (!cells->list) {
        status = no_memory(context, graph);
        goto done;
    }
    for (int s = 0; s < graph->strut_count; s++)
        enter(graph, cells, s, near, mark, start, cells->list);
done:
    sp_free(mark);
    return status;
}

/* Count the comparisons: every two struts of a cell, and every joint with the struts of its cell.
 */
static sp_status check_work(sp_context *context, sp_graph *graph, const grid *cells)
{
    double pairs = 0;
    for (int c = 0; c < cells->count; c++) {
        const double here = cells->first[c + 1] - cells->first[c];
        pairs += 0.5 * here * (here - 1);
    }
    for (int n = 0; n < graph->joint_count; n++) {
        const int c = cell_of(graph, cells, graph->joint[n].at);
        pairs += cells->first[c + 1] - cells->first[c];
    }
    /* A round in which nothing is compared takes time, too. */
    pairs += work_of_one * ((double)graph->joint_count + graph->strut_count);
    return sp_network_compare(context, &graph->compared, pairs);
}

/* Cut the struts of the joint's cell on which the joint lies. `degree`: struts of the joint. */
static sp_status cut_at_joint(sp_context *context, sp_graph *graph, const grid *cells, int n,
                              int degree, double reach, double *count, sp_cuts *cuts)
{
    const sp_joint from = graph->joint[n];
    const double *loose = degree == 1 && !from.side ? from.at : NULL;
    const int c = cell_of(graph, cells, from.at);
    sp_status status = SP_OK;
    for (int i = cells->first[c]; status == SP_OK && i < cells->first[c + 1]; i++) {
        const int s = cells->list[i];
        const sp_strut *strut = &graph->strut[s];
        const double near = fmin(reach, graph->rules->near * sp_graph_slimmest(strut));
        double along;
        if (strut->joint[0] == n || strut->joint[1] == n) continue;
        if (!graph->rules->lies_on(graph, n, s, near, loose, &along)) continue;
        if (++*count > SP_CROSSINGS_MAX) continue;
        status = sp_cuts_add(context, cuts, s, n, along);
    }
    return status;
}

/* Cut struts at joints that lie on them, away from their ends. */
static sp_status find_joints_on_struts(sp_context *context, sp_graph *graph, const grid *cells,
                                       const double *reach, sp_cuts *cuts)
{
    double count = 0;
    sp_poll poll = {.context = context, .doing = "joining struts"};
    sp_status status = SP_OK;
    int *degree = sp_alloc((size_t)graph->joint_count, sizeof *degree);
    if (!degree) return no_memory(context, graph);
    for (int s = 0; s < graph->strut_count; s++)
        for (int k = 0; k < 2; k++) degree[graph->strut[s].joint[k]]++;
    for (int n = 0; status == SP_OK && n < graph->joint_count; n++) {
        const int c = cell_of(graph, cells, graph->joint[n].at);
        status = sp_poll_after(&poll, 1.0 + cells->first[c + 1] - cells->first[c]);
        if (status == SP_OK)
            status = cut_at_joint(context, graph, cells, n, degree[n], reach[n], &count, cuts);
    }
    sp_free(degree);
    if (status != SP_OK || count <= SP_CROSSINGS_MAX) return status;
    return sp_network_too_many(context, count, "ends and crossings on lines", SP_CROSSINGS_MAX);
}

static int share_joint(const sp_strut *p, const sp_strut *q)
{
    return p->joint[0] == q->joint[0] || p->joint[0] == q->joint[1] || p->joint[1] == q->joint[0] ||
           p->joint[1] == q->joint[1];
}

/* Cut struts s and t where they cross, if they do so in cell c: two struts meet in several cells,
 * and only the cell that holds the crossing counts. When there are more crossings than are valid,
 * the others are only counted. */
static sp_status cut_pair(sp_context *context, sp_graph *graph, const grid *cells, int c, int s,
                          int t, double *count, sp_cuts *cuts)
{
    const sp_strut *p = &graph->strut[s], *q = &graph->strut[t];
    double along[2], at[3];
    if (share_joint(p, q)) return SP_OK;
    const double near = graph->rules->near * fmin(sp_graph_slimmest(p), sp_graph_slimmest(q));
    if (!graph->rules->cross(graph, s, t, near, along, at)) return SP_OK;
    if (cell_of(graph, cells, at) != c) return SP_OK;
    if (++*count > SP_CROSSINGS_MAX) return SP_OK;
    const int joint = graph->joint_count;
    sp_status status = sp_graph_add_joint(context, graph, at);
    if (status == SP_OK) status = sp_cuts_add(context, cuts, s, joint, along[0]);
    if (status == SP_OK) status = sp_cuts_add(context, cuts, t, joint, along[1]);
    return status;
}

static sp_status find_crossings(sp_context *context, sp_graph *graph, const grid *cells,
                                sp_cuts *cuts)
{
    double count = 0;
    sp_poll poll = {.context = context, .doing = "joining struts"};
    sp_status status = SP_OK;
    for (int c = 0; status == SP_OK && c < cells->count; c++)
        for (int i = cells->first[c]; status == SP_OK && i < cells->first[c + 1]; i++) {
            status = sp_poll_after(&poll, 1.0 + cells->first[c + 1] - i);
            for (int j = i + 1; status == SP_OK && j < cells->first[c + 1]; j++)
                status = cut_pair(context, graph, cells, c, cells->list[i], cells->list[j], &count,
                                  cuts);
        }
    if (status != SP_OK || count <= SP_CROSSINGS_MAX) return status;
    return sp_network_too_many(context, count, "crossings of lines", SP_CROSSINGS_MAX);
}

/* Replace each cut strut by its pieces. */
static sp_status apply(sp_context *context, sp_graph *graph, sp_cuts *cuts)
{
    sp_cuts_sort(cuts);
    for (int i = 0; i < cuts->count; i++) {
        int s = cuts->item[i].strut, last = graph->strut[s].joint[1];
        graph->strut[s].joint[1] = cuts->item[i].joint;
        const sp_strut like = graph->strut[s];
        for (; i < cuts->count && cuts->item[i].strut == s; i++) {
            int next = sp_cuts_next(cuts, i, last);
            sp_status status = sp_graph_add_strut(context, graph, cuts->item[i].joint, next, &like);
            if (status != SP_OK) return status;
        }
        i--;
    }
    return SP_OK;
}

sp_status sp_graph_split(sp_context *context, sp_graph *graph, int *changed)
{
    grid cells = {0};
    sp_cuts cuts = {0};
    double near = 0, *reach = sp_graph_reach(graph, graph->rules->near);
    sp_status status = SP_OK;
    if (!reach) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
        goto done;
    }
    for (int s = 0; s < graph->strut_count; s++)
        near = fmax(near, graph->rules->near * sp_graph_slimmest(&graph->strut[s]));
    status = grid_build(context, graph, near, &cells);
    if (status == SP_OK) status = check_work(context, graph, &cells);
    if (status == SP_OK) status = find_joints_on_struts(context, graph, &cells, reach, &cuts);
    if (status == SP_OK) status = find_crossings(context, graph, &cells, &cuts);
    if (status == SP_OK && cuts.count) status = apply(context, graph, &cuts);
    *changed += cuts.count;
done:
    sp_free(cells.first);
    sp_free(cells.list);
    sp_free(cuts.item);
    sp_free(reach);
    return status;
}
