/* These tests check filaments made from tests of their material: closed forms that are found again,
 * open data of a resin, and bad files. Marks of values: D derived, T textbook (as in
 * test_in_time.c). */
#include "check.h"

#include "material/material_parts.h"
#include "temporary_file.h"

#define RESIN "tests/data/beam_lattices/resin/base/msla_He3_test_"

static sp_context context;

static sp_material_tests *parse(const char *text)
{
    sp_material_tests *tests = NULL;
    context = (sp_context){0};
    if (sp_material_tests_parse(&context, "tests.yaml", text, strlen(text), &tests) != SP_OK)
        fail_msg("%s", context.message);
    return tests;
}

/* Find the reach and the branch times, and fit all tests. */
static mat_model fit(const sp_material_tests *tests, int branches, double first)
{
    mat_model model = {.branch_count = branches};
    for (int t = 0; t < tests->count; t++)
        for (int k = 0; k < tests->test[t].count && tests->test[t].fitted; k++)
            model.reach = fmax(model.reach, fabs(tests->test[t].strain[k]));
    for (int i = 0; i < branches; i++) model.time[i] = first * pow(10, i);
    if (sp_material_fit_model(&context, tests, -1, 0, &model) != SP_OK)
        fail_msg("%s", context.message);
    return model;
}

/* T: a standard linear solid of 1 and 1 MPa and 10 s, pulled at 0.01 /s of log strain to 0.1 and
 * held: E_inf e + E_1 tau r (1 - exp(-t/tau)), then it relaxes. */
static void standard_solid_is_found_again(void **unused)
{
    char name[256], text[40000], file[600];
    int used = 0;
    (void)unused;
    used += snprintf(text, sizeof text, "time,strain,stress\n");
    for (int i = 0; i <= 300; i++) {
        const double t = i <= 100 ? 0.1 * i : 10 * pow(100, (i - 100) / 200.0),
                     e = 0.01 * fmin(t, 10), rise = 0.1 * (1 - exp(-fmin(t, 10) / 10)),
                     stress = e + rise * exp(-fmax(0, t - 10) / 10);
        used += snprintf(text + used, sizeof text - (size_t)used, "%.12g,%.15g,%.15g\n", t,
                         expm1(e), stress * exp(-e));
    }
    write_temporary_file(name, sizeof name, text);
    snprintf(file, sizeof file, "material:\n  - {curve: %s}\nflow: no\n", name);
    sp_material_tests *tests = parse(file);
    const mat_model model = fit(tests, 3, 1);
    check_true(model.misfit < 1e-4);
    check_relative(sp_material_slow_modulus(&model), 1, 1e-3);
    check_relative(model.branch[1], 1, 1e-3);
    check_close(model.branch[0], 0, 1e-3);
    check_close(model.branch[2], 0, 1e-3);
    /* Held for long and let go, half of the strain comes back at once, the rest in 20 s. */
    check_close(sp_material_set(&model, 0.1, 1000, 20), 0.5 * exp(-1), 0.02);
    sp_material_tests_free(tests);
    remove(name);
}

/* A compression set beside one quick record gives the slow branch that it asks for. */
static void set_asks_for_a_slow_branch(void **unused)
{
    char name[256], file[600];
    (void)unused;
    write_temporary_file(name, sizeof name, "0,0,0\n5,0.125,1.25\n10,0.25,2.5\n");
    snprintf(file, sizeof file,
             "loading: compression\nflow: no\ntimes: [1 s, 100000 s]\nmaterial:\n  - {curve: "
             "%s}\n  - {set: 20 %%, strain: 25 %%, held: 22 h, free: 30 min}\n",
             name);
    sp_material_tests *tests = parse(file);
    mat_model model = {.branch_count = 2, .time = {1, 1e5}, .reach = 0.2876820724517809};
    assert_int_equal(sp_material_fit_model(&context, tests, -1, 0, &model), SP_OK);
    check_true(model.branch[1] > 0);
    check_close(sp_material_set(&model, -0.25, 79200, 1800), 0.20, 0.03);
    sp_material_tests_free(tests);
    remove(name);
}

