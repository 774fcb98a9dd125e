/* These tests check seek: the bracket on functions with known roots, targets, and searches whose
 * answers are checked by separate presses that share nothing with the search. */
#include "check.h"

#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

#include <strutpress/batch.h>
#include <strutpress/inspect.h>
#include <strutpress/seek.h>

#include "base/alloc.h"
#include "pattern/pattern.h"
#include "seek/bracket.h"
#include "measure/curve.h"
#include "seek/seek_parts.h"
#include "writer/network_vtk.h"
#include "whole_press.h"

static char folder[64];

static const char *in_folder(const char *name)
{
    static char path[4][128];
    static int turn;
    turn = (turn + 1) % 4;
    snprintf(path[turn], sizeof path[turn], "%s/%s", folder, name);
    return path[turn];
}

/* ---- the bracket ----------------------------------------------- */

enum { POINT_MAX = 200 };

typedef struct search {
    bracket b;
    bracket_point point[POINT_MAX];
} search;

static void add_point(search *s, double x, double value)
{
    int at = s->b.count++;
    assert_true(s->b.count <= POINT_MAX);
    for (; at > 0 && s->point[at - 1].x > x; at--) s->point[at] = s->point[at - 1];
    s->point[at] = (bracket_point){x, value};
    s->b.point = s->point;
}

/* Run a bracket and return the number of calls; every x lies in the range and is new. */
static int run_bracket(search *s, double (*f)(double x))
{
    int calls = 0;
    for (double x = sp_bracket_next(&s->b); !isnan(x); x = sp_bracket_next(&s->b), calls++) {
        check_true(x >= s->b.low && x <= s->b.high);
        for (int i = 0; i < s->b.count; i++) check_true(fabs(x - s->point[i].x) > 0);
        add_point(s, x, f(x));
    }
    return calls;
}

static search make_search(double low, double high, double within)
{
    return (search){.b = {.low = low, .high = high, .within = within}};
}

static double wallis(double x)
{
    return x * x * x - 2 * x - 5;
}

static double less_cosine(double x)
{
    return x - cos(x);
}

static double ninth_power(double x)
{
    return pow(x, 9);
}

static double step(double x)
{
    return x < 1 / 3.0 ? -1 : 1;
}

static double power_law(double x)
{
    return log(pow(x, 2.7) / pow(0.137, 2.7));
}

static double unknown_below(double x)
{
    return x < 0.62 ? NAN : 0.3;
}

static double saturating(double x)
{
    return 0.9 - exp(-40 * (x - 0.05));
}

/* Roots: x^3 - 2 x - 5 = 0 (Wallis 1685): 2.0945514815 (Encyclopedia of Integer Sequences A007493,
 * read); cos x = x: 0.7390851332 (computed to 12 digits). x^9 is one of the odd powers by which
 * Brent 1973, ch. 4, shows how slow a secant alone can be (from memory). The others are solved by
 * hand. */
static void test_known_roots(void **state)
{
    static const struct {
        double (*f)(double x);
        double low, high, within, root;
        int smooth;
    } rows[] = {
        {wallis, 1, 3, 1e-3, 2.0945514815423265, 1},
        {wallis, 2, 3, 1e-6, 2.0945514815423265, 1},
        {less_cosine, 0, 3, 1e-4, 0.7390851332151607, 1},
        {ninth_power, -1, 4, 1e-3, 0, 0},
        {step, 0.1, 0.9, 1e-3, 1 / 3.0, 0},
        {power_law, 0.05, 0.4, 1e-3, 0.137, 1},
        {unknown_below, 0.1, 0.9, 1e-3, 0.62, 0},
        {saturating, 0.05, 0.9, 1e-4, 0.05 + 0.10536051565782628 / 40, 0},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        search s = make_search(rows[i].low, rows[i].high, rows[i].within);
        const int calls = run_bracket(&s, rows[i].f);
        const double halvings = log2((rows[i].high - rows[i].low) / rows[i].within);
        check_close(sp_bracket_crossing(&s.b) - 0.5 * rows[i].within, rows[i].root,
                    0.5 * rows[i].within * (1 + 1e-6));
        check_true(calls <= 2 * halvings + 4);
        check_true(!rows[i].smooth || calls <= 9);
        /* With all its points the search is over at once, with a few of them it is shorter. */
        check_true(isnan(sp_bracket_next(&s.b)));
        search again = make_search(rows[i].low, rows[i].high, rows[i].within);
        for (double share = 0; share <= 1; share += 0.125) {
            const double x = rows[i].low + share * (rows[i].high - rows[i].low);
            add_point(&again, x, rows[i].f(x));
        }
        run_bracket(&again, rows[i].f);
        check_close(sp_bracket_crossing(&again.b) - 0.5 * rows[i].within, rows[i].root,
                    0.5 * rows[i].within * (1 + 1e-6));
    }
}

static double falling(double x)
{
    return -x;
}

static double below_zero(double x)
{
    return x - 10;
}

static double above_zero(double x)
{
    return x + 1;
}

/* This function is -0.01 at 0.5, and zero nowhere. */
static double low_hill(double x)
{
    return -0.01 - pow(x - 0.5, 2);
}

static void test_no_crossing(void **state)
{
    (void)state;
    search s = make_search(1, 2, 0.01);
    check_true(run_bracket(&s, below_zero) <= 4 && isnan(sp_bracket_crossing(&s.b)));
    s = make_search(1, 2, 0.01);
    check_true(run_bracket(&s, falling) <= 3 && isnan(sp_bracket_crossing(&s.b)));
    s = make_search(1, 2, 0.01);
    assert_int_equal(run_bracket(&s, above_zero), 1);
    check_close(sp_bracket_crossing(&s.b), 1, 0);
    s = make_search(0.1, 1, 0.01);
    add_point(&s, 0.45, low_hill(0.45));
    check_true(run_bracket(&s, low_hill) < 12 && isnan(sp_bracket_crossing(&s.b)));
    double highest = -1;
    for (int i = 0; i < s.b.count; i++) highest = fmax(highest, s.point[i].value);
    check_close(highest, -0.01, 0.002);
}

