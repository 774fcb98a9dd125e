/* Foreign text made fit for a terminal, a table or a picture. */
#include <strutpress/context.h>

#include <stdio.h>
#include <string.h>

/* Code point and length of the UTF-8 character at `text` (Unicode 15, table 3-7); length 0 when it
 * is none. */
static size_t read_character(const unsigned char *text, unsigned *code)
{
    static const unsigned smallest[] = {0, 0, 0x80, 0x800, 0x10000};
    const unsigned char first = text[0];
    *code = first;
    if (first < 0x80) return 1;
    const size_t length = first >= 0xf0 && first < 0xf8 ? 4
                          : first >= 0xe0               ? 3
                          : first >= 0xc0               ? 2
                                                        : 0;
    if (first >= 0xf8 || !length) return 0;
    *code = first & (0xffu >> (length + 1));
    for (size_t i = 1; i < length; i++) {
        if ((text[i] & 0xc0) != 0x80) return 0; /* this ends at the end of the text as well */
        *code = *code << 6 | (text[i] & 0x3fu);
    }
    const int surrogate = *code >= 0xd800 && *code < 0xe000;
    return *code < smallest[length] || surrogate || *code > 0x10ffff ? 0 : length;
}

/* Return 1 for control characters (C0, DEL, C1), separators of lines and paragraphs, marks that
 * turn the direction of writing (Unicode Standard Annex 9), the byte order mark, and codes that are
 * no character. */
static int is_unfit(unsigned code)
{
    if (code >= 0x20 && code < 0x7f) return 0; /* nearly every code is one of these */
    static const unsigned range[][2] = {{0, 0x1f},        {0x7f, 0x9f},     {0x61c, 0x61c},
                                        {0x200e, 0x200f}, {0x2028, 0x202e}, {0x2066, 0x2069},
                                        {0xfdd0, 0xfdef}, {0xfeff, 0xfeff}};
    for (size_t i = 0; i < sizeof range / sizeof range[0]; i++)
        if (code >= range[i][0] && code <= range[i][1]) return 1;
    return (code & 0xfffe) == 0xfffe;
}

void sp_printable(const char *text, char *clean, size_t size)
{
    size_t used = 0;
    while (*text) {
        unsigned code;
        char shown[12];
        size_t length = read_character((const unsigned char *)text, &code), wide = length;
        if (!length || (is_unfit(code) && code < 0x80)) {
            length = 1;
            wide = (size_t)snprintf(shown, sizeof shown, "\\x%02x", (unsigned char)*text);
        } else if (is_unfit(code)) {
            wide = (size_t)snprintf(shown, sizeof shown, "\\u%04x", code);
        } else {
            memcpy(shown, text, length);
        }
        if (used + wide + 1 > size) break;
        memcpy(clean + used, shown, wide);
        used += wide;
        text += length;
    }
    if (size > 0) clean[used] = '\0';
}
