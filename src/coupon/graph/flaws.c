/* Printing imperfections, all free of stress: missing struts, moved joints, thickness scatter, bow.
 *
 * Each kind has its own stream of random numbers, counted over the joints and struts of the perfect
 * network, so that changing one kind leaves the others as they were. Walls bow between the joints
 * that stand on them and scatter in thickness, as struts do, and are numbered around the coupon.
 * What lies on a platen is straight and even, and the joints on a wall of a planar coupon stay. */
#include "graph/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/rng.h"

/* Streams of random numbers, one per kind of flaw. */
enum {
    STREAM_MISSING = 1,
    STREAM_JOINTS,
    STREAM_THICKNESS,
    STREAM_BOW,
    STREAM_BOW_DIRECTION,
    STREAM_ROWS,
    STREAM_WALL_BOW,
    STREAM_WALL_THICKNESS
};

/* Farthest move, as a share of the shortest strut at the joint. */
static const double move_share = 0.3;
static const double level_share = 1e-3; /* of the height: a strut that rises less is level */
static const double least_factor = 0.5, most_factor = 1.5; /* of a thickness that scatters */

enum { ROWS_MAX = 10000 };

typedef struct draw {
    double key;
    int strut;
} draw;

static int compare_draw(const void *left, const void *right)
{
    const draw *a = left, *b = right;
    return a->key < b->key ? -1 : a->key > b->key ? 1 : a->strut - b->strut;
}

/* Take `wanted` of these struts away: those with the smallest draws, so that a case with more
 * missing struts also lacks those of a case with fewer. */
static sp_status take_away(const sp_case *request, const int *infill, int count, int wanted,
                           sp_graph *graph)
{
    sp_rng rng;
    draw *draws = sp_alloc((size_t)count, sizeof *draws);
    if (!draws) return SP_NO_MEMORY;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, STREAM_MISSING);
    for (int i = 0; i < count; i++) draws[i] = (draw){sp_rng_uniform(&rng), i};
    qsort(draws, (size_t)count, sizeof *draws, compare_draw);
    for (int i = 0; i < wanted && i < count; i++)
        graph->strut[infill[draws[i].strut]].joint[0] = -1;
    sp_free(draws);
    return SP_OK;
}

/* Only struts of the infill may be missing: a printer never leaves out plates and frames. */
sp_status sp_flaws_missing(sp_context *context, const sp_case *request, sp_graph *graph)
{
    int count = 0, wanted = 0;
    int *infill = sp_alloc((size_t)graph->strut_count, sizeof *infill);
    sp_status status = infill ? SP_OK : SP_NO_MEMORY;
    for (int s = 0; infill && s < graph->strut_count; s++)
        if (sp_graph_role(graph, s) == SP_ROLE_INFILL) infill[count++] = s;
    wanted = (int)lround(request->missing * count);
    if (status == SP_OK && wanted) status = take_away(request, infill, count, wanted, graph);
    sp_free(infill);
    if (status != SP_OK)
        return sp_fail(context, status, "no memory for %d struts", graph->strut_count);
    if (!wanted) return SP_OK;
    status = sp_graph_compact(context, graph);
    return status == SP_OK ? sp_graph_clean(context, request, "flaws.missing", graph) : status;
}

/* Draw normal numbers from a stream; NULL without memory, else the caller frees them. */
static double *normals(const sp_case *request, int stream, size_t count)
{
    sp_rng rng;
    double *value = sp_alloc(count, sizeof *value);
    if (!value) return NULL;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, (uint64_t)stream);
    for (size_t i = 0; i < count; i++) value[i] = sp_rng_normal(&rng);
    return value;
}

/* Find how far each joint may move: 0 where a plate or a frame holds it, else a share of its
 * shortest strut. */
