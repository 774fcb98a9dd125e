/* Struts of a path or of a network as strands, ready to be drawn from back to front. */
#ifndef SP_SHAPE_STRANDS_H
#define SP_SHAPE_STRANDS_H

#include <strutpress/network.h>

#include "shape/depth_order.h"

typedef struct sp_strand_set {
    int count;
    sp_strand *strand;
    double *seen;
} sp_strand_set;

/* Make strands of all struts of a path at `position` (point_count x 3), with share, colour and
 * strains of the ink. SP_NO_MEMORY; the set is then empty. The strains must outlive it. */
sp_status sp_strands_of_shapes(sp_context *context, const sp_shapes *shapes, const double *position,
                               const sp_ink *ink, sp_strand_set *set);
/* Make strands of an unloaded network, with bows; a strand is as wide as the section looks from
 * there. Colours by role. */
sp_status sp_strands_of_network(sp_context *context, const sp_network *network,
                                const char *const role_colour[2], sp_strand_set *set);
void sp_strand_set_free(sp_strand_set *set);

/* Write the words below a spatial picture: how it is seen, whether struts had to be drawn coarsely,
 * and the caution. */
const char *sp_spatial_note(const sp_scene *scene);

#define SP_STRAND_POINTS 9 /* of a strut of a network */
/* Find the point at share s of a spatial strut with its half-sine bow along the section axis. */
void sp_strand_point(const sp_network *network, int strut, double s, double point[3]);

#endif
