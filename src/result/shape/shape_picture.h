/* Struts and platens in a picture, to scale: a strut is a stroke as wide as its bead. */
#ifndef SP_SHAPE_SHAPE_PICTURE_H
#define SP_SHAPE_SHAPE_PICTURE_H

#include <strutpress/context.h>
#include <strutpress/path.h>

#include "write/svg.h"

/* The place in the picture of the coupon point (0, 0), and picture units per mm: X = x + scale
 * X_mm, Y = y - scale Y_mm. */
typedef struct sp_view {
    double x, y, scale;
} sp_view;

typedef struct sp_bounds {
    double low[2], high[2]; /* outer edges of the beads [mm] */
} sp_bounds;

#define SP_PLATEN_THICKNESS 12.0 /* picture units */

void sp_bounds_clear(sp_bounds *bounds);
void sp_bounds_add(sp_bounds *bounds, double x, double y, double half_width);
void sp_bounds_add_shape(sp_bounds *bounds, const sp_shapes *shapes, const double *position);

/* Begin a group in which coordinates and widths are mm and y points up. */
void sp_view_begin(sp_svg *svg, const sp_view *view);
void sp_view_end(sp_svg *svg);

/* How struts are filled. */
typedef struct sp_ink {
    double share;               /* drawn width / bead width; 1: to scale */
    const char *colour;         /* of the fill, when fibre_strain is NULL */
    const char *edge;           /* of a thin outline inside the bead, NULL: none */
    const double *fibre_strain; /* per point, colours the piece that starts there; NULL: none */
    double top;                 /* fibre strain at the end of the colour map */
} sp_ink;

/* Draw all struts at `position` (point_count x 3). */
void sp_draw_struts(sp_svg *svg, const sp_view *view, const sp_shapes *shapes,
                    const double *position, const sp_ink *ink);
/* Draw one strut alone. */
void sp_draw_strut(sp_svg *svg, const sp_view *view, const sp_shapes *shapes,
                   const double *position, int strut, double share, const char *colour);

/* Draw both platens. `rest` are the bounds of the unloaded coupon: platens touch the outer edges of
 * its beads. */
void sp_draw_platens(sp_svg *svg, const sp_view *view, const sp_bounds *rest, double height,
                     double shortening, double left, double right);

/* The colours of fibre strains over several frames. */
typedef struct sp_range {
    double top;  /* fibre strain at the end of the colour map: a round figure above almost all */
    int clipped; /* 1: some pieces lie beyond it */
} sp_range;
sp_status sp_colour_range(sp_context *context, const sp_shapes *shapes, int frame_count,
                          const int *frame, sp_range *range);

/* Return the positions of frame f: point_count x 3. */
const double *sp_frame_position(const sp_shapes *shapes, int frame);

#endif
