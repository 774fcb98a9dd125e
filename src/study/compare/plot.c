#include "compare/plot.h"

#include <math.h>
#include <string.h>

#include "caution/caution.h"
#include "write/svg.h"
#include "write/text.h"

#define WIDTH 1000.0
#define LEFT 92.0
#define RIGHT 640.0
#define TOP 60.0
#define BOTTOM 540.0
#define FOOT 608.0 /* of the first line below the picture */
#define TEXT_WIDTH (WIDTH - LEFT - 20.0)
#define KEY_LEFT 668.0
#define KEY_STEP 22.0
#define LETTER 14.0
#define SMALL 12.0
enum { KEY_LETTERS = 46, DASH_COUNT = 6 };

/* Colours of Okabe & Ito 2008, which colour-blind readers can tell apart; dashes tell lines of one
 * colour apart, also in grey. */
static const char *const colours[PLOT_COLOURS] = {SP_BLUE,   SP_VERMILION, SP_GREEN, SP_PURPLE,
                                                  SP_ORANGE, SP_SKY,       SP_INK};
static const char *const dashes[DASH_COUNT] = {NULL,      "7 4",  "2 3",
                                               "9 3 2 3", "12 3", "9 3 2 3 2 3"};

typedef struct axes {
    const plot *picture;
    sp_svg svg;
    double x_low, x_high, y_low, y_high;
} axes;

static double scaled(const plot *picture, double value)
{
    return picture->logarithmic ? log10(value) : value;
}

static int is_drawn(const plot *picture, double x, double y)
{
    return isfinite(x) && isfinite(y) && (!picture->logarithmic || (x > 0 && y > 0));
}

static double place_x(const axes *a, double x)
{
    const double share = (scaled(a->picture, x) - a->x_low) / (a->x_high - a->x_low);
    return LEFT + (RIGHT - LEFT) * share;
}

static double place_y(const axes *a, double y)
{
    const double share = (scaled(a->picture, y) - a->y_low) / (a->y_high - a->y_low);
    return BOTTOM - (BOTTOM - TOP) *
                        fmax(-2, fmin(20, share)); /* a place farther outside is clipped anyway */
}

static void choose_range(axes *a)
{
    const plot *p = a->picture;
    a->x_low = a->y_low = INFINITY;
    a->x_high = a->y_high = -INFINITY;
    for (int i = 0; i < p->line_count; i++)
        for (int k = 0; k < p->line[i].count; k++) {
            const double x = p->line[i].x[k], y = p->line[i].y[k];
            if (!is_drawn(p, x, y)) continue;
            a->x_low = fmin(a->x_low, scaled(p, x)), a->x_high = fmax(a->x_high, scaled(p, x));
            a->y_low = fmin(a->y_low, scaled(p, y)), a->y_high = fmax(a->y_high, scaled(p, y));
        }
    if (!(a->x_low <= a->x_high)) a->x_low = a->y_low = 0, a->x_high = a->y_high = 1;
    if (p->logarithmic) {
        const double x_room = 0.04 * (a->x_high - a->x_low) + 0.02;
        const double y_room = 0.04 * (a->y_high - a->y_low) + 0.02;
        a->x_low -= x_room, a->x_high += x_room;
        a->y_low -= y_room, a->y_high += y_room;
        return;
    }
    a->x_low = fmin(0, a->x_low), a->y_low = fmin(0, a->y_low);
    if (p->y_end > 0) a->y_high = p->y_end;
    a->x_high = a->x_low + 1.02 * fmax(a->x_high - a->x_low, 1e-12);
    a->y_high = a->y_low + 1.02 * fmax(a->y_high - a->y_low, 1e-12);
}

static void draw_tick(axes *a, int upright, double value)
{
    char number[SP_NUMBER_SIZE];
    sp_number(number, fabs(value) < 1e-12 ? 0 : value, 6);
    if (upright) {
        const double y = place_y(a, value);
        sp_svg_line(&a->svg, LEFT, y, RIGHT, y, 0.6, "#e3e6ea", NULL);
        sp_svg_text(&a->svg, LEFT - 8, y + 5, LETTER, SP_SVG_RIGHT, SP_INK, number);
    } else {
        const double x = place_x(a, value);
        sp_svg_line(&a->svg, x, TOP, x, BOTTOM, 0.6, "#e3e6ea", NULL);
        sp_svg_text(&a->svg, x, BOTTOM + 20, LETTER, SP_SVG_MIDDLE, SP_INK, number);
    }
}

