/* Lines with widths to struts between joints: free ends that touch another line are drawn to its middle, lines are cut where they cross,
 * ends that lie together become one joint, struts shorter than a bead vanish, and joints in straight runs dissolve. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "toolpath/grid.h"
#include "toolpath/path_parts.h"

static const double together = 0.3;    /* of a bead: ends that meet */
static const double one_joint = 0.5;   /* of a bead: joints that become one */
static const double shortest = 0.95;   /* of a bead: of a strut */
static const double in_line = 0.9998;  /* cosine of a turn of 1 deg: no joint */
static const double same_width = 0.03; /* relative: of struts that become one */
enum { CUTS_MAX = 4000000 };

typedef struct cut {
    int line;
    double along;
} cut;

typedef struct edge {
    int a, b; /* joints; a < 0: removed */
    double thickness;
} edge;

typedef struct net {
    sp_context *context;
    const char *file;
    double bead, gap;
    int line_count;
    path_line *line; /* a copy, with ends moved */
    int cut_count, cut_capacity;
    cut *cut;
    int joint_count, edge_count, edge_capacity;
    double *joint; /* 2 per joint */
    edge *edge;
} net;

static sp_status no_memory(const net *n)
{
    return sp_fail(n->context, SP_NO_MEMORY, "%s: out of memory", n->file);
}

/* ---- ends ------------------------------------------------------------------------------------------------------ */

static int meets_end(const path_line *l, const double p[2], double near)
{
    return hypot(l->a[0] - p[0], l->a[1] - p[1]) <= near || hypot(l->b[0] - p[0], l->b[1] - p[1]) <= near;
}

/* Where a line, carried on, meets another; its own share and the other's. 0: they run along each other. */
static int meeting(const path_line *l, const path_line *m, double *own, double *other)
{
    const double u[2] = {l->b[0] - l->a[0], l->b[1] - l->a[1]}, v[2] = {m->b[0] - m->a[0], m->b[1] - m->a[1]};
    const double det = u[0] * v[1] - u[1] * v[0], w[2] = {m->a[0] - l->a[0], m->a[1] - l->a[1]};
    if (fabs(det) < 0.17 * hypot(u[0], u[1]) * hypot(v[0], v[1])) return 0;
    *own = (w[0] * v[1] - w[1] * v[0]) / det;
    *other = (w[0] * u[1] - w[1] * u[0]) / det;
    return 1;
}

/* A free end goes to the middle of the line that its bead touches. */
static void draw_end(net *n, const path_grid *grid, const path_line *before, int i, int end)
{
    path_line *l = &n->line[i];
    double *p = end ? l->b : l->a;
    double best = INFINITY, place[2] = {p[0], p[1]};
    const double length = hypot(l->b[0] - l->a[0], l->b[1] - l->a[1]);
    for (int k = 0; k < grid->near_count; k++) {
        const path_line *m = &before[grid->near[k]];
        double own, other, s;
        if (grid->near[k] == i) continue;
        if (meets_end(m, p, together * n->bead)) return; /* not free */
        const double reach = 0.5 * m->thickness + 0.5 * l->thickness + (n->gap + 0.25) * n->bead;
        const double apart = sp_path_foot(p, m->a, m->b, &s);
        if (apart > reach || apart - 0.5 * m->thickness >= best) continue;
        double to[2] = {m->a[0] + s * (m->b[0] - m->a[0]), m->a[1] + s * (m->b[1] - m->a[1])};
        if (meeting(l, m, &own, &other)) {
            const double slack = (0.5 * m->thickness + n->bead) / hypot(m->b[0] - m->a[0], m->b[1] - m->a[1]);
            const double moved = (end ? own - 1 : -own) * length;
            if (other < -slack || other > 1 + slack || fabs(moved) > 3 * reach) continue;
            to[0] = l->a[0] + own * (l->b[0] - l->a[0]), to[1] = l->a[1] + own * (l->b[1] - l->a[1]);
        } else if (s > 0 && s < 1)
            continue; /* along it: a wall of its own */
        best = apart - 0.5 * m->thickness;
        memcpy(place, to, sizeof place);
    }
    memcpy(p, place, sizeof place);
}

static sp_status draw_ends(net *n, double widest)
{
    path_grid grid;
    path_line *before = sp_alloc((size_t)n->line_count + 1, sizeof *before);
    sp_status status = before ? SP_OK : no_memory(n);
    if (status != SP_OK) return status;
    if (n->line_count) memcpy(before, n->line, (size_t)n->line_count * sizeof *before);
    status = sp_path_grid_make(n->context, before->a, 5, n->line_count, widest + 2 * n->bead, &grid);
    for (int i = 0; i < n->line_count && status == SP_OK; i++)
        for (int end = 0; end < 2; end++) {
            const double *p = end ? before[i].b : before[i].a;
            sp_path_grid_ask(&grid, p, p);
            draw_end(n, &grid, before, i, end);
        }
    sp_path_grid_free(&grid);
    sp_free(before);
    return status;
}

