/* The solid block in pictures: its outline at a shortening. */
#ifndef SP_SHAPE_BLOCK_H
#define SP_SHAPE_BLOCK_H

#include <strutpress/path.h>

#include "shape/shape_picture.h"

#define SP_BLOCK_POINTS 42
#define SP_BLOCK_NOTE                                                                              \
    "Outline of the block: its volume is kept, and between bonded faces its sides are drawn as "   \
    "parabolas; strains inside are not resolved."

/* Find the corners of the outline, counted round about from the lower left [mm]; the sides are
 * upright when the path is not that of a bonded block. */
void sp_block_outline(const sp_path *path, double shortening, double point[SP_BLOCK_POINTS][2]);
void sp_block_bound(const sp_path *path, double shortening, sp_bounds *bounds);
void sp_draw_block(sp_svg *svg, const sp_view *view, const sp_path *path, double shortening);

#endif
