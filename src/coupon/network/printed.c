/* What the print adds to the drawing: lines and diameters that come out wider or narrower than
 * drawn, and ends of struts that are thicker where struts meet (docs/theory.md, E190). */
#include "network/parts.h"

#include <math.h>
#include <stdio.h>

#include "base/alloc.h"
#include "case/case_parts.h"

enum { passes_most = 64 };              /* along a curve of short pieces */
static const double least_extra = 1e-6; /* [mm] a taper with less left does not go on */

static sp_status refuse_width(sp_context *context, const sp_case *request, int planar,
                              double thickness)
{
    char text[120];
    snprintf(text, sizeof text,
             "an offset that leaves a twentieth of every strut (the thinnest is drawn %.4g mm)",
             thickness);
    return sp_case_fail_at(context, request,
                           planar ? "bead.width_offset" : "infill.diameter_offset", NULL, text,
                           NULL);
}

sp_status sp_network_print_widths(sp_context *context, const sp_case *request, double bead,
                                  sp_network *network)
{
    const int planar = bead > 0;
    const double offset = planar ? request->width_offset : request->diameter_offset;
    double thinnest = INFINITY;
    if (!(fabs(offset) > 0)) return SP_OK;
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_height && network->strut_height[s] > 0) continue;
        thinnest = fmin(thinnest, network->strut_thickness[s]);
    }
    if (!(thinnest + offset > 0.05 * thinnest))
        return refuse_width(context, request, planar, thinnest);
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_height && network->strut_height[s] > 0) continue;
        network->strut_thickness[s] += offset;
    }
    return SP_OK;
}

/* Return 1 when the strut ends there without another, or goes on in line into one other. */
static int is_no_joint(const sp_network *network, const int *first, const int *ends, int end)
{
    const int joint = network->strut_joint[end], at = first[joint];
    const int count = first[joint + 1] - at;
    double d[2][3], sum = 0, size[2] = {0, 0};
    if (count != 2) return count < 2;
    for (int i = 0; i < 2; i++) {
        const int *pair = network->strut_joint + 2 * (size_t)(ends[at + i] / 2);
        const double *p = network->joint_position + 3 * (size_t)joint;
        const double *q = network->joint_position + 3 * (size_t)pair[ends[at + i] % 2 ? 0 : 1];
        for (int k = 0; k < 3; k++) d[i][k] = q[k] - p[k], size[i] += d[i][k] * d[i][k];
    }
    for (int k = 0; k < 3; k++) sum += d[0][k] * d[1][k];
    return sum <= cos(SP_IN_LINE) * sqrt(size[0] * size[1]);
}

/* Return what is left at this end of a strut of the taper of its other end [mm]. */
static double left_at(const sp_network *network, int end)
{
    const int s = end / 2, far = end ^ 1;
    const double length = sp_network_strut_length(network, s) - network->strut_zone[far];
    return network->strut_end_extra[far] * fmax(0, 1 - length / network->strut_taper[s]);
}

/* A taper that is longer than its strut continues in the next strut in line, so that a curve of
 * short pieces has no step. */
static void pass_on(sp_network *network, const int *first, const int *ends)
{
    int goes_on = 1;
    for (int pass = 0; pass < passes_most && goes_on; pass++) {
        goes_on = 0;
        for (int e = 0; e < 2 * network->strut_count; e++) {
            const int joint = network->strut_joint[e], at = first[joint];
            if (first[joint + 1] - at != 2 || !is_no_joint(network, first, ends, e)) continue;
            const double left = left_at(network, ends[at] == e ? ends[at + 1] : ends[at]);
            if (fabs(left) <= fabs(network->strut_end_extra[e]) + least_extra) continue;
            network->strut_end_extra[e] = left;
            goes_on = 1;
        }
    }
}

sp_status sp_network_thicken(sp_context *context, const sp_case *request, double bead,
                             sp_network *network)
{
    int *first = NULL, *ends = NULL;
    const size_t struts = (size_t)network->strut_count;
    if (!(fabs(request->thickening - 1) > 0)) return SP_OK;
    sp_status status = sp_network_ends(context, network, &first, &ends);
    network->strut_end_extra = sp_alloc(2 * struts, sizeof *network->strut_end_extra);
    network->strut_taper = sp_alloc(struts, sizeof *network->strut_taper);
    if (status == SP_OK && (!network->strut_end_extra || !network->strut_taper))
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %zu struts", struts);
    for (int s = 0; status == SP_OK && s < network->strut_count; s++) {
        const double own = network->strut_thickness[s];
        const double line = bead > 0 ? fmin(own, bead + request->width_offset) : own;
        network->strut_taper[s] = request->thickening_length * line;
        for (int k = 0; k < 2; k++)
            if (!is_no_joint(network, first, ends, 2 * s + k))
                network->strut_end_extra[2 * s + k] = (request->thickening - 1) * line;
    }
    if (status == SP_OK) pass_on(network, first, ends);
    sp_free(first);
    sp_free(ends);
    return status;
}
