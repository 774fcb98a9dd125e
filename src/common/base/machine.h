/* What this machine has: a clock, threads, and instruction sets for loops over eight doubles. */
#ifndef SP_BASE_MACHINE_H
#define SP_BASE_MACHINE_H

/* Return the time of a clock that only goes forward, for differences of times [s]. */
double sp_clock_seconds(void);

/* Return the number of threads, 1 .. wanted, that a parallel region can have. OpenMP ends the
 * program when it cannot make a thread. Call this before each region that may be the first with so
 * many threads: it creates that many threads once, so that a limit on address space or on threads
 * is met here and not inside OpenMP. */
int sp_thread_room(int wanted);

/* The instruction sets that loops are built for, slowest first. Of every list of such loops in this
 * order, a machine has the first sp_way_count() ones, and takes the last of them. Sums and products
 * are fused where the code says so alone (-ffp-contract=off). */
enum { SP_WAY_MAX = 3 };
#if defined(__x86_64__)
#define SP_AVX2 __attribute__((target("avx2,fma")))
#define SP_AVX512 __attribute__((target("avx512f")))
/* X(name, attribute of its functions) */
#define SP_WAY_LIST(X) X(base, ) X(avx2, SP_AVX2) X(avx512, SP_AVX512)
#else
#define SP_WAY_LIST(X) X(base, )
#endif
int sp_way_count(void);

#endif
