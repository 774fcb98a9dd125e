/* Figures of a spatial network: line length x section / volume, and the volume of the union of all
 * struts.
 *
 * The union is summed over parallel rays through the box (docs/theory.md E54): a ray meets each
 * strut, with a ball in each joint, in one interval, so its length inside is exact; the rays stand
 * in a square grid. They are slanted against all axes and diagonals of a cube, so that no strut of
 * a lattice lies along them. */
#include "spatial/rules.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <omp.h>

#include "base/alloc.h"
#include "base/machine.h"
#include "base/so3.h"
#include "base/poll.h"

static const int rays_per_strut = 7;     /* across the thinnest strut */
static const double rays_max = 4e6;      /* with more rays than this the grid is made coarser */
static const int parallel_bodies = 1500; /* with fewer, threads cost more than they bring */
enum { SLICES = 6 };                     /* slices of a thicker end */

double sp_spatial_area(double thickness, double height)
{
    return height > 0 ? thickness * height : 0.25 * M_PI * thickness * thickness;
}

/* A strut in a face has half of its section inside the box, one on an edge has a quarter. */
static double share_inside(const sp_network *network, const double *a, const double *b)
{
    double share = 1;
    for (int k = 0; k < 3; k++) {
        double same = 1e-9 * network->size[k];
        if ((fabs(a[k]) <= same && fabs(b[k]) <= same) ||
            (fabs(a[k] - network->size[k]) <= same && fabs(b[k] - network->size[k]) <= same))
            share *= 0.5;
    }
    return share;
}

double sp_spatial_density(const sp_graph *graph, const sp_network *network)
{
    double total = 0;
    (void)graph;
    for (int s = 0; s < network->strut_count; s++) {
        const double *a = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
        const double *b = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
        if (network->strut_role[s] != SP_ROLE_INFILL) continue;
        total += sp_network_strut_length(network, s) * share_inside(network, a, b) *
                 sp_spatial_area(network->strut_thickness[s], network->strut_height[s]);
    }
    return total / (network->size[0] * network->size[1] * network->size[2]);
}

/* The rays run along w; u and v are across it. These are the rows of an orthonormal matrix. */
static const double ray_axis[3][3] = {
    {0.7905396216840386, -0.5790119664173187, -0.1994799470954590},
    {0.0856304785980226, 0.4270380463678833, -0.9001699440046725},
    {0.6063946962851265, 0.6945384436443035, 0.3871715674186545},
};

typedef struct body {
    double a[3], b[3]; /* ends in the axes of the rays */
    double ball[2];    /* round: radius of the ball that closes the end, 0: none */
    double reach;      /* the largest of these radii and that of the body */
    double radius;     /* round: half the diameter; rectangle: half the diagonal */
    double low, high;  /* in v */
    double half[3];    /* rectangle: half length, height and thickness; round: 0 */
    double axis[3][3]; /* rectangle: its axes in those of the rays */
} body;

typedef struct span {
    int ray;
    double from, to;
} span;

typedef struct span_list {
    int count, capacity, sorted_capacity;
    span *item, *sorted; /* sorted: by ray, then by where they begin */
    int *next;           /* one per ray and one more: work space */
} span_list;

static int compare_low(const void *left, const void *right)
{
    const body *a = left, *b = right;
    return (a->low > b->low) - (a->low < b->low);
}

static void to_rays(const double p[3], double out[3])
{
    for (int k = 0; k < 3; k++) out[k] = sp_dot(ray_axis[k], p);
}

/* Make a body of a strut of one thickness between two places along it (shares of its length),
 * closed by a ball of its own radius at a joint. */
