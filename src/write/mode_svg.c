/* mode.svg: the critical state in grey with its mode, exaggerated, over it; or the unloaded coupon and the words that
 * there is none. */
#include <math.h>

#include "base/alloc.h"
#include "write/caution.h"
#include "write/shape_picture.h"
#include "write/text.h"
#include "write/writer_list.h"

#define PICTURE_WIDTH 900.0
#define MARGIN 40.0
#define HEAD 120.0
#define BODY_MAX 800.0
#define LETTER 14.0
#define SMALL 12.0
#define MODE_WIDTH 0.5 /* drawn width of the mode / bead width: the state stays visible behind it */
#define MODE_SHARE 0.05 /* largest displacement drawn / coupon height */

/* The path that holds the mode: the coupon without flaws, which is the pressed one itself when that has none. */
static const sp_path *mode_path(const sp_result *result)
{
    return result->perfect.step_count > 0 ? &result->perfect : &result->path;
}

/* state + factor x mode; NULL when there is no memory */
static double *displaced(const sp_shapes *shapes, double factor)
{
    size_t count = 3 * (size_t)shapes->point_count;
    double *position = sp_alloc(count, sizeof *position);
    for (size_t i = 0; position && i < count; i++)
        position[i] = shapes->mode_position[i] + factor * sp_finite(shapes->mode[i]);
    return position;
}

static void draw_legend(sp_svg *svg, double y, int has_mode)
{
    static const char *name[] = {"critical state", "mode, exaggerated",
                                 "strut with the largest share of its bending energy"};
    static const char *colour[] = {SP_PALE, SP_VERMILION, SP_BLUE};
    double x = MARGIN;
    for (int i = 0; i < (has_mode ? 3 : 1); i++) {
        sp_svg_box(svg, x, y - 10.0, 26.0, 11.0, colour[i], NULL);
        sp_svg_text(svg, x + 34.0, y, LETTER, SP_SVG_LEFT, SP_INK,
                    has_mode ? name[i] : "unloaded coupon");
        x += 56.0 + sp_svg_text_width(LETTER, name[i]);
    }
}

static void draw_heading(sp_svg *svg, const sp_result *result)
{
    char line[512];
    sp_svg_text_bold(svg, MARGIN, 32.0, 18.0, SP_INK, "Critical step of the coupon without flaws");
    sp_coupon_text(result, line, sizeof line);
    sp_svg_text(svg, MARGIN, 54.0, LETTER, SP_SVG_LEFT, SP_GREY, line);
    sp_critical_text(&result->path, line, sizeof line);
    sp_svg_paragraph(svg, MARGIN, 78.0, LETTER, PICTURE_WIDTH - 2.0 * MARGIN, SP_INK, line);
}

/* `base` (NULL: none kept) is the grey position of `shapes`, `moved` the mode over it or NULL. */
static sp_status draw(sp_context *context, const sp_result *result, const sp_shapes *shapes,
                      const double *base, const double *moved, FILE *stream)
{
    const sp_path *path = &result->path;
    const sp_critical *critical = &result->path.critical;
    sp_bounds rest, all;
    sp_bounds_clear(&rest);
    sp_bounds_add(&rest, 0.0, 0.0, 0.0);
    sp_bounds_add(&rest, path->size[0], path->size[1], 0.0);
    if (path->shapes.frame_count)
        sp_bounds_add_shape(&rest, &path->shapes, sp_frame_position(&path->shapes, 0));
    all = rest;
    if (base) sp_bounds_add_shape(&all, shapes, base);
    if (moved) sp_bounds_add_shape(&all, shapes, moved);
    double wide = all.high[0] - all.low[0], high = all.high[1] - all.low[1];
    double text_width = PICTURE_WIDTH - 2.0 * MARGIN;
    double scale = fmin(text_width / wide, BODY_MAX / high);
    double body = scale * high + 2.0 * SP_PLATEN_THICKNESS;
    double foot = sp_svg_paragraph_height(SMALL, text_width, SP_CAUTION_SAFETY);
    sp_view view = {0.5 * (PICTURE_WIDTH - scale * (all.low[0] + all.high[0])),
                    HEAD + SP_PLATEN_THICKNESS + scale * all.high[1], scale};
    sp_svg svg = sp_svg_begin(stream, PICTURE_WIDTH, HEAD + body + 60.0 + foot,
                              "Critical step of the coupon without flaws");
    draw_heading(&svg, result);
    sp_draw_platens(&svg, &view, &rest, path->size[1], moved ? critical->shortening : 0.0,
                    all.low[0], all.high[0]);
    const sp_ink grey = {.share = 1.0, .colour = SP_PALE};
    const sp_ink red = {.share = MODE_WIDTH, .colour = SP_VERMILION};
    if (base) sp_draw_struts(&svg, &view, shapes, base, &grey);
    if (moved) sp_draw_struts(&svg, &view, shapes, moved, &red);
    if (moved && critical->strut_count > 0)
        sp_draw_strut(&svg, &view, shapes, moved, critical->strut[0], 1.2 * MODE_WIDTH, SP_BLUE);
    draw_legend(&svg, HEAD + body + 26.0, moved != NULL);
    sp_svg_paragraph(&svg, MARGIN, HEAD + body + 54.0, SMALL, text_width, SP_GREY,
                     SP_CAUTION_SAFETY);
    sp_svg_end(&svg);
    return sp_stream_end(context, stream);
}

sp_status sp_writer_mode_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_shapes *pressed = &result->path.shapes, *shapes = &mode_path(result)->shapes;
    if (!result->path.critical.found || !shapes->mode || !shapes->mode_position)
        return draw(context, result, pressed,
                    pressed->frame_count ? sp_frame_position(pressed, 0) : NULL, NULL, stream);
    double *moved = displaced(shapes, MODE_SHARE * result->path.size[1]);
    if (!moved) return sp_fail(context, SP_NO_MEMORY, "no memory for mode.svg");
    sp_status status = draw(context, result, shapes, shapes->mode_position, moved, stream);
    sp_free(moved);
    return status;
}
