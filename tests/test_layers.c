/* These tests check planar networks that are stacked through the depth: counts by hand, rules for
 * every planar pattern, and refusals. */
#include "check.h"
#include "connected.h"
#include "coupon.h"

#include <strutpress/inspect.h>
#include <strutpress/network.h>
#include "run/result.h"

#include "base/alloc.h"
#include "pattern/pattern.h"
#include "whole_press.h"

static sp_context context;

static sp_network build(const sp_case *request, int with_flaws)
{
    sp_network network;
    context.message[0] = 0;
    if (sp_network_build(&context, request, with_flaws, &network) != SP_OK)
        fail_msg("%s in %d layers: %s", request->pattern, request->layers, context.message);
    return network;
}

static sp_case standard(const char *pattern, int layers)
{
    sp_case request;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "%s", pattern);
    request.layers = layers;
    return request;
}

static const double *end_of(const sp_network *network, int strut, int end)
{
    return network->joint_position + 3 * network->strut_joint[2 * strut + end];
}

static int is_bond(const sp_network *network, int strut)
{
    return fabs(end_of(network, strut, 1)[2] - end_of(network, strut, 0)[2]) > 1e-9;
}

static int bond_count(const sp_network *network)
{
    int count = 0;
    for (int s = 0; s < network->strut_count; s++) count += is_bond(network, s);
    return count;
}

/* Make 10 x 10 mm of squares of 4 mm about the middle, without walls: lines at 1, 5, 9 mm both
 * ways. */
static sp_case small_squares(int layers)
{
    sp_case request = standard("square", layers);
    request.width = request.height = 10, request.depth = 8;
    request.wall_beads = 0, request.angle = 0;
    request.bead_width = 0.4, request.density = 0.2; /* 2 x 0.4 / 0.2 = 4 mm */
    return request;
}

static void check_bonds(const sp_network *network, double length, double area)
{
    for (int s = 0; s < network->strut_count; s++) {
        if (!is_bond(network, s)) continue;
        const double *a = end_of(network, s, 0), *b = end_of(network, s, 1);
        check_close(b[2] - a[2], length, 1e-12);
        check_close(hypot(b[0] - a[0], b[1] - a[1]), 0, 1e-9);
        check_relative(network->strut_thickness[s] * network->strut_height[s], area, 1e-9);
        check_close(network->strut_zone[2 * s] + network->strut_zone[2 * s + 1], 0, 0);
    }
}

/* Turned by 90 deg the squares lie over themselves: 9 crossings and 12 ends, each bonded to the one
 * above by a patch of one bead by one, and 6 lines of 4 struts. */
static void two_layers_of_squares(void **state)
{
    (void)state;
    sp_case request = small_squares(2);
    for (int turn = 0; turn <= 90; turn += 90) {
        request.layer_turn = turn;
        sp_network network = build(&request, 0);
        assert_int_equal(network.dimension, 3);
        assert_int_equal(network.joint_count, 2 * 21);
        assert_int_equal(network.strut_count, 2 * 24 + 21);
        check_bonds(&network, 4, 0.4 * 0.4);
        check_connected(&network);
        sp_network_free(&network);
    }
}

/* Turned by 45 deg: 17 joints and 16 struts, for the two lines through the middle have 3 joints
 * each and the four beside them one. The former cross the squares in 5 of their joints, the latter
 * 2 lines each: 13 bonds. They cut the turned layer at 4 joints of the squares (that in the middle
 * is one of its own), and both layers at 8 crossings. */
static void squares_on_turned_squares(void **state)
{
    (void)state;
    sp_case request = small_squares(2);
    request.layer_turn = 45;
    sp_network network = build(&request, 0);
    assert_int_equal(bond_count(&network), 13);
    assert_int_equal(network.joint_count, 21 + 17 + 4 + 2 * 8);
    assert_int_equal(network.strut_count, 24 + 16 + 4 + 2 * 8 + 13);
    check_bonds(&network, 4, 0.4 * 0.4 * sqrt(2));
    check_connected(&network);
    sp_network_free(&network);
}

