/* CHOLMOD behind sp_sparse (Chen, Davis, Hager & Rajamanickam 2008). */
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <cholmod.h>
#include <omp.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "sparse/blas_room.h"
#include "sparse/blas_threads.h"
#include "sparse/sparse.h"

/* Matrices of coupons are small: block columns are merged more freely than CHOLMOD does by default (always up to the
 * first width, then while the share of zeros is below), and used from fewer operations per entry of the factor on. */
static const size_t merge_columns[3] = {8, 32, 64};
static const double merge_zeros[3] = {0.9, 0.5, 0.05};
static const double block_switch = 30;

/* Networks in space fill in more than planar ones (which hold fewer entries per unknown): from this size on their factor is
 * cheaper with nested dissection (METIS; Karypis & Kumar 1998), whose order costs more to find. */
static const int dissect_unknowns = 20000;
static const double dissect_entries = 9;

static const double blas_buffers = 150e6; /* bytes, of OpenBLAS 0.3; less beside a small factor */

struct sp_sparse {
    cholmod_common common;
    cholmod_sparse
        *matrix; /* in the order of elimination, in the triangle the factorization reads */
    cholmod_factor *factor;
    cholmod_dense *right, *answer, *work_y, *work_e; /* reused by every solve */
    int *source;      /* per entry of matrix: where the caller keeps it */
    int *order;       /* per unknown in the order of elimination: the caller's */
    int *pivot;       /* per unknown in the order of elimination: entry of its diagonal */
    double *diagonal; /* unshifted diagonal, kept while a shift is on */
    sp_sparse_counts count;
    int by_nodes;
    double operations; /* of one factorization */
};

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

sp_status sp_sparse_create(sp_context *context, int count_pivots, int by_nodes, sp_sparse **out)
{
    *out = NULL;
    sp_sparse *sparse = sp_alloc(1, sizeof *sparse);
    if (!sparse || !cholmod_start(&sparse->common)) {
        sp_free(sparse);
        return sp_fail(context, SP_NO_MEMORY, "no memory for the sparse solver");
    }
    sparse->by_nodes = by_nodes;
    sp_blas_enter();
    cholmod_common *c = &sparse->common;
    c->supernodal = count_pivots ? CHOLMOD_SIMPLICIAL : CHOLMOD_AUTO;
    c->final_ll = 0;
    c->nmethods = 1;
    c->method[0].ordering = CHOLMOD_AMD;
    c->postorder = 1;
    c->print = 0;
    c->error_handler = NULL;
    c->quick_return_if_not_posdef = 1;
    for (int i = 0; i < 3; i++) c->nrelax[i] = merge_columns[i], c->zrelax[i] = merge_zeros[i];
    c->supernodal_switch = block_switch;
    *out = sparse;
    return SP_OK;
}

static void drop_matrix(sp_sparse *sparse)
{
    cholmod_common *c = &sparse->common;
    cholmod_free_sparse(&sparse->matrix, c);
    cholmod_free_factor(&sparse->factor, c);
    cholmod_free_dense(&sparse->right, c);
    cholmod_free_dense(&sparse->answer, c);
    cholmod_free_dense(&sparse->work_y, c);
    cholmod_free_dense(&sparse->work_e, c);
    sp_free(sparse->source);
    sp_free(sparse->order);
    sp_free(sparse->pivot);
    sp_free(sparse->diagonal);
    sparse->source = sparse->order = sparse->pivot = NULL;
    sparse->diagonal = NULL;
}

void sp_sparse_free(sp_sparse *sparse)
{
    if (!sparse) return;
    drop_matrix(sparse);
    cholmod_finish(&sparse->common);
    sp_blas_leave();
    sp_free(sparse);
}

/* The pattern with the number of each entry as its value; CHOLMOD carries them along when it permutes. */
static cholmod_sparse *numbered(cholmod_common *c, int n, const int *start, const int *row)
{
    const size_t size = (size_t)n, entries = (size_t)start[n];
    cholmod_sparse *matrix =
        cholmod_allocate_sparse(size, size, entries, 1, 1, -1, CHOLMOD_REAL, c);
    if (!matrix) return NULL;
    memcpy(matrix->p, start, (size + 1) * sizeof(int));
    memcpy(matrix->i, row, entries * sizeof(int));
    double *number = matrix->x;
    for (size_t k = 0; k < entries; k++) number[k] = (double)k;
    return matrix;
}

