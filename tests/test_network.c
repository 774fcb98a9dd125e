/* These tests check networks: rules that hold for every pattern, figures against closed forms,
 * joint zones, flaws, drawings, and refusals. */
#include "coupon.h"
#include "connected.h"

#include <strutpress/network.h>

#include "base/alloc.h"
#include "base/rng.h"
#include "pattern/pattern.h"
#include "drawing/drawing.h"
#include "temporary_file.h"

enum { ODD_CASES = 300 };

static sp_context context;

static sp_network build(const sp_case *request, int with_flaws)
{
    sp_network network;
    context.message[0] = 0;
    if (sp_network_build(&context, request, with_flaws, &network) != SP_OK)
        fail_msg("%s at %g %%, %g deg, %d walls: %s", request->pattern, 100 * request->density,
                 request->angle, request->wall_beads, context.message);
    return network;
}

static sp_case standard(const char *pattern)
{
    sp_case request;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "%s", pattern);
    return request;
}

/* ---- rules for every network ----------------------------------------------- */

static const double *position(const sp_network *network, int joint)
{
    return network->joint_position + 3 * joint;
}

static double side_of(const double *a, const double *b, const double *p)
{
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
}

/* Check that two struts without a common joint do not cross, and that no strut comes twice. */
static void check_no_crossings(const sp_network *network)
{
    for (int s = 0; s < network->strut_count; s++)
        for (int r = 0; r < s; r++) {
            const int *i = network->strut_joint + 2 * s, *j = network->strut_joint + 2 * r;
            int shared = (i[0] == j[0]) + (i[0] == j[1]) + (i[1] == j[0]) + (i[1] == j[1]);
            check_true(shared < 2);
            if (shared) continue;
            const double *a = position(network, i[0]), *b = position(network, i[1]);
            const double *c = position(network, j[0]), *d = position(network, j[1]);
            double nil = -1e-18; /* mm^4: collinear struts apart from each other leave round-off */
            if (side_of(a, b, c) * side_of(a, b, d) < nil &&
                side_of(c, d, a) * side_of(c, d, b) < nil)
                fail_msg("struts %d (%.9g %.9g, %.9g %.9g) and %d (%.9g %.9g, %.9g %.9g) cross", s,
                         a[0], a[1], b[0], b[1], r, c[0], c[1], d[0], d[1]);
        }
}

static void check_joint(const sp_network *network, const sp_case *request, int n, const int *degree,
                        const int *walls, const double *turn)
{
    double half = 0.5 * request->wall_beads * request->bead_width;
    const double *p = position(network, n);
    double low[2] = {half, half}, high[2] = {request->width - half, request->height - half};
    double same = 1e-9 * request->width;
    check_true(p[2] == 0 && p[0] >= low[0] - same && p[0] <= high[0] + same);
    check_true(p[1] >= low[1] - same && p[1] <= high[1] + same);
    int lower = fabs(p[1] - low[1]) < same, upper = fabs(p[1] - high[1]) < same;
    int side = fabs(p[0] - low[0]) < same || fabs(p[0] - high[0]) < same;
    assert_int_equal(network->joint_face[n],
                     (lower ? SP_FACE_LOWER : 0) | (upper ? SP_FACE_UPPER : 0));
    check_true(degree[n] + walls[n] >= 1);
    if (request->wall_beads) {
        assert_int_equal(walls[n], lower || upper || side ? 2 : 0);
        int corner = side && (lower || upper);
        check_true(degree[n] >= (walls[n] ? !corner : 2));
    } else {
        check_true(degree[n] >= 2 || lower || upper || side);
        check_true(walls[n] == 0 || lower || upper); /* plates */
    }
    if (degree[n] == 2 && !walls[n] && !lower && !upper)
        check_true(turn[n] > 1e-5); /* a straight run has no joint */
}

static void check_strut(const sp_network *network, const sp_case *request, int s)
{
    double length = sp_network_strut_length(network, s);
    if (!(length >= request->bead_width * (1 - 1e-6)))
        fail_msg("strut %d is %.4g beads long", s, length / request->bead_width);
    check_true(network->strut_joint[2 * s] != network->strut_joint[2 * s + 1]);
    /* Without a wall this is the thickness of a plate. */
    double wall = (request->wall_beads ? request->wall_beads : 1) * request->bead_width;
    check_close(network->strut_thickness[s],
                network->strut_role[s] == SP_ROLE_WALL ? wall : request->bead_width, 1e-12);
    for (int k = 0; k < 2; k++)
        check_true(network->strut_zone[2 * s + k] >= 0 &&
                   network->strut_zone[2 * s + k] <= 0.4 * length * (1 + 1e-12));
    check_true(sp_network_free_length(network, s) >= 0.0999 * length);
    check_true(network->strut_bow[s] == 0);
}

/* Check the joints: their numbers of infill and wall struts, and the turn where only two infill
 * struts meet. */
static void check_rules(const sp_network *network, const sp_case *request)
{
    size_t count = (size_t)network->joint_count;
    int *degree = sp_alloc(count, sizeof *degree), *walls = sp_alloc(count, sizeof *walls);
    double *turn = sp_alloc(count, sizeof *turn), *sum = sp_alloc(count, 2 * sizeof *sum);
    double wall_length = 0;
    for (int s = 0; s < network->strut_count; s++) {
        check_strut(network, request, s);
        double length = sp_network_strut_length(network, s);
        int is_wall = network->strut_role[s] == SP_ROLE_WALL;
        wall_length += is_wall ? length : 0;
        for (int k = 0; k < 2; k++) {
            int here = network->strut_joint[2 * s + k], there = network->strut_joint[2 * s + 1 - k];
            (is_wall ? walls : degree)[here]++;
            for (int x = 0; x < 2 && !is_wall; x++)
                sum[2 * here + x] +=
                    (position(network, there)[x] - position(network, here)[x]) / length;
        }
    }
    for (int n = 0; n < network->joint_count; n++) {
        turn[n] = hypot(sum[2 * n], sum[2 * n + 1]); /* two unit vectors cancel when in line */
        check_joint(network, request, n, degree, walls, turn);
    }
    double wall = request->wall_beads * request->bead_width;
    if (request->wall_beads)
        check_relative(wall_length, 2 * (request->width + request->height - 2 * wall), 1e-12);
    check_connected(network);
    if (network->strut_count < 300) check_no_crossings(network);
    check_true(network->solid_fraction > 0 && network->solid_fraction <= 1);
    sp_free(degree), sp_free(walls), sp_free(turn), sp_free(sum);
}