static void make_piece(const sp_network *network, int s, double from, double to, double thickness,
                       const double ball[2], body *out)
{
    const double *p = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
    const double *q = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
    double height = network->strut_height[s], start[3], stop[3];
    for (int k = 0; k < 3; k++) {
        start[k] = from > 0 ? p[k] + from * (q[k] - p[k]) : p[k];
        stop[k] = to < 1 ? p[k] + to * (q[k] - p[k]) : q[k];
    }
    to_rays(start, out->a);
    to_rays(stop, out->b);
    *out->half = 0;
    out->radius = 0.5 * (height > 0 ? hypot(height, thickness) : thickness);
    out->ball[0] = from > 0 ? 0 : ball[0], out->ball[1] = to < 1 ? 0 : ball[1];
    out->reach = fmax(out->radius, fmax(out->ball[0], out->ball[1]));
    out->low = fmin(out->a[1], out->b[1]) - out->reach;
    out->high = fmax(out->a[1], out->b[1]) + out->reach;
    if (height <= 0) return;
    double length = sp_network_strut_length(network, s) * (to - from);
    for (int k = 0; k < 3; k++) out->axis[0][k] = (out->b[k] - out->a[k]) / length;
    to_rays(network->strut_up + 3 * (size_t)s, out->axis[1]);
    for (int k = 0; k < 3; k++) {
        int i = (k + 1) % 3, j = (k + 2) % 3;
        out->axis[2][k] = out->axis[0][i] * out->axis[1][j] - out->axis[0][j] * out->axis[1][i];
    }
    out->half[0] = 0.5 * length, out->half[1] = 0.5 * thickness, out->half[2] = 0.5 * height;
}

/* Make the bodies of a whole strut: one, or for a strut with thicker ends cones in slices of the
 * same volume. Returns the number of bodies. */
static int make_bodies(const sp_network *network, int s, body *out)
{
    const double thickness = network->strut_thickness[s];
    if (!network->strut_taper) {
        make_piece(network, s, 0, 1, thickness, (double[]){0.5 * thickness, 0.5 * thickness}, out);
        return 1;
    }
    const double length = sp_network_strut_length(network, s), taper = network->strut_taper[s];
    const double *zone = network->strut_zone + 2 * (size_t)s;
    const double free_length = length - zone[0] - zone[1];
    const double reach = fmin(taper, 0.5 * free_length);
    int count = 0;
    double at = 0;
    for (int i = 0; i <= 2 * SLICES + 2; i++) {
        /* In order: zone, slices, the middle, slices, zone. */
        const double next = i == 0            ? zone[0]
                            : i <= SLICES     ? zone[0] + reach * i / SLICES
                            : i == SLICES + 1 ? length - zone[1] - reach
                            : i <= 2 * SLICES + 1
                                ? length - zone[1] - reach + reach * (i - SLICES - 1) / SLICES
                                : length;
        if (!(next > at)) continue;
        const double one = sp_network_thickness_at(network, s, at),
                     other = sp_network_thickness_at(network, s, next);
        const double even = network->strut_height[s] > 0
                                ? 0.5 * (one + other)
                                : sqrt((one * one + one * other + other * other) / 3);
        make_piece(network, s, at / length, next < length ? next / length : 1, even,
                   (double[]){0.5 * one, 0.5 * other}, &out[count++]);
        at = next;
    }
    return count;
}

static sp_status no_memory(sp_context *context, int count)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for the volume of %d struts", count);
}

static void widen(span *at, double from, double to)
{
    at->from = fmin(at->from, from);
    at->to = fmax(at->to, to);
}

/* Make the ball in a joint. */
static void meet_ball(const double centre[3], double radius, double u, double v, span *at)
{
    double square =
        radius * radius - (u - centre[0]) * (u - centre[0]) - (v - centre[1]) * (v - centre[1]);
    if (square > 0) widen(at, centre[2] - sqrt(square), centre[2] + sqrt(square));
}

