/* CHOLMOD behind sp_sparse (Chen, Davis, Hager & Rajamanickam 2008). */
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <cholmod.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "sparse/fronts.h"
#include "sparse/sparse.h"

/* Matrices of coupons are small: block columns are merged more freely than CHOLMOD does by default
 * (always up to the first width, then while the share of zeros is below), and used from fewer
 * operations per entry of the factor on. */
static const size_t merge_columns[3] = {12, 32, 64};
static const double merge_zeros[3] = {0.8, 0.2, 0.05};

/* Networks in space fill in more than planar ones (which hold fewer entries per unknown): from this
 * size on their factor is cheaper with nested dissection (METIS; Karypis & Kumar 1998), whose order
 * costs more to find. */
static const int dissect_unknowns = 20000;
static const double dissect_entries = 9;

struct sp_sparse {
    cholmod_common common;
    sp_fronts fronts;
    double *entry;    /* of the matrix, in the order of the fronts */
    int *source;      /* per entry: where the caller keeps it */
    int *order;       /* per unknown in the order of elimination: the caller's */
    int *pivot;       /* per unknown in the order of elimination: entry of its diagonal */
    double *diagonal; /* unshifted diagonal, kept while a shift is on */
    double *answer;   /* in the order of elimination */
    sp_sparse_counts count;
    int count_pivots, by_nodes, size;
    int factored; /* 1: the last factorization went through, and the pattern is still its own */
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
    sparse->count_pivots = count_pivots;
    cholmod_common *c = &sparse->common;
    c->supernodal = CHOLMOD_SUPERNODAL; /* its columns and rows are those of the fronts */
    c->nmethods = 1;
    c->method[0].ordering = CHOLMOD_AMD;
    c->postorder = 1;
    c->print = 0;
    c->error_handler = NULL;
    for (int i = 0; i < 3; i++) c->nrelax[i] = merge_columns[i], c->zrelax[i] = merge_zeros[i];
    *out = sparse;
    return SP_OK;
}

static void drop_matrix(sp_sparse *sparse)
{
    sp_fronts_free(&sparse->fronts);
    sp_free(sparse->entry);
    sp_free(sparse->source);
    sp_free(sparse->order);
    sp_free(sparse->pivot);
    sp_free(sparse->diagonal);
    sp_free(sparse->answer);
    sparse->factored = 0;
    sparse->source = sparse->order = sparse->pivot = NULL;
    sparse->entry = sparse->diagonal = sparse->answer = NULL;
}

void sp_sparse_free(sp_sparse *sparse)
{
    if (!sparse) return;
    drop_matrix(sparse);
    cholmod_finish(&sparse->common);
    sp_free(sparse);
}

static cholmod_sparse *pattern_of(cholmod_common *c, int n, const int *start, const int *row)
{
    const size_t size = (size_t)n, entries = (size_t)start[n];
    cholmod_sparse *matrix =
        cholmod_allocate_sparse(size, size, entries, 1, 1, -1, CHOLMOD_PATTERN, c);
    if (!matrix) return NULL;
    memcpy(matrix->p, start, (size + 1) * sizeof(int));
    memcpy(matrix->i, row, entries * sizeof(int));
    return matrix;
}

/* group[j]: number of the run of consecutive columns with the same rows that column j belongs to.
 * Returns their number. */
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

/* Order of elimination of the unknowns from that of their groups, into `order` (n): the graph of
 * the nodes in space has some thirty times fewer entries. 0 without memory: CHOLMOD finds it on its
 * own then. */
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

static sp_status no_memory(sp_context *context, int n)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for a matrix of %d unknowns", n);
}

