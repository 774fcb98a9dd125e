/* Spatial drawings; see drawn.c. */
#ifndef SP_SPATIAL_DRAWN_H
#define SP_SPATIAL_DRAWN_H

#include <strutpress/network.h>

#include "drawing/drawing.h"

/* Build the network of a spatial drawing, with its lower corner in the corner of the box; lines
 * outside the box are cut off, with a caution. Errors as sp_network_build. On failure *network is
 * empty. */
sp_status sp_spatial_build_drawn(sp_context *context, const sp_case *request, int with_flaws,
                                 const sp_drawing *drawing, sp_network *network);

#endif
