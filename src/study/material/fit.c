/* The fit: amounts of all parts by least squares without negative ones, softening and flow by a
 * search around them (E185, E186). */
#include <math.h>
#include <string.h>

#include <nlopt.h>

#include "base/alloc.h"
#include "material/material_parts.h"

static const int rounds = 3; /* softening goes by the energy of the curve that it softens */
static const double ridge = 1e-10, enough = 1e-9, within = 1e-4;
static const int wide_tries = 1200, near_tries = 400;
/* For a second branch that flows: its place alone, then all values together. */
static const int second_tries = 400, both_tries = 1200;
/* First steps of Subplex, and where it starts again from its own end, because the misfit has long
 * flat valleys: as long as that takes a share off it. */
static const double near_step = 0.05, again_step = 0.2, again_share = 1e-3;
static const int most_again = 5;
/* Rates, or a hold, that tell flow from relaxation. */
static const double rate_ratio = 3, least_hold = 30;

typedef double square[MAT_LINEAR][MAT_LINEAR];

typedef struct fitter {
    sp_context *context;
    const sp_material_tests *tests;
    int left_out, softens, flows;
    double *rows;
    mat_model model, best;
    nlopt_opt optimizer;
    int first; /* of the values that are searched; the others stay as they are in `best` */
} fitter;

/* --- least squares without negative parts (Lawson & Hanson 1974, on the normal equations) --- */

/* Solve for the amounts of the parts in `set`; returns 0 when two parts cannot be told apart. */
static int solve_set(square a, const double *b, const int *set, double *x)
{
    double m[MAT_LINEAR][MAT_LINEAR + 1];
    int at[MAT_LINEAR], n = 0;
    for (int i = 0; i < MAT_LINEAR; i++)
        if (set[i]) at[n++] = i;
    for (int i = 0; i < n; i++) {
        for (int j = 0; j < n; j++) m[i][j] = a[at[i]][at[j]];
        m[i][n] = b[at[i]];
    }
    for (int i = 0; i < n; i++) {
        if (!(m[i][i] > 0)) return 0;
        for (int k = i + 1; k < n; k++) {
            const double f = m[k][i] / m[i][i];
            for (int j = i; j <= n; j++) m[k][j] -= f * m[i][j];
        }
    }
    memset(x, 0, MAT_LINEAR * sizeof *x);
    for (int i = n - 1; i >= 0; i--) {
        double sum = m[i][n];
        for (int j = i + 1; j < n; j++) sum -= m[i][j] * x[at[j]];
        x[at[i]] = sum / m[i][i];
    }
    return 1;
}

/* The part outside of the set that would lessen the misfit most; -1: none would. */
static int most_wanted(square a, const double *b, const double *x, const int *set)
{
    int best = -1;
    double most = enough;
    for (int i = 0; i < MAT_LINEAR; i++) {
        double pull = b[i];
        for (int j = 0; j < MAT_LINEAR; j++) pull -= a[i][j] * x[j];
        if (!set[i] && a[i][i] > 0 && pull / sqrt(a[i][i]) > most) {
            most = pull / sqrt(a[i][i]);
            best = i;
        }
    }
    return best;
}

/* Go towards the amounts of the set until one of them comes to nothing, leave that one out, and
 * again. */
static int settle_set(square a, const double *b, int *set, double *x)
{
    double trial[MAT_LINEAR];
    for (;;) {
        double share = 1;
        int first = -1;
        if (!solve_set(a, b, set, trial)) return 0;
        for (int i = 0; i < MAT_LINEAR; i++)
            if (set[i] && trial[i] <= 0 && x[i] <= share * (x[i] - trial[i])) {
                share = x[i] / fmax(x[i] - trial[i], 1e-300);
                first = i;
            }
        for (int i = 0; i < MAT_LINEAR; i++) x[i] += share * (trial[i] - x[i]);
        if (first < 0) return 1;
        set[first] = 0;
        x[first] = 0;
    }
}

static void least_squares(square a, const double *b, double *x)
{
    int set[MAT_LINEAR] = {0};
    memset(x, 0, MAT_LINEAR * sizeof *x);
    for (int tries = 0; tries < 4 * MAT_LINEAR; tries++) {
        const int next = most_wanted(a, b, x, set);
        if (next < 0) return;
        set[next] = 1;
        if (!settle_set(a, b, set, x)) {
            set[next] = 0;
            x[next] = 0;
            return;
        }
    }
}

/* --- amounts under given softening and flow --- */

static int is_used(const fitter *f, int number)
{
    return f->tests->test[number].fitted && number != f->left_out;
}

