/* libFuzzer on the case reader: no crash, no leak, a line for every refusal, and an accepted case prints itself. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <strutpress/case.h>

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void require(int condition)
{
    if (!condition) abort();
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_case request, again;
    char text[SP_FILE_SIZE];
    sp_status status = sp_case_parse(&context, "fuzz.yaml", (const char *)data, size, &request);
    require(status == SP_OK || status == SP_BAD_CASE);
    require((status == SP_OK) == (context.message[0] == 0));
    require(!strchr(context.message, '\n'));
    for (int row = 0; row < sp_parameter_count(); row++) {
        sp_case_value_text(&request, row, text, sizeof text);
        sp_case_default(&again);
        if (status != SP_OK || !strcmp(text, "not given")) continue;
        require(sp_case_set(&context, &again, sp_parameter_at(row).key, text) == SP_OK);
    }
    return 0;
}
