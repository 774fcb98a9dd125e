/* This file builds the loops of spatial_lanes.h once for each instruction set. */
#include "beam/spatial_lanes.h"

/* These are the blocks of a Hessian. ee, ss and cc are symmetric, but all nine entries of them are
 * kept. */
typedef struct blocks {
    sp_lanes8 ee[9], se[9], ce[9], ss[9], sc[9], cc[9];
} blocks;

/* These vectors follow from the input: f = n x g, t = J m, and f_psi = f x psi. */
typedef struct forces {
    sp_lanes8 jacobian[9], f[3], t[3], f_psi[3];
} forces;

static const sp_lanes8 none = {0};

#define DOT(a, b) ((a)[0] * (b)[0] + (a)[1] * (b)[1] + (a)[2] * (b)[2])

#define LANES_TARGET
#define LANES_NAME(f) base_##f
#include "beam/spatial_lanes_body.h"

#if defined(__x86_64__)
#define LANES_TARGET SP_AVX2
#define LANES_NAME(f) avx2_##f
#include "beam/spatial_lanes_body.h"

#define LANES_TARGET SP_AVX512
#define LANES_NAME(f) avx512_##f
#include "beam/spatial_lanes_body.h"
#endif

#define LANES_EVAL(name, attribute) name##_eval,
static sp_spatial_way *const all[] = {SP_WAY_LIST(LANES_EVAL)};

int sp_spatial_ways(sp_spatial_way *way[SP_WAY_MAX])
{
    const int count = sp_way_count();
    for (int i = 0; i < count; i++) way[i] = all[i];
    return count;
}

void sp_spatial_lanes_eval(const sp_spatial_input *in, sp_spatial_output *out)
{
    all[sp_way_count() - 1](in, out);
}
