/* These tests check networks of several pieces, plates in the faces of the platens, and networks
 * that nothing holds. */
#include "coupon.h"

#include "run/result.h"

#include "stability/mechanism.h"
#include "state/system.h"
#include "temporary_file.h"
#include "whole_press.h"

/* This is a drawing without walls, in mm; lines are pairs of points. */
typedef struct drawing {
    double width, height, depth;
    int point_count, line_count;
    double point[40][3];
    int line[60][2];
} drawing;

static int add_point(drawing *d, double x, double y, double z)
{
    double *p = d->point[d->point_count];
    p[0] = x, p[1] = y, p[2] = z;
    return d->point_count++;
}

static void add_line(drawing *d, int a, int b)
{
    d->line[d->line_count][0] = a, d->line[d->line_count++][1] = b;
}

/* Add two legs that lean against each other, 6.6 mm wide and 14 mm high. They are bent, so that
 * they do not buckle on the way, and one foot is nearer to the middle: it is held against drift. */
static void add_tent(drawing *d, double x)
{
    const int top = add_point(d, x + 3, 14, 0), left = add_point(d, x + 0.5, 7, 0),
              right = add_point(d, x + 6.6, 6, 0);
    add_line(d, add_point(d, x, 0, 0), left), add_line(d, left, top);
    add_line(d, top, right), add_line(d, right, add_point(d, x + 6, 0, 0));
}

/* Add four bent legs, no two of which are alike. */
static void add_pyramid(drawing *d, double x)
{
    static const double foot[][3] = {{0, 0, 0}, {8, 0, 0}, {0, 0, 8}, {7, 0, 6.5}};
    static const double knee[][3] = {{0.5, 5, 2.5}, {7.5, 6, 1}, {1, 6, 7.5}, {7.8, 5, 6.5}};
    const int top = add_point(d, x + 4, 12, 4);
    for (int k = 0; k < 4; k++) {
        const int at = add_point(d, x + knee[k][0], knee[k][1], knee[k][2]);
        add_line(d, add_point(d, x + foot[k][0], foot[k][1], foot[k][2]), at);
        add_line(d, at, top);
    }
}

static void write_drawing(const drawing *d, sp_case *request)
{
    char text[6000];
    size_t used = (size_t)snprintf(text, sizeof text,
                                   "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\n"
                                   "POINTS %d double\n",
                                   d->point_count);
    for (int i = 0; i < d->point_count; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%.17g %.17g %.17g\n",
                                 d->point[i][0], d->point[i][1], d->point[i][2]);
    used += (size_t)snprintf(text + used, sizeof text - used, "LINES %d %d\n", d->line_count,
                             3 * d->line_count);
    for (int i = 0; i < d->line_count; i++)
        used += (size_t)snprintf(text + used, sizeof text - used, "2 %d %d\n", d->line[i][0],
                                 d->line[i][1]);
    check_true(used < sizeof text);
    write_temporary_file(request->network_file, sizeof request->network_file, text);
}

static sp_case case_of(const drawing *d, int platens)
{
    sp_case request;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "drawn");
    request.width = d->width, request.height = d->height, request.depth = d->depth;
    request.wall_beads = 0, request.flaw_seed = 0;
    request.platens = platens;
    if (platens == SP_PLATENS_FRICTION) request.platen_friction = 0.3;
    request.strain = 0.1, request.steps = 20, request.find_critical = 0;
    return request;
}

static sp_status run(sp_context *context, const drawing *d, sp_case *request, sp_result *result)
{
    *context = (sp_context){0};
    write_drawing(d, request);
    const sp_status status = press_whole(context, request, result);
    remove(request->network_file);
    return status;
}

static sp_result press(const drawing *d, sp_case request)
{
    sp_context context;
    sp_result result;
    if (run(&context, d, &request, &result) != SP_OK) fail_msg("%s", context.message);
    return result;
}

static double measure(const sp_result *result, const char *name)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++)
        if (strcmp(row[i].name, name) == 0) return result->measure[i].value;
    fail_msg("no measure %s", name);
    return NAN;
}

/* ---- several pieces ----------------------------------------------- */

/* Check that every step of `whole` is the sum of those of the parts: forces, stiffness,
 * energies. */
