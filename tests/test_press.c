/* These tests check the press: energy, steps, snaps, limits, branch. Whole presses of every pattern
 * are in test_every_pattern.c and test_coupons.c. */
#include "coupon.h"

#include <strutpress/strutpress.h>

#include "every_law.h"
#include "law/hardness.h"
#include "measure/measure_list.h"
#include "press/press.h"
#include "temporary_file.h"
#include "whole_press.h"

static const char *const reference[] = {"infill.pattern=square", "infill.angle=45", NULL};

/* Work by the platen = stored energy + energy released at snaps, along the whole path, to 1e-4 with
 * steps refined. */
static void test_work_is_energy(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    coupon_set_up(&c, 1, reference);
    const sp_press_options options = {
        .strain = 0.6, .load_limit = INFINITY, .steps = 960, .frames = 8};
    coupon_press(&c, &options, &path);
    coupon_check_steps(&path, 1e-4);
    check_true(path.step[path.step_count - 1].released > 0);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* The same holds with the default steps, and where struts end on sliding platens and press on them
 * as they fold. */
static void test_work_is_energy_without_walls(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    const char *const settings[] = {"infill.density=20 %", "bead.walls=0", "platens.hold=sliding",
                                    NULL};
    coupon_set_up(&c, 1, settings);
    coupon_press(&c, &(sp_press_options){.strain = 0.7, .load_limit = INFINITY, .steps = 280},
                 &path);
    coupon_check_steps(&path, 1e-4);
    check_true(path.step_count < 2 * 280);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* A filament that yields is pressed in the plane and in space, first along the path of the perfect
 * coupon: work = stored + dissipated + released, the dissipated energy grows, and most of the work
 * is not given back. */
static void test_work_is_dissipated(void **unused)
{
    (void)unused;
    char key[96];
    const char *table = every_law_write("yielding", key, sizeof key);
    for (int i = 0; i < 4; i++) {
        const int space = i / 2, perfect = i % 2;
        const char *const settings[] = {"material.law=yielding",
                                        key,
                                        space ? "infill.pattern=body-centred-cubic"
                                              : "infill.pattern=square",
                                        space ? "infill.cells=[2, 2, 2]" : "infill.angle=45",
                                        "infill.density=15 %",
                                        NULL};
        coupon c;
        sp_path path;
        coupon_set_up(&c, !perfect, settings);
        const sp_press_options options = {.strain = 0.5,
                                          .load_limit = INFINITY,
                                          .steps = 280,
                                          .frames = 8,
                                          .follow_perfect = perfect};
        coupon_press(&c, &options, &path);
        coupon_check_steps(&path, 1e-3);
        coupon_check_shapes(&c.network, &path);
        for (int k = 1; k < path.step_count; k++)
            check_true(path.step[k].dissipated >= path.step[k - 1].dissipated &&
                       path.step[k].dissipated <= path.step[k].stored);
        const sp_step *last = &path.step[path.step_count - 1];
        check_true(last->dissipated > 0.5 * last->work);
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
    remove(table);
}

/* Finer steps change neither the force nor the energy released by more than the location of the
 * snaps allows. */
static void test_steps_do_not_matter(void **unused)
{
    (void)unused;
    double force[2], released[2];
    for (int i = 0; i < 2; i++) {
        coupon c;
        sp_path path;
        coupon_set_up(&c, 1, reference);
        const sp_press_options options = {
            .strain = 0.3, .load_limit = INFINITY, .steps = i ? 240 : 60, .frames = 0};
        coupon_press(&c, &options, &path);
        force[i] = path.step[path.step_count - 1].force;
        released[i] = path.step[path.step_count - 1].released;
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
    check_relative(force[0], force[1], 1e-3);
    check_relative(released[0], released[1], 0.1);
}

static void test_load_limit_is_met(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    coupon_set_up(&c, 1, reference);
    const sp_press_options options = {.strain = 0.7, .load_limit = 60, .steps = 140, .frames = 8};
    coupon_press(&c, &options, &path);
    assert_int_equal(path.stop, SP_STOP_LOAD);
    check_relative(path.step[path.step_count - 1].force, 60, 2e-3);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Presses run without a context: no message, no progress, no forecast. */
static void test_presses_without_a_context(void **unused)
{
    (void)unused;
    sp_case request;
    sp_result result;
    sp_case_default(&request);
    request.strain = 0.02, request.steps = 2;
    assert_int_equal(press_whole(NULL, &request, &result), SP_OK);
    assert_int_equal(result.path.stop, SP_STOP_STRAIN);
    sp_result_clear(&result);
}

static volatile sig_atomic_t stop_now;

static int told;

/* This is called once for each accepted state, and for the work before the first; the fraction is
 * one of time, and depends on the machine. */
static void stop_soon(void *user, double fraction, const char *text)
{
    (void)user, (void)text;
    check_true(fraction >= 0 && fraction <= 1);
    if (++told > 12) stop_now = 1;
}

static void interrupt(int steps)
{
    coupon c;
    sp_path path;
    coupon_set_up(&c, 1, reference);
    stop_now = told = 0;
    c.context.interrupt = &stop_now;
    c.context.progress = stop_soon;
    const sp_press_options options = {
        .strain = 0.7, .load_limit = INFINITY, .steps = steps, .frames = 8};
    assert_int_equal(sp_press(&c.context, &c.model, &options, &path), SP_OK);
    assert_int_equal(path.stop, SP_STOP_INTERRUPTED);
    assert_int_equal(path.end, SP_STOP_INTERRUPTED);
    assert_non_null(strstr(path.reason, "interrupted at a shortening of"));
    check_true(path.step_count > 5);
    check_true(path.step[path.step_count - 1].shortening < 0.1 * 0.7 * path.size[1]);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* An interruption keeps the curve, also among steps so short that none of them needs an iterate. */
static void test_interrupt_keeps_the_curve(void **unused)
{
    (void)unused;
    interrupt(140);
    interrupt(20000);
}

/* The perfect square grid loses stability; just below K is positive definite, the mode bends
 * struts, and the press goes on along the branch under less force than the path it left. */
static void test_perfect_coupon_branches(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    coupon_set_up(&c, 0, reference);
    const sp_press_options options = {
        .strain = 0.1, .load_limit = INFINITY, .steps = 60, .follow_perfect = 1, .frames = 8};
    coupon_press(&c, &options, &path);
    assert_int_equal(path.stop, SP_STOP_STRAIN);
    assert_int_equal(path.critical.found, 1);
    assert_int_equal(path.critical.kind, SP_CRITICAL_BIFURCATION);
    check_true(path.critical.strain > 0.005 && path.critical.strain < 0.06);
    check_true(path.critical.strut_count > 0 && path.critical.share[0] > 0);
    check_true(path.shapes.mode != NULL);
    const sp_step *end = &path.step[path.step_count - 1];
    const double straight = path.critical.force * end->shortening / path.critical.shortening;
    check_true(end->force < 0.8 * straight);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Behind its critical step a perfect coupon meets saddles: no force is left, but K is not positive
 * definite, and Newton's direction keeps every symmetry. This coupon meets one at 33 % strain,
 * where the press would end if it did not leave saddles. */
static void test_perfect_coupon_leaves_saddles(void **unused)
{
    (void)unused;
    static const char *const symmetric[] = {"coupon.width=20 mm", "coupon.height=20 mm",
                                            "infill.pattern=truncated-hexagonal", "infill.angle=90",
                                            NULL};
    coupon c;
    sp_path path;
    coupon_set_up(&c, 0, symmetric);
    const sp_press_options options = {
        .strain = 0.45, .load_limit = INFINITY, .steps = 210, .follow_perfect = 1, .frames = 8};
    coupon_press(&c, &options, &path);
    assert_int_equal(path.stop, SP_STOP_STRAIN);
    assert_int_equal(path.critical.found, 1);
    coupon_check_steps(&path, 1e-3);
    coupon_check_shapes(&c.network, &path);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* The critical step does not depend on the steps that lead to it. */
static void test_critical_step_is_located(void **unused)
{
    (void)unused;
    double strain[2];
    for (int i = 0; i < 2; i++) {
        coupon c;
        sp_path path;
        coupon_set_up(&c, 0, reference);
        const sp_press_options options = {.strain = 0.7,
                                          .load_limit = INFINITY,
                                          .steps = i ? 70 : 210,
                                          .follow_perfect = 1,
                                          .stop_at_critical = 1};
        coupon_press(&c, &options, &path);
        assert_int_equal(path.stop, SP_STOP_CRITICAL);
        strain[i] = path.critical.strain;
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
    check_close(strain[0], strain[1], 2e-4);
}

/* A perfect coupon answers the question for its critical step: a step, or none up to the end. */
static void answers_for_its_critical_step(const char *const *settings)
{
    coupon c;
    sp_path path;
    coupon_set_up(&c, 0, settings);
    const sp_press_options options = {.strain = 0.7,
                                      .load_limit = 6000,
                                      .steps = 140,
                                      .follow_perfect = 1,
                                      .stop_at_critical = 1};
    coupon_press(&c, &options, &path);
    check_true(path.stop == SP_STOP_CRITICAL ? path.critical.found : !path.critical.found);
    /* None of these lattices is so slender that it buckles earlier. */
    if (path.critical.found)
        check_true(path.critical.strain > 1e-4 && path.critical.strut_count > 0);
    coupon_check_steps(&path, 1e-3);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Every pattern gives such an answer, also where struts lie along the walls, so that joint zones
 * may have no length. */
static void test_every_pattern_answers_for_its_critical_step(void **unused)
{
    (void)unused;
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        if (row.dimension != 2 || !strcmp(row.name, "drawn")) continue;
        char pattern[64];
        snprintf(pattern, sizeof pattern, "infill.pattern=%s", row.name);
        const char *const as_they_come[] = {pattern, NULL};
        const char *const along_the_walls[] = {pattern, "infill.angle=0", "infill.density=12%",
                                               NULL};
        answers_for_its_critical_step(as_they_come);
        answers_for_its_critical_step(along_the_walls);
    }
}

/* A bar of 1 x 5 mm and 4 mm between platens, pressed to 8 % strain, has the stiffness E A / L
 * within 0.1 % for every number of steps: 30 MPa x 5 mm2 / 4 mm, and 4/3 of it in plane strain. */
static void test_bar_reads_its_modulus(void **unused)
{
    char file[64];
    (void)unused;
    write_temporary_file(
        file, sizeof file,
        "# vtk DataFile Version 3.0\nbar\nASCII\nDATASET POLYDATA\nPOINTS 2 double\n"
        "5 0 0\n5 4 0\nLINES 1 3\n2 0 1\n");
    for (int count = 2; count <= 128; count *= 4)
        for (int plane = 0; plane < 2; plane++) {
            sp_context context = {0};
            sp_result result;
            sp_case bar;
            sp_case_default(&bar);
            bar.width = 10, bar.height = 4, bar.depth = 5;
            bar.bead_width = 1, bar.wall_beads = 0, bar.flaw_seed = 0, bar.modulus = 30;
            bar.strain_state = plane ? SP_PLANE_STRAIN : SP_UNIAXIAL;
            bar.strain = 0.08, bar.steps = count, bar.find_critical = 0;
            coupon_set(&bar, "infill.pattern", "drawn");
            coupon_set(&bar, "infill.network", file);
            if (press_whole(&context, &bar, &result) != SP_OK) fail_msg("%s", context.message);
            check_relative(sp_measure_initial_stiffness(&result.path, &result.network, &bar).value,
                           (plane ? 4.0 / 3 : 1) * 30 * 5 / 4, 1e-3);
            sp_result_clear(&result);
        }
    remove(file);
}

/* The forces at the edge of a hardness band, scaled by the modulus, are those of a press with that
 * modulus. */
static void forces_go_with_the_modulus(void **state)
{
    (void)state;
    static const char *const laws[] = {"neo-hookean", "gent", "linear"};
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int k = 0; k < 3; k++) {
        sp_context context = {0};
        sp_result centre, edge;
        sp_case request;
        sp_hardness band;
        sp_case_default(&request);
        request.width = 12, request.height = 10, request.depth = 5, request.wall_beads = 1;
        request.density = 0.25, request.strain = 0.45, request.steps = 60, request.shore_a = 95;
        request.strut_friction = request.platen_friction = 0.3;
        snprintf(request.law, sizeof request.law, "%s", laws[k]);
        assert_int_equal(press_whole(&context, &request, &centre), SP_OK);
        assert_int_equal(sp_hardness_of(&centre.request, &band), 1);
        assert_int_equal(sp_case_set(&context, &request, "material.modulus", "1"), SP_OK);
        request.modulus = band.low;
        assert_int_equal(press_whole(&context, &request, &edge), SP_OK);
        assert_int_equal(sp_hardness_of(&edge.request, &band), 0);
        for (int i = 0; i < count; i++)
            if (!strcmp(row[i].unit, "N") && centre.measure[i].reached)
                check_relative(centre.measure[i].value * band.low / band.centre,
                               edge.measure[i].value, 1e-5);
        sp_result_clear(&centre);
        sp_result_clear(&edge);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forces_go_with_the_modulus),
        cmocka_unit_test(test_work_is_energy),
        cmocka_unit_test(test_work_is_dissipated),
        cmocka_unit_test(test_bar_reads_its_modulus),
        cmocka_unit_test(test_work_is_energy_without_walls),
        cmocka_unit_test(test_steps_do_not_matter),
        cmocka_unit_test(test_load_limit_is_met),
        cmocka_unit_test(test_presses_without_a_context),
        cmocka_unit_test(test_interrupt_keeps_the_curve),
        cmocka_unit_test(test_perfect_coupon_branches),
        cmocka_unit_test(test_perfect_coupon_leaves_saddles),
        cmocka_unit_test(test_critical_step_is_located),
        cmocka_unit_test(test_every_pattern_answers_for_its_critical_step),
    };
    return cmocka_run_group_tests_name("press", tests, NULL, NULL);
}
