/* Median and ends of the values that several presses gave for one figure. */
#ifndef SP_MEASURE_SPREAD_H
#define SP_MEASURE_SPREAD_H

#include <strutpress/measure.h>

/* Of the values that are finite, which come first and in order afterwards. */
sp_spread sp_spread_of(double *value, int count);

#endif
