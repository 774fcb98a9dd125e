/* These tests check the fronts of the sparse solver against plain dense sums, their loops of every
 * instruction set against each other, and several threads against one; the last two agree to the
 * last bit. */
#include <stdlib.h>
#include <string.h>

#include <omp.h>

#include "base/alloc.h"
#include "check.h"
#include "sparse/lanes.h"
#include "sparse/sparse.h"

enum { ROWS = 37, DEPTH = 21, STRIDE = ROWS + 11 };

typedef struct numbers {
    double l[STRIDE * DEPTH], w[4 * DEPTH], c[STRIDE * 4], t[16], inverse[4], dot[4];
} numbers;

static double next(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u; /* Numerical Recipes' generator: any will do here */
    return (double)(*state >> 8) / (1 << 24) - 0.5;
}

static void fill(numbers *n)
{
    unsigned state = 7;
    double *all = (double *)n;
    for (size_t i = 0; i < sizeof *n / sizeof *all; i++) all[i] = next(&state);
}

/* Runs of every length up to 20 are added where they belong, and nothing beside them is changed. */
static void runs_are_scattered(void **unused)
{
    (void)unused;
    enum { MOST = 20, GAP = 3, COUNT = MOST * (MOST + 1) / 2, PLACES = COUNT + GAP * (MOST + 1) };
    const sp_lanes *list[SP_WAY_MAX];
    const int ways = sp_lanes_list(list);
    int target[COUNT], run[COUNT], at = 0;
    double from[COUNT], to[PLACES], sum[PLACES];
    for (int length = 1, place = GAP; length <= MOST; length++, place += GAP)
        for (int i = 0; i < length; i++, at++) {
            target[at] = place++;
            run[at] = length - i;
            from[at] = 1.0 / (at + 3);
        }
    for (int k = 0; k < ways; k++)
        for (int first = 0; first < COUNT; first++) {
            for (int i = 0; i < PLACES; i++) to[i] = sum[i] = 0.1 * i;
            for (int i = first; i < COUNT; i++) sum[target[i]] += from[i];
            list[k]->scatter(COUNT - first, target + first, run + first, from + first, to);
            assert_memory_equal(to, sum, sizeof to);
        }
}

/* Every way gives the result of plain sums, rounded as it states, and all ways that fuse give the
 * same bits. */
static void loops_agree(void **unused)
{
    (void)unused;
    const sp_lanes *list[SP_WAY_MAX];
    const int ways = sp_lanes_list(list);
    for (int width = 1; width <= 4; width++)
        for (int fresh = 0; fresh < 2; fresh++) {
            static numbers first, n, before;
            fill(&before);
            for (int k = 0; k < ways; k++) {
                n = before;
                list[k]->subtract(ROWS, DEPTH, width, n.l, STRIDE, n.w, fresh, n.c, STRIDE);
                for (int j = 0; j < width; j++)
                    for (int r = 0; r < ROWS; r++) {
                        double sum = fresh ? 0 : before.c[STRIDE * j + r];
                        for (int d = 0; d < DEPTH; d++) {
                            const double a = before.l[STRIDE * d + r], b = before.w[4 * d + j];
                            sum = list[k]->fused ? fma(-a, b, sum) : sum - a * b;
                        }
                        check_close(n.c[STRIDE * j + r], sum, 0);
                    }
                list[k]->divide(ROWS, width, n.t, n.inverse, n.c, STRIDE);
                list[k]->dot(ROWS - 5, width, n.l, STRIDE, n.c, n.dot);
                if (k == 0 || list[k]->fused > list[k - 1]->fused) first = n;
                assert_memory_equal(&first, &n, sizeof n);
            }
        }
}

/* Make a symmetric matrix on a grid of squares with two unknowns at a place. */
typedef struct grid {
    int n, *start, *row, *source;
    double *value;
} grid;

static void add(grid *g, int *at, int row, double value)
{
    g->row[*at] = row;
    g->source[*at] = *at;
    g->value[(*at)++] = value;
}

