#include "compare/lines.h"

#include <string.h>

#include "base/alloc.h"

plot_line *sp_plot_lines_add(plot_lines *all, int style, int room, const char *label)
{
    if (all->count == PLOT_ROOM) return NULL;
    plot_line *line = &all->line[all->count];
    char *copy = label ? sp_copy_text(label) : NULL;
    double *x = sp_alloc(4 * (size_t)room, sizeof *x);
    if (!x || (label && !copy)) {
        sp_free(x);
        sp_free(copy);
        return NULL;
    }
    all->count++;
    *line = (plot_line){.label = copy, .style = style, .x = x, .y = x + room};
    return line;
}

void sp_plot_lines_point(plot_line *line, double x, double y)
{
    if (!line) return;
    line->x[line->count] = x;
    line->y[line->count++] = y;
}

void sp_plot_lines_band(plot_line *line, int k, double low, double high)
{
    const ptrdiff_t room = line->y - line->x; /* x, y, low and high are parts of one block */
    double *band = line->y + room;
    band[k] = low;
    band[room + k] = high;
    line->low = band;
    line->high = band + room;
}

void sp_plot_lines_free(plot_lines *all)
{
    for (int i = 0; i < all->count; i++) {
        sp_free(all->line[i].x);
        sp_free((char *)all->line[i].label);
    }
    memset(all, 0, sizeof *all);
}
