/* These tests check the spatial element against finite differences, rigid motion and the planar
 * element, its sections against integrals and tables, and single beams and small frames in space
 * against exact solutions.
 *
 * Marks of values: C computed from the closed form, R read in the source, M from memory of the
 * source. */
#include "check.h"

#include "base/rng.h"
#include "base/so3.h"
#include "beam/planar.h"
#include "beam/linear_part.h"
#include "beam/spatial.h"
#include "beam/spatial_lanes.h"
#include "coupon.h"
#include "every_law.h"
#include "lanes_alike.h"
#include "spatial_frame.h"

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

/* The frame of a strut has axis 1 along the strut and axis 2 towards `up`, and is right-handed,
 * also where `up` is along the strut. */
static void test_frame_of_a_strut(void **unused)
{
    (void)unused;
    static const double row[][6] = {
        {1, 0, 0, 0, 0, 1},     {-1, 0, 0, 0, 1, 0}, {0, -3, 0, 0, 0, 1},
        {0, 0, -2, 1, 1, 0},    {1, 2, -3, 0, 0, 1}, {-2, 1, 0.1, 5, 4, 3},
        {0, 0, 1e-3, 0, 0, 50}, {1, 2, 3, 0, 0, 0},  {-1, -1, -1, 2, 2, 2}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double *along = row[i], *up = row[i] + 3, length = sqrt(sp_dot(along, along));
        double q[4], m[9], axis[3][3], third[3];
        sp_so3_frame(along, up, q);
        sp_so3_matrix(q, m);
        for (int k = 0; k < 3; k++)
            for (int d = 0; d < 3; d++) axis[k][d] = m[3 * d + k];
        sp_cross(axis[0], axis[1], third);
        for (int d = 0; d < 3; d++) {
            check_close(axis[0][d], along[d] / length, 1e-15);
            check_close(third[d], axis[2][d], 1e-15);
        }
        check_close(sp_dot(axis[0], axis[1]), 0, 1e-15);
        check_true(sp_dot(axis[1], up) >= -1e-12);
        check_close(sp_dot(axis[2], up), 0, 1e-13);
    }
}

/* chord(alpha, beta) = log(A^-1 B) after spins alpha of A and beta of B in the axes of the
 * midpoint; mid: the midpoint's own rotation there. */
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

/* First and second derivatives along geodesics by differences agree with the closed forms of
 * so3.h. */
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

/* Check five-point differences of energy and gradient along geodesics, relative to the largest
 * entry of either. The gradient is by spins, whose differences D lack half the moment: H = D +
 * (m)/2 on the spins of one node (E47). */
static sp_beam_state state; /* of the last element evaluated */
static double *history;     /* of its fibres; NULL: none */

static void check_element(const sp_spatial_element *e, const sp_spatial_section *s, const pair *q,
                          const char *name)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double h = 2e-6; /* a table has kinks in its tangent */
    double g[12], k[144], unused[144], difference[144] = {0};
    double most_g = 0, most_k = 0, off_g = 0, off_k = 0;
    check_true(isfinite(sp_spatial_eval(e, s, q->x, q->x + 7, history, g, k, &state)));
    for (int j = 0; j < 12; j++) {
        double slope = 0;
        for (int p = 0; p < 4; p++) {
            double gm[12];
            pair moved = *q;
            move(&moved, j, at[p] * h);
            slope += weight[p] *
                     sp_spatial_eval(e, s, moved.x, moved.x + 7, history, gm, unused, &state) /
                     (12 * h);
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

/* Make an element askew in space, with arms when wanted, and its unloaded node values. */
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

/* Move q as a rigid body: turned by w about the origin, then shifted. */
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
        sp_spatial_section section = some_section(law, trial / 2 % 2);
        if (trial % 3 == 1) sp_spatial_spread(&section, 1.4); /* E148 */
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

/* Make a history: after two accepted states a third one yields further in some fibres and unloads
 * others. */
static void differences_after_history_of(const sp_law *law)
{
    double kept[4 * SP_SPATIAL_POINTS_MAX];
    sp_rng rng;
    if (!law->row->history) return;
    assert_true(law->row->history->count <= 4);
    sp_rng_seed(&rng, 5, 0);
    for (int trial = 0; trial < 8; trial += coupon_quick() ? 3 : 1) {
        sp_spatial_section section = some_section(law, trial / 2 % 2);
        if (trial % 3 == 1) sp_spatial_spread(&section, 1.4); /* E148 */
        memset(kept, 0, sizeof kept);
        history = kept;
        for (int part = 0; part < 3; part++) {
            pair q;
            const sp_spatial_element e = some_element(&section, trial % 2, &q);
            for (int i = 0; i < 12; i++) move(&q, i, 0.1 * sp_rng_normal(&rng));
            check_element(&e, &section, &q, law->row->name);
            double g[12], h[144];
            sp_spatial_eval(&e, &section, q.x, q.x + 7, history, g, h, &state);
            const double z[3] = {state.eps, state.curvature[0], state.curvature[1]};
            check_true(sp_spatial_section_keep(&section, z, kept) > 0);
        }
        history = NULL;
    }
}

static void test_element_differences_after_history(void **unused)
{
    (void)unused;
    every_law(differences_after_history_of);
}

/* Do the same of a law in time, in steps from none to hours; shears and twist relax behind the
 * fibres. */
static void differences_in_time_of(const sp_law *law)
{
    static const double step[] = {0, 0.3, 1e4, 20};
    static double kept[64 * SP_SPATIAL_POINTS_MAX];
    sp_rng rng;
    sp_rng_seed(&rng, 6, 0);
    for (int trial = 0; trial < 4; trial++) {
        sp_spatial_section section = some_section(law, trial / 2 % 2);
        if (trial % 3 == 1) sp_spatial_spread(&section, 1.4); /* E148 */
        assert_true(sp_linear_place(law, section.points, 3) <= sizeof kept / sizeof *kept);
        memset(kept, 0, sizeof kept);
        history = kept;
        for (int part = 0; part < 4; part++) {
            pair q;
            const sp_spatial_element e = some_element(&section, trial % 2, &q);
            for (int i = 0; i < 12; i++) move(&q, i, 0.1 * sp_rng_normal(&rng));
            sp_law_arm(law, step[part], section.points, kept);
            for (int i = 0; i < 3; i++)
                sp_law_scalar_arm(law, step[part], kept + sp_linear_place(law, section.points, i));
            check_element(&e, &section, &q, law->row->name);
            double g[12], h[144];
            sp_spatial_eval(&e, &section, q.x, q.x + 7, history, g, h, &state);
            sp_spatial_section_keep(
                &section, (double[3]){state.eps, state.curvature[0], state.curvature[1]}, kept);
            for (int i = 0; i < 3; i++)
                sp_law_scalar_keep(law, i < 2 ? 1 : sp_twist_radius(&section), state.shear[i],
                                   kept + sp_linear_place(law, section.points, i));
        }
        history = NULL;
    }
}

static void test_element_differences_in_time(void **unused)
{
    (void)unused;
    every_law_in_time(differences_in_time_of);
}

/* Check an element whose ends are far from parallel: only the linear law allows the strain. */
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
        sp_spatial_section section = some_section(law, trial / 2 % 2);
        if (trial % 3 == 1) sp_spatial_spread(&section, 1.4); /* E148 */
        double g[12], h[144];
        pair q;
        const sp_spatial_element e = some_element(&section, trial % 2, &q);
        q = carried(&q, turn[trial / 4]);
        check_close(sp_spatial_eval(&e, &section, q.x, q.x + 7, NULL, g, h, &state), 0,
                    1e-24 * section.axial_stiffness);
        for (int i = 0; i < 12; i++) check_close(g[i], 0, 1e-13 * section.axial_stiffness);
    }
}

