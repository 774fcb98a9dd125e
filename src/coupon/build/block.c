/* Cut a block of a coupon, seen from above; see block.h. */
#include "build/block.h"

#include <math.h>
#include <string.h>

#include "case/case_parts.h"
#include "pattern/pattern.h"
#include "planar/plan.h"

/* Places nearer to each other than this share of a cell count as one. */
static const double same_place = 1e-6;

/* Sum the length of the lines of either role times their thickness [mm2]. */
static void measure_lines(const sp_network *plan, double area[2])
{
    area[SP_ROLE_INFILL] = area[SP_ROLE_WALL] = 0;
    for (int s = 0; s < plan->strut_count; s++)
        area[plan->strut_role[s]] += sp_network_strut_length(plan, s) * plan->strut_thickness[s];
}

/* Find the shortest way along x (axis 0) or y that brings a turned pattern onto itself; 0 where
 * none is as short as eight of its lattice vectors. */
static double period_along(double vector[2][2], double angle, int axis)
{
    enum { MOST = 8 };
    const double c = cos(angle), s = sin(angle);
    double least = INFINITY;
    for (int i = -MOST; i <= MOST; i++)
        for (int j = -MOST; j <= MOST; j++) {
            const double x = i * vector[0][0] + j * vector[1][0],
                         y = i * vector[0][1] + j * vector[1][1];
            const double way[2] = {c * x - s * y, s * x + c * y};
            if (way[axis] > 1e-6 && fabs(way[1 - axis]) < 1e-6) least = fmin(least, way[axis]);
        }
    return least < INFINITY ? least : 0;
}

/* Return the side of a block of at least this many cells that is cut as the whole coupon is, whose
 * pattern lies about its middle: whole periods shorter on either side. */
static double block_side(double whole, double least, double period)
{
    if (whole <= least) return whole;
    if (!(period > 0)) return least;
    return whole - 2 * period * floor((whole - least) / (2 * period) + 1e-9);
}

/* 1 when the line between the joints at p and q is one of the plan. */
static int is_line(const sp_network *plan, const double p[2], const double q[2])
{
    const double near = same_place * plan->cell_size;
    for (int s = 0; s < plan->strut_count; s++)
        for (int turned = 0; turned < 2; turned++) {
            const double *a = plan->joint_position + 3 * plan->strut_joint[2 * s + turned],
                         *b = plan->joint_position + 3 * plan->strut_joint[2 * s + 1 - turned];
            if (hypot(a[0] - p[0], a[1] - p[1]) < near && hypot(b[0] - q[0], b[1] - q[1]) < near)
                return 1;
        }
    return 0;
}

/* 1 when the line of the plan meets no side but at a right angle. */
static int crosses_sides(const sp_network *plan, const double p[2], const double q[2])
{
    const double near = same_place * plan->cell_size;
    for (int axis = 0; axis < 2; axis++)
        for (int end = 0; end < 2; end++) {
            const double at = (end ? q : p)[axis];
            if (at > near && at < plan->size[axis] - near) continue;
            if (fabs(p[1 - axis] - q[1 - axis]) > near) return 0;
        }
    return 1;
}

/* 1 when every side of a plan that is whole periods wide and high is a plane of symmetry of its
 * endless pattern, which cuts lines at right angles alone: then so are its middles, and the other
 * way round. */
static int sides_are_mirrors(const sp_network *plan)
{
    for (int s = 0; s < plan->strut_count; s++) {
        const double *a = plan->joint_position + 3 * plan->strut_joint[2 * s],
                     *b = plan->joint_position + 3 * plan->strut_joint[2 * s + 1];
        if (!crosses_sides(plan, a, b)) return 0;
        for (int axis = 0; axis < 2; axis++) {
            double p[2] = {a[0], a[1]}, q[2] = {b[0], b[1]};
            p[axis] = plan->size[axis] - p[axis];
            q[axis] = plan->size[axis] - q[axis];
            if (!is_line(plan, p, q)) return 0;
        }
    }
    return 1;
}

/* Turn and shift the pattern of a block of this many periods a side until its sides are planes of
 * symmetry of the pattern without flaws; *found is 1 when they are. */
static sp_status find_mirrors(sp_context *context, double vector[2][2], double cell, sp_case *part,
                              int *found)
{
    enum { ANGLES = 2, SHIFTS = 4 };
    static const double angle[ANGLES] = {0, 45};
    const int cells = part->block;
    *found = 0;
    for (int i = 0; i < ANGLES * SHIFTS; i++) {
        sp_network plan;
        double *const side[2] = {&part->width, &part->height};
        part->angle = angle[i / SHIFTS];
        part->offset_x = i % 2 ? 0.5 : 0;
        part->offset_y = i / 2 % 2 ? 0.5 : 0;
        int has_periods = 1;
        for (int axis = 0; axis < 2; axis++) {
            const double period = cell * period_along(vector, part->angle * M_PI / 180, axis);
            has_periods &= period > 0;
            *side[axis] = cells * period;
        }
        if (!has_periods) continue;
        const sp_status status = sp_planar_build(context, part, NULL, 0, &plan);
        if (status != SP_OK) return status;
        *found = sides_are_mirrors(&plan);
        sp_network_free(&plan);
        if (*found) return SP_OK;
    }
    return SP_OK;
}

sp_status sp_block_take(sp_context *context, const sp_case *flat, const sp_drawing *drawing,
                        int with_flaws, sp_network *plan, sp_network *network)
{
    sp_case part = *flat;
    sp_network block;
    double of_whole[2], of_block[2];
    double vector[2][2] = {{0}};
    const double cell = plan->cell_size, angle = sp_pattern_angle(flat) * M_PI / 180,
                 least = flat->block * cell + flat->wall_beads * flat->bead_width;
    const sp_pattern_row *pattern = sp_pattern_find(flat->pattern);
    const int mirror = flat->block_sides == SP_SIDES_MIRROR;
    sp_status status = SP_OK;
    int found = 0;
    if (pattern->perfect) status = sp_pattern_lattice(context, pattern, flat, vector);
    if (status == SP_OK && mirror && pattern->perfect)
        status = find_mirrors(context, vector, cell, &part, &found);
    if (status != SP_OK) return status;
    if (mirror && !found)
        return sp_case_fail_at(context, flat, "coupon.block_sides", NULL,
                               "free for this pattern, which has no planes of symmetry at right "
                               "angles to all walls that they cut (square has)",
                               NULL);
    if (!mirror) {
        part.width = block_side(flat->width, least, cell * period_along(vector, angle, 0));
        part.height = block_side(flat->height, least, cell * period_along(vector, angle, 1));
    }
    const int wide = part.width >= flat->width, high = part.height >= flat->height;
    if ((wide && high) || (mirror && (wide || high))) return SP_OK;
    status = sp_planar_build(context, &part, drawing, with_flaws, &block);
    if (status != SP_OK) return status;
    measure_lines(plan, of_whole);
    measure_lines(&block, of_block);
    network->block = flat->block;
    network->mirror = mirror;
    network->whole[0] = flat->width;
    network->whole[1] = flat->depth;
    network->whole[2] = flat->height;
    for (int role = 0; role < 2; role++)
        network->stands_for[role] = of_block[role] > 0 ? of_whole[role] / of_block[role] : 1;
    block.solid_fraction = plan->solid_fraction;
    block.nominal_density = plan->nominal_density;
    sp_network_free(plan);
    *plan = block;
    return SP_OK;
}
