/* This target runs the store reader and all that reads stores: dump, compare, report, gather. A
 * sound store is spoilt, and is then either refused in one line or read to its end, with finite
 * figures only.
 *
 * The first byte picks how the store is spoilt: 0 .. 84 overwrites bytes of its pages (page, offset
 * high, offset low, length, bytes, again ...); 85 .. 169 puts values into rows (column, kind,
 * length, bytes, again ...); from 170 on the rest is SQL that is run on it. Its lowest bits pick
 * who reads the store then. */
#include <sqlite3.h>

#include <strutpress/batch.h>
#include <strutpress/compare.h>
#include <strutpress/report.h>
#include <strutpress/store.h>

#include "fuzz.h"

enum { PAGE = 4096, STEPS_MAX = 20000 };

static unsigned char *sound;
static size_t sound_size;
static fuzz_file store_file;
static char page[80];

static const char *const columns[] = {
    "coupon SET id",       "coupon SET key",      "coupon SET family",   "coupon SET flaw_seed",
    "coupon SET program",  "coupon SET settings", "coupon SET outcome",  "coupon SET reason",
    "coupon SET cautions", "coupon SET seconds",  "measure_name SET id", "measure_name SET name",
    "measure SET name",    "measure SET coupon",  "measure SET value",   "curve SET coupon",
    "curve SET points",
};
enum { COLUMN_COUNT = sizeof columns / sizeof columns[0] };

static void write_file(const unsigned char *bytes, size_t size)
{
    fuzz_put(&store_file, ".store", bytes, size);
}

/* Make a store of two pressed coupons, one of which has a reason instead of a curve. */
static void make_sound(void)
{
    static const char plan_text[] =
        "case:\n  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n"
        "  press: {strain: 4 %, steps: 2, find_critical: no}\naxes:\n  bead.walls: [1, 9]\n";
    sp_context context = {0};
    sp_plan *plan;
    sp_store *store;
    sp_batch_report report;
    sqlite3 *base;
    sqlite3_config(SQLITE_CONFIG_SINGLETHREAD); /* locks of every call are not tested here */
    write_file((const unsigned char *)"", 0);
    const char *file = store_file.name;
    snprintf(page, sizeof page, "%s.html", file);
    require(sp_plan_parse(&context, "p", plan_text, sizeof plan_text - 1, &plan) == SP_OK);
    require(sp_store_open(&context, file, SP_STORE_WRITE, &store) == SP_OK);
    require(sp_batch_press(&context, plan, store, 1, &report) == SP_OK && report.pressed == 2);
    sp_store_close(store);
    sp_plan_free(plan);
    require(sqlite3_open(store_file.name, &base) == SQLITE_OK);
    require(sqlite3_exec(base, "PRAGMA journal_mode = DELETE", NULL, NULL, NULL) == SQLITE_OK);
    sqlite3_close(base);
    FILE *stream = fopen(file, "rb");
    require(stream && fseek(stream, 0, SEEK_END) == 0);
    sound_size = (size_t)ftell(stream);
    rewind(stream);
    sound = malloc(sound_size);
    require(sound && fread(sound, 1, sound_size, stream) == sound_size);
    fclose(stream);
}

static void spoil_pages(const unsigned char *data, size_t size)
{
    unsigned char *bytes = malloc(sound_size);
    require(bytes != NULL);
    memcpy(bytes, sound, sound_size);
    while (size > 4) {
        size_t at = data[0] % (sound_size / PAGE) * PAGE + (data[1] % 16 * 256u + data[2]);
        size_t count = 1 + data[3] % 16;
        data += 4, size -= 4;
        for (; count && size; count--, data++, size--)
            if (at < sound_size) bytes[at++] = *data;
    }
    write_file(bytes, sound_size);
    free(bytes);
}

/* Stop SQL that does not end. */
static int count_steps(void *left)
{
    return --*(int *)left < 0;
}

static void spoil_rows(const unsigned char *data, size_t size)
{
    char sql[128];
    sqlite3 *base;
    write_file(sound, sound_size);
    require(sqlite3_open(store_file.name, &base) == SQLITE_OK);
    sqlite3_exec(base, "PRAGMA synchronous = OFF; PRAGMA journal_mode = MEMORY", NULL, NULL, NULL);
    while (size > 3) {
        sqlite3_stmt *update = NULL;
        const int kind = data[1] % 5;
        int count = data[2];
        snprintf(sql, sizeof sql, "UPDATE %s = ? WHERE rowid %% 2 = %d",
                 columns[data[0] % COLUMN_COUNT], data[1] / 5 % 2);
        if (!strncmp(columns[data[0] % COLUMN_COUNT], "measure S", 9)) *strstr(sql, " WHERE") = 0;
        data += 3, size -= 3;
        if ((size_t)count > size) count = (int)size;
        if (sqlite3_prepare_v2(base, sql, -1, &update, NULL) == SQLITE_OK) {
            sqlite3_int64 whole = 0;
            double number;
            memcpy(&whole, data, count < 8 ? (size_t)count : 8);
            memcpy(&number, &whole, sizeof number);
            if (kind == 0) sqlite3_bind_text(update, 1, (const char *)data, count, SQLITE_STATIC);
            if (kind == 1) sqlite3_bind_blob(update, 1, data, count, SQLITE_STATIC);
            if (kind == 2) sqlite3_bind_int64(update, 1, whole);
            if (kind == 3) sqlite3_bind_double(update, 1, number);
            sqlite3_step(update);
        }
        sqlite3_finalize(update);
        data += count, size -= (size_t)count;
    }
    sqlite3_close(base);
}

