/* Contact in space: the layer between a point and a line, distances of pieces, whole pairs and platens against finite
 * differences and independent quadrature, stacks of struts.
 *
 * Marks as in the project's list of checks: C computed from the closed form. */
#include "check.h"

#include "base/rng.h"
#include "base/so3.h"
#include "contact/line.h"
#include "contact/segment.h"

/* --- the layer --- */

/* q: the point from the start of the piece, then the piece, 3 each. */
static double line_at(const double q[6], double rest, double g[6], double h[36])
{
    const double length = sqrt(sp_dot(q + 3, q + 3));
    const double n[3] = {q[3] / length, q[4] / length, q[5] / length};
    return sp_line_energy_space(q, n, length, rest, g, h);
}

/* A rotation at random. */
static void random_turn(sp_rng *rng, double m[9])
{
    double q[4], w[3];
    for (int i = 0; i < 3; i++) w[i] = 2 * sp_rng_normal(rng);
    sp_so3_exp(w, q);
    sp_so3_matrix(q, m);
}

static void turn(const double m[9], const double v[3], double out[3])
{
    for (int i = 0; i < 3; i++) out[i] = sp_dot(m + 3 * i, v);
}

/* Gradient and Hessian by five-point differences, relative to the largest entry of either and to a hundredth of a layer
 * at half its height: at the edge of its reach the kernel is only smooth, not analytic. */
static void check_line(const double q[6], double rest, const char *what)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double length = sqrt(sp_dot(q + 3, q + 3));
    const double n[3] = {q[3] / length, q[4] / length, q[5] / length};
    const double step = 1e-4 * fmin(sqrt(sp_line_square_space(q, n, length)), 0.1 * length);
    double g[6], h[36], unused[36], most_g = 0, most_h = 0, off_g = 0, off_h = 0;
    const double energy = line_at(q, rest, g, h);
    if (energy == 0) return;
    check_true(energy > 0 && isfinite(energy));
    for (int i = 0; i < 6; i++) {
        double slope = 0, row[6] = {0};
        for (int p = 0; p < 4; p++) {
            double moved[6], gm[6] = {0};
            memcpy(moved, q, sizeof moved);
            moved[i] += at[p] * step;
            slope += weight[p] * line_at(moved, rest, gm, unused) / (12 * step);
            for (int j = 0; j < 6; j++) row[j] += weight[p] * gm[j] / (12 * step);
        }
        most_g = fmax(most_g, fabs(g[i]));
        off_g = fmax(off_g, fabs(slope - g[i]));
        for (int j = 0; j < 6; j++) {
            most_h = fmax(most_h, fabs(h[6 * i + j]));
            off_h = fmax(off_h, fabs(row[j] - h[6 * i + j]));
        }
    }
    for (int i = 0; i < 36; i++) check_close(h[i], h[i % 6 * 6 + i / 6], 1e-12 * most_h);
    if (!(off_g <= 1e-6 * fmax(most_g, 0.075 / rest)) ||
        !(off_h <= 1e-6 * fmax(most_h, 0.4 / (rest * rest))))
        fail_msg(
            "%s, v %.17g %.17g %.17g, e %.17g %.17g %.17g, rest %g: energy %g, gradient off by "
            "%.2g, Hessian by %.2g (relative)",
            what, q[0], q[1], q[2], q[3], q[4], q[5], rest, energy, off_g / most_g, off_h / most_h);
}

/* Point at (along, aside) in the frame of the piece, all in units of `rest`, turned at random. */
static void check_line_at(sp_rng *rng, double along, double aside, double length, double rest,
                          const char *what)
{
    double m[9], q[6];
    random_turn(rng, m);
    for (int i = 0; i < 3; i++) {
        q[i] = rest * (along * m[3 * i] + aside * m[3 * i + 1]);
        q[3 + i] = rest * length * m[3 * i];
    }
    check_line(q, rest, what);
}

static void test_line_differences(void **unused)
{
    (void)unused;
    sp_rng rng;
    sp_rng_seed(&rng, 8, 0);
    for (int i = 0; i < 300; i++) {
        const double length = 0.05 + 3 * sp_rng_uniform(&rng);
        const double aside = 0.05 + 0.9 * sp_rng_uniform(&rng);
        const double along = -0.8 + (length + 1.6) * sp_rng_uniform(&rng);
        check_line_at(&rng, along, aside, length, 0.42, "beside");
    }
    for (int i = 0; i < 40; i++) {
        const double beyond = 0.03 + 0.9 * sp_rng_uniform(&rng);
        const double length = 0.1 + 2 * sp_rng_uniform(&rng);
        check_line_at(&rng, -beyond, 0, length, 0.42, "in line before");
        check_line_at(&rng, length + beyond, 0, length, 0.42, "in line behind");
        check_line_at(&rng, -beyond, 1e-13, length, 0.42, "in line but for round-off");
        check_line_at(&rng, length + beyond, 1e-9, length, 0.42, "in line but for a trace");
        check_line_at(&rng, length + beyond, 0.2 * beyond, length, 0.42, "nearly in line");
        check_line_at(&rng, -beyond, 0.223 * beyond, length, 0.42, "edge of the series");
        check_line_at(&rng, 0.5 * length, 1e-3, length, 0.42, "nearly touching");
        check_line_at(&rng, 0, 1e-3, length, 0.42, "nearly touching the end");
        check_line_at(&rng, -1e-3, 1e-4, length, 0.42, "nearly touching before the end");
    }
}

