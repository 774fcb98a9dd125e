/* What every call returns: one row holds the code, the exit status of the program and the cause in
 * words.
 *
 * A status is an error. Events of a press (a buckle, a snap, a reached limit) are not errors and
 * have no row here, and how a press ended is an sp_stop (path.h): no press returns SP_GAVE_UP or
 * SP_INTERRUPTED. Calls whose answer needs many presses return SP_INTERRUPTED when the answer is
 * not whole, and sp_calibrate SP_GAVE_UP when a tested coupon has no curve; a store keeps both as
 * the outcome of a coupon. The functions never fail, may be called from any thread, and their texts
 * live as long as the program. */
#ifndef STRUTPRESS_STATUS_H
#define STRUTPRESS_STATUS_H

#include <strutpress/version.h>

SP_PUBLIC_BEGIN

#define SP_STATUS_ROWS(X)                                                                          \
    X(SP_OK, 0, "done")                                                                            \
    X(SP_INTERNAL, 1, "an internal check failed")                                                  \
    X(SP_BAD_USAGE, 2, "the command line is not understood")                                       \
    X(SP_BAD_CASE, 3, "the case is not valid")                                                     \
    X(SP_BAD_NETWORK, 4, "the strut network is not valid")                                         \
    X(SP_NO_READ, 5, "a file cannot be read")                                                      \
    X(SP_NO_WRITE, 6, "an output cannot be written")                                               \
    X(SP_NO_MEMORY, 7, "out of memory")                                                            \
    X(SP_GAVE_UP, 8, "the press ended before its target; the curve so far is kept")                \
    X(SP_CONFLICT, 9, "stores hold different figures of one coupon; each keeps its own")           \
    X(SP_INTERRUPTED, 130, "interrupted; the curve so far is kept")

typedef enum {
#define SP_STATUS_ENUM(code, exit_status, text) code,
    SP_STATUS_ROWS(SP_STATUS_ENUM)
#undef SP_STATUS_ENUM
} sp_status;

/* Return the exit status of the program for a status, and its cause in words (never NULL). */
int sp_status_exit(sp_status status);
const char *sp_status_text(sp_status status);

SP_PUBLIC_END

#endif
