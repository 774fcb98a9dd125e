/* This test compares a printed block that was pressed with its prediction: three laser-sintered
 * specimens of 3 x 3 x 3 body-centred cells (Weeger, Valizadeh, Mistry & Bhate 2023, open data;
 * tests/data/beam_lattices/ORIGIN.txt).
 *
 * The bounds are those that the model meets: the stiffness at small loads within the scatter of the
 * specimens, the first peak within 30 % and at the place of theirs, the force at 10 and 30 % strain
 * within 25 % of their mean. At 20, 40 and 50 % it is less than 60 % off, which is no success:
 * docs/measured.md says where it departs, and why; its figures are those of `make measured`, with
 * the mesh of the case file.
 *
 * There is no test against planar honeycombs that were crushed (hexagons of aluminium: Papka &
 * Kyriakides 1994 and 1998; circles of polycarbonate: 1998). It would stand here. Of these papers
 * only the abstracts of 1998 could be read, which give no figures (docs/theory.md, Sources). */
#include "coupon.h"

#include "run/result.h"

#include "measured_curve.h"
#include "whole_press.h"

enum { SPECIMENS = 3, STRAINS = 5 };
static const char *const specimens = "tests/data/beam_lattices/press/asu_bcc_d12_exp.txt";
static const double height = 60; /* mm */

typedef struct figures {
    double small, stiffness;    /* between 10 and 30, 20 and 60 N [N/mm] */
    double bend, peak, peak_at; /* N, N, mm */
    double force[STRAINS];      /* at 10, 20 .. 50 % strain [N] */
    double least, most;         /* of `small` over the specimens */
} figures;

static figures read_off(const measured_curve *curve)
{
    figures f = {.small = measured_stiffness(curve, 10, 30),
                 .stiffness = measured_stiffness(curve, 20, 60),
                 .bend = measured_bend(curve, 10, 30)};
    f.peak = measured_first_peak(curve, &f.peak_at);
    for (int i = 0; i < STRAINS; i++) f.force[i] = measured_force(curve, 0.1 * (i + 1) * height);
    return f;
}

/* Find the mean figures of the specimens; the ranges are those that a plot of the file shows. */
static figures measure(void)
{
    measured_curve curve[SPECIMENS] = {{0}};
    figures mean = {.least = INFINITY};
    assert_true(measured_curves_read(specimens, curve, SPECIMENS));
    for (int i = 0; i < SPECIMENS; i++) {
        const figures one = read_off(&curve[i]);
        assert_int_equal(curve[i].count, 876);
        check_close(one.small, 64.5, 6);
        check_close(one.stiffness, 64.5, 4);
        check_close(one.bend, 80, 10);
        check_close(one.peak, 112, 7);
        check_close(one.peak_at, 4, 0.7);
        mean.least = fmin(mean.least, one.small);
        mean.most = fmax(mean.most, one.small);
        mean.small += one.small / SPECIMENS;
        mean.stiffness += one.stiffness / SPECIMENS;
        mean.bend += one.bend / SPECIMENS;
        mean.peak += one.peak / SPECIMENS;
        mean.peak_at += one.peak_at / SPECIMENS;
        for (int k = 0; k < STRAINS; k++) mean.force[k] += one.force[k] / SPECIMENS;
        measured_curve_free(&curve[i]);
    }
    check_true(mean.most - mean.least < 0.17 * mean.small);
    return mean;
}

/* Press with corners as printed (NULL), or as round as `corners` says (model.joint_zone), up to a
 * strain. */
static figures predict(const char *corners, double strain)
{
    sp_context context = {0};
    sp_case request;
    sp_result result = {0};
    measured_curve curve = {0};
    if (sp_case_read(&context, "tests/data/beam_lattices/body_centred_block.yaml", &request) !=
        SP_OK)
        fail_msg("%s", context.message);
    request.elements_per_strut = 6;
    if (corners)
        assert_int_equal(sp_case_set(&context, &request, "model.joint_zone", corners), SP_OK);
    request.strain = strain;
    request.steps = (int)(220 * request.strain);
    if (press_whole(&context, &request, &result) != SP_OK) fail_msg("%s", context.message);
    coupon_check_steps(&result.path, 1e-3);
    assert_true(measured_curve_of_path(&result.path, &curve));
    const figures f = read_off(&curve);
    measured_curve_free(&curve);
    sp_result_clear(&result);
    return f;
}

