/* time.svg: a press in time. Three panels: force over strain with every cycle, force in the holds
 * over the logarithm of the time held (or of drops, over time), and what is left of the shortening
 * in the rests over the logarithm of the time since the platen was lifted. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "measure/stages.h"
#include "write/svg.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define WIDTH 1000.0
#define HEIGHT 520.0
#define TOP 96.0
#define BOTTOM 420.0
#define PANEL 250.0
#define LETTER 13.0
#define TICKS_MAX 40
#define FIRST_TIME 0.1 /* [s], where the time axes begin */

static const char *const colours[] = {SP_BLUE,   SP_VERMILION, SP_GREEN,
                                      SP_PURPLE, SP_ORANGE,    SP_SKY};
enum { COLOURS = sizeof colours / sizeof *colours };

/* One panel: the ends of its axes in their own units. */
typedef struct panel {
    sp_svg *svg;
    double left;
    double x_low, x_high, y_low, y_high;
} panel;

static double place_x(const panel *p, double x)
{
    return p->left + PANEL * (x - p->x_low) / (p->x_high - p->x_low);
}

static double place_y(const panel *p, double y)
{
    return BOTTOM - (BOTTOM - TOP) * (y - p->y_low) / (p->y_high - p->y_low);
}

static void draw_y_axis(const panel *p)
{
    const double tick = sp_svg_tick(p->y_high - p->y_low, 5);
    char number[SP_NUMBER_SIZE];
    const double first = ceil(p->y_low / tick - 1e-9);
    for (int i = 0; i < TICKS_MAX && (first + i) * tick <= p->y_high + 1e-9 * tick; i++) {
        const double k = first + i;
        const double y = place_y(p, k * tick);
        sp_number(number, k == 0 ? 0 : k * tick, 4);
        sp_svg_line(p->svg, p->left, y, p->left + PANEL, y, 0.6, "#e3e6ea", NULL);
        sp_svg_text(p->svg, p->left - 7, y + 4.5, LETTER, SP_SVG_RIGHT, SP_INK, number);
    }
}

static void draw_x_tick(const panel *p, double x, const char *text)
{
    sp_svg_line(p->svg, place_x(p, x), TOP, place_x(p, x), BOTTOM, 0.6, "#e3e6ea", NULL);
    sp_svg_text(p->svg, place_x(p, x), BOTTOM + 18, LETTER, SP_SVG_MIDDLE, SP_INK, text);
}

static void draw_even_axis(const panel *p)
{
    const double tick = sp_svg_tick(p->x_high, 4);
    char number[SP_NUMBER_SIZE];
    for (int k = 0; k < TICKS_MAX && k * tick <= p->x_high + 1e-9 * tick; k++) {
        sp_number(number, k * tick, 4);
        draw_x_tick(p, k * tick, number);
    }
}

/* Draw ticks at times that people use. */
static void draw_time_axis(const panel *p)
{
    static const struct {
        double seconds;
        const char *text;
    } times[] = {{0.1, "0.1 s"},   {1, "1 s"},      {10, "10 s"},  {60, "1 min"},
                 {1800, "30 min"}, {86400, "24 h"}, {1e6, "12 d"}, {1e7, "116 d"}};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++) {
        const double x = log10(times[i].seconds);
        const int crowded = times[i].seconds == 10 && p->x_high - p->x_low > 4;
        if (x >= p->x_low - 1e-9 && x <= p->x_high + 1e-9 && !crowded)
            draw_x_tick(p, x, times[i].text);
    }
}

static void draw_frame(const panel *p, const char *title, const char *x_text)
{
    sp_svg_box(p->svg, p->left, TOP, PANEL, BOTTOM - TOP, NULL, SP_GREY);
    sp_svg_text_bold(p->svg, p->left, TOP - 14, LETTER + 1, SP_INK, title);
    sp_svg_text(p->svg, p->left + 0.5 * PANEL, BOTTOM + 40, LETTER, SP_SVG_MIDDLE, SP_INK, x_text);
}