static void check_sum(const sp_path *whole, const sp_path *part, int parts)
{
    const sp_step *last = &whole->step[whole->step_count - 1];
    check_true(last->force > 0);
    for (int k = 0; k < parts; k++) assert_int_equal(part[k].step_count, whole->step_count);
    for (int i = 0; i < whole->step_count; i++) {
        sp_step sum = {0};
        for (int k = 0; k < parts; k++) {
            const sp_step *step = &part[k].step[i];
            check_close(step->shortening, whole->step[i].shortening, 1e-12);
            sum.force += step->force, sum.stiffness += step->stiffness;
            sum.stored += step->stored, sum.work += step->work;
        }
        check_close(whole->step[i].force, sum.force, 1e-9 * last->force);
        check_relative(whole->step[i].stiffness, sum.stiffness, 1e-9);
        check_close(whole->step[i].stored, sum.stored, 1e-9 * last->stored);
        check_close(whole->step[i].work, sum.work, 1e-9 * last->work);
    }
}

/* Two equal pieces apart from each other carry twice the force of one, in the plane and in space,
 * bonded and sliding. */
static void two_apart_are_twice_one(void **state)
{
    (void)state;
    for (int space = 0; space < 2; space++)
        for (int platens = SP_PLATENS_BONDED; platens <= SP_PLATENS_SLIDING; platens++) {
            void (*add)(drawing *, double) = space ? add_pyramid : add_tent;
            drawing one = {.width = space ? 8 : 6.6, .height = space ? 12 : 14, .depth = 8};
            drawing two = one, three = one;
            add(&one, 0);
            two.width = 20 + one.width, three.width = 40 + one.width;
            add(&three, 0), add(&three, 20), add(&three, 40);
            add(&two, 0), add(&two, 20);
            sp_result single = press(&one, case_of(&one, platens));
            sp_result both = press(&two, case_of(&two, platens));
            sp_result all = press(&three, case_of(&three, platens));
            const sp_path part[] = {single.path, single.path, single.path};
            assert_int_equal(both.network.dimension, space ? 3 : 2);
            assert_int_equal(both.network.piece_count, 2);
            check_sum(&both.path, part, 2);
            check_sum(&all.path, part, 3);
            check_relative(measure(&both, "initial_stiffness"),
                           2 * measure(&single, "initial_stiffness"), 1e-9);
            check_relative(two.width * measure(&both, "nominal_density"),
                           2 * one.width * measure(&single, "nominal_density"), 1e-12);
            /* Sides cut the outer feet: a third piece adds what the second adds. */
            check_relative(measure(&all, "mass") - measure(&both, "mass"),
                           measure(&both, "mass") - measure(&single, "mass"), space ? 0.01 : 1e-9);
            sp_result_clear(&all);
            sp_result_clear(&single);
            sp_result_clear(&both);
        }
}

/* The critical step of two is that of one: at the same travel, at twice the force. */
static void two_apart_buckle_as_one(void **state)
{
    (void)state;
    drawing one = {.width = 4, .height = 20, .depth = 20}, three = one;
    add_line(&one, add_point(&one, 1, 0, 0), add_point(&one, 1, 20, 0));
    three.width = 12;
    for (int k = 0; k < 3; k++)
        add_line(&three, add_point(&three, 1 + 4 * k, 0, 0), add_point(&three, 1 + 4 * k, 20, 0));
    sp_case request = case_of(&one, SP_PLATENS_BONDED);
    request.find_critical = 1, request.strain = 0.01;
    sp_result single = press(&one, request);
    request.width = three.width;
    sp_result all = press(&three, request);
    assert_int_equal(all.network.piece_count, 3);
    check_true(single.path.critical.found && all.path.critical.found);
    check_relative(all.path.critical.shortening, single.path.critical.shortening, 1e-9);
    check_relative(all.path.critical.force, 3 * single.path.critical.force, 1e-9);
    sp_result_clear(&single);
    sp_result_clear(&all);
}

/* Make one piece of a network a drawing, which is laid at the left side of its coupon; it is as
 * wide as the piece where that ends at the right side, so that what was cut there is again. */
static drawing piece_of(const sp_network *network, int piece)
{
    drawing d = {.width = network->size[0], .height = network->size[1], .depth = network->size[2]};
    double low = INFINITY, high = 0;
    int number[400], at[400];
    check_true(network->joint_count < 400);
    sp_network_pieces(network, number);
    for (int n = 0; n < network->joint_count; n++)
        if (number[n] == piece) {
            const double *p = network->joint_position + 3 * n;
            at[n] = add_point(&d, p[0], p[1], p[2]);
            low = fmin(low, p[0]), high = fmax(high, p[0]);
        }
    if (high > d.width * (1 - 1e-9)) d.width = high - low;
    for (int s = 0; s < network->strut_count; s++)
        if (number[network->strut_joint[2 * s]] == piece)
            add_line(&d, at[network->strut_joint[2 * s]], at[network->strut_joint[2 * s + 1]]);
    return d;
}

