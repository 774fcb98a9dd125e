/* Equilibria are found by inertia-controlled Newton steps (Nocedal & Wright 2006, sections 3.4 and
 * 6). K + shift D is factored with the smallest shift tried that makes it positive definite, so
 * that the direction is downhill, and a line search by Armijo's rule lowers the energy. No point
 * moves further than a fraction of the thinnest strut, and no two struts by more than their
 * distance. E14, E15 */
#include <float.h>
#include <math.h>
#include <string.h>

#include "state/equilibrium.h"
#include "base/poll.h"
#include "state/softest.h"

static const int most_halvings = 8;        /* of a step under a load */
static const int most_corrections = 60;    /* of the travel, where descents meet a load */
static const double residual_share = 1e-6; /* of the platen force */
static const double most_together = 10;    /* forces on all nodes in sum, over the most on one */
/* This share of the axial stiffness of the thickest strut [N] is the least tolerance, for when the
 * platen force is small. */
static const double force_floor = 1e-12;
static const double decrement_share = 1e-10; /* of the energy */
static const double round_off = 1e-13;       /* of the energy, in its sum */
static const double least_shift = 1e-5, first_shift = 1e-4, shift_growth = 4, last_shift = 1e7;
/* A factor serves for a second step where the residual is expected to fall below this share of its
 * limit. */
static const double again_share = 0.3;
static const double turn_cap = 0.8; /* rad, per iteration */
/* At a saddle no force is left and only the softest direction counts, which a larger shift would
 * hide. */
static const double saddle_shift = 1e-8;
static const double saddle_push = 0.05, saddle_move = 1e-4; /* of the thinnest strut */
/* A line search that ends on an upward slope steeper than this share of its first slope has leapt
 * over a corner that friction makes. */
static const double slope_left = 0.3;
static const int most_looks = 40;
static const double armijo = 1e-4, least_fraction = 1e-9;

/* Separate pieces share the platen force, and the equilibrium of each is found as closely as it
 * would be alone. */
double sp_equilibrium_tolerance(const sp_system *system)
{
    const double carriers = system->model->carriers > 1 ? system->model->carriers : 1;
    return fmax(residual_share * fabs(system->force) / carriers,
                force_floor * system->model->stiffest);
}

/* Return 1 where no force is left on any node, and next to none on all of them together: many small
 * ones that point the same way would add up to a push of the coupon aside. */
static int is_at_rest(const sp_system *system, double residual)
{
    const sp_model *model = system->model;
    const double limit = sp_equilibrium_tolerance(system);
    double sum[3] = {0};
    if (!(residual <= limit)) return 0;
    for (int n = 0; n < model->node_count; n++)
        for (int d = 0; d < model->dimension; d++) {
            const int i = model->unknowns * n + d;
            if (model->unknown[i] >= 0) sum[d] += system->gradient[i];
        }
    return fmax(fabs(sum[0]), fmax(fabs(sum[1]), fabs(sum[2]))) <= most_together * limit;
}

/* Put the Newton direction of the last factor into system->direction; returns gradient . direction
 * (negative downhill). */
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

/* Try no shift, then shifts from `first` on, and keep the factor of the first that leaves no
 * negative pivot. *shift enters as the last one used. */
static sp_status factor_downhill(sp_context *context, sp_system *system, double first,
                                 double *shift, sp_attempt *attempt)
{
    double trial = *shift > 0 ? *shift / shift_growth : 0;
    if (trial < least_shift) trial = 0;
    for (int negative = -1; trial <= last_shift; trial = fmax(first, shift_growth * trial)) {
        sp_status status = sp_system_factor(context, system, trial, &negative);
        attempt->factorizations++;
        *shift = trial;
        if (status != SP_OK || negative == 0) return status;
        attempt->bent++;
    }
    return sp_fail(context, SP_INTERNAL, "the stiffness stays indefinite under any shift");
}

/* Return the least change of the energy that says anything: coordinates are rounded, and forces act
 * along what that moves. E234 */
static double least_change(const sp_system *system)
{
    const double *size = system->model->network->size;
    const double longest = fmax(size[0], fmax(size[1], size[2]));
    return fmax(decrement_share * fabs(system->energy),
                DBL_EPSILON * fabs(system->force) * longest);
}