/* Lines are cut where they leave the panel. */
static void draw_piece(const panel *p, const double a[2], const double b[2], const char *colour)
{
    double from[2] = {a[0], a[1]};
    if (!isfinite(a[0] + a[1] + b[0] + b[1]) || b[0] < p->x_low) return;
    if (a[0] < p->x_low) {
        const double share = (p->x_low - a[0]) / (b[0] - a[0]);
        from[0] = p->x_low;
        from[1] = a[1] + share * (b[1] - a[1]);
    }
    sp_svg_line(p->svg, place_x(p, from[0]), place_y(p, from[1]), place_x(p, b[0]),
                place_y(p, b[1]), 1.6, colour, NULL);
}

/* --- what is drawn --- */

static const char *colour_of(int cycle)
{
    return colours[(cycle > 0 ? cycle - 1 : 0) % COLOURS];
}

static void draw_loops(sp_svg *svg, const sp_path *path)
{
    panel p = {.svg = svg, .left = 70, .x_high = 1, .y_high = 1};
    double far = 0, high = 0;
    const int count = path->step_count + path->back_count;
    for (int i = 0; i < count; i++) {
        far = fmax(far, sp_finite(100 * sp_path_state(path, i)->shortening / path->size[1]));
        high = fmax(high, sp_finite(sp_path_state(path, i)->force));
    }
    if (!(far > 0) || !(high > 0)) return;
    p.x_high = 1.04 * far;
    p.y_high = 1.06 * high;
    p.y_low = -0.02 * high;
    draw_y_axis(&p);
    draw_even_axis(&p);
    for (int k = 0; k < path->stage_count; k++)
        for (int i = path->stage[k].first + 1; i <= path->stage[k].last; i++) {
            const sp_step *a = sp_path_state(path, i - 1), *b = sp_path_state(path, i);
            draw_piece(&p, (double[]){100 * a->shortening / path->size[1], a->force},
                       (double[]){100 * b->shortening / path->size[1], b->force},
                       colour_of(path->stage[k].segment.cycle));
        }
    draw_frame(&p, "Force [N]", "strain of the original height [%]");
}

/* What the panel of holds, of rests or of drops shows: a value of a state, relative to the first of
 * its stage or to the deepest of all. */
typedef struct shown {
    sp_segment_kind kind;
    const char *title, *x_text, *none;
    double deepest; /* shortening of the whole path [mm] */
} shown;

static double value_of(const shown *what, const sp_stage *stage, const sp_step *first,
                       const sp_step *step)
{
    if (what->kind == SP_SEGMENT_HOLD) return 100 * step->force / first->force;
    if (what->kind == SP_SEGMENT_REST) return 100 * step->shortening / what->deepest;
    return step->force / (stage->segment.mass * SP_GRAVITY);
}

/* Find where a time stands on the axis: drops in ms, the others by their logarithm. */
static double time_of(const shown *what, double seconds)
{
    if (what->kind == SP_SEGMENT_DROP) return 1e3 * seconds;
    return seconds > 0 ? log10(seconds) : log10(0.01);
}

/* Choose axes that hold all stages of the kind; 0: there is none. */
static int fit_axes(const sp_path *path, const shown *what, panel *p)
{
    double low = INFINITY, high = -INFINITY, longest = 0;
    for (int k = 0; k < path->stage_count; k++) {
        const sp_stage *stage = &path->stage[k];
        if (stage->segment.kind != what->kind) continue;
        const sp_step *first = sp_path_state(path, stage->first);
        for (int i = stage->first; i <= stage->last; i++) {
            const sp_step *step = sp_path_state(path, i);
            longest = fmax(longest, sp_finite(step->time - first->time));
            low = fmin(low, sp_finite(value_of(what, stage, first, step)));
            high = fmax(high, sp_finite(value_of(what, stage, first, step)));
        }
    }
    if (!(longest > 0)) return 0;
    if (what->kind == SP_SEGMENT_DROP) {
        p->x_low = 0;
        p->x_high = 1.04e3 * longest;
        p->y_high = fmax(1, 1.06 * high);
        p->y_low = -0.02 * p->y_high;
        return 1;
    }
    p->x_high = fmax(0.5, log10(1.3 * longest));
    p->y_low = what->kind == SP_SEGMENT_HOLD ? floor(10 * (low - 2)) / 10 : 0;
    p->y_high = what->kind == SP_SEGMENT_HOLD ? 100 : fmax(1, 1.06 * high);
    return 1;
}

