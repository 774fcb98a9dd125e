/* Which instruction sets there are loops for, and which of them this machine has. */
#include "beam/spatial_lanes.h"

/* ee, ss and cc are symmetric: all nine entries are kept. */
typedef struct blocks {
    sp_lanes8 ee[9], se[9], ce[9], ss[9], sc[9], cc[9];
} blocks;

/* What follows from the input: f = n x g, t = J m, f_psi = f x psi. */
typedef struct forces {
    sp_lanes8 jacobian[9], f[3], t[3], f_psi[3];
} forces;

static const sp_lanes8 none = {0};

#define DOT(a, b) ((a)[0] * (b)[0] + (a)[1] * (b)[1] + (a)[2] * (b)[2])

#define LANES_TARGET
#define LANES_NAME(f) base_##f
#include "beam/spatial_lanes_body.h"

#if defined(__x86_64__)
#define LANES_TARGET __attribute__((target("avx2")))
#define LANES_NAME(f) avx2_##f
#include "beam/spatial_lanes_body.h"

#define LANES_TARGET __attribute__((target("avx512f")))
#define LANES_NAME(f) avx512_##f
#include "beam/spatial_lanes_body.h"
#endif

int sp_spatial_ways(sp_spatial_way *way[SP_SPATIAL_WAYS_MAX])
{
    int count = 0;
    way[count++] = base_eval;
#if defined(__x86_64__)
    if (__builtin_cpu_supports("avx2")) way[count++] = avx2_eval;
    if (__builtin_cpu_supports("avx512f")) way[count++] = avx512_eval;
#endif
    return count;
}

void sp_spatial_lanes_eval(const sp_spatial_input *in, sp_spatial_output *out)
{
    sp_spatial_way *way[SP_SPATIAL_WAYS_MAX];
    way[sp_spatial_ways(way) - 1](in, out);
}
