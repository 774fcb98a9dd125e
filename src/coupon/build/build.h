/* Networks of a case whose drawing is read already. The drawing is NULL, or an empty one, when the
 * case presses none. */
#ifndef SP_BUILD_BUILD_H
#define SP_BUILD_BUILD_H

#include <strutpress/network.h>

#include "drawing/drawing.h"

/* Build the network as sp_network_build does, from a drawing that is read already. */
sp_status sp_network_build_from(sp_context *context, const sp_case *request,
                                const sp_drawing *drawing, int with_flaws, sp_network *network);

#endif
