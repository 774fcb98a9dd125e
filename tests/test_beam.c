/* These tests check the planar element against finite differences, rigid motion, and published
 * large deflections of single beams.
 *
 * Marks of values: C computed from the closed form, M from memory of the source. */
#include "check.h"

#include "base/rng.h"
#include "beam/linear_part.h"
#include "beam/planar.h"
#include "bench_model.h"
#include "every_law.h"

/* --- the element by itself --- */

static sp_beam_state state; /* of the last element evaluated */
static double *history;     /* of its fibres; NULL: none */

static double value_at(const sp_element *e, const sp_section *s, const double q[6])
{
    double g[6], h[36];
    return sp_planar_eval(e, s, q, q + 3, history, g, h, &state);
}

/* Check five-point differences of energy and gradient, relative to the largest entry of either. */
static void check_element(const sp_element *e, const sp_section *s, const double q[6],
                          const char *name)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double h = 2e-6; /* a table has kinks in its tangent */
    double g[6], k[36], unused[36], most_g = 0, most_k = 0, off_g = 0, off_k = 0;
    check_true(isfinite(sp_planar_eval(e, s, q, q + 3, history, g, k, &state)));
    for (int i = 0; i < 6; i++) {
        double slope = 0, row[6] = {0};
        for (int p = 0; p < 4; p++) {
            double moved[6], gm[6];
            memcpy(moved, q, sizeof moved);
            moved[i] += at[p] * h;
            slope += weight[p] * value_at(e, s, moved) / (12 * h);
            sp_planar_eval(e, s, moved, moved + 3, history, gm, unused, &state);
            for (int j = 0; j < 6; j++) row[j] += weight[p] * gm[j] / (12 * h);
        }
        most_g = fmax(most_g, fabs(g[i]));
        off_g = fmax(off_g, fabs(slope - g[i]));
        for (int j = 0; j < 6; j++) {
            check_true(k[6 * i + j] == k[6 * j + i]);
            most_k = fmax(most_k, fabs(k[6 * i + j]));
            off_k = fmax(off_k, fabs(row[j] - k[6 * i + j]));
        }
    }
    if (!(off_g <= 1e-6 * most_g) || !(off_k <= 1e-6 * most_k))
        fail_msg("%s: gradient off by %.2g, Hessian by %.2g (relative)", name, off_g / most_g,
                 off_k / most_k);
}

static sp_element some_element(const sp_section *section, int with_arms)
{
    sp_element e = {.node = {0, 1}, .length = 1.3, .direction = 0.7};
    e.shear = 1 / (1 / section->shear_stiffness +
                   e.length * e.length / (12 * section->bending_stiffness));
    if (with_arms) {
        e.arm[0][0] = 0.31, e.arm[0][1] = -0.12;
        e.arm[1][0] = -0.23, e.arm[1][1] = 0.17;
    }
    return e;
}

/* Set unloaded node values: the ends of the element are apart by its length, and nodes stand at the
 * far ends of the arms. */
static void unloaded(const sp_element *e, double q[6])
{
    const double p[2] = {e->length * cos(e->direction), e->length * sin(e->direction)};
    for (int d = 0; d < 2; d++) {
        q[d] = -e->arm[0][d];
        q[3 + d] = p[d] - e->arm[1][d];
    }
    q[2] = q[5] = 0;
}

static void differences_of(const sp_law *law)
{
    sp_section section;
    sp_rng rng;
    sp_rng_seed(&rng, 3, 0);
    for (int trial = 0; trial < 24; trial++) {
        sp_section_rectangle(&section, law, 0.4, 2, 5 + trial % 3);
        if (trial >= 12) sp_section_spread(&section, 1 + 0.05 * trial); /* E148 */
        const sp_element e = some_element(&section, trial % 2);
        double q[6];
        unloaded(&e, q);
        for (int i = 0; i < 6; i++) q[i] += 0.12 * sp_rng_normal(&rng);
        check_element(&e, &section, q, law->row->name);
    }
}

