/* Inertia-controlled Newton (Nocedal & Wright 2006, sections 3.4 and 6): K + shift D is factored with the smallest
 * shift tried that makes it positive definite, so that the direction is downhill; Armijo line search on the energy;
 * no point moves further than a fraction of the thinnest strut, no pair of struts more than its distance. E14, E15 */
#include <math.h>
#include <string.h>

#include "state/equilibrium.h"

static const double residual_share = 1e-6; /* of the platen force */
static const double force_floor =
    1e-8; /* of the thickest strut's axial stiffness, when the platen force is small */
static const double decrement_share = 1e-10; /* of the energy */
static const double round_off = 1e-13;       /* of the energy, in its sum */
static const double least_shift = 1e-6, first_shift = 1e-4, shift_growth = 4, last_shift = 1e7;
static const double turn_cap = 0.8; /* rad, per iteration */
static const double armijo = 1e-4, least_fraction = 1e-9;

static double tolerance(const sp_system *system)
{
    double stiffest = 0;
    for (int s = 0; s < system->model->network->strut_count; s++)
        stiffest = fmax(stiffest, system->model->section[s].axial_stiffness);
    return fmax(residual_share * fabs(system->force),
                residual_share * force_floor * stiffest * 1e2);
}

/* Newton direction of the last factor into system->direction; returns gradient . direction (negative downhill). */
static sp_status newton_direction(sp_context *context, sp_system *system, double *slope)
{
    sp_status status =
        sp_sparse_solve(context, system->sparse, system->free_gradient, system->direction);
    *slope = 0;
    for (int i = 0; i < system->model->unknown_count; i++) {
        system->direction[i] = -system->direction[i];
        *slope += system->free_gradient[i] * system->direction[i];
    }
    return status;
}

/* Factor with the smallest shift tried that leaves no negative pivot. *shift enters as the last one used. */
static sp_status factor_downhill(sp_context *context, sp_system *system, int insist, double *shift,
                                 sp_attempt *attempt)
{
    double trial = *shift > 0 ? *shift / shift_growth : 0;
    if (trial < least_shift) trial = 0;
    for (int negative = -1; trial <= last_shift; trial = fmax(first_shift, shift_growth * trial)) {
        sp_status status = sp_system_factor(context, system, trial, &negative);
        attempt->factorizations++;
        *shift = trial;
        if (status != SP_OK || negative == 0) return status;
        attempt->bent++;
        if (!insist) return SP_OK;
    }
    return sp_fail(context, SP_INTERNAL, "the stiffness stays indefinite under any shift");
}

/* base + fraction * direction into trial. */
static void compose(sp_system *system, double fraction)
{
    const sp_model *model = system->model;
    for (int i = 0; i < 3 * model->node_count; i++)
        system->trial[i] =
            system->base[i] +
            (model->unknown[i] >= 0 ? fraction * system->direction[model->unknown[i]] : 0);
}

/* Longest safe step along the direction, up to `most` of it. */
static double allowed_fraction(sp_system *system, double most)
{
    const sp_model *model = system->model;
    double turn = 0;
    for (int i = 2; i < 3 * model->node_count; i += 3)
        if (model->unknown[i] >= 0) turn = fmax(turn, fabs(system->direction[model->unknown[i]]));
    compose(system, 1);
    sp_model_points(model, system->trial, system->points);
    return sp_contact_safe_fraction(&system->contact, system->points,
                                    fmin(most, turn_cap / fmax(turn, 1e-300)));
}

static sp_status try_fraction(sp_context *context, sp_system *system, double shortening,
                              double fraction)
{
    compose(system, fraction);
    return sp_system_evaluate(context, system, system->trial, shortening);
}

/* Double a step that went well, as long as the energy keeps falling: where K is not positive definite the direction is
 * good but its length means little. */
static sp_status stretch(sp_context *context, sp_system *system, double shortening, double most,
                         double *fraction)
{
    sp_status status = SP_OK;
    while (status == SP_OK && *fraction < most) {
        const double before = system->energy, f = fmin(2 * *fraction, most);
        status = try_fraction(context, system, shortening, f);
        if (status != SP_OK) break;
        if (!(system->energy < before)) return try_fraction(context, system, shortening, *fraction);
        *fraction = f;
    }
    return status;
}

