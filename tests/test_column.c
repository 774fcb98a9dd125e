/* These tests check columns and frames that buckle against the elastica and the stability
 * functions. The loads at which stability is lost come from the negative pivots of the tangent
 * along the path, never from a formula.
 *
 * Marks of values: C computed from the closed form, M from memory of the source. */
#include "check.h"

#include <strutpress/path.h>

#include "bench_model.h"
#include "coupon.h"
#include "press/press.h"
#include "temporary_file.h"
#include "whole_press.h"

/* This is the axial and shear stiffness where the source takes both as rigid; EI/L^2 = 1. */
static const double rigid = 1e6;

enum { HINGED, CLAMPED, SWAYING, FREE };

/* Make an upright column, joint 0 at the foot and joint 1 at the top, which is loaded down by 1
 * (sideways held unless it sways). */
static void column(bench *b, int elements, int foot, int top, double length, double axial,
                   double bending, double shear)
{
    bench_begin(b, length, 0);
    bench_joint(b, 0, 0);
    bench_joint(b, 0, length);
    bench_strut(b, 0, 1, 0.01 * length);
    bench_mesh(b, elements);
    bench_stiffness(b, 0, axial, bending, shear);
    bench_hold(b, 0, BENCH_X, SP_HELD);
    bench_hold(b, 0, BENCH_Y, SP_HELD);
    if (foot == CLAMPED) bench_hold(b, 0, BENCH_TURN, SP_HELD);
    if (top == HINGED || top == CLAMPED) bench_hold(b, 1, BENCH_X, SP_HELD);
    if (top == CLAMPED || top == SWAYING) bench_hold(b, 1, BENCH_TURN, SP_HELD);
    bench_load(b, 1, BENCH_Y, -1);
}

static double critical_load(int elements, int foot, int top, double length, double axial,
                            double bending, double shear)
{
    bench b;
    column(&b, elements, foot, top, length, axial, bending, shear);
    bench_ready(&b);
    const double unit = bending / (length * length);
    const double load = bench_critical(&b, 0.5 * unit, 60 * unit);
    bench_end(&b);
    return load;
}

/* --- loss of stability of straight columns --- */

/* P of N one-point elements: P (1 - P/EA + P/S) = P_N, with P_N = (4 N^2 EI/L^2) tan^2(pi/2N),
 * derived for this test. 1/S = 1/GA + l^2/12EI (E5), and what the strut is longer than its chord
 * takes P l^2/12 off EI and P 6/5 phi^2 off S, phi = 1 - S/GA (E91): the second derivative of P
 * times it. */
static double discrete_load(int n, double length, double axial, double bending, double shear)
{
    const double l = length / n, t = tan(M_PI / (2 * n));
    const double whole = 1 / (1 / shear + l * l / (12 * bending)), phi = 1 - whole / shear;
    double load = 0;
    for (int i = 0; i < 400; i++) {
        const double euler = 4 * (bending - load * l * l / 12) / (l * l) * t * t;
        const double a = 1 / (whole - 1.2 * phi * phi * load) - 1 / axial;
        const double found =
            fabs(a * euler) < 1e-12 ? euler : (sqrt(1 + 4 * a * euler) - 1) / (2 * a);
        load = 0.5 * (load + found);
    }
    return load;
}

static void test_discrete_law(void **unused)
{
    (void)unused;
    for (int n = 2; n <= 32; n *= 2) {
        check_relative(critical_load(n, HINGED, HINGED, 1, rigid, 1, rigid),
                       discrete_load(n, 1, rigid, 1, rigid), 2e-7);
        check_relative(critical_load(n, HINGED, HINGED, 2, 1000, 10, 300),
                       discrete_load(n, 2, 1000, 10, 300), 2e-7);
        /* h/L = 0.2, nu = 0.5, k = 5/6 */
        check_relative(critical_load(n, HINGED, HINGED, 1, 300, 1, 300 / 3.6),
                       discrete_load(n, 1, 300, 1, 300 / 3.6), 2e-7);
    }
    /* The error falls with N^-4; without E91 it would be pi^2/12 N^2. */
    double off[2];
    for (int k = 0; k < 2; k++) off[k] = discrete_load(4 << k, 1, 1e9, 1, 1e9) / (M_PI * M_PI) - 1;
    check_relative(off[0] / off[1], 16, 0.05);
    check_relative(critical_load(4, HINGED, HINGED, 1, rigid, 1, rigid), M_PI * M_PI, 1e-3);
}