/* T: as above, pulled and let go to no strain. Beyond the moment of no stress the specimen is
 * slack, or it buckles at a stress of 0.02 and carries half of that: those points tell nothing of
 * the material. All count where the test goes on to strains of the other side. */
static void slack_and_buckling_do_not_count(void **unused)
{
    enum { SLACK, BUCKLES, PASSES, WAYS };
    (void)unused;
    for (int way = 0; way < WAYS; way++) {
        char name[256], text[40000], file[600];
        int used = snprintf(text, sizeof text, "time,strain,stress\n"), dropped = 0;
        for (int i = 0; i <= (way == PASSES ? 240 : 200); i++) {
            const double t = 0.1 * i, back = fmax(0, t - 10), e = 0.01 * (t - 2 * back);
            double stress = e + 0.1 * (1 - exp(-t / 10)) - 0.2 * (1 - exp(-back / 10));
            if (way == SLACK) stress = fmax(stress, -0.001);
            if (way == BUCKLES && stress < -0.02) stress = -0.01;
            used += snprintf(text + used, sizeof text - (size_t)used, "%.12g,%.15g,%.15g\n", t,
                             expm1(e), stress * exp(-e));
        }
        write_temporary_file(name, sizeof name, text);
        snprintf(file, sizeof file, "material:\n  - {curve: %s}\nflow: no\nsoftening: no\n", name);
        sp_material_tests *tests = parse(file);
        const mat_test *test = &tests->test[0];
        for (int k = 0; k < test->count; k++) dropped += !sp_material_counts(test, k);
        check_true(way == PASSES ? dropped == 0 : dropped > 2);
        const mat_model model = fit(tests, 3, 1);
        check_true(model.misfit < 1e-4);
        check_relative(sp_material_slow_modulus(&model), 1, 0.01);
        check_relative(model.branch[1], 1, 0.01);
        sp_material_tests_free(tests);
        remove(name);
    }
}

/* D: tanh(x/2) of a branch that flows, after a ramp of log strain from rest at rho = E tau rate/s
 * for th = t/tau (Riccati), and in a hold of th after tanh(x/2) = w. */
static double ramp(double rho, double th)
{
    const double om = sqrt(1 + rho * rho), t = tanh(0.5 * om * th);
    return rho * t / (om + t);
}

/* D: 1 MPa that stays and two branches of 1 MPa that flow at 0.01 MPa in 20 s and at 0.04 MPa in
 * 2000 s, pulled at 0.01 /s and at 0.001 /s to 0.1 and held. Two are found, one misses. */
static void two_flows_are_found_again(void **unused)
{
    static const double s[] = {0.01, 0.04}, tau[] = {20, 2000};
    char name[2][256], text[40000], file[1400];
    double misfit[2];
    (void)unused;
    for (int k = 0; k < 2; k++) {
        const double rate = k ? 0.001 : 0.01, top = 0.1 / rate;
        int used = snprintf(text, sizeof text, "time,strain,stress\n");
        for (int i = 0; i <= 400; i++) {
            const double t = i <= 200 ? top * i / 200 : top * pow(100, (i - 200) / 200.0);
            const double e = rate * fmin(t, top);
            double stress = e;
            for (int j = 0; j < 2; j++)
                stress += 2 * s[j] *
                          atanh(ramp(tau[j] * rate / s[j], fmin(t, top) / tau[j]) *
                                exp(-fmax(0, t - top) / tau[j]));
            used += snprintf(text + used, sizeof text - (size_t)used, "%.12g,%.15g,%.15g\n", t,
                             expm1(e), stress * exp(-e));
        }
        write_temporary_file(name[k], sizeof name[k], text);
    }
    for (int flows = 1; flows < 3; flows++) {
        snprintf(file, sizeof file, "material:\n  - {curve: %s}\n  - {curve: %s}\nflow: %s\n",
                 name[0], name[1], flows > 1 ? "two" : "yes");
        sp_material_tests *tests = parse(file);
        assert_int_equal(sp_material_flows(tests), flows);
        const mat_model model = fit(tests, 1, 1e-3);
        misfit[flows - 1] = model.misfit;
        print_message("%d: misfit %.3g\n", flows, model.misfit);
        for (int i = 0; i < 2; i++)
            print_message("  E %.4g s %.4g tau %.4g\n",
                          model.flow_stress[i] * model.flow_stiffness[i], model.flow_stress[i],
                          model.flow_time[i]);
        sp_material_tests_free(tests);
    }
    for (int k = 0; k < 2; k++) remove(name[k]);
    check_true(misfit[1] < 0.5 * misfit[0]);
}

