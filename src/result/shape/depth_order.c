/* Struts from back to front; see depth_order.h.
 *
 * A piece reaches r widths towards the reader. Its filling is ordered at its middle, its outline
 * BEHIND widths behind its far end. So where struts meet, all outlines come before all fillings and
 * the joint looks closed: BEHIND > r / 2. Where two struts pass, their middles lie at least a width
 * apart and the outline of the front one comes after the filling of the one behind: BEHIND + r / 2
 * < 1. Struts are cut until both hold; the ends of a strut get a dot below them, since the outlines
 * of pieces end bluntly. */
#include "shape/depth_order.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "write/colour.h"
#include "write/text.h"

#define FINE 10.0         /* steps of drawn coordinates per picture unit */
#define STRAIGHT 2.0      /* steps: a point nearer to the line past it is left out */
#define OUTLINE 0.16      /* share of the width that the outline takes, both sides together, ... */
#define OUTLINE_LEAST 1.0 /* ... in picture units at least, ... */
#define OUTLINE_MOST 0.4  /* ... but at most this share */
#define FADE 0.42         /* share of white at the far end */
#define FADES 20
#define BEHIND 0.55
#define LAYER 0.1 /* distance that counts as one in the order / least width */
#define LAYERS_MAX 4000.0
#define CUTS_MAX 400 /* of one straight piece */

/* How far a piece may reach towards the reader, in widths, and how many levels of the colour map it
 * may cover. */
static const struct detail {
    double reach;
    int levels;
} details[] = {{0.8, 0}, {1.5, 1}, {2.5, 2}, {5.0, 4}, {HUGE_VAL, SP_COLOUR_LEVELS}};
enum { LAST_DETAIL = sizeof details / sizeof details[0] - 1 };

typedef struct piece {
    int first, count; /* points */
    int level;        /* of the colour map; -1: the colour of the strand */
    int strand, ends; /* bits: the piece begins the strand, it ends the strand */
    double far, near;
} piece;

/* Pieces and their points; without arrays they are only counted. */
typedef struct cutting {
    const sp_strand *strand;
    double scale; /* drawn steps per mm */
    piece *piece;
    int *point; /* 2 per point */
    int piece_count, point_count;
} cutting;

/* One stroke of the order. */
enum { ENTRIES_OF_PIECE = 4 };
typedef enum { DOT, OUTLINE_OF_PIECE, FILLING } stroke_part;
typedef struct entry {
    int layer, width, point, count; /* points */
    stroke_part part;
    unsigned colour;
} entry;

int sp_detail_is_last(int detail)
{
    return detail >= LAST_DETAIL;
}

/* ---- cutting --------------------------------------------------------------------------------- */

static int is_straight(const int *a, const int *b, const int *c)
{
    const double x = c[0] - a[0], y = c[1] - a[1], length = hypot(x, y);
    const double off = (b[0] - a[0]) * y - (b[1] - a[1]) * x;
    const double along = (b[0] - a[0]) * x + (b[1] - a[1]) * y;
    return fabs(off) <= STRAIGHT * length && along >= 0.0 && along <= length * length;
}

static void put_point(cutting *c, const double seen[3])
{
    if (c->piece) {
        piece *to = &c->piece[c->piece_count - 1];
        int *at = c->point + 2 * (size_t)c->point_count;
        for (int k = 0; k < 2; k++) at[k] = (int)lround(fmax(-1e8, fmin(1e8, c->scale * seen[k])));
        if (to->count >= 2 &&
            is_straight(at - 4, at - 2, at)) { /* a point in the straight is left out */
            at[-2] = at[0];
            at[-1] = at[1];
            c->point_count--;
        } else {
            to->count++;
        }
        to->far = fmin(to->far, seen[2]);
        to->near = fmax(to->near, seen[2]);
    }
    c->point_count++;
}

static void begin_piece(cutting *c, int strand, int level, const double seen[3])
{
    if (c->piece)
        c->piece[c->piece_count] =
            (piece){c->point_count, 0, level, strand, 0, HUGE_VAL, -HUGE_VAL};
    c->piece_count++;
    put_point(c, seen);
}

static int level_of(const sp_strand *strand, int point, double top)
{
    return strand->fibre_strain ? sp_colour_level(sp_finite(strand->fibre_strain[point]), top) : -1;
}