static void rules_hold_for_every_pattern(void **state)
{
    (void)state;
    static const double density[] = {0.12, 0.20, 0.28, 0.45}, angle[] = {0, 30, 45};
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++) {
        if (strcmp(rows[i].name, "drawn") == 0) continue;
        for (int k = 0; k < 36; k++) {
            if (coupon_quick() && (k + i) % 12) continue;
            sp_case request = standard(rows[i].name);
            request.density = density[k % 4];
            request.angle = angle[k / 4 % 3];
            request.wall_beads = k / 12;
            sp_network network = build(&request, 0);
            check_rules(&network, &request);
            /* A box cuts a family of lines to within one line: the unit is two lines per cell of
             * squares. */
            double inside = request.height - 2 * request.wall_beads * request.bead_width;
            check_relative(network.nominal_density, request.density,
                           2 * request.bead_width / request.density / inside);
            sp_network_free(&network);
        }
    }
}

/* With odd angles, offsets, sizes, densities and shapes every network that is built keeps the
 * rules, and all others are refused in one line. */
static void rules_hold_for_odd_cases(void **state)
{
    (void)state;
    int count, built = 0;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    sp_rng rng;
    sp_rng_seed(&rng, 7, 0);
    for (int i = 0; i < ODD_CASES; i++) {
        sp_case request = standard(rows[i % (count - 1)].name); /* drawn is the last row */
        request.density = 0.05 + 0.9 * pow(sp_rng_uniform(&rng), 2);
        request.angle = 360 * sp_rng_uniform(&rng) - 180;
        request.offset_x = sp_rng_uniform(&rng), request.offset_y = sp_rng_uniform(&rng);
        request.width = 10 + 25 * sp_rng_uniform(&rng),
        request.height = 10 + 25 * sp_rng_uniform(&rng);
        request.wall_beads = (int)(5 * sp_rng_uniform(&rng));
        request.cell_angle = 100 * sp_rng_uniform(&rng) - 50;
        request.cell_ratio = 0.5 + 3 * sp_rng_uniform(&rng);
        request.wave_height = 0.4 * sp_rng_uniform(&rng);
        request.regularity = sp_rng_uniform(&rng), request.cell_seed = i;
        if (coupon_quick() && i % 6) continue;
        sp_network network;
        context.message[0] = 0;
        sp_status status = sp_network_build(&context, &request, 0, &network);
        if (status == SP_OK) {
            check_rules(&network, &request);
            built++;
        } else {
            assert_int_equal(status, SP_BAD_CASE);
            check_true(strstr(context.message, "received") && strstr(context.message, "valid:"));
            assert_int_equal(network.joint_count, 0);
        }
        sp_network_free(&network);
    }
    check_true(built > ODD_CASES / (coupon_quick() ? 12 : 2));
}

/* ---- offset ----------------------------------------------- */

/* Check that joints and struts of both are the same, in whatever order. */
static void check_same_network(const sp_network *a, const sp_network *b, const char *what)
{
    const double near = 1e-7; /* mm */
    if (a->joint_count != b->joint_count || a->strut_count != b->strut_count)
        fail_msg("%s: %d joints, %d struts, wanted %d and %d", what, a->joint_count, a->strut_count,
                 b->joint_count, b->strut_count);
    for (int n = 0; n < a->joint_count; n++) {
        const double *p = a->joint_position + 3 * n;
        int found = 0;
        for (int m = 0; m < b->joint_count; m++) {
            const double *q = b->joint_position + 3 * m;
            found += hypot(p[0] - q[0], p[1] - q[1]) < near;
        }
        if (found != 1) fail_msg("%s: no joint at (%g, %g)", what, p[0], p[1]);
    }
    check_close(a->solid_fraction, b->solid_fraction, 1e-9);
}

/* An offset of [1, 0], [0, 1] or both, forwards and back, is a period of every pattern that has
 * one. */
static void offset_of_a_period_changes_nothing(void **state)
{
    (void)state;
    static const double offset[][2] = {{1, 0}, {0, 1}, {-1, 2}};
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++)
        for (int k = 0; k < 3 && rows[i].perfect; k++) {
            sp_case request = standard(rows[i].name);
            request.angle = 17, request.offset_x = 0.31, request.offset_y = 0.17;
            sp_network one = build(&request, 0);
            request.offset_x += offset[k][0], request.offset_y += offset[k][1];
            sp_network other = build(&request, 0);
            check_same_network(&other, &one, rows[i].name);
            request.offset_x += 0.5;
            sp_network moved = build(&request, 0);
            check_true(fabs(moved.joint_position[0] - one.joint_position[0]) +
                           fabs(moved.joint_position[1] - one.joint_position[1]) +
                           fabs(moved.solid_fraction - one.solid_fraction) >
                       1e-6);
            sp_network_free(&one);
            sp_network_free(&other);
            sp_network_free(&moved);
        }
}

/* Random cells have no period: an offset of 1 is their mean cell length, and the same cells come in
 * from the other side. */
static void offset_moves_random_cells(void **state)
{
    (void)state;
    sp_case request = standard("voronoi");
    request.width = request.height = 60, request.angle = 0, request.density = 0.2;
    sp_network here = build(&request, 0);
    request.offset_x = 0.5, request.offset_y = -1;
    sp_network moved = build(&request, 0);
    const double cell = here.cell_size;
    int found = 0, wanted = 0;
    check_relative(moved.cell_size, cell, 0.02); /* scaled to the density that is left inside */
    const double scale = moved.cell_size / cell;
    for (int n = 0; n < here.joint_count; n++) {
        const double *p = here.joint_position + 3 * n;
        const double x = 30 + scale * (p[0] - 30 + 0.5 * cell), y = 30 + scale * (p[1] - 30 - cell);
        if (hypot(p[0] - 30, p[1] - 30) > 20) continue;
        wanted++;
        for (int m = 0; m < moved.joint_count; m++)
            found += hypot(moved.joint_position[3 * m] - x, moved.joint_position[3 * m + 1] - y) <
                     1e-3 * cell;
    }
    check_true(wanted > 50);
    assert_int_equal(found, wanted);
    sp_network_free(&here);
    sp_network_free(&moved);
}

/* ---- figures ----------------------------------------------- */

/* In a coupon of many cells the achieved density comes near the one asked for, whatever the
 * pattern. */
static void density_is_met_in_large_coupons(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++) {
        if (strcmp(rows[i].name, "drawn") == 0) continue;
        sp_case request = standard(rows[i].name);
        request.width = request.height = 120, request.angle = 17;
        sp_network network = build(&request, 0);
        check_relative(network.nominal_density, request.density, 0.02);
        double line_density = rows[i].line_density(&request);
        if (!isnan(line_density)) /* the rule that sets the cell, exact */
            check_relative(network.cell_size, line_density * request.bead_width / request.density,
                           1e-14);
        sp_network_free(&network);
    }
}

/* Build a coupon without walls of n x m periods: it holds n x m times what the pattern holds in one
 * period, as long as its rim cuts no joint. */