/* A strut whose joints stretch, too (E148), is as soft along its axis as a strut that is longer by
 * this much, and no softer in bending. However hard it is squeezed, some of it is left: each
 * halving of the chord costs more force. */
static void bodies_of(const sp_law *law)
{
    sp_section plain, spread;
    sp_beam_state state_of;
    double g[6], k[36];
    sp_section_rectangle(&plain, law, 0.4, 2, 5);
    spread = plain;
    sp_section_spread(&spread, 1.6);
    const sp_element e = some_element(&plain, 0);
    const double c = cos(e.direction), s = sin(e.direction), along[6] = {-c, -s, 0, c, s, 0};
    const double turn[6] = {0, 0, -1, 0, 0, 1};
    double q[6], stiffness[2][2];
    for (int i = 0; i < 2; i++) {
        unloaded(&e, q);
        check_true(
            isfinite(sp_planar_eval(&e, i ? &spread : &plain, q, q + 3, NULL, g, k, &state_of)));
        stiffness[i][0] = stiffness[i][1] = 0;
        for (int a = 0; a < 6; a++)
            for (int b = 0; b < 6; b++) {
                stiffness[i][0] += along[a] * k[6 * a + b] * along[b];
                stiffness[i][1] += turn[a] * k[6 * a + b] * turn[b];
            }
    }
    check_relative(stiffness[1][0], stiffness[0][0] / 1.6, 1e-12);
    check_relative(stiffness[1][1], stiffness[0][1], 1e-12);
    double before = 0;
    for (double left = 0.5; left > 1e-3; left /= 2) { /* of the chord */
        unloaded(&e, q);
        for (int d = 0; d < 2; d++) q[3 + d] *= left;
        const double energy = sp_planar_eval(&e, &spread, q, q + 3, NULL, g, k, &state_of);
        if (!(energy < INFINITY)) break; /* the law ends here */
        check_relative(sp_planar_chord(&e, &spread, &state_of), left, 1e-9);
        const double force = -(g[3] * c + g[4] * s);
        check_true(force > 1.1 * before);
        before = force;
    }
    unloaded(&e, q);
    for (int d = 0; d < 2; d++) q[3 + d] *= -0.01;
    check_true(sp_planar_eval(&e, &spread, q, q + 3, NULL, g, k, &state_of) == INFINITY);
}

static void test_bodies_of_joints(void **unused)
{
    (void)unused;
    every_law(bodies_of);
}

static void test_element_differences(void **unused)
{
    (void)unused;
    every_law(differences_of);
}

/* Let an element be asked at two places, one of them at its end A (1) or B (-1); 0: as it was. */
static void ask_twice(sp_element *e, sp_section *section, int joint_end)
{
    if (joint_end == 0) return;
    sp_section_split(section, e->length);
    e->joint_end = joint_end;
    e->shear = section->shear_stiffness;
}

/* Enter the last state that was evaluated into the history of an element; `scalars` stand behind
 * its fibres. Returns what its fibres have dissipated. */
static double keep_state(const sp_section *section, int scalars, double *kept)
{
    const sp_section_strain z = {state.eps, state.curvature[1], state.more[0], state.more[1]};
    double *more = kept + sp_linear_place(section->law, section->points, scalars);
    for (int i = 0; section->two.first > 0 && i < SP_PLANAR_MORE; i++) more[i] = state.more[i];
    return sp_section_keep(section, &z, kept);
}

/* Make a history: after two accepted states a third one yields further in some fibres and unloads
 * others. */
