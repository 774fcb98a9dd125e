/* Median and ends of the values that several presses gave for one figure. */
#ifndef SP_MEASURE_SPREAD_H
#define SP_MEASURE_SPREAD_H

#include <strutpress/measure.h>

/* Find the spread of the values that are finite; afterwards these stand first in `value`, in order
 * of size. */
sp_spread sp_spread_of(double *value, int count);

#endif
