/* Open a store: check it, bring its format up to date, and say what is wrong with it. */
#include "store/store_parts.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/alloc.h"

enum {
    APPLICATION = 0x53545250,  /* distinguishes a store from other SQLite files */
    BUSY_MILLISECONDS = 30000, /* another batch holds the store only while it commits one coupon */
    VALUE_MOST = 64 << 20,     /* bytes of one value: a curve of 1.6 million points */
    SQL_MOST = 4096,
};

/* Script n brings format n to format n + 1; scripts are only ever added. */
static const char *const migrations[] = {
    "CREATE TABLE coupon (id INTEGER PRIMARY KEY, key TEXT NOT NULL, family TEXT NOT NULL,"
    " flaw_seed INTEGER NOT NULL, program TEXT NOT NULL, settings TEXT NOT NULL,"
    " outcome INTEGER NOT NULL, reason TEXT NOT NULL, cautions TEXT NOT NULL, seconds REAL);"
    "CREATE INDEX coupon_key ON coupon (key);"
    "CREATE TABLE measure_name (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);"
    "CREATE TABLE measure (name INTEGER NOT NULL, coupon INTEGER NOT NULL, value REAL,"
    " PRIMARY KEY (name, coupon)) WITHOUT ROWID;"
    "CREATE TABLE curve (coupon INTEGER PRIMARY KEY, points BLOB NOT NULL);",
    "CREATE INDEX coupon_family ON coupon (program, family, flaw_seed, key);",
};
enum { FORMAT = sizeof migrations / sizeof migrations[0] };

const char *sp_store_migration(int format)
{
    return migrations[format];
}

sp_status sp_store_fail(sp_context *context, sp_store *store, sp_status status)
{
    const int code = sqlite3_errcode(store->base), system = sqlite3_system_errno(store->base);
    const char *verb = status == SP_NO_WRITE ? "written" : "read";
    switch (code & 0xff) {
    case SQLITE_NOMEM:
        return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", store->file);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return sp_fail(context, SP_NO_READ, "%s: %s; valid: a store that `strutpress batch` wrote",
                       store->file, sqlite3_errmsg(store->base));
    case SQLITE_BUSY:
        return sp_fail(
            context, status,
            "%s: cannot be %s: another program has held it for %d s; valid: a store that "
            "is free",
            store->file, verb, BUSY_MILLISECONDS / 1000);
    default:
        return sp_fail(context, status, "%s: cannot be %s: %s%s%s; valid: a %s file%s", store->file,
                       verb, sqlite3_errmsg(store->base), system ? ": " : "",
                       system ? strerror(system) : "",
                       status == SP_NO_WRITE ? "writable" : "readable",
                       status == SP_NO_WRITE ? " with room on its disk; what is stored stays" : "");
    }
}

sp_status sp_store_execute(sp_context *context, sp_store *store, const char *sql, sp_status status)
{
    return sqlite3_exec(store->base, sql, NULL, NULL, NULL) == SQLITE_OK
               ? SP_OK
               : sp_store_fail(context, store, status);
}

sp_status sp_store_begin(sp_context *context, sp_store *store)
{
    sqlite3_mutex_enter(sqlite3_db_mutex(store->base));
    const sp_status status = sp_store_execute(context, store, "BEGIN IMMEDIATE", SP_NO_WRITE);
    if (status != SP_OK) sqlite3_mutex_leave(sqlite3_db_mutex(store->base));
    return status;
}

sp_status sp_store_end(sp_context *context, sp_store *store, sp_status status)
{
    if (status == SP_OK) status = sp_store_execute(context, store, "COMMIT", SP_NO_WRITE);
    if (status != SP_OK) sqlite3_exec(store->base, "ROLLBACK", NULL, NULL, NULL);
    sqlite3_mutex_leave(sqlite3_db_mutex(store->base));
    return status;
}

sp_status sp_store_prepare(sp_context *context, sp_store *store, const char *sql, sp_status status,
                           sqlite3_stmt **statement)
{
    return sqlite3_prepare_v2(store->base, sql, -1, statement, NULL) == SQLITE_OK
               ? SP_OK
               : sp_store_fail(context, store, status);
}

static sp_status read_pragma(sp_context *context, sp_store *store, const char *sql, int *value)
{
    sqlite3_stmt *statement = NULL;
    sp_status status = sp_store_prepare(context, store, sql, SP_NO_READ, &statement);
    if (status == SP_OK && sqlite3_step(statement) != SQLITE_ROW)
        status = sp_store_fail(context, store, SP_NO_READ);
    if (status == SP_OK) *value = sqlite3_column_int(statement, 0);
    sqlite3_finalize(statement);
    return status;
}

/* Format 0 with no tables is a new file; any other file without our mark belongs to another
 * program. */
