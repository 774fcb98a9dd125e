/* A few SVG 1.1 primitives. Coordinates are picture units, y down; every number is finite and every
 * text escaped. */
#ifndef SP_WRITE_SVG_H
#define SP_WRITE_SVG_H

#include <stdio.h>

typedef struct sp_svg {
    FILE *stream;
    double width, height;
} sp_svg;

typedef enum { SP_SVG_LEFT, SP_SVG_MIDDLE, SP_SVG_RIGHT } sp_svg_anchor;

/* Colours that colour-blind readers can tell apart (Okabe & Ito 2008), and greys. */
#define SP_INK "#222222"
#define SP_GREY "#5f6670"
#define SP_PALE "#c9ced6"
#define SP_BLUE "#0072b2"
#define SP_SKY "#56b4e9"
#define SP_ORANGE "#e69f00"
#define SP_VERMILION "#d55e00"
#define SP_GREEN "#009e73"
#define SP_PURPLE "#9a4d7e"

/* Write the header, a white ground, and the title for readers and screen readers. */
sp_svg sp_svg_begin(FILE *stream, double width, double height, const char *title);
void sp_svg_end(sp_svg *svg);

void sp_svg_text(sp_svg *svg, double x, double y, double size, sp_svg_anchor anchor,
                 const char *colour, const char *text);
void sp_svg_text_bold(sp_svg *svg, double x, double y, double size, const char *colour,
                      const char *text);
/* Write bold text, centred at (x, y), on a white rim, so that it is read on whatever lies under it.
 */
void sp_svg_text_rimmed(sp_svg *svg, double x, double y, double size, const char *colour,
                        const char *text);
void sp_svg_text_upright(
    sp_svg *svg, double x, double y, double size, const char *colour,
    const char *text); /* turned by 90 deg, read from below, centred on (x, y) */
/* Write lines of at most `width` units, broken at spaces; returns the y after the last line. */
double sp_svg_paragraph(sp_svg *svg, double x, double y, double size, double width,
                        const char *colour, const char *text);
double sp_svg_paragraph_height(double size, double width, const char *text);
/* Estimate the width of a text, on the safe side for any sans-serif font. */
double sp_svg_text_width(double size, const char *text);

void sp_svg_line(sp_svg *svg, double xa, double ya, double xb, double yb, double width,
                 const char *colour, const char *dashes); /* dashes NULL: solid */
void sp_svg_box(sp_svg *svg, double x, double y, double width, double height, const char *fill,
                const char *edge); /* NULL: no edge */
/* Draw a hatched bar with its loaded face as a line: on top of a lower platen, below an upper one.
 */
void sp_svg_platen(sp_svg *svg, double x, double y, double width, double height, int lower);
void sp_svg_raw(sp_svg *svg, const char *xml); /* groups and their ends */

/* Find a round step for about `parts` ticks over `range`: 1, 2 or 5 times a power of ten. */
double sp_svg_tick(double range, int parts);

#endif
