/* This target runs the case reader: no crash, no leak, one line for every refusal, and an accepted
 * case that is written out is read again as a case. */
#include <strutpress/case.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_case request, again;
    char text[SP_FILE_SIZE];
    sp_status status = sp_case_parse(&context, "fuzz.yaml", (const char *)data, size, &request);
    require(status == SP_OK || status == SP_BAD_CASE);
    require_line(context.message, status != SP_OK);
    if (status != SP_OK) return 0;
    sp_case_default(&again);
    for (int row = 0; row < sp_parameter_count(); row++) {
        if (request.origin[row] == SP_ORIGIN_DEFAULT) continue;
        sp_case_value_text(&request, row, text, sizeof text);
        require(!strcmp(text, "not given") ||
                sp_case_set(&context, &again, sp_parameter_at(row).key, text) == SP_OK);
    }
    return 0;
}