/* Normal equations of all used tests, each over its peak; returns the square of what is to be
 * fitted. */
static double normal_equations(fitter *f, square a, double *b)
{
    double sum = 0, tests = 0;
    memset(a, 0, sizeof(square));
    memset(b, 0, MAT_LINEAR * sizeof *b);
    for (int t = 0; t < f->tests->count; t++) tests += is_used(f, t);
    for (int t = 0; t < f->tests->count; t++) {
        const mat_test *test = &f->tests->test[t];
        if (!is_used(f, t)) continue;
        sp_material_answers(&f->model, test, f->rows);
        int points = 0;
        for (int k = 0; k < test->count; k++) points += sp_material_counts(test, k);
        const double weight = 1 / (tests * points * test->peak * test->peak);
        for (int k = 0; k < test->count; k++) {
            if (!sp_material_counts(test, k)) continue;
            const double *row = f->rows + MAT_LINEAR * k, y = test->stress[k];
            sum += weight * y * y;
            for (int i = 0; i < MAT_LINEAR; i++) {
                b[i] += weight * row[i] * y;
                for (int j = 0; j <= i; j++) a[i][j] += weight * row[i] * row[j];
            }
        }
    }
    for (int i = 0; i < MAT_LINEAR; i++) {
        a[i][i] *= 1 + ridge;
        for (int j = 0; j < i; j++) a[j][i] = a[i][j];
    }
    return sum;
}

static void fit_amounts(fitter *f)
{
    mat_model *model = &f->model;
    for (int round = 0; round < (model->ratio > 0 ? rounds : 1); round++) {
        square a;
        double b[MAT_LINEAR], x[MAT_LINEAR], left = normal_equations(f, a, b);
        least_squares(a, b, x);
        for (int i = 0; i < MAT_LINEAR; i++) {
            left -= 2 * x[i] * b[i];
            for (int j = 0; j < MAT_LINEAR; j++) left += x[i] * a[i][j] * x[j];
        }
        memcpy(model->shape, x, sizeof model->shape);
        memcpy(model->branch, x + MAT_SHAPES, sizeof model->branch);
        memcpy(model->flow_stress, x + MAT_FLOW, sizeof model->flow_stress);
        model->misfit = sqrt(fmax(0, left));
    }
}

/* --- the search --- */

static double highest_peak(const sp_material_tests *tests)
{
    double peak = 0;
    for (int t = 0; t < tests->count; t++) peak = fmax(peak, tests->test[t].peak);
    return peak;
}

/* Take the values that are searched, n of them; a branch that flows and is not reached is none. */
static void put_search(fitter *f, int n, const double *found)
{
    mat_model *m = &f->model;
    const double *v = m->search;
    memcpy(m->search + f->first, found, (size_t)n * sizeof *found);
    m->ratio = 0;
    memset(m->flow_stiffness, 0, sizeof m->flow_stiffness);
    if (f->softens) {
        m->ratio = 1 / fmax(1e-3, v[0]);
        m->energy = pow(10, 4 * v[1] - 4) * highest_peak(f->tests) * m->reach;
        m->share = pow(10, 4 * v[2] - 3);
    }
    for (int i = 0; i < f->flows && MAT_SOFTENING + 2 * i < f->first + n; i++) {
        const double *flow = v + MAT_SOFTENING + 2 * i;
        m->flow_stiffness[i] = pow(10, 3 * flow[0]) / m->reach;
        m->flow_time[i] = pow(10, 8 * flow[1] - 1);
    }
}

static double misfit_at(unsigned n, const double *v, double *gradient, void *data)
{
    fitter *f = data;
    (void)gradient;
    put_search(f, (int)n, v);
    fit_amounts(f);
    if (f->model.misfit < f->best.misfit) f->best = f->model;
    if (f->context && f->context->interrupt && *f->context->interrupt)
        nlopt_force_stop(f->optimizer);
    return f->model.misfit;
}

static sp_status run(fitter *f, nlopt_algorithm way, int n, int tries, double first, double *x)
{
    double value;
    f->optimizer = nlopt_create(way, (unsigned)n);
    nlopt_result done = f->optimizer ? NLOPT_SUCCESS : NLOPT_OUT_OF_MEMORY;
    if (done > 0) done = nlopt_set_lower_bounds1(f->optimizer, 0);
    if (done > 0) done = nlopt_set_upper_bounds1(f->optimizer, 1);
    if (done > 0) done = nlopt_set_min_objective(f->optimizer, misfit_at, f);
    if (done > 0) done = nlopt_set_initial_step1(f->optimizer, first);
    if (done > 0) done = nlopt_set_xtol_abs1(f->optimizer, within);
    if (done > 0) done = nlopt_set_maxeval(f->optimizer, tries);
    if (done > 0) done = nlopt_optimize(f->optimizer, x, &value);
    nlopt_destroy(f->optimizer);
    if (done == NLOPT_FORCED_STOP)
        return sp_fail(f->context, SP_INTERRUPTED, "interrupted in the fit; nothing is written");
    return done == NLOPT_OUT_OF_MEMORY ? sp_fail(f->context, SP_NO_MEMORY, "no memory for a fit")
                                       : SP_OK;
}

