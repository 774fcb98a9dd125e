/* These tests check calibration: the factor of least squares against a reference data set, curves
 * and files that are refused, values that are found again in curves that were pressed with them,
 * coupons that are left out, and three printed blocks. */
#include "check.h"

#include <unistd.h>

#include <strutpress/strutpress.h>

#include "base/alloc.h"
#include "base/rng.h"
#include "calibrate/calibrate_parts.h"
#include "measure/curve.h"
#include "coupon.h"
#include "measured_curve.h"
#include "store_folder.h"
#include "whole_press.h"

/* ---- least squares ----------------------------------------------- */

/* NIST Statistical Reference Datasets, Linear Regression, NoInt1 (Eberhardt; y = B1 x, 11 points;
 * certified slope 2.07438016528926 and residual standard deviation 3.56753034006338, read in tests
 * of public statistics libraries that quote the page of NIST) and NoInt2 (3 points; 56/77). */
static void test_reference_slopes(void **state)
{
    double x[11], y[11], square = 0;
    (void)state;
    for (int i = 0; i < 11; i++) x[i] = 60 + i, y[i] = 130 + i;
    const double slope = sp_cal_proportion(11, x, y);
    check_relative(slope, 2.07438016528926, 1e-14);
    for (int i = 0; i < 11; i++) square += (y[i] - slope * x[i]) * (y[i] - slope * x[i]);
    check_relative(sqrt(square / 10), 3.56753034006338, 1e-14);
    check_relative(sp_cal_proportion(3, (double[]){4, 5, 6}, (double[]){3, 4, 4}),
                   0.727272727272727, 1e-14);
    check_true(isnan(sp_cal_proportion(2, (double[]){0, 0}, (double[]){1, 2})));
}

/* ---- curves ----------------------------------------------- */

static const char *write_file(const char *name, const char *text)
{
    const char *file = in_folder(name);
    FILE *stream = fopen(file, "w");
    assert_non_null(stream);
    assert_true(fputs(text, stream) >= 0);
    assert_int_equal(fclose(stream), 0);
    return file;
}

/* The mean forces of a broken line are worked out by hand; their sum is the work under it. */
static void test_stretches(void **state)
{
    sp_context context = {0};
    sp_measured curve;
    sp_rig_request request;
    double number[CAL_NUMBERS], work = 0;
    (void)state;
    sp_rig_request_default(&request);
    request.zero = SP_ZERO_AT;
    request.starts_at = 1;
    const char *file =
        write_file("line.csv", "mm, N\n0.5, 7\n1, 0\n# gap\n3, 8\n3, 8\n4, 8\n5, 2\n");
    assert_int_equal(sp_measured_read(&context, file, &request, &curve), SP_OK);
    assert_int_equal(curve.count, 5); /* 0 0, 2 8, 2 8, 3 8, 4 2 */
    const sp_curve view = sp_measured_view(&curve);
    check_close(sp_curve_mean_force(&view, 0, 2), 4, 1e-14);
    check_close(sp_curve_mean_force(&view, 1, 3), 7, 1e-14);
    check_close(sp_curve_mean_force(&view, 3.5, 4), 3.5, 1e-14);
    check_true(isnan(sp_curve_mean_force(&view, 3, 4.1)));
    check_true(isnan(sp_curve_mean_force(&(sp_curve){0}, 0, 1)));
    const cal_coupon one = {.request = {.height = 10}, .end = 4, .work_end = 3.01};
    sp_cal_take(&one, &view, number);
    for (int k = 0; k < CAL_STRETCHES; k++) work += number[k] * 4 / CAL_STRETCHES;
    check_close(work, 8 + 8 + 5, 1e-12);
    check_close(sp_cal_figure_of(number, 0, 2), 2 * 4, 1e-12);            /* at 1 mm */
    check_close(sp_cal_figure_of(number, 1, 1), 8, 1e-12);                /* at 2.5 mm */
    check_true(isnan(sp_cal_figure_of(number, 2, 1)));                    /* at 5 mm */
    check_close(sp_cal_figure_of(number, 3, 1), 16 + 0.01 * 7.97, 1e-12); /* work */
    sp_measured_free(&curve);
}

