/* Arrays of the spatial network while it is built, see space.h. */
#include "spatial/space.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"

static const int joints_max = 16000000;
#define SAME 1e-6 /* share of the smallest side: closer to a face is on it */

void sp_space_free(sp_space *space)
{
    sp_free(space->joint);
    sp_free(space->strut);
    *space = (sp_space){0};
}

sp_status sp_space_add_joint(sp_context *context, sp_space *space, const double at[3])
{
    if (space->joint_count >= joints_max)
        return sp_fail(context, SP_BAD_NETWORK,
                       "network: received more than %d joints; valid: at most so many", joints_max);
    if (space->joint_count == space->joint_capacity) {
        int capacity = space->joint_capacity ? 2 * space->joint_capacity : 256;
        sp_space_joint *joint = sp_resize(space->joint, (size_t)capacity, sizeof *joint);
        if (!joint) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", capacity);
        space->joint = joint;
        space->joint_capacity = capacity;
    }
    double same = SAME * fmin(space->size[0], fmin(space->size[1], space->size[2]));
    sp_space_joint *joint = &space->joint[space->joint_count++];
    *joint = (sp_space_joint){.origin = -1};
    for (int k = 0; k < 3; k++) {
        joint->at[k] = at[k];
        if (fabs(at[k]) <= same)
            joint->at[k] = 0, joint->face |= 1 << (2 * k);
        else if (fabs(at[k] - space->size[k]) <= same)
            joint->at[k] = space->size[k], joint->face |= 2 << (2 * k);
    }
    return SP_OK;
}

sp_status sp_space_add_strut(sp_context *context, sp_space *space, int a, int b,
                             const sp_space_strut *like)
{
    if (space->strut_count == space->strut_capacity) {
        int capacity = space->strut_capacity ? 2 * space->strut_capacity : 256;
        sp_space_strut *strut = sp_resize(space->strut, (size_t)capacity, sizeof *strut);
        if (!strut) return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", capacity);
        space->strut = strut;
        space->strut_capacity = capacity;
    }
    sp_space_strut *strut = &space->strut[space->strut_count++];
    *strut = *like;
    strut->joint[0] = a, strut->joint[1] = b;
    return SP_OK;
}

/* Part of the segment inside the box as parameters t0 < t1 in [0, 1] (Liang & Barsky 1984); 0 when there is none. */
static int clip(const double size[3], const double a[3], const double b[3], double t[2])
{
    double same = SAME * fmin(size[0], fmin(size[1], size[2]));
    t[0] = 0, t[1] = 1;
    for (int k = 0; k < 3; k++) {
        double d = b[k] - a[k];
        if (fabs(d) <= same) { /* along the face: inside it or not at all */
            if (fmin(a[k], b[k]) < -same || fmax(a[k], b[k]) > size[k] + same) return 0;
            continue;
        }
        double near = -a[k] / d, far = (size[k] - a[k]) / d;
        t[0] = fmax(t[0], fmin(near, far));
        t[1] = fmin(t[1], fmax(near, far));
    }
    return t[1] > t[0];
}

sp_status sp_space_add_clipped(sp_context *context, sp_space *space, const double a[3],
                               const double b[3], const sp_space_strut *like)
{
    double t[2], length = 0;
    if (!clip(space->size, a, b, t)) return SP_OK;
    for (int k = 0; k < 3; k++) length += (b[k] - a[k]) * (b[k] - a[k]);
    if ((t[1] - t[0]) * sqrt(length) <= SAME * like->thickness) return SP_OK;
    for (int n = 0; n < 2; n++) {
        double at[3];
        for (int k = 0; k < 3; k++)
            at[k] = fmin(space->size[k], fmax(0, a[k] + t[n] * (b[k] - a[k])));
        sp_status status = sp_space_add_joint(context, space, at);
        if (status != SP_OK) return status;
    }
    return sp_space_add_strut(context, space, space->joint_count - 2, space->joint_count - 1, like);
}

double sp_space_distance(const double a[3], const double b[3])
{
    return sqrt((b[0] - a[0]) * (b[0] - a[0]) + (b[1] - a[1]) * (b[1] - a[1]) +
                (b[2] - a[2]) * (b[2] - a[2]));
}

double sp_space_length(const sp_space *space, int strut)
{
    const int *joint = space->strut[strut].joint;
    return sp_space_distance(space->joint[joint[0]].at, space->joint[joint[1]].at);
}

double sp_space_slimmest(const sp_space_strut *strut)
{
    return strut->height > 0 ? fmin(strut->thickness, strut->height) : strut->thickness;
}

sp_status sp_space_compact(sp_context *context, sp_space *space)
{
    int *number = sp_alloc((size_t)space->joint_count, sizeof *number);
    if (!number)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
    int struts = 0, joints = 0;
    for (int s = 0; s < space->strut_count; s++)
        if (space->strut[s].joint[0] >= 0) {
            space->strut[struts++] = space->strut[s];
            number[space->strut[s].joint[0]] = number[space->strut[s].joint[1]] = 1;
        }
    for (int n = 0; n < space->joint_count; n++)
        if (number[n]) {
            space->joint[joints] = space->joint[n];
            number[n] = joints++;
        }
    space->strut_count = struts;
    space->joint_count = joints;
    for (int s = 0; s < struts; s++)
        for (int k = 0; k < 2; k++) space->strut[s].joint[k] = number[space->strut[s].joint[k]];
    sp_free(number);
    return SP_OK;
}

sp_status sp_space_incidence(sp_context *context, const sp_space *space, int **first, int **list)
{
    *first = sp_alloc((size_t)space->joint_count + 2, sizeof **first);
    *list = sp_alloc(2 * (size_t)space->strut_count, sizeof **list);
    if (!*first || !*list) {
        sp_free(*first), sp_free(*list);
        *first = *list = NULL;
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", space->strut_count);
    }
    int *start = *first + 1; /* shifted by one, so that filling leaves the first entries behind */
    for (int s = 0; s < space->strut_count; s++)
        for (int k = 0; space->strut[s].joint[0] >= 0 && k < 2; k++)
            start[space->strut[s].joint[k] + 1]++;
    for (int n = 0; n < space->joint_count; n++) start[n + 1] += start[n];
    for (int s = 0; s < space->strut_count; s++)
        for (int k = 0; space->strut[s].joint[0] >= 0 && k < 2; k++)
            (*list)[start[space->strut[s].joint[k]]++] = s;
    return SP_OK;
}
