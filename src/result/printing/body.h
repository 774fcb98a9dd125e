/* The body of a coupon as it is to be printed, whatever its network is. */
#ifndef SP_PRINTING_BODY_H
#define SP_PRINTING_BODY_H

#include <strutpress/resolve.h>

#include "printing/slab.h"

/* Which way the body lies. Its axes are x, y, z of the network; a coupon that is printed flat
 * stands on its pattern, so that its z is the height of the press. */
typedef struct sp_body_options {
    int without_walls;  /* leave the walls around the infill out */
    double width_scale; /* multiplies the widths of beads, diameters and walls; 0: 1 */
} sp_body_options;

/* Make the surface of the body: planar coupons as the union of their beads, raised to the depth;
 * layers each so; struts in space as overlapping shells. `wall` is the thickness of the walls [mm].
 * Free with sp_surface_free. Errors: SP_NO_MEMORY, SP_INTERNAL. */
sp_status sp_body_build(sp_context *context, const sp_network *network, double wall,
                        const sp_body_options *options, sp_surface *surface);

/* Hand each flat part of a coupon that is not of struts in space to `visit`, from the bottom up:
 * one, or its layers. A slab is valid during the call. Errors: SP_NO_MEMORY, and those of `visit`.
 */
typedef sp_status sp_slab_visit(void *user, const sp_slab *slab);
sp_status sp_body_slabs(sp_context *context, const sp_network *network, double wall,
                        const sp_body_options *options, sp_slab_visit *visit, void *user);

/* Write the size of the coupon and the axis along which it is pressed, in words. */
void sp_body_title(const sp_network *network, char text[SP_MESSAGE_SIZE]);

/* Copy the case without what the print adds to it (width and diameter offsets, thicker ends): this
 * is what a printer is given. The copy shares all that `resolved` owns and is not to be freed. */
sp_resolved sp_body_as_drawn(const sp_resolved *resolved);

/* Return the thickness of the walls around the infill of a case as printed, inside the coupon [mm].
 */
double sp_body_wall(const sp_case *request);

#endif
