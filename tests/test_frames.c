/* These tests follow frames and arches with limit points by arc length, and compare the limit loads
 * with published ones.
 *
 * Marks of values: C computed from the closed form or the exact differential equation, M from
 * memory of the source. */
#include "check.h"

#include "bench_model.h"

/* --- Lee's frame --- */

typedef struct limit {
    double load, across, down;
} limit;

/* Make Lee's frame: a column from (0,0) to (0,120) and a beam to (120,120), both ends hinged, with
 * a load on the beam 24 from the corner; A = 6, I = 2. */
static void lees_frame(int elements, double modulus, double shear, limit found[2])
{
    bench b;
    bench_begin(&b, 120, 0);
    bench_joint(&b, 0, 0);
    bench_joint(&b, 0, 120);
    bench_joint(&b, 24, 120);
    bench_joint(&b, 120, 120);
    for (int i = 0; i < 3; i++) bench_strut(&b, i, i + 1, 2);
    bench_mesh(&b, elements);
    bench_stiffness(&b, -1, 6 * modulus, 2 * modulus, shear);
    for (int i = 0; i < 4; i += 3) {
        bench_hold(&b, i, BENCH_X, SP_HELD);
        bench_hold(&b, i, BENCH_Y, SP_HELD);
    }
    bench_load(&b, 2, BENCH_Y, -1);
    bench_ready(&b);
    for (int i = 0; i < 2; i++) {
        found[i].load = bench_next_limit(&b, 0.05, 400);
        found[i].across = bench_moved(&b, 2, BENCH_X);
        found[i].down = -bench_moved(&b, 2, BENCH_Y);
    }
    bench_end(&b);
}

/* C (exact differential equation); the frame is Lee, Manuel & Rossow 1968 (M), limit about 18 532
 * in Schweizerhof & Wriggers 1986 (M), lower about -9.4e3 in Cichon 1984 (M). Shear-rigid row, and
 * the row with k = 5/6, nu = 0.3. */
static void test_lees_frame(void **unused)
{
    (void)unused;
    const double modulus = 7.2e6;
    static const limit want[2][2] = {
        {{18556.7275, 26.880574, 48.735137}, {-9414.43156, 90.195674, 58.216815}},
        {{18544.5271, 26.878328, 48.75424}, {-9392.48964, 90.177001, 58.224958}}};
    for (int row = 0; row < 2; row++) {
        const double shear = row ? 5.0 / 6 * modulus / 2.6 * 6 : 1e4 * modulus;
        limit coarse[2], fine[2];
        lees_frame(32, modulus, shear, coarse);
        lees_frame(64, modulus, shear, fine);
        for (int i = 0; i < 2; i++) {
            check_relative(fine[i].load, want[row][i].load, 1e-3);
            check_relative(fine[i].across, want[row][i].across, 1e-3);
            check_relative(fine[i].down, want[row][i].down, 1e-3);
            check_relative(bench_extrapolate(coarse[i].load, fine[i].load), want[row][i].load,
                           2e-5);
        }
        lees_frame(16, modulus, shear, coarse); /* the error falls with N^-4 (E91) */
        check_relative(coarse[0].load, want[row][0].load, 2e-5);
    }
}

/* --- Williams's toggle --- */

static void toggle(bench *b, int elements, double rise)
{
    bench_begin(b, 12.943, 0);
    bench_joint(b, -12.943, 0);
    bench_joint(b, 0, rise);
    bench_joint(b, 12.943, 0);
    bench_strut(b, 0, 1, 0.243);
    bench_strut(b, 1, 2, 0.243);
    bench_mesh(b, elements);
    bench_stiffness(b, -1, 1.03e7 * 0.753 * 0.243, 1.03e7 * 0.753 * pow(0.243, 3) / 12, 1e9);
    for (int i = 0; i < 3; i += 2)
        for (int d = 0; d < 3; d++) bench_hold(b, i, d, SP_HELD);
}

/* C (shear-rigid, extensible); the frame is Williams 1964 (M), published limit about 34 lb (M).
 * Apex travel in, load lb, horizontal thrust lb. */
static void test_williams_toggle(void **unused)
{
    (void)unused;
    static const double row[][3] = {{0.10, 25.203369, 365.10617}, {0.20, 33.498999, 589.64922},
                                    {0.30, 32.847232, 672.81789}, {0.40, 31.303208, 621.31107},
                                    {0.50, 36.096997, 446.34989}, {0.60, 53.313109, 158.49920},
                                    {0.70, 88.184363, -235.36731}};
    double force[2][7], thrust[2][7];
    for (int k = 0; k < 2; k++) {
        bench b;
        toggle(&b, k ? 32 : 16, 0.386);
        bench_hold(&b, 1, BENCH_Y, SP_MOVED);
        bench_ready(&b);
        for (int i = 0; i < 7; i++) {
            bench_follow_in(&b, 0, row[i][0], 5);
            force[k][i] = b.system.force;
            thrust[k][i] = bench_reaction(&b, 0, BENCH_X);
        }
        bench_end(&b);
    }
    for (int i = 0; i < 7; i++) {
        /* The thrust is up to a third of the load at which a bar buckles, which makes the error of
         * the mesh larger. */
        check_relative(force[1][i], row[i][1], 2.5e-3);
        check_relative(bench_extrapolate(force[0][i], force[1][i]), row[i][1], 2e-5);
        check_relative(bench_extrapolate(thrust[0][i], thrust[1][i]), row[i][2], 2e-5);
    }
}

