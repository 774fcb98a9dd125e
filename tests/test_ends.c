/* These tests check how presses end, for the kinds of failure that `make soak` has found, each on a
 * small coupon. */
#include "check.h"

#include <string.h>

#include "coupon.h"
#include "base/so3.h"
#include "beam/beam.h"
#include "contact/parts.h"
#include "contact/wall.h"
#include "run/result.h"
#include "state/equilibrium.h"
#include "state/range.h"
#include "temporary_file.h"
#include "whole_press.h"

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

static const char *const no_zones[] = {"infill.pattern=simple-cubic", "infill.density=5 %",
                                       "infill.cells=[2, 2, 2]",      "material.modulus=2 MPa",
                                       "model.joint_zone=0",          NULL};

/* Return an element that begins at a node which no platen holds. */
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

/* Where both ends of an element are nearly in one place a linear law has no end, but the press
 * ends. */
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

/* The chain of a strut that yields goes on with its joint for a part of the end element (E231).
 * Where the first node lies at the end of that part the element has a quarter of its length and
 * more, but the piece that others press on has none. (Soak of dense coupons, seed 102 of at most
 * 200 struts, coupon 4, gave up there.) */
static void test_no_length_at_an_end_that_yields(void **unused)
{
    (void)unused;
    coupon c;
    sp_system system;
    char table[300], setting[320];
    write_temporary_file(table, sizeof table, "0.02 0.6\n0.05 1.2\n0.1 1.6\n1 2\n4 3\n");
    snprintf(setting, sizeof setting, "material.table=%s", table);
    const char *const settings[] = {"infill.pattern=square",
                                    "infill.density=15 %",
                                    "bead.walls=0",
                                    "material.law=yielding",
                                    setting,
                                    NULL};
    begin(&c, &system, settings);
    const int e = free_element(&c.model), *node = sp_model_nodes(&c.model, e);
    int end_of_part = 0;
    while (c.model.point_node[end_of_part + 1] != node[1]) end_of_part++;
    const double *position = system.contact.position + 2 * end_of_part;
    for (int d = 0; d < 2; d++)
        system.x[3 * node[1] + d] = position[d] + 0.01 * (system.x[3 * node[1] + d] - position[d]);
    assert_int_equal(sp_system_evaluate(&c.context, &system, system.x, 0), SP_OK);
    check_true(sp_beam_chord(&c.model, e, &system.element_state[e]) > 0.1);
    assert_int_equal(sp_range_of(&system), SP_RANGE_SHORT);
    end(&c, &system);
    unlink(table);
}

/* Where the ends of an element are turned against each other by 170 degrees the press goes on; at
 * 179 degrees it ends. */
static void test_folded(void **unused)
{
    (void)unused;
    coupon c;
    sp_system system;
    begin(&c, &system, space);
    const int e = free_element(&c.model);
    double *curvature = &system.element_state[e].curvature[0];
    *curvature = 170 * M_PI / 180 / c.model.spatial[e].length;
    check_true(sp_range_of(&system) != SP_RANGE_FOLDED);
    *curvature *= 179.0 / 170;
    assert_int_equal(sp_range_of(&system), SP_RANGE_FOLDED);
    end(&c, &system);
}

/* The press ends where a fibre is at the smallest stretch of its law; with joint zones the chord
 * would have no length before that. */
static void test_end_of_the_law(void **unused)
{
    (void)unused;
    coupon c;
    sp_system system;
    begin(&c, &system, no_zones);
    sp_beam_state *state = &system.element_state[0];
    state->eps = -0.97;
    assert_int_equal(sp_range_of(&system), SP_RANGE_INSIDE);
    state->eps = -0.9795;
    assert_int_equal(sp_range_of(&system), SP_RANGE_LAW);
    end(&c, &system);
}

static const char *const in_time[] = {"infill.pattern=square",
                                      "infill.density=15 %",
                                      "material.law=linear",
                                      "bead.walls=0",
                                      "material.modulus=2 MPa",
                                      "material.relaxation.exponent=0.1",
                                      NULL};

/* A law in time ends where a fibre has no length left, since strains of its branches are
 * logarithms, also where the law itself goes on. (Soak of cycles, seed 1 of at most 40 struts,
 * coupon 15, gave up there.) */
