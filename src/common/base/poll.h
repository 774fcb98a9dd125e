/* Long work that can be interrupted: its loops count operations and ask the context from time to
 * time. */
#ifndef SP_BASE_POLL_H
#define SP_BASE_POLL_H

#include <strutpress/context.h>

/* Return 1 when the user asked for the end. */
int sp_interrupted(const sp_context *context);

typedef struct sp_poll {
    sp_context *context;
    const char *doing; /* for the progress line and the message, as in "joining struts" */
    double work;       /* operations since the last look at the context */
} sp_poll;

/* Count `work`, in operations of a few nanoseconds each. After every million of them tell progress
 * what is being done and look whether the user asked for the end. Errors: SP_INTERRUPTED
 * ("interrupted while DOING"). */
sp_status sp_poll_after(sp_poll *poll, double work);

/* Tell progress and look at the context at once, without counting work. */
sp_status sp_poll_now(sp_context *context, const char *doing);

/* Make the context of one part of a work of many parts, for example of one network of a plan. The
 * outer context is asked for interrupts and gets the share of the whole that is done. The part
 * has a failure line of its own, and its cautions are dropped. The watch must outlive the use of
 * its context. */
typedef struct sp_watch {
    sp_context inner, *outer; /* outer is NULL when nobody listens */
    double done;              /* share of the whole, 0 .. 1 */
    const char *doing;        /* for the progress line */
} sp_watch;

void sp_watch_part(sp_watch *watch, sp_context *outer, double done, const char *doing);

#endif
