/* All files of one run, together; see file_set.h. */
#include "write/file_set.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/alloc.h"
#include "write/exchange.h"
#include "write/file_list.h"

static sp_status fail_file(sp_context *context, const sp_file_set *set, const char *name, int cause)
{
    return sp_fail(context, SP_NO_WRITE, "%s/%s: cannot write: %s", set->folder, name,
                   strerror(cause));
}

/* ---- begin ----------------------------------------------------------------------------------- */

static int open_out(sp_file_set *set)
{
    struct stat about;
    set->made_folder = mkdir(set->folder, 0777) == 0;
    if (!set->made_folder && errno != EEXIST) return errno;
    if (!set->made_folder && (stat(set->folder, &about) != 0 || !S_ISDIR(about.st_mode)))
        return ENOTDIR;
    set->out = open(set->folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    return set->out < 0 ? errno : 0;
}

/* Only one run at a time writes into a folder; the system ends the lock with the program. On a file
 * system without locks the run goes on without one. */
static void wait_for_turn(int out)
{
    while (flock(out, LOCK_EX) != 0 && errno == EINTR) {
    }
}

static void close_all(sp_file_set *set)
{
    const int file[] = {set->fresh, set->exchange, set->out};
    for (int i = 0; i < 3; i++)
        if (file[i] >= 0) close(file[i]);
    if (set->writing) *set->writing = 0;
    sp_free(set->name);
    *set = (sp_file_set){.out = -1, .exchange = -1, .fresh = -1};
}

sp_status sp_file_set_begin(sp_context *context, sp_file_set *set, const char *folder,
                            const char *kind, int capacity)
{
    *set =
        (sp_file_set){.folder = folder, .kind = kind, .writing = context ? context->writing : NULL};
    set->out = set->exchange = set->fresh = -1;
    set->capacity = capacity + 1; /* one more for the list */
    set->name = sp_alloc((size_t)set->capacity, sizeof *set->name);
    if (!set->name) return sp_fail(context, SP_NO_MEMORY, "no memory for the list of files");
    if (set->writing) *set->writing = 1;
    const char *what = "cannot make the folder";
    int cause = open_out(set);
    if (!cause) {
        what = "cannot write into the folder";
        wait_for_turn(set->out);
        cause = sp_exchange_begin(set->out, &set->exchange, &set->fresh);
    }
    if (!cause) return SP_OK;
    if (set->made_folder) rmdir(folder);
    close_all(set);
    return sp_fail(context, SP_NO_WRITE, "%s: %s: %s", folder, what, strerror(cause));
}

/* ---- files ----------------------------------------------------------------------------------- */

static sp_status add_name(sp_context *context, sp_file_set *set, const char *name)
{
    if (set->count == set->capacity) return sp_fail(context, SP_INTERNAL, "too many output files");
    snprintf(set->name[set->count++], SP_SET_NAME_SIZE, "%s", name);
    return SP_OK;
}

sp_status sp_file_set_open(sp_context *context, sp_file_set *set, const char *name)
{
    sp_status status = add_name(context, set, name);
    if (status != SP_OK) return status;
    const int file = openat(set->fresh, name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    set->stream = file < 0 ? NULL : fdopen(file, "w");
    if (!set->stream) {
        const int cause = errno;
        if (file >= 0) close(file);
        return fail_file(context, set, name, cause);
    }
    errno = 0;
    return SP_OK;
}

sp_status sp_file_set_close(sp_context *context, sp_file_set *set, sp_status status)
{
    if (!set->stream) return status;
    const char *name = set->name[set->count - 1];
    if (status == SP_NO_WRITE && context) {
        char cause[SP_MESSAGE_SIZE];
        snprintf(cause, sizeof cause, "%s", context->message);
        sp_fail(context, status, "%s/%s: %s", set->folder, name, cause);
    }
    int failed = fflush(set->stream) != 0 || fsync(fileno(set->stream)) != 0, cause = errno;
    if (fclose(set->stream) != 0 && !failed) failed = 1, cause = errno;
    set->stream = NULL;
    return status == SP_OK && failed ? fail_file(context, set, name, cause) : status;
}

/* ---- which files are replaced ------------------------------------------------------------ */

/* A press also writes the network, so it replaces what `check` has written there. */
static int takes_over(const char *kind, const char *other)
{
    return !strcmp(kind, other) || (!strcmp(kind, "press") && !strcmp(other, "network"));
}

static sp_status refuse_place(sp_context *context, const sp_file_set *set, const char *name,
                              const sp_listed_file *listed)
{
    if (listed)
        return sp_fail(context, SP_NO_WRITE,
                       "%s/%s: belongs to the results of `%s` there; valid: another folder",
                       set->folder, name, listed->kind);
    return sp_fail(context, SP_NO_WRITE,
                   "%s/%s: exists and is not a file of strutpress; valid: another folder, or none "
                   "of that name",
                   set->folder, name);
}

/* Check that every place is free or holds a file of a set that this one replaces. Versions before
 * 0.7.0 left no list: there, a folder in which at least half of the names stand is taken as theirs.
 */
static sp_status check_places(sp_context *context, const sp_file_set *set, const sp_file_list *list)
{
    struct stat about;
    const char *first = NULL;
    int standing = 0;
    for (int i = 0; i < set->count; i++) {
        const char *name = set->name[i];
        if (fstatat(set->out, name, &about, AT_SYMLINK_NOFOLLOW) != 0) continue;
        if (S_ISDIR(about.st_mode)) return fail_file(context, set, name, EISDIR);
        if (!strcmp(name, SP_FILE_LIST_NAME)) continue;
        const sp_listed_file *listed = sp_file_list_find(list, name);
        if (list->present && (!listed || !takes_over(set->kind, listed->kind)))
            return refuse_place(context, set, name, listed);
        if (!standing++) first = name;
    }
    if (list->present || 2 * standing >= set->count || !first) return SP_OK;
    return refuse_place(context, set, first, NULL);
}

static int has_name(const sp_file_set *set, const char *name)
{
    for (int i = 0; i < set->count; i++)
        if (!strcmp(set->name[i], name)) return 1;
    return 0;
}

static sp_status write_list(sp_context *context, sp_file_set *set, sp_file_list *list)
{
    sp_status status = sp_file_set_open(context, set, SP_FILE_LIST_NAME);
    if (status != SP_OK) return status;
    return sp_file_set_close(context, set,
                             sp_file_list_write(context, list, set, takes_over, set->stream));
}

/* ---- end ------------------------------------------------------------------------------------- */

static sp_status exchange_files(sp_context *context, sp_file_set *set, const sp_file_list *list)
{
    int count = 0, at = 0;
    const char **name = sp_alloc((size_t)(set->count + list->count), sizeof *name);
    if (!name) return sp_fail(context, SP_NO_MEMORY, "no memory for the list of files");
    for (int i = 0; i < set->count; i++) name[count++] = set->name[i];
    for (int i = 0; i < list->count; i++)
        if (takes_over(set->kind, list->file[i].kind) && !has_name(set, list->file[i].name))
            name[count++] = list->file[i].name;
    const int cause = sp_exchange_switch(set->out, set->exchange, count, name, &at);
    sp_status status = SP_OK;
    if (cause) status = fail_file(context, set, at < count ? name[at] : SP_EXCHANGE_NAME, cause);
    sp_free(name);
    return status;
}

static sp_status put_set(sp_context *context, sp_file_set *set)
{
    sp_file_list list;
    sp_status status = sp_file_list_read(context, set->folder, set->out, &list);
    if (status == SP_OK) status = check_places(context, set, &list);
    if (status == SP_OK) status = write_list(context, set, &list);
    if (status == SP_OK) {
        const int cause = sp_exchange_sync(set->fresh);
        if (cause) status = fail_file(context, set, SP_EXCHANGE_NAME "/new", cause);
    }
    if (status == SP_OK) status = exchange_files(context, set, &list);
    sp_file_list_free(&list);
    return status;
}

/* Put one file without a list in its place: its rename is the exchange. */
static sp_status put_one(sp_context *context, sp_file_set *set)
{
    const char *name = set->name[0];
    if (renameat(set->fresh, name, set->out, name) != 0)
        return fail_file(context, set, name, errno);
    sp_exchange_sync(set->out);
    return SP_OK;
}

/* Put the files in their places, or undo what was begun. A step that failed is tried once more:
 * every file is there, so a second attempt may pass. */
static sp_status settle(sp_context *context, sp_file_set *set, sp_status status)
{
    int cause = sp_exchange_settle(set->out);
    if (cause) cause = sp_exchange_settle(set->out);
    if (!cause || status != SP_OK) return status;
    return sp_fail(
        context, SP_NO_WRITE,
        "%s: the new files cannot all be put in their places: %s; they are in %s/%s, and "
        "the next run into this folder goes on with it",
        set->folder, strerror(cause), set->folder, SP_EXCHANGE_NAME);
}

sp_status sp_file_set_end(sp_context *context, sp_file_set *set, sp_status status)
{
    if (set->out < 0) return status; /* the set was never begun */
    status = sp_file_set_close(context, set, status);
    if (status == SP_OK) status = set->kind ? put_set(context, set) : put_one(context, set);
    const sp_status before = status;
    status = settle(context, set, status);
    if (before != SP_OK && set->made_folder)
        rmdir(set->folder); /* the folder stays when it holds other files */
    close_all(set);
    return status;
}

/* ---- try ------------------------------------------------------------------------------------- */

static sp_status try_file(sp_context *context, sp_file_set *set)
{
    sp_status status = sp_file_set_open(context, set, "try");
    if (status == SP_OK) {
        fputs("try\n", set->stream);
        status = sp_file_set_close(context, set, SP_OK);
    }
    set->count--;
    return status;
}

static sp_status try_places(sp_context *context, sp_file_set *set, int count,
                            const char *const *name)
{
    sp_file_list list;
    sp_status status = sp_file_list_read(context, set->folder, set->out, &list);
    for (int i = 0; i < count && status == SP_OK; i++) status = add_name(context, set, name[i]);
    if (status == SP_OK) status = check_places(context, set, &list);
    sp_file_list_free(&list);
    return status;
}

sp_status sp_file_set_try(sp_context *context, const char *folder, const char *kind, int count,
                          const char *const *name)
{
    sp_file_set set;
    sp_status status = sp_file_set_begin(context, &set, folder, kind, count);
    if (status != SP_OK) return status;
    status = try_file(context, &set);
    if (status == SP_OK) status = try_places(context, &set, count, name);
    settle(context, &set, SP_INTERRUPTED); /* nothing of the trial may stay */
    if (set.made_folder) rmdir(folder);
    close_all(&set);
    return status;
}
