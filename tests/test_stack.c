/* These tests press different layers through their stack (E272): pillars of crossings are bars,
 * beads between crossings are beams, and one stack is pressed to half its height. */
#include "check.h"

#include <string.h>

#include "coupon.h"
#include "temporary_file.h"

static const double bead = 0.42, high = 0.2, modulus = 45;

/* This is a layer of 9 x 9 mm: `count` lines along x or y, at these places. */
typedef struct laid {
    int along_y, count;
    double place[3];
} laid;

static void write_path(char *name, size_t size, const laid *layer, int kinds, int layers)
{
    enum { SIZE = 1 << 14 };
    static char text[SIZE];
    const double filament = 1.75, fed = 9 * bead * high / (M_PI / 4 * filament * filament);
    int used = snprintf(text, SIZE, "G21\nG90\nM83\n");
    for (int k = 0; k < layers; k++) {
        const laid *at = &layer[k % kinds];
        used += snprintf(text + used, (size_t)(SIZE - used), "G0 Z%.4f\n", (k + 1) * high);
        for (int i = 0; i < at->count; i++) {
            const char *form = at->along_y ? "G0 X%.4f Y0\nG1 X%.4f Y9 E%.6f\n"
                                           : "G0 X0 Y%.4f\nG1 X9 Y%.4f E%.6f\n";
            used +=
                snprintf(text + used, (size_t)(SIZE - used), form, at->place[i], at->place[i], fed);
        }
    }
    assert_true(used < SIZE);
    write_temporary_file(name, size, text);
}

/* Return the first stiffness of the stack between bonded platens [N/mm]. */
static double first_stiffness(const laid *layer, int kinds, int layers)
{
    char name[256], toolpath[300], height[64];
    sp_path path;
    coupon c;
    write_path(name, sizeof name, layer, kinds, layers);
    snprintf(toolpath, sizeof toolpath, "infill.toolpath=%s", name);
    snprintf(height, sizeof height, "coupon.height=%g mm", layers * high);
    coupon_set_up(&c, 0,
                  (const char *const[]){"infill.pattern=printed", toolpath, height,
                                        "coupon.width=9 mm", "coupon.depth=9 mm",
                                        "material.modulus=45 MPa", "material.strain_state=uniaxial",
                                        "press.direction=through", NULL});
    check_true(c.network.built == SP_BUILT_STACK);
    check_relative(c.model.height, layers * high, 1e-9);
    const sp_press_options options = {.strain = 0.002, .load_limit = INFINITY, .steps = 1};
    coupon_press(&c, &options, &path);
    const double stiffness = path.step[0].stiffness;
    sp_path_free(&path);
    coupon_tear_down(&c);
    remove(name);
    return stiffness;
}

/* Lines that cross over each other make nine pillars, each a bar whose area is the square of the
 * bead width. */
static void test_pillars(void **unused)
{
    static const laid kind[] = {{0, 3, {1.5, 4.5, 7.5}}, {1, 3, {1.5, 4.5, 7.5}}};
    (void)unused;
    const double want = 9 * modulus * bead * bead / (8 * high);
    check_relative(first_stiffness(kind, 2, 8), want, 2e-3);
}

/* Three beads lie on two lines and are pushed down between them by one line, and the same upside
 * down. A beam with fixed ends and a force in its middle has 192 EI/l^3, one with hinged ends 48
 * (by the beam equation); the bonds that hold these ends are short, and give a little. */
static void test_beams(void **unused)
{
    static const laid kind[] = {
        {0, 2, {1.5, 7.5}}, {1, 3, {1.5, 4.5, 7.5}}, {0, 1, {4.5}}, {1, 3, {1.5, 4.5, 7.5}}};
    (void)unused;
    const double span = 6, bending = modulus * bead * high * high * high / 12;
    const double fixed = 0.5 * 3 * 192 * bending / (span * span * span);
    const double got = first_stiffness(kind, 4, 5);
    check_true(got < fixed && got > 0.94 * fixed);
}

/* Layers all alike are walls, as stiff as their area seen from above: every bond carries the load
 * of the stretch of bead that it stands on. */
static void test_walls(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    coupon_set_up(
        &c, 0,
        (const char *const[]){"coupon.width=7 mm", "coupon.depth=7 mm", "coupon.height=1.6 mm",
                              "infill.pattern=square", "infill.density=25 %", "infill.layers=4",
                              "infill.layer_turn=0 deg", "bead.walls=1", "material.modulus=45 MPa",
                              "press.direction=through", "material.strain_state=uniaxial", NULL});
    const sp_press_options options = {.strain = 0.002, .load_limit = INFINITY, .steps = 1};
    coupon_press(&c, &options, &path);
    check_relative(path.step[0].stiffness, modulus * c.network.solid_fraction * 7 * 7 / 1.6, 0.04);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* A press to half the height consists of equilibria, and work = stored + released. */
static void test_to_half(void **unused)
{
    (void)unused;
    coupon c;
    sp_path path;
    coupon_set_up(
        &c, 1,
        (const char *const[]){"coupon.width=5 mm", "coupon.depth=5 mm", "coupon.height=1.2 mm",
                              "infill.pattern=square", "infill.density=30 %", "infill.layers=4",
                              "infill.layer_turn=45 deg", "bead.walls=0", "press.direction=through",
                              "material.strain_state=uniaxial", "flaws.seed=1", NULL});
    const sp_press_options options = {
        .strain = 0.5, .load_limit = INFINITY, .steps = 50, .frames = 8};
    coupon_press(&c, &options, &path);
    coupon_check_steps(&path, 2e-3);
    coupon_check_shapes(&c.network, &path);
    check_true(path.step[path.step_count - 1].contacts > 0);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Where there are two layers every bond has a foot on either platen, so there must be room for two
 * feet per bond. */
static void test_two_layers(void **unused)
{
    (void)unused;
    int feet = 0, upright = 0;
    coupon c;
    coupon_set_up(&c, 0,
                  (const char *const[]){
                      "coupon.width=12 mm", "coupon.depth=12 mm", "coupon.height=0.8 mm",
                      "infill.pattern=hexagonal", "infill.density=8 %", "infill.layers=2",
                      "infill.layer_turn=90 deg", "bead.walls=0", "press.direction=through", NULL});
    for (int j = 0; j < c.network.joint_count; j++) feet += c.network.joint_face[j] != 0;
    for (int s = 0; s < c.network.strut_count; s++) upright += sp_network_is_bond(&c.network, s);
    print_message("two layers: %d feet, %d bonds\n", feet, upright - feet);
    assert_int_equal(feet, 24);
    assert_int_equal(upright - feet, 12);
    coupon_tear_down(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pillars),    cmocka_unit_test(test_beams),
        cmocka_unit_test(test_walls),      cmocka_unit_test(test_to_half),
        cmocka_unit_test(test_two_layers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
