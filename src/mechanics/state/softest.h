/* The direction in which a state gives way most easily is found by inverse iteration with the
 * present factor (E18). */
#ifndef SP_SOFTEST_H
#define SP_SOFTEST_H

#include "state/system.h"

/* Find the solution of A v = s D v whose s is nearest to zero, where A is the matrix last factored
 * (K or K + shift D) and D is that of sp_sparse_factor. v goes into system->softest, scaled so that
 * the node that moves furthest moves by 1. By this choice of D it is the direction that the shift
 * makes stiff: the only one with s < shift. The iteration starts from seeded random numbers, so
 * that no symmetry of the state hides the direction, and uses system->direction. *softest, unless
 * NULL, gets the s of v [-]. */
sp_status sp_softest_direction(sp_context *context, sp_system *system, double *softest);

#endif
