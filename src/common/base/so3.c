/* Symbols as in so3.h; t = |psi|, h = t/2. */
#include "base/so3.h"

#include <float.h>

/* For larger |psi| than this the closed forms are used; below, terms of the series shrink by (t / 2
 * pi)^2 = 0.006 from one to the next. */
static const double series_below = 0.5;

void sp_so3_exp(const double w[3], double q[4])
{
    const double h = 0.5 * sqrt(sp_dot(w, w));
    const double scale = h < 1e-3 ? 0.5 - h * h / 12 + h * h * h * h / 240 : 0.5 * sin(h) / h;
    q[0] = cos(h);
    for (int i = 0; i < 3; i++) q[1 + i] = scale * w[i];
}

void sp_so3_log(const double q[4], double w[3])
{
    const double sine = sqrt(sp_dot(q + 1, q + 1)), sign = q[0] < 0 ? -1 : 1;
    const double s2 = sine * sine;
    /* Return 2 asin(sine)/sine, by its series where the quotient would be 0/0. */
    const double scale =
        sine < 1e-3 ? 2 + s2 / 3 + 0.15 * s2 * s2 : 2 * atan2(sine, sign * q[0]) / sine;
    for (int i = 0; i < 3; i++) w[i] = sign * scale * q[1 + i];
}

void sp_so3_multiply(const double a[4], const double b[4], double out[4])
{
    double v[3];
    sp_cross(a + 1, b + 1, v);
    for (int i = 0; i < 3; i++) v[i] += a[0] * b[1 + i] + b[0] * a[1 + i];
    out[0] = a[0] * b[0] - sp_dot(a + 1, b + 1);
    for (int i = 0; i < 3; i++) out[1 + i] = v[i];
}

void sp_so3_between(const double a[4], const double b[4], double out[4])
{
    const double back[4] = {a[0], -a[1], -a[2], -a[3]};
    sp_so3_multiply(back, b, out);
}

static void normalise(double q[4])
{
    const double scale = 1 / sqrt(q[0] * q[0] + sp_dot(q + 1, q + 1));
    for (int i = 0; i < 4; i++) q[i] *= scale;
}

void sp_so3_middle(const double a[4], const double b[4], double out[4])
{
    const double sign = a[0] * b[0] + sp_dot(a + 1, b + 1) < 0 ? -1 : 1;
    for (int i = 0; i < 4; i++) out[i] = a[i] + sign * b[i];
    normalise(out);
}

void sp_so3_matrix(const double q[4], double m[9])
{
    const double w = q[0], x = q[1], y = q[2], z = q[3];
    m[0] = 1 - 2 * (y * y + z * z), m[1] = 2 * (x * y - w * z), m[2] = 2 * (x * z + w * y);
    m[3] = 2 * (x * y + w * z), m[4] = 1 - 2 * (x * x + z * z), m[5] = 2 * (y * z - w * x);
    m[6] = 2 * (x * z - w * y), m[7] = 2 * (y * z + w * x), m[8] = 1 - 2 * (x * x + y * y);
}

void sp_so3_turn(const double w[3], double q[4])
{
    double by[4];
    sp_so3_exp(w, by);
    sp_so3_multiply(by, q, q);
    normalise(q);
}

/* Find the quaternion of a rotation matrix (row-major) from the largest of its four components. */
static void from_matrix(const double m[9], double q[4])
{
    const double square[4] = {1 + m[0] + m[4] + m[8], 1 + m[0] - m[4] - m[8],
                              1 - m[0] + m[4] - m[8], 1 - m[0] - m[4] + m[8]}; /* 4 q_i^2 */
    const double pair[4][4] = {{square[0], m[7] - m[5], m[2] - m[6], m[3] - m[1]},
                               {m[7] - m[5], square[1], m[1] + m[3], m[2] + m[6]},
                               {m[2] - m[6], m[1] + m[3], square[2], m[5] + m[7]},
                               {m[3] - m[1], m[2] + m[6], m[5] + m[7], square[3]}}; /* 4 q_i q_j */
    int most = 0;
    for (int i = 1; i < 4; i++)
        if (square[i] > square[most]) most = i;
    for (int i = 0; i < 4; i++) q[i] = pair[most][i];
    normalise(q);
}

