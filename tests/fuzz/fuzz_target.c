/* This target runs the reader of target files: no crash, no leak, one line for every refusal. */
#include <strutpress/seek.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_target *target;
    if (fuzz_holds(data, size, "base") || fuzz_holds(data, size, "curv"))
        return 0; /* no file of this machine is read */
    const sp_status status =
        sp_target_parse(&context, "fuzz.yaml", (const char *)data, size, &target);
    require(status == SP_OK || status == SP_BAD_CASE);
    require((status == SP_OK) == (target != NULL));
    require_line(context.message, status != SP_OK);
    sp_target_free(target);
    return 0;
}
