/* Inverse iteration (Bathe 1996, section 11.2; E18). */
#include <math.h>
#include <string.h>

#include "base/rng.h"
#include "state/softest.h"

static const int most_iterations = 60;

static void normalise(double *v, int n)
{
    double sum = 0;
    for (int i = 0; i < n; i++) sum += v[i] * v[i];
    const double inverse = 1 / sqrt(sum);
    for (int i = 0; i < n; i++) v[i] *= inverse;
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

sp_status sp_softest_direction(sp_context *context, sp_system *system, double *v, double *stiffness)
{
    const int n = system->model->unknown_count;
    sp_rng rng;
    sp_rng_seed(&rng, 1, 0);
    for (int i = 0; i < n; i++) v[i] = sp_rng_normal(&rng);
    normalise(v, n);
    double before = 0;
    sp_status status = SP_OK;
    for (int k = 0; k < most_iterations && status == SP_OK; k++) {
        memcpy(system->direction, v, (size_t)n * sizeof *v);
        status = sp_sparse_solve(context, system->sparse, v, v);
        double dot = 0;
        for (int i = 0; i < n; i++) dot += v[i] * system->direction[i];
        *stiffness = 1 / dot; /* Rayleigh quotient of the inverse */
        normalise(v, n);
        if (k > 4 && fabs(*stiffness - before) <= 1e-10 * fabs(*stiffness)) break;
        before = *stiffness;
    }
    const double scale = largest_move(system->model, v);
    for (int i = 0; scale > 0 && i < n; i++) v[i] /= scale;
    return status;
}
