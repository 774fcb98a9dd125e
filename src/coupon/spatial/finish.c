/* From raw joints and struts in space to a finished network, see space.h. */
#include "spatial/space.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "network/graph.h"

/* Unit vector across the strut: what was given of it, else of the axis that is farthest from the strut. */
static void find_up(const double a[3], const double b[3], const double given[3], double up[3])
{
    double d[3], length = sp_space_distance(a, b), along = 0, size = 0;
    int axis = 0;
    for (int k = 0; k < 3; k++) {
        d[k] = (b[k] - a[k]) / length;
        if (fabs(d[k]) < fabs(d[axis]) - 1e-6) axis = k;
    }
    for (int k = 0; k < 3; k++) along += given[k] * d[k];
    for (int k = 0; k < 3; k++) up[k] = given[k] - along * d[k], size += up[k] * up[k];
    if (size < 1e-6) {
        size = 0;
        for (int k = 0; k < 3; k++) up[k] = (k == axis) - d[axis] * d[k], size += up[k] * up[k];
    }
    for (int k = 0; k < 3; k++) up[k] /= sqrt(size);
}

static void copy_joints(const sp_space *space, sp_network *network)
{
    network->joint_count = space->joint_count;
    for (int n = 0; n < space->joint_count; n++) {
        const sp_space_joint *joint = &space->joint[n];
        memcpy(network->joint_position + 3 * (size_t)n, joint->at, sizeof joint->at);
        network->joint_face[n] = (unsigned char)((joint->face & SP_BOX_LOWER ? SP_FACE_LOWER : 0) |
                                                 (joint->face & SP_BOX_UPPER ? SP_FACE_UPPER : 0));
    }
}

static void copy_struts(const sp_space *space, sp_network *network, int *origin)
{
    network->strut_count = space->strut_count;
    for (int s = 0; s < space->strut_count; s++) {
        const sp_space_strut *strut = &space->strut[s];
        memcpy(network->strut_joint + 2 * (size_t)s, strut->joint, sizeof strut->joint);
        network->strut_thickness[s] = strut->thickness;
        network->strut_height[s] = strut->height;
        network->strut_role[s] = (unsigned char)strut->role;
        find_up(space->joint[strut->joint[0]].at, space->joint[strut->joint[1]].at, strut->up,
                network->strut_up + 3 * (size_t)s);
        origin[s] = strut->origin;
    }
}

/* Space to network. *origin: perfect number of each strut, caller frees. */
static sp_status copy(sp_context *context, const sp_space *space, sp_network *network, int **origin)
{
    network->dimension = 3;
    sp_status status =
        sp_network_room(context, network, (size_t)space->joint_count, (size_t)space->strut_count);
    if (status != SP_OK) return status;
    *origin = sp_alloc((size_t)space->strut_count, sizeof **origin);
    if (!*origin)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", space->strut_count);
    memcpy(network->size, space->size, sizeof network->size);
    network->dropped_stubs = space->dropped_stubs;
    network->dropped_pieces = space->dropped_pieces;
    network->dropped_one_platen = space->left_out.one_platen;
    network->dropped_no_platen = space->left_out.no_platen;
    copy_joints(space, network);
    copy_struts(space, network, *origin);
    return SP_OK;
}

sp_status sp_space_finish(sp_context *context, const sp_case *request, const char *key,
                          int with_flaws, sp_space *space, sp_network *network)
{
    int *origin = NULL, joints, struts;
    int flawed = with_flaws && request->flaw_seed != 0;

    *network = (sp_network){0};
    sp_status status = sp_space_clean(context, request, key, space);
    if (status != SP_OK) goto done;
    joints = space->joint_count, struts = space->strut_count;
    for (int n = 0; n < joints; n++) space->joint[n].origin = n;
    for (int s = 0; s < struts; s++) space->strut[s].origin = s;
    if (flawed) status = sp_space_flaws_missing(context, request, space);
    if (status == SP_OK && flawed)
        status = sp_space_flaws_move_joints(context, request, joints, space);
    if (status == SP_OK) status = copy(context, space, network, &origin);
    if (status == SP_OK && flawed)
        status = sp_space_flaws_struts(context, request, origin, struts, network);
    if (status != SP_OK) goto done;
    network->nominal_density = sp_space_line_share(network);
    status = sp_network_print_widths(context, request, 0, network);
    if (status == SP_OK) status = sp_network_zones(context, request->joint_zone, network);
    if (status == SP_OK) status = sp_network_thicken(context, request, 0, network);
    if (status != SP_OK) goto done;
    status = sp_space_solid(context, network);
    if (status == SP_OK) status = sp_network_count_pieces(context, network);
done:
    sp_free(origin);
    if (status != SP_OK) sp_network_free(network);
    return status;
}
