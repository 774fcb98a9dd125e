/* The plain texts of a plan or target, whatever they mean. */
#ifndef SP_BATCH_SCALARS_H
#define SP_BATCH_SCALARS_H

#include <stddef.h>

/* Call `look` with every name and value of a YAML text until it returns 0. Returns 0 when it did,
 * or when there is no memory to read on; a text that is no YAML ends where it ceases to be. */
int sp_plan_each_scalar(const char *text, size_t size, int (*look)(void *user, const char *scalar),
                        void *user);

#endif
