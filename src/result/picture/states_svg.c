/* states.svg: up to eight kept states at evenly spaced strains, same scale, coloured by the largest
 * fibre strain. */
#include <math.h>

#include "shape/block.h"
#include "caution/caution.h"
#include "write/colour.h"
#include "shape/direction.h"
#include "shape/shape_picture.h"
#include "shape/sheets.h"
#include "shape/strands.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define STATES_MAX 8
#define STATES_ROWS 4
#define STATES_SPATIAL 6 /* of a spatial coupon, in columns of three */
#define FLAT 2.2         /* width / height from which states stand in two columns instead of four */
#define PICTURE_WIDTH 1280.0
#define MARGIN 28.0
#define GAP 22.0
#define HEAD 84.0
#define CAPTION 56.0   /* below each state */
#define BODY_MAX 460.0 /* largest height of a drawn coupon */
#define LETTER 15.0
#define SMALL 12.0
#define LEGEND 76.0
#define BAR_WIDTH 420.0
#define AXES_ROOM 44.0  /* room above the legend for the axes on its right, which reach ... */
#define AXES_BELOW 40.0 /* ... below its top */
#define ROUND_OFF 1e-9
#define STATES_AFTER 3 /* of those after the press, the most that are drawn */
#define UNLOADED 1e-3  /* after the way back, of the largest force */

typedef struct panel_set {
    int count;
    int frame[STATES_MAX];
    int columns, rows;
    sp_bounds rest, all; /* unloaded; over all drawn states */
    double scale, cell_width;
    double bottom[STATES_ROWS]; /* picture y of the loaded face of the lower platens, per row */
    double legend;              /* picture y of the colour bar */
    sp_range colour;
    int spatial;
    sp_box box; /* spatial: over all drawn states */
    sp_scene scene;
} panel_set;

static double frame_shortening(const sp_path *path, int frame)
{
    const sp_step *step = sp_path_state(path, path->shapes.frame_step[frame]);
    return step ? sp_finite(step->shortening) : 0.0;
}

static int is_after_way_back(const sp_path *path, int frame)
{
    return frame >= path->shapes.frame_count - path->shapes.back_frames;
}

/* Force at a frame; round-off of an unloaded state is zero. */
static double frame_force(const sp_path *path, int frame)
{
    const sp_step *step = sp_path_state(path, path->shapes.frame_step[frame]);
    double largest = 0.0, force = 0.0;
    for (int i = 0; i < path->step_count; i++)
        largest = fmax(largest, fabs(sp_finite(path->step[i].force)));
    if (step) force = sp_finite(step->force);
    return fabs(force) < (is_after_way_back(path, frame) ? UNLOADED : ROUND_OFF) * largest ? 0.0
                                                                                           : force;
}

/* Kept frames nearest to evenly spaced shortenings, each taken once, near a snap the later one;
 * then that after the way back, or of a protocol the last ones, each at the end of a segment. */
static void choose_frames(const sp_path *path, panel_set *set)
{
    const int kept = path->shapes.back_frames, back = kept < STATES_AFTER ? kept : STATES_AFTER;
    int last = path->shapes.frame_count - 1 - kept;
    double end = last >= 0 ? frame_shortening(path, last) : 0.0;
    const int most = (set->spatial ? STATES_SPATIAL : STATES_MAX) - back;
    set->count = 0;
    int parts = last < most - 1 ? last : most - 1, from = 0;
    for (int i = 0; last >= 0 && i <= parts; i++) {
        double wanted = parts > 0 ? end * i / parts : 0.0;
        int best = from,
            limit =
                last - (parts - i); /* keep one frame for each state that is still to be chosen */
        for (int f = from; f <= limit; f++)
            if (fabs(frame_shortening(path, f) - wanted) <=
                fabs(frame_shortening(path, best) - wanted))
                best = f;
        set->frame[set->count++] = best;
        from = best + 1;
    }
    for (int i = 0; i < back; i++) set->frame[set->count++] = path->shapes.frame_count - back + i;
}

