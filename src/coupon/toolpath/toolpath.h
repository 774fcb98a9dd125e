/* Tool paths of a printer: the reader takes what is printed from the motion words of ISO 6983 and
 * makes a planar network of lines with widths. */
#ifndef SP_TOOLPATH_TOOLPATH_H
#define SP_TOOLPATH_TOOLPATH_H

#include <strutpress/case.h>
#include <strutpress/toolpath.h>

#include "drawing/drawing.h"

/* Return 1 when the case fills its coupon by a tool path (infill.pattern printed). */
int sp_toolpath_is_used(const sp_case *request);

/* Read the tool path of a case: lines that may cross and end on each other, with their thicknesses
 * as diameters [mm], the corner of the path at 0, 0. `figures` may be NULL. Errors: SP_NO_READ,
 * SP_BAD_NETWORK ("file:line: received ...; valid: ..."), SP_BAD_CASE when the coupon of the case
 * is of another size, SP_NO_MEMORY. On failure *drawing is empty. */
sp_status sp_toolpath_drawing(sp_context *context, const sp_case *request, sp_drawing *drawing,
                              sp_toolpath_figures *figures);

#endif
