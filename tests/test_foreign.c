/* Files from anywhere: what is not a whole store of ours is refused before it is believed or written to, a store is a file
 * whatever its name, and a coupon is known by the content of its files whatever their size. */
#include "check.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <strutpress/batch.h>
#include <strutpress/compare.h>
#include <strutpress/report.h>
#include <strutpress/store.h>

#include "base/alloc.h"
#include "store_folder.h"

static const char plan_text[] = "case:\n"
                                "  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n"
                                "  press: {strain: 4 %, steps: 2, find_critical: no}\n"
                                "axes:\n"
                                "  bead.walls: [1, 9]\n"; /* nine do not fit: a row with a reason */

static void press_into(const char *name)
{
    sp_context context = {0};
    sp_plan *plan;
    sp_store *store;
    sp_batch_report report;
    if (sp_plan_parse(&context, "p.yaml", plan_text, strlen(plan_text), &plan) != SP_OK ||
        sp_store_open(&context, in_folder(name), SP_STORE_WRITE, &store) != SP_OK ||
        sp_batch_press(&context, plan, store, 1, &report) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(report.planned, 2);
    sp_store_close(store);
    sp_plan_free(plan);
}

/* The bytes of a file and of the log beside it. */
static char *bytes_of(const char *name, size_t *size)
{
    FILE *stream = fopen(in_folder(name), "rb");
    assert_non_null(stream);
    assert_int_equal(fseek(stream, 0, SEEK_END), 0);
    *size = (size_t)ftell(stream);
    rewind(stream);
    char *bytes = malloc(*size + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, *size, stream), *size);
    fclose(stream);
    return bytes;
}

static void write_bytes(const char *name, const char *bytes, size_t size)
{
    FILE *stream = fopen(in_folder(name), "wb");
    assert_non_null(stream);
    assert_int_equal(fwrite(bytes, 1, size, stream), size);
    assert_int_equal(fclose(stream), 0);
}

static void expect_refused(const char *name, const char *words)
{
    size_t size, after_size;
    char *before = bytes_of(name, &size);
    const long blocks = sp_alloc_count();
    for (int mode = SP_STORE_READ; mode <= SP_STORE_WRITE; mode++) {
        sp_context context = {0};
        sp_store *store;
        const sp_status status =
            sp_store_open(&context, in_folder(name), (sp_store_mode)mode, &store);
        assert_null(store);
        if (status != SP_NO_READ || !strstr(context.message, words))
            fail_msg("status %d: '%s' lacks '%s'", (int)status, context.message, words);
    }
    char *after = bytes_of(name, &after_size);
    assert_int_equal(size, after_size);
    assert_memory_equal(before, after, size); /* nothing was written to it */
    assert_int_equal(sp_alloc_count(), blocks);
    free(before);
    free(after);
}

/* Recreates a table without what its columns must meet, and writes the old words over the new ones. */
#define LOOSEN(table, columns)                                                                     \
    "CREATE TEMP TABLE kept AS SELECT sql FROM sqlite_schema WHERE name = '" table "';"            \
    "DROP TABLE " table "; CREATE TABLE " table " (" columns ");"                                  \
    "PRAGMA writable_schema = ON;"                                                                 \
    "UPDATE sqlite_schema SET sql = (SELECT sql FROM temp.kept) WHERE name = '" table "';"

