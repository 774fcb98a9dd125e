/* Values of least misfit by NLopt: BOBYQA (Powell 2009, The BOBYQA algorithm for bound constrained
 * optimization without derivatives: quadratic models, which a sum of squares is near its least) for
 * two and more, COBYLA (Powell 1994) for one, which BOBYQA does not take. The scaling variable is
 * not searched: its best value follows for every point (E75). Where the local search ends far from
 * the curves, DIRECT (Jones, Perttunen & Stuckman 1993, J. Optim. Theory Appl. 79, 157; in the
 * locally biased form of Gablonsky & Kelley 2001) divides the whole of the ranges: without random
 * numbers, and with a given number of tries. */
#include <math.h>
#include <nlopt.h>
#include <string.h>

#include "calibrate/calibrate_parts.h"

static const double first_step = 0.2;  /* of each range, from the values of the case */
static const double second_step = 0.1; /* from the fit to all coupons, when one is left out */
static const double third_step = 0.08; /* from the best of a search over the whole ranges */
/* A local search that ends with a larger misfit has failed, and the ranges are searched as a
 * whole. */
static const double local_failed = 0.1;

typedef struct search {
    sp_calibration *c;
    nlopt_opt optimizer;
    int left_out;
    int count;                       /* variables searched */
    int variable[SEEK_VARIABLE_MAX]; /* their numbers */
    double x[SEEK_VARIABLE_MAX];     /* it also holds the value of the scaling variable */
    sp_status status;
} search;

/* Return the root mean square misfit with the values u (0 .. 1 over each range). */
static double misfit_at(unsigned count, const double *u, double *gradient, void *user)
{
    search *s = user;
    int point;
    (void)gradient;
    for (unsigned i = 0; i < count; i++) {
        const seek_variable *v = &s->c->tested->variable[s->variable[i]];
        s->x[s->variable[i]] = sp_seek_variable_round(v, v->low + u[i] * (v->high - v->low));
    }
    if (s->status == SP_OK) s->status = sp_cal_point_at(s->c, s->x, &point);
    if (s->status == SP_OK) return sp_cal_fit_point(s->c, point, s->left_out).misfit;
    nlopt_force_stop(s->optimizer);
    return INFINITY;
}

static nlopt_result set_up(search *s, int tries, double step)
{
    double within[SEEK_VARIABLE_MAX];
    for (int i = 0; i < s->count; i++) {
        const seek_variable *v = &s->c->tested->variable[s->variable[i]];
        within[i] = v->within / (v->high - v->low);
    }
    nlopt_result done = nlopt_set_lower_bounds1(s->optimizer, 0);
    if (done > 0) done = nlopt_set_upper_bounds1(s->optimizer, 1);
    if (done > 0) done = nlopt_set_min_objective(s->optimizer, misfit_at, s);
    if (done > 0) done = nlopt_set_initial_step1(s->optimizer, step);
    if (done > 0) done = nlopt_set_xtol_abs(s->optimizer, within);
    if (done > 0) done = nlopt_set_maxeval(s->optimizer, tries);
    return done;
}

/* Run an algorithm once, from s->x on; the points that it tried are kept. */
static sp_status run(search *s, nlopt_algorithm algorithm, int tries, double step)
{
    double u[SEEK_VARIABLE_MAX], least;
    const seek_variable *variable = s->c->tested->variable;
    for (int i = 0; i < s->count; i++) {
        const seek_variable *v = &variable[s->variable[i]];
        u[i] = (s->x[s->variable[i]] - v->low) / (v->high - v->low);
    }
    s->optimizer = nlopt_create(algorithm, (unsigned)s->count);
    if (!s->optimizer) return sp_fail(s->c->context, SP_NO_MEMORY, "no memory for NLopt");
    nlopt_result done = set_up(s, tries, step);
    if (done > 0) done = nlopt_optimize(s->optimizer, u, &least);
    nlopt_destroy(s->optimizer);
    if (s->status != SP_OK) return s->status;
    if (done == NLOPT_OUT_OF_MEMORY)
        return sp_fail(s->c->context, SP_NO_MEMORY, "no memory for NLopt");
    if (done == NLOPT_INVALID_ARGS)
        return sp_fail(s->c->context, SP_INTERNAL, "NLopt refuses the search");
    return SP_OK; /* the points count, however the search ended */
}

static void take_best(const sp_calibration *c, int left_out, int from, cal_fit *fit)
{
    *fit = sp_cal_fit_point(c, from, left_out);
    for (int i = 0; i < c->point_count; i++) {
        const cal_fit other = sp_cal_fit_point(c, i, left_out);
        if (other.misfit < fit->misfit) *fit = other;
    }
}

/* Search the whole of the ranges with as many tries again, then around the best point. */
static sp_status search_globally(search *s, nlopt_algorithm local, int from, cal_fit *fit)
{
    sp_calibration *c = s->c;
    sp_status status = run(s, NLOPT_GN_DIRECT_L, c->tested->tries, first_step);
    c->searched_globally = 1;
    if (status != SP_OK) return status;
    take_best(c, s->left_out, from, fit);
    memcpy(s->x, c->point[fit->point].x, sizeof s->x);
    return run(s, local, (c->tested->tries + 1) / 2, third_step);
}

sp_status sp_cal_search(sp_calibration *c, int left_out, int from, cal_fit *fit)
{
    const sp_tested *t = c->tested;
    search s = {.c = c, .left_out = left_out};
    memcpy(s.x, c->point[from].x, sizeof s.x);
    for (int v = 0; v < t->variable_count; v++)
        if (v != c->scaling) s.variable[s.count++] = v;
    /* A left-out coupon changes little: half of the tries, around the fit to all. */
    const int again = left_out >= 0;
    const nlopt_algorithm local = s.count > 1 ? NLOPT_LN_BOBYQA : NLOPT_LN_COBYLA;
    sp_status status = SP_OK;
    if (s.count)
        status =
            run(&s, local, again ? (t->tries + 1) / 2 : t->tries, again ? second_step : first_step);
    if (status != SP_OK) return status;
    take_best(c, left_out, from, fit);
    const int wanted = t->search == CAL_SEARCH_GLOBAL ||
                       (t->search == CAL_SEARCH_AUTO && fit->misfit > local_failed);
    if (!s.count || again || !wanted) return SP_OK;
    status = search_globally(&s, local, from, fit);
    if (status == SP_OK) take_best(c, left_out, from, fit);
    return status;
}
