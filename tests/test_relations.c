/* Coupons that are the same in other words must carry the same forces: these tests check every
 * relation over every row of the tables of patterns, cells, laws and holds, on small coupons. Two
 * presses are compared with each other, never with stored results.
 *
 * `make test` takes every few rows, in turn among the relations; `make relations` takes all of
 * them. Relations that are checked elsewhere are not written twice:
 *
 *   work = stored + dissipated + released,    test_every_pattern, test_every_cell, test_press,
 *   over all patterns                         test_friction
 *   the way back gives back at most the       test_unload
 *   work, and a rubber has no set
 *   Euler columns by hold, columns that       test_column
 *   yield by the tangent modulus
 *   one thread and several, killed and        test_batch
 *   resumed batches
 *   figures, mass, and changes that must      test_figures
 *   not make a coupon softer
 *   critical steps over step widths and       make survey
 *   coefficients of friction */
#include "relation.h"

#include <omp.h>

#include <strutpress/strutpress.h>

#include "every_law.h"
#include "law/law.h"
#include "network/parts.h"
#include "pattern/pattern.h"
#include "temporary_file.h"

/* This is the bound of exact relations: equilibria are found to 1e-6 of the force. */
static const double exact = 1e-6;
/* Where the order of struts changes, paths that bend sharply agree only to this. */
static const double mirrored = 2e-4;

/* --- lengths, moduli, depth --- */

/* With all lengths times k strains are the same, so forces are k^2 times as large. The finished
 * network is enlarged, because flaws depend on the number of a joint, which round-off may
 * change. */
static void forces_grow_with_the_square_of_lengths(void **state)
{
    (void)state;
    static const double factor[] = {0.1, 10, 30};
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int h = 0; relation_takes(i, 0, 3) && relation_hold(h); h++) {
            const double k = factor[(i / 3 + h) % 3];
            sp_case request = relation_coupon(i, 1);
            relation_put_hold(&request, relation_hold(h));
            sp_network network = relation_network(&request);
            const relation_curve want = relation_press_network(&request, &network);
            relation_scale(&network, k);
            const relation_curve got = relation_press_network(&request, &network);
            relation_check("lengths", &got, k * k, &want, exact);
            sp_network_free(&network);
        }
}

/* From the case on, without flaws, the network of a coupon of k times the lengths is k times as
 * large. */
static void networks_grow_with_lengths(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        for (double k = 0.1; k < 200; k *= 10) {
            sp_case small = relation_coupon(i, 1), large = relation_coupon(i, k);
            small.flaw_seed = large.flaw_seed = 0;
            small.strain = large.strain = 1e-4, small.steps = large.steps = 1;
            if (k == 1 || !relation_takes(i, 1, 2)) continue;
            const relation_curve want = relation_press(&small), got = relation_press(&large);
            check_relative(got.stiffness, k * want.stiffness, exact);
        }
}

static void scale_list(sp_list *list, double k)
{
    for (int i = 0; i < list->count; i++) list->value[i] *= k;
}

/* Multiply every constant that has the unit MPa. */
static void scale_law(sp_case *request, double k)
{
    request->modulus *= k;
    request->c10 *= k, request->c01 *= k, request->c20 *= k, request->c30 *= k;
    scale_list(&request->ogden_modulus, k);
}

/* Write a table with its stresses times k into a temporary file. */
static void write_scaled_table(const char *law, double k, char *setting, size_t size)
{
    char text[1024], *at = text;
    const char *line = every_law_table(law);
    for (; *line; line += strcspn(line, "\n") + 1) {
        double strain, stress;
        if (sscanf(line, "%lf%*[, ]%lf", &strain, &stress) == 2)
            at += sprintf(at, "%.17g,%.17g\n", strain, k * stress);
    }
    write_temporary_file(setting, size, text);
}

static sp_case coupon_of_law(int i, const char *law, double k, const char *table)
{
    sp_case request = relation_coupon(i, 1);
    every_law_constants(law, &request);
    snprintf(request.table_file, sizeof request.table_file, "%s", table);
    scale_law(&request, k);
    request.strain = 0.06, request.steps = 6;
    return request;
}

