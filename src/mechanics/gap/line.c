/* The layer between a point and a straight piece is worked out here. Lengths are in units of R: H =
 * (distance from the endless line)^2 (dist2 in docs/theory.md), s is the place along it from the
 * foot of the point, and q = H + s^2. The kernel is chi(q) = a q^(-3/2) + sum c_k q^k, zero with
 * its slope at q = 1 (E9, E246). */
#include <math.h>

#include "base/so3.h"
#include "gap/line_points.h"
#include "gap/line_terms.h"

/* A layer on a platen takes up its load over this squash. */
static const double onset = 0.05;

/* Find F and its derivatives by H, from one end of the stretch within reach to the other. */
static void integrals(const double *c, double h, const sp_line_end *one, const sp_line_end *two,
                      double out[3])
{
    double p[3], m[5];
    sp_line_between(one, two, p, m);
    if (sp_line_is_far_aside(h, one->s, two->s)) sp_line_powers_aside(h, one->s, two->s, p);
    sp_line_add_powers(c, p, m, out);
}

/* Integrate over a piece of length l for a point that is m along and eta aside of its beginning, in
 * units of R, less than R away from it. f comes as from `integrals`, g and k as from `in_frame`. */
static void in_reach(const double *c, double m, double eta, double l, double f[3], double g[4],
                     double k[4][4])
{
    /* On the line through the piece, but beyond its ends, H may vanish. */
    const double h = fmax(eta * eta, 1e-30), reach = sqrt(1 - h);
    const int clip1 = -m <= -reach, clip2 = l - m >= reach;
    sp_line_end one, two;
    sp_line_at_end(c, h, 1 / h, clip1 ? -reach : -m, clip1, &one);
    sp_line_at_end(c, h, 1 / h, clip2 ? reach : l - m, clip2, &two);
    integrals(c, h, &one, &two, f);
    sp_line_in_frame(m, eta, l, f, &one, &two, g, k);
}

double sp_line_energy(const double v[2], const double n[2], double length, double rest,
                      double gradient[4], double hessian[16])
{
    const double square = sp_line_square(v, n, length);
    if (square >= rest * rest) return 0;
    if (square == 0) return INFINITY;
    sp_line_points at;
    sp_line_put_point(&at, 0, v, n, length, rest);
    sp_line_points_eval(1, &at);
    for (int x = 0; x < 4; x++) gradient[x] = at.g[x][0];
    for (int x = 0; x < 2; x++)
        for (int y = 0; y < 2; y++) {
            hessian[4 * x + y] = at.vv[2 * x + y][0];
            hessian[4 * (2 + x) + y] = hessian[4 * y + 2 + x] = at.ev[2 * x + y][0];
            hessian[4 * (2 + x) + 2 + y] = at.ee[2 * x + y][0];
        }
    return at.energy[0];
}

/* Find unit directions aside (towards the point; any, when it is on the line) and across, at right
 * angles with n. */
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
    if (aside < SP_LINE_NOISE * rest) aside = 0;
    const double inverse = 1 / rest, m = along * inverse, i = rest / length;
    double f[3], g[4], k[4][4], t[3], b[3];
    frame_aside(n, off, aside, t, b);
    in_reach(sp_line_kernel[faces], m, aside * inverse, length * inverse, f, g, k);

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

/* Find w of an endless straight line at the distance l: a round strut that lies on a platen counts
 * as one. */
static void endless_line(const double *c, double l, double w[3])
{
    const double h = l * l, reach = sqrt(1 - h);
    sp_line_end one, two;
    double f[3];
    sp_line_at_end(c, h, 1 / h, -reach, 1, &one);
    sp_line_at_end(c, h, 1 / h, reach, 1, &two);
    integrals(c, h, &one, &two, f);
    w[0] = f[0];
    w[1] = 2 * l * f[1];
    w[2] = 2 * f[1] + 4 * h * f[2];
}

void sp_layer_smooth(sp_faces faces, double l, double w[3])
{
    if (faces == SP_ROUND_FACES) {
        endless_line(sp_line_kernel[faces], l, w);
        return;
    }
    const double s = 1 - l, i = 1 / l, i2 = i * i, delta = onset;
    /* This is the layer less its linear part 4 s. */
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
