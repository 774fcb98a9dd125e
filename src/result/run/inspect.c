/* Figures of a case and its network that are known before any press. */
#include <strutpress/inspect.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "law/hardness.h"
#include "law/law.h"
#include "measure/spread.h"
#include "pattern/pattern.h"
#include "solid/solid.h"

/* A strut is hardly a beam when its free length is less than this many widths of the bead. */
static const double short_beads = 2;
/* With fewer cells across the width the walls decide (common practice, no source). */
static const double fewest_cells = 3;

/* Return the free length over the radius of gyration of the section about its softer axis. */
static double slenderness_of(const sp_network *network, int s, double free_length)
{
    double thickness = network->strut_thickness[s];
    if (network->dimension == 2) return free_length * sqrt(12) / thickness;
    double height = network->strut_height[s];
    return height > 0 ? free_length * sqrt(12) / fmin(thickness, height)
                      : 4 * free_length / thickness;
}

/* Return the width that a strut is called short against: the bead, or in space its own diameter. */
static double thickness_of(const sp_case *request, const sp_network *network, int s)
{
    return network->dimension == 2 ? request->bead_width : network->strut_thickness[s];
}

/* Measure the walls that stand along the load: their lengths between joint lines. */
static int measure_panels(const sp_network *network, double *length, double *slenderness,
                          sp_inspection *out)
{
    int n = 0;
    for (int i = 0; i < network->panel_count; i++) {
        const sp_panel *panel = &network->panel[i];
        if (panel->role != SP_ROLE_INFILL) continue;
        length[n] = panel->length;
        slenderness[n] = panel->length * sqrt(12) / panel->thickness;
        out->short_struts += panel->length < short_beads * panel->thickness;
        n++;
    }
    return n;
}

/* List the free lengths and slendernesses of the infill struts; both arrays have room for every
 * strut. */
static void measure_struts(const sp_case *request, const sp_network *network, double *free_length,
                           double *slenderness, sp_inspection *out)
{
    int n = network->panel ? measure_panels(network, free_length, slenderness, out) : 0;
    const int struts = network->panel ? 0 : network->strut_count;
    int bonds = 0;
    for (int s = 0; s < struts; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL) continue;
        if (sp_network_is_bond(network, s)) {
            bonds++;
            continue;
        }
        free_length[n] = sp_network_free_length(network, s);
        slenderness[n] = slenderness_of(network, s, free_length[n]);
        out->short_struts += free_length[n] < short_beads * thickness_of(request, network, s);
        n++;
    }
    out->infill_struts = n;
    out->bonds = bonds;
    out->wall_struts = (network->panel ? network->panel_count : network->strut_count) - n - bonds;
    out->free_length_median = sp_spread_of(free_length, n).median;
    out->slenderness_median = sp_spread_of(slenderness, n).median; /* this sorts the array */
    out->slenderness_least = n ? slenderness[0] : NAN;
    out->slenderness_most = n ? slenderness[n - 1] : NAN;
}

static void warn_of_doubts(sp_context *context, const sp_case *request, const sp_network *network,
                           const sp_inspection *in)
{
    char words[SP_MESSAGE_SIZE];
    if (sp_network_flat_text(network, request, words, sizeof words)) sp_warn(context, "%s", words);
    if (sp_network_panel_text(network, words, sizeof words)) sp_warn(context, "%s", words);
    if (sp_network_stack_text(network, words, sizeof words)) sp_warn(context, "%s", words);
    if (sp_network_skin_text(network, request, words, sizeof words)) sp_warn(context, "%s", words);
    if (sp_network_block_text(network, request, words, sizeof words)) sp_warn(context, "%s", words);
    int many = in->dimension == 2 ? in->free_length_median < short_beads * request->bead_width
                                  : 2 * in->short_struts > in->infill_struts;
    if (many)
        sp_warn(context,
                "%d of %d infill struts are shorter than %g %s between their joints (median "
                "%.3g mm): beams describe such a coupon poorly",
                in->short_struts, in->infill_struts, short_beads,
                in->dimension == 2 ? "bead widths" : "diameters", in->free_length_median);
    const int few = sp_network_few_cells_text(network, request, words, sizeof words);
    if (in->cells_across < fewest_cells && !(few && strstr(words, "wide")))
        sp_warn(context, "%.2g cells across the width: below %g the %s decide, not the pattern",
                in->cells_across, fewest_cells, in->dimension == 2 ? "walls" : "faces");
    if (few) sp_warn(context, "%s", words);
    if (in->modulus_high > 0 &&
        (request->modulus < in->modulus_low || request->modulus > in->modulus_high))
        sp_warn(context, "the modulus %g MPa is outside its hardness band %.3g .. %.3g MPa",
                request->modulus, in->modulus_low, in->modulus_high);
    if (sp_hardness_caution(request, words, sizeof words)) sp_warn(context, "%s", words);
}

