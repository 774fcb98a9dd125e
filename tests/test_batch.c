/* These tests check plans, the store, and a batch that is killed; each coupon goes through
 * sp_run. */
#include "check.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <strutpress/batch.h>

#include "base/alloc.h"
#include "base/hash.h"
#include "store_folder.h"

#define TINY                                                                                       \
    "case:\n"                                                                                      \
    "  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n"                                        \
    "  bead: {walls: 1}\n"                                                                         \
    "  press: {strain: 10 %, steps: 6, find_critical: no}\n"

static const char tiny_plan[] = TINY "axes:\n"
                                     "  infill.pattern + infill.angle:\n"
                                     "    - [square, 45 deg]\n"
                                     "    - [triangular, 0]\n"
                                     "    - [bricks, 0]\n"
                                     "  infill.density: {from: 24 %, to: 32 %, step: 4 %}\n"
                                     "  bead.walls: [1, 9]\n"
                                     "seeds: 3\n"
                                     "where: bead.walls < 9 or infill.density = 24 %\n";

static sp_plan *parse(const char *text)
{
    sp_context context = {0};
    sp_plan *plan;
    if (sp_plan_parse(&context, "p.yaml", text, strlen(text), &plan) != SP_OK)
        fail_msg("%s", context.message);
    return plan;
}

/* ---- hash ----------------------------------------------- */

/* Values of the FNV test suite of its authors, read in tests of other public programs that quote
 * it; computed again with exact integers of another language. */
