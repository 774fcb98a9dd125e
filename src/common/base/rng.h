/* Small seeded random numbers (splitmix64 into xoshiro256**, Blackman & Vigna 2018), the same on
 * every machine. */
#ifndef SP_BASE_RNG_H
#define SP_BASE_RNG_H

#include <stdint.h>

typedef struct sp_rng {
    uint64_t s[4];
} sp_rng;

void sp_rng_seed(sp_rng *rng, uint64_t seed, uint64_t stream); /* streams are independent */
double sp_rng_uniform(sp_rng *rng);                            /* in [0, 1) */
double sp_rng_normal(sp_rng *rng);                             /* mean 0, deviation 1 */

#endif
