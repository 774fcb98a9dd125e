/* This file finds the numbers of the fronts: it assembles them, eliminates their columns, adds what
 * is left to their parents, and solves. K = L D L' with a unit lower L; a panel keeps L below the
 * diagonal of its own columns. */
#include <math.h>
#include <string.h>

#include <omp.h>

#include "sparse/fronts.h"

enum {
    BLOCK = 64,  /* columns that are eliminated before the rest of a front is changed */
    CHUNK = 128, /* rows that are changed one after another, few enough for the cache */
    STRIDE = BLOCK + 8
};
/* Fronts with at least this many rows are shared by the threads. */
static const int parallel_rows = 384;

/* This is the diagonal part of a block of columns, with what the rows below it are divided by, four
 * columns at a time. */
typedef struct block {
    int columns, negative, failed;
    double w[BLOCK / 4][4 * BLOCK]; /* D times the four rows of L, of the columns before */
    double t[BLOCK / 4][16];        /* unit lower */
    double pivot[BLOCK + 4], inverse[BLOCK + 4];
} block;

static int at_most(int a, int b)
{
    return a < b ? a : b;
}

/* Set w (4 per column) to d times `width` rows of L from l on, over `depth` columns. */
static void pack(int depth, int width, const double *l, size_t stride, const double *d, double *w)
{
    if (width == 4) {
        for (int k = 0; k < depth; k++, l += stride, w += 4)
            for (int i = 0; i < 4; i++) w[i] = d[k] * l[i];
        return;
    }
    for (int k = 0; k < depth; k++, l += stride, w += 4) {
        for (int i = 0; i < width; i++) w[i] = d[k] * l[i];
        for (int i = width; i < 4; i++) w[i] = 0;
    }
}

/* Find the pivots of `width` columns of a block, from column 4 g on; `a` is where the first of them
 * stands. */
static void eliminate_four(block *b, int g, int width, const double *a, size_t stride)
{
    const int j = 4 * g;
    double *t = b->t[g];
    for (int c = 0; c < width; c++) {
        double sum[4]; /* of column c, times D */
        for (int r = c; r < width; r++) {
            sum[r] = a[stride * (size_t)c + (size_t)r];
            for (int k = 0; k < c; k++) sum[r] -= t[4 * r + k] * b->pivot[j + k] * t[4 * c + k];
        }
        const double d = sum[c];
        if (d == 0 || !isfinite(d)) b->failed = 1;
        b->negative += d < 0;
        b->pivot[j + c] = d;
        b->inverse[j + c] = 1 / d;
        for (int r = c + 1; r < width; r++) t[4 * r + c] = sum[r] * b->inverse[j + c];
    }
}

/* Find L and D of a block whose diagonal part begins at l; `rows` counts the rows below that part
 * as well. */
static void eliminate_block(const sp_lanes *lanes, block *b, int rows, double *l, size_t stride)
{
    b->negative = b->failed = 0;
    for (int g = 0; 4 * g < b->columns; g++) {
        const int j = 4 * g, width = at_most(4, b->columns - j);
        double *column = l + stride * (size_t)j;
        pack(j, width, l + j, stride, b->pivot, b->w[g]);
        if (j > 0)
            lanes->subtract(rows - j, j, width, l + j, stride, b->w[g], 0, column + j, stride);
        eliminate_four(b, g, width, column + j, stride);
        if (b->failed) return;
        lanes->divide(rows - j - width, width, b->t[g], b->inverse + j, column + j + width, stride);
        for (int c = 0; c < width; c++)
            for (int r = c + 1; r < width; r++)
                column[stride * (size_t)c + (size_t)(j + r)] = b->t[g][4 * r + c];
    }
}

/* Find the rows of L below the diagonal block. */
static void divide_rows(const sp_lanes *lanes, const block *b, int rows, double *l, size_t stride)
{
    for (int g = 0; 4 * g < b->columns; g++) {
        const int j = 4 * g, width = at_most(4, b->columns - j);
        double *column = l + stride * (size_t)j;
        lanes->subtract(rows, j, width, l, stride, b->w[g], 0, column, stride);
        lanes->divide(rows, width, b->t[g], b->inverse + j, column, stride);
    }
}

