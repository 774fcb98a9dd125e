/* Draw the coupons whose states are shown side by side in one picture, all at one strain or one
 * force. */
#include "report/report_parts.h"

#include <math.h>

#include "shape/state.h"
#include "write/text.h"

#define PICTURE_WIDTH 1280.0
#define MARGIN 28.0
#define GAP 26.0
#define HEAD 78.0
#define BODY_MAX 420.0 /* largest height of a drawn coupon */
#define LETTER 15.0
#define SMALL 12.0
#define CAPTION 62.0 /* below each coupon */
#define LEGEND 62.0
#define BAR_WIDTH 420.0
enum { COLUMNS_MAX = 4 };
/* a state that is farther away from the strain that was asked for is labelled so. */
static const double far_strain = 0.01;

/* One coupon in its cell. */
typedef struct cell {
    const shown *one;
    const char *name;
    int frame;
    sp_state_view view;
} cell;

typedef struct sheet {
    const report *report;
    int count, columns, rows;
    cell cell[SP_REPORT_STATES_MAX];
    double width, scale;                 /* of a cell; picture units / mm */
    double bottom[SP_REPORT_STATES_MAX]; /* picture y of the lower platens, per row */
    double end;                          /* below the last row */
} sheet;

/* Find the first kept state of the press that carries the force; the last one where none does. */
static int frame_at_force(const sp_path *path, double force)
{
    const int count = path->shapes.frame_count - path->shapes.back_frames;
    for (int f = 0; f < count; f++)
        if (sp_state_force(path, f) >= force) return f;
    return count - 1;
}

static int frame_of(const report *r, const sp_path *path)
{
    const sp_report_options *how = r->options;
    return how->beside_force > 0 ? frame_at_force(path, how->beside_force)
                                 : sp_state_nearest(path, how->beside_strain * path->size[1]);
}

/* All coupons get the widest scale of colours, so that one colour stands for one strain. */
static sp_status take_cells(sheet *s)
{
    const report *r = s->report;
    double top = 0;
    int clipped = 0;
    for (int i = 0; i < r->shown_count; i++) {
        const shown *one = &r->shown[i];
        const sp_path *path = &one->result.path;
        const int frame = one->group < 0 || !path->step_count ? -1 : frame_of(r, path);
        if (frame < 0) continue;
        cell *c = &s->cell[s->count++];
        *c = (cell){.one = one, .name = r->compare->group[one->group].label, .frame = frame};
        const sp_status status = sp_state_look(r->context, path, &c->frame, 1, &c->view);
        if (status != SP_OK) return status;
        top = fmax(top, c->view.colour.top);
        clipped |= c->view.colour.clipped;
    }
    for (int i = 0; i < s->count; i++) {
        s->cell[i].view.colour = (sp_range){top, clipped};
        s->cell[i].view.scene.top = top;
    }
    return SP_OK;
}

static double height_of(const cell *c)
{
    const double shortening = sp_state_shortening(c->view.path, c->frame);
    return sp_state_high(&c->view) - sp_state_rise(&c->view) * shortening;
}

/* All coupons get the same scale, so that their sizes can be compared. */
static void lay_out(sheet *s)
{
    double wide = 1e-9, high = 1e-9;
    for (int i = 0; i < s->count; i++) {
        wide = fmax(wide, sp_state_wide(&s->cell[i].view));
        high = fmax(high, height_of(&s->cell[i]));
    }
    s->columns = s->count < COLUMNS_MAX ? s->count : COLUMNS_MAX;
    if (s->columns < 1) s->columns = 1;
    s->rows = (s->count + s->columns - 1) / s->columns;
    s->width = (PICTURE_WIDTH - 2 * MARGIN - GAP * (s->columns - 1)) / s->columns;
    s->scale = fmin(s->width / wide, BODY_MAX / high);
    double y = HEAD;
    for (int k = 0; k < s->rows; k++) {
        double most = 0;
        for (int i = k * s->columns; i < s->count && i < (k + 1) * s->columns; i++)
            most = fmax(most, height_of(&s->cell[i]));
        s->bottom[k] = y + SP_PLATEN_THICKNESS + s->scale * most;
        y = s->bottom[k] + SP_PLATEN_THICKNESS + CAPTION;
    }
    s->end = y;
}