/* With only a point above the crossing, the search goes down from it and not to the end of the
 * range first. */
static void test_from_above(void **state)
{
    (void)state;
    search s = make_search(0.05, 0.4, 1e-3);
    add_point(&s, 0.15, power_law(0.15));
    check_true(run_bracket(&s, power_law) <= 4);
    check_close(sp_bracket_crossing(&s.b) - 0.5e-3, 0.137, 0.5001e-3);
    check_true(s.point[0].x > 0.1);
}

/* ---- figures ----------------------------------------------- */

static sp_measure force_of(const sp_curve_point *point, double shortening)
{
    const sp_case ten = {.width = 1, .height = 10, .depth = 1};
    const sp_curve curve = sp_curve_of_points(&ten, 11, point);
    return sp_curve_force(&curve, shortening);
}

static sp_measure energy_of(const sp_curve_point *point, double peak)
{
    sp_case like = {.height = point[10].shortening / point[10].strain, .depth = 1};
    like.width = point[10].force / point[10].stress;
    const sp_curve curve = sp_curve_of_points(&like, 11, point);
    return sp_curve_energy_before(&curve, peak);
}

/* A spring of 10 N/mm on 5 mm2 and 8 mm: stress = 16 strain; energy up to the peak is peak^2 / 32.
 */
static void test_curve_figures(void **state)
{
    (void)state;
    sp_curve_point point[11];
    for (int i = 0; i <= 10; i++)
        point[i] = (sp_curve_point){
            .strain = 0.05 * i, .stress = 0.8 * i, .shortening = 0.4 * i, .force = 4.0 * i};
    check_relative(force_of(point, 2.3).value, 23, 1e-12);
    check_relative(force_of(point, 4).value, 40, 1e-12);
    assert_false(force_of(point, 4.01).reached);
    check_relative(energy_of(point, 4).value, 0.5, 1e-12);
    check_relative(energy_of(point, 4.4).value, 4.4 * 4.4 / 32, 1e-12);
    check_relative(energy_of(point, 9).value, 2, 1e-12); /* all of it */
    point[6].shortening = point[5].shortening;           /* a snap: after it */
    point[6].force = 7;
    check_relative(force_of(point, point[5].shortening).value, 7, 1e-12);
}

/* ---- targets ----------------------------------------------- */

#define TINY                                                                                       \
    "case:\n"                                                                                      \
    "  coupon: {width: 12 mm, height: 10 mm, depth: 5 mm}\n"                                       \
    "  infill: {pattern: triangular, angle: 0}\n"                                                  \
    "  bead: {walls: 1}\n"                                                                         \
    "  press: {strain: 0.12, steps: 16, find_critical: no}\n"

#define DENSITY "vary:\n  infill.density: {from: 16 %, to: 35 %, within: 1 %}\n"

static sp_target *parse(const char *text)
{
    sp_context context = {0};
    sp_target *target;
    if (sp_target_parse(&context, "t.yaml", text, strlen(text), &target) != SP_OK)
        fail_msg("%s", context.message);
    return target;
}

