/* Make a finished network of a clean graph, see graph.h. */
#include "graph/graph.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "network/parts.h"

/* Find the unit vector across the strut from the vector that was given, or else from the axis that
 * is farthest from the strut. */
static void find_up(const double a[3], const double b[3], const double given[3], double up[3])
{
    double d[3], length = 0, along = 0, size = 0;
    int axis = 0;
    for (int k = 0; k < 3; k++) length += (b[k] - a[k]) * (b[k] - a[k]);
    length = sqrt(length);
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

static void copy_joints(const sp_graph *graph, sp_network *network)
{
    network->joint_count = graph->joint_count;
    for (int n = 0; n < graph->joint_count; n++) {
        const sp_joint *joint = &graph->joint[n];
        memcpy(network->joint_position + 3 * (size_t)n, joint->at, sizeof joint->at);
        network->joint_face[n] = (unsigned char)((joint->side & SP_SIDE_LOWER ? SP_FACE_LOWER : 0) |
                                                 (joint->side & SP_SIDE_UPPER ? SP_FACE_UPPER : 0));
    }
}

static void add_strut(sp_network *network, int a, int b, double thickness, int role)
{
    int s = network->strut_count++;
    network->strut_joint[2 * s] = a, network->strut_joint[2 * s + 1] = b;
    network->strut_thickness[s] = thickness;
    network->strut_role[s] = (unsigned char)role;
}

/* List the struts of the graph, then the wall around them. */
static void copy_struts(const sp_graph *graph, const int *around, int around_count,
                        sp_network *network, int *origin)
{
    for (int s = 0; s < graph->strut_count; s++) {
        const sp_strut *strut = &graph->strut[s];
        const int *joint = strut->joint;
        add_strut(network, joint[0], joint[1], strut->thickness, sp_graph_role(graph, s));
        origin[s] = strut->origin;
        if (!network->strut_up) continue;
        network->strut_height[s] = strut->height;
        find_up(graph->joint[joint[0]].at, graph->joint[joint[1]].at, strut->up,
                network->strut_up + 3 * (size_t)s);
    }
    for (int i = 0; i < around_count; i++) {
        origin[network->strut_count] = -1;
        add_strut(network, around[i], around[(i + 1) % around_count], graph->wall, SP_ROLE_WALL);
    }
}

/* Copy the graph into a network. *origin: number of each strut in the perfect network, -1 for a
 * wall; the caller frees it. */
static sp_status copy(sp_context *context, const sp_case *request, const sp_graph *graph,
                      sp_network *network, int **origin)
{
    int *around = NULL, around_count = 0;
    sp_status status = SP_OK;
    if (graph->wall > 0) status = sp_graph_around(context, graph, &around, &around_count);
    const int struts = graph->strut_count + around_count;
    network->dimension = graph->rules->dimension;
    if (status == SP_OK)
        status = sp_network_room(context, network, (size_t)graph->joint_count, (size_t)struts);
    if (status == SP_OK && !(*origin = sp_alloc((size_t)struts, sizeof **origin)))
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", struts);
    if (status == SP_OK) {
        network->size[0] = request->width;
        network->size[1] = request->height;
        network->size[2] = request->depth;
        network->dropped_stubs = graph->dropped_stubs;
        network->dropped_pieces = graph->dropped_pieces;
        network->dropped_one_platen = graph->left_out.one_platen;
        network->dropped_no_platen = graph->left_out.no_platen;
        network->dropped_flat = graph->dropped_flat;
        copy_joints(graph, network);
        copy_struts(graph, around, around_count, network, *origin);
    }
    sp_free(around);
    return status;
}

sp_status sp_graph_finish(sp_context *context, const sp_case *request, int with_flaws,
                          sp_graph *graph, sp_network *network)
{
    const int joints = graph->joint_count, struts = graph->strut_count;
    const int is_flawed = with_flaws && request->flaw_seed != 0;
    int *origin = NULL;
    sp_status status = SP_OK;

    *network = (sp_network){0};
    for (int n = 0; n < joints; n++) graph->joint[n].origin = n;
    for (int s = 0; s < struts; s++) graph->strut[s].origin = s;
    if (is_flawed) status = sp_flaws_missing(context, request, graph);
    if (status == SP_OK && is_flawed)
        status = sp_flaws_move_joints(context, request, joints, graph);
    if (status == SP_OK) status = copy(context, request, graph, network, &origin);
    if (status == SP_OK && is_flawed)
        status = sp_flaws_struts(context, request, origin, struts, network);
    if (status == SP_OK) {
        network->nominal_density = graph->rules->density(graph, network);
        status = sp_network_print_widths(context, request, graph->bead, network);
    }
    if (status == SP_OK) status = sp_network_zones(context, request->joint_zone, network);
    if (status == SP_OK) status = sp_network_thicken(context, request, graph->bead, network);
    if (status == SP_OK) status = graph->rules->fill_solid(context, request, graph, network);
    if (status == SP_OK) status = sp_network_count_pieces(context, network);
    sp_free(origin);
    if (status != SP_OK) sp_network_free(network);
    return status;
}
