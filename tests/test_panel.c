/* These tests check panels: the single bar that they are made of, and frameworks of such bars
 * against the plates of handbooks. */
#include "check.h"
#include "every_law.h"
#include "lanes_alike.h"
#include "panel/panels.h"
#include "panel_model.h"

#include "base/rng.h"
#include "base/so3.h"
#include "beam/panel.h"
#include "beam/panel_lanes.h"
#include "section/panel.h"
#include "section/skin.h"

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

/* Check five-point differences of energy and gradient along geodesics, relative to the largest
 * entry of either; by spins of one node the gradient differs by half the moment more (E47). */
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
        sp_panel_section(&section, law, 0.7, trial % 2 ? 0.3 : 0.6, trial % 3 ? 0 : 0.2, 4);
        if (trial >= 12) sp_skin_section(&section, law, 0.7, 0.4, 0.5);
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

/* The trials are bars, and in the last four the strip of a skin under an edge. */
static void test_differences(void **unused)
{
    (void)unused;
    every_law(differences_of);
}

/* Check a bar that has turned over against its nodes: only the linear law allows the strain of its
 * ends. */
static void differences_far(const sp_law *law)
{
    if (strcmp(law->row->name, "linear") != 0) return;
    for (int trial = 0; trial < 12; trial++) {
        sp_spatial_section section;
        pair q;
        double step[6] = {-0.3 - 0.05 * trial, 0.4, -0.3, 0.1 * trial, 0.2, -0.15 * trial};
        sp_panel_section(&section, law, 0.7, 0.3, 0.1, 4);
        const sp_spatial_element e = some_bar(&section, &q);
        sp_spatial_move(step, q.x + 7);
        if (trial % 2) sp_spatial_move((double[6]){0, 0, 0, 1.8, 0.4, 0.6}, q.x + 7);
        check_bar(&e, &section, &q, "ends far from parallel");
    }
}

static void test_differences_far(void **unused)
{
    (void)unused;
    every_law(differences_far);
}

