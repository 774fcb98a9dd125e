/* film.svg: the kept states one after another beside the load curve, moved by CSS alone (CSS
 * Animations Level 1), so that it plays in any browser without a script. A reader who has asked for
 * less motion (prefers-reduced-motion), and a program that knows no animation, sees the state in
 * the middle of the press. */
#include <math.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "shape/state.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define FRAMES_MAX 48
#define FRAMES_SPATIAL 16 /* each has a stroke for every piece of a strut */
#define PICTURE_WIDTH 1120.0
#define MARGIN 32.0
#define HEAD 84.0
#define BODY_WIDTH 560.0
#define BODY_MAX 560.0
#define PLOT_LEFT (MARGIN + BODY_WIDTH + 110.0)
#define PLOT_RIGHT (PICTURE_WIDTH - MARGIN)
#define PLOT_LEAST 300.0
#define PLOT_MOST 380.0
#define CAPTION 40.0
#define LEGEND 64.0
#define BAR_WIDTH 300.0
#define LETTER 14.0
#define SMALL 12.0
#define FILM_SECONDS 6.0 /* the way to the last state */
#define LAST_SECONDS 1.4 /* how long the last state stands before the film begins again */
#define TICKS 5
#define NO_MOTION_NOTE                                                                             \
    "The film repeats; with reduced motion set, the state in the middle of the press stands "      \
    "still. "

typedef struct film {
    const sp_path *path;
    sp_state_view view;
    int count, frame[FRAMES_MAX];
    /* These place the drawn coupon: picture units per mm, and y of the lower loaded face. */
    double scale, bottom;
    double plot_bottom, strain_end, force_end;
} film;

/* These are some of the kept states, with the first and the last among them. */
static void choose_frames(film *f)
{
    const int kept = f->path->shapes.frame_count;
    const int most = sp_shapes_spatial(&f->path->shapes) ? FRAMES_SPATIAL : FRAMES_MAX;
    f->count = kept < most ? kept : most;
    for (int i = 0; i < f->count; i++)
        f->frame[i] = f->count > 1 ? (int)lround((double)i * (kept - 1) / (f->count - 1)) : 0;
}

/* Return the nominal strain of a step [%]. */
static double strain_at(const sp_path *path, int step)
{
    return 100.0 * sp_finite(sp_path_state(path, step)->shortening) / path->size[1];
}

static void lay_out(film *f)
{
    const double wide = sp_state_wide(&f->view), high = sp_state_high(&f->view);
    f->scale = fmin(BODY_WIDTH / wide, BODY_MAX / high);
    f->bottom = HEAD + SP_PLATEN_THICKNESS + f->scale * high;
    f->plot_bottom = fmax(HEAD + PLOT_LEAST, fmin(HEAD + PLOT_MOST, f->bottom));
    for (int i = 0; i < f->path->step_count + f->path->back_count; i++) {
        f->strain_end = fmax(f->strain_end, strain_at(f->path, i));
        f->force_end = fmax(f->force_end, sp_finite(sp_path_state(f->path, i)->force));
    }
    f->strain_end = fmax(f->strain_end, 1e-9);
    f->force_end = 1.05 * fmax(f->force_end, 1e-9);
}

static double plot_x(const film *f, double strain)
{
    return PLOT_LEFT + (PLOT_RIGHT - PLOT_LEFT) * strain / f->strain_end;
}

static double plot_y(const film *f, double force)
{
    return f->plot_bottom - (f->plot_bottom - HEAD) * force / f->force_end;
}

/* ---- what stands still ----------------------------------------------------------------------- */

static void draw_axes(sp_svg *svg, const film *f)
{
    const double x_tick = sp_svg_tick(f->strain_end, TICKS),
                 y_tick = sp_svg_tick(f->force_end, TICKS);
    char number[SP_NUMBER_SIZE];
    for (int i = 0; i * x_tick <= f->strain_end * 1.0001; i++) {
        const double x = plot_x(f, i * x_tick);
        sp_svg_line(svg, x, HEAD, x, f->plot_bottom, 0.6, "#e3e6ea", NULL);
        sp_svg_text(svg, x, f->plot_bottom + 20.0, LETTER, SP_SVG_MIDDLE, SP_INK,
                    sp_number(number, i * x_tick, 6));
    }
    for (int i = 0; i * y_tick <= f->force_end; i++) {
        const double y = plot_y(f, i * y_tick);
        sp_svg_line(svg, PLOT_LEFT, y, PLOT_RIGHT, y, 0.6, "#e3e6ea", NULL);
        sp_svg_text(svg, PLOT_LEFT - 8.0, y + 5.0, LETTER, SP_SVG_RIGHT, SP_INK,
                    sp_number(number, i * y_tick, 6));
    }
    sp_svg_box(svg, PLOT_LEFT, HEAD, PLOT_RIGHT - PLOT_LEFT, f->plot_bottom - HEAD, NULL, SP_INK);
    sp_svg_text(svg, 0.5 * (PLOT_LEFT + PLOT_RIGHT), f->plot_bottom + 42.0, LETTER, SP_SVG_MIDDLE,
                SP_INK, "nominal strain [%]");
    sp_svg_text_upright(svg, PLOT_LEFT - 72.0, 0.5 * (HEAD + f->plot_bottom), LETTER, SP_INK,
                        "force [N]");
}

