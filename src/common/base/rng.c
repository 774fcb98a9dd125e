/* splitmix64 (Steele, Lea & Flood 2014) fills the state of xoshiro256** (Blackman & Vigna 2018). */
#include "base/rng.h"

#include <math.h>

/* The output function of splitmix64: a bijection with mix(0) = 0. */
static uint64_t mix(uint64_t z)
{
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static uint64_t rotate_left(uint64_t x, int k)
{
    return (x << k) | (x >> (64 - k));
}

void sp_rng_seed(sp_rng *rng, uint64_t seed, uint64_t stream)
{
    /* Stream 0 is plain splitmix64 of the seed; every other stream starts at a scattered place. */
    uint64_t state = seed ^ mix(stream);
    for (int i = 0; i < 4; i++) {
        state += UINT64_C(0x9e3779b97f4a7c15);
        rng->s[i] = mix(state);
    }
}

static uint64_t next(uint64_t s[4])
{
    const uint64_t result = rotate_left(s[1] * 5, 7) * 9;
    const uint64_t t = s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate_left(s[3], 45);
    return result;
}

double sp_rng_uniform(sp_rng *rng)
{
    return (double)(next(rng->s) >> 11) * 0x1p-53;
}

/* Polar method (Marsaglia & Bray 1964). The second number of each pair is dropped, so that no state
 * is hidden. */
double sp_rng_normal(sp_rng *rng)
{
    double u, r2;
    do {
        u = 2 * sp_rng_uniform(rng) - 1;
        const double v = 2 * sp_rng_uniform(rng) - 1;
        r2 = u * u + v * v;
    } while (r2 >= 1 || r2 <= 0);
    return u * sqrt(-2 * log(r2) / r2);
}
