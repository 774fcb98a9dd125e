/* Loss of stability on a path: the mode of the softest direction and the struts that carry it. */
#ifndef SP_CRITICAL_H
#define SP_CRITICAL_H

#include <strutpress/path.h>

#include "state/system.h"

/* Find the softest mode of the present, factored K by inverse iteration: mode (`unknowns` per node,
 * largest displacement of a node 1). The factor may have negative pivots. */
sp_status sp_critical_mode(sp_context *context, sp_system *system, double *mode);

/* Rank struts by share of the mode's bending energy, sum over elements of L Ckk kappa^2, into
 * critical->strut/share. */
void sp_critical_rank(const sp_system *system, const double *mode, sp_critical *critical);

#endif
