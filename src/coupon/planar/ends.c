/* Make one joint of ends of planar struts that coincide. */
#include "planar/rules.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "graph/near.h"

/* The sweep direction is turned, so that joints of aligned patterns do not come at the same place
 * of the sweep. */
static const double sweep_turn = 0.4142135;

typedef struct sort_entry {
    double along, across;
    int joint;
} sort_entry;

static int compare_entry(const void *left, const void *right)
{
    const sort_entry *a = left, *b = right;
    return a->along < b->along ? -1 : a->along > b->along ? 1 : a->joint - b->joint;
}

/* Give joints at the same place one number: sweep over them and look back over the few that are
 * nearly as far along. The first of them keeps its place. */
static sp_status number_places(sp_context *context, sp_graph *graph, sort_entry *entry, int *number)
{
    const int count = graph->joint_count;
    const double same = 2 * graph->same;
    sp_status status = SP_OK;
    for (int n = 0; n < count; n++) {
        const double x = graph->joint[n].at[0], y = graph->joint[n].at[1];
        entry[n] = (sort_entry){x + sweep_turn * y, y - sweep_turn * x, n};
    }
    qsort(entry, (size_t)count, sizeof *entry, compare_entry);
    for (int i = 0; i < count && status == SP_OK; i++) {
        int j = i - 1;
        number[entry[i].joint] = entry[i].joint;
        for (; j >= 0 && entry[i].along - entry[j].along <= same; j--)
            if (fabs(entry[i].across - entry[j].across) <= same) {
                number[entry[i].joint] = number[entry[j].joint];
                break;
            }
        status = sp_network_compare(context, &graph->compared, i - j);
    }
    return status;
}

sp_status sp_planar_join_ends(sp_context *context, sp_graph *graph)
{
    const int count = graph->joint_count;
    sort_entry *entry = sp_alloc((size_t)count, sizeof *entry);
    int *number = sp_alloc((size_t)count, sizeof *number);
    sp_status status = SP_OK;
    if (!entry || !number)
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
    if (status == SP_OK) status = number_places(context, graph, entry, number);
    for (int s = 0; status == SP_OK && s < graph->strut_count; s++)
        for (int k = 0; k < 2; k++) graph->strut[s].joint[k] = number[graph->strut[s].joint[k]];
    sp_free(entry);
    sp_free(number);
    return status == SP_OK ? sp_graph_compact(context, graph) : status;
}
