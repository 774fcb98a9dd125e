/* What a reader of a result must know; see caution.h. */
#include "write/caution.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "write/text.h"

#define SHORT_STRUT                                                                                \
    2.0 /* free length / bead width below which a strut is no beam (design: slenderness limit) */
#define SHORT_SHARE 0.05 /* share of such infill struts that is worth a caution */
#define LARGE_FIBRE                                                                                \
    1.0 /* fibre strain beyond which flexible filaments are near break (common practice, no source) */

static double short_strut_share(const sp_result *result)
{
    const sp_network *network = &result->network;
    int infill = 0, stubby = 0;
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL) continue;
        infill++;
        stubby += sp_network_free_length(network, s) < SHORT_STRUT * network->strut_thickness[s];
    }
    return infill ? (double)stubby / infill : 0.0;
}

static double largest_fibre_strain(const sp_path *path)
{
    double largest = 0.0;
    for (int i = 0; i < path->step_count; i++) largest = fmax(largest, path->step[i].fibre_strain);
    return largest;
}

int sp_cautions(const sp_result *result, char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE])
{
    const sp_path *path = &result->path;
    int count = 0;
    snprintf(lines[count++], SP_CAUTION_SIZE, "%s", SP_CAUTION_SAFETY);
    double share = short_strut_share(result), fibre = largest_fibre_strain(path);
    if (share > SHORT_SHARE)
        sp_format(
            lines[count++], SP_CAUTION_SIZE,
            "%.0f %% of the infill struts are shorter than %.3g bead widths between their joint "
            "zones: they are blocks rather than beams, expect larger errors.",
            100.0 * share, SHORT_STRUT);
    count += sp_network_flat_text(&result->network, lines[count], SP_CAUTION_SIZE);
    if (isfinite(fibre) && fibre > LARGE_FIBRE)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "Fibre strains reach %.0f %%: a filament may tear or yield before, and damage is "
                  "not modelled.",
                  100.0 * fibre);
    if (path->stop == SP_STOP_GAVE_UP || path->stop == SP_STOP_INTERRUPTED)
        sp_format(lines[count++], SP_CAUTION_SIZE,
                  "The press ended early (%s): figures beyond its end are not reached.",
                  sp_stop_text(path->stop));
    return count;
}

void sp_critical_text(const sp_path *path, char *text, size_t size)
{
    const sp_critical *critical = &path->critical;
    if (!critical->found && !(critical->strain > 0.0)) {
        sp_format(text, size, "not searched");
        return;
    }
    if (!critical->found) {
        sp_format(text, size, "no instability up to %.4g %% strain", 100.0 * critical->strain);
        return;
    }
    sp_format(text, size, "at %.4g %% strain, %.4g N (%s)", 100.0 * sp_finite(critical->strain),
              sp_finite(critical->force),
              critical->is_limit ? "limit point: the state ends there"
                                 : "bifurcation: a second state branches off");
    for (int i = 0; i < critical->strut_count && i < 3; i++) {
        size_t used = strlen(text);
        sp_format(text + used, size - used, "%s strut %d (%.3g %%)",
                  i ? "," : "; largest shares of the mode's bending energy:", critical->strut[i],
                  100.0 * sp_finite(critical->share[i]));
    }
}

void sp_buckled_text(const sp_result *result, char *text, size_t size)
{
    const sp_buckled *buckled = &result->path.buckled;
    if (!buckled->found) {
        sp_format(text, size,
                  "none: struts fold in bending, none passes a maximum of its compression");
        return;
    }
    const char *role = "";
    if (buckled->strut >= 0 && buckled->strut < result->network.strut_count)
        role = result->network.strut_role[buckled->strut] == SP_ROLE_WALL ? " (wall)" : " (infill)";
    sp_format(text, size,
              "strut %d%s at %.4g %% strain, axial force %.4g N, slenderness %.3g, %.3g x its "
              "clamped Euler load",
              buckled->strut, role, 100.0 * sp_finite(buckled->strain),
              sp_finite(buckled->strut_force), sp_finite(buckled->slenderness),
              sp_finite(buckled->euler_ratio));
}

void sp_coupon_text(const sp_result *result, char *text, size_t size)
{
    const sp_case *request = &result->request;
    const sp_network *network = &result->network;
    char seed[48] = "no flaws", rubs[48] = "";
    static const char *const hold[] = {"bonded", "sliding", "friction"};
    if (request->strut_friction > 0 || request->platen_friction > 0)
        sp_format(rubs, sizeof rubs, ", friction %.3g / %.3g (struts / platens)",
                  request->strut_friction, request->platen_friction);
    if (request->flaw_seed) sp_format(seed, sizeof seed, "flaw seed %d", request->flaw_seed);
    sp_format(text, size, "%s, density %.3g %%, %.4g x %.4g x %.4g mm, %s platens, %s%s",
              request->pattern, 100.0 * sp_finite(network->nominal_density), network->size[0],
              network->size[1], network->size[2], hold[request->platens], seed, rubs);
}
