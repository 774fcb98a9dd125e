/* Random cells: Voronoi cells of seeded points, one point per cell length squared (Qhull).
 *
 * The points are scattered over a periodic square and, with `regularity` above 0, pushed apart
 * until none are closer than regularity x 0.95 cell lengths; equal hexagons would have 1.07.
 * Scattered points have a mean line length per area of 2 per cell length (Meijering 1953, from
 * memory), equal hexagons 1.86. */
#include <math.h>
#include <stdint.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "base/rng.h"
#include "pattern/parts.h"
#include "random/voronoi_edges.h"

static const double full_spacing = 0.95; /* of a cell length at regularity 1 */
static const int pushes_max = 100;
static const double push_done = 1e-2; /* of the spacing */
/* This many cells are repeated around the disc, so that its edges do not depend on the rim. */
static const int margin = 4;
enum { STREAM_CELLS = 17 }; /* stream of random numbers of the points */
static const int count_max = 2000000;

double sp_voronoi_line_density(const sp_case *request)
{
    (void)request;
    return NAN;
}

/* Random cells have no period: the lattice vectors are one cell length across and one upwards. */
void sp_voronoi_lattice(const sp_case *request, double vector[2][2])
{
    (void)request;
    vector[0][0] = vector[1][1] = 1;
    vector[0][1] = vector[1][0] = 0;
}

/* Points in a periodic square of `side` cells, with a grid of unit cells: chain[first[cell]],
 * ... */
typedef struct scatter {
    int side, count;
    double *point; /* 2 per point */
    double *move;  /* 2 per point */
    int *first, *chain;
} scatter;

static void sort_into_cells(scatter *s)
{
    for (int c = 0; c < s->side * s->side; c++) s->first[c] = -1;
    for (int i = 0; i < s->count; i++) {
        int x = (int)s->point[2 * i] % s->side, y = (int)s->point[2 * i + 1] % s->side;
        s->chain[i] = s->first[y * s->side + x];
        s->first[y * s->side + x] = i;
    }
}

static double wrapped(double d, double side)
{
    return d - side * nearbyint(d / side);
}

/* Push both points of every pair that is too close apart by half of the missing distance. Returns
 * the largest missing distance. */
static double push(scatter *s, double spacing)
{
    double worst = 0;
    int n = s->side;
    for (int i = 0; i < 2 * s->count; i++) s->move[i] = 0;
    for (int i = 0; i < s->count; i++) {
        const double *p = s->point + 2 * i;
        for (int k = 0; k < 9; k++) {
            int x = ((int)p[0] + k % 3 - 1 + n) % n, y = ((int)p[1] + k / 3 - 1 + n) % n;
            for (int j = s->first[y * n + x]; j >= 0; j = s->chain[j]) {
                double dx = wrapped(p[0] - s->point[2 * j], n);
                double dy = wrapped(p[1] - s->point[2 * j + 1], n);
                double d = hypot(dx, dy);
                if (j == i || d >= spacing || d == 0) continue;
                worst = fmax(worst, spacing - d);
                s->move[2 * i] += 0.5 * (spacing - d) * dx / d;
                s->move[2 * i + 1] += 0.5 * (spacing - d) * dy / d;
            }
        }
    }
    for (int i = 0; i < 2 * s->count; i++) {
        double to = s->point[i] + s->move[i];
        to -= n * floor(to / n);
        s->point[i] = to < n ? to : 0;
    }
    return worst;
}

static sp_status scatter_points(sp_context *context, const sp_case *request, int side, scatter *s)
{
    size_t count = (size_t)side * (size_t)side;
    s->side = side, s->count = side * side;
    s->point = sp_alloc(count, 2 * sizeof *s->point);
    s->move = sp_alloc(count, 2 * sizeof *s->move);
    s->first = sp_alloc(count, sizeof *s->first);
    s->chain = sp_alloc(count, sizeof *s->chain);
    if (!s->point || !s->move || !s->first || !s->chain)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d cells", s->count);
    sp_rng rng;
    sp_rng_seed(&rng, (uint64_t)request->cell_seed, STREAM_CELLS);
    for (int i = 0; i < 2 * s->count; i++) s->point[i] = side * sp_rng_uniform(&rng);
    double spacing = full_spacing * request->regularity;
    for (int i = 0; i < pushes_max && spacing > 0; i++) {
        const sp_status status = sp_poll_now(context, "pushing random points apart");
        if (status != SP_OK) return status;
        sort_into_cells(s);
        if (push(s, spacing) < push_done * spacing) break;
    }
    return SP_OK;
}

/* Shift the cells: the square of the points is periodic, so that what a shift moves out of it comes
 * in on the other side. */
static void shift_points(scatter *s, const sp_case *request)
{
    const double shift[2] = {request->offset_x, request->offset_y};
    for (int i = 0; i < 2 * s->count; i++) {
        double to = s->point[i] + shift[i % 2];
        to -= s->side * floor(to / s->side);
        s->point[i] = to < s->side ? to : 0;
    }
}

static void scatter_free(scatter *s)
{
    sp_free(s->point);
    sp_free(s->move);
    sp_free(s->first);
    sp_free(s->chain);
}

/* List the points about the origin with the margin repeated around them: 2 numbers per point, the
 * caller frees them. */
static double *repeat(const scatter *s, int *count)
{
    double half = 0.5 * s->side, limit = half + margin;
    size_t most = (size_t)(s->side + 2 * margin) * (size_t)(s->side + 2 * margin) * 2 + 64;
    double *all = sp_alloc(most, 2 * sizeof *all);
    *count = 0;
    for (int i = 0; all && i < s->count; i++)
        for (int k = 0; k < 9; k++) {
            double x = s->point[2 * i] - half + (k % 3 - 1) * s->side;
            double y = s->point[2 * i + 1] - half + (k / 3 - 1) * s->side;
            if (fabs(x) > limit || fabs(y) > limit || (size_t)*count == most) continue;
            all[2 * *count] = x, all[2 * *count + 1] = y;
            (*count)++;
        }
    return all;
}

/* Leave out edges well outside the disc, which the rim of the set of points disturbs. */
typedef struct gathering {
    sp_context *context;
    double radius;
    sp_pieces *pieces;
} gathering;

static sp_status add_edge(void *user, const double *a, const double *b)
{
    const gathering *g = user;
    if (fmin(hypot(a[0], a[1]), hypot(b[0], b[1])) > g->radius + margin / 2) return SP_OK;
    return sp_pieces_add(g->context, g->pieces, a[0], a[1], b[0], b[1]);
}

sp_status sp_voronoi_emit(sp_context *context, const sp_case *request, double radius,
                          sp_pieces *pieces)
{
    scatter scattered = {0};
    double *all = NULL;
    int count = 0;
    int side = (int)ceil(2 * radius) + 2 * margin;
    sp_status status = SP_OK;
    if ((double)side * side > count_max)
        return sp_fail(context, SP_BAD_CASE, "voronoi: %d x %d cells; valid: up to %d", side, side,
                       count_max);
    status = scatter_points(context, request, side, &scattered);
    if (status != SP_OK) goto done;
    shift_points(&scattered, request);
    all = repeat(&scattered, &count);
    if (!all) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d cells", scattered.count);
        goto done;
    }
    status =
        sp_voronoi_edges(context, 2, all, count, add_edge, &(gathering){context, radius, pieces});
done:
    scatter_free(&scattered);
    sp_free(all);
    return status;
}
