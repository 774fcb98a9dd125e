/* These tests check skins of coupons that are printed flat and loaded from above: the layer under
 * the edge of a wall against closed forms, walls between skins against plates of handbooks, and
 * whole presses. */
#include "check.h"
#include "coupon.h"
#include "panel_model.h"

#include "section/skin.h"

/* The closed forms are those at both ends of the thickness. A deep layer is the half plane under a
 * strip, whose surface sinks by 2/pi times the logarithm of the depth (Flamant 1892), and turns a
 * little more under a load that grows evenly than under a rigid strip, 4/pi (Muskhelishvili 1949;
 * Johnson 1985, section 2.8, from memory): 9/(2 pi), since the integral of j1^2/x is 1/4. A thin
 * compressible layer is pressed without widening, h (1 + nu)(1 - 2 nu)/(E (1 - nu)). */
static void test_layer(void **unused)
{
    (void)unused;
    const double t = 0.4, deep = sp_skin_squash(40, t, 0.3), less = sp_skin_squash(8, t, 0.3);
    check_relative(deep - less, 2 / M_PI * log(5), 2e-3);
    const double turn = sp_skin_turn(40, t, 0.5);
    check_relative(turn, 4.5 / M_PI, 2e-3);
    check_true(turn > 4 / M_PI);
    const double h = 0.002 * t, nu = 0.3;
    check_relative(sp_skin_squash(h, t, nu), h / t * (1 - 2 * nu) / ((1 - nu) * (1 - nu)), 0.02);
    double before[2] = {0};
    for (double depth = 0.05; depth < 10; depth *= 2) { /* thicker: softer */
        const double now[2] = {sp_skin_squash(depth, t, 0.5), sp_skin_turn(depth, t, 0.5)};
        check_true(now[0] > before[0] && now[1] > before[1]);
        memcpy(before, now, sizeof now);
    }
}

static const double thin = 0.005, depth_of_skin = 0.05;

static int on_platen(const plate *p, const double at[3])
{
    return at[1] < 1e-9 || at[1] > p->model.height - 1e-9;
}

static int on_skin(const plate *p, const double at[3])
{
    return !on_platen(p, at) &&
           (at[1] < p->skin + 1e-9 || at[1] > p->model.height - p->skin - 1e-9);
}

static int on_side(const plate *p, const double at[3])
{
    (void)p;
    return at[0] < 1e-9 || at[0] > 1 - 1e-9;
}

static int on_corner(const plate *p, const double at[3])
{
    return at[0] < 1e-9 && on_skin(p, at) && at[1] < 0.5;
}

/* Return the factor k of a wall of width 1 and height 2 between two skins, with simply supported
 * sides. `wider` multiplies the distance of the fibres under its edges, so that they hold it
 * against turning by the square of that. */
static double factor_between_skins(double wider)
{
    plate p;
    plate_begin(&p, 2 + 2 * depth_of_skin, 1.0 / 3);
    p.skin = depth_of_skin;
    plate_wall(&p, plate_line(&p, 0, 0), plate_line(&p, 1, 0), thin);
    plate_mesh(&p, 8);
    plate_hold(&p, on_platen, 63);
    plate_hold(&p, on_skin, PLATE_Z | PLATE_SPIN_Y);
    plate_hold(&p, on_side, PLATE_Z | PLATE_SPIN_X);
    plate_hold(&p, on_corner, PLATE_X);
    plate_not_free(&p, on_side);
    for (int s = 0; s < p.network.strut_count; s++) {
        sp_spatial_section *section = &p.model.spatial_section[s];
        if (!p.network.strut_panel[s].is_foot) continue;
        section->y[0] *= wider, section->y[1] *= wider;
    }
    plate_ready(&p);
    const double d = thin * thin * thin / 12 * 9 / 8;
    const double k = plate_critical(&p, 60 * thin * thin) / (M_PI * M_PI * d);
    plate_end(&p);
    return k;
}

/* Timoshenko & Gere 1961, chapter 9 (from memory): loaded edges clamped, height 2: 4.85; simply
 * supported: 4. A skin on a platen cannot turn as a whole, so a thin wall on it is clamped; it is
 * simply supported only if the skin does not hold it against turning. With `wider` it goes from one
 * to the other. */
