/* Cut edges where they cross and where a joint lies on them, with a cell grid over the rectangle. */
#include "network/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"
#include "network/near.h"

#define MORE (1 + 1e-6) /* so that rounding leaves nothing out */
/* comparisons in the time that a round takes for each line and joint */
static const int work_of_one = 10;
#define NEAR 0.5 /* a joint closer to a strut than this share of a bead lies on it */

typedef struct grid {
    int nx, ny;
    double size, x0, y0;
    int *first, *list; /* edges that come within `reach` of each cell */
} grid;

static int cell_of(double x, double x0, double size, int n)
{
    int i = (int)floor((x - x0) / size);
    return i < 0 ? 0 : i >= n ? n - 1 : i;
}

static int cell_of_node(const grid *cells, const sp_node *node)
{
    int i = cell_of(node->x, cells->x0, cells->size, cells->nx);
    int j = cell_of(node->y, cells->y0, cells->size, cells->ny);
    return j * cells->nx + i;
}

/* Visit the cells within `reach` of an edge, row by row; fills when grid->list is there, else counts. */
static void visit_cells(grid *cells, const sp_graph *graph, int e, double reach, int *cursor)
{
    const sp_node *a = &graph->node[graph->edge[e].a], *b = &graph->node[graph->edge[e].b];
    int j0 = cell_of(fmin(a->y, b->y) - reach, cells->y0, cells->size, cells->ny);
    int j1 = cell_of(fmax(a->y, b->y) + reach, cells->y0, cells->size, cells->ny);
    for (int j = j0; j <= j1; j++) {
        /* the part of the edge in this row, and its span in x */
        double low = cells->y0 + j * cells->size - reach, high = low + cells->size + 2 * reach;
        double dy = b->y - a->y, t0 = 0, t1 = 1;
        if (fabs(dy) > reach) {
            double near = (low - a->y) / dy, far = (high - a->y) / dy;
            t0 = fmax(0, fmin(near, far)), t1 = fmin(1, fmax(near, far));
            if (t0 > t1) continue;
        }
        double xa = a->x + t0 * (b->x - a->x), xb = a->x + t1 * (b->x - a->x);
        int i0 = cell_of(fmin(xa, xb) - reach, cells->x0, cells->size, cells->nx);
        int i1 = cell_of(fmax(xa, xb) + reach, cells->x0, cells->size, cells->nx);
        for (int i = i0; i <= i1; i++) {
            int cell = j * cells->nx + i;
            if (cells->list)
                cells->list[cursor[cell]++] = e;
            else
                cells->first[cell + 1]++;
        }
    }
}

static sp_status no_memory(sp_context *context, const sp_graph *graph)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", graph->edge_count);
}

static sp_status grid_build(sp_context *context, const sp_graph *graph, double reach, grid *cells)
{
    double width = graph->high[0] - graph->low[0], height = graph->high[1] - graph->low[1];
    double total = 0;
    for (int e = 0; e < graph->edge_count; e++) total += sp_graph_length(graph, e);
    /* about one mean edge per cell, and no more cells than edges */
    double size =
        fmax(total / (graph->edge_count + 1), sqrt(width * height / (graph->edge_count + 1)));
    cells->size = fmax(size, 2 * reach);
    cells->x0 = graph->low[0], cells->y0 = graph->low[1];
    cells->nx = (int)ceil(width / cells->size) + 1;
    cells->ny = (int)ceil(height / cells->size) + 1;
    size_t count = (size_t)cells->nx * (size_t)cells->ny;
    cells->first = sp_alloc(count + 1, sizeof *cells->first);
    int *cursor = sp_alloc(count, sizeof *cursor);
    sp_status status = SP_OK;
    if (!cells->first || !cursor) {
        status = no_memory(context, graph);
        goto done;
    }
    for (int e = 0; e < graph->edge_count; e++) visit_cells(cells, graph, e, reach, NULL);
    for (size_t i = 0; i < count; i++) {
        cells->first[i + 1] += cells->first[i];
        cursor[i] = cells->first[i];
    }
    cells->list = sp_alloc((size_t)cells->first[count], sizeof *cells->list);
    if (!cells->list) {
        status = no_memory(context, graph);
        goto done;
    }
    for (int e = 0; e < graph->edge_count; e++) visit_cells(cells, graph, e, reach, cursor);
done:
    sp_free(cursor);
    return status;
}

