/* Files of a folder that are replaced as one; see exchange.h. */
#include "write/exchange.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { PATH_SIZE = 320 }; /* the longest name with the hidden folder before it */

static int open_folder(int at, const char *name)
{
    return openat(at, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
}

static const char *path_in(const char *folder, const char *name, char path[PATH_SIZE])
{
    snprintf(path, PATH_SIZE, "%s/%s", folder, name);
    return path;
}

int sp_exchange_sync(int folder)
{
    /* EINVAL says that the file system has no means to flush this. */
    return fsync(folder) != 0 && errno != EINVAL ? errno : 0;
}

/* ---- what is in the folder --------------------------------------------------------------- */

/* Call `visit` with every name of a folder until it returns an errno. A folder that is not there
 * has none. */
static int each_name(int at, const char *name, int (*visit)(int out, int folder, const char *name),
                     int out)
{
    const int folder = open_folder(at, name);
    if (folder < 0) return errno == ENOENT ? 0 : errno;
    DIR *names = fdopendir(folder);
    int cause = names ? 0 : errno;
    if (!names) close(folder);
    while (names && !cause) {
        errno = 0;
        const struct dirent *entry = readdir(names);
        if (!entry) {
            cause = errno;
            break;
        }
        if (strcmp(entry->d_name, ".") && strcmp(entry->d_name, ".."))
            cause = visit(out, folder, entry->d_name);
    }
    if (names) closedir(names);
    return cause;
}

static void link_text(const char *name, char text[PATH_SIZE])
{
    path_in(SP_EXCHANGE_NAME "/now", name, text);
}

static int is_our_link(int out, const char *name)
{
    char wanted[PATH_SIZE], text[PATH_SIZE];
    link_text(name, wanted);
    const ssize_t length = readlinkat(out, name, text, sizeof text);
    return length == (ssize_t)strlen(wanted) && !memcmp(text, wanted, (size_t)length);
}

/* Return whether step 3 is done. */
static int is_switched(int hidden)
{
    char text[4];
    const ssize_t length = readlinkat(hidden, "now", text, sizeof text);
    if (length == 3 && !memcmp(text, "new", 3)) return 1;
    return faccessat(hidden, "moved", F_OK, 0) == 0;
}

/* ---- begin and settle ------------------------------------------------------------------------ */

/* A file that someone else has put there since then stays in its place. */
static int put_in_place(int out, int folder, const char *name)
{
    struct stat about;
    const int taken = fstatat(out, name, &about, AT_SYMLINK_NOFOLLOW) == 0;
    if (taken && !is_our_link(out, name)) return 0;
    return renameat(folder, name, out, name) == 0 ? 0 : errno;
}

static int drop_our_link(int out, int folder, const char *name)
{
    (void)out;
    if (!is_our_link(folder, name)) return 0;
    return unlinkat(folder, name, 0) == 0 ? 0 : errno;
}

static int drop_file(int out, int folder, const char *name)
{
    (void)out;
    return unlinkat(folder, name, 0) == 0 ? 0 : errno;
}

/* The mark of the switch (`now`, or `moved` where there are no links) is removed last: without it
 * the files that are left in old/ would be restored. */
static int remove_hidden(int out, int hidden)
{
    static const struct {
        const char *name;
        int flags;
    } part[] = {{"old", AT_REMOVEDIR},  {"new", AT_REMOVEDIR}, {"link", 0}, {"next", 0}, {"now", 0},
                {"moved", AT_REMOVEDIR}};
    int cause = each_name(hidden, "old", drop_file, out);
    if (!cause) cause = each_name(hidden, "new", drop_file, out);
    for (size_t i = 0; i < sizeof part / sizeof part[0] && !cause; i++)
        if (unlinkat(hidden, part[i].name, part[i].flags) != 0 && errno != ENOENT) cause = errno;
    if (!cause && unlinkat(out, SP_EXCHANGE_NAME, AT_REMOVEDIR) != 0) cause = errno;
    return cause;
}

int sp_exchange_settle(int out)
{
    const int hidden = open_folder(out, SP_EXCHANGE_NAME);
    if (hidden < 0) return errno == ENOENT ? 0 : errno;
    int cause = each_name(hidden, is_switched(hidden) ? "new" : "old", put_in_place, out);
    if (!cause) cause = each_name(out, ".", drop_our_link, out);
    if (!cause) cause = sp_exchange_sync(out);
    if (!cause) cause = remove_hidden(out, hidden);
    close(hidden);
    return cause;
}

int sp_exchange_begin(int out, int *hidden, int *fresh)
{
    *hidden = *fresh = -1;
    int cause = sp_exchange_settle(out);
    if (!cause && mkdirat(out, SP_EXCHANGE_NAME, 0777) != 0) cause = errno;
    if (cause) return cause;
    *hidden = open_folder(out, SP_EXCHANGE_NAME);
    if (*hidden < 0 || mkdirat(*hidden, "new", 0777) != 0)
        cause = errno;
    else if ((*fresh = open_folder(*hidden, "new")) < 0)
        cause = errno;
    if (!cause) return 0;
    if (*hidden >= 0) close(*hidden);
    *hidden = -1;
    sp_exchange_settle(out);
    return cause;
}

/* ---- switch ---------------------------------------------------------------------------------- */

typedef struct exchange {
    int out, hidden, count;
    const char *const *name;
    int *at;
} exchange;

/* True when the file system, or its rules for files of other users, does not allow links. */
static int is_without_links(int cause)
{
    return cause == EPERM || cause == EOPNOTSUPP || cause == ENOSYS || cause == EMLINK;
}

static int link_old(const exchange *x)
{
    char path[PATH_SIZE];
    if (symlinkat("old", x->hidden, "now") != 0) return errno;
    for (*x->at = 0; *x->at < x->count; ++*x->at) {
        const char *name = x->name[*x->at];
        if (linkat(x->out, name, x->hidden, path_in("old", name, path), 0) != 0 && errno != ENOENT)
            return errno;
    }
    return 0;
}

static int place_links(const exchange *x)
{
    char text[PATH_SIZE];
    for (*x->at = 0; *x->at < x->count; ++*x->at) {
        const char *name = x->name[*x->at];
        link_text(name, text);
        if (symlinkat(text, x->hidden, "link") != 0 ||
            renameat(x->hidden, "link", x->out, name) != 0)
            return errno;
    }
    return 0;
}

static int move_old(const exchange *x)
{
    char path[PATH_SIZE];
    for (*x->at = 0; *x->at < x->count; ++*x->at) {
        const char *name = x->name[*x->at];
        path_in("old", name, path);
        /* Remove the second name of a file that has one, since a rename onto itself would leave
         * both. */
        if (unlinkat(x->hidden, path, 0) != 0 && errno != ENOENT) return errno;
        if (renameat(x->out, name, x->hidden, path) != 0 && errno != ENOENT) return errno;
    }
    return 0;
}

static int refuse_folders(const exchange *x)
{
    struct stat about;
    for (*x->at = 0; *x->at < x->count; ++*x->at)
        if (fstatat(x->out, x->name[*x->at], &about, AT_SYMLINK_NOFOLLOW) == 0 &&
            S_ISDIR(about.st_mode))
            return EISDIR;
    return 0;
}

/* Everything that precedes the switch is flushed to the disk before it, so that a power cut cannot
 * change the order. */
static int sync_all(const exchange *x)
{
    const int cause = sp_exchange_sync(x->out);
    return cause ? cause : sp_exchange_sync(x->hidden);
}

static int switch_links(const exchange *x)
{
    int cause = place_links(x);
    if (!cause) cause = sync_all(x);
    if (cause) return cause;
    if (symlinkat("new", x->hidden, "next") != 0 ||
        renameat(x->hidden, "next", x->hidden, "now") != 0)
        return errno;
    return 0;
}

static int switch_moved(const exchange *x)
{
    int cause = move_old(x);
    if (!cause) cause = sync_all(x);
    if (!cause && mkdirat(x->hidden, "moved", 0777) != 0) cause = errno;
    return cause;
}

int sp_exchange_switch(int out, int hidden, int count, const char *const *name, int *at)
{
    const exchange x = {.out = out, .hidden = hidden, .count = count, .name = name, .at = at};
    int cause = refuse_folders(&x);
    if (!cause && mkdirat(hidden, "old", 0777) != 0) cause = errno;
    if (cause) return cause;
    cause = link_old(&x);
    if (!cause)
        cause = switch_links(&x);
    else if (is_without_links(cause))
        cause = switch_moved(&x);
    if (!cause) sp_exchange_sync(hidden); /* the switch has happened, whatever this call returns */
    return cause;
}