static void test_hash(void **state)
{
    static const char *const rows[][2] = {
        {"", "6c62272e07bb014262b821756295c58d"},
        {"a", "d228cb696f1a8caf78912b704e4a8964"},
        {"foobar", "343e1662793c64bf6f0d3597ba446f18"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[SP_HASH_TEXT_SIZE];
        sp_hash hash = sp_hash_begin();
        sp_hash_add(&hash, rows[i][0], strlen(rows[i][0]));
        sp_hash_text(&hash, text);
        assert_string_equal(text, rows[i][1]);
    }
}

/* ---- plans ----------------------------------------------- */

static void test_combinations(void **state)
{
    (void)state;
    sp_case request;
    sp_plan *plan = parse(tiny_plan);
    assert_int_equal(sp_plan_count(plan), 3 * 3 * 3 + 3 * 3);
    assert_int_equal(sp_plan_left_out(plan), 3 * 3 * 2 * 3 - 36);
    sp_plan_case(plan, 0, &request);
    assert_string_equal(request.pattern, "square");
    check_close(request.angle, 45, 0);
    check_close(request.density, 0.24, 0);
    assert_int_equal(request.flaw_seed, 1);
    sp_plan_case(plan, 4, &request);
    assert_int_equal(request.wall_beads, 9);
    assert_int_equal(request.flaw_seed, 2);
    sp_plan_case(plan, 35, &request);
    assert_string_equal(request.pattern, "bricks");
    check_close(request.density, 0.32, 1e-15);
    assert_int_equal(request.flaw_seed, 3);
    sp_plan_free(plan);
}

static void test_ranges(void **state)
{
    (void)state;
    sp_case request;
    sp_plan *plan = parse(TINY "axes:\n  coupon.width: {from: 2 cm, to: 10 mm, count: 3}\n"
                               "  infill.density: {from: 10 %, to: 30 %, step: 0.1}\n"
                               "  infill.offset: [[0, 0], [0.5, 0.25]]\n"
                               "seeds: [7, 0]\n");
    assert_int_equal(sp_plan_count(plan), 3 * 3 * 2 * 2);
    sp_plan_case(plan, 35, &request);
    check_close(request.width, 10, 0);
    check_close(request.density, 0.3, 0);
    check_close(request.offset_y, 0.25, 0);
    assert_int_equal(request.flaw_seed, 0);
    sp_plan_case(plan, 12, &request);
    check_close(request.width, 15, 0);
    sp_plan_free(plan);
}

/* Every sign of a condition works on numbers and on names; a list of conditions holds when each of
 * them does. */
static void test_conditions(void **state)
{
    static const struct {
        const char *where;
        int coupons; /* of two patterns with 1, 2 and 3 walls */
    } rows[] = {
        {"bead.walls < 2", 2},
        {"bead.walls <= 2", 4},
        {"bead.walls = 2", 2},
        {"bead.walls != 2", 4},
        {"bead.walls >= 2", 4},
        {"bead.walls > 2", 2},
        {"infill.pattern = square", 3},
        {"infill.pattern != square", 3},
        {"[bead.walls >= 2, infill.pattern != square]", 2},
        {"[bead.walls < 3, bead.walls != 1 or infill.pattern = bricks]", 3},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[1024];
        snprintf(text, sizeof text, "%s%s%s\n", TINY,
                 "axes:\n  infill.pattern: [square, bricks]\n  bead.walls: [1, 2, 3]\nwhere: ",
                 rows[i].where);
        sp_plan *plan = parse(text);
        if (sp_plan_count(plan) != rows[i].coupons)
            fail_msg("%s: %d coupons, wanted %d", rows[i].where, sp_plan_count(plan),
                     rows[i].coupons);
        sp_plan_free(plan);
    }
}

/* Each row has the text after TINY, and words that the one line must hold. */
static const char *const refusals[][2] = {
    {"axis:\n  a: 1\n", "p.yaml:5: received 'axis'; valid: base, case, axes, seeds, where (did you "
                        "mean 'axes'?)"},
    {"axes:\n  infill.densty: [10 %]\n", "p.yaml:6: received 'infill.densty'"},
    {"axes:\n  infill.densty: [10 %]\n", "(did you mean 'infill.density'?)"},
    {"axes:\n  infill.density: [10 %, 300 %]\n", "p.yaml:6: infill.density: received '300 %'"},
    {"axes:\n  infill.density: []\n", "received 'an empty list'"},
    {"axes:\n  infill.density: {from: 1 %, to: 5 %}\n", "received 'an incomplete range'"},
    {"axes:\n  infill.density: {from: 1 %, to: 5 %, step: -1 %}\n", "received '-1 %'"},
    {"axes:\n  infill.density: {from: 1 %, to: 5 %, step: 0}\n", "received '0'"},
    {"axes:\n  infill.density: {from: 1 %, to: 5 %, count: 1}\n", "received '1'"},
    {"axes:\n  infill.pattern: {from: 1, to: 5, count: 2}\n", "ranges are for one key"},
    {"axes:\n  infill.pattern + infill.angle: [square]\n", "a list of 2 values, one per key"},
    {"axes:\n  infill.angle: [1]\n  infill.angle: [2]\n", "once only in all axes"},
    {"axes:\n  flaws.seed: [1]\nseeds: 2\n", "once only in all axes"},
    {"axes:\n  flaws.seed: {from: 1, to: 2, count: 3}\n", "received '1.5'"},
    {"seeds: 0\n", "p.yaml:5: seeds: received '0'"},
    {"seeds: many\n", "received 'many'"},
    {"where: infill.density ~ 3\n", "KEY OP VALUE"},
    {"where: infill.pattern < square\n", "= or !="},
    {"where: infill.density > 90 %\n", "none of the 1 coupons meets"},
    {"where: {bead.walls: 2}\n", "a condition: KEY OP VALUE"},
    {"where: infill.direction = [0, 1, 0]\n", "a key with one value"},
    {"where: infill.densit > 90 %\n", "did you mean 'infill.density'?"},
    {"base: nowhere.yaml\n", "p.yaml:5: base: received 'nowhere.yaml'"},
    {"case: {}\n", "once only"},
    {"seeds: &a 3\n", "received 'an anchor'"},
    {"axes: [1\n", "p.yaml:"},
};

static void test_refusals(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        char text[1024];
        sp_context context = {0};
        sp_plan *plan;
        snprintf(text, sizeof text, "%s%s", TINY, refusals[i][0]);
        const long before = sp_alloc_count();
        assert_int_equal(sp_plan_parse(&context, "p.yaml", text, strlen(text), &plan), SP_BAD_CASE);
        if (!strstr(context.message, refusals[i][1]))
            fail_msg("'%s' lacks '%s'", context.message, refusals[i][1]);
        assert_null(plan);
        assert_int_equal(sp_alloc_count(), before);
    }
}

static void test_plan_without_memory(void **state)
{
    (void)state;
    const long before = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_context context = {0};
        sp_plan *plan;
        sp_alloc_fail_at(nth);
        const sp_status status =
            sp_plan_parse(&context, "p.yaml", tiny_plan, strlen(tiny_plan), &plan);
        sp_alloc_fail_at(0);
        sp_plan_free(plan);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
}

/* ---- resolved cases ----------------------------------------------- */

static sp_coupon_key resolved_with(const char *key, const char *value)
{
    sp_context context = {0};
    sp_case request;
    sp_coupon_key known;
    sp_case_default(&request);
    if (key) assert_int_equal(sp_case_set(&context, &request, key, value), SP_OK);
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
    return known;
}