/* Patterns that the sides cut into pieces carry the sum of what their pieces carry when each is
 * drawn and pressed alone. */
static void patterns_in_pieces(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        double density, angle;
        int pieces;
    } row[] = {
        {"kagome", 0.08, 0, 2}, {"hexagonal", 0.05, 30, 2}, {"truncated-hexagonal", 0.08, 60, 2}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_context context = {0};
        sp_result whole, part[4];
        sp_path path[4];
        sp_case request =
            case_of(&(drawing){.width = 20, .height = 14, .depth = 20}, SP_PLATENS_BONDED);
        snprintf(request.pattern, sizeof request.pattern, "%s", row[i].pattern);
        request.density = row[i].density, request.angle = row[i].angle;
        if (press_whole(&context, &request, &whole) != SP_OK) fail_msg("%s", context.message);
        assert_int_equal(whole.network.piece_count, row[i].pieces);
        double mass = 0;
        for (int k = 0; k < row[i].pieces; k++) {
            const drawing d = piece_of(&whole.network, k);
            part[k] = press(&d, case_of(&d, SP_PLATENS_BONDED));
            path[k] = part[k].path;
            mass += measure(&part[k], "nominal_density") * d.width / 20;
        }
        check_sum(&whole.path, path, row[i].pieces);
        check_relative(measure(&whole, "nominal_density"), mass, 1e-9);
        for (int k = 0; k < row[i].pieces; k++) sp_result_clear(&part[k]);
        sp_result_clear(&whole);
    }
}

/* ---- plates ----------------------------------------------- */

/* Two legs lean against each other between sliding platens, with their feet tied by a plate
 * (statics of a pin-jointed truss: leg force F/2 / cos a, tie F/2 tan a; the rest is the bending of
 * slender legs). */
static void a_plate_ties_the_feet(void **state)
{
    (void)state;
    const double half = 6, height = 14, length = hypot(half, height);
    const double cosine = height / length, tangent = half / height;
    drawing d = {.width = 13, .height = height, .depth = 20};
    const int top = add_point(&d, half, height, 0), left = add_point(&d, 0, 0, 0),
              right = add_point(&d, 2 * half, 0, 0);
    add_line(&d, left, top), add_line(&d, top, right), add_line(&d, left, right);
    sp_case request = case_of(&d, SP_PLATENS_SLIDING);
    request.joint_zone = 0, request.strain = 1e-4, request.steps = 4;
    sp_result result = press(&d, request);
    assert_int_equal(result.network.strut_count, 3);
    int plates = 0;
    for (int k = 0; k < 3; k++) plates += result.network.strut_role[k] == SP_ROLE_WALL;
    assert_int_equal(plates, 1);
    const double axial = 4.0 / 3 * request.modulus * request.bead_width * request.depth; /* E35 */
    const double give =
        length / (2 * axial * cosine * cosine) + tangent * tangent * 2 * half / (4 * axial);
    check_relative(result.path.step[0].stiffness, 1 / give, 5e-3);
    sp_result_clear(&result);
}

/* ---- mechanisms ----------------------------------------------- */

static void expect_refused(const drawing *d, int platens, const char *text)
{
    sp_context context;
    sp_result result;
    sp_case request = case_of(d, platens);
    assert_int_equal(run(&context, d, &request, &result), SP_BAD_NETWORK);
    if (!strstr(context.message, text)) fail_msg("'%s' lacks '%s'", context.message, text);
    check_true(strstr(context.message, "; valid: ") != NULL && !strchr(context.message, '\n'));
    check_true(result.path.step_count == 0);
}

static drawing column(double lean, double z)
{
    drawing d = {.width = 10, .height = 20, .depth = 20};
    add_line(&d, add_point(&d, 3, 0, 0), add_point(&d, 3 + lean, 20, z));
    return d;
}

/* Columns hinged on sliding platens tip over, however little or far they lean; between friction or
 * bonded platens they stand. */