static sp_status check_format(sp_context *context, sp_store *store, int *format)
{
    int application = 0, tables = 0;
    sp_status status = read_pragma(context, store, "PRAGMA user_version", format);
    if (status == SP_OK)
        status = read_pragma(context, store, "PRAGMA application_id", &application);
    if (status == SP_OK)
        status = read_pragma(context, store, "SELECT count(*) FROM sqlite_schema", &tables);
    if (status != SP_OK) return status;
    if (application != APPLICATION && (*format || tables || application))
        return sp_fail(context, SP_NO_READ,
                       "%s: received the SQLite file of another program; valid: a store that "
                       "`strutpress batch` wrote",
                       store->file);
    if (*format > FORMAT)
        return sp_fail(
            context, SP_NO_READ,
            "%s: received a store of format %d, from a newer version; valid: formats up to "
            "%d (strutpress %s)",
            store->file, *format, FORMAT, sp_version());
    if (*format < 0 || (application == APPLICATION && *format == 0))
        return sp_fail(context, SP_NO_READ,
                       "%s: received a store of format %d; valid: formats 1 .. %d", store->file,
                       *format, FORMAT);
    return SP_OK;
}

/* Find the format of a store and check that it is whole; format 0 is a new file. All of it is read
 * in one transaction, because another batch may write meanwhile. */
static sp_status look(sp_context *context, sp_store *store, int *format)
{
    sp_status status = sp_store_execute(context, store, "SAVEPOINT look", SP_NO_READ);
    if (status == SP_OK) status = check_format(context, store, format);
    if (status == SP_OK && *format) status = sp_store_check(context, store, *format);
    if (status == SP_OK) status = sp_store_execute(context, store, "RELEASE look", SP_NO_READ);
    return status;
}

/* The format is read again inside the transaction, because another batch may have brought the store
 * up to date meanwhile. */
static sp_status migrate(sp_context *context, sp_store *store)
{
    char sql[96];
    int format = 0;
    sp_status status = sp_store_begin(context, store);
    if (status != SP_OK) return status;
    status = look(context, store, &format);
    for (; status == SP_OK && format < FORMAT; format++)
        status = sp_store_execute(context, store, migrations[format], SP_NO_WRITE);
    snprintf(sql, sizeof sql, "PRAGMA application_id = %d; PRAGMA user_version = %d", APPLICATION,
             FORMAT);
    if (status == SP_OK) status = sp_store_execute(context, store, sql, SP_NO_WRITE);
    return sp_store_end(context, store, status);
}

/* Two programs that make the same store at once: SQLite answers "busy" here without waiting. */
static sp_status use_wal(sp_context *context, sp_store *store)
{
    for (int waited = 0;; waited += 20) {
        if (sqlite3_exec(store->base, "PRAGMA journal_mode = WAL", NULL, NULL, NULL) == SQLITE_OK)
            return SP_OK;
        if ((sqlite3_errcode(store->base) & 0xff) != SQLITE_BUSY || waited >= BUSY_MILLISECONDS)
            return sp_store_fail(context, store, SP_NO_WRITE);
        usleep(20 * 1000);
    }
}

/* Before a foreign file is checked: none of its code is run, its tables are read as data, and
 * nothing is written to it. */
