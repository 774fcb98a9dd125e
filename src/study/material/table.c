/* Print a fit of a material: what was fitted, which test tells what, and how well every test is
 * met. */
#include <math.h>
#include <stdio.h>

#include "base/alloc.h"
#include "caution/caution.h"
#include "material/material_parts.h"
#include "write/text.h"

static const double far_share = 10; /* a branch is known up to this many times the longest record */

/* --- values and their bands --- */

typedef double (*take_value)(const mat_model *model, int number);

static double slow(const mat_model *m, int i)
{
    (void)i;
    return sp_material_slow_modulus(m);
}
static double quick(const mat_model *m, int i)
{
    (void)i;
    return sp_material_quick_modulus(m);
}
static double branch(const mat_model *m, int i)
{
    return m->branch[i];
}
static double ratio(const mat_model *m, int i)
{
    (void)i;
    return m->ratio;
}
static double energy(const mat_model *m, int i)
{
    (void)i;
    return m->energy;
}
static double share(const mat_model *m, int i)
{
    (void)i;
    return m->share;
}
static double flow_modulus(const mat_model *m, int i)
{
    return m->flow_stress[i] * m->flow_stiffness[i];
}
static double flow_stress(const mat_model *m, int i)
{
    return m->flow_stress[i];
}
static double flow_time(const mat_model *m, int i)
{
    return m->flow_stress[i] > 0 ? m->flow_time[i] : NAN;
}

static void put_value(FILE *stream, const sp_material *m, const char *name, const char *unit,
                      take_value take, int number)
{
    double low = INFINITY, high = -INFINITY;
    char text[3][SP_NUMBER_SIZE];
    for (int i = 0; i < m->without_count; i++) {
        const double v = take(&m->without[i], number);
        if (!isfinite(v)) continue;
        low = fmin(low, v);
        high = fmax(high, v);
    }
    sp_number(text[0], take(&m->model, number), 4);
    sp_print(stream, "%-34s %10s %-4s", name, text[0], unit);
    if (low <= high)
        sp_print(stream, " %10s .. %s", sp_number(text[1], low, 4), sp_number(text[2], high, 4));
    sp_print(stream, "\n");
}

static void put_values(FILE *stream, const sp_material *m)
{
    sp_print(stream, "%-34s %15s%s\n", "", "fitted",
             m->without_count ? "   when one test is left out" : "");
    put_value(stream, m, "modulus when all has relaxed", "MPa", slow, 0);
    put_value(stream, m, "modulus at once", "MPa", quick, 0);
    for (int i = 0; i < m->model.branch_count; i++) {
        char name[48];
        snprintf(name, sizeof name, "branch that relaxes in %g s", m->model.time[i]);
        put_value(stream, m, name, "MPa", branch, i);
    }
    if (m->model.ratio > 0) {
        put_value(stream, m, "softening: ratio", "", ratio, 0);
        put_value(stream, m, "softening: energy", "MPa", energy, 0);
        put_value(stream, m, "softening: share", "", share, 0);
    }
    for (int i = 0; i < sp_material_flows(m->tests); i++) {
        put_value(stream, m, i ? "second flow: modulus" : "flow: modulus", "MPa", flow_modulus, i);
        put_value(stream, m, i ? "second flow: stress" : "flow: stress", "MPa", flow_stress, i);
        put_value(stream, m, i ? "second flow: time" : "flow: time", "s", flow_time, i);
    }
}

/* --- what is known by which test --- */

