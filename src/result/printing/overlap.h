/* The volume of a body whose closed parts overlap. */
#ifndef SP_PRINTING_OVERLAP_H
#define SP_PRINTING_OVERLAP_H

#include "printing/surface.h"

/* Volume of the places that parts of a closed surface enclose more often outwards than inwards
 * (positive fill rule of the 3MF core specification 1.3, section 4.1.1), by the lengths of rays in
 * it [mm3]. Two halves of the rays are half of `uncertain` apart from their mean. Errors:
 * SP_NO_MEMORY, SP_INTERRUPTED. */
sp_status sp_surface_body_volume(sp_context *context, const sp_surface *surface, double *volume,
                                 double *uncertain);

#endif
