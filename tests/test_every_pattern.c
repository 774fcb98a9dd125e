/* Every planar pattern at 20 % is pressed whole, with three flaw seeds and without flaws, to 70 %
 * strain or 6 kN; every accepted state and every kept shape is re-checked from raw data. */
#include "coupon.h"

#include <strutpress/inspect.h>

static void press_every_pattern(int seed)
{
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        if (sp_list_pattern_at(i).dimension != 2) continue;
        /* The quick run shares the patterns out among the seeds, and leaves out the densest folds.
         */
        if (coupon_quick() && i % 3 != seed - 1) continue;
        const sp_listed row = sp_list_pattern_at(i);
        sp_case request;
        sp_case_default(&request);
        coupon_set(&request, "infill.pattern", row.name);
        if (!strcmp(row.name, "drawn"))
            coupon_set(&request, "infill.network", "meshes/foot-arch.vtk");
        if (coupon_quick()) coupon_set(&request, "press.strain", "45 %");
        request.flaw_seed = seed;
        request.find_critical = 0;
        request.load_limit = 6000;
        coupon_run_to_the_end(&request);
    }
}

static void seed_1(void **unused)
{
    (void)unused;
    press_every_pattern(1);
}

static void seed_2(void **unused)
{
    (void)unused;
    press_every_pattern(2);
}

static void seed_3(void **unused)
{
    (void)unused;
    press_every_pattern(3);
}

/* Patterns without flaws that are pressed along an axis of symmetry meet states in which no force
 * shows a direction to go on. */
static void perfect(void **unused)
{
    (void)unused;
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        if (row.dimension != 2 || !strcmp(row.name, "drawn") || (coupon_quick() && i % 6 != 0))
            continue;
        sp_case request;
        sp_case_default(&request);
        coupon_set(&request, "coupon.width", "24 mm");
        coupon_set(&request, "coupon.height", "20 mm");
        coupon_set(&request, "infill.pattern", row.name);
        coupon_set(&request, "infill.angle", "90 deg");
        coupon_set(&request, "press.load_limit", "6 kN");
        coupon_set(&request, "bead.walls", "1");
        request.flaw_seed = 0;
        coupon_run_to_the_end(&request);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(seed_1),
        cmocka_unit_test(seed_2),
        cmocka_unit_test(seed_3),
        cmocka_unit_test(perfect),
    };
    return cmocka_run_group_tests_name("every pattern", tests, NULL, NULL);
}