/* With all constants of a law times k forces are k times as large, in the plane and in space. */
static void forces_grow_with_moduli(void **state)
{
    (void)state;
    int laws;
    const sp_law_row *law = sp_law_rows(&laws);
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int m = 0; m < laws; m++) {
            char soft[64], hard[64];
            const double k = 40;
            if (!relation_takes(i + m, 0, 11)) continue;
            write_scaled_table(law[m].name, 1, soft, sizeof soft);
            write_scaled_table(law[m].name, k, hard, sizeof hard);
            const sp_case one = coupon_of_law(i, law[m].name, 1, soft);
            const sp_case other = coupon_of_law(i, law[m].name, k, hard);
            const relation_curve want = relation_press(&one), got = relation_press(&other);
            relation_check("moduli", &got, k, &want, exact);
            remove(soft);
            remove(hard);
        }
}

/* An extruded coupon of k times the depth carries k times the force. */
static void forces_grow_with_the_depth(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 1, 3)) continue;
        sp_case request = relation_coupon(i, 1);
        const relation_curve want = relation_press(&request);
        request.depth *= 7.3;
        const relation_curve got = relation_press(&request);
        relation_check("depth", &got, 7.3, &want, exact);
    }
}

/* --- the same coupon, seen from elsewhere --- */

/* Layers between sliding platens jump near the end of the way of the other coupons (hexagons at 5.7
 * %), slightly earlier or later from either side, so they are pressed to a place before it. */
static const double way_of_sliding_layers = 0.9;

/* Press a network with flaws, and the same network mirrored, upside down, and in space turned by 90
 * degrees (not layers: the arms of their bonds are given in the plane of a layer). */
static void press_from_all_sides(int i, const char *hold)
{
    sp_case request = relation_coupon(i, 1);
    relation_put_hold(&request, hold);
    if (request.layers && !strcmp(hold, "sliding")) request.strain *= way_of_sliding_layers;
    sp_network network = relation_network(&request);
    const relation_curve want = relation_press_network(&request, &network);
    static const char *const side[] = {"left-right", "upside down", "front-back"};
    for (int axis = 0; axis < network.dimension; axis++) {
        relation_mirror(&network, axis);
        const relation_curve got = relation_press_network(&request, &network);
        relation_check(side[axis], &got, 1, &want, mirrored);
    }
    if (network.dimension == 3 && !request.layers) {
        relation_quarter_turn(&network);
        const relation_curve got = relation_press_network(&request, &network);
        relation_check("turned by 90 degrees", &got, 1, &want, mirrored);
    }
    sp_network_free(&network);
}

static void forces_do_not_see_the_side(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int h = 0; relation_hold(h); h++)
            if (relation_takes(i + h, 2, 4) && strcmp(relation_hold(h), "friction") &&
                !(relation_coupon(i, 1).layers && !strcmp(relation_hold(h), "sliding")))
                press_from_all_sides(i, relation_hold(h));
}

/* The relation holds between friction platens, and for layers that slide. */
static void friction_does_not_see_the_side(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_takes(i, 1, 4)) continue;
        press_from_all_sides(i, "friction");
        if (relation_coupon(i, 1).layers) press_from_all_sides(i, "sliding");
    }
}

/* --- the same lines, drawn in other ways --- */

static sp_case drawn_case(const sp_case *pattern, const char *file)
{
    sp_case request = *pattern;
    snprintf(request.pattern, sizeof request.pattern, "drawn");
    snprintf(request.network_file, sizeof request.network_file, "%s", file);
    return request;
}

static relation_curve press_drawing(const sp_case *pattern, const relation_drawing *drawing,
                                    double x, double y)
{
    char file[64];
    relation_write_drawing(drawing, x, y, file, sizeof file);
    const sp_case request = drawn_case(pattern, file);
    relation_curve curve = relation_press(&request);
    snprintf(curve.name, sizeof curve.name, "%s, drawn", pattern->pattern);
    remove(file);
    return curve;
}

/* Draw every line twice. */
static void draw_twice(relation_drawing *drawing)
{
    memcpy(drawing->end + 4 * drawing->count, drawing->end,
           4 * (size_t)drawing->count * sizeof(double));
    drawing->count *= 2;
}

static void split_lines(relation_drawing *drawing, double shortest)
{
    const int count = drawing->count;
    for (int s = 0; s < count; s++) {
        double *a = drawing->end + 4 * s, *b = drawing->end + 4 * drawing->count;
        if (hypot(a[2] - a[0], a[3] - a[1]) < shortest) continue;
        memcpy(b, a, 4 * sizeof *a);
        for (int k = 0; k < 2; k++) a[2 + k] = b[k] = 0.5 * (a[k] + a[2 + k]);
        drawing->count++;
    }
}

