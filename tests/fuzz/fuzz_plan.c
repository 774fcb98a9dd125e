/* This target runs the reader of plans: no crash, no leak, one line for every refusal, and every
 * coupon of a plan is a case. */
#include <strutpress/batch.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_plan *plan;
    sp_case request;
    if (fuzz_holds(data, size, "base")) return 0; /* no file of this machine is read */
    const sp_status status = sp_plan_parse(&context, "fuzz.yaml", (const char *)data, size, &plan);
    require(status == SP_OK || status == SP_BAD_CASE);
    require((status == SP_OK) == (plan != NULL));
    require_line(context.message, status != SP_OK);
    for (int i = 0; status == SP_OK && i < sp_plan_count(plan) && i < 100; i++) {
        sp_plan_case(plan, i, &request);
        require(request.density > 0 && request.density <= 1);
    }
    sp_plan_free(plan);
    return 0;
}