static void draw_stage(const panel *p, const sp_path *path, const shown *what,
                       const sp_stage *stage)
{
    const sp_step *first = sp_path_state(path, stage->first);
    double before[2] = {p->x_low, 0};
    for (int i = stage->first; i <= stage->last; i++) {
        const sp_step *step = sp_path_state(path, i);
        const double now[2] = {time_of(what, i == stage->first ? 0 : step->time - first->time),
                               value_of(what, stage, first, step)};
        if (i > stage->first) draw_piece(p, before, now, colour_of(stage->segment.cycle));
        memcpy(before, now, sizeof before);
    }
}

static void draw_stages(sp_svg *svg, const sp_path *path, double left, const shown *what)
{
    panel p = {.svg = svg, .left = left, .x_low = log10(FIRST_TIME), .x_high = 1};
    if (!fit_axes(path, what, &p)) {
        draw_frame(&p, what->title, "");
        sp_svg_text(svg, left + 0.5 * PANEL, 0.5 * (TOP + BOTTOM), LETTER, SP_SVG_MIDDLE, SP_GREY,
                    what->none);
        return;
    }
    draw_y_axis(&p);
    if (what->kind == SP_SEGMENT_DROP)
        draw_even_axis(&p);
    else
        draw_time_axis(&p);
    for (int k = 0; k < path->stage_count; k++)
        if (path->stage[k].segment.kind == what->kind) draw_stage(&p, path, what, &path->stage[k]);
    draw_frame(&p, what->title, what->x_text);
}

static void draw_key(sp_svg *svg, const sp_path *path)
{
    double x = 70;
    int last = 0;
    char text[32];
    for (int k = 0; k < path->stage_count; k++) last = path->stage[k].segment.cycle;
    for (int cycle = 1; cycle <= last && cycle <= COLOURS; cycle++, x += 105) {
        snprintf(text, sizeof text, cycle == COLOURS && last > COLOURS ? "cycle %d .." : "cycle %d",
                 cycle);
        sp_svg_line(svg, x, 492, x + 26, 492, 2.4, colour_of(cycle), NULL);
        sp_svg_text(svg, x + 33, 496.5, LETTER, SP_SVG_LEFT, SP_INK, text);
    }
}

sp_status sp_writer_time_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_path *path = &result->path;
    sp_svg svg = sp_svg_begin(stream, WIDTH, HEIGHT, "Press in time");
    sp_svg_text_bold(&svg, 70, 40, 20, SP_INK, "Press in time");
    draw_loops(&svg, path);
    shown middle = {.kind = SP_SEGMENT_HOLD,
                    .title = "Force while held [%]",
                    .x_text = "time held",
                    .none = "no hold in this protocol"},
          right = {.kind = SP_SEGMENT_REST,
                   .title = "Shortening that is left [%]",
                   .x_text = "time since the platen was lifted",
                   .none = "no rest in this protocol"};
    if (sp_stage_first(path, SP_SEGMENT_DROP))
        middle = (shown){.kind = SP_SEGMENT_DROP,
                         .title = "Force / weight of the mass",
                         .x_text = "time since contact [ms]",
                         .none = ""};
    for (int i = 0; i < path->step_count + path->back_count; i++)
        right.deepest = fmax(right.deepest, sp_finite(sp_path_state(path, i)->shortening));
    middle.deepest = right.deepest;
    draw_stages(&svg, path, 395, &middle);
    draw_stages(&svg, path, 715, &right);
    draw_key(&svg, path);
    sp_svg_end(&svg);
    return sp_stream_end(context, stream);
}
