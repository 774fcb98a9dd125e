/* These tests press coupons that are printed flat and loaded from above: whole presses are
 * re-checked from raw data, the whole potential is compared with differences, and the direction of
 * a press changes only what it must. */
#include "coupon.h"

#include <omp.h>

#include <strutpress/inspect.h>

#include "contact/parts.h"
#include "state/equilibrium.h"
#include "state/system.h"

static sp_path press(coupon *c, double strain, int steps)
{
    const sp_press_options options = {
        .strain = strain, .load_limit = INFINITY, .steps = steps, .frames = 24};
    sp_path path;
    coupon_press(c, &options, &path);
    return path;
}

/* A press to densification consists of equilibria, with work = stored + released, and no wall goes
 * through another (brute force over all bars). */
static void test_to_densification(void **unused)
{
    (void)unused;
    coupon c;
    coupon_set_up(&c, 1, coupon_pad);
    check_true(c.network.built == SP_BUILT_PANELS && c.network.panel_count == 12);
    sp_path path = press(&c, coupon_quick() ? 0.3 : 0.6, 140);
    coupon_check_steps(&path, 2e-3);
    coupon_check_shapes(&c.network, &path);
    check_true(path.step[path.step_count - 1].contacts > 20);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* All walls that stand have flaws, those along the front and the back, too, which a coupon that is
 * pressed across its extrusion has on its platens: each its own thickness, and a bow. Skins and the
 * bars of one panel are even. */
static void test_walls_have_flaws(void **unused)
{
    (void)unused;
    coupon c, even;
    coupon_set_up(&c, 1, coupon_pad);
    coupon_set_up(&even, 0, coupon_pad);
    int walls = 0;
    for (int i = 0; i < c.network.panel_count; i++) {
        const sp_panel *panel = &c.network.panel[i];
        walls += panel->role == SP_ROLE_WALL;
        check_true(panel->thickness != even.network.panel[i].thickness);
        check_close(panel->thickness, even.network.panel[i].thickness, 0.2);
        for (int k = 0; k < i; k++) check_true(panel->thickness != c.network.panel[k].thickness);
    }
    double farthest[12] = {0}; /* of the nodes of each panel from those without flaws [mm] */
    check_true(walls == 8 && c.network.panel_count == 12);
    assert_int_equal(c.network.strut_count, even.network.strut_count);
    for (int s = 0; s < c.network.strut_count; s++) {
        const int i = c.network.strut_panel[s].panel;
        check_true(c.network.strut_thickness[s] == c.network.panel[i].thickness);
        for (int end = 0; end < 2; end++) {
            const size_t at = 3 * (size_t)c.network.strut_joint[2 * s + end];
            const double *p = c.network.joint_position + at, *q = even.network.joint_position + at;
            farthest[i] = fmax(farthest[i], hypot(p[0] - q[0], p[2] - q[2]));
        }
    }
    for (int i = 0; i < 12; i++)
        if (c.network.panel[i].role == SP_ROLE_WALL) check_true(farthest[i] > 1e-4);
    coupon_tear_down(&c);
    coupon_tear_down(&even);
}

/* Compare the known pairs of a press with those worked out again: which bars press on each other,
 * and from which distance. By brute force no pair that touches is left out. */
static void check_pairs(sp_contact *contact)
{
    const sp_model *model = contact->model;
    int overlapping = 0, touching = 0, listed = 0;
    check_true(contact->known_first != NULL);
    for (int i = 0; i < contact->candidate_count; i++) {
        sp_candidate *c = &contact->candidate[i], fresh = *c;
        fresh.presses = -1, fresh.layers = -1;
        fresh.overlaps = 0;
        sp_contact_judge_pair(contact, &fresh);
        check_true(fresh.presses == c->presses && fresh.overlaps == c->overlaps);
        overlapping += c->overlaps;
        for (int k = 0; c->overlaps && k < contact->spread[c->to]; k++) {
            const double f = sp_contact_place_of(contact->spread[c->to], k);
            check_true(sp_contact_layer_at(contact, c, c->to, f, c->from, k) ==
                       sp_contact_layer(contact, &fresh, c->to, f, c->from));
        }
        listed += !c->overlaps &&
                  sp_contact_segment_square(contact, 3, c->from, c->to) < c->touch * c->touch;
    }
    for (int i = 0; i + 1 < model->point_count; i += 2)
        for (int k = i + 2; k + 1 < model->point_count; k += 2) {
            sp_candidate pair = {.from = i, .to = k, .touch = 0, .presses = -1, .layers = -1};
            pair.touch =
                0.5 * (sp_model_piece_thickness(model, i) + sp_model_piece_thickness(model, k));
            if (sp_contact_segment_square(contact, 3, i, k) >= pair.touch * pair.touch) continue;
            sp_contact_judge_pair(contact, &pair);
            touching += pair.presses > 0 && !pair.overlaps;
        }
    check_true(overlapping > 0 && touching > 10);
    assert_int_equal(touching, listed);
}

/* Compare the gradient and the stiffness of the whole potential with differences along a direction
 * that moves every unknown, where panels have folded and press on each other. */
static void test_differences_of_a_fold(void **unused)
{
    (void)unused;
    enum { STEPS = 45 };
    coupon c;
    sp_system system;
    sp_attempt attempt;
    coupon_set_up(&c, 1, coupon_pad);
    assert_int_equal(sp_system_create(&c.context, &c.model, 0, &system), SP_OK);
    const double travel = 0.36 * c.model.height;
    double *x = malloc(sp_system_values(&system) * sizeof *x);
    assert_non_null(x);
    memcpy(x, c.model.reference, sp_system_values(&system) * sizeof *x);
    for (int i = 1; i <= STEPS; i++) {
        assert_int_equal(
            sp_equilibrium_descend(&c.context, &system, x, travel * i / STEPS, 60, &attempt),
            SP_OK);
        assert_int_equal(attempt.end, SP_FOUND);
        memcpy(x, system.x, sp_system_values(&system) * sizeof *x);
    }
    check_true(system.contacts > 10);
    check_pairs(&system.contact);
    const size_t unknowns = (size_t)(c.model.unknowns * c.model.node_count);
    double *way = calloc(unknowns, sizeof *way),
           *at = malloc(sp_system_values(&system) * sizeof *at);
    assert_true(way && at);
    for (size_t i = 0; i < unknowns; i++)
        if (c.model.unknown[i] >= 0) way[i] = sin(1.0 + 7.3 * (double)i);
    static const double step = 2e-5, weight[4] = {1, -8, 8, -1}, place[4] = {-2, -1, 1, 2};
    double slope = 0, second = 0, got = 0, scale = 0;
    for (int p = 0; p < 4; p++) {
        double along = 0;
        sp_model_move(&c.model, x, place[p] * step, way, at);
        assert_int_equal(sp_system_evaluate(&c.context, &system, at, travel), SP_OK);
        for (size_t i = 0; i < unknowns; i++)
            if (c.model.unknown[i] >= 0) along += system.gradient[i] * way[i];
        slope += weight[p] * system.energy / (12 * step);
        second += weight[p] * along / (12 * step);
    }
    assert_int_equal(sp_system_evaluate(&c.context, &system, x, travel), SP_OK);
    for (size_t i = 0; i < unknowns; i++)
        if (c.model.unknown[i] >= 0) got += system.gradient[i] * way[i];
    scale = sqrt(fabs(second) * fabs(system.energy));
    check_close(slope, got, 1e-6 * scale);
    free(way);
    free(at);
    free(x);
    sp_system_free(&system);
    coupon_tear_down(&c);
}

/* Searches on three threads find the pairs of one thread in the same order: the same bits. */
static void test_threads_change_nothing(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=13.02 mm", "coupon.depth=13.02 mm",
                                           "coupon.height=5 mm",    "infill.angle=0 deg",
                                           "bead.walls=1",          "press.direction=along",
                                           "platens.hold=sliding",  NULL};
    sp_path path[2];
    const int before = omp_get_max_threads();
    for (int i = 0; i < 2; i++) {
        coupon c;
        omp_set_num_threads(i ? 3 : 1);
        coupon_set_up(&c, 1, settings);
        check_true(c.model.element_count > 1500); /* else one thread does it all */
        path[i] = press(&c, 0.25, 30);
        coupon_tear_down(&c);
    }
    omp_set_num_threads(before);
    assert_int_equal(path[0].step_count, path[1].step_count);
    check_true(path[0].step[path[0].step_count - 1].contacts > 20);
    for (int i = 0; i < path[0].step_count; i++) {
        check_true(path[0].step[i].force == path[1].step[i].force);
        check_true(path[0].step[i].stored == path[1].step[i].stored);
        assert_int_equal(path[0].step[i].contacts, path[1].step[i].contacts);
    }
    for (int i = 0; i < 2; i++) sp_path_free(&path[i]);
}