/* group[j]: number of the run of consecutive columns with the same rows that column j belongs to. Returns their number. */
static int find_groups(int n, const int *start, const int *row, int *group)
{
    int count = 0;
    for (int j = 0; j < n; j++) {
        const int size = start[j + 1] - start[j], before = j > 0 ? start[j] - start[j - 1] : 0;
        if (j == 0 || before != size + 1 ||
            memcmp(row + start[j], row + start[j - 1] + 1, (size_t)size * sizeof(int)) != 0)
            count++;
        group[j] = count - 1;
    }
    return count;
}

/* Pattern of the groups, from the first column of each; rows of a column repeat in runs. */
static cholmod_sparse *graph_of_groups(cholmod_common *c, int n, const int *start, const int *row,
                                       const int *group, int count)
{
    size_t entries = 0;
    for (int j = 0; j < n; j++)
        if (j == 0 || group[j] != group[j - 1]) entries += (size_t)(start[j + 1] - start[j]);
    cholmod_sparse *graph = cholmod_allocate_sparse((size_t)count, (size_t)count, entries, 1, 1, -1,
                                                    CHOLMOD_PATTERN, c);
    if (!graph) return NULL;
    int *first = graph->p, *to = graph->i, at = 0;
    for (int j = 0; j < n; j++) {
        if (j > 0 && group[j] == group[j - 1]) continue;
        first[group[j]] = at;
        for (int k = start[j], last = -1; k < start[j + 1]; k++)
            if (group[row[k]] != last) to[at++] = last = group[row[k]];
    }
    first[count] = at;
    return graph;
}

/* Order of elimination of the unknowns from that of their groups, into `order` (n): the graph of the nodes in space has some
 * thirty times fewer entries. 0 without memory: CHOLMOD finds it on its own then. */
static int order_groups(cholmod_common *c, int n, const int *start, const int *row, int *order)
{
    int *group = sp_alloc((size_t)n, sizeof(int)), found = 0;
    int *place = sp_alloc((size_t)n, sizeof(int)), *first = sp_alloc((size_t)n + 1, sizeof(int));
    const int room = group && place && first;
    const int count = room ? find_groups(n, start, row, group) : 0;
    cholmod_sparse *graph = room ? graph_of_groups(c, n, start, row, group, count) : NULL;
    if (graph)
        found = n >= dissect_unknowns ? cholmod_metis(graph, NULL, 0, 1, place, c)
                                      : cholmod_amd(graph, NULL, 0, place, c);
    if (found) {
        for (int j = n - 1; j >= 0; j--) first[group[j]] = j;
        first[count] = n;
        for (int i = 0, at = 0; i < count; i++)
            for (int j = first[place[i]]; j < first[place[i] + 1]; j++) order[at++] = j;
    }
    cholmod_free_sparse(&graph, c);
    sp_free(group);
    sp_free(place);
    sp_free(first);
    return found;
}

/* The matrix in the order of elimination, upper triangle for pivots one by one, lower for block columns: what
 * cholmod_factorize would otherwise make anew of every matrix it is given. */
static cholmod_sparse *in_order(cholmod_common *c, cholmod_sparse *matrix, cholmod_factor *factor)
{
    cholmod_sparse *upper = cholmod_ptranspose(matrix, 1, factor->Perm, NULL, 0, c);
    if (!upper || !factor->is_super) {
        if (upper) cholmod_sort(upper, c);
        return upper;
    }
    cholmod_sparse *lower = cholmod_transpose(upper, 1, c);
    cholmod_free_sparse(&upper, c);
    return lower;
}

/* From the numbers of the entries to where the caller keeps them; the order, and where its diagonal stands. */
static void note_places(sp_sparse *sparse, const int *source)
{
    const int *start = sparse->matrix->p, *perm = sparse->factor->Perm;
    const double *number = sparse->matrix->x;
    const int n = (int)sparse->matrix->ncol;
    for (int k = 0; k < start[n]; k++) sparse->source[k] = source[(int)number[k]];
    for (int j = 0; j < n; j++) {
        sparse->order[j] = perm[j];
        sparse->pivot[j] = sparse->factor->is_super ? start[j] : start[j + 1] - 1;
    }
}

