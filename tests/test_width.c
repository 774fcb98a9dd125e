/* These tests check how force and stiffness change with the printed width: one derivative along a
 * press is compared with two more presses of the same coupon printed narrower and wider. */
#include "coupon.h"

#include "run/result.h"
#include "whole_press.h"

typedef struct width_case {
    const char *name;
    const char *offset;                  /* key of the printed width of this kind of coupon */
    double stiffness_bound, force_bound; /* of the slopes, relative */
    const char *settings[20];
} width_case;

static sp_result press_with(const width_case *c, double offset)
{
    sp_context context = {0};
    sp_case request;
    sp_result result;
    char text[40];
    sp_case_default(&request);
    coupon_set(&request, "press.find_critical", "no");
    for (int i = 0; c->settings[i]; i += 2)
        coupon_set(&request, c->settings[i], c->settings[i + 1]);
    snprintf(text, sizeof text, "%.9f mm", offset);
    if (offset != 0) coupon_set(&request, c->offset, text);
    const sp_status status = press_whole(&context, &request, &result);
    if (status != SP_OK) fail_msg("%s: %s", c->name, context.message);
    return result;
}

/* Return the force at a travel, by a cubic through force and stiffness of the states on both sides.
 */
static double force_at(const sp_path *path, double travel)
{
    int i = 1;
    while (i + 1 < path->step_count && path->step[i].shortening < travel) i++;
    const sp_step *a = &path->step[i - 1], *b = &path->step[i];
    const double h = b->shortening - a->shortening, s = (travel - a->shortening) / h;
    const double rise = b->force - a->force;
    return a->force + s * rise +
           s * (1 - s) * ((1 - s) * (h * a->stiffness - rise) - s * (h * b->stiffness - rise));
}

static void check_case(const width_case *c)
{
    sp_result middle = press_with(c, 0);
    const sp_width *width = &middle.path.width;
    if (!(width->width > 0)) fail_msg("%s: no derivative is told", c->name);
    const double change = 4e-3 * width->width;
    sp_result narrow = press_with(c, -change), wide = press_with(c, change);
    const double stiffness =
        (wide.path.width.stiffness - narrow.path.width.stiffness) / (2 * change);
    printf("%s, width %.4g mm: stiffness %.4g N/mm, slope %.6g, two presses %.6g N/mm2", c->name,
           width->width, width->stiffness, width->stiffness_slope, stiffness);
    assert_true(fabs(width->stiffness_slope / stiffness - 1) < c->stiffness_bound);
    for (int i = 0; i < SP_WIDTH_STRAINS; i++) {
        const sp_width_slope *at = &width->force[i];
        if (!(at->strain > 0)) continue;
        const double travel = at->strain * middle.path.size[1];
        const double two =
            (force_at(&wide.path, travel) - force_at(&narrow.path, travel)) / (2 * change);
        printf("; %.3g %%: %.5g N, %.6g, %.6g N/mm, %d jumps", 100 * at->strain, at->force,
               at->slope, two, at->snaps);
        if (!(fabs(at->slope / two - 1) < c->force_bound))
            fail_msg("%s at %g: slope %g, two presses %g", c->name, at->strain, at->slope, two);
    }
    printf("\n");
    sp_result_clear(&wide);
    sp_result_clear(&narrow);
    sp_result_clear(&middle);
}

static void one_derivative_is_two_presses(void **state)
{
    (void)state;
    static const width_case cases[] = {
        {"square",
         "bead.width_offset",
         0.001,
         0.02,
         {"infill.pattern", "square", "infill.density", "15 %", "press.strain", "42 %",
          "press.steps", "84", "model.elements_per_strut", "4"}},
        {"hexagonal",
         "bead.width_offset",
         0.001,
         0.01,
         {"infill.pattern", "hexagonal", "infill.density", "20 %", "press.strain", "42 %",
          "press.steps", "84", "model.elements_per_strut", "4"}},
        {"simple cubic",
         "infill.diameter_offset",
         0.001,
         0.01,
         {"infill.pattern", "simple-cubic", "infill.density", "12 %", "infill.cells_x", "2",
          "infill.cells_y", "2", "infill.cells_z", "2", "press.strain", "11 %", "press.steps", "22",
          "model.elements_per_strut", "3"}},
        {"panels",
         "bead.width_offset",
         0.001,
         0.03,
         {"infill.pattern", "square", "infill.density", "15 %", "press.direction", "along",
          "coupon.width", "12 mm", "coupon.depth", "12 mm", "coupon.height", "6 mm", "press.strain",
          "11 %", "press.steps", "11"}},
        {"friction",
         "bead.width_offset",
         0.005,
         0.01,
         {"infill.pattern", "square", "infill.density", "12 %", "platens.hold", "friction",
          "platens.friction", "0.4", "material.friction", "0.4", "press.strain", "11 %",
          "press.steps", "22", "model.elements_per_strut", "4"}},
        /* These are cells that bend, and walls of stacked layers. */
        {"Kelvin",
         "infill.diameter_offset",
         0.001,
         0.01,
         {"infill.pattern", "kelvin", "infill.density", "10 %", "infill.cells_x", "1",
          "infill.cells_y", "1", "infill.cells_z", "1", "press.strain", "11 %", "press.steps", "22",
          "model.elements_per_strut", "4"}},
        {"layers",
         "bead.width_offset",
         0.001,
         0.01,
         {"infill.pattern", "hexagonal", "infill.density", "25 %", "infill.layers", "2",
          "coupon.width", "12 mm", "coupon.height", "10 mm", "coupon.depth", "4 mm", "press.strain",
          "11 %", "press.steps", "22", "model.elements_per_strut", "3"}},
        /* The history of fibres in earlier steps is neglected. */
        {"yielding",
         "bead.width_offset",
         0.001,
         0.12,
         {"infill.pattern", "square", "infill.density", "12 %", "material.law", "yielding",
          "material.table", "tests/data/beam_lattices/tension/asu_uni_test_1e-3.txt",
          "press.strain", "26 %", "press.steps", "52", "model.elements_per_strut", "4"}},
    };
    const size_t count = sizeof cases / sizeof cases[0];
    for (size_t i = coupon_quick() ? 2 : 0; i < (coupon_quick() ? 3 : count); i++)
        check_case(&cases[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_derivative_is_two_presses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
