/* These tests check measures against closed forms. Coupons and curves are made up; the relations
 * are the published ones named beside each check. */
#include "check.h"

#include <strutpress/measure.h>
#include <strutpress/store.h>

#include "measure/curve.h"

enum { STEPS_MAX = 4096 };
#define WIDTH 28.0
#define HEIGHT 24.0
#define DEPTH 20.0
#define AREA (WIDTH * DEPTH)

static sp_step steps[STEPS_MAX];
static sp_network network;
static sp_case request;

static sp_path empty_path(void)
{
    memset(steps, 0, sizeof steps);
    sp_path path = {.size = {WIDTH, HEIGHT, DEPTH}, .step = steps, .step_capacity = STEPS_MAX};
    return path;
}

static void add(sp_path *path, double strain, double stress)
{
    assert_true(path->step_count < STEPS_MAX);
    steps[path->step_count].shortening = strain * HEIGHT;
    steps[path->step_count++].force = stress * AREA;
}

/* Make n equal steps of a stress-strain law up to `end`. */
static sp_path sampled(double (*stress)(double), double end, int n)
{
    sp_path path = empty_path();
    for (int i = 0; i <= n; i++) add(&path, end * i / n, stress(end * i / n));
    return path;
}

static sp_start start_of(const sp_path *path)
{
    const sp_curve curve = sp_curve_of_path(path);
    return sp_curve_start(&curve);
}

static sp_measure take(const char *name, const sp_path *path)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++)
        if (strcmp(row[i].name, name) == 0)
            return sp_measure_take(&row[i], path, &network, &request);
    fail_msg("no measure %s", name);
    return (sp_measure){0, 0.0};
}

static double value(const char *name, const sp_path *path)
{
    sp_measure got = take(name, path);
    if (!got.reached) fail_msg("%s is not reached", name);
    return got.value;
}

static double spring(double strain)
{
    return 3.0 * strain;
}

static double sine(double strain)
{
    return sin(acos(-1.0) * strain);
}

/* Return the stress of a plateau that densifies: 1 + 40 e^6, made up; its figures follow by
 * calculus. */
static double densifying(double e)
{
    return e > 0.0 ? 1.0 + 40.0 * pow(e, 6) : 0.0;
}

/* This curve has a soft toe up to 1 % strain, and is straight with slope 10 then. */
static double toe(double e)
{
    return e < 0.01 ? 500.0 * e * e : 0.05 + 10.0 * (e - 0.01);
}

/* Return the stress of a neo-Hookean bar of E = 3 under uniaxial compression (Treloar 1944, from
 * memory): nominal stress G (1/l^2 - l), G = E/3. It stiffens from the start. */
static double stiffening(double e)
{
    const double l = 1.0 - e;
    return 1.0 / (l * l) - l;
}

/* Return the stress of an S-shaped curve of slope 0 at the start and largest slope 3 at half of its
 * 4 % of strain: 3 x^2 - 2 x^3, made up. */
static double bent_twice(double e)
{
    const double x = e / 0.04;
    return 0.08 * (3.0 * x * x - 2.0 * x * x * x);
}

static void spring_has_its_closed_forms(void **state)
{
    (void)state;
    sp_path path = sampled(spring, 0.7, 70);
    check_relative(value("initial_stiffness", &path), 3.0 * AREA / HEIGHT, 1e-12);
    assert_false(take("chord_modulus", &path).reached); /* 1 % steps say nothing of 0.05 % */
    check_relative(value("plateau_stress", &path), 0.9, 1e-12);
    check_relative(value("plateau_stress_20_30", &path), 0.75, 1e-12);
    check_relative(value("plateau_end", &path), 1.3 * 0.9 / 3.0, 1e-12);
    check_relative(value("energy_per_volume_50", &path), 0.5 * 3.0 * 0.25, 1e-12);
    check_relative(value("force_25", &path), 0.75 * AREA, 1e-12);
    check_relative(value("force_ratio_65_25", &path), 65.0 / 25.0, 1e-12);
    check_relative(value("final_strain", &path), 0.7, 1e-12);
    check_relative(value("final_force", &path), 2.1 * AREA, 1e-12);
    assert_false(take("first_maximum", &path).reached);
    assert_false(
        take("densification_strain", &path).reached); /* eta = strain/2 still grows at the end */
    assert_false(take("efficiency_max", &path).reached);
    check_relative(value("efficiency_iso_13314", &path), 0.5, 1e-12);
    path = sampled(spring, 0.7, 280);
    check_relative(value("chord_modulus", &path), 3.0, 1e-9);
}