static sp_network periods(const char *pattern, double density, double wide, double high,
                          double offset_x, double offset_y)
{
    sp_case request = standard(pattern);
    request.density = density, request.angle = 0, request.wall_beads = 0;
    double cell = sp_pattern_find(pattern)->line_density(&request) * request.bead_width / density;
    request.width = wide * cell, request.height = high * cell;
    request.offset_x = offset_x, request.offset_y = offset_y;
    return build(&request, 0);
}

/* With crossings counted once, squares of walls t hold 2 t/l - (t/l)^2. */
static void solid_fraction_of_squares(void **state)
{
    (void)state;
    static const double density[] = {0.1, 0.2, 0.45, 0.9};
    for (int i = 0; i < 4; i++) {
        sp_network network = periods("square", density[i], 8, 6, 0.5, 0.5);
        check_relative(network.nominal_density, density[i], 1e-9);
        check_relative(network.solid_fraction, density[i] * (1 - density[i] / 4), 1e-3);
        sp_network_free(&network);
    }
}

/* In hexagons, where three walls meet at 120 deg, three rectangles cover sqrt(3)/4 t^2 more than
 * their union, twice per period of area 3 sqrt(3)/2 l^2: solid = 2/sqrt(3) t/l - (t/l)^2 / 3.
 * Derived here. */
static void solid_fraction_of_hexagons(void **state)
{
    (void)state;
    for (int i = 0; i < 3; i++) {
        double density = 0.1 * pow(2, i), thin = density * sqrt(3) / 2;
        sp_network network = periods("hexagonal", density, 6 * sqrt(3), 9, 0.25, 0);
        check_relative(network.nominal_density, density, 1e-9);
        check_relative(network.solid_fraction, density - thin * thin / 3, 5e-3);
        sp_network_free(&network);
    }
}

/* The solid is that of a frame of walls, with crossings counted once, and of the squares inside
 * it. */
static void solid_fraction_with_walls(void **state)
{
    (void)state;
    sp_case request = standard("square");
    double wall = request.wall_beads * request.bead_width, cell = 4.2; /* 20 % */
    request.angle = 0;
    request.width = 6 * cell + 2 * wall, request.height = 5 * cell + 2 * wall;
    request.offset_x = 0.5; /* six lines upright, five level ones, half a cell from the walls */
    request.offset_x = 0.5, request.offset_y = 0;
    sp_network network = build(&request, 0);
    double inner = 30 * cell * cell, frame = request.width * request.height - inner;
    double tau = request.bead_width / cell;
    check_relative(network.solid_fraction,
                   (frame + inner * (2 * tau - tau * tau)) / (frame + inner), 1e-3);
    check_relative(network.nominal_density, 0.2, 1e-9);
    sp_network_free(&network);
}

/* ---- joint zones ----------------------------------------------- */

/* Return the largest zone at joints with `degree` infill struts in the middle of the coupon, where
 * no wall has moved them. */
static double zone_at(const sp_network *network, int degree)
{
    double largest = -1;
    for (int n = 0; n < network->joint_count; n++) {
        int infill = 0;
        double zone = 0;
        const double *p = network->joint_position + 3 * n;
        if (fabs(p[0] / network->size[0] - 0.5) > 0.3 || fabs(p[1] / network->size[1] - 0.5) > 0.3)
            continue;
        for (int k = 0; k < 2 * network->strut_count; k++) {
            if (network->strut_joint[k] != n) continue;
            infill++;
            zone = fmax(zone, network->strut_zone[k]);
        }
        if (infill == degree) largest = fmax(largest, zone);
    }
    return largest;
}

/* Return the zone that does not bend where E39 gives r, and `alike` for a neighbour as thick as the
 * strut: r less half of `alike` where corners are sharp, and 1.6 alike^2/t more per rounding, at
 * most r (E145). */
static double bent_zone(double rounding, double r, double alike, double thickness)
{
    const double sharp = fmin(2 * rounding, 1) * (r - 0.5 * alike);
    const double more = fmax(rounding - 0.5, 0) * fmin(1.6 * alike / thickness, 2) * alike;
    return fmin(sharp + more, r);
}

/* A zone is r = (t_j/2) / sin alpha + (t_i/2) / tan alpha for the sharpest neighbour,
 * docs/theory.md. */
static void zones_follow_the_angle(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        int degree;
        double angle;
    } row[] = {{"square", 4, 90}, {"triangular", 6, 60}, {"hexagonal", 3, 120}, {"kagome", 4, 60}};
    for (int i = 0; i < 4; i++) {
        sp_case request = standard(row[i].pattern);
        sp_network network = build(&request, 0);
        double half = request.bead_width / 2, alpha = row[i].angle * M_PI / 180;
        double want = half / sin(alpha) + half / tan(alpha);
        check_relative(zone_at(&network, row[i].degree),
                       bent_zone(1, want, want, request.bead_width), 1e-9);
        sp_network_free(&network);
        request.joint_zone = 0.5;
        network = build(&request, 0);
        check_relative(zone_at(&network, row[i].degree), 0.5 * want, 1e-9);
        sp_network_free(&network);
        request.joint_zone = 0;
        network = build(&request, 0);
        for (int k = 0; k < 2 * network.strut_count; k++) check_true(network.strut_zone[k] == 0);
        sp_network_free(&network);
    }
}

/* A strut that meets a wall of thickness w at 45 deg has the zone of E39, and so has one at a right
 * angle to it. */
static void zones_at_walls(void **state)
{
    (void)state;
    for (int square = 0; square < 2; square++) {
        sp_case request = standard("square");
        request.angle = square ? 0 : 45;
        sp_network network = build(&request, 0);
        double t = request.bead_width, w = request.wall_beads * t;
        double want = square ? bent_zone(1, w / 2, t / 2, t)
                             : bent_zone(1, (w / 2 + t / 2 * cos(M_PI / 4)) / sin(M_PI / 4),
                                         t / 2 / tan(M_PI / 8), t);
        int found = 0;
        for (int k = 0; k < 2 * network.strut_count; k++) {
            int joint = network.strut_joint[k];
            if (network.strut_role[k / 2] == SP_ROLE_WALL || !network.joint_face[joint]) continue;
            double limit = 0.4 * sp_network_strut_length(&network, k / 2);
            double got = network.strut_zone[k];
            if (square) check_relative(got, fmin(limit, want), 1e-9);
            found += fabs(got - want) < 1e-9;
        }
        check_true(found > 4);
        sp_network_free(&network);
    }
}

static void smooth_bends_have_no_zone(void **state)
{
    (void)state;
    sp_case request = standard("wavy");
    request.angle = 0, request.density = 0.12;
    sp_network network = build(&request, 0);
    check_true(zone_at(&network, 2) == 0);
    check_true(zone_at(&network, 4) > 0);
    sp_network_free(&network);
}

