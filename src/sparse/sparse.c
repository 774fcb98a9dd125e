/* CHOLMOD behind sp_sparse (Chen, Davis, Hager & Rajamanickam 2008). */
#include <math.h>

#include <string.h>
#include <time.h>

#include <cholmod.h>
#include <omp.h>
#include <cblas.h>

#include "base/alloc.h"
#include "sparse/sparse.h"

struct sp_sparse {
    cholmod_common common;
    cholmod_sparse *matrix;
    cholmod_factor *factor;
    cholmod_dense *right, *answer, *work_y, *work_e; /* reused by every solve */
    double *diagonal; /* unshifted diagonal, kept while a shift is on */
    sp_sparse_counts count;
};

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

sp_status sp_sparse_create(sp_context *context, int count_pivots, sp_sparse **out)
{
    *out = NULL;
    sp_sparse *sparse = sp_alloc(1, sizeof *sparse);
    if (!sparse || !cholmod_start(&sparse->common)) {
        sp_free(sparse);
        return sp_fail(context, SP_NO_MEMORY, "no memory for the sparse solver");
    }
    openblas_set_num_threads(1); /* coupons run in parallel, not their matrices */
    cholmod_common *c = &sparse->common;
    c->supernodal = count_pivots ? CHOLMOD_SIMPLICIAL : CHOLMOD_AUTO;
    c->final_ll = 0;
    c->nmethods = 1;
    c->method[0].ordering = CHOLMOD_AMD;
    c->postorder = 1;
    c->print = 0;
    c->error_handler = NULL;
    c->quick_return_if_not_posdef = 1;
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
    sp_free(sparse->diagonal);
    sparse->diagonal = NULL;
}

void sp_sparse_free(sp_sparse *sparse)
{
    if (!sparse) return;
    drop_matrix(sparse);
    cholmod_finish(&sparse->common);
    sp_free(sparse);
}

sp_status sp_sparse_analyse(sp_context *context, sp_sparse *sparse, int n, const int *start,
                            const int *row)
{
    cholmod_common *c = &sparse->common;
    const double begin = now();
    drop_matrix(sparse);
    const size_t size = (size_t)n, entries = (size_t)start[n];
    sparse->matrix = cholmod_allocate_sparse(size, size, entries, 1, 1, -1, CHOLMOD_REAL, c);
    sparse->right = cholmod_allocate_dense(size, 1, size, CHOLMOD_REAL, c);
    sparse->diagonal = sp_alloc(size, sizeof(double));
    if (!sparse->matrix || !sparse->right || !sparse->diagonal)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a matrix of %d unknowns", n);
    memcpy(sparse->matrix->p, start, (size + 1) * sizeof(int));
    memcpy(sparse->matrix->i, row, entries * sizeof(int));
    memset(sparse->matrix->x, 0, entries * sizeof(double));
    sparse->factor = cholmod_analyze(sparse->matrix, c);
    sparse->count.analyses++;
    sparse->count.seconds_analyse += now() - begin;
    if (!sparse->factor)
        return sp_fail(context, c->status == CHOLMOD_OUT_OF_MEMORY ? SP_NO_MEMORY : SP_INTERNAL,
                       "the analysis of a matrix of %d unknowns failed (status %d)", n, c->status);
    return SP_OK;
}

double *sp_sparse_values(sp_sparse *sparse)
{
    return sparse->matrix->x;
}

static void add_shift(sp_sparse *sparse, double shift)
{
    const int *start = sparse->matrix->p;
    double *value = sparse->matrix->x, largest = 0;
    const size_t n = sparse->matrix->ncol;
    for (size_t j = 0; j < n; j++) {
        sparse->diagonal[j] = value[start[j]];
        largest = fmax(largest, fabs(value[start[j]]));
    }
    for (size_t j = 0; j < n; j++)
        value[start[j]] += shift * fmax(fabs(sparse->diagonal[j]), 1e-6 * largest);
}

static void take_shift_off(sp_sparse *sparse)
{
    const int *start = sparse->matrix->p;
    double *value = sparse->matrix->x;
    for (size_t j = 0; j < sparse->matrix->ncol; j++) value[start[j]] = sparse->diagonal[j];
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
    sparse->count.seconds_factor += now() - begin;
    sparse->count.factorizations++;
    if (shift > 0) take_shift_off(sparse);
    if (c->status < CHOLMOD_OK)
        return sp_fail(context, c->status == CHOLMOD_OUT_OF_MEMORY ? SP_NO_MEMORY : SP_INTERNAL,
                       "the factorization failed (status %d)", c->status);
    /* Not positive definite is a result, not an error: LDL' stops early only at a zero pivot. */
    *negative = sparse->factor->minor < sparse->factor->n ? -1 : count_negative(sparse->factor);
    return SP_OK;
}

sp_status sp_sparse_solve(sp_context *context, sp_sparse *sparse, const double *b, double *x)
{
    cholmod_common *c = &sparse->common;
    const double begin = now();
    memcpy(sparse->right->x, b, sparse->matrix->ncol * sizeof(double));
    const int fine = cholmod_solve2(CHOLMOD_A, sparse->factor, sparse->right, NULL, &sparse->answer,
                                    NULL, &sparse->work_y, &sparse->work_e, c);
    sparse->count.solves++;
    if (!fine) return sp_fail(context, SP_NO_MEMORY, "no memory to solve with the factor");
    memcpy(x, sparse->answer->x, sparse->matrix->ncol * sizeof(double));
    sparse->count.seconds_solve += now() - begin;
    return SP_OK;
}

sp_sparse_counts sp_sparse_count(const sp_sparse *sparse)
{
    return sparse->count;
}
