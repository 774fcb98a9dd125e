/* Draw kept states of a press in a picture; see state.h. */
#include "shape/state.h"

#include <math.h>

#include "caution/caution.h"
#include "shape/block.h"
#include "shape/direction.h"
#include "shape/sheets.h"
#include "write/colour.h"
#include "write/text.h"

static const double round_off = 1e-9;
static const double unloaded_share = 1e-3; /* after the way back, of the largest force */
#define SCALE_HEIGHT 16.0
#define SCALE_LETTER 12.0
#define NUMBER_LETTER 14.0
#define RING 7.0 /* a ring round a number is this much wider than half of it */

double sp_state_shortening(const sp_path *path, int frame)
{
    const sp_step *step = sp_path_state(path, path->shapes.frame_step[frame]);
    return step ? sp_finite(step->shortening) : 0.0;
}

int sp_state_is_after(const sp_path *path, int frame)
{
    return frame >= path->shapes.frame_count - path->shapes.back_frames;
}

double sp_state_force(const sp_path *path, int frame)
{
    const sp_step *step = sp_path_state(path, path->shapes.frame_step[frame]);
    double largest = 0.0, force = 0.0;
    for (int i = 0; i < path->step_count; i++)
        largest = fmax(largest, fabs(sp_finite(path->step[i].force)));
    if (step) force = sp_finite(step->force);
    return fabs(force) < (sp_state_is_after(path, frame) ? unloaded_share : round_off) * largest
               ? 0.0
               : force;
}

int sp_state_nearest(const sp_path *path, double shortening)
{
    int best = -1;
    for (int f = 0; f < path->shapes.frame_count - path->shapes.back_frames; f++)
        if (best < 0 || fabs(sp_state_shortening(path, f) - shortening) <=
                            fabs(sp_state_shortening(path, best) - shortening))
            best = f;
    return best;
}

/* ---- the direction it is seen from ------------------------------------------------------- */

static void bound(sp_state_view *view, const int *frame, int count)
{
    const sp_path *path = view->path;
    const sp_shapes *shapes = &path->shapes;
    sp_bounds_clear(&view->rest);
    sp_bounds_add(&view->rest, 0.0, 0.0, 0.0);
    sp_bounds_add(&view->rest, path->pressed[0], path->pressed[1], 0.0);
    view->all = view->rest;
    if (count) sp_bounds_add_shape(&view->rest, shapes, sp_frame_position(shapes, 0));
    for (int i = 0; i < count; i++) {
        sp_bounds_add_shape(&view->all, shapes, sp_frame_position(shapes, frame[i]));
        if (path->block) sp_block_bound(path, sp_state_shortening(path, frame[i]), &view->all);
    }
}

/* The box holds all drawn states, so that no strut leaves it sideways. */
static void bound_spatial(sp_state_view *view, const int *frame, int count)
{
    const sp_shapes *shapes = &view->path->shapes;
    sp_box_begin(&view->box, view->path->pressed);
    if (count) sp_box_add_shape(&view->box, shapes, sp_frame_position(shapes, 0), 1);
    for (int i = 0; i < count; i++)
        sp_box_add_shape(&view->box, shapes, sp_frame_position(shapes, frame[i]), 0);
    view->rest = view->all = sp_box_bounds(&view->box);
    sp_box_reach(&view->box, view->scene.reach);
    view->scene.edge = SP_INK;
    view->scene.top = view->colour.top;
}

static sp_ink ink_of(const sp_state_view *view, int frame)
{
    const sp_shapes *shapes = &view->path->shapes;
    return (sp_ink){1.0, NULL, SP_INK,
                    shapes->fibre_strain + (size_t)frame * (size_t)shapes->point_count,
                    view->colour.top};
}

static sp_status strands_of_frame(sp_context *context, const sp_state_view *view, int frame,
                                  sp_strand_set *strands)
{
    const sp_shapes *shapes = &view->path->shapes;
    const sp_ink ink = ink_of(view, frame);
    return sp_strands_of_shapes(context, shapes, sp_frame_position(shapes, frame), &ink, strands);
}

/* Choose one level of detail for all states: the finest that every state allows. */
static sp_status choose_detail(sp_context *context, sp_state_view *view, const int *frame,
                               int count)
{
    sp_status status = SP_OK;
    for (int i = 0; i < count && status == SP_OK && !view->path->shapes.sheet_count; i++) {
        sp_strand_set strands;
        status = strands_of_frame(context, view, frame[i], &strands);
        view->scene.detail =
            sp_detail_within(&view->scene, strands.strand, strands.count, SP_PIECES_MAX / count);
        sp_strand_set_free(&strands);
    }
    return status;
}

sp_status sp_state_look(sp_context *context, const sp_path *path, const int *frame, int count,
                        sp_state_view *view)
{
    *view = (sp_state_view){.path = path, .spatial = sp_shapes_spatial(&path->shapes)};
    sp_status status = sp_colour_range(context, &path->shapes, count, frame, &view->colour);
    if (status != SP_OK) return status;
    if (!view->spatial) {
        bound(view, frame, count);
        return SP_OK;
    }
    bound_spatial(view, frame, count);
    return choose_detail(context, view, frame, count);
}

double sp_state_wide(const sp_state_view *view)
{
    return view->all.high[0] - view->all.low[0];
}

double sp_state_high(const sp_state_view *view)
{
    return view->rest.high[1] - view->rest.low[1];
}

double sp_state_rise(const sp_state_view *view)
{
    return view->spatial ? sp_seen_rise() : 1.0;
}

