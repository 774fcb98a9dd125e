#include "base/so3.h"
#include "gap/segment.h"

static double inside(double s)
{
    return s < 0 ? 0 : s > 1 ? 1 : s;
}

/* Places s, t (0 .. 1) of the closest points: the best s of the endless lines, the best t for it,
 * and the best s again where t had to be cut. */
double sp_segment_square(const double p[3], const double d[3], const double q[3], const double e[3])
{
    const double r[3] = {p[0] - q[0], p[1] - q[1], p[2] - q[2]};
    const double dd = sp_dot(d, d), ee = sp_dot(e, e), de = sp_dot(d, e), dr = sp_dot(d, r),
                 er = sp_dot(e, r);
    const double skew = dd * ee - de * de;
    double s = skew > 0 ? inside((de * er - dr * ee) / skew) : 0;
    double t = (de * s + er) / ee;
    if (t < 0 || t > 1) {
        t = inside(t);
        s = inside((de * t - dr) / dd);
    }
    double square = 0;
    for (int i = 0; i < 3; i++) {
        const double x = r[i] + s * d[i] - t * e[i];
        square += x * x;
    }
    return square;
}
