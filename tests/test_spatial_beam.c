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

/* --- invariance --- */

static void rigid_motion_of(const sp_law *law)
{
    static const double turn[][3] = {
        {0, 0, 0}, {0.4, 0, 0}, {0, -2, 0.3}, {1.9, 1.9, 1.5}, {0, 0, M_PI}};
    for (int trial = 0; trial < 20; trial++) {
        const sp_spatial_section section = some_section(law, trial / 2 % 2);
        double g[12], h[144];
        pair q;
        const sp_spatial_element e = some_element(&section, trial % 2, &q);
        q = carried(&q, turn[trial / 4]);
        check_close(sp_spatial_eval(&e, &section, q.x, q.x + 7, g, h), 0,
                    1e-24 * section.axial_stiffness);
        for (int i = 0; i < 12; i++) check_close(g[i], 0, 1e-13 * section.axial_stiffness);
    }
}

static void test_rigid_motion(void **unused)
{
    (void)unused;
    every_law(rigid_motion_of);
}

/* A loaded element gives the same energy and strains, and the turned forces, wherever it is carried (Crisfield &
 * Jelenic 1999), and balances itself. */
static void objectivity_of(const sp_law *law)
{
    static const double angle[] = {0.3, 1.7, 3.0};
    for (int trial = 0; trial < 12; trial++) {
        const sp_spatial_section section = some_section(law, trial % 2);
        const double step[6] = {0.1, -0.15, 0.05, 0.3, -0.2, 0.25}, scale = section.axial_stiffness;
        const double turn = angle[trial / 4] / sqrt(14), w[3] = {turn, 2 * turn, 3 * turn};
        double by[4], m[9], g[12], f[12], h[144], force[3], moment[3];
        pair q;
        const sp_spatial_element e = some_element(&section, trial / 2 % 2, &q);
        sp_spatial_move(step, q.x + 7);
        const pair r = carried(&q, w);
        const double one = sp_spatial_eval(&e, &section, q.x, q.x + 7, g, h);
        check_relative(sp_spatial_eval(&e, &section, r.x, r.x + 7, f, h), one, 1e-12);
        const sp_spatial_strain a = sp_spatial_strains(&e, q.x, q.x + 7),
                                b = sp_spatial_strains(&e, r.x, r.x + 7);
        sp_so3_exp(w, by);
        sp_so3_matrix(by, m);
        for (int i = 0; i < 3; i++) {
            check_close(b.g[i], a.g[i], 1e-13);
            check_close(b.k[i], a.k[i], 1e-13);
            for (int n = 0; n < 12; n += 3)
                check_close(f[n + i], sp_dot(m + 3 * i, g + n), 1e-12 * scale);
        }
        double net[3] = {0};
        for (int n = 0; n < 2; n++) {
            sp_cross(q.x + 7 * n, g + 6 * n, moment);
            for (int i = 0; i < 3; i++) net[i] += moment[i] + g[6 * n + 3 + i];
        }
        for (int i = 0; i < 3; i++) {
            force[i] = g[i] + g[6 + i];
            check_close(force[i], 0, 1e-12 * scale);
            check_close(net[i], 0, 1e-12 * scale);
        }
    }
}

static void test_objectivity(void **unused)
{
    (void)unused;
    every_law(objectivity_of);
}

/* A element moved there and back on other ways, in large turns, is as before: nothing remembers the way (Crisfield &
 * Jelenic 1999). */
