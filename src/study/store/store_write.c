/* Put coupons into a store. */
#include "store/store_parts.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include <strutpress/measure.h>

#include "base/alloc.h"
#include "run/result.h"

enum { POINT_NUMBERS = 5 };

static sp_status step_once(sp_context *context, sp_store *store, sqlite3_stmt *statement)
{
    return sqlite3_step(statement) == SQLITE_DONE ? SP_OK
                                                  : sp_store_fail(context, store, SP_NO_WRITE);
}

static sp_status put_coupon(sp_context *context, sp_store *store, const sp_coupon_key *known,
                            int outcome, const char *reason, const char *cautions,
                            const sp_result *result)
{
    sqlite3_stmt *statement = NULL;
    sp_status status = sp_store_prepare(context, store, SP_SQL_PUT_COUPON, SP_NO_WRITE, &statement);
    if (status != SP_OK) return status;
    sqlite3_bind_text(statement, 1, known->key, -1, SQLITE_STATIC);
    sqlite3_bind_text(statement, 2, known->family, -1, SQLITE_STATIC);
    sqlite3_bind_int(statement, 3, known->flaw_seed);
    sqlite3_bind_text(statement, 4, sp_version(), -1, SQLITE_STATIC);
    sqlite3_bind_text(statement, 5, known->text, -1, SQLITE_STATIC);
    sqlite3_bind_int(statement, 6, outcome);
    sqlite3_bind_text(statement, 7, reason, -1, SQLITE_STATIC);
    sqlite3_bind_text(statement, 8, cautions, -1, SQLITE_STATIC);
    if (result) sqlite3_bind_double(statement, 9, result->path.seconds_total);
    status = step_once(context, store, statement);
    sqlite3_finalize(statement);
    return status;
}

static sp_status put_measure(sp_context *context, sp_store *store, sqlite3_stmt *insert,
                             sqlite3_int64 coupon, const char *name, const sp_measure *measure)
{
    sqlite3_bind_text(insert, 1, name, -1, SQLITE_STATIC);
    sqlite3_bind_int64(insert, 2, coupon);
    if (measure->reached && isfinite(measure->value))
        sqlite3_bind_double(insert, 3, measure->value);
    else
        sqlite3_bind_null(insert, 3);
    sp_status status = step_once(context, store, insert);
    sqlite3_reset(insert);
    return status;
}

static sp_status put_names(sp_context *context, sp_store *store)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    sqlite3_stmt *insert = NULL;
    sp_status status = sp_store_prepare(context, store, SP_SQL_PUT_NAME, SP_NO_WRITE, &insert);
    for (int i = 0; i < count && status == SP_OK; i++) {
        sqlite3_bind_text(insert, 1, row[i].name, -1, SQLITE_STATIC);
        status = step_once(context, store, insert);
        sqlite3_reset(insert);
    }
    sqlite3_finalize(insert);
    return status;
}

static sp_status put_measures(sp_context *context, sp_store *store, sqlite3_int64 coupon,
                              const sp_result *result)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    sqlite3_stmt *insert = NULL;
    sp_status status = put_names(context, store);
    if (status == SP_OK)
        status = sp_store_prepare(context, store, SP_SQL_PUT_MEASURE, SP_NO_WRITE, &insert);
    for (int i = 0; i < count && i < result->measure_count && status == SP_OK; i++)
        status = put_measure(context, store, insert, coupon, row[i].name, &result->measure[i]);
    sqlite3_finalize(insert);
    return status;
}

/* Doubles are IEEE 754 with the lowest byte first, on every machine. */
static void put_double(unsigned char *byte, double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    for (int i = 0; i < 8; i++) byte[i] = (unsigned char)(bits >> (8 * i));
}

double sp_store_double(const unsigned char *byte)
{
    uint64_t bits = 0;
    double value;
    for (int i = 0; i < 8; i++) bits |= (uint64_t)byte[i] << (8 * i);
    memcpy(&value, &bits, sizeof value);
    return value;
}

