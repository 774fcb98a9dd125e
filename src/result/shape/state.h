/* Kept states of a press in a picture: which, how large, and one of them drawn between its platens,
 * planar or spatial, struts, walls or block. */
#ifndef SP_SHAPE_STATE_H
#define SP_SHAPE_STATE_H

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

/* Shortening [mm] and force [N] of kept state `frame`; round-off of an unloaded state is zero. */
double sp_state_shortening(const sp_path *path, int frame);
double sp_state_force(const sp_path *path, int frame);
/* 1: kept after the press, on the way back or by a protocol. */
int sp_state_is_after(const sp_path *path, int frame);
/* The kept state of the press itself nearest to a shortening; near a snap the later one. -1: none
 * is kept. */
int sp_state_nearest(const sp_path *path, double shortening);

/* Look at `count` states from one place, with one scale of colours. SP_NO_MEMORY. */
sp_status sp_state_look(sp_context *context, const sp_path *path, const int *frame, int count,
                        sp_state_view *view);
/* Width and height of the picture of the unloaded coupon, platens left out [mm]. */
double sp_state_wide(const sp_state_view *view);
double sp_state_high(const sp_state_view *view);
/* Drawn way of the upper platen / shortening. */
double sp_state_rise(const sp_state_view *view);

/* One state with its platens: the middle of its lower platen's loaded face is at (x, y).
 * SP_NO_MEMORY. */
sp_status sp_state_draw(sp_context *context, sp_svg *svg, const sp_state_view *view, int frame,
                        double x, double y, double scale);

/* The number of the first buckled strut in a state drawn there. */
void sp_state_number(sp_svg *svg, const sp_state_view *view, int frame, int strut, double x,
                     double y, double scale);

/* The words below such a picture: how it is seen, and the caution. */
const char *sp_state_note(const sp_state_view *view);

/* The number of a strut at a place of the coupon [mm]; that of the first buckled one in a ring. */
void sp_draw_number(sp_svg *svg, const sp_view *view, const double place[3], int spatial, int strut,
                    int is_first_buckled);

/* The scale of the colours, `width` wide, its numbers below; 36 high. */
void sp_state_scale(sp_svg *svg, const sp_range *colour, double x, double y, double width);
#define SP_STATE_SCALE_TEXT "largest fibre strain of each piece (stretch or squash)"

#endif
