/* Read coupons and figures out of a store. */
#include "store/store_parts.h"

#include <string.h>

#include <strutpress/measure.h>

const char *sp_store_text(sqlite3_stmt *query, int column)
{
    const unsigned char *text = sqlite3_column_text(query, column);
    return text ? (const char *)text : "";
}

sp_status sp_store_each(sp_context *context, sp_store *store,
                        sp_status (*visit)(void *user, const sp_stored *coupon), void *user)
{
    int code = SQLITE_DONE;
    sqlite3_stmt *query = NULL;
    sp_status status = sp_store_prepare(context, store,
                                        "SELECT id, key, family, program, settings, reason, "
                                        "cautions, flaw_seed, outcome FROM coupon"
                                        " ORDER BY program, family, flaw_seed, key, settings",
                                        SP_NO_READ, &query);
    while (status == SP_OK && (code = sqlite3_step(query)) == SQLITE_ROW) {
        const sp_stored coupon = {sqlite3_column_int64(query, 0), sp_store_text(query, 1),
                                  sp_store_text(query, 2),        sp_store_text(query, 3),
                                  sp_store_text(query, 4),        sp_store_text(query, 5),
                                  sp_store_text(query, 6),        sqlite3_column_int(query, 7),
                                  sqlite3_column_int(query, 8)};
        status = visit(user, &coupon);
    }
    if (status == SP_OK && code != SQLITE_DONE) status = sp_store_fail(context, store, SP_NO_READ);
    sqlite3_finalize(query);
    return status;
}

sp_status sp_store_each_value(sp_context *context, sp_store *store, const char *measure,
                              sp_status (*visit)(void *user, long long id, double value),
                              void *user)
{
    int code = SQLITE_DONE;
    sqlite3_stmt *query = NULL;
    sp_status status = sp_store_prepare(context, store,
                                        "SELECT coupon, value FROM measure WHERE name = (SELECT id "
                                        "FROM measure_name WHERE name = ?)"
                                        " AND value IS NOT NULL ORDER BY coupon",
                                        SP_NO_READ, &query);
    if (status == SP_OK) sqlite3_bind_text(query, 1, measure, -1, SQLITE_STATIC);
    while (status == SP_OK && (code = sqlite3_step(query)) == SQLITE_ROW)
        status = visit(user, sqlite3_column_int64(query, 0), sqlite3_column_double(query, 1));
    if (status == SP_OK && code != SQLITE_DONE) status = sp_store_fail(context, store, SP_NO_READ);
    sqlite3_finalize(query);
    return status;
}

sp_status sp_store_extent(sp_context *context, sp_store *store, long long *count, long long *last)
{
    sqlite3_stmt *query = NULL;
    sp_status status = sp_store_prepare(context, store, "SELECT COUNT(*), MAX(id) FROM coupon",
                                        SP_NO_READ, &query);
    *count = *last = 0;
    if (status == SP_OK && sqlite3_step(query) == SQLITE_ROW) {
        *count = sqlite3_column_int64(query, 0);
        *last = sqlite3_column_int64(query, 1);
    } else if (status == SP_OK) {
        status = sp_store_fail(context, store, SP_NO_READ);
    }
    sqlite3_finalize(query);
    return status;
}

/* The key finds the row, and the text decides: two cases with the same hash are two coupons. */
sp_status sp_store_find(sp_context *context, sp_store *store, const sp_coupon_key *known,
                        sp_found *found)
{
    sqlite3_stmt *query = NULL;
    memset(found, 0, sizeof *found);
    sp_status status = sp_store_prepare(
        context, store,
        "SELECT id, outcome, reason FROM coupon WHERE key = ? AND program = ? AND settings = ?",
        SP_NO_READ, &query);
    if (status == SP_OK) {
        sqlite3_bind_text(query, 1, known->key, -1, SQLITE_STATIC);
        sqlite3_bind_text(query, 2, sp_version(), -1, SQLITE_STATIC);
        sqlite3_bind_text(query, 3, known->text, -1, SQLITE_STATIC);
        const int code = sqlite3_step(query);
        found->found = code == SQLITE_ROW;
        if (found->found) {
            found->id = sqlite3_column_int64(query, 0);
            found->outcome = sqlite3_column_int(query, 1);
            snprintf(found->reason, sizeof found->reason, "%s", sp_store_text(query, 2));
        } else if (code != SQLITE_DONE) {
            status = sp_store_fail(context, store, SP_NO_READ);
        }
    }
    sqlite3_finalize(query);
    return status;
}

sp_status sp_store_has(sp_context *context, sp_store *store, const sp_coupon_key *known, int *found)
{
    sp_found coupon;
    sp_status status = sp_store_find(context, store, known, &coupon);
    *found = coupon.found;
    return status;
}