void sp_so3_frame(const double along[3], const double up[3], double q[4])
{
    double axis[3][3], scale = 1 / sqrt(sp_dot(along, along));
    for (int i = 0; i < 3; i++) axis[0][i] = scale * along[i];
    sp_cross(axis[0], up, axis[2]);
    if (!(sp_dot(axis[2], axis[2]) > DBL_EPSILON * sp_dot(up, up))) {
        int least = 0;
        for (int i = 1; i < 3; i++)
            if (fabs(axis[0][i]) < fabs(axis[0][least])) least = i;
        const double other[3] = {least == 0, least == 1, least == 2};
        sp_cross(axis[0], other, axis[2]);
    }
    scale = 1 / sqrt(sp_dot(axis[2], axis[2]));
    for (int i = 0; i < 3; i++) axis[2][i] *= scale;
    sp_cross(axis[2], axis[0], axis[1]);
    double m[9];
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) m[3 * i + k] = axis[k][i];
    from_matrix(m, q);
}

/* Return c[0] + c[1] x + .. + c[6] x^6. */
static double polynomial(const double c[7], double x)
{
    double sum = c[6];
    for (int i = 5; i >= 0; i--) sum = sum * x + c[i];
    return sum;
}

static sp_so3_chord near_zero(double t2)
{
    static const double j[7] = {-1.0 / 24,
                                -7.0 / 5760,
                                -31.0 / 967680,
                                -127.0 / 154828800,
                                -73.0 / 3503554560,
                                -1414477.0 / 2678117105664000,
                                -8191.0 / 612141052723200};
    static const double a[7] = {-1.0 / 12,         -1.0 / 360,     -1.0 / 10080,
                                -1.0 / 302400,     -1.0 / 9580032, -691.0 / 217945728000,
                                -1.0 / 10674892800};
    static const double b[7] = {1.0 / 12,
                                7.0 / 1440,
                                31.0 / 161280,
                                127.0 / 19353600,
                                73.0 / 350355456,
                                1414477.0 / 223176425472000,
                                8191.0 / 43724360908800};
    static const double bent[7] = {1.0 / 480,
                                   1.0 / 10752,
                                   1.0 / 307200,
                                   85.0 / 817496064,
                                   21421.0 / 6762921984000,
                                   7.0 / 74742497280,
                                   19752437.0 / 7284478527406080000};
    static const double tau[7] = {1.0 / 8,
                                  1.0 / 384,
                                  1.0 / 15360,
                                  17.0 / 10321920,
                                  31.0 / 743178240,
                                  691.0 / 653996851200,
                                  5461.0 / 204047017574400};
    return (sp_so3_chord){.s = 1 - t2 * polynomial(j, t2),
                          .j = polynomial(j, t2),
                          .a = polynomial(a, t2),
                          .b = polynomial(b, t2),
                          .bent = polynomial(bent, t2),
                          .tau = polynomial(tau, t2)};
}

sp_so3_chord sp_so3_chord_of(const double psi[3])
{
    const double t2 = sp_dot(psi, psi);
    if (t2 < series_below * series_below) return near_zero(t2);
    const double t = sqrt(t2), h = 0.5 * t, sine = sin(h), cosine = cos(h);
    sp_so3_chord c = {.s = h / sine, .tau = tan(0.25 * t) / (2 * t)};
    c.j = (1 - c.s) / t2;
    c.a = (cosine - c.s) / (4 * t * sine);
    c.b = (1 - c.s * cosine) / (2 * t * sine);
    c.bent = (c.a + c.b) / t2;
    return c;
}
