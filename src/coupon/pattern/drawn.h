/* The drawing of a case, for the network: planar ones as pieces, spatial ones as they are. */
#ifndef SP_PATTERN_DRAWN_H
#define SP_PATTERN_DRAWN_H

#include "drawing/drawing.h"
#include "pattern/pattern.h"

/* The file of infill.network. Errors: SP_BAD_CASE (none given), and those of sp_drawing_read. */
sp_status sp_drawn_read(sp_context *context, const sp_case *request, sp_drawing *drawing);

/* 1 when the case presses a drawing, be it in every other layer only. */
int sp_drawn_is_used(const sp_case *request);

/* Its lines without z. */
sp_status sp_drawn_pieces(sp_context *context, const sp_drawing *drawing, sp_pieces *pieces);

#endif