/* --- the resin --- */

static const char *const cycles[] = {"cycle_r05_s3", "cycle_r05_s6", "cycle_r05_s9",
                                     "cycle_r5_s3",  "cycle_r5_s6",  "cycle_r5_s9"};

static sp_material_tests *resin(int third_amplitude)
{
    char text[4000];
    int used = snprintf(text, sizeof text, "material:\n");
    for (int i = 0; i < 6; i++)
        if (third_amplitude || i % 3 != 2)
            used += snprintf(text + used, sizeof text - (size_t)used,
                             "  - {curve: " RESIN "%s.txt, columns: [4, 5, 6]}\n", cycles[i]);
    used += snprintf(text + used, sizeof text - (size_t)used,
                     "  - {curve: " RESIN "relax_r05.txt, columns: [4, 5, 6]}\n"
                     "  - {curve: " RESIN "relax_r5.txt, columns: [4, 5, 6]}\n");
    if (!third_amplitude)
        snprintf(text + used, sizeof text - (size_t)used,
                 "predict:\n  - {curve: " RESIN "cycle_r05_s9.txt, columns: [4, 5, 6]}\n"
                 "  - {curve: " RESIN "cycle_r5_s9.txt, columns: [4, 5, 6]}\n");
    return parse(text);
}

static mat_loop loop_of(const mat_model *model, const mat_test *test)
{
    static double rows[4000 * MAT_LINEAR], stress[4000];
    assert_true(test->count < 4000);
    sp_material_stress(model, test, rows, stress);
    return sp_material_loop(test, stress);
}

/* The fit to open data (ORIGIN.txt) has every loss and every residual strain within 0.05. Peaks are
 * within 5 % at 6 and 9 %; at 3 % three specimens of one rate differ by 12 % (9.28 to 10.40 and
 * 11.5 to 13.2 MPa), and the fit lies within 5 % of their mean. */
static void resin_is_fitted(void **unused)
{
    static const double mean_at_3[] = {9.916 * 1.03, 12.335 * 1.03}; /* true stress */
    (void)unused;
    sp_material_tests *tests = resin(1);
    const mat_model model = fit(tests, 4, 1);
    for (int i = 0; i < 6; i++) {
        const mat_test *test = &tests->test[i];
        const mat_loop was = sp_material_loop(test, test->stress), is = loop_of(&model, test);
        print_message("%s: peak %.2f %.2f MPa, loss %.3f %.3f, left %.3f %.3f\n", cycles[i],
                      was.peak, is.peak, was.loss, is.loss, was.left, is.left);
        check_close(is.loss, was.loss, 0.05);
        check_close(is.left, was.left, 0.05);
        check_relative(is.peak, i % 3 ? was.peak : mean_at_3[i / 3], 0.05);
    }
    sp_material_tests_free(tests);
}

/* Fitted to 3 and 6 %, and to the holds: the cycle to 9 % at both rates is predicted. */
static void third_amplitude_is_predicted(void **unused)
{
    (void)unused;
    sp_material_tests *tests = resin(0);
    const mat_model model = fit(tests, 4, 1);
    for (int i = 6; i < 8; i++) {
        const mat_test *test = &tests->test[i];
        const mat_loop was = sp_material_loop(test, test->stress), is = loop_of(&model, test);
        print_message("9 %%: peak %.2f %.2f MPa, loss %.3f %.3f, left %.3f %.3f\n", was.peak,
                      is.peak, was.loss, is.loss, was.left, is.left);
        check_close(is.loss, was.loss, 0.05);
        check_close(is.left, was.left, 0.05);
        check_relative(is.peak, was.peak, 0.08);
    }
    sp_material_tests_free(tests);
}

/* A byte order mark, remarks before the head and blank lines change nothing: the first row counts.
 */