static sp_status distrust(sp_context *context, sp_store *store)
{
    static const struct {
        int option, on;
    } set[] = {{SQLITE_DBCONFIG_DEFENSIVE, 1},       {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
               {SQLITE_DBCONFIG_ENABLE_TRIGGER, 0},  {SQLITE_DBCONFIG_ENABLE_VIEW, 0},
               {SQLITE_DBCONFIG_DQS_DDL, 0},         {SQLITE_DBCONFIG_DQS_DML, 0},
               {SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1}};
    for (size_t i = 0; i < sizeof set / sizeof set[0]; i++)
        sqlite3_db_config(store->base, set[i].option, set[i].on, NULL);
    sqlite3_limit(store->base, SQLITE_LIMIT_LENGTH, VALUE_MOST);
    sqlite3_limit(store->base, SQLITE_LIMIT_SQL_LENGTH, SQL_MOST);
    sqlite3_limit(store->base, SQLITE_LIMIT_ATTACHED, 0);
    sqlite3_limit(store->base, SQLITE_LIMIT_TRIGGER_DEPTH, 0);
    sqlite3_busy_timeout(store->base, BUSY_MILLISECONDS);
    return sp_store_execute(context, store, "PRAGMA query_only = ON; PRAGMA cell_size_check = ON",
                            SP_NO_READ);
}

static sp_status trust(sp_context *context, sp_store *store)
{
    sqlite3_db_config(store->base, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, NULL);
    return sp_store_execute(context, store, "PRAGMA query_only = OFF", SP_NO_WRITE);
}

/* Spell the name of a store so that SQLite takes it for a path: not ":memory:", not "file:...". */
static void path_of(const char *file, char path[SP_FILE_SIZE + 2])
{
    snprintf(path, SP_FILE_SIZE + 2, "%s%s", file[0] == '/' ? "" : "./", file);
}

/* Refuse a pipe, which would wait for ever, a folder and a device: none of them is a store. */
static sp_status check_kind(sp_context *context, const sp_store *store, sp_store_mode mode)
{
    const sp_status status = mode == SP_STORE_READ ? SP_NO_READ : SP_NO_WRITE;
    struct stat about;
    if (!store->file[0])
        return sp_fail(context, status, "received '' as a store; valid: the name of a file");
    if (stat(store->file, &about) != 0 || S_ISREG(about.st_mode)) return SP_OK;
    return sp_fail(context, status, "%s: cannot be %s: it is %s; valid: the file of a store",
                   store->file, status == SP_NO_READ ? "read" : "written",
                   S_ISDIR(about.st_mode) ? "a folder" : "no regular file");
}

static sp_status open_write(sp_context *context, sp_store *store)
{
    char path[SP_FILE_SIZE + 2];
    int format = 0;
    const int memory = SQLITE_OPEN_READWRITE | SQLITE_OPEN_MEMORY;
    path_of(store->file, path);
    if (sqlite3_open_v2(store->file[0] ? path : ":memory:", &store->base,
                        store->file[0] ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : memory, NULL))
        return sp_store_fail(context, store, SP_NO_WRITE);
    sp_status status = distrust(context, store);
    if (status == SP_OK) status = look(context, store, &format);
    if (status == SP_OK && sqlite3_db_readonly(store->base, "main") == 1)
        return sp_fail(context, SP_NO_WRITE,
                       "%s: cannot be written: it is read-only; valid: a writable file",
                       store->file);
    if (status == SP_OK) status = trust(context, store);
    if (status == SP_OK) status = use_wal(context, store);
    /* A killed program loses nothing at NORMAL; a power cut may lose the last commits, never the
     * store. */
    if (status == SP_OK)
        status = sp_store_execute(context, store, "PRAGMA synchronous = NORMAL", SP_NO_WRITE);
    if (status == SP_OK && format < FORMAT) status = migrate(context, store);
    return status;
}

/* Write "file:PATH?immutable=1", with the signs that have a meaning in a URI written as %XX; an
 * absolute path follows an empty host. */
static void immutable_name(const char *path, char *uri, size_t size)
{
    size_t used = (size_t)snprintf(uri, size, path[0] == '/' ? "file://" : "file:");
    for (; *path && used + 24 < size; path++)
        used += (size_t)snprintf(uri + used, size - used, strchr("%?#", *path) ? "%%%02X" : "%c",
                                 (unsigned char)*path);
    snprintf(uri + used, size - used, "?immutable=1");
}

static sp_status open_read(sp_context *context, sp_store *store)
{
    char path[SP_FILE_SIZE + 2], name[3 * SP_FILE_SIZE + 32];
    int format = 0;
    path_of(store->file, path);
    if (sqlite3_open_v2(path, &store->base, SQLITE_OPEN_READONLY, NULL))
        return sp_store_fail(context, store, SP_NO_READ);
    sp_status status = distrust(context, store);
    if (status == SP_OK) status = look(context, store, &format);
    snprintf(name, sizeof name, "%s-wal", store->file);
    if (status != SP_OK && (sqlite3_errcode(store->base) & 0xff) == SQLITE_CANTOPEN &&
        access(store->file, R_OK) == 0 && access(name, F_OK) != 0) {
        /* This store is in a folder where no lock file can be made: nobody can write there, so it
         * is read as immutable. */
        sqlite3_close(store->base);
        immutable_name(path, name, sizeof name);
        if (sqlite3_open_v2(name, &store->base, SQLITE_OPEN_READONLY | SQLITE_OPEN_URI, NULL))
            return sp_store_fail(context, store, SP_NO_READ);
        status = distrust(context, store);
        if (status == SP_OK) status = look(context, store, &format);
    }
    if (status == SP_OK && format == 0)
        return sp_fail(context, SP_NO_READ,
                       "%s: received an empty file; valid: a store that "
                       "`strutpress batch` wrote",
                       store->file);
    return status;
}

sp_status sp_store_open(sp_context *context, const char *file, sp_store_mode mode, sp_store **store)
{
    *store = NULL;
    if (strlen(file) >= SP_FILE_SIZE)
        return sp_fail(context, SP_NO_READ, "received a file name of %zu bytes; valid: at most %d",
                       strlen(file), SP_FILE_SIZE - 1);
    sp_store *opened = sp_alloc(1, sizeof *opened);
    if (!opened) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    if (mode != SP_STORE_MEMORY) strcpy(opened->file, file);
    sp_status status = mode == SP_STORE_MEMORY ? SP_OK : check_kind(context, opened, mode);
    if (status == SP_OK)
        status = mode == SP_STORE_READ ? open_read(context, opened) : open_write(context, opened);
    if (status == SP_OK)
        *store = opened;
    else
        sp_store_close(opened);
    return status;
}

void sp_store_close(sp_store *store)
{
    if (!store) return;
    sqlite3_close(store->base);
    sp_free(store);
}