/* Subtract L D L' of a block from the columns `from` to `to` of what follows, in rows from the
 * first of them on. `l` is row 0 of the columns of the block. `c` is row 0 of what is changed,
 * whose column 0 is `from`. */
static void subtract_block(const sp_lanes *lanes, const block *b, const double *l, size_t stride,
                           int from, int to, int rows, int fresh, double *c, size_t stride_c)
{
    double w[BLOCK / 4][4 * BLOCK];
    for (int j = from; j < to; j += 4)
        pack(b->columns, at_most(4, to - j), l + j, stride, b->pivot, w[(j - from) / 4]);
    for (int chunk = from; chunk < rows; chunk += CHUNK) {
        const int end = at_most(chunk + CHUNK, rows);
        for (int j = from; j < to; j += 4) {
            if (j >= end) break;
            /* Whole blocks of 8 rows are changed up to the next chunk; at its top a few entries lie
             * above the diagonal, and nobody reads them. */
            const int ahead = j > chunk ? (j - chunk) / 8 * 8 : 0;
            const int first = end < rows || j <= chunk ? chunk + ahead : j;
            lanes->subtract(end - first, b->columns, at_most(4, to - j), l + first, stride,
                            w[(j - from) / 4], fresh, c + stride_c * (size_t)(j - from) + first,
                            stride_c);
        }
    }
}

/* Subtract a block from a part of a front: from columns of its panel, or of what is left of it. */
static void subtract_part(sp_fronts *fronts, const sp_front *f, const block *b, int begin, int part)
{
    const int panel_parts = (f->columns - begin - b->columns + BLOCK - 1) / BLOCK;
    const size_t stride = (size_t)f->stride;
    double *panel = fronts->value + f->panel, *l = panel + stride * (size_t)begin;
    if (part < panel_parts) {
        const int from = begin + b->columns + BLOCK * part, to = at_most(from + BLOCK, f->columns);
        subtract_block(fronts->lanes, b, l, stride, from, to, f->rows, 0,
                       panel + stride * (size_t)from, stride);
        return;
    }
    const int left = f->rows - f->columns, from = BLOCK * (part - panel_parts);
    const size_t update_stride = (size_t)f->update_stride;
    subtract_block(fronts->lanes, b, l + f->columns, stride, from, at_most(from + BLOCK, left),
                   left, begin == 0, fronts->update + f->update + update_stride * (size_t)from,
                   update_stride);
}

static int parts_of(const sp_front *f, const block *b, int begin)
{
    return (f->columns - begin - b->columns + BLOCK - 1) / BLOCK +
           (f->rows - f->columns + BLOCK - 1) / BLOCK;
}

/* Eliminate a block on several threads: first its diagonal part, then in parts the rows below it,
 * then in parts what follows. */
static void eliminate_shared(sp_fronts *fronts, const sp_front *f, int begin, block *b, int threads)
{
    const size_t stride = (size_t)f->stride, size = (size_t)b->columns * sizeof(double);
    double *l = fronts->value + f->panel + stride * (size_t)begin, diagonal[STRIDE * BLOCK];
    for (int c = 0; c < b->columns; c++) {
        memcpy(diagonal + STRIDE * c, l + stride * (size_t)c + begin, size);
        memset(diagonal + STRIDE * c + b->columns, 0, 8 * sizeof(double));
    }
    eliminate_block(fronts->lanes, b, b->columns, diagonal, STRIDE);
    if (b->failed) return;
    for (int c = 0; c < b->columns; c++)
        memcpy(l + stride * (size_t)c + begin, diagonal + STRIDE * c, size);
    const int below = begin + b->columns, parts = parts_of(f, b, begin);
#pragma omp parallel num_threads(threads)
    {
#pragma omp for schedule(static)
        for (int row = below; row < f->rows; row += CHUNK)
            divide_rows(fronts->lanes, b, at_most(CHUNK, f->rows - row), l + row, stride);
#pragma omp for schedule(dynamic)
        for (int part = 0; part < parts; part++) subtract_part(fronts, f, b, begin, part);
    }
}

