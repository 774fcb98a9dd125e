/* How a coupon is printed and how it is pressed: a sketch and two sentences, for the foot of its
 * pictures; and what of it is drawn. */
#ifndef SP_SHAPE_DIRECTION_H
#define SP_SHAPE_DIRECTION_H

#include <strutpress/network.h>

#include "write/svg.h"

#define SP_DIRECTION_WIDTH 220.0 /* of the sketch */
#define SP_DIRECTION_HEIGHT 146.0

/* Draw the sketch alone with its upper left corner at (x, y): the coupon between its platens, seen
 * from the front, with arrows. */
void sp_draw_direction_sketch(sp_svg *svg, double x, double y, const sp_network *network);
/* Draw the sketch, and write the sentences to its right, within `width`. */
void sp_draw_direction(sp_svg *svg, double x, double y, double width, const sp_network *network);

/* Write a sentence and a blank where a block of the coupon is drawn in its place, else "". */
#define SP_DRAWN_SIZE 200
void sp_drawn_text(const sp_network *network, char *text, size_t size);

#endif
