/* The struts of a spatial network as shells that overlap: each a rod with half a ball at either
 * end, or a bar with square ends. */
#ifndef SP_PRINTING_STRUTS_H
#define SP_PRINTING_STRUTS_H

#include <strutpress/network.h>

#include "printing/surface.h"

/* Add the struts; `scale` multiplies diameters and the sides of bars. Errors: SP_NO_MEMORY. */
sp_status sp_struts_add(sp_context *context, const sp_network *network, double scale,
                        sp_surface *surface);

#endif
