/* This file keeps CHOLMOD behind sp_sparse (Chen, Davis, Hager & Rajamanickam 2008). */
#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cholmod.h>

#include "base/alloc.h"
#include "base/machine.h"
#include "base/memory.h"
#include "sparse/fronts.h"
#include "sparse/sparse.h"

/* Matrices of coupons are small. So block columns are merged more freely than CHOLMOD does by
 * default: always up to the first width, then up to each of the next two while the share of zeros
 * is below the one listed. They are also used from fewer operations per entry of the factor on. */
static const size_t merge_columns[3] = {12, 32, 64};
static const double merge_zeros[3] = {0.8, 0.2, 0.05};
/* Where a node has six unknowns, the same widths are given in nodes: with more than half of them,
 * fronts in space took a fifth more operations and memory. */
static const size_t merge_nodes[3] = {1, 2, 4};

/* Networks in space fill in more than planar ones (which hold fewer entries per unknown): from this
 * size on their factor is cheaper with nested dissection (METIS; Karypis & Kumar 1998), whose order
 * costs more to find. */
static const int dissect_unknowns = 20000;
static const double dissect_entries = 9;
/* Where both orders are weighed they are so from this size on: each is the cheaper one at some
 * strain of a pad. */
static const int weigh_unknowns = 3000;
/* There METIS divides parts of the graph down to so many nodes: where many contacts fill in, the
 * factor takes up to a tenth fewer operations than with 200, CHOLMOD's own number. */
static const size_t small_part = 50;
/* The order of elimination of one pattern serves the next ones, which contacts change a little,
 * until the operations have grown by this factor. */
static const double growth_of_order = 1.1;

struct sp_sparse {
    cholmod_common common;
    sp_fronts fronts;
    const double *value; /* the caller's array with the values, see sp_sparse_load */
    int *order;          /* per unknown in the order of elimination: the caller's */
    int *pivot;          /* per unknown in the order of elimination: its diagonal, in `value` */
    double *diagonal;    /* of the values loaded, in the order of elimination */
    double *shift;       /* what a shift adds to it */
    double *answer;      /* in the order of elimination */
    int *dissected; /* n: place of every unknown in an order by nested dissection; NULL: none */
    int dissected_size;
    double dissected_work; /* operations of the first pattern in that order, as CHOLMOD counts */
    sp_sparse_counts count;
    int count_pivots, by_nodes, size;
    int weighs_orders; /* see sp_sparse_weigh_orders */
    int factored; /* 1: the last factorization went through, and the pattern is still its own */
};

/* A run is a row of consecutive unknowns with the same neighbours, such as those of a node: the
 * order of elimination is found for runs. */
typedef struct unknown_runs {
    int count;
    int *first; /* count + 1: unknowns first[i] to first[i + 1] */
} unknown_runs;

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
    for (int i = 0; i < 3; i++) c->zrelax[i] = merge_zeros[i];
    *out = sparse;
    return SP_OK;
}

static void drop_matrix(sp_sparse *sparse)
{
    sp_fronts_empty(&sparse->fronts);
    sp_free(sparse->order);
    sp_free(sparse->pivot);
    sp_free(sparse->diagonal);
    sp_free(sparse->shift);
    sp_free(sparse->answer);
    sparse->factored = 0;
    sparse->order = sparse->pivot = NULL;
    sparse->diagonal = sparse->shift = sparse->answer = NULL;
    sparse->value = NULL;
}

void sp_sparse_weigh_orders(sp_sparse *sparse)
{
    sparse->weighs_orders = 1;
    sparse->common.method[0].nd_small = small_part;
}

void sp_sparse_rest(sp_sparse *sparse)
{
    sp_fronts_rest(&sparse->fronts);
}

void sp_sparse_free(sp_sparse *sparse)
{
    if (!sparse) return;
    drop_matrix(sparse);
    sp_fronts_free(&sparse->fronts);
    sp_free(sparse->dissected);
    cholmod_finish(&sparse->common);
    sp_free(sparse);
}

/* Mark every unknown that an earlier column joins to and not its predecessor, or the other way
 * round. `apart` has room for n + 1. */
