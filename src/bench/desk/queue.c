/* Files of the folder for the tasks that wait and run; see desk.h. */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/alloc.h"
#include "desk/desk.h"

enum { FILES_MAX = SP_DESK_WAITING, ENTRY_MOST = 64 * 1024, ENTRY_NAME = 48 };
static const char part[] = "queue", begun_mark[] = ".begun";
static const char head[] = "# Waits in the queue of the bench; its name there: ";

/* ---- one file ----------------------------------------------- */

static int entry_path(const sp_desk *desk, const sp_task *task, int is_begun,
                      char path[SP_FILE_SIZE])
{
    char name[ENTRY_NAME];
    snprintf(name, sizeof name, "%06ld%s%s", task->file, is_begun ? begun_mark : "",
             task->is_search ? ".search" : ".yaml");
    return sp_desk_path(desk, part, name, path);
}

sp_status sp_queue_write(sp_context *context, sp_desk *desk, sp_task *task)
{
    char path[SP_FILE_SIZE], line[sizeof head + SP_DESK_NAME + SP_DESK_NAME];
    sp_status status = sp_desk_make_folder(context, desk, part);
    if (status != SP_OK) return status;
    task->file = ++desk->last_file;
    if (!entry_path(desk, task, 0, path))
        return sp_fail(context, SP_NO_WRITE, "%s: the name is too long", desk->folder);
    snprintf(line, sizeof line, "%s%s\n%s%s", head, task->name, task->folder,
             task->is_search ? "\n" : "");
    char *text = task->is_search ? strdup(line) : sp_desk_case_text(&task->request, line);
    if (!text) return sp_fail(context, SP_NO_MEMORY, "no memory for the queue");
    status = sp_desk_write(context, path, text, strlen(text));
    free(text);
    return status;
}

static void rename_entry(const sp_desk *desk, const sp_task *task, int is_begun)
{
    char from[SP_FILE_SIZE], to[SP_FILE_SIZE];
    if (task->file && entry_path(desk, task, !is_begun, from) &&
        entry_path(desk, task, is_begun, to) && rename(from, to))
        return; /* it keeps its name: at worst it is offered, or pressed again */
}

void sp_queue_mark_begun(const sp_desk *desk, const sp_task *task)
{
    rename_entry(desk, task, 1);
}

void sp_queue_mark_waiting(const sp_desk *desk, const sp_task *task)
{
    rename_entry(desk, task, 0);
}

void sp_queue_remove(const sp_desk *desk, const sp_task *task)
{
    char path[SP_FILE_SIZE];
    for (int is_begun = 0; is_begun < 2 && task->file; is_begun++)
        if (entry_path(desk, task, is_begun, path)) unlink(path);
}

/* ---- tasks that the last bench left ----------------------------------------------- */

typedef struct entry {
    long number;
    int is_begun, is_search;
} entry;

/* 0: it has another kind of name, and is left alone. */
static int read_name(const char *name, entry *e)
{
    char *end;
    if (strspn(name, "0123456789") != 6) return 0;
    e->number = strtol(name, &end, 10);
    e->is_begun = !strncmp(end, begun_mark, strlen(begun_mark));
    if (e->is_begun) end += strlen(begun_mark);
    e->is_search = !strcmp(end, ".search");
    return e->number > 0 && (e->is_search || !strcmp(end, ".yaml"));
}

static int compare_entries(const void *left, const void *right)
{
    const entry *p = left, *q = right;
    return (p->number > q->number) - (p->number < q->number);
}

static int list_entries(const sp_desk *desk, entry list[FILES_MAX])
{
    char path[SP_FILE_SIZE];
    int count = 0;
    if (!sp_desk_path(desk, "", part, path)) return 0;
    DIR *folder = opendir(path);
    for (struct dirent *one; folder && count < FILES_MAX && (one = readdir(folder)) != NULL;)
        count += read_name(one->d_name, &list[count]);
    if (folder) closedir(folder);
    qsort(list, (size_t)count, sizeof *list, compare_entries);
    return count;
}

/* Read the name behind the head of a file into `name`, and what follows that line; NULL: it has no
 * head. */
static const char *read_head(const char *text, char name[SP_DESK_NAME])
{
    const char *line = text + strlen(head);
    if (strncmp(text, head, strlen(head)) != 0) return NULL;
    const size_t length = strcspn(line, "\n");
    char raw[SP_DESK_NAME];
    snprintf(raw, sizeof raw, "%.*s", (int)length, line);
    sp_printable(raw, name, SP_DESK_NAME);
    return line + length + (line[length] == '\n');
}

/* The target of a search stands in the folder. */
static sp_status take_search(sp_context *context, const sp_desk *desk, const char *rest,
                             sp_task *task)
{
    char name[SP_DESK_NAME + 16], path[SP_FILE_SIZE];
    snprintf(task->folder, sizeof task->folder, "%.*s", (int)strcspn(rest, "\n"), rest);
    snprintf(name, sizeof name, "%s-target.yaml", task->folder);
    if (strncmp(name, "answers-", 8) != 0 || strchr(name, '/') || !sp_desk_has_file(desk, name) ||
        !sp_desk_path(desk, "", name, path))
        return sp_fail(context, SP_NO_READ, "the target of this search is not in the folder");
    return sp_target_read(context, path, &task->target);
}

static sp_status take_entry(sp_context *context, sp_desk *desk, const entry *e, sp_task *task)
{
    char path[SP_FILE_SIZE], *text = NULL;
    size_t size = 0;
    if (!entry_path(desk, task, e->is_begun, path))
        return sp_fail(context, SP_NO_READ, "the name is too long");
    sp_status status = sp_desk_read(context, path, ENTRY_MOST, &text, &size);
    const char *rest = status == SP_OK ? read_head(text, task->name) : NULL;
    if (status == SP_OK && !rest)
        status = sp_fail(context, SP_NO_READ, "%s: is no file of the queue", path);
    if (status == SP_OK)
        status = e->is_search ? take_search(context, desk, rest, task)
                              : sp_case_read(context, path, &task->request);
    if (status == SP_OK && !e->is_search) status = sp_desk_forecast(context, task);
    sp_free(text);
    return status;
}

sp_status sp_queue_take(sp_context *context, sp_desk *desk)
{
    entry list[FILES_MAX];
    const int count = list_entries(desk, list);
    for (int i = 0; i < count; i++) {
        sp_context own = {.interrupt = context->interrupt};
        sp_task *task = sp_desk_make_task(desk, "left in the queue");
        if (!task) return sp_fail(context, SP_NO_MEMORY, "no memory for the queue");
        task->file = desk->last_file = list[i].number;
        task->is_search = list[i].is_search;
        const sp_status status = take_entry(&own, desk, &list[i], task);
        task->state = status != SP_OK    ? SP_TASK_FAILED
                      : list[i].is_begun ? SP_TASK_OFFERED
                                         : SP_TASK_WAITING;
        if (status != SP_OK) snprintf(task->message, sizeof task->message, "%s", own.message);
        task->id = desk->task_count + 1;
        desk->task[desk->task_count++] = task;
    }
    return SP_OK;
}
