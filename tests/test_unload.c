/* These tests check the way back: set and springback in closed form, the same path back without
 * losses, and where the work goes with losses. */
#include "check.h"

#include <unistd.h>

#include "coupon.h"
#include "every_law.h"
#include "measure/measure_list.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "temporary_file.h"

#define FOOT                                                                                       \
    "coupon.width=14 mm", "coupon.height=12 mm", "coupon.depth=5 mm", "bead.walls=1",              \
        "press.find_critical=no"

static void press_and_back(const char *const *settings, double strain, int steps, coupon *c,
                           sp_path *path)
{
    const sp_press_options options = {
        .strain = strain, .load_limit = INFINITY, .steps = steps, .unload = 1, .frames = 8};
    coupon_set_up(c, 1, settings);
    coupon_press(c, &options, path);
    assert_int_equal(path->stop, SP_STOP_STRAIN);
    assert_int_equal(path->unloaded, 1);
    check_true(path->back_count > 0);
}

static const sp_step *end_of(const sp_path *path)
{
    return &path->back[path->back_count - 1];
}

static double largest_force(const sp_path *path)
{
    double largest = 0;
    for (int i = 0; i < path->step_count; i++) largest = fmax(largest, path->step[i].force);
    return largest;
}

/* Check what holds on every way back: the platen goes up, the states are equilibria, and the work
 * is stored, dissipated or released. */
static void check_way(const sp_path *path, double balance)
{
    const sp_step *turn = &path->step[path->step_count - 1], *before = turn;
    const double largest = largest_force(path);
    for (int i = 0; i < path->back_count; i++) {
        const sp_step *step = &path->back[i];
        check_true(step->shortening < before->shortening && step->shortening >= 0);
        check_true(step->residual < 1e-4 * largest && step->imbalance < 1e-4 * largest);
        check_true(step->dissipated >= before->dissipated - 1e-9 * turn->work);
        check_true(step->released >= before->released);
        check_close(step->work, step->stored + step->released, balance * turn->work);
        check_true(sp_path_state(path, path->step_count + i) == step);
        before = step;
    }
    check_close(end_of(path)->force, 0, 2e-4 * largest);
    assert_null(sp_path_state(path, path->step_count + path->back_count));
    /* The shape that is kept of it lies below the platen at its end. */
    const sp_shapes *shapes = &path->shapes;
    assert_int_equal(shapes->back_frames, 1);
    assert_int_equal(shapes->frame_step[shapes->frame_count - 1],
                     path->step_count + path->back_count - 1);
}

/* The measures count to the end of the way back: work that is not given back is dissipated,
 * released at snaps, or left as strain energy in struts that lock each other, at most `left` of
 * it. */
static void check_measures(const coupon *c, const sp_path *path, double left)
{
    const double work = path->step[path->step_count - 1].work;
    const double kept = sp_measure_energy_kept(path, &c->network, &c->request).value * work;
    const double dissipated = sp_measure_energy_dissipated(path, &c->network, &c->request).value;
    const double released = end_of(path)->released;
    check_relative(sp_measure_energy_returned(path, &c->network, &c->request).value, work - kept,
                   1e-12);
    print_message("of %.4g mJ, %.4g are kept: %.4g dissipated, %.4g released\n", work, kept,
                  dissipated, released);
    check_true(dissipated + released <= kept + 1e-5 * work);
    check_true(dissipated + released >= kept * (1 - left) - 1e-5 * work);
}

/* A straight bar between the platens is pressed to the strain s under the true stress y = 20 + 1500
 * (|e| - 0.01) MPa beyond e = ln(1 - s). At zero force it has sprung back by y/E (elastic
 * springback), so that the strain 1 - exp(y/E - |e|) stays, and the work
 * that stays is the area under y less y^2/(2 E), times the volume (E64 .. E66). */