static void mark_apart(int n, const int *start, const int *row, int *apart)
{
    memset(apart, 0, ((size_t)n + 1) * sizeof(int));
    for (int j = 0; j < n; j++)
        for (int k = start[j] + 1; k < start[j + 1]; k++) {
            const int after = k + 1 < start[j + 1] ? row[k + 1] : n;
            if (row[k - 1] != row[k] - 1) apart[row[k]] = 1;
            if (after != row[k] + 1) apart[row[k] + 1] = 1;
        }
}

/* Find runs of unknowns with the same neighbours, before and behind them: the two nodes inside a
 * strut of three elements have the same ones behind them, but each its own joint. Without by_nodes
 * every unknown is a run. `first` and `apart`, work space, have room for n + 1. */
static unknown_runs find_runs(int n, const int *start, const int *row, int by_nodes, int *first,
                              int *apart)
{
    unknown_runs found = {0, first};
    if (by_nodes) mark_apart(n, start, row, apart);
    for (int j = 0; j < n; j++) {
        const int size = start[j + 1] - start[j], before = j > 0 ? start[j] - start[j - 1] : 0;
        if (!by_nodes || j == 0 || apart[j] || before != size + 1 ||
            memcmp(row + start[j], row + start[j - 1] + 1, (size_t)size * sizeof(int)) != 0)
            first[found.count++] = j;
    }
    first[found.count] = n;
    return found;
}

/* Make the pattern of the runs from the first column of each: in space it has thirty times fewer
 * entries than that of the unknowns. The run of every unknown is filled into `of` (n). */
