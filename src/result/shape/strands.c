/* Make strands of struts; see strands.h. */
#include "shape/strands.h"

#include <math.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "write/text.h"

#define WALL_FRONT 0.5 /* widths */

void sp_strand_set_free(sp_strand_set *set)
{
    sp_free(set->strand);
    sp_free(set->seen);
    *set = (sp_strand_set){0};
}

static sp_status make_room(sp_context *context, int count, size_t points, sp_strand_set *set)
{
    *set = (sp_strand_set){.count = count};
    set->strand = sp_alloc((size_t)count, sizeof *set->strand);
    set->seen = sp_alloc(points, 3 * sizeof *set->seen);
    if (set->strand && set->seen) return SP_OK;
    sp_strand_set_free(set);
    return sp_fail(context, SP_NO_MEMORY, "no memory to draw %d struts", count);
}

const char *sp_spatial_note(const sp_scene *scene)
{
    return sp_detail_is_last(scene->detail) ? SP_SIGHT_TEXT ". " SP_COARSE_TEXT
                                                            " " SP_CAUTION_SAFETY
                                            : SP_SIGHT_TEXT ". " SP_CAUTION_SAFETY;
}

/* Infill ends inside the wall, so the wall is drawn in front where they meet. */
static void put_walls_in_front(const sp_strand_set *set, const unsigned char *role)
{
    for (int s = 0; s < set->count; s++)
        if (role[s] == SP_ROLE_WALL) set->strand[s].front = WALL_FRONT * set->strand[s].width;
}

/* ---- shapes of a path ------------------------------------------------------------------------ */

sp_status sp_strands_of_shapes(sp_context *context, const sp_shapes *shapes, const double *position,
                               const sp_ink *ink, sp_strand_set *set)
{
    const sp_status status =
        make_room(context, shapes->strut_count, (size_t)shapes->point_count, set);
    if (status != SP_OK) return status;
    sp_see_all(position, shapes->point_count, set->seen);
    for (int s = 0; s < shapes->strut_count; s++) {
        const int first = shapes->first_point[s];
        set->strand[s] =
            (sp_strand){.seen = set->seen + 3 * (size_t)first,
                        .fibre_strain = ink->fibre_strain ? ink->fibre_strain + first : NULL,
                        .colour = ink->colour,
                        .count = shapes->first_point[s + 1] - first,
                        .width = ink->share * sp_shape_width(shapes, s)};
    }
    put_walls_in_front(set, shapes->role);
    return SP_OK;
}

/* ---- network --------------------------------------------------------------------------------- */

void sp_strand_point(const sp_network *network, int strut, double s, double point[3])
{
    const double *a = network->joint_position + 3 * (size_t)network->strut_joint[2 * strut];
    const double *b = network->joint_position + 3 * (size_t)network->strut_joint[2 * strut + 1];
    const double bow = network->strut_bow[strut] * sin(acos(-1.0) * s);
    for (int k = 0; k < 3; k++)
        point[k] = sp_finite(a[k] + s * (b[k] - a[k]) +
                             bow * network->strut_up[3 * (size_t)strut + (size_t)k]);
}

/* Return the width of a rectangle across its drawn axis: the shares of both sides of the section
 * that lie across it. */
static double seen_width(const sp_network *network, int strut, const double *first,
                         const double *last)
{
    const double thickness = sp_finite(network->strut_thickness[strut]);
    const double height = sp_finite(network->strut_height[strut]);
    double along[3], across[3], other[3], seen[3], width = 0.0;
    if (!(height > 0.0)) return thickness;
    const double x = last[0] - first[0], y = last[1] - first[1], length = hypot(x, y);
    if (!(length > 0.0))
        return sqrt(fmax(0.0, thickness) * height); /* the strut is seen from its end */
    const double *a = network->joint_position + 3 * (size_t)network->strut_joint[2 * strut];
    const double *b = network->joint_position + 3 * (size_t)network->strut_joint[2 * strut + 1];
    const double whole = sp_network_strut_length(network, strut);
    for (int k = 0; k < 3; k++) {
        along[k] = (b[k] - a[k]) / whole;
        across[k] = network->strut_up[3 * (size_t)strut + (size_t)k];
    }
    for (int k = 0; k < 3; k++)
        other[k] =
            along[(k + 1) % 3] * across[(k + 2) % 3] - along[(k + 2) % 3] * across[(k + 1) % 3];
    sp_see(across, seen);
    width += thickness * fabs(seen[0] * y - seen[1] * x) / length;
    sp_see(other, seen);
    return width + height * fabs(seen[0] * y - seen[1] * x) / length;
}

sp_status sp_strands_of_network(sp_context *context, const sp_network *network,
                                const char *const role_colour[2], sp_strand_set *set)
{
    const int struts = network->strut_count;
    const sp_status status = make_room(context, struts, (size_t)struts * SP_STRAND_POINTS, set);
    if (status != SP_OK) return status;
    for (int s = 0; s < struts; s++) {
        double *seen = set->seen + 3 * (size_t)s * SP_STRAND_POINTS, point[3];
        const int count = network->strut_bow[s] == 0.0 ? 2 : SP_STRAND_POINTS;
        for (int i = 0; i < count; i++) {
            sp_strand_point(network, s, (double)i / (count - 1), point);
            sp_see(point, seen + 3 * i);
        }
        set->strand[s] = (sp_strand){.seen = seen,
                                     .colour = role_colour[network->strut_role[s]],
                                     .count = count,
                                     .width = seen_width(network, s, seen, seen + 3 * (count - 1))};
    }
    put_walls_in_front(set, network->strut_role);
    return SP_OK;
}