static void test_rigid_motion(void **unused)
{
    (void)unused;
    every_law(rigid_motion_of);
}

/* A loaded element gives the same energy and strains, and the turned forces, wherever it is carried
 * (Crisfield & Jelenic 1999), and is in balance. */
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
        pair r = carried(&q, w);
        const double one = sp_spatial_eval(&e, &section, q.x, q.x + 7, NULL, g, h, &state);
        for (int i = 3; i < 7 && trial % 3; i++)
            r.x[i + (trial % 3 == 2 ? 7 : 0)] *= -1; /* the same rotation */
        check_relative(sp_spatial_eval(&e, &section, r.x, r.x + 7, NULL, f, h, &state), one, 1e-12);
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

/* An element moved there and back on other ways, in large turns, has the same energy as before: it
 * does not depend on the way (Crisfield & Jelenic 1999). */
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
    /* x, y, -x, -y is not the identity: turn back by what is left, in one step. */
    double from[4], left[3];
    sp_so3_between(r.x + 3, (double[4]){1, 0, 0, 0}, from);
    sp_so3_multiply(q.x + 3, from, from);
    sp_so3_log(from, left);
    check_true(sqrt(sp_dot(left, left)) > 1);
    r = carried(&r, left);
    check_relative(sp_spatial_eval(&e, &section, r.x, r.x + 7, NULL, f, h, &state),
                   sp_spatial_eval(&e, &section, q.x, q.x + 7, NULL, g, h, &state), 1e-11);
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
        const double energy = sp_planar_eval(&p, &flat, x, x + 3, NULL, g, h, &state);
        const double scale = 1e-12 * section.axial_stiffness;
        check_relative(sp_spatial_eval(&e, &section, q.x, q.x + 7, NULL, f, k, &state), energy,
                       1e-11);
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

/* C, integral over the disc of y^2a z^2b = 2 Gamma(a + 1/2) Gamma(b + 1/2)/Gamma(a + b + 1) R^(2a +
 * 2b + 2)/(2a + 2b + 2). */
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

/* Unit square, neo-Hookean G = 1, uniaxial. C, exact integrals of l - l^-2. Columns: strain,
 * curvature, N, M. */
static void test_square_of_rubber(void **unused)
{
    (void)unused;
    static const double row[][4] = {{0, 0.5, -0.066666667, 0.131697505},
                                    {0, 1.0, -0.333333333, 0.318054378},
                                    {-0.2, 0.5, -0.931601732, 0.225720778},
                                    {0.3, 0.8, 0.646405229, 0.135025722}};
    /* The same square is bent about a diagonal: C, the same integrals with the width of the square
     * on its corner */
    static const double corner[][4] = {{0, 0.5, -0.0682511409962, 0.134267571608},
                                       {-0.2, 0.5, -0.93841020552, 0.23462632621},
                                       {0.3, 0.8, 0.644006909078, 0.138209582002}};
    const sp_law law = law_of("neo-hookean", 3, 0.5);
    sp_spatial_section s;
    sp_spatial_resultants r;
    sp_spatial_rectangle(&s, &law, 1, 1, 8);
    for (size_t i = 0; i < 4; i++) {
        sp_spatial_section_eval(&s, (double[3]){row[i][0], row[i][1], 0}, NULL, &r);
        check_close(r.force[0], row[i][2], 1e-7);
        check_close(r.force[1], row[i][3], 1e-7);
        check_close(r.force[2], 0, 1e-14);
        sp_spatial_section_eval(&s, (double[3]){row[i][0], 0, row[i][1]}, NULL, &r);
        check_close(r.force[0], row[i][2], 1e-7);
        check_close(r.force[2], row[i][3], 1e-7);
    }
    for (size_t i = 0; i < 3; i++) {
        const double k = corner[i][1] / sqrt(2);
        sp_spatial_section_eval(&s, (double[3]){corner[i][0], -k, k}, NULL, &r);
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
                                        NULL, &r);
                check_close(r.force[0], row[i][2], tolerance);
                check_close(c * r.force[1] + z * r.force[2], row[i][3], tolerance);
                check_close(z * r.force[1] - c * r.force[2], 0, tolerance);
            }
}

/* Torsion constant over a^3 b: Timoshenko & Goodier 1970, article 109, table of k1 (M); 0.1405770
 * C. Stiffnesses of circle and rectangle: text books; Cowper 1966. */
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

/* A fibre pushed beyond the end of its law gives infinite energy, and nothing is written. */
static void test_beyond_the_law(void **unused)
{
    (void)unused;
    const sp_law law = law_of("neo-hookean", 3, 0.5);
    const sp_spatial_section s = some_section(&law, 1);
    double g[12] = {7}, h[144] = {7};
    pair q;
    const sp_spatial_element e = some_element(&s, 0, &q);
    for (int i = 0; i < 3; i++) q.x[7 + i] = q.x[i];
    check_true(sp_spatial_eval(&e, &s, q.x, q.x + 7, NULL, g, h, &state) == INFINITY);
    check_true(g[0] == 7 && h[0] == 7);
}

/* --- single beams and frames --- */

static const double up_z[3] = {0, 0, 1};

