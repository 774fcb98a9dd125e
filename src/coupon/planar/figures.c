/* Figures of a planar network: line length per area, and the solid area, in which each overlap
 * counts once. */
#include "planar/rules.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/poll.h"

static const int rows_per_bead = 16; /* a bead across the rows then covers exactly this many */

double sp_length_inside(const double a[2], const double b[2], const double low[2],
                        const double high[2])
{
    double t0 = 0, t1 = 1;
    for (int k = 0; k < 2; k++) {
        double d = b[k] - a[k];
        if (d == 0) {
            if (a[k] < low[k] || a[k] > high[k]) return 0;
            continue;
        }
        double near = (low[k] - a[k]) / d, far = (high[k] - a[k]) / d;
        t0 = fmax(t0, fmin(near, far)), t1 = fmin(t1, fmax(near, far));
    }
    return t1 > t0 ? (t1 - t0) * hypot(b[0] - a[0], b[1] - a[1]) : 0;
}

double sp_planar_density(const sp_graph *graph, const sp_network *network)
{
    const double wall = graph->wall;
    double low[2] = {wall, wall}, total = 0;
    double high[2] = {network->size[0] - wall, network->size[1] - wall};
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL) continue;
        const int *joint = network->strut_joint + 2 * (size_t)s;
        total += sp_length_inside(network->joint_position + 3 * (size_t)joint[0],
                                  network->joint_position + 3 * (size_t)joint[1], low, high);
    }
    return total * graph->bead / ((high[0] - low[0]) * (high[1] - low[1]));
}

/* A bead as four corners, or a round end as centre and radius. */
typedef struct shape {
    double low, high; /* span in y */
    double corner[4][2];
    double radius; /* > 0: a disc about corner[0] */
} shape;

typedef struct span {
    double from, to;
} span;

static int compare_low(const void *left, const void *right)
{
    const shape *a = left, *b = right;
    return (a->low > b->low) - (a->low < b->low);
}

static void shape_span(shape *item)
{
    item->low = INFINITY, item->high = -INFINITY;
    for (int k = 0; k < 4; k++) {
        item->low = fmin(item->low, item->corner[k][1]);
        item->high = fmax(item->high, item->corner[k][1]);
    }
}

/* The ends of a strut at a free side or platen are extended through it, because the face of the
 * coupon cuts them, and not at a right angle. A plate ends where it was drawn. */
static int ends_on_face(const sp_network *network, double wall, int joint, int other)
{
    const double *p = network->joint_position + 3 * (size_t)joint;
    double same = 1e-9 * network->size[0];
    if (network->joint_face[joint] & network->joint_face[other]) return 0;
    return wall <= 0 && (p[0] <= same || p[0] >= network->size[0] - same || p[1] <= same ||
                         p[1] >= network->size[1] - same);
}

/* Find the bead of a strut between two places along it, with the thicknesses there, as drawn from
 * joint A along u. */
static void add_quadrilateral(const double a[2], const double u[2], const double at[2],
                              const double thickness[2], shape *item)
{
    static const int end[4] = {0, 1, 1, 0}, side[4] = {1, 1, -1, -1};
    for (int k = 0; k < 4; k++) {
        const double half = 0.5 * side[k] * thickness[end[k]];
        item->corner[k][0] = a[0] + at[end[k]] * u[0] - half * u[1];
        item->corner[k][1] = a[1] + at[end[k]] * u[1] + half * u[0];
    }
    item->radius = 0;
    shape_span(item);
}