/* ---- cuts ------------------------------------------------------------------------------------------------------ */

static sp_status add_cut(net *n, int line, double along)
{
    if (n->cut_count >= CUTS_MAX)
        return sp_fail(n->context, SP_NO_READ, "%s: received lines that cross more than %d times; valid: fewer",
                       n->file, CUTS_MAX);
    if (n->cut_count == n->cut_capacity) {
        const int more = n->cut_capacity ? 2 * n->cut_capacity : 1024;
        cut *grown = sp_resize(n->cut, (size_t)more, sizeof *grown);
        if (!grown) return no_memory(n);
        n->cut = grown;
        n->cut_capacity = more;
    }
    n->cut[n->cut_count++] = (cut){line, along};
    return SP_OK;
}

static int by_line(const void *x, const void *y)
{
    const cut *a = x, *b = y;
    if (a->line != b->line) return a->line - b->line;
    return (a->along > b->along) - (a->along < b->along);
}

/* Both ends of every line, where it crosses another, and where an end of another lies on it. */
static sp_status find_cuts(net *n)
{
    path_grid grid;
    sp_status status =
        sp_path_grid_make(n->context, n->line_count ? n->line->a : NULL, 5, n->line_count, n->bead, &grid);
    for (int i = 0; i < n->line_count && status == SP_OK; i++) {
        const path_line *l = &n->line[i];
        status = add_cut(n, i, 0);
        if (status == SP_OK) status = add_cut(n, i, 1);
        sp_path_grid_ask(&grid, l->a, l->b);
        for (int k = 0; k < grid.near_count && status == SP_OK; k++) {
            const path_line *m = &n->line[grid.near[k]];
            double own, other, s;
            if (grid.near[k] == i) continue;
            if (meeting(l, m, &own, &other) && own > 0 && own < 1 && other > -1e-6 && other < 1 + 1e-6) {
                status = add_cut(n, i, own);
                continue;
            }
            for (int end = 0; end < 2 && status == SP_OK; end++)
                if (sp_path_foot(end ? m->b : m->a, l->a, l->b, &s) <= together * n->bead && s > 0 && s < 1)
                    status = add_cut(n, i, s);
        }
    }
    sp_path_grid_free(&grid);
    if (status == SP_OK && n->cut_count) qsort(n->cut, (size_t)n->cut_count, sizeof *n->cut, by_line);
    return status;
}

/* ---- joints ---------------------------------------------------------------------------------------------------- */

static sp_status add_edge(net *n, int a, int b, double thickness)
{
    if (n->edge_count == n->edge_capacity) {
        const int more = n->edge_capacity ? 2 * n->edge_capacity : 1024;
        edge *grown = sp_resize(n->edge, (size_t)more, sizeof *grown);
        if (!grown) return no_memory(n);
        n->edge = grown;
        n->edge_capacity = more;
    }
    n->edge[n->edge_count++] = (edge){a, b, thickness};
    return SP_OK;
}

/* One joint per cut, those that lie together become the first of them. */
static sp_status make_joints(net *n)
{
    path_grid grid;
    double *place = sp_alloc(4 * (size_t)n->cut_count + 4, sizeof *place);
    int *same = sp_alloc((size_t)n->cut_count + 1, sizeof *same);
    n->joint = sp_alloc(2 * (size_t)n->cut_count + 2, sizeof *n->joint);
    sp_status status = place && same && n->joint ? SP_OK : no_memory(n);
    for (int c = 0; c < n->cut_count && status == SP_OK; c++) {
        const path_line *l = &n->line[n->cut[c].line];
        for (int k = 0; k < 4; k++)
            place[4 * c + k] = l->a[k % 2] + n->cut[c].along * (l->b[k % 2] - l->a[k % 2]);
        same[c] = -1;
    }
    if (status == SP_OK) {
        status = sp_path_grid_make(n->context, place, 4, n->cut_count, one_joint * n->bead, &grid);
        for (int c = 0; c < n->cut_count && status == SP_OK; c++) {
            if (same[c] >= 0) continue;
            const double *p = place + 4 * (size_t)c;
            const int joint = n->joint_count++;
            same[c] = joint;
            n->joint[2 * joint] = p[0], n->joint[2 * joint + 1] = p[1];
            sp_path_grid_ask(&grid, p, p);
            for (int k = 0; k < grid.near_count; k++) {
                const double *q = place + 4 * (size_t)grid.near[k];
                if (same[grid.near[k]] < 0 && hypot(p[0] - q[0], p[1] - q[1]) <= one_joint * n->bead)
                    same[grid.near[k]] = joint;
            }
        }
        sp_path_grid_free(&grid);
    }
    for (int c = 0; c + 1 < n->cut_count && status == SP_OK; c++)
        if (n->cut[c].line == n->cut[c + 1].line && same[c] != same[c + 1])
            status = add_edge(n, same[c], same[c + 1], n->line[n->cut[c].line].thickness);
    sp_free(place);
    sp_free(same);
    return status;
}