/* In made-up zigzags a fall behind the first maximum counts until the curve passes that maximum. */
static void drop_ends_where_the_maximum_is_passed(void **state)
{
    (void)state;
    static const double stress[] = {0, 1, 2, 1.5, 1.8, 1.2, 1.9, 2.5, 0.5, 3};
    sp_path path = empty_path();
    assert_false(take("drop_after_maximum", &path).reached);
    for (int i = 0; i < 10; i++) add(&path, 0.05 * i, stress[i]);
    check_relative(value("drop_after_maximum", &path), 0.4, 1e-12);
    path = sampled(spring, 0.7, 70);
    check_close(value("drop_after_maximum", &path), 0, 0);
}

/* By Miltz & Gruenbaum 1981, eta is the strain on a perfect plateau, and strain/2 on a spring. A
 * last step of twice the stress puts the maximum at the end of the plateau or of the spring, so
 * that it is reported. */
static void efficiency_of_plateau_and_spring(void **state)
{
    (void)state;
    for (int kind = 0; kind < 2; kind++) {
        sp_path path = empty_path();
        add(&path, 0.0, kind ? 0.0 : 5.0);
        for (int i = 1; i <= 50; i++) add(&path, 0.01 * i, kind ? 0.1 * i : 5.0);
        add(&path, 0.500001, 10.0);
        check_close(value("densification_strain", &path), 0.5, 1e-5);
        check_close(value("efficiency_max", &path), kind ? 0.25 : 0.5, 1e-5);
        double energy = kind ? 0.5 * 10.0 * 0.25 : 5.0 * 0.5;
        check_close(value("energy_per_volume_densification", &path), energy, 2e-5);
    }
}

/* d eta/d strain = 0 where stress^2 = work x slope (Li, Magkiriadis & Harrigan 2006), solved here
 * by bisection. */
static void densification_of_a_smooth_curve_converges(void **state)
{
    (void)state;
    double low = 0.3, high = 0.9;
    for (int i = 0; i < 60; i++) {
        double e = 0.5 * (low + high), work = e + 40.0 * pow(e, 7) / 7.0;
        if (densifying(e) * densifying(e) > work * 240.0 * pow(e, 5))
            low = e;
        else
            high = e;
    }
    double work = low + 40.0 * pow(low, 7) / 7.0;
    double tolerance[] = {4e-3, 2e-4};
    for (int i = 0; i < 2; i++) {
        sp_path path = sampled(densifying, 0.8, i ? 800 : 80);
        steps[0].force = AREA; /* the plateau starts at once */
        check_relative(value("densification_strain", &path), low, tolerance[i]);
        check_relative(value("efficiency_max", &path), work / densifying(low), tolerance[i]);
    }
    sp_path shorter = sampled(densifying, low - 0.05, 40);
    assert_false(take("densification_strain", &shorter).reached);
}

static void sine_has_its_closed_forms(void **state)
{
    (void)state;
    double pi = acos(-1.0);
    sp_path path = sampled(sine, 0.9, 900);
    check_relative(value("first_maximum", &path), 1.0, 1e-6);
    check_close(value("first_maximum_strain", &path), 0.5, 1e-12);
    check_relative(value("plateau_stress", &path), (cos(0.2 * pi) - cos(0.4 * pi)) / (0.2 * pi),
                   1e-5);
    check_relative(value("energy_per_volume_50", &path), 1.0 / pi, 1e-5);
    check_relative(value("initial_stiffness", &path), pi * AREA / HEIGHT, 1e-4);
    /* sin(0.54 pi) = 0.992: a drop below 1 % is no maximum. */
    sp_path dip = sampled(sine, 0.54, 540);
    assert_false(take("first_maximum", &dip).reached);
}

/* Toe compensation as in ASTM D638, annex A1.2 (read in a text that quotes it): the straight part,
 * carried back to zero force, gives the zero. */