static sp_status put_curve(sp_context *context, sp_store *store, sqlite3_int64 coupon,
                           const sp_path *path)
{
    const size_t size = (size_t)path->step_count * POINT_NUMBERS * 8;
    sqlite3_stmt *insert = NULL;
    unsigned char *bytes = sp_alloc(size, 1), *end = bytes;
    if (!bytes) return sp_fail(context, SP_NO_MEMORY, "no memory for a curve");
    for (int i = 0; i < path->step_count; i++) {
        const double number[POINT_NUMBERS] = {sp_path_strain(path, i), sp_path_stress(path, i),
                                              path->step[i].shortening, path->step[i].force,
                                              path->step[i].work};
        for (int k = 0; k < POINT_NUMBERS; k++, end += 8) put_double(end, number[k]);
    }
    sp_status status = sp_store_prepare(context, store, SP_SQL_PUT_CURVE, SP_NO_WRITE, &insert);
    if (status == SP_OK) {
        sqlite3_bind_int64(insert, 1, coupon);
        sqlite3_bind_blob64(insert, 2, bytes, size, SQLITE_STATIC);
        status = step_once(context, store, insert);
    }
    sqlite3_finalize(insert);
    sp_free(bytes);
    return status;
}

/* The outcome that is stored is an exit status. The status of sp_run says only whether there is a
 * result, so how the press ended is taken from the result. */
static int outcome_of(sp_status outcome, const sp_result *result)
{
    return outcome != SP_OK || !result ? sp_status_exit(outcome) : sp_stop_exit(result->path.end);
}

sp_status sp_store_put(sp_context *context, sp_store *store, const sp_coupon_key *known,
                       sp_status outcome, const char *reason, const char *cautions,
                       const sp_result *result)
{
    int found = 0;
    sp_status status = sp_store_begin(context, store);
    if (status != SP_OK) return status;
    status = sp_store_has(context, store, known, &found);
    if (status == SP_OK && !found) {
        status = put_coupon(context, store, known, outcome_of(outcome, result), reason, cautions,
                            result);
        const sqlite3_int64 coupon = sqlite3_last_insert_rowid(store->base);
        if (status == SP_OK && result) status = put_measures(context, store, coupon, result);
        if (status == SP_OK && result) status = put_curve(context, store, coupon, &result->path);
    }
    return sp_store_end(context, store, status);
}

sp_status sp_store_curve(sp_context *context, sp_store *store, long long id, int *count,
                         sp_curve_point **point)
{
    sqlite3_stmt *query = NULL;
    sp_status status = sp_store_prepare(context, store, SP_SQL_CURVE, SP_NO_READ, &query);
    *count = 0;
    *point = NULL;
    if (status != SP_OK) return status;
    sqlite3_bind_int64(query, 1, id);
    const int code = sqlite3_step(query);
    if (code != SQLITE_ROW && code != SQLITE_DONE)
        status = sp_store_fail(context, store, SP_NO_READ);
    if (code == SQLITE_ROW) {
        const unsigned char *byte = sqlite3_column_blob(query, 0);
        *count = byte ? sqlite3_column_bytes(query, 0) / (POINT_NUMBERS * 8) : 0;
        *point = sp_alloc((size_t)*count, sizeof **point);
        if (!*point) {
            *count = 0;
            status = sp_fail(context, SP_NO_MEMORY, "no memory for a curve");
        }
        for (int i = 0; i < *count; i++, byte += POINT_NUMBERS * 8)
            (*point)[i] = (sp_curve_point){sp_store_double(byte), sp_store_double(byte + 8),
                                           sp_store_double(byte + 16), sp_store_double(byte + 24),
                                           sp_store_double(byte + 32)};
    }
    sqlite3_finalize(query);
    return status;
}

sp_curve sp_curve_of_points(const sp_case *request, int count, const sp_curve_point *point)
{
    if (count < 1) return (sp_curve){.height = request->height};
    return (sp_curve){.height = request->height,
                      .area = request->width * request->depth,
                      .count = count,
                      .stride = sizeof *point,
                      .shortening = &point->shortening,
                      .force = &point->force};
}

void sp_store_free_curve(sp_curve_point *point)
{
    sp_free(point);
}
