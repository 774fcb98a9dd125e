/* For `make analyse` alone: it cannot see that sp_fail returns the status it was given, which is
 * never SP_OK. */
#ifndef SP_ANALYSE_H
#define SP_ANALYSE_H

#include <strutpress/context.h>

#define sp_fail(context, status, ...) ((void)sp_fail(context, status, __VA_ARGS__), (status))

#endif