/* The lines of every planar pattern without walls are drawn in another order and direction, moved,
 * and doubled; forces stay the same. */
static void forces_do_not_see_how_lines_are_drawn(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 2, 3)) continue;
        sp_case request = relation_coupon(i, 1);
        request.wall_beads = 0, request.flaw_seed = 0;
        sp_network network = relation_network(&request);
        relation_drawing lines = relation_lines(&network, 4);
        const relation_curve want = press_drawing(&request, &lines, 0, 0);
        relation_shuffle(&lines, 3 + i);
        relation_curve got = press_drawing(&request, &lines, 0, 0);
        relation_check("lines in another order", &got, 1, &want, exact);
        got = press_drawing(&request, &lines, 311.7, -45.1);
        relation_check("lines moved", &got, 1, &want, exact);
        split_lines(&lines, 6 * request.bead_width);
        got = press_drawing(&request, &lines, 0, 0);
        relation_check("lines split", &got, 1, &want, exact);
        draw_twice(&lines);
        got = press_drawing(&request, &lines, 0, 0);
        relation_check("lines doubled", &got, 1, &want, exact);
        free(lines.end);
        sp_network_free(&network);
    }
}

/* --- from a file --- */

static void write_network(const char *name, const sp_case *request, const sp_network *network,
                          char *file, size_t size)
{
    sp_context context = {0};
    const sp_result result = {.request = *request, .network = *network};
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    char *bytes = NULL;
    size_t length;
    FILE *stream = open_memstream(&bytes, &length);
    for (int i = 0; i < count; i++)
        if (!strcmp(row[i].file, name) && row[i].write(&context, &result, stream) != SP_OK)
            fail_msg("%s: %s", name, context.message);
    fclose(stream);
    write_temporary_bytes(file, size, bytes, length);
    free(bytes);
}

/* Every cell is written as VTK and as 3MF and read again as a drawing, and every pattern without
 * walls as VTK; forces stay the same. */
static void forces_do_not_see_the_file(void **state)
{
    (void)state;
    static const char *const name[] = {"network.vtk", "network.3mf"};
    for (int i = 0; i < relation_coupon_count(); i++) {
        sp_case request = relation_coupon(i, 1);
        if (request.layers || !relation_takes(i, 1, 3)) continue;
        request.wall_beads = 0, request.bow = request.thickness_scatter = 0; /* not in the files */
        sp_network network = relation_network(&request);
        const relation_curve want = relation_press_network(&request, &network);
        request.flaw_seed = 0;
        for (int k = 0; k < network.dimension - 1; k++) {
            char file[64];
            write_network(name[k], &request, &network, file, sizeof file);
            const sp_case drawn = drawn_case(&request, file);
            const relation_curve got = relation_press(&drawn);
            relation_check(name[k], &got, 1, &want, exact);
            remove(file);
        }
        sp_network_free(&network);
    }
}

/* --- layers --- */

/* Layers that are not turned are the extruded coupon of the same depth in uniaxial strain, as long
 * as that stands without contact: up to `share` of its critical step, at most 2 % strain. */
static void compare_layers(int i, int walls, double share, double tolerance)
{
    sp_case request = relation_coupon(i, 1);
    request.flaw_seed = 0, request.wall_beads = walls;
    request.width = 20, request.height = 16, request.density = 0.12; /* slender: no contact */
    request.strain_state = SP_UNIAXIAL, request.strain = 0.02;
    request.strain = share * relation_press_to_critical(&request).critical, request.steps = 8;
    const relation_curve want = relation_press(&request);
    request.layers = 2, request.layer_turn = 0;
    const relation_curve got = relation_press(&request);
    relation_check("layers", &got, 1, &want, tolerance);
}

static void layers_without_walls_are_extruded(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        if (relation_is_planar(i) && relation_takes(i, 0, 3)) compare_layers(i, 0, 0.7, 1e-5);
}

/* Walls are bonded from layer to layer all along, which shortens none of their joint zones. */
static void layers_with_walls_are_extruded(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int walls = 1; walls <= 2; walls++)
            if (relation_is_planar(i) && relation_takes(i + walls, 0, 6))
                compare_layers(i, walls, 0.7, 1e-4);
}

/* Hexagons fold onto themselves, far beyond their first contact: struts press on each other over
 * the whole depth, in one layer as in several, however deep the coupon is. */
