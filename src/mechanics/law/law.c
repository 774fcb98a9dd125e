/* This file holds the rows of the laws, and finds the modulus and the stable range of each. */
#include "law/law_list.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "law/in_time.h"

static const sp_law_row rows[] = {
#define SP_LAW_ROW(id, name, doc, needs, history)                                                  \
    {name, doc, needs, sp_law_##id##_prepare, sp_law_##id##_eval, history},
    SP_LAW_ROWS(SP_LAW_ROW)
#undef SP_LAW_ROW
};

static const double search_least = 0.05, search_most = 8; /* stretch range that is searched */
static const double warn_least = 0.3, warn_most = 2; /* a coupon reaches these stretches: warn */
static const int search_steps = 400;                 /* on either side, even in log stretch */

const sp_law_row *sp_law_rows(int *count)
{
    *count = (int)(sizeof rows / sizeof *rows);
    return rows;
}

const sp_law_row *sp_law_find(const char *name)
{
    int count;
    const sp_law_row *row = sp_law_rows(&count);
    for (int i = 0; i < count; i++)
        if (strcmp(row[i].name, name) == 0) return &row[i];
    return NULL;
}

int sp_law_yields(const char *name)
{
    const sp_law_row *row = sp_law_find(name);
    return row && row->history;
}

double sp_law_keep(const sp_law *law, int n, const double *stretch, const double *weight,
                   double *history)
{
    const sp_law_history *own = law->history;
    double dissipated = 0;
    own->keep(law, n, stretch, history);
    for (int i = 0; i < n; i++)
        dissipated += weight[i] * history[law->history_count * i + own->dissipated];
    return dissipated;
}

static const char *state_text(const sp_law *law)
{
    return law->strain_state == SP_UNIAXIAL ? "uniaxial" : "plane strain";
}

static int is_stable(const sp_law *law, double stretch)
{
    double w, p, a;
    law->row->eval(law, 1, &stretch, &w, &p, &a);
    return isfinite(w) && isfinite(p) && isfinite(a) && a > 0;
}

/* Find the last stable stretch from 1 towards `end`, by steps even in log stretch and bisection of
 * the step that fails. */
static double stable_until(const sp_law *law, double end)
{
    double good = 1;
    for (int i = 1; i <= search_steps; i++) {
        double bad = i == search_steps ? end : pow(end, (double)i / search_steps);
        if (is_stable(law, bad)) {
            good = bad;
            continue;
        }
        while (fabs(bad - good) > 1e-9) {
            const double middle = 0.5 * (good + bad);
            if (is_stable(law, middle))
                good = middle;
            else
                bad = middle;
        }
        return good;
    }
    return end;
}

static sp_status check_stability(sp_context *context, sp_law *law)
{
    const double one = 1;
    double w, p;
    law->row->eval(law, 1, &one, &w, &p, &law->modulus);
    if (!is_stable(law, 1) || !(law->shear_modulus > 0))
        return sp_fail(context, SP_BAD_CASE,
                       "law %s is unstable at small strain: its constants give a %s modulus of %g "
                       "MPa; valid: above 0 (keys: %s)",
                       law->row->name, state_text(law), law->modulus, law->row->needs);
    law->stretch_min = stable_until(law, search_least);
    law->stretch_max = stable_until(law, search_most);
    if (law->stretch_min > warn_least)
        sp_warn(context, "law %s, %s: not stable in compression beyond strain %.3g (stretch %.4g)",
                law->row->name, state_text(law), law->stretch_min - 1, law->stretch_min);
    if (law->stretch_max < warn_most)
        sp_warn(context, "law %s, %s: not stable in tension beyond strain %.3g (stretch %.4g)",
                law->row->name, state_text(law), law->stretch_max - 1, law->stretch_max);
    return SP_OK;
}

/* The law has no line of its own in the case file, so the message names the file. */
static sp_status name_source(sp_context *context, const sp_case *request, sp_status status)
{
    if (status != SP_BAD_CASE || request->source[0] == '\0') return status;
    return sp_fail(context, status, "%s: %s", request->source, context->message);
}

static sp_status find_row(sp_context *context, const sp_case *request, sp_law *law)
{
    law->row = sp_law_find(request->law);
    if (!law->row)
        return sp_fail(context, SP_BAD_CASE,
                       "material.law: received \"%s\", which is not a law; see: list laws",
                       request->law);
    if (!(request->modulus > 0) || isinf(request->modulus))
        return sp_fail(context, SP_BAD_CASE,
                       "material.modulus: received %g MPa; valid: above 0 and finite",
                       request->modulus);
    return SP_OK;
}

sp_status sp_law_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    *law = (sp_law){.strain_state = request->strain_state};
    law->poisson_ratio = 0.5; /* all laws but linear and yielding are incompressible */
    law->rows_most = INFINITY;
    sp_status status = find_row(context, request, law);
    if (status == SP_OK) law->own = law->row->history;
    if (status == SP_OK) status = law->row->prepare(context, request, law);
    if (status == SP_OK) status = check_stability(context, law);
    if (status == SP_OK) status = sp_law_time_prepare(context, request, law);
    if (status != SP_OK) sp_law_free(law);
    return name_source(context, request, status);
}

void sp_law_free(sp_law *law)
{
    sp_free(law->table);
    law->table = NULL;
    law->term_count = 0;
}

int sp_law_goes_with_modulus(const sp_case *request)
{
    enum { COUNT = 6 };
    static const double stretch[COUNT] = {0.4, 0.7, 0.9, 1.1, 1.5, 2};
    sp_context quiet = {0};
    sp_case twice = *request;
    sp_law one = {0}, two = {0};
    double w[COUNT], p[2][COUNT], a[COUNT];
    twice.modulus *= 2;
    int linear = sp_law_prepare(&quiet, request, &one) == SP_OK &&
                 sp_law_prepare(&quiet, &twice, &two) == SP_OK && !one.row->history;
    if (linear) {
        sp_law_eval(&one, COUNT, stretch, NULL, w, p[0], a);
        sp_law_eval(&two, COUNT, stretch, NULL, w, p[1], a);
    }
    for (int i = 0; i < COUNT && linear; i++)
        linear = fabs(p[1][i] - 2 * p[0][i]) <= 1e-9 * fabs(p[0][i]);
    sp_law_free(&one);
    sp_law_free(&two);
    return linear;
}
