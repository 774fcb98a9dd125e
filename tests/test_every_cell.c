/* Every spatial pattern in blocks of 2 x 2 x 2 cells at 10 and 20 %, pressed to 60 % strain in an elastomer; every accepted
 * state and every kept shape is re-checked from raw data. `make blocks` does the same with 4 x 4 x 4 cells and three seeds. */
#include "coupon.h"

#include <strutpress/inspect.h>

static void press_every_cell(const char *density, const char *hold)
{
    for (int i = 0, n = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        if (row.dimension != 3) continue;
        if (coupon_quick() && n++ % 4) continue;
        sp_case request;
        sp_case_default(&request);
        coupon_set(&request, "infill.pattern", row.name);
        coupon_set(&request, "infill.density", density);
        coupon_set(&request, "infill.cells", "[2, 2, 2]");
        coupon_set(&request, "coupon.width", "20 mm");
        coupon_set(&request, "coupon.height", "20 mm");
        coupon_set(&request, "coupon.depth", "20 mm");
        coupon_set(&request, "platens.hold", hold);
        coupon_set(&request, "press.strain", "60 %");
        coupon_set(&request, "press.load_limit", "none");
        coupon_set(&request, "press.find_critical", "no");
        coupon_run_to_the_end(&request);
    }
}

static void test_thin(void **unused)
{
    (void)unused;
    press_every_cell("10 %", "bonded");
}

static void test_thick(void **unused)
{
    (void)unused;
    press_every_cell("20 %", "sliding");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_thin),
        cmocka_unit_test(test_thick),
    };
    return cmocka_run_group_tests_name("every cell", tests, NULL, NULL);
}
