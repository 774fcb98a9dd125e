/* Joint zones: how far a strut runs inside the body of its joint (docs/theory.md E39).
 *
 *   t_i, t_j  thickness of the strut and of a neighbour            [mm]
 *   alpha     angle between them at the joint, 0 .. pi
 *   r         zone = distance from the joint to where the edge of i leaves the material of j
 *
 * The inner edges of i and j meet at r = (t_j/2) / sin alpha + (t_i/2) / tan alpha (E39). Beyond a right angle the end of j
 * limits it too: its corner reaches no farther than (t_j/2) sin alpha along i, so that struts in line have none, also
 * when a thick one continues a thin one. In space the same holds in the plane of the two struts (E53). */
#include "network/parts.h"

#include <math.h>

#include "base/alloc.h"

static const double zone_share = 0.45; /* of the strut at most, so that some of it bends */
#define IN_LINE                                                                                    \
    (160.0 * M_PI / 180.0) /* a turn below 20 deg is one bead that curves, not a joint */

static double zone_of(double own, double other, double alpha)
{
    if (alpha >= IN_LINE) return 0;
    double r = 0.5 * (other + own * cos(alpha)) / fmax(sin(alpha), 1e-9);
    if (alpha > M_PI / 2) r = fmin(r, 0.5 * other * sin(alpha));
    return fmax(r, 0);
}

/* Direction of a strut away from one of its joints (end 0 or 1). */
static void direction(const sp_network *network, int strut, int end, double d[3])
{
    const int *joint = network->strut_joint + 2 * (size_t)strut;
    const double *a = network->joint_position + 3 * (size_t)joint[end];
    const double *b = network->joint_position + 3 * (size_t)joint[1 - end];
    for (int k = 0; k < 3; k++) d[k] = b[k] - a[k];
}

static void cross(const double a[3], const double b[3], double c[3])
{
    c[0] = a[1] * b[2] - a[2] * b[1];
    c[1] = a[2] * b[0] - a[0] * b[2];
    c[2] = a[0] * b[1] - a[1] * b[0];
}

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Thickness of a strut along u seen in its plane with v: of a rectangle, its extent across u in that plane (E53). */
static double seen_thickness(const sp_network *network, int strut, const double u[3],
                             const double v[3])
{
    double normal[3], across[3], axis3[3];
    double thickness = network->strut_thickness[strut];
    if (!network->strut_height || network->strut_height[strut] == 0) return thickness;
    const double *up = network->strut_up + 3 * (size_t)strut;
    cross(u, v, normal);
    cross(normal, u, across);
    cross(u, up, axis3);
    double size = sqrt(dot(across, across)), length = sqrt(dot(u, u));
    if (!(size > 0)) return thickness;
    return (fabs(dot(across, up)) * thickness +
            fabs(dot(across, axis3)) / length * network->strut_height[strut]) /
           size;
}

static double largest_zone(const sp_network *network, const int *ends, int count, int which)
{
    int own = ends[which] / 2;
    double u[3], v[3], normal[3], zone = 0;
    direction(network, own, ends[which] % 2, u);
    for (int k = 0; k < count; k++) {
        if (k == which) continue;
        direction(network, ends[k] / 2, ends[k] % 2, v);
        cross(u, v, normal);
        double alpha = atan2(sqrt(dot(normal, normal)), dot(u, v));
        zone = fmax(zone, zone_of(seen_thickness(network, own, u, v),
                                  seen_thickness(network, ends[k] / 2, v, u), alpha));
    }
    return zone;
}

sp_status sp_network_zones(sp_context *context, double scale, sp_network *network)
{
    sp_status status = SP_OK;
    int *first = sp_alloc((size_t)network->joint_count + 2, sizeof *first);
    int *ends = sp_alloc(2 * (size_t)network->strut_count, sizeof *ends); /* 2 strut + end */
    if (!first || !ends) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", network->strut_count);
        goto done;
    }
    int *start = first + 1;
    for (int k = 0; k < 2 * network->strut_count; k++) start[network->strut_joint[k] + 1]++;
    for (int n = 0; n < network->joint_count; n++) start[n + 1] += start[n];
    for (int k = 0; k < 2 * network->strut_count; k++) ends[start[network->strut_joint[k]]++] = k;
    for (int n = 0; n < network->joint_count; n++)
        for (int k = first[n]; k < first[n + 1]; k++) {
            double zone =
                largest_zone(network, ends + first[n], first[n + 1] - first[n], k - first[n]);
            double limit = zone_share * sp_network_strut_length(network, ends[k] / 2);
            network->strut_zone[ends[k]] = fmin(scale * zone, limit);
        }
done:
    sp_free(first);
    sp_free(ends);
    return status;
}
