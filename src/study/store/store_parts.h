/* What the files of the store share. */
#ifndef SP_STORE_STORE_PARTS_H
#define SP_STORE_STORE_PARTS_H

#include <sqlite3.h>

#include <strutpress/store.h>

/* Statements that more than one file needs. */
#define SP_SQL_PUT_COUPON                                                                          \
    "INSERT INTO coupon (key, family, flaw_seed, program, settings, outcome, reason, cautions,"    \
    " seconds) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)"
#define SP_SQL_PUT_NAME "INSERT OR IGNORE INTO measure_name (name) VALUES (?)"
#define SP_SQL_PUT_MEASURE                                                                         \
    "INSERT INTO measure (name, coupon, value) VALUES ("                                           \
    "(SELECT id FROM measure_name WHERE name = ?), ?, ?)"
#define SP_SQL_PUT_CURVE "INSERT INTO curve (coupon, points) VALUES (?, ?)"
#define SP_SQL_MEASURES                                                                            \
    "SELECT measure_name.name, value FROM measure_name CROSS JOIN measure"                         \
    " ON measure.name = measure_name.id AND coupon = ? ORDER BY measure_name.name"
#define SP_SQL_CURVE "SELECT points FROM curve WHERE coupon = ?"

struct sp_store {
    sqlite3 *base;
    char file[SP_FILE_SIZE]; /* "": the store is in memory */
};

/* Return the script that brings format n to n + 1. */
const char *sp_store_migration(int format);
/* Fail with SP_NO_READ and its line unless the open store is whole: tables of its format alone,
 * sound pages, values of the kinds and sizes that the program writes. All of it is read, and
 * nothing is written. */
sp_status sp_store_check(sp_context *context, sp_store *store, int format);
/* Return a text of the present row, "" when there is none. */
const char *sp_store_text(sqlite3_stmt *query, int column);
/* Copy an IEEE 754 double with the lowest byte first, on every machine. */
double sp_store_double(const unsigned char *byte);

/* Make the failure line of the last call on this store: SP_NO_MEMORY, or `status` with file, cause
 * and what would be valid. */
sp_status sp_store_fail(sp_context *context, sp_store *store, sp_status status);
sp_status sp_store_execute(sp_context *context, sp_store *store, const char *sql, sp_status status);
/* Begin a transaction that is to be written, and end it: committed when `status` is SP_OK, else
 * undone. Returns the status of both. A connection has one transaction at a time, so other threads
 * of this store wait from the begin to the end. */
sp_status sp_store_begin(sp_context *context, sp_store *store);
sp_status sp_store_end(sp_context *context, sp_store *store, sp_status status);
sp_status sp_store_prepare(sp_context *context, sp_store *store, const char *sql, sp_status status,
                           sqlite3_stmt **statement);
/* Read one coupon without its figures; found->found is 0 when it is not stored. SP_NO_READ. */
sp_status sp_store_find(sp_context *context, sp_store *store, const sp_coupon_key *known,
                        sp_found *found);

#endif
