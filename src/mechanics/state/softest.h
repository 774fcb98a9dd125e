/* The direction in which a state gives way most easily: inverse iteration with the factor at hand
 * (E18). */
#ifndef SP_SOFTEST_H
#define SP_SOFTEST_H

#include "state/system.h"

/* Of A v = s D v, A the matrix last factored (K or K + shift D) and D as in sp_sparse_factor, the v
 * of the s nearest to zero into system->softest, scaled so that the node that moves furthest moves
 * by 1. D makes it the direction that the shift is for: the only one with s < shift. Starts from
 * seeded random numbers, so that no symmetry of the state hides it. Uses system->direction.
 * *softest, unless NULL, gets the s of v [-]. */
sp_status sp_softest_direction(sp_context *context, sp_system *system, double *softest);

#endif
