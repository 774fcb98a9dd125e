#include "base/poll.h"

#include <stddef.h>

static const double work_between = 1e6; /* [operations], done in some milliseconds */

int sp_interrupted(const sp_context *context)
{
    return context && context->interrupt && __atomic_load_n(context->interrupt, __ATOMIC_RELAXED);
}

sp_status sp_poll_now(sp_context *context, const char *doing)
{
    sp_begin(context, doing);
    if (!sp_interrupted(context)) return SP_OK;
    return sp_fail(context, SP_INTERRUPTED, "interrupted while %s", doing);
}

static void tell_whole(void *user, double fraction, const char *text)
{
    const sp_watch *watch = user;
    (void)fraction;
    (void)text;
    watch->outer->progress(watch->outer->user, watch->done, watch->doing);
}

void sp_watch_part(sp_watch *watch, sp_context *outer, double done, const char *doing)
{
    *watch = (sp_watch){.outer = outer, .done = done, .doing = doing};
    if (!outer) return;
    watch->inner.interrupt = outer->interrupt;
    if (!outer->progress) return;
    watch->inner.progress = tell_whole;
    watch->inner.user = watch;
    outer->progress(outer->user, done, doing);
}

sp_status sp_poll_after(sp_poll *poll, double work)
{
    poll->work += work;
    if (poll->work < work_between) return SP_OK;
    poll->work = 0;
    return sp_poll_now(poll->context, poll->doing);
}