static int hardly_moves(const sp_system *system)
{
    double largest = 0;
    for (int i = 0; i < system->model->unknown_count; i++)
        largest = fmax(largest, fabs(system->direction[i]));
    return largest < saddle_move * system->model->thinnest;
}

/* Leave a saddle: no force is left, but K is not positive definite. Perfect coupons have many of
 * them. Newton's direction keeps every symmetry and would stay on it, so the step is along the
 * softest direction. */
static sp_status leave_saddle(sp_context *context, sp_system *system, double *slope)
{
    const double *v = system->softest;
    const sp_status status = sp_softest_direction(context, system, NULL);
    const double push = saddle_push * system->model->thinnest;
    *slope = 0;
    for (int i = 0; i < system->model->unknown_count; i++) {
        system->direction[i] = push * v[i];
        *slope += system->free_gradient[i] * system->direction[i];
    }
    if (*slope <= 0) return status;
    for (int i = 0; i < system->model->unknown_count; i++) system->direction[i] *= -1;
    *slope = -*slope;
    return status;
}

/* Move base by fraction * direction into trial. */
static void compose(sp_system *system, double fraction)
{
    const sp_model *model = system->model;
    for (int i = 0; i < model->unknowns * model->node_count; i++)
        system->change[i] = model->unknown[i] >= 0 ? system->direction[model->unknown[i]] : 0;
    sp_model_move(model, system->base, fraction, system->change, system->trial);
}

/* Return the longest safe step along the direction, up to the whole of it. */
static double allowed_fraction(sp_system *system)
{
    const sp_model *model = system->model;
    double turn = 0;
    compose(system, 1);
    for (int n = 0; n < model->node_count; n++)
        for (int i = model->dimension; i < model->unknowns; i++)
            turn = fmax(turn, fabs(system->change[model->unknowns * n + i]));
    sp_model_points(model, system->trial, system->points);
    return sp_contact_safe_fraction(&system->contact, system->points,
                                    fmin(1, turn_cap / fmax(turn, 1e-300)));
}

static sp_status try_fraction(sp_context *context, sp_system *system, double shortening,
                              double fraction)
{
    compose(system, fraction);
    return sp_system_evaluate_along(context, system, system->trial, shortening, fraction);
}

static double slope_here(const sp_system *system)
{
    double slope = 0;
    for (int i = 0; i < system->model->unknown_count; i++)
        slope += system->free_gradient[i] * system->direction[i];
    return slope;
}

/* Friction makes corners in the energy, and a step may leap over the one that it ought to end at,
 * where what sticks begins to slide. The state at *fraction is uphill of the corner: halve the
 * interval, in turn with secants, until next to no slope is left. */
static sp_status return_to_corner(sp_context *context, sp_system *system, double shortening,
                                  double slope, double *fraction)
{
    double low = 0, high = *fraction, downhill = slope, uphill = slope_here(system);
    const double enough = slope_left * -slope;
    for (int i = 0; i < most_looks; i++) {
        const double secant = (low * uphill - high * downhill) / (uphill - downhill);
        *fraction = i % 2 ? 0.5 * (low + high) : secant;
        const sp_status status = try_fraction(context, system, shortening, *fraction);
        const double here = slope_here(system);
        if (status != SP_OK || fabs(here) <= enough) return status;
        if (here < 0)
            low = *fraction, downhill = here;
        else
            high = *fraction, uphill = here;
    }
    return SP_OK;
}

/* Return 1 when the energy goes down enough. Between friction platens, and under a law in time, the
 * forces may decide instead, where the energy is at its least to the digits that are asked for: a
 * first step, or what relaxes in a short time, changes the energy so little that round-off hides
 * it. */
static int goes_down(const sp_system *system, double before, double least, double residual,
                     double slope, double fraction)
{
    if (system->energy <= before + armijo * fraction * slope + round_off * fabs(before)) return 1;
    const int hidden = system->contact.friction.loose || sp_system_in_time(system);
    return hidden && -slope <= least && sp_system_residual(system) < residual;
}

/* Step along the direction until the energy goes down enough. *fraction is the share of the
 * direction that was taken, 0 when the energy goes down nowhere. */
