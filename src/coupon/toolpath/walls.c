/* Make one bead of beads that follow each other in line, and one wall of beads side by side: its
 * middle is that of their material, its thickness the sum of theirs (the rectangle of the metered
 * volume at the layer's height, E211). */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "toolpath/grid.h"
#include "toolpath/path_parts.h"

static const double parallel = 0.985;   /* cosine: beads within 10 deg run side by side */
static const double straight = 0.02;    /* of a bead: a corner so near to a line is none */
static const double same_area = 0.05;   /* relative: beads whose areas differ less become one */
static const double sample_width = 0.5; /* of a bead: samples along it */
/* [beads] a neighbour that changes for a shorter way is taken as unchanged. */
static const double short_run = 1.6;
static const double meet = 0.5; /* of a bead: ends of a chain that are so near meet */
enum { STACK_MAX = 32, SAMPLES_MAX = 20000 };

/* A straight piece of a chain of beads, with the beads that lie beside it (its company). */
typedef struct run {
    double a[2], b[2]; /* of the middle line of the wall */
    double thickness, width;
    long chain;
    int segment; /* runs of the same segment follow each other */
    int leads;   /* 0: another bead of the wall represents it */
} run;

typedef struct runs {
    int count, capacity;
    run *run;
} runs;

/* ---- straight pieces ----------------------------------------------- */

/* Find the corner between two beads that is farthest from the straight line that joins them. */
static double farthest(const path_beads *b, int from, int to, int *at)
{
    double most = 0, s;
    for (int i = from; i < to; i++) {
        const double d = sp_toolpath_foot(b->bead[i].b, b->bead[from].a, b->bead[to].b, &s);
        if (d > most) most = d, *at = i;
    }
    return most;
}

/* Simplify by Douglas & Peucker 1973 within beads of one chain and one area, with a list of pieces
 * still to do in place of recursion. */
static sp_status straighten(sp_context *context, const char *file, double tolerance,
                            const path_beads *beads, path_beads *out)
{
    int *stack = sp_alloc(2 * (size_t)beads->count + 4, sizeof *stack);
    sp_status status = stack ? SP_OK : sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    for (int i = 0; i < beads->count && status == SP_OK;) {
        int end = i;
        while (end + 1 < beads->count && beads->bead[end + 1].chain == beads->bead[i].chain &&
               fabs(beads->bead[end + 1].area - beads->bead[i].area) <=
                   same_area * beads->bead[i].area)
            end++;
        int depth = 0;
        stack[depth++] = i, stack[depth++] = end;
        while (depth && status == SP_OK) {
            const int to = stack[--depth], from = stack[--depth];
            int at = from;
            if (from < to && farthest(beads, from, to, &at) > tolerance) {
                stack[depth++] = at + 1, stack[depth++] = to;
                stack[depth++] = from, stack[depth++] = at;
                continue;
            }
            path_bead one = beads->bead[from];
            double volume = 0;
            for (int k = from; k <= to; k++)
                volume += beads->bead[k].area * sp_toolpath_length(&beads->bead[k]);
            memcpy(one.b, beads->bead[to].b, sizeof one.b);
            const double length = sp_toolpath_length(&one);
            if (!(length > 1e-6))
                continue; /* the chain returns to its beginning: its halves stand alone */
            one.area = volume / length;
            status = sp_toolpath_add(context, file, out, &one);
        }
        i = end + 1;
    }
    sp_free(stack);
    return status;
}

/* ---- beads side by side ----------------------------------------------- */

typedef struct member {
    double offset, width, thickness, length;
    int bead;
} member;

static int by_offset(const void *a, const void *b)
{
    const double x = ((const member *)a)->offset, y = ((const member *)b)->offset;
    return (x > y) - (x < y);
}

typedef struct company {
    double shift, thickness; /* of the wall: its middle less that of the bead, to the left [mm] */
    int leader, count;
} company;