static grid make_grid(int wide, double diagonal)
{
    unsigned state = 3;
    grid g = {.n = 2 * wide * wide};
    const size_t most = 4 * (size_t)g.n;
    g.start = sp_alloc((size_t)g.n + 1, sizeof(int));
    g.row = sp_alloc(most, sizeof(int));
    g.source = sp_alloc(most, sizeof(int));
    g.value = sp_alloc(most, sizeof(double));
    assert_true(g.start && g.row && g.source && g.value);
    int at = 0;
    for (int j = 0; j < g.n; j++) {
        const int place = j / 2;
        g.start[j] = at;
        add(&g, &at, j, diagonal + next(&state));
        if (j % 2 == 0) add(&g, &at, j + 1, next(&state));
        if (place % wide + 1 < wide) add(&g, &at, j + 2, -1 + 0.3 * next(&state));
        if (place / wide + 1 < wide) add(&g, &at, j + 2 * wide, -1 + 0.3 * next(&state));
    }
    g.start[g.n] = at;
    return g;
}

static void free_grid(grid *g)
{
    sp_free(g->start);
    sp_free(g->row);
    sp_free(g->source);
    sp_free(g->value);
}

/* Return the largest entry of b less K x. */
static double left_over(const grid *g, const double *x, const double *b)
{
    double *sum = sp_alloc((size_t)g->n, sizeof(double)), most = 0;
    assert_non_null(sum);
    for (int j = 0; j < g->n; j++)
        for (int k = g->start[j]; k < g->start[j + 1]; k++) {
            sum[g->row[k]] += g->value[k] * x[j];
            if (g->row[k] != j) sum[j] += g->value[k] * x[g->row[k]];
        }
    for (int j = 0; j < g->n; j++) most = fmax(most, fabs(b[j] - sum[j]));
    sp_free(sum);
    return most;
}

/* Count negative eigenvalues by Gauss's elimination of the dense matrix (Sylvester). */
static int negative_of(const grid *g)
{
    const size_t n = (size_t)g->n;
    double *a = sp_alloc(n * n, sizeof(double));
    int negative = 0;
    assert_non_null(a);
    for (size_t j = 0; j < n; j++)
        for (int k = g->start[j]; k < g->start[j + 1]; k++)
            a[n * (size_t)g->row[k] + j] = a[n * j + (size_t)g->row[k]] = g->value[k];
    for (size_t p = 0; p < n; p++) {
        negative += a[n * p + p] < 0;
        for (size_t i = p + 1; i < n; i++) {
            const double f = a[n * i + p] / a[n * p + p];
            for (size_t k = p; f != 0 && k < n; k++) a[n * i + k] -= f * a[n * p + k];
        }
    }
    sp_free(a);
    return negative;
}

/* Solve with a grid on `threads` threads into x; returns the number of negative pivots. */
static int solve(const grid *g, int threads, int count_pivots, const double *b, double *x)
{
    sp_context context = {0};
    sp_sparse *sparse;
    int negative;
    const int before = omp_get_max_threads();
    omp_set_num_threads(threads);
    assert_int_equal(sp_sparse_create(&context, count_pivots, 0, &sparse), SP_OK);
    assert_int_equal(sp_sparse_analyse(&context, sparse, g->n, g->start, g->row, g->source), SP_OK);
    for (int again = 0; again < 2; again++) { /* nothing is left of the first one */
        sp_sparse_load(sparse, g->value);
        assert_int_equal(sp_sparse_factor(&context, sparse, 0, &negative), SP_OK);
    }
    if (negative >= 0) assert_int_equal(sp_sparse_solve(&context, sparse, b, x), SP_OK);
    sp_sparse_free(sparse);
    omp_set_num_threads(before);
    return negative;
}