static void differences_after_history_of(const sp_law *law)
{
    double kept[128];
    sp_rng rng;
    if (!law->row->history) return;
    sp_rng_seed(&rng, 5, 0);
    for (int trial = 0; trial < 36; trial++) {
        sp_section section;
        sp_section_rectangle(&section, law, 0.4, 2, 6);
        sp_section_spread(&section, 1.4);
        sp_element e = some_element(&section, trial % 2);
        ask_twice(&e, &section, trial < 12 ? 0 : trial < 24 ? 1 : -1);
        assert_true(sp_linear_place(law, section.points, 1) + SP_PLANAR_MORE <= 128);
        memset(kept, 0, sizeof kept);
        history = kept;
        for (int part = 0; part < 3; part++) {
            double q[6];
            unloaded(&e, q);
            for (int i = 0; i < 6; i++) q[i] += 0.12 * sp_rng_normal(&rng);
            check_element(&e, &section, q, law->row->name);
            value_at(&e, &section, q);
            const double lost = keep_state(&section, 1, kept);
            check_true(part < 2 || lost > 0);
        }
        history = NULL;
    }
}

static void test_element_differences_after_history(void **unused)
{
    (void)unused;
    every_law(differences_after_history_of);
}

/* Do the same of a law in time, in steps from none to hours; shear relaxes behind the fibres. */
static void differences_in_time_of(const sp_law *law)
{
    static const double step[] = {0, 0.3, 1e4, 20};
    double kept[1024];
    sp_rng rng;
    sp_rng_seed(&rng, 6, 0);
    for (int trial = 0; trial < 16; trial++) {
        sp_section section;
        sp_section_rectangle(&section, law, 0.4, 2, 6);
        sp_element e = some_element(&section, trial % 2);
        ask_twice(&e, &section, trial < 8 ? 0 : trial < 12 ? 1 : -1);
        const size_t fibres = sp_linear_place(law, section.points, 0);
        assert_true(sp_linear_place(law, section.points, 1) + SP_PLANAR_MORE <= 1024);
        memset(kept, 0, sizeof kept);
        history = kept;
        for (int part = 0; part < 4; part++) {
            double q[6];
            unloaded(&e, q);
            for (int i = 0; i < 6; i++) q[i] += 0.12 * sp_rng_normal(&rng);
            sp_law_arm(law, step[part], section.points, kept);
            sp_law_scalar_arm(law, step[part], kept + fibres);
            check_element(&e, &section, q, law->row->name);
            value_at(&e, &section, q);
            keep_state(&section, 1, kept);
            sp_law_scalar_keep(law, 1, state.shear[0], kept + fibres);
        }
        history = NULL;
    }
}

static void test_element_differences_in_time(void **unused)
{
    (void)unused;
    every_law_in_time(differences_in_time_of);
}

/* Unloaded, an element that is asked at two places has the stiffness of one that is asked in its
 * middle: two points integrate the moments of a linear frame exactly, as E5 does (MacNeal 1978).
 * So it has wherever the place by the joint is, from that of Radau to that of Gauss. */
static void linear_of(const sp_law *law)
{
    static const double thickness[] = {0.1, 0.8, 1.5};
    for (int i = 0; i < 6; i++) {
        sp_section section;
        sp_section_rectangle(&section, law, thickness[i / 2], 2, 3);
        sp_element e = some_element(&section, i % 2);
        double q[6], g[6], once[36], twice[36];
        unloaded(&e, q);
        sp_planar_eval(&e, &section, q, q + 3, NULL, g, once, &state);
        ask_twice(&e, &section, i % 2 ? 1 : -1);
        assert_true(section.two.share >= 0.25 && section.two.share <= 0.5);
        sp_planar_eval(&e, &section, q, q + 3, NULL, g, twice, &state);
        for (int k = 0; k < 36; k++) check_close(twice[k], once[k], 1e-10 * once[0]);
    }
}

static void test_two_places_are_linear(void **unused)
{
    (void)unused;
    every_law(linear_of);
}

