/* Arrays of the graph, see graph.h. */
#include "graph/graph.h"

#include <math.h>

#include "base/alloc.h"

static const int joints_max = 16000000;
static const double same_length = 1e-6; /* of a strut's thickness: shorter segments are dropped */

void sp_graph_free(sp_graph *graph)
{
    sp_free(graph->joint);
    sp_free(graph->strut);
    *graph = (sp_graph){0};
}

sp_status sp_graph_add_joint(sp_context *context, sp_graph *graph, const double at[3])
{
    if (graph->joint_count >= joints_max)
        return sp_fail(context, SP_BAD_NETWORK,
                       "network: received more than %d joints; valid: at most that many",
                       joints_max);
    sp_joint *grown =
        sp_grow(graph->joint, graph->joint_count, &graph->joint_capacity, 256, sizeof *grown);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count + 1);
    graph->joint = grown;
    sp_joint *joint = &graph->joint[graph->joint_count++];
    *joint = (sp_joint){.origin = -1};
    for (int k = 0; k < graph->rules->dimension; k++) {
        joint->at[k] = at[k];
        if (fabs(at[k] - graph->low[k]) <= graph->same)
            joint->at[k] = graph->low[k], joint->side |= 1 << (2 * k);
        else if (fabs(at[k] - graph->high[k]) <= graph->same)
            joint->at[k] = graph->high[k], joint->side |= 2 << (2 * k);
    }
    return SP_OK;
}

sp_status sp_graph_add_strut(sp_context *context, sp_graph *graph, int a, int b,
                             const sp_strut *like)
{
    sp_strut *grown =
        sp_grow(graph->strut, graph->strut_count, &graph->strut_capacity, 256, sizeof *grown);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", graph->strut_count + 1);
    graph->strut = grown;
    sp_strut *strut = &graph->strut[graph->strut_count++];
    *strut = *like;
    strut->joint[0] = a, strut->joint[1] = b;
    return SP_OK;
}

/* Find the part of the segment inside the box as parameters t0 < t1 in [0, 1] (Liang & Barsky
 * 1984); 0 when no part is. */
static int clip(const sp_graph *graph, const double a[3], const double b[3], double t[2])
{
    const double same = graph->same;
    t[0] = 0, t[1] = 1;
    for (int k = 0; k < graph->rules->dimension; k++) {
        const double d = b[k] - a[k], low = graph->low[k], high = graph->high[k];
        if (fabs(d) <= same) { /* parallel to the side: all of the segment is inside, or nothing */
            if (fmin(a[k], b[k]) < low - same || fmax(a[k], b[k]) > high + same) return 0;
            continue;
        }
        const double near = (low - a[k]) / d, far = (high - a[k]) / d;
        t[0] = fmax(t[0], fmin(near, far));
        t[1] = fmin(t[1], fmax(near, far));
    }
    return t[1] > t[0];
}

sp_status sp_graph_add_clipped(sp_context *context, sp_graph *graph, const double a[3],
                               const double b[3], const sp_strut *like)
{
    double t[2];
    if (!clip(graph, a, b, t)) return SP_OK;
    if ((t[1] - t[0]) * graph->rules->distance(a, b) <= same_length * like->thickness) return SP_OK;
    for (int n = 0; n < 2; n++) {
        double at[3];
        for (int k = 0; k < 3; k++)
            at[k] = fmin(graph->high[k], fmax(graph->low[k], a[k] + t[n] * (b[k] - a[k])));
        sp_status status = sp_graph_add_joint(context, graph, at);
        if (status != SP_OK) return status;
    }
    return sp_graph_add_strut(context, graph, graph->joint_count - 2, graph->joint_count - 1, like);
}

double sp_graph_distance(const sp_graph *graph, int a, int b)
{
    return graph->rules->distance(graph->joint[a].at, graph->joint[b].at);
}

double sp_graph_length(const sp_graph *graph, int strut)
{
    const int *joint = graph->strut[strut].joint;
    return sp_graph_distance(graph, joint[0], joint[1]);
}

double sp_graph_slimmest(const sp_strut *strut)
{
    return strut->height > 0 ? fmin(strut->thickness, strut->height) : strut->thickness;
}

int sp_graph_role(const sp_graph *graph, int strut)
{
    const int *joint = graph->strut[strut].joint;
    const int both = graph->joint[joint[0]].side & graph->joint[joint[1]].side;
    const int is_plate = (graph->plates || graph->standing) && (both & SP_SIDE_PLATENS);
    return is_plate ? SP_ROLE_WALL : graph->strut[strut].role;
}

int sp_graph_axes(const sp_graph *graph, int joint)
{
    int axes = 0;
    for (int k = 0; k < 3; k++) axes += (graph->joint[joint].side >> (2 * k) & 3) != 0;
    return axes;
}

sp_status sp_graph_compact(sp_context *context, sp_graph *graph)
{
    int *number = sp_alloc((size_t)graph->joint_count, sizeof *number);
    if (!number)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
    int struts = 0, joints = 0;
    for (int s = 0; s < graph->strut_count; s++)
        if (graph->strut[s].joint[0] >= 0) {
            graph->strut[struts++] = graph->strut[s];
            number[graph->strut[s].joint[0]] = number[graph->strut[s].joint[1]] = 1;
        }
    for (int n = 0; n < graph->joint_count; n++)
        if (number[n] || (graph->wall > 0 && sp_graph_axes(graph, n) == 2)) {
            graph->joint[joints] = graph->joint[n];
            number[n] = joints++;
        }
    graph->strut_count = struts;
    graph->joint_count = joints;
    for (int s = 0; s < struts; s++)
        for (int k = 0; k < 2; k++) graph->strut[s].joint[k] = number[graph->strut[s].joint[k]];
    sp_free(number);
    return SP_OK;
}

sp_status sp_graph_incidence(sp_context *context, const sp_graph *graph, int **first, int **list)
{
    *first = sp_alloc((size_t)graph->joint_count + 2, sizeof **first);
    *list = sp_alloc(2 * (size_t)graph->strut_count, sizeof **list);
    if (!*first || !*list) {
        sp_free(*first), sp_free(*list);
        *first = *list = NULL;
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", graph->strut_count);
    }
    /* One place on: filling moves a start to where the list of the next joint begins. */
    int *start = *first + 1;
    for (int s = 0; s < graph->strut_count; s++)
        for (int k = 0; graph->strut[s].joint[0] >= 0 && k < 2; k++)
            start[graph->strut[s].joint[k] + 1]++;
    for (int n = 0; n < graph->joint_count; n++) start[n + 1] += start[n];
    for (int s = 0; s < graph->strut_count; s++)
        for (int k = 0; graph->strut[s].joint[0] >= 0 && k < 2; k++)
            (*list)[start[graph->strut[s].joint[k]]++] = s;
    return SP_OK;
}
