/* Make a network of lines: cut, join and drop until nothing changes any more. */
#include "graph/graph.h"

#include "base/poll.h"
#include "case/case_parts.h"

/* A handful of rounds is usual; every round but the last takes something away or cuts it. */
static const int rounds_max = 200;

/* Ends that nearly meet are joined before loose ends are dropped, and before short struts are drawn
 * together. */
static sp_status clean_once(sp_context *context, sp_graph *graph, int *changed)
{
    const sp_graph_rules *rules = graph->rules;
    sp_status status = sp_graph_split(context, graph, changed);
    if (status == SP_OK) status = sp_graph_merge(context, graph, rules->near, 0, changed);
    if (status == SP_OK) status = sp_graph_drop(context, graph, changed);
    if (status != SP_OK || rules->shortest == 0) return status;
    status = sp_graph_merge(context, graph, rules->near, rules->shortest, changed);
    return status == SP_OK ? sp_graph_drop(context, graph, changed) : status;
}

sp_status sp_graph_clean(sp_context *context, const sp_case *request, const char *key,
                         sp_graph *graph)
{
    int changed = 1, spans = 0;
    /* Ends at the same place are joined first, so that clipped lines are a network before anything
     * is cut. */
    sp_status status = graph->rules->join_ends(context, graph);
    for (int round = 0; status == SP_OK && changed; round++) {
        if (round == rounds_max)
            return sp_fail(context, SP_BAD_NETWORK,
                           "network: received lines that are still drawn together after %d "
                           "rounds; valid: lines a bead apart or joined",
                           rounds_max);
        changed = 0;
        status = sp_poll_now(context, "joining struts");
        if (status == SP_OK) status = clean_once(context, graph, &changed);
    }
    if (status == SP_OK) status = sp_graph_keep_spanning(context, graph, &spans);
    if (status == SP_OK && (!spans || graph->strut_count == 0))
        return sp_case_fail_at(context, request, key, NULL, graph->rules->nothing_left, NULL);
    return status;
}
