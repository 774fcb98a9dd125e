/* Lines of a picture that keep their own points and labels, added one after another. */
#ifndef SP_COMPARE_LINES_H
#define SP_COMPARE_LINES_H

#include <strutpress/context.h>

#include "compare/plot.h"

typedef struct plot_lines {
    int count;
    plot_line line[PLOT_ROOM];
} plot_lines;

/* Add a line with room for `room` points, none of which is there yet: sp_plot_lines_point adds
 * them. `label` is copied; NULL: not in the legend. NULL without memory, or when there are
 * PLOT_ROOM lines. */
plot_line *sp_plot_lines_add(plot_lines *all, int style, int room, const char *label);
/* Add a point; `line` may be NULL, for a line that could not be added. */
void sp_plot_lines_point(plot_line *line, double x, double y);
/* Give point number k, which has been added, a band from low to high; either every point of a line
 * gets one or none. */
void sp_plot_lines_band(plot_line *line, int k, double low, double high);
void sp_plot_lines_free(plot_lines *all);

#endif
