/* Printing imperfections in space, all free of stress: missing struts, moved joints, scatter of the diameter, bow.
 *
 * As in the plane (flaws.c) each kind has its own stream, counted over the joints and struts of the perfect network. */
#include <math.h>

#include "base/alloc.h"
#include "base/rng.h"
#include "network/graph.h"
#include "spatial/space.h"

static const double move_share = 0.3; /* of the shortest strut at a joint: the farthest it moves */

sp_status sp_space_flaws_missing(sp_context *context, const sp_case *request, sp_space *space)
{
    int count = 0, chosen_count = 0;
    int *infill = sp_alloc((size_t)space->strut_count, sizeof *infill);
    int *chosen = NULL;
    sp_status status = SP_OK;
    for (int s = 0; infill && s < space->strut_count; s++)
        if (space->strut[s].role == SP_ROLE_INFILL) infill[count++] = s;
    const int wanted = lround(request->missing * count) > 0;
    if (wanted) chosen = sp_flaws_choose(request, count, &chosen_count);
    if (!infill || (wanted && !chosen))
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", space->strut_count);
    for (int i = 0; chosen && i < chosen_count; i++) space->strut[infill[chosen[i]]].joint[0] = -1;
    if (status == SP_OK && wanted)
        status = sp_space_clean(context, request, "flaws.missing", space);
    sp_free(infill);
    sp_free(chosen);
    return status;
}

/* How far each joint may move: 0 where a plate or a frame holds it, else a share of its shortest strut. */
static void find_room(const sp_space *space, double *room, double *thickness)
{
    for (int n = 0; n < space->joint_count; n++) room[n] = INFINITY, thickness[n] = INFINITY;
    for (int s = 0; s < space->strut_count; s++)
        for (int k = 0; k < 2; k++) {
            const sp_space_strut *strut = &space->strut[s];
            int n = strut->joint[k];
            double far = strut->role == SP_ROLE_INFILL ? move_share * sp_space_length(space, s) : 0;
            room[n] = fmin(room[n], far);
            thickness[n] = fmin(thickness[n], sp_space_slimmest(strut));
        }
}

/* A joint stays on its faces and inside the box: off a platen it would carry nothing. */
sp_status sp_space_flaws_move_joints(sp_context *context, const sp_case *request, int origin_count,
                                     sp_space *space)
{
    if (request->joint_offset <= 0) return SP_OK;
    double *value = sp_flaws_normals(request, SP_STREAM_JOINTS, 3 * (size_t)origin_count);
    double *room = sp_alloc((size_t)space->joint_count, sizeof *room);
    double *thickness = sp_alloc((size_t)space->joint_count, sizeof *thickness);
    sp_status status = SP_OK;
    if (!value || !room || !thickness) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
        goto done;
    }
    find_room(space, room, thickness);
    for (int n = 0; n < space->joint_count; n++) {
        sp_space_joint *joint = &space->joint[n];
        if (joint->origin < 0) continue;
        double move[3], far = 0;
        for (int k = 0; k < 3; k++) {
            int on_face = joint->face >> (2 * k) & 3;
            move[k] = on_face ? 0
                              : request->joint_offset * thickness[n] *
                                    value[3 * (size_t)joint->origin + (size_t)k];
            far += move[k] * move[k];
        }
        double cut = far > room[n] * room[n] ? room[n] / sqrt(far) : 1;
        for (int k = 0; k < 3; k++)
            joint->at[k] = fmin(space->size[k], fmax(0, joint->at[k] + cut * move[k]));
    }
done:
    sp_free(value);
    sp_free(room);
    sp_free(thickness);
    return status;
}

/* Turn the unit vector `up` about the strut. */
static void turn_about(const double strut[3], double length, double angle, double up[3])
{
    double d[3], c = cos(angle), s = sin(angle), turned[3];
    for (int k = 0; k < 3; k++) d[k] = strut[k] / length;
    for (int k = 0; k < 3; k++) {
        int i = (k + 1) % 3, j = (k + 2) % 3;
        turned[k] = c * up[k] + s * (d[i] * up[j] - d[j] * up[i]); /* d is across up */
    }
    for (int k = 0; k < 3; k++) up[k] = turned[k];
}

static void bend(const sp_case *request, int s, double bow, double angle, sp_network *network)
{
    const double *a = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
    const double *b = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
    const double d[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]};
    double length = sp_network_strut_length(network, s);
    /* what lies on a platen is straight */
    const int *joint = network->strut_joint + 2 * s;
    const int flat = network->joint_face[joint[0]] & network->joint_face[joint[1]];
    network->strut_bow[s] = flat ? 0 : request->bow * bow * length;
    if (network->strut_height[s] == 0)
        turn_about(d, length, angle, network->strut_up + 3 * (size_t)s);
}

sp_status sp_space_flaws_struts(sp_context *context, const sp_case *request, const int *origin,
                                int origin_count, sp_network *network)
{
    size_t count = (size_t)origin_count;
    double *size = sp_flaws_normals(request, SP_STREAM_THICKNESS, count);
    double *bow = sp_flaws_normals(request, SP_STREAM_BOW, count);
    double *angle = sp_alloc(count, sizeof *angle);
    sp_status status = SP_OK;
    if (!size || !bow || !angle) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", origin_count);
        goto done;
    }
    sp_rng rng;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, SP_STREAM_BOW_DIRECTION);
    for (size_t i = 0; i < count; i++) angle[i] = 2 * M_PI * sp_rng_uniform(&rng);
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL || origin[s] < 0) continue;
        double factor = 1 + request->thickness_scatter * size[origin[s]];
        factor = fmin(1.5, fmax(0.5, factor));
        network->strut_thickness[s] *= factor;
        network->strut_height[s] *= factor;
        bend(request, s, bow[origin[s]], angle[origin[s]], network);
    }
done:
    sp_free(size);
    sp_free(bow);
    sp_free(angle);
    return status;
}
