/* The files of a bench, all of which stand in its folder. */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/alloc.h"
#include "desk/desk.h"
#include "seek/case_file.h"

int sp_desk_path(const sp_desk *desk, const char *part, const char *name, char path[SP_FILE_SIZE])
{
    const int length =
        snprintf(path, SP_FILE_SIZE, "%s/%s%s%s", desk->folder, part, part[0] ? "/" : "", name);
    return length > 0 && length < SP_FILE_SIZE;
}

int sp_desk_keeps(const sp_desk *desk, const char *name)
{
    char path[SP_FILE_SIZE];
    const size_t length = strlen(desk->folder);
    if (name[0] != '/' && !sp_desk_path(desk, "", name, path)) return 0;
    char *whole = realpath(name[0] == '/' ? name : path, NULL);
    const int keeps = !whole ? errno == ENOENT || errno == ENOTDIR || errno == ENAMETOOLONG
                             : !strncmp(whole, desk->folder, length) &&
                                   (whole[length] == '/' || !whole[length] || length == 1);
    free(whole);
    return keeps;
}

int sp_desk_has_file(const sp_desk *desk, const char *name)
{
    char path[SP_FILE_SIZE];
    struct stat found;
    return sp_desk_path(desk, "", name, path) && !lstat(path, &found) && S_ISREG(found.st_mode);
}

int sp_desk_has_anything(const sp_desk *desk, const char *name)
{
    char path[SP_FILE_SIZE];
    struct stat found;
    return sp_desk_path(desk, "", name, path) && !lstat(path, &found);
}

sp_status sp_desk_make_folder(sp_context *context, const sp_desk *desk, const char *part)
{
    char path[SP_FILE_SIZE];
    struct stat found;
    if (!sp_desk_path(desk, "", part, path))
        return sp_fail(context, SP_NO_WRITE, "the name of a folder is too long: %.60s ...", part);
    if (mkdir(path, 0777) && errno != EEXIST)
        return sp_fail(context, SP_NO_WRITE, "%s: cannot be made: %s", path, strerror(errno));
    if (lstat(path, &found) || !S_ISDIR(found.st_mode))
        return sp_fail(context, SP_NO_WRITE, "%s: is not a folder", path);
    return SP_OK;
}

sp_status sp_desk_read(sp_context *context, const char *path, size_t most, char **bytes,
                       size_t *size)
{
    struct stat found;
    *bytes = NULL;
    *size = 0;
    const int file = open(path, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (file < 0 || fstat(file, &found) || !S_ISREG(found.st_mode)) {
        if (file >= 0) close(file);
        return sp_fail(context, SP_NO_READ, "%s: there is no such file in the folder", path);
    }
    FILE *stream = fdopen(file, "rb");
    if (!stream || (size_t)found.st_size > most) {
        if (stream)
            fclose(stream);
        else
            close(file);
        return sp_fail(context, SP_NO_READ, "%s: larger than %zu bytes", path, most);
    }
    char *text = sp_alloc((size_t)found.st_size + 1, 1);
    if (!text) {
        fclose(stream);
        return sp_fail(context, SP_NO_MEMORY, "no memory for %s", path);
    }
    *size = fread(text, 1, (size_t)found.st_size, stream);
    fclose(stream);
    *bytes = text;
    return SP_OK;
}

static sp_status fail_write(sp_context *context, const char *path, const char *beside)
{
    const int cause = errno;
    unlink(beside);
    return sp_fail(context, SP_NO_WRITE, "%s: cannot write: %s", path, strerror(cause));
}

sp_status sp_desk_write(sp_context *context, const char *path, const void *bytes, size_t size)
{
    char beside[SP_FILE_SIZE + 16];
    snprintf(beside, sizeof beside, "%s.XXXXXX", path);
    const int file = mkstemp(beside);
    FILE *stream = file >= 0 ? fdopen(file, "wb") : NULL;
    if (!stream) return fail_write(context, path, beside);
    fchmod(file, 0644);
    const int written = fwrite(bytes, 1, size, stream) == size;
    if (fclose(stream) || !written || rename(beside, path))
        return fail_write(context, path, beside);
    return SP_OK;
}

char *sp_desk_case_text(const sp_case *request, const char *head)
{
    char *text = NULL;
    size_t size = 0;
    FILE *stream = open_memstream(&text, &size);
    if (!stream) return NULL;
    sp_seek_write_case(request, head, stream);
    fclose(stream);
    return text;
}

sp_status sp_desk_write_case(sp_context *context, const char *path, const sp_case *request)
{
    char *text = sp_desk_case_text(request, "# Written by the bench.\n");
    if (!text) return sp_fail(context, SP_NO_MEMORY, "no memory for a case file");
    const sp_status status = sp_desk_write(context, path, text, strlen(text));
    free(text);
    return status;
}
