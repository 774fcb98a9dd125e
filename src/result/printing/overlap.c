/* Measure a body by rays along z through its surface, on a grid that is turned against x and y, so
 * that walls along the axes do not lie along its rows. E221 of docs/theory.md. */
#include "printing/overlap.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/poll.h"

static const double turn = 0.357;   /* rad */
static const double rays = 4e5;     /* about this many are sent */
static const double hits_max = 2e7; /* of rays on triangles, about: more are met by fewer rays */
enum { ACROSS_MAX = 4000 };

/* A place where a ray passes the surface; `way` 1: inwards as z grows, -1: outwards. */
typedef struct hit {
    float z;
    int way;
} hit;

typedef struct grid {
    double low[2], step[2], turned[2]; /* cosine and sine */
    int across[2];
    long *first; /* hits of ray r: first[r] .. first[r + 1] - 1 */
    hit *hit;    /* NULL while they are counted */
} grid;

static void place(const grid *g, const double *p, double at[3])
{
    at[0] = g->turned[0] * p[0] - g->turned[1] * p[1];
    at[1] = g->turned[1] * p[0] + g->turned[0] * p[1];
    at[2] = p[2];
}

/* Return x where an edge passes a row; the lower corner counts as the first, so that both triangles
 * of an edge find the same place. */
static double crossing(const double *a, const double *b, double y)
{
    if (a[1] > b[1] || (a[1] == b[1] && a[0] > b[0])) {
        const double *other = a;
        a = b, b = other;
    }
    return a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
}

static double row_at(const grid *g, int j)
{
    return g->low[1] + (j + 0.5) * g->step[1];
}

/* Return the first ray of a row at or behind x: each edge is passed by the rays from its place on.
 */
static int ray_from(const grid *g, double x)
{
    return (int)fmin(g->across[0], fmax(0, ceil((x - g->low[0]) / g->step[0] - 0.5)));
}

static double z_at(double p[3][3], const double normal[3], double x, double y)
{
    const double z = p[0][2] - (normal[0] * (x - p[0][0]) + normal[1] * (y - p[0][1])) / normal[2];
    const double low = fmin(p[0][2], fmin(p[1][2], p[2][2]));
    const double high = fmax(p[0][2], fmax(p[1][2], p[2][2]));
    return fmin(high, fmax(low, z)); /* a steep triangle would leave its own range */
}

static void pass_row(grid *g, double p[3][3], const double normal[3], int j)
{
    const double y = row_at(g, j);
    double x[2] = {INFINITY, -INFINITY};
    for (int k = 0; k < 3; k++) {
        const double *a = p[k], *b = p[(k + 1) % 3];
        if ((a[1] <= y) == (b[1] <= y)) continue;
        const double at = crossing(a, b, y);
        x[0] = fmin(x[0], at), x[1] = fmax(x[1], at);
    }
    if (!(x[0] <= x[1])) return;
    const int end = ray_from(g, x[1]);
    for (int i = ray_from(g, x[0]); i < end; i++) {
        const long ray = (long)j * g->across[0] + i;
        if (g->hit)
            g->hit[g->first[ray + 1]++] =
                (hit){(float)z_at(p, normal, g->low[0] + (i + 0.5) * g->step[0], y),
                      normal[2] < 0 ? 1 : -1};
        else
            g->first[ray + 2]++;
    }
}

static void pass_triangle(grid *g, const sp_surface *surface, int t)
{
    double p[3][3], u[3], v[3], low = INFINITY, high = -INFINITY;
    for (int k = 0; k < 3; k++) {
        place(g, surface->vertex + 3 * (size_t)surface->triangle[3 * (size_t)t + (size_t)k], p[k]);
        low = fmin(low, p[k][1]), high = fmax(high, p[k][1]);
    }
    for (int k = 0; k < 3; k++) u[k] = p[1][k] - p[0][k], v[k] = p[2][k] - p[0][k];
    const double normal[3] = {u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2],
                              u[0] * v[1] - u[1] * v[0]};
    if (!(fabs(normal[2]) > DBL_MIN)) return;
    const double from = fmax(0, floor((low - g->low[1]) / g->step[1] - 1));
    const double upto = fmin(g->across[1] - 1, ceil((high - g->low[1]) / g->step[1] + 1));
    for (int j = (int)from; j <= (int)upto; j++) pass_row(g, p, normal, j);
}

