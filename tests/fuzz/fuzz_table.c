/* libFuzzer on the readers of measured rows: the table of a law, and the curve of a rig. Every refusal is one line; what is
 * accepted is finite, in order, and gives a law that can be evaluated. The first byte picks which. */
#include <math.h>

#include "calibrate/calibrate_parts.h"
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

static void try_curve(const char *file)
{
    sp_context context = {0};
    cal_curve curve;
    const sp_status status = sp_cal_curve_read(&context, file, 0.1, &curve);
    check_message(&context, status);
    for (int i = 0; i < curve.count; i++) {
        require(isfinite(curve.shortening[i]) && isfinite(curve.force[i]));
        require(i == 0 || curve.shortening[i] >= curve.shortening[i - 1]);
    }
    sp_cal_curve_free(&curve);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static fuzz_file table;
    if (size < 1) return 0;
    fuzz_put(&table, ".csv", data + 1, size - 1);
    if (data[0] % 5 == 4)
        try_curve(table.name);
    else
        try_law(table.name, data[0] % 5);
    return 0;
}
