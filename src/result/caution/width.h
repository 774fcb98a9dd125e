/* What +-0.1 mm of printed width changes of stiffness and force, from one derivative. */
#ifndef SP_CAUTION_WIDTH_H
#define SP_CAUTION_WIDTH_H

#include "run/result.h"

/* Return the width that is added and taken away [mm], at most a quarter of the width itself. */
double sp_width_change(const sp_width *width);

/* Return the relative change of a value when the coupon is this much narrower and wider, by the
 * power of the width that has this value and slope (E236). Returns 0 when this is not known. */
int sp_width_band(const sp_width *width, double value, double slope, double *narrow, double *wide);

/* Return 1 when the first stiffness spreads more over these widths than over the hardness band of
 * the modulus, where there is one, and more than from sharp corners to filled ones. */
int sp_width_is_largest(const sp_result *result);

#endif