static const char *const refusals[][2] = {
    {"", "t.yaml: received a target without conditions"},
    {"require:\n  force_10: {at_least: 1 N}\n", "t.yaml: received a target with nothing to vary"},
    {"requires: {}\n", "t.yaml:6: received 'requires'; valid: base, case, candidates, vary, "
                       "match, require, save, judge, tries, seeds (did you mean 'require'?)"},
    {"require: force_10\n", "t.yaml:6: require: received 'force_10'"},
    {"require:\n  force_1: {at_least: 1 N}\n", "t.yaml:7: require: received 'force_1'"},
    {"require:\n  force_1: {at_least: 1 N}\n", "(did you mean 'force_10'?)"},
    {"require:\n  force_10: {at_last: 1 N}\n", "(did you mean 'at_least'?)"},
    {"require:\n  force_10: {}\n", "t.yaml:7: force_10: received 'no bound'"},
    {"require:\n  force_10: 5\n", "t.yaml:7: force_10: received '5'; valid: {at_least: A}"},
    {"require:\n  force_10: {at_least: 1 MPa}\n",
     "t.yaml:7: force_10: received '1 MPa'; valid: a number (units N, kN)"},
    {"require:\n  force_10: {at_least: nan}\n", "received 'nan'"},
    {"require:\n  force_10: {at_least: 5, at_most: 4}\n", "at_most above at_least"},
    {"require:\n  force_10: {at_least: 5}\n  force_10: {at_most: 4}\n", "once only"},
    {"require:\n  force_at: {at_least: 5}\n", "valid: force_at and a number (units mm"},
    {"require:\n  force_at 2 N: {at_least: 5}\n", "t.yaml:7: require: received 'force_at 2 N'"},
    {"require:\n  energy_before -1 MPa: {at_least: 5}\n", "valid: energy_before and"},
    {"vary:\n  infill.densty: {from: 1 %, to: 2 %}\n", "t.yaml:7: received 'infill.densty'"},
    {"vary:\n  infill.densty: {from: 1 %, to: 2 %}\n", "(did you mean 'infill.density'?)"},
    {"vary:\n  infill.density: 5 %\n", "t.yaml:7: infill.density: received '5 %'"},
    {"vary:\n  infill.density: {from: 5 %}\n", "received 'an incomplete range'"},
    {"vary:\n  infill.density: {from: 5 %, to: 5 %}\n", "valid: more than `from`"},
    {"vary:\n  infill.density: {from: 5 %, to: 500 %}\n", "received '500 %'"},
    {"vary:\n  infill.density: {from: 5 %, to: 9 %, within: 5 %}\n", "within: more than"},
    {"vary:\n  infill.density: {from: 5 %, to: 9 %, within: -1}\n", "received '-1'"},
    {"vary:\n  infill.density: {from: 5 %, to: 9 %, count: 3}\n", "received 'count'"},
    {"vary:\n  infill.pattern: {from: 5, to: 9}\n", "a key with a number"},
    {"vary:\n  flaws.seed: {from: 1, to: 9}\n", "and not flaws.seed"},
    {"vary:\n  bead.walls: {from: 1, to: 3, within: 1}\n", "for whole numbers"},
    {"candidates:\n  infill.densty: [5 %]\n", "t.yaml:7: received 'infill.densty'"},
    {"candidates: 5\n", "t.yaml:6: candidates: received '5'"},
    {"judge: best\n", "t.yaml:6: judge: received 'best'; valid: median | worst"},
    {"judge: wurst\n", "(did you mean 'worst'?)"},
    {"save: weight\n", "t.yaml:6: save: received 'weight'"},
    {"save: [mass]\n", "t.yaml:6: save: received 'a list'; valid: the name of one figure"},
    {"tries: 0\n", "t.yaml:6: tries: received '0'"},
    {"seeds: 33\n", "at most 32 flaw seeds"},
    {DENSITY "require:\n  mass: {at_most: 9}\ncandidates:\n  infill.angle: {from: 0, to: 9, count: "
             "2000}\nseeds: 1\n",
     "valid: at most 1024"},
    {"match: 5\n", "t.yaml:6: match: received '5'"},
    {"match: {from: 1 mm}\n", "a match without a curve"},
    {"match: {curve: {specimen: 1}}\n", "a curve without a file"},
    {"match: {curve: {file: a.txt, specimen: none}}\n", "specimen: received 'none'"},
    {"require:\n  misfit: {at_most: 10 %}\n", "require: received 'misfit'"},
    {"require: &a {}\n", "received 'an anchor"},
    {"require: [1\n", "t.yaml:"},
};

static void test_refusals(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        char text[1024];
        sp_context context = {0};
        sp_target *target;
        snprintf(text, sizeof text, "%s%s", TINY, refusals[i][0]);
        const long before = sp_alloc_count();
        assert_int_equal(sp_target_parse(&context, "t.yaml", text, strlen(text), &target),
                         SP_BAD_CASE);
        if (!strstr(context.message, refusals[i][1]))
            fail_msg("'%s' lacks '%s'", context.message, refusals[i][1]);
        assert_null(target);
        assert_int_equal(sp_alloc_count(), before);
    }
}

static const char full_target[] = TINY "candidates:\n  infill.pattern: [square, kagome]\n" DENSITY
                                       "  bead.walls: {from: 0, to: 1}\n"
                                       "require:\n"
                                       "  force_10: {at_least: 2 N, at_most: 0.05 kN}\n"
                                       "  energy_before 0.2 MPa: {at_least: 1 kJ/m3}\n"
                                       "  drop_after_maximum: {at_most: 5 %}\n"
                                       "save: solid_fraction\njudge: worst\ntries: 12\nseeds: 2\n";

static void test_target(void **state)
{
    (void)state;
    sp_case request;
    char label[SEEK_LABEL_SIZE];
    sp_target *t = parse(full_target);
    assert_int_equal(t->candidate_count, 2);
    assert_int_equal(t->seed_count, 2);
    assert_int_equal(t->first, 0);
    assert_true(t->variable[1].whole);
    assert_int_equal(t->condition_count, 3);
    check_close(t->condition[0].high, 50, 1e-12);
    check_close(t->condition[1].low, 1e-3, 1e-15);
    check_close(t->figure[1].argument, 0.2, 0);
    check_close(t->condition[2].high, 0.05, 1e-15);
    assert_string_equal(t->figure[t->save].name, "solid_fraction");
    assert_int_equal(t->tries, 12);
    sp_seek_candidate_case(t, 1, 1, &request);
    assert_string_equal(request.pattern, "kagome");
    assert_int_equal(request.flaw_seed, 2);
    sp_seek_candidate_label(t, 1, label);
    assert_string_equal(label, "kagome");
    sp_target_free(t);
}

static void test_target_without_memory(void **state)
{
    (void)state;
    const long before = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_context context = {0};
        sp_target *target;
        sp_alloc_fail_at(nth);
        const sp_status status =
            sp_target_parse(&context, "t.yaml", full_target, strlen(full_target), &target);
        sp_alloc_fail_at(0);
        sp_target_free(target);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
}

/* ---- searches ----------------------------------------------- */

/* Open a fresh store under `name`, or the one that is there. */
static sp_store *open_store(const char *name)
{
    sp_context context = {0};
    sp_store *store;
    if (sp_store_open(&context, in_folder(name), SP_STORE_WRITE, &store) != SP_OK)
        fail_msg("%s", context.message);
    return store;
}

static void write_text(const char *file, const char *text)
{
    FILE *stream = fopen(file, "w");
    assert_non_null(stream);
    assert_true(fputs(text, stream) >= 0);
    assert_int_equal(fclose(stream), 0);
}

typedef struct sought {
    sp_target *target;
    sp_store *store;
    sp_answer *answer;
} sought;

