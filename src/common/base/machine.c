/* Find out what this machine has; see machine.h. */
#include "base/machine.h"

#include <pthread.h>
#include <time.h>

enum { THREAD_MAX = 1024 };

static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;
static int proven = 1;

double sp_clock_seconds(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void *wait_for_all(void *gate)
{
    pthread_mutex_lock(gate);
    pthread_mutex_unlock(gate);
    return NULL;
}

/* Create all threads at once; each waits at a closed gate until the last one exists. The C library
 * keeps their stacks for the threads that are created later. */
static int count_threads(int wanted)
{
    pthread_mutex_t gate = PTHREAD_MUTEX_INITIALIZER;
    pthread_t thread[THREAD_MAX];
    int count = 0;
    pthread_mutex_lock(&gate);
    while (count < wanted - 1 && count < THREAD_MAX &&
           !pthread_create(&thread[count], NULL, wait_for_all, &gate))
        count++;
    pthread_mutex_unlock(&gate);
    for (int i = 0; i < count; i++) pthread_join(thread[i], NULL);
    return count + 1;
}

int sp_thread_room(int wanted)
{
    pthread_mutex_lock(&turn);
    if (wanted > proven) proven = count_threads(wanted);
    const int room = wanted < proven ? wanted : proven;
    pthread_mutex_unlock(&turn);
    return room > 0 ? room : 1;
}

int sp_way_count(void)
{
#if defined(__x86_64__)
    if (!__builtin_cpu_supports("avx2") || !__builtin_cpu_supports("fma")) return 1;
    return __builtin_cpu_supports("avx512f") ? 3 : 2;
#else
    return 1;
#endif
}