/* Make a straight bar of `elements` elements from the origin, clamped there; returns its end. */
static int cantilever(frame *f, const double to[3], int elements, frame_stiffness stiffness)
{
    const double length = sqrt(sp_dot(to, to));
    frame_begin(f, length);
    frame_section(f, stiffness);
    const int root = frame_node(f, 0, 0, 0), tip = frame_node(f, to[0], to[1], to[2]);
    frame_bar(f, root, tip, 0, elements, up_z);
    frame_hold_all(f, root);
    return tip;
}

/* An end moment across a bar of any axial and shear stiffness, in any plane, rolls it up to a
 * regular polygon, exactly, whose sides are 1/N less what the bent bar is longer than its chord
 * (E92). */
static void test_roll_up(void **unused)
{
    (void)unused;
    static const double half_circle[][2] = {
        {4, 0.65328148243819}, {8, 0.64072886193538}, {16, 0.63764357733615}};
    const double along[3] = {2.0 / 7, 3.0 / 7, 6.0 / 7}, about[3] = {6.0 / 7, 2.0 / 7, -3.0 / 7};
    for (int flexible = 0; flexible < 2; flexible++)
        for (int steps = 1; steps <= 20; steps += 19) { /* the same in 1 step or 20 */
            const double stiff = flexible ? 30 : 1e3;
            const frame_stiffness beam = {stiff, {stiff, stiff}, 0.7, {1, 1}};
            for (int i = 0; i < 6; i += coupon_quick() ? 3 : 1) {
                frame f;
                const int whole = i >= 3, n = whole ? 3 + 5 * (i - 3) : (int)half_circle[i][0];
                const int tip = cantilever(&f, along, n, beam);
                for (int d = 0; d < 3; d++) frame_load(&f, tip, FRAME_TURN_X + d, about[d]);
                frame_ready(&f);
                frame_follow_in(&f, whole ? 2 * M_PI : M_PI, steps);
                const double *p = f.x + 7 * tip, far = sqrt(sp_dot(p, p));
                const double turn = M_PI / n;
                check_close(far, whole ? 0 : half_circle[i][1] * (1 - turn * turn / 24), 1e-10);
                check_close(sp_dot(p, along), 0, 1e-10);
                check_close(sp_dot(p, about), 0, 1e-10);
                frame_end(&f);
            }
        }
}

/* C, exact curved rod; Bathe & Bolourchi 1979, Simo & Vu-Quoc 1986. R 100, 45 degrees, unit square,
 * E 1e7, nu 0; dead load out of the plane. Columns: torsion constant, shear factor times 2 (0:
 * rigid), load, tip. */
static const double bend[][6] = {{1.0 / 6, 0, 300, 22.2452885, 58.7802483, 40.1893884},
                                 {1.0 / 6, 0, 600, 15.6853558, 47.1521502, 53.4717630},
                                 {1.0 / 6, 1, 300, 22.2447809, 58.7791225, 40.1918917},
                                 {1.0 / 6, 1, 600, 15.6848005, 47.1504386, 53.4748588},
                                 {0.1405770, 1, 300, 22.1126145, 58.5359326, 40.4802616},
                                 {0.1405770, 1, 600, 15.5577858, 46.8919248, 53.6073693}};

static int bend_begin(frame *f, double torsion, int shear, int elements)
{
    const double ga = shear ? 5e6 : 1e10; /* as good as rigid */
    frame_begin(f, 100);
    frame_section(f, (frame_stiffness){1e7, {ga, ga}, 5e6 * torsion, {1e7 / 12, 1e7 / 12}});
    const int root = frame_arc(f, 100, 0, 100, M_PI, 0.75 * M_PI, 0, elements);
    frame_hold_all(f, root);
    frame_load(f, root + elements, FRAME_Z, 1);
    frame_ready(f);
    return root + elements;
}

static void bend_tip(const double row[6], int elements, double tip[3])
{
    frame f;
    const int end = bend_begin(&f, row[0], row[1] > 0, elements);
    frame_follow_in(&f, row[2], 6);
    memcpy(tip, f.x + 7 * end, 3 * sizeof(double));
    frame_end(&f);
}

static void test_45_degree_bend(void **unused)
{
    (void)unused;
    for (size_t i = 0; i < sizeof bend / sizeof *bend; i += coupon_quick() ? 5 : 1) {
        double eight[3], coarse[3], fine[3];
        bend_tip(bend[i], 8, eight);
        bend_tip(bend[i], 16, coarse);
        bend_tip(bend[i], 32, fine);
        for (int d = 0; d < 3; d++) {
            check_relative(eight[d], bend[i][3 + d], 1e-2);
            check_relative(fine[d], bend[i][3 + d], 1e-3);
            check_relative(frame_extrapolate(coarse[d], fine[d]), bend[i][3 + d], 2e-6);
        }
    }
}

/* The state does not depend on the way of the load (Crisfield & Jelenic 1999): in 1 (cut where
 * needed), 6 or 60 steps, past it and back, or by way of an end moment; at the end the bar is back
 * at its start. */
static void test_load_cycles(void **unused)
{
    (void)unused;
    frame f;
    const int n = 8, tip = bend_begin(&f, 1.0 / 6, 1, n);
    double first[7], energy = 0;
    static const int steps[] = {6, 1, 60};
    for (int i = 0; i < 5; i++) {
        memcpy(f.x, f.reference, 7 * (size_t)f.node_count * sizeof(double));
        f.factor = 0;
        if (i == 3) frame_follow_in(&f, 600, 6); /* past it and back */
        if (i == 4) {                            /* bent sideways first */
            frame_load(&f, tip, FRAME_X, -0.7);
            frame_follow_in(&f, 450, 9);
            for (int k = 9; k >= 0; k--) {
                frame_load(&f, tip, FRAME_X, -0.7 * k / 10);
                frame_follow(&f, 450);
            }
        }
        frame_follow_in(&f, 450, i < 3 ? steps[i] : 6);
        if (i == 0) {
            memcpy(first, f.x + 7 * tip, sizeof first);
            energy = f.energy;
        }
        for (int d = 0; d < 7; d++) check_close(f.x[7 * tip + d], first[d], 1e-7);
        check_relative(f.energy, energy, 1e-9);
    }
    frame_follow_in(&f, 0, 5);
    for (int k = 0; k < 7 * f.node_count; k++) check_close(f.x[k], f.reference[k], 1e-7);
    frame_end(&f);
}

/* C, closed form (Love 1927, article 270): an end moment fixed in space bends and twists a round
 * bar of any torsional stiffness to a helix. EI 1, GJ 1/1.3, L 1, moment (2, 0, 3). */
