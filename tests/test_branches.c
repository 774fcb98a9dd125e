/* These tests check other stable states. A state that is kept and put back leaves no trace. Where
 * there is only one state the search changes nothing. Where the press goes over to another state,
 * it holds less energy from there on than without the search, and its path consists of equilibria
 * whose energies balance. */
#include <string.h>

#include "coupon.h"

#include "base/alloc.h"
#include "stability/layers.h"
#include "state/equilibrium.h"
#include "state/kept.h"

/* These straight struts buckle, and have several ways to fold. */
#define TRIANGLES                                                                                  \
    "infill.pattern=triangular", "infill.density=15 %", "coupon.width=30 mm",                      \
        "coupon.height=30 mm", "coupon.depth=10 mm", "press.find_critical=no"

static const sp_press_options through_the_fold = {
    .strain = 0.07, .load_limit = INFINITY, .steps = 14, .frames = 10};

static void press(coupon *c, int branches, sp_path *path)
{
    sp_press_options options = through_the_fold;
    options.branches = branches;
    memset(path, 0, sizeof *path);
    coupon_press(c, &options, path);
}

static void least_energy_is_gone_on_from(void **state)
{
    (void)state;
    static const char *const settings[] = {TRIANGLES, "flaws.row_scatter=10 %", "flaws.seed=39",
                                           NULL};
    coupon c;
    sp_path plain, searched;
    int taken = 0, others = 0;
    coupon_set_up(&c, 1, settings);
    press(&c, 0, &plain);
    press(&c, 1, &searched);
    assert_false(plain.branches.searched);
    assert_true(searched.branches.searched && searched.branches.look_count > 0);
    for (int i = 0; i < searched.branches.look_count; i++) {
        const sp_look *look = &searched.branches.look[i];
        const double tenth = 0.1 * look->strain;
        others += look->others;
        taken += look->taken;
        assert_true(look->taken == (look->gained > 0));
        assert_true((look->others > 0) == (look->points > 0));
        assert_true(look->pushes > 2 && look->lost <= look->pushes);
        for (int k = 0; k < look->points; k++) {
            assert_true(look->at[k] > look->strain - tenth);
            assert_true(look->low[k] <= look->high[k]);
        }
    }
    assert_true(taken > 0 && others >= taken);
    coupon_check_steps(&searched, 2e-3);
    coupon_check_shapes(&c.network, &searched);
    /* Where both have come to the same shortening, the press with the search does not hold more
     * energy. */
    const sp_step *a = &plain.step[plain.step_count - 1];
    const sp_step *b = &searched.step[searched.step_count - 1];
    printf("taken %d of %d others; stored at 7 %%: %.5g mJ without search, %.5g with\n", taken,
           others, a->stored, b->stored);
    assert_true(fabs(a->shortening - b->shortening) < 1e-9);
    assert_true(b->stored < a->stored);
    sp_path_free(&plain);
    sp_path_free(&searched);
    coupon_tear_down(&c);
}

/* Hexagons whose walls bend from the beginning fold in one way only; the search must not change
 * figures. */
static void one_state_stays_as_it_is(void **state)
{
    (void)state;
    static const char *const settings[] = {"infill.pattern=hexagonal", "infill.density=20 %",
                                           "coupon.width=16 mm",       "coupon.height=14 mm",
                                           "press.find_critical=no",   NULL};
    coupon c;
    sp_path plain, searched;
    coupon_set_up(&c, 1, settings);
    press(&c, 0, &plain);
    press(&c, 1, &searched);
    assert_true(searched.branches.look_count > 0);
    for (int i = 0; i < searched.branches.look_count; i++) {
        assert_int_equal(searched.branches.look[i].others, 0);
        assert_true(searched.branches.look[i].apart == 0);
    }
    assert_int_equal(plain.step_count, searched.step_count);
    for (int i = 0; i < plain.step_count; i++) {
        const double force = plain.step[i].force;
        assert_true(plain.step[i].shortening == searched.step[i].shortening);
        assert_true(fabs(searched.step[i].force - force) <= 1e-7 * fabs(force));
    }
    sp_path_free(&plain);
    sp_path_free(&searched);
    coupon_tear_down(&c);
}

