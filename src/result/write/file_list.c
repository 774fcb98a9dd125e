/* The list of the program's files in an output folder; see file_list.h. */
#include "write/file_list.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"
#include "write/text.h"

static const char head[] = "strutpress files 1"; /* 1: the format */

/* True for a file that stands in the folder itself and is not hidden. */
static int is_plain_name(const char *name)
{
    return name[0] && name[0] != '.' && !strchr(name, '/') && strlen(name) < SP_SET_NAME_SIZE;
}

static sp_status refuse(sp_context *context, const char *folder, int line, const char *text)
{
    return sp_fail(
        context, SP_NO_WRITE,
        "%s/" SP_FILE_LIST_NAME ", line %d: received '%.60s'; valid: a word and the "
        "name of a file in this folder; remove the list to keep every file that is there",
        folder, line, text);
}

/* Read a line such as "press curve.csv". */
static int take_line(const char *text, sp_listed_file *file)
{
    const char *space = strchr(text, ' ');
    const size_t length = space ? (size_t)(space - text) : 0;
    if (!length || length >= sizeof file->kind || !is_plain_name(space + 1)) return 0;
    memcpy(file->kind, text, length);
    file->kind[length] = 0;
    memcpy(file->name, space + 1, strlen(space + 1) + 1);
    return 1;
}

static sp_status read_lines(sp_context *context, const char *folder, FILE *stream,
                            sp_file_list *list)
{
    char text[SP_SET_NAME_SIZE + 32];
    int room = 0;
    for (int line = 1; fgets(text, sizeof text, stream); line++) {
        const size_t length = strlen(text);
        const int whole = length && text[length - 1] == '\n';
        if (whole) text[length - 1] = 0;
        if (line == 1 && whole && !strcmp(text, head)) continue;
        if (list->count == room) {
            room = 2 * room + 16;
            sp_listed_file *more = sp_resize(list->file, (size_t)room, sizeof *more);
            if (!more) return sp_fail(context, SP_NO_MEMORY, "no memory for the list of files");
            list->file = more;
        }
        if (line == 1 || !whole || !take_line(text, &list->file[list->count]))
            return refuse(context, folder, line, text);
        list->count++;
    }
    if (ferror(stream))
        return sp_fail(context, SP_NO_WRITE, "%s/" SP_FILE_LIST_NAME ": cannot be read: %s", folder,
                       strerror(errno));
    return SP_OK;
}

sp_status sp_file_list_read(sp_context *context, const char *folder, int out, sp_file_list *list)
{
    *list = (sp_file_list){0};
    const int file = openat(out, SP_FILE_LIST_NAME, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    if (file < 0 && errno == ENOENT) return SP_OK;
    FILE *stream = file < 0 ? NULL : fdopen(file, "r");
    if (!stream) {
        const int cause = errno;
        if (file >= 0) close(file);
        return sp_fail(context, SP_NO_WRITE, "%s/" SP_FILE_LIST_NAME ": cannot be read: %s", folder,
                       strerror(cause));
    }
    list->present = 1;
    sp_status status = read_lines(context, folder, stream, list);
    fclose(stream);
    if (status != SP_OK) sp_file_list_free(list);
    return status;
}

void sp_file_list_free(sp_file_list *list)
{
    sp_free(list->file);
    *list = (sp_file_list){0};
}

const sp_listed_file *sp_file_list_find(const sp_file_list *list, const char *name)
{
    for (int i = 0; i < list->count; i++)
        if (!strcmp(list->file[i].name, name)) return &list->file[i];
    return NULL;
}

sp_status sp_file_list_write(sp_context *context, const sp_file_list *old, const sp_file_set *set,
                             int (*takes_over)(const char *kind, const char *other), FILE *stream)
{
    sp_print(stream, "%s\n", head);
    for (int i = 0; i < old->count; i++)
        if (!takes_over(set->kind, old->file[i].kind))
            sp_print(stream, "%s %s\n", old->file[i].kind, old->file[i].name);
    for (int i = 0; i < set->count; i++)
        if (strcmp(set->name[i], SP_FILE_LIST_NAME))
            sp_print(stream, "%s %s\n", set->kind, set->name[i]);
    return sp_stream_end(context, stream);
}