static void find_room(const sp_graph *graph, double *room, double *thickness)
{
    for (int n = 0; n < graph->joint_count; n++) room[n] = INFINITY, thickness[n] = INFINITY;
    for (int s = 0; s < graph->strut_count; s++)
        for (int k = 0; k < 2; k++) {
            const sp_strut *strut = &graph->strut[s];
            int n = strut->joint[k];
            double far = strut->role == SP_ROLE_INFILL ? move_share * sp_graph_length(graph, s) : 0;
            room[n] = fmin(room[n], far);
            thickness[n] = fmin(thickness[n], sp_graph_slimmest(strut));
        }
}

/* Move a joint by `scale` times the normal numbers `value`, at most by `room` [mm]. It stays on its
 * sides and inside the box, because off a platen it would carry nothing. */
static void move_joint(sp_graph *graph, sp_joint *joint, double scale, const double *value,
                       double room)
{
    static const double nowhere[3] = {0};
    double move[3] = {0};
    if (joint->side && !graph->rules->slides) return;
    for (int k = 0; k < graph->rules->dimension; k++)
        move[k] = joint->side >> (2 * k) & 3 ? 0 : scale * value[k];
    const double far = graph->rules->distance(nowhere, move);
    const double cut = far > room ? room / far : 1;
    for (int k = 0; k < graph->rules->dimension; k++)
        joint->at[k] = fmin(graph->high[k], fmax(graph->low[k], joint->at[k] + cut * move[k]));
}

sp_status sp_flaws_move_joints(sp_context *context, const sp_case *request, int origin_count,
                               sp_graph *graph)
{
    if (request->joint_offset <= 0) return SP_OK;
    const size_t numbers = (size_t)graph->rules->dimension;
    double *value = normals(request, STREAM_JOINTS, numbers * (size_t)origin_count);
    double *room = sp_alloc((size_t)graph->joint_count, sizeof *room);
    double *thickness = sp_alloc((size_t)graph->joint_count, sizeof *thickness);
    sp_status status = SP_OK;
    if (!value || !room || !thickness) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
        goto done;
    }
    find_room(graph, room, thickness);
    for (int n = 0; n < graph->joint_count; n++) {
        sp_joint *joint = &graph->joint[n];
        if (joint->origin >= 0)
            move_joint(graph, joint, request->joint_offset * thickness[n],
                       value + numbers * (size_t)joint->origin, room[n]);
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

/* Return 1 when this is a pattern seen from above: what is drawn in it stands between the platens,
 * or lies in a layer that is pressed from above, and nothing in it lies on a platen. */
static int is_plan(const sp_case *request, const sp_network *network)
{
    return network->dimension == 2 && request->press_direction != SP_PRESS_ACROSS;
}

/* Return 1 when a strut lies on a platen. */
static int is_flat(const sp_case *request, const sp_network *network, int s)
{
    const int *joint = network->strut_joint + 2 * (size_t)s;
    return !is_plan(request, network) &&
           (network->joint_face[joint[0]] & network->joint_face[joint[1]]) != 0;
}

/* Bow a strut, unless it lies on a platen, where it is straight. A round strut bows in the
 * direction `angle` about it. */
static void bend(const sp_case *request, int s, double bow, double angle, sp_network *network)
{
    const int *joint = network->strut_joint + 2 * (size_t)s;
    const double *a = network->joint_position + 3 * (size_t)joint[0];
    const double *b = network->joint_position + 3 * (size_t)joint[1];
    const double d[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]};
    const double length = sp_network_strut_length(network, s);
    network->strut_bow[s] = is_flat(request, network, s) ? 0 : request->bow * bow * length;
    if (network->strut_up && network->strut_height[s] == 0)
        turn_about(d, length, angle, network->strut_up + 3 * (size_t)s);
}

/* Return how far a strut rises along the height [mm]. */
static double rise_of(const sp_network *network, int s)
{
    const int *joint = network->strut_joint + 2 * (size_t)s;
    return fabs(network->joint_position[3 * (size_t)joint[1] + 1] -
                network->joint_position[3 * (size_t)joint[0] + 1]);
}

