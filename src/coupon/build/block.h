/* A block in the place of a coupon whose walls stand along the load. */
#ifndef SP_BUILD_BLOCK_H
#define SP_BUILD_BLOCK_H

#include <strutpress/network.h>

#include "drawing/drawing.h"

/* Put the plan of the block that the case asks for in the place of `plan`, which is that of the
 * whole coupon, and note in `network` the facts of the whole coupon that it needs (E171, E267).
 * Both stay as they are where no such block is smaller than the coupon. Errors: SP_BAD_CASE (mirror
 * sides of a pattern without planes of symmetry), those of sp_planar_build. */
sp_status sp_block_take(sp_context *context, const sp_case *flat, const sp_drawing *drawing,
                        int with_flaws, sp_network *plan, sp_network *network);

#endif
