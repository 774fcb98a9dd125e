/* These tests check the words for a press: every row gives its words for a made-up curve that calls
 * for it, and for no other. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"

#include "caution/caution.h"
#include "run/result.h"

#include <strutpress/measure.h>

enum { STEPS = 15 };

typedef struct made {
    sp_result result;
    sp_step step[STEPS];
    sp_measure measure[256];
} made;

/* Make a coupon of 20 x 10 x 20 mm with a fold of 100 N at 5 %, a plateau of 80 to 100 N to 50 %,
 * and 1500 N at 70 %. */
static void make(made *m)
{
    int count;
    sp_measure_rows(&count);
    assert_true(count <= 256);
    memset(m, 0, sizeof *m);
    sp_case_default(&m->result.request);
    m->result.measure = m->measure;
    m->result.measure_count = count;
    m->result.path.size[0] = m->result.path.size[2] = 20;
    m->result.path.size[1] = 10;
    m->result.path.step = m->step;
    m->result.path.step_count = STEPS;
    for (int i = 0; i < STEPS; i++) {
        const double strain = 0.05 * i;
        m->step[i].shortening = 10 * strain;
        m->step[i].force = i == 0    ? 0
                           : i == 1  ? 100
                           : i <= 10 ? 80
                                     : 80 + 1420 * (strain - 0.5) / 0.2;
    }
}

static void set(made *m, const char *name, double value)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    for (int i = 0; i < count; i++)
        if (!strcmp(row[i].name, name)) {
            m->measure[i] = (sp_measure){1, value};
            return;
        }
    fail_msg("no measure %s", name);
}

static void fold(made *m)
{
    set(m, "first_maximum", 100.0 / 400);
    set(m, "first_maximum_strain", 0.05);
    set(m, "densification_strain", 0.5);
}

static void check_words(const made *m, const char *want)
{
    char text[SP_WORDS_SIZE];
    sp_words(&m->result, text, sizeof text);
    assert_string_equal(text, want);
}

static void a_fold_a_plateau_and_a_solid_end(void **state)
{
    (void)state;
    made m;
    make(&m);
    fold(&m);
    check_words(&m, "Folds at 100 N (5 % shortening), carries 80 N to 100 N down to 50 %, then "
                    "goes solid: 1.5 kN at "
                    "70 %. It comes back at once, as its law has no losses.");
}

static void no_fold_is_said(void **state)
{
    (void)state;
    made m;
    make(&m);
    m.step[1].force = 70;
    set(&m, "densification_strain", 0.5);
    check_words(&m, "Does not fold at once: its force rises without a maximum, carries 80 N "
                    "down to 50 %, then goes "
                    "solid: 1.5 kN at 70 %. It comes back at once, as its law has no losses.");
    /* The critical step of the coupon without flaws is a fold, too. */
    m.result.path.critical =
        (sp_critical){.found = 1, .strain = 0.05, .force = 75, .kind = SP_CRITICAL_BIFURCATION};
    check_words(&m, "Folds at 75 N (5 % shortening), carries 70 N to 80 N down to 50 %, then goes "
                    "solid: 1.5 kN at 70 %. "
                    "It comes back at once, as its law has no losses.");
}