/* Contact worked out on three threads is that of one: energy, gradient and stiffness of a pad
 * squashed evenly, as far as bars of two walls press on each other at every joint line, in the same
 * bits. */
static void test_contact_on_threads(void **unused)
{
    (void)unused;
    static const char *const settings[] = {"coupon.width=20 mm", "coupon.depth=20 mm",
                                           "coupon.height=6 mm", "press.direction=along", NULL};
    static const double squash = 0.12;
    const int before = omp_get_max_threads();
    coupon c;
    sp_system system[2];
    coupon_set_up(&c, 1, settings);
    const size_t values = (size_t)(c.model.values * c.model.node_count),
                 unknowns = (size_t)(c.model.unknowns * c.model.node_count);
    double *x = malloc(values * sizeof *x);
    assert_non_null(x);
    memcpy(x, c.model.reference, values * sizeof *x);
    for (size_t i = 1; i < values; i += (size_t)c.model.values) x[i] *= 1 - squash;
    for (int i = 0; i < 2; i++) {
        omp_set_num_threads(i ? 3 : 1);
        assert_int_equal(sp_system_create(&c.context, &c.model, 0, &system[i]), SP_OK);
        assert_int_equal(sp_system_evaluate(&c.context, &system[i], x, squash * c.model.height),
                         SP_OK);
    }
    omp_set_num_threads(before);
    check_true(!system[0].contact.sums && system[1].contact.sums);
    check_true(system[1].contact.near_first[1] > 1500); /* few are worked out on one thread */
    check_true(system[0].contacts > 100 && system[0].energy < INFINITY);
    assert_int_equal(system[0].contacts, system[1].contacts);
    check_true(system[0].energy == system[1].energy);
    check_true(system[0].contact.closest_square == system[1].contact.closest_square);
    assert_memory_equal(system[0].gradient, system[1].gradient, unknowns * sizeof(double));
    assert_int_equal(system[0].blocks.block_count, system[1].blocks.block_count);
    assert_memory_equal(system[0].blocks.value, system[1].blocks.value,
                        (size_t)system[0].blocks.block_count * 36 * sizeof(double));
    for (int i = 0; i < 2; i++) sp_system_free(&system[i]);
    free(x);
    coupon_tear_down(&c);
}