static void draw_curve(sp_svg *svg, const film *f)
{
    sp_svg_raw(svg, "<polyline fill=\"none\" stroke=\"" SP_BLUE
                    "\" stroke-width=\"2\" stroke-linejoin=\"round\" points=\"");
    for (int i = 0; i < f->path->step_count + f->path->back_count; i++)
        sp_print(svg->stream, "%s%.2f,%.2f", i ? " " : "", plot_x(f, strain_at(f->path, i)),
                 plot_y(f, sp_finite(sp_path_state(f->path, i)->force)));
    sp_svg_raw(svg, "\"/>\n");
}

/* ---- what moves ------------------------------------------------------------------------------ */

/* The states stand side by side on one strip, each as wide as the picture, and the strip jumps from
 * state to state. So there is one animation, and no state is early or late where a browser has
 * begun to play before it has read the file to its end. */
static void put_style(sp_svg *svg, const film *f)
{
    const int jumps = f->count > 1 ? f->count - 1 : 1;
    const double turn = FILM_SECONDS + LAST_SECONDS;
    sp_print(svg->stream,
             "<style>\n"
             ".strip { transform: translateX(%.0fpx) }\n"
             "@media (prefers-reduced-motion: no-preference) {\n"
             ".strip { animation: film %.2fs infinite }\n"
             "}\n"
             "@keyframes film {\n"
             "0%% { transform: translateX(0px); animation-timing-function: steps(%d) }\n"
             "%.3f%%, 100%% { transform: translateX(%.0fpx) }\n"
             "}\n"
             "</style>\n",
             -PICTURE_WIDTH * (f->count / 2), turn, jumps, 100.0 * FILM_SECONDS / turn,
             -PICTURE_WIDTH * (f->count - 1));
}

static sp_status draw_frame(sp_context *context, sp_svg *svg, const film *f, int i)
{
    const int frame = f->frame[i];
    const double middle = MARGIN + 0.5 * BODY_WIDTH, force = sp_state_force(f->path, frame);
    const double strain = 100.0 * sp_state_shortening(f->path, frame) / f->path->size[1];
    char line[96];
    sp_print(svg->stream, "<g transform=\"translate(%.0f 0)\">\n", PICTURE_WIDTH * i);
    const sp_status status =
        sp_state_draw(context, svg, &f->view, frame, middle, f->bottom, f->scale);
    sp_format(line, sizeof line, "strain %.1f %%,  %.4g N", strain, force);
    sp_svg_text(svg, middle, f->bottom + SP_PLATEN_THICKNESS + 22.0, LETTER, SP_SVG_MIDDLE, SP_INK,
                line);
    sp_print(svg->stream,
             "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"6\" fill=\"" SP_VERMILION
             "\" stroke=\"#ffffff\" stroke-width=\"1.5\"/>\n",
             plot_x(f, strain), plot_y(f, force));
    sp_svg_raw(svg, "</g>\n");
    return status;
}

sp_status sp_writer_film_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    film *f = sp_alloc(1, sizeof *f);
    char line[256], state[SP_STATE_NOTE_SIZE], note[SP_STATE_NOTE_SIZE + 200];
    if (!f) return sp_fail(context, SP_NO_MEMORY, "no memory for film.svg");
    f->path = &result->path;
    choose_frames(f);
    sp_status status = sp_state_look(context, f->path, f->frame, f->count, &f->view);
    if (status != SP_OK) goto done;
    lay_out(f);
    sp_state_note(&f->view, &result->network, state, sizeof state);
    sp_format(note, sizeof note, NO_MOTION_NOTE "%s", state);
    const double text_width = PICTURE_WIDTH - 2.0 * MARGIN;
    const double legend = fmax(f->bottom + SP_PLATEN_THICKNESS + CAPTION, f->plot_bottom + 56.0);
    const double last = legend + (f->path->block ? 30.0 : LEGEND);
    sp_svg svg =
        sp_svg_begin(stream, PICTURE_WIDTH, last + sp_svg_paragraph_height(SMALL, text_width, note),
                     "The press as a film");
    put_style(&svg, f);
    sp_svg_text_bold(&svg, MARGIN, 34.0, 20.0, SP_INK, "The press, state by state");
    sp_coupon_text(result, line, sizeof line);
    sp_svg_text(&svg, MARGIN, 58.0, LETTER, SP_SVG_LEFT, SP_GREY, line);
    draw_axes(&svg, f);
    draw_curve(&svg, f);
    sp_print(stream, "<g class=\"strip\" transform=\"translate(%.0f 0)\">\n",
             -PICTURE_WIDTH * (f->count / 2));
    for (int i = 0; i < f->count && status == SP_OK; i++) status = draw_frame(context, &svg, f, i);
    sp_svg_raw(&svg, "</g>\n");
    if (!f->path->block) {
        sp_state_scale(&svg, &f->view.colour, MARGIN, legend, BAR_WIDTH);
        sp_svg_text(&svg, MARGIN + BAR_WIDTH + 70.0, legend + 13.0, LETTER, SP_SVG_LEFT, SP_INK,
                    SP_STATE_SCALE_TEXT);
    }
    sp_svg_paragraph(&svg, MARGIN, last - 4.0, SMALL, text_width, SP_GREY, note);
    sp_svg_end(&svg);
    if (status == SP_OK) status = sp_stream_end(context, stream);
done:
    sp_free(f);
    return status;
}