/* Do the same for a strut as the model meshes it, with its own section (E = 1, nu = 0, k = 5/6,
 * depth 1): the checks around this one set their own stiffnesses. */
static void test_model_column(void **unused)
{
    (void)unused;
    for (int n = 2; n <= 16; n *= 2) {
        const double h = 0.15, bending = h * h * h / 12;
        bench b;
        bench_begin(&b, 1, 0);
        bench_joint(&b, 0, 0);
        bench_joint(&b, 0, 1);
        bench_strut(&b, 0, 1, h);
        bench_mesh(&b, n);
        for (int d = 0; d < 2; d++) bench_hold(&b, 0, d, SP_HELD);
        bench_hold(&b, 1, BENCH_X, SP_HELD);
        bench_load(&b, 1, BENCH_Y, -1);
        bench_ready(&b);
        check_relative(bench_critical(&b, bending, 60 * bending),
                       discrete_load(n, 1, h, bending, 5.0 / 12 * h), 2e-7);
        bench_end(&b);
    }
}

/* C, exact for the Reissner (1972) beam: P (1 + P/GA - P/EA) = c pi^2 EI/L^2, c = 1 hinged, 4
 * clamped. */
static void test_reissner_column(void **unused)
{
    (void)unused;
    const double euler = M_PI * M_PI;
    check_relative(critical_load(32, HINGED, HINGED, 2, 1000, 10, 300), 23.396728, 1e-3);
    check_relative(bench_extrapolate(critical_load(16, HINGED, HINGED, 2, 1000, 10, 300),
                                     critical_load(32, HINGED, HINGED, 2, 1000, 10, 300)),
                   23.396728, 1e-5);
    /* rectangle: h/L, nu, P/P_Euler hinged, clamped; shear factor 5/6 */
    static const double row[][4] = {{0.05, 0.3, 0.995678518641, 0.983146472617},
                                    {0.1, 0.3, 0.983146472617, 0.938561597775},
                                    {0.1, 0.5, 0.979484278879, 0.926564923845},
                                    {0.2, 0.3, 0.938561597775, 0.814789621},
                                    {0.2, 0.5, 0.926564923845, 0.787705232}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double axial = 12 / (row[i][0] * row[i][0]),
                     shear = axial * (5.0 / 6) / (2 * (1 + row[i][1]));
        const double hinged[2] = {critical_load(16, HINGED, HINGED, 1, axial, 1, shear),
                                  critical_load(32, HINGED, HINGED, 1, axial, 1, shear)};
        check_relative(hinged[1] / euler, row[i][2], 1e-3);
        check_relative(bench_extrapolate(hinged[0], hinged[1]) / euler, row[i][2], 1e-5);
        const double clamped[2] = {critical_load(16, CLAMPED, CLAMPED, 1, axial, 1, shear),
                                   critical_load(32, CLAMPED, CLAMPED, 1, axial, 1, shear)};
        check_relative(clamped[1] / (4 * euler), row[i][3], 4e-3); /* half the wave length */
        check_relative(bench_extrapolate(clamped[0], clamped[1]) / (4 * euler), row[i][3], 1e-4);
    }
}

/* Effective length factors K, P = pi^2 EI/(K L)^2 (Timoshenko & Gere, Theory of Elastic Stability).
 */