/* Other patterns, holds and edges are pressed as well: random cells between sliding platens,
 * hexagons with free edges under friction. */
static void test_other_coupons(void **unused)
{
    (void)unused;
    static const char *const other[][12] = {
        {"coupon.width=10 mm", "coupon.depth=9 mm", "coupon.height=5 mm", "infill.pattern=voronoi",
         "bead.walls=1", "platens.hold=sliding", "press.direction=along", NULL},
        {"coupon.width=11 mm", "coupon.depth=9 mm", "coupon.height=5 mm",
         "infill.pattern=hexagonal", "bead.walls=0", "platens.hold=friction",
         "platens.friction=0.4", "press.direction=along", NULL}};
    for (int i = 0; i < 2; i++) {
        coupon c;
        coupon_set_up(&c, 1, other[i]);
        sp_path path = press(&c, coupon_quick() ? 0.15 : 0.35, 100);
        coupon_check_steps(&path, 2e-3);
        coupon_check_shapes(&c.network, &path);
        sp_path_free(&path);
        coupon_tear_down(&c);
    }
}

/* Solid fraction and mass are those of the same walls pressed across: they come from the lines, not
 * from the bars, which have three times the volume. The first stiffness between sliding platens is
 * that of the section of the walls, E A/H: they carry as bars do. */
