/* What must not stay in a spatial network: doubles, loose ends, joints in straight runs, pieces that hang on nothing. */
#include "spatial/space.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"

#define IN_LINE 1e-4 /* sine of the turn below which a run is straight */

static int compare_ends(const void *left, const void *right)
{
    const sp_space_strut *p = left, *q = right;
    int p_first = p->joint[0] > p->joint[1], q_first = q->joint[0] > q->joint[1];
    if (p->joint[p_first] != q->joint[q_first])
        return p->joint[p_first] < q->joint[q_first] ? -1 : 1;
    if (p->joint[!p_first] != q->joint[!q_first])
        return p->joint[!p_first] < q->joint[!q_first] ? -1 : 1;
    if (p->role != q->role) return p->role < q->role ? -1 : 1; /* the infill stays */
    return p->origin < q->origin ? -1 : p->origin > q->origin;
}

static int drop_doubles(sp_space *space)
{
    int count = 0;
    if (space->strut_count == 0) return 0;
    qsort(space->strut, (size_t)space->strut_count, sizeof *space->strut, compare_ends);
    for (int s = space->strut_count - 1; s > 0; s--) {
        const int *p = space->strut[s].joint, *q = space->strut[s - 1].joint;
        if ((p[0] == q[0] && p[1] == q[1]) || (p[0] == q[1] && p[1] == q[0])) {
            space->strut[s].joint[0] = -1;
            count++;
        }
    }
    return count;
}

/* A platen holds the end of a strut that leaves it, and of a plate. What else lies in its face with a free end is cut off. */
static int is_held(const sp_space *space, const sp_space_strut *strut, int end, int other)
{
    int face = space->joint[end].face & SP_BOX_PLATENS;
    return face && (strut->role == SP_ROLE_WALL || !(face & space->joint[other].face));
}

/* A strut with a free end carries nothing, unless a platen holds that end. */
static sp_status drop_loose_ends(sp_context *context, sp_space *space, int *changed)
{
    int *first, *list;
    sp_status status = sp_space_incidence(context, space, &first, &list);
    if (status != SP_OK) return status;
    int *degree = sp_alloc((size_t)space->joint_count, sizeof *degree);
    if (!degree) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
        goto done;
    }
    for (int n = 0; n < space->joint_count; n++) degree[n] = first[n + 1] - first[n];
    for (int start = 0; start < space->joint_count; start++) {
        int end = start;
        while (degree[end] == 1) {
            int s = -1; /* follow the chain as long as it hangs loose */
            for (int k = first[end]; k < first[end + 1]; k++)
                if (space->strut[list[k]].joint[0] >= 0) s = list[k];
            sp_space_strut *strut = &space->strut[s];
            int other = strut->joint[0] == end ? strut->joint[1] : strut->joint[0];
            if (is_held(space, strut, end, other)) break;
            if (sp_space_length(space, s) < sp_space_slimmest(strut))
                space->dropped_stubs++;
            else
                space->dropped_pieces++;
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

/* The joint between the two struts is in a straight run of one strut. */
static int in_line(const sp_space *space, int n, const sp_space_strut *p, const sp_space_strut *q)
{
    const double *middle = space->joint[n].at;
    int m = p->joint[p->joint[0] == n], k = q->joint[q->joint[0] == n];
    if (m == k || p->thickness != q->thickness || p->height != q->height || p->role != q->role)
        return 0;
    double u[3], v[3], dot = 0, sine = 0, uu = 0, vv = 0;
    for (int i = 0; i < 3; i++) {
        u[i] = space->joint[m].at[i] - middle[i];
        v[i] = space->joint[k].at[i] - middle[i];
        dot += u[i] * v[i], uu += u[i] * u[i], vv += v[i] * v[i];
    }
    for (int i = 0; i < 3; i++) {
        double c = u[i] * v[(i + 1) % 3] - u[(i + 1) % 3] * v[i];
        sine += c * c;
    }
    return dot < 0 && sine <= IN_LINE * IN_LINE * uu * vv;
}

static sp_status dissolve(sp_context *context, sp_space *space, int *changed)
{
    int *first, *list;
    sp_status status = sp_space_incidence(context, space, &first, &list);
    if (status != SP_OK) return status;
    for (int n = 0; n < space->joint_count; n++) {
        if (first[n + 1] - first[n] != 2 || (space->joint[n].face & SP_BOX_PLATENS)) continue;
        int p = list[first[n]], q = list[first[n] + 1];
        if (p == q || !in_line(space, n, &space->strut[p], &space->strut[q])) continue;
        /* p takes over the far end of q; the far end's list keeps pointing at q, so point it at p */
        int far = space->strut[q].joint[space->strut[q].joint[0] == n];
        space->strut[p].joint[space->strut[p].joint[0] != n] = far;
        for (int k = first[far]; k < first[far + 1]; k++)
            if (list[k] == q) list[k] = p;
        if (space->strut[q].origin < space->strut[p].origin)
            space->strut[p].origin = space->strut[q].origin;
        space->strut[q].joint[0] = -1;
        (*changed)++;
    }
    sp_free(first);
    sp_free(list);
    return SP_OK;
}

sp_status sp_space_drop(sp_context *context, sp_space *space, int *changed)
{
    sp_status status = sp_space_compact(context, space);
    if (status != SP_OK) return status;
    *changed += drop_doubles(space);
    status = drop_loose_ends(context, space, changed);
    if (status == SP_OK) status = sp_space_compact(context, space);
    if (status == SP_OK) status = dissolve(context, space, changed);
    return status == SP_OK ? sp_space_compact(context, space) : status;
}

sp_status sp_space_keep_spanning(sp_context *context, sp_space *space, int *spans)
{
    int count = space->joint_count;
    int *parent = sp_alloc((size_t)count, sizeof *parent);
    int *face = sp_alloc((size_t)count, sizeof *face);
    sp_status status = SP_OK;
    *spans = 0;
    if (!parent || !face) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
        goto done;
    }
    for (int n = 0; n < count; n++) parent[n] = n;
    for (int s = 0; s < space->strut_count; s++)
        parent[sp_group_of(parent, space->strut[s].joint[0])] =
            sp_group_of(parent, space->strut[s].joint[1]);
    for (int n = 0; n < count; n++) face[sp_group_of(parent, n)] |= space->joint[n].face;
    for (int s = 0; s < space->strut_count; s++)
        if (sp_piece_spans(face[sp_group_of(parent, space->strut[s].joint[0])], SP_BOX_PLATENS,
                           &space->left_out)) {
            *spans = 1;
        } else {
            space->strut[s].joint[0] = -1;
            space->dropped_pieces++;
        }
    status = sp_space_compact(context, space);
done:
    sp_free(parent);
    sp_free(face);
    return status;
}
