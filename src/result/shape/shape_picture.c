/* Draw struts and platens in a picture; see shape_picture.h. */
#include "shape/shape_picture.h"

#include <math.h>
#include <stdlib.h>

#include <strutpress/network.h>

#include "base/alloc.h"
#include "write/colour.h"
#include "write/text.h"

#define OUTLINE 0.16 /* share of the bead's width that the outline takes, both sides together */
/* Share of the pieces that lie inside the colour range; the others get the colour of its end. */
#define COLOUR_SHARE 0.995

void sp_bounds_clear(sp_bounds *bounds)
{
    *bounds = (sp_bounds){{HUGE_VAL, HUGE_VAL}, {-HUGE_VAL, -HUGE_VAL}};
}

void sp_bounds_add(sp_bounds *bounds, double x, double y, double half_width)
{
    const double place[2] = {x, y};
    for (int k = 0; k < 2; k++) {
        if (!isfinite(place[k])) continue;
        bounds->low[k] = fmin(bounds->low[k], place[k] - sp_finite(half_width));
        bounds->high[k] = fmax(bounds->high[k], place[k] + sp_finite(half_width));
    }
}

void sp_bounds_add_shape(sp_bounds *bounds, const sp_shapes *shapes, const double *position)
{
    for (int s = 0; s < shapes->strut_count; s++)
        for (int p = shapes->first_point[s]; p < shapes->first_point[s + 1]; p++)
            sp_bounds_add(bounds, position[3 * p], position[3 * p + 1], 0.5 * shapes->thickness[s]);
}

const double *sp_frame_position(const sp_shapes *shapes, int frame)
{
    return shapes->position + (size_t)frame * (size_t)shapes->point_count * 3;
}

void sp_view_begin(sp_svg *svg, const sp_view *view)
{
    sp_print(svg->stream,
             "<g transform=\"translate(%.2f %.2f) scale(%.6g %.6g)\" fill=\"none\" "
             "stroke-linecap=\"round\" stroke-linejoin=\"round\">\n",
             view->x, view->y, view->scale, -view->scale);
}

void sp_view_end(sp_svg *svg)
{
    sp_svg_raw(svg, "</g>\n");
}

/* Draw the points from .. to (both included) as one stroke. */
static void stroke(sp_svg *svg, const double *position, int from, int to, double width,
                   const char *colour)
{
    sp_print(svg->stream, "<polyline stroke=\"%s\" stroke-width=\"%.4g\" points=\"", colour,
             sp_finite(width));
    for (int p = from; p <= to; p++)
        sp_print(svg->stream, p > from ? " %.3f,%.3f" : "%.3f,%.3f", sp_finite(position[3 * p]),
                 sp_finite(position[3 * p + 1]));
    sp_svg_raw(svg, "\"/>\n");
}

/* Draw the pieces of one strut; neighbours of the same colour are one stroke. */
static void coloured_strut(sp_svg *svg, const double *position, const double *fibre_strain,
                           double top, int first, int last, double width)
{
    char colour[8];
    for (int from = first; from < last;) {
        int level = sp_colour_level(fibre_strain[from], top), to = from + 1;
        while (to < last && sp_colour_level(fibre_strain[to], top) == level) to++;
        stroke(svg, position, from, to, width, sp_colour_text(level, colour));
        from = to;
    }
}

static void draw_role(sp_svg *svg, const sp_shapes *shapes, int role, const double *position,
                      const sp_ink *ink)
{
    const int *first = shapes->first_point;
    for (int s = 0; ink->edge && s < shapes->strut_count; s++)
        if (shapes->role[s] == role)
            stroke(svg, position, first[s], first[s + 1] - 1, shapes->thickness[s], ink->edge);
    for (int s = 0; s < shapes->strut_count; s++) {
        double width = ink->share * shapes->thickness[s] * (ink->edge ? 1.0 - OUTLINE : 1.0);
        int last = first[s + 1] - 1;
        if (shapes->role[s] != role) continue;
        if (ink->fibre_strain)
            coloured_strut(svg, position, ink->fibre_strain, ink->top, first[s], last, width);
        else
            stroke(svg, position, first[s], last, width, ink->colour);
    }
}

void sp_draw_struts(sp_svg *svg, const sp_view *view, const sp_shapes *shapes,
                    const double *position, const sp_ink *ink)
{
    sp_view_begin(svg, view);
    draw_role(svg, shapes, SP_ROLE_INFILL, position,
              ink); /* the infill is drawn first: its ends lie inside the wall */
    draw_role(svg, shapes, SP_ROLE_WALL, position, ink);
    sp_view_end(svg);
}

void sp_draw_strut(sp_svg *svg, const sp_view *view, const sp_shapes *shapes,
                   const double *position, int strut, double share, const char *colour)
{
    if (strut < 0 || strut >= shapes->strut_count) return;
    sp_view_begin(svg, view);
    stroke(svg, position, shapes->first_point[strut], shapes->first_point[strut + 1] - 1,
           share * shapes->thickness[strut], colour);
    sp_view_end(svg);
}

void sp_draw_platens(sp_svg *svg, const sp_view *view, const sp_bounds *rest, double height,
                     double shortening, double left, double right)
{
    double lower = fmin(0.0, rest->low[1]);
    double upper = fmax(height, rest->high[1]) - shortening;
    double x = view->x + view->scale * left, width = view->scale * (right - left);
    sp_svg_platen(svg, x, view->y - view->scale * lower, width, SP_PLATEN_THICKNESS, 1);
    sp_svg_platen(svg, x, view->y - view->scale * upper - SP_PLATEN_THICKNESS, width,
                  SP_PLATEN_THICKNESS, 0);
}

static int compare(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

sp_status sp_colour_range(sp_context *context, const sp_shapes *shapes, int frame_count,
                          const int *frame, sp_range *range)
{
    size_t points = (size_t)shapes->point_count, total = points * (size_t)frame_count;
    double *sorted = sp_alloc(total, sizeof *sorted);
    if (!sorted) return sp_fail(context, SP_NO_MEMORY, "no memory for the colours of the states");
    for (int i = 0; i < frame_count; i++)
        for (size_t p = 0; p < points; p++)
            sorted[(size_t)i * points + p] =
                sp_finite(shapes->fibre_strain[(size_t)frame[i] * points + p]);
    qsort(sorted, total, sizeof *sorted, compare);
    double high = total ? sorted[(size_t)(COLOUR_SHARE * (double)(total - 1))] : 0.0;
    double largest = total ? sorted[total - 1] : 0.0, tick = sp_svg_tick(high, 4);
    range->top = high > 0.0 ? tick * ceil(high / tick - 1e-9) : 0.01;
    range->clipped = largest > range->top * 1.001;
    sp_free(sorted);
    return SP_OK;
}
