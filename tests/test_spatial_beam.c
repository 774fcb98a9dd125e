/* The spatial element against finite differences, rigid motion and the planar element; its sections against integrals
 * and tables; single beams and small frames in space against exact solutions.
 *
 * Marks as in the project's list of checks: C computed from the closed form, M value from memory of the source. */
#include "check.h"

#include "base/rng.h"
#include "base/so3.h"
#include "beam/planar.h"
#include "beam/spatial.h"
#include "every_law.h"

/* --- rotations --- */

static void random_vector(sp_rng *rng, double length, double v[3])
{
    for (int i = 0; i < 3; i++) v[i] = sp_rng_normal(rng);
    const double scale = length / sqrt(sp_dot(v, v));
    for (int i = 0; i < 3; i++) v[i] *= scale;
}

static void test_exp_and_log(void **unused)
{
    (void)unused;
    static const double angle[] = {0, 1e-12, 1e-5, 9e-4, 1.1e-3, 0.3, 1, 2, 3.1, M_PI - 1e-6};
    sp_rng rng;
    sp_rng_seed(&rng, 5, 0);
    for (size_t i = 0; i < sizeof angle / sizeof *angle; i++) {
        double w[3], q[4], back[3];
        random_vector(&rng, angle[i], w);
        sp_so3_exp(w, q);
        for (int sign = 0; sign < 2; sign++) { /* q and -q are one rotation */
            sp_so3_log(q, back);
            for (int d = 0; d < 3; d++) check_close(back[d], w[d], 1e-15 + 4e-15 * angle[i]);
            for (int d = 0; d < 4; d++) q[d] = -q[d];
        }
    }
}

/* chord(alpha, beta) = log(A^-1 B) after spins alpha of A and beta of B in the axes of the midpoint; mid: the
 * midpoint's own rotation there. */
static void chord_after(const double psi[3], const double ab[6], double scale, double chord[3],
                        double mid[3])
{
    double half[3], spin[3], a[4], b[4], q[4];
    for (int i = 0; i < 3; i++) half[i] = -0.5 * psi[i];
    sp_so3_exp(half, a);
    for (int i = 0; i < 3; i++) half[i] = 0.5 * psi[i];
    sp_so3_exp(half, b);
    for (int i = 0; i < 3; i++) spin[i] = scale * ab[i];
    sp_so3_turn(spin, a);
    for (int i = 0; i < 3; i++) spin[i] = scale * ab[3 + i];
    sp_so3_turn(spin, b);
    sp_so3_between(a, b, q);
    sp_so3_log(q, chord);
    sp_so3_middle(a, b, q);
    sp_so3_log(q, mid);
}

/* First and second derivatives along geodesics by differences, against the closed forms of so3.h. */
static void test_chord_derivatives(void **unused)
{
    (void)unused;
    static const double angle[] = {0, 1e-6, 0.01, 0.49, 0.51, 1, 2, 3};
    const double h = 1e-3;
    sp_rng rng;
    sp_rng_seed(&rng, 6, 0);
    for (size_t i = 0; i < sizeof angle / sizeof *angle; i++) {
        double psi[3], ab[6], at[5][3], mid[5][3];
        random_vector(&rng, angle[i], psi);
        random_vector(&rng, 0.9, ab);
        random_vector(&rng, 0.7, ab + 3);
        for (int p = 0; p < 5; p++) chord_after(psi, ab, h * (p - 2), at[p], mid[p]);

        const sp_so3_chord k = sp_so3_chord_of(psi);
        double sigma[3], c[3], cross[3], psi_c[3], s_psi_c[3], psi_ab[3];
        for (int d = 0; d < 3; d++) sigma[d] = 0.5 * (ab[d] + ab[3 + d]), c[d] = ab[3 + d] - ab[d];
        sp_cross(ab, ab + 3, cross);
        sp_cross(psi, c, psi_c);
        sp_cross(sigma, psi_c, s_psi_c);
        sp_cross(psi, cross, psi_ab);
        const double along = sp_dot(psi, c);
        for (int d = 0; d < 3; d++) {
            const double first = (at[0][d] - 8 * at[1][d] + 8 * at[3][d] - at[4][d]) / (12 * h);
            const double second =
                (-at[0][d] + 16 * at[1][d] - 30 * at[2][d] + 16 * at[3][d] - at[4][d]) /
                (12 * h * h);
            check_close(first, k.s * c[d] + k.j * along * psi[d], 1e-10);
            check_close(0.5 * second,
                        -0.5 * (k.s * cross[d] + k.j * sp_dot(psi, cross) * psi[d]) +
                            k.a * sp_dot(c, c) * psi[d] - k.bent * along * along * psi[d] +
                            k.b * along * c[d],
                        1e-8);
            const double turn = (mid[0][d] - 8 * mid[1][d] + 8 * mid[3][d] - mid[4][d]) / (12 * h);
            const double bend =
                (-mid[0][d] + 16 * mid[1][d] - 30 * mid[2][d] + 16 * mid[3][d] - mid[4][d]) /
                (12 * h * h);
            check_close(turn, sigma[d] - k.tau * psi_c[d], 1e-10);
            check_close(0.5 * bend,
                        0.5 * k.tau * psi_ab[d] - 0.5 * k.tau * k.tau * along * psi_c[d] -
                            0.5 * k.tau * s_psi_c[d],
                        1e-8);
        }
    }
}

/* --- the element by itself --- */

typedef struct pair {
    double x[14]; /* node values of A and B */
} pair;

static void move(pair *q, int unknown, double by)
{
    double step[6] = {0};
    step[unknown % 6] = by;
    sp_spatial_move(step, q->x + (unknown < 6 ? 0 : 7));
}

