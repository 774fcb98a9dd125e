/* Every spatial pattern is pressed in blocks of 2 x 2 x 2 cells of an elastomer at 10 and 20 % to
 * 60 % strain; every accepted state and every kept shape is re-checked from raw data. `make blocks`
 * does the same with 4 x 4 x 4 cells and three seeds. */
#include "coupon.h"

#include <strutpress/inspect.h>

#include "press/press.h"

static void press_every_cell(const char *density, const char *hold, int seed)
{
    for (int i = 0, n = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        if (row.dimension != 3) continue;
        if (coupon_quick() && n++ % (seed ? 4 : 8)) continue;
        sp_case request;
        sp_case_default(&request);
        coupon_set(&request, "infill.pattern", row.name);
        coupon_set(&request, "infill.density", density);
        coupon_set(&request, "infill.cells", "[2, 2, 2]");
        coupon_set(&request, "coupon.width", "20 mm");
        coupon_set(&request, "coupon.height", "20 mm");
        coupon_set(&request, "coupon.depth", "20 mm");
        coupon_set(&request, "platens.hold", hold);
        coupon_set(&request, "press.strain", coupon_quick() ? "40 %" : "60 %");
        coupon_set(&request, "press.load_limit", "none");
        coupon_set(&request, "press.find_critical", "no");
        request.flaw_seed = seed;
        coupon_run_to_the_end(&request);
    }
}

static void test_thin(void **unused)
{
    (void)unused;
    press_every_cell("10 %", "bonded", 1);
}

static void test_thick(void **unused)
{
    (void)unused;
    press_every_cell("20 %", "sliding", 1);
}

/* Blocks without flaws meet states in which no force shows a direction to go on. */
static void test_perfect(void **unused)
{
    (void)unused;
    press_every_cell("10 %", "bonded", 0);
}

/* No strut passes another: brute force over every accepted state, not only over the shapes a run
 * keeps. */
static void test_every_accepted_state(void **unused)
{
    (void)unused;
    const char *const pattern[] = {"body-centred-cubic", "diamond-cubic", "octet-truss"};
    for (int i = 0; i < (coupon_quick() ? 1 : 3); i++) {
        char text[64];
        snprintf(text, sizeof text, "infill.pattern=%s", pattern[i]);
        const char *const settings[] = {text,
                                        "infill.density=15 %",
                                        "infill.cells=[2, 1, 2]",
                                        "coupon.width=20 mm",
                                        "coupon.height=10 mm",
                                        "coupon.depth=20 mm",
                                        "material.strain_state=uniaxial",
                                        NULL};
        const sp_press_options options = {
            .strain = 0.6, .load_limit = INFINITY, .steps = 200, .frames = 4 * 200};
        coupon c;
        sp_path path;
        coupon_set_up(&c, 1, settings);
        coupon_press(&c, &options, &path);
        check_true(path.shapes.frame_count > 0.95 * path.step_count);
        coupon_check_steps(&path, 1e-3);
        coupon_check_shapes(&c.network, &path);
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_accepted_state),
        cmocka_unit_test(test_thin),
        cmocka_unit_test(test_thick),
        cmocka_unit_test(test_perfect),
    };
    return cmocka_run_group_tests_name("every cell", tests, NULL, NULL);
}