/* Three specimens in one file count with their mean: 10, 11 and 12 N/mm. */
static void test_mean_of_specimens(void **state)
{
    sp_context context = {0};
    sp_measured curve;
    sp_rig_request request;
    (void)state;
    sp_rig_request_default(&request);
    const char *file = write_file("three.csv", "u1 f1 u2 f2 u3 f3\n0 0 0 0 0 0\n1 10 1 11 1 12\n"
                                               "2 20 2 22 2 24\n3 30 3 33 - -\n");
    assert_int_equal(sp_measured_read(&context, file, &request, &curve), SP_OK);
    const sp_curve view = sp_measured_view(&curve);
    check_close(sp_curve_end(&view), 2, 1e-12);
    check_close(sp_curve_force(&view, 1.5).value, 16.5, 1e-12);
    check_close(curve.spread, 0.1 / 1.1, 0.03); /* 1 of 11, and all else alike */
    sp_measured_free(&curve);
    assert_int_equal(sp_measured_read(&context, in_folder("none.csv"), &request, &curve),
                     SP_NO_READ);
    sp_measured_free(&curve);
}

/* ---- files ----------------------------------------------- */

static void test_files_refused(void **state)
{
#define HEAD "case: {}\n"
#define FIT "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\n"
    static const struct {
        const char *text, *line;
        sp_status status;
    } rows[] = {
        {HEAD, "nothing to fit", SP_BAD_CASE},
        {HEAD FIT, "without tested coupons", SP_BAD_CASE},
        {HEAD FIT "tested: []\n", ":4: tested: received 'an empty list'", SP_BAD_CASE},
        {HEAD FIT "tested: 3\n", "tested: received '3'", SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {infill.density: 12 %}\n", "a coupon without a curve", SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {infill.densty: 12 %, curve: a.csv}\n",
         "did you mean 'infill.density'", SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {curve: nowhere.csv}\n", "nowhere.csv: No such file", SP_NO_READ},
        {HEAD FIT "tested:\n  - {curve: good.csv, starts_at: soft}\n", "starts_at: received 'soft'",
         SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {curve: good.csv, weight: none}\n", "weight: received 'none'",
         SP_BAD_CASE},
        {HEAD FIT "weights: equal\n", "weights: received 'equal'; valid: even, scatter",
         SP_BAD_CASE},
        {HEAD FIT "search: wide\n", "search: received 'wide'; valid: auto, local, global",
         SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {curve: slack.csv}\n", "pressing is positive", SP_NO_READ},
        {HEAD FIT "tested:\n  - {material.modulus: 3 MPa, curve: good.csv}\n",
         "a key that is fitted", SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {flaws.seed: 3, curve: good.csv}\n", "valid: `seeds:`",
         SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {curve: good.csv, curve: good.csv}\n",
         "curve: received 'the same key again'", SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {coupon.depth: 5 mm, coupon.depth: 5 mm, curve: good.csv}\n",
         "coupon.depth: received 'the same key again'", SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {name: [a, b], curve: good.csv}\n", "name: received 'a list'",
         SP_BAD_CASE},
        {HEAD FIT "tested:\n  - {curve: good.csv}\npredict:\n  - {curve: good.csv}\n",
         ":7: received 'curve'", SP_BAD_CASE},
        {HEAD FIT "strain: 120 %\ntested:\n  - {curve: good.csv}\n", "strain: received '120 %'",
         SP_BAD_CASE},
        {HEAD FIT "tries: 0\ntested:\n  - {curve: good.csv}\n", "a whole number 1 .. 10000",
         SP_BAD_CASE},
        {HEAD FIT "seeds: 40\ntested:\n  - {curve: good.csv}\n", "at most 16 flaw seeds",
         SP_BAD_CASE},
        {HEAD "fit:\n  bead.walls: {from: 1, to: 3}\ntested:\n  - {curve: good.csv}\n",
         "need not be whole", SP_BAD_CASE},
        {HEAD "fit:\n  flaws.seed: {from: 1, to: 3}\n", "fit: received 'flaws.seed'", SP_BAD_CASE},
        {HEAD FIT
         "tested:\n  - {infill.pattern: kagome, bead.walls: 20, coupon.width: 10 mm, curve: "
         "good.csv}\n",
         "", SP_BAD_CASE},
        {HEAD FIT "test:\n  - {curve: good.csv}\n", "did you mean 'tested'", SP_BAD_CASE},
    };
    (void)state;
    write_file("good.csv", "0 0\n6 50\n12 100\n");
    write_file("slack.csv", "mm N\n0 0\n6 0\n12 0\n");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        sp_context context = {0};
        sp_tested *tested;
        const sp_status status = sp_tested_parse(&context, in_folder("t.yaml"), rows[i].text,
                                                 strlen(rows[i].text), &tested);
        if (status != rows[i].status || !strstr(context.message, rows[i].line))
            fail_msg("row %zu: status %d: %s", i, (int)status, context.message);
        assert_null(tested);
    }
}

/* ---- whole calibrations ----------------------------------------------- */

#define SMALL                                                                                      \
    "case:\n"                                                                                      \
    "  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}\n"                                       \
    "  bead: {walls: 1}\n"                                                                         \
    "  press: {strain: 30 %, steps: 30, find_critical: no}\n"

typedef struct calibrated {
    sp_tested *tested;
    sp_store *store;
    sp_calibration *calibration;
} calibrated;

/* Progress is a share that says how many coupons were pressed. */
static void hear_progress(void *user, double share, const char *text)
{
    int *reports = user;
    check_true(share >= 0 && share <= 1);
    check_true(strstr(text, " coupons pressed, set of values ") != NULL);
    ++*reports;
}

static calibrated calibrate(const char *text, const char *store, int threads)
{
    int reports = 0;
    sp_context context = {.progress = hear_progress, .user = &reports};
    calibrated c = {0};
    if (sp_tested_parse(&context, in_folder("t.yaml"), text, strlen(text), &c.tested) != SP_OK ||
        sp_store_open(&context, in_folder(store), SP_STORE_WRITE, &c.store) != SP_OK ||
        sp_calibrate(&context, c.tested, c.store, threads, &c.calibration) != SP_OK)
        fail_msg("%s", context.message);
    check_true(c.calibration->pressed == 0 || reports > 0);
    return c;
}

static void end(calibrated *c)
{
    sp_calibration_free(c->calibration);
    sp_store_close(c->store);
    sp_tested_free(c->tested);
}

/* Write the curve of a press as a rig would give it, with forces times a factor and a shortening
 * before it starts. */
static void press_to_file(const char *density, const char *modulus, const char *zone, double factor,
                          double slack, double noise, const char *name)
{
    sp_context context = {0};
    sp_plan *plan;
    sp_case request;
    sp_result result;
    unsigned turn = 1;
    assert_int_equal(sp_plan_parse(&context, "small.yaml", SMALL, strlen(SMALL), &plan), SP_OK);
    sp_plan_case(plan, 0, &request);
    sp_plan_free(plan);
    assert_int_equal(sp_case_set(&context, &request, "infill.density", density), SP_OK);
    assert_int_equal(sp_case_set(&context, &request, "material.modulus", modulus), SP_OK);
    assert_int_equal(sp_case_set(&context, &request, "model.joint_zone", zone), SP_OK);
    assert_int_equal(press_whole(&context, &request, &result), SP_OK);
    FILE *stream = fopen(in_folder(name), "w");
    assert_non_null(stream);
    for (int i = 0; i < result.path.step_count; i++) {
        turn = turn * 1664525u + 1013904223u; /* Knuth 1981, ch. 3 */
        fprintf(stream, "%.9f, %.9f\n", result.path.step[i].shortening + slack,
                factor * result.path.step[i].force * (1 + noise * (turn / 2147483648.0 - 1)));
    }
    assert_int_equal(fclose(stream), 0);
    sp_result_clear(&result);
}

/* Forces are proportional to the modulus: it is found again with one press of each coupon, and one
 * more press for the prediction. */
static void test_modulus_alone(void **state)
{
    static const char text[] =
        SMALL "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa, within: 0.01 MPa}\n"
              "tested:\n"
              "  - {infill.density: 20 %, curve: a.csv, starts_at: 0.3 mm}\n"
              "  - {infill.density: 30 %, curve: b.csv}\n"
              "predict:\n  - {infill.density: 25 %}\n";
    (void)state;
    press_to_file("20 %", "17.3 MPa", "1", 1, 0.3, 0, "a.csv");
    press_to_file("30 %", "17.3 MPa", "1", 1, 0, 0, "b.csv");
    calibrated c = calibrate(text, "modulus.store", 2);
    const sp_calibration *found = c.calibration;
    assert_int_equal(sp_calibration_count(found), 1);
    assert_string_equal(sp_calibration_key(found, 0), "material.modulus");
    check_close(sp_calibration_value(found, 0), 17.3, 0.002);
    check_true(sp_calibration_misfit(found) < 1e-4);
    check_relative(sp_calibration_misfit_before(found), sp_calibration_misfit_before(found), 0);
    check_true(sp_calibration_misfit_before(found) > 0.5);
    assert_int_equal(found->pressed, 5);
    for (int i = 0; i < 2; i++)
        check_close(sp_cal_fit_value(found, &found->left_out[i], 0), 17.3, 0.002);
    check_true(sp_cal_left_out_deviation(found, 1) < 1e-3);
    /* Figures scaled in proportion are those of a press with the value. */
    for (int k = 0; k < 2 * CAL_NUMBERS; k++)
        if (isfinite(found->fitted[k]))
            check_relative(found->fitted[k],
                           found->point[found->best.point].force[k] * 17.3 / found->reference,
                           2e-3);
    end(&c);
    c = calibrate(text, "modulus.store",
                  1); /* the store knows it all, and threads change nothing */
    assert_int_equal(c.calibration->pressed, 0);
    check_close(sp_calibration_value(c.calibration, 0), 17.3, 0.002);
    end(&c);
}

/* Modulus and joint zone are found again in curves with noise; and a coupon that is left out does
 * not influence its own prediction. */
static void test_two_values(void **state)
{
    static const char text[] = SMALL "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\n"
                                     "  model.joint_zone: {from: 0, to: 2, within: 0.05}\n"
                                     "tested:\n"
                                     "  - {infill.density: 18 %, curve: a.csv}\n"
                                     "  - {infill.density: 26 %, curve: b.csv}\n"
                                     "  - {infill.density: 34 %, name: dense, curve: c.csv}\n"
                                     "tries: 20\n";
    double alone[2];
    (void)state;
    if (coupon_quick()) skip(); /* two hundred presses */
    press_to_file("18 %", "24 MPa", "1.5", 1, 0, 0.02, "a.csv");
    press_to_file("26 %", "24 MPa", "1.5", 1, 0, 0.02, "b.csv");
    press_to_file("34 %", "24 MPa", "1.5", 1, 0, 0.02, "c.csv");
    calibrated c = calibrate(text, "two.store", 2);
    check_relative(sp_calibration_value(c.calibration, 0), 24, 0.03);
    check_close(sp_calibration_value(c.calibration, 1), 1.5, 0.1);
    check_true(sp_calibration_misfit(c.calibration) < 0.03);
    check_true(sp_calibration_misfit_before(c.calibration) > 0.1);
    for (int f = 0; f < CAL_FIGURES; f++)
        if (f != 2) check_true(sp_cal_left_out_deviation(c.calibration, f) < 0.06);
    check_true(isnan(sp_cal_left_out_deviation(c.calibration, 2))); /* 50 % is not reached */
    for (int v = 0; v < 2; v++)
        alone[v] = sp_cal_fit_value(c.calibration, &c.calibration->left_out[2], v);
    end(&c);
    press_to_file("34 %", "24 MPa", "1.5", 3, 0, 0,
                  "c.csv"); /* a rig that is off by a factor of 3 */
    c = calibrate(text, "two.store", 2);
    check_true(sp_calibration_misfit(c.calibration) > 0.2);
    check_relative(sp_cal_fit_value(c.calibration, &c.calibration->left_out[2], 0), alone[0], 0.05);
    check_close(sp_cal_fit_value(c.calibration, &c.calibration->left_out[2], 1), alone[1], 0.15);
    end(&c);
}

/* ---- what the fit leaves open ----------------------------------------------- */

/* NoInt1 again: certified standard deviation of B1 0.0165289256198347 (read as above; the value
 * from memory that stood here up to 0.12.0 was wrong in the tenth digit). The deviation of the
 * library counts residuals that run together as fewer: S/(n/run - 1), at least S, takes the place
 * of S/(n - 1). */
static void test_reference_deviation(void **state)
{
    cal_coupon one = {.mean = 1, .weight = 1};
    double fitted[CAL_NUMBERS], slope[CAL_NUMBERS];
    sp_tested tested = {.variable_count = 1,
                        .variable = {{.low = -1e6, .high = 1e6}},
                        .tested_count = 1,
                        .tested = &one};
    sp_calibration c = {.tested = &tested, .fitted = fitted, .doubt = {.slope = slope}};
    (void)state;
    for (int k = 0; k < CAL_STRETCHES; k++) {
        slope[k] = k < 11 ? 60 + k : (double)NAN;
        fitted[k] = 2.07438016528926 * slope[k];
        one.measured[k] = 130 + k;
    }
    c.x[0] = 2.07438016528926;
    sp_cal_find_doubt(&c);
    const double run = c.doubt.run;
    check_true(run > 1);
    const double left = fmax(1, 11 / run - 1);
    check_relative(sqrt(c.doubt.covariance[0][0] * left / 10), 0.0165289256198347, 1e-9);
}

/* Two slopes a and b over all stretches: the correlation of the values is that of the inverse of a
 * matrix of two rows, -ab/sqrt(aa bb), and slopes that are alike are reported. */
static void test_correlation(void **state)
{
    cal_coupon one = {.mean = 1, .weight = 1};
    static double fitted[CAL_NUMBERS], slope[2 * CAL_NUMBERS];
    sp_tested tested = {.variable_count = 2, .tested_count = 1, .tested = &one};
    sp_calibration c = {.tested = &tested, .fitted = fitted, .doubt = {.slope = slope}};
    char text[600];
    (void)state;
    for (int v = 0; v < 2; v++)
        tested.variable[v] = (seek_variable){.low = 1e-4, .high = 1e6, .within = 0.01};
    snprintf(tested.variable[0].key, sizeof tested.variable[0].key, "material.modulus");
    snprintf(tested.variable[1].key, sizeof tested.variable[1].key, "bead.width");
    for (int near = 0; near < 2; near++) {
        double aa = 0, bb = 0, ab = 0;
        for (int k = 0; k < CAL_STRETCHES; k++) {
            const double a = 1 + k * 0.01, b = near ? 3 * a + 0.01 * (k % 3) : 2 - k * 0.04;
            slope[k] = a, slope[CAL_NUMBERS + k] = b;
            aa += a * a, bb += b * b, ab += a * b;
            fitted[k] = 10 * a;
            one.measured[k] = fitted[k] + (k % 2 ? 0.1 : -0.1);
        }
        c.x[0] = c.x[1] = 1;
        sp_cal_find_doubt(&c);
        check_close(c.doubt.correlation[0][1], -ab / sqrt(aa * bb), 1e-5);
        check_close(sp_calibration_correlation(&c, 1, 0), c.doubt.correlation[0][1], 1e-12);
        assert_int_equal(sp_cal_pair_words(&c, 0, 1, text, sizeof text), near);
    }
    /* b is three times a, so a change of the first value makes up for a third of one of the second:
     * x y^3 stays the same. */
    assert_non_null(strstr(text, "material.modulus and bead.width cannot be told apart by these "
                                 "tests: correlation -1.00; only their product"));
    assert_non_null(strstr(text, "material.modulus x bead.width^3 is known"));
}

/* Percentage points of Student's t, 80 % between both sides: table of upper critical values of the
 * NIST/SEMATECH e-Handbook of Statistical Methods (read in a reprint). */
static void test_student(void **state)
{
    static const double table[][2] = {{1, 3.078}, {2, 1.886},  {3, 1.638},
                                      {5, 1.476}, {10, 1.372}, {1e9, 1.282}};
    (void)state;
    for (int i = 0; i < 6; i++) check_close(sp_cal_student(table[i][0]), table[i][1], 0.003);
}

typedef struct made_up {
    int count;
    double shortening[40], force[40];
} made_up;

static made_up press_made_up(const char *density, const char *seed)
{
    sp_context context = {0};
    sp_plan *plan;
    sp_case request;
    sp_result result;
    made_up m = {0};
    assert_int_equal(sp_plan_parse(&context, "small.yaml", SMALL, strlen(SMALL), &plan), SP_OK);
    sp_plan_case(plan, 0, &request);
    sp_plan_free(plan);
    assert_int_equal(sp_case_set(&context, &request, "infill.density", density), SP_OK);
    assert_int_equal(sp_case_set(&context, &request, "flaws.seed", seed), SP_OK);
    assert_int_equal(press_whole(&context, &request, &result), SP_OK);
    for (int i = 0; i < result.path.step_count && m.count < 40; i++, m.count++) {
        m.shortening[m.count] = result.path.step[i].shortening;
        m.force[m.count] = result.path.step[i].force;
    }
    sp_result_clear(&result);
    return m;
}

/* Make a print of its own strength (3 % from one to the next), pressed on a rig with noise of 3 %.
 */
static made_up test_made_up(const made_up *pressed, sp_rng *rng)
{
    made_up m = *pressed;
    const double print = 1 + 0.03 * sp_rng_normal(rng);
    for (int i = 0; i < m.count; i++) m.force[i] *= print * (1 + 0.03 * sp_rng_normal(rng));
    return m;
}

/* Bands hold 80 % of the points of coupons that were tested after they were predicted. This is
 * checked with two coupons for each of forty sets of four coupons, which have other flaws than the
 * fit presses, and strengths and noise of their own. */
static void test_bands_hold(void **state)
{
    static const char text[] =
        SMALL "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa, within: 1 MPa}\n"
              "tested:\n"
              "  - {infill.density: 18 %, curve: {file: a.csv, zero: file}}\n"
              "  - {infill.density: 22 %, curve: {file: b.csv, zero: file}}\n"
              "  - {infill.density: 26 %, curve: {file: c.csv, zero: file}}\n"
              "  - {infill.density: 30 %, curve: {file: d.csv, zero: file}}\n"
              "predict:\n  - {infill.density: 20 %}\n  - {infill.density: 28 %}\n"
              "strain: 29 %\n";
    static const char *const density[6] = {"18 %", "22 %", "26 %", "30 %", "20 %", "28 %"};
    static const char *const file[4] = {"a.csv", "b.csv", "c.csv", "d.csv"};
    static const char *const flaws[] = {"7", "8", "9", "10", "11"};
    enum { FLAWS = sizeof flaws / sizeof *flaws };
    const int sets = coupon_quick() ? 2 : 40;
    made_up pressed[FLAWS][6];
    sp_rng rng;
    int inside = 0, all = 0;
    double held = 0;
    (void)state;
    for (int k = 0; k < FLAWS && k < sets; k++)
        for (int i = 0; i < 6; i++) pressed[k][i] = press_made_up(density[i], flaws[k]);
    sp_rng_seed(&rng, 11, 1);
    for (int set = 0; set < sets; set++) {
        for (int i = 0; i < 4; i++) {
            const made_up m = test_made_up(&pressed[set % FLAWS][i], &rng);
            FILE *stream = fopen(in_folder(file[i]), "w");
            assert_non_null(stream);
            for (int k = 0; k < m.count; k++)
                fprintf(stream, "%.9f, %.9f\n", m.shortening[k], m.force[k]);
            assert_int_equal(fclose(stream), 0);
        }
        calibrated c = calibrate(text, "bands.store", 1);
        for (int p = 0; p < 2; p++) {
            const made_up m = test_made_up(&pressed[set % FLAWS][4 + p], &rng);
            const sp_case *request = &c.tested->predicted[p].request;
            const double *force = c.calibration->predicted + p * CAL_NUMBERS;
            sp_curve_point point[40];
            double truth[CAL_NUMBERS], half[CAL_STRETCHES];
            for (int k = 0; k < m.count; k++)
                point[k] = (sp_curve_point){.shortening = m.shortening[k], .force = m.force[k]};
            const sp_curve curve = sp_curve_of_points(request, m.count, point);
            sp_cal_take(&c.tested->predicted[p], &curve, truth);
            sp_cal_band(c.calibration, p, half);
            for (int k = 0; k < CAL_STRETCHES; k++) {
                if (!isfinite(truth[k])) continue;
                inside += fabs(truth[k] - force[k]) <= half[k];
                all++;
            }
        }
        held += c.calibration->doubt.held / sets;
        end(&c);
    }
    print_message("bands of 80 %%: held %.0f %% of %d points of new coupons, %.0f %% of those left "
                  "out\n",
                  100.0 * inside / all, all, 100 * held);
    if (coupon_quick()) return;
    /* There are eighty coupons of one strength each, which gives a standard error of 5 %. */
    check_close((double)inside / all, 0.8, 0.1);
    check_close(held, 0.8, 0.08);
}

/* Modulus and bead width cannot both be found from one coupon: the forces of slender squares are
 * proportional to E w^3, as bending is, and no curve of one density shows them apart. The search
 * begins far away, and goes over the whole of the ranges. */
static void test_modulus_and_width(void **state)
{
    static const char text[] =
        SMALL "  infill: {density: 12 %}\n"
              "fit:\n  material.modulus: {from: 2 MPa, to: 400 MPa}\n"
              "  bead.width_offset: {from: -0.2 mm, to: 0.2 mm, within: 0.002 mm}\n"
              "tested:\n  - {curve: {file: a.csv, zero: file}}\n"
              "search: global\ntries: 12\nstrain: 10 %\n";
    char *table = NULL;
    size_t size;
    sp_context context = {0};
    (void)state;
    press_to_file("12 %", "30 MPa", "1", 1, 0, 0.02, "a.csv");
    calibrated c = calibrate(text, "width.store", 2);
    check_true(c.calibration->searched_globally);
    check_true(sp_calibration_misfit(c.calibration) < 0.03);
    check_true(sp_calibration_correlation(c.calibration, 0, 1) < -0.9);
    FILE *stream = open_memstream(&table, &size);
    assert_int_equal(sp_calibration_table(&context, c.calibration, stream), SP_OK);
    assert_int_equal(sp_calibration_records(&context, c.calibration, SP_FORMAT_JSON, stream),
                     SP_OK);
    fclose(stream);
    assert_non_null(strstr(table, "material.modulus and bead.width_offset cannot be told apart"));
    assert_non_null(strstr(table, "\"not_told_apart\""));
    assert_non_null(strstr(table, "each range left out"));
    assert_null(strstr(table, "nan"));
    free(table);
    end(&c);
}

#define SMALL_FORMAT                                                                               \
    "case:\n"                                                                                      \
    "  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}\n"                                       \
    "  bead: {walls: 1}\n"                                                                         \
    "  press: {strain: 30 %%, steps: 30, find_critical: no}\n"

static void test_weights(void **state)
{
    static const char text[] =
        SMALL_FORMAT "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa, within: 0.01 MPa}\n"
                     "tested:\n"
                     "  - {infill.density: 20 %%, weight: %s, curve: {file: a.csv, zero: file}}\n"
                     "  - {infill.density: 30 %%, curve: {file: b.csv, zero: file}}\n"
                     "strain: 29 %%\n";
    static const char *const weight[3] = {"0.001", "1", "1000"};
    char filled_in[sizeof text + 20];
    double modulus[3];
    (void)state;
    press_to_file("20 %", "20 MPa", "1", 1, 0, 0, "a.csv");
    press_to_file("30 %", "30 MPa", "1", 1, 0, 0, "b.csv");
    for (int i = 0; i < 3; i++) {
        snprintf(filled_in, sizeof filled_in, text, weight[i]);
        calibrated c = calibrate(filled_in, "weights.store", 1);
        modulus[i] = sp_calibration_value(c.calibration, 0);
        end(&c);
    }
    check_relative(modulus[0], 30, 0.005);
    check_true(modulus[1] > 21 && modulus[1] < 29);
    check_relative(modulus[2], 20, 0.005);
}

static sp_result read_and_press(const char *file)
{
    sp_context context = {0};
    sp_case request;
    sp_result result = {0};
    if (sp_case_read(&context, file, &request) != SP_OK ||
        press_whole(&context, &request, &result) != SP_OK)
        fail_msg("%s", context.message);
    return result;
}

/* The files are right: the case presses to the very curve that is reported, and the table names
 * what it must. */
static void test_answer_files(void **state)
{
    static const char text[] =
        SMALL "  infill: {density: 20 %}\n"
              "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\n"
              "tested:\n  - {curve: a.csv}\n"
              "predict:\n  - {name: \"with, \\\"marks\\\"\", infill.density: 25 %}\n"
              "strain: 30 %\n";
    sp_context context = {0};
    char *table = NULL;
    size_t size;
    (void)state;
    press_to_file("20 %", "17.3 MPa", "1", 1, 0, 0, "a.csv");
    calibrated c = calibrate(text, "files.store", 1);
    assert_null(c.calibration->left_out); /* nothing to fit to without the only one */
    FILE *stream = open_memstream(&table, &size);
    assert_int_equal(sp_calibration_table(&context, c.calibration, stream), SP_OK);
    fclose(stream);
    assert_non_null(strstr(table, "with, \"marks\"  predicted"));
    assert_non_null(strstr(table, "not proof of a protective part"));
    assert_null(strstr(table, "nan"));
    free(table);
    assert_int_equal(sp_calibration_write(&context, c.calibration, in_folder("answer")), SP_OK);
    for (int i = 0; i < 3; i++) {
        static const char *const names[] = {"answer/calibrate.json", "answer/calibrate.csv",
                                            "answer/curves.svg"};
        assert_int_equal(access(in_folder(names[i]), R_OK), 0);
    }
    sp_result result = read_and_press(in_folder("answer/calibrated.yaml"));
    measured_curve pressed;
    assert_true(measured_curve_of_path(&result.path, &pressed));
    const double told = sp_cal_figure_of(c.calibration->fitted, 1, 1);
    check_relative(measured_force(&pressed, 2.5), told, 1e-9);
    measured_curve_free(&pressed);
    sp_result_clear(&result);
    end(&c);
}

/* On a full store nothing is pressed, so that every allocation of reading, fit and files can fail
 * once. */
static void test_without_memory(void **state)
{
    static const char text[] = SMALL "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\n"
                                     "tested:\n"
                                     "  - {infill.density: 20 %, curve: a.csv}\n"
                                     "  - {infill.density: 30 %, curve: a.csv}\n"
                                     "predict:\n  - {infill.density: 25 %}\n";
    (void)state;
    write_file("a.csv", "0 0\n1 60\n3 100\n");
    calibrated c = calibrate(text, "memory.store", 1);
    end(&c);
    long nth = 1;
    for (int done = 0; !done; nth++) {
        const long before = sp_alloc_count();
        sp_context context = {0};
        c = (calibrated){0};
        sp_alloc_fail_at(nth);
        sp_status status =
            sp_tested_parse(&context, in_folder("t.yaml"), text, strlen(text), &c.tested);
        if (status == SP_OK)
            status = sp_store_open(&context, in_folder("memory.store"), SP_STORE_WRITE, &c.store);
        if (status == SP_OK) status = sp_calibrate(&context, c.tested, c.store, 1, &c.calibration);
        if (status == SP_OK)
            status = sp_calibration_write(&context, c.calibration, in_folder("memory"));
        sp_alloc_fail_at(0);
        done = status == SP_OK;
        if (!done && status != SP_NO_MEMORY)
            fail_msg("allocation %ld: status %d: %s", nth, (int)status, context.message);
        if (!done) check_true(context.message[0] && access(in_folder("memory"), F_OK) != 0);
        end(&c);
        assert_int_equal(sp_alloc_count(), before);
    }
    check_true(nth > 50);
}

static void test_interrupt(void **state)
{
    static const char text[] = SMALL "fit:\n  material.modulus: {from: 5 MPa, to: 60 MPa}\n"
                                     "tested:\n  - {infill.density: 22 %, curve: a.csv}\n";
    volatile sig_atomic_t stop = 1;
    sp_context context = {.interrupt = &stop};
    sp_tested *tested;
    sp_store *store;
    sp_calibration *calibration;
    (void)state;
    write_file("a.csv", "0 0\n1 60\n3 100\n");
    assert_int_equal(sp_tested_parse(&context, in_folder("t.yaml"), text, strlen(text), &tested),
                     SP_OK);
    assert_int_equal(sp_store_open(&context, in_folder("stop.store"), SP_STORE_WRITE, &store),
                     SP_OK);
    assert_int_equal(sp_calibrate(&context, tested, store, 1, &calibration), SP_INTERRUPTED);
    assert_null(calibration);
    assert_non_null(strstr(context.message, "the same command goes on"));
    sp_store_close(store);
    sp_tested_free(tested);
}

/* The open data are three printed blocks and the bar of their material
 * (tests/data/beam_lattices/ORIGIN.txt, Weeger et al. 2023). How round the corners of the joints
 * are was not measured. The modulus that fits the first 1.3 % of the blocks is that of the bar,
 * 1973 MPa (chord of 0.05 % to 0.25 % strain at 1e-3 /s, ISO 527-1), within 5 % when corners are
 * filled, and 18 % more when they are sharp, for the blocks are then too soft; and each block is
 * predicted by the other two within 12 %; the blocks themselves scatter by 16 %. */
static void test_printed_blocks(void **state)
{
    static const char text[] =
        "case:\n"
        "  coupon: {width: 60 mm, height: 60 mm, depth: 60 mm}\n"
        "  infill: {pattern: body-centred-cubic, cells: [3, 3, 3], strut_diameter: 1.2 mm}\n"
        "  material: {law: linear, modulus: 1000 MPa, poisson_ratio: 0.35}\n"
        "  press: {strain: 2 %%, steps: 8}\n"
        "%s"
        "fit:\n  material.modulus: {from: 500 MPa, to: 5000 MPa, within: 1 MPa}\n"
        "tested:\n"
        "  - {name: first, curve: {file: blocks.txt, specimen: 1}}\n"
        "  - {name: second, curve: {file: blocks.txt, specimen: 2}}\n"
        "  - {name: third, curve: {file: blocks.txt, specimen: 3}}\n"
        "strain: 1.3 %%\n";
    static const char *const corners[2] = {"", "  model: {joint_zone: 2}\n"};
    static const char *const stores[2] = {"sharp.store", "filled.store"};
    char filled_in[sizeof text + 40];
    double modulus[2];
    char source[1024], link[1200];
    (void)state;
    /* The file is used unchanged: it holds three specimens side by side. */
    assert_non_null(realpath("tests/data/beam_lattices/press/asu_bcc_d12_exp.txt", source));
    snprintf(link, sizeof link, "%s", in_folder("blocks.txt"));
    assert_int_equal(symlink(source, link), 0);
    for (int i = 0; i < 2; i++) {
        snprintf(filled_in, sizeof filled_in, text, corners[i]);
        calibrated c = calibrate(filled_in, stores[i], 2);
        modulus[i] = sp_calibration_value(c.calibration, 0);
        check_true(sp_cal_left_out_deviation(c.calibration, 3) < 0.12);
        end(&c);
    }
    print_message("modulus of the bar 1973, of the blocks %.4g (sharp) and %.4g MPa (filled)\n",
                  modulus[0], modulus[1]);
    check_true(modulus[0] > 1973 && modulus[0] < 1.2 * 1973);
    check_relative(modulus[1], 1973, 0.05);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reference_slopes),
        cmocka_unit_test(test_stretches),
        cmocka_unit_test(test_mean_of_specimens),
        cmocka_unit_test(test_files_refused),
        cmocka_unit_test(test_modulus_alone),
        cmocka_unit_test(test_answer_files),
        cmocka_unit_test(test_interrupt),
        cmocka_unit_test(test_without_memory),
        cmocka_unit_test(test_printed_blocks),
        cmocka_unit_test(test_two_values),
        cmocka_unit_test(test_reference_deviation),
        cmocka_unit_test(test_correlation),
        cmocka_unit_test(test_student),
        cmocka_unit_test(test_bands_hold),
        cmocka_unit_test(test_modulus_and_width),
        cmocka_unit_test(test_weights),
    };
    return cmocka_run_group_tests(tests, make_store_folder, remove_store_folder);
}
