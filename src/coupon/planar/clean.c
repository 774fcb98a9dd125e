/* From crossing lines to a network: cut, join and drop until nothing changes. */
#include "network/graph.h"

#include "case/case_parts.h"

#define ROUNDS_MAX                                                                                 \
    200 /* a handful is usual; every round but the last takes something away or cuts it */

sp_status sp_graph_clean(sp_context *context, const sp_case *request, const char *key,
                         sp_graph *graph)
{
    sp_status status = SP_OK;
    int changed = 1, spans = 0;
    for (int round = 0; status == SP_OK && changed; round++) {
        if (round == ROUNDS_MAX)
            return sp_fail(context, SP_BAD_NETWORK,
                           "network: received lines that are still drawn together after %d "
                           "rounds; valid: lines a bead apart or joined",
                           ROUNDS_MAX);
        changed = 0;
        status = sp_graph_split(context, graph, &changed);
        /* ends that nearly meet are joined before loose ends go */
        if (status == SP_OK) status = sp_graph_merge(context, graph, 1, &changed);
        if (status == SP_OK) status = sp_graph_drop(context, graph, &changed);
        if (status == SP_OK) status = sp_graph_merge(context, graph, 0, &changed);
        if (status == SP_OK) status = sp_graph_drop(context, graph, &changed);
    }
    if (status == SP_OK) status = sp_graph_keep_spanning(context, graph, &spans);
    if (status == SP_OK && (!spans || graph->edge_count == 0))
        return sp_case_fail_at(
            context, request, key, NULL,
            "an infill of which something reaches both platens (denser, fewer "
            "struts missing, a drawing as tall as the coupon, or a wall around it)",
            NULL);
    return status;
}
