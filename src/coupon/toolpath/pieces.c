/* Find which lines of a layer are connected, and whether two layers are alike. */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "toolpath/grid.h"
#include "toolpath/path_parts.h"

static const double alike_share = 0.01; /* of the squares that may differ */
static const double near_share = 0.2;   /* of a square, along x and y */
/* A second piece of at least this share of the largest is a twin of it. */
static const double twin_share = 0.5;
enum { SQUARES_MAX = 4000000 };

static int root_of(int *parent, int i)
{
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
}

static sp_status find_pieces(sp_context *context, double gap, const path_beads *beads,
                             const double *width_of, int *parent)
{
    path_grid grid;
    double widest = 0;
    for (int i = 0; i < beads->count; i++) {
        parent[i] = i;
        widest = fmax(widest, width_of[i]);
    }
    const int stride = (int)(sizeof(path_bead) / sizeof(double));
    sp_status status = sp_toolpath_grid_make(context, beads->count ? beads->bead[0].a : NULL,
                                             stride, beads->count, widest * (1 + gap), &grid);
    for (int i = 0; i < beads->count && status == SP_OK; i++) {
        const path_bead *a = &beads->bead[i];
        const double width = width_of[i];
        sp_toolpath_grid_ask(&grid, a->a, a->b);
        for (int k = 0; k < grid.near_count; k++) {
            const path_bead *b = &beads->bead[grid.near[k]];
            const int p = root_of(parent, i), q = root_of(parent, grid.near[k]);
            if (p == q) continue;
            const double reach = 0.5 * (width + width_of[grid.near[k]]) + gap * width;
            if (sp_toolpath_distance(a->a, a->b, b->a, b->b) <= reach)
                parent[p > q ? p : q] = p > q ? q : p;
        }
    }
    sp_toolpath_grid_free(&grid);
    return status;
}

/* Number the connected pieces of a layer in `parent`, connected also by way of the layers beside
 * it. */
static sp_status find_pieces_of(sp_context *context, const char *file, double gap,
                                const path_layer *const layer[3], int *parent)
{
    path_beads all = {0};
    const int own = layer[0]->beads.count;
    int count = 0, whole = 1;
    for (int k = 0; k < 3; k++) count += layer[k] ? layer[k]->beads.count : 0;
    double *width = sp_alloc((size_t)count + 1, sizeof *width);
    int *of_all = sp_alloc((size_t)count + 1, sizeof *of_all);
    sp_status status =
        width && of_all ? SP_OK : sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    for (int i = 0; i < own && status == SP_OK; i++)
        width[i] = sp_toolpath_width(layer[0]->beads.bead[i].area, layer[0]->height);
    if (status == SP_OK) status = find_pieces(context, gap, &layer[0]->beads, width, parent);
    for (int i = 0; i < own && status == SP_OK; i++) whole &= root_of(parent, i) == 0;
    if (status != SP_OK || whole) goto done;
    all.bead = sp_alloc((size_t)count, sizeof *all.bead);
    if (!all.bead) {
        status = sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
        goto done;
    }
    for (int k = 0; k < 3; k++)
        for (int i = 0; layer[k] && i < layer[k]->beads.count; i++) {
            const path_bead *bead = &layer[k]->beads.bead[i];
            width[all.count] = sp_toolpath_width(bead->area, layer[k]->height);
            all.bead[all.count++] = *bead;
        }
    status = find_pieces(context, gap, &all, width, of_all);
    /* The layer's own beads come first, and the smallest number stands for the piece. */
    for (int i = 0; i < own && status == SP_OK; i++) parent[i] = root_of(of_all, i);
done:
    sp_free(width);
    sp_free(of_all);
    sp_free(all.bead);
    return status;
}

