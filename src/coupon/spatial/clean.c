/* From raw struts to a spatial network: cut, join and drop until nothing changes. */
#include "spatial/space.h"

#include "case/case_parts.h"

static const double near = 0.3;    /* of the thinner strut: joints closer than this are one */
static const double same = 1e-4;   /* of the strut: ends as close as that are the same place */
static const int rounds_max = 200; /* a handful is usual */

sp_status sp_space_join_ends(sp_context *context, sp_space *space)
{
    int changed = 0;
    sp_status status = sp_space_compact(context, space);
    return status == SP_OK ? sp_space_merge(context, space, same, &changed) : status;
}

sp_status sp_space_clean(sp_context *context, const sp_case *request, const char *key,
                         sp_space *space)
{
    int changed = 1, spans = 0;
    /* ends at the same place first, so that a clipped lattice is a network before anything is cut */
    sp_status status = sp_space_join_ends(context, space);
    for (int round = 0; status == SP_OK && changed; round++) {
        if (round == rounds_max)
            return sp_fail(context, SP_BAD_NETWORK,
                           "network: received struts that are still drawn together after %d "
                           "rounds; valid: struts a bead apart or joined",
                           rounds_max);
        changed = 0;
        status = sp_space_split(context, space, near, &changed);
        if (status == SP_OK) status = sp_space_merge(context, space, near, &changed);
        if (status == SP_OK) status = sp_space_drop(context, space, &changed);
    }
    if (status == SP_OK) status = sp_space_keep_spanning(context, space, &spans);
    if (status == SP_OK && (!spans || space->strut_count == 0))
        return sp_case_fail_at(context, request, key, NULL,
                               "struts of which something reaches both platens (smaller cells, "
                               "fewer struts missing, a drawing as tall as the coupon)",
                               NULL);
    return status;
}
