/* A fitted material in a folder: the filament with its table, measured and fitted stress, a
 * picture; and the filament read back. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/case.h>
#include <strutpress/version.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "caution/caution.h"
#include "compare/lines.h"
#include "filament/filament.h"
#include "law/in_time.h"
#include "law/law.h"
#include "material/material_parts.h"
#include "write/file_set.h"
#include "write/text.h"

enum { ROWS = 48, DIGITS = 7, HISTORY = 96 }; /* rows of the table on either side */
/* The law that is read back is another one when it differs by more, as a share of the peak. */
static const double law_misfit_most = 0.02;
static const char *const names[] = {"filament.yaml", "filament.csv", "material.csv",
                                    "material.svg"};

/* --- the filament --- */

static void put_list(FILE *stream, int count, const double *value, double over, const char *unit)
{
    char text[SP_NUMBER_SIZE];
    for (int i = 0; i < count; i++)
        sp_print(stream, "%s%s%s", i ? ", " : "[", sp_number(text, value[i] / over, DIGITS), unit);
    sp_print(stream, "]");
}

static void put_comments(FILE *stream, const sp_material *m)
{
    const sp_material_tests *tests = m->tests;
    char source[SP_MATERIAL_FILE];
    sp_printable(tests->source, source, sizeof source);
    sp_print(stream,
             "# %s\n# Fitted by strutpress %s to tests of the material, %.300s: misfit %.2g %% of "
             "their peaks.\n",
             tests->name, sp_version(), source, 100 * m->model.misfit);
    for (int t = 0; t < tests->count; t++)
        if (tests->test[t].fitted) sp_print(stream, "#   %s\n", tests->test[t].name);
    sp_print(stream,
             "# The stress in %s is a guess: the same true stress at the opposite log strain. "
             "Plane strain by the law "
             "(docs/theory.md).\n# %s\n",
             tests->compression ? "tension" : "compression", SP_CAUTION_SAFETY);
}

static sp_status write_filament(sp_context *context, const sp_material *m, FILE *stream)
{
    const mat_model *model = &m->model;
    const double modulus = sp_material_slow_modulus(model);
    double time[MAT_BRANCHES], branch[MAT_BRANCHES], rate[2];
    char text[3][SP_NUMBER_SIZE];
    int count = 0;
    for (int i = 0; i < model->branch_count; i++)
        if (model->branch[i] > 1e-6 * modulus) {
            time[count] = model->time[i];
            branch[count++] = model->branch[i];
        }
    put_comments(stream, m);
    sp_print(stream, "material:\n  law: tabulated\n  table: %s   # when all has relaxed\n",
             names[1]);
    sp_print(stream, "  reach: %s %%\n", sp_number(text[0], 100 * expm1(model->reach), DIGITS));
    sp_material_rates(m->tests, &rate[0], &rate[1]);
    if (rate[0] <= rate[1]) {
        sp_print(stream, "  reach_rates: ");
        put_list(stream, 2, rate, 1, "");
        sp_print(stream, "   # 1/s\n");
    }
    if (count) {
        sp_print(stream, "  relaxation:\n    reference: rest\n    shares: ");
        put_list(stream, count, branch, modulus, "");
        sp_print(stream, "   # of the slope of the table\n    times: ");
        put_list(stream, count, time, 1, " s");
        sp_print(stream, "\n");
    }
    if (model->ratio > 0)
        sp_print(stream, "  softening: {ratio: %s, energy: %s MPa, share: %s}\n",
                 sp_number(text[0], model->ratio, DIGITS),
                 sp_number(text[1], model->energy, DIGITS),
                 sp_number(text[2], model->share, DIGITS));
    for (int i = 0, written = 0; i < MAT_FLOWS; i++) {
        const double stress = model->flow_stress[i];
        if (!(stress > 0)) continue;
        sp_print(stream, "  %s: {share: %s, stress: %s MPa, time: %s s}\n",
                 written++ ? "second_flow" : "flow",
                 sp_number(text[0], stress * model->flow_stiffness[i] / modulus, DIGITS),
                 sp_number(text[1], stress, DIGITS),
                 sp_number(text[2], model->flow_time[i], DIGITS));
    }
    return sp_stream_end(context, stream);
}