static void path_independence_of(const sp_law *law)
{
    const sp_spatial_section section = some_section(law, 1);
    double g[12], f[12], h[144];
    pair q;
    const sp_spatial_element e = some_element(&section, 1, &q);
    sp_spatial_move((double[6]){0.1, -0.05, 0.1, 0.2, 0.1, -0.3}, q.x + 7);
    pair r = q;
    for (int k = 0; k < 40; k++) { /* quarter turns about x, y, -x, -y by tenths, of both ends */
        const double tenth = (k / 10 < 2 ? 1 : -1) * M_PI / 20;
        const double w[3] = {k / 10 % 2 ? 0 : tenth, k / 10 % 2 ? tenth : 0, 0};
        r = carried(&r, w);
    }
    /* x, y, -x, -y is not the identity: turn back by what is left, in one step */
    double from[4], left[3];
    sp_so3_between(r.x + 3, (double[4]){1, 0, 0, 0}, from);
    sp_so3_multiply(q.x + 3, from, from);
    sp_so3_log(from, left);
    check_true(sqrt(sp_dot(left, left)) > 1);
    r = carried(&r, left);
    check_relative(sp_spatial_eval(&e, &section, r.x, r.x + 7, f, h),
                   sp_spatial_eval(&e, &section, q.x, q.x + 7, g, h), 1e-11);
    for (int i = 0; i < 12; i++) check_close(f[i], g[i], 1e-11 * section.axial_stiffness);
}

static void test_path_independence(void **unused)
{
    (void)unused;
    every_law(path_independence_of);
}

/* --- in a plane: the planar element --- */

static void in_plane_of(const sp_law *law)
{
    static const int unknown[6] = {0, 1, 5, 6, 7, 11};
    sp_section flat;
    sp_spatial_section section;
    sp_rng rng;
    sp_section_rectangle(&flat, law, 0.4, 2, 6);
    sp_spatial_rectangle(&section, law, 0.4, 2, 6);
    sp_rng_seed(&rng, 9, 0);
    for (int trial = 0; trial < 8; trial++) {
        const double from[3] = {0.3, -0.2}, to[3] = {1.3, 0.6}, up[3] = {0, 1};
        sp_spatial_element e = sp_spatial_piece(&section, from, to, up);
        sp_element p = {.length = e.length, .direction = atan2(0.8, 1), .shear = e.shear[0]};
        check_relative(
            p.shear,
            1 / (1 / flat.shear_stiffness + p.length * p.length / (12 * flat.bending_stiffness)),
            1e-12);
        double x[6] = {from[0], from[1], 0, to[0], to[1], 0};
        pair q = {.x = {from[0], from[1], 0, 1, 0, 0, 0, to[0], to[1], 0, 1}};
        for (int n = 0; n < 2; n++)
            for (int i = 0; i < 2; i++) {
                const double arm = trial % 2 ? 0.1 * sp_rng_normal(&rng) : 0;
                p.arm[n][i] = e.arm[n][i] = arm;
                x[3 * n + i] -= arm;
                q.x[7 * n + i] -= arm;
            }
        for (int i = 0; i < 6; i++) {
            const double by = 0.1 * sp_rng_normal(&rng);
            x[i] += by;
            move(&q, unknown[i], by);
        }
        double g[6], h[36], f[12], k[144];
        const double energy = sp_planar_eval(&p, &flat, x, x + 3, g, h);
        const double scale = 1e-12 * section.axial_stiffness;
        check_relative(sp_spatial_eval(&e, &section, q.x, q.x + 7, f, k), energy, 1e-11);
        for (int i = 0; i < 6; i++) {
            check_close(f[unknown[i]], g[i], scale);
            for (int j = 0; j < 6; j++)
                check_close(k[12 * unknown[i] + unknown[j]], h[6 * i + j], 10 * scale);
        }
        for (int i = 2; i < 5; i++) { /* nothing out of the plane */
            check_close(f[i], 0, scale);
            check_close(f[6 + i], 0, scale);
        }
    }
}

static void test_in_plane(void **unused)
{
    (void)unused;
    every_law(in_plane_of);
}

/* --- sections --- */

static sp_law law_of(const char *name, double modulus, double poisson_ratio)
{
    sp_context context = {0};
    sp_case request;
    sp_law law;
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "%s", name);
    request.modulus = modulus;
    request.poisson_ratio = poisson_ratio;
    request.strain_state = SP_UNIAXIAL;
    if (sp_law_prepare(&context, &request, &law) != SP_OK) fail_msg("%s", context.message);
    return law;
}