/* Tell the factor that the matrix comes in its order. */
static void forget_order(cholmod_factor *factor)
{
    int *perm = factor->Perm;
    for (int j = 0; j < (int)factor->n; j++) perm[j] = j;
    factor->ordering = CHOLMOD_NATURAL;
}

static sp_status no_memory(sp_context *context, int n)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for a matrix of %d unknowns", n);
}

/* The factor and what CHOLMOD needs beside it while it works (an update block of the supernodes, buffers of BLAS, which asks
 * for them for ever when there are none). */
static sp_status expect_factor(sp_context *context, const cholmod_common *c,
                               const cholmod_factor *factor)
{
    const double entries = factor->is_super ? (double)factor->xsize + (double)factor->maxcsize
                                            : 1.5 * c->lnz; /* a row number with each */
    char what[96];
    snprintf(what, sizeof what, "the factor of %zu unknowns", factor->n);
    const double bytes = entries * sizeof(double);
    sp_status status = factor->is_super ? sp_blas_room(context, omp_get_num_threads()) : SP_OK;
    if (status != SP_OK) return status;
    return sp_memory_expect(context, bytes + (factor->is_super ? fmin(bytes, blas_buffers) : 0),
                            what);
}

/* `order` is work space. */
static cholmod_factor *analyse(cholmod_common *c, int by_nodes, cholmod_sparse *matrix,
                               const int *start, const int *row, int *order)
{
    const int n = (int)matrix->ncol;
    if (by_nodes && order_groups(c, n, start, row, order)) {
        c->method[0].ordering = CHOLMOD_GIVEN;
        return cholmod_analyze_p(matrix, order, NULL, 0, c);
    }
    c->method[0].ordering =
        n >= dissect_unknowns && start[n] > dissect_entries * n ? CHOLMOD_METIS : CHOLMOD_AMD;
    return cholmod_analyze(matrix, c);
}

sp_status sp_sparse_analyse(sp_context *context, sp_sparse *sparse, int n, const int *start,
                            const int *row, const int *source)
{
    cholmod_common *c = &sparse->common;
    const double begin = now();
    const size_t size = (size_t)n;
    drop_matrix(sparse);
    sparse->right = cholmod_allocate_dense(size, 1, size, CHOLMOD_REAL, c);
    sparse->source = sp_alloc((size_t)start[n], sizeof(int));
    sparse->order = sp_alloc(size, sizeof(int));
    sparse->pivot = sp_alloc(size, sizeof(int));
    sparse->diagonal = sp_alloc(size, sizeof(double));
    cholmod_sparse *matrix = numbered(c, n, start, row);
    if (matrix && sparse->right && sparse->source && sparse->order && sparse->pivot &&
        sparse->diagonal)
        sparse->factor = analyse(c, sparse->by_nodes, matrix, start, row, sparse->order);
    sparse->operations = c->fl;
    if (sparse->factor) sparse->matrix = in_order(c, matrix, sparse->factor);
    cholmod_free_sparse(&matrix, c);
    sparse->count.analyses++;
    sparse->count.seconds_analyse += now() - begin;
    if (!sparse->matrix)
        return c->status == CHOLMOD_OK || c->status == CHOLMOD_OUT_OF_MEMORY
                   ? no_memory(context, n)
                   : sp_fail(context, SP_INTERNAL,
                             "the analysis of a matrix of %d unknowns failed (status %d)", n,
                             c->status);
    note_places(sparse, source);
    forget_order(sparse->factor);
    return expect_factor(context, c, sparse->factor);
}

void sp_sparse_load(sp_sparse *sparse, const double *value)
{
    const int entries = ((int *)sparse->matrix->p)[sparse->matrix->ncol];
    double *x = sparse->matrix->x;
    for (int k = 0; k < entries; k++) x[k] = value[sparse->source[k]];
}