sp_status sp_toolpath_keep_piece(sp_context *context, const char *file, const path_layer *below,
                                 const path_layer *above, double gap, int has_box,
                                 path_layer *layer, path_left *left)
{
    const path_layer *const beside[3] = {layer, below, above};
    path_beads *beads = &layer->beads;
    int *parent = sp_alloc((size_t)beads->count + 1, sizeof *parent);
    double *length = sp_alloc((size_t)beads->count + 1, sizeof *length);
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
    int largest = 0, second = -1, kept = 0;
    sp_status status =
        parent && length ? SP_OK : sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    if (status == SP_OK) status = find_pieces_of(context, file, gap, beside, parent);
    if (status != SP_OK) goto done;
    for (int i = 0; i < beads->count; i++)
        length[root_of(parent, i)] += sp_toolpath_length(&beads->bead[i]);
    for (int i = 0; i < beads->count; i++)
        if (length[i] > length[largest]) largest = i;
    for (int i = 0; i < beads->count; i++) {
        if (i == largest || parent[i] != i) continue;
        left->pieces++;
        if (second < 0 || length[i] > length[second]) second = i;
    }
    if (!has_box && second >= 0 && length[second] > twin_share * length[largest]) {
        status = sp_fail(
            context, SP_NO_READ,
            "%s: received %d pieces that do not touch, the two largest of %.4g and %.4g mm of "
            "lines in a layer; valid: one, or infill.path_box: [x, y, x, y] around one",
            file, left->pieces + 1, length[largest], length[second]);
        goto done;
    }
    for (int i = 0; i < beads->count; i++)
        for (int k = 0; k < 2 && parent[i] >= 0 && root_of(parent, i) == largest; k++) {
            low[k] = fmin(low[k], fmin(beads->bead[i].a[k], beads->bead[i].b[k]));
            high[k] = fmax(high[k], fmax(beads->bead[i].a[k], beads->bead[i].b[k]));
        }
    for (int i = 0; i < beads->count; i++) {
        const path_bead *b = &beads->bead[i];
        if (root_of(parent, i) == largest) {
            beads->bead[kept++] = *b;
            continue;
        }
        left->volume_length += b->area * sp_toolpath_length(b);
        if (b->a[0] >= low[0] && b->a[0] <= high[0] && b->a[1] >= low[1] && b->a[1] <= high[1])
            left->length += sp_toolpath_length(b);
    }
    beads->count = kept;
done:
    sp_free(parent);
    sp_free(length);
    return status;
}

/* ---- layers that are alike ----------------------------------------------- */

static int compare_keys(const void *a, const void *b)
{
    const int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

static int64_t key_at(double x, double y, double cell)
{
    return (int64_t)floor(y / cell) * ((int64_t)1 << 31) + (int64_t)floor(x / cell);
}

/* List, sorted, the squares that the lines of a layer pass through. NULL: no memory. */
static int64_t *squares_of(const path_beads *beads, double cell, int *count)
{
    double length = 0;
    for (int i = 0; i < beads->count; i++) length += sp_toolpath_length(&beads->bead[i]) + 2 * cell;
    const double step = fmax(0.5 * cell, length / SQUARES_MAX);
    int64_t *key = sp_alloc((size_t)(length / step) + 3 * (size_t)beads->count + 16, sizeof *key);
    int n = 0, kept = 0;
    if (!key) return NULL;
    for (int i = 0; i < beads->count; i++) {
        const path_bead *b = &beads->bead[i];
        const int steps = 1 + (int)(sp_toolpath_length(b) / step);
        for (int k = 0; k <= steps; k++) {
            const double s = (double)k / steps;
            key[n++] =
                key_at(b->a[0] + s * (b->b[0] - b->a[0]), b->a[1] + s * (b->b[1] - b->a[1]), cell);
        }
    }
    if (n) qsort(key, (size_t)n, sizeof *key, compare_keys);
    for (int i = 0; i < n; i++)
        if (!kept || key[i] != key[kept - 1]) key[kept++] = key[i];
    *count = kept;
    return key;
}

/* Count the squares of one layer that have no square of the other layer in or beside them. */
static int lonely(const int64_t *a, int a_count, const int64_t *b, int b_count)
{
    int alone = 0;
    for (int i = 0; i < a_count; i++) {
        int met = 0;
        for (int y = -1; y <= 1 && !met; y++)
            for (int x = -1; x <= 1 && !met; x++) {
                const int64_t wanted = a[i] + y * ((int64_t)1 << 31) + x;
                met = bsearch(&wanted, b, (size_t)b_count, sizeof *b, compare_keys) != NULL;
            }
        alone += !met;
    }
    return alone;
}

/* Return 1 when both layers have the same lines in the same order, so close that every square of
 * one has a square of the other beside it. Programs that make paths lay most layers so. */
static int lie_on_each_other(const path_beads *a, const path_beads *b, double cell)
{
    const double near = near_share * cell;
    if (a->count != b->count) return 0;
    for (int i = 0; i < a->count; i++)
        for (int k = 0; k < 2; k++)
            if (!(fabs(a->bead[i].a[k] - b->bead[i].a[k]) <= near &&
                  fabs(a->bead[i].b[k] - b->bead[i].b[k]) <= near))
                return 0;
    return 1;
}

int sp_toolpath_alike(const path_beads *a, const path_beads *b, double cell)
{
    if (lie_on_each_other(a, b, cell)) return 1;
    int a_count = 0, b_count = 0, alike = -1;
    int64_t *x = squares_of(a, cell, &a_count), *y = squares_of(b, cell, &b_count);
    if (x && y)
        alike = lonely(x, a_count, y, b_count) <= alike_share * a_count &&
                lonely(y, b_count, x, a_count) <= alike_share * b_count;
    sp_free(x);
    sp_free(y);
    return alike;
}