/* What there is to compare: every two edges of a cell, and every node with the edges of its cell. */
static sp_status check_work(sp_context *context, sp_graph *graph, const grid *cells)
{
    double pairs = 0;
    for (int cell = 0; cell < cells->nx * cells->ny; cell++) {
        const double count = cells->first[cell + 1] - cells->first[cell];
        pairs += 0.5 * count * (count - 1);
    }
    for (int n = 0; n < graph->node_count; n++) {
        const int cell = cell_of_node(cells, &graph->node[n]);
        pairs += cells->first[cell + 1] - cells->first[cell];
    }
    /* and a round in which nothing is compared is not for nothing */
    pairs += work_of_one * ((double)graph->node_count + graph->edge_count);
    return sp_network_compare(context, &graph->compared, pairs);
}

/* Where along edge e the node lies on it, or -1: within `near` of it and farther than that from its ends
 * (closer ends are merged). */
static double node_on_edge(const sp_graph *graph, int n, int e, double near)
{
    const sp_edge *edge = &graph->edge[e];
    if (edge->a == n || edge->b == n) return -1;
    const sp_node *a = &graph->node[edge->a], *b = &graph->node[edge->b], *p = &graph->node[n];
    double dx = b->x - a->x, dy = b->y - a->y;
    double area = (p->y - a->y) * dx - (p->x - a->x) * dy;
    if (area * area > MORE * near * near * (dx * dx + dy * dy)) return -1; /* most are far away */
    double length = hypot(dx, dy);
    double along = ((p->x - a->x) * dx + (p->y - a->y) * dy) / length;
    double across = area / length;
    if (fabs(across) > near || along <= 0 || along >= length) return -1;
    if (hypot(along, across) < near || hypot(length - along, across) < near) return -1;
    return along;
}

/* A loose end moves onto the edge it nearly meets; other joints draw the edge to them. Beside many edges it goes on from one to
 * the next, but stays near the place `from` where it was drawn: 0 when this edge is too far from there. */
static int put_on_edge(sp_graph *graph, int n, int e, double along, const sp_node *from,
                       double near)
{
    const sp_node *a = &graph->node[graph->edge[e].a], *b = &graph->node[graph->edge[e].b];
    double t = along / hypot(b->x - a->x, b->y - a->y);
    const double x = a->x + t * (b->x - a->x), y = a->y + t * (b->y - a->y);
    if (hypot(x - from->x, y - from->y) > MORE * near) return 0;
    graph->node[n].x = x;
    graph->node[n].y = y;
    return 1;
}

/* Every node, looked up in its own cell, against the edges that come near that cell. */
static sp_status find_nodes_on_edges(sp_context *context, sp_graph *graph, const grid *cells,
                                     double near, sp_cuts *cuts)
{
    double count = 0;
    sp_status status = SP_OK;
    int *degree = sp_alloc((size_t)graph->node_count, sizeof *degree);
    if (!degree)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
    for (int e = 0; e < graph->edge_count; e++)
        degree[graph->edge[e].a]++, degree[graph->edge[e].b]++;
    for (int n = 0; n < graph->node_count; n++) {
        const int cell = cell_of_node(cells, &graph->node[n]);
        const sp_node from = graph->node[n];
        const int loose = degree[n] == 1 && !from.side;
        for (int k = cells->first[cell]; status == SP_OK && k < cells->first[cell + 1]; k++) {
            double along = node_on_edge(graph, n, cells->list[k], near);
            if (along < 0) continue;
            if (loose && !put_on_edge(graph, n, cells->list[k], along, &from, near)) continue;
            if (++count > SP_CROSSINGS_MAX) continue;
            status = sp_cuts_add(context, cuts, cells->list[k], n, along);
        }
    }
    sp_free(degree);
    if (status != SP_OK || count <= SP_CROSSINGS_MAX) return status;
    return sp_network_too_many(context, count, "ends and crossings on lines", SP_CROSSINGS_MAX);
}

/* Most edges do not meet, which is seen before a length is taken: share / whole is outside 0 .. 1. */
static int is_outside(double share, double whole)
{
    return whole > 0 ? share < 0 || share > MORE * whole : share > 0 || share < MORE * whole;
}