/* Cut one straight piece that reaches too far into equal parts. */
static void cut_straight(cutting *c, int s, int level, const double *a, const double *b,
                         double most)
{
    const double reach = fabs(b[2] - a[2]);
    const int parts = (int)fmin(CUTS_MAX, ceil(reach / most));
    for (int i = 0; i < parts; i++) {
        double place[2][3];
        for (int end = 0; end < 2; end++)
            for (int k = 0; k < 3; k++)
                place[end][k] = a[k] + (b[k] - a[k]) * (double)(i + end) / parts;
        begin_piece(c, s, level, place[0]);
        put_point(c, place[1]);
    }
}

/* Join straight pieces of one strand as far as reach and colour allow. */
static void cut_strand(cutting *c, int s, const struct detail *detail, double top)
{
    const sp_strand *strand = &c->strand[s];
    const double most = strand->width > 0.0 ? detail->reach * strand->width : HUGE_VAL;
    double far = 0.0, near = 0.0;
    int least = 0, largest = 0, open = 0;
    for (int p = 0; p + 1 < strand->count; p++) {
        const double *a = strand->seen + 3 * (size_t)p, *b = a + 3;
        const int level = level_of(strand, p, top);
        if (fabs(b[2] - a[2]) > most) {
            cut_straight(c, s, level, a, b, most);
            open = 0;
            continue;
        }
        const double farther = fmin(far, b[2]), nearer = fmax(near, b[2]);
        const int lower = level < least ? level : least, upper = level > largest ? level : largest;
        if (open && nearer - farther <= most && upper - lower <= detail->levels) {
            far = farther, near = nearer, least = lower, largest = upper;
        } else {
            far = fmin(a[2], b[2]), near = fmax(a[2], b[2]), least = largest = level;
            begin_piece(c, s, level, a);
            open = 1;
        }
        if (c->piece) c->piece[c->piece_count - 1].level = largest;
        put_point(c, b);
    }
}

static void cut_all(cutting *c, int count, const sp_scene *scene)
{
    c->piece_count = c->point_count = 0;
    for (int s = 0; s < count; s++) {
        const int first = c->piece_count;
        cut_strand(c, s, &details[scene->detail], scene->top);
        if (!c->piece || c->piece_count == first) continue;
        c->piece[first].ends |= 1;
        c->piece[c->piece_count - 1].ends |= 2;
    }
}

int sp_detail_within(const sp_scene *scene, const sp_strand *strand, int count, int limit)
{
    sp_scene tried = *scene;
    for (; tried.detail < LAST_DETAIL; tried.detail++) {
        cutting c = {.strand = strand};
        cut_all(&c, count, &tried);
        if (c.piece_count <= limit) break;
    }
    return tried.detail;
}

/* ---- order ----------------------------------------------------------------------------------- */

static unsigned faded(const char *colour, double share)
{
    const unsigned rgb = (unsigned)strtoul(colour + 1, NULL, 16);
    const double pale = FADE * (1.0 - floor(share * FADES + 0.5) / FADES);
    unsigned made = 0;
    for (int shift = 16; shift >= 0; shift -= 8) {
        const double part = rgb >> shift & 255;
        made |= (unsigned)lround(part + pale * (255.0 - part)) << shift;
    }
    return made;
}

static int layer_of(const sp_scene *scene, double unit, double depth)
{
    return (int)floor(fmax(-1e9, fmin(1e9, (depth - scene->reach[0]) / unit)));
}

static int drawn_width(const cutting *c, double width)
{
    return (int)lround(fmax(0.0, fmin(1e8, c->scale * width)));
}

/* Return the least width of a strand that is drawn, so that the order tells struts apart; 0: none
 * is drawn. */
static double least_width(const sp_strand *strand, int count)
{
    double least = HUGE_VAL;
    for (int s = 0; s < count; s++)
        if (strand[s].width > 0.0) least = fmin(least, strand[s].width);
    return isfinite(least) ? least : 0.0;
}

/* Make the strokes of one piece. A colour that stands for a strain is not made paler with distance,
 * so that it stays the colour of the scale; only its outline is. Returns the number of strokes, at
 * most ENTRIES_OF_PIECE. */