static const struct {
    const char *sql, *words;
} sabotage[] = {
    {"UPDATE coupon SET id = -5000000 WHERE outcome = 0", "coupon.id: received '-5000000'"},
    {"UPDATE coupon SET id = 9223372036854775807 WHERE outcome = 0", "coupon.id: received '9223"},
    {"UPDATE coupon SET id = 9000000000000 WHERE outcome = 0", "coupon.id: received '9000"},
    {"UPDATE coupon SET key = upper(key)", "coupon.key: received"},
    {"UPDATE coupon SET key = x'00112233445566778899aabbccddeeff'", "coupon.key: received"},
    {"UPDATE coupon SET family = substr(family, 2)", "coupon.family: received"},
    {"UPDATE coupon SET flaw_seed = -1", "coupon.flaw_seed: received '-1'"},
    {"UPDATE coupon SET flaw_seed = 1.5", "coupon.flaw_seed: received '1.5'"},
    {"UPDATE coupon SET program = '0.6.0' || char(27) || '[2J'", "coupon.program: received"},
    {"UPDATE coupon SET program = '0.6.0 of a very long name that has no end'", "coupon.program"},
    {"UPDATE coupon SET settings = settings || char(27)", "coupon.settings: received"},
    {"UPDATE coupon SET settings = settings || char(0)", "coupon.settings: received"},
    {"UPDATE coupon SET settings = replace(hex(zeroblob(10000)), '00', 'ab')", "coupon.settings"},
    {"UPDATE coupon SET outcome = 'well'", "coupon.outcome: received 'well'"},
    {"UPDATE coupon SET reason = 'a' || char(10) || 'b'", "coupon.reason: received"},
    {"UPDATE coupon SET seconds = 9e999", "coupon.seconds: received 'Inf'"},
    {"UPDATE measure_name SET name = name || char(27)", "measure_name.name: received"},
    {"UPDATE measure SET value = -9e999", "measure.value: received '-Inf'"},
    {"UPDATE measure SET value = 'heavy'", "measure.value: received 'heavy'"},
    {"UPDATE measure SET coupon = coupon + 7", "measure.coupon: received"},
    {"DELETE FROM measure_name WHERE name = 'mass'", "measure.name: received"},
    {"UPDATE curve SET coupon = coupon + 7", "curve.coupon: received"},
    {"UPDATE curve SET points = substr(points, 2)", "curve.points: received"},
    {"UPDATE curve SET points = 'a line'", "curve.points: received 'a line'"},
    /* not a number, in place of the first strain */
    {"UPDATE curve SET points = CAST(x'000000000000f87f' || substr(points, 9) AS BLOB)",
     "curve.points: received"},
    {"PRAGMA user_version = -5", "store of format -5; valid: formats 1 .. "},
    {"PRAGMA user_version = 0", "store of format 0; valid: formats 1 .. "},
    {"CREATE TRIGGER t AFTER INSERT ON coupon BEGIN DELETE FROM coupon; END", "'trigger t'"},
    {"CREATE VIEW v AS SELECT 1", "'view v'"},
    {"CREATE TABLE more (a)", "'table more'"},
    {"ALTER TABLE curve ADD COLUMN twice AS (coupon * 2)", "'table curve'"},
    {"DROP INDEX coupon_family", "tables: received"},
    {"DROP TABLE curve", "tables: received"},
    {"DROP TABLE curve; CREATE VIEW curve AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i +"
     " 1 FROM n) SELECT i AS coupon, x'' AS points FROM n",
     "tables: received"},
    {LOOSEN("curve",
            "coupon INTEGER PRIMARY KEY, points BLOB") "INSERT INTO curve VALUES (1, NULL)",
     "pages: received 'NULL value in curve.points'"},
};

static void test_sabotage(void **state)
{
    size_t size;
    (void)state;
    press_into("sound.store");
    char *sound = bytes_of("sound.store", &size);
    for (size_t i = 0; i < sizeof sabotage / sizeof sabotage[0]; i++) {
        write_bytes("wrong.store", sound, size);
        change_store(in_folder("wrong.store"), "PRAGMA journal_mode = DELETE");
        change_store(in_folder("wrong.store"), sabotage[i].sql);
        expect_refused("wrong.store", sabotage[i].words);
    }
    free(sound);
}

/* Whatever page is overwritten, and with what: a store that is opened can be read to its end by everything that reads one. */
static void read_all(const char *name)
{
    sp_context context = {0};
    sp_store *store, *into;
    sp_compare *found = NULL;
    sp_gather_report gathered;
    sp_report_summary summary;
    const sp_compare_options how = {0};
    const sp_report_options page = {.states = 0};
    FILE *sink = fopen("/dev/null", "w");
    assert_non_null(sink);
    if (sp_store_open(&context, in_folder(name), SP_STORE_READ, &store) == SP_OK) {
        sp_store_dump(&context, store, sink);
        if (sp_compare_read(&context, store, &how, &found) == SP_OK)
            sp_compare_table(&context, found, sink);
        sp_compare_free(found);
        sp_report_store(&context, store, &page, in_folder("page.html"), &summary);
        assert_int_equal(sp_store_open(&context, "", SP_STORE_MEMORY, &into), SP_OK);
        sp_store_gather(&context, into, store, &gathered);
        sp_store_close(into);
        sp_store_close(store);
    }
    fclose(sink);
}