/* ---- flaws ----------------------------------------------- */

static void check_same(const double *a, const double *b, int count, int same)
{
    int equal = memcmp(a, b, sizeof *a * (size_t)count) == 0;
    check_true(equal == same);
}

/* Return 1 for a part of a wall that lies on a platen. */
static int is_flat_wall(const sp_network *network, int s)
{
    const int *joint = network->strut_joint + 2 * s;
    return network->strut_role[s] == SP_ROLE_WALL &&
           (network->joint_face[joint[0]] & network->joint_face[joint[1]]);
}

/* The same seed gives the same coupon, another seed another, seed 0 and a build without flaws the
 * perfect one. */
static void flaws_repeat(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.bow = 0.01, request.thickness_scatter = 0.05, request.joint_offset = 0.1;
    sp_network a = build(&request, 1), b = build(&request, 1), perfect = build(&request, 0);
    request.flaw_seed++;
    sp_network c = build(&request, 1);
    request.flaw_seed = 0;
    sp_network none = build(&request, 1);
    int n = 3 * a.joint_count, m = a.strut_count;
    check_same(a.joint_position, b.joint_position, n, 1);
    check_same(a.strut_bow, b.strut_bow, m, 1);
    check_same(a.strut_thickness, b.strut_thickness, m, 1);
    check_same(a.joint_position, c.joint_position, n, 0);
    check_same(a.strut_bow, c.strut_bow, m, 0);
    check_same(a.strut_thickness, c.strut_thickness, m, 0);
    check_same(perfect.joint_position, none.joint_position, n, 1);
    check_same(perfect.strut_bow, none.strut_bow, m, 1);
    check_same(perfect.strut_thickness, none.strut_thickness, m, 1);
    for (int s = 0; s < m; s++) {
        if (is_flat_wall(&a, s)) check_true(a.strut_thickness[s] == perfect.strut_thickness[s]);
        check_true(a.strut_thickness[s] >= 0.5 * request.bead_width);
    }
    for (int k = 0; k < a.joint_count; k++) /* joints on walls stay */
        if (a.joint_face[k])
            check_true(a.joint_position[3 * k + 1] == perfect.joint_position[3 * k + 1]);
    sp_network_free(&a), sp_network_free(&b), sp_network_free(&c);
    sp_network_free(&perfect), sp_network_free(&none);
}

/* Changing one kind of flaw leaves the numbers of the others as they were. */
static void kinds_of_flaws_are_independent(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.bow = 0.01, request.thickness_scatter = 0.05, request.joint_offset = 0;
    sp_network a = build(&request, 1);
    request.bow = 0.02;
    sp_network b = build(&request, 1);
    check_same(a.strut_thickness, b.strut_thickness, a.strut_count, 1);
    for (int s = 0; s < a.strut_count; s++) check_close(b.strut_bow[s], 2 * a.strut_bow[s], 1e-12);
    request.bow = 0.01, request.missing = 0.1;
    sp_network c = build(&request, 1);
    int found = 0;
    for (int s = 0; s < c.strut_count; s++)
        for (int r = 0; r < a.strut_count; r++) {
            int same = 1; /* the same strut, by the places of its ends */
            for (int k = 0; k < 2; k++)
                for (int x = 0; x < 2; x++)
                    same &= fabs(c.joint_position[3 * c.strut_joint[2 * s + k] + x] -
                                 a.joint_position[3 * a.strut_joint[2 * r + k] + x]) < 1e-9;
            if (!same || c.strut_role[s] == SP_ROLE_WALL) continue;
            found++;
            check_close(c.strut_thickness[s], a.strut_thickness[r], 1e-15);
            check_close(c.strut_bow[s], a.strut_bow[r], 1e-15);
        }
    check_true(found > 20);
    sp_network_free(&a), sp_network_free(&b), sp_network_free(&c);
}

/* The mean and the deviation over many struts are those asked for, within four standard errors. */
static void flaws_have_the_spread_asked_for(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.width = request.height = 160;
    request.bow = 0.02, request.thickness_scatter = 0.04, request.joint_offset = 0.1;
    sp_network perfect = build(&request, 0), network = build(&request, 1);
    double bow[2] = {0}, thick[2] = {0}, move[2] = {0}, both = 0;
    int count = 0, joints = 0;
    for (int s = 0; s < network.strut_count; s++) {
        if (network.strut_role[s] == SP_ROLE_WALL) continue;
        double b = network.strut_bow[s] / sp_network_strut_length(&network, s) / request.bow;
        double t =
            (network.strut_thickness[s] / request.bead_width - 1) / request.thickness_scatter;
        bow[0] += b, bow[1] += b * b, thick[0] += t, thick[1] += t * t;
        both += b * t;
        count++;
    }
    for (int n = 0; n < network.joint_count; n++) {
        double d = (network.joint_position[3 * n] - perfect.joint_position[3 * n]) /
                   (request.joint_offset * request.bead_width);
        if (d == 0) continue; /* on a wall */
        move[0] += d, move[1] += d * d;
        joints++;
    }
    check_close(bow[0] / count, 0, 4 / sqrt(count));
    check_close(thick[0] / count, 0, 4 / sqrt(count));
    check_close(move[0] / joints, 0, 4 / sqrt(joints));
    check_close(both / count, 0, 4 / sqrt(count)); /* drawn independently */
    check_close(bow[1] / count, 1, 4 * sqrt(2.0 / count));
    check_close(thick[1] / count, 1, 4 * sqrt(2.0 / count));
    check_close(move[1] / joints, 1, 4 * sqrt(2.0 / joints));
    sp_network_free(&perfect), sp_network_free(&network);
}

/* The bow over its length and the thickness of all walls that stand, in units of what the case asks
 * for. */
typedef struct wall_flaws {
    double bow[2], thick[2], both; /* sums of the values and of their squares, of their products */
    int count, flat;
} wall_flaws;

static wall_flaws measure_walls(const sp_network *network, const sp_case *request)
{
    wall_flaws sum = {0};
    const double whole = request->wall_beads * request->bead_width;
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != SP_ROLE_WALL) continue;
        const double bow =
            network->strut_bow[s] / sp_network_strut_length(network, s) / request->bow;
        const double thick = (network->strut_thickness[s] / whole - 1) / request->thickness_scatter;
        if (is_flat_wall(network, s)) {
            check_true(bow == 0 && network->strut_thickness[s] == whole);
            sum.flat++;
            continue;
        }
        sum.bow[0] += bow, sum.bow[1] += bow * bow;
        sum.thick[0] += thick, sum.thick[1] += thick * thick, sum.both += bow * thick;
        sum.count++;
    }
    return sum;
}

