/* These functions find how the force of the platens changes with the width of all lines or struts
 * (E235). */
#ifndef SP_WIDTH_H
#define SP_WIDTH_H

#include "state/system.h"

/* This is the same coupon printed a little narrower and a little wider, with meshes that are
 * alike. */
typedef struct sp_width_pair {
    sp_model *model[2]; /* narrower, wider; NULL when they are no longer needed */
    double step;        /* change of the width either way [mm] */
} sp_width_pair;

/* Free the two models: they take a tenth of the memory of a press. */
void sp_width_drop(sp_width_pair *pair);

/* Return 1 when the two models have the nodes, elements and unknowns of this one. */
int sp_width_is_alike(const sp_model *model, const sp_width_pair *pair);

/* Find dF/dw at fixed travel [N/mm] of the equilibrium that the system was last evaluated at.
 * `tangent` is dx/du there (`unknowns` per node, see sp_system_tangent). The history of the fibres
 * and the grips of friction stay as they are. The slope is NaN where one of the two coupons is
 * outside its law there. Errors: SP_NO_MEMORY. */
sp_status sp_width_force_slope(sp_context *context, const sp_system *system, const double *tangent,
                               const sp_width_pair *pair, double *slope);

/* Find d (first stiffness) / dw [N/mm2], for a system that stands unloaded. */
sp_status sp_width_stiffness_slope(sp_context *context, const sp_system *system,
                                   const double *tangent, const sp_width_pair *pair, double *slope);

#endif