static sought seek(const char *text, const char *store, int threads)
{
    sp_context context = {0};
    sought s = {parse(text), open_store(store), NULL};
    if (sp_seek(&context, s.target, s.store, threads, &s.answer) != SP_OK)
        fail_msg("%s", context.message);
    return s;
}

static void forget(sought *s)
{
    sp_answer_free(s->answer);
    sp_store_close(s->store);
    sp_target_free(s->target);
}

/* Return the best record of the candidate at a place. */
static const seek_record *record_at(const sought *s, int place)
{
    const seek_variant *variant = &s->answer->variant[s->answer->best[s->answer->order[place]]];
    check_true(variant->best >= 0);
    return &variant->record[variant->best];
}

static char *text_of(sp_answer *answer)
{
    sp_context context = {0};
    char *text = NULL;
    size_t size;
    FILE *stream = open_memstream(&text, &size);
    assert_int_equal(sp_answer_table(&context, answer, stream), SP_OK);
    fclose(stream);
    return text;
}

/* Return one measure of a press that is independent of the search. */
static double press(const sp_target *target, int candidate, int seed, const double *x,
                    const char *measure)
{
    sp_context context = {0};
    sp_case request;
    sp_result result;
    int count, row = 0;
    const sp_measure_row *rows = sp_measure_rows(&count);
    sp_seek_candidate_case(target, candidate, seed, &request);
    for (int v = 0; v < target->variable_count; v++)
        sp_seek_variable_set(&target->variable[v], &request, x[v]);
    if (press_whole(&context, &request, &result) != SP_OK) fail_msg("%s", context.message);
    while (strcmp(rows[row].name, measure)) row++;
    check_true(result.measure[row].reached);
    const double value = result.measure[row].value;
    sp_result_clear(&result);
    return value;
}

/* A planar coupon carries in proportion to its depth, so the answer is known from one press. */
static const char depth_target[] =
    TINY "vary:\n  coupon.depth: {from: 2 mm, to: 40 mm, within: 0.1 "
         "mm}\nrequire:\n  force_10: {at_least: 30 N}\n";

static void test_depth(void **state)
{
    (void)state;
    const double one = 1;
    sought s = seek(depth_target, "depth.store", 1);
    const double exact = 30 / press(s.target, 0, 0, &one, "force_10");
    check_true(exact > 2 && exact < 40);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    check_close(record_at(&s, 0)->x[0] - 0.05, exact, 0.05 * (1 + 1e-6));
    check_true(sp_answer_pressed(s.answer) <= 6);
    forget(&s);
    /* All of it is stored. */
    s = seek(depth_target, "depth.store", 1);
    assert_int_equal(sp_answer_pressed(s.answer), 0);
    check_close(record_at(&s, 0)->x[0] - 0.05, exact, 0.05 * (1 + 1e-6));
    forget(&s);
}

/* A target curve F = 10 u against coupons with other slopes: misfit and mean force in closed form
 * (E208, E209). */
static void test_misfit(void **state)
{
    char text[1400], file[128];
    double u[201], f[201];
    (void)state;
    snprintf(file, sizeof file, "%s", in_folder("line.csv"));
    FILE *stream = fopen(file, "w");
    assert_non_null(stream);
    fputs("mm;N\n", stream);
    for (int i = 0; i <= 200; i++) fprintf(stream, "%.3f;%.3f\n", 0.02 * i, 0.2 * i);
    assert_int_equal(fclose(stream), 0);
    for (int weighted = 0; weighted < 2; weighted++) {
        snprintf(text, sizeof text, "%smatch: {curve: %s, to: 4 mm, misfit: 10 %%%s}\n",
                 TINY DENSITY, file, weighted ? ", weight: {1.9 mm: 0, 2.1 mm: 1}" : "");
        sp_target *target = parse(text);
        assert_int_equal(target->condition_count, 2);
        check_close(target->condition[0].high, 0.1, 1e-15);
        for (int i = 0; i <= 200; i++) u[i] = 0.02 * i, f[i] = 13 * u[i];
        const sp_curve curve = {10, 60, 201, sizeof *u, u, f, NULL};
        /* The misfit is 0.3 x sqrt(mean u^2) / mean u: over 0 to 4 mm 0.3 x 2/sqrt 3, over 2 to 4
         * mm 0.3 x sqrt(28/27) */
        const double shape = weighted ? sqrt(28.0 / 27) : 2 / sqrt(3);
        check_relative(sp_seek_match_take(target, &target->figure[0], &curve).value, 0.3 * shape,
                       2e-3);
        check_relative(sp_seek_match_take(target, &target->figure[1], &curve).value, 1.3, 1e-9);
        const sp_curve shorter = {10, 60, 150, sizeof *u, u, f, NULL};
        assert_false(sp_seek_match_take(target, &target->figure[0], &shorter).reached);
        sp_target_free(target);
    }
}

/* The curve of a coupon 13 mm deep is matched by that depth, and by the lightest coupon within the
 * window of the mean force. */
