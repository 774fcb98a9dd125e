/* Rotations in space: unit quaternions (w, x, y, z), rotation vectors [rad], and what a chord
 * between two rotations and its midpoint do when both ends turn (E40 .. E43 of docs/theory.md). */
#ifndef SP_BASE_SO3_H
#define SP_BASE_SO3_H

#include <math.h>

static inline double sp_dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Set out = a x b; out must be neither of them. */
static inline void sp_cross(const double a[3], const double b[3], double out[3])
{
    out[0] = a[1] * b[2] - a[2] * b[1];
    out[1] = a[2] * b[0] - a[0] * b[2];
    out[2] = a[0] * b[1] - a[1] * b[0];
}

/* Find the quaternion of the rotation by |w| about w; w may have any length. */
void sp_so3_exp(const double w[3], double q[4]);

/* Find the rotation vector of a unit quaternion; its length is 0 .. pi, and q and -q give the same.
 */
void sp_so3_log(const double q[4], double w[3]);

/* Set out = a b: the rotation b is applied first, then a. out may be a or b. */
void sp_so3_multiply(const double a[4], const double b[4], double out[4]);

/* Set out = a^-1 b. */
void sp_so3_between(const double a[4], const double b[4], double out[4]);

/* Find the rotation halfway from a to b on the shorter way (not unique when they are half a turn
 * apart). */
void sp_so3_middle(const double a[4], const double b[4], double out[4]);

/* Find the rotation matrix (row-major); its columns are the turned axes. */
void sp_so3_matrix(const double q[4], double m[9]);

/* Set q = exp(w) q, kept at length 1: this updates a node by a spin w in fixed axes. */
void sp_so3_turn(const double w[3], double q[4]);

/* Find the unit quaternion that takes axis 1 to `along` (not zero) and axis 2 into the plane of
 * `along` and `up`. Where `up` is zero or lies along `along`, axis 2 is chosen. */
void sp_so3_frame(const double along[3], const double up[3], double q[4]);

/* The chord psi = log(A^-1 B) and the midpoint of two rotations, seen in the midpoint's axes. With
 * spins alpha of A and beta of B there, sigma = (alpha + beta)/2 and c = beta - alpha - (alpha x
 * beta)/2, to second order
 *   chord     psi + J c + |c|^2 a psi - (psi.c)^2 bent psi + (psi.c) b c,     J = s 1 + j psi psi^T
 *   midpoint  exp(sigma) exp(-tau psi x c (1 + tau psi.c / 2))
 * Smooth functions of |psi| < 2 pi, by their series near zero. */
typedef struct sp_so3_chord {
    double s, j, a, b, bent, tau;
} sp_so3_chord;
sp_so3_chord sp_so3_chord_of(const double psi[3]);

#endif