static void test_walls_as_across(void **unused)
{
    (void)unused;
    static const char *const across[] = {"coupon.width=8.82 mm", "coupon.height=8.82 mm",
                                         "coupon.depth=5 mm",    "infill.angle=0 deg",
                                         "bead.walls=1",         NULL};
    coupon flat, upright;
    coupon_set_up(&flat, 0, coupon_pad);
    coupon_set_up(&upright, 0, across);
    check_relative(flat.network.solid_fraction, upright.network.solid_fraction, 1e-12);
    check_relative(flat.network.nominal_density, upright.network.nominal_density, 1e-12);
    check_close(flat.network.size[1], 5, 1e-12);
    double area = 0;
    for (int i = 0; i < flat.network.panel_count; i++)
        area += flat.network.panel[i].thickness * flat.network.panel[i].length;
    check_relative(area, 12 * 4.2 * 0.42, 1e-9);
    coupon_tear_down(&flat);
    coupon_tear_down(&upright);
}

/* Return force and work at a shortening, straight between states. */
static sp_step state_at(const sp_path *path, double shortening)
{
    int i = 1;
    while (i + 1 < path->step_count && path->step[i].shortening < shortening) i++;
    const sp_step *from = &path->step[i - 1], *to = &path->step[i];
    const double s = (shortening - from->shortening) / (to->shortening - from->shortening);
    return (sp_step){.force = from->force + s * (to->force - from->force),
                     .work = from->work + s * (to->work - from->work)};
}

enum { BLOCK_SEEDS = 5, BLOCK_STRAINS = 40 };

/* Read force [N] and work [mJ] at each per cent of strain of a coupon 5 mm high. */
static void take_states(const sp_path *path, double strain, double *force, double *work)
{
    for (int i = 1; i <= 100 * strain + 0.5; i++) {
        const sp_step is = state_at(path, 0.01 * i * 5 * (1 - 1e-9));
        force[i - 1] = is.force;
        work[i - 1] = is.work;
    }
}

/* Find force [N] and work [mJ] of a coupon of 4 x 4 cells, or of the block in its place, at each
 * per cent of strain, and check that its energies balance. */
static void press_cells(int cells, int seed, double strain, double *force, double *work,
                        double size[3])
{
    char flaws[32], part_of[32];
    snprintf(flaws, sizeof flaws, "flaws.seed=%d", seed);
    snprintf(part_of, sizeof part_of, "coupon.block=%d", cells);
    const char *const settings[] = {"coupon.width=17.22 mm",
                                    "coupon.depth=17.22 mm",
                                    "coupon.height=5 mm",
                                    "infill.angle=0 deg",
                                    "bead.walls=1",
                                    "press.direction=along",
                                    "model.elements_per_strut=3",
                                    flaws,
                                    cells ? part_of : NULL,
                                    NULL};
    coupon c;
    coupon_set_up(&c, 1, settings);
    check_true(c.network.block == cells);
    if (cells) check_relative(c.network.size[0], 8.82, 1e-9);
    if (cells) check_relative(c.network.whole[0], 17.22, 1e-12);
    size[2] = c.network.solid_fraction;
    sp_path path = press(&c, strain, (int)(200 * strain));
    memcpy(size, path.size, 2 * sizeof *size);
    take_states(&path, strain, force, work);
    for (int i = 1; i < path.step_count; i++) {
        const sp_step *s = &path.step[i];
        check_close(s->work, s->stored + s->released, 2e-3 * s->work);
        check_true(s->wall_force > 0 && s->wall_force < s->force);
    }
    sp_path_free(&path);
    coupon_tear_down(&c);
}

