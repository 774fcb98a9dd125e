/* Random foam: edges of the Voronoi cells of seeded points in space, one point per cell length
 * cubed (Qhull).
 *
 * As in the plane the points are scattered over a periodic box and, with `regularity` above 0,
 * pushed apart until none are closer than regularity x 0.95 cell lengths; the densest packing would
 * have 1.12 (face-centred cubic). Scattered points have a mean edge length per volume of 5.83 per
 * cell length squared and 15.54 faces per cell (Meijering 1953, from memory). */
#include <math.h>
#include <stdint.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "base/rng.h"
#include "pattern/cell.h"
#include "random/voronoi_edges.h"

static const double full_spacing = 0.95; /* of a cell length at regularity 1 */
static const int pushes_max = 100;
static const double push_done = 1e-2; /* of the spacing */
static const int margin = 2; /* cells around the box, so that its edges do not depend on the rim */
enum { STREAM_FOAM = 18 };   /* stream of random numbers of the points */
static const int count_max = 200000;

/* Points in a periodic box of side[k] cells, with a grid of unit cells: chain[first[cell]], ... */
typedef struct scatter {
    int side[3], count;
    double *point; /* 3 per point, 0 .. side */
    double *move;  /* 3 per point */
    int *first, *chain;
} scatter;

static int cell_at(const scatter *s, const double p[3], int dx, int dy, int dz)
{
    const int step[3] = {dx, dy, dz};
    int cell = 0;
    for (int k = 0; k < 3; k++)
        cell = cell * s->side[k] + ((int)p[k] + step[k] + s->side[k]) % s->side[k];
    return cell;
}

static void sort_into_cells(scatter *s)
{
    for (int c = 0; c < s->count; c++) s->first[c] = -1;
    for (int i = 0; i < s->count; i++) {
        int cell = cell_at(s, s->point + 3 * (size_t)i, 0, 0, 0);
        s->chain[i] = s->first[cell];
        s->first[cell] = i;
    }
}

/* Push point i away from every point that is too close, by half of the missing distance. Returns
 * the largest missing distance. */
static double push_one(scatter *s, int i, double spacing)
{
    const double *p = s->point + 3 * (size_t)i;
    double worst = 0;
    for (int n = 0; n < 27; n++) {
        int cell = cell_at(s, p, n / 9 - 1, n / 3 % 3 - 1, n % 3 - 1);
        for (int j = s->first[cell]; j >= 0; j = s->chain[j]) {
            double d[3], square = 0;
            for (int k = 0; k < 3; k++) {
                d[k] = p[k] - s->point[3 * j + k];
                d[k] -= s->side[k] * nearbyint(d[k] / s->side[k]);
                square += d[k] * d[k];
            }
            double distance = sqrt(square);
            if (j == i || distance >= spacing || distance == 0) continue;
            worst = fmax(worst, spacing - distance);
            for (int k = 0; k < 3; k++)
                s->move[3 * i + k] += 0.5 * (spacing - distance) * d[k] / distance;
        }
    }
    return worst;
}

static double push(scatter *s, double spacing)
{
    double worst = 0;
    for (int i = 0; i < 3 * s->count; i++) s->move[i] = 0;
    for (int i = 0; i < s->count; i++) worst = fmax(worst, push_one(s, i, spacing));
    for (int i = 0; i < 3 * s->count; i++) {
        double side = s->side[i % 3], to = s->point[i] + s->move[i];
        to -= side * floor(to / side);
        s->point[i] = to < side ? to : 0;
    }
    return worst;
}

static sp_status scatter_points(sp_context *context, const sp_case *request, scatter *s)
{
    size_t count = (size_t)s->count;
    s->point = sp_alloc(count, 3 * sizeof *s->point);
    s->move = sp_alloc(count, 3 * sizeof *s->move);
    s->first = sp_alloc(count, sizeof *s->first);
    s->chain = sp_alloc(count, sizeof *s->chain);
    if (!s->point || !s->move || !s->first || !s->chain)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d cells", s->count);
    sp_rng rng;
    sp_rng_seed(&rng, (uint64_t)request->cell_seed, STREAM_FOAM);
    for (int i = 0; i < 3 * s->count; i++) s->point[i] = s->side[i % 3] * sp_rng_uniform(&rng);
    double spacing = full_spacing * request->regularity;
    for (int i = 0; i < pushes_max && spacing > 0; i++) {
        const sp_status status = sp_poll_now(context, "pushing random points apart");
        if (status != SP_OK) return status;
        sort_into_cells(s);
        if (push(s, spacing) < push_done * spacing) break;
    }
    for (int i = 0; i < 3 * s->count; i++) s->point[i] -= 0.5 * s->side[i % 3];
    return SP_OK;
}

static void scatter_free(scatter *s)
{
    sp_free(s->point);
    sp_free(s->move);
    sp_free(s->first);
    sp_free(s->chain);
}

typedef struct gathering {
    sp_context *context;
    const double *half;
    sp_lines *lines;
} gathering;

static sp_status add_edge(void *user, const double *a, const double *b)
{
    const gathering *g = user;
    for (int k = 0; k < 3; k++)
        if (fmin(a[k], b[k]) > g->half[k] || fmax(a[k], b[k]) < -g->half[k]) return SP_OK;
    return sp_lines_add(g->context, g->lines, a, b);
}

/* The rim is margin cells away, or two spacings of the points, and is not repeated: the edges that
 * it disturbs lie outside the box. */
sp_status sp_voronoi_foam_emit(sp_context *context, const sp_case *request, const double half[3],
                               sp_lines *lines)
{
    scatter scattered = {0};
    double count = 1;
    for (int k = 0; k < 3; k++) {
        scattered.side[k] = (int)ceil(2 * half[k] - 1e-9) + 2 * margin;
        count *= scattered.side[k];
    }
    if (!(count <= count_max))
        return sp_fail(context, SP_BAD_CASE, "voronoi-foam: %.3g cells; valid: up to %d", count,
                       count_max);
    scattered.count = (int)count;
    sp_status status = scatter_points(context, request, &scattered);
    if (status == SP_OK)
        status = sp_voronoi_edges(context, 3, scattered.point, scattered.count, add_edge,
                                  &(gathering){context, half, lines});
    scatter_free(&scattered);
    return status;
}
