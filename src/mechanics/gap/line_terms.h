/* These are the parts of the integral of the kernel of a contact point along a straight piece which
 * one point (line.c) and many points at a time (line_points.c) share. Lengths are in units of R: H
 * = (distance from the endless line)^2, s is the place along it from the foot of the point, and q =
 * H + s^2. The kernel is chi(q) = a q^(-3/2) + sum c_k q^k, zero with its slope at q = 1 (E9,
 * E246). All of these functions are inlined and have no branch that depends on a number, so that
 * the compiler turns loops over them into operations on vectors. */
#ifndef SP_LINE_TERMS_H
#define SP_LINE_TERMS_H

#include <math.h>

#include "gap/line.h"

#define SP_TERMS static inline __attribute__((always_inline))

/* A point nearer to the line through a piece than this share of its reach lies on it: its direction
 * aside is noise. */
#define SP_LINE_NOISE 1e-12

/* a = 1/4 gives w -> l^-2/2 for l -> 0, for flat faces and for round ones. */
static const double sp_line_a = 0.25;
/* These are the c of the two kernels, with chi(1) = chi'(1) = 0. Those of flat faces are a
 * least-squares fit to the pressure for l in 0.25 .. 0.87; the fit is within 0.5 % of the pressure
 * of the layer below l = 0.85 and rises smoothly from zero above. Those of round faces are a
 * least-squares fit to Hertz's crossed cylinders and a rubber roller between plates
 * (benchmarks/physics/round_kernel.c). */
static const double sp_line_kernel[][5] = {
    [SP_FLAT_FACES] = {-0.387626, -0.215413, 1.067644, -1.313545, 0.59894},
    [SP_ROUND_FACES] = {-1.832717, 3.974682, -3.499708, 1.031238, 0.076505},
};

/* This is all that depends on one end of the stretch within reach, at s along the line. */
typedef struct sp_line_end {
    double s;
    double p[3];     /* integrals of q^(-3/2), q^(-5/2), q^(-7/2) from the foot to s */
    double m[5];     /* integrals of q^k, k = 0 .. 4, from the foot to s */
    double k, slope; /* kappa and its slope there; both zero at q = 1, where the reach ends */
} sp_line_end;

SP_TERMS void sp_line_at_end(const double *c, double h, double inverse_h, double s, int clipped,
                             sp_line_end *e)
{
    const double q = h + s * s, r2 = 1 / q, r = sqrt(r2), r3 = r2 * r, r5 = r3 * r2;
    e->s = s;
    e->p[0] = s * inverse_h * r;
    e->p[1] = (s * r3 + 2 * e->p[0]) * inverse_h * (1.0 / 3);
    e->p[2] = (s * r5 + 4 * e->p[1]) * inverse_h * 0.2;
    const double h2 = 2 * h, q2 = q * q;
    e->m[0] = s;
    e->m[1] = (s * q + h2 * e->m[0]) * (1.0 / 3);
    e->m[2] = (s * q2 + 2 * h2 * e->m[1]) * 0.2;
    e->m[3] = (s * q2 * q + 3 * h2 * e->m[2]) * (1.0 / 7);
    e->m[4] = (s * q2 * q2 + 4 * h2 * e->m[3]) * (1.0 / 9);
    e->k = clipped ? 0 : sp_line_a * r3 + c[0] + q * (c[1] + q * (c[2] + q * (c[3] + q * c[4])));
    e->slope =
        clipped ? 0 : -1.5 * sp_line_a * r5 + c[1] + q * (2 * c[2] + q * (3 * c[3] + q * 4 * c[4]));
}

/* Find the integrals `p` of sp_line_end from s1 to s2 when both lie far on one side, by series in
 * H/s^2, because the closed form cancels there. */
