/* Say in words what a coupon does under a weight, and what its snaps release, for the table and the
 * JSON. */
#include <math.h>
#include <string.h>

#include <strutpress/measure.h>

#include "write/text.h"
#include "caution/caution.h"

double sp_measure_value(const sp_result *result, const char *name)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count && i < result->measure_count; i++)
        if (!strcmp(row[i].name, name) && result->measure[i].reached)
            return result->measure[i].value;
    return NAN;
}

int sp_weight_of(const sp_result *result, sp_weight *weight)
{
    const double *size = result->path.size;
    weight->strain = sp_measure_value(result, "first_maximum_strain");
    weight->force = sp_measure_value(result, "first_maximum") * size[0] * size[2];
    return isfinite(weight->force) && isfinite(weight->strain);
}

void sp_weight_text(const sp_result *result, char *text, size_t size)
{
    sp_weight weight;
    if (sp_weight_of(result, &weight))
        sp_format(text, size,
                  "it falls from the first maximum of the force, %.4g N at %.4g %% strain, down to "
                  "where the curve carries that force again",
                  weight.force, 100 * weight.strain);
    else
        sp_format(text, size,
                  "no maximum with a drop of 1 %% or more behind it: a weight comes to rest where "
                  "the curve carries it");
}

int sp_snaps_of(const sp_path *path, double *released)
{
    int count = 0;
    for (int i = 0; i < path->event_count; i++) count += path->event[i].kind == SP_EVENT_SNAP;
    const sp_step *last = NULL;
    if (path->step_count > 0) last = sp_path_state(path, path->step_count + path->back_count - 1);
    *released = last ? last->released : 0;
    return count;
}