/* Cut a bead with thicker ends where its tapers begin and end. Returns the number of shapes. */
static int add_tapered(const sp_network *network, double wall, int s, shape *item)
{
    const int *joint = network->strut_joint + 2 * (size_t)s;
    const double *a = network->joint_position + 3 * (size_t)joint[0];
    const double *b = network->joint_position + 3 * (size_t)joint[1];
    const double length = sp_network_strut_length(network, s), taper = network->strut_taper[s];
    const double *zone = network->strut_zone + 2 * (size_t)s, t = network->strut_thickness[s];
    const double u[2] = {(b[0] - a[0]) / length, (b[1] - a[1]) / length};
    const double half = zone[0] + 0.5 * (length - zone[0] - zone[1]);
    const double place[6] = {ends_on_face(network, wall, joint[0], joint[1]) ? -t : 0,
                             zone[0],
                             fmin(half, zone[0] + taper),
                             fmax(half, length - zone[1] - taper),
                             length - zone[1],
                             ends_on_face(network, wall, joint[1], joint[0]) ? length + t : length};
    int count = 0;
    for (int i = 0; i < 5; i++) {
        if (!(place[i + 1] > place[i])) continue;
        const double thickness[2] = {sp_network_thickness_at(network, s, place[i]),
                                     sp_network_thickness_at(network, s, place[i + 1])};
        add_quadrilateral(a, u, place + i, thickness, &item[count++]);
    }
    return count;
}

static void add_bead(const sp_network *network, double wall, int s, shape *item)
{
    const int *joint = network->strut_joint + 2 * (size_t)s;
    const double *a = network->joint_position + 3 * (size_t)joint[0];
    const double *b = network->joint_position + 3 * (size_t)joint[1];
    double t = network->strut_thickness[s], length = hypot(b[0] - a[0], b[1] - a[1]);
    double ux = (b[0] - a[0]) / length, uy = (b[1] - a[1]) / length;
    double before = ends_on_face(network, wall, joint[0], joint[1]) ? t : 0;
    double after = ends_on_face(network, wall, joint[1], joint[0]) ? t : 0;
    double nx = -0.5 * t * uy, ny = 0.5 * t * ux;
    double start[2] = {a[0] - before * ux, a[1] - before * uy};
    double stop[2] = {b[0] + after * ux, b[1] + after * uy};
    item->corner[0][0] = start[0] + nx, item->corner[0][1] = start[1] + ny;
    item->corner[1][0] = stop[0] + nx, item->corner[1][1] = stop[1] + ny;
    item->corner[2][0] = stop[0] - nx, item->corner[2][1] = stop[1] - ny;
    item->corner[3][0] = start[0] - nx, item->corner[3][1] = start[1] - ny;
    item->radius = 0;
    shape_span(item);
}

/* Find where one row cuts a shape; 0 when it does not. */
static int cut(const shape *item, double y, span *at)
{
    if (y < item->low || y > item->high) return 0;
    if (item->radius > 0) {
        double d = y - item->corner[0][1];
        double half = sqrt(fmax(0, item->radius * item->radius - d * d));
        *at = (span){item->corner[0][0] - half, item->corner[0][0] + half};
        return 1;
    }
    *at = (span){INFINITY, -INFINITY};
    for (int k = 0; k < 4; k++) {
        const double *p = item->corner[k], *q = item->corner[(k + 1) % 4];
        if ((p[1] <= y) == (q[1] <= y)) continue;
        double x = p[0] + (y - p[1]) / (q[1] - p[1]) * (q[0] - p[0]);
        at->from = fmin(at->from, x), at->to = fmax(at->to, x);
    }
    return at->to > at->from;
}

/* Return the length that the spans cover inside 0 .. width. They are sorted by insertion, because
 * they keep their order from row to row. */
static double covered(span *spans, int count, double width)
{
    for (int i = 1; i < count; i++) {
        span moving = spans[i];
        int j = i;
        for (; j > 0 && spans[j - 1].from > moving.from; j--) spans[j] = spans[j - 1];
        spans[j] = moving;
    }
    double total = 0, reached = 0;
    for (int i = 0; i < count; i++) {
        double from = fmax(spans[i].from, reached), to = fmin(spans[i].to, width);
        if (to > from) total += to - from;
        reached = fmax(reached, to);
    }
    return total;
}

/* List all beads of the infill and of plates (walls are counted as the rim that they are), and
 * round fillings where only two meet at a turn. */