static void rigid_motion_of(const sp_law *law)
{
    static const double turn[] = {0, 0.4, 2, -3, 11};
    sp_section section;
    sp_section_rectangle(&section, law, 0.4, 2, 6);
    for (int with_arms = 0; with_arms < 2; with_arms++)
        for (int t = 0; t < 5; t++) {
            const sp_element e = some_element(&section, with_arms);
            double q[6], g[6], h[36];
            unloaded(&e, q);
            const double c = cos(turn[t]), s = sin(turn[t]);
            for (int n = 0; n < 6; n += 3) {
                const double x = q[n], y = q[n + 1];
                q[n] = 7 + c * x - s * y;
                q[n + 1] = -4 + s * x + c * y;
                q[n + 2] = turn[t];
            }
            check_close(sp_planar_eval(&e, &section, q, q + 3, NULL, g, h, &state), 0,
                        1e-24 * section.axial_stiffness);
            for (int i = 0; i < 6; i++) check_close(g[i], 0, 1e-13 * section.axial_stiffness);
        }
}

static void test_rigid_motion(void **unused)
{
    (void)unused;
    every_law(rigid_motion_of);
}

/* A loaded element gives the same energy, and the turned forces, wherever it is carried. */
static void objectivity_of(const sp_law *law)
{
    sp_section section;
    sp_section_rectangle(&section, law, 0.4, 2, 6);
    const sp_element e = some_element(&section, 1);
    const double turn = 1.9, c = cos(turn), s = sin(turn);
    double q[6], r[6], g[6], f[6], h[36];
    unloaded(&e, q);
    q[3] += 0.1, q[4] -= 0.15, q[5] += 0.3;
    for (int n = 0; n < 6; n += 3) {
        r[n] = 3 + c * q[n] - s * q[n + 1];
        r[n + 1] = 5 + s * q[n] + c * q[n + 1];
        r[n + 2] = q[n + 2] + turn;
    }
    const double one = sp_planar_eval(&e, &section, q, q + 3, NULL, g, h, &state);
    check_relative(sp_planar_eval(&e, &section, r, r + 3, NULL, f, h, &state), one, 1e-12);
    const double scale = 1e-12 * section.axial_stiffness;
    const double lean = e.direction + 0.5 * (r[2] + r[5]);
    check_close(state.axial_force, f[3] * cos(lean) + f[4] * sin(lean), scale);
    for (int n = 0; n < 6; n += 3) {
        check_close(f[n], c * g[n] - s * g[n + 1], scale);
        check_close(f[n + 1], s * g[n] + c * g[n + 1], scale);
        check_close(f[n + 2], g[n + 2], scale);
    }
    /* The element is in balance: there is no net force and no net moment. */
    check_close(g[0] + g[3], 0, scale);
    check_close(g[1] + g[4], 0, scale);
    check_close(g[2] + g[5] + q[0] * g[1] - q[1] * g[0] + q[3] * g[4] - q[4] * g[3], 0, scale);
}

static void test_objectivity(void **unused)
{
    (void)unused;
    every_law(objectivity_of);
}

/* --- a cantilever along x, clamped at the origin, length 1, EI = 1 --- */

static void cantilever(bench *b, int elements, double axial, double shear)
{
    bench_begin(b, 1, 0);
    bench_joint(b, 0, 0);
    bench_joint(b, 1, 0);
    bench_strut(b, 0, 1, 0.01);
    bench_mesh(b, elements);
    bench_stiffness(b, 0, axial, 1, shear);
    for (int d = 0; d < 3; d++) bench_hold(b, 0, d, SP_HELD);
}

/* An end moment rolls a strut of any axial and shear stiffness up to a regular polygon, exactly:
 * every node turns by mu/N, and every side is 1/N less what the bent strut is longer than its
 * chord, (mu/N)^2/24 (E91). */
