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
void sp_free(void *block); /* accepts NULL */
/* Allocate a large block (a megabyte and more) that gives its memory back to the system when it is
 * freed: where such a block is freed and taken again somewhat larger, malloc would leave a gap that
 * fits nothing else. Smaller ones come from sp_alloc. `count` and `size` of both calls are equal.
 */
void *sp_alloc_large(size_t count, size_t size);
void sp_free_large(void *block, size_t count, size_t size); /* accepts NULL */
/* Resize such a block from `before` to `count`, keeping what is in it; NULL without memory: the
 * block is then as before. */
void *sp_resize_large(void *block, size_t before, size_t count, size_t size);
/* Give the memory of such a block back to the system until it is written again. Its numbers are
 * lost; a block that is not that large stays as it is. Accepts NULL. */
void sp_rest_large(void *block, size_t count, size_t size);
/* Give what malloc keeps of freed blocks back to the system; for moments after which much less is
 * needed than before. */
void sp_trim(void);
char *sp_copy_text(const char *text); /* NULL when there is no memory */

void sp_alloc_fail_at(long nth); /* tests: the nth call from now on fails (1-based); 0: none */
long sp_alloc_count(void);       /* tests: blocks not yet freed */

#endif