static void heads_are_passed(void **unused)
{
    static const char *const text[] = {"0,0,0\n1,0.1,1\n2,0.2,1.5\n",
                                       "\xef\xbb\xbf"
                                       "0,0,0\n1,0.1,1\n2,0.2,1.5\n",
                                       "# a rig\n\ntime; strain; stress\n0; 0; 0 # start\n"
                                       "1 0.1 1\r\n\n2,\t0.2 , 1.5 "};
    (void)unused;
    for (size_t i = 0; i < sizeof text / sizeof *text; i++) {
        mat_test test = {0};
        context = (sp_context){0};
        if (sp_material_record_parse(&context, "rows.csv", text[i], strlen(text[i]),
                                     (const int[]){1, 2, 3}, 0, &test) != SP_OK)
            fail_msg("%s", context.message);
        assert_int_equal(test.count, 3);
        check_close(test.time[0], 0, 0);
        check_relative(test.stress[2], 1.5 * 1.2, 1e-14);
        sp_material_record_free(&test);
    }
}

static void bad_files_are_told(void **unused)
{
    static const char *const bad[][2] = {
        {"material: no\n", "a list of"},
        {"material: []\n", "a list of"},
        {"material:\n  - {set: 18 %}\n", "held: 22 h"},
        {"material:\n  - {name: x}\n", "neither"},
        {"material:\n  - {set: 200 %, strain: 25 %, held: 22 h, free: 30 min}\n", "above 0"},
        {"material:\n  - {curve: no.csv, columns: [1, 2]}\n", "columns of time"},
        {"material:\n  - {curve: no.csv, columns: [1, 2, 99]}\n", "from 1 to 32"},
        {"material:\n  - {curve: /nowhere/no.csv}\n", "cannot be read"},
        {"material:\n  - {set: 18 %, strain: 25 %, held: 22 h, free: 30 min}\n",
         "no record of stress"},
        {"material:\n  - {curve: a}\nloading: bending\n", "tension or compression"},
        {"material:\n  - {curve: a}\ntimes: [0 s]\n", "above 0"},
        {"material:\n  - {curve: a}\nflow: three\n", "no, yes or two"},
        {"materials:\n  - {curve: a}\n", "material"},
    };
    (void)unused;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        sp_material_tests *tests = NULL;
        context = (sp_context){0};
        assert_int_not_equal(
            sp_material_tests_parse(&context, "tests.yaml", bad[i][0], strlen(bad[i][0]), &tests),
            SP_OK);
        assert_null(tests);
        if (!strstr(context.message, bad[i][1]) || strchr(context.message, '\n'))
            fail_msg("%s: %s", bad[i][0], context.message);
    }
    static const char *const rows[][2] = {{"0,0,0\n1,0.1\n", ":2: received 2 numbers"},
                                          {"0,0,0\n1,5,1\n2,5,1\n", "fractions, not %"},
                                          {"1,0,0\n0,0.1,1\n2,0.1,1\n", "do not fall"},
                                          {"0,0,0\n1,0,0\n2,0,0\n", "without strain"},
                                          {"0,0,0\n1,0.1,2x\n", ":2: received 2 numbers"},
                                          {"\xef\xbb\xbf"
                                           "0,0,0\n1,0.1,nan\n",
                                           ":2: received 2"},
                                          {"a head\nanother\n", ":2: received 0 numbers"},
                                          {"0,0,0\n", "at least 3"}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        mat_test test = {0};
        context = (sp_context){0};
        assert_int_equal(sp_material_record_parse(&context, "rows.csv", rows[i][0],
                                                  strlen(rows[i][0]), (const int[]){1, 2, 3}, 0,
                                                  &test),
                         SP_NO_READ);
        if (!strstr(context.message, rows[i][1])) fail_msg("%s: %s", rows[i][0], context.message);
        sp_material_record_free(&test);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(standard_solid_is_found_again),
        cmocka_unit_test(set_asks_for_a_slow_branch),
        cmocka_unit_test(slack_and_buckling_do_not_count),
        cmocka_unit_test(two_flows_are_found_again),
        cmocka_unit_test(heads_are_passed),
        cmocka_unit_test(bad_files_are_told),
        cmocka_unit_test(resin_is_fitted),
        cmocka_unit_test(third_amplitude_is_predicted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
