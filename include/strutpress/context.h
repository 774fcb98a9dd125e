/* What travels with every call: the failure line, the log, progress and the interrupt flag.
 *
 * Every function that takes a context takes NULL in its place: nobody listens then, and the status
 * alone tells what failed. Ownership: the context and all it points to belong to the caller and
 * must outlive the call. Errors: the functions below never fail. Threads: a context serves one call
 * at a time, so that each thread needs its own; its functions are called from the thread that
 * called, or from a thread of the library one at a time; `interrupt` may be set from any thread or
 * from a signal handler. The library leaves the host's signal handlers, locale, folder, OpenMP
 * settings and number of BLAS threads as it found them. */
#ifndef STRUTPRESS_CONTEXT_H
#define STRUTPRESS_CONTEXT_H

#include <signal.h>
#include <stddef.h>

#include <strutpress/status.h>

SP_PUBLIC_BEGIN

struct sp_path; /* path.h */

#define SP_MESSAGE_SIZE 768

typedef struct sp_context {
    char message[SP_MESSAGE_SIZE];    /* one line on the last failure, "" when there was none */
    volatile sig_atomic_t *interrupt; /* polled between Newton iterations when not NULL */
    volatile sig_atomic_t *writing;   /* 1 while a set of files is written; NULL: nobody asks */
    void (*warn)(void *user, const char *line); /* one-line cautions; NULL: dropped */
    /* Called with the progress of a run: `fraction` is the share of its expected time in [0, 1],
     * `text` names what is being done. 0 means that the expected time is not known. NULL: progress
     * is not reported. */
    void (*progress)(void *user, double fraction, const char *text);
    /* Called before progress where the run knows how many seconds of its time are left: nine of
     * ten times between `low` and `high`. NULL: what is left follows from the share alone. */
    void (*left)(void *user, double low, double high);
    /* Called with lines that a run has to tell before it presses, such as its forecast; NULL: they
     * are dropped. */
    void (*say)(void *user, const char *line);
    /* Called with the path so far after each state that a press has accepted, for programs that
     * show it while it grows: its last step is the newest, and its last kept shape is that of
     * frame_step. It is called from the thread that presses, which waits meanwhile; the callee must
     * not keep any pointer into it. NULL: states are not shown. */
    void (*accepted)(void *user, const struct sp_path *path);
    void *user; /* handed to all of them */
} sp_context;

/* Store one formatted line in context->message and return status, so that callers write
 * `return sp_fail(context, SP_BAD_CASE, "...", ...)`. It is made printable. */
sp_status sp_fail(sp_context *context, sp_status status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Send one formatted caution line to context->warn. */
void sp_warn(sp_context *context, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Send one formatted line to context->say. */
void sp_say(sp_context *context, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* Tell context->progress what begins now. */
void sp_begin(sp_context *context, const char *text);

/* Copy a text from outside so that it may stand on a terminal, in a table or in a picture: control
 * characters, line separators, marks that turn the direction of writing and bytes that are not
 * UTF-8 are written out as \x1b or \u202e. It is cut at a character when it does not fit; 4 x
 * strlen + 1 bytes are always enough. */
void sp_printable(const char *text, char *clean, size_t size);

SP_PUBLIC_END

#endif
