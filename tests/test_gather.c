/* These tests press a plan in shares, each into a store of its own, and gather the stores: nothing
 * is pressed twice, nothing is lost, and the bytes are equal. */
#include "check.h"

#include <signal.h>
#include <sqlite3.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/alloc.h"
#include "batch/plan_parts.h"
#include "store_folder.h"

static const char small_plan[] =
    "case:\n"
    "  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n"
    "  bead: {walls: 1}\n"
    "  press: {strain: 10 %, steps: 6, find_critical: no}\n"
    "axes:\n"
    "  infill.pattern: [square, 4.4.4.4, triangular]\n" /* the second is the first again */
    "  infill.density: {from: 24 %, to: 36 %, step: 4 %}\n"
    "  bead.walls: [1, 9]\n" /* nine do not fit: rows with a reason */
    "seeds: 2\n";
enum { COUPONS = 2 * 4 * 2 * 2 };

static sp_plan *parse(void)
{
    sp_context context = {0};
    sp_plan *plan;
    if (sp_plan_parse(&context, "p.yaml", small_plan, strlen(small_plan), &plan) != SP_OK)
        fail_msg("%s", context.message);
    return plan;
}

static sp_plan *share_of(int share, int shares)
{
    sp_context context = {0};
    sp_plan *plan = parse();
    if (sp_plan_share(&context, plan, share, shares) != SP_OK) fail_msg("%s", context.message);
    return plan;
}

/* ---- shares ----------------------------------------------- */

static void list(const sp_plan *plan, plan_job **job, int *count)
{
    sp_context context = {0};
    assert_int_equal(sp_plan_list_jobs(&context, plan, job, count), SP_OK);
}

/* Every coupon is in one share, under its number, and no share has more work than another by more
 * than one coupon. */
static void check_deal(int shares)
{
    sp_plan *whole = parse();
    plan_job *all, *job;
    int all_count, count, given = 0;
    double least = INFINITY, most = 0;
    list(whole, &all, &all_count);
    assert_int_equal(all_count, COUPONS);
    for (int s = 1; s <= shares; s++) {
        double work = 0;
        sp_plan *plan = share_of(s, shares);
        assert_int_equal(sp_plan_left_out(plan), 0);
        list(plan, &job, &count);
        assert_int_equal(count, sp_plan_count(plan)); /* equal coupons are gone already */
        for (int i = 0; i < count; i++) {
            int found = 0;
            for (int k = 0; k < all_count; k++) {
                if (strcmp(all[k].key, job[i].key)) continue;
                found = 1;
                assert_int_equal(sp_plan_number(plan, job[i].index), all[k].index + 1);
                all[k].key[0] = 0; /* a second one would not be found */
            }
            assert_int_equal(found, 1);
            work += job[i].work;
        }
        given += count;
        least = fmin(least, work);
        most = fmax(most, work);
        sp_free(job);
        sp_plan_free(plan);
    }
    assert_int_equal(given, COUPONS);
    assert_true(most - least <= all[0].work * (1 + 1e-12));
    sp_free(all);
    sp_plan_free(whole);
}

static void test_deal(void **state)
{
    (void)state;
    for (int shares = 1; shares <= COUPONS + 3; shares++) check_deal(shares);
}

static void test_no_such_share(void **state)
{
    static const int wrong[][2] = {{0, 4}, {5, 4}, {-1, 4}, {1, 0}};
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        sp_context context = {0};
        sp_plan *plan = parse();
        assert_int_equal(sp_plan_share(&context, plan, wrong[i][0], wrong[i][1]), SP_BAD_USAGE);
        assert_non_null(strstr(context.message, "valid: 1 .. "));
        assert_int_equal(sp_plan_count(plan), 3 * 4 * 2 * 2);
        sp_plan_free(plan);
    }
}

static void test_share_without_memory(void **state)
{
    (void)state;
    const long before = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_context context = {0};
        sp_plan *plan = parse();
        sp_alloc_fail_at(nth);
        const sp_status status = sp_plan_share(&context, plan, 2, 3);
        sp_alloc_fail_at(0);
        assert_int_equal(sp_plan_count(plan), status == SP_OK ? 11 : 3 * 4 * 2 * 2);
        sp_plan_free(plan);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
}

