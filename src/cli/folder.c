/* Output folders. */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "cli/cli.h"

static const char *case_ending(const char *name)
{
    const char *dot = strrchr(name, '.');
    return dot && (!strcmp(dot, ".yaml") || !strcmp(dot, ".yml")) ? dot : NULL;
}

int is_case_file(const char *file)
{
    return case_ending(file) != NULL;
}

void default_folder(const char *case_file, char *folder, size_t size)
{
    const char *slash = strrchr(case_file, '/'), *name = slash ? slash + 1 : case_file;
    size_t length = strlen(name);
    const char *dot = case_ending(name);
    if (dot && dot > name) length = (size_t)(dot - name);
    snprintf(folder, size, "out/%.*s", (int)length, name);
}

void choose_folder(const char *out, const char *file, char *folder, size_t size)
{
    if (out)
        snprintf(folder, size, "%s", out);
    else
        default_folder(file, folder, size);
}

static sp_status make_one(sp_context *context, const char *folder)
{
    struct stat about;
    if (mkdir(folder, 0777) == 0) return SP_OK;
    int cause = errno;
    if (cause == EEXIST && stat(folder, &about) == 0 && S_ISDIR(about.st_mode)) return SP_OK;
    return sp_fail(context, SP_NO_WRITE,
                   "%s: cannot be made: %s; valid: a folder that can be written", folder,
                   strerror(cause == EEXIST ? ENOTDIR : cause));
}

sp_status make_folder(sp_context *context, const char *folder)
{
    char path[SP_FILE_SIZE];
    size_t length = strlen(folder);
    if (length >= sizeof path)
        return sp_fail(context, SP_NO_WRITE,
                       "%.60s...: received a name of %zu bytes; valid: at most %d", folder, length,
                       SP_FILE_SIZE - 1);
    memcpy(path, folder, length + 1);
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = 0;
        sp_status status = make_one(context, path);
        *slash = '/';
        if (status != SP_OK) return status;
    }
    return make_one(context, path);
}

sp_status make_folder_of(sp_context *context, const char *file)
{
    char folder[SP_FILE_SIZE + 16];
    snprintf(folder, sizeof folder, "%s", file);
    char *slash = strrchr(folder, '/');
    if (!slash || slash == folder) return SP_OK;
    *slash = 0;
    return make_folder(context, folder);
}

sp_status open_new_store(sp_context *context, const char *plan_file, const char *given, char *file,
                         size_t size, sp_store **store)
{
    if (given) {
        snprintf(file, size, "%s", given);
    } else {
        default_folder(plan_file, file, size - strlen(".store"));
        strcat(file, ".store");
    }
    sp_status status = make_folder_of(context, file);
    return status == SP_OK ? sp_store_open(context, file, SP_STORE_WRITE, store) : status;
}
