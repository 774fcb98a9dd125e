/* The straight line: case -> network -> model -> path -> measures. */
#ifndef STRUTPRESS_RUN_H
#define STRUTPRESS_RUN_H

#include <strutpress/case.h>
#include <strutpress/measure.h>
#include <strutpress/network.h>
#include <strutpress/path.h>
#include <strutpress/resolve.h>

typedef struct sp_result {
    sp_case request;    /* what was pressed: the case as it was resolved */
    sp_network network; /* with flaws */
    sp_path path;
    /* The coupon without flaws up to its critical step, with the mode in its shapes; empty (step_count 0) when not asked
     * for or when `path` itself has no flaws. path.critical holds its answer either way. */
    sp_path perfect;
    int measure_count;
    sp_measure *measure; /* one per row of sp_measure_rows */
} sp_result;

/* Press one coupon. SP_OK also when the load limit ended it; SP_GAVE_UP and SP_INTERRUPTED leave a result whose path holds
 * what stands, or an empty *result when there is no curve yet; after any other status *result is empty. Free with
 * sp_result_free. */
sp_status sp_run(sp_context *context, const sp_case *request, sp_result *result);
/* The same of a case that is resolved already. */
sp_status sp_run_resolved(sp_context *context, const sp_resolved *resolved, sp_result *result);
void sp_result_free(sp_result *result);

#endif