static void caption_of(const sheet *s, const cell *c, char *text, size_t size)
{
    const sp_report_options *how = s->report->options;
    const sp_path *path = c->view.path;
    const double strain = sp_state_shortening(path, c->frame) / path->size[1];
    const double force = sp_state_force(path, c->frame);
    const int misses = how->beside_force > 0 ? force < how->beside_force
                                             : how->beside_strain - strain > far_strain;
    sp_format(text, size, "strain %.1f %%,  %.4g N%s", 100 * strain, force,
              misses ? " (its press ends here)" : "");
}

/* Say what a block is, where one is drawn. */
static void take_note(const sheet *s, char *text, size_t size)
{
    static const sp_network whole = {0};
    char state[SP_STATE_NOTE_SIZE];
    int blocks = 0, mirrors = 0;
    for (int i = 0; i < s->count; i++) {
        const sp_network *network = &s->cell[i].one->result.network;
        blocks += network->block > 0;
        mirrors += network->block > 0 && network->mirror;
    }
    sp_state_note(&s->cell[0].view, &whole, state, sizeof state);
    sp_format(text, size, "%s%s%s%s",
              blocks ? "A block is pressed in the place of its coupon (coupon.block), whose force "
                       "is given"
                     : "",
              mirrors ? "; where coupon.block_sides is mirror, its sides are planes of symmetry"
                      : "",
              blocks ? ". " : "", state);
}

static void name_of(const cell *c, char *text, size_t size)
{
    const sp_network *network = &c->one->result.network;
    if (network->block)
        sp_format(text, size, "%s (block of %.4g x %.4g mm)", c->name, network->size[0],
                  network->size[2]);
    else
        sp_format(text, size, "%s", c->name);
}

static sp_status draw_cell(const sheet *s, sp_svg *svg, int i)
{
    const cell *c = &s->cell[i];
    const double left = MARGIN + i % s->columns * (s->width + GAP);
    const double bottom = s->bottom[i / s->columns], below = bottom + SP_PLATEN_THICKNESS;
    char line[SP_MESSAGE_SIZE];
    const sp_status status = sp_state_draw(s->report->context, svg, &c->view, c->frame,
                                           left + 0.5 * s->width, bottom, s->scale);
    name_of(c, line, sizeof line);
    sp_svg_text(svg, left + 0.5 * s->width, below + 20, LETTER, SP_SVG_MIDDLE, SP_INK, line);
    caption_of(s, c, line, sizeof line);
    sp_svg_text(svg, left + 0.5 * s->width, below + 40, LETTER, SP_SVG_MIDDLE, SP_GREY, line);
    return status;
}

sp_status sp_report_beside(report *r, FILE *stream)
{
    sheet s = {.report = r};
    char title[160], note[SP_STATE_NOTE_SIZE + 200];
    const double text_width = PICTURE_WIDTH - 2 * MARGIN;
    sp_status status = take_cells(&s);
    if (status != SP_OK) return status;
    if (!s.count) return sp_fail(r->context, SP_BAD_USAGE, "no coupon has states to be drawn");
    lay_out(&s);
    if (r->options->beside_force > 0)
        sp_format(title, sizeof title,
                  "Side by side under %.4g N (the first kept state of each), same scale",
                  r->options->beside_force);
    else
        sp_format(title, sizeof title,
                  "Side by side at %.4g %% strain (the nearest kept state of each), same scale",
                  100 * r->options->beside_strain);
    take_note(&s, note, sizeof note);
    const double foot = sp_svg_paragraph_height(SMALL, text_width, note);
    sp_svg svg = sp_svg_begin(stream, PICTURE_WIDTH, s.end + LEGEND + foot, title);
    sp_svg_text_bold(&svg, MARGIN, 40, 20, SP_INK, title);
    for (int i = 0; i < s.count && status == SP_OK; i++) status = draw_cell(&s, &svg, i);
    sp_state_scale(&svg, &s.cell[0].view.colour, MARGIN, s.end, BAR_WIDTH);
    sp_svg_text(&svg, MARGIN + BAR_WIDTH + 60, s.end + 13, LETTER, SP_SVG_LEFT, SP_INK,
                SP_STATE_SCALE_TEXT);
    sp_svg_paragraph(&svg, MARGIN, s.end + LEGEND - 8, SMALL, text_width, SP_GREY, note);
    sp_svg_end(&svg);
    return status == SP_OK ? sp_stream_end(r->context, stream) : status;
}
