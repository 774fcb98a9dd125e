/* Find pairs of close points, see near.h. Points are sorted by the number of their cell; the
 * neighbours of a cell are then ranges that move along with it. */
#include "graph/near.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "base/poll.h"

enum { BITS = 21, CELLS_MAX = (1 << BITS) - 4 }; /* along each axis */
static const double compared_max = 2e9;
static const double rounded_up = 1 + 1e-9; /* factor, so that rounding leaves nothing out */

typedef struct entry {
    uint64_t cell;
    int joint;
} entry;

/* Rows of cells after the cell's own one, from `offset` - 1 to `offset` + 1. */
enum { ROWS = 4 };
static const int64_t row_offset[ROWS] = {
    INT64_C(1) << BITS, (INT64_C(1) << 2 * BITS) - (INT64_C(1) << BITS), INT64_C(1) << 2 * BITS,
    (INT64_C(1) << 2 * BITS) + (INT64_C(1) << BITS)};

sp_status sp_network_too_many(sp_context *context, double count, const char *what, double most)
{
    return sp_fail(context, SP_BAD_NETWORK, "network: received %.0f %s; valid: up to %.0f", count,
                   what, most);
}

sp_status sp_network_compare(sp_context *context, double *compared, double more)
{
    *compared += more;
    if (*compared <= compared_max) return SP_OK;
    return sp_network_too_many(context, *compared, "pairs of lines and joints that may meet",
                               compared_max);
}

static int compare_entries(const void *left, const void *right)
{
    const entry *a = left, *b = right;
    if (a->cell != b->cell) return a->cell < b->cell ? -1 : 1;
    return (a->joint > b->joint) - (a->joint < b->joint);
}

/* Cells are as large as the reach, but there are no more than can be numbered. Numbers begin at 1,
 * so that no cell lies to the left of the first. */
static void number_cells(const sp_near_point *point, int count, double reach, entry *list)
{
    double low[3] = {INFINITY, INFINITY, INFINITY}, high[3] = {-INFINITY, -INFINITY, -INFINITY};
    double size = reach * rounded_up;
    for (int i = 0; i < count; i++)
        for (int k = 0; k < 3; k++) {
            low[k] = fmin(low[k], point[i].at[k]);
            high[k] = fmax(high[k], point[i].at[k]);
        }
    for (int k = 0; k < 3; k++) size = fmax(size, (high[k] - low[k]) / CELLS_MAX * rounded_up);
    for (int i = 0; i < count; i++) {
        uint64_t cell = 0;
        for (int k = 2; k >= 0; k--)
            cell = cell << BITS | (1 + (uint64_t)((point[i].at[k] - low[k]) / size));
        list[i] = (entry){cell, point[i].joint};
    }
    qsort(list, (size_t)count, sizeof *list, compare_entries);
}

/* Visit each pair of points in neighbouring cells once or, without `visit`, only count the pairs.
 */
static sp_status walk(sp_context *context, const entry *list, int count,
                      void (*visit)(void *user, int a, int b), void *user, double *pairs)
{
    int from[ROWS] = {0}, to[ROWS] = {0}, end = 0;
    sp_poll poll = {.context = context, .doing = "joining what nearly meets"};
    *pairs = 0;
    for (int i = 0; i < count; i++) {
        const uint64_t cell = list[i].cell;
        const double before = *pairs;
        while (end < count && list[end].cell <= cell + 1) end++;
        *pairs += end - i - 1;
        for (int j = i + 1; visit && j < end; j++) visit(user, list[i].joint, list[j].joint);
        for (int r = 0; r < ROWS; r++) {
            const uint64_t middle = cell + (uint64_t)row_offset[r];
            while (from[r] < count && list[from[r]].cell < middle - 1) from[r]++;
            while (to[r] < count && list[to[r]].cell <= middle + 1) to[r]++;
            *pairs += to[r] - from[r];
            for (int j = from[r]; visit && j < to[r]; j++)
                visit(user, list[i].joint, list[j].joint);
        }
        const sp_status status = sp_poll_after(&poll, 1 + (visit ? *pairs - before : 0));
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

sp_status sp_near_each(sp_context *context, const sp_near_point *point, int count, double reach,
                       double *compared, void (*visit)(void *user, int a, int b), void *user)
{
    if (count < 2 || !(reach > 0)) return SP_OK;
    entry *list = sp_alloc((size_t)count, sizeof *list);
    if (!list) return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", count);
    number_cells(point, count, reach, list);
    double pairs;
    sp_status status = walk(context, list, count, NULL, NULL, &pairs);
    if (status == SP_OK) status = sp_network_compare(context, compared, pairs);
    if (status == SP_OK) status = walk(context, list, count, visit, user, &pairs);
    sp_free(list);
    return status;
}