static void test_match(void **state)
{
    char text[1400], file[128];
    sp_context context = {0};
    sp_case request;
    sp_result result;
    (void)state;
    sp_target *plain = parse(depth_target);
    sp_seek_candidate_case(plain, 0, 0, &request);
    request.depth = 13;
    assert_int_equal(press_whole(&context, &request, &result), SP_OK);
    const sp_curve curve = sp_curve_of_path(&result.path);
    snprintf(file, sizeof file, "%s", in_folder("wanted.csv"));
    FILE *stream = fopen(file, "w");
    assert_non_null(stream);
    fputs("Weg [mm];Kraft [kN]\n", stream);
    for (double u = 0; u < 1.2; u += 0.01)
        fprintf(stream, "%.3f;%.7f\n", u, sp_curve_force(&curve, u).value / 1000);
    assert_int_equal(fclose(stream), 0);
    sp_result_clear(&result);
    sp_target_free(plain);
    snprintf(text, sizeof text,
             TINY "vary:\n  coupon.depth: {from: 2 mm, to: 40 mm, within: 0.1 mm}\n"
                  "match:\n  curve: {file: %s, zero: file}\n  to: 1.1 mm\n  misfit: 5 %%\n",
             file);
    sought s = seek(text, "match.store", 2);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    check_close(record_at(&s, 0)->x[0], 0.98 * 13 + 0.05, 0.06);
    check_close(record_at(&s, 0)->median[1], 0.98, 0.01);
    check_true(record_at(&s, 0)->median[0] < 0.03);
    assert_int_equal(sp_answer_write(&context, s.answer, in_folder("match")), SP_OK);
    assert_int_equal(access(in_folder("match/match.svg"), R_OK), 0);
    assert_int_equal(access(in_folder("match/measured.svg"), R_OK), 0);
    forget(&s);
}

static const char density_target[] =
    TINY DENSITY "require:\n  initial_stiffness: {at_least: 40 N/mm, at_most: 90 N/mm}\nseeds: 2\n";

/* Compared with presses at every 1 %, the answer meets the target, and no density one per cent or
 * more below it does. */
static void test_density_against_a_scan(void **state)
{
    (void)state;
    sought s = seek(density_target, "density.store", 2);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    const double found = record_at(&s, 0)->x[0];
    double first = NAN;
    for (double x = 0.16; x < 0.36 && isnan(first); x += 0.01) {
        const double median = 0.5 * (press(s.target, 0, 0, &x, "initial_stiffness") +
                                     press(s.target, 0, 1, &x, "initial_stiffness"));
        if (median >= 40) first = x;
    }
    check_close(found, first, 0.01 + 1e-9);
    for (int seed = 0; seed < 2; seed++)
        check_relative(record_at(&s, 0)->value[seed][0],
                       press(s.target, 0, seed, &found, "initial_stiffness"), 1e-12);
    print_message("density: %d presses of 2 seeds, %.4g; first of the scan %.4g\n",
                  sp_answer_pressed(s.answer), found, first);
    check_true(sp_answer_pressed(s.answer) <= 2 * 8);
    forget(&s);
}

/* Stored coupons of an earlier batch serve as the first points. */
static void test_stored_densities(void **state)
{
    static const char sp_plan_text[] =
        TINY "axes:\n  infill.density: {from: 16 %, to: 34 %, step: 6 %}\nseeds: 2\n";
    (void)state;
    sp_context context = {0};
    sp_plan *plan;
    sp_batch_report report;
    sp_store *store = open_store("batch.store");
    assert_int_equal(sp_plan_parse(&context, "p.yaml", sp_plan_text, strlen(sp_plan_text), &plan),
                     SP_OK);
    assert_int_equal(sp_batch_press(&context, plan, store, 2, &report), SP_OK);
    sp_plan_free(plan);
    sp_store_close(store);
    sought fresh = seek(density_target, "density.store", 1),
           s = seek(density_target, "batch.store", 1);
    assert_int_equal(sp_answer_pressed(fresh.answer), 0);
    check_true(sp_answer_stored(s.answer) >= 8);
    check_true(sp_answer_pressed(s.answer) < sp_answer_stored(fresh.answer));
    check_close(record_at(&s, 0)->x[0], record_at(&fresh, 0)->x[0], 0.01 + 1e-9);
    forget(&fresh);
    forget(&s);
}

static const char unreachable[] =
    TINY DENSITY "candidates:\n  infill.pattern: [triangular, square]\n"
                 "require:\n"
                 "  initial_stiffness: {at_least: 9 kN/m, at_most: 10 kN/m}\n"
                 "  mass: {at_least: 10 kg}\n";

static void test_unreachable(void **state)
{
    (void)state;
    sp_context context = {0};
    sought s = seek(unreachable, "unreachable.store", 2);
    assert_int_equal(sp_answer_reached(s.answer), 0);
    char *text = text_of(s.answer);
    check_true(strstr(text, "No candidate reaches the target. Nearest comes "));
    check_true(strstr(text, " is below 1e+04 g, off by "));
    check_true(strstr(text, "Predictions for choosing coupons to print, not proof"));
    free(text);
    assert_int_equal(sp_answer_write(&context, s.answer, in_folder("none")), SP_OK);
    assert_int_equal(access(in_folder("none/seek.json"), R_OK), 0);
    assert_int_equal(access(in_folder("none/answer-1-triangular.yaml"), F_OK), -1);
    assert_int_equal(rmdir(in_folder("none")), -1);
    forget(&s);
}

/* With every seed to meet the target, the answer is never lighter than by the median, and all seeds
 * meet it. */
static void test_worst_seed(void **state)
{
    (void)state;
    char text[1024];
    snprintf(text, sizeof text, "%sjudge: worst\n", density_target);
    sought median = seek(density_target, "density.store", 1), s = seek(text, "density.store", 1);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    check_true(record_at(&s, 0)->x[0] >= record_at(&median, 0)->x[0] - 0.01);
    for (int seed = 0; seed < 2; seed++) {
        check_true(record_at(&s, 0)->value[seed][0] >= 40);
        check_true(record_at(&s, 0)->value[seed][0] <= 90);
    }
    forget(&median);
    forget(&s);
}

/* On a full store nothing is pressed, so that every allocation of the search and of its files can
 * fail once. */
