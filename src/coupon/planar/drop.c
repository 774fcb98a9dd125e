/* What must not stay in the graph: doubles, struts inside a wall or platen, stubs, loose ends, joints in straight runs. */
#include "network/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"

#define SHORT (1 - 1e-9) /* share of a bead */
#define IN_LINE 1e-4     /* sine of the turn below which a run is straight */

static int compare_ends(const void *left, const void *right)
{
    const sp_edge *p = left, *q = right;
    int pa = p->a < p->b ? p->a : p->b, pb = p->a < p->b ? p->b : p->a;
    int qa = q->a < q->b ? q->a : q->b, qb = q->a < q->b ? q->b : q->a;
    if (pa != qa) return pa < qa ? -1 : 1;
    if (pb != qb) return pb < qb ? -1 : 1;
    return p->origin < q->origin ? -1 : p->origin > q->origin;
}

static int drop_doubles(sp_graph *graph)
{
    int count = 0;
    if (graph->edge_count == 0) return 0;
    qsort(graph->edge, (size_t)graph->edge_count, sizeof *graph->edge, compare_ends);
    for (int e = graph->edge_count - 1; e > 0; e--) {
        sp_edge *p = &graph->edge[e], *q = &graph->edge[e - 1];
        if ((p->a == q->a && p->b == q->b) || (p->a == q->b && p->b == q->a)) {
            p->a = -1;
            count++;
        }
    }
    return count;
}

/* Struts that lie in a wall, which is there already, and corner cuts shorter than a bead. Without a wall a line that was drawn
 * in the face of a platen is a plate and stays; one of a pattern is where the coupon was cut: nobody asked for a plate there,
 * and it neither weighs nor carries. */
static int drop_on_sides(sp_graph *graph)
{
    int count = 0;
    int solid = graph->walls                       ? 15
                : graph->plates || graph->standing ? 0
                                                   : SP_SIDE_LOWER | SP_SIDE_UPPER;
    for (int e = 0; e < graph->edge_count; e++) {
        sp_edge *edge = &graph->edge[e];
        if (edge->a < 0) continue;
        int a = graph->node[edge->a].side, b = graph->node[edge->b].side;
        if (a & b & solid) {
            edge->a = -1;
            graph->dropped_flat += !graph->walls;
            count++;
        } else if (a && b && !(a & b) && sp_graph_length(graph, e) < SHORT * graph->bead) {
            edge->a = -1;
            graph->dropped_stubs++;
            count++;
        }
    }
    return count;
}

/* A free end may stay on a free side when its strut is a bead long, or when it ends a chain (then it is drawn to the
 * side by merging). */
static int may_stay(const sp_graph *graph, int e, int end, int other_degree)
{
    int side = graph->node[end].side;
    if (graph->walls && side) return 1;
    if (graph->standing)
        return other_degree == 2 || sp_graph_length(graph, e) >= SHORT * graph->bead;
    if (graph->walls) return 0;
    if (side & (SP_SIDE_LOWER | SP_SIDE_UPPER)) return 1;
    return side && (other_degree == 2 || sp_graph_length(graph, e) >= SHORT * graph->bead);
}

static sp_status drop_loose_ends(sp_context *context, sp_graph *graph, int *changed)
{
    int *first, *list;
    sp_status status = sp_graph_incidence(context, graph, &first, &list);
    if (status != SP_OK) return status;
    int *degree = sp_alloc((size_t)graph->node_count, sizeof *degree);
    if (!degree) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
        goto done;
    }
    for (int n = 0; n < graph->node_count; n++) degree[n] = first[n + 1] - first[n];
    for (int start = 0; start < graph->node_count; start++) {
        int end = start;
        while (degree[end] == 1) { /* follow the chain as long as it hangs loose */
            int e = -1;
            for (int k = first[end]; k < first[end + 1]; k++)
                if (graph->edge[list[k]].a >= 0) e = list[k];
            int other = graph->edge[e].a == end ? graph->edge[e].b : graph->edge[e].a;
            if (may_stay(graph, e, end, degree[other])) break;
            if (sp_graph_length(graph, e) < SHORT * graph->bead)
                graph->dropped_stubs++;
            else
                graph->dropped_pieces++;
            graph->edge[e].a = -1;
            degree[end]--, degree[other]--;
            (*changed)++;
            end = other;
        }
    }