/* Do the same for a coupon of 6 x 6 cells without perimeter, and for the block between planes of
 * symmetry in its place. */
static void press_middle(int cells, int seed, double strain, double *force, double *work,
                         double size[3])
{
    char flaws[32];
    snprintf(flaws, sizeof flaws, "flaws.seed=%d", seed);
    const char *const settings[] = {"coupon.width=25.2 mm",
                                    "coupon.depth=25.2 mm",
                                    "coupon.height=5 mm",
                                    "infill.angle=0 deg",
                                    "infill.offset_x=0.5",
                                    "infill.offset_y=0.5",
                                    "bead.walls=0",
                                    "material.law=neo-hookean",
                                    "material.strain_state=uniaxial",
                                    "press.direction=along",
                                    "model.elements_per_strut=3",
                                    flaws,
                                    cells ? "coupon.block=2" : NULL,
                                    "coupon.block_sides=mirror",
                                    NULL};
    coupon c;
    coupon_set_up(&c, 1, settings);
    check_true(c.network.block == cells && c.network.mirror == (cells > 0));
    if (cells) check_relative(c.network.size[0], 8.4, 1e-9);
    if (cells) check_relative(c.network.stands_for[SP_ROLE_INFILL], 9, 0.01);
    size[2] = c.network.solid_fraction;
    sp_path path = press(&c, strain, (int)(200 * strain));
    for (int k = 0; k < 3; k++) check_close(path.pressed[k], c.network.size[k], 0);
    coupon_check_steps(&path, 2e-3);
    memcpy(size, path.size, 2 * sizeof *size);
    take_states(&path, strain, force, work);
    sp_path_free(&path);
    coupon_tear_down(&c);
}

static double median_at(double (*of)[BLOCK_STRAINS], int seeds, int i)
{
    double sorted[BLOCK_SEEDS];
    for (int k = 0; k < seeds; k++) {
        int at = k;
        for (; at > 0 && sorted[at - 1] > of[k][i]; at--) sorted[at] = sorted[at - 1];
        sorted[at] = of[k][i];
    }
    return sorted[seeds / 2];
}

/* Such a function presses a coupon (0 cells) or a block of `cells` cells in its place, and finds
 * forces and work at every strain. */
typedef void block_press(int cells, int seed, double strain, double *force, double *work,
                         double size[3]);

/* Return by what share a force lies outside what the seeds have at a strain; 0: it is inside. */
static double outside(double (*of)[BLOCK_STRAINS], int seeds, int i, double force)
{
    double low = of[0][i], high = of[0][i];
    for (int k = 1; k < seeds; k++) low = fmin(low, of[k][i]), high = fmax(high, of[k][i]);
    return fmax(0, fmax(low - force, force - high)) / median_at(of, seeds, i);
}

/* A block of 2 x 2 cells takes the work of its coupon within 5 % up to every strain to 40 %, and
 * its force lies within 5 % of the band of the coupon's seeds. Medians over flaw seeds are
 * compared, as `press` gives them, with that band, since single folds snap sooner or later: by how
 * much the medians of forces are apart goes with the number of seeds (theory, section 16), and is
 * below the share `most`. The block has the size of the coupon. */