static void spoil_with_sql(const unsigned char *data, size_t size)
{
    sqlite3 *base;
    int left = STEPS_MAX / 100;
    char *sql = malloc(size + 1);
    require(sql != NULL);
    memcpy(sql, data, size);
    sql[size] = 0;
    write_file(sound, sound_size);
    require(sqlite3_open(store_file.name, &base) == SQLITE_OK);
    sqlite3_exec(base, "PRAGMA synchronous = OFF; PRAGMA journal_mode = MEMORY", NULL, NULL, NULL);
    sqlite3_limit(base, SQLITE_LIMIT_ATTACHED, 0); /* no other file */
    sqlite3_limit(base, SQLITE_LIMIT_LENGTH, 1 << 20);
    sqlite3_progress_handler(base, 100, count_steps, &left);
    for (const char *at = sql; *at;) {
        sqlite3_stmt *one = NULL;
        if (sqlite3_prepare_v2(base, at, -1, &one, &at) != SQLITE_OK) break;
        while (one && sqlite3_step(one) == SQLITE_ROW) {
        }
        sqlite3_finalize(one);
    }
    sqlite3_close(base);
    free(sql);
}

static sp_status check_stored(void *user, const sp_stored *coupon)
{
    (void)user;
    require(coupon->id > 0 && strlen(coupon->key) == SP_KEY_SIZE - 1);
    require(strlen(coupon->program) < SP_PROGRAM_SIZE &&
            strlen(coupon->text) < SP_COUPON_TEXT_SIZE);
    return SP_OK;
}

static void dump(sp_context *context, sp_store *store)
{
    char *text = NULL;
    size_t size;
    FILE *stream = open_memstream(&text, &size);
    require(stream != NULL);
    require(sp_store_each(context, store, check_stored, NULL) == SP_OK);
    const sp_status status = sp_store_dump(context, store, stream);
    require_line(context->message, status != SP_OK);
    fclose(stream);
    require(!memchr(text, 27, size)); /* no escape reaches a terminal */
    free(text);
}

static void compare(sp_context *context, sp_store *store)
{
    const sp_compare_options how = {0};
    sp_compare *found = NULL;
    char *text = NULL;
    size_t size;
    FILE *stream = open_memstream(&text, &size);
    require(stream != NULL);
    const sp_status status = sp_compare_read(context, store, &how, &found);
    require_line(context->message, status != SP_OK);
    if (status == SP_OK) require(sp_compare_table(context, found, stream) == SP_OK);
    sp_compare_free(found);
    fclose(stream);
    require(!memchr(text, 27, size));
    free(text);
}

static void gather(sp_context *context, sp_store *store)
{
    sp_gather_report gathered;
    sp_store *into;
    require(sp_store_open(context, "", SP_STORE_MEMORY, &into) == SP_OK);
    const sp_status status = sp_store_gather(context, into, store, &gathered);
    require_line(context->message, status != SP_OK);
    sp_store_close(into);
}

static void report(sp_context *context, sp_store *store, int states)
{
    const sp_report_options look = {.states = states};
    sp_report_summary summary;
    const sp_status status = sp_report_store(context, store, &look, page, &summary);
    require(status == SP_OK || status == SP_GAVE_UP || context->message[0]);
}

static void remove_logs(void)
{
    static const char *const endings[] = {"-wal", "-shm", "-journal"};
    char log[80];
    for (int i = 0; i < 3; i++) {
        snprintf(log, sizeof log, "%s%s", store_file.name, endings[i]);
        remove(log);
    }
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    sp_context context = {0};
    sp_store *store;
    if (!sound) make_sound();
    if (size < 1) return 0;
    if (data[0] < 85)
        spoil_pages(data + 1, size - 1);
    else if (data[0] < 170)
        spoil_rows(data + 1, size - 1);
    else
        spoil_with_sql(data + 1, size - 1);
    const sp_status status = sp_store_open(&context, store_file.name, SP_STORE_READ, &store);
    require_line(context.message, status != SP_OK);
    require(status == SP_OK || status == SP_NO_READ);
    if (status == SP_OK && data[0] % 4 == 0)
        report(&context, store, data[0] == 84 && size < 16); /* seldom: a press takes long */
    else if (status == SP_OK)
        (data[0] % 4 == 1 ? dump : data[0] % 4 == 2 ? compare : gather)(&context, store);
    sp_store_close(store);
    context.message[0] = 0;
    if (data[0] / 4 % 2 &&
        sp_store_open(&context, store_file.name, SP_STORE_WRITE, &store) == SP_OK)
        sp_store_close(store);
    remove_logs();
    return 0;
}
