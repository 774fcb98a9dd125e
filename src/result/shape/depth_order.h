/* Draw struts of a spatial coupon from back to front: each strut is cut into pieces that reach no
 * farther towards the reader than it is wide, and nearer pieces are drawn later, with a dark
 * outline. */
#ifndef SP_SHAPE_DEPTH_ORDER_H
#define SP_SHAPE_DEPTH_ORDER_H

#include <strutpress/context.h>
#include <strutpress/path.h>

#include "shape/isometric.h"

#define SP_PIECES_MAX 60000 /* of a whole picture; some 3 MB */
#define SP_COARSE_TEXT                                                                             \
    "More struts than a picture holds in pieces: each is drawn as one, in the order of its "       \
    "middle and in the colour of its largest strain."

/* One strut as it is seen. */
typedef struct sp_strand {
    const double *seen;         /* 3 per point: right, up, towards the reader [mm] */
    const double *fibre_strain; /* per point, colours the piece that starts there; NULL: `colour` */
    const char *colour;         /* "#rrggbb" */
    int count;                  /* points */
    double width;               /* [mm] */
    double front;               /* it is ordered as if it lay nearer by this [mm] */
} sp_strand;

/* How strands are drawn. */
typedef struct sp_scene {
    /* Depths at which struts are palest, and at which they have their full colour [mm]. */
    double reach[2];
    const char *edge; /* colour of outlines, "#rrggbb" */
    double top;       /* fibre strain at the end of the colour map */
    int detail;       /* 0: finest */
} sp_scene;

/* Return the finest detail, not finer than scene->detail, that needs at most `limit` pieces. */
int sp_detail_within(const sp_scene *scene, const sp_strand *strand, int count, int limit);
/* Return 1 when every strand is one piece at this detail: the picture must then say SP_COARSE_TEXT.
 */
int sp_detail_is_last(int detail);

/* Draw all strands from back to front. SP_NO_MEMORY. */
sp_status sp_draw_strands(sp_context *context, sp_svg *svg, const sp_view *view,
                          const sp_scene *scene, const sp_strand *strand, int count);

#endif