void sp_state_note(const sp_state_view *view, const sp_network *network, char *text, size_t size)
{
    char drawn[SP_DRAWN_SIZE];
    sp_drawn_text(network, drawn, sizeof drawn);
    sp_format(text, size, "%s%s", drawn,
              view->path->shapes.sheet_count ? SP_SHEET_NOTE ". " SP_CAUTION_SAFETY
              : view->spatial                ? sp_spatial_note(&view->scene)
                                             : SP_CAUTION_SAFETY);
}

/* ---- one state ------------------------------------------------------------------------------- */

static sp_status draw_spatial(sp_context *context, sp_svg *svg, const sp_view *at,
                              const sp_state_view *view, int frame)
{
    const sp_shapes *shapes = &view->path->shapes;
    const double shortening = sp_state_shortening(view->path, frame);
    const sp_ink ink = ink_of(view, frame);
    sp_strand_set strands = {0};
    sp_status status = SP_OK;
    if (!shapes->sheet_count) status = strands_of_frame(context, view, frame, &strands);
    sp_draw_face(svg, at, &view->box, shortening, 1);
    if (shapes->sheet_count)
        status =
            sp_draw_sheets(context, svg, at, shapes, sp_frame_position(shapes, frame), &ink, NULL);
    else if (status == SP_OK)
        status = sp_draw_strands(context, svg, at, &view->scene, strands.strand, strands.count);
    sp_draw_face(svg, at, &view->box, shortening, 0);
    sp_strand_set_free(&strands);
    return status;
}

static void draw_planar(sp_svg *svg, const sp_view *at, const sp_state_view *view, int frame)
{
    const sp_path *path = view->path;
    const sp_ink ink = ink_of(view, frame);
    const double shortening = sp_state_shortening(path, frame);
    sp_draw_platens(svg, at, &view->rest, path->size[1], shortening, view->all.low[0],
                    view->all.high[0]);
    if (path->block) sp_draw_block(svg, at, path, shortening);
    sp_draw_struts(svg, at, &path->shapes, sp_frame_position(&path->shapes, frame), &ink);
}

static sp_view place(const sp_state_view *view, double x, double y, double scale)
{
    const double middle = 0.5 * (view->all.low[0] + view->all.high[0]);
    return (sp_view){x - scale * middle, y + scale * view->rest.low[1], scale};
}

sp_status sp_state_draw(sp_context *context, sp_svg *svg, const sp_state_view *view, int frame,
                        double x, double y, double scale)
{
    const sp_view at = place(view, x, y, scale);
    if (view->spatial) return draw_spatial(context, svg, &at, view, frame);
    draw_planar(svg, &at, view, frame);
    return SP_OK;
}

void sp_draw_number(sp_svg *svg, const sp_view *view, const double place[3], int spatial, int strut,
                    int is_first_buckled)
{
    double seen[3] = {sp_finite(place[0]), sp_finite(place[1]), 0.0};
    char text[16];
    if (spatial) sp_see(place, seen);
    const double x = view->x + view->scale * seen[0], y = view->y - view->scale * seen[1];
    sp_format(text, sizeof text, "%d", strut);
    if (is_first_buckled)
        sp_print(svg->stream,
                 "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"%.1f\" fill=\"none\" stroke=\"" SP_VERMILION
                 "\" stroke-width=\"2.5\"/>\n",
                 x, y, 0.6 * sp_svg_text_width(NUMBER_LETTER, text) + RING);
    sp_svg_text_rimmed(svg, x, y, NUMBER_LETTER, SP_INK, text);
}

void sp_state_number(sp_svg *svg, const sp_state_view *view, int frame, int strut, double x,
                     double y, double scale)
{
    const sp_shapes *shapes = &view->path->shapes;
    const sp_view at = place(view, x, y, scale);
    if (strut < 0 || strut >= shapes->strut_count) return;
    const int point = (shapes->first_point[strut] + shapes->first_point[strut + 1]) / 2;
    sp_draw_number(svg, &at, sp_frame_position(shapes, frame) + 3 * (size_t)point, view->spatial,
                   strut, 1);
}

void sp_state_scale(sp_svg *svg, const sp_range *colour, double x, double y, double width)
{
    char text[8], line[64];
    const double part = width / SP_COLOUR_LEVELS, tick = sp_svg_tick(colour->top, 4);
    for (int i = 0; i < SP_COLOUR_LEVELS;
         i++) /* half a unit wider, so that no gaps show between the parts */
        sp_svg_box(svg, x + i * part, y, part + (i < SP_COLOUR_LEVELS - 1 ? 0.5 : 0.0),
                   SCALE_HEIGHT, sp_colour_text(i, text), NULL);
    sp_svg_box(svg, x, y, width, SCALE_HEIGHT, NULL, SP_INK);
    for (int i = 0; i * tick <= colour->top * 1.0001; i++) {
        const double at = x + width * i * tick / colour->top, low = y + SCALE_HEIGHT;
        const int end = (i + 1) * tick > colour->top * 1.0001;
        sp_svg_line(svg, at, low, at, low + 5.0, 1.0, SP_INK, NULL);
        sp_format(line, sizeof line, "%.4g %%%s", 100.0 * i * tick,
                  end && colour->clipped ? " and more" : "");
        sp_svg_text(svg, at, low + 19.0, SCALE_LETTER, i ? SP_SVG_MIDDLE : SP_SVG_LEFT, SP_INK,
                    line);
    }
}