/* Eliminate the columns of an assembled front; what is left begins as minus L D L'. Returns the
 * number of negative pivots, -1 when it failed. */
static int eliminate(sp_fronts *fronts, const sp_front *f, int threads)
{
    const size_t stride = (size_t)f->stride;
    int negative = 0;
    for (int begin = 0; begin < f->columns; begin += BLOCK) {
        block b;
        b.columns = at_most(BLOCK, f->columns - begin);
        if (threads > 1 && f->rows >= parallel_rows) {
            eliminate_shared(fronts, f, begin, &b, threads);
        } else {
            eliminate_block(fronts->lanes, &b, f->rows - begin,
                            fronts->value + f->panel + stride * (size_t)begin + begin, stride);
            const int parts = b.failed ? 0 : parts_of(f, &b, begin);
            for (int part = 0; part < parts; part++) subtract_part(fronts, f, &b, begin, part);
        }
        if (b.failed) return -1;
        negative += b.negative;
        for (int i = 0; i < b.columns; i++) fronts->pivot[f->first + begin + i] = b.pivot[i];
    }
    return negative;
}

/* These are the entries that are factored; see sp_fronts_factor. */
typedef struct entries {
    const double *value, *shift;
} entries;

/* Nobody reads what stands above the diagonal, but the loops change blocks of 8 rows from there on.
 * One call is faster for a panel of few columns. */
static void clear_panel(const sp_front *f, double *panel)
{
    const size_t stride = (size_t)f->stride;
    if (f->columns < BLOCK) {
        memset(panel, 0, stride * (size_t)f->columns * sizeof *panel);
        return;
    }
    for (size_t c = 0; c < (size_t)f->columns; c++)
        memset(panel + stride * c + c / 8 * 8, 0, (stride - c / 8 * 8) * sizeof *panel);
}

static void add_entries(sp_fronts *fronts, const sp_front *f, const entries *matrix)
{
    double *panel = fronts->value + f->panel;
    clear_panel(f, panel);
    for (size_t k = f->run; k < f->run + f->runs; k++) {
        const sp_entry_run *run = &fronts->run[k];
        const double *restrict from = matrix->value + run->source;
        double *restrict to = panel + run->place;
        for (int i = 0; i < run->count; i++, from += run->source_step, to += run->place_step)
            *to = *from;
    }
    for (int c = 0; matrix->shift && c < f->columns; c++)
        panel[((size_t)f->stride + 1) * (size_t)c] += matrix->shift[f->first + c];
}

/* Add what is left of a child to its parent: to columns of its panel, or to what is left of it. */
static void add_child(sp_fronts *fronts, const sp_front *f, const sp_front *child, int to_panel)
{
    const int left = child->rows - child->columns;
    const size_t first = child->row + (size_t)child->columns;
    const int *target = fronts->target + first, *run = fronts->target_run + first;
    const double *from = fronts->update + child->update;
    double *panel = fronts->value + f->panel, *update = fronts->update + f->update;
    for (int j = 0; j < left; j++) {
        const int column = target[j];
        if ((column < f->columns) != to_panel) continue;
        const double *source = from + ((size_t)child->update_stride + 1) * (size_t)j;
        double *to = to_panel ? panel + (size_t)f->stride * (size_t)column
                              : update + (size_t)f->update_stride * (size_t)(column - f->columns) -
                                    f->columns;
        fronts->lanes->scatter(left - j, target + j, run + j, source, to);
    }
}

static int factor_front(sp_fronts *fronts, const sp_front *f, const entries *matrix, int threads)
{
    add_entries(fronts, f, matrix);
    for (int c = f->child; c >= 0; c = fronts->front[c].next)
        add_child(fronts, f, &fronts->front[c], 1);
    const int negative = eliminate(fronts, f, threads);
    if (negative < 0) return negative;
    for (int c = f->child; c >= 0; c = fronts->front[c].next)
        add_child(fronts, f, &fronts->front[c], 0);
    return negative;
}

