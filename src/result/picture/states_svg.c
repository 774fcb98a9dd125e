/* states.svg: up to eight kept states at evenly spaced strains, same scale, coloured by the largest
 * fibre strain. */
#include <math.h>

#include "caution/caution.h"
#include "shape/block.h"
#include "shape/direction.h"
#include "shape/state.h"
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
#define AXES_ROOM 44.0  /* room above the legend for the axes on its right */
#define AXES_BELOW 40.0 /* how far these axes reach below the top of the legend */
#define STATES_AFTER 3  /* most states that are drawn of those after the press */

typedef struct panel_set {
    int count;
    int frame[STATES_MAX];
    /* The drawn state in which the first buckled strut is numbered, or -1. */
    int marked;
    int columns, rows;
    double scale, cell_width;
    double bottom[STATES_ROWS]; /* picture y of the loaded face of the lower platens, per row */
    double legend;              /* picture y of the colour bar */
    sp_state_view view;
} panel_set;

/* Choose the kept frames nearest to evenly spaced shortenings, each of them once and near a snap
 * the later one; then the frame after the way back, or for a protocol the last ones, each at the
 * end of a segment. */
static void choose_frames(const sp_path *path, int spatial, panel_set *set)
{
    const int kept = path->shapes.back_frames, back = kept < STATES_AFTER ? kept : STATES_AFTER;
    int last = path->shapes.frame_count - 1 - kept;
    double end = last >= 0 ? sp_state_shortening(path, last) : 0.0;
    const int most = (spatial ? STATES_SPATIAL : STATES_MAX) - back;
    set->count = 0;
    int parts = last < most - 1 ? last : most - 1, from = 0;
    for (int i = 0; last >= 0 && i <= parts; i++) {
        double wanted = parts > 0 ? end * i / parts : 0.0;
        /* Keep one frame for each state that is still to be chosen. */
        int best = from, limit = last - (parts - i);
        for (int f = from; f <= limit; f++)
            if (fabs(sp_state_shortening(path, f) - wanted) <=
                fabs(sp_state_shortening(path, best) - wanted))
                best = f;
        set->frame[set->count++] = best;
        from = best + 1;
    }
    for (int i = 0; i < back; i++) set->frame[set->count++] = path->shapes.frame_count - back + i;
}

/* Say what was done before a frame, up to and with its colon; "" on the way down. */
static void frame_words(const sp_path *path, int frame, char *words, size_t size)
{
    words[0] = '\0';
    if (!sp_state_is_after(path, frame)) return;
    sp_format(words, size, "after the way back: ");
    for (int i = 0; i < path->stage_count; i++)
        if (path->stage[i].last == path->shapes.frame_step[frame])
            sp_format(words, size, "after %s: ", sp_segment_word(path->stage[i].segment.kind));
}

/* Find the first drawn state in which the first buckled strut has buckled; -1: none. */
static int buckled_state(const sp_path *path, const panel_set *set)
{
    if (!path->buckled.found || path->shapes.sheet_count) return -1;
    for (int i = 0; i < set->count; i++)
        if (sp_state_shortening(path, set->frame[i]) >=
            path->buckled.strain * path->size[1] * (1.0 - 1e-9))
            return i;
    return -1;
}

static void lay_out(const sp_path *path, panel_set *set)
{
    const double wide = sp_state_wide(&set->view), high = sp_state_high(&set->view);
    int most = wide > FLAT * high ? STATES_MAX / STATES_ROWS : STATES_MAX / 2;
    if (set->view.spatial) most = STATES_SPATIAL / 2;
    set->columns = set->count < most ? (set->count > 0 ? set->count : 1) : most;
    set->rows = (set->count + set->columns - 1) / set->columns;
    set->cell_width = (PICTURE_WIDTH - 2.0 * MARGIN - GAP * (set->columns - 1)) / set->columns;
    set->scale = fmin(set->cell_width / wide, BODY_MAX / high);
    double y = set->count
                   ? HEAD
                   : HEAD + CAPTION; /* room for the sentence that says that no state is kept */
    for (int row = 0; row < set->rows; row++) {
        double shortening = set->count ? INFINITY : 0.0; /* of the highest state of the row */
        for (int i = row * set->columns; i < set->count && i < (row + 1) * set->columns; i++)
            shortening = fmin(shortening, sp_state_shortening(path, set->frame[i]));
        set->bottom[row] =
            y + SP_PLATEN_THICKNESS + set->scale * (high - sp_state_rise(&set->view) * shortening);
        y = set->bottom[row] + SP_PLATEN_THICKNESS + CAPTION;
    }
    set->legend = y;
}

static sp_status draw_state(sp_context *context, sp_svg *svg, const sp_path *path,
                            const panel_set *set, int i)
{
    const int frame = set->frame[i], row = i / set->columns, column = i % set->columns;
    const double middle = MARGIN + column * (set->cell_width + GAP) + 0.5 * set->cell_width;
    char line[128], words[32];
    const sp_status status =
        sp_state_draw(context, svg, &set->view, frame, middle, set->bottom[row], set->scale);
    if (i == set->marked)
        sp_state_number(svg, &set->view, frame, path->buckled.strut, middle, set->bottom[row],
                        set->scale);
    frame_words(path, frame, words, sizeof words);
    sp_format(line, sizeof line, "%sstrain %.1f %%,  %.4g N", words,
              100.0 * sp_state_shortening(path, frame) / path->size[1],
              sp_state_force(path, frame));
    sp_svg_text(svg, middle, set->bottom[row] + SP_PLATEN_THICKNESS + 20.0, LETTER, SP_SVG_MIDDLE,
                SP_INK, line);
    return status;
}

static void draw_legend(sp_svg *svg, const panel_set *set, double y)
{
    sp_state_scale(svg, &set->view.colour, MARGIN, y, BAR_WIDTH);
    sp_svg_text(svg, MARGIN + BAR_WIDTH + 60.0, y + 13.0, LETTER, SP_SVG_LEFT, SP_INK,
                set->marked < 0 ? SP_STATE_SCALE_TEXT
                                : SP_STATE_SCALE_TEXT "; ringed: first buckled strut");
}

sp_status sp_writer_states_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_path *path = &result->path;
    const int spatial = sp_shapes_spatial(&path->shapes);
    panel_set set = {0};
    char line[256], note[SP_STATE_NOTE_SIZE];
    choose_frames(path, spatial, &set);
    sp_status status = sp_state_look(context, path, set.frame, set.count, &set.view);
    if (status != SP_OK) return status;
    lay_out(path, &set);
    set.marked = buckled_state(path, &set);
    double text_width = PICTURE_WIDTH - 2.0 * MARGIN;
    sp_state_note(&set.view, &result->network, note, sizeof note);
    double foot = sp_svg_paragraph_height(SMALL, text_width, note);
    double legend = set.legend + (spatial ? AXES_ROOM : 0.0);
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
    if (spatial) sp_draw_axes(&svg, PICTURE_WIDTH - MARGIN - SP_AXES_SIZE, legend + AXES_BELOW);
    sp_draw_direction(&svg, MARGIN, legend + LEGEND - 24.0, text_width, &result->network);
    sp_svg_paragraph(&svg, MARGIN, last - 14.0, SMALL, text_width, SP_GREY, note);
    sp_svg_end(&svg);
    return status == SP_OK ? sp_stream_end(context, stream) : status;
}