static void test_keys(void **state)
{
    (void)state;
    const sp_coupon_key base = resolved_with(NULL, NULL);
    const sp_coupon_key same = resolved_with("coupon.width", "2.8 cm");
    const sp_coupon_key name = resolved_with("infill.pattern", "4.4.4.4");
    const sp_coupon_key other = resolved_with("infill.density", "20.0000000000001 %");
    const sp_coupon_key seed = resolved_with("flaws.seed", "2");
    const sp_coupon_key perfect = resolved_with("flaws.seed", "0");
    assert_string_equal(base.key, same.key);
    assert_string_equal(base.key, name.key);
    assert_string_not_equal(base.key, other.key);
    assert_string_not_equal(base.key, seed.key);
    assert_string_equal(base.family, seed.family);
    assert_string_not_equal(base.family, perfect.family);
    assert_int_equal(seed.flaw_seed, 2);
}

static void write_text(const char *file, const char *text)
{
    FILE *stream = fopen(file, "w");
    assert_non_null(stream);
    fputs(text, stream);
    assert_int_equal(fclose(stream), 0);
}

/* A drawn network is known by the content of its file, not by its name. */
static void test_file_keys(void **state)
{
    (void)state;
    write_text(in_folder("a.obj"), "v 0 0 0\n");
    const sp_coupon_key first = resolved_with("infill.network", in_folder("a.obj"));
    write_text(in_folder("a.obj"), "v 0 0 1\n");
    const sp_coupon_key second = resolved_with("infill.network", in_folder("a.obj"));
    write_text(in_folder("a.obj"), "v 0 0 0\n");
    const sp_coupon_key third = resolved_with("infill.network", in_folder("a.obj"));
    assert_string_not_equal(first.key, second.key);
    assert_string_equal(first.key, third.key);
}

/* ---- a batch in a child, so that it can be killed -----------------------------------------------
 */

static int told; /* pipe end: one byte per committed coupon */

static void tell(void *user, double fraction, const char *text)
{
    (void)user, (void)fraction;
    if (!strstr(text, " coupons, ")) return; /* what is looked at before */
    if (write(told, "c", 1) != 1) _exit(99);
}

static void press_and_exit(const char *file, int threads)
{
    sp_context context = {.progress = tell};
    sp_store *store;
    sp_batch_report report;
    sp_plan *plan = parse(tiny_plan);
    sp_status status = sp_store_open(&context, file, SP_STORE_WRITE, &store);
    if (status == SP_OK) status = sp_batch_press(&context, plan, store, threads, &report);
    if (status == SP_OK) sp_store_close(store);
    if (status != SP_OK) fprintf(stderr, "%s\n", context.message);
    _exit(sp_status_exit(status));
}

static pid_t start_batch(const char *file, int threads, int *read_end)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    fflush(NULL);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(ends[0]);
        told = ends[1];
        press_and_exit(file, threads);
    }
    close(ends[1]);
    *read_end = ends[0];
    return child;
}

/* Return how many coupons the child has committed and told of; waits for its end. */
static int end_batch(pid_t child, int read_end, int *status)
{
    char bytes[256];
    int count = 0;
    ssize_t got;
    assert_int_equal(waitpid(child, status, 0), child);
    while ((got = read(read_end, bytes, sizeof bytes)) > 0) count += (int)got;
    close(read_end);
    return count;
}

static int coupons_in(const char *dump)
{
    int count = !strncmp(dump, "coupon ", 7);
    for (const char *at = dump; (at = strstr(at, "\ncoupon ")); at++) count++;
    return count;
}

static double seconds_now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static char *undisturbed(const char *name, int threads, double *seconds)
{
    int pipe_end, status;
    const double begin = seconds_now();
    const pid_t child = start_batch(in_folder(name), threads, &pipe_end);
    assert_int_equal(end_batch(child, pipe_end, &status), 36);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    *seconds = seconds_now() - begin;
    return dump_of(in_folder(name));
}

static void test_threads_do_not_matter(void **state)
{
    (void)state;
    double seconds;
    char *one = undisturbed("one.store", 1, &seconds), *two = undisturbed("two.store", 2, &seconds);
    assert_int_equal(coupons_in(one), 36);
    assert_string_equal(one, two);
    assert_non_null(strstr(one, "\nmeasure mass "));
    assert_non_null(
        strstr(one, "outcome 3\nreason p.yaml:")); /* nine walls: a row with its reason */
    assert_null(strstr(one, "nan"));
    free(one);
    free(two);
}

