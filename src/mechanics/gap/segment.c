#include "gap/segment.h"

double sp_segment_square(const double p[3], const double d[3], const double q[3], const double e[3])
{
    return sp_segment_square_of(3, p, d, q, e);
}
