/* Point against straight piece. Lengths in units of R: H = (distance from the endless line)^2, s
 * along it from the foot of the point, q = H + s^2. Kernel kappa(q) = a q^(-3/2) + sum c_k q^k,
 * zero with its slope at q = 1 (E9, E246). */
#include <math.h>

#include "base/so3.h"
#include "gap/line.h"

/* a = 1/4 gives w -> l^-2/2 for l -> 0, of flat faces and of round ones. */
static const double a = 0.25;
/* The c of a kernel, under kappa(1) = kappa'(1) = 0. Flat: least squares on the pressure for l in
 * 0.25 .. 0.87; it is within 0.5 % of the layer's below l = 0.85 and rises smoothly from zero
 * above. Round: least squares on Hertz's crossed cylinders and a rubber roller between plates
 * (benchmarks/physics/round_kernel.c). */
static const double kernel[][5] = {
    [SP_FLAT_FACES] = {-0.387626, -0.215413, 1.067644, -1.313545, 0.59894},
    [SP_ROUND_FACES] = {-1.832717, 3.974682, -3.499708, 1.031238, 0.076505},
};

/* A point nearer to the line through a piece than this share of its reach lies on it: its direction
 * aside is noise. */
static const double round_off = 1e-12;

/* Squash over which a layer on a platen takes up its load. */
static const double onset = 0.05;

/* All that depends on one end of the stretch within reach, at s along the line. */
typedef struct end_terms {
    double s;
    double p[3];     /* integrals of q^(-3/2), q^(-5/2), q^(-7/2) from the foot to s */
    double m[5];     /* integrals of q^k, k = 0 .. 4, from the foot to s */
    double k, slope; /* kappa and its slope there; both zero at q = 1, where the reach ends */
} end_terms;

static void at_end(const double *c, double h, double inverse_h, double s, int clipped, end_terms *e)
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
    e->k = clipped ? 0 : a * r3 + c[0] + q * (c[1] + q * (c[2] + q * (c[3] + q * c[4])));
    e->slope = clipped ? 0 : -1.5 * a * r5 + c[1] + q * (2 * c[2] + q * (3 * c[3] + q * 4 * c[4]));
}

/* The same from s1 to s2 when both lie far on one side: series in H/s^2, where the closed form
 * cancels. */
static void powers_aside(double h, double s1, double s2, double out[3])
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

/* F = int kappa from one end to the other, and its first and second derivative by H. */
static void integrals(const double *c, double h, const end_terms *one, const end_terms *two,
                      double out[3])
{
    const double s1 = one->s, s2 = two->s;
    double p[3], m[5];
    for (int n = 0; n < 3; n++) p[n] = two->p[n] - one->p[n];
    for (int k = 0; k < 5; k++) m[k] = two->m[k] - one->m[k];
    if ((s1 > 0 && h < 0.05 * s1 * s1) || (s2 < 0 && h < 0.05 * s2 * s2))
        powers_aside(h, s1, s2, p);
    out[0] = a * p[0] + c[0] * m[0] + c[1] * m[1] + c[2] * m[2] + c[3] * m[3] + c[4] * m[4];
    out[1] = -1.5 * a * p[1] + c[1] * m[0] + 2 * c[2] * m[1] + 3 * c[3] * m[2] + 4 * c[4] * m[3];
    out[2] = 3.75 * a * p[2] + 2 * c[2] * m[0] + 6 * c[3] * m[1] + 12 * c[4] * m[2];
}

/* Gradient and Hessian by (v_n, v_t, e_n, e_t) in the frame of the piece, from those by H = eta^2,
 * s1 = -m, s2 = l - m: H_v = (0, 2 eta), H_e = (0, -2 m eta/l), m_v = (1, 0), m_e = (0, eta/l), l_e
 * = (1, 0), and their second derivatives. */
static void in_frame(double m, double eta, double l, const double f[3], const end_terms *one,
                     const end_terms *two, double g[4], double k[4][4])
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