/* The figures and the strut length of the stack are those of the layers built one by one. */
static void density_is_kept(void **state)
{
    (void)state;
    sp_case request = standard("square", 4);
    request.layer_turn = 30, request.angle = 45;
    sp_network stack = build(&request, 0), one[2];
    double length = 0, nominal = 0, solid = 0, want = 0;
    for (int k = 0; k < 2; k++) {
        sp_case flat = request;
        flat.layers = 0, flat.angle += 30 * k;
        one[k] = build(&flat, 0);
        for (int s = 0; s < one[k].strut_count; s++)
            want += 2 * sp_network_strut_length(&one[k], s);
        nominal += one[k].nominal_density / 2, solid += one[k].solid_fraction / 2;
        sp_network_free(&one[k]);
    }
    for (int s = 0; s < stack.strut_count; s++)
        if (!is_bond(&stack, s)) length += sp_network_strut_length(&stack, s);
    check_relative(length, want, 1e-12);
    check_relative(stack.nominal_density, nominal, 1e-12);
    check_relative(stack.solid_fraction, solid, 1e-12);
    sp_network_free(&stack);
}

/* Layers over themselves hold each other at their joints: no strut of the infill is cut, walls
 * every two widths. */
static void without_a_turn_bonds_are_at_joints(void **state)
{
    (void)state;
    sp_case request = standard("kagome", 0);
    sp_network one = build(&request, 0);
    request.layers = 3, request.layer_turn = 0;
    sp_network stack = build(&request, 0);
    int infill = 0, kept = 0, walls = 0;
    for (int s = 0; s < one.strut_count; s++) infill += one.strut_role[s] == SP_ROLE_INFILL;
    for (int s = 0; s < stack.strut_count; s++) {
        if (is_bond(&stack, s)) continue;
        kept += stack.strut_role[s] == SP_ROLE_INFILL;
        walls += stack.strut_role[s] == SP_ROLE_WALL;
    }
    assert_int_equal(kept, 3 * infill);
    assert_true(walls > 3 * (one.strut_count - infill));
    assert_int_equal(bond_count(&stack), 2 * (stack.joint_count / 3));
    sp_network_free(&one);
    sp_network_free(&stack);
}

/* Where a strut ends: a bond may end beside its joint, inside the joint zone of a strut that leaves
 * it. */
static void reach_of(const sp_network *network, int strut, int end, double at[3])
{
    const double *arm = network->strut_piece[strut].arm[end];
    memcpy(at, end_of(network, strut, end), 3 * sizeof *at);
    if (!is_bond(network, strut)) return;
    at[0] += arm[0], at[1] += arm[1];
    if (arm[0] == 0 && arm[1] == 0) return;
    int in_zone = 0;
    for (int s = 0; s < network->strut_count; s++)
        for (int k = 0; k < 2; k++) {
            if (network->strut_joint[2 * s + k] != network->strut_joint[2 * strut + end]) continue;
            const double *from = end_of(network, s, k), *to = end_of(network, s, 1 - k);
            const double off = fabs(arm[0] * (to[1] - from[1]) - arm[1] * (to[0] - from[0]));
            in_zone |= off < 1e-9 && hypot(arm[0], arm[1]) < network->strut_zone[2 * s + k] + 1e-9;
        }
    check_true(in_zone);
}

static double square_of(const double a[3], const double b[3])
{
    double square = 0;
    for (int k = 0; k < 3; k++) square += (b[k] - a[k]) * (b[k] - a[k]);
    return square;
}

/* Bonds do not shorten zones: the first and the last piece of every strut has the whole zone of its
 * joint. */
static void check_zones(const sp_network *network)
{
    for (int s = 0; s < network->strut_count; s++) {
        const sp_layer_piece *piece = &network->strut_piece[s];
        for (int k = 0; k < 2; k++) {
            const int at_end = network->strut_joint[2 * s + k] == piece->joint[k];
            check_close(network->strut_zone[2 * s + k], at_end ? piece->zone[k] : 0, 1e-12);
        }
    }
}

