/* Make and check output folders. */
#include <errno.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "terminal/cli.h"

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
    if (dot) length = (size_t)(dot - name);
    /* "", "." and ".." would be out/ itself, or the folder above it. */
    if (length <= 2 && !strncmp(name, "..", length)) length = strlen(name);
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

static sp_status copy_path(sp_context *context, const char *folder, char path[SP_FILE_SIZE])
{
    const size_t length = strlen(folder);
    if (length >= SP_FILE_SIZE)
        return sp_fail(context, SP_NO_WRITE,
                       "%.60s...: received a name of %zu bytes; valid: at most %d", folder, length,
                       SP_FILE_SIZE - 1);
    memcpy(path, folder, length + 1);
    return SP_OK;
}

sp_status make_folder(sp_context *context, const char *folder)
{
    char path[SP_FILE_SIZE];
    sp_status status = copy_path(context, folder, path);
    if (status != SP_OK) return status;
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = 0;
        status = make_one(context, path);
        *slash = '/';
        if (status != SP_OK) return status;
    }
    return make_one(context, path);
}

/* Return the length of the shortest leading part of the path that does not exist; 0 when the whole
 * path exists. */
static size_t missing_part(const char *folder)
{
    char path[SP_FILE_SIZE];
    struct stat about;
    snprintf(path, sizeof path, "%s", folder);
    for (char *slash = strchr(path + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = 0;
        if (stat(path, &about) != 0) return strlen(path);
        *slash = '/';
    }
    return stat(path, &about) != 0 ? strlen(path) : 0;
}

/* Remove the empty folders of the path, from its end back to that part. */
static void drop_folders(const char *folder, size_t part)
{
    char path[SP_FILE_SIZE];
    snprintf(path, sizeof path, "%s", folder);
    while (part && strlen(path) >= part) {
        rmdir(path);
        char *slash = strrchr(path, '/');
        if (!slash) return;
        *slash = 0;
    }
}

sp_status try_folder(sp_context *context, const char *folder,
                     sp_status (*try_it)(sp_context *context, const char *folder))
{
    char path[SP_FILE_SIZE];
    sp_status status = copy_path(context, folder, path);
    if (status != SP_OK) return status;
    const size_t missing = missing_part(path);
    status = make_folder(context, path);
    if (status == SP_OK) status = try_it(context, path);
    drop_folders(path, missing);
    return status;
}

sp_status make_folder_after(sp_context *context, sp_status printed, const char *folder)
{
    return printed == SP_OK || printed == SP_NO_WRITE ? make_folder(context, folder) : printed;
}

static int folder_of(const char *file, char folder[SP_FILE_SIZE + 16])
{
    snprintf(folder, SP_FILE_SIZE + 16, "%s", file);
    char *slash = strrchr(folder, '/');
    if (!slash || slash == folder) return 0;
    *slash = 0;
    return 1;
}

sp_status try_folder_of(sp_context *context, const char *file)
{
    char folder[SP_FILE_SIZE + 16];
    if (folder_of(file, folder)) return try_folder(context, folder, sp_folder_try);
    return try_folder(context, folder[0] == '/' ? "/" : ".", sp_folder_try);
}

sp_status make_folder_of(sp_context *context, const char *file)
{
    char folder[SP_FILE_SIZE + 16];
    return folder_of(file, folder) ? make_folder(context, folder) : SP_OK;
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
