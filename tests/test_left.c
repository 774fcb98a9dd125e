/* These tests check the time left: as a run finds it alone, by a guide, and as it is reported to
 * the listener of a press. */
#include "check.h"

#include <strutpress/forecast.h>
#include <strutpress/run.h>

#include "press/progress.h"

static const sp_pace_plan nothing_known = {0};

/* Note a stage in steps of 1 % that takes `seconds` in all, `late` times as much at its end as at
 * its beginning, up to a share of its way. */
static void walk(sp_pace *pace, sp_pace_stage stage, double seconds, double late, double up_to)
{
    const double begin = pace->seconds;
    for (int i = 0; i <= 100 && i <= 100 * up_to + 1e-9; i++) {
        const double way = i / 100.0;
        sp_pace_note(pace, stage, way,
                     begin + seconds * (way + 0.5 * (late - 1) * way * way) / (0.5 * (late + 1)));
    }
}

static double seconds_at(double seconds, double late, double way)
{
    return seconds * (way + 0.5 * (late - 1) * way * way) / (0.5 * (late + 1));
}

static void test_alone(void **unused)
{
    (void)unused;
    sp_pace pace = {0};
    sp_pace_note(&pace, SP_PACE_PRESS, 0, 0.1);
    assert_true(isinf(sp_pace_left(&pace, NULL, 1, &nothing_known).middle));
    for (double way = 0.1; way < 0.96; way += 0.05) {
        sp_pace own = {0};
        walk(&own, SP_PACE_PRESS, 10, 2, way);
        const sp_left left = sp_pace_left(&own, NULL, 1, &nothing_known);
        const double actual = 10 - seconds_at(10, 2, way);
        assert_true(left.low <= left.middle && left.middle <= left.high);
        assert_true(left.low <= actual && actual <= left.high);
        assert_true(left.middle < 2 * actual && left.middle > actual / 2);
    }
    pace.done = 1;
    check_close(sp_pace_left(&pace, NULL, 1, &nothing_known).high, 0, 0);
}

/* Before the first step only a forecast is known, and the way back is added to a press. */
static void test_forecast_first(void **unused)
{
    (void)unused;
    sp_pace pace = {0};
    const sp_pace_plan plan = {.forecast = 8, .low = 0.5, .high = 3};
    sp_pace_note(&pace, SP_PACE_PRESS, 0, 0.1);
    const sp_left first = sp_pace_left(&pace, NULL, 1, &plan);
    check_close(first.low, 4, 1e-12);
    check_close(first.middle, 8, 1e-12);
    check_close(first.high, 24, 1e-12);
    sp_pace one_way = {0}, back = {0};
    walk(&one_way, SP_PACE_PRESS, 10, 1, 0.5);
    walk(&back, SP_PACE_PRESS, 10, 1, 0.5);
    const sp_pace_plan both = {.unload = 1};
    assert_true(sp_pace_left(&back, NULL, 1, &both).middle >
                1.5 * sp_pace_left(&one_way, NULL, 1, &nothing_known).middle);
}

/* A guide that did the same at another speed gives the time left exactly, wherever along the way
 * its work lay; one that still runs ahead gives the time up to where it is, and its own rest. */