/* What was done before a frame, up to and with its colon; "" on the way down. */
static void frame_words(const sp_path *path, int frame, char *words, size_t size)
{
    words[0] = '\0';
    if (!is_after_way_back(path, frame)) return;
    sp_format(words, size, "after the way back: ");
    for (int i = 0; i < path->stage_count; i++)
        if (path->stage[i].last == path->shapes.frame_step[frame])
            sp_format(words, size, "after %s: ", sp_segment_word(path->stage[i].segment.kind));
}

static void bound(const sp_path *path, panel_set *set)
{
    const sp_shapes *shapes = &path->shapes;
    sp_bounds_clear(&set->rest);
    sp_bounds_add(&set->rest, 0.0, 0.0, 0.0);
    sp_bounds_add(&set->rest, path->size[0], path->size[1], 0.0);
    set->all = set->rest;
    if (set->count) sp_bounds_add_shape(&set->rest, shapes, sp_frame_position(shapes, 0));
    for (int i = 0; i < set->count; i++) {
        sp_bounds_add_shape(&set->all, shapes, sp_frame_position(shapes, set->frame[i]));
        if (path->block) sp_block_bound(path, frame_shortening(path, set->frame[i]), &set->all);
    }
}

/* The box holds all drawn states, so that no strut leaves it sideways. */
static void bound_space(const sp_path *path, panel_set *set)
{
    const sp_shapes *shapes = &path->shapes;
    sp_box_begin(&set->box, path->size);
    if (set->count) sp_box_add_shape(&set->box, shapes, sp_frame_position(shapes, 0), 1);
    for (int i = 0; i < set->count; i++)
        sp_box_add_shape(&set->box, shapes, sp_frame_position(shapes, set->frame[i]), 0);
    set->rest = set->all = sp_box_bounds(&set->box);
    sp_box_reach(&set->box, set->scene.reach);
    set->scene.edge = SP_INK;
    set->scene.top = set->colour.top;
}

static void lay_out(const sp_path *path, panel_set *set)
{
    if (set->spatial)
        bound_space(path, set);
    else
        bound(path, set);
    double wide = set->all.high[0] - set->all.low[0], high = set->rest.high[1] - set->rest.low[1];
    int most = wide > FLAT * high ? STATES_MAX / STATES_ROWS : STATES_MAX / 2;
    if (set->spatial) most = STATES_SPATIAL / 2;
    set->columns = set->count < most ? (set->count > 0 ? set->count : 1) : most;
    set->rows = (set->count + set->columns - 1) / set->columns;
    set->cell_width = (PICTURE_WIDTH - 2.0 * MARGIN - GAP * (set->columns - 1)) / set->columns;
    set->scale = fmin(set->cell_width / wide, BODY_MAX / high);
    const double rise = set->spatial ? sp_seen_rise() : 1.0;
    double y = set->count ? HEAD : HEAD + CAPTION; /* room for the sentence that says so */
    for (int row = 0; row < set->rows; row++) {
        double shortening = set->count ? INFINITY : 0.0; /* of the highest state of the row */
        for (int i = row * set->columns; i < set->count && i < (row + 1) * set->columns; i++)
            shortening = fmin(shortening, frame_shortening(path, set->frame[i]));
        set->bottom[row] = y + SP_PLATEN_THICKNESS + set->scale * (high - rise * shortening);
        y = set->bottom[row] + SP_PLATEN_THICKNESS + CAPTION;
    }
    set->legend = y;
}

/* ---- one state ------------------------------------------------------------------------------- */

static sp_ink ink_of(const sp_shapes *shapes, const panel_set *set, int frame)
{
    return (sp_ink){1.0, NULL, SP_INK,
                    shapes->fibre_strain + (size_t)frame * (size_t)shapes->point_count,
                    set->colour.top};
}

