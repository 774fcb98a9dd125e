/* This file builds the loops of spatial_lanes.h and panel_lanes.h once for each instruction set. */
#include "beam/panel_lanes.h"

/* These are the blocks of a Hessian. ee, ss and cc are symmetric, but all nine entries of them are
 * kept. */
typedef struct blocks {
    sp_lanes8 ee[9], se[9], ce[9], ss[9], sc[9], cc[9];
} blocks;

/* These vectors follow from the input: f = n x g, t = J m, and f_psi = f x psi. */
typedef struct forces {
    sp_lanes8 jacobian[9], f[3], t[3], f_psi[3];
} forces;

/* The next two are of panels. */
/* This is what follows from the chord and G: dG = e + g x sigma + T c with T = tau ((g.psi) 1 - psi
 * g^T), which is g x (-tau psi x c), and dK = J c/L. E46 */
typedef struct rows {
    sp_lanes8 jacobian[9], by_sigma[9], by_c[9], k_by_c[9];
} rows;

/* These are the first and second derivatives by z. The first letter of a block names its rows, the
 * second its columns. */
typedef struct by_z {
    sp_lanes8 e[3], sigma[3], c[3];
    sp_lanes8 ee[9], es[9], ec[9], ss[9], sc[9], cc[9];
} by_z;

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

sp_spatial_way *const *sp_spatial_ways(void)
{
    return all;
}

void sp_spatial_lanes_eval(const sp_spatial_input *in, sp_spatial_output *out)
{
    all[sp_way_count() - 1](in, out);
}

#define LANES_PANEL_EVAL(name, attribute) name##_panel_eval,
static sp_panel_way *const all_of_panels[] = {SP_WAY_LIST(LANES_PANEL_EVAL)};

sp_panel_way *const *sp_panel_ways(void)
{
    return all_of_panels;
}

void sp_panel_lanes_eval(const sp_panel_input *in, sp_panel_output *out)
{
    all_of_panels[sp_way_count() - 1](in, out);
}
