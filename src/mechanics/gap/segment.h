/* This is the distance of two straight pieces. */
#ifndef SP_GAP_SEGMENT_H
#define SP_GAP_SEGMENT_H

static inline double sp_segment_inside(double s)
{
    return s < 0 ? 0 : s > 1 ? 1 : s;
}

/* Return the square of the distance of the pieces from p to p + d and from q to q + e in
 * `dimension` coordinates; their lengths are not zero (Ericson 2005, section 5.1.9). The distance
 * is continuous where the pieces become parallel, although the closest points jump there. The
 * function is inlined with a constant dimension, because it is asked of most pairs.
 *
 * The closest points are at places s, t (0 .. 1): the best s of the endless lines, the best t for
 * that s, and the best s again where t had to be cut. */
static inline double sp_segment_square_of(int dimension, const double *p, const double *d,
                                          const double *q, const double *e)
{
    double r[3], dd = 0, ee = 0, de = 0, dr = 0, er = 0, square = 0;
    for (int i = 0; i < dimension; i++) {
        r[i] = p[i] - q[i];
        dd += d[i] * d[i];
        ee += e[i] * e[i];
        de += d[i] * e[i];
        dr += d[i] * r[i];
        er += e[i] * r[i];
    }
    const double skew = dd * ee - de * de;
    double s = skew > 0 ? sp_segment_inside((de * er - dr * ee) / skew) : 0;
    double t = (de * s + er) / ee;
    if (t < 0 || t > 1) {
        t = sp_segment_inside(t);
        s = sp_segment_inside((de * t - dr) / dd);
    }
    for (int i = 0; i < dimension; i++) {
        const double x = r[i] + s * d[i] - t * e[i];
        square += x * x;
    }
    return square;
}

/* Return the same in space. */
double sp_segment_square(const double p[3], const double d[3], const double q[3],
                         const double e[3]);

#endif