static void hinged_columns_tip_over(void **state)
{
    (void)state;
    const double lean[] = {0, 1e-9, 0.001, 0.1, 4};
    for (size_t i = 0; i < sizeof lean / sizeof *lean; i++) {
        const drawing d = column(lean[i], 0);
        expect_refused(&d, SP_PLATENS_SLIDING, "20) mm tips over without resistance");
        expect_refused(&d, SP_PLATENS_SLIDING, "valid: two feet of its piece on one platen");
        for (int platens = SP_PLATENS_BONDED; platens <= SP_PLATENS_FRICTION; platens += 2) {
            sp_case request = case_of(&d, platens);
            request.strain = 5e-4, request.steps = 2;
            sp_result result = press(&d, request);
            check_true(result.path.step[1].force > 0);
            sp_result_clear(&result);
        }
    }
    const drawing d = column(1, 0.5); /* in space */
    expect_refused(&d, SP_PLATENS_SLIDING,
                   "feet of its piece: 1 on the lower platen, 1 on the upper");
}

/* One piece that stands does not hold another that does not. */
static void one_of_two_tips_over(void **state)
{
    (void)state;
    drawing d = {.width = 20, .height = 14, .depth = 20};
    add_tent(&d, 0);
    add_line(&d, add_point(&d, 12, 0, 0), add_point(&d, 14, 14, 0));
    expect_refused(&d, SP_PLATENS_SLIDING, "(14, 14) mm tips over");
    sp_result result = press(&d, case_of(&d, SP_PLATENS_BONDED));
    assert_int_equal(result.network.piece_count, 2);
    sp_result_clear(&result);
}

/* These stand between sliding platens and are pressed: a table, a V, a V on its point, and in space
 * a pyramid on its top. */
static void what_stands_is_pressed(void **state)
{
    (void)state;
    drawing table = {.width = 20, .height = 14, .depth = 20}, v = table, pyramid = table;
    const int a = add_point(&table, 2, 7, 0), b = add_point(&table, 12, 7, 0);
    add_line(&table, add_point(&table, 2, 0, 0), a),
        add_line(&table, a, add_point(&table, 2, 14, 0));
    add_line(&table, add_point(&table, 12, 0, 0), b),
        add_line(&table, b, add_point(&table, 12, 14, 0));
    add_line(&table, a, b);
    const int foot = add_point(&v, 3, 0, 0);
    add_line(&v, foot, add_point(&v, 0, 14, 0)), add_line(&v, foot, add_point(&v, 6, 14, 0));
    const int point = add_point(&pyramid, 6, 0, 6);
    add_line(&pyramid, point, add_point(&pyramid, 0, 14, 0));
    add_line(&pyramid, point, add_point(&pyramid, 12, 14, 0));
    add_line(&pyramid, point, add_point(&pyramid, 6, 14, 12));
    const drawing *const all[] = {&table, &v, &pyramid};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        sp_case request = case_of(all[i], SP_PLATENS_SLIDING);
        request.strain = 2e-5, request.steps = 4;
        sp_result result = press(all[i], request);
        check_true(result.path.step[1].force > 0);
        for (int k = 0; k < result.path.step_count; k++)
            if (!(result.path.step[k].stiffness > 1e-5))
                fail_msg("%zu: step %d, %g N/mm", i, k, result.path.step[k].stiffness);
        sp_result_clear(&result);
    }
}

/* Make two columns and a beam between them, upright in a plane across the width: the feet of each
 * platen are in one line. */
static drawing portal(void)
{
    drawing d = {.width = 20, .height = 12, .depth = 10};
    const int left = add_point(&d, 10, 6, 2), right = add_point(&d, 10, 6, 8);
    add_line(&d, add_point(&d, 10, 0, 2), left), add_line(&d, left, add_point(&d, 10, 12, 2));
    add_line(&d, add_point(&d, 10, 0, 8), right), add_line(&d, right, add_point(&d, 10, 12, 8));
    add_line(&d, left, right);
    return d;
}

/* A portal of round struts has no depth to stand on, so it tips over. A layer stands with its whole
 * depth, as the extruded coupon does. */