static void toe_is_compensated(void **state)
{
    (void)state;
    sp_path path = sampled(toe, 0.08, 160);
    check_relative(value("initial_stiffness", &path), 10.0 * AREA / HEIGHT, 1e-9);
    check_relative(start_of(&path).toe / HEIGHT, 0.005, 1e-9);
    sp_path soft = sampled(toe, 0.08, 4000);
    double from = 0.0055,
           to = 0.0075; /* the ISO 604 chord, 0.05 % to 0.25 %, past the toe of 0.5 % */
    check_relative(value("chord_modulus", &soft), (toe(to) - toe(from)) / 0.002, 1e-4);
}

/* A material that stiffens has no toe: the tangent of its start is E, read within 0.1 % without
 * tangents of the steps as well; and so it is when the bar gives way later, which gives its curve
 * an inflection. */
static void stiffening_is_no_toe(void **state)
{
    (void)state;
    for (int known = 0; known < 2; known++)
        for (int gives_way = 0; gives_way < 2; gives_way++) {
            sp_path path = sampled(stiffening, gives_way ? 0.08 : 0.7, gives_way ? 32 : 280);
            if (gives_way)
                for (int i = 1; i < 20; i++) add(&path, 0.08 + 0.0025 * i, stiffening(0.08));
            if (known) steps[0].stiffness = 3.0 * AREA / HEIGHT;
            check_relative(value("initial_stiffness", &path), 3.0 * AREA / HEIGHT,
                           known ? 1e-12 : 1e-3);
            check_close(start_of(&path).toe, 0, 0);
        }
}

/* A curve without a straight part: the tangent at the inflection is carried back to zero force
 * (ASTM D638, annex A1.3, read in a text that quotes it). It is 3 at 2 % strain and 0.04 MPa, and
 * meets zero force at 2 % - 0.04/3. */
static void toe_ends_at_an_inflection(void **state)
{
    (void)state;
    sp_path path = sampled(bent_twice, 0.05, 400);
    check_relative(value("initial_stiffness", &path), 3.0 * AREA / HEIGHT, 1e-3);
    check_close(start_of(&path).toe / HEIGHT, 0.02 - 0.04 / 3.0, 2e-5);
}

/* The tangent of the unloaded state is used when the first step is too coarse to show it. */
static void first_tangent_takes_part(void **state)
{
    (void)state;
    sp_path path = sampled(spring, 0.1, 10);
    steps[0].stiffness = 900.0;
    check_relative(value("initial_stiffness", &path), 900.0, 1e-12);
    steps[0].stiffness = NAN;
    check_relative(value("initial_stiffness", &path), 3.0 * AREA / HEIGHT, 1e-12);
}

/* ISO 13314:2011, from memory: the interval is named, and 1.3 x the plateau stress ends the
 * plateau. */
static void plateau_intervals(void **state)
{
    (void)state;
    sp_path path = empty_path();
    add(&path, 0.0, 0.0);
    add(&path, 0.05, 9.0); /* a high first maximum: not the end of the plateau */
    add(&path, 0.10, 2.0);
    add(&path, 0.20, 2.0);
    add(&path, 0.30, 2.0);
    add(&path, 0.40, 4.0);
    add(&path, 0.50, 2.0);
    check_relative(value("plateau_stress_20_30", &path), 2.0, 1e-12);
    check_relative(value("plateau_stress", &path), 2.5, 1e-12);
    check_relative(value("plateau_end", &path), 0.30 + 0.1 * (1.3 * 2.5 - 2.0) / 2.0, 1e-12);
    path.step_count = 5;
    assert_false(take("plateau_stress", &path).reached);
    assert_false(take("plateau_end", &path).reached);
    check_relative(value("plateau_stress_20_30", &path), 2.0, 1e-12);
    path.step_count = 0;
    path = empty_path();
    for (int i = 0; i <= 60; i++) add(&path, 0.01 * i, 2.0);
    assert_false(take("plateau_end", &path).reached);
}

/* A snap drops the force at one shortening: the platen does no work there, and figures read the
 * state after it. */
