/* Find trails through a drawing (Hierholzer 1873): walk from a point of odd degree until no edge is
 * left, then insert closed walks into trails that pass one of their points, and order the trails by
 * the nearest end. */
#include "printing/trails.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"

typedef struct walker {
    const sp_line_drawing *drawing;
    int *first, *edge;   /* edges at each point: edge[first[p]] .. edge[first[p + 1] - 1] */
    int *degree;         /* edges at each point that no walk has passed yet */
    unsigned char *used; /* 1 per edge */
    int *next;           /* the walk as a chain: entry after this one, -1: the last */
    int *entry_point;    /* point of an entry */
    int *entry_edge;     /* edge by which the walk comes to it, -1: it begins there */
    int *entry_at;       /* an entry of a finished walk at this point, -1: none */
    int entry_count;
    int *head, head_count; /* first entries of the walks */
} walker;

static sp_status prepare(sp_context *context, const sp_line_drawing *drawing, walker *w)
{
    const size_t points = (size_t)drawing->point_count, edges = (size_t)drawing->edge_count;
    *w = (walker){.drawing = drawing};
    w->first = sp_alloc(points + 2, sizeof *w->first);
    w->edge = sp_alloc(2 * edges + 1, sizeof *w->edge);
    w->degree = sp_alloc(points + 1, sizeof *w->degree);
    w->used = sp_alloc(edges + 1, 1);
    w->next = sp_alloc(2 * edges + points + 1, sizeof *w->next);
    w->entry_point = sp_alloc(2 * edges + points + 1, sizeof *w->entry_point);
    w->entry_edge = sp_alloc(2 * edges + points + 1, sizeof *w->entry_edge);
    w->entry_at = sp_alloc(points + 1, sizeof *w->entry_at);
    w->head = sp_alloc(edges + 1, sizeof *w->head);
    if (!w->first || !w->edge || !w->degree || !w->used || !w->next || !w->entry_point ||
        !w->entry_edge || !w->entry_at || !w->head)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a path of %zu lines", edges);
    for (size_t i = 0; i < 2 * edges; i++) w->degree[drawing->edge[i]]++;
    for (size_t p = 0; p < points; p++) {
        w->first[p + 1] = w->first[p] + w->degree[p];
        w->entry_at[p] = -1;
    }
    for (size_t i = 0; i < 2 * edges; i++) {
        const int p = drawing->edge[i];
        w->edge[w->first[p] + --w->degree[p]] = (int)(i / 2);
    }
    for (size_t p = 0; p < points; p++) w->degree[p] = w->first[p + 1] - w->first[p];
    return SP_OK;
}

static void walker_free(walker *w)
{
    sp_free(w->first), sp_free(w->edge), sp_free(w->degree), sp_free(w->used);
    sp_free(w->next), sp_free(w->entry_point), sp_free(w->entry_edge), sp_free(w->entry_at),
        sp_free(w->head);
}

static int far_end(const walker *w, int edge, int point)
{
    const int *ends = w->drawing->edge + 2 * (size_t)edge;
    return ends[0] == point ? ends[1] : ends[0];
}

static double cosine(const walker *w, const double way[2], int from, int to)
{
    const double *p = w->drawing->point + 2 * (size_t)from, *q = w->drawing->point + 2 * (size_t)to;
    const double length = hypot(q[0] - p[0], q[1] - p[1]);
    return length > 0 ? (way[0] * (q[0] - p[0]) + way[1] * (q[1] - p[1])) / length : 0;
}

/* Find the edge that is not passed yet and goes on straightest; -1: none is left. */
static int choose_edge(const walker *w, int point, const double way[2])
{
    int best = -1;
    double straight = -2;
    for (int k = w->first[point]; k < w->first[point + 1]; k++) {
        const int edge = w->edge[k];
        if (w->used[edge]) continue;
        const double c = cosine(w, way, point, far_end(w, edge, point));
        if (c > straight) straight = c, best = edge;
    }
    return best;
}

static int add_entry(walker *w, int after, int point, int edge)
{
    const int entry = w->entry_count++;
    w->entry_point[entry] = point;
    w->entry_edge[entry] = edge;
    w->next[entry] = -1;
    if (after >= 0) {
        w->next[entry] = w->next[after];
        w->next[after] = entry;
    }
    if (w->entry_at[point] < 0) w->entry_at[point] = entry;
    return entry;
}