static void put_known(FILE *stream, const sp_material *m)
{
    const sp_material_tests *tests = m->tests;
    double slowest, fastest, longest = 0;
    int turning = 0, sets = 0, records = 0;
    for (int t = 0; t < tests->count; t++) {
        const mat_test *test = &tests->test[t];
        if (!test->fitted) continue;
        sets += test->set > 0;
        turning += test->turns;
        longest = fmax(longest, fmax(test->held, test->time[test->count - 1] - test->time[0]));
        records += !(test->set > 0);
    }
    sp_material_rates(tests, &slowest, &fastest);
    sp_print(stream, "\nwhat is known, and by what\n");
    sp_print(stream,
             "  the curve        up to %.3g %% strain, by %d record%s in %s; beyond it goes on "
             "with its last slope\n",
             100 * expm1(m->model.reach), records, records == 1 ? "" : "s",
             tests->compression ? "compression" : "tension");
    sp_print(stream, "  in %s   a guess: the same true stress at the opposite log strain\n",
             tests->compression ? "tension    " : "compression");
    if (fastest > 3 * slowest)
        sp_print(stream, "  rates            %.2g to %.2g /s\n", slowest, fastest);
    else
        sp_print(stream,
                 "  rates            one, %.2g /s: how stiff it is at another is a guess by "
                 "the branches\n",
                 fastest);
    sp_print(stream,
             "  relaxation       over %.3g s; a hold or rest beyond %.3g s is an "
             "extrapolation\n",
             longest, far_share * longest);
    sp_print(stream, "  softening        %s\n",
             turning ? "by the way back; a second loading to the same strain would fix it better"
                     : "not known: no test goes back");
    sp_print(stream, "  set              %s\n",
             sets ? "by the compression set given"
                  : "not known beyond the records: no set was given");
}

/* --- tests --- */

static void put_figure(FILE *stream, double measured, double fitted, double scale, const char *unit)
{
    if (isnan(measured) || isnan(fitted)) {
        sp_print(stream, " %17s", "-");
        return;
    }
    sp_print(stream, " %7.4g %7.4g %s", scale * measured, scale * fitted, unit);
}

static sp_status put_test(sp_context *context, FILE *stream, const sp_material *m,
                          const mat_test *test)
{
    if (test->set > 0) {
        sp_print(stream, "%-28.28s %-9s set %5.3g %%, by the fit %.3g %%\n", test->name,
                 test->fitted ? "fitted" : "predicted", 100 * test->set,
                 100 *
                     sp_material_set(&m->model, test->set_strain, test->set_held, test->set_free));
        return SP_OK;
    }
    double *work = sp_alloc((size_t)test->count * (MAT_LINEAR + 1), sizeof *work);
    if (!work) return sp_fail(context, SP_NO_MEMORY, "no memory for a table");
    double *stress = work + (size_t)test->count * MAT_LINEAR, sum = 0, points = 0;
    sp_material_stress(&m->model, test, work, stress);
    for (int k = 0; k < test->count; k++) {
        if (!sp_material_counts(test, k)) continue;
        sum += (stress[k] - test->stress[k]) * (stress[k] - test->stress[k]);
        points++;
    }
    const mat_loop was = sp_material_loop(test, test->stress), is = sp_material_loop(test, stress);
    sp_print(stream, "%-28.28s %-9s %6.2f %%", test->name, test->fitted ? "fitted" : "predicted",
             100 * sqrt(sum / points) / test->peak);
    put_figure(stream, was.peak, is.peak, 1, " ");
    put_figure(stream, was.loss, is.loss, 100, " ");
    put_figure(stream, was.left, is.left, 100, "");
    sp_print(stream, "\n");
    sp_free(work);
    return SP_OK;
}

sp_status sp_material_table(sp_context *context, const sp_material *material, FILE *stream)
{
    const sp_material_tests *tests = material->tests;
    char name[MAT_NAME_SIZE];
    sp_status status = SP_OK;
    sp_printable(tests->name, name, sizeof name);
    sp_print(stream, "material   %s: %d test%s fitted, misfit %.2g %% of their peaks\n\n", name,
             tests->fitted, tests->fitted == 1 ? "" : "s", 100 * material->model.misfit);
    put_values(stream, material);
    put_known(stream, material);
    sp_print(stream, "\n%-28s %-9s %8s %17s %17s %17s\n", "test", "", "misfit", "peak [MPa]",
             "loss [%]", "left [%]");
    sp_print(stream, "%-28s %-9s %8s %17s %17s %17s\n", "", "", "", "measured  fit",
             "measured  fit", "measured  fit");
    for (int t = 0; status == SP_OK && t < tests->count; t++)
        status = put_test(context, stream, material, &tests->test[t]);
    if (status != SP_OK) return status;
    sp_print(stream, "\npeak: largest true stress; loss: share of the work that is not given back; "
                     "left: strain at no stress\n"
                     "/ largest strain\n");
    if (isfinite(material->law_misfit))
        sp_print(stream, "the law that reads filament.yaml is within %.2g %% of the fit\n",
                 100 * material->law_misfit);
    sp_print(stream, "caution: %s\n", SP_CAUTION_SAFETY);
    return sp_stream_end(context, stream);
}
