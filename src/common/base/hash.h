/* 128-bit FNV-1a hashes (Fowler, Noll & Vo; RFC 9923). */
#ifndef SP_BASE_HASH_H
#define SP_BASE_HASH_H

#include <stddef.h>
#include <stdint.h>

#define SP_HASH_TEXT_SIZE 33

typedef struct sp_hash {
    uint64_t high, low;
} sp_hash;

sp_hash sp_hash_begin(void);
void sp_hash_add(sp_hash *hash, const void *bytes, size_t size);
void sp_hash_text(const sp_hash *hash, char text[SP_HASH_TEXT_SIZE]); /* 32 hexadecimal digits */

#endif