/* Find the beads side by side with a bead at one place of it. */
static company company_at(path_grid *grid, const path_beads *beads, int own, const double p[2],
                          double height, double gap)
{
    const path_bead *o = &beads->bead[own];
    const double length = sp_toolpath_length(o), width = sp_toolpath_width(o->area, height);
    const double d[2] = {(o->b[0] - o->a[0]) / length, (o->b[1] - o->a[1]) / length};
    member m[STACK_MAX];
    int count = 0, self = 0;
    m[count++] = (member){0, width, o->area / height, length, own};
    for (int k = 0; k < grid->near_count && count < STACK_MAX; k++) {
        const int i = grid->near[k];
        const path_bead *b = &beads->bead[i];
        const double other = sp_toolpath_length(b);
        const double e[2] = {(b->b[0] - b->a[0]) / other, (b->b[1] - b->a[1]) / other};
        const double cosine = d[0] * e[0] + d[1] * e[1];
        if (i == own || fabs(cosine) < parallel) continue;
        /* This is where the line across the bead meets the other bead. */
        const double q[2] = {b->a[0] - p[0], b->a[1] - p[1]};
        const double along = -(q[0] * d[0] + q[1] * d[1]) / cosine;
        if (along < 0 || along > other) continue;
        const double offset = -d[1] * (q[0] + along * e[0]) + d[0] * (q[1] + along * e[1]);
        m[count++] =
            (member){offset, sp_toolpath_width(b->area, height), b->area / height, other, i};
    }
    qsort(m, (size_t)count, sizeof *m, by_offset);
    while (m[self].bead != own) self++;
    int from = self, to = self;
    while (from > 0 && m[from].offset - m[from - 1].offset <=
                           0.5 * (m[from].width + m[from - 1].width) + gap * width)
        from--;
    while (to + 1 < count &&
           m[to + 1].offset - m[to].offset <= 0.5 * (m[to].width + m[to + 1].width) + gap * width)
        to++;
    company c = {0, 0, own, to - from + 1};
    double moment = 0, longest = 0;
    for (int i = from; i <= to; i++) {
        c.thickness += m[i].thickness;
        moment += m[i].thickness * m[i].offset;
        if (m[i].length > longest * (1 + 1e-6) ||
            (m[i].length > longest * (1 - 1e-6) && m[i].bead < c.leader)) {
            longest = fmax(longest, m[i].length);
            c.leader = m[i].bead;
        }
    }
    c.shift = moment / c.thickness;
    return c;
}

