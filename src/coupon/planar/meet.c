/* Find where planar struts meet: joints that lie on them, and crossings. */
#include "planar/rules.h"

#include <math.h>

static const double more = 1 + 1e-6;      /* factor, so that rounding leaves nothing out */
static const double parallel_sine = 1e-9; /* of the angle below which two struts do not cross */

/* About one mean strut per cell, and no more cells than struts. */
void sp_planar_choose_grid(const sp_graph *graph, double total, double near, sp_graph_grid *grid)
{
    const double width = graph->high[0] - graph->low[0], height = graph->high[1] - graph->low[1];
    const int count = graph->strut_count + 1;
    grid->edge = fmax(fmax(total / count, sqrt(width * height / count)), 2 * near);
    grid->n[0] = (int)ceil(width / grid->edge) + 1;
    grid->n[1] = (int)ceil(height / grid->edge) + 1;
    grid->n[2] = 1;
}

/* A loose end moves onto the strut that it nearly meets; another joint draws the strut to itself.
 * Beside many struts a loose end would move from one to the next, so it must stay near the place
 * `from` where it was drawn: 0 when this strut is too far from there. */
static int put_on_strut(sp_graph *graph, int joint, int strut, double along, const double from[2],
                        double near)
{
    const double *a = graph->joint[graph->strut[strut].joint[0]].at;
    const double *b = graph->joint[graph->strut[strut].joint[1]].at;
    const double t = along / hypot(b[0] - a[0], b[1] - a[1]);
    const double x = a[0] + t * (b[0] - a[0]), y = a[1] + t * (b[1] - a[1]);
    if (hypot(x - from[0], y - from[1]) > more * near) return 0;
    graph->joint[joint].at[0] = x;
    graph->joint[joint].at[1] = y;
    return 1;
}

/* The joint is within `near` of the strut, and farther than that from its ends (closer ends are
 * merged). */
int sp_planar_lies_on(sp_graph *graph, int joint, int strut, double near, const double *loose,
                      double *along)
{
    const double *a = graph->joint[graph->strut[strut].joint[0]].at;
    const double *b = graph->joint[graph->strut[strut].joint[1]].at;
    const double *p = graph->joint[joint].at;
    const double dx = b[0] - a[0], dy = b[1] - a[1];
    const double area = (p[1] - a[1]) * dx - (p[0] - a[0]) * dy;
    const double square = dx * dx + dy * dy;
    if (area * area > more * near * near * square) return 0; /* most joints are far away */
    if (!(square > 0)) return 0; /* both ends were drawn to one place and are merged later */
    const double length = hypot(dx, dy), across = area / length;
    *along = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / length;
    if (fabs(across) > near || *along <= 0 || *along >= length) return 0;
    if (hypot(*along, across) < near || hypot(length - *along, across) < near) return 0;
    return !loose || put_on_strut(graph, joint, strut, *along, loose, near);
}

/* Most struts do not meet, which is seen before a length is found: share / whole is outside 0 .. 1.
 */
static int is_outside(double share, double whole)
{
    return whole > 0 ? share < 0 || share > more * whole : share > 0 || share < more * whole;
}

int sp_planar_cross(const sp_graph *graph, int s, int t, double near, double along[2], double at[3])
{
    const int *p = graph->strut[s].joint, *q = graph->strut[t].joint;
    const double *a = graph->joint[p[0]].at, *b = graph->joint[p[1]].at;
    const double *c = graph->joint[q[0]].at, *d = graph->joint[q[1]].at;
    const double ux = b[0] - a[0], uy = b[1] - a[1], vx = d[0] - c[0], vy = d[1] - c[1];
    const double cross = ux * vy - uy * vx;
    const double first = (c[0] - a[0]) * vy - (c[1] - a[1]) * vx;
    const double second = (c[0] - a[0]) * uy - (c[1] - a[1]) * ux;
    if (is_outside(first, cross) || is_outside(second, cross)) return 0;
    const double u = hypot(ux, uy), v = hypot(vx, vy);
    if (fabs(cross) <= parallel_sine * u * v) return 0;
    along[0] = first / cross * u;
    along[1] = second / cross * v;
    if (!(along[0] > near && along[0] < u - near && along[1] > near && along[1] < v - near))
        return 0;
    const double share = along[0] / u;
    at[0] = a[0] + share * ux, at[1] = a[1] + share * uy, at[2] = 0;
    return 1;
}