static double least_weight(const sp_sparse *sparse)
{
    const double *value = sparse->matrix->x;
    double largest = 0;
    for (size_t j = 0; j < sparse->matrix->ncol; j++)
        largest = fmax(largest, fabs(value[sparse->pivot[j]]));
    return 1e-6 * largest;
}

static void add_shift(sp_sparse *sparse, double shift)
{
    double *value = sparse->matrix->x;
    const double least = least_weight(sparse);
    for (size_t j = 0; j < sparse->matrix->ncol; j++) {
        double *pivot = &value[sparse->pivot[j]];
        sparse->diagonal[j] = *pivot;
        *pivot += shift * fmax(fabs(*pivot), least);
    }
}

static void take_shift_off(sp_sparse *sparse)
{
    double *value = sparse->matrix->x;
    for (size_t j = 0; j < sparse->matrix->ncol; j++) value[sparse->pivot[j]] = sparse->diagonal[j];
}

/* Simplicial LDL' keeps D on the diagonal of L; a factor in blocks (LL') exists only when all pivots are positive. */
static int count_negative(const cholmod_factor *factor)
{
    const int *start = factor->p;
    const double *value = factor->x;
    int negative = 0;
    if (factor->is_super || factor->is_ll) return 0;
    for (size_t j = 0; j < factor->n; j++) {
        const double d = value[start[j]];
        if (!isfinite(d) || d == 0) return -1;
        negative += d < 0;
    }
    return negative;
}

sp_status sp_sparse_factor(sp_context *context, sp_sparse *sparse, double shift, int *negative)
{
    cholmod_common *c = &sparse->common;
    if (shift > 0) add_shift(sparse, shift);
    /* CHOLMOD opens thread teams of its own for small loops, which cost more than the factor of one coupon. */
    const int levels = omp_get_max_active_levels();
    const double begin = now();
    omp_set_max_active_levels(0);
    cholmod_factorize(sparse->matrix, sparse->factor, c);
    omp_set_max_active_levels(levels);
    const double seconds = now() - begin;
    sparse->count.seconds_factor += seconds;
    sparse->count.factorizations++;
    if (shift > 0) take_shift_off(sparse);
    if (c->status < CHOLMOD_OK)
        return sp_fail(context, c->status == CHOLMOD_OUT_OF_MEMORY ? SP_NO_MEMORY : SP_INTERNAL,
                       "the factorization failed (status %d)", c->status);
    if (sparse->factor->minor == sparse->factor->n) {
        sparse->count.operations += sparse->operations;
        sparse->count.seconds_complete += seconds;
    }
    /* Not positive definite is a result, not an error: LDL' stops early only at a zero pivot. */
    *negative = sparse->factor->minor < sparse->factor->n ? -1 : count_negative(sparse->factor);
    return SP_OK;
}

void sp_sparse_weigh(const sp_sparse *sparse, const double *v, double *out)
{
    const double *value = sparse->matrix->x, least = least_weight(sparse);
    for (size_t j = 0; j < sparse->matrix->ncol; j++)
        out[sparse->order[j]] = fmax(fabs(value[sparse->pivot[j]]), least) * v[sparse->order[j]];
}

sp_status sp_sparse_solve(sp_context *context, sp_sparse *sparse, const double *b, double *x)
{
    cholmod_common *c = &sparse->common;
    const double begin = now();
    double *right = sparse->right->x;
    const size_t n = sparse->matrix->ncol;
    for (size_t j = 0; j < n; j++) right[j] = b[sparse->order[j]];
    const int fine = cholmod_solve2(CHOLMOD_A, sparse->factor, sparse->right, NULL, &sparse->answer,
                                    NULL, &sparse->work_y, &sparse->work_e, c);
    sparse->count.solves++;
    if (!fine) return sp_fail(context, SP_NO_MEMORY, "no memory to solve with the factor");
    const double *answer = sparse->answer->x;
    for (size_t j = 0; j < n; j++) x[sparse->order[j]] = answer[j];
    sparse->count.seconds_solve += now() - begin;
    return SP_OK;
}

sp_sparse_counts sp_sparse_count(const sp_sparse *sparse)
{
    return sparse->count;
}
