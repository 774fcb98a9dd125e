/* Draw joints together that are closer than a share of the strut, and joints beside a platen onto it. */
#include "network/space.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"

#define TIE                                                                                        \
    1e-6 /* of the reach: pairs as close as that are joined together, so that symmetry is kept */

typedef struct pair {
    int a, b;
    double length;
} pair;

typedef struct pair_list {
    int count, capacity;
    pair *item;
} pair_list;

static sp_status pair_add(sp_context *context, pair_list *pairs, int a, int b, double length)
{
    if (pairs->count == pairs->capacity) {
        int capacity = pairs->capacity ? 2 * pairs->capacity : 256;
        pair *item = sp_resize(pairs->item, (size_t)capacity, sizeof *item);
        if (!item) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", capacity);
        pairs->item = item;
        pairs->capacity = capacity;
    }
    pairs->item[pairs->count++] = (pair){a, b, length};
    return SP_OK;
}

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

typedef struct sweep_entry {
    double x;
    int joint;
} sweep_entry;

static int compare_sweep(const void *left, const void *right)
{
    const sweep_entry *a = left, *b = right;
    return a->x < b->x ? -1 : a->x > b->x ? 1 : a->joint - b->joint;
}

/* Sort along a slanted line, on which few joints of a lattice share a place, and look ahead. */
static sp_status find_near(sp_context *context, const sp_space *space, const double *reach,
                           pair_list *pairs)
{
    static const double along[3] = {0.7563, 0.5377, 0.3722}; /* shorter than 1: safe side */
    sp_status status = SP_OK;
    double farthest = 0;
    sweep_entry *entry = sp_alloc((size_t)space->joint_count, sizeof *entry);
    if (!entry)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
    for (int n = 0; n < space->joint_count; n++) {
        const double *at = space->joint[n].at;
        entry[n] = (sweep_entry){along[0] * at[0] + along[1] * at[1] + along[2] * at[2], n};
        farthest = fmax(farthest, reach[n]);
    }
    qsort(entry, (size_t)space->joint_count, sizeof *entry, compare_sweep);
    for (int i = 0; i < space->joint_count; i++)
        for (int j = i + 1; status == SP_OK && j < space->joint_count; j++) {
            int a = entry[i].joint, b = entry[j].joint;
            if (entry[j].x - entry[i].x > farthest) break;
            double length = sp_space_distance(space->joint[a].at, space->joint[b].at);
            if (length < fmin(reach[a], reach[b])) status = pair_add(context, pairs, a, b, length);
        }
    sp_free(entry);
    return status;
}

static int root(int *parent, int n)
{
    while (parent[n] != n) n = parent[n] = parent[parent[n]];
    return n;
}

/* Join each pair that is the shortest at both its joints. The smaller number leads. */
static int unite(const pair_list *pairs, const double *reach, double *shortest, int *parent)
{
    int count = 0;
    for (int i = 0; i < pairs->count; i++) {
        const pair *p = &pairs->item[i];
        shortest[p->a] = fmin(shortest[p->a], p->length);
        shortest[p->b] = fmin(shortest[p->b], p->length);
    }
    for (int i = 0; i < pairs->count; i++) {
        const pair *p = &pairs->item[i];
        double slack = p->length - TIE * fmin(reach[p->a], reach[p->b]);
        if (slack > shortest[p->a] || slack > shortest[p->b]) continue;
        int a = root(parent, p->a), b = root(parent, p->b);
        count += a != b;
        parent[a > b ? a : b] = a > b ? b : a;
    }
    return count;
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
        int r = root(parent, n), own = rank_of(&space->joint[n]);
        if (own > rank[r]) rank[r] = own;
    }
    for (int n = 0; n < count; n++) {
        double *total = sum + 4 * (size_t)root(parent, n);
        if (rank_of(&space->joint[n]) != rank[root(parent, n)]) continue;
        for (int k = 0; k < 3; k++) total[k] += space->joint[n].at[k];
        total[3] += 1;
    }
    for (int n = 0; n < count; n++) space->joint[root(parent, n)].face |= space->joint[n].face;
    for (int n = 0; n < count; n++) {
        sp_space_joint *joint = &space->joint[n];
        if (root(parent, n) != n) continue;
        for (int k = 0; k < 3; k++) {
            joint->at[k] = sum[4 * n + k] / sum[4 * n + 3];
            if (joint->face >> (2 * k) & 1) joint->at[k] = 0;
            if (joint->face >> (2 * k) & 2) joint->at[k] = space->size[k];
        }
    }
    for (int s = 0; s < space->strut_count; s++) {
        sp_space_strut *strut = &space->strut[s];
        if (strut->joint[0] < 0) continue;
        for (int k = 0; k < 2; k++) strut->joint[k] = root(parent, strut->joint[k]);
        if (strut->joint[0] == strut->joint[1]) strut->joint[0] = -1;
    }
done:
    sp_free(sum);
    sp_free(rank);
    return status;
}

sp_status sp_space_merge(sp_context *context, sp_space *space, double share, int *changed)
{
    pair_list pairs = {0};
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
    for (int n = 0; n < space->joint_count; n++) parent[n] = n, shortest[n] = INFINITY;
    united = unite(&pairs, reach, shortest, parent);
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