static void test_roll_up(void **unused)
{
    (void)unused;
    static const double half_circle[][2] = {
        {4, 0.65328148243819}, {8, 0.64072886193538}, {16, 0.63764357733615}};
    for (int flexible = 0; flexible < 2; flexible++)
        for (int steps = 1; steps <= 20; steps += 19) { /* the same in 1 step or 20 */
            const double stiff = flexible ? 30 : 1e3;
            bench b;
            for (int i = 0; i < 3; i++) {
                cantilever(&b, (int)half_circle[i][0], stiff, stiff);
                bench_load(&b, 1, BENCH_TURN, 1);
                bench_ready(&b);
                bench_descend_in(&b, M_PI, 0, steps);
                const double turn = M_PI / half_circle[i][0];
                check_close(bench_at(&b, 1, BENCH_Y), half_circle[i][1] * (1 - turn * turn / 24),
                            1e-10);
                check_close(bench_at(&b, 1, BENCH_TURN), M_PI, 1e-10);
                bench_end(&b);
            }
            for (int n = 2; n <= 17; n += 3) {
                cantilever(&b, n, stiff, stiff);
                bench_load(&b, 1, BENCH_TURN, 1);
                bench_ready(&b);
                bench_descend_in(&b, 2 * M_PI, 0, steps);
                check_close(bench_at(&b, 1, BENCH_X), 0, 1e-10);
                check_close(bench_at(&b, 1, BENCH_Y), 0, 1e-10);
                bench_end(&b);
            }
        }
}

typedef struct deflected {
    double along, across, turn;
} deflected;

static deflected tip_of(int elements, double axial, double shear, double load)
{
    bench b;
    cantilever(&b, elements, axial, shear);
    bench_load(&b, 1, BENCH_Y, 1);
    bench_ready(&b);
    bench_descend_in(&b, load, 0, 10);
    const deflected tip = {-bench_moved(&b, 1, BENCH_X), bench_at(&b, 1, BENCH_Y),
                           bench_at(&b, 1, BENCH_TURN)};
    bench_end(&b);
    return tip;
}

/* C, elliptic integrals; Bisshopp & Drucker 1945, Mattiasson 1981 (Table 1). Columns: P L^2/EI,
 * u/L, v/L, theta. */
static const double elastica_tip[][4] = {{0.2, 0.00264654834, 0.06636448214, 0.09963616304},
                                         {1, 0.05643323628, 0.30172077380, 0.46135194971},
                                         {2, 0.16064172083, 0.49345748040, 0.78174983156},
                                         {5, 0.38762836072, 0.71379152361, 1.21536811761},
                                         {10, 0.55499559775, 0.81060902488, 1.43028553880}};

static void test_cantilever_tip_load(void **unused)
{
    (void)unused;
    for (size_t i = 0; i < sizeof elastica_tip / sizeof *elastica_tip; i++) {
        const double *row = elastica_tip[i];
        const deflected tip = tip_of(32, 1e7, 1e7, row[0]);
        check_relative(tip.along, row[1], 1e-3);
        check_relative(tip.across, row[2], 1e-3);
        check_relative(tip.turn, row[3], 1e-3);
    }
}

/* Halving the length of the elements divides the error by 16; without E91 it would be by 4. */
static void test_fourth_order(void **unused)
{
    (void)unused;
    for (size_t i = 1; i < sizeof elastica_tip / sizeof *elastica_tip; i++) {
        const double *row = elastica_tip[i];
        const deflected fine = tip_of(4, 1e7, 1e7, row[0]), finest = tip_of(8, 1e7, 1e7, row[0]);
        check_close((fine.along - row[1]) / (finest.along - row[1]), 16, 0.5);
        check_close(finest.along, row[1], 3e-5);
        check_close(finest.across, row[2], 3e-5);
        check_close(finest.turn, row[3], 3e-5);
    }
}

/* C; theory Reissner 1972, closed form Batista 2016. Rectangle, nu 0.3, k 5/6: h/L, P L^2/EI, u/L,
 * v/L, theta. */
