/* Draw joints together that would leave struts shorter than a bead, and joints beside the rectangle onto it. */
#include "network/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"

#define NEAR 0.5         /* share of a bead: joints closer than this are one */
#define SHORT (1 - 1e-9) /* share of a bead: struts shorter than this have none of their own */
#define TIE 1e-6         /* share of a bead: pairs as close as that are joined together */

/* Joints closer than the limit. */
static sp_status add_near(sp_context *context, const sp_graph *graph, sp_pairs *pairs, int a, int b,
                          double limit)
{
    double length = hypot(graph->node[b].x - graph->node[a].x, graph->node[b].y - graph->node[a].y);
    if (a == b || length >= limit) return SP_OK;
    return sp_pairs_add(context, pairs, (sp_pair){a, b, length, TIE * graph->bead});
}

/* Joints within half a bead of a wall or platen lie on it. A free side has nothing to lie on. */
static int snap(sp_graph *graph)
{
    int count = 0;
    double near = NEAR * graph->bead;
    for (int n = 0; n < graph->node_count; n++) {
        sp_node *node = &graph->node[n];
        int side = node->side;
        if (node->y < graph->low[1] + near) side |= SP_SIDE_LOWER;
        if (node->y > graph->high[1] - near) side |= SP_SIDE_UPPER;
        if (graph->walls && node->x < graph->low[0] + near) side |= SP_SIDE_LEFT;
        if (graph->walls && node->x > graph->high[0] - near) side |= SP_SIDE_RIGHT;
        count += side != node->side;
        node->side = side;
        if (side & SP_SIDE_LOWER) node->y = graph->low[1];
        if (side & SP_SIDE_UPPER) node->y = graph->high[1];
        if (side & SP_SIDE_LEFT) node->x = graph->low[0];
        if (side & SP_SIDE_RIGHT) node->x = graph->high[0];
    }
    return count;
}

static sp_status find_short_edges(sp_context *context, const sp_graph *graph, sp_pairs *pairs)
{
    sp_status status = SP_OK;
    for (int e = 0; status == SP_OK && e < graph->edge_count; e++)
        if (graph->edge[e].a >= 0)
            status = add_near(context, graph, pairs, graph->edge[e].a, graph->edge[e].b,
                              SHORT * graph->bead);
    return status;
}

/* Neighbours along the wall, around the whole rectangle. */
static sp_status find_wall_gaps(sp_context *context, const sp_graph *graph, sp_pairs *pairs)
{
    int *around = NULL, count = 0;
    if (!graph->walls) return SP_OK;
    sp_status status = sp_graph_around(context, graph, &around, &count);
    for (int i = 0; status == SP_OK && i < count; i++)
        status = add_near(context, graph, pairs, around[i], around[(i + 1) % count],
                          SHORT * graph->bead);
    sp_free(around);
    return status;
}

/* Joints that nearly coincide without a strut between them: sort along a slanted line and look ahead. */
static sp_status find_near(sp_context *context, const sp_graph *graph, sp_pairs *pairs)
{
    sp_status status = SP_OK;
    double near = NEAR * graph->bead;
    sp_sweep *entry = sp_alloc((size_t)graph->node_count, sizeof *entry);
    if (!entry) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
    const double c = 0.9238795, s = 0.3826834;
    for (int n = 0; n < graph->node_count; n++)
        entry[n] = (sp_sweep){c * graph->node[n].x + s * graph->node[n].y, n};
    sp_sweep_sort(entry, graph->node_count);
    for (int i = 0; i < graph->node_count; i++)
        for (int j = i + 1; status == SP_OK && j < graph->node_count; j++) {
            if (entry[j].x - entry[i].x > near) break;
            status = add_near(context, graph, pairs, entry[i].joint, entry[j].joint, near);
        }
    sp_free(entry);
    return status;
}

static int rank_of(const sp_node *node)
{
    int x = (node->side & (SP_SIDE_LEFT | SP_SIDE_RIGHT)) != 0;
    int y = (node->side & (SP_SIDE_LOWER | SP_SIDE_UPPER)) != 0;
    return x + y;
}

/* Move each group to the mean of its highest rank (corner, side, inside) and give it one number. */
static sp_status collapse(sp_context *context, sp_graph *graph, int *parent)
{
    int count = graph->node_count;
    double *sum = sp_alloc((size_t)count, 3 * sizeof *sum);
    int *rank = sp_alloc((size_t)count, sizeof *rank);
    sp_status status = SP_OK;
    if (!sum || !rank) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    for (int n = 0; n < count; n++) {
        int r = sp_group_of(parent, n), own = rank_of(&graph->node[n]);
        if (own > rank[r]) rank[r] = own;
    }
    for (int n = 0; n < count; n++) {
        int r = sp_group_of(parent, n);
        const sp_node *node = &graph->node[n];
        if (rank_of(node) == rank[r]) {
            sum[3 * r] += node->x, sum[3 * r + 1] += node->y, sum[3 * r + 2] += 1;
        }
    }
    for (int n = 0; n < count; n++) {
        int r = sp_group_of(parent, n);
        if (r != n) graph->node[r].side |= graph->node[n].side;
    }
    for (int n = 0; n < count; n++) {
        sp_node *node = &graph->node[n];
        if (sp_group_of(parent, n) != n) continue;
        node->x = sum[3 * n] / sum[3 * n + 2];
        node->y = sum[3 * n + 1] / sum[3 * n + 2];
        if (node->side & SP_SIDE_LEFT) node->x = graph->low[0];
        if (node->side & SP_SIDE_RIGHT) node->x = graph->high[0];
        if (node->side & SP_SIDE_LOWER) node->y = graph->low[1];
        if (node->side & SP_SIDE_UPPER) node->y = graph->high[1];
    }
    for (int e = 0; e < graph->edge_count; e++) {
        sp_edge *edge = &graph->edge[e];
        if (edge->a < 0) continue;
        edge->a = sp_group_of(parent, edge->a), edge->b = sp_group_of(parent, edge->b);
        if (edge->a == edge->b) edge->a = -1;
    }
    /* a corner that went into another number leaves that number as the corner */
    for (int n = 0; n < count; n++)
        if (sp_group_of(parent, n) != n) graph->node[n].side = 0;
done:
    sp_free(sum);
    sp_free(rank);
    return status;
}

sp_status sp_graph_merge(sp_context *context, sp_graph *graph, int near_only, int *changed)
{
    sp_pairs pairs = {0};
    double *shortest = sp_alloc((size_t)graph->node_count, sizeof *shortest);
    int *parent = sp_alloc((size_t)graph->node_count, sizeof *parent);
    sp_status status = SP_OK;
    if (!shortest || !parent) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
        goto done;
    }
    *changed += snap(graph);
    status = find_near(context, graph, &pairs);
    if (status == SP_OK && !near_only) status = find_short_edges(context, graph, &pairs);
    if (status == SP_OK && !near_only) status = find_wall_gaps(context, graph, &pairs);
    if (status != SP_OK) goto done;
    int united = sp_pairs_unite(&pairs, graph->node_count, shortest, parent);
    *changed += united;
    if (united) status = collapse(context, graph, parent);
    if (status == SP_OK) status = sp_graph_compact(context, graph);
done:
    sp_free(pairs.item);
    sp_free(shortest);
    sp_free(parent);
    return status;
}