static void ends_are_named(void **state)
{
    (void)state;
    made m;
    make(&m);
    fold(&m);
    m.result.request.load_limit = 1400;
    m.result.path.stop = SP_STOP_LOAD;
    check_words(&m, "Folds at 100 N (5 % shortening), carries 80 N to 100 N down to 50 %, and "
                    "meets the load limit of 1.4 kN "
                    "at 70 %. It comes back at once, as its law has no losses.");
    static const sp_stop early[] = {SP_STOP_RANGE, SP_STOP_GAVE_UP, SP_STOP_INTERRUPTED};
    for (int i = 0; i < 3; i++) {
        m.result.path.stop = early[i];
        check_words(
            &m, "Folds at 100 N (5 % shortening), carries 80 N to 100 N down to 50 %, and "
                "1.5 kN at 70 %, "
                "where the press ended early. It comes back at once, as its law has no losses.");
    }
    /* One press ends on its plateau, and one before there is any. */
    m.result.path.stop = SP_STOP_STRAIN;
    m.result.path.step_count = 9;
    set(&m, "densification_strain", 0.4);
    check_words(&m, "Folds at 100 N (5 % shortening), carries 80 N to 100 N down to 40 %, and "
                    "80 N at 40 %. It comes back at once, as its law has no losses.");
    m.result.path.step_count = 3;
    set(&m, "densification_strain", 0.1);
    check_words(&m, "Folds at 100 N (5 % shortening), and carries 80 N at 10 %. It comes back at "
                    "once, as its law has no losses.");
    m.result.path.step_count = 0;
    check_words(&m, "");
}

static void a_block_bulges(void **state)
{
    (void)state;
    made m;
    make(&m);
    m.result.path.block = SP_BLOCK_BONDED;
    check_words(&m, "A solid block: it bulges and never folds, and carries 1.5 kN at 70 %. It "
                    "comes back at once, as its law has no losses.");
}

static void what_comes_back_is_what_was_pressed(void **state)
{
    (void)state;
    made m;
    char text[SP_WORDS_SIZE];
    make(&m);
    fold(&m);
    snprintf(m.result.request.law, sizeof m.result.request.law, "yielding");
    sp_words(&m.result, text, sizeof text);
    assert_non_null(strstr(text, "The way back was not pressed: press.unload: yes shows it."));
    m.result.request.unload = 1;
    set(&m, "instant_set", 0.21);
    sp_words(&m.result, text, sizeof text);
    assert_non_null(strstr(text, ". Let go, it keeps 21 % of the squash at once."));
    snprintf(m.result.request.protocol, sizeof m.result.request.protocol,
             "press 50 %% at 10 mm/min");
    sp_words(&m.result, text, sizeof text);
    assert_non_null(strstr(text, ". How it comes back is in the figures of time."));
    set(&m, "set_30_min", 0.034);
    sp_words(&m.result, text, sizeof text);
    assert_non_null(strstr(text, ". Half an hour after it is let go 3.4 % of the squash is left."));
}

/* A force that rises to more than four times its least is not called a plateau. */
static void a_steep_rise_is_no_plateau(void **state)
{
    (void)state;
    made m;
    make(&m);
    fold(&m);
    set(&m, "densification_strain", 0.65); /* 80 to 1145 N */
    check_words(&m, "Folds at 100 N (5 % shortening), then goes solid: 1.5 kN at 70 %. It comes "
                    "back at once, as its law has no losses.");
}

static void seeds_are_told_by_their_ends(void **state)
{
    (void)state;
    made m;
    char text[SP_WORDS_SIZE];
    sp_seeds seeds = {.count = 5,
                      .band_count = 3,
                      .band = {{0.1, 30, 28, 31}, {0.35, 31, 31.2, 31.4}, {0.7, 205, 202, 1234}}};
    make(&m);
    fold(&m);
    m.result.seeds = &seeds;
    sp_words(&m.result, text, sizeof text);
    /* 31.2 and 31.4 N are both written as 31 N. */
    assert_non_null(strstr(text, "no losses. Over 5 flaw seeds it carries 31 N at 35 % and 202 N "
                                 "to 1.2 kN at 70 %."));
    seeds.band_count = 0; /* seeds that share no strain */
    sp_words(&m.result, text, sizeof text);
    assert_null(strstr(text, "seeds"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_fold_a_plateau_and_a_solid_end),
        cmocka_unit_test(no_fold_is_said),
        cmocka_unit_test(ends_are_named),
        cmocka_unit_test(a_block_bulges),
        cmocka_unit_test(what_comes_back_is_what_was_pressed),
        cmocka_unit_test(a_steep_rise_is_no_plateau),
        cmocka_unit_test(seeds_are_told_by_their_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