static void test_helix(void **unused)
{
    (void)unused;
    static const double exact[3] = {0.22176869750096, 0.43714339812883, 0.51882086833269};
    double tip[2][3];
    for (int i = 0; i < 2; i++) {
        frame f;
        const double x[3] = {1, 0, 0};
        const int end =
            cantilever(&f, x, 32 << i, (frame_stiffness){30, {30, 30}, 1 / 1.3, {1, 1}});
        frame_load(&f, end, FRAME_TURN_X, 2);
        frame_load(&f, end, FRAME_TURN_Z, 3);
        frame_ready(&f);
        frame_follow_in(&f, 1, 4);
        memcpy(tip[i], f.x + 7 * end, sizeof tip[i]);
        frame_end(&f);
    }
    for (int d = 0; d < 3; d++) {
        check_relative(tip[1][d], exact[d], 1e-3);
        check_close(frame_extrapolate(tip[0][d], tip[1][d]), exact[d], 1e-6);
    }
}

/* C, exact rod with the data of Dowell & Traybar 1975 (Princeton beam), R. Newton and metres: L
 * 0.508; tip load P at an angle from the strong direction. Columns: P, degrees, axial, flap (weak),
 * chord (strong). */
static void test_princeton_beam(void **unused)
{
    (void)unused;
    static const double row[][5] = {{8.896, 30, -0.00766081638, -0.0794560761, -0.0101472408},
                                    {8.896, 60, -0.0204731841, -0.129923512, -0.00665436133},
                                    {13.345, 45, -0.0303611145, -0.156587823, -0.0153422576},
                                    {13.345, 90, -0.0504056797, -0.200692911, 0}};
    const frame_stiffness beam = {
        2841908.714, {903914.985, 903914.985}, 3.10333827, {2.42873444, 36.2793635}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i += coupon_quick() ? 4 : 1) {
        double tip[2][3];
        for (int m = 0; m < 2; m++) {
            frame f;
            const double angle = row[i][1] * M_PI / 180, x[3] = {0.508, 0, 0};
            /* Axis 2 lies in x-z, so it is z; 3 is -y. */
            const int end = cantilever(&f, x, 16 << m, beam);
            frame_load(&f, end, FRAME_Z, -cos(angle));
            frame_load(&f, end, FRAME_Y, -sin(angle));
            frame_ready(&f);
            frame_follow_in(&f, row[i][0], 4);
            const double moved[3] = {frame_moved(&f, end, FRAME_X), frame_moved(&f, end, FRAME_Y),
                                     frame_moved(&f, end, FRAME_Z)};
            memcpy(tip[m], moved, sizeof moved);
            frame_end(&f);
        }
        for (int d = 0; d < 3; d++)
            check_close(frame_extrapolate(tip[0][d], tip[1][d]), row[i][2 + d], 2e-6);
    }
}

/* A bar is clamped at the root, its first and last 0.15 and 0.25 are rigid (joint zones), and a
 * small load acts across its far end: any number of elements is exact. C: P (integral of (1 - x)^2
 * over the free part)/EI + P l_f/GA. */
static void test_rigid_ends(void **unused)
{
    (void)unused;
    const double along[3] = {2.0 / 7, 3.0 / 7, 6.0 / 7}, across[3] = {6.0 / 7, 2.0 / 7, -3.0 / 7};
    const double zone[2] = {0.15, 0.25}, shear = 200, load = 1e-6;
    for (int n = 1; n <= 3; n++) {
        frame f;
        frame_begin(&f, 1);
        frame_section(&f, (frame_stiffness){300, {shear, shear}, 0.6, {1, 1}});
        const int root = frame_node(&f, 0, 0, 0);
        const int tip = frame_node(&f, along[0], along[1], along[2]);
        frame_bar(&f, root, tip, 0, n, up_z);
        frame_rigid_ends(&f, 0, n, zone);
        frame_hold_all(&f, root);
        for (int d = 0; d < 3; d++) frame_load(&f, tip, d, across[d]);
        frame_ready(&f);
        frame_follow(&f, load);
        double moved = 0;
        for (int d = 0; d < 3; d++) moved += across[d] * frame_moved(&f, tip, d);
        const double bending = (pow(0.85, 3) - pow(0.25, 3)) / 3;
        check_relative(moved, load * (bending + 0.6 / shear), 2e-9);
        frame_end(&f);
    }
}

/* A strut printed with a bow (E7) is made of pieces without stress. */
static void test_bow_is_stress_free(void **unused)
{
    (void)unused;
    frame f;
    frame_begin(&f, 1);
    frame_section(&f, (frame_stiffness){300, {200, 200}, 0.6, {1, 1}});
    for (int k = 0; k <= 6; k++)
        frame_node(&f, k / 6.0, 0.1 * sin(M_PI * k / 6), 0.05 * sin(M_PI * k / 6));
    for (int k = 0; k < 6; k++) frame_bar(&f, k, k + 1, 0, 1, up_z);
    frame_hold_all(&f, 0);
    frame_ready(&f);
    frame_follow(&f, 0);
    check_close(f.energy, 0, 1e-25);
    for (int i = 0; i < 7 * f.node_count; i++) check_close(f.x[i], f.reference[i], 1e-14);
    frame_end(&f);
}

/* Two loads on a bar of each law, one after the other in either order, give the same state. */
static void order_of_loads_of(const sp_law *law)
{
    static const double unit[2][3] = {{0.4, 1, 0.2}, {-0.1, -0.5, 1.3}};
    const sp_spatial_section section = some_section(law, 1);
    const double scale = 0.3 * section.bending_stiffness[0];
    double energy[2], tip[2][7];
    for (int order = 0; order < 2; order++) {
        frame f;
        frame_begin(&f, 2);
        frame_take_section(&f, &section);
        const int root = frame_node(&f, 0, 0, 0), end = frame_node(&f, 2, 0, 0);
        frame_bar(&f, root, end, 0, 4, up_z);
        frame_hold_all(&f, root);
        frame_ready(&f);
        for (int d = 0; d < 3; d++) frame_load(&f, end, d, scale * unit[order][d]);
        frame_follow_in(&f, 1, 5);
        for (int k = 1; k <= 5; k++) { /* the other in fifths on top of it */
            for (int d = 0; d < 3; d++)
                frame_load(&f, end, d, scale * (unit[order][d] + 0.2 * k * unit[1 - order][d]));
            frame_follow(&f, 1);
        }
        energy[order] = f.energy;
        memcpy(tip[order], f.x + 7 * end, sizeof tip[order]);
        check_true(fabs(f.x[7 * end + 2]) > 0.3); /* far from where it was */
        frame_end(&f);
    }
    check_relative(energy[1], energy[0], 1e-9);
    for (int d = 0; d < 7; d++) check_close(tip[1][d], tip[0][d], 1e-9);
}

