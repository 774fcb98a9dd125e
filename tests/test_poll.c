/* These tests check Ctrl-C while a network is built, at every place where the program asks for an
 * interruption, and that it asks often. */
#include "check.h"

#include <strutpress/batch.h>
#include <strutpress/network.h>
#include <strutpress/resolve.h>
#include <strutpress/run.h>
#include <strutpress/seek.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "coupon.h"

static volatile sig_atomic_t stop;

typedef struct listener {
    int ticks, stop_at; /* 0: never */
    char words[2000];   /* every kind of work that was told, once */
} listener;

static void listen(void *user, double fraction, const char *text)
{
    listener *l = user;
    (void)fraction;
    if (!strstr(l->words, text) && strlen(l->words) + strlen(text) + 3 < sizeof l->words) {
        strcat(l->words, text);
        strcat(l->words, "; ");
    }
    if (++l->ticks == l->stop_at) stop = 1;
}

/* These are all ways to build a network, each large enough that its loops ask for an
 * interruption. */
static const struct {
    const char *name, *settings[10];
    const char *told; /* work that must be told */
} built[] = {
    {"planar",
     {"infill.pattern=square", "infill.density=20 %", "bead.width=0.4 mm", "coupon.width=120 mm",
      "coupon.height=120 mm"},
     "measuring the area of the beads; meshing the struts; "},
    {"random",
     {"infill.pattern=random-cells", "infill.density=20 %", "bead.width=0.4 mm",
      "coupon.width=100 mm", "coupon.height=100 mm"},
     "pushing random points apart; finding the cells about random points; "},
    {"space",
     {"infill.pattern=kelvin", "infill.cells=[6, 6, 6]", "infill.density=10 %"},
     "measuring the volume of the struts; "},
    {"foam",
     {"infill.pattern=voronoi-foam", "infill.cells=[4, 4, 4]", "infill.density=10 %"},
     "finding the cells about random points; "},
    {"layers",
     {"infill.pattern=square", "infill.density=20 %", "infill.layers=2", "infill.layer_turn=45 deg",
      "bead.width=0.4 mm", "coupon.width=120 mm", "coupon.height=120 mm"},
     "looking where layers touch; "},
    {"panels",
     {"infill.pattern=square", "infill.density=20 %", "press.direction=along", "bead.width=0.6 mm",
      "coupon.width=60 mm", "coupon.depth=60 mm"},
     "meshing the struts; "},
};
enum { BUILT = sizeof built / sizeof built[0] };

static void make(int i, sp_case *request)
{
    sp_context context = {0};
    sp_case_default(request);
    for (int k = 0; built[i].settings[k]; k++) {
        char key[100], *value;
        snprintf(key, sizeof key, "%s", built[i].settings[k]);
        value = strchr(key, '=');
        *value++ = 0;
        if (sp_case_set(&context, request, key, value) != SP_OK) fail_msg("%s", context.message);
    }
}

/* Go from the case to the mesh. */
static sp_status build(sp_context *context, const sp_case *request)
{
    sp_resolved resolved;
    sp_network network = {0};
    sp_forecast forecast;
    sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK) status = sp_resolved_network(context, &resolved, 1, &network);
    if (status == SP_OK)
        status = sp_forecast_network(context, &resolved.request, &network, &forecast);
    sp_network_free(&network);
    sp_resolved_free(&resolved);
    return status;
}

static void test_every_build_stops(void **unused)
{
    (void)unused;
    for (int i = 0; i < BUILT; i++) {
        sp_case request;
        listener all = {0};
        sp_context context = {.interrupt = &stop, .progress = listen, .user = &all};
        stop = 0;
        make(i, &request);
        if (build(&context, &request) != SP_OK) fail_msg("%s: %s", built[i].name, context.message);
        if (!strstr(all.words, built[i].told))
            fail_msg("%s: told '%s', not '%s'", built[i].name, all.words, built[i].told);
        assert_true(all.ticks >= 2);
        /* Interrupted at the first look, at the last and at some between, it ends at once, says in
         * which work, and leaves nothing behind. */
        const long before = sp_alloc_count();
        for (int k = 0; k < 6; k++) {
            listener some = {.stop_at = 1 + k * (all.ticks - 1) / 5};
            sp_context own = {.interrupt = &stop, .progress = listen, .user = &some};
            stop = 0;
            if (build(&own, &request) != SP_INTERRUPTED)
                fail_msg("%s: goes on after look %d of %d", built[i].name, some.stop_at, all.ticks);
            assert_int_equal(some.ticks, some.stop_at);
            assert_non_null(strstr(own.message, "interrupted while "));
            assert_int_equal(sp_alloc_count(), before);
        }
    }
}

