/* Buffers of OpenBLAS; see blas_room.h. */
#include "sparse/blas_room.h"

#include <sys/mman.h>
#include <sys/resource.h>

#include "base/alloc.h"

/* OpenBLAS exports these two and no header has them; without them its buffers come when they are needed. */
__attribute__((weak)) void *blas_memory_alloc(int place);
__attribute__((weak)) void blas_memory_free(void *buffer);

/* Of OpenBLAS 0.3 on x86-64, and what else may want room at that moment. */
static const size_t buffer_size = (128u << 20) + (1u << 20);

static int ready; /* buffers that there are */

static int has_room(void)
{
    struct rlimit limit;
    if (getrlimit(RLIMIT_AS, &limit) != 0 || limit.rlim_cur == RLIM_INFINITY) return 1;
    void *room = mmap(NULL, buffer_size, PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (room == MAP_FAILED) return 0;
    munmap(room, buffer_size);
    return 1;
}

/* All of them are held at once, since OpenBLAS makes a new one only when the others are in use. */
static int make_buffers(int count)
{
    void **held = sp_alloc((size_t)count, sizeof *held);
    int have = 0;
    if (!held) return 0;
    while (have < count && (have < ready || has_room())) {
        held[have] = blas_memory_alloc(1);
        if (!held[have]) break;
        have++;
    }
    for (int i = 0; i < have; i++) blas_memory_free(held[i]);
    sp_free(held);
    return have;
}

sp_status sp_blas_room(sp_context *context, int threads)
{
    int have = threads;
#pragma omp critical(sp_blas)
    if (ready < threads && blas_memory_alloc && blas_memory_free) {
        have = make_buffers(threads);
        if (have > ready) ready = have;
    }
    if (have >= threads) return SP_OK;
    return sp_fail(context, SP_NO_MEMORY,
                   "no memory for the %d buffers of the linear algebra, of 0.13 GB each: fewer "
                   "threads or a larger limit would do",
                   threads);
}