static void test_end_of_a_law_in_time(void **unused)
{
    (void)unused;
    for (int timed = 0; timed < 2; timed++) {
        coupon c;
        sp_system system;
        begin(&c, &system, timed ? in_time : plane);
        sp_beam_state *state = &system.element_state[0];
        state->eps = -0.5;
        state->curvature[1] = 0.9 / c.network.strut_thickness[0];
        assert_int_equal(sp_range_of(&system), SP_RANGE_INSIDE);
        state->curvature[1] = 1.2 / c.network.strut_thickness[0];
        assert_int_equal(sp_range_of(&system), timed ? SP_RANGE_LAW : SP_RANGE_INSIDE);
        end(&c, &system);
    }
}

/* Press a case that ends early: there is no error, the path says why, and its states are sound. */
static void check_named_end(const char *const *settings, sp_range want)
{
    coupon c;
    sp_result result;
    coupon_set_up(&c, 1, settings);
    assert_int_equal(sp_result_press(&c.context, &c.request, &result), SP_OK);
    assert_string_equal(c.context.message, "");
    assert_int_equal(result.path.stop, SP_STOP_RANGE);
    assert_int_equal(result.path.end, SP_STOP_RANGE);
    assert_int_equal(sp_stop_outcome(result.path.end), SP_GAVE_UP);
    assert_non_null(strstr(result.path.reason, sp_range_text(want)));
    coupon_check_steps(&result.path, 2e-3);
    sp_result_clear(&result);
    coupon_tear_down(&c);
}

/* Struts of a linear law pass through each other between contact points at ten times the modulus.
 */
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
                                           "press.strain=62 %",
                                           "press.load_limit=none",
                                           "press.steps=289",
                                           "flaws.seed=0",
                                           "model.joint_zone=2",
                                           NULL};
    check_named_end(settings, SP_RANGE_CRUSHED);
}

/* Struts of a lattice without a load limit meet middle on middle. Without an end, steps would be
 * found up to 1e9 times the modulus, where the energies are round-off; the press ends before.
 * (Soak, seed 21, coupon 11 of up to 100 struts.) */
static void test_crushed_and_still_going(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=45.91 mm",     "coupon.height=6.49 mm",
        "coupon.depth=8.515 mm",     "infill.pattern=6.6.6",
        "infill.density=38 %",       "infill.angle=0 deg",
        "bead.width=0.77 mm",        "bead.walls=1",
        "material.law=yeoh",         "material.c10=0.7724 MPa",
        "material.c20=-0.03862 MPa", "material.c30=0.007724 MPa",
        "platens.hold=bonded",       "press.strain=75 %",
        "press.load_limit=none",     "press.steps=347",
        "press.find_critical=no",    "flaws.seed=693393",
        "flaws.bow=1.53 %",          "flaws.thickness_scatter=5.74 %",
        "flaws.joint_offset=8.22 %", NULL};
    check_named_end(settings, SP_RANGE_CRUSHED);
}

static void check_whole_press(const char *const *settings, double balance)
{
    coupon c;
    sp_result result;
    coupon_set_up(&c, 1, settings);
    if (press_whole(&c.context, &c.request, &result) != SP_OK) fail_msg("%s", c.context.message);
    assert_int_equal(result.path.stop, SP_STOP_STRAIN);
    coupon_check_steps(&result.path, balance);
    sp_result_clear(&result);
    coupon_tear_down(&c);
}

/* Friction nearly holds all feet: to find which of them slide in the first step takes Newton's
 * method more iterates than any other step, and the press used to give up before its first state.
 * (Soak, seed 21, coupon 35 of up to 100 struts.) */