/* Factor one run of fronts. Returns the number of negative pivots, or -1. */
static int factor_run(sp_fronts *fronts, int from, int to, const entries *matrix, int positive)
{
    int sum = 0;
    for (int i = from; i < to; i++) {
        const int negative = factor_front(fronts, &fronts->front[i], matrix, 1);
        if (negative < 0 || (positive && negative > 0)) return -1;
        sum += negative;
    }
    return sum;
}

/* Factor subtrees on threads of their own, then the fronts above them. */
static int factor_groups(sp_fronts *fronts, const entries *matrix, int positive)
{
    int sum = 0, failed = 0;
#pragma omp parallel for schedule(dynamic, 1) num_threads(fronts->threads)                         \
    reduction(+ : sum) reduction(| : failed)
    for (int g = 0; g < fronts->group_count; g++) {
        const int negative = factor_run(fronts, fronts->group_first[2 * g],
                                        fronts->group_first[2 * g + 1], matrix, positive);
        if (negative < 0)
            failed |= 1;
        else
            sum += negative;
    }
    for (int i = 0; !failed && i < fronts->count; i++) {
        if (fronts->front[i].group >= 0) continue;
        const int negative = factor_front(fronts, &fronts->front[i], matrix, fronts->threads);
        failed = negative < 0 || (positive && negative > 0);
        sum += negative;
    }
    return failed ? -1 : sum;
}

int sp_fronts_factor(sp_fronts *fronts, const double *value, const double *shift, int positive)
{
    const entries matrix = {value, shift};
    if (fronts->threads > 1 && fronts->group_count > 0)
        return factor_groups(fronts, &matrix, positive);
    return factor_run(fronts, 0, fronts->count, &matrix, positive);
}

/* --- solving --- */

/* Find what the columns of a front take from the rows that are left, in `rest`. */
static void solve_columns(const sp_fronts *fronts, const sp_front *f, double *x, double *rest)
{
    const int left = f->rows - f->columns;
    const double *l = fronts->value + f->panel;
    const size_t stride = (size_t)f->stride;
    double *own = x + f->first;
    for (int k = 0; k < f->columns; k++)
        for (int r = k + 1; r < f->columns; r++)
            own[r] -= l[stride * (size_t)k + (size_t)r] * own[k];
    memset(rest, 0, (size_t)left * sizeof *rest);
    for (int begin = 0; begin < f->columns; begin += BLOCK) {
        double w[4 * BLOCK];
        const int depth = at_most(BLOCK, f->columns - begin);
        for (int k = 0; k < depth; k++) w[4 * k] = own[begin + k];
        fronts->lanes->subtract(left, depth, 1, l + stride * (size_t)begin + f->columns, stride, w,
                                begin == 0, rest, 0);
    }
}

static void solve_down(const sp_fronts *fronts, const sp_front *f, double *x)
{
    const int left = f->rows - f->columns, *row = fronts->row + f->row + f->columns;
    solve_columns(fronts, f, x, fronts->work);
    for (int i = 0; i < left; i++) x[row[i]] += fronts->work[i];
}

/* Set x (columns) to L^-T x for the diagonal part of a front. It takes four columns at a time,
 * because the sum of one column is a chain in which every product waits for the one before. */
static void finish_up(int columns, const double *l, size_t stride, double *x)
{
    for (int end = columns; end > 0; end -= 4) {
        const int begin = end > 4 ? end - 4 : 0;
        if (end - begin == 4) {
            const double *one = l + stride * (size_t)begin, *two = one + stride,
                         *three = two + stride, *four = three + stride;
            double sum[4] = {0, 0, 0, 0};
            for (int r = end; r < columns; r++) {
                sum[0] += one[r] * x[r];
                sum[1] += two[r] * x[r];
                sum[2] += three[r] * x[r];
                sum[3] += four[r] * x[r];
            }
            for (int k = 0; k < 4; k++) x[begin + k] -= sum[k];
        } else {
            for (int k = begin; k < end; k++)
                for (int r = end; r < columns; r++)
                    x[k] -= l[stride * (size_t)k + (size_t)r] * x[r];
        }
        for (int k = end - 1; k >= begin; k--)
            for (int r = k + 1; r < end; r++) x[k] -= l[stride * (size_t)k + (size_t)r] * x[r];
    }
}