static void compare_block(const char *what, block_press *press_one, int most_seeds, double most)
{
    static double force[2][BLOCK_SEEDS][BLOCK_STRAINS], work[2][BLOCK_SEEDS][BLOCK_STRAINS];
    const int seeds = coupon_quick() ? 1 : most_seeds;
    const double strain = coupon_quick() ? 0.12 : 0.4;
    double off_force = 0, off_band = 0, off_work = 0;
    for (int k = 0; k < seeds; k++) {
        double size[2][3];
        for (int part = 0; part < 2; part++)
            press_one(2 * part, k + 1, strain, force[part][k], work[part][k], size[part]);
        for (int i = 0; i < 3; i++) check_relative(size[1][i], size[0][i], 1e-12);
    }
    for (int i = 0; i < 100 * strain - 0.5; i++) {
        const double block = median_at(force[1], seeds, i);
        off_force = fmax(off_force, fabs(block / median_at(force[0], seeds, i) - 1));
        off_band = fmax(off_band, outside(force[0], seeds, i, block));
        off_work =
            fmax(off_work, fabs(median_at(work[1], seeds, i) / median_at(work[0], seeds, i) - 1));
    }
    print_message("%s: work within %.2g %%, force within %.3g %%, %.2g %% outside the band\n", what,
                  100 * off_work, 100 * off_force, 100 * off_band);
    check_true(off_work < 0.05 && off_band < 0.05 && off_force < most);
}

static void test_block(void **unused)
{
    (void)unused;
    compare_block("2 x 2 cells for 4 x 4", press_cells, BLOCK_SEEDS, 0.08);
}

/* The coupon is five times as wide as it is high. */
static void test_mirror_block(void **unused)
{
    (void)unused;
    compare_block("2 x 2 cells between planes of symmetry for 6 x 6", press_middle, 3, 0.05);
}

/* Return the critical stress of endless square cells, as the factor k of pi^2 E/(12 (1 - nu^2))
 * (t/l)^2, from a block of 2 x 2 between planes of symmetry, with `across` cells of the framework
 * across a wall. */
static double mirror_factor(const char *across)
{
    static const double nu = 1.0 / 3, t = 0.42, l = 16.8;
    const char *const settings[] = {"coupon.width=70 mm",
                                    "coupon.depth=70 mm",
                                    "coupon.height=29.0985 mm",
                                    "coupon.block=2",
                                    "coupon.block_sides=mirror",
                                    "infill.density=5 %",
                                    "bead.walls=0",
                                    "material.law=linear",
                                    "material.modulus=45 MPa",
                                    "material.poisson_ratio=0.333333333333",
                                    "material.strain_state=uniaxial",
                                    "platens.hold=sliding",
                                    "press.direction=along",
                                    across,
                                    NULL};
    coupon c;
    sp_path path;
    coupon_set_up(&c, 0, settings);
    const sp_press_options options = {.strain = 0.003,
                                      .load_limit = INFINITY,
                                      .steps = 20,
                                      .follow_perfect = 1,
                                      .stop_at_critical = 1};
    coupon_press(&c, &options, &path);
    assert_int_equal(path.critical.found, 1);
    double area = 0;
    for (int i = 0; i < c.network.panel_count; i++)
        area += c.network.panel[i].thickness * c.network.panel[i].length;
    check_relative(area, 8 * l * t, 1e-9);
    const double stress = path.critical.force / (area * c.network.stands_for[SP_ROLE_INFILL]);
    sp_path_free(&path);
    coupon_tear_down(&c);
    return stress * 12 * (1 - nu * nu) / (M_PI * M_PI * 45) * (l / t) * (l / t);
}

/* In endless square cells whose walls cannot widen every joint line is a hinge, and the waves of a
 * simply supported strip fit sliding platens that are sqrt(3) walls apart, k = 4 (1 - nu) = 8/3
 * (Levy's strip, Timoshenko & Gere 1961; docs/theory.md, section 16). Walls are as thick as a
 * fortieth of their length, so that shear across them takes little off; at a twentieth it takes 1
 * %. */
static void test_mirror_block_of_endless_cells(void **unused)
{
    (void)unused;
    const double coarse = mirror_factor("model.elements_per_strut=4"),
                 fine = mirror_factor("model.elements_per_strut=8"), want = 8.0 / 3;
    print_message("endless square cells held sideways: k %.4g with 4 cells a wall, %.4g with 8, "
                  "Levy's strip %.4g\n",
                  coarse, fine, want);
    check_relative(coarse, want, 0.03);
    check_relative(fine, want, 0.01);
}