static void test_without_memory(void **state)
{
    (void)state;
    sp_target *target = parse(density_target);
    sp_store *store = open_store("density.store");
    long nth = 1;
    for (int done = 0; !done; nth++) {
        const long before = sp_alloc_count();
        sp_context context = {0};
        sp_answer *answer;
        sp_alloc_fail_at(nth);
        sp_status status = sp_seek(&context, target, store, 1, &answer);
        if (status == SP_OK) status = sp_answer_write(&context, answer, in_folder("memory"));
        sp_alloc_fail_at(0);
        done = status == SP_OK;
        if (!done && status != SP_NO_MEMORY)
            fail_msg("allocation %ld: status %d: %s", nth, (int)status, context.message);
        if (!done) check_true(context.message[0] && access(in_folder("memory"), F_OK) != 0);
        sp_answer_free(answer);
        assert_int_equal(sp_alloc_count(), before);
    }
    print_message("search and files: %ld allocations\n", nth - 2);
    check_true(nth > 50);
    sp_store_close(store);
    sp_target_free(target);
}

/* Two bounds contradict each other: the nearest place is where both are missed by the same factor.
 * The stiffness over the mass of one press says by how much: the product of the two factors does
 * not depend on the depth, so each is its square root. */
static void test_nearest(void **state)
{
    (void)state;
    char text[1024];
    const double one = 1;
    sp_target *plain = parse(depth_target);
    const double force = press(plain, 0, 0, &one, "force_10"),
                 mass = press(plain, 0, 0, &one, "mass");
    sp_target_free(plain);
    /* The target asks for the force at 15 mm with the mass at 6 mm. */
    snprintf(text, sizeof text,
             TINY "vary:\n  coupon.depth: {from: 2 mm, to: 40 mm, within: 0.1 mm}\nrequire:\n"
                  "  force_10: {at_least: %.9g}\n  mass: {at_most: %.9g}\n",
             15 * force, 6 * mass);
    sought s = seek(text, "nearest.store", 1);
    assert_int_equal(sp_answer_reached(s.answer), 0);
    check_close(record_at(&s, 0)->x[0], sqrt(15 * 6), 0.1);
    check_close(record_at(&s, 0)->least, -0.5 * log(15.0 / 6), 0.02);
    forget(&s);
}

/* Depth and modulus: the stiffness follows the product, the mass the depth alone. So the least mass
 * has the largest modulus, and a depth that follows from one press. */
static const char two_target[] =
    TINY "vary:\n  coupon.depth: {from: 2 mm, to: 40 mm, within: 0.1 mm}\n"
         "  material.modulus: {from: 20 MPa, to: 60 MPa, within: 0.5 MPa}\n"
         "require:\n  initial_stiffness: {at_least: 200 N/mm}\n";

static void test_two_variables(void **state)
{
    (void)state;
    sought s = seek(two_target, "two.store", 2);
    const double firmest[2] = {1, 60};
    const double exact = 200 / press(s.target, 0, 0, firmest, "initial_stiffness");
    const seek_record *best = record_at(&s, 0);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    print_message("two variables: %d presses, depth %.5g of %.5g mm, modulus %.5g MPa\n",
                  sp_answer_pressed(s.answer), best->x[0], exact, best->x[1]);
    check_close(best->x[1], 60, 0.5);
    check_close(best->x[0], exact, 0.1 + 0.5 / 60 * exact);
    check_true(best->value[0][0] >= 200);
    check_relative(best->value[0][0], press(s.target, 0, 0, best->x, "initial_stiffness"), 1e-12);
    check_true(sp_answer_pressed(s.answer) <= 45);
    forget(&s);
    s = seek(two_target, "two.store", 2);
    assert_int_equal(sp_answer_pressed(s.answer), 0);
    forget(&s);
}

/* A figure that a short press does not reach cannot be saved. */
static void test_nothing_to_save(void **state)
{
    static const char text[] =
        TINY "vary:\n  material.modulus: {from: 20 MPa, to: 60 MPa, within: 0.5 MPa}\n"
             "require:\n  force_10: {at_least: 1 N}\nsave: force_ratio_65_25\n";
    (void)state;
    sought s = seek(text, "save.store", 1);
    assert_int_equal(sp_answer_reached(s.answer), 0); /* 12 % strain has no force at 65 % */
    char *table = text_of(s.answer);
    check_true(strstr(table, "but force_ratio_65_25, which is to be saved, is not reached"));
    free(table);
    forget(&s);
}

/* Every whole number is a search of its own; one that cannot win is left early. */
static void test_whole_numbers(void **state)
{
    static const char text[] = TINY "vary:\n  infill.density: {from: 16 %, to: 35 %, within: 1 %}\n"
                                    "  bead.walls: {from: 0, to: 4}\n"
                                    "require:\n  initial_stiffness: {at_least: 110 N/mm}\n";
    (void)state;
    sought s = seek(text, "walls.store", 2);
    int dropped = 0;
    assert_int_equal(s.answer->variant_count, 5);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    const seek_record *best = record_at(&s, 0);
    for (int i = 0; i < s.answer->variant_count; i++) {
        const seek_variant *v = &s.answer->variant[i];
        check_true(v->state != VARIANT_ACTIVE);
        dropped += v->state == VARIANT_DROPPED;
        for (int k = 0; k < v->count; k++)
            if (v->record[k].least >= 0)
                check_true(v->record[k].median[s.target->save] >= best->median[s.target->save]);
    }
    check_true(dropped > 0);
    print_message("whole numbers: %d presses, %d of 5 searches left early\n",
                  sp_answer_pressed(s.answer), dropped);
    forget(&s);
}