static void snaps_are_vertical(void **state)
{
    (void)state;
    sp_path path = empty_path();
    add(&path, 0.0, 0.0);
    add(&path, 0.25, 5.0);
    add(&path, 0.25, 4.0);
    add(&path, 0.25, 1.0);
    add(&path, 0.50, 1.0);
    add(&path, 0.50, 0.5);
    check_relative(value("force_25", &path), 1.0 * AREA, 1e-12);
    check_relative(value("force_10", &path), 2.0 * AREA, 1e-12);
    check_relative(value("force_50", &path), 0.5 * AREA, 1e-12);
    check_relative(value("energy_per_volume_50", &path), 0.5 * 5.0 * 0.25 + 0.25, 1e-12);
    check_relative(value("first_maximum", &path), 5.0, 1e-12);
    check_relative(value("first_maximum_strain", &path), 0.25, 1e-12);
    check_relative(value("plateau_stress", &path), (0.05 * 4.5 + 0.15 * 1.0) / 0.2, 1e-12);
    assert_false(take("force_65", &path).reached);
    assert_false(take("force_ratio_65_25", &path).reached);
    assert_false(take("densification_strain", &path).reached); /* 1.5 of 5 MPa and still growing */
}

static void figures_of_the_body_and_the_buckle(void **state)
{
    (void)state;
    sp_path path = sampled(spring, 0.7, 70);
    network.solid_fraction = 0.25;
    network.nominal_density = 0.2;
    request.solid_density = 1.2; /* g/cm3, made up */
    check_relative(value("mass", &path), 0.25 * 28 * 24 * 20 / 1000.0 * 1.2, 1e-12);
    check_relative(value("solid_fraction", &path), 0.25, 1e-12);
    check_relative(value("nominal_density", &path), 0.2, 1e-12);
    assert_false(take("critical_strain", &path).reached);
    assert_false(take("buckled_force", &path).reached);
    path.critical = (sp_critical){.found = 1, .strain = 0.04, .force = 60.0};
    path.buckled = (sp_buckled){
        .found = 1, .strain = 0.05, .strut_force = 0.3, .euler_ratio = 0.8, .slenderness = 40};
    check_relative(value("critical_strain", &path), 0.04, 1e-12);
    check_relative(value("critical_force", &path), 60.0, 1e-12);
    check_relative(value("buckled_strain", &path), 0.05, 1e-12);
    check_relative(value("buckled_force", &path), 0.3, 1e-12);
    check_relative(value("buckled_euler_ratio", &path), 0.8, 1e-12);
    check_relative(value("buckled_slenderness", &path), 40.0, 1e-12);
    add(&path, 0.8, 0.1); /* a dip, in which the efficiency is not taken */
    assert_false(take("energy_per_mass", &path).reached);
    add(&path, 0.81, 30.0);
    double strain = value("densification_strain", &path);
    double energy = value("energy_per_volume_densification", &path);
    check_close(strain, 0.7, 0.01);
    check_relative(value("energy_per_mass", &path), energy * 1000.0 / (0.25 * 1.2), 1e-12);
}

/* Every row stays finite or says "not reached" on paths that hold nothing, one state, zeros or a
 * single drop. */
static void every_row_survives_poor_curves(void **state)
{
    (void)state;
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int kind = 0; kind < 6; kind++) {
        sp_path path = empty_path();
        for (int i = 0; i < kind; i++)
            add(&path, kind < 5 ? 0.0 : 0.2 * i, kind < 3 ? 0.0 : -1.0 + i);
        for (int i = 0; i < count; i++) {
            sp_measure got = sp_measure_take(&row[i], &path, &network, &request);
            assert_true(isfinite(got.value));
            assert_true(got.reached == 0 || got.reached == 1);
            assert_true(row[i].name[0] && row[i].unit[0] && row[i].doc[0]);
        }
    }
}

/* Return for how many rows from this one on the line says whose definition it is: a standard, a
 * paper with its year, or "own", which may hold for rows below, too; 0: it does not say. */
static int says_source(const char *doc)
{
    static const char *const numbers[] = {"two", "three", "four", "five", "six", "seven"};
    int years = 0;
    const char *below = strstr(doc, "(own, as ");
    for (const char *at = doc; *at; at++)
        years |= (!strncmp(at, "19", 2) || !strncmp(at, "20", 2)) && at[2] >= '0' && at[2] <= '9' &&
                 at[3] >= '0' && at[3] <= '9';
    if (!below)
        return years || strstr(doc, "ISO ") || strstr(doc, "ASTM ") || strstr(doc, "own") ||
               strstr(doc, "common practice, no source");
    below += strlen("(own, as ");
    for (int i = 0; i < 6; i++) {
        char words[32];
        snprintf(words, sizeof words, "the %s below)", numbers[i]);
        if (!strncmp(below, words, strlen(words))) return i + 3;
    }
    return strncmp(below, "all rows below)", 15) ? 1 : 1000;
}

