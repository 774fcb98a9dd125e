#include "measure/spread.h"

#include <math.h>
#include <stdlib.h>

static int by_size(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return (a > b) - (a < b);
}

sp_spread sp_spread_of(double *value, int count)
{
    int got = 0;
    for (int i = 0; i < count; i++)
        if (isfinite(value[i])) value[got++] = value[i];
    if (got == 0) return (sp_spread){0, NAN, NAN, NAN};
    qsort(value, (size_t)got, sizeof *value, by_size);
    return (sp_spread){got, 0.5 * (value[(got - 1) / 2] + value[got / 2]), value[0],
                       value[got - 1]};
}