/* A round strut with the balls at its ends is convex, so that a ray meets it in one interval. */
static int meet_round(const body *strut, double u, double v, span *at)
{
    double d[3], length, r = strut->radius;
    *at = (span){0, INFINITY, -INFINITY};
    for (int k = 0; k < 3; k++) d[k] = strut->b[k] - strut->a[k];
    length = sqrt(sp_dot(d, d));
    for (int k = 0; k < 3; k++) d[k] /= length;
    /* Solve |p - (p.d) d|^2 = r^2 with p = (u, v, t) - a. */
    double x = u - strut->a[0], y = v - strut->a[1], along = x * d[0] + y * d[1];
    double qa = 1 - d[2] * d[2], qb = -along * d[2], qc = x * x + y * y - along * along - r * r;
    double disc = qb * qb - qa * qc;
    if (qa > 1e-12 && disc > 0) {
        double from = (-qb - sqrt(disc)) / qa, to = (-qb + sqrt(disc)) / qa;
        if (d[2] != 0) { /* a place between the ends has 0 <= along + t d_w <= length */
            double p = -along / d[2], q = (length - along) / d[2];
            from = fmax(from, fmin(p, q)), to = fmin(to, fmax(p, q));
        } else if (along < 0 || along > length) {
            to = -INFINITY;
        }
        if (to > from) widen(at, strut->a[2] + from, strut->a[2] + to);
    }
    if (strut->ball[0] > 0) meet_ball(strut->a, strut->ball[0], u, v, at);
    if (strut->ball[1] > 0) meet_ball(strut->b, strut->ball[1], u, v, at);
    return at->to > at->from;
}

/* Cut the interval of the ray down to a slab |(p - centre).n| <= half; 0 when nothing is left. */
static int meet_slab(const double n[3], double offset, double half, span *at)
{
    if (fabs(n[2]) < 1e-12) return fabs(offset) <= half;
    double p = (-half - offset) / n[2], q = (half - offset) / n[2];
    at->from = fmax(at->from, fmin(p, q)), at->to = fmin(at->to, fmax(p, q));
    return at->to > at->from;
}

static int meet_rectangle(const body *strut, double u, double v, span *at)
{
    *at = (span){0, -INFINITY, INFINITY};
    for (int k = 0; k < 3; k++) {
        double offset = 0;
        for (int i = 0; i < 3; i++) {
            double centre = 0.5 * (strut->a[i] + strut->b[i]);
            offset += ((i == 0 ? u : i == 1 ? v : 0) - centre) * strut->axis[k][i];
        }
        if (!meet_slab(strut->axis[k], offset, strut->half[k], at)) return 0;
    }
    return 1;
}

/* The box itself, as three slabs. */
static int meet_box(const double size[3], double u, double v, span *at)
{
    *at = (span){0, -INFINITY, INFINITY};
    for (int k = 0; k < 3; k++) {
        const double n[3] = {ray_axis[0][k], ray_axis[1][k], ray_axis[2][k]};
        if (!meet_slab(n, n[0] * u + n[1] * v - 0.5 * size[k], 0.5 * size[k], at)) return 0;
    }
    return 1;
}

/* Find the part of the row v that the body can reach in u. */
static void reach_in_row(const body *strut, double v, double reach[2])
{
    double t[2] = {0, 1}, d = strut->b[1] - strut->a[1];
    if (fabs(d) > 1e-9 * strut->reach) {
        double p = (v - strut->reach - strut->a[1]) / d, q = (v + strut->reach - strut->a[1]) / d;
        t[0] = fmin(1, fmax(0, fmin(p, q))), t[1] = fmax(0, fmin(1, fmax(p, q)));
    }
    double from = strut->a[0] + t[0] * (strut->b[0] - strut->a[0]);
    double to = strut->a[0] + t[1] * (strut->b[0] - strut->a[0]);
    reach[0] = fmin(from, to) - strut->reach;
    reach[1] = fmax(from, to) + strut->reach;
}

typedef struct rays {
    double u0, v0, step;
    int nu, nv;
} rays;

