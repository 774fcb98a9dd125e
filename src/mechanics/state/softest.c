/* The softest direction is found by inverse iteration (Bathe 1996, section 11.2; E18). */
#include <math.h>

#include "base/rng.h"
#include "state/free_moves.h"
#include "state/softest.h"

static const int most_iterations = 60;

static void scale_by(double factor, double *v, int n)
{
    for (int i = 0; i < n; i++) v[i] *= factor;
}

static double dot(const double *a, const double *b, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

static double largest_move(const sp_model *model, const double *v)
{
    double largest = 0;
    for (int n = 0; n < model->node_count; n++) {
        double square = 0;
        for (int d = 0; d < model->dimension; d++) {
            const int u = model->unknown[model->unknowns * n + d];
            if (u >= 0) square += v[u] * v[u];
        }
        largest = fmax(largest, square);
    }
    return sqrt(largest);
}

sp_status sp_softest_direction(sp_context *context, sp_system *system, double *softest)
{
    const int n = system->model->unknown_count;
    double *v = system->softest, *weighed = system->direction, before = 0;
    sp_free_moves moves;
    sp_rng rng;
    sp_free_moves_find(system, &moves);
    sp_rng_seed(&rng, 1, 0);
    for (int i = 0; i < n; i++) v[i] = sp_rng_normal(&rng);
    sp_status status = SP_OK;
    for (int k = 0; k < most_iterations && status == SP_OK; k++) {
        sp_free_moves_take_out(system, &moves, v);
        sp_sparse_weigh(system->sparse, v, weighed);
        scale_by(1 / sqrt(dot(v, weighed, n)), weighed, n);
        status = sp_sparse_solve(context, system->sparse, weighed, v);
        const double stiffness = 1 / dot(v, weighed, n); /* Rayleigh quotient of the inverse */
        const int settled = k > 4 && fabs(stiffness - before) <= 1e-10 * fabs(stiffness);
        before = stiffness;
        if (settled) break;
    }
    if (softest) *softest = before;
    sp_free_moves_take_out(system, &moves, v);
    const double largest = largest_move(system->model, v);
    if (largest > 0) scale_by(1 / largest, v, n);
    return status;
}
