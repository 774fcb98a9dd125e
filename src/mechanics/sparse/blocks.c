/* This file finds the block pattern of the Hessian. Two nodes share a block when an element or a
 * contact candidate joins them. */
#include <string.h>

#include "base/alloc.h"
#include "sparse/blocks.h"

sp_status sp_blocks_create(sp_context *context, const sp_model *model, sp_blocks *blocks)
{
    memset(blocks, 0, sizeof *blocks);
    blocks->node_count = model->node_count;
    blocks->side = model->unknowns;
    blocks->start = sp_alloc((size_t)model->node_count + 1, sizeof(int));
    blocks->matrix_start = sp_alloc((size_t)model->unknown_count + 1, sizeof(int));
    const int longer =
        model->unknown_count > model->node_count ? model->unknown_count : model->node_count;
    blocks->scratch = sp_alloc((size_t)longer + 1, sizeof(int));
    if (blocks->start && blocks->matrix_start && blocks->scratch) return SP_OK;
    sp_blocks_free(blocks);
    return sp_fail(context, SP_NO_MEMORY, "no memory for the pattern of %d nodes",
                   model->node_count);
}

static size_t values_of(const sp_blocks *blocks)
{
    return (size_t)(blocks->side * blocks->side) * (size_t)blocks->block_capacity;
}

static void free_values(sp_blocks *blocks)
{
    sp_free_large(blocks->value, values_of(blocks), sizeof(double));
    blocks->value = NULL;
    blocks->block_capacity = 0;
}

void sp_blocks_free(sp_blocks *blocks)
{
    sp_free(blocks->start);
    sp_free(blocks->column);
    free_values(blocks);
    sp_free(blocks->matrix_start);
    sp_blocks_drop_matrix(blocks);
    sp_free(blocks->scratch);
    memset(blocks, 0, sizeof *blocks);
}

static sp_status no_memory(sp_context *context, int count)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for %d blocks of the stiffness", count);
}

/* Make room for the values of the blocks, and a little more, because contacts add some blocks with
 * every pattern. The old values are lost. */
static sp_status grow(sp_context *context, sp_blocks *blocks)
{
    const int count = blocks->block_count, capacity = count + count / 16;
    if (count <= blocks->block_capacity) return SP_OK;
    free_values(blocks);
    blocks->block_capacity = capacity;
    blocks->value = sp_alloc_large(values_of(blocks), sizeof(double));
    if (blocks->value) return SP_OK;
    blocks->block_capacity = 0;
    return no_memory(context, count);
}

/* Return entry (r, c) of block (i, j), r and c being unknowns of the lower triangle; 0 when it is
 * not stored. */
static int lower_entry(const sp_model *model, int i, int j, int r, int c, int *row, int *column)
{
    const int a = model->unknown[model->unknowns * i + r],
              b = model->unknown[model->unknowns * j + c];
    if (a < 0 || b < 0) return 0;
    if (i == j && a < b) return 0;
    *row = a > b ? a : b;
    *column = a > b ? b : a;
    return 1;
}

/* Count the entries of every column into matrix_start; returns their sum. */
static int count_entries(const sp_model *model, sp_blocks *blocks)
{
    int row, column, *start = blocks->matrix_start;
    const int n = model->unknown_count, side = blocks->side;
    memset(start, 0, ((size_t)n + 1) * sizeof(int));
    for (int i = 0; i < blocks->node_count; i++)
        for (int k = blocks->start[i]; k < blocks->start[i + 1]; k++)
            for (int e = 0; e < side * side; e++)
                if (lower_entry(model, i, blocks->column[k], e / side, e % side, &row, &column))
                    start[column + 1]++;
    for (int j = 0; j < n; j++) start[j + 1] += start[j];
    return start[n];
}

/* Fill the matrix in order of rows: blocks are visited by row i ascending, so the rows of a column
 * come sorted. */
static void lay_out(const sp_model *model, sp_blocks *blocks)
{
    int row, column, *next = blocks->scratch;
    const int side = blocks->side;
    memcpy(next, blocks->matrix_start, (size_t)model->unknown_count * sizeof(int));
    for (int i = 0; i < blocks->node_count; i++)
        for (int r = 0; r < side; r++)
            for (int k = blocks->start[i]; k < blocks->start[i + 1]; k++)
                for (int c = 0; c < side; c++) {
                    if (!lower_entry(model, i, blocks->column[k], r, c, &row, &column)) continue;
                    blocks->matrix_row[next[column]] = row;
                    blocks->matrix_source[next[column]++] = side * (side * k + r) + c;
                }
}

