/* List the joints on the sides of a planar graph in their order around its box. */
#include "graph/graph.h"

#include <stdlib.h>

#include "base/alloc.h"

typedef struct around_entry {
    double along; /* way around the box from its lower left corner [mm] */
    int joint;
} around_entry;

static int compare_along(const void *left, const void *right)
{
    const around_entry *a = left, *b = right;
    return a->along < b->along ? -1 : a->along > b->along ? 1 : a->joint - b->joint;
}

static double way_around(const sp_graph *graph, const sp_joint *joint)
{
    double width = graph->high[0] - graph->low[0], height = graph->high[1] - graph->low[1];
    double x = joint->at[0] - graph->low[0], y = joint->at[1] - graph->low[1];
    if (joint->side & SP_SIDE_LOWER) return x;
    if (joint->side & SP_SIDE_RIGHT) return width + y;
    if (joint->side & SP_SIDE_UPPER) return 2 * width + height - x;
    return 2 * (width + height) - y;
}

sp_status sp_graph_around(sp_context *context, const sp_graph *graph, int **around, int *count)
{
    *count = 0;
    *around = sp_alloc((size_t)graph->joint_count, sizeof **around);
    around_entry *entry = sp_alloc((size_t)graph->joint_count, sizeof *entry);
    sp_status status = SP_OK;
    if (!*around || !entry) {
        sp_free(*around);
        *around = NULL;
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
        goto done;
    }
    for (int n = 0; n < graph->joint_count; n++)
        if (graph->joint[n].side)
            entry[(*count)++] = (around_entry){way_around(graph, &graph->joint[n]), n};
    qsort(entry, (size_t)*count, sizeof *entry, compare_along);
    for (int i = 0; i < *count; i++) (*around)[i] = entry[i].joint;
done:
    sp_free(entry);
    return status;
}