static sp_status line_search(sp_context *context, sp_system *system, double shortening,
                             double slope, double *fraction)
{
    const double before = system->energy, least = least_change(system),
                 residual = sp_system_residual(system);
    memcpy(system->base, system->x, sp_system_values(system) * sizeof(double));
    sp_friction_mark(&system->contact.friction);
    double f = allowed_fraction(system);
    while (f > least_fraction) {
        sp_status status = try_fraction(context, system, shortening, f);
        if (status != SP_OK) return status;
        if (goes_down(system, before, least, residual, slope, f)) {
            *fraction = f;
            const int leapt =
                system->contact.friction.loose && slope_here(system) > slope_left * -slope;
            return leapt ? return_to_corner(context, system, shortening, slope, fraction) : SP_OK;
        }
        /* A layer that closes makes a wall in the energy: a parabola through the known values would
         * make the step far too short. */
        f *= 0.5;
    }
    *fraction = 0;
    return sp_system_evaluate(context, system, system->base, shortening);
}

/* Where everything slides on the platens the coupon as a whole is next to free, and Newton's method
 * would leap aside: let the coupon drift to where something sticks. No strut moves against another,
 * and the energy only falls. */
static sp_status settle_drift(sp_context *context, sp_system *system, double shortening)
{
    const sp_model *model = system->model;
    const sp_contact *contact = &system->contact;
    double drift[2];
    if (!sp_friction_drift(&contact->friction, contact->position, sp_equilibrium_tolerance(system),
                           drift))
        return SP_OK;
    memcpy(system->trial, system->x, sp_system_values(system) * sizeof(double));
    for (int n = 0; n < model->node_count; n++) {
        system->trial[model->values * n] += drift[0];
        if (model->dimension == 3) system->trial[model->values * n + 2] += drift[1];
    }
    return sp_system_evaluate(context, system, system->trial, shortening);
}

/* Return 1 when the present factor will do for one more direction. It was made at the state before,
 * whose residual is `before` (0: the factor has a shift, or led less than a whole step, or has
 * served twice). E257 */
static int serves_again(const sp_system *system, double before, double residual, double limit)
{
    return residual > limit && 2 * residual * residual < again_share * limit * before &&
           sp_sparse_is_factored(system->sparse);
}

static sp_status descend(sp_context *context, sp_system *system, const double *x, double shortening,
                         int most_iterations, int may_jump, sp_attempt *attempt)
{
    *attempt = (sp_attempt){.end = SP_STUCK};
    sp_status status = sp_system_evaluate(context, system, x, shortening);
    double shift = 0, before = 0;
    if (status != SP_OK || !(system->energy < INFINITY)) return status;
    for (;;) {
        double slope, fraction;
        status = settle_drift(context, system, shortening);
        if (status != SP_OK) return status;
        const double residual = sp_system_residual(system),
                     limit = sp_equilibrium_tolerance(system);
        const int still = is_at_rest(system, residual),
                  again = serves_again(system, before, residual, limit);
        if (still) shift = 0;
        if (!again)
            status = factor_downhill(context, system, still ? saddle_shift : first_shift, &shift,
                                     attempt);
        if (status != SP_OK) return status;
        if (attempt->bent > 0 && !may_jump) {
            attempt->end = SP_FAR;
            return SP_OK;
        }
        status = newton_direction(context, system, &slope);
        if (status == SP_OK && shift > 0 && still && hardly_moves(system))
            status = leave_saddle(context, system, &slope);
        if (status != SP_OK) return status;
        if (shift == 0 && still && -slope <= least_change(system) + 1e-300) {
            attempt->end = SP_FOUND;
            return SP_OK;
        }
        if (attempt->iterations++ >= (attempt->bent > 0 ? SP_MOST_IN_A_JUMP : most_iterations)) {
            attempt->end = SP_FAR;
            return SP_OK;
        }
        if (sp_interrupted(context)) {
            attempt->end = SP_STOPPED;
            return SP_OK;
        }
        status = line_search(context, system, shortening, slope, &fraction);
        if (status != SP_OK) return status;
        if (fraction == 0) return SP_OK; /* stuck */
        before = fraction == 1 && shift == 0 && !again ? residual : 0;
    }
}

