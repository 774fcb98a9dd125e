#include "no_crossing.h"

#include "check.h"

#include "base/so3.h"
#include "gap/segment.h"

/* These are the rules of docs/theory.md for which pieces press on each other, all as shares of the
 * touching distance: two pieces nearer than the first in the unloaded coupon are one body; so are
 * two whose offset from one line is below the second; across a joint they press from the third
 * on. */
static const double one_body = 0.25, in_line = 0.3, own_reach = 3;
/* The pieces of a pair that move past each other by more than this share of the touching distance
 * between two frames may have gone around each other: in a snap of an octet truss one moved by 2.3
 * and was never nearer than 0.9 on its way. */
static const double sure_move = 2;

typedef struct piece {
    int strut, first; /* point it begins with */
    double low, high; /* in x, over two frames, with half its thickness */
    double arc[2];    /* distance from either joint of the strut, unloaded [mm] */
    int order[2];     /* pieces between it and either joint */
} piece;

typedef struct looker {
    const sp_network *network;
    const sp_shapes *shapes;
    int count;
    piece *piece;
    no_crossing found;
} looker;

static const double *point(const looker *l, int frame, int at)
{
    return l->shapes->position + 3 * ((size_t)frame * (size_t)l->shapes->point_count + (size_t)at);
}

static double apart(const double *p, const double *q)
{
    const double d[3] = {q[0] - p[0], q[1] - p[1], q[2] - p[2]};
    return sqrt(sp_dot(d, d));
}

/* Find the ends of both pieces at a share of the way from `frame` to the next. */
static void ends_at(const looker *l, int frame, double time, const piece *one, const piece *two,
                    double out[4][3])
{
    const int at[4] = {one->first, one->first + 1, two->first, two->first + 1};
    for (int i = 0; i < 4; i++)
        for (int d = 0; d < 3; d++) {
            const double now = point(l, frame, at[i])[d];
            out[i][d] = time > 0 ? now + time * (point(l, frame + 1, at[i])[d] - now) : now;
        }
}

static double distance(double p[4][3])
{
    double d[3], e[3];
    for (int i = 0; i < 3; i++) {
        d[i] = p[1][i] - p[0][i];
        e[i] = p[3][i] - p[2][i];
    }
    return sqrt(sp_segment_square(p[0], d, p[2], e));
}

/* Return six times the volume between the four ends, which changes its sign where the pieces pass.
 */
static double volume(double p[4][3])
{
    double a[3], b[3], c[3], across[3];
    for (int i = 0; i < 3; i++) {
        a[i] = p[1][i] - p[0][i];
        b[i] = p[2][i] - p[0][i];
        c[i] = p[3][i] - p[0][i];
    }
    sp_cross(a, b, across);
    return sp_dot(across, c);
}

static double largest_relative_move(const looker *l, int frame, const piece *one, const piece *two)
{
    double from[4][3], to[4][3], most = 0;
    ends_at(l, frame, 0, one, two, from);
    ends_at(l, frame, 1, one, two, to);
    for (int i = 0; i < 2; i++)
        for (int k = 2; k < 4; k++) {
            double move[3];
            for (int d = 0; d < 3; d++) move[d] = to[i][d] - from[i][d] - to[k][d] + from[k][d];
            most = fmax(most, sqrt(sp_dot(move, move)));
        }
    return most;
}

/* Return 1 when the pieces cross while their ends move straight, by bisection where the volume
 * changes its sign. */
static int cross_between(const looker *l, int frame, const piece *one, const piece *two,
                         double touch)
{
    enum { PARTS = 16 };
    double p[4][3], before = 0, last = 0;
    for (int i = 0; i <= PARTS; i++) {
        double low = last, high = (double)i / PARTS;
        ends_at(l, frame, high, one, two, p);
        const double now = volume(p);
        if (now == 0) continue;
        if (before * now < 0) {
            for (int k = 0; k < 50; k++) {
                const double middle = 0.5 * (low + high);
                ends_at(l, frame, middle, one, two, p);
                if (volume(p) * before > 0)
                    low = middle;
                else
                    high = middle;
            }
            if (distance(p) < 1e-6 * touch) return 1;
        }
        before = now;
        last = (double)i / PARTS;
    }
    return 0;
}

/* Return 1 when a piece lies in the joint zone or the first element behind it. */
static int begins_at(const looker *l, const piece *p, int end)
{
    return p->order[end] <= (l->network->strut_zone[2 * p->strut + end] > 0);
}

/* Return 1 when the model lets two bars of panels press on each other. Bars of one panel, or of two
 * that go on into each other, press when they are some way apart along it; near the joint line of
 * two other panels both are one body. */
static int panels_may_press(const looker *l, const piece *one, const piece *two, double touch)
{
    const sp_network *n = l->network;
    const sp_panel_bar *a = &n->strut_panel[one->strut], *b = &n->strut_panel[two->strut];
    const sp_panel *p = &n->panel[a->panel], *q = &n->panel[b->panel];
    double ends[4][3], path = INFINITY;
    ends_at(l, 0, 0, one, two, ends);
    if (p == q) path = distance(ends);
    for (int i = 0; i < 2; i++)
        for (int k = 0; k < 2; k++) {
            if (p == q || p->line[i] != q->line[k]) continue;
            const double far_a = fmax(i ? p->length - a->along[0] : a->along[0],
                                      i ? p->length - a->along[1] : a->along[1]);
            const double far_b = fmax(k ? q->length - b->along[0] : b->along[0],
                                      k ? q->length - b->along[1] : b->along[1]);
            if (fmin(far_a, far_b) < touch) return 0;
            path = distance(ends);
        }
    return path >= fmax(2 * touch, 0.9 * fmax(p->length / p->across, q->length / q->across));
}

