/* Zeroed allocation with overflow check. Tests make the n-th allocation fail through
 * sp_alloc_fail_at. */
#ifndef SP_BASE_ALLOC_H
#define SP_BASE_ALLOC_H

#include <stddef.h>

void *sp_alloc(size_t count, size_t size); /* NULL when there is no memory; count 0 is valid */
/* Resize as realloc does; the new part is not zeroed. */
void *sp_resize(void *block, size_t count, size_t size);
/* Make room for one more element in a block that holds `count` of `*capacity`: when it is full, the
 * capacity doubles, and is `first` in the beginning. NULL when there is no memory; block and
 * capacity are unchanged then. */
void *sp_grow(void *block, int count, int *capacity, int first, size_t size);
void sp_free(void *block);            /* accepts NULL */
char *sp_copy_text(const char *text); /* NULL when there is no memory */

void sp_alloc_fail_at(long nth); /* tests: the nth call from now on fails (1-based); 0: none */
long sp_alloc_count(void);       /* tests: blocks not yet freed */

#endif
