/* A law in time: any law with stress softening, relaxing branches and one flowing branch around it
 * (E120 .. E127).
 *
 *   e = k_s ln l                                 log strain of a fibre
 *   W = stay Psi(W_0(l)) + branches(e) + flow(e)
 *
 * k_s makes a branch as stiff in plane strain as its share of the law is (E67); stay is the share
 * of the law that is left for ever.
 *
 * Every branch is a spring of a share of Young's modulus in line with a dashpot. Over a step of dt
 * seconds, log strain grows evenly, and what a branch stores and dissipates has a closed form; the
 * sum over all branches is one parabola per fibre. */
#ifndef SP_LAW_IN_TIME_H
#define SP_LAW_IN_TIME_H

#include "law/law.h"

/* Add what the case asks for to a law that is prepared: law->time and law->history. Nothing changes
 * when it asks for nothing. Errors: SP_BAD_CASE. */
sp_status sp_law_time_prepare(sp_context *context, const sp_case *request, sp_law *law);

/* Return the exponent n of E(t) ~ t^-n with which this share of a strain is left after it was held
 * for `held` seconds and released for `free` seconds (E125), or 0 when n would be above 0.5. */
double sp_law_exponent_of_set(double set, double held, double free);
/* Return the reverse: the share that is left with an exponent. */
double sp_law_set_of_exponent(double exponent, double held, double free);

/* The next step takes `dt` seconds: fibres (n x law->history_count) and scalars are made ready for
 * it. With dt = 0 nothing relaxes, so that a state just kept is in the same equilibrium. */
void sp_law_arm(const sp_law *law, double dt, int n, double *history);

/* Return the energy stored and dissipated so far by n fibres when the step ends at `stretch`,
 * summed with their weights. For a law in time this is not the least energy that `eval` gives
 * (E124); for any other law it is. */
double sp_law_spent(const sp_law *law, int n, const double *stretch, const double *weight,
                    const double *history);

/* Add to `lost` what n fibres have dissipated so far in each way. */
typedef struct sp_law_lost {
    double softened, relaxed, flowed; /* the rest of what is dissipated has yielded */
} sp_law_lost;
void sp_law_add_lost(const sp_law *law, int n, const double *weight, const double *history,
                     sp_law_lost *lost);

/* E121: turn energy, force and slope [MPa] of something that was never loaded into those after its
 * largest energy was `largest`; the energy is then the stored and the dissipated one together. The
 * second function gives the dissipated part of it. */
void sp_law_soften(const sp_law_time *time, double largest, double *w, double *p, double *a);
double sp_law_softening_lost(const sp_law_time *time, double largest);

/* A scalar is a strain whose force is linear without time, such as shear or twist of a strut; it
 * relaxes in the same proportions (E126). All values are per stiffness. `length` turns the strain
 * into a shear strain: 1, or a radius for a twist. history: sp_law_scalar_count doubles, or NULL.
 */
typedef struct sp_law_scalar {
    double energy, force, slope;
} sp_law_scalar;
int sp_law_scalar_count(const sp_law *law);
sp_law_scalar sp_law_scalar_eval(const sp_law *law, double length, double strain,
                                 const double *history);
void sp_law_scalar_arm(const sp_law *law, double dt, double *history);
void sp_law_scalar_keep(const sp_law *law, double length, double strain, double *history);
/* Do the same for n scalars whose histories stand `stride` doubles apart, all in the same step. */
void sp_law_scalars_arm(const sp_law *law, double dt, int n, int stride, double *history);
void sp_law_scalars_keep(const sp_law *law, double length, int n, const double *strain, int stride,
                         double *history);
double sp_law_scalar_spent(const sp_law *law, double length, double strain, const double *history);
void sp_law_scalar_add_lost(double stiffness, const double *history, sp_law_lost *lost);

#endif