/* Find the height of one row of struts: their mean rise along the height; 0 when all are level. */
static double row_height(const sp_network *network)
{
    double sum = 0;
    int count = 0;
    for (int s = 0; s < network->strut_count; s++) {
        const double rise = rise_of(network, s);
        if (network->strut_role[s] != SP_ROLE_INFILL || rise < level_share * network->size[1])
            continue;
        sum += rise;
        count++;
    }
    return count ? sum / count : 0;
}

/* Return the row in which the middle of a strut lies, counted from 0 at the lower platen. */
static int row_of(const sp_network *network, int s, double height)
{
    const int *joint = network->strut_joint + 2 * (size_t)s;
    const double middle = 0.5 * (network->joint_position[3 * (size_t)joint[0] + 1] +
                                 network->joint_position[3 * (size_t)joint[1] + 1]);
    return (int)fmin(ROWS_MAX - 1, fmax(0, middle / height));
}

/* Return how much thicker a strut is because of the row in which it lies: factor - 1. */
static double row_deviation(const sp_case *request, const sp_network *network, int s, double height,
                            const double *row)
{
    return height > 0 && row ? request->row_scatter * row[row_of(network, s, height)] : 0;
}

/* Make a strut thicker by the share `deviation` of its thickness; below 0: thinner. */
static void thicken(double deviation, int s, sp_network *network)
{
    const double factor = fmin(most_factor, fmax(least_factor, 1 + deviation));
    network->strut_thickness[s] *= factor;
    if (network->strut_height) network->strut_height[s] *= factor;
}

/* Bow the walls between their joints and make their thickness scatter. `row`: see row_deviation. */
static sp_status flaw_walls(const sp_case *request, double height, const double *row,
                            sp_network *network)
{
    int count = 0, wall = 0;
    for (int s = 0; s < network->strut_count; s++) count += network->strut_role[s] == SP_ROLE_WALL;
    if (!count) return SP_OK;
    double *bow = normals(request, STREAM_WALL_BOW, (size_t)count);
    double *size = normals(request, STREAM_WALL_THICKNESS, (size_t)count);
    for (int s = 0; bow && size && s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_WALL) continue;
        if (!is_flat(request, network, s))
            thicken(request->thickness_scatter * size[wall] +
                        row_deviation(request, network, s, height, row),
                    s, network);
        bend(request, s, bow[wall], 0, network);
        wall++;
    }
    const sp_status status = bow && size ? SP_OK : SP_NO_MEMORY;
    sp_free(bow);
    sp_free(size);
    return status;
}

sp_status sp_flaws_struts(sp_context *context, const sp_case *request, const int *origin,
                          int origin_count, sp_network *network)
{
    const size_t count = (size_t)origin_count;
    double *size = normals(request, STREAM_THICKNESS, count);
    double *bow = normals(request, STREAM_BOW, count);
    double *angle = sp_alloc(count, sizeof *angle);
    const int has_rows = request->row_scatter > 0 && !is_plan(request, network);
    const double height = has_rows ? row_height(network) : 0;
    double *row = height > 0 ? normals(request, STREAM_ROWS, ROWS_MAX) : NULL;
    sp_status status = SP_OK;
    if (!size || !bow || !angle || (height > 0 && !row)) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", origin_count);
        goto done;
    }
    sp_rng rng;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, STREAM_BOW_DIRECTION);
    for (size_t i = 0; i < count; i++) angle[i] = 2 * M_PI * sp_rng_uniform(&rng);
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL || origin[s] < 0) continue;
        thicken(request->thickness_scatter * size[origin[s]] +
                    row_deviation(request, network, s, height, row),
                s, network);
        bend(request, s, bow[origin[s]], angle[origin[s]], network);
    }
    status = flaw_walls(request, height, row, network);
    if (status != SP_OK) sp_fail(context, status, "no memory for the walls");
done:
    sp_free(size);
    sp_free(bow);
    sp_free(angle);
    sp_free(row);
    return status;
}