static void test_threads_do_not_count(void **state)
{
    (void)state;
    sought one = seek(density_target, "one.store", 1), two = seek(density_target, "twice.store", 2);
    char *a = text_of(one.answer), *b = text_of(two.answer);
    assert_string_equal(a, b);
    free(a);
    free(b);
    forget(&one);
    forget(&two);
}

static void test_interrupted(void **state)
{
    (void)state;
    volatile sig_atomic_t stop = 1;
    sp_context context = {.interrupt = &stop};
    sp_target *target = parse(density_target);
    sp_store *store = open_store("stopped.store");
    sp_answer *answer;
    assert_int_equal(sp_seek(&context, target, store, 1, &answer), SP_INTERRUPTED);
    assert_null(answer);
    check_true(strstr(context.message, "nothing was pressed"));
    sp_store_close(store);
    sp_target_free(target);
}

/* A store of a build that did not know a measure yet says so, instead of passing it off as not
 * reached. */
static void test_store_without_a_measure(void **state)
{
    (void)state;
    sp_context context = {0};
    sqlite3 *base;
    sought s = seek(depth_target, "older.store", 1);
    forget(&s);
    assert_int_equal(sqlite3_open(in_folder("older.store"), &base), SQLITE_OK);
    assert_int_equal(sqlite3_exec(base,
                                  "DELETE FROM measure WHERE name = (SELECT id FROM measure_name "
                                  "WHERE name = 'drop_after_maximum')",
                                  NULL, NULL, NULL),
                     SQLITE_OK);
    sqlite3_close(base);
    sp_target *target = parse(depth_target);
    sp_store *store = open_store("older.store");
    sp_answer *answer;
    assert_int_equal(sp_seek(&context, target, store, 1, &answer), SP_NO_READ);
    check_true(strstr(context.message, "without the measure drop_after_maximum"));
    assert_null(answer);
    sp_store_close(store);
    sp_target_free(target);
}

/* Densities at which no cell fits, or the struts are shorter than a bead, are not pressed, and do
 * not count as failures. */
static void test_ends_that_cannot_be_built(void **state)
{
    static const char text[] =
        TINY "candidates:\n  infill.pattern: [triangular, kagome]\nvary:\n  "
             "infill.density: {from: 1 %, to: 100 %, within: 2 %}\nrequire:\n "
             " initial_stiffness: {at_least: 60 N/mm}\n";
    static const char none[] =
        TINY "vary:\n  infill.density: {from: 1 %, to: 2 %}\nrequire:\n  mass: "
             "{at_least: 1}\n";
    (void)state;
    sought s = seek(text, "ends.store", 2);
    check_true(s.answer->variant[0].low > 0.15 && s.answer->variant[0].low < 0.17);
    for (int i = 0; i < 2; i++)
        check_true(s.answer->variant[i].high < 1); /* there the solid block begins */
    assert_int_equal(sp_answer_reached(s.answer), 2);
    for (int k = 0; k < s.answer->variant[0].count; k++)
        assert_int_equal(s.answer->variant[0].record[k].failed, 0);
    forget(&s);
    s = seek(none, "ends.store", 2);
    char *table = text_of(s.answer);
    check_true(strstr(table, "No candidate reaches the target: none can be built"));
    free(table);
    assert_int_equal(sp_answer_pressed(s.answer), 0);
    forget(&s);
}

/* The files of an answer are made from the drawing that was pressed; when the drawing has changed
 * there are none. */