static void test_order_of_loads(void **unused)
{
    (void)unused;
    every_law(order_of_loads_of);
}

/* --- buckling in space --- */

/* Narrow cantilever under a tip load: k sqrt(EI GJ)/L^2, J_-1/4(k/2) = 0 (C); Timoshenko & Gere
 * 1961, article 6.3. */
static void test_lateral_buckling(void **unused)
{
    (void)unused;
    double load[2];
    for (int i = 0; i < 2; i++) {
        frame f;
        const double x[3] = {1, 0, 0};
        const int tip =
            cantilever(&f, x, 8 << i, (frame_stiffness){1e7, {1e7, 1e7}, 0.25, {1, 1e5}});
        frame_load(&f, tip, FRAME_Z, -1); /* axis 2 is z: bending about axis 3 is stiff */
        frame_ready(&f);
        load[i] = frame_critical(&f, 1, 3);
        frame_end(&f);
    }
    check_relative(load[1], 4.012599343578901 * sqrt(0.25), 1e-2);
    check_relative(frame_extrapolate(load[0], load[1]), 4.012599343578901 * sqrt(0.25), 5e-5);
}

/* Hinged column in space: the Euler load about the weak axis (Timoshenko & Gere 1961), whichever
 * axis that is. */
static void test_euler_in_space(void **unused)
{
    (void)unused;
    for (int weak = 0; weak < 2; weak++) {
        frame_stiffness column = {1e7, {1e7, 1e7}, 0.5, {3, 3}};
        column.bending[weak] = 1;
        double load[2];
        for (int i = 0; i < 2; i++) {
            frame f;
            frame_begin(&f, 1);
            frame_section(&f, column);
            const int a = frame_node(&f, 0, 0, 0), b = frame_node(&f, 2.0 / 7, 3.0 / 7, 6.0 / 7);
            frame_bar(&f, a, b, 0, 8 << i, up_z);
            for (int d = 0; d < 3; d++) {
                frame_hold(&f, a, d);
                if (d < 2) frame_hold(&f, b, d); /* slides along z: the bar pushes by its share */
            }
            frame_hold(&f, a, FRAME_TURN_Z);
            frame_load(&f, b, FRAME_Z, -6.0 / 7);
            frame_ready(&f);
            load[i] = frame_critical(&f, 1, 20);
            frame_end(&f);
        }
        check_relative(frame_extrapolate(load[0], load[1]), M_PI * M_PI, 1e-4);
    }
}

/* Hinged square column of rubber, rigid in shear: l P = pi^2 (I/L^2) G (1 + 2 l^-3) with P = A G
 * (l^-2 - l) (C; the planar fibre beam, closed form). Columns: h/L, P over the Euler load. Both
 * planes buckle at once. */
static void test_rubber_column(void **unused)
{
    (void)unused;
    static const double row[][2] = {{0.05, 1.006224033}, {0.1, 1.025591047}, {0.2, 1.115570800}};
    const sp_law law = law_of("neo-hookean", 3, 0.5);
    for (int i = 0; i < 3; i++) {
        double load[2];
        sp_spatial_section section;
        sp_spatial_rectangle(&section, &law, row[i][0], row[i][0], 4);
        section.shear_stiffness[0] = section.shear_stiffness[1] = 1e9;
        const double euler = M_PI * M_PI * section.bending_stiffness[0];
        for (int k = 0; k < 2; k++) {
            frame f;
            frame_begin(&f, 1);
            frame_take_section(&f, &section);
            const int a = frame_node(&f, 0, 0, 0), b = frame_node(&f, 1, 0, 0);
            frame_bar(&f, a, b, 0, 8 << k, up_z);
            for (int d = FRAME_X; d <= FRAME_TURN_X; d++) frame_hold(&f, a, d);
            frame_hold(&f, b, FRAME_Y);
            frame_hold(&f, b, FRAME_Z);
            frame_load(&f, b, FRAME_X, -euler);
            frame_ready(&f);
            load[k] = frame_critical(&f, 0.5, 1.5);
            frame_follow(&f, 1.03 * load[k]);
            assert_int_equal(frame_negative(&f), 2);
            frame_end(&f);
        }
        check_relative(load[1], row[i][1], 1e-2);
        check_relative(frame_extrapolate(load[0], load[1]), row[i][1], 2e-4);
    }
}

/* Shaft between bearings that let its ends turn about transverse axes, end torque along the fixed
 * axis, one end free to slide: M = 2 pi EI/L (Greenhill 1883; Timoshenko & Gere 1961,
 * article 2.21). Such a torque has no potential; static loss of stability is where the response to
 * a side force changes its sign. */
static double greenhill(int elements)
{
    frame f;
    frame_begin(&f, 1);
    frame_section(&f, (frame_stiffness){1e7, {1e7, 1e7}, 0.8, {1, 1}});
    const int a = frame_node(&f, 0, 0, 0), b = frame_node(&f, 1, 0, 0);
    const int middle = frame_bar(&f, a, b, 0, elements, up_z) + elements / 2 - 1;
    for (int d = FRAME_X; d <= FRAME_TURN_X; d++) frame_hold(&f, a, d);
    frame_hold(&f, b, FRAME_Y);
    frame_hold(&f, b, FRAME_Z);
    frame_load(&f, b, FRAME_TURN_X, 1);
    frame_ready(&f);
    double low = 4, high = 8;
    while (high - low > 1e-7) {
        const double torque = 0.5 * (low + high);
        frame_follow(&f, torque);
        if (frame_compliance(&f, middle, FRAME_Y) > 0)
            low = torque;
        else
            high = torque;
    }
    frame_end(&f);
    return low;
}

static void test_shaft_under_torque(void **unused)
{
    (void)unused;
    const double fine = greenhill(32);
    check_relative(fine, 2 * M_PI, 2e-2);
    check_relative(frame_extrapolate(greenhill(16), fine), 2 * M_PI, 1e-5);
}

/* Ends clamped, one turned about the axis of the bar and free to slide: M L/EI = 2 x 4.4934 (tan x
 * = x; C); van der Heijden, Neukirch, Goss & Thompson 2003 (M). Loss of stability of the energy
 * itself. */
