/* Free memory of the machine. A run that needs more is refused before the machine begins to swap or
 * kills it. */
#ifndef SP_BASE_MEMORY_H
#define SP_BASE_MEMORY_H

#include <strutpress/context.h>

/* Return the bytes that can be had now: what the system calls available, or less where a limit on
 * the process leaves less; infinity where neither is known. */
double sp_memory_free(void);

/* Return SP_NO_MEMORY, with the estimate in the failure line, when `bytes` more do not fit into
 * what is free; `what` names who needs them. */
sp_status sp_memory_expect(sp_context *context, double bytes, const char *what);

void sp_memory_pretend(
    double bytes); /* tests: act as if this many bytes were free; 0 = ask the system again */

#endif