static void test_effective_length(void **unused)
{
    (void)unused;
    static const struct {
        int foot, top;
        double factor;
    } row[] = {{HINGED, HINGED, 1}, {CLAMPED, CLAMPED, 0.5}, {CLAMPED, HINGED, 0.69915565966},
               {CLAMPED, FREE, 2},  {CLAMPED, SWAYING, 1},   {HINGED, SWAYING, 2}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double coarse = critical_load(32, row[i].foot, row[i].top, 1, rigid, 1, rigid),
                     fine = critical_load(64, row[i].foot, row[i].top, 1, rigid, 1, rigid);
        check_relative(M_PI / sqrt(coarse), row[i].factor, 2e-3);
        check_relative(M_PI / sqrt(bench_extrapolate(coarse, fine)), row[i].factor, 2e-5);
    }
}

/* --- portal frame --- */

/* Columns of height 1, EI 1, loaded by 1 at their tops; beam of length 1 and bending stiffness g.
 */
static double portal_load(int elements, double g, int foot, int held)
{
    bench b;
    bench_begin(&b, 1, 0);
    for (int i = 0; i < 4; i++) bench_joint(&b, i / 2, (i == 1 || i == 2));
    for (int i = 0; i < 3; i++) bench_strut(&b, i, i + 1, 0.01);
    bench_mesh(&b, elements);
    bench_stiffness(&b, -1, rigid, 1, rigid);
    bench_stiffness(&b, 1, rigid, g, rigid);
    for (int i = 0; i < 4; i += 3) {
        bench_hold(&b, i, BENCH_X, SP_HELD);
        bench_hold(&b, i, BENCH_Y, SP_HELD);
        if (foot == CLAMPED) bench_hold(&b, i, BENCH_TURN, SP_HELD);
        if (held) bench_hold(&b, 1 + i / 3, BENCH_X, SP_HELD);
        bench_load(&b, 1 + i / 3, BENCH_Y, -1);
    }
    bench_ready(&b);
    const double load = bench_critical(&b, 0.5, 60);
    bench_end(&b);
    return load;
}

/* C, stability functions; Timoshenko & Gere. g = (I_b/L_b)/(I_c/h), then P h^2/EI_c. */
static void test_portal_frame(void **unused)
{
    (void)unused;
    static const double row[][5] = {{0.5, 1.42195806, 6.030186781, 22.96877445, 11.59816606},
                                    {1, 1.821292824, 7.379153561, 25.18218549, 12.89442724},
                                    {2, 2.103963417, 8.434063803, 28.39692625, 14.66018318},
                                    {5, 2.310908875, 9.245155625, 33.15324543, 17.07629465}};
    static const int foot[4] = {HINGED, CLAMPED, CLAMPED, HINGED}, held[4] = {0, 0, 1, 1};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++)
        for (int k = 0; k < 4; k++) {
            const double coarse = portal_load(16, row[i][0], foot[k], held[k]),
                         fine = portal_load(32, row[i][0], foot[k], held[k]);
            const double want = row[i][1 + k];
            /* one-point elements: error about (P l^2/EI)/12 */
            check_relative(fine, want, want / (12 * 32 * 32) * 1.2 + 2e-5);
            check_relative(bench_extrapolate(coarse, fine), want, 3e-5);
        }
}

/* --- after buckling: the elastica --- */

/* Press a hinged column to end distance 1 - shortening, from a sine of about that shortening. */
static void pressed(bench *b, int elements, double shortening)
{
    column(b, elements, HINGED, HINGED, 1, rigid * 10, 1, rigid * 10);
    bench_hold(b, 1, BENCH_Y, SP_MOVED);
    bench_ready(b);
    for (int k = 1; k < elements; k++)
        b->system.x[3 * bench_node(b, 0, k)] = sqrt(0.01) * 2 / M_PI * sin(M_PI * k / elements);
    bench_descend(b, 0, 0.01);
    bench_descend_in(b, 0, shortening, (int)(shortening / 0.02) + 1);
}

/* C, elliptic integrals; Timoshenko & Gere, art. 2.7. End slope in degrees, P/Pcr, shortening/L,
 * mid deflection/L. */
static const double elastica[][4] = {{20, 1.01539686554, 0.03026909264, 0.10970652120},
                                     {40, 1.06366326640, 0.11879648827, 0.21112017006},
                                     {60, 1.15171962047, 0.25898039392, 0.29660382308},
                                     {80, 1.29388932388, 0.44060408105, 0.35974855237},
                                     {100, 1.51838879329, 0.65101069959, 0.39576974827},
                                     {120, 1.88480086898, 0.87684002760, 0.40158549500}};

