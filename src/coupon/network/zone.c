/* Joint zones: how far a strut runs inside the body of its joint, and what that body lets it do
 * (docs/theory.md E39, E145-E148).
 *
 *   t_i, t_j  thickness of the strut and of a neighbour            [mm]
 *   angle     between them at the joint, 0 .. pi
 *   r         distance from the joint to where the edge of i leaves the material of j
 *   zone      rounding of the corners: 0.5 sharp, 1 a radius of a third of the thickness
 *
 * The inner edges of i and j meet at r = (t_j/2) / sin angle + (t_i/2) / tan angle (E39). Beyond a
 * right angle the end of j limits it too: its corner reaches no farther than (t_j/2) sin angle
 * along i, so that struts in line have none, also when a thick one continues a thin one. In space
 * the same holds in the plane of the two struts (E53).
 *
 * The body of a joint is solid, not rigid. Measured on solid elements
 * (benchmarks/physics/joints.c), a strut is as stiff as one without the length zone r of the
 * largest r in bending, without the sum of r^2/t_i over its neighbours times a share in stretching,
 * and without a length of about its own thickness in shear, for the ends cannot warp. */
#include "network/parts.h"

#include <math.h>

#include "base/alloc.h"
#include "base/so3.h"

static const double zone_share = 0.40; /* of the strut at most, so that a part of it bends */

/* Fitted to solid elements (theory.md, "What a zone stands for"), of the plane and of space: what
 * does not bend, per rounding and r (in space also where no strut goes on beyond the joint); what
 * does not stretch, per rounding and r^2/t, up to sharp corners. Of both: what a rounding of 1 more
 * adds in bending, per r^2/t, at most 2 r, and in stretching, per r^2/t of all neighbours but the
 * largest; what does not shear, in thicknesses, and the zone from which on that is all of it. */
static const double sharp = 0.5, bend_share[2] = {1, 1.2}, bend_share_end = 0.7,
                    stretch_share[2] = {0.32, 0.24}, fillet_share = 1.6,
                    fillet_stretch[2] = {0.55, 0.3}, shear_share = 1, full_shear_zone = 0.1;

/* Rounding of a case that gives none: beads leave round corners, whereas a file of struts in space
 * has sharp ones. */
double sp_corners_as_printed(int spatial)
{
    return spatial ? 0.5 : 1;
}

typedef struct meeting {
    double largest; /* r, over the neighbours */
    double alike;   /* the same length if that neighbour were as thick as the strut itself */
    double square;  /* sum of r^2 over them */
    int goes_on;    /* 1: a neighbour is in line with the strut */
} meeting;

static double reach_of(double own, double other, double alpha)
{
    if (alpha >= SP_IN_LINE) return 0;
    double r = 0.5 * (other + own * cos(alpha)) / fmax(sin(alpha), 1e-9);
    if (alpha > M_PI / 2) r = fmin(r, 0.5 * other * sin(alpha));
    return fmax(r, 0);
}

/* Find the direction of a strut away from one of its joints (end 0 or 1). */
static void direction(const sp_network *network, int strut, int end, double d[3])
{
    const int *joint = network->strut_joint + 2 * (size_t)strut;
    const double *a = network->joint_position + 3 * (size_t)joint[end];
    const double *b = network->joint_position + 3 * (size_t)joint[1 - end];
    for (int k = 0; k < 3; k++) d[k] = b[k] - a[k];
}

/* Return the thickness of a strut along u seen in its plane with v: for a rectangle, its extent
 * across u in that plane (E53). */
static double seen_thickness(const sp_network *network, int strut, const double u[3],
                             const double v[3])
{
    double normal[3], across[3], axis3[3];
    double thickness = network->strut_thickness[strut];
    if (!network->strut_height || network->strut_height[strut] == 0) return thickness;
    const double *up = network->strut_up + 3 * (size_t)strut;
    sp_cross(u, v, normal);
    sp_cross(normal, u, across);
    sp_cross(u, up, axis3);
    double size = sqrt(sp_dot(across, across)), length = sqrt(sp_dot(u, u));
    if (!(size > 0)) return thickness;
    return (fabs(sp_dot(across, up)) * thickness +
            fabs(sp_dot(across, axis3)) / length * network->strut_height[strut]) /
           size;
}

static meeting meeting_of(const sp_network *network, const int *ends, int count, int which)
{
    int own = ends[which] / 2;
    double u[3], v[3], normal[3];
    meeting sum = {0};
    direction(network, own, ends[which] % 2, u);
    for (int k = 0; k < count; k++) {
        if (k == which) continue;
        direction(network, ends[k] / 2, ends[k] % 2, v);
        sp_cross(u, v, normal);
        double alpha = atan2(sqrt(sp_dot(normal, normal)), sp_dot(u, v));
        double thickness = seen_thickness(network, own, u, v);
        double r = reach_of(thickness, seen_thickness(network, ends[k] / 2, v, u), alpha);
        if (r > sum.largest) sum.largest = r, sum.alike = reach_of(thickness, thickness, alpha);
        sum.square += r * r;
        sum.goes_on |= alpha >= SP_IN_LINE;
    }
    return sum;
}

/* Find the joint zone of one end (E145 .. E147). */
static void set_end(const sp_network *network, double z, const meeting *met, int end)
{
    const int spatial = network->dimension == 3;
    const double t = network->strut_thickness[end / 2], r = met->largest;
    const double alike = met->alike, body = fmax(r - sharp * alike, 0);
    const double rounded = fmax(z - sharp, 0) * fmin(fillet_share * alike / t, 2) * alike;
    const double whole = fmin(fmin(z / sharp, 1) * body + rounded, fmax(z, 1) * r);
    const double bent = (spatial && !met->goes_on ? bend_share_end : bend_share[spatial]) * whole;
    const double zone = fmin(bent, zone_share * sp_network_strut_length(network, end / 2));
    double *firm = network->strut_firm + 2 * (size_t)end;
    network->strut_zone[end] = zone;
    const double stretch = stretch_share[spatial] * fmin(z, sharp) * met->square +
                           fillet_stretch[spatial] * fmax(z - sharp, 0) * (met->square - r * r);
    firm[0] = fmin(stretch / t, zone);
    firm[1] = shear_share * fmin(t, zone / full_shear_zone);
}

sp_status sp_network_zones(sp_context *context, double rounding, sp_network *network)
{
    int *first = NULL, *ends = NULL;
    const sp_status status = sp_network_ends(context, network, &first, &ends);
    if (isnan(rounding)) rounding = sp_corners_as_printed(network->dimension == 3);
    for (int n = 0; status == SP_OK && n < network->joint_count; n++)
        for (int k = first[n]; k < first[n + 1]; k++) {
            const meeting met =
                meeting_of(network, ends + first[n], first[n + 1] - first[n], k - first[n]);
            set_end(network, rounding, &met, ends[k]);
        }
    sp_free(first);
    sp_free(ends);
    return status;
}
