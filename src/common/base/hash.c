/* FNV-1a: hash = (hash xor byte) x prime mod 2^128, prime = 2^88 + 0x13b. */
#include "base/hash.h"

#include <inttypes.h>
#include <stdio.h>

sp_hash sp_hash_begin(void)
{
    return (sp_hash){UINT64_C(0x6c62272e07bb0142), UINT64_C(0x62b821756295c58d)};
}

/* Multiply by the prime: the number times 0x13b, plus its low half moved up by 88 bits; what
 * exceeds 128 bits is dropped. */
static sp_hash times_prime(sp_hash h)
{
    const uint64_t small = 0x13b, half = UINT64_C(0xffffffff);
    const uint64_t low = (h.low & half) * small, middle = (h.low >> 32) * small + (low >> 32);
    return (sp_hash){h.high * small + (middle >> 32) + (h.low << 24),
                     (middle << 32) | (low & half)};
}

void sp_hash_add(sp_hash *hash, const void *bytes, size_t size)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < size; i++) {
        hash->low ^= byte[i];
        *hash = times_prime(*hash);
    }
}

void sp_hash_text(const sp_hash *hash, char text[SP_HASH_TEXT_SIZE])
{
    snprintf(text, SP_HASH_TEXT_SIZE, "%016" PRIx64 "%016" PRIx64, hash->high, hash->low);
}
