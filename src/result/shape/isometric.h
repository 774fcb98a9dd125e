/* Spatial coupons in a picture: the direction they are seen from, the box around them, platens and
 * axes.
 *
 * Parallel view, y (pressing direction) upright, x to the lower right, z to the lower left, seen
 * from above and in front. The line of sight is as steep as in an isometric view, asin(1/sqrt 3)
 * over the horizontal, but turned about y away from the space diagonal: along the diagonal of cubic
 * cells struts and whole layers would hide behind each other. */
#ifndef SP_SHAPE_ISOMETRIC_H
#define SP_SHAPE_ISOMETRIC_H

#include <strutpress/path.h>

#include "shape/shape_picture.h"

#define SP_SIGHT_TEXT                                                                              \
    "Isometric view, turned by 18 degrees about the pressing direction; lengths along it are "     \
    "drawn at 0.82"

/* Box of a spatial coupon [mm]: x and z over all that is drawn, y between the platens at rest. */
typedef struct sp_box {
    double low[3], high[3];
} sp_box;

int sp_shapes_spatial(const sp_shapes *shapes);
/* Return the stroke width of a strut [mm]: the diameter, or for a rectangle that of the square of
 * the same area. */
double sp_shape_width(const sp_shapes *shapes, int strut);

/* Find the place in the picture of a place in the coupon: right, up, towards the reader [mm]. */
void sp_see(const double place[3], double seen[3]);
void sp_see_all(const double *place, int count, double *seen);
/* Return drawn rise / rise along the pressing direction. */
double sp_seen_rise(void);

void sp_box_begin(sp_box *box, const double size[3]);
void sp_box_add(sp_box *box, const double place[3], double half_width);
/* Widen the box sideways by a shape; by the shape at rest along y, too. */
void sp_box_add_shape(sp_box *box, const sp_shapes *shapes, const double *position, int at_rest);
/* Find the outline of the box in the picture [mm]. */
sp_bounds sp_box_bounds(const sp_box *box);
/* Return the drawn height of the empty corner below the box on the left [mm]. */
double sp_box_corner(const sp_box *box);
/* Find the corners of the face of a platen at rest in the picture, round about [mm]. */
void sp_box_face(const sp_box *box, int upper, double corner[4][2]);
/* Find the distance towards the reader of the farthest and the nearest corner [mm]. */
void sp_box_reach(const sp_box *box, double reach[2]);

/* Draw the loaded face of a platen: the lower one first, behind everything; the upper one last, a
 * thin veil in front of everything. */
void sp_draw_face(sp_svg *svg, const sp_view *view, const sp_box *box, double shortening,
                  int lower);
#define SP_PLATEN_FACE "#e4e6e9"
#define SP_AXES_SIZE 88.0
/* Draw three arrows with their letters in a square of that size, whose lower left corner is (x, y).
 */
void sp_draw_axes(sp_svg *svg, double x, double y);

#endif
