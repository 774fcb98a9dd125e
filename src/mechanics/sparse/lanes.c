/* The loops of lanes.h, once for each instruction set. */
#include "sparse/lanes.h"

/* Eight doubles; the compiler makes of them what the instruction set has. They need no alignment.
 */
typedef double lanes __attribute__((vector_size(64), aligned(8), may_alias));

#define LANES_TARGET
#define LANES_NAME(f) base_##f
#define LANES_TEXT "base"
#include "sparse/lanes_body.h"

#if defined(__x86_64__)
#define LANES_TARGET SP_AVX2
#define LANES_NAME(f) avx2_##f
#define LANES_TEXT "AVX2"
#include "sparse/lanes_body.h"

#define LANES_TARGET SP_AVX512
#define LANES_NAME(f) avx512_##f
#define LANES_TEXT "AVX-512"
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