static double clamped_twist(int elements)
{
    const double ratio = 0.8; /* GJ/EI */
    double low = 5, high = 12;
    while (high - low > 1e-6) {
        const double torque = 0.5 * (low + high), angle = torque / ratio;
        frame f;
        frame_begin(&f, 1);
        frame_section(&f, (frame_stiffness){1e7, {1e7, 1e7}, ratio, {1, 1}});
        const int a = frame_node(&f, 0, 0, 0), b = frame_node(&f, 1, 0, 0);
        const int inner = frame_bar(&f, a, b, 0, elements, up_z);
        frame_hold_all(&f, a);
        for (int d = FRAME_Y; d <= FRAME_TURN_Z; d++) frame_hold(&f, b, d);
        frame_ready(&f);
        for (int k = 1; k <= elements; k++)
            frame_turn(&f, k == elements ? b : inner + k - 1,
                       (double[3]){angle * k / elements, 0, 0});
        frame_follow(&f, 0);
        check_relative(frame_force(&f, b, FRAME_TURN_X), torque, 1e-9);
        if (frame_negative(&f) == 0)
            low = torque;
        else
            high = torque;
        frame_end(&f);
    }
    return low;
}

static void test_clamped_shaft(void **unused)
{
    (void)unused;
    const double exact = 8.986818915818, fine = clamped_twist(32);
    check_relative(fine, exact, 2e-2);
    check_relative(frame_extrapolate(clamped_twist(16), fine), exact, 3e-5);
}

/* Round bar bent to a closed ring and twisted by T: unstable from T R/EI = sqrt(3) on (C, from n =
 * 2; Michell 1890, Zajac 1962, review Goriely 2006, M). The bar is straight and untwisted by
 * nature: minus its curvature and its twist in the ring are the stress-free ones of the elements.
 */
static double michell(int elements)
{
    const double torsion = 0.8, side = 2 * sin(M_PI / elements), turn = 2 * M_PI / elements;
    double low = 1, high = 2.5;
    /* This is the length of the bar whose arc has this chord: eps of E92 is 0. */
    const double length = side / (1 - turn * turn / 24);
    while (high - low > 1e-5) {
        const double twist = 0.5 * (low + high);
        frame f;
        frame_begin(&f, 1);
        frame_section(&f, (frame_stiffness){1e7, {1e7, 1e7}, torsion, {1, 1}});
        frame_arc(&f, 0, 0, 1, 0, 2 * M_PI, 0, elements);
        for (int e = 0; e < elements; e++) {
            /* Section axis 2 is z, so 3 points outwards, and turning on by 2 pi/N is about +2. */
            f.element[e].length = length;
            f.element[e].curvature[0] = -twist / torsion;
            f.element[e].curvature[1] = -turn / length;
        }
        /* Six holds are for rigid motion, one is for the turning of the bar about its own axis. */
        frame_hold_all(&f, 0);
        frame_hold(&f, elements / 2, FRAME_Z);
        frame_ready(&f);
        frame_follow(&f, 0);
        if (frame_negative(&f) == 0)
            low = twist;
        else
            high = twist;
        frame_end(&f);
    }
    return low;
}

static void test_twisted_ring(void **unused)
{
    (void)unused;
    const double fine = michell(32);
    check_relative(fine, sqrt(3), 2e-2);
    check_relative(frame_extrapolate(michell(16), fine), sqrt(3), 5e-4);
}

/* Right-angle frame of a narrow strip (E 71240, nu 0.31, 30 x 0.6 upright in the plane, legs 240):
 * clamped, dead load P at the free end along the first leg, outwards and inwards (Argyris et al.
 * 1979; Simo & Vu-Quoc 1986). C, linearised rod about the exact state in the plane. */
static double angle_frame(double direction, int elements, double high)
{
    static const double leg = 240, e = 71240, g = 71240 / 2.62;
    frame f;
    frame_begin(&f, leg);
    frame_section(&f, (frame_stiffness){e * 18, /* shear of little weight, as in the source */
                                        {g * 15, g * 15},
                                        58732.1,
                                        {38469.6, e * 0.6 * 30 * 30 * 30 / 12}});
    const int root = frame_node(&f, 0, 0, 0), corner = frame_node(&f, leg, 0, 0),
              tip = frame_node(&f, leg, -leg, 0);
    frame_bar(&f, root, corner, 0, elements, (double[3]){0, 1, 0}); /* axis 2 in the plane */
    frame_bar(&f, corner, tip, 0, elements, (double[3]){1, 0, 0});
    frame_hold_all(&f, root);
    frame_load(&f, tip, FRAME_X, direction);
    frame_ready(&f);
    const double load = frame_critical(&f, 0.1, high);
    frame_end(&f);
    return load;
}

static void test_angle_frame(void **unused)
{
    (void)unused;
    static const double row[][2] = {{1, 1.0875182373}, {-1, 0.6804275549}};
    for (int i = 0; i < (coupon_quick() ? 1 : 2); i++) {
        const double fine = angle_frame(row[i][0], 16, 1.5);
        check_relative(fine, row[i][1], 5e-3);
        check_relative(frame_extrapolate(angle_frame(row[i][0], 8, 1.5), fine), row[i][1], 1e-4);
    }
}

/* The same strip as a frame hinged about z at both ends, one of them sliding along the line between
 * them, under end moments: M = pi sqrt(EI GJ)/L for any angle between the legs, stiff in the plane
 * (C; Argyris et al. 1979). */
static double hinged_frame(double half_angle, int elements)
{
    static const double leg = 240;
    const double x = leg * sin(half_angle), y = leg * cos(half_angle);
    const double ends[2][3] = {{-x, 0, 0}, {x, 0, 0}};
    int node[2];
    frame f;
    frame_begin(&f, leg);
    frame_section(&f, (frame_stiffness){1e7, {1e7, 1e7}, 58732.1, {38469.6, 1e11}});
    const int corner = frame_node(&f, 0, y, 0);
    for (int i = 0; i < 2; i++) {
        node[i] = frame_node(&f, ends[i][0], ends[i][1], 0);
        frame_bar(&f, node[i], corner, 0, elements, (double[3]){0, 1, 0}); /* axis 2 in the plane */
        for (int d = i; d < FRAME_TURN_Z; d++) frame_hold(&f, node[i], d);
        frame_load(&f, node[i], FRAME_TURN_Z, i ? 1 : -1);
    }
    frame_ready(&f);
    const double moment = frame_critical(&f, 100, 1000);
    frame_end(&f);
    return moment;
}

