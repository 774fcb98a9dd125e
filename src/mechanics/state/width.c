/* The potential Pi(q, u, width) has the force dPi/du. In equilibrium dPi/dq = 0 for any width, so
 * at fixed travel u
 *
 *     dF/dwidth = d2Pi/du dwidth + dq/du . d2Pi/dq dwidth,   dq/du = -K^-1 d2Pi/dq du,
 *
 * where dq/du is the tangent of the path, which is known for every accepted state: no system of
 * equations is solved here. The mixed derivatives are differences of force and gradient between a
 * narrower and a wider coupon under the same displacements (E235). */
#include "state/width.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"

/* The first stiffness is found by pressing the unloaded coupon by this share of its height. */
static const double small_travel = 1e-5;

int sp_width_is_alike(const sp_model *model, const sp_width_pair *pair)
{
    for (int i = 0; i < 2; i++) {
        const sp_model *other = pair->model[i];
        if (other->node_count != model->node_count ||
            other->element_count != model->element_count ||
            other->unknown_count != model->unknown_count)
            return 0;
    }
    return 1;
}

void sp_width_drop(sp_width_pair *pair)
{
    for (int i = 0; i < 2; i++) {
        if (pair->model[i]) sp_model_free(pair->model[i]);
        pair->model[i] = NULL;
    }
    sp_trim();
}

/* Find the values of the nodes of `other` under the displacements that `x` has in `model`. */
static void take_displacements(const sp_model *model, const double *x, const sp_model *other,
                               double *to)
{
    memcpy(to, x, (size_t)model->values * (size_t)model->node_count * sizeof *to);
    for (int n = 0; n < model->node_count; n++)
        for (int d = 0; d < model->dimension; d++) {
            const int i = model->values * n + d;
            to[i] += other->reference[i] - model->reference[i];
        }
}

/* Return dE/du along the tangent of the other coupon under the displacements of x [N]. */
static sp_status push_along(sp_context *context, const sp_system *system, const double *x,
                            double travel, const double *tangent, const sp_model *model,
                            double *push)
{
    sp_system other;
    *push = NAN;
    sp_status status = sp_system_create(context, model, 0, &other);
    if (status != SP_OK) return status;
    other.no_factor = 1;
    if (system->history) {
        memcpy(other.history, system->history,
               system->history_first[model->element_count] * sizeof(double));
        other.step_time = system->step_time;
    }
    status = sp_contact_copy_layers(context, &system->contact, &other.contact);
    take_displacements(system->model, x, model, other.trial);
    if (status == SP_OK) status = sp_system_evaluate(context, &other, other.trial, travel);
    if (status == SP_OK && other.energy < INFINITY) {
        *push = other.force;
        for (int i = 0; i < model->unknowns * model->node_count; i++)
            if (model->unknown[i] >= 0) *push += tangent[i] * other.gradient[i];
    }
    sp_system_free(&other);
    return status;
}

static sp_status slope_at(sp_context *context, const sp_system *system, const double *x,
                          double travel, const double *tangent, const sp_width_pair *pair,
                          double *slope)
{
    double push[2] = {NAN, NAN};
    sp_status status = SP_OK;
    sp_sparse_rest(system->sparse); /* the other coupons take as much memory for a moment */
    for (int i = 0; i < 2 && status == SP_OK; i++)
        status = push_along(context, system, x, travel, tangent, pair->model[i], &push[i]);
    sp_trim(); /* one more system had been there, with its contact */
    *slope = (push[1] - push[0]) / (2 * pair->step);
    return status;
}

sp_status sp_width_force_slope(sp_context *context, const sp_system *system, const double *tangent,
                               const sp_width_pair *pair, double *slope)
{
    return slope_at(context, system, system->x, system->shortening, tangent, pair, slope);
}

/* The first stiffness is the least value of v . H v over all v that go down by 1 with the platen,
 * and the tangent is the v that has it. For another H the same v has the least value to first
 * order. */
sp_status sp_width_stiffness_slope(sp_context *context, const sp_system *system,
                                   const double *tangent, const sp_width_pair *pair, double *slope)
{
    const sp_model *model = system->model;
    const double travel = small_travel * model->height;
    double *x = sp_alloc(sp_system_values(system), sizeof *x);
    if (!x)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a state of %d nodes",
                       model->node_count);
    sp_model_move(model, system->x, travel, tangent, x);
    const sp_status status = slope_at(context, system, x, travel, tangent, pair, slope);
    *slope /= travel;
    sp_free(x);
    return status;
}
