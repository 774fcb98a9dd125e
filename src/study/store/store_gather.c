/* Bring the coupons of one store into another. */
#include "store/store_parts.h"

#include <string.h>

/* Name here each table that is added to the store, so that it is gathered. */
enum { MEASURES, CURVE, READ_COUNT };
enum { PUT_COUPON, PUT_NAME, PUT_MEASURE, PUT_CURVE, FIND, STATEMENT_COUNT };
/* Columns of the table `coupons`. */
enum { KEY = 0, PROGRAM = 3, SETTINGS = 4, OUTCOME = 5, COPIED_COLUMNS = 9, ID = 9 };
enum { TOLD_MAX = 10, DIFFERENCE_SIZE = 160, VALUE_SIZE = 40 };

static const char coupons[] = "SELECT key, family, flaw_seed, program, settings, outcome, reason,"
                              " cautions, seconds, id FROM coupon ORDER BY key, settings";

static const char *const reads[READ_COUNT] = {SP_SQL_MEASURES, SP_SQL_CURVE};

static const char *const statements[STATEMENT_COUNT] = {
    SP_SQL_PUT_COUPON, SP_SQL_PUT_NAME, SP_SQL_PUT_MEASURE, SP_SQL_PUT_CURVE,
    "SELECT id, outcome FROM coupon WHERE key = ? AND program = ? AND settings = ?"};

typedef struct gatherer {
    sp_context *context;
    sp_store *into, *from;
    sp_gather_report *report;
    /* The reader goes through the coupons of `from`; its transaction stays open while it stands on
     * a row. */
    sqlite3_stmt *coupon;
    sqlite3_stmt *there[READ_COUNT];   /* of from */
    sqlite3_stmt *here[READ_COUNT];    /* of into */
    sqlite3_stmt *in[STATEMENT_COUNT]; /* of into */
} gatherer;

static sp_status prepare(gatherer *g)
{
    sp_status status = sp_store_prepare(g->context, g->from, coupons, SP_NO_READ, &g->coupon);
    for (int i = 0; i < READ_COUNT && status == SP_OK; i++) {
        status = sp_store_prepare(g->context, g->from, reads[i], SP_NO_READ, &g->there[i]);
        if (status == SP_OK)
            status = sp_store_prepare(g->context, g->into, reads[i], SP_NO_READ, &g->here[i]);
    }
    for (int i = 0; i < STATEMENT_COUNT && status == SP_OK; i++)
        status = sp_store_prepare(g->context, g->into, statements[i], SP_NO_WRITE, &g->in[i]);
    return status;
}

static void finalize(gatherer *g)
{
    sqlite3_finalize(g->coupon);
    for (int i = 0; i < READ_COUNT; i++) {
        sqlite3_finalize(g->there[i]);
        sqlite3_finalize(g->here[i]);
    }
    for (int i = 0; i < STATEMENT_COUNT; i++) sqlite3_finalize(g->in[i]);
}

/* Set *found to 1 when there is a row. */
static sp_status step_read(gatherer *g, sp_store *store, sqlite3_stmt *query, int *found)
{
    const int code = sqlite3_step(query);
    *found = code == SQLITE_ROW;
    return *found || code == SQLITE_DONE ? SP_OK : sp_store_fail(g->context, store, SP_NO_READ);
}

static sp_status step_put(gatherer *g, sqlite3_stmt *insert)
{
    const int done = sqlite3_step(insert) == SQLITE_DONE;
    sp_status status = done ? SP_OK : sp_store_fail(g->context, g->into, SP_NO_WRITE);
    sqlite3_reset(insert);
    return status;
}

static void begin_read(sqlite3_stmt *query, sqlite3_int64 coupon)
{
    sqlite3_reset(query);
    sqlite3_bind_int64(query, 1, coupon);
}

/* ---- a coupon that `into` does not have -------------------------------------------------- */