/* Nominal stress over nominal strain, close rows near no strain. */
static sp_status write_table(sp_context *context, const sp_material *m, FILE *stream)
{
    char text[2][SP_NUMBER_SIZE];
    sp_print(stream, "strain,stress_MPa\n");
    for (int k = -ROWS; k <= ROWS; k++) {
        const double s = (double)k / ROWS, e = m->model.reach * s * fabs(s);
        double energy;
        const double stress = sp_material_equilibrium(&m->model, e, &energy) * exp(-e);
        sp_print(stream, "%s,%s\n", sp_number(text[0], expm1(e), 12),
                 sp_number(text[1], k ? stress : 0, 12));
    }
    return sp_stream_end(context, stream);
}

/* --- measured and fitted --- */

/* Fitted stress of every test, one after the other; freed by the caller. NULL: no memory. */
static double *fitted_stress(const sp_material_tests *tests, const mat_model *model)
{
    size_t points = 0, most = 0;
    for (int t = 0; t < tests->count; t++) {
        points += (size_t)tests->test[t].count;
        most = (size_t)tests->test[t].count > most ? (size_t)tests->test[t].count : most;
    }
    double *stress = sp_alloc(points, sizeof *stress),
           *rows = sp_alloc(most * MAT_LINEAR, sizeof *rows);
    for (int t = 0; stress && rows && t < tests->count; t++) {
        sp_material_stress(model, &tests->test[t], rows, stress);
        stress += tests->test[t].count;
    }
    sp_free(rows);
    if (!stress) return NULL;
    stress -= points;
    return stress;
}

static sp_status write_points(sp_context *context, const sp_material_tests *tests,
                              const double *stress, FILE *stream)
{
    char text[4][SP_NUMBER_SIZE];
    sp_print(stream, "test,fitted,time_s,strain,stress_MPa,fitted_stress_MPa\n");
    for (int t = 0; t < tests->count; t++) {
        const mat_test *test = &tests->test[t];
        for (int k = 0; k < test->count && !(test->set > 0); k++) {
            const double over = exp(-test->strain[k]);
            sp_print(stream, "%d,%d,%s,%s,%s,%s\n", t + 1, test->fitted,
                     sp_number(text[0], test->time[k], 9),
                     sp_number(text[1], expm1(test->strain[k]), 9),
                     sp_number(text[2], over * test->stress[k], 9),
                     sp_number(text[3], over * stress[k], 9));
        }
        stress += test->count;
    }
    return sp_stream_end(context, stream);
}

/* Add a record to the picture: nominal stress over strain, `stress` in log strain. 0: no memory. */
static int add_record(const mat_test *test, const double *stress, double sign, int style,
                      const char *label, plot_lines *all)
{
    plot_line *line = sp_plot_lines_add(all, style, test->count, label);
    for (int k = 0; k < test->count; k++)
        sp_plot_lines_point(line, 100 * sign * expm1(test->strain[k]),
                            sign * exp(-test->strain[k]) * stress[k]);
    if (line) line->markers = !label;
    return line != NULL;
}