static void any_definiteness(void **unused)
{
    (void)unused;
    static const int wide[] = {1, 2, 3, 5, 9, 17};
    static const double diagonal[] = {5, 2.3, 0.7, -1.1, -5};
    for (size_t i = 0; i < sizeof wide / sizeof *wide; i++)
        for (size_t d = 0; d < sizeof diagonal / sizeof *diagonal; d++) {
            grid g = make_grid(wide[i], diagonal[d]);
            double *b = sp_alloc((size_t)g.n, sizeof *b), *x = sp_alloc((size_t)g.n, sizeof *x);
            assert_true(b && x);
            for (int j = 0; j < g.n; j++) b[j] = 1 + j % 3;
            const int wanted = negative_of(&g);
            assert_int_equal(solve(&g, 1, 1, b, x), wanted);
            check_close(left_over(&g, x, b), 0, 1e-9);
            assert_int_equal(solve(&g, 1, 0, b, x), wanted > 0 ? -1 : 0);
            sp_free(b);
            sp_free(x);
            free_grid(&g);
        }
}

/* This one is large enough for subtrees and fronts to be shared. */
static void any_number_of_threads(void **unused)
{
    (void)unused;
    grid g = make_grid(260, 5);
    const size_t size = (size_t)g.n;
    double *b = sp_alloc(size, sizeof *b), *x = sp_alloc(size, sizeof *x),
           *y = sp_alloc(size, sizeof *y);
    assert_true(b && x && y);
    for (int j = 0; j < g.n; j++) b[j] = 1 + j % 7;
    assert_int_equal(solve(&g, 1, 1, b, x), 0);
    check_close(left_over(&g, x, b), 0, 1e-11);
    for (int threads = 2; threads < 5; threads++) {
        assert_int_equal(solve(&g, threads, 1, b, y), 0);
        assert_memory_equal(x, y, size * sizeof *x);
    }
    sp_free(b);
    sp_free(x);
    sp_free(y);
    free_grid(&g);
}

/* Return the operations of the factor of a grid whose order is found by runs, and solve with it. */
static double operations_of(const grid *g, int weigh, const double *b, double *x)
{
    sp_context context = {0};
    sp_sparse *sparse;
    int negative;
    assert_int_equal(sp_sparse_create(&context, 0, 1, &sparse), SP_OK);
    if (weigh) sp_sparse_weigh_orders(sparse);
    /* The second pattern finds the order of the first. */
    for (int i = 0; i < 2; i++)
        assert_int_equal(sp_sparse_analyse(&context, sparse, g->n, g->start, g->row, g->source),
                         SP_OK);
    sp_sparse_load(sparse, g->value);
    assert_int_equal(sp_sparse_factor(&context, sparse, 0, &negative), SP_OK);
    assert_int_equal(negative, 0);
    assert_int_equal(sp_sparse_solve(&context, sparse, b, x), SP_OK);
    const double operations = sp_sparse_count(sparse).operations;
    sp_sparse_free(sparse);
    return operations;
}

/* Of two orders the one with fewer operations is taken: on these grids never more than by degrees
 * alone, and on some of them less; either solves. */
static void cheaper_order(void **unused)
{
    (void)unused;
    static const int wide[] = {20, 50, 70, 95};
    int fewer = 0;
    for (size_t i = 0; i < sizeof wide / sizeof *wide; i++) {
        grid g = make_grid(wide[i], 5);
        double *b = sp_alloc((size_t)g.n, sizeof *b), *x = sp_alloc((size_t)g.n, sizeof *x);
        assert_true(b && x);
        for (int j = 0; j < g.n; j++) b[j] = 1 + j % 5;
        const double by_degree = operations_of(&g, 0, b, x);
        check_close(left_over(&g, x, b), 0, 1e-11);
        const double weighed = operations_of(&g, 1, b, x);
        check_close(left_over(&g, x, b), 0, 1e-11);
        check_true(weighed <= by_degree);
        fewer += weighed < 0.99 * by_degree;
        sp_free(b);
        sp_free(x);
        free_grid(&g);
    }
    check_true(fewer > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(loops_agree),      cmocka_unit_test(runs_are_scattered),
        cmocka_unit_test(any_definiteness), cmocka_unit_test(any_number_of_threads),
        cmocka_unit_test(cheaper_order),
    };
    return cmocka_run_group_tests_name("fronts", tests, NULL, NULL);
}