static void a_portal_tips_over_and_a_layer_stands(void **state)
{
    (void)state;
    sp_context context;
    sp_result result;
    const drawing d = portal();
    sp_case request = case_of(&d, SP_PLATENS_SLIDING);
    assert_int_equal(run(&context, &d, &request, &result), SP_BAD_NETWORK);
    check_true(strstr(context.message, "tips over") != NULL);
    check_true(strstr(context.message, "not all in one line") != NULL);
    for (int layers = 1; layers <= 2; layers++) {
        request = case_of(&(drawing){.width = 20, .height = 16, .depth = 8}, SP_PLATENS_SLIDING);
        snprintf(request.pattern, sizeof request.pattern, "kagome");
        request.layers = layers, request.wall_beads = 1, request.strain = 0.01, request.steps = 2;
        context = (sp_context){0};
        assert_int_equal(press_whole(&context, &request, &result), SP_OK);
        check_true(measure(&result, "initial_stiffness") > 1);
        sp_result_clear(&result);
    }
}

/* The motion is rigid: the whole portal turns about its lower edge, and does nothing else. */
static void the_motion_is_rigid(void **state)
{
    (void)state;
    coupon c;
    sp_mechanism found;
    const drawing d = portal();
    sp_case request = case_of(&d, SP_PLATENS_SLIDING);
    write_drawing(&d, &request);
    char network[sizeof request.network_file + 20];
    snprintf(network, sizeof network, "infill.network=%s", request.network_file);
    coupon_set_up(&c, 0,
                  (const char *const[]){"infill.pattern=drawn", network, "coupon.width=20 mm",
                                        "coupon.height=12 mm", "coupon.depth=10 mm", "bead.walls=0",
                                        "platens.hold=sliding", NULL});
    remove(request.network_file);
    assert_int_equal(sp_mechanism_find(&c.context, &c.model, &found), SP_OK);
    assert_int_equal(found.moves, 1);
    check_close(found.least, 0, 1e-12);
    check_close(hypot(found.turn[0], found.turn[1]), 0, 1e-9);
    check_close(hypot(found.move[1], found.move[2]), 0, 1e-9);
    check_close(fabs(found.move[0]), 0.5, 1e-9); /* of its middle, half that of the top */
    assert_int_equal(c.network.joint_face[found.joint], SP_FACE_UPPER);
    coupon_tear_down(&c);
}

/* The rule and the tangent agree: where a coupon stands K can be factored, and no pivot is near the
 * threshold; where it is refused at a given travel (the travel is not an unknown of K) K has a
 * pivot that is round-off. */
static void rule_and_tangent_agree(void **state)
{
    (void)state;
    static const char *const pattern[] = {"square", "kagome", "hexagonal", "re-entrant", "bricks"};
    static const char *const density[] = {"infill.density=6 %", "infill.density=20 %",
                                          "infill.density=50 %"};
    static const char *const hold[] = {"platens.hold=sliding", "platens.hold=bonded"};
    static const char *const walls[] = {"bead.walls=0", "bead.walls=1"};
    int stand = 0;
    for (int i = 0; i < 5 * 3 * 2 * 2; i++) {
        char name[80];
        coupon c;
        sp_system system;
        sp_mechanism found;
        int negative = 0;
        if (coupon_quick() && i % 7) continue;
        snprintf(name, sizeof name, "infill.pattern=%s", pattern[i % 5]);
        coupon_set_up(&c, 0,
                      (const char *const[]){name, density[i / 5 % 3], hold[i / 15 % 2],
                                            walls[i / 30], "flaws.seed=0", NULL});
        assert_int_equal(sp_mechanism_find(&c.context, &c.model, &found), SP_OK);
        check_true(found.moves ? found.least < 1e-12 : found.least > 1e-3);
        stand += !found.moves;
        assert_int_equal(sp_system_create(&c.context, &c.model, 1, &system), SP_OK);
        assert_int_equal(sp_system_evaluate(&c.context, &system, c.model.reference, 0), SP_OK);
        assert_int_equal(sp_system_factor(&c.context, &system, 0, &negative), SP_OK);
        if (!found.moves) assert_int_equal(negative, 0);
        sp_system_free(&system);
        coupon_tear_down(&c);
    }
    check_true(stand > (coupon_quick() ? 5 : 50));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_apart_are_twice_one),
        cmocka_unit_test(two_apart_buckle_as_one),
        cmocka_unit_test(patterns_in_pieces),
        cmocka_unit_test(a_plate_ties_the_feet),
        cmocka_unit_test(hinged_columns_tip_over),
        cmocka_unit_test(one_of_two_tips_over),
        cmocka_unit_test(what_stands_is_pressed),
        cmocka_unit_test(a_portal_tips_over_and_a_layer_stands),
        cmocka_unit_test(the_motion_is_rigid),
        cmocka_unit_test(rule_and_tangent_agree),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
