/* Zeroed allocation with overflow check. Tests make the n-th allocation fail through
 * sp_alloc_fail_at. */
#ifndef SP_BASE_ALLOC_H
#define SP_BASE_ALLOC_H

#include <stddef.h>

void *sp_alloc(size_t count, size_t size); /* NULL when there is no memory; count 0 is valid */
void *sp_resize(void *block, size_t count,
                size_t size);         /* as realloc does; the new part is not zeroed */
void sp_free(void *block);            /* accepts NULL */
char *sp_copy_text(const char *text); /* NULL when there is no memory */

void sp_alloc_fail_at(long nth); /* tests: the nth call from now on fails (1-based); 0: none */
long sp_alloc_count(void);       /* tests: blocks not yet freed */

#endif