static int fill_shapes(const sp_network *network, double wall, const int *degree, shape *shapes)
{
    int count = 0;
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_INFILL && wall > 0) continue;
        if (network->strut_taper)
            count += add_tapered(network, wall, s, &shapes[count]);
        else
            add_bead(network, wall, s, &shapes[count++]);
        for (int k = 0; k < 2; k++) {
            int joint = network->strut_joint[2 * s + k];
            if (degree[joint] != 2) continue;
            shape *disc = &shapes[count++];
            const double *p = network->joint_position + 3 * (size_t)joint;
            const double along = k ? sp_network_strut_length(network, s) : 0;
            *disc = (shape){.radius = 0.5 * sp_network_thickness_at(network, s, along)};
            disc->corner[0][0] = p[0], disc->corner[0][1] = p[1];
            disc->low = p[1] - disc->radius, disc->high = p[1] + disc->radius;
        }
    }
    qsort(shapes, (size_t)count, sizeof *shapes, compare_low);
    return count;
}

/* Order the active shapes as their spans lie in this row, so that the next row finds them nearly
 * sorted. */
static void sort_active(int *active, span *at, int count)
{
    for (int i = 1; i < count; i++) {
        span moving = at[i];
        int which = active[i], j = i;
        for (; j > 0 && at[j - 1].from > moving.from; j--)
            at[j] = at[j - 1], active[j] = active[j - 1];
        at[j] = moving, active[j] = which;
    }
}

/* Sum the solid area over rows of constant y: exact along x, by the midpoint rule in y. */
static sp_status solid_area(sp_context *context, const shape *shapes, int count,
                            const double size[2], double wall, double bead, int *active, span *at,
                            span *row, double *whole)
{
    sp_poll poll = {.context = context, .doing = "measuring the area of the beads"};
    sp_status status = SP_OK;
    double step = bead / rows_per_bead, area = 0;
    int rows = (int)ceil(size[1] / step - 1e-9), next = 0, active_count = 0;
    for (int r = 0; status == SP_OK && r < rows; r++) {
        double y0 = r * step, y1 = fmin(size[1], y0 + step), y = 0.5 * (y0 + y1);
        if (y < wall || y > size[1] - wall) {
            area += (y1 - y0) * size[0];
            continue;
        }
        while (next < count && shapes[next].low <= y) active[active_count++] = next++;
        int kept = 0;
        for (int i = 0; i < active_count; i++)
            if (shapes[active[i]].high >= y) active[kept++] = active[i];
        active_count = kept;
        int spans = 0;
        for (int i = 0; i < active_count; i++)
            if (!cut(&shapes[active[i]], y, &at[i])) at[i] = (span){INFINITY, -INFINITY};
        sort_active(active, at, active_count);
        if (wall > 0)
            row[spans++] = (span){0, wall}, row[spans++] = (span){size[0] - wall, size[0]};
        for (int i = 0; i < active_count && at[i].from < INFINITY; i++) row[spans++] = at[i];
        area += (y1 - y0) * covered(row, spans, size[0]);
        status = sp_poll_after(&poll, 10.0 * active_count);
    }
    *whole = area;
    return status;
}

sp_status sp_planar_fill_solid(sp_context *context, const sp_case *request, const sp_graph *graph,
                               sp_network *network)
{
    const double bead = graph->bead;
    const double wall = graph->wall > 0 ? graph->wall + 0.5 * request->width_offset : 0;
    size_t most = (network->strut_taper ? 7 : 3) * (size_t)network->strut_count + 2;
    shape *shapes = sp_alloc(most, sizeof *shapes);
    int *degree = sp_alloc((size_t)network->joint_count, sizeof *degree);
    int *active = sp_alloc(most, sizeof *active);
    span *at = sp_alloc(most, sizeof *at), *row = sp_alloc(most, sizeof *row);
    sp_status status = SP_OK;
    if (!shapes || !degree || !active || !at || !row) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", network->strut_count);
        goto done;
    }
    for (int k = 0; k < 2 * network->strut_count; k++) degree[network->strut_joint[k]]++;
    int count = fill_shapes(network, wall, degree, shapes);
    double area;
    status = solid_area(context, shapes, count, network->size, wall, bead, active, at, row, &area);
    network->solid_fraction = fmin(1, area / (network->size[0] * network->size[1]));
done:
    sp_free(shapes);
    sp_free(degree);
    sp_free(active);
    sp_free(at);
    sp_free(row);
    return status;
}
