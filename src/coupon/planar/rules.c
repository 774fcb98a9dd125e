/* What planar graphs have of their own: walls, platens that hold lines, and struts that are at
 * least as long as a bead is wide. */
#include "planar/rules.h"

#include <math.h>

static const double nearly_one = 1 - 1e-9; /* factor, so that rounding makes no stub */

static double distance(const double a[3], const double b[3])
{
    return hypot(b[0] - a[0], b[1] - a[1]);
}

static int is_short(const sp_graph *graph, int strut)
{
    return sp_graph_length(graph, strut) < nearly_one * sp_graph_slimmest(&graph->strut[strut]);
}

/* A free end may stay on a free side when its strut is a bead long, or when it ends a chain
 * (merging then draws it to the side). */
static int may_stay(const sp_graph *graph, int strut, int end, int other, int other_degree)
{
    const int side = graph->joint[end].side, is_walled = graph->wall > 0;
    (void)other;
    if (graph->stacked || (is_walled && side)) return 1;
    if (graph->standing) return other_degree == 2 || !is_short(graph, strut);
    if (is_walled) return 0;
    if (side & SP_SIDE_PLATENS) return 1;
    return side && (other_degree == 2 || !is_short(graph, strut));
}

/* Remove struts that lie in a wall, which is there already, and corner cuts shorter than a bead.
 * Without a wall, a line that was drawn in the face of a platen is a plate and stays. A line of a
 * pattern there is only where the coupon was cut: nobody asked for a plate, and it neither weighs
 * nor carries anything. */
static int drop_on_sides(sp_graph *graph)
{
    const int solid = graph->wall > 0                    ? SP_SIDE_AROUND
                      : graph->plates || graph->standing ? 0
                                                         : SP_SIDE_PLATENS;
    int count = 0;
    for (int s = 0; s < graph->strut_count; s++) {
        sp_strut *strut = &graph->strut[s];
        if (strut->joint[0] < 0) continue;
        const int a = graph->joint[strut->joint[0]].side, b = graph->joint[strut->joint[1]].side;
        if (a & b & solid)
            graph->dropped_flat += !(graph->wall > 0);
        else if (a && b && !(a & b) && is_short(graph, s))
            graph->dropped_stubs++;
        else
            continue;
        strut->joint[0] = -1;
        count++;
    }
    return count;
}

const sp_graph_rules sp_planar_rules = {
    .dimension = 2,
    .near = 0.5,
    .shortest = 1 - 1e-9,
    .slides = 0,
    .nothing_left = "an infill of which something reaches both platens (denser, fewer struts "
                    "missing, a drawing as tall as the coupon, or a wall around it)",
    .distance = distance,
    .join_ends = sp_planar_join_ends,
    .choose_grid = sp_planar_choose_grid,
    .lies_on = sp_planar_lies_on,
    .cross = sp_planar_cross,
    .may_stay = may_stay,
    .drop_on_sides = drop_on_sides,
    .density = sp_planar_density,
    .fill_solid = sp_planar_fill_solid,
};
