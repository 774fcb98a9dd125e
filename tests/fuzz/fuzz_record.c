/* This target runs the reader of material records: no crash, no leak, one line for every
 * refusal. */
#include "material/material_parts.h"

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static const int column[3] = {1, 2, 3};
    sp_context context = {0};
    mat_test test = {0};
    const sp_status status =
        sp_material_record_parse(&context, "fuzz.csv", (const char *)data, size, column, 0, &test);
    require(status == SP_OK || status == SP_NO_READ);
    require(status != SP_OK || (test.count >= 3 && test.peak > 0));
    require_line(context.message, status != SP_OK);
    sp_material_record_free(&test);
    return 0;
}
