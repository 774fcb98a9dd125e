/* This library is loaded before the C library (LD_PRELOAD): something happens once, at the n-th
 * call that touches files of a set.
 *
 *   FAIL_CALL=N      which call it is, from 1; 0 or nothing: none
 *   FAIL_HOW=error   the call fails (writes with ENOSPC, the others with EIO)
 *   FAIL_HOW=kill    SIGKILL comes before the call
 *   FAIL_HOW=NUMBER  the signal of this number comes before the call, which is then made
 *   FAIL_LINKS=1     besides, every link fails with EPERM, as on a file system without links
 *   FAIL_COUNT=FILE  the file gets the number of calls at the end
 *
 * Streams that the program opens with fdopen() go through a stream of this file, so that the writes
 * and the close inside the C library are counted as well. */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static long calls;

/* Return 1 when this call is to fail. */
static int comes_due(void)
{
    const char *which = getenv("FAIL_CALL"), *how = getenv("FAIL_HOW");
    if (++calls != (which ? atol(which) : 0) || !how) return 0;
    if (!strcmp(how, "error")) return 1;
    kill(getpid(), !strcmp(how, "kill") ? SIGKILL : atoi(how));
    return 0;
}

static int fail(int cause)
{
    errno = cause;
    return -1;
}

static int without_links(void)
{
    return getenv("FAIL_LINKS") != NULL;
}

__attribute__((destructor)) static void tell(void)
{
    const char *file = getenv("FAIL_COUNT");
    FILE *stream = file ? fopen(file, "w") : NULL;
    if (!stream) return;
    fprintf(stream, "%ld\n", calls);
    fclose(stream);
}

/* Find the function of that name in the C library. */
#define REAL(type, name, ...)                                                                      \
    static type (*real)(__VA_ARGS__);                                                              \
    if (!real) *(void **)&real = dlsym(RTLD_NEXT, name)

int fsync(int file)
{
    REAL(int, "fsync", int);
    return comes_due() ? fail(EIO) : real(file);
}

int mkdir(const char *name, mode_t mode)
{
    REAL(int, "mkdir", const char *, mode_t);
    return comes_due() ? fail(ENOSPC) : real(name, mode);
}

int mkdirat(int at, const char *name, mode_t mode)
{
    REAL(int, "mkdirat", int, const char *, mode_t);
    return comes_due() ? fail(ENOSPC) : real(at, name, mode);
}

int openat(int at, const char *name, int flags, ...)
{
    REAL(int, "openat", int, const char *, int, ...);
    return comes_due() ? fail(flags & O_CREAT ? ENOSPC : EIO) : real(at, name, flags, 0666);
}

int linkat(int from, const char *name, int to, const char *other, int flags)
{
    REAL(int, "linkat", int, const char *, int, const char *, int);
    if (without_links()) return fail(EPERM);
    return comes_due() ? fail(ENOSPC) : real(from, name, to, other, flags);
}

int symlinkat(const char *text, int at, const char *name)
{
    REAL(int, "symlinkat", const char *, int, const char *);
    if (without_links()) return fail(EPERM);
    return comes_due() ? fail(ENOSPC) : real(text, at, name);
}

int renameat(int from, const char *name, int to, const char *other)
{
    REAL(int, "renameat", int, const char *, int, const char *);
    return comes_due() ? fail(EIO) : real(from, name, to, other);
}

int unlinkat(int at, const char *name, int flags)
{
    REAL(int, "unlinkat", int, const char *, int);
    return comes_due() ? fail(EIO) : real(at, name, flags);
}

int close(int file)
{
    REAL(int, "close", int);
    if (!comes_due()) return real(file);
    real(file);
    return fail(EIO);
}

/* ---- streams ----------------------------------------------- */

enum { STREAM_MAX = 16 };
static struct {
    FILE *stream;
    int file;
} opened[STREAM_MAX];

static ssize_t put(void *user, const char *text, size_t size)
{
    const int *file = user;
    if (comes_due()) {
        errno = ENOSPC;
        return 0; /* a cookie stream returns 0 when nothing was written */
    }
    return write(*file, text, size);
}

static int end(void *user)
{
    int *file = user;
    const int number = *file;
    *file = -1;
    return close(number);
}

FILE *fdopen(int file, const char *mode)
{
    REAL(FILE *, "fdopen", int, const char *);
    if (mode[0] != 'w') return real(file, mode);
    for (int i = 0; i < STREAM_MAX; i++) {
        if (opened[i].stream && opened[i].file >= 0) continue;
        opened[i].file = file;
        opened[i].stream =
            fopencookie(&opened[i].file, mode, (cookie_io_functions_t){.write = put, .close = end});
        return opened[i].stream;
    }
    return NULL;
}

int fileno(FILE *stream)
{
    REAL(int, "fileno", FILE *);
    for (int i = 0; i < STREAM_MAX; i++)
        if (opened[i].stream == stream && opened[i].file >= 0) return opened[i].file;
    return real(stream);
}
