/* These are the parts of a test of a kernel that works on eight elements at a time: every
 * instruction set gives the same bits, and no element changes the numbers of another one. Inputs
 * and outputs are arrays of sp_lanes8. */
#ifndef LANES_ALIKE_H
#define LANES_ALIKE_H

#include "check.h"

#include "base/rng.h"
#include "beam/spatial_lanes.h"

/* Set all lanes of an input to random numbers from 0.2 to 1.2. */
static inline void fill_lanes(sp_lanes8 *in, size_t count, unsigned seed)
{
    sp_rng rng;
    sp_rng_seed(&rng, seed, 0);
    for (size_t i = 0; i < count; i++)
        for (int lane = 0; lane < SP_SPATIAL_LANES; lane++)
            in[i][lane] = 0.2 + sp_rng_uniform(&rng);
}

/* Set all lanes of `one` to one lane of `in`. */
static inline void repeat_lane(const sp_lanes8 *in, int from, size_t count, sp_lanes8 *one)
{
    for (size_t i = 0; i < count; i++)
        for (int lane = 0; lane < SP_SPATIAL_LANES; lane++) one[i][lane] = in[i][from];
}

/* Check that the first lane of an output is a lane of another one, to the last bit. */
static inline void check_lane(const sp_lanes8 *alone, const sp_lanes8 *among, int lane,
                              size_t count)
{
    for (size_t i = 0; i < count; i++) check_close(alone[i][0], among[i][lane], 0);
}

#endif