/* ---- gathering ----------------------------------------------- */

static sp_store *open_store(const char *name, sp_store_mode mode)
{
    sp_context context = {0};
    sp_store *store;
    if (sp_store_open(&context, in_folder(name), mode, &store) != SP_OK)
        fail_msg("%s", context.message);
    return store;
}

/* Press share `share` of `shares`, or the whole plan, into the store of that name. */
static void press(const char *name, int share, int shares)
{
    sp_context context = {0};
    sp_batch_report report;
    sp_plan *plan = shares ? share_of(share, shares) : parse();
    sp_store *store = open_store(name, SP_STORE_WRITE);
    if (sp_batch_press(&context, plan, store, 1, &report) != SP_OK) fail_msg("%s", context.message);
    assert_int_equal(report.pressed, report.planned);
    sp_store_close(store);
    sp_plan_free(plan);
}

static char told[4096];

static void keep_line(void *user, const char *line)
{
    (void)user;
    const size_t used = strlen(told);
    snprintf(told + used, sizeof told - used, "%s\n", line);
}

static sp_gather_report gather(const char *into_name, const char *from_name)
{
    sp_context context = {.warn = keep_line};
    sp_gather_report report;
    sp_store *into = open_store(into_name, SP_STORE_WRITE);
    sp_store *from = open_store(from_name, SP_STORE_READ);
    told[0] = 0;
    if (sp_store_gather(&context, into, from, &report) != SP_OK) fail_msg("%s", context.message);
    sp_store_close(from);
    sp_store_close(into);
    return report;
}

static void expect_report(sp_gather_report report, int added, int same, int different)
{
    assert_int_equal(report.added, added);
    assert_int_equal(report.same, same);
    assert_int_equal(report.different, different);
}

static void expect_dump(const char *name, const char *wanted)
{
    char *dump = dump_of(in_folder(name));
    assert_string_equal(dump, wanted);
    free(dump);
}

static void copy_file(const char *from, const char *to)
{
    char command[300];
    snprintf(command, sizeof command, "cp '%s' '%s'", in_folder(from), in_folder(to));
    assert_int_equal(system(command), 0);
}

/* The whole plan and its three shares are pressed once, for all tests below. */
static char *whole;
static const char *const shares[] = {"1.store", "2.store", "3.store"};
static int coupons_in[3];

static void press_all(void)
{
    if (whole) return;
    press("whole.store", 0, 0);
    whole = dump_of(in_folder("whole.store"));
    for (int i = 0; i < 3; i++) {
        sp_plan *plan = share_of(i + 1, 3);
        coupons_in[i] = sp_plan_count(plan);
        press(shares[i], i + 1, 3);
        sp_plan_free(plan);
    }
}

static void test_shares_are_the_whole(void **state)
{
    (void)state;
    press_all();
    assert_non_null(strstr(whole, "outcome 3\nreason p.yaml:8: "));
    for (int i = 2; i >= 0; i--) expect_report(gather("all.store", shares[i]), coupons_in[i], 0, 0);
    expect_dump("all.store", whole);
    /* Gathering again, from a store that has them all, and from the store itself, there is nothing
     * to do. */
    for (int i = 0; i < 3; i++) expect_report(gather("all.store", shares[i]), 0, coupons_in[i], 0);
    expect_report(gather("all.store", "whole.store"), 0, COUPONS, 0);
    expect_report(gather("all.store", "all.store"), 0, COUPONS, 0);
    expect_report(gather("1-copy.store", "1.store"), coupons_in[0], 0, 0);
    expect_report(gather("1-copy.store", "whole.store"), COUPONS - coupons_in[0], coupons_in[0], 0);
    expect_dump("1-copy.store", whole);
    expect_dump("all.store", whole);
}

static void test_empty_share(void **state)
{
    (void)state;
    press_all();
    press("none.store", COUPONS + 1, COUPONS + 2);
    expect_report(gather("from-none.store", "none.store"), 0, 0, 0);
}

/* One value differs in the source: the line says which, each store keeps its own, and the rest is
 * gathered. */