static void test_hinged_frame(void **unused)
{
    (void)unused;
    const double exact = M_PI * sqrt(38469.6 * 58732.1) / 240;
    for (int i = 0; i < (coupon_quick() ? 1 : 3); i++) {
        const double half_angle = 0.4 + 0.5 * i;
        const double coarse = hinged_frame(half_angle, 8), fine = hinged_frame(half_angle, 16);
        check_relative(fine, exact, 5e-3);
        check_relative(frame_extrapolate(coarse, fine), exact, 1e-4);
    }
}

/* --- small-strain moduli of periodic cells --- */

typedef struct cell {
    const char *name;
    int joint_count;
    double joint[12][3]; /* places in a cell of edge 1 */
    double strut; /* length of its struts: all pairs of joints (images included) this far apart */
    int corners_only;  /* only those with one end at the corner of the cell */
    double modulus[3]; /* E along the axis over that of the solid at d/a = 0.05, 0.1, 0.2 */
} cell;

/* R: data set of Weeger 2021, Int. J. Solids Struct. 224, 111037 (CC BY 4.0). Kelvin is not in it:
 * C, closed form of Zhu, Knott & Mills 1997 with the shear of the struts, 26.66 (d/a)^4/(1 + 6
 * (d/a)^2 (1 + 2 (1 + nu)/k)). */
static const cell cells[] = {
    {"simple cubic", 1, {{0, 0, 0}}, 1, 0, {0.0019635, 0.0078540, 0.031416}},
    {"body-centred",
     2,
     {{0, 0, 0}, {0.5, 0.5, 0.5}},
     0.8660254037844386,
     0,
     {1.685e-5, 2.624e-4, 3.793e-3}},
    {"face-centred",
     4,
     {{0, 0, 0}, {0, 0.5, 0.5}, {0.5, 0, 0.5}, {0.5, 0.5, 0}},
     0.7071067811865476,
     1,
     {1.8695e-3, 7.686e-3, 3.353e-2}},
    {"octet truss",
     4,
     {{0, 0, 0}, {0, 0.5, 0.5}, {0.5, 0, 0.5}, {0.5, 0.5, 0}},
     0.7071067811865476,
     0,
     {3.7390e-3, 1.5373e-2, 6.706e-2}},
    {"Kelvin",
     12,
     {{0, 0.25, 0.5},
      {0, 0.75, 0.5},
      {0.25, 0, 0.5},
      {0.75, 0, 0.5},
      {0, 0.5, 0.25},
      {0, 0.5, 0.75},
      {0.25, 0.5, 0},
      {0.75, 0.5, 0},
      {0.5, 0, 0.25},
      {0.5, 0, 0.75},
      {0.5, 0.25, 0},
      {0.5, 0.75, 0}},
     0.3535533905932738,
     0,
     {1.568e-4, 2.130e-3, 2.126e-2}}};

/* The unloaded cell has no forces: its stiffness is that of the elements, with ends in the next
 * cell following u + strain . offset. Unknowns: 6 per joint, then the strains xx yy zz yz xz xy. */
typedef struct periodic {
    int n;
    double *k; /* n x n */
} periodic;

static void add_strut(periodic *p, const sp_spatial_section *section, const double from[3],
                      const double to[3], int a, int b, const double offset[3])
{
    static const int voigt[3][3] = {{0, 5, 4}, {5, 1, 3}, {4, 3, 2}};
    static const double up[3] = {0.3, 0.5, 0.8};
    const sp_spatial_element e = sp_spatial_piece(section, from, to, up);
    pair q = {.x = {from[0], from[1], from[2], 1, 0, 0, 0, to[0], to[1], to[2], 1}};
    double g[12], h[144];
    sp_spatial_eval(&e, section, q.x, q.x + 7, NULL, g, h, &state);
    for (int i = 0; i < 12; i++) check_close(g[i], 0, 1e-15);
    int at[12][4], count[12]; /* each end value is a sum of unknowns */
    double times[12][4];
    for (int i = 0; i < 12; i++) {
        count[i] = 1;
        at[i][0] = 6 * (i < 6 ? a : b) + i % 6;
        times[i][0] = 1;
        for (int d = 0; d < 3 && i >= 6 && i < 9; d++, count[i]++) {
            at[i][count[i]] = p->n - 6 + voigt[i - 6][d];
            times[i][count[i]] = offset[d];
        }
    }
    for (int i = 0; i < 12; i++)
        for (int j = 0; j < 12; j++)
            for (int s = 0; s < count[i]; s++)
                for (int t = 0; t < count[j]; t++)
                    p->k[at[i][s] * p->n + at[j][t]] += times[i][s] * times[j][t] * h[12 * i + j];
}

static void add_struts(periodic *p, const cell *c, const sp_spatial_section *section)
{
    for (int a = 0; a < c->joint_count; a++)
        for (int b = a; b < c->joint_count; b++)
            for (int image = 0; image < 27; image++) {
                const double offset[3] = {image % 3 - 1, image / 3 % 3 - 1, image / 9 - 1};
                double to[3], along[3];
                for (int d = 0; d < 3; d++) {
                    to[d] = c->joint[b][d] + offset[d];
                    along[d] = to[d] - c->joint[a][d];
                }
                const int seen = a == b && image < 13; /* the image behind is the same strut */
                const int other = c->corners_only && a != 0;
                if (seen || other || fabs(sqrt(sp_dot(along, along)) - c->strut) > 1e-9) continue;
                add_strut(p, section, c->joint[a], to, a, b, offset);
            }
}

/* Stress zz alone, cell of volume 1: E = stress/strain. */
static double cell_modulus(const cell *c, const sp_spatial_section *section)
{
    periodic p = {.n = 6 * c->joint_count + 6};
    const int n = p.n;
    p.k = calloc((size_t)n * (size_t)n, sizeof *p.k);
    double *x = calloc((size_t)n, sizeof *x);
    assert_true(p.k && x);
    add_struts(&p, c, section);
    for (int d = 0; d < 3; d++)
        p.k[d * n + d] += 1; /* the first joint stays: nothing pulls on it */
    x[n - 4] = 1;
    space_solve(n, p.k, x);
    const double modulus = 1 / x[n - 4];
    free(p.k);
    free(x);
    return modulus;
}

