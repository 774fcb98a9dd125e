/* Allocation with a count of live blocks and a failure on demand, both safe across threads. */
#include "base/alloc.h"

#include <malloc.h>
#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>

#if defined(__SANITIZE_ADDRESS__)
#define CHECKS_ADDRESSES 1
#elif defined(__has_feature)
#define CHECKS_ADDRESSES __has_feature(address_sanitizer)
#else
#define CHECKS_ADDRESSES 0
#endif

#if CHECKS_ADDRESSES
static const size_t large_bytes = SIZE_MAX; /* the sanitizer sees the bounds of malloc's blocks */
#else
static const size_t large_bytes = (size_t)1 << 20;
#endif

static atomic_long live_blocks;
static atomic_long fail_countdown; /* 0: never */

/* Return 1 when this call is the one that a test wants to fail. */
static int must_fail(void)
{
    if (atomic_load_explicit(&fail_countdown, memory_order_relaxed) <= 0) return 0;
    return atomic_fetch_sub(&fail_countdown, 1) == 1;
}

static int overflows(size_t count, size_t size)
{
    return size != 0 && count > PTRDIFF_MAX / size;
}

void *sp_alloc(size_t count, size_t size)
{
    if (overflows(count, size) || must_fail()) return NULL;
    void *block = count == 0 || size == 0 ? calloc(1, 1) : calloc(count, size);
    if (block) atomic_fetch_add_explicit(&live_blocks, 1, memory_order_relaxed);
    return block;
}

void *sp_resize(void *block, size_t count, size_t size)
{
    if (overflows(count, size) || must_fail()) return NULL;
    const size_t bytes = count * size;
    void *resized = realloc(block, bytes > 0 ? bytes : 1);
    if (resized && !block) atomic_fetch_add_explicit(&live_blocks, 1, memory_order_relaxed);
    return resized;
}

void *sp_grow(void *block, int count, int *capacity, int first, size_t size)
{
    if (count < *capacity) return block;
    const int more = *capacity ? 2 * *capacity : first;
    void *grown = sp_resize(block, (size_t)more, size);
    if (grown) *capacity = more;
    return grown;
}

void sp_free(void *block)
{
    if (!block) return;
    atomic_fetch_sub_explicit(&live_blocks, 1, memory_order_relaxed);
    free(block);
}

void *sp_alloc_large(size_t count, size_t size)
{
    if (overflows(count, size) || count * size < large_bytes) return sp_alloc(count, size);
    if (must_fail()) return NULL;
    void *block =
        mmap(NULL, count * size, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (block == MAP_FAILED) return NULL;
    atomic_fetch_add_explicit(&live_blocks, 1, memory_order_relaxed);
    return block;
}

void sp_free_large(void *block, size_t count, size_t size)
{
    if (!block || count * size < large_bytes) {
        sp_free(block);
        return;
    }
    atomic_fetch_sub_explicit(&live_blocks, 1, memory_order_relaxed);
    munmap(block, count * size);
}

void *sp_resize_large(void *block, size_t before, size_t count, size_t size)
{
    if (overflows(count, size)) return NULL;
    if (block && before * size >= large_bytes && count * size >= large_bytes) {
        void *moved =
            must_fail() ? MAP_FAILED : mremap(block, before * size, count * size, MREMAP_MAYMOVE);
        return moved == MAP_FAILED ? NULL : moved;
    }
    void *taken = sp_alloc_large(count, size);
    if (!taken) return NULL;
    if (block) memcpy(taken, block, (before < count ? before : count) * size);
    sp_free_large(block, before, size);
    return taken;
}

void sp_rest_large(void *block, size_t count, size_t size)
{
    if (block && count * size >= large_bytes) madvise(block, count * size, MADV_DONTNEED);
}

void sp_trim(void)
{
#ifdef __GLIBC__
    malloc_trim(0);
#endif
}

char *sp_copy_text(const char *text)
{
    const size_t size = strlen(text) + 1;
    char *copy = sp_alloc(size, 1);
    if (copy) memcpy(copy, text, size);
    return copy;
}

void sp_alloc_fail_at(long nth)
{
    atomic_store(&fail_countdown, nth);
}

long sp_alloc_count(void)
{
    return atomic_load(&live_blocks);
}