static void test_feet_that_hardly_hold(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=6.107 mm",
                                           "coupon.height=35.12 mm",
                                           "coupon.depth=58.47 mm",
                                           "infill.pattern=laves-graph",
                                           "infill.cells=[2, 2, 1]",
                                           "infill.density=5.04 %",
                                           "material.law=linear",
                                           "material.modulus=43.47 MPa",
                                           "material.poisson_ratio=0.341",
                                           "platens.hold=friction",
                                           "platens.friction=0.881",
                                           "press.strain=10 %",
                                           "press.load_limit=none",
                                           "press.steps=42",
                                           "press.find_critical=no",
                                           "flaws.seed=331411",
                                           "flaws.bow=0.239 %",
                                           "flaws.thickness_scatter=0.848 %",
                                           "flaws.joint_offset=15 %",
                                           NULL};
    check_whole_press(settings, 2e-3);
}

/* Grips between struts let go as they are made anew, over and over. The work that the corners of
 * the curve miss adds up, and counts as released before it becomes visible. (Soak, seed 21, coupon
 * 50 of up to 100 struts, fewer cells.) */
static void test_corners_add_up(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=9.28 mm",
                                           "coupon.height=30.3 mm",
                                           "coupon.depth=15.07 mm",
                                           "infill.pattern=diamond-cubic",
                                           "infill.cells=[1, 2, 1]",
                                           "infill.density=22 %",
                                           "material.law=gent",
                                           "material.modulus=123.9 MPa",
                                           "material.gent_limit=33.23",
                                           "material.friction=0.6",
                                           "platens.hold=friction",
                                           "platens.friction=0.69",
                                           "press.strain=76 %",
                                           "press.load_limit=none",
                                           "press.steps=232",
                                           "press.find_critical=no",
                                           "flaws.seed=367669",
                                           "flaws.bow=4.72 %",
                                           "flaws.thickness_scatter=5.76 %",
                                           "flaws.joint_offset=3.09 %",
                                           NULL};
    check_whole_press(settings, 2e-3);
}

/* The push of a platen on a layer wall that leans acts where the two touch; otherwise the platens
 * would not balance each other (coupon_check_steps). */
static void test_leaning_walls_balance(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=5.3 mm",
                                           "coupon.height=5.8 mm",
                                           "coupon.depth=30 mm",
                                           "infill.pattern=hexagonal",
                                           "infill.density=35 %",
                                           "infill.layers=3",
                                           "infill.layer_turn=45 deg",
                                           "bead.width=0.6 mm",
                                           "bead.walls=1",
                                           "material.law=neo-hookean",
                                           "material.modulus=20 MPa",
                                           "platens.hold=sliding",
                                           "press.strain=55 %",
                                           "press.steps=60",
                                           "press.find_critical=no",
                                           "flaws.seed=3",
                                           "flaws.bow=4 %",
                                           "flaws.joint_offset=20 %",
                                           "flaws.missing=10 %",
                                           NULL};
    coupon c;
    coupon_set_up(&c, 1, settings);
    sp_result result;
    if (press_whole(&c.context, &c.request, &result) != SP_OK) fail_msg("%s", c.context.message);
    coupon_check_steps(&result.path, 1e-3);
    sp_result_clear(&result);
    coupon_tear_down(&c);
}

/* Count by brute force the pairs of walls that touch at their placed positions; each of them has to
 * be on the short list. */
static int count_pressing_walls(sp_contact *contact)
{
    const sp_model *model = contact->model;
    const double most = model->thickest;
    const int near = sp_contact_near_within(contact, most, most);
    int count = 0;
    for (int k = 0; k + 1 < model->point_count; k++)
        for (int j = k + 1; j + 1 < model->point_count; j++) {
            sp_candidate pair = {.from = k, .to = j, .walls = 1, .touch = most, .presses = -1};
            double distance;
            int is_listed = 0;
            if (model->point_strut[k] != model->point_strut[k + 1] ||
                model->point_strut[j] != model->point_strut[j + 1] ||
                sp_contact_is_own(model, k, j) ||
                !sp_wall_is_within(contact, &pair, most, &distance))
                continue;
            for (int i = 0; i < near && !is_listed; i++)
                is_listed = contact->brief[i].from == k && contact->brief[i].to == j;
            if (!is_listed) fail_msg("pair %d %d, %g mm apart, is not listed", k, j, distance);
            count++;
        }
    return count;
}

/* In a layer that topples out of its plane, walls that have slipped along a depth direction that
 * leans still press on each other. They used to be looked for in the plane of the upright layer, so
 * that some were found and lost from one search to the next, and the energy jumped. (Soak, seed 21,
 * coupons 113, 165, 242, 246.) */