static void test_cantilever_flexible(void **unused)
{
    (void)unused;
    static const double row[][5] = {{0.1, 1, 0.056866315682, 0.30397305724, 0.46109100098},
                                    {0.1, 5, 0.38922722798, 0.72054526138, 1.2124607391},
                                    {0.1, 10, 0.5570591127, 0.82251158589, 1.4266876578},
                                    {0.2, 1, 0.05816346011, 0.31073294934, 0.46030935962},
                                    {0.2, 5, 0.39404923539, 0.74092655553, 1.2035800082},
                                    {0.2, 10, 0.56332329233, 0.8584926391, 1.4151877061}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        const double axial = 12 / (row[i][0] * row[i][0]), shear = axial / 3.12;
        const deflected fine = tip_of(16, axial, shear, row[i][1]),
                        finest = tip_of(32, axial, shear, row[i][1]);
        check_relative(finest.along, row[i][2], 1e-3);
        check_relative(finest.across, row[i][3], 1e-3);
        check_relative(finest.turn, row[i][4], 1e-3);
        check_close(bench_extrapolate(fine.along, finest.along), row[i][2], 2e-6);
        check_close(bench_extrapolate(fine.across, finest.across), row[i][3], 2e-6);
        check_close(bench_extrapolate(fine.turn, finest.turn), row[i][4], 2e-6);
    }
}

/* The one-point element with the residual flexibility (MacNeal 1978) is exact for linear frames: a
 * cantilever of any number of elements under a small load bends by P L^3/3EI + P L/GA. */
static void test_linear_is_exact(void **unused)
{
    (void)unused;
    for (int n = 1; n <= 4; n++) {
        const double load = 1e-6, shear = 200;
        check_relative(tip_of(n, 300, shear, load).across, load * (1.0 / 3 + 1 / shear), 2e-9);
    }
}

/* The same with the stiffnesses that the model gives a strut of thickness h and depth 1 (E = 1, nu
 * = 0, k = 5/6), as the other checks here set their own. Timoshenko, Strength of Materials. */
static void test_model_is_exact(void **unused)
{
    (void)unused;
    for (int n = 1; n <= 4; n++)
        for (int thick = 1; thick <= 3; thick++) {
            const double h = 0.1 * thick, bending = h * h * h / 12, shear = 5.0 / 6 * h / 2;
            const double load = 1e-5 * bending;
            bench b;
            bench_begin(&b, 1, 0);
            bench_joint(&b, 0, 0);
            bench_joint(&b, 1, 0);
            bench_strut(&b, 0, 1, h);
            bench_mesh(&b, n);
            for (int d = 0; d < 3; d++) bench_hold(&b, 0, d, SP_HELD);
            bench_load(&b, 1, BENCH_Y, 1);
            bench_ready(&b);
            bench_follow(&b, load, 0);
            check_relative(bench_at(&b, 1, BENCH_Y), load * (1 / (3 * bending) + 1 / shear), 1e-8);
            bench_end(&b);
        }
}

/* --- guided strut and diamond --- */

/* Both ends keep their direction, the upper is free sideways; length 1, EI 1. C, elliptic
 * integrals; Mattiasson 1981, Jenkins, Seitz & Przemieniecki 1966. Columns: P l^2/EI, then H/l, W/l
 * from 45 deg, H/l, W/l from 30 deg. */
static const double guided[][5] = {
    {-10, 0.887076612481, 0.441162656846, 0.800182108011, 0.572385598124},
    {-1, 0.744629442906, 0.667031034506, 0.557838838188, 0.829388580764},
    {1, 0.660758429855, 0.750061198627, 0.432885165625, 0.900810733099},
    {3, 0.536760571674, 0.838095327213, 0.275589843703, 0.955093568700},
    {5, 0.375563380879, 0.909714763946, 0.107980809006, 0.976977462839},
    {10, -0.013807551328, 0.938187039378, -0.218865236039, 0.920477569254}};

