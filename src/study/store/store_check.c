/* Check that a file is a whole store of this program. Stores travel between people, so nothing in
 * one is believed before this check: its tables must be exactly those that the scripts of its
 * format make, its pages must be sound, and every value must have the kind and size that the
 * program writes. */
#include "store/store_parts.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"

enum {
    NUMBER_MOST = 2147483647, /* ids, seeds */
    OUTCOME_MOST = 255,       /* exit statuses */
    CAUTIONS_MOST = 65535,    /* bytes */
    POINT_BYTES = 40,         /* five doubles of a curve */
    SHOWN = 60                /* bytes of a value in the failure line */
};

static sp_status refuse(sp_context *context, const sp_store *store, const char *what,
                        const char *received, const char *valid)
{
    return sp_fail(
        context, SP_NO_READ,
        "%s: %s: received '%.*s'; valid: %s, as in a store that `strutpress batch` wrote",
        store->file, what, SHOWN, received, valid);
}

/* ---- tables ---------------------------------------------------------------------------------- */

static const char schema[] =
    "SELECT type, name, tbl_name, ifnull(sql, '') FROM sqlite_schema ORDER BY type, name";

/* Find what the scripts up to a format make, in a database of its own. */
static sp_status make_model(sp_context *context, const sp_store *store, int format, sqlite3 **model)
{
    int code = sqlite3_open_v2(":memory:", model, SQLITE_OPEN_READWRITE | SQLITE_OPEN_MEMORY, NULL);
    for (int i = 0; i < format && code == SQLITE_OK; i++)
        code = sqlite3_exec(*model, sp_store_migration(i), NULL, NULL, NULL);
    return code == SQLITE_OK ? SP_OK
                             : sp_fail(context, SP_NO_MEMORY, "%s: out of memory", store->file);
}

static int same_row(sqlite3_stmt *left, sqlite3_stmt *right)
{
    for (int k = 0; k < 4; k++) {
        const char *a = (const char *)sqlite3_column_text(left, k);
        const char *b = (const char *)sqlite3_column_text(right, k);
        if (!a || !b || strcmp(a, b)) return 0;
    }
    return 1;
}

/* Compare two lists that are in the same order, and report the first difference. */
static sp_status compare_schemas(sp_context *context, sp_store *store, sqlite3_stmt *wanted,
                                 sqlite3_stmt *given)
{
    for (;;) {
        const int more = sqlite3_step(wanted), got = sqlite3_step(given);
        char name[SHOWN] = "nothing";
        if (got != SQLITE_ROW && got != SQLITE_DONE)
            return sp_store_fail(context, store, SP_NO_READ);
        if (more == SQLITE_DONE && got == SQLITE_DONE) return SP_OK;
        if (more == got && same_row(wanted, given)) continue;
        if (got == SQLITE_ROW) {
            const unsigned char *type = sqlite3_column_text(given, 0);
            const unsigned char *own = sqlite3_column_text(given, 1);
            snprintf(name, sizeof name, "%s %s", type ? (const char *)type : "?",
                     own ? (const char *)own : "?");
        }
        return refuse(context, store, "tables", name, "the tables and indices of its format alone");
    }
}

static sp_status check_schema(sp_context *context, sp_store *store, int format)
{
    sqlite3 *model = NULL;
    sqlite3_stmt *wanted = NULL, *given = NULL;
    sp_status status = make_model(context, store, format, &model);
    if (status == SP_OK && sqlite3_prepare_v2(model, schema, -1, &wanted, NULL) != SQLITE_OK)
        status = sp_fail(context, SP_NO_MEMORY, "%s: out of memory", store->file);
    if (status == SP_OK) status = sp_store_prepare(context, store, schema, SP_NO_READ, &given);
    if (status == SP_OK) status = compare_schemas(context, store, wanted, given);
    sqlite3_finalize(wanted);
    sqlite3_finalize(given);
    sqlite3_close(model);
    return status;
}

/* Run a pragma that answers with one word. */
static sp_status check_word(sp_context *context, sp_store *store, const char *pragma,
                            const char *what, const char *word, const char *valid)
{
    sqlite3_stmt *query = NULL;
    sp_status status = sp_store_prepare(context, store, pragma, SP_NO_READ, &query);
    if (status != SP_OK) return status;
    const int code = sqlite3_step(query);
    const unsigned char *text = code == SQLITE_ROW ? sqlite3_column_text(query, 0) : NULL;
    if (!text)
        status = sp_store_fail(context, store, SP_NO_READ);
    else if (strcmp((const char *)text, word))
        status = refuse(context, store, what, (const char *)text, valid);
    sqlite3_finalize(query);
    return status;
}