static void test_leaning_walls_are_found(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=10 mm",  "coupon.height=8 mm",
                                           "coupon.depth=5 mm",   "infill.pattern=square",
                                           "infill.layers=1",     "bead.width=0.4 mm",
                                           "infill.density=20 %", "material.law=linear",
                                           "bead.walls=1",        NULL};
    coupon c;
    sp_contact contact;
    coupon_set_up(&c, 0, settings);
    const sp_model *model = &c.model;
    const size_t values = (size_t)(model->values * model->node_count);
    double *x = calloc(values, sizeof *x);
    assert_non_null(x);
    assert_int_equal(sp_contact_create(&c.context, model, &contact), SP_OK);
    memcpy(x, model->reference, values * sizeof *x);
    for (int n = 0; n < model->node_count; n++) { /* one half on the other, and slipped */
        double *at = x + model->values * n;
        if (at[0] > 5.2) at[0] -= 1.1, at[2] += 3.5;
    }
    int upright = 0;
    for (int step = 0; step <= 60; step++) { /* leans by one degree at a time, about x */
        const double turn[3] = {step > 0 ? M_PI / 180 : 0, 0, 0};
        for (int n = 0; n < model->node_count; n++) {
            double *at = x + model->values * n, y = at[1] - 4, z = at[2];
            at[1] = 4 + y * cos(turn[0]) - z * sin(turn[0]);
            at[2] = y * sin(turn[0]) + z * cos(turn[0]);
            sp_so3_turn(turn, at + 3);
        }
        sp_contact_place(&contact, x, 8);
        assert_int_equal(sp_contact_refresh(&c.context, &contact), SP_OK);
        const int found = count_pressing_walls(&contact);
        if (step == 0) upright = found;
        assert_int_equal(found, upright);
    }
    check_true(upright > 20);
    sp_contact_free(&contact);
    free(x);
    coupon_tear_down(&c);
}

/* Walls of one layer that lean to either side of it, seen along their push, cross. They still face
 * each other: nothing has slid when their grips are made. The distance of a point aside used to
 * count as slip in every state, which spoilt the balance of energy. (Soak, seed 21, coupon 165.) */
static void test_leaning_walls_have_not_slid(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=10 mm",    "coupon.height=8 mm",    "coupon.depth=5 mm",
        "infill.pattern=square", "infill.layers=1",       "bead.width=0.4 mm",
        "infill.density=20 %",   "material.law=linear",   "bead.walls=1",
        "platens.hold=sliding",  "material.friction=0.5", NULL};
    coupon c;
    sp_system system;
    begin(&c, &system, settings);
    const sp_model *model = &c.model;
    double *x = system.accepted;
    memcpy(x, model->reference, sp_system_values(&system) * sizeof *x);
    for (int n = 0; n < model->node_count; n++) { /* twisted about y */
        double *at = x + model->values * n;
        const double angle = 0.04 * (at[1] - 4), turn[3] = {0, angle, 0}, dx = at[0] - 5, z = at[2];
        at[0] = 5 + dx * cos(angle) + z * sin(angle);
        at[2] = z * cos(angle) - dx * sin(angle);
        sp_so3_turn(turn, at + 3);
    }
    assert_int_equal(sp_system_evaluate(&c.context, &system, x, 0), SP_OK);
    check_true(system.energy < INFINITY);
    /* Every wall of the infill counts as if it pressed on the first one. */
    sp_friction *friction = &system.contact.friction;
    const double g[3] = {0.3, 0.2, -0.9};
    assert_int_equal(sp_friction_reserve(&c.context, friction, model->point_count), SP_OK);
    friction->load_count = 0;
    for (int k = 2; k + 1 < model->point_count; k++)
        if (model->point_strut[k] == model->point_strut[k + 1])
            sp_contact_note_spatial(&system.contact,
                                    (sp_load){.from = k, .place = 0.5, .stiffness = 1}, 1, g);
    sp_system_accept(&system, 0);
    check_true(friction->count > 20);
    assert_int_equal(sp_system_evaluate(&c.context, &system, system.accepted, 0), SP_OK);
    for (int i = 0; i < friction->count; i++)
        for (int k = 0; k < 2; k++) check_close(friction->grip[i].trial[k], 0, 1e-12);
    end(&c, &system);
}