static void test_elastica(void **unused)
{
    (void)unused;
    for (size_t i = 0; i < sizeof elastica / sizeof *elastica; i++) {
        const double *row = elastica[i];
        double force[2];
        for (int k = 0; k < 2; k++) {
            bench b;
            const int elements = k ? 16 : 8;
            pressed(&b, elements, row[2]);
            force[k] = b.system.force / (M_PI * M_PI);
            check_relative(force[k], row[1], 1e-3);
            check_relative(fabs(bench_at(&b, bench_node(&b, 0, elements / 2), BENCH_X)), row[3],
                           1e-3);
            check_relative(fabs(bench_at(&b, 0, BENCH_TURN)) * 180 / M_PI, row[0], 1e-3);
            bench_end(&b);
        }
        check_relative(force[1], row[1], 1e-4);
        if (row[0] >
            70) /* the error falls with N^-4; below, that of the finite axial stiffness shows */
            check_close((force[0] - row[1]) / (force[1] - row[1]), 16, 2);
    }
}

/* --- the critical step of a whole press (src/mechanics/press, src/mechanics/stability) --- */

/* Press a column that is clamped between bonded platens or hinged between sliding ones. EA = GA:
 * their effects on the load cancel, so that Euler's load is exact while the column is soft enough
 * for a step of 1e-4 of the height to resolve it. */
static sp_critical pressed_to_critical(int elements, int ends, double axial)
{
    bench b;
    const sp_press_options options = {.strain = 0.5,
                                      .load_limit = INFINITY,
                                      .steps = 40,
                                      .follow_perfect = 1,
                                      .stop_at_critical = 1,
                                      .frames = 4};
    sp_path path;
    column(&b, elements, ends, ends, 1, axial, 1, axial);
    bench_hold(&b, 1, BENCH_Y, SP_MOVED);
    bench_ready(&b);
    if (press_whole_model(&b.context, &b.model, &options, &path) != SP_OK)
        fail_msg("%s", b.context.message);
    const sp_critical critical = path.critical;
    sp_path_free(&path);
    bench_end(&b);
    return critical;
}

static void test_press_finds_euler(void **unused)
{
    (void)unused;
    static const struct {
        int ends;
        double load, axial;
    } row[] = {{HINGED, M_PI * M_PI, 100}, {CLAMPED, 4 * M_PI * M_PI, 400}};
    for (int i = 0; i < 2; i++) {
        const sp_critical found = pressed_to_critical(32, row[i].ends, row[i].axial);
        check_true(found.found && found.kind == SP_CRITICAL_BIFURCATION);
        /* mesh pi^2/12 N^2 of the half wave, bracket 1e-4 of the height times EA */
        check_relative(found.force, row[i].load,
                       row[i].load / (12 * 32 * 32) + 1.1e-4 * row[i].axial / row[i].load);
        check_close(found.strain, row[i].load / row[i].axial, 5e-4);
        assert_int_equal(found.strut_count, 1);
        check_close(found.share[0], 1, 1e-9);
    }
}

/* A column deeper than h/L = sqrt(12)/2pi, pinned and rigid in shear, is squeezed flat without
 * buckling (P_E > EA/4; Magnusson, Ristinmaa & Ljung 2001, M), so that no critical step is
 * found. */
static void test_press_finds_nothing(void **unused)
{
    (void)unused;
    const double euler = M_PI * M_PI;
    bench b;
    column(&b, 16, HINGED, HINGED, 1, 3.9 * euler, 1, 1e6);
    bench_ready(&b);
    bench_follow_in(&b, 0.9 * 3.9 * euler, 0, 40);
    assert_int_equal(bench_negative(&b), 0);
    bench_end(&b);
}

/* Return the force at which a clamped column of a yielding filament loses its straight state, by
 * the tangent modulus (Engesser 1889; Shanley 1947, whose summary was read) for finite strains:
 * with the true stress s and its rate r at the stretch l, the bending stiffness C = I (r + s)/l^2
 * of the squashed column and its shear stiffness S, C (2 pi/L)^2 = P l + P^2/S at the force P = A
 * s/l. C */