static void test_changed_drawing(void **state)
{
    static const char lines[] = "v 0 0 0\nv 6 8 0\nv 6 0 0\nv 0 8 0\nl 1 2\nl 3 4\n";
    static const char text[] = "case:\n  coupon: {width: 6 mm, height: 8 mm, depth: 3 mm}\n"
                               "  infill: {pattern: drawn, network: \"%s\"}\n"
                               "  press: {strain: 5 %%, steps: 5, find_critical: no}\n"
                               "vary:\n  coupon.depth: {from: 2 mm, to: 4 mm, within: 1 mm}\n"
                               "require:\n  initial_stiffness: {at_least: 0.001 N/mm}\n";
    char drawing[SP_FILE_SIZE], target[SP_FILE_SIZE + sizeof text];
    (void)state;
    sp_context context = {0};
    snprintf(drawing, sizeof drawing, "%s", in_folder("cross.obj"));
    write_text(drawing, lines);
    snprintf(target, sizeof target, text, drawing);
    sought s = seek(target, "drawn.store", 1);
    assert_int_equal(sp_answer_reached(s.answer), 1);
    if (sp_answer_write(&context, s.answer, in_folder("drawn")) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(access(in_folder("drawn/answer-1-drawn.vtk"), R_OK), 0);
    write_text(drawing, "v 0 0 0\nv 6 8 0\nv 6 1 0\nv 0 8 0\nl 1 2\nl 3 4\n");
    assert_int_equal(sp_answer_write(&context, s.answer, in_folder("other")), SP_NO_READ);
    assert_non_null(strstr(context.message, "cross.obj that has changed since it was pressed"));
    check_true(access(in_folder("other/answer-1-drawn.vtk"), R_OK) != 0);
    forget(&s);
}

/* The case file gives the very coupon that the store holds; the network reads back as a drawing of
 * the same struts. */
static void test_round_trip(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    sp_coupon_key known;
    sp_result result;
    sp_network drawn, built;
    int found = 0;
    sought s = seek(density_target, "density.store", 1);
    assert_int_equal(sp_answer_write(&context, s.answer, in_folder("answer")), SP_OK);
    const char *file = in_folder("answer/answer-1-triangular.yaml");
    if (sp_case_read(&context, file, &request) != SP_OK) fail_msg("%s", context.message);
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
    assert_int_equal(sp_store_has(&context, s.store, &known, &found), SP_OK);
    assert_true(found);
    assert_int_equal(press_whole(&context, &request, &result), SP_OK);
    check_close(result.measure[0].value,
                record_at(&s, 0)->value[sp_seek_typical_seed(s.target, record_at(&s, 0))][0], 0);
    sp_result_clear(&result);
    assert_int_equal(sp_network_build(&context, &request, 0, &built), SP_OK);
    check_true(!strcmp(request.pattern, "triangular"));
    assert_int_equal(sp_case_set(&context, &request, "infill.pattern", "drawn"), SP_OK);
    assert_int_equal(sp_case_set(&context, &request, "infill.network",
                                 in_folder("answer/answer-1-triangular.vtk")),
                     SP_OK);
    if (sp_network_build(&context, &request, 0, &drawn) != SP_OK) fail_msg("%s", context.message);
    assert_int_equal(drawn.strut_count, built.strut_count);
    assert_int_equal(drawn.joint_count, built.joint_count);
    check_close(drawn.solid_fraction, built.solid_fraction, 1e-7);
    check_close(drawn.nominal_density, built.nominal_density, 1e-7);
    sp_network_free(&drawn);
    sp_network_free(&built);
    forget(&s);
}

/* The lines of every pattern, with walls and without, written and read as a drawing, are the same
 * network. */
static void test_networks_read_back(void **state)
{
    (void)state;
    for (int row = 0; row < 2 * sp_list_pattern_count(); row++) {
        sp_context context = {0};
        sp_case request;
        sp_network built, drawn;
        const sp_listed pattern = sp_list_pattern_at(row / 2);
        /* Spatial patterns are written and read in test_drawing. */
        if (!strcmp(pattern.name, "drawn") || !sp_pattern_find(pattern.name)) continue;
        sp_case_default(&request);
        request.wall_beads = row % 2 ? 2 : 0;
        request.angle = 30;
        snprintf(request.pattern, sizeof request.pattern, "%s", pattern.name);
        snprintf(request.network_file, sizeof request.network_file, "%s", in_folder("lines.vtk"));
        if (sp_network_build(&context, &request, 0, &built) != SP_OK)
            fail_msg("%s", context.message);
        FILE *stream = fopen(request.network_file, "w");
        sp_vtk_network(&built, "title", stream);
        fclose(stream);
        strcpy(request.pattern, "drawn");
        if (sp_network_build(&context, &request, 0, &drawn) != SP_OK)
            fail_msg("%s", context.message);
        if (drawn.strut_count != built.strut_count || drawn.joint_count != built.joint_count)
            fail_msg("%s, %d walls: %d struts instead of %d", pattern.name, request.wall_beads,
                     drawn.strut_count, built.strut_count);
        check_relative(drawn.solid_fraction, built.solid_fraction, 1e-6);
        sp_network_free(&drawn);
        sp_network_free(&built);
    }
}

/* A case is written with every kind of value that it may hold: numbers that need 17 digits, lists,
 * files with odd names, words, "none". */
static void test_case_text(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request, again;
    char *text = NULL;
    size_t size;
    sp_coupon_key a, b;
    sp_case_default(&request);
    request.density = 1 / 3.0;
    request.angle = -0.1 * 3;
    request.load_limit = INFINITY;
    request.shore_a = 85;
    request.platens = SP_PLATENS_SLIDING;
    request.ogden_modulus = (sp_list){2, {0.1 + 0.2, -1e-3}};
    request.wall_beads = 0;
    snprintf(request.table_file, sizeof request.table_file, "%s", in_folder("odd 'name #1.csv"));
    FILE *table = fopen(request.table_file, "w");
    fputs("0,0\n1,1\n", table);
    fclose(table);
    FILE *stream = open_memstream(&text, &size);
    sp_seek_write_case(&request, "# head\n", stream);
    fclose(stream);
    if (sp_case_parse(&context, "/elsewhere/c.yaml", text, size, &again) != SP_OK)
        fail_msg("%s\n%s", context.message, text);
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &a), SP_OK);
    assert_int_equal(sp_coupon_key_of_case(&context, &again, &b), SP_OK);
    assert_string_equal(a.text, b.text);
    check_true(strstr(a.text, "odd 'name #1.csv 8 bytes"));
    free(text);
}

/* ---- frame ----------------------------------------------- */

static int make_folder(void **state)
{
    (void)state;
    const char *place = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.40s/seek_XXXXXX", place ? place : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
    char command[128];
    (void)state;
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_roots),
        cmocka_unit_test(test_no_crossing),
        cmocka_unit_test(test_from_above),
        cmocka_unit_test(test_curve_figures),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_target),
        cmocka_unit_test(test_target_without_memory),
        cmocka_unit_test(test_depth),
        cmocka_unit_test(test_misfit),
        cmocka_unit_test(test_match),
        cmocka_unit_test(test_density_against_a_scan),
        cmocka_unit_test(test_stored_densities),
        cmocka_unit_test(test_unreachable),
        cmocka_unit_test(test_nearest),
        cmocka_unit_test(test_worst_seed),
        cmocka_unit_test(test_without_memory),
        cmocka_unit_test(test_two_variables),
        cmocka_unit_test(test_nothing_to_save),
        cmocka_unit_test(test_whole_numbers),
        cmocka_unit_test(test_threads_do_not_count),
        cmocka_unit_test(test_interrupted),
        cmocka_unit_test(test_store_without_a_measure),
        cmocka_unit_test(test_ends_that_cannot_be_built),
        cmocka_unit_test(test_changed_drawing),
        cmocka_unit_test(test_round_trip),
        cmocka_unit_test(test_networks_read_back),
        cmocka_unit_test(test_case_text),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