static void check_rules(const sp_network *network, const sp_case *request)
{
    const double height = request->depth / request->layers;
    check_connected(network);
    check_zones(network);
    for (int n = 0; n < network->joint_count; n++) {
        const double *p = network->joint_position + 3 * n;
        check_true(p[0] >= 0 && p[0] <= request->width && p[1] >= 0 && p[1] <= request->height);
        double layer = p[2] / height - 0.5;
        check_close(layer, round(layer), 1e-9);
        check_true(layer > -0.5 && layer < request->layers - 0.5);
    }
    for (int s = 0; s < network->strut_count; s++) {
        double a[3], b[3], along = 0, size = 0;
        reach_of(network, s, 0, a), reach_of(network, s, 1, b);
        const double *up = network->strut_up + 3 * s;
        const double length = sqrt(square_of(a, b));
        for (int k = 0; k < 3; k++) along += up[k] * (b[k] - a[k]) / length, size += up[k] * up[k];
        check_close(along, 0, 1e-12);
        check_close(size, 1, 1e-12);
        check_true(length >= 0.5 * request->bead_width - 1e-9);
        check_true(sp_network_free_length(network, s) > 0);
        check_true(network->strut_thickness[s] > 0 && network->strut_height[s] > 0);
        check_true(isfinite(network->strut_bow[s]));
        if (is_bond(network, s)) {
            check_close(b[2] - a[2], height, 1e-9);
            check_true(hypot(b[0] - a[0], b[1] - a[1]) <= 2 * request->bead_width);
        } else
            check_close(network->strut_height[s], height, 1e-12);
    }
    check_true(network->solid_fraction > 0 && network->solid_fraction <= 1);
}

static void every_planar_pattern_in_layers(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *row = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++)
        for (int turn = 0; turn <= 90; turn += 45) {
            sp_case request = standard(row[i].name, 3);
            request.density = 0.2, request.layer_turn = turn,
            request.wall_beads = turn == 45 ? 0 : 2;
            request.missing = turn ? 0.02 : 0;
            if (strcmp(row[i].name, "drawn") == 0)
                snprintf(request.network_file, SP_FILE_SIZE, "meshes/foot-arch.vtk");
            if (strcmp(row[i].name, "drawn") == 0 && !request.wall_beads)
                request.width = 27.16, request.height = 23.16;
            sp_network network = build(&request, 1);
            check_rules(&network, &request);
            sp_network_free(&network);
        }
}

static void layers_may_differ(void **state)
{
    (void)state;
    sp_case request = standard("hexagonal", 2);
    snprintf(request.layer_pattern, SP_NAME_SIZE, "square");
    request.layer_turn = 0;
    sp_network network = build(&request, 0);
    check_rules(&network, &request);
    sp_network_free(&network);
    /* Each layer has flaws of its own, and the same ones again in a second build. */
    request = standard("square", 3);
    request.layer_turn = 0;
    network = build(&request, 1);
    sp_network again = build(&request, 1);
    assert_int_equal(network.strut_count, again.strut_count);
    assert_memory_equal(network.strut_thickness, again.strut_thickness,
                        (size_t)network.strut_count * sizeof(double));
    double first[3] = {0};
    for (int s = 0; s < network.strut_count; s++) {
        int layer = (int)(end_of(&network, s, 0)[2] / (request.depth / 3));
        if (!is_bond(&network, s) && first[layer] == 0) first[layer] = network.strut_thickness[s];
    }
    check_true(first[0] != first[1] && first[1] != first[2] && first[0] != first[2]);
    sp_network_free(&network);
    sp_network_free(&again);
}

/* ---- layers against one extrusion ----------------------------------------------- */

static double force_at(const sp_path *path, double strain)
{
    for (int i = 1; i < path->step_count; i++) {
        const sp_step *a = &path->step[i - 1], *b = &path->step[i];
        const double x = strain * path->size[1];
        if (b->shortening >= x * (1 - 1e-12))
            return a->force +
                   (b->force - a->force) * (x - a->shortening) / (b->shortening - a->shortening);
    }
    fail_msg("the press ended before a strain of %.2f", strain);
    return 0;
}

static void press_case(const sp_case *request, sp_result *result)
{
    if (press_whole(&context, request, result) != SP_OK)
        fail_msg("%s in %d layers: %s", request->pattern, request->layers, context.message);
}

/* Stacked without a turn, layers are the extruded coupon again, whose struts are free ones: in
 * stiffness, before and after contact. One per cent is the bound; the mesh is the same and so is
 * the contact, so that they differ by far less. The coupons have no flaws, which each layer has for
 * itself, and most lie askew, so that they have no symmetry to lose; where a coupon does bifurcate
 * both go along the same mode. */