/* Start Subplex again from its own end as long as that helps. */
static sp_status search_again(fitter *f, int n)
{
    double x[MAT_SEARCH], before = INFINITY;
    sp_status status = SP_OK;
    for (int i = 0;
         i < most_again && status == SP_OK && f->best.misfit < (1 - again_share) * before; i++) {
        before = f->best.misfit;
        memcpy(x, f->best.search, sizeof x);
        status = run(f, NLOPT_LN_SBPLX, n, near_tries, again_step, x);
    }
    return status;
}

/* Find softening and the first branch that flows, at least its place. */
static sp_status search_one(fitter *f, int refines)
{
    enum { N = MAT_SOFTENING + 2 };
    double x[N] = {0.5, 0.5, 0.5, 0.5, 0.5};
    sp_status status = SP_OK;
    if (refines) memcpy(x, f->model.search, sizeof x);
    misfit_at(N, x, NULL, f);
    if (!f->softens && !f->flows) return SP_OK;
    if (!refines) {
        status = run(f, NLOPT_GN_DIRECT_L, N, wide_tries, near_step, x);
        memcpy(x, f->best.search, sizeof x);
    }
    if (status == SP_OK) status = run(f, NLOPT_LN_SBPLX, N, near_tries, near_step, x);
    return status == SP_OK && !refines ? search_again(f, N) : status;
}

/* Beside what was found with one branch that flows, look for the place of a second one, then for
 * all values together: the misfit only falls. */
static sp_status search_second(fitter *f, int refines)
{
    double x[MAT_SEARCH];
    sp_status status = SP_OK;
    if (!refines) {
        double place[2] = {0.5, 0.5};
        f->first = MAT_SEARCH - 2;
        f->model = f->best;
        status = run(f, NLOPT_GN_DIRECT_L, 2, second_tries, near_step, place);
        f->first = 0;
    }
    memcpy(x, refines ? f->model.search : f->best.search, sizeof x);
    if (status == SP_OK) status = run(f, NLOPT_LN_SBPLX, MAT_SEARCH, both_tries, near_step, x);
    return status;
}

static sp_status search(fitter *f, int refines)
{
    if (f->flows == MAT_FLOWS && refines) return search_second(f, refines);
    const sp_status status = search_one(f, refines);
    return status == SP_OK && f->flows == MAT_FLOWS ? search_second(f, refines) : status;
}

int sp_material_softens(const sp_material_tests *tests)
{
    int turns = 0;
    for (int t = 0; t < tests->count; t++) turns += tests->test[t].fitted && tests->test[t].turns;
    return tests->softens >= 0 ? tests->softens : turns > 0;
}

int sp_material_flows(const sp_material_tests *tests)
{
    double low = INFINITY, high = 0, held = 0;
    for (int t = 0; t < tests->count; t++) {
        const mat_test *test = &tests->test[t];
        if (!test->fitted || test->set > 0) continue;
        low = fmin(low, test->rate);
        high = fmax(high, test->rate);
        held = fmax(held, test->held);
    }
    return tests->flows >= 0 ? tests->flows : high > rate_ratio * low && held > least_hold;
}

sp_status sp_material_fit_model(sp_context *context, const sp_material_tests *tests, int left_out,
                                int refines, mat_model *model)
{
    int most = 0;
    for (int t = 0; t < tests->count; t++)
        most = tests->test[t].count > most ? tests->test[t].count : most;
    fitter f = {.context = context,
                .tests = tests,
                .left_out = left_out,
                .softens = sp_material_softens(tests),
                .flows = sp_material_flows(tests),
                .model = *model,
                .best = {.misfit = INFINITY}};
    f.rows = sp_alloc((size_t)most * MAT_LINEAR, sizeof *f.rows);
    if (!f.rows) return sp_fail(context, SP_NO_MEMORY, "no memory for a fit");
    const sp_status status = search(&f, refines);
    sp_free(f.rows);
    *model = f.best;
    return status;
}
