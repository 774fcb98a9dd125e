/* The linear parts of an element are shear and twist; they relax when the law of the strut is one
 * in time (E126). */
#ifndef SP_LINEAR_PART_H
#define SP_LINEAR_PART_H

#include <math.h>

#include "law/in_time.h"
#include "section/section.h"
#include "section/spatial.h"

/* The scalars of an element stand behind its fibres in its history. Return where number `which` of
 * them begins. */
static inline size_t sp_linear_place(const sp_law *law, int points, int which)
{
    return (size_t)(points * law->history_count + which * sp_law_scalar_count(law));
}

/* This factor turns a twist into the shear strain at the outline, which starts to flow first. */
static inline double sp_twist_radius(const sp_spatial_section *section)
{
    return 0.5 * fmin(section->size[0], section->size[1]);
}

/* Find the energy, force and stiffness of one of these parts; under a law without time it is a
 * spring. */
static inline sp_law_scalar sp_linear_part(const sp_law *law, int points, int which, double length,
                                           double stiffness, double strain, const double *history)
{
    const double force = stiffness * strain;
    if (!law->time.on || !history) return (sp_law_scalar){0.5 * force * strain, force, stiffness};
    sp_law_scalar out =
        sp_law_scalar_eval(law, length, strain, history + sp_linear_place(law, points, which));
    out.energy *= stiffness;
    out.force *= stiffness;
    out.slope *= stiffness;
    return out;
}

#endif