static void test_guide(void **unused)
{
    (void)unused;
    sp_pace guide = {0};
    walk(&guide, SP_PACE_PRESS, 4, 30, 1);
    walk(&guide, SP_PACE_BACK, 3, 0.2, 1);
    guide.done = 1;
    const sp_pace_plan plan = {.unload = 1};
    for (double way = 0.25; way < 0.96; way += 0.05) {
        sp_pace own = {0};
        walk(&own, SP_PACE_PRESS, 12, 30, way);
        const sp_left left = sp_pace_left(&own, &guide, 3, &plan);
        check_relative(left.middle, 12 - seconds_at(12, 30, way) + 9, 0.01);
        assert_true(left.low < left.middle && left.middle < left.high);
    }
    sp_pace own = {0};
    walk(&own, SP_PACE_PRESS, 12, 30, 1);
    walk(&own, SP_PACE_BACK, 9, 0.2, 0.5);
    check_relative(sp_pace_left(&own, &guide, 3, &plan).middle, 9 - seconds_at(9, 0.2, 0.5), 0.01);

    sp_pace ahead = {0}, behind = {0};
    walk(&ahead, SP_PACE_PRESS, 4, 30, 0.8);
    walk(&behind, SP_PACE_PRESS, 12, 30, 0.4);
    const double shown = seconds_at(12, 30, 0.8) - seconds_at(12, 30, 0.4);
    const sp_left left = sp_pace_left(&behind, &ahead, 3, &nothing_known);
    assert_true(left.middle > shown && left.middle < 2 * (12 - seconds_at(12, 30, 0.4)));
    /* A guide that is behind, or has not begun, is not used. */
    const sp_pace empty = {0};
    const double alone = sp_pace_left(&ahead, NULL, 1, &nothing_known).middle;
    check_close(sp_pace_left(&ahead, &behind, 3, &nothing_known).middle, alone, 0);
    check_close(sp_pace_left(&ahead, &empty, 3, &nothing_known).middle, alone, 0);
}

/* The search ends at the target at the latest, or where it is cut short. */
static void test_search(void **unused)
{
    (void)unused;
    const sp_pace_plan plan = {.forecast = 5, .low = 1, .high = 1};
    sp_pace own = {0};
    walk(&own, SP_PACE_SEARCH, 10, 1, 0.5);
    const sp_left open = sp_pace_left(&own, NULL, 1, &plan);
    assert_true(open.low >= 5 && open.high > open.middle && open.middle > open.low);
    own.budget = 0.9;
    const sp_left cut = sp_pace_left(&own, NULL, 1, &plan);
    check_close(cut.high, 5 + own.seconds / 9, 1e-9);
    walk(&own, SP_PACE_SEARCH, 0, 1, 1);
    own.budget = 0;
    check_close(sp_pace_left(&own, NULL, 1, &plan).high, 5, 1e-9);
}

/* The first run that comes to its end is kept in a guide. */
static void test_guide_is_kept(void **unused)
{
    (void)unused;
    sp_guide guide = {.lock = PTHREAD_MUTEX_INITIALIZER};
    sp_pace first = {0}, second = {0};
    walk(&first, SP_PACE_PRESS, 3, 1, 1);
    walk(&second, SP_PACE_PRESS, 7, 1, 1);
    sp_guide_put(&guide, &second, 0);
    assert_false(sp_guide_get(&guide).done);
    sp_guide_put(&guide, &first, 1);
    sp_guide_put(&guide, &second, 1);
    const sp_pace kept = sp_guide_get(&guide);
    assert_true(kept.done);
    check_close(kept.seconds, 3, 1e-12);
}

/* ---- what a listener hears ----------------------------------------------- */

typedef struct heard {
    int told, silent; /* reports of a stage with and without a time left */
    int lefts;
} heard;

typedef struct listener {
    heard search, press, back, looks;
    double low, high;
    int fresh;
} listener;

static void hear_left(void *user, double low, double high)
{
    listener *l = user;
    check_true(low >= 0 && low <= high && isfinite(high));
    l->low = low;
    l->high = high;
    l->fresh = 1;
}

static void hear(void *user, double share, const char *text)
{
    listener *l = user;
    heard *h = !strcmp(text, "searching for the critical step")   ? &l->search
               : !strcmp(text, "pressing")                        ? &l->press
               : !strcmp(text, "going back")                      ? &l->back
               : !strcmp(text, "looking for other stable states") ? &l->looks
                                                                  : NULL;
    check_true(share >= 0 && share <= 1);
    if (h && share > 0) h->told++;
    if (h && !(share > 0)) h->silent++;
    if (h) h->lefts += l->fresh;
    l->fresh = 0;
}