/* ---- tidying --------------------------------------------------------------------------------------------------- */

static double edge_length(const net *n, const edge *e)
{
    return hypot(n->joint[2 * e->a] - n->joint[2 * e->b], n->joint[2 * e->a + 1] - n->joint[2 * e->b + 1]);
}

static int by_ends(const void *x, const void *y)
{
    const edge *a = x, *b = y;
    if (a->a != b->a) return (a->a > b->a) - (a->a < b->a);
    if (a->b != b->b) return (a->b > b->b) - (a->b < b->b);
    return (a->thickness < b->thickness) - (a->thickness > b->thickness);
}

/* Edges without an end, and doubles; of these the thickest stays. */
static void drop_doubles(net *n)
{
    int kept = 0;
    for (int i = 0; i < n->edge_count; i++) {
        edge e = n->edge[i];
        if (e.a < 0 || e.a == e.b) continue;
        if (e.a > e.b) e = (edge){e.b, e.a, e.thickness};
        n->edge[kept++] = e;
    }
    n->edge_count = kept;
    if (kept) qsort(n->edge, (size_t)kept, sizeof *n->edge, by_ends);
    kept = 0;
    for (int i = 0; i < n->edge_count; i++)
        if (!kept || n->edge[i].a != n->edge[kept - 1].a || n->edge[i].b != n->edge[kept - 1].b)
            n->edge[kept++] = n->edge[i];
    n->edge_count = kept;
}

static int *count_degrees(net *n)
{
    int *degree = sp_alloc((size_t)n->joint_count + 1, sizeof *degree);
    for (int i = 0; degree && i < n->edge_count; i++) degree[n->edge[i].a]++, degree[n->edge[i].b]++;
    return degree;
}

/* The two joints of a strut shorter than a bead become one, where more than the strut's own bead meets there. *changed counts. */
static sp_status contract(net *n, int *changed)
{
    int *to = sp_alloc((size_t)n->joint_count + 1, sizeof *to), *degree = count_degrees(n);
    sp_status status = to && degree ? SP_OK : no_memory(n);
    for (int j = 0; j < n->joint_count && status == SP_OK; j++) to[j] = j;
    for (int i = 0; i < n->edge_count && status == SP_OK; i++) {
        const edge *e = &n->edge[i];
        if (edge_length(n, e) >= shortest * n->bead) continue;
        const int chain = degree[e->a] == 2 && degree[e->b] == 2 && edge_length(n, e) > 0.3 * n->bead;
        if (chain || to[e->a] != e->a || to[e->b] != e->b) continue;
        /* the joint with more struts keeps its place: a wall is not bent by what ends on it */
        const int keep = degree[e->a] >= degree[e->b] ? e->a : e->b, gone = keep == e->a ? e->b : e->a;
        to[gone] = keep;
        degree[keep] = degree[gone] = -1000000; /* one at a time */
        ++*changed;
    }
    for (int i = 0; i < n->edge_count && status == SP_OK; i++)
        n->edge[i].a = to[n->edge[i].a], n->edge[i].b = to[n->edge[i].b];
    sp_free(to);
    sp_free(degree);
    if (status == SP_OK) drop_doubles(n);
    return status;
}

