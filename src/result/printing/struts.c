/* Rods and bars of triangles.
 *
 * A rod is a prism of AROUND sides whose cross-section has the area of the circle, with rings of
 * corners towards the pole of the ball at each end. Where rods meet, their half balls make the ball
 * of the joint. Bars run on by half their own width, so that bars which meet at a right angle make
 * a full corner. */
#include "printing/struts.h"

#include <math.h>

#include "printing/taper.h"
#include "base/so3.h"

enum {
    AROUND = 12,
    RINGS = 3
}; /* corners around a rod; rings from the edge of a half ball to its pole */

typedef struct frame {
    double a[3], b[3]; /* ends */
    double axis[3][3]; /* along the strut, axis 2 and axis 3 of its section */
} frame;

static int frame_of(const sp_network *network, int strut, frame *f)
{
    const int *joint = network->strut_joint + 2 * (size_t)strut;
    double length = 0;
    for (int k = 0; k < 3; k++) {
        f->a[k] = network->joint_position[3 * (size_t)joint[0] + (size_t)k];
        f->b[k] = network->joint_position[3 * (size_t)joint[1] + (size_t)k];
        f->axis[0][k] = f->b[k] - f->a[k];
        f->axis[1][k] = network->strut_up[3 * (size_t)strut + (size_t)k];
        length += f->axis[0][k] * f->axis[0][k];
    }
    length = sqrt(length);
    if (!(length > 0)) return 0;
    for (int k = 0; k < 3; k++) f->axis[0][k] /= length;
    sp_cross(f->axis[0], f->axis[1], f->axis[2]);
    return 1;
}

static int add_corner(sp_surface *surface, const frame *f, const double origin[3], double along,
                      double second, double third)
{
    double p[3];
    for (int k = 0; k < 3; k++)
        p[k] = origin[k] + along * f->axis[0][k] + second * f->axis[1][k] + third * f->axis[2][k];
    return sp_surface_vertex(surface, p[0], p[1], p[2]);
}

/* Add the triangles between two rings of corners; the second ring is the farther one along the
 * strut. */
static void join_rings(sp_surface *surface, int near, int far, int count)
{
    for (int i = 0; i < count; i++) {
        const int next = (i + 1) % count;
        sp_surface_triangle(surface, near + i, near + next, far + next);
        sp_surface_triangle(surface, near + i, far + next, far + i);
    }
}

/* Add a ring of corners about the axis; returns its first corner. */
static int add_ring(sp_surface *surface, const frame *f, const double origin[3], double along,
                    double radius)
{
    const int first = surface->vertex_count;
    for (int i = 0; i < AROUND; i++) {
        const double turn = 2 * M_PI * i / AROUND;
        add_corner(surface, f, origin, along, radius * cos(turn), radius * sin(turn));
    }
    return first;
}

/* Add a rod whose diameter may change between its cuts. `diameter`: at its ends and cuts. */
static void add_rod(sp_surface *surface, const frame *f, int cuts, const double *at,
                    const double *diameter)
{
    /* The polygon has the area of the circle. */
    const double same_area = 0.5 * sqrt(2 * M_PI / (AROUND * sin(2 * M_PI / AROUND)));
    const double first = same_area * diameter[0], last = same_area * diameter[cuts + 1];
    const int from = add_corner(surface, f, f->a, -first, 0, 0);
    int before = -1, ring = -1, start = -1;
    for (int r = 1 - RINGS; r <= cuts + RINGS; r++) {
        const double angle = M_PI / 2 * (r <= 0 ? r : r - cuts - 1) / RINGS;
        if (r <= 0)
            ring = add_ring(surface, f, f->a, first * sin(angle), first * cos(angle));
        else if (r <= cuts)
            ring = add_ring(surface, f, f->a, at[r - 1], same_area * diameter[r]);
        else
            ring = add_ring(surface, f, f->b, last * sin(angle), last * cos(angle));
        if (before >= 0) join_rings(surface, before, ring, AROUND);
        if (start < 0) start = ring;
        before = ring;
    }
    const int upto = add_corner(surface, f, f->b, last, 0, 0);
    for (int i = 0; i < AROUND; i++) {
        const int next = (i + 1) % AROUND;
        sp_surface_triangle(surface, from, start + next, start + i);
        sp_surface_triangle(surface, upto, ring + i, ring + next);
    }
}

static void add_bar(sp_surface *surface, const frame *f, double size2, double size3)
{
    const double more = 0.5 * fmin(size2, size3), y = 0.5 * size2, z = 0.5 * size3;
    int ring[2];
    for (int end = 0; end < 2; end++) {
        const double *origin = end ? f->b : f->a;
        const double along = end ? more : -more;
        ring[end] = add_corner(surface, f, origin, along, y, -z);
        add_corner(surface, f, origin, along, y, z);
        add_corner(surface, f, origin, along, -y, z);
        add_corner(surface, f, origin, along, -y, -z);
    }
    join_rings(surface, ring[0], ring[1], 4);
    for (int end = 0; end < 2; end++) {
        const int c = ring[end];
        sp_surface_triangle(surface, c, end ? c + 1 : c + 2, end ? c + 2 : c + 1);
        sp_surface_triangle(surface, c, end ? c + 2 : c + 3, end ? c + 3 : c + 2);
    }
}

static void add_strut(const sp_network *network, int s, double scale, sp_surface *surface)
{
    frame f;
    double at[SP_CUTS_MAX], diameter[SP_CUTS_MAX + 2];
    if (!frame_of(network, s, &f)) return;
    surface->shell_count++;
    if (network->strut_height[s] > 0) {
        add_bar(surface, &f, scale * network->strut_thickness[s], scale * network->strut_height[s]);
        return;
    }
    const int cuts = sp_taper_cuts(network, s, at);
    for (int i = 0; i < cuts + 2; i++) {
        const double along = i == 0     ? 0
                             : i > cuts ? sp_network_strut_length(network, s)
                                        : at[i - 1];
        diameter[i] = scale * sp_network_thickness_at(network, s, along);
    }
    add_rod(surface, &f, cuts, at, diameter);
}

sp_status sp_struts_add(sp_context *context, const sp_network *network, double scale,
                        sp_surface *surface)
{
    const size_t struts = (size_t)network->strut_count;
    const size_t rings = 2 * RINGS + (network->strut_taper ? SP_CUTS_MAX : 0);
    const sp_status status = sp_surface_reserve(context, surface, struts * (rings * AROUND + 2),
                                                struts * (2 * rings * AROUND));
    for (int s = 0; status == SP_OK && s < network->strut_count; s++)
        add_strut(network, s, scale, surface);
    return status;
}