/* C, integral over the disc of y^2a z^2b = 2 Gamma(a + 1/2) Gamma(b + 1/2)/Gamma(a + b + 1) R^(2a + 2b + 2)/(2a + 2b + 2). */
static void test_disc_quadrature(void **unused)
{
    (void)unused;
    const sp_law law = law_of("linear", 3, 0.3);
    for (int rings = 1; rings <= 4; rings++) {
        sp_spatial_section s;
        sp_spatial_circle(&s, &law, 2, rings);
        assert_int_equal(s.points, 4 * rings * rings);
        for (int a = 0; a < 4 * rings; a++)
            for (int b = 0; a + b < 4 * rings; b++) {
                double sum = 0;
                for (int i = 0; i < s.points; i++)
                    sum += s.weight[i] * pow(s.y[i], a) * pow(s.z[i], b);
                const double exact = a % 2 || b % 2
                                         ? 0
                                         : 2 * tgamma(0.5 * (a + 1)) * tgamma(0.5 * (b + 1)) /
                                               tgamma(0.5 * (a + b) + 1) / (a + b + 2);
                check_close(sum, exact, 1e-14);
            }
    }
    sp_spatial_section s;
    sp_spatial_circle(&s, &law, 1, 99);
    check_true(s.points == SP_SPATIAL_POINTS_MAX);
    sp_spatial_rectangle(&s, &law, 1, 1, 99);
    check_true(s.points == SP_SPATIAL_POINTS_MAX);
}

/* Unit square, neo-Hookean G = 1, uniaxial. C, exact integrals of l - l^-2. Columns: strain, curvature, N, M. */
static void test_square_of_rubber(void **unused)
{
    (void)unused;
    static const double row[][4] = {{0, 0.5, -0.066666667, 0.131697505},
                                    {0, 1.0, -0.333333333, 0.318054378},
                                    {-0.2, 0.5, -0.931601732, 0.225720778},
                                    {0.3, 0.8, 0.646405229, 0.135025722}};
    /* the same bent about a diagonal: C, the same integrals with the width of the square on its corner */
    static const double corner[][4] = {{0, 0.5, -0.0682511409962, 0.134267571608},
                                       {-0.2, 0.5, -0.93841020552, 0.23462632621},
                                       {0.3, 0.8, 0.644006909078, 0.138209582002}};
    const sp_law law = law_of("neo-hookean", 3, 0.5);
    sp_spatial_section s;
    sp_spatial_resultants r;
    sp_spatial_rectangle(&s, &law, 1, 1, 8);
    for (size_t i = 0; i < 4; i++) {
        sp_spatial_section_eval(&s, (double[3]){row[i][0], row[i][1], 0}, &r);
        check_close(r.force[0], row[i][2], 1e-7);
        check_close(r.force[1], row[i][3], 1e-7);
        check_close(r.force[2], 0, 1e-14);
        sp_spatial_section_eval(&s, (double[3]){row[i][0], 0, row[i][1]}, &r);
        check_close(r.force[0], row[i][2], 1e-7);
        check_close(r.force[2], row[i][3], 1e-7);
    }
    for (size_t i = 0; i < 3; i++) {
        const double k = corner[i][1] / sqrt(2);
        sp_spatial_section_eval(&s, (double[3]){corner[i][0], -k, k}, &r);
        check_close(r.force[0], corner[i][2], 1e-6);
        check_close((r.force[2] - r.force[1]) / sqrt(2), corner[i][3], 1e-6);
        check_close(r.force[2] + r.force[1], 0, 1e-14);
    }
}

/* Disc of diameter 1, bent about any axis. C, integrals of l - l^-2 over chords. */
static void test_disc_of_rubber(void **unused)
{
    (void)unused;
    static const double row[][4] = {{0, 0.5, -0.0388441341153, 0.0768899418784},
                                    {-0.2, 0.5, -0.696747745236, 0.130723353055},
                                    {0.3, 0.8, 0.52044695486, 0.0787325913778}};
    const sp_law law = law_of("neo-hookean", 3, 0.5);
    sp_spatial_section s;
    sp_spatial_resultants r;
    for (int rings = 3; rings <= 4; rings++)
        for (size_t i = 0; i < 3; i++)
            for (int k = 0; k < 7; k++) {
                const double c = cos(0.3 * k), z = sin(0.3 * k),
                             tolerance = rings == 3 ? 1e-5 : 5e-7;
                sp_spatial_circle(&s, &law, 1, rings);
                sp_spatial_section_eval(&s, (double[3]){row[i][0], c * row[i][1], z * row[i][1]},
                                        &r);
                check_close(r.force[0], row[i][2], tolerance);
                check_close(c * r.force[1] + z * r.force[2], row[i][3], tolerance);
                check_close(z * r.force[1] - c * r.force[2], 0, tolerance);
            }
}