/* Walls bow between the joints that stand on them and scatter in thickness, as struts do, by what
 * is asked for, within four standard errors; those that lie on a platen are straight and even. */
static void walls_have_flaws(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.width = 30, request.height = 320, request.wall_beads = 2;
    request.bow = 0.02, request.thickness_scatter = 0.05;
    sp_network network = build(&request, 1);
    const wall_flaws sum = measure_walls(&network, &request);
    const int n = sum.count;
    check_true(sum.flat > 4 && n > 50);
    check_close(sum.bow[0] / n, 0, 4 / sqrt(n));
    check_close(sum.bow[1] / n, 1, 4 * sqrt(2.0 / n));
    check_close(sum.thick[0] / n, 0, 4 / sqrt(n));
    check_close(sum.thick[1] / n, 1, 4 * sqrt(2.0 / n));
    check_close(sum.both / n, 0, 4 / sqrt(n)); /* drawn independently */
    sp_network_free(&network);
}

/* Each flaw of the walls has its own numbers: without scatter walls are as thick as drawn, and bow
 * as they do with it; without bow their thickness is the same. */
static void flaws_of_walls_are_independent(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.bow = 0.02, request.thickness_scatter = 0.05, request.joint_offset = 0;
    request.wall_beads = 2;
    sp_network both = build(&request, 1), perfect = build(&request, 0);
    request.thickness_scatter = 0;
    sp_network bowed = build(&request, 1);
    request.thickness_scatter = 0.05, request.bow = 0;
    sp_network scattered = build(&request, 1);
    check_same(bowed.strut_bow, both.strut_bow, both.strut_count, 1);
    check_same(bowed.strut_thickness, perfect.strut_thickness, both.strut_count, 1);
    check_same(scattered.strut_thickness, both.strut_thickness, both.strut_count, 1);
    for (int s = 0, walls = 0; s < both.strut_count; s++) {
        const double factor = both.strut_thickness[s] / perfect.strut_thickness[s];
        if (both.strut_role[s] != SP_ROLE_WALL) continue;
        check_true((factor == 1) == is_flat_wall(&both, s));
        if (!walls++) continue;
        check_true(is_flat_wall(&both, s) ||
                   both.strut_thickness[s] != both.strut_thickness[s - 1]);
    }
    sp_network_free(&both), sp_network_free(&perfect);
    sp_network_free(&bowed), sp_network_free(&scattered);
}

/* A wall belongs to the row in which its middle lies: with row_scatter alone walls and struts of
 * one row are thicker by one factor, those of different rows by different ones. */
static void rows_take_their_walls_along(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.angle = 0, request.wall_beads = 2;
    request.bow = request.thickness_scatter = request.joint_offset = 0;
    request.row_scatter = 0.05;
    sp_network network = build(&request, 1), perfect = build(&request, 0);
    int compared = 0, different = 0;
    for (int s = 0; s < network.strut_count; s++)
        for (int r = 0; r < network.strut_count; r++) {
            const double *a = position(&network, network.strut_joint[2 * s]);
            const double *b = position(&network, network.strut_joint[2 * s + 1]);
            const double *c = position(&network, network.strut_joint[2 * r]);
            const double *d = position(&network, network.strut_joint[2 * r + 1]);
            if (network.strut_role[s] != SP_ROLE_WALL || network.strut_role[r] == SP_ROLE_WALL)
                continue;
            if (fabs(a[1] - b[1]) < 1e-9 || fabs(c[1] - d[1]) < 1e-9) continue; /* level */
            const double wall = network.strut_thickness[s] / perfect.strut_thickness[s];
            const double strut = network.strut_thickness[r] / perfect.strut_thickness[r];
            if (fabs(a[1] + b[1] - c[1] - d[1]) < 1e-9) {
                check_close(wall, strut, 1e-12);
                compared++;
            } else
                different += wall != strut;
        }
    check_true(compared > 20 && different > 20);
    sp_network_free(&network), sp_network_free(&perfect);
}

/* The rules hold for a network with missing struts; the more are missing, the less infill there
 * is. */
static void missing_struts_leave_a_network(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++) {
        if (strcmp(rows[i].name, "drawn") == 0) continue;
        sp_case request = standard(rows[i].name);
        request.bow = request.thickness_scatter = request.joint_offset = 0;
        double last = INFINITY;
        for (int k = 0; k < 4; k++) {
            request.missing = 0.08 * k;
            sp_network network = build(&request, 1);
            check_rules(&network, &request);
            check_true(network.nominal_density < last);
            last = network.nominal_density;
            sp_network_free(&network);
        }
    }
}

/* ---- drawings ----------------------------------------------- */

static sp_drawing read_text(const char *name, const char *text)
{
    sp_drawing drawing;
    context.message[0] = 0;
    if (sp_drawing_parse(&context, name, text, strlen(text), &drawing) != SP_OK)
        fail_msg("%s", context.message);
    return drawing;
}

#define HEAD "# vtk DataFile Version 3.0\ntitle\nASCII\n"

/* This is one drawing in four spellings. */
static void drawings_in_every_spelling(void **state)
{
    (void)state;
    static const char *const text[][2] = {
        {"a.vtk", HEAD "DATASET POLYDATA\nPOINTS 4 float\n0 0 1 2 0 1\n2 3 1 0 3 1\n"
                       "LINES 2 7\n3 0 1 2\n2 3 0\nCELL_DATA 2\nSCALARS x float\n"},
        {"b", HEAD "DATASET POLYDATA\nPOINTS 4 double\n0 0 0\n2 0 0\n2 3 0\n0 3 0\n"
                   "METADATA\nINFORMATION 0\n\nLINES 3 5\nOFFSETS vtktypeint64\n0 3 5\n"
                   "CONNECTIVITY vtktypeint64\n0 1 2 3 0\n"},
        {"c.VTK", HEAD "DATASET UNSTRUCTURED_GRID\nPOINTS 4 int\n0 0 0 2 0 0 2 3 0 0 3 0\n"
                       "CELLS 2 7\n3 0 1 2 2 3 0\nCELL_TYPES 2\n4 3\n"},
        {"d.obj", "# a drawing\r\no x\r\nv 0 0 0\r\nv 2 0 0 1.0\r\nv 2 3 0\r\nv 0 3 0\r\n"
                  "g y\r\nl 1/1 2/2 -2\r\nl 4 1\r\n"}};
    static const double want[] = {0, 0, 2, 0, 2, 0, 2, 3, 0, 3, 0, 0};
    for (int i = 0; i < 4; i++) {
        sp_drawing drawing = read_text(text[i][0], text[i][1]);
        assert_int_equal(drawing.line_count, 3);
        assert_false(drawing.is_spatial);
        for (int k = 0; k < 12; k++)
            check_close(drawing.point[3 * drawing.line_point[k / 2] + k % 2], want[k], 0);
        sp_drawing_free(&drawing);
    }
}