/* Planes of symmetry hold the joints that lie in them: no joint leaves its side or turns out of it,
 * and a wall that a side cuts is a half with the middle of its bow there. */
static void test_mirror_sides_hold(void **unused)
{
    (void)unused;
    static const char *const settings[] = {
        "coupon.width=20 mm",    "coupon.depth=20 mm",        "coupon.height=5 mm",
        "coupon.block=2",        "coupon.block_sides=mirror", "bead.walls=0",
        "press.direction=along", "flaws.joint_offset=0",      NULL};
    coupon c;
    coupon_set_up(&c, 1, settings);
    const sp_network *network = &c.network;
    int on_sides = 0, halves = 0, bowed = 0;
    for (int i = 0; i < network->panel_count; i++) {
        const sp_panel *panel = &network->panel[i];
        halves += panel->halved;
        check_relative(panel->length, panel->halved ? 2.1 : 4.2, 1e-9);
    }
    assert_int_equal(network->panel_count, 12);
    assert_int_equal(halves, 8);
    for (int j = 0; j < network->joint_count; j++)
        for (int k = 0; k < 3; k += 2) {
            const double *at = network->joint_position + 3 * (size_t)j;
            const unsigned char *hold = c.model.hold + 6 * (size_t)j;
            if (at[k] > 1e-9 && at[k] < 8.4 - 1e-9) continue;
            on_sides++;
            bowed += fabs(remainder(at[2 - k] - 2.1, 4.2)) > 1e-3;
            check_true(hold[k] != SP_FREE && hold[4] != SP_FREE && hold[5 - k] != SP_FREE);
            if (!network->joint_face[j])
                check_true(hold[1] == SP_FREE && hold[2 - k] == SP_FREE && hold[3 + k] == SP_FREE);
        }
    assert_int_equal(on_sides, 8 * (network->panel[0].up + 1));
    assert_int_equal(bowed, 8 * (network->panel[0].up - 1));
    coupon_tear_down(&c);
}

/* A block is shorter by whole periods on either side, also of turned patterns, whose periods along
 * the sides are sums of lattice vectors: squares at 45 degrees have one of sqrt 2 cells, hexagons
 * of side a those of sqrt 3 and 3 a. Random cells have none: as many cells as are asked for. */
static void test_block_is_cut_alike(void **unused)
{
    (void)unused;
    static const struct {
        const char *pattern, *angle;
        double period[2]; /* of the cell size; 0: none */
    } want[] = {{"infill.pattern=square", "infill.angle=45 deg", {M_SQRT2, M_SQRT2}},
                {"infill.pattern=square", "infill.angle=0 deg", {1, 1}},
                {"infill.pattern=hexagonal", "infill.angle=0 deg", {1.7320508075688772, 3}},
                {"infill.pattern=random-cells", "infill.angle=0 deg", {0, 0}}};
    for (size_t i = 0; i < sizeof want / sizeof *want; i++) {
        const char *const part[] = {want[i].pattern,
                                    want[i].angle,
                                    "coupon.width=40 mm",
                                    "coupon.depth=37 mm",
                                    "bead.walls=1",
                                    "coupon.height=5 mm",
                                    "coupon.block=2",
                                    "flaws.seed=0",
                                    "infill.density=20 %",
                                    "press.direction=along",
                                    NULL};
        coupon c;
        coupon_set_up(&c, 0, part);
        const sp_network *network = &c.network;
        check_true(network->block == 2);
        for (int side = 0; side < 2; side++) {
            const double cell = network->cell_size, least = 2 * cell + 0.42,
                         period = 2 * want[i].period[side] * cell, all = network->whole[2 * side],
                         part_of = network->size[2 * side];
            if (!(period > 0)) {
                check_true(fabs(part_of - least) < 0.2 * least);
                continue;
            }
            const double periods = (all - part_of) / period;
            check_true(part_of >= least - 1e-9 && part_of < least + period + 1e-9);
            check_close(periods, round(periods), 1e-6);
        }
        coupon_tear_down(&c);
    }
}

