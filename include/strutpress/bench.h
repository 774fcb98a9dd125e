/* The bench: a page on this machine on which coupons are described, pressed, compared and chosen.
 *
 * Ownership: options are the caller's. Errors: each function names its own. Threads: one bench at a
 * time serves a folder; others may read its store meanwhile.
 *
 * The bench answers at the loopback address only, and only to those who have the link, which
 * contains a random token. Everything that it writes stands in its folder: case files, plans,
 * targets and the store are those of the command line. */
#ifndef STRUTPRESS_BENCH_H
#define STRUTPRESS_BENCH_H

#include <strutpress/context.h>

SP_PUBLIC_BEGIN

typedef struct sp_bench_options {
    const char *folder; /* must exist */
    int port;           /* 0: any that is free */
    int threads;        /* coupons pressed at once; 0: one per core */
    /* Called with the link once the bench answers; NULL: the link is not reported. */
    void (*ready)(void *user, const char *link);
    void *user;
} sp_bench_options;

/* Serve until context->interrupt is set, which must not be NULL; presses that run then are stopped,
 * and what was finished stays in the store. Errors: SP_NO_READ (folder, store, libmicrohttpd is not
 * installed), SP_NO_WRITE, SP_NO_MEMORY, SP_BAD_USAGE (the port is taken). */
sp_status sp_bench_serve(sp_context *context, const sp_bench_options *options);

SP_PUBLIC_END

#endif