static rays make_rays(const sp_network *network)
{
    double low[2] = {0, 0}, high[2] = {0, 0}, thinnest = INFINITY;
    for (int k = 0; k < 3; k++)
        for (int i = 0; i < 2; i++) {
            low[i] += fmin(0, ray_axis[i][k] * network->size[k]);
            high[i] += fmax(0, ray_axis[i][k] * network->size[k]);
        }
    for (int s = 0; s < network->strut_count; s++) {
        double height = network->strut_height[s], thickness = network->strut_thickness[s];
        thinnest = fmin(thinnest, height > 0 ? fmin(height, thickness) : thickness);
    }
    double step =
        fmax(thinnest / rays_per_strut, sqrt((high[0] - low[0]) * (high[1] - low[1]) / rays_max));
    return (rays){low[0] + 0.5 * step, low[1] + 0.5 * step, step,
                  (int)ceil((high[0] - low[0]) / step), (int)ceil((high[1] - low[1]) / step)};
}

static sp_status add_spans(sp_context *context, const rays *grid, const body *strut, double v,
                           span_list *spans)
{
    double reach[2];
    reach_in_row(strut, v, reach);
    int from = (int)ceil((reach[0] - grid->u0) / grid->step);
    int to = (int)floor((reach[1] - grid->u0) / grid->step);
    for (int i = from < 0 ? 0 : from; i <= to && i < grid->nu; i++) {
        span at;
        double u = grid->u0 + i * grid->step;
        if (!(*strut->half > 0 ? meet_rectangle(strut, u, v, &at) : meet_round(strut, u, v, &at)))
            continue;
        span *item = sp_grow(spans->item, spans->count, &spans->capacity, 1024, sizeof *item);
        if (!item)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d spans", spans->count + 1);
        spans->item = item;
        at.ray = i;
        spans->item[spans->count++] = at;
    }
    return SP_OK;
}

/* Sort the spans of one row, of so many rays: each ray has few, so that they are dealt out to the
 * rays first. */
static sp_status sort_spans(sp_context *context, int ray_count, span_list *spans)
{
    if (spans->sorted_capacity < spans->capacity) {
        span *grown = sp_resize(spans->sorted, (size_t)spans->capacity, sizeof *grown);
        if (!grown)
            return sp_fail(context, SP_NO_MEMORY, "no memory for %d spans", spans->capacity);
        spans->sorted = grown;
        spans->sorted_capacity = spans->capacity;
    }
    int *next = spans->next;
    memset(next, 0, ((size_t)ray_count + 1) * sizeof *next);
    for (int i = 0; i < spans->count; i++) next[spans->item[i].ray + 1]++;
    for (int ray = 0; ray < ray_count; ray++) next[ray + 1] += next[ray];
    for (int i = 0; i < spans->count; i++)
        spans->sorted[next[spans->item[i].ray]++] = spans->item[i];
    for (int i = 1; i < spans->count; i++) {
        const span one = spans->sorted[i];
        int at = i;
        for (; at > 0 && spans->sorted[at - 1].ray == one.ray &&
               spans->sorted[at - 1].from > one.from;
             at--)
            spans->sorted[at] = spans->sorted[at - 1];
        spans->sorted[at] = one;
    }
    return SP_OK;
}

/* Sum the length that the sorted spans of one row cover inside the box, over all its rays. */
static double covered(const rays *grid, const double size[3], double v, const span_list *spans)
{
    double total = 0;
    for (int i = 0; i < spans->count;) {
        int ray = spans->sorted[i].ray;
        span box;
        int inside = meet_box(size, grid->u0 + ray * grid->step, v, &box);
        double reached = inside ? box.from : 0;
        for (; i < spans->count && spans->sorted[i].ray == ray; i++) {
            if (!inside) continue;
            double from = fmax(spans->sorted[i].from, reached),
                   to = fmin(spans->sorted[i].to, box.to);
            if (to > from) total += to - from, reached = to;
        }
    }
    return total;
}

/* What one thread needs to sum a row, and how it went. */
typedef struct row_work {
    span_list spans;
    sp_context context; /* a message is of one thread */
    sp_status status;
    double found; /* spans, since it was last asked */
} row_work;