/* The source's shear moduli of the simple cubic cell give 2 (1 + nu)/k = 3.192, which is nu 0.33
 * with the shear factor k = 5/6. With Cowper's factor of the circle, which sections take by
 * themselves, the thick Kelvin cell is 2.4 % stiffer. */
static void test_periodic_cells(void **unused)
{
    (void)unused;
    static const double thickness[3] = {0.05, 0.1, 0.2};
    const sp_law law = law_of("linear", 1, 0.33);
    for (size_t i = 0; i < sizeof cells / sizeof *cells; i++)
        for (int k = 0; k < 3; k++) {
            sp_spatial_section section;
            sp_spatial_circle(&section, &law, thickness[k], 3);
            const double own = cell_modulus(&cells[i], &section);
            section.shear_stiffness[0] = section.shear_stiffness[1] =
                5.0 / 6 * law.shear_modulus * M_PI * thickness[k] * thickness[k] / 4;
            const double cell_e = cell_modulus(&cells[i], &section);
            check_relative(cell_e, cells[i].modulus[k], 5e-4);
            check_relative(own, cell_e, 2.5e-2);
        }
}

/* Body-centred blocks of 3 x 3 x 3 cells between rigid platens, linear, nu 0.35, Cowper's shear
 * factor; stiffness in N/mm per 1000 MPa (C). Bonded platens hold the joints on them altogether,
 * sliding ones only along the press. */
static double block_stiffness(double cell_edge, double diameter, int bonded)
{
    const sp_law law = law_of("linear", 1000, 0.35);
    const double press = 1e-5 * cell_edge, half = 0.5 * cell_edge;
    int corner[4][4][4];
    frame f;
    frame_begin(&f, cell_edge);
    sp_spatial_section section;
    sp_spatial_circle(&section, &law, diameter, 3);
    frame_take_section(&f, &section);
    for (int i = 0; i < 64; i++) {
        const int node =
            frame_node(&f, cell_edge * (i % 4), cell_edge * (i / 4 % 4), cell_edge * (i / 16));
        corner[i / 16][i / 4 % 4][i % 4] = node;
        if (i / 16 % 3) continue;
        frame_hold(&f, node, FRAME_Z);
        for (int d = 0; d < 6 && bonded; d++) frame_hold(&f, node, d);
    }
    for (int i = 0; i < 27; i++) {
        const int x = i % 3, y = i / 3 % 3, z = i / 9;
        const int middle =
            frame_node(&f, cell_edge * x + half, cell_edge * y + half, cell_edge * z + half);
        for (int k = 0; k < 8; k++)
            frame_bar(&f, middle, corner[z + k / 4][y + k / 2 % 2][x + k % 2], 0, 1,
                      (double[3]){0.3, 0.5, 0.8});
    }
    frame_hold(&f, corner[0][0][0], FRAME_X); /* against drift and turning */
    frame_hold(&f, corner[0][0][0], FRAME_Y);
    frame_hold(&f, corner[0][0][3], FRAME_Y);
    frame_ready(&f);
    for (int i = 0; i < 16; i++) f.x[7 * corner[3][i / 4][i % 4] + 2] -= press;
    frame_follow(&f, 0);
    double force = 0;
    for (int i = 0; i < 16; i++) force -= frame_force(&f, corner[3][i / 4][i % 4], FRAME_Z);
    frame_end(&f);
    return force / press;
}

static void test_blocks(void **unused)
{
    (void)unused;
    static const double row[][4] = {
        {20, 1.2, 27.69, 1.84}, {20, 1.8, 70.22, 9.17}, {10, 0.9, 35.11, 4.59}};
    for (int i = 0; i < 3; i += coupon_quick() ? 3 : 1) {
        check_relative(block_stiffness(row[i][0], row[i][1], 1), row[i][2], 2e-3);
        check_relative(block_stiffness(row[i][0], row[i][1], 0), row[i][3], 3e-3);
    }
}

/* Every instruction set gives the same bits, and each lane is independent of the others. */
static void test_lanes(void **unused)
{
    (void)unused;
    enum { LANE = 3 };
    static sp_spatial_input in, one;
    static sp_spatial_output out[SP_WAY_MAX], alone;
    sp_spatial_way *const *way = sp_spatial_ways();
    const int ways = sp_way_count();
    const size_t numbers = sizeof in / sizeof in.length;
    fill_lanes(&in.length, numbers, 11);
    for (int i = 0; i < ways; i++) {
        way[i](&in, &out[i]);
        assert_memory_equal(&out[i], &out[0], sizeof out[0]);
    }
    repeat_lane(&in.length, LANE, numbers, &one.length);
    sp_spatial_lanes_eval(&one, &alone);
    check_lane((const sp_lanes8 *)&alone, (const sp_lanes8 *)&out[0], LANE,
               sizeof alone / sizeof(sp_lanes8));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exp_and_log),
        cmocka_unit_test(test_frame_of_a_strut),
        cmocka_unit_test(test_chord_derivatives),
        cmocka_unit_test(test_lanes),
        cmocka_unit_test(test_element_differences),
        cmocka_unit_test(test_element_differences_after_history),
        cmocka_unit_test(test_element_differences_in_time),
        cmocka_unit_test(test_differences_far),
        cmocka_unit_test(test_rigid_motion),
        cmocka_unit_test(test_objectivity),
        cmocka_unit_test(test_path_independence),
        cmocka_unit_test(test_in_plane),
        cmocka_unit_test(test_disc_quadrature),
        cmocka_unit_test(test_square_of_rubber),
        cmocka_unit_test(test_disc_of_rubber),
        cmocka_unit_test(test_section_constants),
        cmocka_unit_test(test_beyond_the_law),
        cmocka_unit_test(test_roll_up),
        cmocka_unit_test(test_45_degree_bend),
        cmocka_unit_test(test_load_cycles),
        cmocka_unit_test(test_helix),
        cmocka_unit_test(test_princeton_beam),
        cmocka_unit_test(test_rigid_ends),
        cmocka_unit_test(test_bow_is_stress_free),
        cmocka_unit_test(test_order_of_loads),
        cmocka_unit_test(test_lateral_buckling),
        cmocka_unit_test(test_euler_in_space),
        cmocka_unit_test(test_rubber_column),
        cmocka_unit_test(test_shaft_under_torque),
        cmocka_unit_test(test_clamped_shaft),
        cmocka_unit_test(test_twisted_ring),
        cmocka_unit_test(test_angle_frame),
        cmocka_unit_test(test_hinged_frame),
        cmocka_unit_test(test_periodic_cells),
        cmocka_unit_test(test_blocks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
