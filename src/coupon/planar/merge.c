/* Draw joints together that would leave struts shorter than a bead, and joints beside the rectangle onto it. */
#include "network/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"
#include "network/near.h"

#define NEAR 0.5         /* share of a bead: joints closer than this are one */
#define SHORT (1 - 1e-9) /* share of a bead: struts shorter than this have none of their own */
#define MORE (1 + 1e-6)  /* so that rounding leaves no pair out */
/* share of a bead: pairs as close as that are joined together */
static const double tie = 1e-6;

/* What happens to the pairs of joints that are found: first all are measured, then the shortest are joined. */
typedef struct merger {
    sp_graph *graph;
    double *shortest;
    int *parent;
    int joins, united; /* joins 0: measure */
} merger;

/* A pair closer than the limit. */
static void take_pair(merger *m, int a, int b, double limit)
{
    const sp_node *p = &m->graph->node[a], *q = &m->graph->node[b];
    const double dx = q->x - p->x, dy = q->y - p->y;
    if (a == b || dx * dx + dy * dy > MORE * limit * limit) return;
    const sp_pair pair = {a, b, hypot(dx, dy), tie * m->graph->bead};
    if (pair.length >= limit) return;
    if (m->joins)
        m->united += sp_pair_unite(&pair, m->shortest, m->parent);
    else
        sp_pair_measure(&pair, m->shortest);
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

static void take_short_edges(merger *m)
{
    const sp_graph *graph = m->graph;
    for (int e = 0; e < graph->edge_count; e++)
        if (graph->edge[e].a >= 0)
            take_pair(m, graph->edge[e].a, graph->edge[e].b, SHORT * graph->bead);
}

/* Neighbours along the wall, around the whole rectangle. */
static sp_status take_wall_gaps(sp_context *context, merger *m)
{
    int *around = NULL, count = 0;
    if (!m->graph->walls) return SP_OK;
    sp_status status = sp_graph_around(context, m->graph, &around, &count);
    for (int i = 0; status == SP_OK && i < count; i++)
        take_pair(m, around[i], around[(i + 1) % count], SHORT * m->graph->bead);
    sp_free(around);
    return status;
}

static void visit_near(void *user, int a, int b)
{
    merger *m = user;
    take_pair(m, a, b, NEAR * m->graph->bead);
}

/* Joints that nearly coincide without a strut between them. */
static sp_status take_near(sp_context *context, merger *m)
{
    const sp_graph *graph = m->graph;
    sp_near_point *point = sp_alloc((size_t)graph->node_count, sizeof *point);
    if (!point) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
    for (int n = 0; n < graph->node_count; n++)
        point[n] = (sp_near_point){{graph->node[n].x, graph->node[n].y, 0}, n};
    sp_status status = sp_near_each(context, point, graph->node_count, NEAR * graph->bead,
                                    &m->graph->compared, visit_near, m);
    sp_free(point);
    return status;
}

static sp_status take_pairs(sp_context *context, merger *m, int near_only)
{
    sp_status status = take_near(context, m);
    if (status != SP_OK || near_only) return status;
    take_short_edges(m);
    return take_wall_gaps(context, m);
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
    merger m = {.graph = graph};
    m.shortest = sp_alloc((size_t)graph->node_count, sizeof *m.shortest);
    m.parent = sp_alloc((size_t)graph->node_count, sizeof *m.parent);
    sp_status status = SP_OK;
    if (!m.shortest || !m.parent) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
        goto done;
    }
    *changed += snap(graph);
    for (int n = 0; n < graph->node_count; n++) m.parent[n] = n, m.shortest[n] = INFINITY;
    for (m.joins = 0; status == SP_OK && m.joins < 2; m.joins++)
        status = take_pairs(context, &m, near_only);
    if (status != SP_OK) goto done;
    *changed += m.united;
    if (m.united) status = collapse(context, graph, m.parent);
    if (status == SP_OK) status = sp_graph_compact(context, graph);
done:
    sp_free(m.shortest);
    sp_free(m.parent);
    return status;
}