/* Return 1 when the model lets two pieces press on each other; *clear gets 1 when they do not
 * overlap in the unloaded coupon. */
static int may_press(const looker *l, const piece *one, const piece *two, double touch, int *clear)
{
    const sp_network *n = l->network;
    *clear = 0;
    if (n->strut_panel && !panels_may_press(l, one, two, touch)) return 0;
    for (int i = 0; i < 2; i++)
        for (int k = 0; k < 2; k++) {
            const int s = one->strut, r = two->strut;
            if (n->strut_joint[2 * s + i] != n->strut_joint[2 * r + k]) continue;
            if (one->arc[i] + two->arc[k] < own_reach * touch ||
                one->arc[i] < n->strut_zone[2 * s + i] || two->arc[k] < n->strut_zone[2 * r + k] ||
                (begins_at(l, one, i) && begins_at(l, two, k)))
                return 0;
        }
    double p[4][3], along[3], off[3], across[3], offset = 0;
    ends_at(l, 0, 0, one, two, p);
    const double unloaded = distance(p), length = apart(p[0], p[1]);
    *clear = unloaded >= touch;
    if (*clear) return 1;
    for (int i = 2; i < 4; i++) {
        for (int d = 0; d < 3; d++) {
            along[d] = (p[1][d] - p[0][d]) / length;
            off[d] = p[i][d] - p[0][d];
        }
        sp_cross(off, along, across);
        offset = fmax(offset, sqrt(sp_dot(across, across)));
    }
    return unloaded >= one_body * touch && offset >= in_line * touch;
}

static void look_at(looker *l, int frame, const piece *one, const piece *two)
{
    const double *thickness = l->shapes->thickness;
    const double touch = 0.5 * (thickness[one->strut] + thickness[two->strut]);
    const int last = frame + 1 == l->shapes->frame_count;
    no_crossing *found = &l->found;
    double p[4][3];
    ends_at(l, frame, 0, one, two, p);
    const double now = distance(p);
    const double move = last ? 0 : largest_relative_move(l, frame, one, two);
    int clear;
    if (now >= fmin(1, found->nearest) * touch && now > move) return;
    if (!may_press(l, one, two, touch, &clear)) return;
    if (clear && now < found->nearest * touch) {
        found->nearest = now / touch;
        found->frame = frame;
        found->strut[0] = one->strut;
        found->strut[1] = two->strut;
    }
    if (now > move || !cross_between(l, frame, one, two, touch)) return;
    if (move > sure_move * touch) {
        found->unsure++;
        return;
    }
    found->passed++;
    found->passed_frame = frame + 1;
    found->passed_strut[0] = one->strut;
    found->passed_strut[1] = two->strut;
}

static int by_low(const void *a, const void *b)
{
    const piece *p = a, *q = b;
    return (p->low > q->low) - (p->low < q->low);
}

/* List all pieces with their distance from the joints. */
static void cut_pieces(looker *l)
{
    const sp_shapes *shapes = l->shapes;
    l->piece = calloc((size_t)shapes->point_count + 1, sizeof *l->piece);
    assert_non_null(l->piece);
    for (int s = 0; s < shapes->strut_count; s++) {
        const int first = shapes->first_point[s], end = shapes->first_point[s + 1];
        double whole = 0, arc = 0;
        for (int k = first; k + 1 < end; k++) whole += apart(point(l, 0, k), point(l, 0, k + 1));
        for (int k = first; k + 1 < end; k++) {
            const double length = apart(point(l, 0, k), point(l, 0, k + 1));
            if (length > 0)
                l->piece[l->count++] = (piece){.strut = s,
                                               .first = k,
                                               .arc = {arc, whole - arc - length},
                                               .order = {k - first, end - 2 - k}};
            arc += length;
        }
    }
}

/* Find the extent of every piece in x over this frame and the next. */
static void measure_pieces(looker *l, int frame)
{
    const int next = frame + 1 < l->shapes->frame_count ? frame + 1 : frame;
    for (int i = 0; i < l->count; i++) {
        piece *p = &l->piece[i];
        const double half = 0.5 * l->shapes->thickness[p->strut];
        p->low = INFINITY;
        p->high = -INFINITY;
        for (int k = 0; k < 4; k++) {
            const double x = point(l, k < 2 ? frame : next, p->first + k % 2)[0];
            p->low = fmin(p->low, x - half);
            p->high = fmax(p->high, x + half);
        }
    }
    qsort(l->piece, (size_t)l->count, sizeof *l->piece, by_low);
}

no_crossing no_crossing_look(const sp_network *network, const sp_shapes *shapes)
{
    looker l = {.network = network, .shapes = shapes, .found = {.nearest = INFINITY}};
    cut_pieces(&l);
    for (int frame = 0; frame < shapes->frame_count; frame++) {
        measure_pieces(&l, frame);
        for (int i = 0; i < l.count; i++)
            for (int k = i + 1; k < l.count && l.piece[k].low <= l.piece[i].high; k++)
                if (l.piece[i].strut != l.piece[k].strut)
                    look_at(&l, frame, &l.piece[i], &l.piece[k]);
    }
    free(l.piece);
    return l.found;
}

void no_crossing_check(const sp_network *network, const sp_shapes *shapes, double least)
{
    const no_crossing found = no_crossing_look(network, shapes);
    if (found.passed > 0)
        fail_msg("strut %d passes through strut %d before frame %d; %d pairs of pieces in all",
                 found.passed_strut[0], found.passed_strut[1], found.passed_frame, found.passed);
    if (!(found.nearest >= least))
        fail_msg("struts %d and %d come as near as %.3g of touching in frame %d, nearer than %.3g",
                 found.strut[0], found.strut[1], found.nearest, found.frame, least);
}
