/* Planar networks stacked through the depth; see layers.c. */
#ifndef SP_BUILD_LAYERS_H
#define SP_BUILD_LAYERS_H

#include <strutpress/network.h>

#include "drawing/drawing.h"

/* Return 1 when the drawing is that of a tool path whose layers repeat, which is to be stacked.
 * NULL: 0. */
int sp_layers_of_path(const sp_drawing *drawing);

/* Build the spatial network of request->layers planar ones, or of those of a tool path, bonded
 * where they touch. Errors as sp_network_build, and SP_BAD_CASE at infill.layers or infill.toolpath
 * when two layers touch nowhere. On failure *network is empty. */
sp_status sp_layers_build(sp_context *context, const sp_case *request, const sp_drawing *drawing,
                          int with_flaws, sp_network *network);

#endif
