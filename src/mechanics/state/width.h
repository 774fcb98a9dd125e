/* These say what a small change of the width of all lines or struts does to the force of the
 * platens (E235). */
#ifndef SP_WIDTH_H
#define SP_WIDTH_H

#include "state/system.h"

/* The same coupon printed a little narrower and a little wider, meshed alike. */
typedef struct sp_width_pair {
    const sp_model *model[2]; /* narrower, wider */
    double step;              /* by so much either way [mm] */
} sp_width_pair;

/* Return 1 when the two models have the nodes, elements and unknowns of this one. */
int sp_width_is_alike(const sp_model *model, const sp_width_pair *pair);

/* Find dF/dw at fixed travel [N/mm] of the equilibrium that the system was last evaluated at.
 * `tangent` is dx/du there (`unknowns` per node, see sp_system_tangent). What fibres have seen
 * before is held as it is, and so are the grips of friction. It is NaN where one of the two coupons
 * is outside its law there. Errors: SP_NO_MEMORY. */
sp_status sp_width_force_slope(sp_context *context, const sp_system *system, const double *tangent,
                               const sp_width_pair *pair, double *slope);

/* Find d (first stiffness) / dw [N/mm2], of a system that stands unloaded. */
sp_status sp_width_stiffness_slope(sp_context *context, const sp_system *system,
                                   const double *tangent, const sp_width_pair *pair, double *slope);

#endif