static void test_bar_springs_back(void **state)
{
    const double modulus = 2000, onset = 0.01, rate = 1500, length = 4;
    char file[64], table[64], text[1024], settings[2][128], *at = text;
    (void)state;
    write_temporary_file(
        file, sizeof file,
        "# vtk DataFile Version 3.0\nbar\nASCII\nDATASET POLYDATA\nPOINTS 2 double\n"
        "5 0 0 5 4 0\nLINES 1 3\n2 0 1\n");
    for (double e = onset; e < 1; e = e < 0.011 ? e + 5e-4 : e * 1.3)
        at += sprintf(at, "%.15g %.15g\n", expm1(e), (20 + rate * (e - onset)) / exp(e));
    write_temporary_file(table, sizeof table, text);
    snprintf(settings[0], sizeof settings[0], "infill.network=%s", file);
    snprintf(settings[1], sizeof settings[1], "material.table=%s", table);
    const char *const all[] = {"infill.pattern=drawn",
                               "material.law=yielding",
                               "material.strain_state=uniaxial",
                               "coupon.width=10 mm",
                               "coupon.height=4 mm",
                               "coupon.depth=1 mm",
                               "bead.width=1 mm",
                               "bead.walls=0",
                               "flaws.seed=0",
                               settings[0],
                               settings[1],
                               NULL};
    for (int i = 0; i < 3; i++) {
        const double strain = (double[]){0.005, 0.03, 0.06}[i], e = -log1p(-strain);
        const double y = e > onset ? 20 + rate * (e - onset) : modulus * e;
        const double area = e > onset
                                ? 0.5 * 20 * onset + (e - onset) * (20 + 0.5 * rate * (e - onset))
                                : 0.5 * modulus * e * e;
        coupon c;
        sp_path path;
        press_and_back(all, strain, 60, &c, &path);
        check_way(&path, 1e-3);
        const double set = end_of(&path)->shortening / length, kept = end_of(&path)->work;
        if (e > onset) {
            check_relative(set, -expm1(y / modulus - e), 1e-4);
            check_relative(kept, length * (area - 0.5 * y * y / modulus), 2e-4);
            check_relative(end_of(&path)->dissipated, kept, 2e-4);
        } else {
            check_close(end_of(&path)->shortening, 0, 1e-4);
            check_close(end_of(&path)->work, 0, 1e-4 * length * area);
        }
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
    remove(file);
    remove(table);
}

/* Return the force of the press at a shortening, between two of its states by their tangents. */
static double force_down(const sp_path *path, double shortening)
{
    int i = 1;
    while (i + 1 < path->step_count && path->step[i].shortening < shortening) i++;
    const sp_step *a = &path->step[i - 1], *b = &path->step[i];
    const double h = b->shortening - a->shortening, t = (shortening - a->shortening) / h, s = 1 - t;
    return s * s * (1 + 2 * t) * a->force + t * t * (1 + 2 * s) * b->force +
           t * s * h * (s * a->stiffness - t * b->stiffness);
}

/* Without snaps, yield and friction the way back is the way down: every force is found again, no
 * strain is left, and all work is given back. */
static void test_elastic_goes_back(void **state)
{
    (void)state;
    const char *const settings[] = {FOOT, "infill.density=20%", NULL};
    coupon c;
    sp_path path;
    press_and_back(settings, 0.3, 60, &c, &path);
    const sp_step *turn = &path.step[path.step_count - 1];
    check_way(&path, 2e-3);
    check_close(turn->released, 0, 0);
    for (int i = 0; i < path.back_count; i++)
        check_close(path.back[i].force, force_down(&path, path.back[i].shortening),
                    2e-3 * largest_force(&path));
    check_close(end_of(&path)->shortening, 0, 1e-4);
    check_close(end_of(&path)->work, 0, 2e-3 * turn->work);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* With snaps on either way, all work that is not given back was released at them. */
static void test_snaps_keep_work(void **state)
{
    (void)state;
    const char *const settings[] = {FOOT, "infill.density=30%", "infill.angle=0 deg", NULL};
    coupon c;
    sp_path path;
    press_and_back(settings, 0.5, 120, &c, &path);
    const sp_step *turn = &path.step[path.step_count - 1], *last = end_of(&path);
    check_way(&path, 5e-3);
    check_measures(&c, &path, 5e-3);
    check_true(last->released > 0);
    check_close(last->work, last->released, 5e-3 * turn->work);
    check_close(last->shortening, 0, 1e-3);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* With friction and yield the work is dissipated, released, or left in struts that lock each other;
 * a set stays where struts have yielded. */
static void test_losses(void **state)
{
    char table[80];
    const char *file = every_law_write("yielding", table, sizeof table);
    const char *const settings[3][10] = {
        {FOOT, "infill.density=30%", "material.friction=0.6", "platens.friction=0.6", NULL},
        {FOOT, "infill.density=22%", "material.law=yielding", table, NULL},
        {"coupon.width=8 mm", "coupon.height=8 mm", "coupon.depth=8 mm", "infill.cells=[2,2,2]",
         "infill.pattern=body-centred-cubic", "infill.density=12%", "material.law=yielding", table,
         "press.find_critical=no", NULL}};
    (void)state;
    for (int i = 0; i < 3; i++) {
        coupon c;
        sp_path path;
        press_and_back(settings[i], 0.4, 80, &c, &path);
        const sp_step *last = end_of(&path), *turn = &path.step[path.step_count - 1];
        check_way(&path, 5e-3);
        check_measures(&c, &path, i == 0 ? 0.03 : 0.2);
        check_true(last->dissipated > 0);
        check_true(last->work > 0 && last->work < turn->work);
        if (i > 0) check_true(last->shortening > 0.05 * turn->shortening);
        if (i == 0) check_true(last->shortening < 0.05 * turn->shortening);
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
    remove(file);
}

static void goes_back(const char *pattern, const char *infill, const char *depth)
{
    char name[96];
    const char *const settings[] = {
        "coupon.width=14 mm", "coupon.height=12 mm", depth, "bead.walls=1", infill, name, NULL};
    coupon c;
    sp_path path;
    snprintf(name, sizeof name, "infill.pattern=%s", pattern);
    press_and_back(settings, 0.35, 40, &c, &path);
    check_way(&path, 1e-2);
    if (end_of(&path)->shortening > 1e-3)
        fail_msg("%s: %g mm are left", pattern, end_of(&path)->shortening);
    coupon_check_shapes(&c.network, &path);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Every pattern of a rubber comes back to its start, whatever it snapped through. */
static void test_every_pattern_goes_back(void **state)
{
    int patterns, cells;
    const sp_pattern_row *pattern = sp_pattern_rows(&patterns);
    const sp_cell_row *cell = sp_cell_rows(&cells);
    const int every = coupon_quick() ? 6 : 1; /* as many presses */
    (void)state;
    for (int i = 0; i < patterns; i += every)
        if (strcmp(pattern[i].name, "drawn"))
            goes_back(pattern[i].name, "infill.density=15%", "coupon.depth=5 mm");
    for (int i = 0; i < cells; i += every)
        goes_back(cell[i].name, "infill.cells=[2,2,2]", "coupon.depth=13 mm");
}

static volatile sig_atomic_t stop_now;

static void stop_on_way_back(void *user, double fraction, const char *text)
{
    (void)user, (void)fraction;
    if (!strcmp(text, "going back")) stop_now = 1;
}

/* Ctrl-C on the way back keeps the curve so far, and no set is reported. */
static void test_interrupt(void **state)
{
    (void)state;
    const char *const settings[] = {FOOT, "infill.density=20%", NULL};
    const sp_press_options options = {
        .strain = 0.2, .load_limit = INFINITY, .steps = 20, .unload = 1, .frames = 4};
    sp_context context = {.interrupt = &stop_now, .progress = stop_on_way_back};
    coupon c;
    sp_path path;
    stop_now = 0;
    coupon_set_up(&c, 1, settings);
    assert_int_equal(sp_press(&context, &c.model, &options, &path), SP_OK);
    assert_int_equal(path.stop, SP_STOP_STRAIN);
    assert_int_equal(path.end, SP_STOP_INTERRUPTED);
    assert_non_null(strstr(path.reason, "interrupted on the way back"));
    assert_int_equal(path.unloaded, 0);
    assert_int_equal(path.shapes.back_frames, 0);
    check_true(path.step_count > 20 && path.back_count > 0);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bar_springs_back),        cmocka_unit_test(test_elastic_goes_back),
        cmocka_unit_test(test_snaps_keep_work),         cmocka_unit_test(test_losses),
        cmocka_unit_test(test_every_pattern_goes_back), cmocka_unit_test(test_interrupt),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