static void check_conflict(const char *change, const char *words)
{
    press_all();
    copy_file("1.store", "wrong.store");
    change_store(in_folder("wrong.store"), change);
    char *wrong = dump_of(in_folder("wrong.store"));
    unlink(in_folder("right.store"));
    expect_report(gather("right.store", "2.store"), coupons_in[1], 0, 0);
    expect_report(gather("right.store", "1.store"), coupons_in[0], 0, 0);
    expect_report(gather("right.store", "wrong.store"), 0, coupons_in[0] - 1, 1);
    if (!strstr(told, words)) fail_msg("'%s' lacks '%s'", told, words);
    expect_dump("wrong.store", wrong);
    expect_report(gather("right.store", "3.store"), coupons_in[2], 0, 0);
    expect_dump("right.store", whole);
    /* The other way round, the wrong value stays where it was first. */
    expect_report(gather("wrong.store", "1.store"), 0, coupons_in[0] - 1, 1);
    expect_dump("wrong.store", wrong);
    free(wrong);
}

#define ONE_PRESSED "(SELECT min(id) FROM coupon WHERE outcome = 0)"

static void test_conflicts(void **state)
{
    (void)state;
    check_conflict("UPDATE measure SET value = value * (1 + 2.3e-16) WHERE coupon = " ONE_PRESSED
                   " AND name = (SELECT id FROM measure_name WHERE name = 'mass')",
                   ": mass is 0.");
    check_conflict("UPDATE measure SET value = NULL WHERE coupon = " ONE_PRESSED
                   " AND name = (SELECT id FROM measure_name WHERE name = 'mass')",
                   ": mass is not reached there and 0.");
    check_conflict("DELETE FROM measure WHERE coupon = " ONE_PRESSED
                   " AND name = (SELECT id FROM measure_name WHERE name = 'mass')",
                   ": they have different measures");
    check_conflict("UPDATE curve SET points = substr(points, 41) WHERE coupon = " ONE_PRESSED,
                   ": the curves differ");
    check_conflict("UPDATE curve SET points ="
                   " CAST(substr(points, 1, length(points) - 1) || x'00' AS BLOB)"
                   " WHERE coupon = " ONE_PRESSED,
                   ": the curves differ");
    check_conflict("DELETE FROM curve WHERE coupon = " ONE_PRESSED, ": the curves differ");
    check_conflict("UPDATE coupon SET outcome = 8 WHERE id = " ONE_PRESSED,
                   ": its outcome is 8 there and 0 here");
}

/* Words do not count as figures: a plan under another name gives another reason. */
static void test_other_words(void **state)
{
    (void)state;
    press_all();
    copy_file("1.store", "words.store");
    change_store(in_folder("words.store"),
                 "UPDATE coupon SET reason = 'far/p.yaml:1: no', cautions = 'x', seconds = 1");
    expect_report(gather("words.store", "1.store"), 0, coupons_in[0], 0);
}

/* An equal hash of two cases would be two coupons. */
static void test_equal_keys(void **state)
{
    (void)state;
    press_all();
    copy_file("1.store", "twin.store");
    change_store(in_folder("twin.store"),
                 "UPDATE coupon SET settings = 'other' WHERE id = " ONE_PRESSED);
    expect_report(gather("twin.store", "1.store"), 1, coupons_in[0] - 1, 0);
}

static void test_other_versions(void **state)
{
    (void)state;
    press_all();
    sp_context context = {0};
    sp_gather_report report;
    copy_file("1.store", "old.store");
    change_store(in_folder("old.store"),
                 "UPDATE coupon SET program = '0.0.9' WHERE id = " ONE_PRESSED);
    sp_store *into = open_store("versions.store", SP_STORE_WRITE);
    sp_store *from = open_store("old.store", SP_STORE_READ);
    assert_int_equal(sp_store_gather(&context, into, from, &report), SP_NO_READ);
    assert_non_null(strstr(context.message, "old.store: received coupons of strutpress 0.0.9; "));
    assert_int_equal(report.added, 0);
    sp_store_close(from);
    sp_store_close(into);
    expect_dump("versions.store", "");
    /* Format 1 holds the same figures, without an index. */
    copy_file("1.store", "format-1.store");
    change_store(in_folder("format-1.store"), "DROP INDEX coupon_family; PRAGMA user_version = 1");
    expect_report(gather("versions.store", "format-1.store"), coupons_in[0], 0, 0);
}