/* The integral of a point at m along and eta aside of a piece of length l, in units of R, less than
 * R away from it: f as `integrals`, g and k as `in_frame`. */
static void in_reach(const double *c, double m, double eta, double l, double f[3], double g[4],
                     double k[4][4])
{
    /* on the line through the piece, but beyond its ends, H may vanish */
    const double h = fmax(eta * eta, 1e-30), reach = sqrt(1 - h);
    const int clip1 = -m <= -reach, clip2 = l - m >= reach;
    end_terms one, two;
    at_end(c, h, 1 / h, clip1 ? -reach : -m, clip1, &one);
    at_end(c, h, 1 / h, clip2 ? reach : l - m, clip2, &two);
    integrals(c, h, &one, &two, f);
    in_frame(m, eta, l, f, &one, &two, g, k);
}

double sp_line_energy(const double v[2], const double n[2], double length, double rest,
                      double gradient[4], double hessian[16])
{
    const double nx = n[0], ny = n[1];
    /* frame of the piece: n along it, then its left normal; m and eta are v in it */
    const double along = v[0] * nx + v[1] * ny, aside = v[1] * nx - v[0] * ny;
    const double square = sp_line_square(v, n, length);
    if (square >= rest * rest) return 0;
    if (square == 0) return INFINITY;
    const double inverse = 1 / rest;
    double f[3], g[4], k[4][4];
    in_reach(kernel[SP_FLAT_FACES], along * inverse, aside * inverse, length * inverse, f, g, k);

    const double t[2][2] = {{nx, ny}, {-ny, nx}}; /* rows: n, left normal */
    for (int p = 0; p < 2; p++) {
        gradient[2 * p] = (t[0][0] * g[2 * p] + t[1][0] * g[2 * p + 1]) * inverse;
        gradient[2 * p + 1] = (t[0][1] * g[2 * p] + t[1][1] * g[2 * p + 1]) * inverse;
        for (int q = 0; q < 2; q++) {
            double half[2][2];
            for (int r = 0; r < 2; r++)
                for (int y = 0; y < 2; y++)
                    half[r][y] = k[2 * p + r][2 * q] * t[0][y] + k[2 * p + r][2 * q + 1] * t[1][y];
            for (int x = 0; x < 2; x++)
                for (int y = 0; y < 2; y++)
                    hessian[4 * (2 * p + x) + 2 * q + y] =
                        (t[0][x] * half[0][y] + t[1][x] * half[1][y]) * inverse * inverse;
        }
    }
    return f[0];
}

/* Unit directions aside (towards the point, any when it is on the line) and across, at right angles
 * with n. */
static void frame_aside(const double n[3], const double off[3], double aside, double t[3],
                        double b[3])
{
    double from[3] = {off[0], off[1], off[2]};
    if (aside == 0) {
        const int flat = fabs(n[0]) < 0.6 ? 0 : fabs(n[1]) < 0.6 ? 1 : 2;
        for (int d = 0; d < 3; d++) from[d] = d == flat;
    }
    const double along = sp_dot(from, n);
    for (int d = 0; d < 3; d++) from[d] -= along * n[d];
    const double inverse = 1 / sqrt(sp_dot(from, from));
    for (int d = 0; d < 3; d++) t[d] = from[d] * inverse;
    sp_cross(n, t, b);
}

