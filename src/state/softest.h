/* The direction in which a state gives way most easily: inverse iteration with the factor at hand (E18). */
#ifndef SP_SOFTEST_H
#define SP_SOFTEST_H

#include "state/system.h"

/* Eigenvector of the smallest eigenvalue (by size) of the matrix last factored, K or K + shift D, into v (unknown_count),
 * scaled so that the node that moves furthest moves by 1; its eigenvalue into *stiffness. Starts from seeded random numbers,
 * so that no symmetry of the state hides it. Uses system->direction. */
sp_status sp_softest_direction(sp_context *context, sp_system *system, double *v,
                               double *stiffness);

#endif