/* Every table of a store is known to gather: one that it does not know would be lost silently. */
static void test_every_table(void **state)
{
    (void)state;
    press_all();
    sqlite3 *base;
    sqlite3_stmt *query;
    assert_int_equal(sqlite3_open(in_folder("whole.store"), &base), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(base,
                                        "SELECT group_concat(name, ' ') FROM (SELECT name FROM "
                                        "sqlite_schema WHERE type = 'table' ORDER BY name)",
                                        -1, &query, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_step(query), SQLITE_ROW);
    assert_string_equal((const char *)sqlite3_column_text(query, 0),
                        "coupon curve measure measure_name");
    sqlite3_finalize(query);
    sqlite3_close(base);
}

/* ---- ended half-way ----------------------------------------------- */

/* Gather in a child process with a limit on the size of files; returns its exit status. */
static int gather_within(const char *into_name, const char *from_name, rlim_t bytes)
{
    int status;
    fflush(NULL);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        const struct rlimit limit = {bytes, bytes};
        sp_context context = {0};
        sp_gather_report report;
        sp_store *into = open_store(into_name, SP_STORE_WRITE);
        sp_store *from = open_store(from_name, SP_STORE_READ);
        signal(SIGXFSZ, SIG_IGN);
        if (setrlimit(RLIMIT_FSIZE, &limit)) _exit(98);
        _exit(sp_status_exit(sp_store_gather(&context, into, from, &report)));
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

/* Wherever the disk is full: the store holds all of a source or nothing of it. */
static void test_all_or_nothing(void **state)
{
    (void)state;
    int refused = 0, done = 0;
    press_all();
    for (rlim_t bytes = 20000; !done; bytes = bytes * 5 / 4) {
        unlink(in_folder("small.store"));
        unlink(in_folder("small.store-wal"));
        unlink(in_folder("small.store-shm"));
        expect_report(gather("small.store", "2.store"), coupons_in[1], 0, 0);
        char *before = dump_of(in_folder("small.store"));
        const int status = gather_within("small.store", "1.store", bytes);
        char *after = dump_of(in_folder("small.store"));
        done = status == 0;
        if (!done) {
            assert_int_equal(status, sp_status_exit(SP_NO_WRITE));
            assert_string_equal(before, after);
            refused++;
        }
        free(before);
        free(after);
    }
    assert_true(refused > 0);
    expect_report(gather("small.store", "1.store"), 0, coupons_in[0], 0);
    expect_report(gather("small.store", "3.store"), coupons_in[2], 0, 0);
    expect_dump("small.store", whole);
}

static void test_interrupt(void **state)
{
    (void)state;
    press_all();
    volatile sig_atomic_t stop = 1;
    sp_context context = {.interrupt = &stop};
    sp_gather_report report;
    sp_store *into = open_store("stopped.store", SP_STORE_WRITE);
    sp_store *from = open_store("1.store", SP_STORE_READ);
    assert_int_equal(sp_store_gather(&context, into, from, &report), SP_INTERRUPTED);
    assert_non_null(strstr(context.message, "1.store is gathered"));
    sp_store_close(from);
    sp_store_close(into);
    expect_dump("stopped.store", "");
}

static int clean_up(void **state)
{
    free(whole);
    return remove_store_folder(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_deal),
        cmocka_unit_test(test_no_such_share),
        cmocka_unit_test(test_share_without_memory),
        cmocka_unit_test(test_shares_are_the_whole),
        cmocka_unit_test(test_empty_share),
        cmocka_unit_test(test_conflicts),
        cmocka_unit_test(test_other_words),
        cmocka_unit_test(test_equal_keys),
        cmocka_unit_test(test_other_versions),
        cmocka_unit_test(test_every_table),
        cmocka_unit_test(test_all_or_nothing),
        cmocka_unit_test(test_interrupt),
    };
    return cmocka_run_group_tests(tests, make_store_folder, clean_up);
}
