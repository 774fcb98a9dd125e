/* Read options that are numbers, or one of a few words. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "terminal/cli.h"

sp_status read_numbers(const char *command, const char *option, const char *text, int count,
                       double low, double high, const char *valid, double *number)
{
    const char *at = text;
    for (int i = 0; i < count; i++) {
        char *end;
        number[i] = strtod(at, &end);
        const int ends = i == count - 1 ? *end == '\0' : *end == ',';
        if (end == at || !ends || !(number[i] >= low && number[i] <= high))
            return fail_usage(command, "--%s: received '%.60s'; valid: %s", option, text, valid);
        at = end + 1;
    }
    return SP_OK;
}

sp_status option_scale(const char *command, const char *text, void *target)
{
    return read_numbers(command, "width-scale", text, 1, 0.2, 5, "a factor from 0.2 to 5", target);
}

sp_status option_format(const char *command, const char *text, void *target)
{
    static const char *const names[] = {"table", "json", "csv"};
    for (int i = 0; i < ROW_COUNT(names); i++)
        if (!strcmp(text, names[i])) {
            *(sp_record_format *)target = (sp_record_format)i;
            return SP_OK;
        }
    return fail_usage(command, "--format: received '%.60s'; valid: table, json, csv", text);
}