static sp_status pass_all(sp_context *context, grid *g, const sp_surface *surface)
{
    sp_poll poll = {.context = context, .doing = "measuring a body"};
    sp_status status = SP_OK;
    for (int t = 0; status == SP_OK && t < surface->triangle_count; t++) {
        pass_triangle(g, surface, t);
        status = sp_poll_after(&poll, 100);
    }
    return status;
}

static int compare_hits(const void *left, const void *right)
{
    const hit *a = left, *b = right;
    return (a->z > b->z) - (a->z < b->z);
}

static void sort_hits(hit *list, long count)
{
    if (count > 24) {
        qsort(list, (size_t)count, sizeof *list, compare_hits);
        return;
    }
    for (long i = 1; i < count; i++) {
        const hit one = list[i];
        long k = i;
        for (; k > 0 && list[k - 1].z > one.z; k--) list[k] = list[k - 1];
        list[k] = one;
    }
}

static double length_inside(hit *list, long count)
{
    double length = 0;
    long deep = 0;
    sort_hits(list, count);
    for (long i = 0; i < count; i++) {
        if (deep > 0) length += (double)list[i].z - (double)list[i - 1].z;
        deep += list[i].way;
    }
    return length;
}

/* Choose a grid whose rays meet about as many triangles as may be. */
static void choose_grid(const sp_surface *surface, grid *g)
{
    double high[2] = {-INFINITY, -INFINITY}, covered = 0, rise = 0;
    g->turned[0] = cos(turn), g->turned[1] = sin(turn);
    g->low[0] = g->low[1] = INFINITY;
    for (int t = 0; t < surface->triangle_count; t++) {
        double p[3][3];
        for (int k = 0; k < 3; k++) {
            place(g, surface->vertex + 3 * (size_t)surface->triangle[3 * (size_t)t + (size_t)k],
                  p[k]);
            for (int i = 0; i < 2; i++) {
                g->low[i] = fmin(g->low[i], p[k][i]);
                high[i] = fmax(high[i], p[k][i]);
            }
        }
        covered += 0.5 * fabs((p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) -
                              (p[1][1] - p[0][1]) * (p[2][0] - p[0][0]));
        rise += fmax(p[0][1], fmax(p[1][1], p[2][1])) - fmin(p[0][1], fmin(p[1][1], p[2][1]));
    }
    const double size[2] = {high[0] - g->low[0], high[1] - g->low[1]};
    double step = sqrt(size[0] * size[1] / rays);
    step = fmax(step, fmax(sqrt(covered / hits_max), rise / hits_max));
    for (int i = 0; i < 2; i++) {
        g->across[i] = step > 0 ? (int)fmin(ACROSS_MAX, fmax(1, ceil(size[i] / step))) : 1;
        g->step[i] = size[i] / g->across[i];
    }
}

sp_status sp_surface_body_volume(sp_context *context, const sp_surface *surface, double *volume,
                                 double *uncertain)
{
    grid g = {.hit = NULL};
    choose_grid(surface, &g);
    *volume = *uncertain = 0;
    if (!(g.step[0] > 0 && g.step[1] > 0)) return SP_OK; /* it has no extent */
    const long count = (long)g.across[0] * g.across[1];
    g.first = sp_alloc((size_t)count + 2, sizeof *g.first);
    sp_status status = g.first ? pass_all(context, &g, surface) : SP_NO_MEMORY;
    hit *list = NULL;
    if (status == SP_OK) {
        for (long r = 0; r < count; r++) g.first[r + 2] += g.first[r + 1];
        list = g.hit = sp_alloc((size_t)g.first[count + 1] + 1, sizeof *g.hit);
        status = list ? pass_all(context, &g, surface) : SP_NO_MEMORY;
    }
    double half[2] = {0, 0};
    for (long r = 0; status == SP_OK && r < count; r++)
        half[(r / g.across[0] + r % g.across[0]) % 2] +=
            length_inside(list + g.first[r], g.first[r + 1] - g.first[r]);
    const double cell = g.step[0] * g.step[1];
    *volume = cell * (half[0] + half[1]);
    *uncertain = cell * fabs(half[0] - half[1]);
    sp_free(g.first);
    sp_free(list);
    return status == SP_NO_MEMORY ? sp_fail(context, status, "no memory to measure a body")
                                  : status;
}
