/* The solid block beside an infill; see solid.h. */
#include "caution/solid.h"

#include <math.h>
#include <string.h>

#include "caution/caution.h"
#include "write/text.h"

/* Free length / bead width below which a strut is no beam (design: slenderness limit). */
static const double short_strut = 2.0;
static const double band_share = 0.5;
/* Solid fraction below which a body is a frame of struts rather than a solid with holes (Gibson &
 * Ashby 1997, chapter 1). */
static const double cellular = 0.3;

const int sp_solid_percent[SP_SOLID_TABLE_ROWS] = {10, 25, 40};

double sp_solid_force(const sp_solid_curve *solid, int percent, int bonded)
{
    if (percent >= solid->count) return NAN;
    return solid->force[percent] * (bonded ? solid->raise : 1);
}

int sp_solid_is_bonded(const sp_case *request)
{
    return request->platens != SP_PLATENS_SLIDING;
}

void sp_solid_words(const sp_result *result, char *text, size_t size)
{
    text[0] = '\0';
    if (!result->path.solid.modelled)
        sp_format(text, size, "not modelled for law %s", result->request.law);
}

double sp_short_strut_share(const sp_result *result)
{
    const sp_network *network = &result->network;
    int infill = 0, stubby = 0;
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL || sp_network_is_bond(network, s)) continue;
        infill++;
        stubby += sp_network_free_length(network, s) < short_strut * network->strut_thickness[s];
    }
    return infill ? (double)stubby / infill : 0.0;
}

/* Round struts in space are short against their diameters even in open cells. There the block is no
 * bound of the beams, so the band is shown only for dense coupons. */
int sp_has_band(const sp_result *result)
{
    const sp_network *network = &result->network;
    if (network->built == SP_BUILT_SPATIAL && network->solid_fraction < cellular) return 0;
    return result->path.solid.count > 1 && sp_short_strut_share(result) > band_share;
}

double sp_measured_force(const sp_result *result, int percent)
{
    char name[SP_NAME_SIZE];
    int count, row = 0;
    const sp_measure_row *rows = sp_measure_rows(&count);
    snprintf(name, sizeof name, "force_%d", percent);
    while (row < count && strcmp(rows[row].name, name)) row++;
    if (row >= result->measure_count) return NAN;
    const sp_measure got = sp_result_median(result, row);
    return got.reached ? got.value : NAN;
}

/* Press the block as far as the infill was pressed, and make a path of it. */
static sp_path path_of_block(const sp_result *result, sp_step step[SP_SOLID_STRAINS + 1])
{
    const sp_path *path = &result->path;
    const sp_solid_curve *solid = &path->solid;
    const int bonded = sp_solid_is_bonded(&result->request);
    const double end = path->step_count ? 100 * sp_path_strain(path, path->step_count - 1) : 0;
    sp_path made = {.step = step};
    memcpy(made.size, path->size, sizeof made.size);
    for (int i = 0; i < solid->count && i < end + 1; i++) {
        const double share = i > end ? end - (i - 1) : 1; /* the last percent is a part only */
        const double before = i ? sp_solid_force(solid, i - 1, bonded) : 0;
        const double force = sp_solid_force(solid, i, bonded);
        step[made.step_count++] = (sp_step){
            .shortening = 0.01 * (i ? i - 1 + share : 0) * path->size[1],
            .force = before + share * (force - before),
        };
    }
    return made;
}

/* Return whether a measure is one of load that is taken at the same strain of both curves. */
static int is_of_load(const char *name, const char *unit)
{
    if (!strcmp(name, "energy_per_volume_densification")) return 0;
    return !strcmp(unit, "N") || !strcmp(unit, "N/mm") || !strcmp(unit, "MPa") ||
           !strcmp(unit, "MJ/m3");
}

int sp_band_of(const sp_result *result, int measure, double *low, double *high)
{
    int count;
    const sp_measure_row *row = &sp_measure_rows(&count)[measure];
    const sp_measure beams = result->measure[measure];
    sp_step step[SP_SOLID_STRAINS + 1];
    if (!is_of_load(row->name, row->unit) || !beams.reached || !sp_has_band(result)) return 0;
    const sp_path block = path_of_block(result, step);
    const sp_measure solid = sp_measure_take(row, &block, &result->network, &result->request);
    if (!solid.reached || !isfinite(solid.value) || !isfinite(beams.value)) return 0;
    *low = fmin(beams.value, solid.value);
    *high = fmax(beams.value, solid.value);
    return 1;
}