static sp_status strands_of_frame(sp_context *context, const sp_shapes *shapes,
                                  const panel_set *set, int frame, sp_strand_set *strands)
{
    const sp_ink ink = ink_of(shapes, set, frame);
    return sp_strands_of_shapes(context, shapes, sp_frame_position(shapes, frame), &ink, strands);
}

/* Choose one level of detail for all states: the finest that every state allows. */
static sp_status choose_detail(sp_context *context, const sp_shapes *shapes, panel_set *set)
{
    sp_status status = SP_OK;
    for (int i = 0; i < set->count && status == SP_OK && !shapes->sheet_count; i++) {
        sp_strand_set strands;
        status = strands_of_frame(context, shapes, set, set->frame[i], &strands);
        set->scene.detail = sp_detail_within(&set->scene, strands.strand, strands.count,
                                             SP_PIECES_MAX / set->count);
        sp_strand_set_free(&strands);
    }
    return status;
}

static sp_status draw_space(sp_context *context, sp_svg *svg, const sp_view *view,
                            const sp_path *path, const panel_set *set, int frame)
{
    const sp_shapes *shapes = &path->shapes;
    sp_strand_set strands = {0};
    const double shortening = frame_shortening(path, frame);
    const sp_ink ink = ink_of(shapes, set, frame);
    sp_status status = SP_OK;
    if (!shapes->sheet_count) status = strands_of_frame(context, shapes, set, frame, &strands);
    sp_draw_face(svg, view, &set->box, shortening, 1);
    if (shapes->sheet_count)
        status = sp_draw_sheets(context, svg, view, shapes, sp_frame_position(shapes, frame), &ink);
    else if (status == SP_OK)
        status = sp_draw_strands(context, svg, view, &set->scene, strands.strand, strands.count);
    sp_draw_face(svg, view, &set->box, shortening, 0);
    sp_strand_set_free(&strands);
    return status;
}

static void draw_plane(sp_svg *svg, const sp_view *view, const sp_path *path, const panel_set *set,
                       int frame)
{
    const sp_ink ink = ink_of(&path->shapes, set, frame);
    sp_draw_platens(svg, view, &set->rest, path->size[1], frame_shortening(path, frame),
                    set->all.low[0], set->all.high[0]);
    if (path->block) sp_draw_block(svg, view, path, frame_shortening(path, frame));
    sp_draw_struts(svg, view, &path->shapes, sp_frame_position(&path->shapes, frame), &ink);
}

static sp_status draw_state(sp_context *context, sp_svg *svg, const sp_path *path,
                            const panel_set *set, int i)
{
    int frame = set->frame[i], row = i / set->columns, column = i % set->columns;
    double left = MARGIN + column * (set->cell_width + GAP);
    double middle = 0.5 * (set->all.low[0] + set->all.high[0]);
    sp_view view = {left + 0.5 * set->cell_width - set->scale * middle,
                    set->bottom[row] + set->scale * set->rest.low[1], set->scale};
    char line[128];
    sp_status status = SP_OK;
    if (set->spatial)
        status = draw_space(context, svg, &view, path, set, frame);
    else
        draw_plane(svg, &view, path, set, frame);
    char words[32];
    frame_words(path, frame, words, sizeof words);
    sp_format(line, sizeof line, "%sstrain %.1f %%,  %.4g N", words,
              100.0 * frame_shortening(path, frame) / path->size[1], frame_force(path, frame));
    sp_svg_text(svg, left + 0.5 * set->cell_width, set->bottom[row] + SP_PLATEN_THICKNESS + 20.0,
                LETTER, SP_SVG_MIDDLE, SP_INK, line);
    return status;
}