static void test_overwritten(void **state)
{
    static const unsigned char values[] = {0x00, 0x01, 0x0d, 0x7f, 0x80, 0xff};
    size_t size;
    (void)state;
    press_into("sound.store");
    change_store(in_folder("sound.store"), "PRAGMA journal_mode = DELETE");
    char *sound = bytes_of("sound.store", &size);
    unsigned random = 12345;
    for (int i = 0; i < 400; i++) {
        random = random * 1103515245u + 12345u;
        const size_t page = (random >> 8) % (size / 4096) * 4096, at = page + (random >> 20) % 128;
        const char kept = sound[at];
        sound[at] = (char)values[(unsigned)i % sizeof values];
        write_bytes("wrong.store", sound, size);
        read_all("wrong.store");
        sound[at] = kept;
    }
    free(sound);
}

/* ---- a store is a file ----------------------------------------------------------------------------------------- */

static void test_names(void **state)
{
    static const char *const names[] = {":memory:", "file:x?mode=memory", "file::memory:", "a%20b",
                                        "c?immutable=1"};
    char back[512];
    (void)state;
    assert_non_null(getcwd(back, sizeof back));
    assert_int_equal(chdir(store_folder), 0);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        sp_context context = {0};
        sp_store *store;
        struct stat about;
        if (sp_store_open(&context, names[i], SP_STORE_WRITE, &store) != SP_OK)
            fail_msg("%s", context.message);
        sp_store_close(store);
        assert_int_equal(stat(names[i], &about), 0);
        assert_true(about.st_size > 0);
        assert_int_equal(sp_store_open(&context, names[i], SP_STORE_READ, &store), SP_OK);
        sp_store_close(store);
    }
    assert_int_equal(chdir(back), 0);
}

static void test_no_file(void **state)
{
    sp_context context = {0};
    sp_store *store;
    (void)state;
    assert_int_equal(mkfifo(in_folder("pipe"), 0600), 0);
    assert_int_equal(sp_store_open(&context, in_folder("pipe"), SP_STORE_READ, &store), SP_NO_READ);
    assert_non_null(strstr(context.message, "no regular file"));
    assert_int_equal(sp_store_open(&context, "/dev/zero", SP_STORE_READ, &store), SP_NO_READ);
    assert_int_equal(sp_store_open(&context, "", SP_STORE_WRITE, &store), SP_NO_WRITE);
}

/* ---- content of files ------------------------------------------------------------------------------------------ */

/* Larger than any buffer, and different in its last byte alone: another coupon. */
static void test_large_file(void **state)
{
    enum { SIZE = 136 << 20 };
    sp_context context = {0};
    sp_case request;
    sp_resolved one, two;
    (void)state;
    sp_case_default(&request);
    snprintf(request.table_file, sizeof request.table_file, "%s", in_folder("large.csv"));
    const int file = open(request.table_file, O_WRONLY | O_CREAT, 0600);
    assert_true(file >= 0);
    assert_int_equal(ftruncate(file, SIZE), 0);
    assert_int_equal(sp_store_resolve(&context, &request, &one), SP_OK);
    assert_non_null(strstr(one.text, "large.csv 142606336 bytes "));
    assert_int_equal(pwrite(file, "1", 1, SIZE - 1), 1);
    close(file);
    assert_int_equal(sp_store_resolve(&context, &request, &two), SP_OK);
    assert_string_not_equal(one.key, two.key);
    remove(request.table_file);
}

static void test_unreadable_file(void **state)
{
    static const char *const files[] = {"/nowhere/table.csv", "/tmp", "/dev/zero"};
    (void)state;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        sp_context context = {0};
        sp_case request;
        sp_resolved resolved;
        sp_case_default(&request);
        strcpy(request.table_file, files[i]);
        assert_int_equal(sp_store_resolve(&context, &request, &resolved), SP_NO_READ);
        assert_non_null(strstr(context.message, files[i]));
        assert_non_null(strstr(context.message, "material.table"));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sabotage),   cmocka_unit_test(test_overwritten),
        cmocka_unit_test(test_names),      cmocka_unit_test(test_no_file),
        cmocka_unit_test(test_large_file), cmocka_unit_test(test_unreadable_file),
    };
    return cmocka_run_group_tests(tests, make_store_folder, remove_store_folder);
}
