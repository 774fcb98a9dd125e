/* The drawing of a case, for the network: a planar one as pieces, a spatial one as it is. */
#ifndef SP_PATTERN_DRAWN_H
#define SP_PATTERN_DRAWN_H

#include "drawing/drawing.h"
#include "pattern/pattern.h"

/* Read the file of infill.network. Errors: SP_BAD_CASE (none is given), and those of
 * sp_drawing_read. */
sp_status sp_drawn_read(sp_context *context, const sp_case *request, sp_drawing *drawing);

/* Return 1 when the case presses a drawing, even if only every other layer is drawn. */
int sp_drawn_is_used(const sp_case *request);

/* Take the lines of a drawing without z. */
sp_status sp_drawn_pieces(sp_context *context, const sp_drawing *drawing, sp_pieces *pieces);

#endif
