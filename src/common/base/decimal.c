#include "base/decimal.h"

#include <ctype.h>
#include <stdlib.h>

size_t sp_decimal_length(const char *text)
{
    size_t i = text[0] == '+' || text[0] == '-', digits = 0;
    for (; isdigit((unsigned char)text[i]); i++) digits++;
    if (text[i] == '.')
        for (i++; isdigit((unsigned char)text[i]); i++) digits++;
    if (!digits) return 0;
    if (text[i] == 'e' || text[i] == 'E') {
        size_t j = i + 1;
        if (text[j] == '+' || text[j] == '-') j++;
        if (isdigit((unsigned char)text[j])) {
            while (isdigit((unsigned char)text[j])) j++;
            i = j;
        }
    }
    return i;
}

int sp_decimal(const char *text, char **end, double *value)
{
    const size_t length = sp_decimal_length(text);
    *end = (char *)text;
    if (!length) return 0;
    *value = strtod(text, end);
    return *end == text + length; /* strtod would read on behind the 0 of 0x10 */
}
