/* The Hessian is kept as square blocks by node pair, 3 x 3 in the plane and 6 x 6 in space, and
 * copied from there into the sparse matrix of the free unknowns.
 *
 * Elements and contacts add into the blocks of node pairs (i >= j, row-major). The matrix
 * (sparse.h) takes the free part, sp_blocks_coupling the coupling with the moved platen. */
#ifndef SP_BLOCKS_H
#define SP_BLOCKS_H

#include <stdint.h>

#include <strutpress/context.h>

#include "model/model.h"

typedef struct sp_blocks {
    int node_count;
    int side;      /* rows of a block: unknowns of a node */
    int *start;    /* node_count + 1: blocks of row i */
    int *column;   /* block_count: j <= i, sorted within a row, the diagonal last */
    double *value; /* side x side per block */
    int block_count, block_capacity;
    int *matrix_start; /* unknown_count + 1: columns of the lower triangle of the free unknowns */
    /* These are NULL except between sp_blocks_matrix and sp_blocks_drop_matrix. */
    size_t matrix_entries;
    int *matrix_row;    /* per entry, sorted within a column */
    int *matrix_source; /* per entry: where it stands in `value` */
    int *scratch;       /* unknown_count + 1, or node_count + 1 when that is more */
} sp_blocks;

sp_status sp_blocks_create(sp_context *context, const sp_model *model, sp_blocks *blocks);
void sp_blocks_free(sp_blocks *blocks);

/* Set the pattern from node pairs (2 per pair, in any order; repeats are allowed, and diagonals are
 * always there). */
sp_status sp_blocks_pattern(sp_context *context, const sp_model *model, sp_blocks *blocks,
                            size_t pair_count, const uint64_t *pair);

/* Lay out the matrix of the free unknowns for an analysis. The layout takes half as much memory as
 * the blocks, so it is dropped after the analysis. */
sp_status sp_blocks_matrix(sp_context *context, const sp_model *model, sp_blocks *blocks);
void sp_blocks_drop_matrix(sp_blocks *blocks);

static inline uint64_t sp_blocks_pair(int i, int j)
{
    return i >= j ? ((uint64_t)(unsigned)i << 32) | (unsigned)j
                  : ((uint64_t)(unsigned)j << 32) | (unsigned)i;
}

/* Return the index of the block of nodes i and j in either order, -1 when the pattern has none. */
int sp_blocks_find(const sp_blocks *blocks, int i, int j);

void sp_blocks_zero(sp_blocks *blocks);

/* Add d gradient / d u for platen travel u into coupling (unknown_count); moved unknowns go by -u.
 * Returns d2E/du2 of the moved unknowns among themselves. */
double sp_blocks_coupling(const sp_model *model, const sp_blocks *blocks, double *coupling);

#endif