static sp_status add_run(sp_context *context, const char *file, runs *r, const run *one)
{
    run *grown = sp_grow(r->run, r->count, &r->capacity, 256, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    r->run = grown;
    r->run[r->count++] = *one;
    return SP_OK;
}

static int same_company(const company *a, const company *b, double width)
{
    return a->count == b->count && a->leader == b->leader &&
           fabs(a->shift - b->shift) < 0.15 * width &&
           fabs(a->thickness - b->thickness) < 0.05 * width;
}

/* Where the beads beside a bead change for a short way only, take those of the longer side. */
static void smooth(company *c, int samples, int least, double width)
{
    for (int pass = 0; pass < 8; pass++) {
        int changed = 0;
        for (int i = 0, end; i < samples; i = end) {
            for (end = i + 1; end < samples && same_company(&c[end], &c[i], width);) end++;
            if (end - i >= least || (i == 0 && end == samples)) continue;
            int before = 0, behind = 0;
            while (i - before > 0 && same_company(&c[i - before - 1], &c[i - 1], width)) before++;
            while (end + behind < samples &&
                   same_company(&c[end + behind], &c[end < samples ? end : 0], width))
                behind++;
            if (before < end - i && behind < end - i) continue;
            const company other = before >= behind ? c[i - 1] : c[end];
            for (int k = i; k < end; k++) c[k] = other;
            changed = 1;
        }
        if (!changed) return;
    }
}

static sp_status cut_bead(sp_context *context, const char *file, path_grid *grid,
                          const path_beads *beads, int own, double height, double gap,
                          company *room, runs *out)
{
    const path_bead *o = &beads->bead[own];
    const double length = sp_toolpath_length(o), width = sp_toolpath_width(o->area, height);
    const double n[2] = {-(o->b[1] - o->a[1]) / length, (o->b[0] - o->a[0]) / length};
    const int samples = (int)fmin(SAMPLES_MAX, 1 + floor(length / (sample_width * width)));
    const double step = length / samples;
    sp_toolpath_grid_ask(grid, o->a, o->b);
    for (int k = 0; k < samples; k++) {
        const double s = (k + 0.5) / samples;
        const double p[2] = {o->a[0] + s * (o->b[0] - o->a[0]), o->a[1] + s * (o->b[1] - o->a[1])};
        room[k] = company_at(grid, beads, own, p, height, gap);
    }
    smooth(room, samples, (int)ceil(short_run * width / step), width);
    sp_status status = SP_OK;
    for (int i = 0, end; i < samples && status == SP_OK; i = end) {
        double shift = 0, thickness = 0;
        for (end = i; end < samples && same_company(&room[end], &room[i], width); end++)
            shift += room[end].shift, thickness += room[end].thickness;
        shift /= end - i, thickness /= end - i;
        run one = {.thickness = thickness,
                   .width = width,
                   .chain = o->chain,
                   .segment = own,
                   .leads = room[i].leader == own};
        for (int k = 0; k < 2; k++) {
            const double from = (double)i / samples, to = (double)end / samples;
            one.a[k] = o->a[k] + from * (o->b[k] - o->a[k]) + shift * n[k];
            one.b[k] = o->a[k] + to * (o->b[k] - o->a[k]) + shift * n[k];
        }
        status = add_run(context, file, out, &one);
    }
    return status;
}

/* ---- corners ----------------------------------------------- */

/* Find where two lines meet; 0: they are parallel. */
static int cross_lines(const double a[2], const double b[2], const double c[2], const double d[2],
                       double p[2])
{
    const double u[2] = {b[0] - a[0], b[1] - a[1]}, v[2] = {d[0] - c[0], d[1] - c[1]};
    const double det = u[0] * v[1] - u[1] * v[0];
    if (!(fabs(det) > 0.05 * hypot(u[0], u[1]) * hypot(v[0], v[1]))) return 0;
    const double s = ((c[0] - a[0]) * v[1] - (c[1] - a[1]) * v[0]) / det;
    p[0] = a[0] + s * u[0], p[1] = a[1] + s * u[1];
    return 1;
}

/* Join two runs that followed each other before they were moved at the place where their lines meet
 * now. */
static void join_runs(run *first, run *second)
{
    double p[2];
    const double apart = hypot(first->b[0] - second->a[0], first->b[1] - second->a[1]);
    if (!cross_lines(first->a, first->b, second->a, second->b, p) ||
        hypot(p[0] - first->b[0], p[1] - first->b[1]) >
            2 * (first->thickness + second->thickness) + apart) {
        const double *thick = first->thickness >= second->thickness ? first->b : second->a;
        memcpy(p, thick, sizeof p);
    }
    memcpy(first->b, p, sizeof p);
    memcpy(second->a, p, sizeof p);
}

/* A chain whose ends meet is a ring, also where a seam is left open. One whose last bead only
 * begins where the first does goes on: it would be drawn back to its beginning. */
static int is_ring(const path_beads *pieces, const run *first, const run *last)
{
    const path_bead *one = &pieces->bead[first->segment], *other = &pieces->bead[last->segment];
    const double apart = hypot(one->a[0] - other->b[0], one->a[1] - other->b[1]);
    return apart < meet * first->width + 1.5 * first->thickness &&
           apart < 0.5 * fmin(sp_toolpath_length(one), sp_toolpath_length(other));
}

static void join_chain(const path_beads *pieces, runs *r, int from, int end)
{
    const int closed = end - from > 2 && r->run[from].leads && r->run[end - 1].leads &&
                       is_ring(pieces, &r->run[from], &r->run[end - 1]);
    for (int i = from; i + 1 < end; i++)
        if (r->run[i].leads && r->run[i + 1].leads) join_runs(&r->run[i], &r->run[i + 1]);
    if (closed) join_runs(&r->run[end - 1], &r->run[from]);
}

sp_status sp_toolpath_walls(sp_context *context, const char *file, double height, double gap,
                            const path_beads *beads, path_line **line, int *count)
{
    path_beads pieces = {0};
    path_grid grid = {0};
    runs r = {0};
    company *room = sp_alloc(SAMPLES_MAX + 1, sizeof *room);
    double widest = 0;
    *line = NULL;
    *count = 0;
    for (int i = 0; i < beads->count; i++)
        widest = fmax(widest, sp_toolpath_width(beads->bead[i].area, height));
    sp_status status = room ? SP_OK : sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    if (status == SP_OK) status = straighten(context, file, straight * widest, beads, &pieces);
    if (status == SP_OK)
        status = sp_toolpath_grid_make(context, pieces.count ? pieces.bead[0].a : NULL,
                                       (int)(sizeof(path_bead) / sizeof(double)), pieces.count,
                                       8 * widest, &grid);
    for (int i = 0; i < pieces.count && status == SP_OK; i++)
        status = cut_bead(context, file, &grid, &pieces, i, height, gap, room, &r);
    for (int i = 0, end; i < r.count && status == SP_OK; i = end) {
        for (end = i + 1; end < r.count && r.run[end].chain == r.run[i].chain;) end++;
        join_chain(&pieces, &r, i, end);
    }
    if (status == SP_OK) *line = sp_alloc((size_t)r.count + 1, sizeof **line);
    if (status == SP_OK && !*line)
        status = sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    for (int i = 0; i < r.count && status == SP_OK; i++) {
        path_line *l = &(*line)[*count];
        if (!r.run[i].leads) continue;
        memcpy(l->a, r.run[i].a, sizeof l->a);
        memcpy(l->b, r.run[i].b, sizeof l->b);
        l->thickness = r.run[i].thickness;
        ++*count;
    }
    sp_toolpath_free(&pieces);
    sp_toolpath_grid_free(&grid);
    sp_free(r.run);
    sp_free(room);
    return status;
}
