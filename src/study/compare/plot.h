/* Lines and points on linear or logarithmic axes, with a legend. */
#ifndef SP_COMPARE_PLOT_H
#define SP_COMPARE_PLOT_H

#include <stdio.h>

/* Lines of a legend, and of a picture, where a line of the legend may have a second one (points and
 * the line through them). Style: colour + PLOT_COLOURS x dashes (6 kinds). */
enum { PLOT_LINE_MAX = 24, PLOT_ROOM = 2 * PLOT_LINE_MAX, PLOT_COLOURS = 7 };

/* One line or cloud of points of a picture. */
typedef struct plot_line {
    const char *label; /* NULL: not in the legend */
    int style;         /* colour and dashes */
    int markers;       /* points instead of a line */
    int count;
    double *x, *y;
    const double *low, *high; /* a band round the line, drawn pale in its colour; NULL: none */
} plot_line;

typedef struct plot {
    const char *title, *x_name, *y_name, *note;
    int is_measured; /* only curves of a rig: the caution of predictions is left out */
    int logarithmic;
    double y_end; /* of a linear axis; 0: the largest value */
    int line_count;
    const plot_line *line;
} plot;

void sp_plot_draw(const plot *picture, FILE *stream);

#endif