sp_status sp_equilibrium_descend(sp_context *context, sp_system *system, const double *x,
                                 double shortening, int most_iterations, sp_attempt *attempt)
{
    return descend(context, system, x, shortening, most_iterations, 1, attempt);
}

sp_status sp_equilibrium_roll(sp_context *context, sp_system *system, const double *x,
                              double shortening, int most_iterations, sp_attempt *attempt)
{
    return descend(context, system, x, shortening, most_iterations, 0, attempt);
}

sp_status sp_equilibrium_follow(sp_context *context, sp_system *system, const double *x,
                                double shortening, int most_iterations, sp_attempt *attempt)
{
    *attempt = (sp_attempt){.end = SP_STUCK};
    sp_status status = sp_system_evaluate(context, system, x, shortening);
    double before = INFINITY;
    while (status == SP_OK && system->energy < INFINITY) {
        double slope;
        status = settle_drift(context, system, shortening);
        if (status != SP_OK) return status;
        const double residual = sp_system_residual(system);
        status = sp_system_factor(context, system, 0, &attempt->negative);
        attempt->factorizations++;
        if (status != SP_OK || attempt->negative < 0) return status;
        attempt->bent += attempt->negative > 0;
        status = newton_direction(context, system, &slope);
        if (status != SP_OK) return status;
        if (is_at_rest(system, residual) &&
            fabs(slope) <= decrement_share * fabs(system->energy) + 1e-300) {
            attempt->end = SP_FOUND;
            return SP_OK;
        }
        if (attempt->iterations++ >= most_iterations || sp_interrupted(context)) {
            attempt->end = sp_interrupted(context) ? SP_STOPPED : SP_FAR;
            return SP_OK;
        }
        /* Plain Newton either converges at once from a good start or is not on this path any more.
         */
        if (attempt->iterations > 3 && residual > 10 * before) return SP_OK;
        before = residual;
        memcpy(system->base, system->x, sp_system_values(system) * sizeof(double));
        if (allowed_fraction(system) < 1) return SP_OK;
        status = sp_system_evaluate(context, system, system->trial, shortening);
    }
    return status;
}

double sp_platen_load_at(const sp_platen_load *load, double shortening)
{
    return load->force - load->inertia * (shortening - load->drift);
}

/* Put Newton's direction by x and travel together into system->direction and *travel. E131 */
static sp_status load_direction(sp_context *context, sp_system *system, const sp_platen_load *load,
                                double *tangent, double *travel, double *slope, sp_attempt *attempt)
{
    const sp_model *model = system->model;
    double stiffness, change = 0;
    sp_status status = sp_system_factor(context, system, 0, &attempt->negative);
    attempt->factorizations++;
    if (status == SP_OK) status = newton_direction(context, system, slope);
    if (status != SP_OK || attempt->negative != 0) return status;
    memcpy(system->softest, system->direction,
           (size_t)model->unknown_count * sizeof *system->softest);
    status = sp_system_tangent(context, system, tangent, &stiffness);
    if (status != SP_OK) return status;
    for (int i = 0; i < model->unknown_count; i++)
        change += system->coupling[i] * system->softest[i];
    const double left = sp_platen_load_at(load, system->shortening) - system->force;
    stiffness += load->inertia;
    *travel = stiffness > 0 ? (left - change) / stiffness : NAN;
    for (int i = 0; i < model->unknowns * model->node_count; i++) {
        const int u = model->unknown[i];
        if (u >= 0) system->direction[u] = system->softest[u] + *travel * tangent[i];
    }
    return SP_OK;
}

/* Halve the step while it leads uphill: otherwise grips and layers that change over under little
 * force, as in a rest, would go to and fro for ever. The state at the end of the last step is
 * evaluated; *u is its travel. */
static sp_status search_under_load(sp_context *context, sp_system *system,
                                   const sp_platen_load *load, double travel, double slope,
                                   double *u)
{
    const double from = *u, energy = system->energy;
    const double noise = round_off * fmax(load->energy, fabs(energy));
    double fraction = allowed_fraction(system);
    sp_friction_mark(&system->contact.friction);
    for (int i = 0;; i++, fraction *= 0.5) {
        compose(system, fraction);
        *u = from + fraction * travel;
        const sp_status status =
            sp_system_evaluate_along(context, system, system->trial, *u, fraction);
        const double work =
            0.5 * fraction * travel * (sp_platen_load_at(load, from) + sp_platen_load_at(load, *u));
        if (status != SP_OK || i == most_halvings ||
            system->energy - energy - work <= armijo * fraction * slope + noise)
            return status;
    }
}