static double tangent_modulus_load(double modulus, double yield, double rate, double length)
{
    const double area = 1, inertia = 1.0 / 12, shear = 5.0 / 6 * modulus / 3 * area;
    double low = 0, high = 0.3, p = 0;
    for (int i = 0; i < 60; i++) {
        const double e = 0.5 * (low + high), l = exp(-e);
        const int yields = modulus * e > yield;
        const double s = yields ? yield + rate * (e - yield / modulus) : modulus * e;
        const double bending = inertia * ((yields ? rate : modulus) + s) / (l * l);
        const double left = bending * 4 * M_PI * M_PI / (length * length);
        p = area * s / l;
        if (left > p * l + p * p / shear)
            low = e;
        else
            high = e;
    }
    return p;
}

/* Columns that yield before they buckle: the critical step is the load of the tangent modulus, not
 * that of the elastic one, as all fibres go on loading where the straight state loses its
 * stability. A strut of 1 x 1 mm between bonded platens. */
static void test_yielding_column(void **unused)
{
    (void)unused;
    const double modulus = 2000, yield = 20;
    for (int i = 0; i < 3; i++) {
        const double rate = (double[]){1500, 1200, 1000}[i], length = (double[]){12, 11, 8}[i];
        char file[64], table[64], text[1024], settings[3][128], *at = text;
        snprintf(text, sizeof text,
                 "# vtk DataFile Version 3.0\ncolumn\nASCII\nDATASET POLYDATA\nPOINTS 2 double\n"
                 "5 0 0 5 %g 0\nLINES 1 3\n2 0 1\n",
                 length);
        write_temporary_file(file, sizeof file, text);
        for (double e = yield / modulus; e < 1; e = e < 0.011 ? e + 5e-4 : e * 1.3)
            at += sprintf(at, "%.15g %.15g\n", expm1(e),
                          (yield + rate * (e - yield / modulus)) / exp(e));
        write_temporary_file(table, sizeof table, text);
        const char *all[] = {"infill.pattern=drawn",
                             "material.law=yielding",
                             "material.strain_state=uniaxial",
                             "coupon.width=10 mm",
                             "coupon.depth=1 mm",
                             "bead.width=1 mm",
                             "bead.walls=0",
                             "model.elements_per_strut=40",
                             "model.section_points=8",
                             settings[0],
                             settings[1],
                             settings[2],
                             NULL};
        snprintf(settings[0], sizeof settings[0], "infill.network=%s", file);
        snprintf(settings[1], sizeof settings[1], "material.table=%s", table);
        snprintf(settings[2], sizeof settings[2], "coupon.height=%g mm", length);
        coupon c;
        sp_path path;
        coupon_set_up(&c, 0, all);
        const sp_press_options options = {.strain = 0.1,
                                          .load_limit = INFINITY,
                                          .steps = 400,
                                          .follow_perfect = 1,
                                          .stop_at_critical = 1};
        coupon_press(&c, &options, &path);
        assert_int_equal(path.critical.found, 1);
        const double want = tangent_modulus_load(modulus, yield, rate, length);
        check_relative(path.critical.force, want, 0.005);
        check_true(tangent_modulus_load(modulus, 1e9, 0, length) > 1.2 * want);
        check_true(path.step[path.step_count - 1].dissipated > 0);
        sp_path_free(&path);
        coupon_tear_down(&c);
        remove(file);
        remove(table);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_discrete_law),      cmocka_unit_test(test_model_column),
        cmocka_unit_test(test_reissner_column),   cmocka_unit_test(test_effective_length),
        cmocka_unit_test(test_portal_frame),      cmocka_unit_test(test_elastica),
        cmocka_unit_test(test_press_finds_euler), cmocka_unit_test(test_press_finds_nothing),
        cmocka_unit_test(test_yielding_column),
    };
    return cmocka_run_group_tests_name("column", tests, NULL, NULL);
}