/* Every figure says which standard or paper defines it, or that the definition is its own. */
static void every_row_says_whose_it_is(void **state)
{
    (void)state;
    int count, said = 0;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++) {
        const int from_here = says_source(row[i].doc);
        said = said - 1 > from_here ? said - 1 : from_here;
        if (said < 1) fail_msg("%s: \"%s\" names no source", row[i].name, row[i].doc);
    }
    const sp_figure_row *figure = sp_figure_rows(&count);
    for (int i = 0; i < count; i++)
        if (!says_source(figure[i].doc)) fail_msg("%s names no source", figure[i].name);
}

/* A figure that is zero by construction is left out; a law with a history, and friction, give it a
 * value. */
static void a_law_that_gives_all_back_has_no_losses(void **state)
{
    (void)state;
    static const char *const of_losses[] = {"energy_dissipated", "set_strain", "instant_set",
                                            "energy_returned", "energy_kept"};
    char words[SP_MODELLED_SIZE];
    sp_case asked;
    sp_case_default(&asked);
    for (size_t i = 0; i < sizeof of_losses / sizeof *of_losses; i++) {
        asked.platen_friction = 0;
        strcpy(asked.law, "yeoh");
        assert_int_equal(sp_measure_modelled(of_losses[i], &asked, words), SP_NOT_MODELLED);
        assert_string_equal(words, "not modelled: law yeoh gives all back");
        asked.platen_friction = 0.3;
        assert_int_equal(sp_measure_modelled(of_losses[i], &asked, words), SP_PARTLY_MODELLED);
        assert_non_null(strstr(words, "friction"));
        strcpy(asked.law, "yielding");
        assert_int_equal(sp_measure_modelled(of_losses[i], &asked, words), SP_MODELLED);
        assert_string_equal(words, "");
    }
    assert_int_equal(sp_measure_modelled("force_25", &asked, words), SP_MODELLED);
    sp_measure_reason("force_25", &asked, NAN, words);
    assert_string_equal(words, "not reached");
}

/* A figure that lies beyond the load limit names the limit; one that is missing for another reason
 * does not. */
static void a_load_limit_is_named(void **state)
{
    char words[SP_MODELLED_SIZE];
    sp_case asked;
    (void)state;
    sp_case_default(&asked);
    assert_true(isnan(sp_measure_load_end_at(&asked, 0.39))); /* no limit unless given */
    asked.load_limit = 6000;
    assert_true(isnan(sp_measure_load_end_at(&asked, 0.7)));
    const double end = sp_measure_load_end_at(&asked, 0.39);
    check_close(end, 0.39, 0);
    assert_int_equal(sp_measure_reason("force_50", &asked, end, words), 1);
    assert_string_equal(words,
                        "not reached: the load limit of 6 kN ended the press at 39 % strain");
    asked.load_limit = 150;
    sp_measure_reason("plateau_end", &asked, end, words);
    assert_string_equal(words,
                        "not reached: the load limit of 150 N ended the press at 39 % strain");
    snprintf(asked.law, sizeof asked.law, "yielding");
    assert_int_equal(sp_measure_reason("set_strain", &asked, end, words), 0); /* not asked for */
    assert_string_equal(words, "not reached");
    asked.unload = 1;
    assert_int_equal(sp_measure_reason("set_strain", &asked, end, words), 1);
    asked.find_critical = 0;
    assert_int_equal(sp_measure_reason("critical_force", &asked, end, words), 0);
}

/* A line of 3 MPa through zero gives its figures from a path, from the points of a store and from
 * two columns of numbers. */