sp_status sp_equilibrium_load(sp_context *context, sp_system *system, const double *x,
                              const sp_platen_load *load, int most_iterations, double *tangent,
                              double *shortening, sp_attempt *attempt)
{
    *attempt = (sp_attempt){.end = SP_STUCK};
    double u = *shortening, travel, slope;
    sp_status status = sp_system_evaluate(context, system, x, u);
    while (status == SP_OK && system->energy < INFINITY) {
        status = settle_drift(context, system, u);
        if (status != SP_OK) return status;
        const double residual = sp_system_residual(system);
        status = load_direction(context, system, load, tangent, &travel, &slope, attempt);
        if (status != SP_OK || attempt->negative != 0 || !isfinite(travel)) return status;
        if (is_at_rest(system, residual) &&
            fabs(system->force - sp_platen_load_at(load, u)) <= load->tolerance &&
            fabs(slope) <= decrement_share * fmax(load->energy, fabs(system->energy)) + 1e-300) {
            attempt->end = SP_FOUND;
            *shortening = u;
            return SP_OK;
        }
        if (attempt->iterations++ >= most_iterations || sp_interrupted(context)) {
            attempt->end = sp_interrupted(context) ? SP_STOPPED : SP_FAR;
            return SP_OK;
        }
        memcpy(system->base, system->x, sp_system_values(system) * sizeof(double));
        status = search_under_load(context, system, load, travel, slope, &u);
    }
    return status;
}

/* These are the travels between which the load is met. Travels on the two sides of a jump belong to
 * different curves. */
typedef struct bracket {
    double low, high; /* more force is asked for at low, less at high [mm]; NAN: not known */
} bracket;

/* Return the correction of the travel when the force `left` is missing at u. E237 */
static double correct_travel(const bracket *b, double u, double left, double stiffness,
                             double longest)
{
    const double whole = stiffness > 0 ? left / stiffness : copysign(longest, left);
    const double travel = fmax(-longest, fmin(longest, whole));
    const int is_inside = !(u + travel <= b->low) && !(u + travel >= b->high);
    return is_inside ? travel : 0.5 * (b->low + b->high) - u;
}

sp_status sp_equilibrium_load_down(sp_context *context, sp_system *system, const double *x,
                                   const sp_platen_load *load, int most_iterations, double longest,
                                   double *tangent, double *shortening, sp_attempt *attempt)
{
    const size_t size = sp_system_values(system) * sizeof(double);
    double u = *shortening, stiffness;
    bracket b = {NAN, NAN};
    sp_attempt all = {.end = SP_FAR};
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < most_corrections && all.end == SP_FAR; i++) {
        sp_attempt one;
        status = descend(context, system, i > 0 ? system->trial : x, u, most_iterations, 1, &one);
        all.iterations += one.iterations;
        all.factorizations += one.factorizations;
        all.bent += one.bent;
        if (status != SP_OK || one.end != SP_FOUND) {
            all.end = one.end == SP_FOUND ? SP_STUCK : one.end;
            break;
        }
        const double left = sp_platen_load_at(load, u) - system->force;
        status = sp_system_tangent(context, system, tangent, &stiffness);
        if (fabs(left) <= load->tolerance) {
            all.end = SP_FOUND;
            *shortening = u;
            break;
        }
        if (one.bent > 0) b = (bracket){NAN, NAN};
        if (left > 0) b.low = u;
        if (left < 0) b.high = u;
        if (b.low >= b.high) b = (bracket){NAN, NAN};
        const double travel = correct_travel(&b, u, left, load->inertia + stiffness, longest);
        if (u + travel == u) b = (bracket){NAN, NAN};
        sp_model_move(system->model, system->x, travel, tangent, system->trial);
        if (!sp_system_is_safe(system, system->trial)) memcpy(system->trial, system->x, size);
        u += travel;
    }
    *attempt = all;
    return status;
}