/* Kill a batch at a random moment, check the store that is left, and go on. A full store is
 * compared, and a new one begun. */
static void test_kill(void **state)
{
    (void)state;
    const char *wanted = getenv("BATCH_KILLS");
    const int kills = wanted ? atoi(wanted) : 10;
    double seconds;
    char *whole = undisturbed("whole.store", 1, &seconds);
    unsigned random = 12345;
    int stored = 0, round = 0, full = 0;
    char name[32] = "killed-0.store";
    for (int kill_count = 0; kill_count < kills; kill_count++) {
        const int threads = 1 + kill_count % 2;
        int pipe_end, status;
        const pid_t child = start_batch(in_folder(name), threads, &pipe_end);
        random = random * 1103515245u + 12345u;
        usleep((useconds_t)(1 + 0.6 * seconds * 1e6 * ((random >> 16) & 0x7fff) / 32768.0));
        kill(child, SIGKILL);
        const int committed = stored + end_batch(child, pipe_end, &status);
        if (access(in_folder(name), F_OK) != 0) continue; /* killed before it made the file */
        sp_context context = {0};
        sp_store *store;
        /* The file may be there without its tables: the next batch goes on from there, too. */
        if (sp_store_open(&context, in_folder(name), SP_STORE_WRITE, &store) != SP_OK)
            fail_msg("%s", context.message);
        sp_store_close(store);
        char *dump = dump_of(in_folder(name));
        const int now_stored = coupons_in(dump);
        assert_true(now_stored >= committed);     /* nothing that was finished is lost */
        assert_true(now_stored <= committed + 1); /* committed, and killed before it could tell */
        stored = now_stored;
        if (stored == 36) {
            assert_string_equal(dump, whole);
            full++;
            stored = 0;
            snprintf(name, sizeof name, "killed-%d.store", ++round);
        }
        free(dump);
    }
    int pipe_end, status;
    const pid_t child = start_batch(in_folder(name), 2, &pipe_end);
    assert_int_equal(end_batch(child, pipe_end, &status), 36 - stored);
    char *dump = dump_of(in_folder(name));
    assert_string_equal(dump, whole);
    print_message("killed %d times, %d stores resumed to the same bytes\n", kills, full + 1);
    free(dump);
    free(whole);
}

/* This is repeated, because both batches make the store at the same moment and meet in another
 * place each time. */
static void test_two_batches(void **state)
{
    (void)state;
    double seconds;
    int end[2], status[2];
    char *whole = undisturbed("alone.store", 1, &seconds);
    for (int round = 0; round < 5; round++) {
        char name[32];
        snprintf(name, sizeof name, "shared-%d.store", round);
        const pid_t first = start_batch(in_folder(name), 1, &end[0]);
        const pid_t second = start_batch(in_folder(name), 1, &end[1]);
        end_batch(first, end[0], &status[0]);
        end_batch(second, end[1], &status[1]);
        for (int i = 0; i < 2; i++) assert_true(WIFEXITED(status[i]) && !WEXITSTATUS(status[i]));
        char *dump = dump_of(in_folder(name));
        assert_string_equal(dump, whole);
        free(dump);
    }
    free(whole);
}

/* ---- what may be wrong with a store ----------------------------------------------- */

static void expect_refusal(const char *file, sp_store_mode mode, sp_status wanted,
                           const char *words)
{
    sp_context context = {0};
    sp_store *store;
    const long before = sp_alloc_count();
    assert_int_equal(sp_store_open(&context, file, mode, &store), wanted);
    if (!strstr(context.message, words)) fail_msg("'%s' lacks '%s'", context.message, words);
    assert_null(store);
    assert_int_equal(sp_alloc_count(), before);
}

static void make_store(const char *file)
{
    sp_context context = {0};
    sp_store *store;
    assert_int_equal(sp_store_open(&context, file, SP_STORE_WRITE, &store), SP_OK);
    sp_store_close(store);
}