/* Each malformed drawing gives one line that names the place, what stood there and what would be
 * valid. */
static void malformed_drawings_are_refused(void **state)
{
    (void)state;
#define POLY HEAD "DATASET POLYDATA\n"
#define TWO POLY "POINTS 2 float\n0 0 0 1 1 0\n"
    static const char *const row[][3] = {
        {"a.vtk", "", "a.vtk:1: received the end of the file"},
        {"a.vtk", "hello", "a.vtk:1: received 'hello'"},
        {"a.txt", "v 0 0 0", "a.txt:1: received 'v'; valid: a file that starts with"},
        {"a", "", "a:1: received the end of the file"},
        {"a.vtk", "# vtk DataFile Version 3.0\nt\nBINARY\n",
         "a.vtk:3: received 'BINARY'; valid: ASCII"},
        {"a.vtk", HEAD "DATASET RECTILINEAR_GRID\n",
         "a.vtk:4: received 'RECTILINEAR_GRID'; valid: POLYDATA"},
        {"a.vtk", HEAD, "a.vtk:4: received the end of the file; valid: DATASET"},
        {"a.vtk", POLY, "received the end of the file; valid: at least one line"},
        {"a.vtk", POLY "POINTS -3 float\n", "a.vtk:5: received '-3'; valid: a whole number"},
        {"a.vtk", POLY "POINTS 99999999999999999999 float\n",
         "a.vtk:5: received '99999999999999999999'"},
        {"a.vtk", POLY "POINTS 2 string\n0 0 0", "a.vtk:5: received 'string'; valid: float"},
        {"a.vtk", POLY "POINTS 2 float\n0 0 0 1 1",
         "received the end of the file; valid: a coordinate"},
        {"a.vtk", POLY "POINTS 2 float\n0 0 0\n1 nan 0",
         "a.vtk:7: received 'nan'; valid: a coordinate"},
        {"a.vtk", POLY "POINTS 2 float\n0 0 0\n1 inf 0",
         "a.vtk:7: received 'inf'; valid: a coordinate"},
        {"a.vtk", POLY "POINTS 2 float\n0 0 0\n1 1e300 0", "a.vtk:7: received '1e300'"},
        {"a.vtk", POLY "POINTS 2 float\n0 0 0\n1 2x 0", "a.vtk:7: received '2x'"},
        {"a.vtk", TWO "POINTS 2 float\n", "a.vtk:7: received 'POINTS'; valid: POINTS only once"},
        {"a.vtk", TWO "POLYGONS 1 4\n3 0 1 0\n",
         "a.vtk:7: received 'POLYGONS'; valid: POINTS or LINES"},
        {"a.vtk", TWO "LINES 1 3\n2 0 2\n", "a.vtk:8: received '2'; valid: a whole number, 0 .. 1"},
        {"a.vtk", TWO "LINES 1 3\n2 0 -1\n",
         "a.vtk:8: received '-1'; valid: a whole number, 0 .. 1"},
        {"a.vtk", TWO "LINES 1 3\n1 0\n", "a.vtk:8: received '1'; valid: a whole number, 2 .. 2"},
        {"a.vtk", TWO "LINES 1 3\n9 0 1\n", "a.vtk:8: received '9'; valid: a whole number, 2 .. 2"},
        {"a.vtk", TWO "LINES 2 6\n2 0 1\n", "received the end of the file; valid:"},
        {"a.vtk", POLY "LINES 1 3\n2 0 1\n", "valid: points before the lines"},
        {"a.vtk", TWO "LINES 2 2\nOFFSETS vtktypeint64\n0 3\n", "a.vtk:9: received '3'"},
        {"a.vtk", TWO "LINES 2 2\nOFFSETS vtktypeint64\n0 2\nCELLS", "valid: CONNECTIVITY"},
        {"a.vtk", TWO "LINES 9999999 9999999\nOFFSETS x\n0",
         "valid: as many offsets as the file holds"},
        {"a.vtk",
         HEAD "DATASET UNSTRUCTURED_GRID\nPOINTS 3 float\n0 0 0 1 0 0 1 1 0\nCELLS 1 4\n3 0 1 2\n"
              "CELL_TYPES 1\n5\n",
         "a.vtk:10: received '5'; valid: cell types 3 (line)"},
        {"a.obj", "v 0 0\nv 1 1 0\nl 1 2\n", "a.obj:2: received 'v'; valid: three coordinates"},
        {"a.obj", "v 0 0 0\nv 1 b 0\nl 1 2\n", "a.obj:2: received 'b'; valid: a coordinate"},
        {"a.obj", "v 0 0 0\nv 1 1 0\nl 1 3\n",
         "a.obj:3: received '3'; valid: a whole number, 1 .. 2"},
        {"a.obj", "v 0 0 0\nv 1 1 0\nl 0 1\n",
         "a.obj:3: received '0'; valid: a whole number, 1 .. 2"},
        {"a.obj", "v 0 0 0\nv 1 1 0\nl 1 -3\n",
         "a.obj:3: received '-3'; valid: a whole number, -2 .. -1"},
        {"a.obj", "v 0 0 0\nv 1 1 0\nl 1\n",
         "received the end of the file; valid: at least two points"},
        {"a.obj", "v 0 0 0\nv 1 1 0\nv 1 0 0\nf 1 2 3\n", "a.obj:4: received 'f'; valid: v or l"},
        {"a.obj", "l 1 2\n", "a.obj:1: received '1'; valid: points before"},
        {"a.obj", "v 0 0 0\nv 1 1 0\n", "valid: at least one line"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_drawing drawing;
        sp_status status =
            sp_drawing_parse(&context, row[i][0], row[i][1], strlen(row[i][1]), &drawing);
        sp_drawing_free(&drawing);
        if (status != SP_BAD_NETWORK || !strstr(context.message, row[i][2]))
            fail_msg("row %zu: status %d, '%s', wanted '%s'", i, (int)status, context.message,
                     row[i][2]);
        check_true(!strchr(context.message, '\n') && strstr(context.message, "valid: "));
    }
    sp_drawing drawing;
    assert_int_equal(sp_drawing_parse(&context, "a.obj", "v 0\0 0", 6, &drawing), SP_BAD_NETWORK);
    check_true(strstr(context.message, "binary data") != NULL);
    assert_int_equal(sp_drawing_read(&context, "/nowhere/a.obj", &drawing), SP_NO_READ);
    assert_int_equal(sp_drawing_read(&context, "/tmp", &drawing), SP_NO_READ);
}

static int cautions;
static void count_cautions(void *user, const char *line)
{
    (void)user, (void)line;
    cautions++;
}

/* Careless drawings are cleaned: a line that ends just short of another is joined, a loose end is
 * dropped, doubles and overlaps become one, and a line in the face of a platen is a plate. */
static void drawings_are_cleaned(void **state)
{
    (void)state;
    sp_case request = standard("drawn");
    request.width = 20, request.height = 10, request.wall_beads = 0, request.bead_width = 0.4;
    write_temporary_file(request.network_file, sizeof request.network_file,
                         "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\nPOINTS 14 float\n"
                         "5 0 0 5 10 0 15 0 0 15 10 0\n" /* two uprights */
                         "5.1 4 0 14.9 4.05 0\n"         /* a tie, 0.1 short at both ends */
                         "5 8 0 12 8 0 9 8 0 15 8 0\n"   /* a tie drawn as two that overlap */
                         "5 6 0 9 6 0\n"                 /* a loose end */
                         "0 0 0 20 0 0\n"                /* in the face of the platen */
                         "LINES 7 21\n2 0 1 2 2 3 2 4 5 2 6 7 2 8 9 2 10 11 2 12 13\n");
    sp_network network = build(&request, 0);
    remove(request.network_file);
    check_rules(&network, &request);
    assert_int_equal(network.joint_count, 10);
    assert_int_equal(network.strut_count, 11);
    assert_int_equal(network.dropped_pieces, 1);
    double total = 0;
    int plates = 0;
    for (int s = 0; s < network.strut_count; s++) {
        total += sp_network_strut_length(&network, s);
        plates += network.strut_role[s] == SP_ROLE_WALL;
    }
    assert_int_equal(plates, 3);
    check_close(total, 60, 0.3);
    check_true(network.cell_size == 0);
    sp_network_free(&network);
}

/* Write the lines of a drawing without a wall; `points` and `lines` are as in a VTK file. */
static sp_network build_drawn(double width, double height, const char *points, const char *lines)
{
    char text[2000];
    sp_case request = standard("drawn");
    request.width = width, request.height = height, request.wall_beads = 0;
    snprintf(text, sizeof text,
             "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\nPOINTS %s\nLINES %s\n",
             points, lines);
    write_temporary_file(request.network_file, sizeof request.network_file, text);
    sp_network network = build(&request, 0);
    remove(request.network_file);
    check_rules(&network, &request);
    return network;
}

/* Columns that do not touch are all pressed; what stands on one platen, hangs from one or touches
 * none carries nothing, and is counted by its reason. */
static void every_piece_that_spans_stays(void **state)
{
    (void)state;
    char left_out[SP_LEFT_OUT_SIZE];
    sp_network network = build_drawn(20, 10,
                                     "17 double\n"
                                     "0 0 0  3 5 0  0 10 0\n"   /* folded once: 2 struts */
                                     "8 0 0  14 5 0  8 10 0\n"  /* folded more: 2 struts */
                                     "18 0 0  18 10 0\n"        /* straight: 1 strut */
                                     "15 0 0  16 3 0  17 0 0\n" /* stands on the lower platen */
                                     "2 10 0  4 7 0  6 10 0\n"  /* hangs from the upper one */
                                     "9 4 0  10 6 0  11 4 0\n", /* a loop in the air */
                                     "6 24\n3 0 1 2\n3 3 4 5\n2 6 7\n3 8 9 10\n3 11 12 13\n"
                                     "4 14 15 16 14");
    assert_int_equal(network.strut_count, 5);
    assert_int_equal(network.piece_count, 3);
    assert_int_equal(network.dropped_stubs, 0);
    assert_int_equal(network.dropped_one_platen, 4);
    assert_int_equal(network.dropped_no_platen, 3);
    assert_int_equal(network.dropped_pieces, 7);
    sp_network_left_out(&network, left_out);
    assert_string_equal(left_out, "4 struts of pieces that touch one platen only, 3 struts of "
                                  "pieces that touch no platen");
    double total = 0;
    for (int s = 0; s < network.strut_count; s++) total += sp_network_strut_length(&network, s);
    check_close(total, 2 * sqrt(9 + 25) + 2 * sqrt(36 + 25) + 10, 1e-9);
    check_close(network.nominal_density, total * 0.42 / 200, 1e-9);
    sp_network_free(&network);
}

/* Two copies of a drawing side by side have twice the struts and twice the area of one, in a coupon
 * twice as wide. */
static void two_apart_are_twice_one(void **state)
{
    (void)state;
    static const char *const points[] = {"3 double\n0 0 0 3 14 0 6 0 0\n",
                                         "6 double\n0 0 0 3 14 0 6 0 0\n8 0 0 11 14 0 14 0 0\n"};
    sp_network one = build_drawn(8, 14, points[0], "1 4\n3 0 1 2");
    sp_network two = build_drawn(16, 14, points[1], "2 8\n3 0 1 2\n3 3 4 5");
    assert_int_equal(one.piece_count, 1);
    assert_int_equal(two.piece_count, 2);
    assert_int_equal(two.strut_count, 2 * one.strut_count);
    check_close(two.nominal_density, one.nominal_density, 1e-12);
    /* This is without the foot in the corner, which a side cuts: a triangle of half a bead, as it
     * leans. */
    const double half = 0.21 * hypot(3, 14) / 14;
    check_close(14 * (16 * two.solid_fraction - 2 * 8 * one.solid_fraction),
                0.5 * half * half * 14 / 3, 1e-4);
    sp_network_free(&one);
    sp_network_free(&two);
}

/* Plates are as long as they were drawn, with half a bead inside the coupon; a pattern has nothing
 * in a face, and the program says so. */
static void plates_are_struts(void **state)
{
    (void)state;
    sp_network bare = build_drawn(12, 23.94, "4 double\n2 0 0 2 23.94 0 10 0 0 10 23.94 0\n",
                                  "2 6\n2 0 1\n2 2 3");
    sp_network plated = build_drawn(
        12, 23.94,
        "8 double\n2 0 0 2 23.94 0 10 0 0 10 23.94 0\n0 0 0 12 0 0 0 23.94 0 12 23.94 0\n",
        "4 12\n2 0 1\n2 2 3\n2 4 5\n2 6 7");
    assert_int_equal(bare.piece_count, 2);
    assert_int_equal(plated.piece_count, 1);
    assert_int_equal(plated.strut_count, 2 + 6);
    check_close(plated.nominal_density, bare.nominal_density, 1e-12); /* of the infill */
    check_close(12 * 23.94 * plated.solid_fraction,                   /* crossings once */
                2 * 23.94 * 0.42 + 2 * (12 - 2 * 0.42) * 0.21, 1e-9);
    sp_network_free(&bare);
    sp_network_free(&plated);
    char left_out[SP_LEFT_OUT_SIZE];
    sp_case request = standard("square");
    request.wall_beads = 0, request.angle = 0, request.density = 0.12;
    request.width = 20, request.height = 14;
    sp_network pattern = build(&request, 0);
    check_rules(&pattern, &request);
    for (int s = 0; s < pattern.strut_count; s++)
        assert_int_equal(pattern.strut_role[s], SP_ROLE_INFILL);
    check_true(pattern.dropped_flat > 0);
    sp_network_left_out(&pattern, left_out);
    check_true(strstr(left_out, "struts of the pattern in the face of a platen") != NULL);
    sp_network_free(&pattern);
}

/* A plate stays, whatever the origin of the drawing: 8.3 - 3.3 is more than 5 by rounding, so that
 * the upper one lies a little above the coupon. */
static void plates_stay_in_shifted_drawings(void **state)
{
    (void)state;
    static const char *const points[] = {"6 double\n0 0 0 10 0 0 0 5 0 10 5 0 5 0 0 5 5 0\n",
                                         "6 double\n0 3.3 0 10 3.3 0 0 8.3 0 10 8.3 0 5 3.3 0 "
                                         "5 8.3 0\n"};
    for (int i = 0; i < 2; i++) {
        sp_network network = build_drawn(10, 5, points[i], "3 9\n2 0 1\n2 2 3\n2 4 5");
        assert_int_equal(network.strut_count, 1 + 4); /* the post cuts both plates */
        check_close(network.joint_position[3 * 2 + 1], 5, 0);
        sp_network_free(&network);
    }
}

static void drawings_of_the_demo(void **state)
{
    (void)state;
    static const char *const file[] = {"foot-arch.vtk", "pad-fan.obj", "crate-zigzag.vtk"};
    for (int i = 0; i < 3; i++)
        for (int walls = 0; walls < 3; walls++) {
            sp_case request = standard("drawn");
            request.wall_beads = walls;
            if (!walls) request.width = 27.16, request.height = 23.16;
            snprintf(request.network_file, sizeof request.network_file, "meshes/%s", file[i]);
            cautions = 0;
            context.warn = count_cautions;
            sp_network network = build(&request, 0);
            context.warn = NULL;
            assert_int_equal(cautions, 0);
            check_rules(&network, &request);
            check_true(network.dropped_pieces == 0 ||
                       walls == 1); /* made for two wall beads, or none */
            sp_network_free(&network);
        }
}

/* ---- refusals, memory ----------------------------------------------- */

static void check_refused(const sp_case *request, sp_status want, const char *text)
{
    sp_network network;
    context.message[0] = 0;
    assert_int_equal(sp_network_build(&context, request, 1, &network), want);
    if (!strstr(context.message, text)) fail_msg("'%s' lacks '%s'", context.message, text);
    check_true(network.joint_count == 0 && !network.joint_position && !network.strut_joint);
}

static void impossible_networks_are_refused(void **state)
{
    (void)state;
    sp_case request = standard("square");
    request.density = 0.03;
    check_refused(&request, SP_BAD_CASE, "infill.density: received '3 %'; valid: at least 3.763 %");
    request = standard("square"), request.wall_beads = 20, request.bead_width = 1;
    check_refused(&request, SP_BAD_CASE, "bead.walls: received '20'");
    request = standard("square"), request.wall_beads = 0, request.bead_width = 15;
    check_refused(&request, SP_BAD_CASE, "bead.width: received '15 mm'");
    request = standard("3.12.12"), request.density = 0.99;
    check_refused(&request, SP_BAD_CASE, "valid: at most 74.6");
    request = standard("squares");
    check_refused(&request, SP_BAD_CASE, "infill.pattern: received 'squares'");
    request = standard("square"), request.offset_x = 1000;
    check_refused(&request, SP_BAD_CASE, "infill.offset_x");
    request = standard("square"), request.width = request.height = 1e4, request.density = 0.99;
    check_refused(&request, SP_BAD_CASE, "infill.density");
    request = standard("square"), request.missing = 1;
    check_refused(&request, SP_BAD_CASE, "flaws.missing");
    request = standard("drawn");
    check_refused(&request, SP_BAD_CASE, "infill.network: received ''");
    snprintf(request.network_file, sizeof request.network_file, "/nowhere/x.obj");
    check_refused(&request, SP_NO_READ, "/nowhere/x.obj");
}

static void every_failed_allocation_is_reported(void **state)
{
    (void)state;
    long before = sp_alloc_count();
    static const char *const pattern[] = {"square", "voronoi", "drawn"};
    for (int i = 0; i < 3; i++) {
        sp_case request = standard(pattern[i]);
        request.missing = 0.05;
        snprintf(request.network_file, sizeof request.network_file, "meshes/foot-arch.vtk");
        for (long nth = 1;; nth += coupon_quick() ? 9 : 1) {
            sp_network network;
            sp_alloc_fail_at(nth);
            sp_status status = sp_network_build(&context, &request, 1, &network);
            sp_alloc_fail_at(0);
            sp_network_free(&network);
            assert_int_equal(sp_alloc_count(), before);
            if (status == SP_OK) break;
            assert_int_equal(status, SP_NO_MEMORY);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_hold_for_every_pattern),
        cmocka_unit_test(offset_of_a_period_changes_nothing),
        cmocka_unit_test(offset_moves_random_cells),
        cmocka_unit_test(rules_hold_for_odd_cases),
        cmocka_unit_test(density_is_met_in_large_coupons),
        cmocka_unit_test(solid_fraction_of_squares),
        cmocka_unit_test(solid_fraction_of_hexagons),
        cmocka_unit_test(solid_fraction_with_walls),
        cmocka_unit_test(zones_follow_the_angle),
        cmocka_unit_test(zones_at_walls),
        cmocka_unit_test(smooth_bends_have_no_zone),
        cmocka_unit_test(flaws_repeat),
        cmocka_unit_test(kinds_of_flaws_are_independent),
        cmocka_unit_test(flaws_have_the_spread_asked_for),
        cmocka_unit_test(walls_have_flaws),
        cmocka_unit_test(flaws_of_walls_are_independent),
        cmocka_unit_test(rows_take_their_walls_along),
        cmocka_unit_test(missing_struts_leave_a_network),
        cmocka_unit_test(drawings_in_every_spelling),
        cmocka_unit_test(malformed_drawings_are_refused),
        cmocka_unit_test(drawings_are_cleaned),
        cmocka_unit_test(every_piece_that_spans_stays),
        cmocka_unit_test(two_apart_are_twice_one),
        cmocka_unit_test(plates_are_struts),
        cmocka_unit_test(plates_stay_in_shifted_drawings),
        cmocka_unit_test(drawings_of_the_demo),
        cmocka_unit_test(impossible_networks_are_refused),
        cmocka_unit_test(every_failed_allocation_is_reported),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
