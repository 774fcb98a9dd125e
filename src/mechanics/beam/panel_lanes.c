/* This file builds the loops of panel_lanes.h once for each instruction set. The second derivative
 * by z = (e, sigma, c) is kept as blocks of 3 x 3. The part that comes from the strains is found
 * first, then the part that comes from the geometry (E47). */
#include "beam/panel_lanes.h"

static const sp_lanes8 none = {0};

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

#define DOT(a, b) ((a)[0] * (b)[0] + (a)[1] * (b)[1] + (a)[2] * (b)[2])

#define LANES_TARGET
#define LANES_NAME(f) base_##f
#include "beam/panel_lanes_body.h"

#if defined(__x86_64__)
#define LANES_TARGET SP_AVX2
#define LANES_NAME(f) avx2_##f
#include "beam/panel_lanes_body.h"

#define LANES_TARGET SP_AVX512
#define LANES_NAME(f) avx512_##f
#include "beam/panel_lanes_body.h"
#endif

#define LANES_EVAL(name, attribute) name##_eval,
static sp_panel_way *const all[] = {SP_WAY_LIST(LANES_EVAL)};

int sp_panel_ways(sp_panel_way *way[SP_WAY_MAX])
{
    const int count = sp_way_count();
    for (int i = 0; i < count; i++) way[i] = all[i];
    return count;
}

void sp_panel_lanes_eval(const sp_panel_input *in, sp_panel_output *out)
{
    all[sp_way_count() - 1](in, out);
}
