/* Where presses end: kinds of failure that `make soak` has found, each on a small coupon. */
#include "check.h"

#include <string.h>

#include <strutpress/run.h>

#include "base/alloc.h"
#include "coupon.h"
#include "state/range.h"

static void begin(coupon *c, sp_system *system, const char *const *settings)
{
    coupon_set_up(c, 0, settings);
    assert_int_equal(sp_system_create(&c->context, &c->model, 0, system), SP_OK);
    assert_int_equal(sp_system_evaluate(&c->context, system, c->model.reference, 0), SP_OK);
    assert_int_equal(sp_range_of(system), SP_RANGE_INSIDE);
}

static void end(coupon *c, sp_system *system)
{
    sp_system_free(system);
    coupon_tear_down(c);
}

static const char *const plane[] = {"infill.pattern=square",  "infill.density=15 %",
                                    "material.law=linear",    "bead.walls=0",
                                    "material.modulus=2 MPa", NULL};
static const char *const space[] = {"infill.pattern=simple-cubic", "infill.density=5 %",
                                    "infill.cells=[2, 2, 2]", "material.modulus=2 MPa", NULL};

/* A node that no platen holds, and an element that begins there. */
static int free_element(const sp_model *model)
{
    for (int e = 0; e < model->element_count; e++) {
        const int *node = sp_model_nodes(model, e);
        int held = 0;
        for (int k = 0; k < 2 * model->unknowns; k++)
            held +=
                model->hold[model->unknowns * node[k / model->unknowns] + k % model->unknowns] !=
                SP_FREE;
        if (!held) return e;
    }
    fail();
    return 0;
}

/* Both ends of an element nearly on one spot: a linear law does not mind, the press ends. */
static void test_no_length(void **unused)
{
    (void)unused;
    coupon c;
    sp_system system;
    begin(&c, &system, plane);
    const int *node = sp_model_nodes(&c.model, free_element(&c.model));
    for (int d = 0; d < 2; d++)
        system.x[3 * node[1] + d] = system.x[3 * node[0] + d] +
                                    0.015 * (system.x[3 * node[1] + d] - system.x[3 * node[0] + d]);
    assert_int_equal(sp_system_evaluate(&c.context, &system, system.x, 0), SP_OK);
    assert_int_equal(sp_range_of(&system), SP_RANGE_SHORT);
    end(&c, &system);
}

/* The ends of an element turned against each other: by 170 degrees the model has a state, by 179 it ends. */
static void test_folded(void **unused)
{
    (void)unused;
    static const struct {
        double turn;
        sp_range want;
    } row[] = {{170, SP_RANGE_INSIDE}, {179, SP_RANGE_FOLDED}};
    for (int i = 0; i < 2; i++) {
        coupon c;
        sp_system system;
        begin(&c, &system, space);
        const int e = free_element(&c.model);
        const double curvature = row[i].turn * M_PI / 180 / c.model.spatial[e].length;
        check_true(0.5 * c.model.thickest * curvature < 0.9); /* inside the law */
        system.element_state[e].curvature[0] = curvature;
        assert_int_equal(sp_range_of(&system), row[i].want);
        end(&c, &system);
    }
}

/* A fibre at the least stretch that the laws have. */
static void test_end_of_the_law(void **unused)
{
    (void)unused;
    coupon c;
    sp_system system;
    begin(&c, &system, space);
    sp_beam_state *state = &system.element_state[0];
    state->eps = -0.97;
    assert_int_equal(sp_range_of(&system), SP_RANGE_INSIDE);
    state->eps = -0.9795;
    assert_int_equal(sp_range_of(&system), SP_RANGE_LAW);
    end(&c, &system);
}