/* ---- values ---------------------------------------------------------------------------------- */

typedef enum { ID, WHOLE, NUMBER, KEY, NAME, LINE, LINES, CURVE } value_kind;

typedef struct column_rule {
    const char *name;
    value_kind kind;
    int least, most; /* value of a whole number, bytes of a text */
} column_rule;

enum { COLUMNS_MAX = 10 };
typedef struct table_rule {
    const char *name, *query; /* indices first, then the columns in this order */
    int count;
    column_rule column[COLUMNS_MAX];
} table_rule;

enum { COUPON_TABLE, NAME_TABLE, MEASURE_TABLE, CURVE_TABLE, TABLE_COUNT };
static const table_rule tables[TABLE_COUNT] = {
    {"coupon",
     "SELECT id, key, family, flaw_seed, program, settings, outcome, reason, cautions, seconds"
     " FROM coupon NOT INDEXED",
     10,
     {{"id", ID, 1, NUMBER_MOST},
      {"key", KEY, SP_KEY_SIZE - 1, SP_KEY_SIZE - 1},
      {"family", KEY, SP_KEY_SIZE - 1, SP_KEY_SIZE - 1},
      {"flaw_seed", WHOLE, 0, NUMBER_MOST},
      {"program", LINE, 1, SP_PROGRAM_SIZE - 1},
      {"settings", LINES, 1, SP_COUPON_TEXT_SIZE - 1},
      {"outcome", WHOLE, 0, OUTCOME_MOST},
      {"reason", LINE, 0, SP_MESSAGE_SIZE - 1},
      {"cautions", LINES, 0, CAUTIONS_MOST},
      {"seconds", NUMBER, 0, 0}}},
    {"measure_name",
     "SELECT id, name FROM measure_name NOT INDEXED",
     2,
     {{"id", ID, 1, NUMBER_MOST}, {"name", NAME, 1, SP_NAME_SIZE - 1}}},
    {"measure",
     "SELECT name, coupon, value FROM measure",
     3,
     {{"name", ID, 1, NUMBER_MOST}, {"coupon", ID, 1, NUMBER_MOST}, {"value", NUMBER, 0, 0}}},
    {"curve",
     "SELECT coupon, points FROM curve",
     2,
     {{"coupon", ID, 1, NUMBER_MOST}, {"points", CURVE, 0, 0}}},
};

static void valid_text(const column_rule *rule, char *text, size_t size)
{
    switch (rule->kind) {
    case ID:
    case WHOLE:
        snprintf(text, size, "a whole number %d .. %d", rule->least, rule->most);
        break;
    case NUMBER:
        snprintf(text, size, "a finite number or none");
        break;
    case KEY:
        snprintf(text, size, "%d hexadecimal digits", rule->most);
        break;
    case NAME:
        snprintf(text, size, "a name of small letters, digits and _, %d bytes at most", rule->most);
        break;
    case LINE:
    case LINES:
        snprintf(text, size, "text of %d .. %d bytes without control characters", rule->least,
                 rule->most);
        break;
    case CURVE:
        snprintf(text, size, "points of %d bytes with finite numbers", POINT_BYTES);
        break;
    }
}

static int is_good_byte(value_kind kind, unsigned char c)
{
    const int digit = c >= '0' && c <= '9';
    if (kind == KEY) return digit || (c >= 'a' && c <= 'f');
    if (kind == NAME) return digit || (c >= 'a' && c <= 'z') || c == '_';
    return (c >= 32 && c != 127) || (kind == LINES && c == '\n');
}

static int is_good_text(sqlite3_stmt *row, int k, const column_rule *rule)
{
    if (sqlite3_column_type(row, k) != SQLITE_TEXT) return 0;
    const unsigned char *text = sqlite3_column_text(row, k);
    const int length = sqlite3_column_bytes(row, k);
    if (!text || length < rule->least || length > rule->most) return 0;
    for (int i = 0; i < length; i++)
        if (!is_good_byte(rule->kind, text[i])) return 0; /* a NUL byte is not good either */
    return 1;
}

static int is_good_curve(sqlite3_stmt *row, int k)
{
    if (sqlite3_column_type(row, k) != SQLITE_BLOB) return 0;
    const unsigned char *byte = sqlite3_column_blob(row, k);
    const int length = sqlite3_column_bytes(row, k);
    if (length % POINT_BYTES || (length && !byte)) return 0;
    for (int i = 0; i < length; i += 8)
        if (!isfinite(sp_store_double(byte + i))) return 0;
    return 1;
}