/* Draw records over strain: measured as points, fitted or predicted as a line. */
static sp_status write_picture(sp_context *context, const sp_material_tests *tests,
                               const double *stress, FILE *stream)
{
    const double sign = tests->compression ? -1 : 1;
    plot_lines all = {0};
    int drawn = 0, added = 1;
    for (int t = 0; t < tests->count && added; t++) {
        const mat_test *test = &tests->test[t];
        if (!(test->set > 0) && drawn < PLOT_LINE_MAX / 2) {
            const int style = drawn++ % PLOT_COLOURS;
            added = add_record(test, test->stress, sign, style, NULL, &all) &&
                    add_record(test, stress, sign, style + (test->fitted ? 0 : PLOT_COLOURS),
                               test->name, &all);
        }
        stress += test->count;
    }
    const plot picture = {.title = "Tests of the material: measured (points), fitted and predicted",
                          .x_name = "strain [%]",
                          .y_name = "nominal stress [MPa]",
                          .note = tests->compression ? "compression positive" : "tension positive",
                          .line_count = all.count,
                          .line = all.line};
    if (added) sp_plot_draw(&picture, stream);
    sp_plot_lines_free(&all);
    return added ? sp_stream_end(context, stream)
                 : sp_fail(context, SP_NO_MEMORY, "no memory for a picture");
}

/* --- the filament, read back --- */

/* What the law makes of a record at most misses of the fit, over the peak. */
static double law_misses(const sp_law *law, const mat_test *test, const double *stress)
{
    double history[HISTORY] = {0}, worst = 0, w, p, a;
    const double weight = 1;
    for (int k = 0; k < test->count; k++) {
        const double l = exp(test->strain[k]);
        sp_law_arm(law, k ? test->time[k] - test->time[k - 1] : 0, 1, history);
        sp_law_eval(law, 1, &l, history, &w, &p, &a);
        worst = fmax(worst, fabs(p * l - stress[k]));
        sp_law_keep(law, 1, &l, &weight, history);
    }
    return worst / test->peak;
}

static sp_status read_back(sp_context *context, sp_material *m, const char *folder,
                           const double *stress)
{
    sp_case request;
    sp_law law = {0};
    const sp_material_tests *tests = m->tests;
    sp_context quiet = {0};
    sp_case_default(&request);
    snprintf(request.source, sizeof request.source, "%.900s/case.yaml", folder);
    snprintf(request.filament, sizeof request.filament, "%s", names[0]);
    request.strain_state = SP_UNIAXIAL;
    sp_status status = sp_filament_apply(&quiet, &request);
    if (status == SP_OK) status = sp_law_prepare(&quiet, &request, &law);
    if (status == SP_OK && law.history_count > HISTORY) status = SP_INTERNAL;
    m->law_misfit = 0;
    for (int t = 0; status == SP_OK && t < tests->count; t++) {
        /* beyond the tests that were fitted the curve of the law goes on straight */
        if (tests->test[t].fitted && !(tests->test[t].set > 0))
            m->law_misfit = fmax(m->law_misfit, law_misses(&law, &tests->test[t], stress));
        stress += tests->test[t].count;
    }
    sp_law_free(&law);
    if (status != SP_OK)
        return sp_fail(context, status, "the filament just written is no law: %s", quiet.message);
    if (m->law_misfit > law_misfit_most)
        sp_warn(context, "the law of the filament misses the fit by %.2g %% of a peak",
                100 * m->law_misfit);
    return SP_OK;
}

sp_status sp_material_write(sp_context *context, sp_material *m, const char *folder)
{
    sp_file_set set;
    double *stress = fitted_stress(m->tests, &m->model);
    if (!stress) return sp_fail(context, SP_NO_MEMORY, "no memory for the stress of a fit");
    sp_status status = sp_file_set_begin(context, &set, folder, "material", 4);
    for (int i = 0; status == SP_OK && i < 4; i++) {
        status = sp_file_set_open(context, &set, names[i]);
        if (status != SP_OK) break;
        status = i == 0   ? write_filament(context, m, set.stream)
                 : i == 1 ? write_table(context, m, set.stream)
                 : i == 2 ? write_points(context, m->tests, stress, set.stream)
                          : write_picture(context, m->tests, stress, set.stream);
        status = sp_file_set_close(context, &set, status);
    }
    status = sp_file_set_end(context, &set, status);
    if (status == SP_OK) status = read_back(context, m, folder, stress);
    sp_free(stress);
    return status;
}