/* Press a case that ends early: SP_GAVE_UP, and the message names the end. Its states are sound all the same. */
static void check_named_end(const char *const *settings, sp_range want)
{
    coupon c;
    sp_result result;
    coupon_set_up(&c, 1, settings);
    assert_int_equal(sp_run(&c.context, &c.request, &result), SP_GAVE_UP);
    assert_int_equal(result.path.stop, SP_STOP_RANGE);
    assert_non_null(strstr(c.context.message, sp_range_text(want)));
    coupon_check_steps(&result.path, 2e-3);
    sp_result_free(&result);
    coupon_tear_down(&c);
}

/* Struts of a linear law pass through each other between contact points at ten times the modulus. */
static void test_crushed_struts(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=11.47 mm",
                                           "coupon.height=20.46 mm",
                                           "coupon.depth=8.418 mm",
                                           "infill.pattern=body-centred-cubic",
                                           "infill.cells=[1, 1, 2]",
                                           "infill.density=34.2 %",
                                           "infill.face_plates=grillage",
                                           "material.law=linear",
                                           "material.modulus=56.56 MPa",
                                           "material.poisson_ratio=0.246",
                                           "material.strain_state=uniaxial",
                                           "material.friction=0.354",
                                           "platens.hold=bonded",
                                           "platens.friction=0.103",
                                           "press.strain=57.4 %",
                                           "press.load_limit=none",
                                           "press.steps=289",
                                           "flaws.seed=0",
                                           NULL};
    check_named_end(settings, SP_RANGE_CRUSHED);
}

/* Walls of layers that lean: what they press on the platens acts where they touch, and with the forces in the struts adds up to no
 * force and no moment, at any state, in equilibrium or not. */
static void test_leaning_walls_balance(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"infill.pattern=triangular",
                                           "infill.density=30 %",
                                           "infill.layers=2",
                                           "coupon.width=9 mm",
                                           "coupon.height=8 mm",
                                           "coupon.depth=8 mm",
                                           "bead.walls=1",
                                           "platens.hold=sliding",
                                           "material.strain_state=uniaxial",
                                           "material.modulus=2 MPa",
                                           "infill.layer_turn=0",
                                           NULL};
    coupon c;
    sp_system system;
    begin(&c, &system, settings);
    const sp_model *model = &c.model;
    const double travel = 0.03 * model->height;
    double *x = system.x, sum[6] = {0};
    for (int n = 0; n < model->node_count; n++) x[7 * n + 1] *= 1 - travel / model->height;
    double *move = sp_alloc((size_t)(6 * model->node_count), sizeof *move);
    assert_non_null(move);
    for (int n = 0; n < model->node_count; n++) {
        move[6 * n + 3] = 0.03;
        move[6 * n + 5] = 0.02;
    }
    sp_model_move(model, x, 1, move, x);
    assert_int_equal(sp_system_evaluate(&c.context, &system, x, travel), SP_OK);
    check_true(system.energy < INFINITY);
    check_true(system.push.upper > 0 && system.push.lower > 0);
    for (int n = 0; n < model->node_count; n++) {
        const double *g = system.gradient + 6 * n, *p = system.x + 7 * n;
        for (int i = 0; i < 3; i++) {
            const int k = (i + 1) % 3, l = (i + 2) % 3;
            sum[i] += g[i];
            sum[3 + i] += p[k] * g[l] - p[l] * g[k] + g[3 + i];
        }
    }
    const double push = system.push.upper + system.push.lower;
    check_close(sum[0] / push, 0, 1e-9);
    check_close((sum[1] + system.push.lower - system.push.upper) / push, 0, 1e-9);
    check_close((sum[3] + system.push.moment[0]) / (push * model->height), 0, 1e-9);
    check_close((sum[5] + system.push.moment[1]) / (push * model->height), 0, 1e-9);
    sp_free(move);
    end(&c, &system);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_length),
        cmocka_unit_test(test_folded),
        cmocka_unit_test(test_end_of_the_law),
        cmocka_unit_test(test_crushed_struts),
        cmocka_unit_test(test_leaning_walls_balance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