static void draw_legend(sp_svg *svg, const panel_set *set, double y)
{
    char colour[8], line[64];
    double part = BAR_WIDTH / SP_COLOUR_LEVELS, tick = sp_svg_tick(set->colour.top, 4);
    for (int i = 0; i < SP_COLOUR_LEVELS; i++) /* half a unit wider: no gaps between the parts */
        sp_svg_box(svg, MARGIN + i * part, y, part + (i < SP_COLOUR_LEVELS - 1 ? 0.5 : 0.0), 16.0,
                   sp_colour_text(i, colour), NULL);
    sp_svg_box(svg, MARGIN, y, BAR_WIDTH, 16.0, NULL, SP_INK);
    for (int i = 0; i * tick <= set->colour.top * 1.0001; i++) {
        double x = MARGIN + BAR_WIDTH * i * tick / set->colour.top;
        int end = (i + 1) * tick > set->colour.top * 1.0001;
        sp_svg_line(svg, x, y + 16.0, x, y + 21.0, 1.0, SP_INK, NULL);
        sp_format(line, sizeof line, "%.4g %%%s", 100.0 * i * tick,
                  end && set->colour.clipped ? " and more" : "");
        sp_svg_text(svg, x, y + 35.0, SMALL, i ? SP_SVG_MIDDLE : SP_SVG_LEFT, SP_INK, line);
    }
    sp_svg_text(svg, MARGIN + BAR_WIDTH + 60.0, y + 13.0, LETTER, SP_SVG_LEFT, SP_INK,
                "largest fibre strain of each piece (stretch or squash)");
}

sp_status sp_writer_states_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_path *path = &result->path;
    panel_set set = {.spatial = sp_shapes_spatial(&path->shapes)};
    char line[256];
    choose_frames(path, &set);
    sp_status status = sp_colour_range(context, &path->shapes, set.count, set.frame, &set.colour);
    if (status != SP_OK) return status;
    lay_out(path, &set);
    if (set.spatial) status = choose_detail(context, &path->shapes, &set);
    double text_width = PICTURE_WIDTH - 2.0 * MARGIN;
    const char *note = path->shapes.sheet_count ? SP_SHEET_NOTE ". " SP_CAUTION_SAFETY
                       : set.spatial            ? sp_spatial_note(&set.scene)
                                                : SP_CAUTION_SAFETY;
    double foot = sp_svg_paragraph_height(SMALL, text_width, note);
    double legend = set.legend + (set.spatial ? AXES_ROOM : 0.0);
    const double last = legend + LEGEND + SP_DIRECTION_HEIGHT;
    sp_svg svg = sp_svg_begin(stream, PICTURE_WIDTH, last + foot, "Deformed states");
    sp_svg_text_bold(&svg, MARGIN, 34.0, 20.0, SP_INK, "Deformed states, same scale");
    sp_coupon_text(result, line, sizeof line);
    sp_svg_text(&svg, MARGIN, 58.0, LETTER, SP_SVG_LEFT, SP_GREY, line);
    for (int i = 0; i < set.count && status == SP_OK; i++)
        status = draw_state(context, &svg, path, &set, i);
    if (!set.count)
        sp_svg_text(&svg, MARGIN, HEAD + 20.0, LETTER, SP_SVG_LEFT, SP_INK, "no state was kept");
    if (path->block)
        sp_svg_text(&svg, MARGIN, legend + 13.0, LETTER, SP_SVG_LEFT, SP_INK, SP_BLOCK_NOTE);
    else
        draw_legend(&svg, &set, legend);
    if (set.spatial) sp_draw_axes(&svg, PICTURE_WIDTH - MARGIN - SP_AXES_SIZE, legend + AXES_BELOW);
    sp_draw_direction(&svg, MARGIN, legend + LEGEND - 24.0, text_width, &result->network);
    sp_svg_paragraph(&svg, MARGIN, last - 14.0, SMALL, text_width, SP_GREY, note);
    sp_svg_end(&svg);
    return status == SP_OK ? sp_stream_end(context, stream) : status;
}