/* C. Rise 0.32, also found in the literature: no limit point. */
static void test_shallow_toggle(void **unused)
{
    (void)unused;
    static const double row[][2] = {{0.2, 25.823286}, {0.3, 27.655252}, {0.4, 32.359965}};
    bench b;
    toggle(&b, 32, 0.32);
    bench_hold(&b, 1, BENCH_Y, SP_MOVED);
    bench_ready(&b);
    for (int i = 0; i < 3; i++) {
        bench_follow_in(&b, 0, row[i][0], 5);
        check_relative(b.system.force, row[i][1], 1.5e-3);
    }
    bench_end(&b);
}

static void test_williams_limits(void **unused)
{
    (void)unused;
    static const double want[2][2] = {{33.8703852, 0.23215687}, {31.2817745, 0.39159426}};
    double load[2][2], travel[2][2];
    for (int k = 0; k < 2; k++) {
        bench b;
        toggle(&b, k ? 32 : 16, 0.386);
        bench_load(&b, 1, BENCH_Y, -1);
        bench_ready(&b);
        for (int i = 0; i < 2; i++) {
            load[k][i] = bench_next_limit(&b, 1e-3, 400);
            travel[k][i] = -bench_moved(&b, 1, BENCH_Y);
        }
        bench_end(&b);
    }
    for (int i = 0; i < 2; i++) {
        check_relative(load[1][i], want[i][0], 1e-3);
        check_relative(bench_extrapolate(load[0][i], load[1][i]), want[i][0], 2e-5);
        check_relative(bench_extrapolate(travel[0][i], travel[1][i]), want[i][1], 2e-5);
    }
}

/* --- deep circular arches, load at the crown --- */

/* Find the limit load with R = 1 and EI = 1; clamped at the right foot, hinged (or clamped) at the
 * left. */
static limit arch(int sides, double degrees, int both_clamped, double axial, double shear)
{
    bench b;
    const double half = degrees * M_PI / 360;
    bench_begin(&b, 1, 0);
    bench_arc(&b, 0, 0, 1, M_PI / 2 - half, M_PI / 2 + half, sides, 0.01);
    bench_mesh(&b, 1);
    bench_stiffness(&b, -1, axial, 1, shear);
    for (int d = 0; d < 3; d++) {
        bench_hold(&b, 0, d, SP_HELD);
        if (d < 2 || both_clamped) bench_hold(&b, sides, d, SP_HELD);
    }
    bench_load(&b, sides / 2, BENCH_Y, -1);
    bench_ready(&b);
    limit found = {.load = bench_next_limit(&b, 0.05, 400)};
    found.across = fabs(bench_moved(&b, sides / 2, BENCH_X));
    found.down = -bench_moved(&b, sides / 2, BENCH_Y);
    bench_end(&b);
    return found;
}

/* C (exact differential equation), DaDeppo & Schmidt 1975: 8.97 EI/R^2 (M). */
static void test_deep_arches(void **unused)
{
    (void)unused;
    static const struct {
        double degrees;
        int both_clamped;
        double axial, shear, load, across, down;
    } row[] = {{215, 0, 1e6, 1e6, 8.97308997, 0.61141466, 1.1373206},
               {215, 0, 1e8 * 1e4 / 1e6, 1e8 * 1e4 / 1e6, 8.972891338, 0.61141714, 1.1373075},
               {180, 0, 1e6, 1e6, 10.27534437, 0.28682964, 0.81769521},
               {215, 1, 1e6, 1e6, 9.260737789, 0, 0.7294783},
               {180, 1, 1e6, 1e6, 10.4572627, 0, 0.47653333}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const limit coarse =
                        arch(64, row[i].degrees, row[i].both_clamped, row[i].axial, row[i].shear),
                    fine =
                        arch(128, row[i].degrees, row[i].both_clamped, row[i].axial, row[i].shear);
        check_relative(fine.load, row[i].load, 2e-3);
        check_close(fine.across, row[i].across, 2e-3);
        check_close(fine.down, row[i].down, 2e-3);
        check_relative(bench_extrapolate(coarse.load, fine.load), row[i].load, 5e-5);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lees_frame),     cmocka_unit_test(test_williams_toggle),
        cmocka_unit_test(test_shallow_toggle), cmocka_unit_test(test_williams_limits),
        cmocka_unit_test(test_deep_arches),
    };
    return cmocka_run_group_tests_name("frames", tests, NULL, NULL);
}