static void guided_strut(double degrees, double load, double *height, double *width)
{
    bench b;
    bench_begin(&b, 1, 0);
    bench_joint(&b, 0, 0);
    bench_joint(&b, cos(degrees * M_PI / 180), sin(degrees * M_PI / 180));
    bench_strut(&b, 0, 1, 0.01);
    bench_mesh(&b, 32);
    bench_stiffness(&b, 0, 1e7, 1, 1e7);
    for (int d = 0; d < 3; d++) bench_hold(&b, 0, d, SP_HELD);
    bench_hold(&b, 1, BENCH_TURN, SP_HELD);
    bench_load(&b, 1, BENCH_Y, -1);
    bench_ready(&b);
    bench_descend_in(&b, load, 0, 20);
    *height = bench_at(&b, 1, BENCH_Y);
    *width = bench_at(&b, 1, BENCH_X);
    bench_end(&b);
}

static void test_guided_strut(void **unused)
{
    (void)unused;
    for (size_t i = 0; i < sizeof guided / sizeof *guided; i++)
        for (int k = 0; k < 2; k++) {
            double height, width;
            guided_strut(k ? 30 : 45, guided[i][0], &height, &width);
            check_close(height, guided[i][1 + 2 * k], 1e-3); /* of the length */
            check_close(width, guided[i][2 + 2 * k], 1e-3);
        }
}

/* Square frame of side 1 pulled or pressed along a diagonal, all corners rigid: every side is a
 * guided strut under half the load (the classical frame with two hinges is the same table read at
 * twice the length). */
static void test_diamond(void **unused)
{
    (void)unused;
    const double r = sqrt(0.5);
    for (size_t i = 0; i < sizeof guided / sizeof *guided; i++) {
        bench b;
        bench_begin(&b, 1, 0);
        bench_joint(&b, 0, -r);
        bench_joint(&b, r, 0);
        bench_joint(&b, 0, r);
        bench_joint(&b, -r, 0);
        for (int s = 0; s < 4; s++) bench_strut(&b, s, (s + 1) % 4, 0.01);
        bench_mesh(&b, 32);
        bench_stiffness(&b, -1, 1e7, 1, 1e7);
        for (int d = 0; d < 3; d++) bench_hold(&b, 0, d, SP_HELD);
        bench_hold(&b, 2, BENCH_X, SP_HELD); /* past 4 EI/l^2 it would sway */
        bench_load(&b, 2, BENCH_Y, -1);
        bench_ready(&b);
        bench_descend_in(&b, 2 * guided[i][0], 0, 20);
        check_close(bench_at(&b, 2, BENCH_Y) - bench_at(&b, 0, BENCH_Y), 2 * guided[i][1], 2e-3);
        check_close(bench_at(&b, 1, BENCH_X) - bench_at(&b, 3, BENCH_X), 2 * guided[i][2], 2e-3);
        /* corner moment X/2 W (C) */
        const double corner = 0.5 * 2 * guided[i][0] * 0.5 *
                              (bench_at(&b, 1, BENCH_X) - bench_at(&b, 3, BENCH_X)) / 2;
        double g[6], h[36];
        const sp_element *e = &b.model.element[b.model.strut_element[1]];
        sp_planar_eval(e, &b.model.section[1], b.system.x + 3 * e->node[0],
                       b.system.x + 3 * e->node[1], NULL, g, h, &state);
        check_close(fabs(g[2]), fabs(corner), 1e-6 * fmax(1, fabs(corner)));
        bench_end(&b);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_element_differences),
        cmocka_unit_test(test_bodies_of_joints),
        cmocka_unit_test(test_element_differences_after_history),
        cmocka_unit_test(test_two_places_are_linear),
        cmocka_unit_test(test_element_differences_in_time),
        cmocka_unit_test(test_rigid_motion),
        cmocka_unit_test(test_objectivity),
        cmocka_unit_test(test_roll_up),
        cmocka_unit_test(test_cantilever_tip_load),
        cmocka_unit_test(test_fourth_order),
        cmocka_unit_test(test_cantilever_flexible),
        cmocka_unit_test(test_linear_is_exact),
        cmocka_unit_test(test_model_is_exact),
        cmocka_unit_test(test_guided_strut),
        cmocka_unit_test(test_diamond),
    };
    return cmocka_run_group_tests_name("beam", tests, NULL, NULL);
}