static void solve_up(const sp_fronts *fronts, const sp_front *f, double *x, double *rest)
{
    const int left = f->rows - f->columns, *row = fronts->row + f->row + f->columns;
    const double *l = fronts->value + f->panel;
    const size_t stride = (size_t)f->stride;
    double *own = x + f->first;
    for (int i = 0; i < left; i++) rest[i] = x[row[i]];
    memset(rest + left, 0, 8 * sizeof *rest);
    for (int k = 0; k < f->columns; k += 4) {
        double sum[4];
        const int width = at_most(4, f->columns - k);
        fronts->lanes->dot(left, width, l + stride * (size_t)k + f->columns, stride, rest, sum);
        for (int i = 0; i < width; i++)
            own[k + i] = own[k + i] / fronts->pivot[f->first + k + i] - sum[i];
    }
    finish_up(f->columns, l, stride, own);
}

/* Return the first row of a front in a group, counted from its columns on, that lies above the
 * group. */
static int first_above(const sp_fronts *fronts, const sp_front *f)
{
    const sp_front *top = &fronts->front[fronts->group_first[2 * f->group + 1] - 1];
    const int left = f->rows - f->columns, *row = fronts->row + f->row + f->columns;
    int i = 0;
    while (i < left && row[i] < top->first + top->columns) i++;
    return i;
}

/* Solve down one group. What its fronts take from rows above it is kept in `above`, to be taken
 * from there in the order of the fronts. */
static void solve_group_down(const sp_fronts *fronts, int group, double *x, double *rest)
{
    for (int g = fronts->group_first[2 * group]; g < fronts->group_first[2 * group + 1]; g++) {
        const sp_front *f = &fronts->front[g];
        const size_t at = f->row + (size_t)f->columns;
        const int left = f->rows - f->columns, above = first_above(fronts, f);
        solve_columns(fronts, f, x, rest);
        for (int i = 0; i < above; i++) x[fronts->row[at + (size_t)i]] += rest[i];
        for (int i = above; i < left; i++) fronts->above[at + (size_t)i] = rest[i];
    }
}

static void take_above(const sp_fronts *fronts, const sp_front *f, double *x)
{
    const size_t at = f->row + (size_t)f->columns;
    for (int i = first_above(fronts, f); i < f->rows - f->columns; i++)
        x[fronts->row[at + (size_t)i]] += fronts->above[at + (size_t)i];
}

/* Return the work space of this thread. */
static double *own_work(const sp_fronts *fronts)
{
    return fronts->work + (fronts->most_rows + 8) * (size_t)omp_get_thread_num();
}

/* Solve subtrees on threads of their own. Every sum is made in the order of the fronts. */
static void solve_groups(const sp_fronts *fronts, double *x)
{
#pragma omp parallel for schedule(dynamic, 1) num_threads(fronts->threads)
    for (int g = 0; g < fronts->group_count; g++) solve_group_down(fronts, g, x, own_work(fronts));
    for (int i = 0; i < fronts->count; i++)
        if (fronts->front[i].group >= 0)
            take_above(fronts, &fronts->front[i], x);
        else
            solve_down(fronts, &fronts->front[i], x);
    for (int i = fronts->count - 1; i >= 0; i--)
        if (fronts->front[i].group < 0) solve_up(fronts, &fronts->front[i], x, fronts->work);
#pragma omp parallel for schedule(dynamic, 1) num_threads(fronts->threads)
    for (int g = 0; g < fronts->group_count; g++)
        for (int i = fronts->group_first[2 * g + 1] - 1; i >= fronts->group_first[2 * g]; i--)
            solve_up(fronts, &fronts->front[i], x, own_work(fronts));
}

void sp_fronts_solve(const sp_fronts *fronts, double *x)
{
    if (fronts->above) {
        solve_groups(fronts, x);
        return;
    }
    for (int i = 0; i < fronts->count; i++) solve_down(fronts, &fronts->front[i], x);
    for (int i = fronts->count - 1; i >= 0; i--)
        solve_up(fronts, &fronts->front[i], x, fronts->work);
}