static sp_status copy_measures(gatherer *g, sqlite3_int64 coupon)
{
    int found = 1;
    sqlite3_stmt *read = g->there[MEASURES];
    sp_status status = step_read(g, g->from, read, &found);
    while (status == SP_OK && found) {
        sqlite3_bind_value(g->in[PUT_NAME], 1, sqlite3_column_value(read, 0));
        status = step_put(g, g->in[PUT_NAME]);
        sqlite3_bind_value(g->in[PUT_MEASURE], 1, sqlite3_column_value(read, 0));
        sqlite3_bind_int64(g->in[PUT_MEASURE], 2, coupon);
        sqlite3_bind_value(g->in[PUT_MEASURE], 3, sqlite3_column_value(read, 1));
        if (status == SP_OK) status = step_put(g, g->in[PUT_MEASURE]);
        if (status == SP_OK) status = step_read(g, g->from, read, &found);
    }
    return status;
}

static sp_status copy_curve(gatherer *g, sqlite3_int64 coupon)
{
    int found;
    sp_status status = step_read(g, g->from, g->there[CURVE], &found);
    if (status != SP_OK || !found) return status;
    sqlite3_bind_int64(g->in[PUT_CURVE], 1, coupon);
    sqlite3_bind_value(g->in[PUT_CURVE], 2, sqlite3_column_value(g->there[CURVE], 0));
    return step_put(g, g->in[PUT_CURVE]);
}

static sp_status copy_coupon(gatherer *g)
{
    for (int i = 0; i < COPIED_COLUMNS; i++)
        sqlite3_bind_value(g->in[PUT_COUPON], i + 1, sqlite3_column_value(g->coupon, i));
    sp_status status = step_put(g, g->in[PUT_COUPON]);
    const sqlite3_int64 coupon = sqlite3_last_insert_rowid(g->into->base);
    if (status == SP_OK) status = copy_measures(g, coupon);
    if (status == SP_OK) status = copy_curve(g, coupon);
    g->report->added += status == SP_OK;
    return status;
}

/* ---- a coupon that both stores have ------------------------------------------------------ */

static void value_text(sqlite3_stmt *row, char text[VALUE_SIZE])
{
    if (sqlite3_column_type(row, 1) == SQLITE_NULL)
        snprintf(text, VALUE_SIZE, "not reached");
    else
        snprintf(text, VALUE_SIZE, "%.17g", sqlite3_column_double(row, 1));
}

/* Both lists are in the order of the names. */
static sp_status compare_measures(gatherer *g, char difference[DIFFERENCE_SIZE])
{
    int here = 1, there = 1;
    sqlite3_stmt *source = g->there[MEASURES], *target = g->here[MEASURES];
    while (!difference[0]) {
        char in_target[VALUE_SIZE], in_source[VALUE_SIZE];
        sp_status status = step_read(g, g->from, source, &there);
        if (status == SP_OK) status = step_read(g, g->into, target, &here);
        if (status != SP_OK) return status;
        if (!here && !there) break;
        if (here != there || strcmp(sp_store_text(source, 0), sp_store_text(target, 0))) {
            snprintf(difference, DIFFERENCE_SIZE, "they have different measures");
            break;
        }
        value_text(source, in_source);
        value_text(target, in_target);
        if (strcmp(in_source, in_target))
            snprintf(difference, DIFFERENCE_SIZE, "%s is %s there and %s here",
                     sp_store_text(source, 0), in_source, in_target);
    }
    return SP_OK;
}

static sp_status compare_curves(gatherer *g, char difference[DIFFERENCE_SIZE])
{
    int here, there;
    sqlite3_stmt *source = g->there[CURVE], *target = g->here[CURVE];
    sp_status status = step_read(g, g->from, source, &there);
    if (status == SP_OK) status = step_read(g, g->into, target, &here);
    if (status != SP_OK || (!here && !there)) return status;
    const int size = there ? sqlite3_column_bytes(source, 0) : -1;
    const int same = here && there && size == sqlite3_column_bytes(target, 0) &&
                     (size == 0 || !memcmp(sqlite3_column_blob(source, 0),
                                           sqlite3_column_blob(target, 0), (size_t)size));
    if (!same) snprintf(difference, DIFFERENCE_SIZE, "the curves differ");
    return SP_OK;
}

