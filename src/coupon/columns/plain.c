/* Read lines of plain numbers; see plain.h. */
#include "columns/plain.h"

#include <stdlib.h>
#include <string.h>

#include "base/decimal.h"

char *sp_plain_trim(char *line, int number)
{
    if (number == 1 && strncmp(line, "\xef\xbb\xbf", 3) == 0) line += 3;
    line[strcspn(line, "#\r\n")] = '\0';
    line += strspn(line, " \t");
    size_t length = strlen(line);
    while (length > 0 && strchr(" \t", line[length - 1])) line[--length] = '\0';
    return line;
}

/* Read one number and the separator behind it; return the place behind both, NULL when there is no
 * number. */
static const char *take_number(const char *at, double *value)
{
    char *end;
    /* strchr also finds the final '\0' */
    if (!sp_decimal(at, &end, value) || !strchr(" \t,;", *end)) return NULL;
    end += strspn(end, " \t");
    if (*end == ',' || *end == ';') end++;
    return end + strspn(end, " \t");
}

int sp_plain_numbers(const char *text, int most, double *value, const char **end)
{
    int count = 0;
    const char *next;
    *end = text;
    while (count < most && (next = take_number(*end, &value[count]))) {
        *end = next;
        count++;
    }
    return count;
}

int sp_plain_is_head(const char *text)
{
    char *end;
    (void)strtod(text, &end);
    return end == text && !strchr("0123456789+-.", *text);
}