static void layers_in_contact_are_extruded(void **state)
{
    (void)state;
    for (int layers = 1; layers <= 2; layers++)
        for (double depth = 5; depth < 100; depth *= 16) {
            sp_case request = relation_coupon(0, 1);
            coupon_set(&request, "infill.pattern", "hexagonal");
            request.flaw_seed = 0, request.depth = depth;
            request.strain_state = SP_UNIAXIAL, request.strain = 0.4, request.steps = 160;
            const relation_curve want = relation_press(&request);
            request.layers = layers, request.layer_turn = 0;
            const relation_curve got = relation_press(&request);
            relation_check_work("layers in contact", &got, &want, 0.01);
        }
}

/* One layer between platens on which it slides stands upright as the extruded coupon does. */
static void a_sliding_layer_stands(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 1, 3)) continue;
        sp_case request = relation_coupon(i, 1);
        relation_put_hold(&request, "sliding");
        request.flaw_seed = 0, request.strain_state = SP_UNIAXIAL;
        request.strain = 0.001, request.steps = 4;
        const relation_curve want = relation_press(&request);
        request.layers = 1;
        const relation_curve got = relation_press(&request);
        relation_check("a sliding layer", &got, 1, &want, 1e-4);
    }
}

/* --- steps, repeats, threads --- */

/* With the step widths of 280 and 1120 steps to 70 % strain the work is the same all along. */
static void work_does_not_see_the_steps(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_takes(i, 1, 4)) continue;
        sp_case request = relation_coupon(i, 1);
        request.steps = (int)lround(request.strain / 0.7 * 280);
        const relation_curve got = relation_press(&request);
        request.steps *= 4;
        const relation_curve want = relation_press(&request);
        relation_check_work("steps", &got, &want, 1e-3);
    }
}

/* A second press, and one on two threads, give every digit again. */
static void forces_repeat(void **state)
{
    (void)state;
    const int threads = omp_get_max_threads();
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_takes(i, 2, 4)) continue;
        const sp_case request = relation_coupon(i, 1);
        omp_set_num_threads(1);
        const relation_curve one = relation_press(&request), again = relation_press(&request);
        omp_set_num_threads(2);
        const relation_curve two = relation_press(&request);
        assert_memory_equal(one.force, again.force, sizeof one.force);
        assert_memory_equal(one.force, two.force, sizeof one.force);
    }
    omp_set_num_threads(threads);
}

/* --- two beside each other --- */

/* Make the network of the same struts twice, the second copy a width to the right. */
static sp_network two_beside(const sp_network *one)
{
    sp_context context = {0};
    sp_network two = *one;
    const int joints = one->joint_count, struts = one->strut_count;
    two.joint_count = two.strut_count = 0;
    assert_int_equal(sp_network_room(&context, &two, (size_t)(2 * joints), (size_t)(2 * struts)),
                     SP_OK);
    two.joint_count = 2 * joints, two.strut_count = 2 * struts;
    two.size[0] = 3 * one->size[0];
    for (int n = 0; n < 2 * joints; n++) {
        memcpy(two.joint_position + 3 * n, one->joint_position + 3 * (n % joints),
               3 * sizeof(double));
        two.joint_position[3 * n] += n < joints ? 0 : 2 * one->size[0];
        two.joint_face[n] = one->joint_face[n % joints];
    }
    for (int s = 0; s < 2 * struts; s++) {
        const int from = s % struts, shift = s < struts ? 0 : joints;
        for (int k = 0; k < 2; k++) {
            two.strut_joint[2 * s + k] = one->strut_joint[2 * from + k] + shift;
            two.strut_zone[2 * s + k] = one->strut_zone[2 * from + k];
        }
        memcpy(two.strut_firm + 4 * s, one->strut_firm + 4 * from, 4 * sizeof(double));
        two.strut_thickness[s] = one->strut_thickness[from];
        two.strut_role[s] = one->strut_role[from];
        two.strut_bow[s] = one->strut_bow[from];
    }
    return two;
}

static void two_beside_carry_twice(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 0, 3)) continue;
        const sp_case request = relation_coupon(i, 1);
        sp_network one = relation_network(&request), two = two_beside(&one);
        const relation_curve want = relation_press_network(&request, &one);
        const relation_curve got = relation_press_network(&request, &two);
        relation_check("two beside each other", &got, 2, &want, mirrored);
        sp_network_free(&one);
        sp_network_free(&two);
    }
}

