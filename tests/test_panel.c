/* Panels: the bar they are made of by itself, and plates as frameworks of such bars against the plates of the handbooks. */
#include "check.h"
#include "every_law.h"

#include "base/rng.h"
#include "base/so3.h"
#include "beam/panel.h"
#include "section/panel.h"

/* --- the bar by itself --- */

typedef struct pair {
    double x[14]; /* node values of A and B */
} pair;

static sp_beam_state state; /* of the last bar evaluated */
static double *history;     /* of its fibres; NULL: none */

static void move(pair *q, int unknown, double by)
{
    double step[6] = {0};
    step[unknown % 6] = by;
    sp_spatial_move(step, q->x + (unknown < 6 ? 0 : 7));
}

static double eval(const sp_spatial_element *e, const sp_spatial_section *s, const pair *q,
                   double g[12], double h[144])
{
    return sp_panel_eval(e, s, q->x, q->x + 7, history, g, h, &state);
}

/* Five-point differences of energy and gradient along geodesics, relative to the largest entry of either; by spins of one
 * node the gradient differs by half the moment more (E47). */
static void check_bar(const sp_spatial_element *e, const sp_spatial_section *s, const pair *q,
                      const char *name)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double step = 2e-6;
    double g[12], k[144], unused[144], difference[144] = {0};
    double most_g = 0, most_k = 0, off_g = 0, off_k = 0;
    check_true(isfinite(eval(e, s, q, g, k)));
    for (int j = 0; j < 12; j++) {
        double slope = 0;
        for (int p = 0; p < 4; p++) {
            double moved_g[12];
            pair moved = *q;
            move(&moved, j, at[p] * step);
            slope += weight[p] * eval(e, s, &moved, moved_g, unused) / (12 * step);
            for (int i = 0; i < 12; i++)
                difference[12 * i + j] += weight[p] * moved_g[i] / (12 * step);
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
    for (int i = 0; i < 144; i++) {
        check_true(k[i] == k[12 * (i % 12) + i / 12]);
        most_k = fmax(most_k, fabs(k[i]));
        off_k = fmax(off_k, fabs(difference[i] - k[i]));
    }
    if (!(off_g <= 1e-6 * most_g) || !(off_k <= 1e-6 * most_k))
        fail_msg("%s: gradient off by %.2g, Hessian by %.2g (relative)", name, off_g / most_g,
                 off_k / most_k);
}

static sp_spatial_element some_bar(const sp_spatial_section *section, pair *q)
{
    static const double from[3] = {0.2, -0.1, 0.3}, to[3] = {0.9, 0.7, -0.5}, up[3] = {0.1, 0.3, 1};
    memset(q, 0, sizeof *q);
    q->x[3] = q->x[10] = 1;
    memcpy(q->x, from, sizeof from);
    memcpy(q->x + 7, to, sizeof to);
    return sp_spatial_piece(section, from, to, up);
}

static void differences_of(const sp_law *law)
{
    static const double size[] = {1e-3, 0.1, 0.1, 0.14};
    double kept[4 * SP_SPATIAL_POINTS_MAX];
    sp_rng rng;
    sp_rng_seed(&rng, 3, 0);
    for (int trial = 0; trial < 16; trial++) {
        sp_spatial_section section;
        pair q;
        sp_panel_section(&section, law, 0.7, trial % 2 ? 0.3 : 0.6, 4);
        const sp_spatial_element e = some_bar(&section, &q);
        for (int i = 0; i < 12; i++) move(&q, i, size[trial % 4] * sp_rng_normal(&rng));
        check_bar(&e, &section, &q, law->row->name);
        if (!law->row->history) continue;
        memset(kept, 0, sizeof kept);
        sp_spatial_section_keep(&section, (double[3]){state.eps, 0, state.curvature[1]}, kept);
        history = kept;
        for (int i = 0; i < 12; i++) move(&q, i, 0.05 * sp_rng_normal(&rng));
        check_bar(&e, &section, &q, law->row->name);
        history = NULL;
    }
}

static void test_differences(void **unused)
{
    (void)unused;
    every_law(differences_of);
}

/* A bar that has turned over against its nodes: only the linear law stands the strain of its ends. */
static void differences_far(const sp_law *law)
{
    if (strcmp(law->row->name, "linear") != 0) return;
    for (int trial = 0; trial < 12; trial++) {
        sp_spatial_section section;
        pair q;
        double step[6] = {-0.3 - 0.05 * trial, 0.4, -0.3, 0.1 * trial, 0.2, -0.15 * trial};
        sp_panel_section(&section, law, 0.7, 0.3, 4);
        const sp_spatial_element e = some_bar(&section, &q);
        sp_spatial_move(step, q.x + 7);
        check_bar(&e, &section, &q, "ends far from parallel");
    }
}

static void test_differences_far(void **unused)
{
    (void)unused;
    every_law(differences_far);
}

/* Turned and shifted as a whole it holds nothing. */
static void rigid_motion_of(const sp_law *law)
{
    static const double turn[4][3] = {{0, 0, 0}, {0.4, 0, 0}, {1.9, 1.9, 1.5}, {0, 0, M_PI}};
    for (int trial = 0; trial < 4; trial++) {
        sp_spatial_section section;
        pair q;
        double g[12], h[144], by[4], m[9];
        sp_panel_section(&section, law, 0.7, 0.3, 5);
        const sp_spatial_element e = some_bar(&section, &q);
        sp_so3_exp(turn[trial], by);
        sp_so3_matrix(by, m);
        for (int n = 0; n < 14; n += 7) {
            const double at[3] = {q.x[n], q.x[n + 1], q.x[n + 2]};
            for (int i = 0; i < 3; i++) q.x[n + i] = 5 + sp_dot(m + 3 * i, at);
            sp_so3_turn(turn[trial], q.x + n + 3);
        }
        check_close(eval(&e, &section, &q, g, h), 0, 1e-24 * section.axial_stiffness);
        for (int i = 0; i < 12; i++) check_close(g[i], 0, 1e-13 * section.axial_stiffness);
    }
}

static void test_rigid_motion(void **unused)
{
    (void)unused;
    every_law(rigid_motion_of);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_differences),
        cmocka_unit_test(test_differences_far),
        cmocka_unit_test(test_rigid_motion),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