sp_status sp_blocks_matrix(sp_context *context, const sp_model *model, sp_blocks *blocks)
{
    const size_t entries = (size_t)count_entries(model, blocks);
    sp_blocks_drop_matrix(blocks);
    blocks->matrix_entries = entries;
    blocks->matrix_row = sp_alloc_large(entries, sizeof(int));
    blocks->matrix_source = sp_alloc_large(entries, sizeof(int));
    if (!blocks->matrix_row || !blocks->matrix_source)
        return no_memory(context, blocks->block_count);
    lay_out(model, blocks);
    return SP_OK;
}

void sp_blocks_drop_matrix(sp_blocks *blocks)
{
    sp_free_large(blocks->matrix_row, blocks->matrix_entries, sizeof(int));
    sp_free_large(blocks->matrix_source, blocks->matrix_entries, sizeof(int));
    blocks->matrix_row = blocks->matrix_source = NULL;
}

/* List the partners j of every row i, row after row in the order of the pairs, in `partner`.
 * scratch[i] gets the end of row i. */
static void sort_by_row(sp_blocks *blocks, size_t pair_count, const uint64_t *pair, int *partner)
{
    int *end = blocks->scratch;
    memset(end, 0, ((size_t)blocks->node_count + 1) * sizeof(int));
    for (size_t k = 0; k < pair_count; k++) end[(pair[k] >> 32) + 1]++;
    for (int i = 0; i < blocks->node_count; i++) end[i + 1] += end[i];
    for (size_t k = 0; k < pair_count; k++)
        partner[end[pair[k] >> 32]++] = (int)(pair[k] & 0xffffffffu);
}

/* Put j into the sorted list of `count` columns unless it is there; returns the new count. Rows are
 * short. */
static int insert(int *column, int count, int j)
{
    int at = count;
    while (at > 0 && column[at - 1] > j) at--;
    if (at > 0 && column[at - 1] == j) return count;
    memmove(column + at + 1, column + at, (size_t)(count - at) * sizeof *column);
    column[at] = j;
    return count + 1;
}

sp_status sp_blocks_pattern(sp_context *context, const sp_model *model, sp_blocks *blocks,
                            size_t pair_count, const uint64_t *pair)
{
    const size_t most = pair_count + (size_t)model->node_count;
    int *partner = sp_alloc(pair_count, sizeof(int)), *found = sp_alloc(most, sizeof(int));
    const int room = partner && found;
    int count = 0;
    if (room) sort_by_row(blocks, pair_count, pair, partner);
    for (int i = 0, k = 0; room && i < model->node_count; i++) {
        int *row = found + count, length = 0;
        blocks->start[i] = count;
        for (; k < blocks->scratch[i]; k++) length = insert(row, length, partner[k]);
        count += insert(row, length, i);
    }
    sp_free(partner);
    int *column = room ? sp_resize(found, (size_t)count, sizeof(int)) : NULL;
    if (!column) {
        sp_free(found);
        return no_memory(context, (int)most);
    }
    sp_free(blocks->column);
    blocks->column = column;
    blocks->start[model->node_count] = count;
    blocks->block_count = count;
    return grow(context, blocks);
}

int sp_blocks_find(const sp_blocks *blocks, int i, int j)
{
    if (i < j) {
        const int swap = i;
        i = j;
        j = swap;
    }
    int low = blocks->start[i], high = blocks->start[i + 1] - 1;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (blocks->column[middle] < j)
            low = middle + 1;
        else
            high = middle;
    }
    return low <= high && blocks->column[low] == j ? low : -1;
}

void sp_blocks_zero(sp_blocks *blocks)
{
    memset(blocks->value, 0,
           (size_t)(blocks->side * blocks->side) * (size_t)blocks->block_count * sizeof(double));
}

double sp_blocks_coupling(const sp_model *model, const sp_blocks *blocks, double *coupling)
{
    const int side = blocks->side;
    double own = 0;
    for (int i = 0; i < blocks->node_count; i++)
        for (int k = blocks->start[i]; k < blocks->start[i + 1]; k++) {
            const int j = blocks->column[k];
            const unsigned char *hold_i = model->hold + side * i, *hold_j = model->hold + side * j;
            if (hold_i[1] != SP_MOVED && hold_j[1] != SP_MOVED) continue;
            const double *value = blocks->value + side * side * k;
            for (int r = 0; r < side; r++)
                for (int c = 0; c < side; c++) {
                    const double v = value[side * r + c];
                    const int moved_i = hold_i[r] == SP_MOVED, moved_j = hold_j[c] == SP_MOVED;
                    const int free_i = model->unknown[side * i + r],
                              free_j = model->unknown[side * j + c];
                    if (moved_i && moved_j) own += i == j ? v : 2 * v;
                    if (moved_j && free_i >= 0) coupling[free_i] -= v;
                    if (i != j && moved_i && free_j >= 0) coupling[free_j] -= v;
                }
        }
    return own;
}
