#include "caution/width.h"

#include <math.h>

#include "law/hardness.h"

static const double usual_change = 0.1, largest_share = 0.25;

double sp_width_change(const sp_width *width)
{
    return fmin(usual_change, largest_share * width->width);
}

int sp_width_band(const sp_width *width, double value, double slope, double *narrow, double *wide)
{
    if (!(width->width > 0 && value > 0 && isfinite(slope))) return 0;
    const double power = slope * width->width / value;
    const double share = sp_width_change(width) / width->width;
    *narrow = pow(1 - share, power) - 1;
    *wide = pow(1 + share, power) - 1;
    return isfinite(*narrow) && isfinite(*wide);
}

int sp_width_is_largest(const sp_result *result)
{
    const sp_width *width = &result->path.width;
    const sp_corners *corners = &result->corners;
    double narrow, wide, other = 0;
    sp_hardness edges;
    if (!sp_width_band(width, width->stiffness, width->stiffness_slope, &narrow, &wide)) return 0;
    if (sp_hardness_of(&result->request, &edges)) other = (edges.high - edges.low) / edges.centre;
    const double span = (corners->stiffness[2] - corners->stiffness[0]) / corners->stiffness[1];
    if (span > other) other = span; /* a NaN is not taken as larger */
    return fabs(wide - narrow) > other;
}
