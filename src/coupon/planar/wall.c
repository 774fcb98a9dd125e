/* The joints on the rectangle in their order around it. */
#include "network/graph.h"

#include <stdlib.h>

#include "base/alloc.h"

typedef struct around_entry {
    double along; /* way around the rectangle from its lower left corner [mm] */
    int node;
} around_entry;

static int compare_along(const void *left, const void *right)
{
    const around_entry *a = left, *b = right;
    return a->along < b->along ? -1 : a->along > b->along ? 1 : a->node - b->node;
}

static double way_around(const sp_graph *graph, const sp_node *node)
{
    double width = graph->high[0] - graph->low[0], height = graph->high[1] - graph->low[1];
    double x = node->x - graph->low[0], y = node->y - graph->low[1];
    if (node->side & SP_SIDE_LOWER) return x;
    if (node->side & SP_SIDE_RIGHT) return width + y;
    if (node->side & SP_SIDE_UPPER) return 2 * width + height - x;
    return 2 * (width + height) - y;
}

sp_status sp_graph_around(sp_context *context, const sp_graph *graph, int **around, int *count)
{
    *count = 0;
    *around = sp_alloc((size_t)graph->node_count, sizeof **around);
    around_entry *entry = sp_alloc((size_t)graph->node_count, sizeof *entry);
    if (!*around || !entry) {
        sp_free(*around), sp_free(entry);
        *around = NULL;
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
    }
    for (int n = 0; n < graph->node_count; n++)
        if (graph->node[n].side)
            entry[(*count)++] = (around_entry){way_around(graph, &graph->node[n]), n};
    qsort(entry, (size_t)*count, sizeof *entry, compare_along);
    for (int i = 0; i < *count; i++) (*around)[i] = entry[i].node;
    sp_free(entry);
    return SP_OK;
}
