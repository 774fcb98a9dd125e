/* This target runs the reader of the table of a law. Every refusal is one line; an accepted table
 * gives a law that can be evaluated. The first byte picks the law. */
#include <math.h>

#include "fuzz.h"
#include "law/law.h"

static void check_message(const sp_context *context, sp_status status)
{
    require(status == SP_OK || status == SP_NO_READ || status == SP_BAD_CASE);
    require_line(context->message, status != SP_OK);
}

static void try_law(const char *file, int choice)
{
    static const char *const laws[] = {"tabulated", "yielding"};
    sp_context context = {0};
    sp_case request;
    sp_law law;
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "%s", laws[choice % 2]);
    snprintf(request.table_file, sizeof request.table_file, "%s", file);
    request.strain_state = choice / 2 % 2;
    const sp_status status = sp_law_prepare(&context, &request, &law);
    check_message(&context, status);
    if (status != SP_OK) return;
    require(isfinite(law.stretch_min) && law.stretch_min < 1 && law.stretch_max > 1);
    sp_law_free(&law);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static fuzz_file table;
    if (size < 1) return 0;
    fuzz_put(&table, ".csv", data + 1, size - 1);
    try_law(table.name, data[0] % 4);
    return 0;
}
