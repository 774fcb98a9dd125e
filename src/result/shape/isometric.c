/* The direction from which spatial coupons are seen; see isometric.h. */
#include "shape/isometric.h"

#include <math.h>

#include "write/text.h"

/* Rows: right, up, towards the reader, by the angles of the line of sight: 45 + 18 degrees from z
 * towards x, and asin(1/sqrt 3) over the horizontal. The rows are orthonormal: test_pictures.c. */
#define COS_TURN 0.4539904997395468  /* cos 63 deg */
#define SIN_TURN 0.89100652418836779 /* sin 63 deg */
#define SIN_RISE 0.57735026918962576 /* 1/sqrt 3 */
#define COS_RISE 0.81649658092772603 /* sqrt(2/3) */
static const double sight[3][3] = {
    {COS_TURN, 0.0, -SIN_TURN},
    {-SIN_RISE * SIN_TURN, COS_RISE, -SIN_RISE *COS_TURN},
    {COS_RISE * SIN_TURN, SIN_RISE, COS_RISE *COS_TURN},
};

#define AXIS 34.0 /* picture units of a length that is not foreshortened */
#define LABEL 1.4 /* distance of its letter / length of an arrow */
#define HEAD_LENGTH 6.0
#define LETTER 13.0

int sp_shapes_spatial(const sp_shapes *shapes)
{
    return shapes->height != NULL;
}

double sp_shape_width(const sp_shapes *shapes, int strut)
{
    const double thickness = sp_finite(shapes->thickness[strut]);
    const double height = shapes->height ? sp_finite(shapes->height[strut]) : 0.0;
    return height > 0.0 ? sqrt(fmax(0.0, thickness) * height) : thickness;
}

void sp_see(const double place[3], double seen[3])
{
    for (int k = 0; k < 3; k++) {
        seen[k] = 0.0;
        for (int i = 0; i < 3; i++) seen[k] += sight[k][i] * sp_finite(place[i]);
    }
}

void sp_see_all(const double *place, int count, double *seen)
{
    for (int p = 0; p < count; p++) sp_see(place + 3 * (size_t)p, seen + 3 * (size_t)p);
}

double sp_seen_rise(void)
{
    return sight[1][1];
}

/* ---- box ------------------------------------------------------------------------------------- */

void sp_box_begin(sp_box *box, const double size[3])
{
    for (int k = 0; k < 3; k++) {
        box->low[k] = 0.0;
        box->high[k] = sp_finite(size[k]);
    }
}

static void add_along(sp_box *box, int k, double place, double half_width)
{
    if (!isfinite(place)) return;
    box->low[k] = fmin(box->low[k], place - sp_finite(half_width));
    box->high[k] = fmax(box->high[k], place + sp_finite(half_width));
}

void sp_box_add(sp_box *box, const double place[3], double half_width)
{
    for (int k = 0; k < 3; k++) add_along(box, k, place[k], half_width);
}

void sp_box_add_shape(sp_box *box, const sp_shapes *shapes, const double *position, int at_rest)
{
    for (int s = 0; s < shapes->strut_count; s++)
        for (int p = shapes->first_point[s]; p < shapes->first_point[s + 1]; p++)
            for (int k = 0; k < 3; k++)
                if (k != 1 || at_rest)
                    add_along(box, k, position[3 * (size_t)p + (size_t)k],
                              0.5 * sp_shape_width(shapes, s));
}

/* Corner 0 .. 7 of the box: bit k takes the high side along axis k. */
static void see_corner(const sp_box *box, int corner, double seen[3])
{
    double place[3];
    for (int k = 0; k < 3; k++) place[k] = corner >> k & 1 ? box->high[k] : box->low[k];
    sp_see(place, seen);
}

sp_bounds sp_box_bounds(const sp_box *box)
{
    sp_bounds bounds;
    double seen[3];
    sp_bounds_clear(&bounds);
    for (int corner = 0; corner < 8; corner++) {
        see_corner(box, corner, seen);
        sp_bounds_add(&bounds, seen[0], seen[1], 0.0);
    }
    return bounds;
}

double sp_box_corner(const sp_box *box)
{
    return -sight[1][0] * (box->high[0] - box->low[0]);
}

void sp_box_face(const sp_box *box, int upper, double corner[4][2])
{
    static const int round_about[4] = {0, 1, 5, 4}; /* with y low */
    for (int i = 0; i < 4; i++) {
        double seen[3];
        see_corner(box, round_about[i] + (upper ? 2 : 0), seen);
        corner[i][0] = seen[0];
        corner[i][1] = seen[1];
    }
}

void sp_box_reach(const sp_box *box, double reach[2])
{
    double seen[3];
    see_corner(box, 0, seen);
    reach[0] = seen[2];
    see_corner(box, 7, seen);
    reach[1] = seen[2];
}

/* ---- platens and axes ------------------------------------------------------------------------ */

void sp_draw_face(sp_svg *svg, const sp_view *view, const sp_box *box, double shortening, int lower)
{
    const double down = lower ? 0.0 : sp_seen_rise() * sp_finite(shortening);
    double corner[4][2];
    sp_box_face(box, !lower, corner);
    sp_svg_raw(svg, "<polygon points=\"");
    for (int i = 0; i < 4; i++)
        sp_print(svg->stream, "%s%.2f,%.2f", i ? " " : "", view->x + view->scale * corner[i][0],
                 view->y - view->scale * (corner[i][1] - down));
    sp_print(svg->stream,
             "\" fill=\"%s\" fill-opacity=\"%s\" stroke=\"" SP_GREY
             "\" stroke-width=\"1.2\" stroke-linejoin=\"round\"/>\n",
             lower ? SP_PLATEN_FACE : SP_GREY, lower ? "1" : "0.1");
}

static void draw_arrow(sp_svg *svg, double x, double y, double right, double up)
{
    const double length = hypot(right, up), a = right / length, b = up / length;
    const double x1 = x + right, y1 = y - up, back = HEAD_LENGTH, half = 0.4 * HEAD_LENGTH;
    sp_svg_line(svg, x, y, x1, y1, 1.4, SP_GREY, NULL);
    sp_print(svg->stream,
             "<polygon points=\"%.2f,%.2f %.2f,%.2f %.2f,%.2f\" fill=\"" SP_GREY "\"/>\n",
             x1 + 0.5 * back * a, y1 - 0.5 * back * b, x1 - back * a - half * b,
             y1 + back * b - half * a, x1 - back * a + half * b, y1 + back * b + half * a);
}

void sp_draw_axes(sp_svg *svg, double x, double y)
{
    static const char *letter[] = {"x", "y", "z"};
    const double middle = x + 6.0 - LABEL * AXIS * sight[0][2], floor = y - 32.0;
    for (int k = 0; k < 3; k++) {
        const double right = AXIS * sight[0][k], up = AXIS * sight[1][k];
        draw_arrow(svg, middle, floor, right, up);
        sp_svg_text(svg, middle + LABEL * right, floor - LABEL * up + 0.3 * LETTER, LETTER,
                    SP_SVG_MIDDLE, SP_GREY, letter[k]);
    }
}