/* Press a coupon with these settings and one seed, and hear what it reports. */
static void listen_to(listener *l, const char *const set[][2], size_t count)
{
    sp_context context = {.progress = hear, .left = hear_left, .user = l};
    sp_case request;
    sp_result *result;
    sp_case_default(&request);
    for (size_t i = 0; i < count; i++)
        if (sp_case_set(&context, &request, set[i][0], set[i][1]) != SP_OK)
            fail_msg("%s", context.message);
    if (sp_run(&context, &request, &result) != SP_OK) fail_msg("%s", context.message);
    sp_result_free(result);
}

static void test_listener(void **unused)
{
    (void)unused;
    static const char *const set[][2] = {{"coupon.width", "10 mm"},  {"coupon.height", "10 mm"},
                                         {"coupon.depth", "5 mm"},   {"infill.pattern", "square"},
                                         {"infill.density", "25 %"}, {"press.strain", "15 %"},
                                         {"press.steps", "30"},      {"press.find_critical", "yes"},
                                         {"press.unload", "yes"},    {"press.branches", "yes"},
                                         {"flaws.seed", "3"}};
    listener l = {0};
    listen_to(&l, set, sizeof set / sizeof *set);
    const heard *stage[] = {&l.search, &l.press, &l.back, &l.looks};
    for (int i = 0; i < 4; i++) {
        /* The first report of a stage may come before anything is known about it. */
        check_true(stage[i]->told > 3 && stage[i]->silent <= 1);
        check_true(stage[i]->lefts >= stage[i]->told);
    }
}

/* A protocol tells what is left, too, in its first press and in every segment behind it. */
static void test_listener_of_a_protocol(void **unused)
{
    (void)unused;
    static const char *const set[][2] = {
        {"coupon.width", "10 mm"},
        {"coupon.height", "10 mm"},
        {"coupon.depth", "5 mm"},
        {"infill.pattern", "square"},
        {"infill.density", "25 %"},
        {"press.steps", "30"},
        {"press.find_critical", "no"},
        {"material.relaxation.exponent", "0.09"},
        {"press.protocol", "press to 15 % at 10 mm/min, hold for 1 min, release at 10 mm/min, "
                           "press to 10 % at 10 mm/min, release at 10 mm/min"}};
    listener l = {0};
    listen_to(&l, set, sizeof set / sizeof *set);
    const heard *stage[] = {&l.press, &l.back};
    for (int i = 0; i < 2; i++) {
        check_true(stage[i]->told > 3 && stage[i]->silent <= 1);
        check_true(stage[i]->lefts >= stage[i]->told);
    }
    check_true(l.low < l.high); /* of the last segment */
}

/* Errors of many coupons average out: the range of a plan is narrower than that of one. */
static void test_sum(void **unused)
{
    (void)unused;
    const sp_forecast_all one = sp_forecast_of_all(5, 1), ten = sp_forecast_of_all(50, 10),
                          many = sp_forecast_of_all(500, 100);
    check_close(one.seconds, 5, 1e-12);
    assert_true(ten.seconds > 50 && many.seconds / ten.seconds > 9.99);
    assert_true(ten.low < ten.seconds && ten.seconds < ten.high);
    assert_true(ten.high / ten.low < one.high / one.low);
    check_relative(many.high / many.low, ten.high / ten.low, 1e-12);
}

/* The time left is one time where its range is narrow, else the range. */
static void what_is_left_is_told_in_words(void **state)
{
    (void)state;
    static const struct {
        double low, high;
        const char *words;
    } told[] = {{10, 14.4, "about 12 s left"},
                {5, 23, "5 to 23 s left"},
                {40, 180, "40 s to 3 min left"},
                {0.01, 0.05, "under 0.1 s left"}};
    char words[96];
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        sp_forecast_left_text(told[i].low, told[i].high, words, sizeof words);
        assert_string_equal(words, told[i].words);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_left_is_told_in_words),
        cmocka_unit_test(test_alone),
        cmocka_unit_test(test_forecast_first),
        cmocka_unit_test(test_guide),
        cmocka_unit_test(test_search),
        cmocka_unit_test(test_guide_is_kept),
        cmocka_unit_test(test_listener),
        cmocka_unit_test(test_listener_of_a_protocol),
        cmocka_unit_test(test_sum),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
