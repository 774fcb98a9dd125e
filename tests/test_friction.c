/* These tests check friction: the angle at which a leaning strut slides, a strand around a post,
 * rigid motion, and the energy of whole presses. */
#include "bench_model.h"
#include "coupon.h"

#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "state/equilibrium.h"
#include "state/free_moves.h"
#include "temporary_file.h"

/* Find the state at this travel as a press does, with the tolerance from the force. */
static void find_as_press(bench *b, double travel)
{
    sp_attempt attempt;
    memcpy(b->system.trial, b->system.x, sp_system_values(&b->system) * sizeof(double));
    assert_int_equal(
        sp_equilibrium_descend(&b->context, &b->system, b->system.trial, travel, 1000, &attempt),
        SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
}

/* Find the state at this travel where next to no force is left, with the tolerance from the moves
 * of the nodes. */
static void find_by_moves(bench *b, double travel)
{
    bench_descend(b, 0, travel);
}

static void go_on(bench *b, double travel, int steps, void (*find)(bench *, double))
{
    const double before = b->system.shortening, step = (travel - before) / steps;
    for (int i = 1; i <= steps; i++) {
        sp_friction_expect(&b->system.contact.friction, step);
        find(b, before + i * step);
        sp_system_accept(&b->system, step);
    }
}

/* A strut that leans between platens, its ends free to turn: it stands while the tangent of its
 * angle is below the coefficient of friction and slides away above (Coulomb 1785; any textbook of
 * statics), its force less in every step. */
static void test_angle_of_friction(void **unused)
{
    (void)unused;
    static const double tangent = 0.5, coefficient[] = {0.51, 0.45};
    for (int i = 0; i < 2; i++) {
        bench b;
        bench_begin(&b, 10, 1);
        bench_strut(&b, bench_joint(&b, 0, 0), bench_joint(&b, 10 * tangent, 10), 0.5);
        b.network.joint_face[0] = SP_FACE_LOWER;
        b.network.joint_face[1] = SP_FACE_UPPER;
        bench_mesh(&b, 4);
        b.model.friction_platens = coefficient[i];
        bench_hold(&b, 0, BENCH_X, SP_FREE); /* friction is all that holds it */
        bench_ready(&b);
        sp_system_accept(&b.system, 0);
        go_on(&b, 1e-5, 1, find_by_moves);
        const double first = b.system.force;
        go_on(&b, 2e-5, 20, find_by_moves);
        if (coefficient[i] > tangent)
            check_relative(b.system.force, 2 * first, 1e-3);
        else
            check_close(b.system.force / first, 0, 1e-4);
        bench_end(&b);
    }
}

enum { SIDES = 108, POST = 144, BEYOND = 8, ASIDE = 12 };

/* A strand lies over half a post, held on one side and drawn on the other. Return the logarithm of
 * the ratio of its tensions ASIDE sides from either end, where bending has no influence. */
static double loss_around(double coefficient)
{
    bench b;
    const double step = M_PI / POST, thickness = 0.4, radius = 10 + 1.04 * thickness;
    bench_begin(&b, 40, 1);
    const int post = bench_arc(&b, 0, 20, 10, -BEYOND * step, M_PI + BEYOND * step,
                               POST + 2 * BEYOND, thickness);
    const int strand = bench_arc(&b, 0, 20, radius, 0, M_PI, SIDES, thickness);
    const int held = bench_joint(&b, radius, 19.5), loose = bench_joint(&b, -radius, 19.5);
    bench_strut(&b, held, strand, thickness);
    bench_strut(&b, strand + SIDES, loose, thickness);
    bench_mesh(&b, 1);
    /* Soft layers squash by more than corners stand out, and the two polygons have different
     * numbers of sides; otherwise corners would lock. */
    b.model.layer_modulus = 0.005;
    for (int n = post; n < strand; n++)
        for (int k = 0; k < 3; k++) bench_hold(&b, n, k, SP_HELD);
    bench_hold(&b, held, BENCH_X, SP_HELD);
    bench_hold(&b, held, BENCH_Y, SP_HELD);
    bench_hold(&b, loose, BENCH_X, SP_HELD);
    bench_hold(&b, loose, BENCH_Y, SP_MOVED);
    b.model.friction_struts = coefficient;
    bench_ready(&b);
    sp_system_accept(&b.system, 0);
    go_on(&b, 0.06, 1, find_as_press);  /* takes the slack */
    go_on(&b, 0.86, 80, find_as_press); /* more than 2 % of stretch: all of it slides */
    const int first = POST + 2 * BEYOND;
    const double near = sp_system_strut_force(&b.system, first + ASIDE),
                 far = sp_system_strut_force(&b.system, first + SIDES - 1 - ASIDE);
    bench_end(&b);
    return log(far / near);
}

/* C (Euler 1769; Eytelwein 1808): tensions around a post are as exp(mu times the angle). */
static void test_strand_around_a_post(void **unused)
{
    (void)unused;
    static const double coefficient[] = {0.1, 0.3, 0.6};
    const double angle = M_PI * (SIDES - 1 - 2 * ASIDE) / SIDES;
    for (int i = 0; i < 3; i++)
        check_relative(loss_around(coefficient[i]), coefficient[i] * angle, 0.01);
}

/* Press a coupon at 20 % with friction on struts and platens; in space it has 2 x 2 x 2 cells. */
static void press_with_friction(coupon *c, const char *pattern, const sp_press_options *options,
                                sp_path *path)
{
    char text[64];
    snprintf(text, sizeof text, "infill.pattern=%s", pattern);
    const char *const settings[] = {text,
                                    "platens.hold=friction",
                                    "platens.friction=0.4",
                                    "material.friction=0.5",
                                    "infill.density=20 %",
                                    sp_cell_find(pattern) ? "infill.cells=[2, 2, 2]"
                                                          : "bead.walls=2",
                                    NULL};
    coupon_set_up(c, 1, settings);
    coupon_press(c, options, path);
}

/* In whole presses every state is in equilibrium, work = stored + dissipated + released, and
 * dissipated energy never comes back. */
static void test_work_is_rubbed_away(void **unused)
{
    (void)unused;
    static const char *const pattern[] = {"square", "hexagonal", "body-centred-cubic"};
    const sp_press_options options = {
        .strain = coupon_quick() ? 0.5 : 0.65, .load_limit = INFINITY, .steps = 280, .frames = 8};
    for (int i = 0; i < (coupon_quick() ? 1 : 3); i++) {
        coupon c;
        sp_path path;
        press_with_friction(&c, pattern[i], &options, &path);
        coupon_check_shapes(&c.network, &path);
        const sp_step *last = &path.step[path.step_count - 1];
        coupon_check_steps(&path, 1e-3);
        for (int k = 1; k < path.step_count; k++)
            check_true(path.step[k].dissipated >= path.step[k - 1].dissipated - 1e-6 * last->work);
        check_true(last->dissipated > 0.003 * last->work && last->dissipated < 0.3 * last->work);
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
}

/* Return the sum of the forces that the grips between struts took over from those before them. */
static double force_kept(const sp_friction *friction)
{
    double sum = 0;
    for (int i = 0; i < friction->count; i++)
        if (friction->grip[i].load.on >= 0)
            sum += hypot(friction->grip[i].began[0], friction->grip[i].began[1]);
    return sum;
}

/* Accept the present state once more, as a step in which nothing moves would. */
static void accept_again(coupon *c, sp_system *system)
{
    memcpy(system->trial, system->x, sp_system_values(system) * sizeof(double));
    assert_int_equal(sp_system_evaluate(&c->context, system, system->trial, system->shortening),
                     SP_OK);
    sp_system_accept(system, 0);
}

static void check_creep(const char *const *settings, int steps)
{
    coupon c;
    sp_system system;
    coupon_set_up(&c, 1, settings);
    const sp_model *model = &c.model;
    const double step = 0.01 * model->height;
    assert_int_equal(sp_system_create(&c.context, model, 0, &system), SP_OK);
    assert_int_equal(sp_system_evaluate(&c.context, &system, model->reference, 0), SP_OK);
    sp_system_accept(&system, 0);
    for (int k = 1; k <= steps; k++) {
        sp_attempt attempt;
        memcpy(system.trial, system.x, sp_system_values(&system) * sizeof(double));
        for (int n = 0; n < model->node_count; n++)
            system.trial[model->values * n + 1] *=
                (model->height - k * step) / (model->height - system.shortening);
        sp_friction_expect(&system.contact.friction, step);
        assert_int_equal(
            sp_equilibrium_descend(&c.context, &system, system.trial, k * step, 1000, &attempt),
            SP_OK);
        assert_int_equal(attempt.end, SP_FOUND);
        sp_system_accept(&system, step);
    }
    for (int k = 0; k < 3; k++) accept_again(&c, &system);
    const double before = force_kept(&system.contact.friction);
    check_true(before > 0.01 * system.force);
    for (int k = 0; k < 10; k++) {
        accept_again(&c, &system);
        check_relative(force_kept(&system.contact.friction), before, 1e-9);
    }
    sp_system_free(&system);
    coupon_tear_down(&c);
}

/* What sticks does not creep: where nothing moves, grips that are made anew hold what those before
 * them held, also where a point lies on several pieces at an angle, or has several grips on one
 * piece, as walls of layers do. Each place is held once: the forces are no more than the limits. */
static void test_nothing_creeps(void **unused)
{
    (void)unused;
    static const char *const cell[] = {"infill.pattern=re-entrant-cubic",
                                       "infill.cells=[1, 1, 1]",
                                       "infill.density=26 %",
                                       "coupon.width=12 mm",
                                       "coupon.depth=12 mm",
                                       "coupon.height=12 mm",
                                       "platens.hold=bonded",
                                       "material.friction=0.6",
                                       NULL};
    static const char *const layers[] = {"infill.pattern=square",    "infill.layers=2",
                                         "infill.layer_turn=90 deg", "infill.density=20 %",
                                         "coupon.width=10 mm",       "coupon.depth=4 mm",
                                         "coupon.height=10 mm",      "platens.hold=bonded",
                                         "material.friction=0.6",    NULL};
    check_creep(cell, 60);
    check_creep(layers, 40);
}

static void check_pattern(const char *pattern)
{
    const sp_press_options options = {.strain = 0.4, .load_limit = INFINITY, .steps = 60};
    coupon c;
    sp_path path;
    press_with_friction(&c, pattern, &options, &path);
    coupon_check_steps(&path, 5e-3);
    check_true(path.step_count < 120);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* With faces that slide and folds that rub every pattern is pressed to the end, in few more steps
 * than planned. */
static void test_every_pattern_slides(void **unused)
{
    (void)unused;
    int count;
    const sp_pattern_row *rows = sp_pattern_rows(&count);
    for (int i = 0; i < count; i += coupon_quick() ? 7 : 1)
        if (strcmp(rows[i].name, "drawn")) check_pattern(rows[i].name);
    const sp_cell_row *cells = sp_cell_rows(&count);
    for (int i = 0; i < count; i += coupon_quick() ? 6 : 1) check_pattern(cells[i].name);
}

/* Return the force at 5 % strain of a coupon without walls between platens of this hold. */
static double force_between(const char *hold, const char *coefficient)
{
    char one[64], two[64];
    snprintf(one, sizeof one, "platens.hold=%s", hold);
    snprintf(two, sizeof two, "platens.friction=%s", coefficient);
    const char *const settings[] = {"infill.pattern=square",
                                    "infill.angle=0 deg",
                                    "infill.density=30 %",
                                    "bead.walls=0",
                                    one,
                                    two,
                                    NULL};
    coupon c;
    sp_path path;
    coupon_set_up(&c, 1, settings);
    const sp_press_options options = {.strain = 0.05, .load_limit = INFINITY, .steps = 50};
    coupon_press(&c, &options, &path);
    const double force = path.step[path.step_count - 1].force;
    sp_path_free(&path);
    coupon_tear_down(&c);
    return force;
}

/* Friction on the platens lies between sliding and bonded platens, and becomes the former as the
 * coefficient goes to zero. */
static void test_between_sliding_and_bonded(void **unused)
{
    (void)unused;
    const double sliding = force_between("sliding", "0"), bonded = force_between("bonded", "0");
    const double none = force_between("friction", "1e-6"), some = force_between("friction", "0.1"),
                 much = force_between("friction", "3");
    check_relative(none, sliding, 1e-3);
    check_true(some >= 0.999 * none && much >= 0.999 * some && bonded > much);
}

enum { BLOCK_COLUMNS = 16, BLOCK_ROWS = 8 }; /* of triangles 1 mm wide */

/* Write a block of triangles with lines in both faces, as a drawing. */
static void write_block(char *file, size_t size)
{
    const double rise = sqrt(0.75);
    char text[32768], *at = text;
    int lines = 0;
    at += sprintf(at,
                  "# vtk DataFile Version 3.0\nblock\nASCII\nDATASET POLYDATA\nPOINTS %d double\n",
                  (BLOCK_ROWS + 1) * (BLOCK_COLUMNS + 1));
    for (int r = 0; r <= BLOCK_ROWS; r++)
        for (int c = 0; c <= BLOCK_COLUMNS; c++)
            at += sprintf(at, "%.15g %.15g 0\n", c + 0.5 * (r % 2), r * rise);
    for (int pass = 0; pass < 2; pass++) {
        if (pass) at += sprintf(at, "LINES %d %d\n", lines, 3 * lines);
        for (int r = 0; r <= BLOCK_ROWS; r++)
            for (int c = 0; c <= BLOCK_COLUMNS; c++) {
                const int own = r * (BLOCK_COLUMNS + 1) + c, up = own + BLOCK_COLUMNS + 1;
                const int side = r % 2 ? 1 : -1;
                const int other[3] = {
                    c < BLOCK_COLUMNS ? own + 1 : -1, r < BLOCK_ROWS ? up : -1,
                    r < BLOCK_ROWS && c + side >= 0 && c + side <= BLOCK_COLUMNS ? up + side : -1};
                for (int k = 0; k < 3; k++) {
                    if (other[k] < 0) continue;
                    if (pass)
                        at += sprintf(at, "2 %d %d\n", own, other[k]);
                    else
                        lines++;
                }
            }
    }
    write_temporary_file(file, size, text);
}

/* Return how far the slanted struts in the faces slide along them, each from the middle of its
 * face, summed over both means, for a shortening of 1. */
static double spread_of(const sp_path *path, double height)
{
    const sp_shapes *shapes = &path->shapes;
    const double *from = shapes->position;
    const double *to = from + 3 * (size_t)shapes->point_count * (size_t)(shapes->frame_count - 1);
    const double travel = path->step[path->step_count - 1].shortening;
    double sum = 0;
    for (int face = 0; face < 2; face++) {
        double mean = 0, far = 0;
        int count = 0;
        for (int pass = 0; pass < 2; pass++)
            for (int s = 0; s < shapes->strut_count; s++) {
                const int end[2] = {shapes->first_point[s], shapes->first_point[s + 1] - 1};
                if (fabs(from[3 * end[0] + 1] - from[3 * end[1] + 1]) < 1e-6) continue;
                for (int k = 0; k < 2; k++) {
                    if (fabs(from[3 * end[k] + 1] - face * height) > 1e-6) continue;
                    const double move = to[3 * end[k]] - from[3 * end[k]];
                    if (pass == 0)
                        mean += move, count++;
                    else
                        far += fabs(move - mean / count);
                }
            }
        sum += far / count;
    }
    return sum / travel;
}

static double block_force(const char *file, const char *hold, const char *coefficient,
                          double *spread)
{
    char one[64], two[64], three[96], width[40], height[40];
    snprintf(one, sizeof one, "platens.hold=%s", hold);
    snprintf(two, sizeof two, "platens.friction=%s", coefficient);
    snprintf(three, sizeof three, "infill.network=%s", file);
    snprintf(width, sizeof width, "coupon.width=%.15g mm", BLOCK_COLUMNS + 0.5);
    snprintf(height, sizeof height, "coupon.height=%.15g mm", BLOCK_ROWS * sqrt(0.75));
    const char *const settings[] = {"infill.pattern=drawn",
                                    three,
                                    width,
                                    height,
                                    "bead.walls=0",
                                    "bead.width=0.02 mm",
                                    "material.law=linear",
                                    "material.poisson_ratio=0",
                                    "model.joint_zone=0",
                                    "flaws.seed=0",
                                    one,
                                    two,
                                    NULL};
    coupon c;
    sp_path path;
    coupon_set_up(&c, 0, settings);
    const sp_press_options options = {
        .strain = 1e-6, .load_limit = INFINITY, .steps = 4, .frames = 3};
    coupon_press(&c, &options, &path);
    const double force = path.step[path.step_count - 1].force;
    *spread = spread_of(&path, c.request.height);
    sp_path_free(&path);
    coupon_tear_down(&c);
    return force;
}

/* An elastic block stands between platens with friction. Where its faces slide, the push P holds
 * them back by f P with the coefficient f. By Betti's reciprocal theorem (Timoshenko & Goodier
 * 1970) what this adds to the force follows from the block that slides freely: to first order it is
 * the share f times the mean way that both faces slide for a shortening of 1. More friction adds
 * more, up to faces that are bonded; with the lateral strain of an endless lattice of triangles, nu
 * = 1/3 (Gibson & Ashby 1997), the mean way is nu w/(2 h) of a block w wide and h high, less what
 * the lines in both faces take, which have slanted struts to one side only. */
static void test_block_between_frictional_platens(void **unused)
{
    (void)unused;
    char file[64];
    double way, other, before = 0;
    write_block(file, sizeof file);
    static const char *const coefficient[] = {"0.01", "0.04", "0.2", "3"};
    const double sliding = block_force(file, "sliding", "0", &way);
    const double bonded = block_force(file, "bonded", "0", &other);
    const double shape = (BLOCK_COLUMNS + 0.5) / (2 * BLOCK_ROWS * sqrt(0.75));
    check_relative(way, shape / 3, 0.15);
    for (int i = 0; i < 4; i++) {
        const double more = block_force(file, "friction", coefficient[i], &other) / sliding - 1;
        if (i < 2) check_relative(more, atof(coefficient[i]) * way, i ? 0.02 : 0.01);
        check_true(more > before && more < bonded / sliding - 1);
        before = more;
    }
    check_relative(before, bonded / sliding - 1, 0.02);
    remove(file);
}

/* A rigid move of the whole coupon in its unknowns, written out by hand: along x, along z, and the
 * turn about the upright through the middle, which takes (x, z) to (z, -x) and turns every node. */
static void rigid_move(const sp_system *system, int which, double *v)
{
    const sp_model *model = system->model;
    memset(v, 0, (size_t)model->unknown_count * sizeof *v);
    for (int n = 0; n < model->node_count; n++) {
        const double *x = system->x + model->values * n, *size = model->network->size;
        const double turn[6] = {x[2] - size[2] / 2, 0, size[0] / 2 - x[0], 0, 1, 0};
        for (int k = 0; k < model->unknowns; k++) {
            const int u = model->unknown[model->unknowns * n + k];
            if (u >= 0) v[u] = which == 2 ? turn[k] : k == 2 * which;
        }
    }
}

static double product(const double *a, const double *b, int count)
{
    double sum = 0;
    for (int i = 0; i < count; i++) sum += a[i] * b[i];
    return sum;
}

/* The part of any direction that is left is orthogonal to the moves by D, and stays as it is when
 * the moves are taken out again; of a move nothing is left. */
static void check_taken_out(const char *const *settings, int count)
{
    coupon c;
    sp_system system;
    coupon_set_up(&c, 0, settings);
    assert_int_equal(sp_system_create(&c.context, &c.model, 1, &system), SP_OK);
    assert_int_equal(sp_system_evaluate(&c.context, &system, c.model.reference, 0), SP_OK);
    int negative;
    assert_int_equal(sp_system_factor(&c.context, &system, 0, &negative), SP_OK);
    const int n = c.model.unknown_count;
    double *room = calloc((size_t)(3 * n), sizeof *room);
    double *v = room, *move = room + n, *weighed = room + 2 * n;
    sp_free_moves moves = {.count = count, .which = {0, 1, 2}};
    assert_non_null(room);
    for (int i = 0; i < count; i++)
        for (int k = 0; k < count; k++) {
            rigid_move(&system, i, move);
            sp_sparse_weigh(system.sparse, move, weighed);
            rigid_move(&system, k, move);
            moves.gram[i][k] = product(move, weighed, n);
        }
    for (int i = 0; i < n; i++) v[i] = sin(1 + 7.3 * i);
    for (int round = 0; round < 2; round++) {
        sp_sparse_weigh(system.sparse, v, weighed);
        const double size = sqrt(product(v, weighed, n));
        sp_free_moves_take_out(&system, &moves, v);
        sp_sparse_weigh(system.sparse, v, weighed);
        const double left = sqrt(product(v, weighed, n));
        if (round) check_relative(left, size, 1e-9);
        check_true(left > 0.01 * size);
        for (int i = 0; i < count; i++) {
            rigid_move(&system, i, move);
            check_close(product(move, weighed, n), 0, 1e-9 * size * sqrt(moves.gram[i][i]));
        }
    }
    for (int i = 0; i < count; i++) {
        rigid_move(&system, i, v);
        sp_free_moves_take_out(&system, &moves, v);
        for (int k = 0; k < n; k++) check_close(v[k], 0, 1e-9 * c.model.network->size[0]);
    }
    free(room);
    sp_system_free(&system);
    coupon_tear_down(&c);
}

static void test_moves_are_taken_out(void **unused)
{
    (void)unused;
    static const char *const planar[] = {"coupon.width=12 mm", "coupon.height=10 mm",
                                         "platens.hold=friction", "platens.friction=0.3", NULL};
    static const char *const spatial[] = {
        "coupon.width=8 mm",     "coupon.height=8 mm",   "coupon.depth=12 mm",
        "infill.pattern=kelvin", "infill.density=15 %",  "infill.cells=[1, 1, 1]",
        "platens.hold=friction", "platens.friction=0.3", NULL};
    check_taken_out(planar, 1);
    check_taken_out(spatial, SP_FREE_MOVES);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_angle_of_friction),
        cmocka_unit_test(test_strand_around_a_post),
        cmocka_unit_test(test_work_is_rubbed_away),
        cmocka_unit_test(test_nothing_creeps),
        cmocka_unit_test(test_every_pattern_slides),
        cmocka_unit_test(test_between_sliding_and_bonded),
        cmocka_unit_test(test_block_between_frictional_platens),
        cmocka_unit_test(test_moves_are_taken_out),
    };
    return cmocka_run_group_tests_name("friction", tests, NULL, NULL);
}
