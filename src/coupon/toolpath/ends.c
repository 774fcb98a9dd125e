/* Free ends whose beads touch another line are moved to the middle of that line, so that beads that
 * touch are joined. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "toolpath/grid.h"
#include "toolpath/path_parts.h"

static const double together = 0.3;   /* of a bead: ends that meet */
static const double end_slack = 0.25; /* of a bead: round ends reach this much further */
static const double thick = 1.5;      /* beads: a wider line is a wall of several beads */
/* A line that comes nearer than this share of a bead goes on into the wall. */
static const double closer = 1e-3;

typedef struct net {
    sp_context *context;
    const char *file;
    double bead, gap;
    int line_count;
    path_line *line;
} net;

static sp_status no_memory(const net *n)
{
    return sp_fail(n->context, SP_NO_MEMORY, "%s: out of memory", n->file);
}

static int meets_end(const path_line *l, const double p[2], double near)
{
    return hypot(l->a[0] - p[0], l->a[1] - p[1]) <= near ||
           hypot(l->b[0] - p[0], l->b[1] - p[1]) <= near;
}

/* Find where a line, extended, meets another line: the share of either. 0: they are parallel. */
static int meeting(const path_line *l, const path_line *m, double *own, double *other)
{
    const double u[2] = {l->b[0] - l->a[0], l->b[1] - l->a[1]},
                 v[2] = {m->b[0] - m->a[0], m->b[1] - m->a[1]};
    const double det = u[0] * v[1] - u[1] * v[0], w[2] = {m->a[0] - l->a[0], m->a[1] - l->a[1]};
    if (!(fabs(det) > 0.17 * hypot(u[0], u[1]) * hypot(v[0], v[1]))) return 0;
    *own = (w[0] * v[1] - w[1] * v[0]) / det;
    *other = (w[0] * u[1] - w[1] * u[0]) / det;
    return 1;
}

/* Return the distance of a place from the middle of a line. */
static double off_middle(const path_line *m, const double p[2])
{
    const double u[2] = {m->b[0] - m->a[0], m->b[1] - m->a[1]};
    return fabs((p[0] - m->a[0]) * u[1] - (p[1] - m->a[1]) * u[0]) / hypot(u[0], u[1]);
}

/* Return 1 when the bead of an end touches a thick line, which is a wall of several beads, and its
 * own line runs towards that wall. */
static int ends_at_wall(const path_line *l, int end, const path_line *m)
{
    const double *p = end ? l->b : l->a, *from = end ? l->a : l->b;
    double own, other, s;
    if (!(m->thickness > thick * l->thickness) || !meeting(l, m, &own, &other)) return 0;
    if (sp_toolpath_foot(p, m->a, m->b, &s) > 0.5 * (m->thickness + l->thickness)) return 0;
    return s > 0 && s < 1 && off_middle(m, from) > off_middle(m, p);
}

/* Return 1 when a line meets this end and goes on from there, nearer to the middle of the wall. */
static int goes_on(const net *n, const path_line *l, const double p[2], const path_line *wall)
{
    const double near = together * n->bead;
    const double to_a = hypot(l->a[0] - p[0], l->a[1] - p[1]),
                 to_b = hypot(l->b[0] - p[0], l->b[1] - p[1]);
    if (fmin(to_a, to_b) > near) return 0;
    return off_middle(wall, to_a < to_b ? l->b : l->a) < off_middle(wall, p) - closer * n->bead;
}

/* Find the wall that the bead of an end touches, whatever other ends are there. NULL: it touches
 * none, or another line goes on into it. */
static const path_line *wall_of(const net *n, const path_grid *grid, const path_line *before, int i,
                                int end)
{
    const double *p = end ? before[i].b : before[i].a;
    const path_line *wall = NULL;
    for (int k = 0; k < grid->near_count && !wall; k++)
        if (grid->near[k] != i && ends_at_wall(&before[i], end, &before[grid->near[k]]))
            wall = &before[grid->near[k]];
    for (int k = 0; k < grid->near_count && wall; k++)
        if (grid->near[k] != i && goes_on(n, &before[grid->near[k]], p, wall)) wall = NULL;
    return wall;
}

/* A free end goes to the middle of the line that its bead touches. */
static void draw_end(net *n, const path_grid *grid, const path_line *before, int i, int end)
{
    path_line *l = &n->line[i];
    double *p = end ? l->b : l->a;
    double best = INFINITY, place[2] = {p[0], p[1]};
    const double length = hypot(l->b[0] - l->a[0], l->b[1] - l->a[1]);
    const path_line *wall = wall_of(n, grid, before, i, end);
    for (int k = 0; k < grid->near_count; k++) {
        const path_line *m = &before[grid->near[k]];
        double own, other, s;
        if (grid->near[k] == i || (wall && m != wall)) continue;
        if (!wall && meets_end(m, p, together * n->bead)) return; /* not free */
        const double reach =
            0.5 * m->thickness + 0.5 * l->thickness + (n->gap + end_slack) * n->bead;
        const double apart = sp_toolpath_foot(p, m->a, m->b, &s);
        if (apart > reach || apart - 0.5 * m->thickness >= best) continue;
        double to[2] = {m->a[0] + s * (m->b[0] - m->a[0]), m->a[1] + s * (m->b[1] - m->a[1])};
        if (meeting(l, m, &own, &other)) {
            const double slack =
                (0.5 * m->thickness + n->bead) / hypot(m->b[0] - m->a[0], m->b[1] - m->a[1]);
            const double moved = (end ? own - 1 : -own) * length;
            if (other < -slack || other > 1 + slack || fabs(moved) > 3 * reach) continue;
            to[0] = l->a[0] + own * (l->b[0] - l->a[0]),
            to[1] = l->a[1] + own * (l->b[1] - l->a[1]);
        } else if (s > 0 && s < 1)
            continue; /* the end runs along that line, as a wall of its own */
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
    status =
        sp_toolpath_grid_make(n->context, before->a, 5, n->line_count, widest + 2 * n->bead, &grid);
    for (int i = 0; i < n->line_count && status == SP_OK; i++)
        for (int end = 0; end < 2; end++) {
            const double *p = end ? before[i].b : before[i].a;
            sp_toolpath_grid_ask(&grid, p, p);
            draw_end(n, &grid, before, i, end);
        }
    sp_toolpath_grid_free(&grid);
    sp_free(before);
    return status;
}

sp_status sp_toolpath_draw_ends(sp_context *context, const char *file, double bead, double gap,
                                path_line *line, int count)
{
    net n = {context, file, bead, gap, count, line};
    double widest = 0;
    for (int i = 0; i < count; i++) widest = fmax(widest, line[i].thickness);
    return draw_ends(&n, widest);
}
