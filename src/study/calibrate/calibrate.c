/* Calibrate in a straight line: the values of the case, the fit, the fits without one coupon, the
 * predictions. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "calibrate/calibrate_parts.h"
#include "law/law.h"

/* All stiffness of a coupon, that of its contacts too, is proportional to the modulus when its law
 * has no other. */
static int goes_with_modulus(const cal_coupon *coupon, int count)
{
    static const char needs[] = "modulus";
    for (int i = 0; i < count; i++) {
        const sp_law_row *law = sp_law_find(coupon[i].request.law);
        if (!law || strncmp(law->needs, needs, sizeof needs - 1)) return 0;
    }
    return 1;
}

static int find_scaling(const sp_tested *t)
{
    for (int v = 0; v < t->variable_count; v++)
        if (!strcmp(t->variable[v].key, "material.modulus") &&
            goes_with_modulus(t->tested, t->tested_count))
            return v;
    return -1;
}

/* Take the values of the base case, where they lie in their ranges; else the middles. */
static void start_values(const sp_tested *t, double *x)
{
    sp_case base;
    sp_plan_case(t->plan, 0, &base);
    memset(x, 0, SEEK_VARIABLE_MAX * sizeof *x);
    for (int v = 0; v < t->variable_count; v++) {
        const seek_variable *variable = &t->variable[v];
        const double given = sp_seek_variable_value(variable, &base);
        x[v] = given >= variable->low && given <= variable->high
                   ? given
                   : sp_seek_variable_round(variable, 0.5 * (variable->low + variable->high));
    }
}

/* Round the fit to values that can be written down: on the grid of the search. */
static void settle_values(sp_calibration *c)
{
    for (int v = 0; v < c->tested->variable_count; v++)
        c->x[v] = sp_seek_variable_round(&c->tested->variable[v], sp_cal_fit_value(c, &c->best, v));
}

/* A tested coupon whose press says nothing has no place in a fit. */
static sp_status check_curves(sp_calibration *c, int point)
{
    for (int i = 0; i < c->tested->tested_count; i++)
        if (!isfinite(c->point[point].force[i * CAL_NUMBERS]))
            return sp_fail(c->context, SP_GAVE_UP,
                           "%s: no press of the tested coupon '%s' has a curve with the values of "
                           "the case; `strutpress press` says why; valid: coupons that can be "
                           "pressed",
                           c->tested->source, c->tested->tested[i].name);
    return SP_OK;
}

static sp_status fit_all(sp_calibration *c)
{
    double x[SEEK_VARIABLE_MAX];
    int first;
    start_values(c->tested, x);
    if (c->scaling >= 0) c->reference = x[c->scaling];
    sp_status status = sp_cal_point_at(c, x, &first);
    if (status == SP_OK) status = check_curves(c, first);
    if (status != SP_OK) return status;
    c->before = (cal_fit){first, 1, sp_cal_misfit_of_all(c->tested, c->point[first].force, 1, -1)};
    return sp_cal_search(c, -1, first, &c->best);
}

static sp_status leave_out(sp_calibration *c)
{
    const int count = c->tested->tested_count;
    sp_status status = SP_OK;
    if (count < 2) return SP_OK;
    c->left_out = sp_alloc((size_t)count, sizeof *c->left_out);
    if (!c->left_out) return sp_fail(c->context, SP_NO_MEMORY, "no memory for %d fits", count);
    for (int i = 0; i < count && status == SP_OK; i++)
        status = sp_cal_search(c, i, c->best.point, &c->left_out[i]);
    return status;
}

/* Coupons are pressed with exactly the values that are printed, none of them by proportion. */
static sp_status press_fitted(sp_calibration *c)
{
    const sp_tested *t = c->tested;
    int point;
    sp_status status = sp_cal_point_at(c, c->x, &point);
    if (status != SP_OK) return status;
    c->fitted = c->point[point].force;
    if (!t->predicted_count) return SP_OK;
    c->predicted = sp_alloc((size_t)t->predicted_count * CAL_NUMBERS, sizeof *c->predicted);
    if (!c->predicted) return sp_fail(c->context, SP_NO_MEMORY, "no memory for predictions");
    return sp_cal_press(c, t->predicted, t->predicted_count, c->x, c->predicted);
}

/* Find what the fit leaves open, and how far predictions may be off. */
static sp_status find_doubt(sp_calibration *c)
{
    const sp_status status = sp_cal_find_slopes(c);
    if (status == SP_OK) sp_cal_find_doubt(c);
    return status;
}

static void say_doubts(sp_context *context, const sp_calibration *c)
{
    const sp_tested *t = c->tested;
    if (t->tested_count <= t->variable_count)
        sp_warn(context,
                "%d values are fitted to %d tested coupon%s: too few to say how well they "
                "predict others",
                t->variable_count, t->tested_count, t->tested_count == 1 ? "" : "s");
    for (int v = 0; v < t->variable_count; v++) {
        const seek_variable *variable = &t->variable[v];
        const double room = fmin(c->x[v] - variable->low, variable->high - c->x[v]);
        if (room < 0.5 * variable->within)
            sp_warn(context, "%s ends at an edge of its range: the best value may lie beyond",
                    variable->key);
    }
}

sp_status sp_calibrate(sp_context *context, const sp_tested *tested, sp_store *store, int threads,
                       sp_calibration **calibration)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    sp_calibration *c = sp_alloc(1, sizeof *c);
    *calibration = NULL;
    if (!c) return sp_fail(context, SP_NO_MEMORY, "no memory for a calibration");
    *c = (sp_calibration){.tested = tested,
                          .store = store,
                          .threads = threads,
                          .context = context,
                          .scaling = find_scaling(tested)};
    c->rounds_expected = tested->variable_count > 1 || c->scaling < 0
                             ? tested->tries + tested->tested_count * tested->tries / 2
                             : 2;
    sp_status status = fit_all(c);
    if (status == SP_OK) status = leave_out(c);
    if (status == SP_OK) settle_values(c);
    if (status == SP_OK) status = press_fitted(c);
    if (status == SP_OK) status = find_doubt(c);
    if (status == SP_OK) {
        say_doubts(context, c);
        c->context = NULL; /* it belongs to this call only */
        *calibration = c;
    } else {
        sp_calibration_free(c);
    }
    return status;
}

void sp_calibration_free(sp_calibration *calibration)
{
    if (!calibration) return;
    for (int i = 0; i < calibration->point_count; i++) sp_free(calibration->point[i].force);
    sp_free(calibration->point);
    sp_free(calibration->left_out);
    sp_free(calibration->predicted);
    sp_free(calibration->doubt.slope);
    sp_free(calibration);
}

int sp_calibration_count(const sp_calibration *calibration)
{
    return calibration->tested->variable_count;
}

const char *sp_calibration_key(const sp_calibration *calibration, int index)
{
    return calibration->tested->variable[index].key;
}

double sp_calibration_value(const sp_calibration *calibration, int index)
{
    return calibration->x[index];
}

double sp_calibration_correlation(const sp_calibration *calibration, int index, int other)
{
    const int count = calibration->tested->variable_count;
    if (index < 0 || index >= count || other < 0 || other >= count) return 0;
    return calibration->doubt.correlation[index][other];
}
