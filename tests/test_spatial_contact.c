/* These tests check contact in space: the layer between a point and a line, distances of pieces,
 * whole pairs and platens against finite differences and independent quadrature, and stacks of
 * struts.
 *
 * The mark C stands for values computed from the closed form. */
#include "no_crossing.h"

#include "check.h"

#include "base/alloc.h"
#include "base/rng.h"
#include "base/so3.h"
#include "contact/contact.h"
#include "gap/line.h"
#include "gap/line_points.h"
#include "gap/segment.h"
#include "contact/wall.h"
#include "press/press.h"
#include "round_contact.h"
#include "state/equilibrium.h"
#include "whole_press.h"

/* --- the layer --- */

/* Find the energy at q: the point from the start of the piece, then the piece, 3 each. */
static double line_at(sp_faces faces, const double q[6], double rest, double g[6], double h[36])
{
    const double length = sqrt(sp_dot(q + 3, q + 3));
    const double n[3] = {q[3] / length, q[4] / length, q[5] / length};
    return sp_line_energy_spatial(faces, q, n, length, rest, g, h);
}

/* Make a rotation at random. */
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

/* Check gradient and Hessian by five-point differences, relative to the largest entry of either and
 * to a hundredth of a layer at half its height: at the edge of its reach the kernel is only smooth,
 * not analytic. */