/* Choose ticks: whole decades where there are many, 1, 2, 5 times powers of ten where there are
 * few, and over less than half a decade round figures at equal distances. */
static void draw_logarithmic_ticks(axes *a, int upright, double low, double high)
{
    static const double factor[] = {1, 2, 5};
    const int count = high - low > 3 ? 1 : 3;
    if (high - low < 0.5) {
        const double from = pow(10, low), to = pow(10, high), tick = sp_svg_tick(to - from, 6);
        for (int i = (int)ceil(from / tick - 1e-9); i <= (int)floor(to / tick + 1e-9); i++)
            draw_tick(a, upright, i * tick);
        return;
    }
    for (int power = (int)floor(low); power <= (int)ceil(high); power++)
        for (int i = 0; i < count; i++) {
            const double value = factor[i] * pow(10, power), place = log10(value);
            if (place >= low && place <= high) draw_tick(a, upright, value);
        }
}

static void draw_ticks(axes *a, int upright)
{
    const double low = upright ? a->y_low : a->x_low, high = upright ? a->y_high : a->x_high;
    if (a->picture->logarithmic) {
        draw_logarithmic_ticks(a, upright, low, high);
        return;
    }
    const double tick = sp_svg_tick(high - low, 6);
    for (int i = (int)ceil(low / tick - 1e-9); i <= (int)floor(high / tick + 1e-9); i++)
        draw_tick(a, upright, i * tick);
}

static void draw_marker(axes *a, int style, double x, double y)
{
    FILE *stream = a->svg.stream;
    const char *colour = colours[style % PLOT_COLOURS];
    switch (style / PLOT_COLOURS % 3) {
    case 0:
        sp_print(stream, "<circle cx=\"%.2f\" cy=\"%.2f\" r=\"3.5\" fill=\"%s\"/>\n", x, y, colour);
        break;
    case 1:
        sp_svg_box(&a->svg, x - 3.2, y - 3.2, 6.4, 6.4, colour, NULL);
        break;
    default:
        sp_print(stream, "<path d=\"M%.2f %.2fl4 7h-8z\" fill=\"%s\"/>\n", x, y - 4, colour);
    }
}

/* Draw the band as one polygon: along the upper edge and back along the lower one. */
static void draw_band(axes *a, const plot_line *line)
{
    FILE *stream = a->svg.stream;
    sp_print(stream, "<polygon fill=\"%s\" fill-opacity=\"0.16\" points=\"",
             colours[line->style % PLOT_COLOURS]);
    for (int side = 0; side < 2; side++)
        for (int k = 0; k < line->count; k++) {
            const int i = side ? line->count - 1 - k : k;
            const double y = side ? line->low[i] : line->high[i];
            if (is_drawn(a->picture, line->x[i], y))
                sp_print(stream, "%.2f,%.2f ", place_x(a, line->x[i]), place_y(a, y));
        }
    sp_print(stream, "\"/>\n");
}

static void draw_line(axes *a, const plot_line *line)
{
    FILE *stream = a->svg.stream;
    const char *dash = dashes[line->style / PLOT_COLOURS % DASH_COUNT];
    int drawn = 0;
    for (int i = 0; i < line->count; i++) {
        if (!is_drawn(a->picture, line->x[i], line->y[i])) continue;
        const double x = place_x(a, line->x[i]), y = place_y(a, line->y[i]);
        if (line->markers) {
            draw_marker(a, line->style, x, y);
            continue;
        }
        if (!drawn++)
            sp_print(stream,
                     "<polyline fill=\"none\" stroke=\"%s\" stroke-width=\"1.8\" "
                     "stroke-linejoin=\"round\"%s%s%s points=\"",
                     colours[line->style % PLOT_COLOURS], dash ? " stroke-dasharray=\"" : "",
                     dash ? dash : "", dash ? "\"" : "");
        sp_print(stream, "%.2f,%.2f ", x, y);
    }
    if (drawn) sp_print(stream, "\"/>\n");
}

