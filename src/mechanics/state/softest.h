/* The direction in which a state gives way most easily is found by inverse iteration with the
 * factor at hand (E18). */
#ifndef SP_SOFTEST_H
#define SP_SOFTEST_H

#include "state/system.h"

/* Find, of A v = s D v, the v of the s nearest to zero, where A is the matrix last factored (K or K
 * + shift D) and D as in sp_sparse_factor. v goes into system->softest, scaled so that the node
 * that moves furthest moves by 1. D makes it the direction that the shift is for: the only one with
 * s < shift. It starts from seeded random numbers, so that no symmetry of the state hides it, and
 * uses system->direction. *softest, unless NULL, gets the s of v [-]. */
sp_status sp_softest_direction(sp_context *context, sp_system *system, double *softest);

#endif
