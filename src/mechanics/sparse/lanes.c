/* This file builds the loops of lanes.h once for each instruction set.
 *
 * Every product is rounded together with the sum that it goes into (fused), where the machine can
 * do so: every x86-64 with AVX2 and every ARM of 64 bits can. Older machines round twice. */
#include "sparse/lanes.h"

#include <math.h>

#if defined(__x86_64__)
#include <immintrin.h>
#endif

/* These vectors hold as many doubles as a register: two, four and eight. They need no alignment.
 * Types that are wider than a register would be worked on in memory, a hundred times as slowly. */
typedef double two __attribute__((vector_size(16), aligned(8), may_alias));

#if defined(__FP_FAST_FMA)
#define LANES_FUSED 1
#define FUSED(c, a, b) ((two){fma((a)[0], (b)[0], (c)[0]), fma((a)[1], (b)[1], (c)[1])})
#else
#define LANES_FUSED 0
#define FUSED(c, a, b) ((c) + (a) * (b))
#endif

#define LANES_TARGET
#define LANES_NAME(f) base_##f
#define LANES_TEXT "base"
#define LANES_TYPE two
#define LANES_OF(x) ((two){x, x})
#define LANES_ADD(c, a, b) FUSED(c, a, b)
#define LANES_SUBTRACT(c, a, b) FUSED(c, -(a), b)
#include "sparse/lanes_body.h"

#if defined(__x86_64__)
typedef double four __attribute__((vector_size(32), aligned(8), may_alias));
typedef double eight __attribute__((vector_size(64), aligned(8), may_alias));

#define LANES_TARGET SP_AVX2
#define LANES_NAME(f) avx2_##f
#define LANES_TEXT "AVX2"
#define LANES_FUSED 1
#define LANES_TYPE four
#define LANES_OF(x) _mm256_set1_pd(x)
#define LANES_ADD(c, a, b) _mm256_fmadd_pd(a, b, c)
#define LANES_SUBTRACT(c, a, b) _mm256_fnmadd_pd(a, b, c)
#include "sparse/lanes_body.h"

#define LANES_TARGET SP_AVX512
#define LANES_NAME(f) avx512_##f
#define LANES_TEXT "AVX-512"
#define LANES_FUSED 1
#define LANES_TYPE eight
#define LANES_OF(x) _mm512_set1_pd(x)
#define LANES_ADD(c, a, b) _mm512_fmadd_pd(a, b, c)
#define LANES_SUBTRACT(c, a, b) _mm512_fnmadd_pd(a, b, c)
#include "sparse/lanes_body.h"
#endif

int sp_lanes_list(const sp_lanes *list[SP_WAY_MAX])
{
#define LANES_TABLE(name, attribute) &name##_table,
    static const sp_lanes *const all[] = {SP_WAY_LIST(LANES_TABLE)};
    const int count = sp_way_count();
    for (int i = 0; i < count; i++) list[i] = all[i];
    return count;
}