done:
    sp_free(degree);
    sp_free(first);
    sp_free(list);
    return status;
}

/* The node between the two edges is in a straight run. */
static int in_line(const sp_graph *graph, int n, int e, int f)
{
    const sp_node *p = &graph->node[n];
    int m = graph->edge[e].a == n ? graph->edge[e].b : graph->edge[e].a;
    int k = graph->edge[f].a == n ? graph->edge[f].b : graph->edge[f].a;
    const sp_node *a = &graph->node[m], *b = &graph->node[k];
    double ux = a->x - p->x, uy = a->y - p->y, vx = b->x - p->x, vy = b->y - p->y;
    double scale = hypot(ux, uy) * hypot(vx, vy);
    return m != k && ux * vx + uy * vy < 0 && fabs(ux * vy - uy * vx) <= IN_LINE * scale;
}

static sp_status dissolve(sp_context *context, sp_graph *graph, int *changed)
{
    int *first, *list;
    sp_status status = sp_graph_incidence(context, graph, &first, &list);
    if (status != SP_OK) return status;
    int solid = graph->walls ? 15 : SP_SIDE_LOWER | SP_SIDE_UPPER;
    for (int n = 0; n < graph->node_count; n++) {
        if (first[n + 1] - first[n] != 2 || (graph->node[n].side & solid)) continue;
        int e = list[first[n]], f = list[first[n] + 1];
        if (e == f || !in_line(graph, n, e, f)) continue;
        /* e takes over the far end of f; the far end's list keeps pointing at f, so point it at e */
        int far = graph->edge[f].a == n ? graph->edge[f].b : graph->edge[f].a;
        *(graph->edge[e].a == n ? &graph->edge[e].a : &graph->edge[e].b) = far;
        for (int k = first[far]; k < first[far + 1]; k++)
            if (list[k] == f) list[k] = e;
        if (graph->edge[f].origin < graph->edge[e].origin)
            graph->edge[e].origin = graph->edge[f].origin;
        graph->edge[f].a = -1;
        (*changed)++;
    }
    sp_free(first);
    sp_free(list);
    return SP_OK;
}

sp_status sp_graph_drop(sp_context *context, sp_graph *graph, int *changed)
{
    sp_status status = sp_graph_compact(context, graph);
    if (status != SP_OK) return status;
    *changed += drop_doubles(graph);
    *changed += drop_on_sides(graph);
    status = drop_loose_ends(context, graph, changed);
    if (status == SP_OK) status = dissolve(context, graph, changed);
    return status == SP_OK ? sp_graph_compact(context, graph) : status;
}

sp_status sp_graph_keep_spanning(sp_context *context, sp_graph *graph, int *spans)
{
    int count = graph->node_count;
    if (graph->standing) {
        *spans = graph->edge_count > 0;
        return SP_OK;
    }
    int *parent = sp_alloc((size_t)count, sizeof *parent);
    int *side = sp_alloc((size_t)count, sizeof *side);
    sp_status status = SP_OK;
    *spans = 0;
    if (!parent || !side) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    int wall = -1; /* the wall makes one piece of all joints on it and reaches both platens */
    for (int n = 0; n < count; n++) parent[n] = n;
    for (int n = 0; graph->walls && n < count; n++)
        if (graph->node[n].side) {
            if (wall >= 0)
                parent[n] = wall;
            else
                wall = n;
        }
    for (int e = 0; e < graph->edge_count; e++)
        parent[sp_group_of(parent, graph->edge[e].a)] = sp_group_of(parent, graph->edge[e].b);
    for (int n = 0; n < count; n++) side[sp_group_of(parent, n)] |= graph->node[n].side;
    for (int e = 0; e < graph->edge_count; e++)
        if (sp_piece_spans(side[sp_group_of(parent, graph->edge[e].a)],
                           SP_SIDE_LOWER | SP_SIDE_UPPER, &graph->left_out)) {
            *spans = 1;
        } else {
            graph->edge[e].a = -1;
            graph->dropped_pieces++;
        }
    status = sp_graph_compact(context, graph);
done:
    sp_free(parent);
    sp_free(side);
    return status;
}