static void test_wrong_stores(void **state)
{
    (void)state;
    write_text(in_folder("text.store"), "coupon: width\nthis is no store, it is some text file.\n"
                                        "It is longer than the head of a data file, 100 bytes..\n");
    expect_refusal(in_folder("text.store"), SP_STORE_WRITE, SP_NO_READ, "valid: a store that");
    change_store(in_folder("other.store"), "CREATE TABLE stamps (country TEXT)");
    expect_refusal(in_folder("other.store"), SP_STORE_WRITE, SP_NO_READ, "of another program");
    expect_refusal(in_folder("none.store"), SP_STORE_READ, SP_NO_READ, "cannot be read");
    expect_refusal(in_folder("no/none.store"), SP_STORE_WRITE, SP_NO_WRITE, "cannot be written");
    expect_refusal(store_folder, SP_STORE_WRITE, SP_NO_WRITE, "cannot be written");
    make_store(in_folder("newer.store"));
    change_store(in_folder("newer.store"), "PRAGMA user_version = 99");
    expect_refusal(in_folder("newer.store"), SP_STORE_READ, SP_NO_READ, "from a newer version");
    expect_refusal(in_folder("newer.store"), SP_STORE_WRITE, SP_NO_READ, "store of format 99");
}

/* A store of format 1 lacks the index of format 2; opening it for writing brings it there and keeps
 * its rows. */
static void test_migration(void **state)
{
    (void)state;
    double seconds;
    char *before = undisturbed("old.store", 1, &seconds);
    change_store(in_folder("old.store"), "DROP INDEX coupon_family; PRAGMA user_version = 1");
    make_store(in_folder("old.store"));
    char *after = dump_of(in_folder("old.store"));
    change_store(in_folder("old.store"),
                 "DROP INDEX coupon_family"); /* fails when it is not there */
    assert_string_equal(before, after);
    free(before);
    free(after);
}

/* Press into a store that may not grow any more. The system answers with EFBIG; SQLITE_FULL through
 * max_page_count would look the same. */
static void limit_and_exit(const char *file)
{
    const struct rlimit limit = {120000, 120000};
    signal(SIGXFSZ, SIG_IGN);
    if (setrlimit(RLIMIT_FSIZE, &limit)) _exit(98);
    press_and_exit(file, 2);
}

static void test_full_disk(void **state)
{
    (void)state;
    double seconds;
    int ends[2], status;
    char text[512] = "";
    char *whole = undisturbed("roomy.store", 1, &seconds);
    assert_int_equal(pipe(ends), 0);
    fflush(NULL);
    const pid_t child = fork();
    if (child == 0) {
        dup2(ends[1], STDERR_FILENO);
        told = open("/dev/null", O_WRONLY);
        limit_and_exit(in_folder("full.store"));
    }
    close(ends[1]);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(read(ends[0], text, sizeof text - 1) > 0);
    close(ends[0]);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), sp_status_exit(SP_NO_WRITE));
    assert_non_null(strstr(text, "full.store: cannot be written: "));
    assert_non_null(strstr(text, "room on its disk; what is stored stays"));
    /* With room again, the same batch goes on to the same store. */
    int pipe_end;
    const pid_t again = start_batch(in_folder("full.store"), 1, &pipe_end);
    const int more = end_batch(again, pipe_end, &status);
    assert_true(more > 0 && more < 36);
    char *dump = dump_of(in_folder("full.store"));
    assert_string_equal(dump, whole);
    free(dump);
    free(whole);
}

/* After a request to stop before the first coupon nothing is pressed, and the batch says so. */
static void test_interrupt(void **state)
{
    (void)state;
    volatile sig_atomic_t stop = 1;
    sp_context context = {.interrupt = &stop};
    sp_store *store;
    sp_batch_report report;
    sp_plan *plan = parse(tiny_plan);
    assert_int_equal(sp_store_open(&context, in_folder("stop.store"), SP_STORE_WRITE, &store),
                     SP_OK);
    assert_int_equal(sp_batch_press(&context, plan, store, 1, &report), SP_INTERRUPTED);
    assert_string_equal(context.message,
                        "interrupted while the coupons were listed; nothing was pressed");
    assert_int_equal(report.pressed, 0);
    sp_store_close(store);
    sp_plan_free(plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hash),
        cmocka_unit_test(test_combinations),
        cmocka_unit_test(test_ranges),
        cmocka_unit_test(test_conditions),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_plan_without_memory),
        cmocka_unit_test(test_keys),
        cmocka_unit_test(test_file_keys),
        cmocka_unit_test(test_threads_do_not_matter),
        cmocka_unit_test(test_kill),
        cmocka_unit_test(test_two_batches),
        cmocka_unit_test(test_wrong_stores),
        cmocka_unit_test(test_migration),
        cmocka_unit_test(test_full_disk),
        cmocka_unit_test(test_interrupt), /* last: it starts threads in this program */
    };
    return cmocka_run_group_tests(tests, make_store_folder, remove_store_folder);
}
