/* Arrays of a drawing, see drawing.h. */
#include "drawing/drawing.h"

#include <math.h>

#include "base/alloc.h"

#define FLAT 1e-6 /* mm: how far z may vary in a flat drawing */

/* 1: no more of them. */
static int is_full(sp_context *context, int count, const char *what)
{
    if (count < SP_DRAWING_MAX) return 0;
    sp_fail(context, SP_BAD_NETWORK, "drawing: received over %d %s; valid: up to that", count,
            what);
    return 1;
}

sp_status sp_drawing_add_point(sp_context *context, sp_drawing *drawing, const double point[3])
{
    if (is_full(context, drawing->point_count, "points")) return SP_BAD_NETWORK;
    if (drawing->point_count == drawing->point_capacity) {
        int capacity = drawing->point_capacity ? 2 * drawing->point_capacity : 256;
        double *more = sp_resize(drawing->point, (size_t)capacity, 3 * sizeof *more);
        if (!more) return sp_fail(context, SP_NO_MEMORY, "no memory for %d points", capacity);
        drawing->point = more;
        drawing->point_capacity = capacity;
    }
    double *to = drawing->point + 3 * (size_t)drawing->point_count++;
    for (int k = 0; k < 3; k++) to[k] = point[k];
    return SP_OK;
}

sp_status sp_drawing_add_line(sp_context *context, sp_drawing *drawing, int from, int to,
                              double diameter)
{
    if (is_full(context, drawing->line_count, "lines")) return SP_BAD_NETWORK;
    if (drawing->line_count == drawing->line_capacity) {
        int capacity = drawing->line_capacity ? 2 * drawing->line_capacity : 256;
        int *point = sp_resize(drawing->line_point, (size_t)capacity, 2 * sizeof *point);
        if (point) drawing->line_point = point;
        double *width = sp_resize(drawing->line_diameter, (size_t)capacity, sizeof *width);
        if (width) drawing->line_diameter = width;
        if (!point || !width)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", capacity);
        drawing->line_capacity = capacity;
    }
    size_t at = (size_t)drawing->line_count++;
    drawing->line_point[2 * at] = from, drawing->line_point[2 * at + 1] = to;
    drawing->line_diameter[at] = diameter;
    return SP_OK;
}

int sp_drawing_is_flat(const sp_drawing *drawing)
{
    for (int n = 1; n < drawing->point_count; n++)
        if (fabs(drawing->point[3 * (size_t)n + 2] - drawing->point[2]) > FLAT) return 0;
    return 1;
}

void sp_drawing_free(sp_drawing *drawing)
{
    sp_free(drawing->point);
    sp_free(drawing->line_point);
    sp_free(drawing->line_diameter);
    *drawing = (sp_drawing){0};
}