static sp_status expect_factor(sp_context *context, double bytes, size_t size)
{
    char what[96];
    snprintf(what, sizeof what, "the factor of %zu unknowns", size);
    return sp_memory_expect(context, bytes, what);
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

/* Large systems are ordered by METIS, which takes SIGABRT and SIGTERM meanwhile and puts them back
 * without their flags: here they are kept as the host has them, one thread at a time. */
static cholmod_factor *analyse_and_keep_signals(cholmod_common *c, int by_nodes,
                                                cholmod_sparse *matrix, const int *start,
                                                const int *row, int *order)
{
    static const int taken[] = {SIGABRT, SIGTERM};
    struct sigaction kept[2];
    cholmod_factor *factor;
    if (matrix->ncol < (size_t)dissect_unknowns)
        return analyse(c, by_nodes, matrix, start, row, order);
#pragma omp critical(sp_metis)
    {
        for (int i = 0; i < 2; i++) sigaction(taken[i], NULL, &kept[i]);
        factor = analyse(c, by_nodes, matrix, start, row, order);
        for (int i = 0; i < 2; i++) sigaction(taken[i], &kept[i], NULL);
    }
    return factor;
}

/* An entry of the matrix in the order of elimination, and the front that it goes to. */
typedef struct where {
    int front, row, column;
} where;

static where where_of(int i, int j, const int *inverse, const int *of)
{
    const int a = inverse[i], b = inverse[j], column = a < b ? a : b;
    return (where){of[column], a < b ? b : a, column};
}

/* Where every entry goes: entries in the order of the fronts, `row_place` (n) the place of a row in
 * the front in hand. */
static void place_entries(sp_sparse *sparse, int n, const int *start, const int *row,
                          const int *source, const int *inverse, const int *of, int *row_place)
{
    sp_fronts *fronts = &sparse->fronts;
    for (int i = 0; i < fronts->count; i++) fronts->front[i].entries = 0;
    for (int j = 0; j < n; j++)
        for (int k = start[j]; k < start[j + 1]; k++)
            fronts->front[where_of(row[k], j, inverse, of).front].entries++;
    size_t sum = 0;
    for (int i = 0; i < fronts->count; i++) {
        sp_front *f = &fronts->front[i];
        f->entry = sum;
        sum += f->entries;
        f->entries = 0;
    }
    /* first the row, and the column times the stride: the row's place in the front follows below */
    for (int j = 0; j < n; j++)
        for (int k = start[j]; k < start[j + 1]; k++) {
            const where w = where_of(row[k], j, inverse, of);
            sp_front *f = &fronts->front[w.front];
            const size_t at = f->entry + f->entries++;
            sparse->source[at] = source[k];
            fronts->place[at] = w.row;
            sparse->entry[at] = (double)f->stride * (w.column - f->first);
            if (w.row == w.column) sparse->pivot[w.row] = (int)at;
        }
    for (int i = 0; i < fronts->count; i++) {
        const sp_front *f = &fronts->front[i];
        for (int r = 0; r < f->rows; r++) row_place[fronts->row[f->row + (size_t)r]] = r;
        for (size_t at = f->entry; at < f->entry + f->entries; at++)
            fronts->place[at] = (int)sparse->entry[at] + row_place[fronts->place[at]];
    }
}

static sp_status take_analysis(sp_context *context, sp_sparse *sparse, const cholmod_factor *factor,
                               const int *start, const int *row, const int *source)
{
    const int n = (int)factor->n, *perm = factor->Perm;
    const size_t size = (size_t)n, entries = (size_t)start[n];
    sp_status status = sp_fronts_create(context, n, (int)factor->nsuper, factor->super, factor->pi,
                                        factor->s, expect_factor, &sparse->fronts);
    if (status != SP_OK) return status;
    int *inverse = sp_alloc(size, sizeof(int)), *of = sp_alloc(size, sizeof(int)),
        *row_place = sp_alloc(size, sizeof(int));
    sparse->entry = sp_alloc(entries, sizeof(double));
    sparse->source = sp_alloc(entries, sizeof(int));
    sparse->fronts.place = sp_alloc(entries, sizeof(int));
    sparse->order = sp_alloc(size, sizeof(int));
    sparse->pivot = sp_alloc(size, sizeof(int));
    sparse->diagonal = sp_alloc(size, sizeof(double));
    sparse->answer = sp_alloc(size, sizeof(double));
    if (inverse && of && row_place && sparse->entry && sparse->source && sparse->fronts.place &&
        sparse->order && sparse->pivot && sparse->diagonal && sparse->answer) {
        for (int j = 0; j < n; j++) {
            sparse->order[j] = perm[j];
            inverse[perm[j]] = j;
        }
        sp_fronts_of(&sparse->fronts, of);
        place_entries(sparse, n, start, row, source, inverse, of, row_place);
    } else {
        status = no_memory(context, n);
    }
    sp_free(inverse);
    sp_free(of);
    sp_free(row_place);
    return status;
}

sp_status sp_sparse_analyse(sp_context *context, sp_sparse *sparse, int n, const int *start,
                            const int *row, const int *source)
{
    cholmod_common *c = &sparse->common;
    const double begin = now();
    drop_matrix(sparse);
    sparse->size = n;
    int *order = sp_alloc((size_t)n, sizeof(int));
    cholmod_sparse *matrix = order ? pattern_of(c, n, start, row) : NULL;
    cholmod_factor *factor =
        matrix ? analyse_and_keep_signals(c, sparse->by_nodes, matrix, start, row, order) : NULL;
    cholmod_free_sparse(&matrix, c);
    sp_free(order);
    sp_status status;
    if (factor)
        status = take_analysis(context, sparse, factor, start, row, source);
    else if (c->status == CHOLMOD_OK || c->status == CHOLMOD_OUT_OF_MEMORY)
        status = no_memory(context, n);
    else
        status =
            sp_fail(context, SP_INTERNAL,
                    "the analysis of a matrix of %d unknowns failed (status %d)", n, c->status);
    cholmod_free_factor(&factor, c);
    sparse->count.analyses++;
    sparse->count.seconds_analyse += now() - begin;
    return status;
}

void sp_sparse_load(sp_sparse *sparse, const double *value)
{
    const sp_front *last = &sparse->fronts.front[sparse->fronts.count - 1];
    const size_t entries = last->entry + last->entries;
    for (size_t k = 0; k < entries; k++) sparse->entry[k] = value[sparse->source[k]];
}

static double least_weight(const sp_sparse *sparse)
{
    double largest = 0;
    for (int j = 0; j < sparse->size; j++)
        largest = fmax(largest, fabs(sparse->entry[sparse->pivot[j]]));
    return 1e-6 * largest;
}

static void add_shift(sp_sparse *sparse, double shift)
{
    const double least = least_weight(sparse);
    for (int j = 0; j < sparse->size; j++) {
        double *pivot = &sparse->entry[sparse->pivot[j]];
        sparse->diagonal[j] = *pivot;
        *pivot += shift * fmax(fabs(*pivot), least);
    }
}

static void take_shift_off(sp_sparse *sparse)
{
    for (int j = 0; j < sparse->size; j++) sparse->entry[sparse->pivot[j]] = sparse->diagonal[j];
}

/* Not positive definite is a result, not an error. */
sp_status sp_sparse_factor(sp_context *context, sp_sparse *sparse, double shift, int *negative)
{
    (void)context;
    if (shift > 0) add_shift(sparse, shift);
    const double begin = now();
    *negative = sp_fronts_factor(&sparse->fronts, sparse->entry, !sparse->count_pivots);
    const double seconds = now() - begin;
    sparse->count.seconds_factor += seconds;
    sparse->count.factorizations++;
    if (shift > 0) take_shift_off(sparse);
    sparse->factored = *negative >= 0;
    if (sparse->factored) {
        sparse->count.operations += sparse->fronts.operations;
        sparse->count.seconds_complete += seconds;
    }
    return SP_OK;
}

int sp_sparse_is_factored(const sp_sparse *sparse)
{
    return sparse->factored;
}

void sp_sparse_weigh(const sp_sparse *sparse, const double *v, double *out)
{
    const double least = least_weight(sparse);
    for (int j = 0; j < sparse->size; j++)
        out[sparse->order[j]] =
            fmax(fabs(sparse->entry[sparse->pivot[j]]), least) * v[sparse->order[j]];
}

sp_status sp_sparse_solve(sp_context *context, sp_sparse *sparse, const double *b, double *x)
{
    (void)context;
    const double begin = now();
    for (int j = 0; j < sparse->size; j++) sparse->answer[j] = b[sparse->order[j]];
    sp_fronts_solve(&sparse->fronts, sparse->answer);
    for (int j = 0; j < sparse->size; j++) x[sparse->order[j]] = sparse->answer[j];
    sparse->count.solves++;
    sparse->count.seconds_solve += now() - begin;
    return SP_OK;
}

sp_sparse_counts sp_sparse_count(const sp_sparse *sparse)
{
    return sparse->count;
}