/* Walk until no edge is left; the entries are inserted behind `entry`, which stands at `point`. */
static void walk(walker *w, int entry, int point)
{
    double way[2] = {0, 0};
    for (int edge; (edge = choose_edge(w, point, way)) >= 0;) {
        const int to = far_end(w, edge, point);
        const double *p = w->drawing->point + 2 * (size_t)point;
        const double *q = w->drawing->point + 2 * (size_t)to;
        const double length = hypot(q[0] - p[0], q[1] - p[1]);
        w->used[edge] = 1;
        w->degree[point]--, w->degree[to]--;
        for (int i = 0; i < 2; i++) way[i] = length > 0 ? (q[i] - p[i]) / length : 0;
        entry = add_entry(w, entry, to, edge);
        point = to;
    }
}

static void find_walks(walker *w)
{
    const int points = w->drawing->point_count;
    for (int p = 0; p < points; p++)
        while (w->degree[p] % 2) {
            w->head[w->head_count++] = add_entry(w, -1, p, -1);
            walk(w, w->head[w->head_count - 1], p);
        }
    /* The edges that are left make closed walks: insert each into a walk that passes it, or make it
     * a walk of its own. */
    for (int found = 1; found;) {
        found = 0;
        for (int p = 0; p < points; p++)
            if (w->degree[p] && w->entry_at[p] >= 0) {
                walk(w, w->entry_at[p], p);
                found = 1;
            }
        for (int p = 0; !found && p < points; p++)
            if (w->degree[p]) {
                w->head[w->head_count++] = add_entry(w, -1, p, -1);
                walk(w, w->head[w->head_count - 1], p);
                found = 1;
            }
    }
}

/* --- order --- */

typedef struct ends {
    int head, last, length; /* entries; points on the way */
    int taken;
} ends;

static double distance(const walker *w, int entry, const double from[2])
{
    const double *p = w->drawing->point + 2 * (size_t)w->entry_point[entry];
    return hypot(p[0] - from[0], p[1] - from[1]);
}

/* Taken backwards, the edge by which the walk came to a point leads to the next point. */
static void write_trail(const walker *w, const ends *e, int backwards, int *place, int *by)
{
    int k = 0;
    for (int entry = e->head; entry >= 0; entry = w->next[entry], k++) {
        place[backwards ? e->length - 1 - k : k] = w->entry_point[entry];
        if (!backwards)
            by[k] = w->entry_edge[entry];
        else
            by[k ? e->length - k : 0] = w->entry_edge[entry];
    }
}

static sp_status order(sp_context *context, const walker *w, const double start[2],
                       sp_trails *trails)
{
    ends *walks = sp_alloc((size_t)w->head_count + 1, sizeof *walks);
    trails->first = sp_alloc((size_t)w->head_count + 1, sizeof *trails->first);
    trails->place = sp_alloc((size_t)w->entry_count + 1, sizeof *trails->place);
    trails->by = sp_alloc((size_t)w->entry_count + 1, sizeof *trails->by);
    sp_status status = SP_OK;
    if (!walks || !trails->first || !trails->place || !trails->by) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", w->head_count);
        goto done;
    }
    for (int t = 0; t < w->head_count; t++) {
        walks[t].head = w->head[t];
        for (int entry = w->head[t]; entry >= 0; entry = w->next[entry])
            walks[t].last = entry, walks[t].length++;
    }
    double at[2] = {start[0], start[1]};
    for (trails->count = 0; trails->count < w->head_count; trails->count++) {
        double best = INFINITY;
        int which = 0, backwards = 0;
        for (int t = 0; t < w->head_count; t++) {
            if (walks[t].taken) continue;
            const double d[2] = {distance(w, walks[t].head, at), distance(w, walks[t].last, at)};
            for (int back = 0; back < 2; back++)
                if (d[back] < best) best = d[back], which = t, backwards = back;
        }
        ends *next = &walks[which];
        const int begin = trails->first[trails->count];
        next->taken = 1;
        write_trail(w, next, backwards, trails->place + begin, trails->by + begin);
        trails->first[trails->count + 1] = begin + next->length;
        const int last = trails->place[begin + next->length - 1];
        memcpy(at, w->drawing->point + 2 * (size_t)last, sizeof at);
    }
done:
    sp_free(walks);
    return status;
}

sp_status sp_trails_find(sp_context *context, const sp_line_drawing *drawing, const double start[2],
                         sp_trails *trails)
{
    walker w;
    *trails = (sp_trails){0};
    sp_status status = prepare(context, drawing, &w);
    if (status == SP_OK) {
        find_walks(&w);
        status = order(context, &w, start, trails);
    }
    walker_free(&w);
    if (status != SP_OK) sp_trails_free(trails);
    return status;
}

void sp_trails_free(sp_trails *trails)
{
    sp_free(trails->first);
    sp_free(trails->place);
    sp_free(trails->by);
    *trails = (sp_trails){0};
}
