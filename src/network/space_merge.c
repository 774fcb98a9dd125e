/* Draw joints together that are closer than a share of the strut, and joints beside a platen onto it. */
#include "network/space.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"

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

/* Sort along a slanted line, on which few joints of a lattice share a place, and look ahead. */
static sp_status find_near(sp_context *context, const sp_space *space, const double *reach,
                           sp_pairs *pairs)
{
    static const double along[3] = {0.7563, 0.5377, 0.3722}; /* shorter than 1: safe side */
    sp_status status = SP_OK;
    double farthest = 0;
    sp_sweep *entry = sp_alloc((size_t)space->joint_count, sizeof *entry);
    if (!entry)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
    for (int n = 0; n < space->joint_count; n++) {
        const double *at = space->joint[n].at;
        entry[n] = (sp_sweep){along[0] * at[0] + along[1] * at[1] + along[2] * at[2], n};
        farthest = fmax(farthest, reach[n]);
    }
    sp_sweep_sort(entry, space->joint_count);
    for (int i = 0; i < space->joint_count; i++)
        for (int j = i + 1; status == SP_OK && j < space->joint_count; j++) {
            int a = entry[i].joint, b = entry[j].joint;
            if (entry[j].x - entry[i].x > farthest) break;
            double length = sp_space_distance(space->joint[a].at, space->joint[b].at);
            double near = fmin(reach[a], reach[b]);
            if (length < near)
                status = sp_pairs_add(context, pairs, (sp_pair){a, b, length, TIE * near});
        }
    sp_free(entry);
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
    sp_pairs pairs = {0};
    double *reach = sp_space_reach(space, share);
    double *shortest = sp_alloc((size_t)space->joint_count, sizeof *shortest);
    int *parent = sp_alloc((size_t)space->joint_count, sizeof *parent);
    sp_status status = SP_OK;
    int united = 0;
    if (!reach || !shortest || !parent) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
        goto done;
    }
    *changed += snap(space, reach);
    status = find_near(context, space, reach, &pairs);
    if (status != SP_OK) goto done;
    united = sp_pairs_unite(&pairs, space->joint_count, shortest, parent);
    *changed += united;
    if (united) status = collapse(context, space, parent);
    if (status == SP_OK) status = sp_space_compact(context, space);
done:
    sp_free(pairs.item);
    sp_free(reach);
    sp_free(shortest);
    sp_free(parent);
    return status;
}
