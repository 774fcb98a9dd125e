/* Parts of building a finished network: room for its arrays, its joint zones, its pieces. */
#ifndef SP_NETWORK_PARTS_H
#define SP_NETWORK_PARTS_H

#include <math.h>

#include <strutpress/network.h>

/* network.c: make arrays for this many joints and struts, of the network's dimension. Errors:
 * SP_NO_MEMORY. */
sp_status sp_network_room(sp_context *context, sp_network *network, size_t joints, size_t struts);

/* network.c: list the ends of struts (2 x strut + end) at each joint: those of joint n are
 * ends[first[n]] .. ends[first[n + 1] - 1]. The caller frees both lists, after a failure too.
 * Errors: SP_NO_MEMORY. */
sp_status sp_network_ends(sp_context *context, const sp_network *network, int **first, int **ends);

/* Two struts that turn by less than this at a joint (20 degrees) are one bead that curves. */
#define SP_IN_LINE (160.0 * M_PI / 180.0)

/* pieces.c: fill piece_count of a finished network. Errors: SP_NO_MEMORY. */
sp_status sp_network_count_pieces(sp_context *context, sp_network *network);

/* printed.c: add what the print adds to the drawing, to widths and diameters, before the joint
 * zones are found. `bead`: drawn width of one line, 0 for round struts. Errors: SP_BAD_CASE when
 * nothing is left of a strut. */
sp_status sp_network_print_widths(sp_context *context, const sp_case *request, double bead,
                                  sp_network *network);
/* printed.c: make the ends thicker, after the joint zones (E190). Errors: SP_NO_MEMORY. */
sp_status sp_network_thicken(sp_context *context, const sp_case *request, double bead,
                             sp_network *network);

/* zone.c: find the joint zones of a finished network whose corners are rounded so far
 * (model.joint_zone; NaN: as printed). */
sp_status sp_network_zones(sp_context *context, double rounding, sp_network *network);
double sp_corners_as_printed(int spatial);

#endif
