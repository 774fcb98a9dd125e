/* Turn the bytes of a file into UTF-8: they may have byte order marks, and be UTF-16, or Latin-1
 * where they are no UTF-8. */
#include <stdint.h>
#include <string.h>

#include "base/alloc.h"
#include "columns/columns_parts.h"

/* UTF-16 without a mark is recognised by this share of zero bytes on one side of all pairs [per
 * cent]. */
static const size_t zero_share = 80;
static const size_t probe_size = 4096;

/* Windows-1252 differs from Latin-1 in these 32: letters, quotes, dashes (WHATWG Encoding Standard,
 * index windows-1252; read in public code that follows it). */
static const uint16_t windows_1252[32] = {
    0x20ac, 0x81,   0x201a, 0x192,  0x201e, 0x2026, 0x2020, 0x2021, 0x2c6,  0x2030, 0x160,
    0x2039, 0x152,  0x8d,   0x17d,  0x8f,   0x90,   0x2018, 0x2019, 0x201c, 0x201d, 0x2022,
    0x2013, 0x2014, 0x2dc,  0x2122, 0x161,  0x203a, 0x153,  0x9d,   0x17e,  0x178};

static size_t put_utf8(uint32_t c, char *out)
{
    if (c < 0x80) {
        out[0] = (char)c;
        return 1;
    }
    if (c < 0x800) {
        out[0] = (char)(0xc0 | c >> 6), out[1] = (char)(0x80 | (c & 0x3f));
        return 2;
    }
    if (c < 0x10000) {
        out[0] = (char)(0xe0 | c >> 12), out[1] = (char)(0x80 | (c >> 6 & 0x3f));
        out[2] = (char)(0x80 | (c & 0x3f));
        return 3;
    }
    out[0] = (char)(0xf0 | c >> 18), out[1] = (char)(0x80 | (c >> 12 & 0x3f));
    out[2] = (char)(0x80 | (c >> 6 & 0x3f)), out[3] = (char)(0x80 | (c & 0x3f));
    return 4;
}

/* Return the length of the UTF-8 character at `at`, 0 when it is none. */
static size_t utf8_length(const unsigned char *at, size_t left)
{
    if (at[0] < 0x80) return 1;
    const size_t length = at[0] >= 0xf0 ? 4 : at[0] >= 0xe0 ? 3 : 2;
    if (at[0] < 0xc2 || at[0] > 0xf4 || length > left) return 0;
    for (size_t i = 1; i < length; i++)
        if ((at[i] & 0xc0) != 0x80) return 0;
    return length;
}

static int is_utf8(const unsigned char *bytes, size_t size)
{
    for (size_t i = 0, step; i < size; i += step) {
        step = utf8_length(bytes + i, size - i);
        if (!step) return 0;
    }
    return 1;
}

/* Return 1: little endian, 2: big endian, 0: no UTF-16. *skip is the number of bytes of the mark.
 */
static int utf16_order(const unsigned char *bytes, size_t size, size_t *skip)
{
    size_t zeros[2] = {0, 0}, probe = size < probe_size ? size : probe_size;
    *skip = 2;
    if (size >= 2 && bytes[0] == 0xff && bytes[1] == 0xfe) return 1;
    if (size >= 2 && bytes[0] == 0xfe && bytes[1] == 0xff) return 2;
    *skip = 0;
    for (size_t i = 0; i < probe; i++) zeros[i % 2] += bytes[i] == 0;
    if (zeros[1] * 200 >= zero_share * probe && !zeros[0] && probe > 3) return 1;
    if (zeros[0] * 200 >= zero_share * probe && !zeros[1] && probe > 3) return 2;
    return 0;
}

static size_t from_utf16(const unsigned char *bytes, size_t size, int order, char *out)
{
    size_t length = 0;
    for (size_t i = 0; i + 1 < size; i += 2) {
        const int high = order == 2 ? 0 : 1;
        uint32_t c = (uint32_t)bytes[i + (size_t)high] << 8 | bytes[i + 1 - (size_t)high];
        if (c >= 0xd800 && c < 0xdc00 && i + 3 < size) {
            const uint32_t low =
                (uint32_t)bytes[i + 2 + (size_t)high] << 8 | bytes[i + 3 - (size_t)high];
            if (low >= 0xdc00 && low < 0xe000) {
                c = 0x10000 + ((c - 0xd800) << 10) + (low - 0xdc00);
                i += 2;
            }
        }
        if (c >= 0xd800 && c < 0xe000) c = 0xfffd; /* half of a surrogate pair */
        length += put_utf8(c, out + length);
    }
    return length;
}

static size_t from_latin(const unsigned char *bytes, size_t size, char *out)
{
    size_t length = 0;
    for (size_t i = 0; i < size; i++) {
        const uint32_t c = bytes[i];
        length += put_utf8(c >= 0x80 && c < 0xa0 ? windows_1252[c - 0x80] : c, out + length);
    }
    return length;
}

/* Zeros and most control characters occur in no text. The end mark of old files (26) may be the
 * last byte. */
static sp_status check_text(sp_context *context, const char *file, const char *text, size_t *length)
{
    if (*length > 0 && text[*length - 1] == 26) --*length;
    for (size_t i = 0, line = 1; i < *length; i++) {
        const unsigned char c = (unsigned char)text[i];
        if (c == '\n') line++;
        if (c >= 32 || (c >= 9 && c <= 13)) continue;
        return sp_fail(context, SP_NO_READ,
                       "%s:%zu: received a byte %u, which stands in no text; valid: a text file of "
                       "columns of numbers, in UTF-8, UTF-16 or Latin-1",
                       file, line, c);
    }
    return SP_OK;
}

sp_status sp_column_text(sp_context *context, const char *file, const char *bytes, size_t size,
                         char **text, size_t *length, const char **encoding)
{
    const unsigned char *from = (const unsigned char *)bytes;
    size_t skip;
    const int order = utf16_order(from, size, &skip);
    const size_t room = 3 * size + 1;
    *text = NULL;
    *length = 0;
    if (!order) skip = size >= 3 && !memcmp(from, "\xef\xbb\xbf", 3) ? 3 : 0;
    from += skip;
    size -= skip;
    *text = sp_alloc(order || !is_utf8(from, size) ? room : size + 1, 1);
    if (!*text) return sp_fail(context, SP_NO_MEMORY, "%s: out of memory", file);
    if (order) {
        *length = from_utf16(from, size, order, *text);
        *encoding = order == 1 ? "UTF-16, little endian" : "UTF-16, big endian";
    } else if (is_utf8(from, size)) {
        memcpy(*text, from, size);
        *length = size;
        *encoding = skip ? "UTF-8 with a byte order mark" : "UTF-8";
    } else {
        *length = from_latin(from, size, *text);
        *encoding = "Latin-1 (Windows-1252)";
    }
    (*text)[*length] = 0;
    const sp_status status = check_text(context, file, *text, length);
    (*text)[*length] = 0;
    return status;
}