/* Torsion constant over a^3 b: Timoshenko & Goodier 1970, article 109, table of k1 (M); 0.1405770 C. Stiffnesses of
 * circle and rectangle: text books; Cowper 1966. */
static void test_section_constants(void **unused)
{
    (void)unused;
    static const double k1[][2] = {{1, 0.1406}, {1.2, 0.166}, {1.5, 0.196},
                                   {2, 0.229},  {2.5, 0.249}, {3, 0.263},
                                   {4, 0.281},  {5, 0.291},   {10, 0.312}};
    for (size_t i = 0; i < sizeof k1 / sizeof *k1; i++)
        for (int swap = 0; swap < 2; swap++) {
            const double b = k1[i][0];
            check_close(sp_rectangle_torsion(swap ? b : 1, swap ? 1 : b) / b, k1[i][1], 5.1e-4);
        }
    check_relative(sp_rectangle_torsion(1, 1), 0.1405770, 1e-6);
    check_relative(sp_rectangle_torsion(1e-3, 1), 1e-9 / 3 * (1 - 0.63e-3), 1e-6);
    const sp_law law = law_of("linear", 2.6, 0.3); /* G = 1 */
    sp_spatial_section s;
    sp_spatial_circle(&s, &law, 2, 3);
    check_relative(s.axial_stiffness, 2.6 * M_PI, 1e-12);
    check_relative(s.bending_stiffness[0], 2.6 * M_PI / 4, 1e-12);
    check_relative(s.torsion_stiffness, M_PI / 2, 1e-12);
    check_relative(s.shear_stiffness[1], M_PI * 7.8 / 8.8, 1e-12);
    sp_spatial_rectangle(&s, &law, 2, 3, 4);
    check_relative(s.bending_stiffness[0], 2.6 * 2 * 27 / 12,
                   1e-12); /* about axis 2: the 3 stands up */
    check_relative(s.bending_stiffness[1], 2.6 * 3 * 8 / 12, 1e-12);
    check_relative(s.shear_stiffness[0], 5, 1e-12);
    check_relative(sp_spatial_fibre_strain(&s, (double[3]){-0.1, 0.1, -0.2}), 0.1 + 0.15 + 0.2,
                   1e-12);
    sp_spatial_circle(&s, &law, 2, 3);
    check_relative(sp_spatial_fibre_strain(&s, (double[3]){-0.1, 0.3, -0.4}), 0.6, 1e-12);
}

/* A fibre pushed beyond the end of its law: infinite energy, and nothing written. */
static void test_beyond_the_law(void **unused)
{
    (void)unused;
    const sp_law law = law_of("neo-hookean", 3, 0.5);
    const sp_spatial_section s = some_section(&law, 1);
    double g[12] = {7}, h[144] = {7};
    pair q;
    const sp_spatial_element e = some_element(&s, 0, &q);
    for (int i = 0; i < 3; i++) q.x[7 + i] = q.x[i];
    check_true(sp_spatial_eval(&e, &s, q.x, q.x + 7, g, h) == INFINITY);
    check_true(g[0] == 7 && h[0] == 7);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exp_and_log),         cmocka_unit_test(test_chord_derivatives),
        cmocka_unit_test(test_element_differences), cmocka_unit_test(test_differences_far),
        cmocka_unit_test(test_rigid_motion),        cmocka_unit_test(test_objectivity),
        cmocka_unit_test(test_path_independence),   cmocka_unit_test(test_in_plane),
        cmocka_unit_test(test_disc_quadrature),     cmocka_unit_test(test_square_of_rubber),
        cmocka_unit_test(test_disc_of_rubber),      cmocka_unit_test(test_section_constants),
        cmocka_unit_test(test_beyond_the_law),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