/* Reason and cautions are not compared: they are words, and contain the name of the plan. */
static sp_status compare_coupon(gatherer *g, sqlite3_int64 here)
{
    char difference[DIFFERENCE_SIZE] = "";
    const int outcome = sqlite3_column_int(g->coupon, OUTCOME);
    const int kept = sqlite3_column_int(g->in[FIND], 1);
    sp_status status = SP_OK;
    if (outcome != kept)
        snprintf(difference, sizeof difference, "its outcome is %d there and %d here", outcome,
                 kept);
    begin_read(g->here[MEASURES], here);
    begin_read(g->here[CURVE], here);
    if (!difference[0]) status = compare_measures(g, difference);
    if (status == SP_OK && !difference[0]) status = compare_curves(g, difference);
    if (status != SP_OK) return status;
    g->report->same += !difference[0];
    g->report->different += !!difference[0];
    if (difference[0] && g->report->different <= TOLD_MAX)
        sp_warn(g->context, "coupon %s of %s differs from the one in %s: %s; each keeps its own",
                sp_store_text(g->coupon, KEY), g->from->file, g->into->file, difference);
    return SP_OK;
}

/* ---- all coupons ------------------------------------------------------------------------- */

static sp_status gather_one(gatherer *g)
{
    static const int known_by[] = {KEY, PROGRAM, SETTINGS};
    int found = 0;
    sqlite3_stmt *find = g->in[FIND];
    for (int i = 0; i < READ_COUNT; i++)
        begin_read(g->there[i], sqlite3_column_int64(g->coupon, ID));
    sqlite3_reset(find);
    for (int i = 0; i < 3; i++)
        sqlite3_bind_value(find, i + 1, sqlite3_column_value(g->coupon, known_by[i]));
    sp_status status = step_read(g, g->into, find, &found);
    if (status != SP_OK) return status;
    return found ? compare_coupon(g, sqlite3_column_int64(find, 0)) : copy_coupon(g);
}

static sp_status gather_all(gatherer *g)
{
    int found = 0;
    sp_status status = prepare(g);
    if (status == SP_OK) status = step_read(g, g->from, g->coupon, &found);
    while (status == SP_OK && found) {
        if (g->context->interrupt && *g->context->interrupt)
            return sp_fail(g->context, SP_INTERRUPTED,
                           "interrupted: nothing of %s is gathered; the stores before it are",
                           g->from->file);
        status = gather_one(g);
        if (status == SP_OK) status = step_read(g, g->from, g->coupon, &found);
    }
    return status;
}

sp_status sp_store_check_program(sp_context *context, sp_store *store)
{
    sqlite3_stmt *query = NULL;
    sp_status status =
        sp_store_prepare(context, store, "SELECT program FROM coupon WHERE program <> ? LIMIT 1",
                         SP_NO_READ, &query);
    if (status == SP_OK) sqlite3_bind_text(query, 1, sp_version(), -1, SQLITE_STATIC);
    const int code = status == SP_OK ? sqlite3_step(query) : SQLITE_DONE;
    if (code == SQLITE_ROW)
        status = sp_fail(context, SP_NO_READ,
                         "%s: received coupons of strutpress %s; valid: a store with coupons of "
                         "this version, %s, alone",
                         store->file, sp_store_text(query, 0), sp_version());
    else if (code != SQLITE_DONE)
        status = sp_store_fail(context, store, SP_NO_READ);
    sqlite3_finalize(query);
    return status;
}

sp_status sp_store_gather(sp_context *context, sp_store *into, sp_store *from,
                          sp_gather_report *report)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    gatherer g = {.context = context, .into = into, .from = from, .report = report};
    memset(report, 0, sizeof *report);
    sp_status status = sp_store_check_program(context, from);
    if (status == SP_OK) status = sp_store_begin(context, into);
    if (status != SP_OK) return status;
    status = gather_all(&g);
    finalize(&g);
    status = sp_store_end(context, into, status);
    if (status != SP_OK) memset(report, 0, sizeof *report);
    return status;
}