/* Proper crossing of two edges, farther than `near` from all four ends; along[] from A of each. */
static int edges_cross(const sp_graph *graph, int e, int f, double near, double along[2])
{
    const sp_edge *p = &graph->edge[e], *q = &graph->edge[f];
    if (p->a == q->a || p->a == q->b || p->b == q->a || p->b == q->b) return 0;
    const sp_node *a = &graph->node[p->a], *b = &graph->node[p->b];
    const sp_node *c = &graph->node[q->a], *d = &graph->node[q->b];
    double ux = b->x - a->x, uy = b->y - a->y, vx = d->x - c->x, vy = d->y - c->y;
    double cross = ux * vy - uy * vx;
    double first = (c->x - a->x) * vy - (c->y - a->y) * vx;
    double second = (c->x - a->x) * uy - (c->y - a->y) * ux;
    if (is_outside(first, cross) || is_outside(second, cross)) return 0;
    double u = hypot(ux, uy), v = hypot(vx, vy);
    if (fabs(cross) <= 1e-9 * u * v) return 0;
    along[0] = first / cross * u;
    along[1] = second / cross * v;
    return along[0] > near && along[0] < u - near && along[1] > near && along[1] < v - near;
}

/* Crossings past the most that are valid are counted alone. */
static sp_status find_crossings(sp_context *context, sp_graph *graph, const grid *cells,
                                double near, sp_cuts *cuts)
{
    double count = 0;
    for (int cell = 0; cell < cells->nx * cells->ny; cell++)
        for (int k = cells->first[cell]; k < cells->first[cell + 1]; k++)
            for (int m = k + 1; m < cells->first[cell + 1]; m++) {
                int e = cells->list[k], f = cells->list[m];
                double along[2];
                if (!edges_cross(graph, e, f, near, along)) continue;
                const sp_node *a = &graph->node[graph->edge[e].a];
                const sp_node *b = &graph->node[graph->edge[e].b];
                double t = along[0] / hypot(b->x - a->x, b->y - a->y);
                double x = a->x + t * (b->x - a->x), y = a->y + t * (b->y - a->y);
                /* two edges meet in several cells: the one that holds the crossing counts */
                int i = cell_of(x, cells->x0, cells->size, cells->nx);
                int j = cell_of(y, cells->y0, cells->size, cells->ny);
                if (j * cells->nx + i != cell) continue;
                if (++count > SP_CROSSINGS_MAX) continue;
                int node = graph->node_count;
                sp_status status = sp_graph_add_node(context, graph, x, y, 0);
                if (status == SP_OK) status = sp_cuts_add(context, cuts, e, node, along[0]);
                if (status == SP_OK) status = sp_cuts_add(context, cuts, f, node, along[1]);
                if (status != SP_OK) return status;
            }
    if (count <= SP_CROSSINGS_MAX) return SP_OK;
    return sp_network_too_many(context, count, "crossings of lines", SP_CROSSINGS_MAX);
}

/* Replace each cut edge by its parts. */
static sp_status apply(sp_context *context, sp_graph *graph, sp_cuts *cuts)
{
    sp_cuts_sort(cuts);
    for (int i = 0; i < cuts->count; i++) {
        int e = cuts->item[i].strut, last = graph->edge[e].b;
        graph->edge[e].b = cuts->item[i].joint;
        for (; i < cuts->count && cuts->item[i].strut == e; i++) {
            int next = sp_cuts_next(cuts, i, last);
            sp_status status =
                sp_graph_add_edge(context, graph, cuts->item[i].joint, next, graph->edge[e].origin);
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
    double near = NEAR * graph->bead;

    sp_status status = grid_build(context, graph, near, &cells);
    if (status == SP_OK) status = check_work(context, graph, &cells);
    if (status == SP_OK) status = find_nodes_on_edges(context, graph, &cells, near, &cuts);
    if (status == SP_OK) status = find_crossings(context, graph, &cells, near, &cuts);
    if (status == SP_OK && cuts.count) status = apply(context, graph, &cuts);
    *changed += cuts.count;
    sp_free(cells.first);
    sp_free(cells.list);
    sp_free(cuts.item);
    return status;
}