/* A joint of two struts in line, of one width, is none. */
static sp_status dissolve(net *n, int *changed)
{
    int *degree = count_degrees(n), *pair = sp_alloc(2 * (size_t)n->joint_count + 2, sizeof *pair);
    sp_status status = degree && pair ? SP_OK : no_memory(n);
    for (int j = 0; j < n->joint_count && status == SP_OK; j++) pair[2 * j] = pair[2 * j + 1] = -1;
    for (int i = 0; i < n->edge_count && status == SP_OK; i++)
        for (int k = 0; k < 2; k++) {
            const int j = k ? n->edge[i].b : n->edge[i].a;
            pair[2 * j + (pair[2 * j] >= 0)] = i;
        }
    for (int j = 0; j < n->joint_count && status == SP_OK; j++) {
        if (degree[j] != 2) continue;
        edge *e = &n->edge[pair[2 * j]], *f = &n->edge[pair[2 * j + 1]];
        if (e->a < 0 || f->a < 0 || (e->a != j && e->b != j) || (f->a != j && f->b != j)) continue;
        const int p = e->a == j ? e->b : e->a, q = f->a == j ? f->b : f->a;
        if (p == q || fabs(e->thickness - f->thickness) > same_width * e->thickness) continue;
        const double u[2] = {n->joint[2 * j] - n->joint[2 * p], n->joint[2 * j + 1] - n->joint[2 * p + 1]};
        const double v[2] = {n->joint[2 * q] - n->joint[2 * j], n->joint[2 * q + 1] - n->joint[2 * j + 1]};
        if (u[0] * v[0] + u[1] * v[1] < in_line * hypot(u[0], u[1]) * hypot(v[0], v[1])) continue;
        const double a = hypot(u[0], u[1]), b = hypot(v[0], v[1]);
        *e = (edge){p, q, (a * e->thickness + b * f->thickness) / (a + b)};
        f->a = -1;
        /* the strut takes the place of the other at its far end */
        for (int k = 0; k < 2; k++)
            if (pair[2 * q + k] == pair[2 * j + 1]) pair[2 * q + k] = pair[2 * j];
        ++*changed;
    }
    sp_free(degree);
    sp_free(pair);
    if (status == SP_OK) drop_doubles(n);
    return status;
}

/* Loose ends shorter than a bead are the round ends of others. */
static sp_status drop_stubs(net *n, int *changed)
{
    int *degree = count_degrees(n);
    if (!degree) return no_memory(n);
    for (int i = 0; i < n->edge_count; i++) {
        edge *e = &n->edge[i];
        if ((degree[e->a] == 1 || degree[e->b] == 1) && degree[e->a] + degree[e->b] > 2 &&
            edge_length(n, e) < n->bead) {
            e->a = -1;
            ++*changed;
        }
    }
    sp_free(degree);
    drop_doubles(n);
    return SP_OK;
}

/* ---- the drawing ----------------------------------------------------------------------------------------------- */

static sp_status put_drawing(net *n, sp_drawing *drawing)
{
    int *number = sp_alloc((size_t)n->joint_count + 1, sizeof *number);
    sp_status status = number ? SP_OK : no_memory(n);
    for (int j = 0; j < n->joint_count && status == SP_OK; j++) number[j] = -1;
    for (int i = 0; i < n->edge_count && status == SP_OK; i++) {
        const int joint[2] = {n->edge[i].a, n->edge[i].b};
        for (int k = 0; k < 2 && status == SP_OK; k++) {
            const double p[3] = {n->joint[2 * joint[k]], n->joint[2 * joint[k] + 1], 0};
            if (number[joint[k]] >= 0) continue;
            number[joint[k]] = drawing->point_count;
            status = sp_drawing_add_point(n->context, drawing, p);
        }
        if (status == SP_OK)
            status = sp_drawing_add_line(n->context, drawing, number[joint[0]], number[joint[1]],
                                         n->edge[i].thickness);
    }
    sp_free(number);
    return status;
}

sp_status sp_path_joints(sp_context *context, const char *file, double bead, double gap,
                         const path_line *line, int count, sp_drawing *drawing)
{
    net n = {.context = context, .file = file, .bead = bead, .gap = gap, .line_count = count};
    double widest = 0;
    n.line = sp_alloc((size_t)count + 1, sizeof *n.line);
    sp_status status = n.line ? SP_OK : no_memory(&n);
    for (int i = 0; i < count && status == SP_OK; i++) {
        n.line[i] = line[i];
        widest = fmax(widest, line[i].thickness);
    }
    if (status == SP_OK) status = draw_ends(&n, widest);
    if (status == SP_OK) status = find_cuts(&n);
    if (status == SP_OK) status = make_joints(&n);
    if (status == SP_OK) drop_doubles(&n);
    for (int pass = 0, changed = 1; pass < 50 && changed && status == SP_OK; pass++) {
        changed = 0;
        status = contract(&n, &changed);
        if (status == SP_OK) status = drop_stubs(&n, &changed);
        if (status == SP_OK) status = dissolve(&n, &changed);
    }
    if (status == SP_OK) status = put_drawing(&n, drawing);
    sp_free(n.line);
    sp_free(n.cut);
    sp_free(n.joint);
    sp_free(n.edge);
    return status;
}
