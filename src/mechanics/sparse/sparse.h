/* This is the linear solver behind five calls, and the only user of cholmod.h.
 *
 * It holds one symmetric matrix, the lower triangle by columns. CHOLMOD analyses each pattern once:
 * it finds the order of elimination and the columns that are eliminated together. The fronts of
 * fronts.h factor the matrix often, to LDL' in that order. As many of the pivots D are negative as
 * eigenvalues are (Sylvester's law of inertia), and a matrix that is not positive definite is
 * factored as well. BLAS is not called. Figures do not depend on the number of threads, nor on the
 * instruction set. */
#ifndef SP_SPARSE_H
#define SP_SPARSE_H

#include <strutpress/context.h>

typedef struct sp_sparse sp_sparse;

/* Make a solver without a matrix. `count_pivots` 1: it goes on where a pivot is negative, and
 * counts the negative ones. `by_nodes` 1: unknowns come in runs with the same neighbours, as the
 * six of a node in space, and are ordered and analysed by runs. Errors: SP_NO_MEMORY. */
sp_status sp_sparse_create(sp_context *context, int count_pivots, int by_nodes, sp_sparse **sparse);
void sp_sparse_free(sp_sparse *sparse);

/* Ask a solver by nodes to find two orders of elimination of every pattern from a few thousand
 * unknowns on, and to take the one with fewer operations. */
void sp_sparse_weigh_orders(sp_sparse *sparse);

/* Give the work space of factorizations back to the system until the next one, so that it holds
 * something else meanwhile. The factor stays. */
void sp_sparse_rest(sp_sparse *sparse);

/* Take a new pattern (copied) and analyse it: size n, column starts (n + 1), sorted rows >= column,
 * with the diagonal. `source` says where each entry stands in the array that sp_sparse_load reads.
 */
sp_status sp_sparse_analyse(sp_context *context, sp_sparse *sparse, int n, const int *start,
                            const int *row, const int *source);

/* Take the values of the matrix from the caller's array, which has to stay as it is until the
 * matrix is factored. */
void sp_sparse_load(sp_sparse *sparse, const double *value);

/* Factor K + shift D of the loaded values, where D is the larger of |diag K| and a share of its
 * largest entry. *negative gets 0 when that sum is positive definite, else the number of negative
 * pivots (LDL'), or -1 where the number is not known, and there is no factor to solve with. */
sp_status sp_sparse_factor(sp_context *context, sp_sparse *sparse, double shift, int *negative);

/* Return 1 when there is a complete factor of the last pattern, whatever values were factored. */
int sp_sparse_is_factored(const sp_sparse *sparse);

/* Set out (n) to D v of the loaded values, D as above; out may not be v. */
void sp_sparse_weigh(const sp_sparse *sparse, const double *v, double *out);

/* Solve with the last factor: x (n) from b (n); x may be b. */
sp_status sp_sparse_solve(sp_context *context, sp_sparse *sparse, const double *b, double *x);

/* These counters run since creation. */
typedef struct sp_sparse_counts {
    int analyses, factorizations, solves;
    double seconds_analyse, seconds_factor, seconds_solve;
    /* These count the factorizations that were completed: operations, and seconds. */
    double operations, seconds_complete;
} sp_sparse_counts;
sp_sparse_counts sp_sparse_count(const sp_sparse *sparse);

#endif