double sp_line_energy_spatial(sp_faces faces, const double v[3], const double n[3], double length,
                              double rest, double gradient[6], double hessian[36])
{
    const double along = sp_dot(v, n);
    const double off[3] = {v[0] - along * n[0], v[1] - along * n[1], v[2] - along * n[2]};
    const double square = sp_line_square_spatial(v, n, length);
    if (square >= rest * rest) return 0;
    if (square == 0) return INFINITY;
    double aside = sqrt(sp_dot(off, off));
    if (aside < round_off * rest) aside = 0;
    const double inverse = 1 / rest, m = along * inverse, i = rest / length;
    double f[3], g[4], k[4][4], t[3], b[3];
    frame_aside(n, off, aside, t, b);
    in_reach(kernel[faces], m, aside * inverse, length * inverse, f, g, k);

    /* The direction of `aside` turns with v and e: the second derivatives across follow from those
     * of the plane, because a common turn of v and e changes nothing (E57). */
    const double turn = 2 * m * f[1] - g[0];
    const double across[2][2] = {{2 * f[1], 0}, {-i * turn, i * (g[2] + m * i * turn)}};
    const double square_inverse = inverse * inverse;
    for (int p = 0; p < 2; p++) {
        for (int x = 0; x < 3; x++)
            gradient[3 * p + x] = (g[2 * p] * n[x] + g[2 * p + 1] * t[x]) * inverse;
        for (int q = 0; q <= p; q++)
            for (int x = 0; x < 3; x++) {
                const double by_n = k[2 * p][2 * q] * n[x] + k[2 * p + 1][2 * q] * t[x];
                const double by_t = k[2 * p][2 * q + 1] * n[x] + k[2 * p + 1][2 * q + 1] * t[x];
                const double by_b = across[p][q] * b[x];
                for (int y = 0; y < 3; y++)
                    hessian[6 * (3 * p + x) + 3 * q + y] =
                        (by_n * n[y] + by_t * t[y] + by_b * b[y]) * square_inverse;
            }
    }
    for (int x = 0; x < 3; x++)
        for (int y = 0; y < 3; y++) hessian[6 * x + 3 + y] = hessian[6 * (3 + y) + x];
    return f[0];
}

double sp_layer_energy(double l)
{
    return l < 1 ? 0.5 * (l * l + 1 / (l * l) - 2) : 0;
}

double sp_layer_pressure(double l)
{
    return l < 1 ? 1 / (l * l * l) - l : 0;
}

/* An endless straight line at the distance l: what a round strut makes of the platen it lies on. */
static void endless_line(const double *c, double l, double w[3])
{
    const double h = l * l, reach = sqrt(1 - h);
    end_terms one, two;
    double f[3];
    at_end(c, h, 1 / h, -reach, 1, &one);
    at_end(c, h, 1 / h, reach, 1, &two);
    integrals(c, h, &one, &two, f);
    w[0] = f[0];
    w[1] = 2 * l * f[1];
    w[2] = 2 * f[1] + 4 * h * f[2];
}

void sp_layer_smooth(sp_faces faces, double l, double w[3])
{
    if (faces == SP_ROUND_FACES) {
        endless_line(kernel[faces], l, w);
        return;
    }
    const double s = 1 - l, i = 1 / l, i2 = i * i, delta = onset;
    /* the layer less its linear part 4 s */
    w[0] = 0.5 * (l * l + i2 - 2) - 2 * s * s;
    w[1] = -(i * i2 - l - 4 * s);
    w[2] = 3 * i2 * i2 - 3;
    if (s < delta) { /* 4 s times the smooth step 3u^2 - 2u^3 */
        const double u = s / delta;
        w[0] += 4 * delta * delta * u * u * u * u * (0.75 - 0.4 * u);
        w[1] -= 4 * s * u * u * (3 - 2 * u);
        w[2] += 4 * (u * u * (3 - 2 * u) + u * u * (6 - 6 * u));
    } else {
        w[0] += 2 * s * s - 0.6 * delta * delta;
        w[1] -= 4 * s;
        w[2] += 4;
    }
}

double sp_line_distance(const double v[2], const double e[2])
{
    double t = (v[0] * e[0] + v[1] * e[1]) / (e[0] * e[0] + e[1] * e[1]);
    t = t < 0 ? 0 : t > 1 ? 1 : t;
    const double x = v[0] - t * e[0], y = v[1] - t * e[1];
    return sqrt(x * x + y * y);
}