static void check_whole(const char *const *settings)
{
    coupon c;
    sp_result result;
    coupon_set_up(&c, 1, settings);
    if (press_whole(&c.context, &c.request, &result) != SP_OK) fail_msg("%s", c.context.message);
    const sp_path *path = &result.path;
    for (int i = 0; i < path->stage_count; i++)
        if (!path->stage[i].reached) fail_msg("ends in %s", path->stage[i].segment.text);
    double most = 1e-3 * path->step[path->step_count - 1].work;
    for (int i = 0; i < path->step_count + path->back_count; i++) {
        const sp_step *s = sp_path_state(path, i);
        most = fmax(most, s->work);
        check_close(s->work, s->stored + s->released, 2e-3 * most);
    }
    sp_result_clear(&result);
    coupon_tear_down(&c);
}

/* A mass falls on a lattice whose feet let go while K stays positive definite: no step is short
 * enough, and in the shortest one the round-off of the travel is larger than the tolerance of the
 * load. What friction held lets go again when the mass has left, and the coupon comes to rest
 * behind a jump. (Soak in time, seed 7, coupon 15, one drop; 0 and 12 ended alike.) */
static void test_a_drop_where_feet_let_go(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=6.088 mm",
        "coupon.height=9.997 mm",
        "coupon.depth=54.24 mm",
        "infill.pattern=simple-cubic",
        "infill.cells=[1, 1, 3]",
        "infill.density=15.2 %",
        "material.law=gent",
        "material.modulus=3.999 MPa",
        "material.gent_limit=21.5",
        "material.friction=0.439",
        "platens.hold=friction",
        "platens.friction=0.806",
        "material.relaxation.exponent=0.122",
        "material.softening.ratio=1.95",
        "material.softening.share=0.2",
        "press.protocol=drop 342.4 g from 557 mm, rest for 1 min",
        "press.find_critical=no",
        "press.steps=154",
        "flaws.seed=0",
        NULL};
    check_whole(settings);
}

/* Feet under next to no push slide and hold in turn while a coupon rests: Newton's method has to
 * use the force that it expects of them, as in a press. The energy of the first steps of the drop
 * is compared with the little work done so far. With this scatter five feet let go of the platens
 * at the moment at which the mass leaves, and the force jumps from 0.012 N to -0.011 N. (Soak in
 * time, seed 8, coupon 7, one drop.) */
static void test_a_rest_where_feet_slide(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=51.88 mm",
        "coupon.height=22.09 mm",
        "coupon.depth=5.859 mm",
        "infill.pattern=square",
        "infill.density=8.81 %",
        "infill.angle=80.7 deg",
        "bead.width=0.523 mm",
        "bead.walls=3",
        "material.law=mooney-rivlin",
        "material.c10=3.548 MPa",
        "material.c01=0.8869 MPa",
        "material.friction=0.198",
        "platens.hold=friction",
        "platens.friction=0.199",
        "material.relaxation.exponent=0.0836",
        "material.softening.ratio=2.4",
        "material.softening.share=0.2",
        "press.protocol=drop 68.92 g from 364.8 mm, rest for 1 min",
        "press.find_critical=no",
        "press.steps=252",
        "flaws.seed=759902",
        "flaws.bow=1.04 %",
        "flaws.thickness_scatter=5.61 %",
        "flaws.joint_offset=0.289 %",
        NULL};
    check_whole(settings);
}

/* A wide foam hardly holds on its platens: forces of the first, tried step are as small as what
 * rounded coordinates make of them, and to the digits that were asked for there was no state.
 * (Soak of cycles, seed 1 of at most 40 struts, coupon 31.) */
