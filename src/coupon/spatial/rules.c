/* What spatial graphs have of their own: how struts meet in space, and what a platen holds. */
#include "spatial/rules.h"

#include <math.h>

/* Ends closer than this share of the strut are at the same place. */
static const double same_place = 1e-4;
static const double same_side = 1e-6; /* of the smallest side: a point closer than that is on it */
static const double more = 1 + 1e-9;
static const int cells_max = 2000000;
static const double parallel_square = 1e-6; /* sine squared below which two struts do not cross */

static double distance(const double a[3], const double b[3])
{
    return sqrt((b[0] - a[0]) * (b[0] - a[0]) + (b[1] - a[1]) * (b[1] - a[1]) +
                (b[2] - a[2]) * (b[2] - a[2]));
}

static sp_status join_ends(sp_context *context, sp_graph *graph)
{
    int changed = 0;
    sp_status status = sp_graph_compact(context, graph);
    return status == SP_OK ? sp_graph_merge(context, graph, same_place, 0, &changed) : status;
}

/* Cells about as long as the mean strut, but not many more than struts. */
static void choose_grid(const sp_graph *graph, double total, double near, sp_graph_grid *grid)
{
    double volume = 1;
    (void)near;
    grid->edge = total / (graph->strut_count > 0 ? graph->strut_count : 1);
    for (int k = 0; k < 3; k++) volume *= fmax(graph->high[k] - graph->low[k], grid->edge);
    grid->edge = fmax(grid->edge, cbrt(volume / cells_max));
    if (!(grid->edge > 0)) grid->edge = 1;
    for (int k = 0; k < 3; k++)
        grid->n[k] = 1 + (int)((graph->high[k] - graph->low[k]) / grid->edge);
}

/* Tell whether a joint lies on a strut. A foot close to an end is refused: it would cut the long
 * sides of a flat triangle in turn for ever. `along` is a share of the strut's length. */
static int is_beside_end(double along, double length, double near)
{
    return along * length <= near * more || (1 - along) * length <= near * more;
}

static int lies_on(sp_graph *graph, int joint, int strut, double near, const double *loose,
                   double *along)
{
    const double *at = graph->joint[joint].at;
    const double *a = graph->joint[graph->strut[strut].joint[0]].at;
    const double *b = graph->joint[graph->strut[strut].joint[1]].at;
    double dot = 0, square = 0, on[3];
    (void)loose;
    for (int k = 0; k < 3; k++) {
        dot += (at[k] - a[k]) * (b[k] - a[k]);
        square += (b[k] - a[k]) * (b[k] - a[k]);
    }
    *along = dot / square;
    for (int k = 0; k < 3; k++) on[k] = a[k] + *along * (b[k] - a[k]);
    return distance(at, on) < near && !is_beside_end(*along, distance(a, b), near);
}

/* The crossing lies in the middle between the nearest points of the two lines. */
static int cross(const sp_graph *graph, int s, int t, double near, double along[2], double at[3])
{
    const double *a = graph->joint[graph->strut[s].joint[0]].at;
    const double *b = graph->joint[graph->strut[s].joint[1]].at;
    const double *c = graph->joint[graph->strut[t].joint[0]].at;
    const double *d = graph->joint[graph->strut[t].joint[1]].at;
    double uu = 0, vv = 0, uv = 0, uw = 0, vw = 0, p[3], q[3];
    for (int k = 0; k < 3; k++) {
        double u = b[k] - a[k], v = d[k] - c[k], w = a[k] - c[k];
        uu += u * u, vv += v * v, uv += u * v, uw += u * w, vw += v * w;
    }
    const double det = uu * vv - uv * uv;
    if (det <= parallel_square * uu * vv) return 0;
    along[0] = (uv * vw - vv * uw) / det;
    along[1] = (uu * vw - uv * uw) / det;
    for (int k = 0; k < 3; k++) {
        p[k] = a[k] + along[0] * (b[k] - a[k]);
        q[k] = c[k] + along[1] * (d[k] - c[k]);
        at[k] = 0.5 * (p[k] + q[k]);
    }
    return distance(p, q) < near && !is_beside_end(along[0], distance(a, b), near) &&
           !is_beside_end(along[1], distance(c, d), near);
}

/* A platen holds the end of a strut that leaves it, and of a plate. Any other strut in its face
 * with a free end is cut off. */
static int may_stay(const sp_graph *graph, int strut, int end, int other, int other_degree)
{
    const int platen = graph->joint[end].side & SP_SIDE_PLATENS;
    (void)other_degree;
    return platen &&
           (graph->strut[strut].role == SP_ROLE_WALL || !(platen & graph->joint[other].side));
}

const sp_graph_rules sp_spatial_rules = {
    .dimension = 3,
    .near = 0.3,
    .shortest = 0,
    .slides = 1,
    .nothing_left = "struts of which something reaches both platens (smaller cells, fewer struts "
                    "missing, a drawing as tall as the coupon)",
    .distance = distance,
    .join_ends = join_ends,
    .choose_grid = choose_grid,
    .lies_on = lies_on,
    .cross = cross,
    .may_stay = may_stay,
    .drop_on_sides = NULL,
    .density = sp_spatial_density,
    .fill_solid = sp_spatial_fill_solid,
};

sp_graph sp_spatial_graph(const double size[3])
{
    return (sp_graph){.rules = &sp_spatial_rules,
                      .high = {size[0], size[1], size[2]},
                      .same = same_side * fmin(size[0], fmin(size[1], size[2]))};
}
