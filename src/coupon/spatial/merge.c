/* Draw joints together that are closer than a share of the strut, and joints beside a platen onto it. */
#include "spatial/space.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"
#include "network/near.h"

#define TIE                                                                                        \
    1e-6 /* of the reach: pairs as close as that are joined together, so that symmetry is kept */

double *sp_space_reach(const sp_space *space, double share)
{
    double *reach = sp_alloc((size_t)space->joint_count, sizeof *reach);
    if (!reach) return NULL;
    for (int n = 0; n < space->joint_count; n++) reach[n] = INFINITY;
    for (int s = 0; s < space->strut_count; s++)
        for (int k = 0; space->strut[s].joint[0] >= 0 && k < 2; k++) {
            int n = space->strut[s].joint[k];
            reach[n] = fmin(reach[n], share * sp_space_slimmest(&space->strut[s]));
        }
    for (int n = 0; n < space->joint_count; n++)
        if (isinf(reach[n])) reach[n] = 0;
    return reach;
}

/* Joints beside a platen lie on it. A side face has nothing to lie on. */
static int snap(sp_space *space, const double *reach)
{
    int count = 0;
    for (int n = 0; n < space->joint_count; n++) {
        sp_space_joint *joint = &space->joint[n];
        int face = joint->face;
        if (joint->at[1] < reach[n]) joint->at[1] = 0, joint->face |= SP_BOX_LOWER;
        if (joint->at[1] > space->size[1] - reach[n])
            joint->at[1] = space->size[1], joint->face |= SP_BOX_UPPER;
        count += face != joint->face;
    }
    return count;
}

/* What happens to the pairs of joints that are found: first all are measured, then the shortest are joined. */
typedef struct merger {
    sp_space *space;
    const double *reach;
    double *shortest;
    int *parent;
    int joins, united; /* joins 0: measure */
    double most;       /* pairs that reach farther are found with others */
} merger;

static void visit_near(void *user, int a, int b)
{
    merger *m = user;
    const double near = fmin(m->reach[a], m->reach[b]);
    if (near > m->most) return;
    const double length = sp_space_distance(m->space->joint[a].at, m->space->joint[b].at);
    if (length >= near) return;
    const sp_pair pair = {a, b, length, TIE * near};
    if (m->joins)
        m->united += sp_pair_unite(&pair, m->shortest, m->parent);
    else
        sp_pair_measure(&pair, m->shortest);
}

/* Joints from the farthest reach down, half of it at a time: those of thin struts are not sought as far as a thick one
 * reaches. */
static sp_status take_pairs(sp_context *context, merger *m)
{
    const sp_space *space = m->space;
    double most = 0, least = INFINITY;
    sp_status status = SP_OK;
    sp_near_point *point = sp_alloc((size_t)space->joint_count, sizeof *point);
    if (!point)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
    for (int n = 0; n < space->joint_count; n++) {
        most = fmax(most, m->reach[n]);
        if (m->reach[n] > 0) least = fmin(least, m->reach[n]);
    }
    for (m->most = most; status == SP_OK && m->most >= least; m->most *= 0.5) {
        int count = 0, here = 0;
        for (int n = 0; n < space->joint_count; n++) {
            if (!(m->reach[n] > 0.5 * m->most)) continue;
            const double *at = space->joint[n].at;
            point[count++] = (sp_near_point){{at[0], at[1], at[2]}, n};
            here += m->reach[n] <= m->most;
        }
        if (here)
            status =
                sp_near_each(context, point, count, m->most, &m->space->compared, visit_near, m);
    }
    sp_free(point);
    return status;
}

static int rank_of(const sp_space_joint *joint)
{
    int rank = 0;
    for (int k = 0; k < 3; k++) rank += (joint->face >> (2 * k) & 3) != 0;
    return rank;
}

/* Move each group to the mean of its highest rank (corner, edge, face, inside) and give it one number. */
static sp_status collapse(sp_context *context, sp_space *space, int *parent)
{
    int count = space->joint_count;
    double *sum = sp_alloc((size_t)count, 4 * sizeof *sum);
    int *rank = sp_alloc((size_t)count, sizeof *rank);
    sp_status status = SP_OK;
    if (!sum || !rank) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    for (int n = 0; n < count; n++) {
        int r = sp_group_of(parent, n), own = rank_of(&space->joint[n]);
        if (own > rank[r]) rank[r] = own;
    }
    for (int n = 0; n < count; n++) {
        double *total = sum + 4 * (size_t)sp_group_of(parent, n);
        if (rank_of(&space->joint[n]) != rank[sp_group_of(parent, n)]) continue;
        for (int k = 0; k < 3; k++) total[k] += space->joint[n].at[k];
        total[3] += 1;
    }
    for (int n = 0; n < count; n++)
        space->joint[sp_group_of(parent, n)].face |= space->joint[n].face;
    for (int n = 0; n < count; n++) {
        sp_space_joint *joint = &space->joint[n];
        if (sp_group_of(parent, n) != n) continue;
        for (int k = 0; k < 3; k++) {
            joint->at[k] = sum[4 * n + k] / sum[4 * n + 3];
            if (joint->face >> (2 * k) & 1) joint->at[k] = 0;
            if (joint->face >> (2 * k) & 2) joint->at[k] = space->size[k];
        }
    }
    for (int s = 0; s < space->strut_count; s++) {
        sp_space_strut *strut = &space->strut[s];
        if (strut->joint[0] < 0) continue;
        for (int k = 0; k < 2; k++) strut->joint[k] = sp_group_of(parent, strut->joint[k]);
        if (strut->joint[0] == strut->joint[1]) strut->joint[0] = -1;
    }
done:
    sp_free(sum);
    sp_free(rank);
    return status;
}

sp_status sp_space_merge(sp_context *context, sp_space *space, double share, int *changed)
{
    double *reach = sp_space_reach(space, share);
    merger m = {.space = space, .reach = reach};
    m.shortest = sp_alloc((size_t)space->joint_count, sizeof *m.shortest);
    m.parent = sp_alloc((size_t)space->joint_count, sizeof *m.parent);
    sp_status status = SP_OK;
    if (!reach || !m.shortest || !m.parent) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
        goto done;
    }
    *changed += snap(space, reach);
    for (int n = 0; n < space->joint_count; n++) m.parent[n] = n, m.shortest[n] = INFINITY;
    for (m.joins = 0; status == SP_OK && m.joins < 2; m.joins++) status = take_pairs(context, &m);
    if (status != SP_OK) goto done;
    *changed += m.united;
    if (m.united) status = collapse(context, space, m.parent);
    if (status == SP_OK) status = sp_space_compact(context, space);
done:
    sp_free(reach);
    sp_free(m.shortest);
    sp_free(m.parent);
    return status;
}
