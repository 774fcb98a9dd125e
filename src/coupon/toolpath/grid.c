#include "toolpath/grid.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"

enum { ACROSS_MAX = 1500 };

double sp_toolpath_foot(const double p[2], const double a[2], const double b[2], double *along)
{
    const double d[2] = {b[0] - a[0], b[1] - a[1]}, square = d[0] * d[0] + d[1] * d[1];
    double s = square > 0 ? ((p[0] - a[0]) * d[0] + (p[1] - a[1]) * d[1]) / square : 0;
    s = fmax(0, fmin(1, s));
    *along = s;
    return hypot(a[0] + s * d[0] - p[0], a[1] + s * d[1] - p[1]);
}

static double side(const double a[2], const double b[2], const double p[2])
{
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
}

double sp_toolpath_distance(const double a[2], const double b[2], const double c[2],
                            const double d[2])
{
    double s;
    if (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0) return 0;
    return fmin(fmin(sp_toolpath_foot(a, c, d, &s), sp_toolpath_foot(b, c, d, &s)),
                fmin(sp_toolpath_foot(c, a, b, &s), sp_toolpath_foot(d, a, b, &s)));
}

static int square_at(const path_grid *g, const double p[2], int shift_x, int shift_y)
{
    int place[2];
    const int shift[2] = {shift_x, shift_y};
    for (int k = 0; k < 2; k++) {
        place[k] = (int)floor((p[k] - g->low[k]) / g->cell) + shift[k];
        if (place[k] < 0 || place[k] >= g->across[k]) return -1;
    }
    return place[1] * g->across[0] + place[0];
}

static int steps_of(const path_grid *g, const double a[2], const double b[2])
{
    return 1 + (int)ceil(2 * hypot(b[0] - a[0], b[1] - a[1]) / g->cell);
}

static void point_at(const double a[2], const double b[2], double share, double p[2])
{
    for (int k = 0; k < 2; k++) p[k] = a[k] + share * (b[k] - a[k]);
}

/* Count the pieces of all squares, or enter them. */
static void enter(path_grid *g, int count_only)
{
    for (int i = 0; i < g->count; i++) {
        const double *a = g->end + (size_t)i * (size_t)g->stride, *b = a + 2;
        const int steps = steps_of(g, a, b);
        int last = -1;
        for (int k = 0; k <= steps; k++) {
            double p[2];
            point_at(a, b, (double)k / steps, p);
            const int square = square_at(g, p, 0, 0);
            if (square < 0 || square == last) continue;
            last = square;
            if (count_only)
                g->first[square + 1]++;
            else
                g->item[g->first[square]++] = i;
        }
    }
}

sp_status sp_toolpath_grid_make(sp_context *context, const double *end, int stride, int count,
                                double reach, path_grid *grid)
{
    double high[2] = {-INFINITY, -INFINITY};
    *grid = (path_grid){.count = count, .end = end, .stride = stride, .low = {INFINITY, INFINITY}};
    for (int i = 0; i < count; i++)
        for (int k = 0; k < 4; k++) {
            const double value = end[(size_t)i * (size_t)stride + (size_t)k];
            grid->low[k % 2] = fmin(grid->low[k % 2], value);
            high[k % 2] = fmax(high[k % 2], value);
        }
    if (!count) grid->low[0] = grid->low[1] = high[0] = high[1] = 0;
    grid->cell = fmax(2 * reach, fmax(high[0] - grid->low[0], high[1] - grid->low[1]) / ACROSS_MAX);
    if (!(grid->cell > 0)) grid->cell = 1;
    for (int k = 0; k < 2; k++) {
        grid->low[k] -= grid->cell;
        grid->across[k] = (int)ceil((high[k] - grid->low[k]) / grid->cell) + 2;
    }
    const size_t squares = (size_t)grid->across[0] * (size_t)grid->across[1];
    grid->first = sp_alloc(squares + 2, sizeof *grid->first);
    grid->seen = sp_alloc((size_t)count + 1, sizeof *grid->seen);
    grid->near = sp_alloc((size_t)count + 1, sizeof *grid->near);
    if (!grid->first || !grid->seen || !grid->near)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", count);
    enter(grid, 1);
    for (size_t s = 0; s < squares; s++) grid->first[s + 1] += grid->first[s];
    grid->item = sp_alloc((size_t)grid->first[squares] + 1, sizeof *grid->item);
    if (!grid->item) return sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", count);
    enter(grid, 0);
    /* Entering has moved the beginning of every list to its end. */
    memmove(grid->first + 1, grid->first, squares * sizeof *grid->first);
    grid->first[0] = 0;
    return SP_OK;
}

void sp_toolpath_grid_free(path_grid *grid)
{
    sp_free(grid->first);
    sp_free(grid->item);
    sp_free(grid->seen);
    sp_free(grid->near);
    *grid = (path_grid){0};
}

void sp_toolpath_grid_ask(path_grid *g, const double a[2], const double b[2])
{
    const int steps = steps_of(g, a, b);
    int last = -2;
    g->stamp++;
    g->near_count = 0;
    for (int k = 0; k <= steps; k++) {
        double p[2];
        point_at(a, b, (double)k / steps, p);
        const int middle = square_at(g, p, 0, 0);
        if (middle == last && middle >= 0) continue;
        last = middle;
        for (int y = -1; y <= 1; y++)
            for (int x = -1; x <= 1; x++) {
                const int square = square_at(g, p, x, y);
                for (int i = square < 0 ? 0 : g->first[square];
                     square >= 0 && i < g->first[square + 1]; i++) {
                    const int item = g->item[i];
                    if (g->seen[item] == g->stamp) continue;
                    g->seen[item] = g->stamp;
                    g->near[g->near_count++] = item;
                }
            }
    }
}
