/* The model that is fitted, in log strain and true stress (E183, E184): what stays of the stress
 * for ever, softened, and branches. It is the law in time of a free strut (law/in_time.h) with a
 * curve of few parts, all of which but softening and flow are linear. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "law/flow.h"
#include "material/material_parts.h"

/* Places where a part of the curve bends, as shares of the reach; the last two parts do not bend:
 * one is straight, one cubic. */
static const double bend[MAT_SHAPES] = {0.02, 0.05, 0.1, 0.2, 0.4, 1, 0, 0};
enum { STRAIGHT = MAT_SHAPES - 2, CUBIC = MAT_SHAPES - 1 };

double sp_material_shape(int j, double reach, double e, double *integral)
{
    const double a = fabs(e), at = bend[j] * reach;
    if (j == STRAIGHT) {
        *integral = 0.5 * e * e;
        return e;
    }
    if (j == CUBIC) {
        *integral = 0.25 * e * e * e * e / (reach * reach);
        return e * e * e / (reach * reach);
    }
    *integral = at * at * (a / at + log1p(exp(-2 * a / at)) - M_LN2); /* log cosh */
    return at * tanh(e / at);
}

double sp_material_equilibrium(const mat_model *model, double e, double *energy)
{
    double stress = 0;
    *energy = 0;
    for (int j = 0; j < MAT_SHAPES; j++) {
        double w;
        stress += model->shape[j] * sp_material_shape(j, model->reach, e, &w);
        *energy += model->shape[j] * w;
    }
    return stress;
}

/* Return the share that softening leaves of the stress (E121); *largest is the largest energy so
 * far. */
static double softened(const mat_model *model, double energy, double *largest)
{
    *largest = fmax(*largest, energy);
    const double m = model->energy + model->share * *largest;
    if (!(model->ratio > 0) || !(m > 0)) return 1;
    return 1 - erf((*largest - energy) / m) / model->ratio;
}

static double mean_decay(double th)
{
    return th > 1e-8 ? -expm1(-th) / th : 1;
}

/* The history of a fibre so far. */
typedef struct past {
    double branch[MAT_BRANCHES], flow[MAT_FLOWS], largest;
} past;

/* Take one step of the log strain `de` in the time `dt` and write what each unit amount answers
 * into a row. */
static void step(const mat_model *model, double e, double de, double dt, past *p, double *row)
{
    double energy, unused;
    sp_material_equilibrium(model, e, &energy);
    const double left = softened(model, energy, &p->largest);
    memset(row, 0, MAT_LINEAR * sizeof *row);
    for (int j = 0; j < MAT_SHAPES; j++)
        row[j] = left * sp_material_shape(j, model->reach, e, &unused);
    for (int i = 0; i < model->branch_count; i++) {
        const double th = dt / model->time[i];
        p->branch[i] = exp(-th) * p->branch[i] + mean_decay(th) * de;
        row[MAT_SHAPES + i] = p->branch[i];
    }
    for (int i = 0; i < MAT_FLOWS; i++) {
        if (!(model->flow_stiffness[i] > 0)) continue;
        p->flow[i] = sp_law_flow_end(sp_law_flow_ready(p->flow[i], dt / model->flow_time[i]),
                                     model->flow_stiffness[i] * de);
        row[MAT_FLOW + i] = p->flow[i];
    }
}

void sp_material_answers(const mat_model *model, const mat_test *test, double *rows)
{
    past p = {.largest = 0};
    for (int k = 0; k < test->count; k++) {
        const double dt = k ? test->time[k] - test->time[k - 1] : 0,
                     de = k ? test->strain[k] - test->strain[k - 1] : 0;
        step(model, test->strain[k], de, dt, &p, rows + MAT_LINEAR * k);
    }
}

static double sum_of(const mat_model *model, const double *row)
{
    double sum = 0;
    for (int i = 0; i < MAT_FLOWS; i++) sum += model->flow_stress[i] * row[MAT_FLOW + i];
    for (int j = 0; j < MAT_SHAPES; j++) sum += model->shape[j] * row[j];
    for (int i = 0; i < MAT_BRANCHES; i++) sum += model->branch[i] * row[MAT_SHAPES + i];
    return sum;
}

void sp_material_stress(const mat_model *model, const mat_test *test, double *rows, double *stress)
{
    sp_material_answers(model, test, rows);
    for (int k = 0; k < test->count; k++) stress[k] = sum_of(model, rows + MAT_LINEAR * k);
}

double sp_material_slow_modulus(const mat_model *model)
{
    double sum = 0;
    for (int j = 0; j < CUBIC; j++) sum += model->shape[j];
    return sum;
}

double sp_material_quick_modulus(const mat_model *model)
{
    double sum = sp_material_slow_modulus(model);
    for (int i = 0; i < MAT_FLOWS; i++) sum += model->flow_stress[i] * model->flow_stiffness[i];
    for (int i = 0; i < model->branch_count; i++) sum += model->branch[i];
    return sum;
}

/* Find the strain at which there is no stress after so long a step, by halving: the stress grows
 * with the strain. */
static double free_strain(const mat_model *model, double from, double dt, const past *before)
{
    double low = -model->reach, high = 2 * model->reach, row[MAT_LINEAR];
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        past p = *before;
        step(model, middle, middle - from, dt, &p, row);
        if (sum_of(model, row) > 0)
            high = middle;
        else
            low = middle;
    }
    return 0.5 * (low + high);
}

double sp_material_set(const mat_model *model, double strain, double held, double free)
{
    double row[MAT_LINEAR];
    past p = {.largest = 0};
    double e = log1p(strain);
    for (int i = 1; i <= 10; i++) step(model, e * i / 10, e / 10, 1, &p, row);
    for (double t = 0.1, at = 0; at < held; at += t, t *= 1.2)
        step(model, e, 0, fmin(t, held - at), &p, row);
    for (double t = 0.1, at = 0; at < free; at += t, t *= 1.2) {
        const double dt = fmin(t, free - at), next = free_strain(model, e, dt, &p);
        step(model, next, next - e, dt, &p, row);
        e = next;
    }
    return expm1(e) / strain;
}

mat_loop sp_material_loop(const mat_test *test, const double *stress)
{
    mat_loop loop = {0, NAN, NAN};
    double in = 0, out = 0;
    const double far = fabs(expm1(test->strain[test->deepest]));
    for (int k = 0; k < test->count; k++) loop.peak = fmax(loop.peak, fabs(stress[k]));
    for (int k = 1; k < test->count && isnan(loop.left); k++) {
        const double e = test->strain[k], before = test->strain[k - 1];
        const double work = 0.5 * (stress[k] + stress[k - 1]) * (e - before);
        if (k <= test->deepest)
            in += work;
        else if (stress[k] * stress[test->deepest] > 0)
            out -= work;
        else
            loop.left =
                fabs(expm1(before + stress[k - 1] / (stress[k - 1] - stress[k]) * (e - before))) /
                far;
    }
    if (test->turns && in > 0) loop.loss = 1 - out / in;
    return loop;
}
