/* mode.svg: the critical state in grey with its mode, exaggerated, over it; where there is no mode,
 * the unloaded coupon and words that say so. */
#include <math.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "shape/direction.h"
#include "shape/shape_picture.h"
#include "shape/sheets.h"
#include "shape/state.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define ABOVE 14.0 /* a number stands so high above its strut in space */
#define PICTURE_WIDTH 900.0
#define MARGIN 40.0
#define HEAD 120.0
#define BODY_MAX 800.0
#define LETTER 14.0
#define SMALL 12.0
#define MODE_WIDTH                                                                                 \
    0.5 /* drawn width of the mode / bead width: the state stays visible behind it                 \
         */
#define STATE_EDGE "#a9b0bb" /* of the state in space */
#define MODE_SHARE 0.05      /* largest displacement drawn / coupon height */

/* Return the path that holds the mode: that of the coupon without flaws, which is the pressed one
 * itself when it has none. */
static const sp_path *mode_path(const sp_result *result)
{
    return result->perfect.step_count > 0 ? &result->perfect : &result->path;
}

/* Return state + factor x mode; NULL when there is no memory. */
static double *displaced(const sp_shapes *shapes, double factor)
{
    size_t count = 3 * (size_t)shapes->point_count;
    double *position = sp_alloc(count, sizeof *position);
    for (size_t i = 0; position && i < count; i++)
        position[i] = shapes->mode_position[i] + factor * sp_finite(shapes->mode[i]);
    return position;
}