static void test_wall_between_skins(void **unused)
{
    (void)unused;
    const double as_is = factor_between_skins(1), held = factor_between_skins(30),
                 half = factor_between_skins(0.05), not_held = factor_between_skins(1e-4);
    print_message("wall between skins: k = %.4f; held %.4f, less and less %.4f, %.4f\n", as_is,
                  held, half, not_held);
    check_relative(held, 4.85, 0.012);
    check_relative(not_held, 4.0, 0.012);
    check_true(as_is < held && as_is > 0.98 * held);
    check_true(half > 1.02 * not_held && half < 0.98 * held);
}

static const char *const with_skins[] = {"coupon.width=8.82 mm",  "coupon.depth=8.82 mm",
                                         "coupon.height=6 mm",    "coupon.skins=0.5 mm",
                                         "infill.angle=0 deg",    "bead.walls=1",
                                         "platens.hold=friction", "platens.friction=0.4",
                                         "press.direction=along", NULL};
static double first_stiffness(coupon *c)
{
    const sp_press_options options = {
        .strain = 1e-4, .load_limit = INFINITY, .steps = 1, .frames = 2};
    sp_path path;
    coupon_press(c, &options, &path);
    const sp_step *last = &path.step[path.step_count - 1];
    const double stiffness = last->force / last->shortening;
    sp_path_free(&path);
    return stiffness;
}

/* The skins are solid over their share of the height; the first stiffness is that of the walls
 * between them in series with two layers under all their edges (within what uneven pressure
 * changes). */
static void test_in_series(void **unused)
{
    (void)unused;
    coupon whole, walls;
    coupon_set_up(&whole, 0, with_skins);
    coupon_set_up(&walls, 0, coupon_pad);
    check_relative(6 * whole.network.solid_fraction, 1 + 5 * walls.network.solid_fraction, 1e-12);
    check_relative(whole.network.nominal_density, walls.network.nominal_density, 1e-12);
    check_relative(whole.model.height, 6, 1e-12);
    double edges = 0, nu = whole.law.poisson_ratio;
    for (int i = 0; i < walls.network.panel_count; i++) edges += walls.network.panel[i].length;
    const double squash = (1 - nu * nu) / whole.law.modulus *
                          sp_skin_squash(0.5, walls.network.panel[0].thickness, nu) / edges;
    const double want = 1 / (1 / first_stiffness(&walls) + 2 * squash);
    const double got = first_stiffness(&whole);
    print_message("first stiffness with skins %.2f N/mm, in series %.2f\n", got, want);
    check_relative(got, want, 0.01);
    coupon_tear_down(&whole);
    coupon_tear_down(&walls);
}

/* A whole press consists of equilibria, its energies balance, and no wall goes through another or
 * into a skin. */
static void test_press(void **unused)
{
    (void)unused;
    const double strain = coupon_quick() ? 0.15 : 0.45;
    coupon c;
    coupon_set_up(&c, 1, with_skins);
    const sp_press_options options = {
        .strain = strain, .load_limit = INFINITY, .steps = (int)(200 * strain), .frames = 16};
    sp_path path;
    coupon_press(&c, &options, &path);
    coupon_check_steps(&path, 2e-3);
    coupon_check_shapes(&c.network, &path);
    const sp_shapes *shapes = &path.shapes;
    for (int f = 0; f < shapes->frame_count; f++) {
        const double upper = 6 - path.step[shapes->frame_step[f]].shortening;
        const double *at = shapes->position + 3 * (size_t)f * (size_t)shapes->point_count;
        for (int i = 0; i < shapes->point_count; i++)
            if (!c.network.strut_panel[c.model.point_strut[i]].is_foot)
                check_true(at[3 * i + 1] > 0.3 && at[3 * i + 1] < upper - 0.3);
    }
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Skins that leave nothing between them are refused; those of another press are not read. */
static void test_refused(void **unused)
{
    (void)unused;
    sp_context context = {0};
    sp_case request;
    sp_case_default(&request);
    coupon_set(&request, "press.direction", "along");
    coupon_set(&request, "coupon.height", "8 mm");
    coupon_set(&request, "coupon.skins", "3.3 mm");
    sp_resolved resolved;
    assert_int_equal(sp_case_resolve(&context, &request, &resolved), SP_BAD_CASE);
    check_true(strstr(context.message, "between the two skins") != NULL);
    sp_resolved_free(&resolved);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_layer),     cmocka_unit_test(test_wall_between_skins),
        cmocka_unit_test(test_in_series), cmocka_unit_test(test_press),
        cmocka_unit_test(test_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
