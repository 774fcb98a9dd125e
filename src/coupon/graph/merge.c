/* Draw together joints that are closer than a share of the strut and the ends of struts that would
 * be too short, and move joints beside a platen or a wall onto it. */
#include "graph/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "graph/near.h"

/* Pairs of joints whose distances differ by less than this share of the reach are joined in one go,
 * so that a symmetric drawing stays symmetric. */
static const double tie = 1e-6;

double *sp_graph_reach(const sp_graph *graph, double share)
{
    double *reach = sp_alloc((size_t)graph->joint_count, sizeof *reach);
    if (!reach) return NULL;
    for (int n = 0; n < graph->joint_count; n++) reach[n] = INFINITY;
    for (int s = 0; s < graph->strut_count; s++)
        for (int k = 0; graph->strut[s].joint[0] >= 0 && k < 2; k++) {
            int n = graph->strut[s].joint[k];
            reach[n] = fmin(reach[n], share * sp_graph_slimmest(&graph->strut[s]));
        }
    for (int n = 0; n < graph->joint_count; n++) /* the corners of a wall may have no strut */
        if (isinf(reach[n])) reach[n] = share * graph->bead;
    return reach;
}

/* Move joints beside a platen or a wall onto it. A free side has nothing to lie on. */
static int snap(sp_graph *graph, const double *reach)
{
    int count = 0;
    for (int n = 0; n < graph->joint_count; n++) {
        sp_joint *joint = &graph->joint[n];
        const int side = joint->side;
        for (int k = graph->wall > 0 ? 0 : 1; k < 2; k++) {
            if (joint->at[k] < graph->low[k] + reach[n])
                joint->at[k] = graph->low[k], joint->side |= 1 << (2 * k);
            if (joint->at[k] > graph->high[k] - reach[n])
                joint->at[k] = graph->high[k], joint->side |= 2 << (2 * k);
        }
        count += side != joint->side;
    }
    return count;
}

/* What is done with the pairs of joints that are found: first all are measured, then the shortest
 * are joined. */
typedef struct merger {
    sp_graph *graph;
    const double *reach;
    double *shortest;
    int *parent;
    int joins, united; /* 0: measure the pairs only */
    double most;       /* pairs that are farther apart are found in another round */
} merger;

static void take_pair(merger *m, int a, int b, double limit)
{
    const sp_pair pair = {a, b, sp_graph_distance(m->graph, a, b), tie * limit};
    if (a == b || pair.length >= limit) return;
    if (m->joins)
        m->united += sp_pair_unite(&pair, m->shortest, m->parent);
    else
        sp_pair_measure(&pair, m->shortest);
}

static void visit_near(void *user, int a, int b)
{
    merger *m = user;
    const double near = fmin(m->reach[a], m->reach[b]);
    if (near <= m->most) take_pair(m, a, b, near);
}

/* Find the pairs of joints in rounds, each with half the reach of the one before: thin struts need
 * not be sought as far as a thick one reaches. */
static sp_status take_near(sp_context *context, merger *m)
{
    const sp_graph *graph = m->graph;
    double most = 0, least = INFINITY;
    sp_status status = SP_OK;
    sp_near_point *point = sp_alloc((size_t)graph->joint_count, sizeof *point);
    if (!point)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
    for (int n = 0; n < graph->joint_count; n++) {
        most = fmax(most, m->reach[n]);
        if (m->reach[n] > 0) least = fmin(least, m->reach[n]);
    }
    for (m->most = most; status == SP_OK && m->most >= least; m->most *= 0.5) {
        int count = 0, here = 0;
        for (int n = 0; n < graph->joint_count; n++) {
            if (!(m->reach[n] > 0.5 * m->most)) continue;
            const double *at = graph->joint[n].at;
            point[count++] = (sp_near_point){{at[0], at[1], at[2]}, n};
            here += m->reach[n] <= m->most;
        }
        if (here)
            status =
                sp_near_each(context, point, count, m->most, &m->graph->compared, visit_near, m);
    }
    sp_free(point);
    return status;
}

