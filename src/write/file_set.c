/* All files of one run, together; see file_set.h. */
#include "write/file_set.h"

#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/alloc.h"

static const char *path_of(const sp_file_set *set, int file, int temporary,
                           char path[SP_SET_PATH_SIZE])
{
    /* the process id keeps two runs into one folder apart */
    if (temporary)
        snprintf(path, SP_SET_PATH_SIZE, "%s/.%s.%ld.tmp", set->folder, set->name[file],
                 (long)getpid());
    else
        snprintf(path, SP_SET_PATH_SIZE, "%s/%s", set->folder, set->name[file]);
    return path;
}

sp_status sp_file_set_begin(sp_context *context, sp_file_set *set, const char *folder, int capacity)
{
    struct stat info;
    *set = (sp_file_set){.folder = folder, .capacity = capacity};
    if (strlen(folder) + SP_SET_NAME_SIZE + 32 > SP_SET_PATH_SIZE)
        return sp_fail(context, SP_NO_WRITE, "the name of the output folder is too long");
    set->name = sp_alloc((size_t)capacity, sizeof *set->name);
    if (!set->name) return sp_fail(context, SP_NO_MEMORY, "no memory for the list of files");
    set->made_folder = mkdir(folder, 0777) == 0;
    int cause = errno;
    if (set->made_folder) return SP_OK;
    if (cause == EEXIST) {
        if (stat(folder, &info) == 0 && S_ISDIR(info.st_mode)) return SP_OK;
        cause = ENOTDIR;
    }
    sp_free(set->name);
    *set = (sp_file_set){0};
    return sp_fail(context, SP_NO_WRITE, "%s: cannot make the folder: %s", folder, strerror(cause));
}

sp_status sp_file_set_open(sp_context *context, sp_file_set *set, const char *name)
{
    char path[SP_SET_PATH_SIZE];
    if (set->count == set->capacity) return sp_fail(context, SP_INTERNAL, "too many output files");
    snprintf(set->name[set->count], SP_SET_NAME_SIZE, "%s", name);
    path_of(set, set->count, 1, path);
    set->stream = fopen(path, "w");
    if (!set->stream)
        return sp_fail(context, SP_NO_WRITE, "%s/%s: cannot write: %s", set->folder, name,
                       strerror(errno));
    set->count++;
    errno = 0;
    return SP_OK;
}

sp_status sp_file_set_close(sp_context *context, sp_file_set *set, sp_status status)
{
    if (!set->stream) return status;
    const char *name = set->name[set->count - 1];
    if (status == SP_NO_WRITE) {
        char cause[SP_MESSAGE_SIZE];
        snprintf(cause, sizeof cause, "%s", context->message);
        sp_fail(context, status, "%s/%s: %s", set->folder, name, cause);
    }
    int failed = fclose(set->stream) != 0, cause = errno;
    set->stream = NULL;
    if (status == SP_OK && failed)
        return sp_fail(context, SP_NO_WRITE, "%s/%s: cannot write: %s", set->folder, name,
                       strerror(cause));
    return status;
}

static sp_status rename_all(sp_context *context, sp_file_set *set)
{
    char from[SP_SET_PATH_SIZE], to[SP_SET_PATH_SIZE];
    for (int i = 0; i < set->count; i++)
        if (rename(path_of(set, i, 1, from), path_of(set, i, 0, to)) != 0)
            return sp_fail(context, SP_NO_WRITE, "%s: cannot write: %s", to, strerror(errno));
    return SP_OK;
}

sp_status sp_file_set_end(sp_context *context, sp_file_set *set, sp_status status)
{
    char path[SP_SET_PATH_SIZE];
    status = sp_file_set_close(context, set, status);
    if (status == SP_OK) status = rename_all(context, set);
    if (status != SP_OK) {
        for (int i = 0; i < set->count; i++) unlink(path_of(set, i, 1, path));
        if (set->made_folder) rmdir(set->folder); /* stays when something is in it */
    }
    sp_free(set->name);
    *set = (sp_file_set){0};
    return status;
}
