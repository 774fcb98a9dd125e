/* Numbers as people write them: strtod alone would also take hexadecimal, nan and inf. */
#ifndef SP_BASE_DECIMAL_H
#define SP_BASE_DECIMAL_H

#include <stddef.h>

/* Length of the plain decimal number that `text` begins with: sign, digits, point, exponent. 0:
 * none. */
size_t sp_decimal_length(const char *text);
/* Read the number that `text` begins with; *end points behind it. Returns 0 where there is none. */
int sp_decimal(const char *text, char **end, double *value);

#endif