static void test_a_first_step_in_round_off(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=37.94 mm",
                                           "coupon.height=7.188 mm",
                                           "coupon.depth=10.42 mm",
                                           "infill.pattern=voronoi-foam",
                                           "infill.cells=[1, 3, 2]",
                                           "infill.density=26.3 %",
                                           "material.law=linear",
                                           "material.modulus=23.67 MPa",
                                           "material.poisson_ratio=0.399",
                                           "material.strain_state=uniaxial",
                                           "material.friction=0.348",
                                           "platens.hold=friction",
                                           "platens.friction=0.0694",
                                           "material.flow.share=0.182",
                                           "material.flow.stress=0.159 MPa",
                                           "material.flow.time=21.4 s",
                                           "material.second_flow.share=0.122",
                                           "material.second_flow.stress=0.512 MPa",
                                           "material.second_flow.time=1.5e+03 s",
                                           "material.softening.ratio=2.88",
                                           "material.softening.energy=0.303 MPa",
                                           "press.protocol=press to 2.12 N at 1.24 mm/min",
                                           "press.find_critical=no",
                                           "press.load_limit=none",
                                           "press.steps=255",
                                           "flaws.seed=931598",
                                           "flaws.bow=0.161 %",
                                           "flaws.thickness_scatter=0.641 %",
                                           "flaws.joint_offset=6.42 %",
                                           "flaws.missing=9.2 %",
                                           NULL};
    check_whole(settings);
}

/* A coupon that is let go slides on its platens until nothing is held any more, while K stays
 * positive definite: the shortest step of a rest is given as many iterations as a jump. (Soak of
 * cycles, seed 1 of at most 40 struts, coupon 22, with other steps.) */
static void test_a_rest_where_all_lets_go(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=12.89 mm",
        "coupon.height=9.067 mm",
        "coupon.depth=25.14 mm",
        "infill.pattern=body-centred-cubic",
        "infill.cells=[1, 1, 1]",
        "infill.density=27 %",
        "material.law=neo-hookean",
        "material.modulus=112.9 MPa",
        "material.strain_state=uniaxial",
        "platens.hold=friction",
        "platens.friction=0.669",
        "material.flow.share=0.315",
        "material.flow.stress=0.0803 MPa",
        "material.flow.time=177 s",
        "material.second_flow.share=0.0625",
        "material.second_flow.stress=0.0641 MPa",
        "material.second_flow.time=3.87e+04 s",
        "press.protocol=press to 75.9 N at 147 mm/min, hold force for 10 min, release to 5.99 % "
        "at 147 mm/min, hold for 1 min, release at 147 mm/min, rest for 1 h",
        "press.find_critical=no",
        "press.load_limit=none",
        "press.steps=320",
        "flaws.seed=398120",
        "flaws.bow=1.96 %",
        "flaws.thickness_scatter=1.65 %",
        "flaws.joint_offset=6.06 %",
        "flaws.missing=9.74 %",
        NULL};
    check_whole(settings);
}

/* Struts slide on platens while the coupon gives way: grips reckon with the pushes before it, which
 * fall, and took more energy than a jump set free. (Soak, seed 102 of at most 200 struts, coupon 1:
 * 4e-3 of the work was there from nowhere.) */
static void test_a_slide_takes_what_it_sets_free(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=5.391 mm",
                                           "coupon.height=35.79 mm",
                                           "coupon.depth=59.16 mm",
                                           "infill.pattern=body-centred-cubic",
                                           "infill.cells=[3, 1, 1]",
                                           "infill.density=20.1 %",
                                           "material.law=neo-hookean",
                                           "material.modulus=5.944 MPa",
                                           "material.friction=0.343",
                                           "platens.hold=friction",
                                           "platens.friction=0.148",
                                           "press.strain=80 %",
                                           "press.load_limit=none",
                                           "press.find_critical=no",
                                           "press.steps=130",
                                           "flaws.seed=0",
                                           NULL};
    check_whole(settings);
}

static double sideways(const sp_system *system)
{
    const sp_model *model = system->model;
    double sum = 0;
    for (int n = 0; n < model->node_count; n++)
        if (model->unknown[model->unknowns * n] >= 0) sum += system->gradient[model->unknowns * n];
    return sum;
}

/* A force on every node that is as small as is asked for, all of them sideways: they are no
 * equilibrium of the coupon, whose platens would push it aside by their sum. (Soak, seed 101 of at
 * most 600 struts, coupon 38: platens exert 2e-5 of their force sideways.) */
