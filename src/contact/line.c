/* Point against straight piece. Lengths in units of R: H = (distance from the endless line)^2, s along it from the foot
 * of the point, q = H + s^2. Kernel kappa(q) = a q^(-3/2) + sum c_k q^k, zero with its slope at q = 1 (E9). */
#include <math.h>

#include "contact/line.h"

/* a = 1/4 gives w -> l^-2/2 for l -> 0; c: least squares on the pressure for l in 0.25 .. 0.87 under kappa(1) =
 * kappa'(1) = 0. The pressure is within 0.5 % of the layer's below l = 0.85 and rises smoothly from zero above. */
static const double a = 0.25;
static const double c[5] = {-0.387626, -0.215413, 1.067644, -1.313545, 0.59894};

/* Squash over which a layer on a platen takes up its load. */
static const double onset = 0.05;

static double kernel(double q)
{
    return a / (q * sqrt(q)) + c[0] + q * (c[1] + q * (c[2] + q * (c[3] + q * c[4])));
}

static double kernel_slope(double q)
{
    return -1.5 * a / (q * q * sqrt(q)) + c[1] + q * (2 * c[2] + q * (3 * c[3] + q * 4 * c[4]));
}

/* Integrals of q^(-3/2), q^(-5/2), q^(-7/2) from the foot to s. */
static void powers(double h, double s, double out[3])
{
    const double q = h + s * s, root = sqrt(q), i = 1 / h;
    out[0] = s * i / root;
    out[1] = (s / (q * root) + 2 * out[0]) * i / 3;
    out[2] = (s / (q * q * root) + 4 * out[1]) * i / 5;
}

/* The same from s1 to s2 when both lie far on one side: series in H/s^2, where the closed form cancels. */
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

/* Integrals of q^k, k = 0 .. 4, from the foot to s. */
static void polynomials(double h, double s, double out[5])
{
    const double q = h + s * s;
    double power = 1;
    out[0] = s;
    for (int k = 1; k < 5; k++) {
        power *= q;
        out[k] = (s * power + 2 * k * h * out[k - 1]) / (2 * k + 1);
    }
}

/* F = int kappa from s1 to s2, and its first and second derivative by H. */
static void integrals(double h, double s1, double s2, double out[3])
{
    double p[3], m1[5], m2[5], m[5];
    const int aside = (s1 > 0 && h < 0.05 * s1 * s1) || (s2 < 0 && h < 0.05 * s2 * s2);
    if (aside) {
        powers_aside(h, s1, s2, p);
    } else {
        double low[3];
        powers(h, s1, low);
        powers(h, s2, p);
        for (int n = 0; n < 3; n++) p[n] -= low[n];
    }
    polynomials(h, s1, m1);
    polynomials(h, s2, m2);
    for (int k = 0; k < 5; k++) m[k] = m2[k] - m1[k];
    out[0] = a * p[0] + c[0] * m[0] + c[1] * m[1] + c[2] * m[2] + c[3] * m[3] + c[4] * m[4];
    out[1] = -1.5 * a * p[1] + c[1] * m[0] + 2 * c[2] * m[1] + 3 * c[3] * m[2] + 4 * c[4] * m[3];
    out[2] = 3.75 * a * p[2] + 2 * c[2] * m[0] + 6 * c[3] * m[1] + 12 * c[4] * m[2];
}

double sp_line_energy(const double v[2], const double n[2], double length, double rest,
                      double *distance, double gradient[4], double hessian[16])
{
    const double nx = n[0], ny = n[1];
    /* frame of the piece: n along it, then its left normal; m and eta are v in it */
    const double along = v[0] * nx + v[1] * ny, aside = v[1] * nx - v[0] * ny;
    const double beyond = along < 0 ? along : along > length ? along - length : 0;
    *distance = sqrt(aside * aside + beyond * beyond);
    if (*distance >= rest) return 0;
    if (*distance == 0) return INFINITY;
    const double inverse = 1 / rest, m = along * inverse, eta = aside * inverse,
                 l = length * inverse, h = eta * eta;
    const double reach = sqrt(1 - h), end1 = -m, end2 = l - m;
    const double s1 = fmax(end1, -reach), s2 = fmin(end2, reach);
    double f[3];
    integrals(h, s1, s2, f);
    /* derivatives by the ends; beyond reach kappa and its slope are zero */
    const int in1 = end1 > -reach, in2 = end2 < reach;
    const double q1 = h + end1 * end1, q2 = h + end2 * end2;
    const double k1 = in1 ? kernel(q1) : 0, k2 = in2 ? kernel(q2) : 0;
    const double d1 = in1 ? kernel_slope(q1) : 0, d2 = in2 ? kernel_slope(q2) : 0;

    /* gradients by (v_n, v_t, e_n, e_t) of H, s1 = -m, s2 = L - m */
    const double i = 1 / l;
    const double gh[4] = {0, 2 * eta, 0, -2 * m * eta * i};
    const double g1[4] = {-1, 0, 0, -eta * i}, g2[4] = {-1, 0, 1, -eta * i};
    const double f1 = -k1, f2 = k2;
    double g[4], k[4][4];
    for (int r = 0; r < 4; r++) {
        g[r] = f[1] * gh[r] + f1 * g1[r] + f2 * g2[r];
        for (int s = 0; s <= r; s++)
            k[r][s] = f[2] * gh[r] * gh[s] - d1 * (gh[r] * g1[s] + g1[r] * gh[s]) +
                      d2 * (gh[r] * g2[s] + g2[r] * gh[s]) - 2 * end1 * d1 * g1[r] * g1[s] +
                      2 * end2 * d2 * g2[r] * g2[s];
    }
    /* second derivatives of H, m and L */
    const double fm = -(f1 + f2), fl = f2;
    k[1][1] += 2 * f[1];
    k[3][0] += -2 * eta * i * f[1];
    k[3][1] += -2 * m * i * f[1] + fm * i;
    k[3][2] += 2 * m * eta * i * i * f[1] - eta * i * i * fm;
    k[3][3] += (2 * m * m - 2 * eta * eta) * i * i * f[1] - m * i * i * fm + fl * i;
    for (int r = 0; r < 4; r++)
        for (int s = 0; s < r; s++) k[s][r] = k[r][s];

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

double sp_layer_energy(double l)
{
    return l < 1 ? 0.5 * (l * l + 1 / (l * l) - 2) : 0;
}

double sp_layer_pressure(double l)
{
    return l < 1 ? 1 / (l * l * l) - l : 0;
}

void sp_layer_smooth(double l, double w[3])
{
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
