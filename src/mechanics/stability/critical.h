/* These functions describe a loss of stability on a path: the mode of the softest direction and the
 * struts that bend most in it. */
#ifndef SP_CRITICAL_H
#define SP_CRITICAL_H

#include <strutpress/path.h>

#include "state/system.h"

/* Find the softest mode of the present, factored K by inverse iteration: mode (`unknowns` per node,
 * largest displacement of a node 1). The factor may have negative pivots. */
sp_status sp_critical_mode(sp_context *context, sp_system *system, double *mode);

/* Rank struts by their share of the bending energy of the mode, the sum over elements of L Ckk
 * kappa^2; the first go into critical->strut and critical->share. */
void sp_critical_rank(const sp_system *system, const double *mode, sp_critical *critical);

#endif