static void figures_with_an_argument(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double want;
    } asked[] = {{"force_at 25 %", 3 * 0.25 * AREA},
                 {"force_at 6 mm", 3 * 0.25 * AREA},
                 {"force_at 0.6 cm", 3 * 0.25 * AREA},
                 {"shortening_at 84 N", 84 * HEIGHT / (3 * AREA)},
                 {"stiffness_at 10 %", 3 * AREA / HEIGHT},
                 {"stiffness_at 0.05 mm", 3 * AREA / HEIGHT},
                 {"energy_to 25 %", 0.5 * 3 * 0.25 * AREA * 0.25 * HEIGHT},
                 {"energy_to 6 mm", 0.5 * 3 * 0.25 * AREA * 6},
                 {"energy_before 0.15 MPa", 0.5 * 0.15 * 0.05}};
    enum { STATES = 61 };
    const sp_path path = sampled(spring, 0.6, STATES - 1);
    sp_curve_point point[STATES];
    double column[2][STATES];
    for (int i = 0; i < STATES; i++) {
        point[i] = (sp_curve_point){.shortening = steps[i].shortening, .force = steps[i].force};
        column[0][i] = steps[i].shortening;
        column[1][i] = steps[i].force;
    }
    sp_case_default(&request);
    request.width = WIDTH, request.height = HEIGHT, request.depth = DEPTH;
    const sp_curve view[] = {sp_curve_of_path(&path),
                             sp_curve_of_points(&request, STATES, point),
                             {HEIGHT, AREA, STATES, sizeof(double), column[0], column[1], NULL}};
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++)
        for (int k = 0; k < 3; k++) {
            sp_figure figure;
            char valid[SP_MESSAGE_SIZE], nearest[SP_NAME_SIZE];
            if (!sp_figure_find(asked[i].text, &figure, valid, sizeof valid, nearest))
                fail_msg("%s: %s", asked[i].text, valid);
            const sp_measure got = sp_figure_take(&figure, NULL, &view[k]);
            check_true(got.reached);
            check_relative(got.value, asked[i].want, 1e-12);
        }
    check_true(value("force_25", &path) == sp_curve_force(&view[1], 0.25 * HEIGHT).value);
    check_close(sp_curve_mean_force(&view[2], 0, 0.5 * HEIGHT), 3 * 0.25 * AREA, 1e-9);
}

static void figures_are_refused_in_words(void **state)
{
    (void)state;
    static const char *const refused[][2] = {
        {"force_at", "force_at and a number (units mm, cm, m, um) or a number (units %"},
        {"force_at 6 N", "force_at and a number"},
        {"force_at -6 mm", "above 0"},
        {"shortening_at 6 mm", "shortening_at and a number (units N, kN) above 0"},
        {"energy", "a name of `list measures`, or force_at with a value in mm or %"},
        {"", "a name of `list measures`"}};
    sp_figure figure;
    char valid[SP_MESSAGE_SIZE], nearest[SP_NAME_SIZE];
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        assert_int_equal(sp_figure_find(refused[i][0], &figure, valid, sizeof valid, nearest), 0);
        if (!strstr(valid, refused[i][1])) fail_msg("'%s': %s", refused[i][0], valid);
    }
    assert_int_equal(sp_figure_find("stifness_at 3 %", &figure, valid, sizeof valid, nearest), 0);
    assert_string_equal(nearest, "stiffness_at");
    const sp_path path = sampled(spring, 0.3, 30);
    const sp_curve curve = sp_curve_of_path(&path), none = {.height = HEIGHT};
    static const char *const beyond[] = {"force_at 31 %", "shortening_at 30 kN",
                                         "stiffness_at 31 %"};
    for (int i = 0; i < 3; i++) {
        check_true(sp_figure_find(beyond[i], &figure, valid, sizeof valid, nearest));
        check_true(!sp_figure_take(&figure, NULL, &curve).reached);
        check_true(!sp_figure_take(&figure, NULL, &none).reached);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_law_that_gives_all_back_has_no_losses),
        cmocka_unit_test(a_load_limit_is_named),
        cmocka_unit_test(spring_has_its_closed_forms),
        cmocka_unit_test(drop_ends_where_the_maximum_is_passed),
        cmocka_unit_test(efficiency_of_plateau_and_spring),
        cmocka_unit_test(densification_of_a_smooth_curve_converges),
        cmocka_unit_test(sine_has_its_closed_forms),
        cmocka_unit_test(toe_is_compensated),
        cmocka_unit_test(stiffening_is_no_toe),
        cmocka_unit_test(toe_ends_at_an_inflection),
        cmocka_unit_test(first_tangent_takes_part),
        cmocka_unit_test(plateau_intervals),
        cmocka_unit_test(snaps_are_vertical),
        cmocka_unit_test(figures_of_the_body_and_the_buckle),
        cmocka_unit_test(every_row_survives_poor_curves),
        cmocka_unit_test(every_row_says_whose_it_is),
        cmocka_unit_test(figures_with_an_argument),
        cmocka_unit_test(figures_are_refused_in_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
