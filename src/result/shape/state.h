/* Kept states of a press in a picture: choose them, find how large they are, and draw one between
 * its platens, be it planar or spatial, of struts, walls or a block. */
#ifndef SP_SHAPE_STATE_H
#define SP_SHAPE_STATE_H

#include <strutpress/network.h>

#include "shape/isometric.h"
#include "shape/strands.h"

/* What the drawn states of one press share. Lengths are those of the picture in mm. */
typedef struct sp_state_view {
    const sp_path *path;
    int spatial;
    sp_bounds rest, all; /* unloaded; over all drawn states */
    sp_range colour;
    sp_box box; /* spatial: over all drawn states */
    sp_scene scene;
} sp_state_view;

/* Return shortening [mm] and force [N] of kept state `frame`; round-off of an unloaded state is set
 * to zero. */
double sp_state_shortening(const sp_path *path, int frame);
double sp_state_force(const sp_path *path, int frame);
/* Return 1 when it was kept after the press, on the way back or by a protocol. */
int sp_state_is_after(const sp_path *path, int frame);
/* Find the kept state of the press itself nearest to a shortening; near a snap the later one. -1:
 * none is kept. */
int sp_state_nearest(const sp_path *path, double shortening);

/* Prepare to draw `count` states from one direction, with one scale of colours. SP_NO_MEMORY. */
sp_status sp_state_look(sp_context *context, const sp_path *path, const int *frame, int count,
                        sp_state_view *view);
/* Find width and height of the picture of the unloaded coupon, without platens [mm]. */
double sp_state_wide(const sp_state_view *view);
double sp_state_high(const sp_state_view *view);
/* Return the drawn way of the upper platen / shortening. */
double sp_state_rise(const sp_state_view *view);

/* Draw one state with its platens: the middle of its lower platen's loaded face is at (x, y).
 * SP_NO_MEMORY. */
sp_status sp_state_draw(sp_context *context, sp_svg *svg, const sp_state_view *view, int frame,
                        double x, double y, double scale);

/* Write the number of the first buckled strut in a state that is drawn there. */
void sp_state_number(sp_svg *svg, const sp_state_view *view, int frame, int strut, double x,
                     double y, double scale);

/* Write the words below such a picture: what of the coupon is drawn, how it is seen, and the
 * caution. */
#define SP_STATE_NOTE_SIZE 800
void sp_state_note(const sp_state_view *view, const sp_network *network, char *text, size_t size);

/* Write the number of a strut at a place of the coupon [mm]; that of the first buckled strut stands
 * in a ring. */
void sp_draw_number(sp_svg *svg, const sp_view *view, const double place[3], int spatial, int strut,
                    int is_first_buckled);

/* Draw the scale of the colours, `width` wide, with its numbers below; it is 36 high. */
void sp_state_scale(sp_svg *svg, const sp_range *colour, double x, double y, double width);
#define SP_STATE_SCALE_TEXT "largest fibre strain of each piece (stretch or squash)"

#endif
