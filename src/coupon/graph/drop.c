/* Drop what must not stay in a graph: doubles, struts inside a wall or platen, stubs, loose ends,
 * joints in straight runs, and pieces that do not reach from platen to platen. */
#include "graph/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"

static const double nearly_one = 1 - 1e-9; /* factor, so that rounding makes no stub */
static const double in_line_sine = 1e-4; /* of the turn below which two struts are a straight run */

static int compare_ends(const void *left, const void *right)
{
    const sp_strut *p = left, *q = right;
    int p_first = p->joint[0] > p->joint[1], q_first = q->joint[0] > q->joint[1];
    if (p->joint[p_first] != q->joint[q_first])
        return p->joint[p_first] < q->joint[q_first] ? -1 : 1;
    if (p->joint[!p_first] != q->joint[!q_first])
        return p->joint[!p_first] < q->joint[!q_first] ? -1 : 1;
    if (p->role != q->role) return p->role < q->role ? -1 : 1; /* the strut of the infill stays */
    return p->origin < q->origin ? -1 : p->origin > q->origin;
}

static int drop_doubles(sp_graph *graph)
{
    int count = 0;
    if (graph->strut_count == 0) return 0;
    qsort(graph->strut, (size_t)graph->strut_count, sizeof *graph->strut, compare_ends);
    for (int s = graph->strut_count - 1; s > 0; s--) {
        const int *p = graph->strut[s].joint, *q = graph->strut[s - 1].joint;
        if ((p[0] == q[0] && p[1] == q[1]) || (p[0] == q[1] && p[1] == q[0])) {
            graph->strut[s].joint[0] = -1;
            count++;
        }
    }
    return count;
}

/* A strut with a free end carries nothing, unless something holds that end. */
static sp_status drop_loose_ends(sp_context *context, sp_graph *graph, int *changed)
{
    int *first, *list;
    sp_status status = sp_graph_incidence(context, graph, &first, &list);
    if (status != SP_OK) return status;
    int *degree = sp_alloc((size_t)graph->joint_count, sizeof *degree);
    if (!degree) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
        goto done;
    }
    for (int n = 0; n < graph->joint_count; n++) degree[n] = first[n + 1] - first[n];
    for (int start = 0; start < graph->joint_count; start++) {
        int end = start;
        while (degree[end] == 1) { /* follow the chain as long as its end is loose */
            int s = -1;
            for (int k = first[end]; k < first[end + 1]; k++)
                if (graph->strut[list[k]].joint[0] >= 0) s = list[k];
            sp_strut *strut = &graph->strut[s];
            int other = strut->joint[strut->joint[0] == end];
            if (graph->rules->may_stay(graph, s, end, other, degree[other])) break;
            if (sp_graph_length(graph, s) < nearly_one * sp_graph_slimmest(strut))
                graph->dropped_stubs++;
            else
                graph->dropped_pieces++;
            strut->joint[0] = -1;
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

/* Dissolve the joint between two struts that are a straight run: they become one strut. */
static int in_line(const sp_graph *graph, int n, const sp_strut *p, const sp_strut *q)
{
    const double *middle = graph->joint[n].at;
    int m = p->joint[p->joint[0] == n], k = q->joint[q->joint[0] == n];
    if (m == k || p->thickness != q->thickness || p->height != q->height || p->role != q->role)
        return 0;
    double u[3], v[3], dot = 0, sine = 0, uu = 0, vv = 0;
    for (int i = 0; i < 3; i++) {
        u[i] = graph->joint[m].at[i] - middle[i];
        v[i] = graph->joint[k].at[i] - middle[i];
        dot += u[i] * v[i], uu += u[i] * u[i], vv += v[i] * v[i];
    }
    for (int i = 0; i < 3; i++) {
        double c = u[i] * v[(i + 1) % 3] - u[(i + 1) % 3] * v[i];
        sine += c * c;
    }
    return dot < 0 && sine <= in_line_sine * in_line_sine * uu * vv;
}

static sp_status dissolve(sp_context *context, sp_graph *graph, int *changed)
{
    const int held = graph->wall > 0 ? SP_SIDE_AROUND : SP_SIDE_PLATENS;
    int *first, *list;
    sp_status status = sp_graph_incidence(context, graph, &first, &list);
    if (status != SP_OK) return status;
    for (int n = 0; n < graph->joint_count; n++) {
        if (first[n + 1] - first[n] != 2 || (graph->joint[n].side & held)) continue;
        int p = list[first[n]], q = list[first[n] + 1];
        if (p == q || !in_line(graph, n, &graph->strut[p], &graph->strut[q])) continue;
        /* p takes over the far end of q, whose list still names q: let it name p. */
        int far = graph->strut[q].joint[graph->strut[q].joint[0] == n];
        graph->strut[p].joint[graph->strut[p].joint[0] != n] = far;
        for (int k = first[far]; k < first[far + 1]; k++)
            if (list[k] == q) list[k] = p;
        if (graph->strut[q].origin < graph->strut[p].origin)
            graph->strut[p].origin = graph->strut[q].origin;
        graph->strut[q].joint[0] = -1;
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
    if (graph->rules->drop_on_sides) *changed += graph->rules->drop_on_sides(graph);
    status = drop_loose_ends(context, graph, changed);
    if (status == SP_OK) status = dissolve(context, graph, changed);
    return status == SP_OK ? sp_graph_compact(context, graph) : status;
}

sp_status sp_graph_keep_spanning(sp_context *context, sp_graph *graph, int *spans)
{
    int count = graph->joint_count;
    if (graph->standing || graph->stacked) {
        *spans = graph->strut_count > 0;
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
    int wall = -1; /* The wall connects all joints on it, and it reaches both platens. */
    for (int n = 0; n < count; n++) parent[n] = n;
    for (int n = 0; graph->wall > 0 && n < count; n++)
        if (graph->joint[n].side) {
            if (wall >= 0)
                parent[n] = wall;
            else
                wall = n;
        }
    for (int s = 0; s < graph->strut_count; s++)
        parent[sp_group_of(parent, graph->strut[s].joint[0])] =
            sp_group_of(parent, graph->strut[s].joint[1]);
    for (int n = 0; n < count; n++) side[sp_group_of(parent, n)] |= graph->joint[n].side;
    for (int s = 0; s < graph->strut_count; s++)
        if (sp_piece_spans(side[sp_group_of(parent, graph->strut[s].joint[0])], SP_SIDE_PLATENS,
                           &graph->left_out)) {
            *spans = 1;
        } else {
            graph->strut[s].joint[0] = -1;
            graph->dropped_pieces++;
        }
    status = sp_graph_compact(context, graph);
done:
    sp_free(parent);
    sp_free(side);
    return status;
}