static void test_block(void **unused)
{
    (void)unused;
    /* These are bounds with filled and with sharp corners: of the stiffness to 60 N, the bend, the
     * peak, its place, then the forces. */
    static const double within[2][4 + STRAINS] = {
        {0.25, 0.4, 0.3, 0.25, 0.25, 0.6, 0.25, 0.6, 0.6},
        {0.35, 0.4, 0.35, 0.25, 0.35, 0.6, 0.25, 0.6, 0.65}};
    const double strain = coupon_quick() ? 0.14 : 0.51;
    const figures measured = measure(), sharp = predict(NULL, strain),
                  filled = predict("2", strain);
    /* How round the corners are was not measured. With filled ones the stiffness is within the
     * range of the specimens; with sharp ones, as in the file that was printed, it is below, by
     * less than the specimens differ. */
    print_message("10 to 30 N: measured %.3g .. %.3g, sharp %.3g, filled %.3g N/mm\n",
                  measured.least, measured.most, sharp.small, filled.small);
    check_true(filled.small >= measured.least && filled.small <= measured.most);
    check_true(sharp.small < filled.small);
    check_relative(sharp.small, measured.small, 0.16);
    for (int k = 0; k < 2; k++) {
        const figures *f = k ? &sharp : &filled;
        check_relative(f->stiffness, measured.stiffness, within[k][0]);
        check_relative(f->bend, measured.bend, within[k][1]);
        check_relative(f->peak, measured.peak, within[k][2]);
        check_relative(f->peak_at, measured.peak_at, within[k][3]);
        for (int i = 0; i < (coupon_quick() ? 1 : STRAINS); i++) {
            print_message("%s, %d %%: %.3g of %.3g N\n", k ? "sharp" : "filled", 10 * (i + 1),
                          f->force[i], measured.force[i]);
            check_relative(f->force[i], measured.force[i], within[k][4 + i]);
        }
    }
}

static void test_figures_of_a_curve(void **unused)
{
    (void)unused;
    double u[] = {0, 1, 2, 3, 4}, f[] = {0, 50, 100, 99.5, 80};
    const measured_curve curve = {.count = 5, .shortening = u, .force = f};
    double at;
    check_close(measured_force(&curve, 0.5), 25, 1e-12);
    check_close(measured_force(&curve, 4), 80, 1e-12);
    check_true(isnan(measured_force(&curve, 4.1)));
    check_close(measured_stiffness(&curve, 20, 60), 50, 1e-9);
    check_true(isnan(measured_stiffness(&curve, 20, 101)));
    /* The curve is behind u = f/50 by 0.1 mm between (2, 100) and (3, 99.5), where u - f/50 grows
     * by 1.01 mm. */
    check_close(measured_bend(&curve, 20, 60), 100 - 0.5 * 0.1 / 1.01, 1e-9);
    check_close(measured_first_peak(&curve, &at), 100, 1e-12);
    check_close(at, 2, 1e-12);
    const measured_curve rising = {.count = 4, .shortening = u, .force = f};
    check_true(isnan(measured_first_peak(&rising, &at)) && isnan(at));
    const measured_curve straight = {.count = 3, .shortening = u, .force = f};
    check_true(isnan(measured_bend(&straight, 20, 60)));
}

static void test_reading(void **unused)
{
    (void)unused;
    measured_curve curve[SPECIMENS + 1] = {{0}};
    check_true(!measured_curves_read("tests/data/beam_lattices/no_such_file.txt", curve, 1));
    measured_curve_free(&curve[0]);
    check_true(!measured_curves_read(specimens, curve, SPECIMENS + 1)); /* a column too many */
    for (int i = 0; i <= SPECIMENS; i++) measured_curve_free(&curve[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_figures_of_a_curve),
        cmocka_unit_test(test_reading),
        cmocka_unit_test(test_block),
    };
    return cmocka_run_group_tests_name("measured", tests, NULL, NULL);
}
