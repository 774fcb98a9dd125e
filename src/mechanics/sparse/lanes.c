/* Which instruction sets there are loops for, and which of them this machine has. */
#include "sparse/lanes.h"

/* Eight doubles; the compiler makes of them what the instruction set has. They need no alignment.
 */
typedef double lanes __attribute__((vector_size(64), aligned(8), may_alias));

#define LANES_TARGET
#define LANES_NAME(f) base_##f
#define LANES_TEXT "base"
#include "sparse/lanes_body.h"

#if defined(__x86_64__)
#define LANES_TARGET __attribute__((target("avx2")))
#define LANES_NAME(f) avx2_##f
#define LANES_TEXT "AVX2"
#include "sparse/lanes_body.h"

#define LANES_TARGET __attribute__((target("avx512f")))
#define LANES_NAME(f) avx512_##f
#define LANES_TEXT "AVX-512"
#include "sparse/lanes_body.h"
#endif

int sp_lanes_list(const sp_lanes *list[SP_LANES_MAX])
{
    int count = 0;
    list[count++] = &base_table;
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) list[count++] = &avx2_table;
    if (__builtin_cpu_supports("avx512f")) list[count++] = &avx512_table;
#endif
    return count;
}
