/* Arrays of the graph, see graph.h. */
#include "network/graph.h"

#include <math.h>

#include "base/alloc.h"

static const int nodes_max = 16000000;

void sp_graph_free(sp_graph *graph)
{
    sp_free(graph->node);
    sp_free(graph->edge);
    *graph = (sp_graph){0};
}

sp_status sp_graph_add_node(sp_context *context, sp_graph *graph, double x, double y, int side)
{
    if (graph->node_count >= nodes_max)
        return sp_fail(context, SP_BAD_NETWORK,
                       "network: received more than %d joints; valid: at most so many", nodes_max);
    if (graph->node_count == graph->node_capacity) {
        int capacity = graph->node_capacity ? 2 * graph->node_capacity : 256;
        sp_node *node = sp_resize(graph->node, (size_t)capacity, sizeof *node);
        if (!node) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", capacity);
        graph->node = node;
        graph->node_capacity = capacity;
    }
    graph->node[graph->node_count++] = (sp_node){.x = x, .y = y, .side = side, .origin = -1};
    return SP_OK;
}

sp_status sp_graph_add_edge(sp_context *context, sp_graph *graph, int a, int b, int origin)
{
    if (graph->edge_count == graph->edge_capacity) {
        int capacity = graph->edge_capacity ? 2 * graph->edge_capacity : 256;
        sp_edge *edge = sp_resize(graph->edge, (size_t)capacity, sizeof *edge);
        if (!edge) return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", capacity);
        graph->edge = edge;
        graph->edge_capacity = capacity;
    }
    graph->edge[graph->edge_count++] = (sp_edge){.a = a, .b = b, .origin = origin};
    return SP_OK;
}

double sp_graph_length(const sp_graph *graph, int edge)
{
    const sp_node *a = &graph->node[graph->edge[edge].a], *b = &graph->node[graph->edge[edge].b];
    return hypot(b->x - a->x, b->y - a->y);
}

static int is_wall_corner(const sp_graph *graph, const sp_node *node)
{
    return graph->walls && (node->side & (SP_SIDE_LEFT | SP_SIDE_RIGHT)) &&
           (node->side & (SP_SIDE_LOWER | SP_SIDE_UPPER));
}

int sp_graph_is_plate(const sp_graph *graph, int edge)
{
    const int a = graph->node[graph->edge[edge].a].side, b = graph->node[graph->edge[edge].b].side;
    return (a & b & (SP_SIDE_LOWER | SP_SIDE_UPPER)) != 0;
}

sp_status sp_graph_compact(sp_context *context, sp_graph *graph)
{
    int *number = sp_alloc((size_t)graph->node_count, sizeof *number);
    if (!number)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
    int edges = 0, nodes = 0;
    for (int e = 0; e < graph->edge_count; e++)
        if (graph->edge[e].a >= 0) {
            graph->edge[edges++] = graph->edge[e];
            number[graph->edge[e].a] = number[graph->edge[e].b] = 1;
        }
    for (int n = 0; n < graph->node_count; n++)
        if (number[n] || is_wall_corner(graph, &graph->node[n])) {
            graph->node[nodes] = graph->node[n];
            number[n] = nodes++;
        }
    graph->edge_count = edges;
    graph->node_count = nodes;
    for (int e = 0; e < edges; e++) {
        graph->edge[e].a = number[graph->edge[e].a];
        graph->edge[e].b = number[graph->edge[e].b];
    }
    sp_free(number);
    return SP_OK;
}

sp_status sp_graph_incidence(sp_context *context, const sp_graph *graph, int **first, int **list)
{
    *first = sp_alloc((size_t)graph->node_count + 2, sizeof **first);
    *list = sp_alloc(2 * (size_t)graph->edge_count, sizeof **list);
    if (!*first || !*list) {
        sp_free(*first), sp_free(*list);
        *first = *list = NULL;
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", graph->edge_count);
    }
    int *start = *first + 1; /* shifted by one, so that filling leaves the first entries behind */
    for (int e = 0; e < graph->edge_count; e++)
        if (graph->edge[e].a >= 0) {
            start[graph->edge[e].a + 1]++;
            start[graph->edge[e].b + 1]++;
        }
    for (int n = 0; n < graph->node_count; n++) start[n + 1] += start[n];
    for (int e = 0; e < graph->edge_count; e++)
        if (graph->edge[e].a >= 0) {
            (*list)[start[graph->edge[e].a]++] = e;
            (*list)[start[graph->edge[e].b]++] = e;
        }
    return SP_OK;
}