static void layers_press_as_one_extrusion(void **state)
{
    (void)state;
    static const struct {
        const char *pattern, *density, *angle, *walls;
        int least_contacts;
    } row[] = {{"hexagonal", "22 %", "10", "0", 4},   {"square", "20 %", "45", "1", 4},
               {"square", "20 %", "45", "0", 1},      {"square", "20 %", "17", "2", 20},
               {"hexagonal", "22 %", "10", "1", 10},  {"hexagonal", "22 %", "30", "2", 10},
               {"re-entrant", "22 %", "10", "1", 10}, {"triangular", "22 %", "17", "1", 10}};
    const int rows = coupon_quick() ? 2 : (int)(sizeof row / sizeof *row);
    for (int i = 0; i < rows; i++) {
        sp_case request = standard(row[i].pattern, 0);
        const char *const set[][2] = {
            {"coupon.width", "13"},
            {"coupon.height", "11"},
            {"coupon.depth", "6"},
            {"infill.density", row[i].density},
            {"infill.angle", row[i].angle},
            {"infill.layer_turn", "0"},
            {"bead.walls", row[i].walls},
            {"material.strain_state", "uniaxial"},
            {"press.strain", "40 %"},
            {"press.steps", "60"},
            {"flaws.seed", "0"},
        };
        for (size_t k = 0; k < sizeof set / sizeof *set; k++)
            coupon_set(&request, set[k][0], set[k][1]);
        sp_result one, stack;
        press_case(&request, &one);
        check_true(one.path.step[one.path.step_count - 1].contacts >= row[i].least_contacts);
        for (int n = 1; n <= (coupon_quick() ? 2 : 3); n++) {
            request.layers = n;
            press_case(&request, &stack);
            check_relative(stack.path.step[0].stiffness, one.path.step[0].stiffness, 1e-3);
            for (int percent = 1; percent <= 40; percent++) {
                const double want = force_at(&one.path, 0.01 * percent),
                             got = force_at(&stack.path, 0.01 * percent);
                if (!(fabs(got / want - 1) <= 0.01))
                    fail_msg("%s, %s walls, %d layers: %g N at %d %%, extruded %g N",
                             row[i].pattern, row[i].walls, n, got, percent, want);
            }
            sp_result_clear(&stack);
        }
        sp_result_clear(&one);
    }
}

static void impossible_layers_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *key, *value, *want;
    } row[] = {
        {"infill.layer_pattern", "sqare", "valid: square"},
        {"infill.layer_pattern", "kelvin",
         "infill.layer_pattern: received 'kelvin'; valid: a planar"},
        {"infill.pattern", "kelvin", "infill.layers: received '3'; valid: 0, because"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_case request = standard("square", 3);
        assert_int_equal(sp_case_set(&context, &request, row[i].key, row[i].value), SP_OK);
        assert_int_equal(coupon_settle(&context, &request), SP_BAD_CASE);
        if (!strstr(context.message, row[i].want)) fail_msg("row %zu: %s", i, context.message);
    }
    sp_case request = standard("square", 0);
    assert_int_equal(sp_case_set(&context, &request, "infill.layers", "-1"), SP_BAD_CASE);
    assert_int_equal(sp_case_set(&context, &request, "infill.layers", "1001"), SP_BAD_CASE);
}

static void every_failed_allocation_is_reported(void **state)
{
    (void)state;
    long before = sp_alloc_count();
    sp_case request = small_squares(2);
    for (long nth = 1;; nth++) {
        sp_network network;
        sp_alloc_fail_at(nth);
        sp_status status = sp_network_build(&context, &request, 1, &network);
        sp_alloc_fail_at(0);
        sp_network_free(&network);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_layers_of_squares),
        cmocka_unit_test(squares_on_turned_squares),
        cmocka_unit_test(density_is_kept),
        cmocka_unit_test(without_a_turn_bonds_are_at_joints),
        cmocka_unit_test(every_planar_pattern_in_layers),
        cmocka_unit_test(layers_may_differ),
        cmocka_unit_test(layers_press_as_one_extrusion),
        cmocka_unit_test(impossible_layers_are_refused),
        cmocka_unit_test(every_failed_allocation_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
