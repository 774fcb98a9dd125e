#include "check.h"

#include <sqlite3.h>

#include <strutpress/store.h>

#include "store_folder.h"

char store_folder[64];

int make_store_folder(void **state)
{
    (void)state;
    strcpy(store_folder, "/tmp/strutpress_store_XXXXXX");
    return mkdtemp(store_folder) ? 0 : -1;
}

int remove_store_folder(void **state)
{
    char command[96];
    (void)state;
    snprintf(command, sizeof command, "rm -rf %s", store_folder);
    return system(command);
}

const char *in_folder(const char *name)
{
    static char path[4][128];
    static int turn;
    turn = (turn + 1) % 4;
    snprintf(path[turn], sizeof path[turn], "%s/%s", store_folder, name);
    return path[turn];
}

char *dump_of(const char *file)
{
    sp_context context = {0};
    sp_store *store;
    char *text = NULL;
    size_t size;
    if (sp_store_open(&context, file, SP_STORE_READ, &store) != SP_OK)
        fail_msg("%s", context.message);
    FILE *stream = open_memstream(&text, &size);
    assert_int_equal(sp_store_dump(&context, store, stream), SP_OK);
    fclose(stream);
    sp_store_close(store);
    return text;
}

void change_store(const char *file, const char *sql)
{
    sqlite3 *base;
    char *problem = NULL;
    assert_int_equal(sqlite3_open(file, &base), SQLITE_OK);
    if (sqlite3_exec(base, sql, NULL, NULL, &problem) != SQLITE_OK) fail_msg("%s", problem);
    sqlite3_close(base);
}