/* Draw a loose line left of a drawing, which is left out of the network: a drawing is placed by its
 * corner, and so its left side is not that of the coupon, where loose ends are kept. */
static void draw_loose_line(relation_drawing *drawing, double width)
{
    double *end = drawing->end + 4 * drawing->count++;
    end[0] = -width, end[2] = 1 - width;
    end[1] = end[3] = 5;
}

/* Two pieces that do not touch, drawn beside each other: each reaches from platen to platen. */
static void two_drawn_pieces_carry_twice(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 1, 3)) continue;
        sp_case request = relation_coupon(i, 1);
        request.wall_beads = 0, request.flaw_seed = 0;
        request.strain = 0.002, request.steps = 4; /* before any of them buckles */
        sp_network network = relation_network(&request);
        relation_drawing one = relation_lines(&network, 2), two = relation_lines(&network, 3);
        const double width = request.width;
        const int count = two.count;
        draw_twice(&two);
        for (int k = 2 * count; k < 4 * count; k++) two.end[2 * k] += 2 * width;
        draw_loose_line(&one, width), draw_loose_line(&two, width);
        request.width = 5 * width;
        const relation_curve want = press_drawing(&request, &one, 0, 0);
        const relation_curve got = press_drawing(&request, &two, 0, 0);
        relation_check("two drawn pieces", &got, 2, &want, exact);
        free(one.end), free(two.end);
        sp_network_free(&network);
    }
}

/* --- critical steps; `make survey` looks at more of them --- */

static double critical_strain(sp_case request, int steps)
{
    request.strain = 0.14, request.steps = steps / 5; /* as so many steps to 70 % */
    return relation_press_to_critical(&request).critical;
}

static void check_critical(const sp_case *request, const char *what, double got, double want)
{
    const double tolerance = 1e-3; /* of strain */
    if (!(fabs(got - want) <= tolerance))
        fail_msg("%s, hold %d, friction %g: critical strain %.5f, by %s %.5f", request->pattern,
                 request->platens, request->platen_friction, got, what, want);
}

static void critical_step_does_not_see_the_steps(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++)
        for (int h = 0; relation_hold(h); h++) {
            if (!relation_is_planar(i) || !relation_takes(i + h, 0, 4)) continue;
            sp_case request = relation_coupon(i, 1);
            relation_put_hold(&request, relation_hold(h));
            const double want = critical_strain(request, 1120);
            check_true(want > 1e-6);
            check_critical(&request, "finer steps", critical_strain(request, 70), want);
            check_critical(&request, "finer steps", critical_strain(request, 280), want);
        }
}

/* With hardly any friction the critical step is that of sliding platens. */
static void critical_step_goes_to_that_of_sliding(void **state)
{
    (void)state;
    for (int i = 0; i < relation_coupon_count(); i++) {
        if (!relation_is_planar(i) || !relation_takes(i, 2, 4)) continue;
        sp_case request = relation_coupon(i, 1);
        relation_put_hold(&request, "sliding");
        const double want = critical_strain(request, 280);
        relation_put_hold(&request, "friction");
        for (request.platen_friction = 1e-6; request.platen_friction < 2e-5;
             request.platen_friction *= 10)
            check_critical(&request, "no friction", critical_strain(request, 280), want);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(forces_grow_with_the_square_of_lengths),
        cmocka_unit_test(networks_grow_with_lengths),
        cmocka_unit_test(forces_grow_with_moduli),
        cmocka_unit_test(forces_grow_with_the_depth),
        cmocka_unit_test(forces_do_not_see_the_side),
        cmocka_unit_test(forces_do_not_see_how_lines_are_drawn),
        cmocka_unit_test(forces_do_not_see_the_file),
        cmocka_unit_test(layers_without_walls_are_extruded),
        cmocka_unit_test(work_does_not_see_the_steps),
        cmocka_unit_test(forces_repeat),
        cmocka_unit_test(two_beside_carry_twice),
        cmocka_unit_test(friction_does_not_see_the_side),
        cmocka_unit_test(two_drawn_pieces_carry_twice),
        cmocka_unit_test(layers_with_walls_are_extruded),
        cmocka_unit_test(layers_in_contact_are_extruded),
        cmocka_unit_test(a_sliding_layer_stands),
        cmocka_unit_test(critical_step_does_not_see_the_steps),
        cmocka_unit_test(critical_step_goes_to_that_of_sliding),
    };
    return cmocka_run_group_tests_name("relations", tests, NULL, NULL);
}