static sp_status inspect_law(sp_context *context, const sp_case *request, sp_inspection *out)
{
    sp_law law;
    sp_case pressed = *request;
    if (sp_case_is_solid(request))
        pressed.strain_state = SP_UNIAXIAL; /* the block is a free bar, E85 */
    sp_status status = sp_law_prepare(context, &pressed, &law);
    if (status != SP_OK) return status;
    out->law_modulus = law.modulus;
    out->stretch_min = law.stretch_min;
    out->stretch_max = law.stretch_max;
    if (!law.row->history) {
        const double size[3] = {request->width, request->height, request->depth};
        out->shape_factor = sp_solid_shape_factor(size);
        out->solid_raise = sp_solid_raise(out->shape_factor, law.poisson_ratio);
    }
    sp_law_free(&law);
    return SP_OK;
}

/* Round-off of a turn leaves a little of what should be zero: remove it. */
static double without_dust(double cell, double share)
{
    return fabs(share) < 1e-12 ? 0 : cell * share;
}

/* Find the lattice vectors of a planar pattern, turned as it lies in the coupon. */
static sp_status find_lattice(sp_context *context, const sp_case *request, double cell,
                              double lattice[2][2])
{
    const sp_pattern_row *pattern = sp_pattern_find(request->pattern);
    const double c = cos(request->angle * M_PI / 180), s = sin(request->angle * M_PI / 180);
    double vector[2][2];
    for (int k = 0; k < 2; k++) lattice[k][0] = lattice[k][1] = NAN;
    if (!pattern || !(cell > 0)) return SP_OK;
    const sp_status status = sp_pattern_lattice(context, pattern, request, vector);
    for (int k = 0; status == SP_OK && k < 2; k++) {
        lattice[k][0] = without_dust(cell, c * vector[k][0] - s * vector[k][1]);
        lattice[k][1] = without_dust(cell, s * vector[k][0] + c * vector[k][1]);
    }
    return status;
}

sp_status sp_inspect(sp_context *context, const sp_case *request, const sp_network *network,
                     sp_inspection *inspection)
{
    size_t count = (size_t)network->strut_count;
    double *free_length = sp_alloc(count, sizeof *free_length);
    double *slenderness = sp_alloc(count, sizeof *slenderness);
    sp_status status = SP_OK;
    memset(inspection, 0, sizeof *inspection);
    if (!free_length || !slenderness) {
        status = sp_fail(context, SP_NO_MEMORY, "out of memory for the figures of %d struts",
                         network->strut_count);
        goto done;
    }
    status = inspect_law(context, request, inspection);
    if (status == SP_OK)
        status = find_lattice(context, request, network->cell_size, inspection->lattice);
    if (status != SP_OK) goto done;
    measure_struts(request, network, free_length, slenderness, inspection);
    inspection->dimension = network->dimension;
    inspection->joints = network->joint_count;
    inspection->cell_size = network->cell_size > 0 ? network->cell_size : NAN;
    inspection->cells_across = request->width / inspection->cell_size;
    inspection->solid_fraction = network->solid_fraction;
    inspection->nominal_density = network->nominal_density;
    inspection->mass = network->solid_fraction * request->width * request->height * request->depth *
                       request->solid_density * 1e-3; /* mm3 x g/cm3 */
    const sp_hardness band = sp_hardness_band(request->shore_a, request->shore_d);
    inspection->modulus_centre = band.centre;
    inspection->modulus_low = band.low;
    inspection->modulus_high = band.high;
    warn_of_doubts(context, request, network, inspection);
done:
    sp_free(free_length);
    sp_free(slenderness);
    return status;
}