/* Step along the direction until the energy goes down enough. *fraction: taken, 0 when nothing does. */
static sp_status line_search(sp_context *context, sp_system *system, double shortening,
                             double slope, int shifted, double *fraction)
{
    const double before = system->energy;
    memcpy(system->base, system->x, 3 * (size_t)system->model->node_count * sizeof(double));
    const double most = allowed_fraction(system, shifted ? 64 : 1);
    double f = fmin(1, most);
    while (f > least_fraction) {
        sp_status status = try_fraction(context, system, shortening, f);
        if (status != SP_OK) return status;
        if (system->energy <= before + armijo * f * slope + round_off * fabs(before)) {
            *fraction = f;
            return shifted && f == 1 ? stretch(context, system, shortening, most, fraction) : SP_OK;
        }
        /* A layer that closes makes a wall in the energy: a parabola through what is known falls far short of it. */
        f *= 0.5;
    }
    *fraction = 0;
    return sp_system_evaluate(context, system, system->base, shortening);
}

int sp_interrupted(const sp_context *context)
{
    return context && context->interrupt && *context->interrupt;
}

sp_status sp_equilibrium_descend(sp_context *context, sp_system *system, const double *x,
                                 double shortening, int most_iterations, int insist,
                                 sp_attempt *attempt)
{
    *attempt = (sp_attempt){.end = SP_STUCK};
    sp_status status = sp_system_evaluate(context, system, x, shortening);
    double shift = 0;
    if (status != SP_OK || !(system->energy < INFINITY)) return status;
    for (;;) {
        double slope, fraction;
        const double residual = sp_system_residual(system), limit = tolerance(system);
        status = factor_downhill(context, system, insist, &shift, attempt);
        if (status != SP_OK) return status;
        if (attempt->bent > 0 && !insist) {
            attempt->end = SP_FAR;
            return SP_OK;
        }
        status = newton_direction(context, system, &slope);
        if (status != SP_OK) return status;
        if (shift == 0 && residual <= limit &&
            -slope <= decrement_share * fabs(system->energy) + 1e-300) {
            attempt->end = SP_FOUND;
            return SP_OK;
        }
        if (attempt->iterations++ >= most_iterations) {
            attempt->end = SP_FAR;
            return SP_OK;
        }
        if (sp_interrupted(context)) {
            attempt->end = SP_STOPPED;
            return SP_OK;
        }
        status = line_search(context, system, shortening, slope, shift > 0, &fraction);
        if (status != SP_OK) return status;
        if (fraction == 0) return SP_OK; /* stuck */
    }
}

sp_status sp_equilibrium_follow(sp_context *context, sp_system *system, const double *x,
                                double shortening, int most_iterations, sp_attempt *attempt)
{
    *attempt = (sp_attempt){.end = SP_STUCK};
    sp_status status = sp_system_evaluate(context, system, x, shortening);
    double before = INFINITY;
    while (status == SP_OK && system->energy < INFINITY) {
        double slope;
        const double residual = sp_system_residual(system);
        status = sp_system_factor(context, system, 0, &attempt->negative);
        attempt->factorizations++;
        if (status != SP_OK || attempt->negative < 0) return status;
        attempt->bent += attempt->negative > 0;
        status = newton_direction(context, system, &slope);
        if (status != SP_OK) return status;
        if (residual <= tolerance(system) &&
            fabs(slope) <= decrement_share * fabs(system->energy) + 1e-300) {
            attempt->end = SP_FOUND;
            return SP_OK;
        }
        if (attempt->iterations++ >= most_iterations || sp_interrupted(context)) {
            attempt->end = sp_interrupted(context) ? SP_STOPPED : SP_FAR;
            return SP_OK;
        }
        /* plain Newton either converges at once from a good start or is not on this path any more */
        if (attempt->iterations > 3 && residual > 10 * before) return SP_OK;
        before = residual;
        memcpy(system->base, system->x, 3 * (size_t)system->model->node_count * sizeof(double));
        if (allowed_fraction(system, 1) < 1) return SP_OK;
        status = sp_system_evaluate(context, system, system->trial, shortening);
    }
    return status;
}