static int is_good(sqlite3_stmt *row, int k, const column_rule *rule)
{
    const int type = sqlite3_column_type(row, k);
    switch (rule->kind) {
    case ID:
    case WHOLE: {
        const sqlite3_int64 value = sqlite3_column_int64(row, k);
        return type == SQLITE_INTEGER && value >= rule->least && value <= rule->most;
    }
    case NUMBER:
        if (type == SQLITE_NULL || type == SQLITE_INTEGER) return 1;
        return type == SQLITE_FLOAT && isfinite(sqlite3_column_double(row, k));
    case CURVE:
        return is_good_curve(row, k);
    default:
        return is_good_text(row, k, rule);
    }
}

static sp_status check_row(sp_context *context, sp_store *store, const table_rule *table,
                           sqlite3_stmt *row)
{
    char what[64], valid[96];
    for (int k = 0; k < table->count; k++) {
        if (is_good(row, k, &table->column[k])) continue;
        const int blob = sqlite3_column_type(row, k) == SQLITE_BLOB;
        const unsigned char *text = blob ? NULL : sqlite3_column_text(row, k);
        snprintf(what, sizeof what, "%s.%s", table->name, table->column[k].name);
        valid_text(&table->column[k], valid, sizeof valid);
        return refuse(context, store, what,
                      text   ? (const char *)text
                      : blob ? "other bytes"
                             : "nothing",
                      valid);
    }
    return SP_OK;
}

/* ---- rows that refer to each other ------------------------------------------------------- */

/* The ids of a table in ascending order, with the place that was found last. */
typedef struct id_list {
    int *id;
    int count, capacity, at;
} id_list;

static sp_status add_id(sp_context *context, id_list *list, int id)
{
    int *grown = sp_grow(list->id, list->count, &list->capacity, 256, sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d ids", list->count + 1);
    list->id = grown;
    list->id[list->count++] = id;
    return SP_OK;
}

/* The ids that are asked for ascend, except where another measure begins; there the search starts
 * from the beginning. */
static int has_id(id_list *list, int id)
{
    if (list->at >= list->count || list->id[list->at] > id) list->at = 0;
    while (list->at < list->count && list->id[list->at] < id) list->at++;
    return list->at < list->count && list->id[list->at] == id;
}

typedef struct checker {
    sp_context *context;
    sp_store *store;
    id_list coupons, names;
} checker;

static sp_status check_owner(checker *c, int table, sqlite3_stmt *row)
{
    char received[32];
    const int first = sqlite3_column_int(row, 0);
    const int coupon = table == MEASURE_TABLE ? sqlite3_column_int(row, 1) : first;
    if (table == COUPON_TABLE) return add_id(c->context, &c->coupons, first);
    if (table == NAME_TABLE) return add_id(c->context, &c->names, first);
    snprintf(received, sizeof received, "%d", coupon);
    if (!has_id(&c->coupons, coupon))
        return refuse(c->context, c->store,
                      table == CURVE_TABLE ? "curve.coupon" : "measure.coupon", received,
                      "the id of a coupon");
    if (table == CURVE_TABLE || has_id(&c->names, first)) return SP_OK;
    snprintf(received, sizeof received, "%d", first);
    return refuse(c->context, c->store, "measure.name", received, "the id of a name");
}

static sp_status check_table(checker *c, int table)
{
    int code = SQLITE_DONE;
    sqlite3_stmt *row = NULL;
    sp_status status =
        sp_store_prepare(c->context, c->store, tables[table].query, SP_NO_READ, &row);
    while (status == SP_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        status = check_row(c->context, c->store, &tables[table], row);
        if (status == SP_OK) status = check_owner(c, table, row);
    }
    if (status == SP_OK && code != SQLITE_DONE)
        status = sp_store_fail(c->context, c->store, SP_NO_READ);
    sqlite3_finalize(row);
    return status;
}

sp_status sp_store_check(sp_context *context, sp_store *store, int format)
{
    checker c = {.context = context, .store = store};
    sp_status status = check_schema(context, store, format);
    if (status == SP_OK)
        status = check_word(context, store, "PRAGMA encoding", "encoding", "UTF-8", "UTF-8");
    if (status == SP_OK)
        status =
            check_word(context, store, "PRAGMA integrity_check(1)", "pages", "ok", "sound pages");
    for (int table = 0; table < TABLE_COUNT && status == SP_OK; table++)
        status = check_table(&c, table);
    sp_free(c.coupons.id);
    sp_free(c.names.id);
    return status;
}
