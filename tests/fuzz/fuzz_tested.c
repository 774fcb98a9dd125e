/* This target runs the reader of tested coupons: no crash, no leak, one line for every refusal. */
#include <strutpress/calibrate.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_tested *tested;
    /* No file of this machine is read. */
    if (fuzz_holds(data, size, "base") || fuzz_holds(data, size, "curv")) return 0;
    const sp_status status =
        sp_tested_parse(&context, "fuzz.yaml", (const char *)data, size, &tested);
    require(status == SP_OK || status == SP_BAD_CASE);
    require((status == SP_OK) == (tested != NULL));
    require_line(context.message, status != SP_OK);
    sp_tested_free(tested);
    return 0;
}
