/* This target runs the reader of curves of a rig: every refusal is one line; an accepted curve is
 * finite, begins at a shortening of 0 and does not fall back. The first byte picks the options that
 * a user gives for the file. */
#include <math.h>

#include <strutpress/rig.h>

#include "fuzz.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_rig_request request;
    sp_rig *rig;
    if (size < 1) return 0;
    sp_rig_request_default(&request);
    const int choice = data[0] % 8;
    request.zero = (sp_rig_zero)(choice < 6 ? choice : 0);
    if (choice == SP_ZERO_PRELOAD) request.preload = 1;
    if (choice == SP_ZERO_AT) request.starts_at = 0.1;
    if (choice == 6) request.machine_stiffness = 100;
    if (choice == 7) request.height = 10, request.area = 100;
    const sp_status status =
        sp_rig_parse(&context, "fuzz.csv", (const char *)data + 1, size - 1, &request, &rig);
    require(status == SP_OK || status == SP_NO_READ);
    require((status == SP_OK) == (rig != NULL));
    require_line(context.message, status != SP_OK);
    for (int i = 0; rig && i < sp_rig_count(rig); i++) {
        const sp_curve curve = sp_rig_curve(rig, i);
        require(curve.count >= 2 && curve.shortening[0] == 0);
        for (int k = 0; k < curve.count; k++) {
            require(isfinite(curve.shortening[k]) && isfinite(curve.force[k]));
            require(k == 0 || curve.shortening[k] >= curve.shortening[k - 1]);
        }
    }
    sp_rig_free(rig);
    return 0;
}
