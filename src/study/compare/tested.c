/* Curves of a rig beside the coupons: how far each coupon is off them, and their lines in the
 * picture. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "compare/compare_parts.h"
#include "measure/curve.h"
#include "measure/spread.h"
#include "write/text.h"

enum { PLACES = 150 }; /* places, evenly over the strain that all curves reach */

static double strain_end(const sp_curve *curve)
{
    return sp_curve_end(curve) / curve->height;
}

/* Return the mean stress of the tested curves at a strain; NaN beyond the end of one of them. */
static double tested_stress(const sp_compare *c, double strain)
{
    double sum = 0;
    for (int i = 0; i < c->tested_count; i++) {
        const sp_curve *curve = &c->tested[i];
        const sp_measure force = sp_curve_force(curve, strain * curve->height);
        sum += force.reached ? force.value / curve->area : NAN;
    }
    return sum / c->tested_count;
}

/* Return the root mean square of the coupon less the mean of the tested curves, over their mean
 * stress, and the strain up to which it is taken; NaN: there is nothing to compare. */
static sp_status misfit_of(sp_context *context, const sp_compare *c, long long id, double *misfit,
                           double *end)
{
    sp_curve_point *point = NULL;
    int count = 0;
    double square = 0, mean = 0;
    const sp_status status = sp_store_curve(context, c->store, id, &count, &point);
    *misfit = NAN;
    *end = status == SP_OK && count > 1 ? point[count - 1].strain : 0;
    for (int i = 0; i < c->tested_count; i++) *end = fmin(*end, strain_end(&c->tested[i]));
    for (int i = 1; i <= PLACES && *end > 0; i++) {
        const double strain = *end * i / PLACES * (1 - 1e-12);
        const double tested = tested_stress(c, strain);
        const double off = sp_compare_stress_at(point, count, strain) - tested;
        square += off * off / PLACES;
        mean += tested / PLACES;
    }
    if (mean > 0) *misfit = sqrt(square) / mean;
    sp_store_free_curve(point);
    return status;
}

sp_status sp_compare_tested_misfit(sp_context *context, const sp_compare *c, const group *g,
                                   sp_spread *misfit, double *end)
{
    double *value = sp_alloc((size_t)g->count, sizeof *value);
    sp_status status =
        value ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for %d misfits", g->count);
    *misfit = (sp_spread){0};
    *end = INFINITY;
    int known = 0;
    for (int i = 0; i < g->count && status == SP_OK; i++) {
        double to;
        status = misfit_of(context, c, c->coupon[g->first + i].id, &value[known], &to);
        if (status != SP_OK || !isfinite(value[known])) continue;
        *end = fmin(*end, to);
        known++;
    }
    if (status == SP_OK && known > 0) *misfit = sp_spread_of(value, known);
    sp_free(value);
    return status;
}

void sp_compare_tested_state(const sp_curve *curve, int state, double *shortening, double *force)
{
    const size_t at = (size_t)state * curve->stride;
    memcpy(shortening, (const char *)curve->shortening + at, sizeof *shortening);
    memcpy(force, (const char *)curve->force + at, sizeof *force);
}

sp_status sp_compare_put_tested(sp_context *context, const sp_compare *c, FILE *stream)
{
    sp_status status = SP_OK;
    if (c->tested_count == 0) return SP_OK;
    sp_print(stream, "\nbeside %s", c->tested_name);
    if (c->tested_count > 1) sp_print(stream, " (mean of %d specimens)", c->tested_count);
    sp_print(stream, ": root mean square of what a curve is off, over the mean stress\n");
    for (int i = 0; i < c->group_count && status == SP_OK; i++) {
        const group *g = &c->group[c->order[i]];
        sp_spread misfit;
        double end;
        if (!sp_compare_typical(c, g)) continue;
        status = sp_compare_tested_misfit(context, c, g, &misfit, &end);
        if (status != SP_OK) break;
        if (misfit.count == 0) {
            sp_print(stream, "  %-32s     -     nothing to compare\n", g->label);
            continue;
        }
        sp_print(stream, "  %-32s %5.1f %%   to %.3g %% strain", g->label, 100 * misfit.median,
                 100 * end);
        if (misfit.count > 1)
            sp_print(stream, ", %.1f .. %.1f %% over %d seeds", 100 * misfit.low, 100 * misfit.high,
                     misfit.count);
        sp_print(stream, "\n");
    }
    return status;
}

sp_status sp_compare_tested_line(sp_context *context, const sp_compare *c, int i, plot_lines *all)
{
    const sp_curve *curve = &c->tested[i];
    /* This colour is ink, which no coupon has before all colours are used. */
    plot_line *line =
        sp_plot_lines_add(all, PLOT_COLOURS - 1, curve->count, i == 0 ? c->tested_name : NULL);
    if (!line) return sp_fail(context, SP_NO_MEMORY, "no memory for a curve");
    for (int k = 0; k < curve->count; k++) {
        double shortening, force;
        sp_compare_tested_state(curve, k, &shortening, &force);
        sp_plot_lines_point(line, 100 * shortening / curve->height, force / curve->area);
    }
    return SP_OK;
}