/* Five-point differences of energy and gradient along geodesics, relative to the largest entry of either. The gradient
 * is by spins, whose differences D lack half the moment: H = D + (m)/2 on the spins of one node (E47). */
static void check_element(const sp_spatial_element *e, const sp_spatial_section *s, const pair *q,
                          const char *name)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double h = 2e-6; /* a table has kinks in its tangent */
    double g[12], k[144], unused[144], difference[144] = {0};
    double most_g = 0, most_k = 0, off_g = 0, off_k = 0;
    check_true(isfinite(sp_spatial_eval(e, s, q->x, q->x + 7, g, k)));
    for (int j = 0; j < 12; j++) {
        double slope = 0;
        for (int p = 0; p < 4; p++) {
            double gm[12];
            pair moved = *q;
            move(&moved, j, at[p] * h);
            slope += weight[p] * sp_spatial_eval(e, s, moved.x, moved.x + 7, gm, unused) / (12 * h);
            for (int i = 0; i < 12; i++) difference[12 * i + j] += weight[p] * gm[i] / (12 * h);
        }
        most_g = fmax(most_g, fabs(g[j]));
        off_g = fmax(off_g, fabs(slope - g[j]));
    }
    for (int n = 3; n < 12; n += 6)
        for (int i = 0; i < 3; i++) {
            const int one = n + (i + 1) % 3, two = n + (i + 2) % 3;
            difference[12 * two + one] += 0.5 * g[n + i];
            difference[12 * one + two] -= 0.5 * g[n + i];
        }
    for (int i = 0; i < 12; i++)
        for (int j = 0; j < 12; j++) {
            check_true(k[12 * i + j] == k[12 * j + i]);
            most_k = fmax(most_k, fabs(k[12 * i + j]));
            off_k = fmax(off_k, fabs(difference[12 * i + j] - k[12 * i + j]));
        }
    if (!(off_g <= 1e-6 * most_g) || !(off_k <= 1e-6 * most_k))
        fail_msg("%s: gradient off by %.2g, Hessian by %.2g (relative)", name, off_g / most_g,
                 off_k / most_k);
}

static sp_spatial_section some_section(const sp_law *law, int circle)
{
    sp_spatial_section section;
    if (circle)
        sp_spatial_circle(&section, law, 0.4, 3);
    else
        sp_spatial_rectangle(&section, law, 0.3, 0.5, 4);
    return section;
}

/* An element askew in space, with arms when wanted; unloaded node values. */
static sp_spatial_element some_element(const sp_spatial_section *section, int with_arms, pair *q)
{
    static const double from[3] = {0.2, -0.1, 0.3}, to[3] = {0.9, 0.7, -0.5}, up[3] = {0.1, 0.3, 1};
    static const double arm[2][3] = {{0.31, -0.12, 0.2}, {-0.23, 0.17, 0.1}};
    sp_spatial_element e = sp_spatial_piece(section, from, to, up);
    memset(q, 0, sizeof *q);
    q->x[3] = q->x[10] = 1;
    for (int i = 0; i < 3; i++) {
        e.arm[0][i] = with_arms ? arm[0][i] : 0;
        e.arm[1][i] = with_arms ? arm[1][i] : 0;
        q->x[i] = from[i] - e.arm[0][i];
        q->x[7 + i] = to[i] - e.arm[1][i];
    }
    return e;
}

/* q moved as a rigid body: turned by w about the origin, then shifted. */
static pair carried(const pair *q, const double w[3])
{
    static const double shift[3] = {7, -4, 2};
    double by[4], m[9];
    pair r = *q;
    sp_so3_exp(w, by);
    sp_so3_matrix(by, m);
    for (int n = 0; n < 14; n += 7) {
        for (int i = 0; i < 3; i++) r.x[n + i] = shift[i] + sp_dot(m + 3 * i, q->x + n);
        sp_so3_turn(w, r.x + n + 3);
    }
    return r;
}

static void differences_of(const sp_law *law)
{
    static const double size[] = {1e-3, 0.1, 0.1, 0.14};
    sp_rng rng;
    sp_rng_seed(&rng, 3, 0);
    for (int trial = 0; trial < 16; trial++) {
        const sp_spatial_section section = some_section(law, trial / 2 % 2);
        pair q;
        sp_spatial_element e = some_element(&section, trial % 2, &q);
        if (trial >= 8) e.curvature[trial % 3] = 0.2;
        for (int i = 0; i < 12; i++) move(&q, i, size[trial % 4] * sp_rng_normal(&rng));
        if (trial >= 8) q = carried(&q, (double[3]){1.2, 0.4, -2});
        check_element(&e, &section, &q, law->row->name);
    }
}

static void test_element_differences(void **unused)
{
    (void)unused;
    every_law(differences_of);
}

/* The ends of one element far from parallel: only the linear law stands the strain. */
static void differences_far(const sp_law *law)
{
    if (strcmp(law->row->name, "linear") != 0) return;
    static const double angle[] = {0.3, 0.6, 1.5, 2.5, 3.1};
    sp_rng rng;
    sp_rng_seed(&rng, 4, 0);
    for (int trial = 0; trial < 20; trial++) {
        const sp_spatial_section section = some_section(law, trial % 2);
        double step[6] = {0.2, 0.4, -0.3};
        pair q;
        const sp_spatial_element e = some_element(&section, trial / 2 % 2, &q);
        random_vector(&rng, angle[trial / 4], step + 3);
        sp_spatial_move(step, q.x + 7);
        check_element(&e, &section, &q, "ends far from parallel");
    }
}

static void test_differences_far(void **unused)
{
    (void)unused;
    every_law(differences_far);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exp_and_log),
        cmocka_unit_test(test_chord_derivatives),
        cmocka_unit_test(test_element_differences),
        cmocka_unit_test(test_differences_far),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