static inline void sp_line_powers_aside(double h, double s1, double s2, double out[3])
{
    const double near = fmin(fabs(s1), fabs(s2)), far = fmax(fabs(s1), fabs(s2));
    const double tn = 1 / (near * near), tf = 1 / (far * far);
    for (int n = 0; n < 3; n++) {
        double factor = 1, pn = tn, pf = tf, sum = 0;
        for (int k = 0; k < n; k++) pn *= tn, pf *= tf;
        for (int k = 0; k < 14; k++) {
            sum += factor * (pn - pf) / (2 * (n + k) + 2);
            factor *= -(1.5 + n + k) / (k + 1) * h;
            pn *= tn;
            pf *= tf;
        }
        out[n] = sum;
    }
}

/* Take the differences between the integrals `p` and `m` of both ends. */
SP_TERMS void sp_line_between(const sp_line_end *one, const sp_line_end *two, double p[3],
                              double m[5])
{
    for (int n = 0; n < 3; n++) p[n] = two->p[n] - one->p[n];
    for (int k = 0; k < 5; k++) m[k] = two->m[k] - one->m[k];
}

/* Return 1 where both ends lie so far on one side that `sp_line_between` cancels;
 * sp_line_powers_aside is taken then. */
SP_TERMS int sp_line_is_far_aside(double h, double s1, double s2)
{
    return ((s1 > 0) & (h < 0.05 * s1 * s1)) | ((s2 < 0) & (h < 0.05 * s2 * s2));
}

/* Find F = int kappa from one end to the other, and its first and second derivatives by H. */
SP_TERMS void sp_line_add_powers(const double *c, const double p[3], const double m[5],
                                 double out[3])
{
    out[0] = sp_line_a * p[0] + c[0] * m[0] + c[1] * m[1] + c[2] * m[2] + c[3] * m[3] + c[4] * m[4];
    out[1] =
        -1.5 * sp_line_a * p[1] + c[1] * m[0] + 2 * c[2] * m[1] + 3 * c[3] * m[2] + 4 * c[4] * m[3];
    out[2] = 3.75 * sp_line_a * p[2] + 2 * c[2] * m[0] + 6 * c[3] * m[1] + 12 * c[4] * m[2];
}

/* Find gradient and Hessian by (v_n, v_t, e_n, e_t) in the frame of the piece from those by H =
 * eta^2, s1 = -m and s2 = l - m. H_v = (0, 2 eta), H_e = (0, -2 m eta/l), m_v = (1, 0), m_e = (0,
 * eta/l), l_e = (1, 0), and their second derivatives are used. */
SP_TERMS void sp_line_in_frame(double m, double eta, double l, const double f[3],
                               const sp_line_end *one, const sp_line_end *two, double g[4],
                               double k[4][4])
{
    const double i = 1 / l, ei = eta * i, h1 = -one->slope, h2 = two->slope,
                 hs = h1 + h2; /* F_H1, F_H2 */
    const double c1 = -2 * one->s * one->slope, c2 = 2 * two->s * two->slope,
                 cs = c1 + c2;         /* F_11, F_22 */
    const double fs = two->k - one->k; /* F_1 + F_2 */
    g[0] = -fs;
    g[1] = 2 * eta * f[1];
    g[2] = two->k;
    g[3] = -2 * m * ei * f[1] - ei * fs;
    k[0][0] = cs;
    k[1][0] = k[0][1] = -2 * eta * hs;
    k[1][1] = 4 * eta * eta * f[2] + 2 * f[1];
    k[2][0] = k[0][2] = -c2;
    k[2][1] = k[1][2] = 2 * eta * h2;
    k[2][2] = c2;
    k[3][0] = k[0][3] = ei * (2 * m * hs + cs - 2 * f[1]);
    k[3][1] = k[1][3] = -2 * eta * ei * (2 * m * f[2] + hs) - i * (2 * m * f[1] + fs);
    k[3][2] = k[2][3] = -ei * (2 * m * h2 + c2) + ei * i * (2 * m * f[1] + fs);
    k[3][3] = ei * ei * (4 * m * (m * f[2] + hs) + cs - 2 * f[1]) +
              m * i * i * (2 * m * f[1] + fs) + two->k * i;
}

#endif