/* The middle of a part has no perimeter, and hexagons have no planes of symmetry that cut their
 * walls at right angles alone. */
static void test_mirror_refused(void **unused)
{
    (void)unused;
    static const char *const key[] = {"bead.walls", "infill.pattern"},
                             *const value[] = {"1", "hexagonal"},
                             *const word[] = {"no perimeter", "no planes of symmetry"};
    for (int i = 0; i < 2; i++) {
        sp_context context = {0};
        sp_case request;
        sp_resolved resolved;
        sp_network network = {0};
        sp_case_default(&request);
        coupon_set(&request, "press.direction", "along");
        coupon_set(&request, "coupon.block", "2");
        coupon_set(&request, "coupon.block_sides", "mirror");
        coupon_set(&request, "bead.walls", "0");
        coupon_set(&request, key[i], value[i]);
        sp_status status = sp_case_resolve(&context, &request, &resolved);
        if (status == SP_OK) status = sp_network_build(&context, &resolved.request, 0, &network);
        assert_int_equal(status, SP_BAD_CASE);
        if (!strstr(context.message, word[i])) fail_msg("%s", context.message);
        sp_network_free(&network);
        sp_resolved_free(&resolved);
    }
}

static void refuses(const char *key, const char *value, const char *word)
{
    sp_context context = {0};
    sp_case request;
    sp_case_default(&request);
    coupon_set(&request, "press.direction", "along");
    coupon_set(&request, key, value);
    sp_resolved resolved;
    assert_int_equal(sp_case_resolve(&context, &request, &resolved), SP_BAD_CASE);
    sp_resolved_free(&resolved);
    if (!strstr(context.message, word)) fail_msg("%s", context.message);
}

/* A coupon whose walls cannot stand along the load is refused with its reason. */
static void test_refused(void **unused)
{
    (void)unused;
    refuses("infill.pattern", "kelvin", "spatial");
    refuses("infill.layers", "4", "layers of their own");
    refuses("coupon.block", "1", "2 and more");
    refuses("coupon.block_sides", "mirror", "a block to have such sides");
}

/* For a flat planar coupon the program asks how it lies; the key answers that. */
static void test_flat_coupon_is_asked(void **unused)
{
    (void)unused;
    static const char *const across[] = {"coupon.height=8 mm", NULL};
    static const char *const along[] = {"coupon.height=8 mm", "press.direction=along", NULL};
    char text[SP_MESSAGE_SIZE];
    coupon c;
    coupon_set_up(&c, 0, across);
    check_true(sp_network_flat_text(&c.network, &c.request, text, sizeof text) &&
               strstr(text, "press.direction"));
    coupon_tear_down(&c);
    coupon_set_up(&c, 0, along);
    check_true(!sp_network_flat_text(&c.network, &c.request, text, sizeof text));
    coupon_tear_down(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_to_densification),
        cmocka_unit_test(test_walls_have_flaws),
        cmocka_unit_test(test_differences_of_a_fold),
        cmocka_unit_test(test_threads_change_nothing),
        cmocka_unit_test(test_contact_on_threads),
        cmocka_unit_test(test_other_coupons),
        cmocka_unit_test(test_walls_as_across),
        cmocka_unit_test(test_refused),
        cmocka_unit_test(test_flat_coupon_is_asked),
        cmocka_unit_test(test_block),
        cmocka_unit_test(test_block_is_cut_alike),
        cmocka_unit_test(test_mirror_block_of_endless_cells),
        cmocka_unit_test(test_mirror_sides_hold),
        cmocka_unit_test(test_mirror_refused),
        cmocka_unit_test(test_mirror_block),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