static cholmod_sparse *pattern_of(cholmod_common *c, const unknown_runs *runs, const int *start,
                                  const int *row, int *of)
{
    size_t entries = 0;
    for (int i = 0; i < runs->count; i++) {
        const int j = runs->first[i];
        entries += (size_t)(start[j + 1] - start[j]);
        for (int k = j; k < runs->first[i + 1]; k++) of[k] = i;
    }
    const size_t size = (size_t)runs->count;
    cholmod_sparse *matrix =
        cholmod_allocate_sparse(size, size, entries, 1, 1, -1, CHOLMOD_PATTERN, c);
    if (!matrix) return NULL;
    int *first = matrix->p, *to = matrix->i, at = 0;
    for (int i = 0; i < runs->count; i++) {
        const int j = runs->first[i];
        first[i] = at;
        for (int k = start[j], last = -1; k < start[j + 1]; k++)
            if (of[row[k]] != last) to[at++] = last = of[row[k]];
    }
    first[runs->count] = at;
    return matrix;
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

typedef struct run_place {
    int run, place;
} run_place;

static int earlier_run(const void *a, const void *b)
{
    return ((const run_place *)a)->place - ((const run_place *)b)->place;
}

/* Write the runs into `order` in the order of an earlier pattern. Returns 0 when there is no such
 * order, or no memory. */
static int take_old_order(const sp_sparse *sparse, const unknown_runs *runs, int *order)
{
    if (!sparse->dissected || sparse->dissected_size != sparse->size) return 0;
    run_place *sorted = sp_alloc((size_t)runs->count, sizeof *sorted);
    if (!sorted) return 0;
    for (int i = 0; i < runs->count; i++)
        sorted[i] = (run_place){i, sparse->dissected[runs->first[i]]};
    qsort(sorted, (size_t)runs->count, sizeof *sorted, earlier_run);
    for (int i = 0; i < runs->count; i++) order[i] = sorted[i].run;
    sp_free(sorted);
    return 1;
}

/* Keep an order for later patterns; where memory is lacking, none is kept. */
static void keep_order(sp_sparse *sparse, const unknown_runs *runs, const int *order, double work)
{
    sp_free(sparse->dissected);
    sparse->dissected = sp_alloc((size_t)sparse->size, sizeof(int));
    sparse->dissected_size = sparse->size;
    sparse->dissected_work = work;
    for (int i = 0, at = 0; sparse->dissected && i < runs->count; i++)
        for (int j = runs->first[order[i]]; j < runs->first[order[i] + 1]; j++)
            sparse->dissected[j] = at++;
}

/* Find an order by nested dissection: METIS finds the separators, CAMD orders what is between them
 * (Chen, Davis, Hager & Rajamanickam 2008). METIS by itself orders small parts without a look at
 * the separators, which took up to a quarter more operations of the factor. Returns 0 when it did
 * not work. */
static int find_order(cholmod_common *c, cholmod_sparse *matrix, int *order)
{
    int *parent = sp_alloc(matrix->ncol, sizeof(int)),
        *member = sp_alloc(matrix->ncol, sizeof(int));
    const int found = parent && member &&
                      cholmod_nested_dissection(matrix, NULL, 0, order, parent, member, c) >= 0;
    sp_free(parent);
    sp_free(member);
    return found;
}

/* Analyse by METIS, or by the order that it found for an earlier pattern; returns NULL when neither
 * way works. */
static cholmod_factor *dissect(sp_sparse *sparse, cholmod_sparse *matrix, const unknown_runs *runs,
                               int *order)
{
    cholmod_common *c = &sparse->common;
    c->method[0].ordering = CHOLMOD_GIVEN;
    if (take_old_order(sparse, runs, order)) {
        cholmod_factor *factor = cholmod_analyze_p(matrix, order, NULL, 0, c);
        if (factor && c->fl <= growth_of_order * sparse->dissected_work) return factor;
        cholmod_free_factor(&factor, c);
    }
    if (!find_order(c, matrix, order)) return NULL;
    cholmod_factor *factor = cholmod_analyze_p(matrix, order, NULL, 0, c);
    if (factor) keep_order(sparse, runs, order, c->fl);
    return factor;
}

/* Return 1 when METIS is asked for an order of the runs. */
static int is_dissected(const sp_sparse *sparse)
{
    return sparse->size >= (sparse->weighs_orders ? weigh_unknowns : dissect_unknowns);
}

/* Analyse by AMD; returns NULL when that did not work. */
static cholmod_factor *order_by_degree(sp_sparse *sparse, cholmod_sparse *matrix, int *order)
{
    cholmod_common *c = &sparse->common;
    if (!cholmod_amd(matrix, NULL, 0, order, c)) return NULL;
    c->method[0].ordering = CHOLMOD_GIVEN;
    return cholmod_analyze_p(matrix, order, NULL, 0, c);
}

/* Return the operations of a factor whose rows and columns are runs of unknowns: every column takes
 * the square of the rows below and on its diagonal. */
static double operations_of(const cholmod_factor *factor, const unknown_runs *runs)
{
    const int *super = factor->super, *first = factor->pi, *row = factor->s, *order = factor->Perm;
    double sum = 0;
    for (size_t i = 0; i < factor->nsuper; i++) {
        int rows = 0, columns = 0;
        for (int k = first[i]; k < first[i + 1]; k++) {
            const int run = order[row[k]], size = runs->first[run + 1] - runs->first[run];
            rows += size;
            if (k - first[i] < super[i + 1] - super[i]) columns += size;
        }
        for (int j = 0; j < columns; j++) sum += (double)(rows - j) * (rows - j);
    }
    return sum;
}

/* Analyse by AMD and by METIS, and return what takes fewer operations. */
static cholmod_factor *weigh_orders(sp_sparse *sparse, cholmod_sparse *matrix,
                                    const unknown_runs *runs, int *order)
{
    cholmod_common *c = &sparse->common;
    cholmod_factor *one = order_by_degree(sparse, matrix, order);
    cholmod_factor *other = dissect(sparse, matrix, runs, order);
    if (!one || !other) return one ? one : other;
    const int takes_one = operations_of(one, runs) < operations_of(other, runs);
    cholmod_free_factor(takes_one ? &other : &one, c);
    return takes_one ? one : other;
}

/* Analyse the pattern of the runs of unknowns, which has `entries` entries; `order` (size) is work
 * space. */
static cholmod_factor *analyse(sp_sparse *sparse, cholmod_sparse *matrix, const unknown_runs *runs,
                               int entries, int *order)
{
    cholmod_common *c = &sparse->common;
    const int n = sparse->size, by_nodes = sparse->by_nodes, large = n >= dissect_unknowns;
    const size_t *merge = by_nodes ? merge_nodes : merge_columns;
    cholmod_factor *factor = NULL;
    for (int i = 0; i < 3; i++) c->nrelax[i] = merge[i];
    if (by_nodes && is_dissected(sparse))
        factor = sparse->weighs_orders ? weigh_orders(sparse, matrix, runs, order)
                                       : dissect(sparse, matrix, runs, order);
    else if (by_nodes)
        factor = order_by_degree(sparse, matrix, order);
    if (factor) return factor;
    c->method[0].ordering = large && entries > dissect_entries * n ? CHOLMOD_METIS : CHOLMOD_AMD;
    return cholmod_analyze(matrix, c);
}

/* METIS, which orders large systems, handles SIGABRT and SIGTERM while it runs and puts the
 * handlers of the host back without their flags. This function keeps them as the host has them, one
 * thread at a time. */
static cholmod_factor *analyse_and_keep_signals(sp_sparse *sparse, cholmod_sparse *matrix,
                                                const unknown_runs *runs, int entries, int *order)
{
    static const int taken[] = {SIGABRT, SIGTERM};
    struct sigaction kept[2];
    cholmod_factor *factor;
    if (!is_dissected(sparse)) return analyse(sparse, matrix, runs, entries, order);
#pragma omp critical(sp_metis)
    {
        for (int i = 0; i < 2; i++) sigaction(taken[i], NULL, &kept[i]);
        factor = analyse(sparse, matrix, runs, entries, order);
        for (int i = 0; i < 2; i++) sigaction(taken[i], &kept[i], NULL);
    }
    return factor;
}

/* --- from runs back to unknowns --- */

/* These are the columns and rows of the fronts; see sp_fronts_create. */
typedef struct front_columns {
    int count;
    int *column, *row_first, *row;
} front_columns;

static void free_columns(front_columns *c)
{
    sp_free(c->column);
    sp_free(c->row_first);
    sp_free(c->row);
}

/* Find where the unknowns of every run of the analysis stand in the order of elimination, in
 * `place` (runs + 1). Returns 0 without memory. */
static int expand(const cholmod_factor *factor, const int *place, front_columns *out)
{
    const int count = (int)factor->nsuper, *super = factor->super, *first = factor->pi,
              *run = factor->s;
    size_t rows = 0;
    for (int k = 0; k < first[count]; k++) rows += (size_t)(place[run[k] + 1] - place[run[k]]);
    *out = (front_columns){count, sp_alloc((size_t)count + 1, sizeof(int)),
                           sp_alloc((size_t)count + 1, sizeof(int)), sp_alloc(rows, sizeof(int))};
    if (!out->column || !out->row_first || !out->row) return 0;
    int at = 0;
    for (int i = 0; i < count; i++) {
        out->column[i] = place[super[i]];
        out->row_first[i] = at;
        for (int k = first[i]; k < first[i + 1]; k++)
            for (int r = place[run[k]]; r < place[run[k] + 1]; r++) out->row[at++] = r;
    }
    out->column[count] = place[super[count]];
    out->row_first[count] = at;
    return 1;
}

/* The pattern of the matrix as the caller gives it, the place of every unknown in the order of
 * elimination, and its front there. */
typedef struct pattern {
    int n;
    const int *start, *row, *source, *inverse, *of;
} pattern;

/* This is an entry of the matrix in the order of elimination, with the front that it goes to. */
typedef struct where {
    int front, row, column; /* of the first, in the order of elimination */
    int count, across;      /* across: they stand in one row of the factor, else in one column */
} where;

/* Find how many entries from k on, of column j, go to even places of one front. */
static where where_of(const pattern *p, int j, int k)
{
    const int own = p->inverse[j], first = p->inverse[p->row[k]], across = first < own;
    where w = {p->of[across ? first : own], across ? own : first, across ? first : own, 1, across};
    for (int i = k + 1; i < p->start[j + 1]; i++, w.count++) {
        const int next = p->inverse[p->row[i]];
        if (next != first + w.count || (next < own) != across) break;
        if (across && p->of[next] != w.front) break;
        if (p->source[i] - p->source[i - 1] != p->source[k + 1] - p->source[k]) break;
    }
    return w;
}

/* Give every front its room among the runs of entries; returns how many there are. */
static size_t count_runs(const pattern *p, sp_fronts *fronts)
{
    size_t sum = 0;
    for (int i = 0; i < fronts->count; i++) fronts->front[i].runs = 0;
    for (int j = 0; j < p->n; j++)
        for (int k = p->start[j]; k < p->start[j + 1];) {
            const where w = where_of(p, j, k);
            fronts->front[w.front].runs++;
            k += w.count;
        }
    for (int i = 0; i < fronts->count; i++) {
        fronts->front[i].run = sum;
        sum += fronts->front[i].runs;
    }
    return sum;
}

/* Find where every entry goes. `row_place` (n) is the place of a row in the front in hand, `column`
 * (per run) the column of its first entry times the stride of its front. */
static void place_entries(const pattern *p, sp_fronts *fronts, int *row_place, int *column)
{
    for (int i = 0; i < fronts->count; i++) fronts->front[i].runs = 0;
    /* The row comes first here; its place in the front follows below. */
    for (int j = 0; j < p->n; j++)
        for (int k = p->start[j]; k < p->start[j + 1];) {
            const where w = where_of(p, j, k);
            sp_front *f = &fronts->front[w.front];
            const size_t at = f->run + f->runs++;
            fronts->run[at] =
                (sp_entry_run){.source = p->source[k],
                               .source_step = w.count > 1 ? p->source[k + 1] - p->source[k] : 0,
                               .place = w.row,
                               .place_step = w.across ? f->stride : 1,
                               .count = w.count};
            column[at] = f->stride * (w.column - f->first);
            k += w.count;
        }
    for (int i = 0; i < fronts->count; i++) {
        const sp_front *f = &fronts->front[i];
        for (int r = 0; r < f->rows; r++) row_place[fronts->row[f->row + (size_t)r]] = r;
        for (size_t at = f->run; at < f->run + f->runs; at++)
            fronts->run[at].place = column[at] + row_place[fronts->run[at].place];
    }
}

static sp_status place_matrix(sp_context *context, sp_sparse *sparse, int n, const int *start,
                              const int *row, const int *source)
{
    const size_t size = (size_t)n;
    sp_fronts *fronts = &sparse->fronts;
    int *inverse = sp_alloc(size, sizeof(int)), *of = sp_alloc(size, sizeof(int)),
        *row_place = sp_alloc(size, sizeof(int)), *column = NULL;
    const pattern p = {n, start, row, source, inverse, of};
    sparse->pivot = sp_alloc(size, sizeof(int));
    sparse->diagonal = sp_alloc(size, sizeof(double));
    sparse->shift = sp_alloc(size, sizeof(double));
    sparse->answer = sp_alloc(size, sizeof(double));
    int room = inverse && of && row_place && sparse->pivot && sparse->diagonal && sparse->shift &&
               sparse->answer;
    if (room) {
        for (int j = 0; j < n; j++) inverse[sparse->order[j]] = j;
        for (int j = 0; j < n; j++) sparse->pivot[inverse[j]] = source[start[j]];
        sp_fronts_of(fronts, of);
        const size_t runs = count_runs(&p, fronts);
        fronts->run_count = runs;
        fronts->run = sp_alloc_large(runs, sizeof *fronts->run);
        column = sp_alloc(runs, sizeof(int));
        room = fronts->run && column;
    }
    if (room) place_entries(&p, fronts, row_place, column);
    sp_free(inverse);
    sp_free(of);
    sp_free(row_place);
    sp_free(column);
    return room ? SP_OK : no_memory(context, n);
}

/* Take the fronts and the order of the unknowns from the analysis of their runs. */
static sp_status take_analysis(sp_context *context, sp_sparse *sparse, const cholmod_factor *factor,
                               const unknown_runs *runs)
{
    const int n = sparse->size, *perm = factor->Perm;
    int *place = sp_alloc((size_t)runs->count + 1, sizeof(int));
    front_columns columns = {0};
    sparse->order = sp_alloc((size_t)n, sizeof(int));
    int room = place && sparse->order, at = 0;
    for (int i = 0; room && i < runs->count; i++) {
        place[i] = at;
        for (int j = runs->first[perm[i]]; j < runs->first[perm[i] + 1]; j++)
            sparse->order[at++] = j;
    }
    if (room) place[runs->count] = at;
    room = room && expand(factor, place, &columns);
    const sp_status status =
        room ? sp_fronts_create(context, n, columns.count, columns.column, columns.row_first,
                                columns.row, expect_factor, &sparse->fronts)
             : no_memory(context, n);
    free_columns(&columns);
    sp_free(place);
    return status;
}

sp_status sp_sparse_analyse(sp_context *context, sp_sparse *sparse, int n, const int *start,
                            const int *row, const int *source)
{
    cholmod_common *c = &sparse->common;
    const double begin = sp_clock_seconds();
    drop_matrix(sparse);
    sparse->size = n;
    int *order = sp_alloc((size_t)n + 1, sizeof(int)),
        *first = sp_alloc((size_t)n + 1, sizeof(int));
    unknown_runs runs = {0};
    cholmod_sparse *matrix = NULL;
    if (order && first) {
        runs = find_runs(n, start, row, sparse->by_nodes, first, order);
        matrix = pattern_of(c, &runs, start, row, order);
    }
    cholmod_factor *factor =
        matrix ? analyse_and_keep_signals(sparse, matrix, &runs, start[n], order) : NULL;
    cholmod_free_sparse(&matrix, c);
    sp_free(order);
    sp_status status;
    if (factor)
        status = take_analysis(context, sparse, factor, &runs);
    else if (c->status == CHOLMOD_OK || c->status == CHOLMOD_OUT_OF_MEMORY)
        status = no_memory(context, n);
    else
        status =
            sp_fail(context, SP_INTERNAL,
                    "the analysis of a matrix of %d unknowns failed (status %d)", n, c->status);
    cholmod_free_factor(&factor, c);
    sp_free(first);
    if (status == SP_OK) status = place_matrix(context, sparse, n, start, row, source);
    sparse->count.analyses++;
    sparse->count.seconds_analyse += sp_clock_seconds() - begin;
    return status;
}

void sp_sparse_load(sp_sparse *sparse, const double *value)
{
    sparse->value = value;
    for (int j = 0; j < sparse->size; j++) sparse->diagonal[j] = value[sparse->pivot[j]];
}

static double least_weight(const sp_sparse *sparse)
{
    double largest = 0;
    for (int j = 0; j < sparse->size; j++) largest = fmax(largest, fabs(sparse->diagonal[j]));
    return 1e-6 * largest;
}

static const double *shift_of(sp_sparse *sparse, double shift)
{
    if (!(shift > 0)) return NULL;
    const double least = least_weight(sparse);
    for (int j = 0; j < sparse->size; j++)
        sparse->shift[j] = shift * fmax(fabs(sparse->diagonal[j]), least);
    return sparse->shift;
}

/* A matrix that is not positive definite is a result, not an error. */
sp_status sp_sparse_factor(sp_context *context, sp_sparse *sparse, double shift, int *negative)
{
    (void)context;
    const double begin = sp_clock_seconds();
    *negative = sp_fronts_factor(&sparse->fronts, sparse->value, shift_of(sparse, shift),
                                 !sparse->count_pivots);
    const double seconds = sp_clock_seconds() - begin;
    sparse->count.seconds_factor += seconds;
    sparse->count.factorizations++;
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
        out[sparse->order[j]] = fmax(fabs(sparse->diagonal[j]), least) * v[sparse->order[j]];
}

sp_status sp_sparse_solve(sp_context *context, sp_sparse *sparse, const double *b, double *x)
{
    (void)context;
    const double begin = sp_clock_seconds();
    for (int j = 0; j < sparse->size; j++) sparse->answer[j] = b[sparse->order[j]];
    sp_fronts_solve(&sparse->fronts, sparse->answer);
    for (int j = 0; j < sparse->size; j++) x[sparse->order[j]] = sparse->answer[j];
    sparse->count.solves++;
    sparse->count.seconds_solve += sp_clock_seconds() - begin;
    return SP_OK;
}

sp_sparse_counts sp_sparse_count(const sp_sparse *sparse)
{
    return sparse->count;
}