static void draw_legend(axes *a)
{
    double y = TOP + 8;
    for (int i = 0; i < a->picture->line_count; i++) {
        const plot_line *line = &a->picture->line[i];
        char label[KEY_LETTERS + 4];
        if (!line->label) continue;
        sp_printable(line->label, label, KEY_LETTERS + 1);
        if (strlen(line->label) > KEY_LETTERS) strcat(label, "...");
        if (line->markers)
            draw_marker(a, line->style, KEY_LEFT + 14, y - 5);
        else
            sp_svg_line(&a->svg, KEY_LEFT, y - 5, KEY_LEFT + 28, y - 5, 1.8,
                        colours[line->style % PLOT_COLOURS],
                        dashes[line->style / PLOT_COLOURS % DASH_COUNT]);
        sp_svg_text(&a->svg, KEY_LEFT + 36, y, SMALL, SP_SVG_LEFT, SP_INK, label);
        y += KEY_STEP;
    }
}

/* The legend may be longer than the field and the lines below it. */
static double height_of(const plot *picture)
{
    double foot = FOOT, legend = TOP + KEY_STEP;
    for (int i = 0; i < picture->line_count; i++) legend += picture->line[i].label ? KEY_STEP : 0;
    if (picture->note && picture->note[0])
        foot += sp_svg_paragraph_height(SMALL, TEXT_WIDTH, picture->note);
    if (!picture->is_measured)
        foot += sp_svg_paragraph_height(SMALL, TEXT_WIDTH, SP_CAUTION_SAFETY);
    return fmax(foot, legend);
}

static int is_empty(const plot *picture)
{
    for (int i = 0; i < picture->line_count; i++)
        for (int k = 0; k < picture->line[i].count; k++)
            if (is_drawn(picture, picture->line[i].x[k], picture->line[i].y[k])) return 0;
    return 1;
}

void sp_plot_draw(const plot *picture, FILE *stream)
{
    axes a = {.picture = picture};
    const int empty = is_empty(picture);
    choose_range(&a);
    a.svg = sp_svg_begin(stream, WIDTH, height_of(picture), picture->title);
    sp_svg_text_bold(&a.svg, LEFT, 34, 18, SP_INK, picture->title);
    if (empty) {
        sp_svg_text(&a.svg, 0.5 * (LEFT + RIGHT), 0.5 * (TOP + BOTTOM), LETTER, SP_SVG_MIDDLE,
                    SP_INK, "Nothing is drawn: no coupon reaches it.");
    } else {
        draw_ticks(&a, 0);
        draw_ticks(&a, 1);
    }
    sp_svg_box(&a.svg, LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP, NULL, SP_INK);
    sp_svg_text(&a.svg, 0.5 * (LEFT + RIGHT), BOTTOM + 42, LETTER, SP_SVG_MIDDLE, SP_INK,
                picture->x_name);
    sp_svg_text_upright(&a.svg, 26, 0.5 * (TOP + BOTTOM), LETTER, SP_INK, picture->y_name);
    sp_print(
        stream,
        "<clipPath id=\"field\"><rect x=\"%g\" y=\"%g\" width=\"%g\" height=\"%g\"/></clipPath>\n"
        "<g clip-path=\"url(#field)\">\n",
        LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP);
    for (int i = 0; i < picture->line_count; i++)
        if (picture->line[i].low) draw_band(&a, &picture->line[i]);
    for (int i = 0; i < picture->line_count; i++) draw_line(&a, &picture->line[i]);
    sp_svg_raw(&a.svg, "</g>\n");
    if (!empty) draw_legend(&a);
    double y = FOOT;
    if (picture->note && picture->note[0])
        y = sp_svg_paragraph(&a.svg, LEFT, y, SMALL, TEXT_WIDTH, SP_GREY, picture->note);
    if (!picture->is_measured)
        sp_svg_paragraph(&a.svg, LEFT, y, SMALL, TEXT_WIDTH, SP_GREY, SP_CAUTION_SAFETY);
    sp_svg_end(&a.svg);
}