/* Join the ends of short struts, and neighbours along the wall around the whole box. */
static sp_status take_short(sp_context *context, merger *m, double share)
{
    const sp_graph *graph = m->graph;
    int *around = NULL, count = 0;
    for (int s = 0; s < graph->strut_count; s++) {
        const sp_strut *strut = &graph->strut[s];
        if (strut->joint[0] >= 0)
            take_pair(m, strut->joint[0], strut->joint[1], share * sp_graph_slimmest(strut));
    }
    if (!(graph->wall > 0)) return SP_OK;
    sp_status status = sp_graph_around(context, graph, &around, &count);
    for (int i = 0; status == SP_OK && i < count; i++)
        take_pair(m, around[i], around[(i + 1) % count], share * graph->bead);
    sp_free(around);
    return status;
}

/* Move each group to the mean of its members of the highest rank (corner, edge, side, inside), and
 * give it one number. */
static sp_status collapse(sp_context *context, sp_graph *graph, int *parent)
{
    int count = graph->joint_count;
    double *sum = sp_alloc((size_t)count, 4 * sizeof *sum);
    int *rank = sp_alloc((size_t)count, sizeof *rank);
    sp_status status = SP_OK;
    if (!sum || !rank) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    for (int n = 0; n < count; n++) {
        int r = sp_group_of(parent, n), own = sp_graph_axes(graph, n);
        if (own > rank[r]) rank[r] = own;
    }
    for (int n = 0; n < count; n++) {
        double *total = sum + 4 * (size_t)sp_group_of(parent, n);
        if (sp_graph_axes(graph, n) != rank[sp_group_of(parent, n)]) continue;
        for (int k = 0; k < 3; k++) total[k] += graph->joint[n].at[k];
        total[3] += 1;
    }
    for (int n = 0; n < count; n++)
        graph->joint[sp_group_of(parent, n)].side |= graph->joint[n].side;
    for (int n = 0; n < count; n++) {
        sp_joint *joint = &graph->joint[n];
        if (sp_group_of(parent, n) != n) {
            joint->side = 0; /* the group takes over its side, also where it was a corner */
            continue;
        }
        for (int k = 0; k < 3; k++) {
            joint->at[k] = sum[4 * n + k] / sum[4 * n + 3];
            if (joint->side >> (2 * k) & 1) joint->at[k] = graph->low[k];
            if (joint->side >> (2 * k) & 2) joint->at[k] = graph->high[k];
        }
    }
    for (int s = 0; s < graph->strut_count; s++) {
        sp_strut *strut = &graph->strut[s];
        if (strut->joint[0] < 0) continue;
        for (int k = 0; k < 2; k++) strut->joint[k] = sp_group_of(parent, strut->joint[k]);
        if (strut->joint[0] == strut->joint[1]) strut->joint[0] = -1;
    }
done:
    sp_free(sum);
    sp_free(rank);
    return status;
}

sp_status sp_graph_merge(sp_context *context, sp_graph *graph, double near, double shortest,
                         int *changed)
{
    double *reach = sp_graph_reach(graph, near);
    merger m = {.graph = graph, .reach = reach};
    m.shortest = sp_alloc((size_t)graph->joint_count, sizeof *m.shortest);
    m.parent = sp_alloc((size_t)graph->joint_count, sizeof *m.parent);
    sp_status status = SP_OK;
    if (!reach || !m.shortest || !m.parent) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
        goto done;
    }
    *changed += snap(graph, reach);
    for (int n = 0; n < graph->joint_count; n++) m.parent[n] = n, m.shortest[n] = INFINITY;
    for (m.joins = 0; status == SP_OK && m.joins < 2; m.joins++) {
        status = take_near(context, &m);
        if (status == SP_OK && shortest > 0) status = take_short(context, &m, shortest);
    }
    if (status != SP_OK) goto done;
    *changed += m.united;
    if (m.united) status = collapse(context, graph, m.parent);
    if (status == SP_OK) status = sp_graph_compact(context, graph);
done:
    sp_free(reach);
    sp_free(m.shortest);
    sp_free(m.parent);
    return status;
}