static void draw_legend(sp_svg *svg, double y, int has_mode, int spatial, int has_sheets)
{
    const char *const name[] = {"critical state", "mode, exaggerated",
                                spatial && !has_sheets
                                    ? "numbered: largest shares of its energy, dashed where hidden"
                                    : "numbered: largest shares of its bending energy"};
    static const char *colour[] = {SP_PALE, SP_VERMILION, SP_BLUE};
    double x = MARGIN;
    for (int i = 0; i < (has_mode ? 3 : 1); i++) {
        if (has_mode && has_sheets && i == 0) continue; /* sheets are drawn in the mode alone */
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

/* What is drawn: `base` (NULL: none is kept) is the grey position of `shapes`, `moved` is the mode
 * over it, or NULL. */
typedef struct drawing {
    const sp_result *result;
    const sp_shapes *shapes;
    const double *base, *moved;
    sp_bounds rest, all; /* unloaded; over all that is drawn */
    int spatial;
    sp_box box; /* spatial */
    sp_scene scene;
    sp_strand_set state, mode;
} drawing;

static double shortening_of(const drawing *d)
{
    return d->moved ? d->result->path.critical.shortening : 0.0;
}

static void take_note(const drawing *d, char *text, size_t size)
{
    char drawn[SP_DRAWN_SIZE];
    sp_drawn_text(&d->result->network, drawn, sizeof drawn);
    sp_format(text, size, "%s%s", drawn,
              d->spatial ? sp_spatial_note(&d->scene) : SP_CAUTION_SAFETY);
}

/* ---- in the plane ---------------------------------------------------------------------------- */

static void bound_planar(drawing *d)
{
    const sp_path *path = &d->result->path;
    sp_bounds_clear(&d->rest);
    sp_bounds_add(&d->rest, 0.0, 0.0, 0.0);
    sp_bounds_add(&d->rest, path->pressed[0], path->pressed[1], 0.0);
    if (path->shapes.frame_count)
        sp_bounds_add_shape(&d->rest, &path->shapes, sp_frame_position(&path->shapes, 0));
    d->all = d->rest;
    if (d->base) sp_bounds_add_shape(&d->all, d->shapes, d->base);
    if (d->moved) sp_bounds_add_shape(&d->all, d->shapes, d->moved);
}

static void draw_planar(sp_svg *svg, const sp_view *view, const drawing *d)
{
    const sp_critical *critical = &d->result->path.critical;
    const sp_ink grey = {.share = 1.0, .colour = SP_PALE};
    const sp_ink red = {.share = MODE_WIDTH, .colour = SP_VERMILION};
    sp_draw_platens(svg, view, &d->rest, d->result->path.size[1], shortening_of(d), d->all.low[0],
                    d->all.high[0]);
    if (d->base) sp_draw_struts(svg, view, d->shapes, d->base, &grey);
    if (d->moved) sp_draw_struts(svg, view, d->shapes, d->moved, &red);
    for (int i = 0; d->moved && i < sp_critical_quoted(critical); i++)
        sp_draw_strut(svg, view, d->shapes, d->moved, critical->strut[i], 1.2 * MODE_WIDTH,
                      SP_BLUE);
}

/* ---- in space -------------------------------------------------------------------------------- */

static void bound_spatial(drawing *d)
{
    const sp_shapes *rest = &d->result->path.shapes;
    sp_box_begin(&d->box, d->result->path.pressed);
    if (rest->frame_count) sp_box_add_shape(&d->box, rest, sp_frame_position(rest, 0), 1);
    if (d->base) sp_box_add_shape(&d->box, d->shapes, d->base, 0);
    if (d->moved) sp_box_add_shape(&d->box, d->shapes, d->moved, 0);
    d->rest = d->all = sp_box_bounds(&d->box);
    sp_box_reach(&d->box, d->scene.reach);
}

static sp_status look_at(sp_context *context, drawing *d)
{
    static const sp_ink grey = {.share = 1.0, .colour = SP_PALE};
    static const sp_ink red = {.share = MODE_WIDTH, .colour = SP_VERMILION};
    const sp_critical *critical = &d->result->path.critical;
    const sp_shapes *shapes = d->shapes;
    sp_status status = SP_OK;
    bound_spatial(d);
    d->scene.top = 1.0;
    if (shapes->sheet_count) return SP_OK;
    if (d->base) status = sp_strands_of_shapes(context, shapes, d->base, &grey, &d->state);
    if (d->moved && status == SP_OK)
        status = sp_strands_of_shapes(context, shapes, d->moved, &red, &d->mode);
    for (int i = 0; i < sp_critical_quoted(critical); i++)
        if (critical->strut[i] >= 0 && critical->strut[i] < d->mode.count)
            d->mode.strand[critical->strut[i]].colour = SP_BLUE;
    const int most = d->moved ? SP_PIECES_MAX / 2 : SP_PIECES_MAX;
    d->scene.detail = sp_detail_within(&d->scene, d->state.strand, d->state.count, most);
    d->scene.detail = sp_detail_within(&d->scene, d->mode.strand, d->mode.count, most);
    return status;
}

/* Draw a strut on top of everything that hides it. */
static void draw_hidden(sp_svg *svg, const sp_view *view, const drawing *d, int s)
{
    if (s < 0 || s >= d->mode.count) return;
    const sp_strand *strand = &d->mode.strand[s];
    sp_svg_raw(svg, "<polyline fill=\"none\" stroke=\"" SP_BLUE "\" stroke-width=\"3\" "
                    "stroke-dasharray=\"5 2\" points=\"");
    for (int p = 0; p < strand->count; p++)
        sp_print(svg->stream, "%s%.2f,%.2f", p ? " " : "",
                 view->x + view->scale * strand->seen[3 * p],
                 view->y - view->scale * strand->seen[3 * p + 1]);
    sp_svg_raw(svg, "\"/>\n");
}

/* Draw the walls as they stand in the mode, or unloaded where no mode was found. */
static sp_status draw_sheets(sp_context *context, sp_svg *svg, const sp_view *view,
                             const drawing *d, double floor)
{
    const sp_ink ink = {.colour = d->moved ? SP_VERMILION : SP_PALE};
    const double *position = d->moved ? d->moved : d->base;
    sp_status status = SP_OK;
    if (position)
        status = sp_draw_sheets(context, svg, view, d->shapes, position, &ink,
                                d->moved ? &d->result->path.critical : NULL);
    sp_draw_face(svg, view, &d->box, shortening_of(d), 0);
    sp_draw_axes(svg, MARGIN, floor);
    return status;
}

/* As in the plane the mode lies over the state; each of the two is ordered from back to front. */
static sp_status draw_spatial(sp_context *context, sp_svg *svg, const sp_view *view,
                              const drawing *d, double floor)
{
    sp_draw_face(svg, view, &d->box, shortening_of(d), 1);
    if (d->shapes->sheet_count) return draw_sheets(context, svg, view, d, floor);
    sp_scene scene = d->scene;
    scene.edge = STATE_EDGE;
    sp_status status = sp_draw_strands(context, svg, view, &scene, d->state.strand, d->state.count);
    scene.edge = SP_INK;
    if (status == SP_OK)
        status = sp_draw_strands(context, svg, view, &scene, d->mode.strand, d->mode.count);
    const sp_critical *critical = &d->result->path.critical;
    for (int i = 0; i < sp_critical_quoted(critical); i++)
        draw_hidden(svg, view, d, critical->strut[i]);
    sp_draw_face(svg, view, &d->box, shortening_of(d), 0);
    sp_draw_axes(svg, MARGIN, floor);
    return status;
}

/* Write the numbers of the struts that the heading quotes, each at the middle of its strut. */
static void draw_numbers(sp_svg *svg, const sp_view *view, const drawing *d)
{
    const sp_critical *critical = &d->result->path.critical;
    const int *first = d->shapes->first_point;
    /* In space struts are as short as their numbers, so the numbers stand above them. */
    const sp_view beside = {view->x, view->y - (d->spatial ? ABOVE : 0.0), view->scale};
    if (!d->moved) return;
    if (d->shapes->sheet_count) {
        sp_draw_wall_numbers(svg, view, d->shapes, d->moved, critical);
        return;
    }
    for (int i = 0; i < sp_critical_quoted(critical); i++) {
        const int s = critical->strut[i];
        if (s >= 0 && s < d->shapes->strut_count)
            sp_draw_number(svg, &beside, d->moved + 3 * (size_t)((first[s] + first[s + 1]) / 2),
                           d->spatial, s, 0);
    }
}

/* Return the highest place that is drawn [mm]: the upper platen stands lower than at rest. */
static double top_of(const drawing *d)
{
    const double rise = d->spatial ? sp_seen_rise() : 1.0;
    const double platen = d->rest.high[1] - rise * sp_finite(shortening_of(d));
    sp_bounds drawn;
    sp_bounds_clear(&drawn);
    sp_bounds_add(&drawn, 0.0, platen, 0.0);
    if (!d->spatial && d->base) sp_bounds_add_shape(&drawn, d->shapes, d->base);
    if (!d->spatial && d->moved) sp_bounds_add_shape(&drawn, d->shapes, d->moved);
    return drawn.high[1];
}

static sp_status draw(sp_context *context, drawing *d, FILE *stream)
{
    sp_status status = SP_OK;
    if (d->spatial)
        status = look_at(context, d);
    else
        bound_planar(d);
    if (status != SP_OK) goto done;
    double wide = d->all.high[0] - d->all.low[0], top = top_of(d), high = top - d->all.low[1];
    double text_width = PICTURE_WIDTH - 2.0 * MARGIN;
    double scale = fmin(text_width / wide, BODY_MAX / high);
    double body = scale * high + 2.0 * SP_PLATEN_THICKNESS;
    double axes = d->spatial ? fmax(0.0, SP_AXES_SIZE - scale * sp_box_corner(&d->box)) : 0.0;
    double floor = HEAD + body + axes;
    char note[SP_STATE_NOTE_SIZE];
    take_note(d, note, sizeof note);
    double foot = sp_svg_paragraph_height(SMALL, text_width, note);
    sp_view view = {0.5 * (PICTURE_WIDTH - scale * (d->all.low[0] + d->all.high[0])),
                    HEAD + SP_PLATEN_THICKNESS + scale * top, scale};
    sp_svg svg = sp_svg_begin(stream, PICTURE_WIDTH, floor + 60.0 + foot,
                              "Critical step of the coupon without flaws");
    draw_heading(&svg, d->result);
    if (d->spatial)
        status = draw_spatial(context, &svg, &view, d, floor);
    else
        draw_planar(&svg, &view, d);
    draw_numbers(&svg, &view, d);
    draw_legend(&svg, floor + 26.0, d->moved != NULL, d->spatial, d->shapes->sheet_count > 0);
    sp_svg_paragraph(&svg, MARGIN, floor + 54.0, SMALL, text_width, SP_GREY, note);
    sp_svg_end(&svg);
    if (status == SP_OK) status = sp_stream_end(context, stream);
done:
    sp_strand_set_free(&d->state);
    sp_strand_set_free(&d->mode);
    return status;
}

sp_status sp_writer_mode_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_shapes *pressed = &result->path.shapes, *shapes = &mode_path(result)->shapes;
    drawing d = {.result = result, .shapes = pressed, .spatial = sp_shapes_spatial(pressed)};
    if (!result->path.critical.found || !shapes->mode || !shapes->mode_position) {
        d.base = pressed->frame_count ? sp_frame_position(pressed, 0) : NULL;
        return draw(context, &d, stream);
    }
    double *moved = displaced(shapes, MODE_SHARE * result->path.size[1]);
    if (!moved) return sp_fail(context, SP_NO_MEMORY, "no memory for mode.svg");
    d.shapes = shapes;
    d.base = shapes->mode_position;
    d.moved = moved;
    sp_status status = draw(context, &d, stream);
    sp_free(moved);
    return status;
}