static int put_strokes(const cutting *c, const sp_scene *scene, double unit, const piece *from,
                       entry *to)
{
    const sp_strand *strand = &c->strand[from->strand];
    const double middle = 0.5 * (from->far + from->near), width = fmax(0.0, strand->width);
    const double whole = scene->reach[1] - scene->reach[0];
    const double share =
        whole > 0.0 ? fmax(0.0, fmin(1.0, (middle - scene->reach[0]) / whole)) : 1.0;
    const double line =
        fmin(OUTLINE_MOST * width, fmax(OUTLINE * width, FINE * OUTLINE_LEAST / c->scale));
    char text[8];
    const char *colour = from->level >= 0 ? sp_colour_text(from->level, text) : strand->colour;
    const double front = middle + strand->front;
    const double behind = from->far - BEHIND * width + strand->front;
    const int last = from->first + from->count - 1;
    int count = 0;
    to[count++] = (entry){layer_of(scene, unit, front),
                          drawn_width(c, width - line),
                          from->first,
                          from->count,
                          FILLING,
                          faded(colour, from->level >= 0 ? 1.0 : share)};
    to[count++] = (entry){layer_of(scene, unit, behind),
                          drawn_width(c, width),
                          from->first,
                          from->count,
                          OUTLINE_OF_PIECE,
                          faded(scene->edge, share)};
    for (int end = 0; end < 2; end++) {
        if (!(from->ends >> end & 1) || sp_detail_is_last(scene->detail)) continue;
        to[count] = to[1];
        to[count].part = DOT;
        to[count].point = end ? last : from->first;
        to[count++].count = 1;
    }
    return count;
}

static int put_entries(const cutting *c, const sp_scene *scene, double unit, entry *to)
{
    int count = 0;
    for (int i = 0; i < c->piece_count; i++)
        count += put_strokes(c, scene, unit, &c->piece[i], to + count);
    return count;
}

static int difference(int a, int b)
{
    return (a > b) - (a < b);
}

/* Return 0 when two strokes may become one. */
static int compare_strokes(const entry *a, const entry *b)
{
    int by = difference(a->layer, b->layer);
    if (!by) by = difference((int)a->part, (int)b->part);
    if (!by) by = (a->colour > b->colour) - (a->colour < b->colour);
    return by ? by : difference(a->width, b->width);
}

static int compare_entries(const void *first, const void *second)
{
    const entry *a = first, *b = second;
    const int by = compare_strokes(a, b);
    return by ? by : difference(a->point, b->point);
}

static void draw_points(sp_svg *svg, const cutting *c, const entry *drawn)
{
    const int *at = c->point + 2 * (size_t)drawn->point;
    sp_print(svg->stream, drawn->part == DOT ? "M%d %dl0 0" : "M%d %d", at[0], at[1]);
    for (int i = 1; i < drawn->count; i++, at += 2)
        sp_print(svg->stream, "l%d %d", at[2] - at[0], at[3] - at[1]);
}

static void draw_entries(sp_svg *svg, const sp_view *view, const cutting *c, const entry *all,
                         int count)
{
    sp_print(svg->stream,
             "<g transform=\"translate(%.2f %.2f) scale(%.6g %.6g)\" fill=\"none\" "
             "stroke-linecap=\"round\" stroke-linejoin=\"round\">\n",
             view->x, view->y, 1.0 / FINE, -1.0 / FINE);
    for (int i = 0; i < count;) {
        const entry *first = &all[i];
        /* Outlines end bluntly, so that no outline covers the piece behind it of the same strut. */
        sp_print(svg->stream, "<path stroke=\"#%06x\" stroke-width=\"%d\"%s d=\"", first->colour,
                 first->width, first->part == OUTLINE_OF_PIECE ? " stroke-linecap=\"butt\"" : "");
        for (; i < count && !compare_strokes(first, &all[i]); i++) draw_points(svg, c, &all[i]);
        sp_svg_raw(svg, "\"/>\n");
    }
    sp_svg_raw(svg, "</g>\n");
}

sp_status sp_draw_strands(sp_context *context, sp_svg *svg, const sp_view *view,
                          const sp_scene *scene, const sp_strand *strand, int count)
{
    sp_status status = SP_OK;
    cutting c = {.strand = strand, .scale = FINE * view->scale};
    cut_all(&c, count, scene);
    const size_t pieces = (size_t)c.piece_count;
    const double whole = fmax(0.0, scene->reach[1] - scene->reach[0]);
    const double unit = fmax(fmax(LAYER * least_width(strand, count), whole / LAYERS_MAX), 1e-9);
    c.point = sp_alloc((size_t)c.point_count, 2 * sizeof *c.point);
    c.piece = sp_alloc(pieces, sizeof *c.piece);
    entry *all = sp_alloc(pieces, ENTRIES_OF_PIECE * sizeof *all);
    if (!c.point || !c.piece || !all) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory to draw %d struts", count);
        goto done;
    }
    cut_all(&c, count, scene);
    const int entries = put_entries(&c, scene, unit, all);
    qsort(all, (size_t)entries, sizeof *all, compare_entries);
    draw_entries(svg, view, &c, all, entries);
done:
    sp_free(all);
    sp_free(c.piece);
    sp_free(c.point);
    return status;
}
