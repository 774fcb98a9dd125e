/* Panels in a picture: their cells are drawn as sheets, from back to front. */
#ifndef SP_SHAPE_SHEETS_H
#define SP_SHAPE_SHEETS_H

#include <strutpress/network.h>
#include <strutpress/path.h>

#include "shape/shape_picture.h"

/* The cells of a path at `position` (point_count x 3): in `colour`, or by the largest fibre strain
 * of their bars (per point). The walls that a heading quotes of `quoted` (NULL: none) are blue. */
sp_status sp_draw_sheets(sp_context *context, sp_svg *svg, const sp_view *view,
                         const sp_shapes *shapes, const double *position, const sp_ink *ink,
                         const sp_critical *quoted);

/* The numbers of those walls, each at the middle of the upper edge of its wall. */
void sp_draw_wall_numbers(sp_svg *svg, const sp_view *view, const sp_shapes *shapes,
                          const double *position, const sp_critical *quoted);

/* Draw the cells of a network, unloaded, with colours by role. */
sp_status sp_draw_network_sheets(sp_context *context, sp_svg *svg, const sp_view *view,
                                 const sp_network *network, const char *const role_colour[2]);

#define SP_SHEET_NOTE                                                                              \
    SP_SIGHT_TEXT                                                                                  \
    ". Walls are drawn as sheets without thickness; their cells are those of the framework"

#endif