static void check_line(sp_faces faces, const double q[6], double rest, const char *what)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double length = sqrt(sp_dot(q + 3, q + 3));
    const double n[3] = {q[3] / length, q[4] / length, q[5] / length};
    const double step = 1e-4 * fmin(sqrt(sp_line_square_spatial(q, n, length)), 0.1 * length);
    double g[6], h[36], unused[36], most_g = 0, most_h = 0, off_g = 0, off_h = 0;
    const double energy = line_at(faces, q, rest, g, h);
    if (energy == 0) return;
    check_true(energy > 0 && isfinite(energy));
    for (int i = 0; i < 6; i++) {
        double slope = 0, row[6] = {0};
        for (int p = 0; p < 4; p++) {
            double moved[6], gm[6] = {0};
            memcpy(moved, q, sizeof moved);
            moved[i] += at[p] * step;
            slope += weight[p] * line_at(faces, moved, rest, gm, unused) / (12 * step);
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

/* Point at (along, aside) in the frame of the piece, all in units of `rest`, turned at random, with
 * flat and round faces. */
static void check_line_at(sp_rng *rng, double along, double aside, double length, double rest,
                          const char *what)
{
    double m[9], q[6];
    random_turn(rng, m);
    for (int i = 0; i < 3; i++) {
        q[i] = rest * (along * m[3 * i] + aside * m[3 * i + 1]);
        q[3 + i] = rest * length * m[3 * i];
    }
    check_line(SP_FLAT_FACES, q, rest, what);
    check_line(SP_ROUND_FACES, q, rest, what);
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

/* Make points for one turn of the loops and for a part of one, some next to the line through their
 * piece, some far beyond its end. */
static int some_points(sp_line_points *flat, sp_line_points_spatial *all)
{
    enum { COUNT = 27 };
    sp_rng rng;
    sp_rng_seed(&rng, 9, 0);
    for (int i = 0; i < COUNT;) {
        const double length = i % 4 ? 0.9 : 0.05, rest = 0.5 + 0.2 * sp_rng_uniform(&rng);
        const double along = (2 * sp_rng_uniform(&rng) - 0.5) * length;
        const double aside = i % 9 == 8 ? 0 : 0.6 * sp_rng_uniform(&rng), angle = 0.3 * i;
        const double plane_n[2] = {cos(angle), sin(angle)};
        const double plane_v[2] = {along * plane_n[0] - aside * plane_n[1],
                                   along * plane_n[1] + aside * plane_n[0]};
        const double v[3] = {plane_v[0], plane_v[1], 0}, n[3] = {plane_n[0], plane_n[1], 0};
        const double square = sp_line_square_spatial(v, n, length);
        if (square >= rest * rest || square == 0) continue;
        sp_line_put_point(flat, i, plane_v, plane_n, length, rest);
        sp_line_put_spatial(all, i, i % 2 ? SP_ROUND_FACES : SP_FLAT_FACES, v, n, length, rest);
        i++;
    }
    return COUNT;
}

/* With many points at a time every instruction set gives the bits of one point after the other. */
static void test_line_points(void **unused)
{
    (void)unused;
    static sp_line_points flat[SP_WAY_MAX];
    static sp_line_points_spatial all[SP_WAY_MAX];
    const sp_line_way *way = sp_line_ways();
    const int ways = sp_way_count(), count = some_points(&flat[0], &all[0]);
    for (int k = 1; k < ways; k++) flat[k] = flat[0], all[k] = all[0];
    for (int k = 0; k < ways; k++) {
        way[k].planar(count, &flat[k]);
        way[k].spatial(count, &all[k]);
        assert_memory_equal(&flat[k], &flat[0], sizeof flat[0]);
        assert_memory_equal(&all[k], &all[0], sizeof all[0]);
    }
    for (int i = 0; i < count; i++) {
        const double v[3] = {all->v[0][i], all->v[1][i], all->v[2][i]};
        const double n[3] = {all->n[0][i], all->n[1][i], all->n[2][i]};
        const sp_faces faces = all->is_round[i] > 0 ? SP_ROUND_FACES : SP_FLAT_FACES;
        double g[6], h[36];
        const double energy =
            sp_line_energy_spatial(faces, v, n, all->length[i], all->rest[i], g, h);
        assert_true(energy > 0);
        check_close(all->energy[i], energy, 0);
        for (int x = 0; x < 6; x++) check_close(all->g[x][i], g[x], 0);
        for (int x = 0; x < 9; x++) {
            check_close(all->vv[x][i], h[6 * (x / 3) + x % 3], 0);
            check_close(all->ev[x][i], h[6 * (3 + x / 3) + x % 3], 0);
            check_close(all->ee[x][i], h[6 * (3 + x / 3) + 3 + x % 3], 0);
        }
        if (faces == SP_FLAT_FACES) check_relative(flat->energy[i], energy, 1e-12);
    }
}

/* In the plane z = 0 the figures are those of the planar kernel; turned as one, energy and forces
 * turn along. */
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
        const double energy = line_at(SP_FLAT_FACES, q, 0.7, g, h);
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
        check_close(line_at(SP_FLAT_FACES, r, 0.7, turned, h), energy, 1e-12 * (1 + energy));
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
    check_true(line_at(SP_ROUND_FACES, q, 0.5, g, h) == INFINITY);
    check_true(line_at(SP_ROUND_FACES, far, 0.8, g, h) == 0 && g[0] == 7);
}

/* --- walls of one layer --- */

/* Find the energy at q: as for line_at, and the spin of the depth direction n. */
static double wall_at(const double q[9], const double n[3], double height, double rest, double g[9],
                      double h[81])
{
    double turned[3], spin[4], m[9];
    sp_so3_exp(q + 6, spin);
    sp_so3_matrix(spin, m);
    turn(m, n, turned);
    return sp_wall_energy(q, q + 3, turned, height, rest, g, h);
}

/* Check the gradient by differences of the energy, and the second derivative of the energy along
 * random lines, which in the spin are geodesics, as the Hessian has it. */
static void check_wall(sp_rng *rng, const double q[6], const double n[3], double height)
{
    static const double rest = 0.42, step = 1e-4;
    double at[9] = {0}, g[9], h[81], gm[9], hm[81];
    memcpy(at, q, 6 * sizeof *q);
    const double energy = wall_at(at, n, height, rest, g, h);
    for (int i = 0; i < 81; i++) check_close(h[i], h[i % 9 * 9 + i / 9], 1e-10 * (1 + fabs(h[i])));
    for (int k = 0; k < 6; k++) {
        double way[9], e[5], slope = 0, bend = 0;
        for (int i = 0; i < 9; i++) way[i] = sp_rng_normal(rng);
        for (int p = 0; p < 5; p++) {
            double moved[9];
            for (int i = 0; i < 9; i++) moved[i] = at[i] + (p - 2) * 0.2 * step * way[i];
            e[p] = wall_at(moved, n, height, rest, gm, hm);
        }
        for (int i = 0; i < 9; i++) slope += g[i] * way[i];
        for (int i = 0; i < 81; i++) bend += h[i] * way[i / 9] * way[i % 9];
        const double d = 0.2 * step;
        check_close((8 * (e[3] - e[1]) - (e[4] - e[0])) / (12 * d), slope,
                    1e-6 * (1 + fabs(slope)));
        check_close((16 * (e[3] + e[1]) - (e[4] + e[0]) - 30 * e[2]) / (12 * d * d), bend,
                    1e-3 * (1 + fabs(bend) + energy));
    }
}

/* Differences are taken for a point and a piece in a layer with any depth direction, tilted out of
 * it and slipped along it. */
static void test_wall_differences(void **unused)
{
    (void)unused;
    sp_rng rng;
    int reached = 0;
    sp_rng_seed(&rng, 11, 0);
    for (int i = 0; i < 300; i++) {
        double m[9], q[6], g[9], h[81], flat_g[4], flat_h[16];
        const double along = sp_rng_uniform(&rng), aside = 0.1 + 0.3 * sp_rng_uniform(&rng);
        const double slip = i % 3 ? 1.6 * (sp_rng_uniform(&rng) - 0.5) : 0;
        const double lean = i % 3 ? 0.2 * sp_rng_normal(&rng) : 0;
        random_turn(&rng, m);
        const double n[3] = {m[2], m[5], m[8]};
        for (int d = 0; d < 3; d++) {
            q[d] = along * m[3 * d] + aside * m[3 * d + 1] + slip * n[d];
            q[3 + d] = 0.9 * m[3 * d] + lean * n[d];
        }
        const double energy = sp_wall_energy(q, q + 3, n, 1.0, 0.42, g, h);
        if (energy == 0) continue;
        reached++;
        check_wall(&rng, q, n, 1.0);
        /* Side by side it is the contact of the plane, and nothing pushes the point out of the
         * plane. */
        const double v[2] = {along, aside}, e[2] = {1, 0};
        if (slip != 0 || lean != 0) continue;
        check_relative(energy, sp_line_energy(v, e, 0.9, 0.42, flat_g, flat_h), 1e-10);
        check_close(sp_dot(g, n), 0, 1e-12);
    }
    check_true(reached > 150);
}

/* A wall that has slipped by the height of the layer does not press any more. */
static void test_wall_slipped(void **unused)
{
    (void)unused;
    const double e[3] = {1, 0, 0}, n[3] = {0, 0, 1};
    double g[9], h[81], last = INFINITY;
    for (int i = 0; i <= 10; i++) {
        const double v[3] = {0.4, 0.2, 0.08 * i};
        const double energy = sp_wall_energy(v, e, n, 0.8, 0.42, g, h);
        check_true(energy <= last && (energy > 0) == (i < 10));
        last = energy;
    }
    const double on[3] = {0.4, 0, 0.1};
    check_true(sp_wall_energy(on, e, n, 0.8, 0.42, g, h) == INFINITY);
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

/* Return the square of the distance by a search: it is convex in (s, t), so a net of places is
 * refined about its best one. */
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

/* The distance is compared with brute force (C) for segments that are skew, crossing, parallel,
 * nearly parallel and in line. */
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

/* --- struts by hand, and their contact alone --- */

typedef struct scene {
    sp_context context;
    sp_law law;
    sp_network network;
    sp_model model;
    sp_contact contact;
    sp_blocks blocks;
    sp_platen_push push;
    double *x, *gradient, *coupling, *change;
    double friction; /* coefficient between struts; set before scene_ready */
} scene;

/* Linear law of modulus E = 1 MPa and Poisson ratio 0; of its layers a quarter of E/(1 - nu^2)
 * (E245). */
static const double young = 1, layer_modulus = 0.25;

static void scene_begin(scene *s, double height)
{
    sp_case request;
    memset(s, 0, sizeof *s);
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "linear");
    request.modulus = young;
    request.poisson_ratio = 0;
    request.strain_state = SP_UNIAXIAL;
    assert_int_equal(sp_law_prepare(&s->context, &request, &s->law), SP_OK);
    s->network.dimension = 3;
    for (int d = 0; d < 3; d++) s->network.size[d] = height;
}

static void *grown(void *array, int count, size_t each, size_t size)
{
    void *larger = sp_resize(array, ((size_t)count + 1) * each, size);
    assert_non_null(larger);
    memset((char *)larger + (size_t)count * each * size, 0, each * size);
    return larger;
}

static int scene_joint(scene *s, double x, double y, double z)
{
    sp_network *n = &s->network;
    n->joint_position = grown(n->joint_position, n->joint_count, 3, sizeof(double));
    n->joint_face = grown(n->joint_face, n->joint_count, 1, 1);
    memcpy(n->joint_position + 3 * n->joint_count, (const double[]){x, y, z}, 3 * sizeof(double));
    return n->joint_count++;
}

/* Add a strut, which is round when `height` is 0; section axis 2, along which it is `thickness`,
 * lies in the plane with y. */
static int scene_strut(scene *s, int from, int to, double thickness, double height, double zone)
{
    sp_network *n = &s->network;
    const int at = n->strut_count;
    n->strut_joint = grown(n->strut_joint, at, 2, sizeof(int));
    n->strut_thickness = grown(n->strut_thickness, at, 1, sizeof(double));
    n->strut_height = grown(n->strut_height, at, 1, sizeof(double));
    n->strut_up = grown(n->strut_up, at, 3, sizeof(double));
    n->strut_role = grown(n->strut_role, at, 1, 1);
    n->strut_zone = grown(n->strut_zone, at, 2, sizeof(double));
    n->strut_bow = grown(n->strut_bow, at, 1, sizeof(double));
    n->strut_joint[2 * at] = from;
    n->strut_joint[2 * at + 1] = to;
    n->strut_thickness[at] = thickness;
    n->strut_height[at] = height;
    n->strut_up[3 * at + 1] = 1;
    n->strut_zone[2 * at] = n->strut_zone[2 * at + 1] = zone;
    return n->strut_count++;
}

/* Set a pattern in which all pairs of nodes have their block. */
static void full_pattern(scene *s)
{
    const int n = s->model.node_count;
    uint64_t *pair = calloc((size_t)(n * n), sizeof *pair);
    size_t count = 0;
    assert_non_null(pair);
    for (int i = 0; i < n; i++)
        for (int j = 0; j < i; j++) pair[count++] = sp_blocks_pair(i, j);
    assert_int_equal(sp_blocks_create(&s->context, &s->model, &s->blocks), SP_OK);
    assert_int_equal(sp_blocks_pattern(&s->context, &s->model, &s->blocks, count, pair), SP_OK);
    free(pair);
}

static size_t unknowns(const scene *s)
{
    return (size_t)(s->model.unknowns * s->model.node_count);
}

static void scene_ready(scene *s, int elements)
{
    const sp_model_options options = {
        .platens = SP_PLATENS_SLIDING, .elements_per_strut = elements, .section_points = 4};
    assert_int_equal(sp_model_build(&s->context, &s->network, &s->law, &options, &s->model), SP_OK);
    s->model.friction_struts = s->friction;
    assert_int_equal(sp_contact_create(&s->context, &s->model, &s->contact), SP_OK);
    full_pattern(s);
    const size_t values = (size_t)(s->model.values * s->model.node_count);
    s->x = calloc(values, sizeof(double));
    s->gradient = calloc(unknowns(s), sizeof(double));
    s->change = calloc(unknowns(s), sizeof(double));
    s->coupling = calloc(unknowns(s), sizeof(double));
    assert_true(s->x && s->gradient && s->change && s->coupling);
    memcpy(s->x, s->model.reference, values * sizeof(double));
}

static void scene_end(scene *s)
{
    free(s->x);
    free(s->gradient);
    free(s->change);
    free(s->coupling);
    sp_contact_free(&s->contact);
    sp_blocks_free(&s->blocks);
    sp_model_free(&s->model);
    sp_network_free(&s->network);
    sp_law_free(&s->law);
}

/* Return the energy at s->x moved by `scale` times s->change. */
static double scene_energy(scene *s, double scale, double gap)
{
    double *x = calloc((size_t)(s->model.values * s->model.node_count), sizeof *x);
    assert_non_null(x);
    sp_model_move(&s->model, s->x, scale, s->change, x);
    memset(s->gradient, 0, unknowns(s) * sizeof(double));
    memset(s->coupling, 0, unknowns(s) * sizeof(double));
    sp_blocks_zero(&s->blocks);
    sp_contact_place(&s->contact, x, gap);
    assert_int_equal(sp_contact_refresh(&s->context, &s->contact), SP_OK);
    sp_contact_find_blocks(&s->contact, &s->blocks);
    const double energy =
        sp_contact_eval(&s->contact, s->gradient, &s->blocks, &s->push, s->coupling);
    assert_int_equal(s->contact.missing, 0);
    free(x);
    return energy;
}

/* Move the whole strut, its joints too, by `up` from where it is unloaded. */
static void lift(scene *s, int strut, double up)
{
    const sp_model *m = &s->model;
    for (int k = m->chain_first[strut]; k < m->chain_first[strut + 1]; k++) {
        const int n = m->values * m->point_node[k];
        s->x[n + 1] = m->reference[n + 1] + up;
    }
}

/* Return the force of the contact on a strut, upwards. */
static double force_on(const scene *s, int strut)
{
    const sp_model *m = &s->model;
    double force = 0;
    for (int e = m->strut_element[strut]; e < m->strut_element[strut + 1]; e++)
        force -= s->gradient[m->unknowns * sp_model_nodes(m, e)[1] + 1];
    return force - s->gradient[m->unknowns * sp_model_nodes(m, m->strut_element[strut])[0] + 1];
}

/* --- derivatives of the whole contact --- */

/* Make struts that cross, run side by side, meet at a sharp angle and touch both platens (E61),
 * with joint zones as arms (E60); nodes turned by 0.6 rad and more. */
static void tangle(scene *s, sp_rng *rng)
{
    scene_begin(s, 2.7);
    const int a = scene_joint(s, 0, 0.55, 0), b = scene_joint(s, 4, 0.7, 0.3);
    scene_strut(s, a, b, 0.9, 0, 0.6);
    scene_strut(s, scene_joint(s, 2, 1.5, -2), scene_joint(s, 2.2, 1.35, 2), 0.7, 0, 0.5);
    scene_strut(s, a, scene_joint(s, 2.8, 2.3, 1.2), 0.8, 0, 0.7);
    scene_strut(s, scene_joint(s, 0.1, 0.9, -0.8), scene_joint(s, 4.1, 0.75, -0.5), 0.8, 0.5, 0);
    scene_strut(s, b, scene_joint(s, 0.5, 1.8, 0.9), 0.6, 0, 0.4);
    scene_ready(s, 4);
    for (int tries = 0;; tries++) {
        for (size_t i = 0; i < unknowns(s); i++)
            s->change[i] = sp_rng_normal(rng) * (i % 6 < 3 ? 0.06 : 0.6);
        sp_model_move(&s->model, s->model.reference, 1, s->change, s->x);
        memset(s->change, 0, unknowns(s) * sizeof(double));
        if (scene_energy(s, 0, 2.5) < INFINITY && s->push.upper > 0 && s->push.lower > 0 &&
            s->contact.active > 20)
            return;
        check_true(tries < 100);
    }
}

/* Set y = K v, with the skew part of the spins that is in the change of the gradient but not in K:
 * half the moment crossed with the spin. */
static void multiply(const scene *s, const double *v, double *y)
{
    const sp_blocks *b = &s->blocks;
    memset(y, 0, unknowns(s) * sizeof(double));
    for (int i = 0; i < b->node_count; i++)
        for (int k = b->start[i]; k < b->start[i + 1]; k++)
            for (int e = 0; e < 36; e++) {
                const int p = 6 * i + e / 6, q = 6 * b->column[k] + e % 6;
                y[p] += b->value[36 * k + e] * v[q];
                if (i != b->column[k]) y[q] += b->value[36 * k + e] * v[p];
            }
    for (int i = 0; i < b->node_count; i++) {
        double skew[3];
        sp_cross(s->gradient + 6 * i + 3, v + 6 * i + 3, skew);
        for (int d = 0; d < 3; d++) y[6 * i + 3 + d] -= 0.5 * skew[d];
    }
}

static double largest(const double *v, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++) most = fmax(most, fabs(v[i]));
    return most;
}

/* Find the five-point slope of the energy and of the gradient along s->change, or by the gap. */
static double slopes(scene *s, double step, double gap_step, double gap, double *gradient)
{
    static const double weight[4] = {1, -8, 8, -1}, at[4] = {-2, -1, 1, 2};
    const double h = fmax(step, gap_step);
    double slope = 0;
    memset(gradient, 0, unknowns(s) * sizeof(double));
    for (int p = 0; p < 4; p++) {
        slope += weight[p] * scene_energy(s, at[p] * step, gap + at[p] * gap_step) / (12 * h);
        for (size_t i = 0; i < unknowns(s); i++)
            gradient[i] += weight[p] * s->gradient[i] / (12 * h);
    }
    return slope;
}

static double furthest(const double *a, const double *b, size_t n)
{
    double most = 0;
    for (size_t i = 0; i < n; i++) most = fmax(most, fabs(a[i] - b[i]));
    return most;
}

static void test_differences(void **unused)
{
    (void)unused;
    sp_rng rng;
    sp_rng_seed(&rng, 21, 0);
    for (int round = 0; round < 6; round++) {
        scene s;
        tangle(&s, &rng);
        const size_t n = unknowns(&s);
        double *want = calloc(n, sizeof *want), *got = calloc(n, sizeof *got), slope = 0;
        for (size_t i = 0; i < n; i++) s.change[i] = sp_rng_normal(&rng);
        scene_energy(&s, 0, 2.5);
        for (size_t i = 0; i < n; i++) slope += s.gradient[i] * s.change[i];
        multiply(&s, s.change, want);
        check_relative(slopes(&s, 2e-6, 0, 2.5, got), slope, 1e-6);
        check_close(furthest(got, want, n) / largest(want, n), 0, 1e-6);

        /* The platen goes up by d gap, down by d travel. */
        scene_energy(&s, 0, 2.5);
        const double upper = s.push.upper, tangent = s.push.tangent;
        for (size_t i = 0; i < n; i++)
            want[i] = s.model.unknown[i] >= 0 ? -s.coupling[s.model.unknown[i]] : 0;
        check_relative(slopes(&s, 0, 2e-6, 2.5, got), -upper, 1e-6);
        check_close(furthest(got, want, n) / largest(want, n), 0, 1e-6);
        scene_energy(&s, 0, 2.5 - 1e-6);
        const double more = s.push.upper;
        scene_energy(&s, 0, 2.5 + 1e-6);
        check_relative((more - s.push.upper) / 2e-6, tangent, 1e-6);
        free(want), free(got);
        scene_end(&s);
    }
}

/* Forces and moments of struts on each other balance, with no platens near. */
static void test_balance(void **unused)
{
    (void)unused;
    scene s;
    sp_rng rng;
    sp_rng_seed(&rng, 2, 0);
    tangle(&s, &rng);
    for (int i = 0; i < s.model.node_count; i++) s.x[7 * i + 1] += 50;
    check_true(scene_energy(&s, 0, 100) > 0 && s.push.lower == 0 && s.push.upper == 0);
    double force[3] = {0}, moment[3] = {0}, turned[3];
    for (int i = 0; i < s.model.node_count; i++) {
        const double *g = s.gradient + 6 * i;
        sp_cross(s.x + 7 * i, g, turned);
        for (int d = 0; d < 3; d++) {
            force[d] += g[d];
            moment[d] += turned[d] + g[3 + d];
        }
    }
    const double scale = largest(s.gradient, unknowns(&s));
    check_close(largest(force, 3) / scale, 0, 1e-12);
    check_close(largest(moment, 3) / scale, 0, 1e-10);
    scene_end(&s);
}

/* --- two struts --- */

/* Return kappa of E9 and E246 of docs/theory.md. */
static double kernel(sp_faces faces, double q)
{
    if (q >= 1) return 0;
    if (faces == SP_ROUND_FACES)
        return 0.25 * pow(q, -1.5) - 1.832717 + 3.974682 * q - 3.499708 * q * q +
               1.031238 * q * q * q + 0.076505 * q * q * q * q;
    return 0.25 * pow(q, -1.5) - 0.387626 - 0.215413 * q + 1.067644 * q * q - 1.313545 * q * q * q +
           0.59894 * q * q * q * q;
}

/* Make strut 0 along x and strut 1 at `angle` to it, `apart` above it unloaded, both 12 long. */
static void two_struts(scene *s, double angle, double apart, double thickness, double height)
{
    const double half = 6, c = half * cos(angle), z = half * sin(angle), friction = s->friction;
    scene_begin(s, 60);
    s->friction = friction;
    scene_strut(s, scene_joint(s, -half, 30, 0), scene_joint(s, half, 30, 0), thickness, height, 0);
    scene_strut(s, scene_joint(s, 0.13 - c, 30 + apart, 0.07 - z),
                scene_joint(s, 0.13 + c, 30 + apart, 0.07 + z), thickness, height, 0);
    scene_ready(s, 9);
}

/* The plane integral of the kernel in closed form (C, E58): F = 2 pi G b R l kappa(l^2)/sin(angle).
 * The difference comes from the points, which are 0.15 R apart, in a small patch at the onset. */
static void test_crossing(void **unused)
{
    (void)unused;
    for (int k = 0; k < 3; k++) {
        scene s = {.friction = 0};
        const double angle = k == 0 ? M_PI / 2 : k == 1 ? 1.0 : 0.5, thickness = 0.8;
        const double width = k == 1 ? 1.3 : M_PI / 4 * thickness;
        const sp_faces faces = k == 1 ? SP_FLAT_FACES : SP_ROUND_FACES;
        two_struts(&s, angle, 2, thickness, k == 1 ? 1.3 : 0);
        double before = 0;
        for (double l = 1.02; l > 0.195; l -= 0.01) {
            lift(&s, 1, l * thickness - 2);
            const double energy = scene_energy(&s, 0, 60), force = force_on(&s, 1);
            const double scale = layer_modulus * width * thickness;
            const double want = 2 * M_PI * scale * l * kernel(faces, l * l) / sin(angle);
            check_close(force + force_on(&s, 0), 0, 1e-12 * (1 + force));
            check_close(force, want, 0.01 * want + 3e-3 * scale);
            check_true(energy >= before && (l < 1 || energy == 0));
            before = energy;
        }
        scene_end(&s);
    }
}

/* Complete elliptic integrals of the first and second kind by the arithmetic-geometric mean
 * (Abramowitz & Stegun 1964, 17.6). */
static void elliptic(double e, double *first, double *second)
{
    double a = 1, b = sqrt(1 - e * e), c = e, sum = 0.5 * e * e, power = 0.5;
    for (int i = 0; i < 40 && c > 1e-17; i++) {
        const double next = 0.5 * (a + b);
        c = 0.5 * (a - b);
        b = sqrt(a * b);
        a = next;
        power *= 2;
        sum += power * c * c;
    }
    *first = M_PI / (2 * a);
    *second = *first * (1 - sum);
}

/* Return the force of two equal elastic cylinders that cross and have approached by `delta`: Hertz
 * (Johnson, Contact Mechanics, 1985, eqs. 4.26 and 4.27, from memory), of contact ellipses with the
 * eccentricity e. `modulus`: E/(2 (1 - nu^2)). */
static double hertz(double angle, double diameter, double delta, double modulus)
{
    const double flat = (1 - fabs(cos(angle))) / diameter,
                 steep = (1 + fabs(cos(angle))) / diameter;
    double low = 1e-4, high = 1 - 1e-12, first = 0, second = 0;
    for (int i = 0; i < 100; i++) {
        const double e = 0.5 * (low + high);
        elliptic(e, &first, &second);
        const double ratio = (second / (1 - e * e) - first) / (first - second);
        *(ratio < steep / flat ? &low : &high) = e;
    }
    const double half = sqrt(delta * (first - second) / (first * low * low * flat));
    return 2.0 / 3 * M_PI * half * delta * modulus / first;
}

/* Round struts that cross follow Hertz from 5 to 20 % squash, where his small strains end. They end
 * sooner at flat angles: where the ellipse is longer than the strut is thick, a half space does not
 * stand for a strut. One kernel serves crossed struts and those side by side (test_rollers): it is
 * a fit to both. */
static void test_hertz(void **unused)
{
    (void)unused;
    static const struct {
        double degrees, most, tolerance;
    } row[] = {{90, 0.2, 0.16}, {60, 0.2, 0.22}, {45, 0.15, 0.26}, {30, 0.05, 0.2}};
    for (int k = 0; k < 4; k++) {
        const double angle = row[k].degrees * M_PI / 180, thickness = 0.8;
        scene s = {.friction = 0};
        two_struts(&s, angle, 2, thickness, 0);
        for (double squash = 0.05; squash < row[k].most + 1e-9; squash += 0.05) {
            lift(&s, 1, (1 - squash) * thickness - 2);
            scene_energy(&s, 0, 60);
            const double of_hertz = force_on(&s, 1);
            check_relative(of_hertz, hertz(angle, thickness, squash * thickness, 0.5 * young),
                           row[k].tolerance);
        }
        scene_end(&s);
    }
}

/* Return the force of the contact on strut 1, moved by `by` from where the struts are. */
static void force_after(scene *s, const double by[3], double force[3])
{
    const sp_model *m = &s->model;
    memset(s->change, 0, unknowns(s) * sizeof(double));
    unsigned char *seen = calloc((size_t)m->node_count, 1);
    assert_non_null(seen);
    for (int k = m->chain_first[1]; k < m->chain_first[2]; k++)
        memcpy(s->change + 6 * m->point_node[k], by, 3 * sizeof *by);
    scene_energy(s, 1, 60);
    memset(force, 0, 3 * sizeof *force);
    for (int k = m->chain_first[1]; k < m->chain_first[2]; k++) {
        const int node = m->point_node[k];
        for (int d = 0; d < 3 && !seen[node]; d++) force[d] -= s->gradient[6 * node + d];
        seen[node] = 1;
    }
    free(seen);
}

/* A strut pressed on another is drawn over it, at any angle between the two and in any direction:
 * once it slides, friction is Coulomb's, opposite to the slip and the coefficient times the push,
 * with next to nothing across (E247). Both together moved as a rigid body do not slide on each
 * other. Struts nearly side by side roll across each other, so they are drawn along only. */
static void test_friction_of_a_pair(void **unused)
{
    (void)unused;
    static const double angle[] = {M_PI / 2, 1, 0.5, 0.2, 0};
    for (int k = 0; k < 5; k++) {
        scene s = {.friction = 0.3};
        const double thickness = 0.8, l = 0.85;
        two_struts(&s, angle[k], 2, thickness, 0);
        lift(&s, 1, l * thickness - 2);
        scene_energy(&s, 0, 60);
        const double push = force_on(&s, 1);
        sp_contact_keep(&s.contact, s.gradient, 0);
        check_true(s.contact.friction.count > 5);
        for (int way = 0; way < (angle[k] > 0.3 ? 12 : 1); way++) {
            const double turn = angle[k] + way * M_PI / 6, c = cos(turn), z = sin(turn);
            double force[3], none[3];
            /* This is taken less the force of the layers at the places of the points, without
             * friction. */
            for (int i = 0; i < s.contact.friction.count; i++) s.contact.friction.grip[i].limit = 0;
            force_after(&s, (const double[3]){0.6 * c, 0, 0.6 * z}, none);
            for (int i = 0; i < s.contact.friction.count; i++)
                s.contact.friction.grip[i].limit = s.contact.friction.grip[i].most;
            force_after(&s, (const double[3]){0.6 * c, 0, 0.6 * z}, force);
            for (int d = 0; d < 3; d++) force[d] -= none[d];
            const double drawn_back = -(force[0] * c + force[2] * z);
            check_relative(drawn_back, 0.3 * push, 0.02);
            check_close(force[2] * c - force[0] * z, 0, (angle[k] > 0.3 ? 0.02 : 0.1) * 0.3 * push);
            check_true(hypot(force[0], force[2]) <= (angle[k] > 0.3 ? 1.001 : 1.02) * 0.3 * push);
        }

        const double spin[3] = {0.7, -0.4, 1.1}, middle[3] = {1, 30, 2};
        double q[4] = {1, 0, 0, 0}, turn[9];
        sp_so3_turn(spin, q);
        sp_so3_matrix(q, turn);
        for (int n = 0; n < s.model.node_count; n++) {
            double *x = s.x + 7 * n, arm[3];
            for (int d = 0; d < 3; d++) arm[d] = x[d] - middle[d];
            for (int d = 0; d < 3; d++) x[d] = middle[d] + sp_dot(turn + 3 * d, arm) + 0.1;
            sp_so3_turn(spin, x + 3);
        }
        memset(s.change, 0, unknowns(&s) * sizeof(double));
        const double energy = scene_energy(&s, 0, 60);
        check_close(s.contact.friction.energy, 0, 1e-9 * energy);
        scene_end(&s);
    }
}

/* The potential of a pair whose grips stick and slide, along and across, agrees with
 * differences. */
static void test_friction_differences(void **unused)
{
    (void)unused;
    sp_rng rng;
    sp_rng_seed(&rng, 17, 0);
    for (int round = 0; round < 6; round++) {
        scene s = {.friction = 0.3};
        two_struts(&s, round % 3 == 2 ? 0.2 : 0.9, 2, 0.8, 0);
        lift(&s, 1, 0.8 * 0.8 - 2);
        scene_energy(&s, 0, 60);
        sp_contact_keep(&s.contact, s.gradient, 0);
        const size_t n = unknowns(&s);
        double *want = calloc(n, sizeof *want), *got = calloc(n, sizeof *got), slope = 0;
        assert_true(want && got);
        const double far = round % 2 ? 0.3 : 0.003; /* most slide, most stick */
        for (size_t i = 0; i < n; i++) s.change[i] = far * 0.1 * sp_rng_normal(&rng);
        for (int k = s.model.chain_first[1]; k < s.model.chain_first[2]; k++)
            for (int d = 0; d < 3; d++) s.change[6 * s.model.point_node[k] + d] += d == 1 ? 0 : far;
        double *moved = calloc((size_t)(s.model.values * s.model.node_count), sizeof *moved);
        assert_non_null(moved);
        sp_model_move(&s.model, s.x, 1, s.change, moved);
        memcpy(s.x, moved, (size_t)(s.model.values * s.model.node_count) * sizeof *moved);
        free(moved);
        for (size_t i = 0; i < n; i++) s.change[i] = sp_rng_normal(&rng);
        scene_energy(&s, 0, 60);
        check_true(s.contact.friction.energy > 0);
        for (size_t i = 0; i < n; i++) slope += s.gradient[i] * s.change[i];
        multiply(&s, s.change, want);
        check_relative(slopes(&s, 1e-6, 0, 60, got), slope, 1e-6);
        check_close(furthest(got, want, n) / largest(want, n), 0, 2e-6);
        free(want), free(got);
        scene_end(&s);
    }
}

/* Turn strut 1 about an upright through its middle, and draw it a little along and across. */
static void turn_upper(scene *s, double by)
{
    const sp_model *m = &s->model;
    const double spin[3] = {0, -by, 0}, middle[3] = {0.13, 0, 0.07};
    unsigned char *seen = calloc((size_t)m->node_count, 1);
    assert_non_null(seen);
    for (int k = m->chain_first[1]; k < m->chain_first[2]; k++) {
        double *x = s->x + 7 * m->point_node[k];
        if (seen[m->point_node[k]]) continue;
        seen[m->point_node[k]] = 1;
        const double a = x[0] - middle[0], b = x[2] - middle[2];
        x[0] = middle[0] + a * cos(by) - b * sin(by) + 0.02;
        x[2] = middle[2] + a * sin(by) + b * cos(by) + 0.03;
        sp_so3_turn(spin, x + 3);
    }
    free(seen);
}

/* Struts that crossed when their grips were made lie side by side at the end of the step, as after
 * a jump: no direction is across then, slip across counts for nothing (E232), and forces and
 * stiffness stay those of the potential. Without that the energy had a cusp where struts are
 * parallel, and no state was found there. (Soak, seed 102 of at most 200 struts, coupon 74.) */
static void test_friction_of_struts_that_turn_parallel(void **unused)
{
    (void)unused;
    static const double left[] = {0.2, 0.09, 0.03, 3e-3, 1e-7, 0};
    sp_rng rng;
    sp_rng_seed(&rng, 19, 0);
    for (int k = 0; k < 6; k++) {
        scene s = {.friction = 0.3};
        two_struts(&s, 0.9, 2, 0.8, 0);
        lift(&s, 1, 0.8 * 0.8 - 2);
        scene_energy(&s, 1, 60);
        sp_contact_keep(&s.contact, s.gradient, 0);
        const size_t n = unknowns(&s);
        double *want = calloc(n, sizeof *want), *got = calloc(n, sizeof *got), slope = 0;
        assert_true(want && got);
        turn_upper(&s, left[k] - 0.9);
        for (size_t i = 0; i < n; i++) s.change[i] = sp_rng_normal(&rng);
        scene_energy(&s, 0, 60);
        const sp_friction *friction = &s.contact.friction;
        check_true(friction->energy > 0 && friction->count > 5);
        for (int i = 0; i < friction->count && left[k] < 1e-6; i++)
            check_close(friction->grip[i].trial[1], 0, 1e-6);
        for (size_t i = 0; i < n; i++) slope += s.gradient[i] * s.change[i];
        multiply(&s, s.change, want);
        check_relative(slopes(&s, 1e-6, 0, 60, got), slope, 1e-6);
        if (left[k] > 1e-4) check_close(furthest(got, want, n) / largest(want, n), 0, 2e-6);
        free(want), free(got);
        scene_end(&s);
    }
}

/* Return the force of the friction on strut 1 along an axis, at the places where the struts are. */
static double drag(scene *s, const double axis[3])
{
    const sp_model *m = &s->model;
    double force = 0;
    memset(s->change, 0, unknowns(s) * sizeof(double));
    scene_energy(s, 1, 60);
    for (int k = m->chain_first[1]; k < m->chain_first[2]; k++) {
        const int node = m->point_node[k];
        if (k == m->chain_first[1] || node != m->point_node[k - 1])
            force += sp_dot(s->gradient + 6 * node, axis);
    }
    return force;
}

/* A pair whose grips hold is turned as a whole from one accepted state to the next: the whole force
 * turns with it. (A comparison of the old axis with the new one would leave cos 0.6 = 0.83 of it in
 * a step of 0.6 rad.) */
static void test_grips_turn_with_their_struts(void **unused)
{
    (void)unused;
    static const double angle[] = {M_PI / 2, 1, 0.2};
    for (int k = 0; k < 3; k++) {
        scene s = {.friction = 0.3};
        double axis[3] = {cos(angle[k]), 0, sin(angle[k])}, turned[3];
        two_struts(&s, angle[k], 2, 0.8, 0);
        lift(&s, 1, 0.85 * 0.8 - 2);
        scene_energy(&s, 1, 60);
        sp_contact_keep(&s.contact, s.gradient, 0);
        const sp_model *m = &s.model;
        unsigned char *seen = calloc((size_t)m->node_count, 1);
        assert_non_null(seen);
        for (int i = m->chain_first[1]; i < m->chain_first[2]; i++) {
            const int node = m->point_node[i];
            for (int d = 0; d < 3 && !seen[node]; d++) s.x[7 * node + d] += 0.02 * axis[d];
            seen[node] = 1;
        }
        free(seen);
        scene_energy(&s, 1, 60);
        sp_contact_keep(&s.contact, s.gradient, 0);
        const double before = drag(&s, axis);
        check_true(before > 0.01 * s.friction * fabs(force_on(&s, 1)));

        const double spin[3] = {0.1, 0.6, -0.2}, middle[3] = {1, 30, 2};
        double q[4] = {1, 0, 0, 0}, turn[9];
        sp_so3_turn(spin, q);
        sp_so3_matrix(q, turn);
        for (int n = 0; n < m->node_count; n++) {
            double *x = s.x + 7 * n, arm[3];
            for (int d = 0; d < 3; d++) arm[d] = x[d] - middle[d];
            for (int d = 0; d < 3; d++) x[d] = middle[d] + sp_dot(turn + 3 * d, arm);
            sp_so3_turn(spin, x + 3);
        }
        for (int d = 0; d < 3; d++) turned[d] = sp_dot(turn + 3 * d, axis);
        check_relative(drag(&s, turned), before, 1e-6);
        sp_contact_keep(&s.contact, s.gradient, 0);
        check_relative(drag(&s, turned), before, 1e-6);
        scene_end(&s);
    }
}

/* Any two straight struts, at any angle down to zero, with their ends, are compared with a plain
 * double sum (C): a quarter of a million places on each pair. */
static void test_skew_pairs(void **unused)
{
    (void)unused;
    static const double angle[] = {0, 0.002, 0.05, 0.3, 0.9, 1.5};
    const int n = 1200;
    for (int k = 0; k < 6; k++)
        for (int along = 0; along < 2; along++) {
            scene s;
            const double length = 3, thickness = 0.8, offset = along ? 2.9 : 0.4;
            const double c = length * cos(angle[k]), z = length * sin(angle[k]);
            const double width = M_PI / 4 * thickness;
            scene_begin(&s, 60);
            scene_strut(&s, scene_joint(&s, 0, 30, 0), scene_joint(&s, length, 30, 0), thickness, 0,
                        0);
            scene_strut(&s, scene_joint(&s, offset, 32, -0.2),
                        scene_joint(&s, offset + c, 32, -0.2 + z), thickness, 0, 0);
            scene_ready(&s, 3);
            for (double l = 0.9; l > 0.45; l -= 0.2) {
                lift(&s, 1, l * thickness - 2);
                double sum = 0;
                for (int i = 0; i < n; i++)
                    for (int j = 0; j < n; j++) {
                        const double u = (i + 0.5) / n, v = (j + 0.5) / n;
                        const double dx = offset + v * c - u * length, dz = v * z - 0.2;
                        sum += kernel(SP_ROUND_FACES,
                                      l * l + (dx * dx + dz * dz) / (thickness * thickness));
                    }
                const double want = layer_modulus * width * length * length / n / n * sum;
                check_close(scene_energy(&s, 0, 60), want,
                            0.01 * want + 1e-3 * layer_modulus * width);
            }
            scene_end(&s);
        }
}

/* Return the force per length of two round struts of thickness 0.8 side by side, or of rectangles
 * 1.3 wide. It is the difference of two lengths, so that the ends cancel. */
static double side_by_side(double height, double l)
{
    const double thickness = 0.8;
    double force[2];
    for (int k = 0; k < 2; k++) {
        scene s;
        const double length = k ? 12 : 8;
        scene_begin(&s, 60);
        for (int i = 0; i < 2; i++)
            scene_strut(&s, scene_joint(&s, 0, 30 + 2 * i, 0),
                        scene_joint(&s, length, 30 + 2 * i, 0), thickness, height, 0);
        scene_ready(&s, k ? 6 : 4);
        lift(&s, 1, l * thickness - 2);
        scene_energy(&s, 0, 60);
        force[k] = force_on(&s, 1);
        scene_end(&s);
    }
    return (force[1] - force[0]) / 4;
}

/* Rectangles side by side are the layer law per length, as in the plane: F = G b (l^-3 - l) (C;
 * Treloar, The Physics of Rubber Elasticity: pure shear). */
static void test_parallel(void **unused)
{
    (void)unused;
    for (double l = 0.85; l > 0.25; l -= 0.1)
        check_relative(side_by_side(1.3, l), layer_modulus * 1.3 * (1 / (l * l * l) - l), 5e-3);
}

/* Round struts side by side act like a roller between plates. Measurements on rubber lie below
 * linear elasticity at small squash; the kernel is between both there, and follows the rubber from
 * 10 to 60 %. Flat faces would have 2.4 to 3.1 times the force from 10 to 30 %. */
static void test_rollers(void **unused)
{
    (void)unused;
    const double scale = layer_modulus * 0.8;
    for (double s = 0.1; s < 0.605; s += 0.05) {
        const double per_length = side_by_side(0, 1 - s);
        check_relative(per_length, scale * roller(s), 0.2);
    }
    for (double s = 0.05; s < 0.125; s += 0.025) {
        const double per_length = side_by_side(0, 1 - s);
        check_true(per_length > 0.75 * scale * elastic_roller(s));
        check_true(per_length < 1.3 * scale * roller(s));
    }
    /* A nearly flat strut has the force of the solid of the same area, pressed between plates
     * without friction. */
    check_relative(side_by_side(0, 0.3), M_PI / 4 * scale * (1 / 0.027 - 0.3), 0.06);
}

/* --- moves --- */

/* Whatever the move, no two pieces come nearer by more than two fifths of their distance (E62), and
 * none pass through each other. */
static void test_safe_moves(void **unused)
{
    (void)unused;
    sp_rng rng;
    sp_rng_seed(&rng, 31, 0);
    const int apart[5] = {1, 1, 0, 1, 0}; /* struts that share no joint */
    int cut = 0;
    for (int round = 0; round < 40; round++) {
        scene s;
        tangle(&s, &rng);
        const int points = s.model.point_count;
        const double *from = s.contact.position;
        double *to = calloc(3 * (size_t)points, sizeof *to);
        const double far = round % 2 ? 0.2 : 3; /* both sides of the short list */
        for (int i = 0; i < 3 * points; i++) to[i] = from[i] + far * sp_rng_normal(&rng);
        const double fraction = sp_contact_safe_fraction(&s.contact, to, 1);
        check_true(fraction > 0 && fraction <= 1);
        cut += fraction < 1;
        for (int i = 0; i < 3 * points; i++) to[i] = from[i] + fraction * (to[i] - from[i]);
        for (int k = 0; k + 1 < points; k++)
            for (int j = k + 1; j + 1 < points; j++) {
                const int one = s.model.point_strut[k], two = s.model.point_strut[j];
                if (one == two || !apart[one] || !apart[two] || s.model.point_strut[k + 1] != one ||
                    s.model.point_strut[j + 1] != two)
                    continue;
                double d[2][6], square[2];
                for (int t = 0; t < 2; t++) {
                    const double *p = t ? to : from;
                    for (int i = 0; i < 3; i++) {
                        d[t][i] = p[3 * k + 3 + i] - p[3 * k + i];
                        d[t][3 + i] = p[3 * j + 3 + i] - p[3 * j + i];
                    }
                    square[t] = sp_segment_square(p + 3 * k, d[t], p + 3 * j, d[t] + 3);
                }
                const double left_out = s.model.thinnest + s.contact.margin;
                check_true(sqrt(square[1]) >= 0.6 * fmin(sqrt(square[0]), left_out) - 1e-9);
            }
        free(to);
        scene_end(&s);
    }
    check_true(cut > 20);
}

/* --- stacks --- */

/* Make a stack of rigid bars: only heights may change, and bars do not bend. */
static void make_rigid(scene *s)
{
    sp_model *m = &s->model;
    m->unknown_count = 0;
    for (int i = 0; i < m->unknowns * m->node_count; i++) {
        m->hold[i] = i % m->unknowns == 1 ? SP_FREE : SP_HELD;
        m->unknown[i] = m->hold[i] == SP_FREE ? m->unknown_count++ : -1;
    }
    for (int e = 0; e < m->element_count; e++)
        m->spatial[e].shear[0] = m->spatial[e].shear[1] = 1e6;
}

/* Press the scene to `gap`, from even heights; returns the force, and that of the lower platen. */
static double settle(scene *s, double gap, double *lower)
{
    sp_system system;
    sp_attempt attempt;
    assert_int_equal(sp_system_create(&s->context, &s->model, 0, &system), SP_OK);
    for (int n = 0; n < s->model.node_count; n++)
        s->x[7 * n + 1] = s->model.reference[7 * n + 1] * gap / s->model.height;
    assert_int_equal(
        sp_equilibrium_descend(&s->context, &system, s->x, s->model.height - gap, 500, &attempt),
        SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
    const double force = system.force;
    *lower = system.lower_force;
    sp_system_free(&system);
    return force;
}

/* Return the force on `count` round bars on each other, at rest a little apart. */
static double stack_force(int count, double length, double diameter, double l)
{
    scene s;
    const double pitch = 1.05 * diameter;
    double lower;
    scene_begin(&s, pitch * count);
    for (int i = 0; i < count; i++)
        scene_strut(&s, scene_joint(&s, 0, (i + 0.5) * pitch, 0),
                    scene_joint(&s, length, (i + 0.5) * pitch, 0), diameter, 0, 0);
    scene_ready(&s, (int)length);
    make_rigid(&s);
    const double force = settle(&s, l * diameter * count, &lower);
    check_relative(lower, force, 1e-9);
    scene_end(&s);
    return force;
}

/* For a round bar a platen acts like the endless line of the kernel (E246), and so does the next
 * bar: one roller between plates carries the same as a stack of them at the same squash. The ends
 * of the bars cancel in the difference of two lengths. */
static void test_stack_of_round_bars(void **unused)
{
    (void)unused;
    static const struct {
        int count;
        double least, tolerance;
    } row[] = {{1, 0.2, 1e-8}, {2, 0.35, 5e-3}, {4, 0.5, 5e-3}};
    const double diameter = 0.7, scale = layer_modulus * diameter * 4;
    for (int k = 0; k < 3; k++)
        for (double l = 0.85; l > row[k].least - 1e-9; l -= 0.05) {
            double w[3];
            sp_layer_smooth(SP_ROUND_FACES, l, w);
            const double force = stack_force(row[k].count, 12, diameter, l) -
                                 stack_force(row[k].count, 8, diameter, l);
            check_relative(force, -M_PI / 4 * scale * w[1], row[k].tolerance);
        }
}

/* Return the force on layers of `bars` round bars, every other layer across, with each bar on all
 * bars of the next layer. */
static double crossed_force(int layers, int bars, double length, double diameter, double gap)
{
    scene s;
    const double pitch = 1.05 * diameter;
    double lower;
    scene_begin(&s, pitch * layers);
    for (int i = 0; i < layers; i++)
        for (int k = 0; k < bars; k++) {
            const double y = (i + 0.5) * pitch, at = length * (k + 0.5) / bars;
            const int across = i % 2;
            scene_strut(&s, scene_joint(&s, across ? at : 0, y, across ? 0 : at),
                        scene_joint(&s, across ? at : length, y, across ? length : at), diameter, 0,
                        0);
        }
    scene_ready(&s, (int)length);
    make_rigid(&s);
    const double force = settle(&s, gap, &lower);
    check_relative(lower, force, 1e-9);
    scene_end(&s);
    return force;
}

/* The crossings are in series with the layers at the platens (C): one force goes through all of
 * them, found by bisection. */
static void test_crossed_stack(void **unused)
{
    (void)unused;
    const double diameter = 0.7, width = M_PI / 4 * diameter, length = 6;
    const int bars = 2;
    for (int layers = 2; layers <= 4; layers += 2)
        for (double wanted = 0.2; wanted < 4; wanted *= 2) { /* force over G b R of one crossing */
            const double force = wanted * layer_modulus * width * diameter * bars * bars;
            double low[2] = {0.05, 0.05}, high[2] = {1, 1};
            for (int i = 0; i < 60; i++)
                for (int k = 0; k < 2; k++) {
                    const double l = 0.5 * (low[k] + high[k]);
                    double w[3];
                    sp_layer_smooth(SP_ROUND_FACES, l, w);
                    const double carries = k ? -w[1] * layer_modulus * width * length * bars
                                             : 2 * M_PI * layer_modulus * width * diameter * l *
                                                   kernel(SP_ROUND_FACES, l * l) * bars * bars;
                    *(carries > force ? &low[k] : &high[k]) = l;
                }
            const double gap = diameter * (high[1] + (layers - 1) * high[0]);
            check_relative(crossed_force(layers, bars, length, diameter, gap), force, 0.02);
        }
}

/* --- whole presses --- */

/* Make the eight half diagonals of every cell of `n` x `n` x `n` with side `c`; joints on faces are
 * held. */
static void body_centred(scene *s, int n, double c, double diameter, double zone)
{
    int *corner = calloc((size_t)((n + 1) * (n + 1) * (n + 1)), sizeof *corner);
    scene_begin(s, n * c);
    for (int i = 0; i < (n + 1) * (n + 1) * (n + 1); i++) {
        const int y = i / (n + 1) % (n + 1);
        corner[i] = scene_joint(s, i % (n + 1) * c, y * c, i / (n + 1) / (n + 1) * c);
        s->network.joint_face[corner[i]] = y == 0 ? SP_FACE_LOWER : y == n ? SP_FACE_UPPER : 0;
    }
    for (int i = 0; i < n * n * n; i++) {
        const int x = i % n, y = i / n % n, z = i / n / n;
        const int middle = scene_joint(s, (x + 0.5) * c, (y + 0.5) * c, (z + 0.5) * c);
        for (int k = 0; k < 8; k++)
            scene_strut(s, middle,
                        corner[((z + k / 4) * (n + 1) + y + k / 2 % 2) * (n + 1) + x + k % 2],
                        diameter, 0, zone);
    }
    free(corner);
}

static void press(scene *s, double strain, const char *what)
{
    const sp_press_options options = {
        .strain = strain, .load_limit = INFINITY, .steps = 60, .frames = 400};
    sp_path path;
    const sp_status status = press_whole_model(&s->context, &s->model, &options, &path);
    if (getenv("SHOW")) {
        for (int i = 0; i < path.step_count; i += path.step_count / 12 + 1)
            printf("%s %.3f %.4f N contacts %d iterations %d\n", what, sp_path_strain(&path, i),
                   path.step[i].force, path.step[i].contacts, path.step[i].iterations);
        no_crossing f = no_crossing_look(&s->network, &path.shapes);
        printf("%s: %d steps, %.2f s, solver %.2f, nearest %.3f passed %d unsure %d frames %d stop "
               "%s\n",
               what, path.step_count, path.seconds_total, path.seconds_solver, f.nearest, f.passed,
               f.unsure, path.shapes.frame_count, sp_stop_text(path.stop));
    }
    if (status != SP_OK) fail_msg("%s: %s", what, s->context.message);
    no_crossing_check(&s->network, &path.shapes, 0.1);
    sp_path_free(&path);
}

static void test_press_body_centred(void **unused)
{
    (void)unused;
    scene s;
    body_centred(&s, 2, 4, 0.8, 0.5);
    for (int i = 0; i < s.network.strut_count; i++) s.network.strut_bow[i] = 0.01 * (i % 5 - 2);
    scene_ready(&s, 6);
    press(&s, 0.6, "body-centred");
    scene_end(&s);
}

/* --- the look for crossings --- */

/* Look for crossings of a strut along x and one across it, which is `above` the first in each
 * frame. */
static no_crossing look_at_pair(const double *above, int frames)
{
    int joint[] = {0, 1, 2, 3}, first[] = {0, 3, 5};
    double zone[4] = {0}, thickness[] = {0.4, 0.6}, position[4 * 15];
    const sp_network network = {.strut_count = 2, .strut_joint = joint, .strut_zone = zone};
    const sp_shapes shapes = {.strut_count = 2,
                              .point_count = 5,
                              .first_point = first,
                              .thickness = thickness,
                              .frame_count = frames,
                              .position = position};
    for (int f = 0; f < frames; f++) {
        const double p[15] = {-2, 0, 0, 0.5, 0, 0, 2, 0, 0, 0, above[f], -1, 0.1, above[f], 1};
        memcpy(position + 15 * f, p, sizeof p);
    }
    return no_crossing_look(&network, &shapes);
}

static void test_look_for_crossings(void **unused)
{
    (void)unused;
    const double stays[] = {1, 0.6, 0.2, 0.3}, passes[] = {1, 0.2, -0.2, -1}, far[] = {1, -1};
    no_crossing found = look_at_pair(stays, 4);
    check_true(found.passed == 0 && found.unsure == 0 && found.frame == 2);
    check_close(found.nearest, 0.4, 1e-12);
    found = look_at_pair(passes, 4);
    check_true(found.passed == 1 && found.passed_frame == 2 && found.unsure == 0);
    found = look_at_pair(far, 2);
    check_true(found.passed == 0 && found.unsure == 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line_differences),
        cmocka_unit_test(test_line_points),
        cmocka_unit_test(test_line_turns_with_its_frame),
        cmocka_unit_test(test_line_touched),
        cmocka_unit_test(test_segment_distance),
        cmocka_unit_test(test_wall_differences),
        cmocka_unit_test(test_wall_slipped),
        cmocka_unit_test(test_differences),
        cmocka_unit_test(test_balance),
        cmocka_unit_test(test_crossing),
        cmocka_unit_test(test_hertz),
        cmocka_unit_test(test_friction_of_a_pair),
        cmocka_unit_test(test_friction_differences),
        cmocka_unit_test(test_friction_of_struts_that_turn_parallel),
        cmocka_unit_test(test_grips_turn_with_their_struts),
        cmocka_unit_test(test_skew_pairs),
        cmocka_unit_test(test_parallel),
        cmocka_unit_test(test_rollers),
        cmocka_unit_test(test_safe_moves),
        cmocka_unit_test(test_stack_of_round_bars),
        cmocka_unit_test(test_crossed_stack),
        cmocka_unit_test(test_look_for_crossings),
        cmocka_unit_test(test_press_body_centred),
    };
    return cmocka_run_group_tests_name("spatial_contact", tests, NULL, NULL);
}