/* In the plane z = 0 the figures are those of the planar kernel; turned as one, energy and forces turn along. */
static void test_line_turns_with_its_frame(void **unused)
{
    (void)unused;
    sp_rng rng;
    sp_rng_seed(&rng, 3, 0);
    int reached = 0;
    for (int i = 0; i < 300; i++) {
        double q[6] = {0}, r[6], m[9], g[6], h[36], flat[4], hessian[16], turned[6], want[3];
        for (int k = 0; k < 2; k++) {
            q[k] = 0.4 * sp_rng_normal(&rng);
            q[3 + k] = sp_rng_normal(&rng);
        }
        const double length = hypot(q[3], q[4]), n[2] = {q[3] / length, q[4] / length};
        const double energy = line_at(q, 0.7, g, h);
        const double plane = sp_line_energy(q, n, length, 0.7, flat, hessian);
        check_close(energy, plane, 1e-12 * (1 + plane));
        if (energy == 0) continue;
        reached++;
        for (int k = 0; k < 4; k++) {
            check_close(g[k / 2 * 3 + k % 2], flat[k], 1e-10 * (1 + fabs(flat[k])));
            for (int j = 0; j < 4; j++)
                check_close(h[6 * (k / 2 * 3 + k % 2) + j / 2 * 3 + j % 2], hessian[4 * k + j],
                            1e-9 * (1 + fabs(hessian[4 * k + j])));
        }
        random_turn(&rng, m);
        turn(m, q, r);
        turn(m, q + 3, r + 3);
        check_close(line_at(r, 0.7, turned, h), energy, 1e-12 * (1 + energy));
        for (int p = 0; p < 2; p++) {
            turn(m, g + 3 * p, want);
            for (int k = 0; k < 3; k++)
                check_close(turned[3 * p + k], want[k], 1e-9 * (1 + fabs(want[k])));
        }
    }
    check_true(reached > 100);
}

static void test_line_touched(void **unused)
{
    (void)unused;
    const double q[6] = {0.5, 0, 0, 2, 0, 0}, far[6] = {0, 0.9, 0, 1, 0, 0};
    double g[6] = {7}, h[36];
    check_true(line_at(q, 0.5, g, h) == INFINITY);
    check_true(line_at(far, 0.8, g, h) == 0 && g[0] == 7);
}

/* --- distances --- */

static double square_at(const double q[12], double s, double t)
{
    double square = 0;
    for (int i = 0; i < 3; i++) {
        const double x = q[i] + s * q[3 + i] - q[6 + i] - t * q[9 + i];
        square += x * x;
    }
    return square;
}

/* Distance squared is convex in (s, t): a net of places, refined about its best. */
static double square_searched(const double q[12])
{
    double s0 = 0.5, t0 = 0.5, best = INFINITY;
    for (double half = 0.5; half > 1e-9; half *= 0.5) {
        const double sm = s0, tm = t0;
        for (int i = -6; i <= 6; i++)
            for (int k = -6; k <= 6; k++) {
                const double s = fmin(1, fmax(0, sm + i * half / 6)),
                             t = fmin(1, fmax(0, tm + k * half / 6));
                const double square = square_at(q, s, t);
                if (square < best) best = square, s0 = s, t0 = t;
            }
    }
    return best;
}

/* Brute force (C), skew, crossing, parallel, nearly parallel and in line. */
static void test_segment_distance(void **unused)
{
    (void)unused;
    sp_rng rng;
    sp_rng_seed(&rng, 12, 0);
    for (int i = 0; i < 400; i++) {
        double q[12];
        for (int k = 0; k < 12; k++) q[k] = sp_rng_normal(&rng);
        if (i % 4 == 1) /* parallel, either way round */
            for (int k = 0; k < 3; k++) q[9 + k] = (i % 8 == 1 ? 0.7 : -1.3) * q[3 + k];
        if (i % 4 == 2) /* nearly */
            for (int k = 0; k < 3; k++) q[9 + k] = q[3 + k] * (1 + 1e-7 * q[9 + k]);
        if (i % 8 == 3) /* in line */
            for (int k = 0; k < 3; k++) {
                q[6 + k] = q[k] + 2 * q[6] * q[3 + k];
                q[9 + k] = q[3 + k];
            }
        const double square = sp_segment_square(q, q + 3, q + 6, q + 9);
        check_close(sqrt(square), sqrt(square_searched(q)), 2e-6);
        check_close(square, sp_segment_square(q + 6, q + 9, q, q + 3), 1e-12 * (1 + square));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line_differences),
        cmocka_unit_test(test_line_turns_with_its_frame),
        cmocka_unit_test(test_line_touched),
        cmocka_unit_test(test_segment_distance),
    };
    return cmocka_run_group_tests_name("contact_space", tests, NULL, NULL);
}