static void test_small_forces_do_not_add_up(void **unused)
{
    (void)unused;
    coupon c;
    sp_system system;
    sp_attempt attempt;
    int negative;
    begin(&c, &system, space);
    const sp_model *model = &c.model;
    const double travel = 0.01 * model->height;
    assert_int_equal(
        sp_equilibrium_descend(&c.context, &system, model->reference, travel, 100, &attempt),
        SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
    const double limit = sp_equilibrium_tolerance(&system);
    for (int i = 0; i < model->unknowns * model->node_count; i++)
        if (model->unknown[i] >= 0)
            system.free_gradient[model->unknown[i]] = i % model->unknowns == 0 ? 0.8 * limit : 0;
    assert_int_equal(sp_system_factor(&c.context, &system, 0, &negative), SP_OK);
    assert_int_equal(
        sp_sparse_solve(&c.context, system.sparse, system.free_gradient, system.direction), SP_OK);
    for (int i = 0; i < model->unknowns * model->node_count; i++)
        system.change[i] = model->unknown[i] >= 0 ? system.direction[model->unknown[i]] : 0;
    sp_model_move(model, system.x, 1, system.change, system.trial);
    assert_int_equal(sp_system_evaluate(&c.context, &system, system.trial, travel), SP_OK);
    check_true(sp_system_residual(&system) < limit);
    check_true(fabs(sideways(&system)) > 50 * limit);
    assert_int_equal(
        sp_equilibrium_descend(&c.context, &system, system.trial, travel, 100, &attempt), SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
    check_true(fabs(sideways(&system)) < 10 * limit);
    end(&c, &system);
}

/* Layers on sliding platens turn about the upright axis while their walls bend: that they stand on
 * the platen with their depth was held as a spin, whose forces have no potential, and no step came
 * to rest at 41 %. (Soak, seed 101 of at most 600 struts, coupon 27; seed 21, coupon 16 was slow
 * and ended alike. E233) */
static void test_layers_that_turn_on_platens(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=6.399 mm",
                                           "coupon.height=9.372 mm",
                                           "coupon.depth=11.05 mm",
                                           "infill.pattern=4.4.4.4",
                                           "infill.density=36.7 %",
                                           "infill.angle=45 deg",
                                           "bead.width=0.767 mm",
                                           "bead.walls=0",
                                           "infill.layers=3",
                                           "infill.layer_turn=90 deg",
                                           "material.law=linear",
                                           "material.modulus=61.42 MPa",
                                           "material.poisson_ratio=0.36",
                                           "platens.hold=sliding",
                                           "press.strain=45 %",
                                           "press.load_limit=none",
                                           "press.find_critical=no",
                                           "press.steps=120",
                                           "flaws.seed=438849",
                                           "flaws.bow=3.77 %",
                                           "flaws.thickness_scatter=1.68 %",
                                           "flaws.joint_offset=15.1 %",
                                           NULL};
    check_whole(settings);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_leaning_walls_have_not_slid),
        cmocka_unit_test(test_a_drop_where_feet_let_go),
        cmocka_unit_test(test_a_rest_where_feet_slide),
        cmocka_unit_test(test_a_slide_takes_what_it_sets_free),
        cmocka_unit_test(test_small_forces_do_not_add_up),
        cmocka_unit_test(test_layers_that_turn_on_platens),
        cmocka_unit_test(test_no_length),
        cmocka_unit_test(test_no_length_at_an_end_that_yields),
        cmocka_unit_test(test_folded),
        cmocka_unit_test(test_end_of_the_law),
        cmocka_unit_test(test_end_of_a_law_in_time),
        cmocka_unit_test(test_a_first_step_in_round_off),
        cmocka_unit_test(test_a_rest_where_all_lets_go),
        cmocka_unit_test(test_crushed_struts),
        cmocka_unit_test(test_crushed_and_still_going),
        cmocka_unit_test(test_feet_that_hardly_hold),
        cmocka_unit_test(test_corners_add_up),
        cmocka_unit_test(test_leaning_walls_balance),
        cmocka_unit_test(test_leaning_walls_are_found),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