/* Returns 1 when the coupon has a row for the measure, reached or not. */
static int get_measure(sqlite3_stmt *query, long long id, const char *name, sp_measure *measure)
{
    sqlite3_bind_text(query, 1, name, -1, SQLITE_STATIC);
    sqlite3_bind_int64(query, 2, id);
    const int known = sqlite3_step(query) == SQLITE_ROW;
    measure->reached = known && sqlite3_column_type(query, 0) != SQLITE_NULL;
    measure->value = measure->reached ? sqlite3_column_double(query, 0) : 0;
    sqlite3_reset(query);
    return known;
}

sp_status sp_store_get(sp_context *context, sp_store *store, const sp_coupon_key *known,
                       sp_found *found, sp_measure *measure)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    sqlite3_stmt *query = NULL;
    memset(measure, 0, (size_t)count * sizeof *measure);
    sp_status status = sp_store_find(context, store, known, found);
    const int ended = found->outcome == sp_status_exit(SP_GAVE_UP);
    if (status != SP_OK || !found->found || (found->outcome && !ended)) return status;
    status = sp_store_prepare(context, store,
                              "SELECT value FROM measure WHERE name = (SELECT id FROM "
                              "measure_name WHERE name = ?) AND coupon = ?",
                              SP_NO_READ, &query);
    for (int i = 0; i < count && status == SP_OK; i++)
        if (!get_measure(query, found->id, row[i].name, &measure[i]) && !ended)
            status = sp_fail(context, SP_NO_READ,
                             "%s: received coupons without the measure %s, from a build before it; "
                             "valid: another store",
                             store->file, row[i].name);
    sqlite3_finalize(query);
    return status;
}

/* Split a text from outside into lines, each made printable. */
static void dump_text(const char *head, const char *text, FILE *stream)
{
    char line[SP_FILE_SIZE + 1], clean[4 * SP_FILE_SIZE + 8];
    fputs(head, stream);
    while (*text) {
        size_t length = strcspn(text, "\n");
        if (length >= sizeof line) length = sizeof line - 1;
        memcpy(line, text, length);
        line[length] = '\0';
        sp_printable(line, clean, sizeof clean);
        fputs(clean, stream);
        text += length;
        if (*text == '\n') fputc(*text++, stream);
    }
}

static sp_status dump_measures(sp_context *context, sp_store *store, sqlite3_stmt *measures,
                               long long id, FILE *stream)
{
    int code;
    sqlite3_bind_int64(measures, 1, id);
    while ((code = sqlite3_step(measures)) == SQLITE_ROW) {
        if (sqlite3_column_type(measures, 1) == SQLITE_NULL)
            fprintf(stream, "measure %s -\n", sp_store_text(measures, 0));
        else
            fprintf(stream, "measure %s %.17g\n", sp_store_text(measures, 0),
                    sqlite3_column_double(measures, 1));
    }
    sqlite3_reset(measures);
    return code == SQLITE_DONE ? SP_OK : sp_store_fail(context, store, SP_NO_READ);
}

static sp_status dump_curve(sp_context *context, sp_store *store, long long id, FILE *stream)
{
    int count;
    sp_curve_point *point;
    sp_status status = sp_store_curve(context, store, id, &count, &point);
    for (int i = 0; i < count; i++)
        fprintf(stream, "point %.17g %.17g %.17g %.17g %.17g\n", point[i].strain, point[i].stress,
                point[i].shortening, point[i].force, point[i].work);
    sp_store_free_curve(point);
    return status;
}

sp_status sp_store_dump(sp_context *context, sp_store *store, FILE *stream)
{
    int code = SQLITE_DONE;
    sqlite3_stmt *coupons = NULL, *measures = NULL;
    sp_status status =
        sp_store_prepare(context, store,
                         "SELECT id, key, program, settings, outcome, reason, cautions FROM coupon"
                         " ORDER BY key, program, settings",
                         SP_NO_READ, &coupons);
    if (status == SP_OK)
        status = sp_store_prepare(context, store, SP_SQL_MEASURES, SP_NO_READ, &measures);
    while (status == SP_OK && (code = sqlite3_step(coupons)) == SQLITE_ROW) {
        const long long id = sqlite3_column_int64(coupons, 0);
        dump_text("coupon ", sp_store_text(coupons, 1), stream);
        dump_text("\nprogram ", sp_store_text(coupons, 2), stream);
        dump_text("\n", sp_store_text(coupons, 3), stream);
        fprintf(stream, "outcome %d", sqlite3_column_int(coupons, 4));
        dump_text("\nreason ", sp_store_text(coupons, 5), stream);
        dump_text("\ncautions ", sp_store_text(coupons, 6), stream);
        fputc('\n', stream);
        status = dump_measures(context, store, measures, id, stream);
        if (status == SP_OK) status = dump_curve(context, store, id, stream);
        if (ferror(stream)) status = sp_fail(context, SP_NO_WRITE, "the dump cannot be written");
    }
    if (status == SP_OK && code != SQLITE_DONE) status = sp_store_fail(context, store, SP_NO_READ);
    sqlite3_finalize(measures);
    sqlite3_finalize(coupons);
    return status;
}