/* Twice the work has twice as many looks: they count the work, not its stages. */
static void test_looks_go_with_the_work(void **unused)
{
    (void)unused;
    int ticks[2];
    for (int i = 0; i < 2; i++) {
        sp_case request;
        listener all = {0};
        sp_context context = {.progress = listen, .user = &all};
        make(2, &request);
        request.cells_x = request.cells_y = request.cells_z = i ? 12 : 6;
        assert_int_equal(build(&context, &request), SP_OK);
        ticks[i] = all.ticks;
    }
    assert_true(ticks[1] > 4 * ticks[0]);
}

/* A press that is interrupted before its first state is a result that says so. */
static void test_press_says_where(void **unused)
{
    (void)unused;
    for (int i = 0; i < BUILT; i++) {
        sp_case request;
        sp_result *result;
        listener first = {.stop_at = 2};
        sp_context context = {.interrupt = &stop, .progress = listen, .user = &first};
        stop = 0;
        make(i, &request);
        assert_int_equal(sp_run(&context, &request, &result), SP_OK);
        assert_int_equal(sp_result_stop(result), SP_STOP_INTERRUPTED);
        assert_non_null(strstr(sp_result_reason(result), "interrupted while "));
        assert_non_null(strstr(sp_result_reason(result), "there is no curve"));
        sp_result_free(result);
    }
}

#define TARGET                                                                                     \
    "case:\n  coupon: {width: 30 mm, height: 30 mm, depth: 30 mm}\n"                               \
    "  infill: {pattern: voronoi-foam, cells: [3, 3, 3]}\n"                                        \
    "  press: {strain: 5 %, steps: 4, find_critical: no}\n"                                        \
    "candidates:\n  infill.cell_seed: [1, 2]\n"                                                    \
    "vary:\n  infill.density: {from: 5 %, to: 12 %, within: 1 %}\n"                                \
    "require:\n  mass: {at_most: 9 g}\nseeds: 1\n"

/* The outlook of a target is interrupted inside the work on one candidate, and says how many
 * candidates were examined. */
static void test_outlook(void **unused)
{
    (void)unused;
    sp_target *target;
    sp_outlook outlook;
    listener all = {0};
    sp_context context = {.interrupt = &stop, .progress = listen, .user = &all};
    stop = 0;
    if (sp_target_parse(&context, "t.yaml", TARGET, strlen(TARGET), &target) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(sp_target_outlook(&context, target, &outlook), SP_OK);
    assert_int_equal(outlook.looked_at, 2);
    assert_non_null(strstr(all.words, "looking for what can be built; building networks; "));
    const int ticks = all.ticks;
    all = (listener){.stop_at = 2 * ticks / 3};
    assert_int_equal(sp_target_outlook(&context, target, &outlook), SP_INTERRUPTED);
    assert_int_equal(all.ticks, 2 * ticks / 3);
    assert_int_equal(outlook.looked_at, 1);
    assert_string_equal(context.message, "interrupted: 1 of 2 candidates looked at");
    sp_target_free(target);
}

static char said[SP_MESSAGE_SIZE];
static int lines_said;

static void take_line(void *user, const char *line)
{
    (void)user;
    if (!lines_said++) snprintf(said, sizeof said, "%s", line);
}

/* `seek` begins with the time that it will take, as `press` and `batch` do: it prints the figures
 * of the outlook. */
static void test_seek_says_its_forecast(void **unused)
{
    (void)unused;
    sp_target *target;
    sp_store *store;
    sp_answer *answer;
    sp_outlook outlook;
    char begin[100];
    sp_context context = {.say = take_line};
    assert_int_equal(sp_target_parse(&context, "t.yaml", TARGET, strlen(TARGET), &target), SP_OK);
    assert_int_equal(sp_target_outlook(&context, target, &outlook), SP_OK);
    if (sp_store_open(&context, "", SP_STORE_MEMORY, &store) != SP_OK)
        fail_msg("%s", context.message);
    if (sp_seek(&context, target, store, 1, &answer) != SP_OK) fail_msg("%s", context.message);
    snprintf(begin, sizeof begin,
             "2 candidates, about %d presses less those stored: ", outlook.presses);
    assert_int_equal(lines_said, 1);
    if (strncmp(said, begin, strlen(begin)) || !strstr(said, "of processor time on a workstation"))
        fail_msg("said '%s'", said);
    sp_answer_free(answer);
    sp_store_close(store);
    sp_target_free(target);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_build_stops),
        cmocka_unit_test(test_looks_go_with_the_work),
        cmocka_unit_test(test_press_says_where),
        cmocka_unit_test(test_outlook),
        cmocka_unit_test(test_seek_says_its_forecast),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
