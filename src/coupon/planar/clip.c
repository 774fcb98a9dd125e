/* Pieces into the graph: placed, clipped at the rectangle (Liang & Barsky 1984), ends that coincide joined. */
#include "network/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/near.h"

#define SAME 1e-6 /* ends closer than this share of a bead are one joint */

/* Part of the segment inside the rectangle as parameters t0 < t1 in [0, 1]; 0 when there is none. */
static int clip(const sp_graph *graph, const double a[2], const double b[2], double t[2])
{
    t[0] = 0, t[1] = 1;
    for (int k = 0; k < 2; k++) {
        double d = b[k] - a[k];
        if (d == 0) {
            if (a[k] < graph->low[k] || a[k] > graph->high[k]) return 0;
            continue;
        }
        double near = (graph->low[k] - a[k]) / d, far = (graph->high[k] - a[k]) / d;
        t[0] = fmax(t[0], fmin(near, far));
        t[1] = fmin(t[1], fmax(near, far));
    }
    return t[1] > t[0];
}

/* Sides a point lies on; puts it exactly there. */
static int snap_to_sides(const sp_graph *graph, double point[2])
{
    double same = SAME * graph->bead;
    int side = 0;
    for (int k = 0; k < 2; k++) {
        if (fabs(point[k] - graph->low[k]) <= same) {
            point[k] = graph->low[k];
            side |= k ? SP_SIDE_LOWER : SP_SIDE_LEFT;
        } else if (fabs(point[k] - graph->high[k]) <= same) {
            point[k] = graph->high[k];
            side |= k ? SP_SIDE_UPPER : SP_SIDE_RIGHT;
        }
    }
    return side;
}

static sp_status add_clipped(sp_context *context, sp_graph *graph, const double a[2],
                             const double b[2])
{
    double t[2];
    if (!clip(graph, a, b, t)) return SP_OK;
    if ((t[1] - t[0]) * hypot(b[0] - a[0], b[1] - a[1]) <= SAME * graph->bead) return SP_OK;
    for (int k = 0; k < 2; k++) {
        double point[2] = {a[0] + t[k] * (b[0] - a[0]), a[1] + t[k] * (b[1] - a[1])};
        int side = snap_to_sides(graph, point);
        sp_status status = sp_graph_add_node(context, graph, point[0], point[1], side);
        if (status != SP_OK) return status;
    }
    return sp_graph_add_edge(context, graph, graph->node_count - 2, graph->node_count - 1, -1);
}

typedef struct sort_entry {
    double x, y;
    int node;
} sort_entry;

static int compare_entry(const void *left, const void *right)
{
    const sort_entry *a = left, *b = right;
    return a->x < b->x ? -1 : a->x > b->x ? 1 : a->node - b->node;
}

/* Give nodes at the same place one number: sweep over x, looking back over the few with x within `same`. */
static sp_status join_ends(sp_context *context, sp_graph *graph)
{
    sp_status status = SP_OK;
    int count = graph->node_count;
    double same = SAME * graph->bead;
    sort_entry *entry = sp_alloc((size_t)count, sizeof *entry);
    int *number = sp_alloc((size_t)count, sizeof *number);
    if (!entry || !number) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    /* A turned sweep direction keeps the columns of aligned patterns from sharing one x. */
    for (int n = 0; n < count; n++) {
        const sp_node *node = &graph->node[n];
        entry[n] = (sort_entry){node->x + 0.4142135 * node->y, node->y - 0.4142135 * node->x, n};
    }
    qsort(entry, (size_t)count, sizeof *entry, compare_entry);
    for (int i = 0; i < count && status == SP_OK; i++) {
        int j = i - 1;
        number[entry[i].node] = entry[i].node;
        for (; j >= 0 && entry[i].x - entry[j].x <= 2 * same; j--)
            if (fabs(entry[i].y - entry[j].y) <= 2 * same) {
                number[entry[i].node] = number[entry[j].node];
                break;
            }
        status = sp_network_compare(context, &graph->compared, i - j);
    }
    if (status != SP_OK) goto done;
    for (int e = 0; e < graph->edge_count; e++) {
        graph->edge[e].a = number[graph->edge[e].a];
        graph->edge[e].b = number[graph->edge[e].b];
    }
done:
    sp_free(entry);
    sp_free(number);
    return status;
}

sp_status sp_graph_add_pieces(sp_context *context, sp_graph *graph, const sp_pieces *pieces,
                              const sp_placing *placing)
{
    double c = placing->scale * placing->turn[0], s = placing->scale * placing->turn[1];
    for (int i = 0; i < pieces->count; i++) {
        const double *end = pieces->end + 4 * (size_t)i;
        double a[2] = {c * end[0] - s * end[1] + placing->shift[0],
                       s * end[0] + c * end[1] + placing->shift[1]};
        double b[2] = {c * end[2] - s * end[3] + placing->shift[0],
                       s * end[2] + c * end[3] + placing->shift[1]};
        sp_status status = add_clipped(context, graph, a, b);
        if (status != SP_OK) return status;
    }
    sp_status status = join_ends(context, graph);
    return status == SP_OK ? sp_graph_compact(context, graph) : status;
}