/* Sum one row, v, into *total; bodies are sorted by where they begin. */
static void sum_row(const sp_network *network, const rays *grid, const body *bodies, int body_count,
                    double v, row_work *work, double *total)
{
    span_list *spans = &work->spans;
    spans->count = 0;
    for (int i = 0; work->status == SP_OK && i < body_count && bodies[i].low <= v; i++)
        if (bodies[i].high >= v)
            work->status = add_spans(&work->context, grid, &bodies[i], v, spans);
    if (work->status == SP_OK) work->status = sort_spans(&work->context, grid->nu, spans);
    if (work->status == SP_OK) *total = covered(grid, network->size, v, spans);
    work->found += spans->count;
}

/* Sum `count` rows, from row `first` on, on as many threads as there are `work`. */
static void sum_some(const sp_network *network, const rays *grid, const body *bodies,
                     int body_count, int first, int count, row_work *work, int threads,
                     double *total)
{
#pragma omp parallel for schedule(dynamic, 1) num_threads(threads) if (threads > 1)
    for (int j = 0; j < count; j++)
        sum_row(network, grid, bodies, body_count, grid->v0 + (first + j) * grid->step,
                &work[omp_get_thread_num()], &total[j]);
}

/* Rows are summed some at a time, and added in their order: so the figure does not depend on the
 * number of threads. */
static sp_status sum_rows(sp_context *context, const sp_network *network, const body *bodies,
                          int body_count, double *total)
{
    enum { SOME = 16 };
    const rays grid = make_rays(network);
    const int threads = body_count < parallel_bodies || omp_in_parallel()
                            ? 1
                            : sp_thread_room(omp_get_max_threads());
    double row[SOME];
    row_work *work = sp_alloc((size_t)threads, sizeof *work);
    sp_status status = work ? SP_OK : no_memory(context, body_count);
    sp_poll poll = {.context = context, .doing = "measuring the volume of the struts"};
    for (int t = 0; status == SP_OK && t < threads; t++) {
        work[t].spans.next = sp_alloc((size_t)grid.nu + 1, sizeof(int));
        if (!work[t].spans.next) status = no_memory(context, body_count);
    }
    *total = 0;
    for (int j = 0; status == SP_OK && j < grid.nv; j += SOME) {
        const int count = grid.nv - j < SOME ? grid.nv - j : SOME;
        double done = 0;
        sum_some(network, &grid, bodies, body_count, j, count, work, threads, row);
        for (int t = 0; t < threads && status == SP_OK; t++) {
            if (work[t].status != SP_OK) status = no_memory(context, body_count);
            done += work[t].found;
            work[t].found = 0;
        }
        for (int i = 0; status == SP_OK && i < count; i++) *total += row[i] * grid.step * grid.step;
        /* Finding and sorting a span takes as long as some ten comparisons. */
        if (status == SP_OK) status = sp_poll_after(&poll, body_count + 10 * done);
    }
    for (int t = 0; work && t < threads; t++) {
        sp_free(work[t].spans.item);
        sp_free(work[t].spans.sorted);
        sp_free(work[t].spans.next);
    }
    sp_free(work);
    return status;
}

sp_status sp_spatial_fill_solid(sp_context *context, const sp_case *request, const sp_graph *graph,
                                sp_network *network)
{
    const size_t most = (network->strut_taper ? 2 * SLICES + 3 : 1) * (size_t)network->strut_count;
    double total = 0;
    (void)request, (void)graph;
    int count = 0;
    body *bodies = sp_alloc(most, sizeof *bodies);
    if (!bodies) return no_memory(context, network->strut_count);
    for (int s = 0; s < network->strut_count; s++) count += make_bodies(network, s, &bodies[count]);
    qsort(bodies, (size_t)count, sizeof *bodies, compare_low);
    const sp_status status = sum_rows(context, network, bodies, count, &total);
    if (status == SP_OK)
        network->solid_fraction =
            fmin(1, total / (network->size[0] * network->size[1] * network->size[2]));
    sp_free(bodies);
    return status;
}
