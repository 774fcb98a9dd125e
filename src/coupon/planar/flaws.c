/* Printing imperfections, all free of stress: missing struts, moved joints, thickness scatter, bow.
 *
 * Each kind has its own stream of random numbers, counted over the joints and struts of the perfect network, so that
 * changing one kind leaves the others as they were. */
#include "network/graph.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/rng.h"

static const double move_share = 0.3; /* of the shortest strut at a joint: the farthest it moves */

typedef struct draw {
    double key;
    int edge;
} draw;

static int compare_draw(const void *left, const void *right)
{
    const draw *a = left, *b = right;
    return a->key < b->key ? -1 : a->key > b->key ? 1 : a->edge - b->edge;
}

int *sp_flaws_choose(const sp_case *request, int count, int *chosen)
{
    *chosen = (int)lround(request->missing * count);
    if (*chosen > count) *chosen = count;
    draw *draws = sp_alloc((size_t)count, sizeof *draws);
    int *list = sp_alloc((size_t)*chosen, sizeof *list);
    sp_rng rng;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, SP_STREAM_MISSING);
    if (!draws || !list) {
        sp_free(list);
        list = NULL;
        goto done;
    }
    for (int e = 0; e < count; e++) draws[e] = (draw){sp_rng_uniform(&rng), e};
    qsort(draws, (size_t)count, sizeof *draws, compare_draw);
    for (int i = 0; i < *chosen; i++) list[i] = draws[i].edge;
done:
    sp_free(draws);
    return list;
}

/* Of the struts that are no plates; nobody misses one of those. */
sp_status sp_flaws_missing(sp_context *context, const sp_case *request, sp_graph *graph)
{
    int count = 0, chosen_count = 0;
    int *infill = sp_alloc((size_t)graph->edge_count, sizeof *infill), *chosen = NULL;
    sp_status status = SP_OK;
    for (int e = 0; infill && e < graph->edge_count; e++)
        if (!sp_graph_is_plate(graph, e)) infill[count++] = e;
    const int wanted = lround(request->missing * count) > 0;
    if (wanted) chosen = sp_flaws_choose(request, count, &chosen_count);
    if (!infill || (wanted && !chosen))
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", graph->edge_count);
    for (int i = 0; chosen && i < chosen_count; i++) graph->edge[infill[chosen[i]]].a = -1;
    if (status == SP_OK && wanted) status = sp_graph_compact(context, graph);
    if (status == SP_OK && wanted)
        status = sp_graph_clean(context, request, "flaws.missing", graph);
    sp_free(infill);
    sp_free(chosen);
    return status;
}

double *sp_flaws_normals(const sp_case *request, int stream, size_t count)
{
    sp_rng rng;
    double *value = sp_alloc(count, sizeof *value);
    if (!value) return NULL;
    sp_rng_seed(&rng, (uint64_t)request->flaw_seed, (uint64_t)stream);
    for (size_t i = 0; i < count; i++) value[i] = sp_rng_normal(&rng);
    return value;
}

sp_status sp_flaws_move_joints(sp_context *context, const sp_case *request, int origin_count,
                               sp_graph *graph)
{
    if (request->joint_offset <= 0) return SP_OK;
    double *value = sp_flaws_normals(request, SP_STREAM_JOINTS, 2 * (size_t)origin_count);
    double *room = sp_alloc((size_t)graph->node_count, sizeof *room);
    if (!value || !room) {
        sp_free(value), sp_free(room);
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->node_count);
    }
    for (int n = 0; n < graph->node_count; n++) room[n] = INFINITY;
    for (int e = 0; e < graph->edge_count; e++) {
        double length = move_share * sp_graph_length(graph, e);
        room[graph->edge[e].a] = fmin(room[graph->edge[e].a], length);
        room[graph->edge[e].b] = fmin(room[graph->edge[e].b], length);
    }
    for (int n = 0; n < graph->node_count; n++) {
        sp_node *node = &graph->node[n];
        if (node->side || node->origin < 0) continue;
        double scale = request->joint_offset * request->bead_width;
        double dx = scale * value[2 * node->origin], dy = scale * value[2 * node->origin + 1];
        double far = hypot(dx, dy), cut = far > room[n] ? room[n] / far : 1;
        node->x = fmin(graph->high[0], fmax(graph->low[0], node->x + cut * dx));
        node->y = fmin(graph->high[1], fmax(graph->low[1], node->y + cut * dy));
    }
    sp_free(value);
    sp_free(room);
    return SP_OK;
}

sp_status sp_flaws_struts(sp_context *context, const sp_case *request, const int *origin,
                          int origin_count, sp_network *network)
{
    double *thickness = sp_flaws_normals(request, SP_STREAM_THICKNESS, (size_t)origin_count);
    double *bow = sp_flaws_normals(request, SP_STREAM_BOW, (size_t)origin_count);
    sp_status status = SP_OK;
    if (!thickness || !bow) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", origin_count);
        goto done;
    }
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL || origin[s] < 0) continue;
        double factor = 1 + request->thickness_scatter * thickness[origin[s]];
        network->strut_thickness[s] *= fmin(1.5, fmax(0.5, factor));
        network->strut_bow[s] = request->bow * bow[origin[s]] * sp_network_strut_length(network, s);
    }
done:
    sp_free(thickness);
    sp_free(bow);
    return status;
}