/* Descend to a travel from the accepted state, in `dt` seconds, and accept what is found there. */
static void go_to(coupon *c, sp_system *system, double travel, double dt)
{
    sp_attempt attempt;
    assert_int_equal(sp_system_try(&c->context, system, travel - system->accepted_shortening, dt),
                     SP_OK);
    assert_int_equal(
        sp_equilibrium_descend(&c->context, system, system->accepted, travel, 200, &attempt),
        SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
    sp_system_accept(system, travel - system->accepted_shortening);
}

/* Press by `count` steps, keep that state, and press on from it twice: both times the result is the
 * same. */
static void check_kept(const char *const *settings, double step, int count, double dt)
{
    coupon c;
    sp_system system = {0};
    sp_kept kept = {0};
    coupon_set_up(&c, 1, settings);
    assert_int_equal(sp_system_create(&c.context, &c.model, 0, &system), SP_OK);
    assert_int_equal(sp_system_evaluate(&c.context, &system, c.model.reference, 0), SP_OK);
    sp_system_accept(&system, 0);
    for (int i = 1; i <= count; i++) go_to(&c, &system, step * i, dt);
    assert_int_equal(sp_kept_take(&c.context, &system, &kept), SP_OK);
    double force[2], stored[2], dissipated[2];
    for (int k = 0; k < 2; k++) {
        assert_int_equal(sp_kept_put_back(&c.context, &kept, &system), SP_OK);
        assert_true(system.shortening == step * count);
        go_to(&c, &system, step * (count + 1), dt);
        go_to(&c, &system, step * (count + 2), dt);
        dissipated[k] = sp_system_accept(&system, 0);
        force[k] = system.force;
        stored[k] = sp_system_stored(&system);
    }
    assert_true(dissipated[0] > 0);
    check_close(force[1], force[0], 1e-7);
    check_close(stored[1], stored[0], 1e-9);
    check_relative(dissipated[1], dissipated[0], 1e-11);
    if (dt > 0) assert_true(system.contact.layers.slot_count > 0);
    sp_kept_free(&kept);
    sp_system_free(&system);
    coupon_tear_down(&c);
}

/* Kept states include grips and fibres that yield and, under a law in time, fibres and layers of
 * struts that press on each other. */
static void kept_state_comes_back(void **state)
{
    (void)state;
    static const char *const yields[] = {
        "infill.pattern=square",
        "infill.density=15 %",
        "coupon.width=12 mm",
        "coupon.height=12 mm",
        "platens.hold=friction",
        "platens.friction=0.4",
        "material.friction=0.4",
        "material.law=yielding",
        "press.find_critical=no",
        "material.table=tests/data/beam_lattices/tension/asu_uni_test_1e-3.txt",
        NULL};
    static const char *const relaxes[] = {"infill.pattern=hexagonal",
                                          "infill.density=40 %",
                                          "coupon.width=12 mm",
                                          "coupon.height=12 mm",
                                          "material.relaxation.exponent=0.06",
                                          "press.find_critical=no",
                                          NULL};
    check_kept(yields, 0.15, 8, 0);
    check_kept(relaxes, 0.1, 36, 1);
}

/* E254: heights keep their order, the platens stay, the squashed layer loses the share that was
 * asked for. */
static void squash_keeps_the_order(void **state)
{
    (void)state;
    static const char *const settings[] = {TRIANGLES, NULL};
    coupon c;
    sp_system system = {0};
    sp_layers layers;
    coupon_set_up(&c, 1, settings);
    assert_int_equal(sp_system_create(&c.context, &c.model, 0, &system), SP_OK);
    assert_int_equal(sp_system_evaluate(&c.context, &system, c.model.reference, 0), SP_OK);
    sp_system_accept(&system, 0);
    sp_layers_find(&c.model, &layers);
    assert_true(layers.count >= 3 && layers.count <= SP_LAYERS_MAX);
    const int nodes = c.model.node_count;
    double *move = sp_alloc(3 * (size_t)nodes, sizeof *move);
    for (int layer = 0; layer < layers.count; layer++) {
        sp_layers_squash(&system, &layers, layer, 0.4, move);
        double low = 0, high = 0;
        for (int a = 0; a < nodes; a++) {
            const double ya = system.accepted[3 * a + 1];
            low = fmin(low, move[3 * a + 1]);
            high = fmax(high, move[3 * a + 1]);
            if (c.model.hold[3 * a + 1] != SP_FREE) assert_true(move[3 * a + 1] == 0);
            for (int b = 0; b < a; b++) {
                const double yb = system.accepted[3 * b + 1];
                assert_true((ya - yb) * (ya + move[3 * a + 1] - yb - move[3 * b + 1]) >= -1e-12);
            }
        }
        assert_true(high - low > 0.2 * layers.height && high - low <= 0.41 * layers.height);
    }
    sp_free(move);
    sp_system_free(&system);
    coupon_tear_down(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(least_energy_is_gone_on_from),
        cmocka_unit_test(one_state_stays_as_it_is),
        cmocka_unit_test(kept_state_comes_back),
        cmocka_unit_test(squash_keeps_the_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