/* A bar that is turned and shifted as a whole holds no energy. */
static void rigid_motion_of(const sp_law *law)
{
    static const double turn[4][3] = {{0, 0, 0}, {0.4, 0, 0}, {1.9, 1.9, 1.5}, {0, 0, M_PI}};
    for (int trial = 0; trial < 4; trial++) {
        sp_spatial_section section;
        pair q;
        double g[12], h[144], by[4], m[9];
        sp_panel_section(&section, law, 0.7, 0.3, 0.1, 5);
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

/* --- plates: b = 1 wide, thin ----------------------------------------------------------------- */

static const double thin = 0.005; /* thickness / width: shear counts for nothing */

static int on_face(const plate *p, const double at[3])
{
    return at[1] < 1e-9 || at[1] > p->model.height - 1e-9;
}

static int on_left(const plate *p, const double at[3])
{
    (void)p;
    return at[0] < 1e-9;
}

static int on_right(const plate *p, const double at[3])
{
    (void)p;
    return at[0] > 1 - 1e-9;
}

static int on_corner(const plate *p, const double at[3])
{
    return on_left(p, at) && at[1] < 1e-9;
}

/* Return the factor k of the critical load k pi^2 D/b per width, from the platen force on the width
 * `b`. */
static double factor_of(double force, double thickness, double nu, double b, double all)
{
    const double d = thickness * thickness * thickness / (12 * (1 - nu * nu));
    return force / all * b * b / (M_PI * M_PI * d);
}

/* Make one plate of width 1 and height `high`, `across` cells wide. `left`, `right` and `face` say
 * what holds its edges. */
static double plate_factor(double high, double nu, int across, int left, int right, int face)
{
    plate p;
    plate_begin(&p, high, nu);
    plate_wall(&p, plate_line(&p, 0, 0), plate_line(&p, 1, 0), thin);
    plate_mesh(&p, across);
    plate_hold(&p, on_corner, PLATE_X);
    plate_hold(&p, on_left, left);
    plate_hold(&p, on_right, right);
    if (left) plate_not_free(&p, on_left);
    if (right) plate_not_free(&p, on_right);
    plate_not_free(&p, on_face);
    plate_hold(&p, on_face, face);
    plate_ready(&p);
    const double strain = 20 * thin * thin, force = plate_critical(&p, strain * high);
    plate_end(&p);
    return factor_of(force, thin, nu, 1, 1);
}

/* Check a factor: four bars per half wave are within 3 %, eight within 1.3 %. */
static void check_factor(const char *what, double four, double eight, double want)
{
    print_message("%-52s k = %.4f, %.4f, wanted %.4f\n", what, four, eight, want);
    check_relative(four, want, 0.03);
    check_relative(eight, want, 0.012);
}

#define SUPPORTED (PLATE_Z | PLATE_SPIN_X) /* it does not move out, nor turn along the edge */
#define CLAMPED (PLATE_Z | PLATE_SPIN_X | PLATE_SPIN_Y)
#define FACE (PLATE_Z | PLATE_SPIN_Y)

/* Timoshenko & Gere 1961, articles 9.2 and 9.4: long plates between simple supports and between
 * clamped sides; one side free, of length 3. The last two depend on Poisson's ratio; 1/3 here
 * (Levy's solution for it), tables are for 0.3 and 0.25. */
static void test_plates(void **unused)
{
    (void)unused;
    check_factor("simply supported", plate_factor(3, 1.0 / 3, 4, SUPPORTED, SUPPORTED, FACE),
                 plate_factor(3, 1.0 / 3, 8, SUPPORTED, SUPPORTED, FACE), 4.0);
    check_factor("the same, Poisson's ratio 1/2",
                 plate_factor(3, 0.5, 4, SUPPORTED, SUPPORTED, FACE),
                 plate_factor(3, 0.5, 8, SUPPORTED, SUPPORTED, FACE), 4.0);
    check_factor("sides clamped, wave 0.662",
                 plate_factor(3 * 0.6615, 1.0 / 3, 6, CLAMPED, CLAMPED, FACE),
                 plate_factor(3 * 0.6615, 1.0 / 3, 12, CLAMPED, CLAMPED, FACE), 6.971);
    check_factor("one side free, the other simply supported",
                 plate_factor(3, 1.0 / 3, 4, SUPPORTED, 0, FACE),
                 plate_factor(3, 1.0 / 3, 8, SUPPORTED, 0, FACE), 0.5127);
    check_factor("one side free, the other clamped",
                 plate_factor(3 * 1.635, 1.0 / 3, 4, CLAMPED, 0, FACE),
                 plate_factor(3 * 1.635, 1.0 / 3, 8, CLAMPED, 0, FACE), 1.2462);
}

/* Find the buckling factor of a long wall on supported sides, with 4 cells to a side or with 8, and
 * its first stiffness over that of a flat wall. The wall is softer across its layers, or has layers
 * with round flanks. */
static double long_wall(double high, double across_layers, double flanks, int finer,
                        double *stiffness)
{
    plate p;
    plate_begin(&p, high, 1.0 / 3);
    p.across_layers = across_layers;
    p.flanks = flanks;
    plate_wall(&p, plate_line(&p, 0, 0), plate_line(&p, 1, 0), thin);
    plate_mesh(&p, finer ? 8 : 4);
    plate_hold(&p, on_corner, PLATE_X);
    plate_hold(&p, on_left, SUPPORTED);
    plate_hold(&p, on_right, SUPPORTED);
    plate_not_free(&p, on_left);
    plate_not_free(&p, on_right);
    plate_not_free(&p, on_face);
    plate_hold(&p, on_face, FACE);
    plate_ready(&p);
    const double first = 1e-4 * thin * thin * high;
    plate_follow(&p, first);
    *stiffness = p.system.force / first * high / thin;
    const double k = factor_of(plate_critical(&p, 20 * thin * thin * high), thin, 1.0 / 3, 1, 1);
    plate_end(&p);
    return k;
}

/* A wall is softer across its layers by `f`: a long orthotropic plate buckles at 2 pi^2/b^2
 * (sqrt(Dx Dy) + H), in waves of b (Dy/Dx)^(1/4), the least of pi^2 (Dx/w^2 + 2 H/b^2 + Dy w^2/b^4)
 * over the half wave w (as in Lekhnitskii 1968); here Dy = f Dx and H = sqrt(Dx Dy), so that both
 * the load and the first stiffness are known: 4 sqrt f and f. */
static void test_softer_across_layers(void **unused)
{
    (void)unused;
    static const double share[] = {0.7, 1.2};
    for (int i = 0; i < 2; i++) {
        const double f = share[i], high = 3 * sqrt(sqrt(f));
        double k[2], stiffness = 0;
        for (int finer = 0; finer < 2; finer++) k[finer] = long_wall(high, f, 0, finer, &stiffness);
        check_relative(stiffness, f, 2e-3);
        check_factor("modulus across the layers 0.7, then 1.2", k[0], k[1], 4 * sqrt(f));
    }
}

/* Layers with round flanks: the wall is thinner between them. A layer of 0.2 mm and a bead of 0.42
 * mm leave 0.90 of the section, exactly 1 - (1 - pi/4) h/w, and by mean compliance 0.65 of the
 * bending stiffness upright. Long plates buckle as orthotropic ones do (see above). E273 */
static void test_round_flanks(void **unused)
{
    (void)unused;
    double section[2], bending[2], k[2], stiffness = 0;
    sp_panel_flanks(0.42, 0.2, section, bending);
    check_relative(section[0], 1 - (1 - M_PI / 4) * 0.2 / 0.42, 1e-7);
    check_relative(bending[1], 0.65, 0.01);
    const double high = 3 * sqrt(sqrt(bending[1] / bending[0]));
    for (int finer = 0; finer < 2; finer++)
        k[finer] = long_wall(high, 1, thin * 0.2 / 0.42, finer, &stiffness);
    check_relative(stiffness, section[1], 2e-3);
    check_factor("round flanks", k[0], k[1], 4 * sqrt(bending[0] * bending[1]));
}

static int on_edge(const plate *p, const double at[3])
{
    return on_face(p, at) || on_left(p, at) || on_right(p, at);
}

static int on_low_corners(const plate *p, const double at[3])
{
    return (on_left(p, at) || on_right(p, at)) && on_face(p, at) && !(at[0] > 0.5 && at[1] > 0.5);
}

/* Return the deflection w D/(P a^2) of a square plate under a point load; `hold` says how all its
 * edges are held. */
static double plate_deflection(int across, int hold)
{
    plate p;
    plate_begin(&p, 1, 1.0 / 3);
    plate_wall(&p, plate_line(&p, 0, 0), plate_line(&p, 1, 0), thin);
    plate_mesh(&p, across);
    plate_hold(&p, on_corner, PLATE_X);
    if (hold) {
        plate_hold(&p, on_face, hold | PLATE_SPIN_Y);
        plate_hold(&p, on_left, hold | PLATE_SPIN_X);
        plate_hold(&p, on_right, hold | PLATE_SPIN_X);
        plate_not_free(&p, on_edge);
    } else {
        plate_hold(&p, on_low_corners, PLATE_Z);
    }
    plate_ready(&p);
    const int node = hold ? plate_node(&p, 0.5, 0.5, 0) : plate_node(&p, 1, 1, 0);
    const double d = thin * thin * thin / 12 * 9 / 8, w = d * plate_compliance(&p, node, 2);
    plate_end(&p);
    return w;
}

/* Timoshenko & Woinowsky-Krieger 1959, tables 23 and 37: square plates under a load in their
 * middle; a square plate on three corners and loaded on the fourth twists, w = P a^2/(2 D (1 -
 * nu)). */
static void test_deflections(void **unused)
{
    (void)unused;
    check_factor("deflection, simply supported", plate_deflection(4, PLATE_Z),
                 plate_deflection(8, PLATE_Z), 0.0116);
    check_factor("deflection, clamped", plate_deflection(4, CLAMPED), plate_deflection(8, CLAMPED),
                 0.0056);
    check_factor("deflection of a twisted plate", plate_deflection(4, 0), plate_deflection(8, 0),
                 0.75);
}

/* Loaded edges clamped and free to widen, sides simply supported: Timoshenko & Gere 1961, chapter 9
 * (from memory). At height 1 two half waves lie between the clamped edges, so that 8 cells are four
 * a half wave. */
static void test_clamped_edges(void **unused)
{
    (void)unused;
    static const double want[] = {6.74, 4.85, 4.41};
    const int face = PLATE_Z | PLATE_SPIN_X | PLATE_SPIN_Y;
    for (int high = 1; high <= 3; high++) {
        char what[40];
        snprintf(what, sizeof what, "loaded edges clamped, height %d", high);
        check_factor(what,
                     plate_factor(high, 1.0 / 3, high == 1 ? 8 : 4, SUPPORTED, SUPPORTED, face),
                     plate_factor(high, 1.0 / 3, 8, SUPPORTED, SUPPORTED, face), want[high - 1]);
    }
}

static int at_first_line(const plate *p, const double at[3])
{
    const double *line = p->plan.joint_position;
    return at[1] < 1e-9 && hypot(at[0] - line[0], at[2] + line[1]) < 1e-9;
}

static int at_second_line(const plate *p, const double at[3])
{
    const double *line = p->plan.joint_position + 3;
    return at[1] < 1e-9 && hypot(at[0] - line[0], at[2] + line[1]) < 1e-9;
}

/* Make a tube without end of `sides` plates of width 1: its faces are planes of symmetry, `high`
 * apart. */
static double tube_factor(int sides, double high, int across)
{
    plate p;
    plate_begin(&p, high, 1.0 / 3);
    const double radius = 0.5 / sin(M_PI / sides);
    for (int i = 0; i < sides; i++) /* the second line straight along x of the first */
        plate_line(&p, radius * cos(M_PI * (2.0 * i - 1) / sides - M_PI / 2),
                   radius * sin(M_PI * (2.0 * i - 1) / sides - M_PI / 2));
    for (int i = 0; i < sides; i++) plate_wall(&p, i, (i + 1) % sides, thin);
    plate_mesh(&p, across);
    plate_hold(&p, on_face, PLATE_SPIN_X | PLATE_SPIN_Z);
    plate_hold(&p, at_first_line, PLATE_X | PLATE_Z);
    plate_hold(&p, at_second_line, PLATE_Z);
    plate_ready(&p);
    const double strain = 20 * thin * thin, force = plate_critical(&p, strain * high);
    plate_end(&p);
    return factor_of(force, thin, 1.0 / 3, 1, sides);
}

/* Timoshenko & Gere 1961, article 9.12 (square and hexagonal tubes: plates that are simply
 * supported); of the triangular tube, in which neighbours cannot all turn alike, by the moments and
 * turns of Levy's strips: the least over the wave is 4.708 at 0.881. */
static void test_tubes(void **unused)
{
    (void)unused;
    check_factor("square tube", tube_factor(4, 2, 4), tube_factor(4, 2, 8), 4.0);
    check_factor("hexagonal tube", tube_factor(6, 2, 4), tube_factor(6, 2, 8), 4.0);
    check_factor("triangular tube", tube_factor(3, 2 * 0.881, 4), tube_factor(3, 2 * 0.881, 8),
                 4.708);
}

static int on_rim(const plate *p, const double at[3])
{
    (void)p;
    return hypot(at[0], at[2]) > 0.5 - 1e-9;
}

static int on_rim_along_x(const plate *p, const double at[3])
{
    return on_rim(p, at) && fabs(at[2]) < 1e-9;
}

static int on_rim_along_z(const plate *p, const double at[3])
{
    return on_rim(p, at) && fabs(at[0]) < 1e-9;
}

/* Find the buckling factor of endless infill whose joint lines turn to and fro, from one joint line
 * with `walls` half walls. They are cut in their middles, where the mode is even and does not turn.
 * `held` 1: the walls cannot widen. */
static double star_factor(int walls, double high, int across, int held)
{
    plate p;
    plate_begin(&p, high, 1.0 / 3);
    plate_line(&p, 0, 0);
    for (int i = 0; i < walls; i++) {
        const double angle = 2 * M_PI * i / walls;
        plate_wall(&p, 0, plate_line(&p, 0.5 * cos(angle), 0.5 * sin(angle)), thin);
    }
    plate_mesh(&p, across / 2);
    plate_hold(&p, on_face, PLATE_SPIN_X | PLATE_SPIN_Z);
    plate_hold(&p, on_rim, PLATE_SPIN_Y);
    if (held) { /* of four walls along x and z */
        plate_hold(&p, on_rim_along_x, PLATE_X);
        plate_hold(&p, on_rim_along_z, PLATE_Z);
    }
    plate_not_free(&p, on_rim);
    plate_hold(&p, at_first_line, PLATE_X | PLATE_Z);
    plate_ready(&p);
    const double strain = 20 * thin * thin, force = plate_critical(&p, strain * high);
    plate_end(&p);
    return factor_of(force, thin, 1.0 / 3, 1, 0.5 * walls);
}

/* Square and hexagonal infill are bipartite: all joint lines are hinges, k = 4 (the joint graph and
 * Levy's strips, docs/theory.md). With K = k pi^2/(12 (1 - nu^2)) times wall length per area,
 * stress = K E (t/l)^3: 7.40 and 4.27; triangles and kagome have the factor of the triangular tube:
 * 15.09 and 7.54. */
static void test_infill(void **unused)
{
    (void)unused;
    const double four = tube_factor(3, 2 * 0.881, 4), share = M_PI * M_PI / 12 * 9 / 8;
    const double square = star_factor(4, 1, 4, 0), hexagon = star_factor(3, 1, 4, 0);
    check_factor("square infill", square, star_factor(4, 1, 8, 0), 4);
    check_factor("hexagonal infill", hexagon, star_factor(3, 1, 8, 0), 4);
    check_relative(square * share * 2, 7.40, 0.03);
    check_relative(hexagon * share * 2 / sqrt(3), 4.27, 0.03);
    check_relative(four * share * 2 * sqrt(3), 15.09, 0.03);
    check_relative(four * share * sqrt(3), 7.54, 0.03);
}

/* Walls that cannot widen: the least of (m^2 + 1)^2/(m^2 + nu) over the wave, 4 (1 - nu) at m^2 = 1
 * - 2 nu. */
static void test_held_sideways(void **unused)
{
    (void)unused;
    check_factor("square infill, held sideways", star_factor(4, sqrt(3), 4, 1),
                 star_factor(4, sqrt(3), 8, 1), 4 * (1 - 1.0 / 3));
}

/* Wang 1991 (Int. J. Mech. Sci. 33, 637): K* = k pi^2/12 = 5.73 between clamped sides. */
static void test_clamped_walls(void **unused)
{
    (void)unused;
    const double k = plate_factor(3 * 0.6615, 1.0 / 3, 6, CLAMPED, CLAMPED, FACE);
    check_relative(k * M_PI * M_PI / 12, 5.73, 0.01);
}

/* Return the platen force at the travel where the sides, which stay straight, do not pull, by a
 * secant on their distance. */
static double force_with_straight_sides(plate *p, double travel, int node, double bow, double *wide)
{
    double pull[2], force = 0, step = 0.05 * travel;
    force = plate_descend(p, travel, 0, on_right, node, bow, &pull[0]);
    for (int i = 0; i < 8 && fabs(pull[0]) > 1e-4 * fabs(force); i++) {
        force = plate_descend(p, travel, step, on_right, node, 0, &pull[1]);
        *wide += step;
        step *= -pull[1] / (pull[1] - pull[0]);
        pull[0] = pull[1];
    }
    return force;
}

/* Marguerre 1937 (from memory): a long plate whose sides stay straight and are free to come nearer
 * goes on with half its stiffness when it has buckled. One half wave between supported edges. */
static void test_slope_after_buckling(void **unused)
{
    (void)unused;
    static const double at[3] = {0.8, 1.1, 1.2}; /* of the critical travel */
    plate p;
    double force[3], wide = 0, critical = 4 * M_PI * M_PI * thin * thin / 12;
    plate_begin(&p, 1, 1.0 / 3);
    plate_wall(&p, plate_line(&p, 0, 0), plate_line(&p, 1, 0), thin);
    plate_mesh(&p, 8);
    plate_hold(&p, on_left, SUPPORTED | PLATE_X);
    plate_hold(&p, on_right, SUPPORTED | PLATE_X);
    plate_hold(&p, on_face, FACE);
    plate_not_free(&p, on_edge);
    plate_ready(&p);
    critical *= 9.0 / 8;
    const int middle = plate_node(&p, 0.5, 0.5, 0);
    for (int i = 0; i < 3; i++)
        force[i] =
            force_with_straight_sides(&p, at[i] * critical, middle, i ? 0.2 * thin : 0, &wide);
    const double before = force[0] / at[0], after = (force[2] - force[1]) / (at[2] - at[1]);
    print_message("slope after buckling %.4f of that before, wanted 0.5\n", after / before);
    check_relative(after / before, 0.5, 0.04);
    plate_end(&p);
}

/* Every instruction set gives the same bits, and each lane is independent of the others. */
static void test_lanes(void **unused)
{
    (void)unused;
    enum { LANE = 5 };
    static sp_panel_input in, one;
    static sp_panel_output out[SP_WAY_MAX], alone;
    sp_panel_way *const *way = sp_panel_ways();
    const int ways = sp_way_count();
    const size_t numbers = sizeof in / sizeof in.length;
    fill_lanes(&in.length, numbers, 12);
    for (int i = 0; i < ways; i++) {
        way[i](&in, &out[i]);
        assert_memory_equal(&out[i], &out[0], sizeof out[0]);
    }
    repeat_lane(&in.length, LANE, numbers, &one.length);
    sp_panel_lanes_eval(&one, &alone);
    check_lane((const sp_lanes8 *)&alone, (const sp_lanes8 *)&out[0], LANE,
               sizeof alone / sizeof(sp_lanes8));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_differences),   cmocka_unit_test(test_differences_far),
        cmocka_unit_test(test_rigid_motion),  cmocka_unit_test(test_plates),
        cmocka_unit_test(test_deflections),   cmocka_unit_test(test_clamped_edges),
        cmocka_unit_test(test_tubes),         cmocka_unit_test(test_slope_after_buckling),
        cmocka_unit_test(test_infill),        cmocka_unit_test(test_held_sideways),
        cmocka_unit_test(test_clamped_walls), cmocka_unit_test(test_softer_across_layers),
        cmocka_unit_test(test_round_flanks),  cmocka_unit_test(test_lanes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
