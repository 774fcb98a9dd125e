/* This file sums over the contact points of a pair of segments, in the plane or in space. planar.h
 * and spatial.h include it after they have set PAIR_D, the dimension, so that its loops have
 * lengths that the compiler knows, and PAIR_PART, with which the declaration of a function begins.
 */
#include "contact/parts.h"

enum { PAIR_BLOCK = PAIR_D * PAIR_D };

/* This is the sum of one pair of segments by the positions of its four points: the gradient, and
 * lower d x d blocks of the Hessian in the order (0,0) (1,0) (1,1) (2,0) ... (3,3), rows of a block
 * first. */
typedef struct sp_pair_sum {
    double energy, g[4 * PAIR_D], h[10][PAIR_BLOCK];
} sp_pair_sum;

PAIR_PART void sp_pair_add_block(double *out, double k, const double *m)
{
    for (int i = 0; i < PAIR_BLOCK; i++) out[i] += k * m[i];
}

PAIR_PART void sp_pair_add_transposed(double *out, double k, const double *m)
{
    for (int r = 0; r < PAIR_D; r++)
        for (int s = 0; s < PAIR_D; s++) out[PAIR_D * r + s] += k * m[PAIR_D * s + r];
}

/* Add one contact point p = (1-f) x0 + f x1 against the piece from a to b, from derivatives by v =
 * p - a and e = b - a; rows of `ev` are e, columns v. The points of the pair are (x0 x1 a b), or (a
 * b x0 x1) when `back`, and then the rows of a block belong to the contact point. */
PAIR_PART void sp_pair_add_point(sp_pair_sum *sum, int back, double f, double k, const double *g,
                                 const double *vv, const double *ev, const double *ee)
{
    const int *at = sp_contact_pair_place[back];
    const int x = back ? 2 * PAIR_D : 0, y = 2 * PAIR_D - x;
    const double w[2] = {1 - f, f};
    double av[PAIR_BLOCK], aa[PAIR_BLOCK], be[PAIR_BLOCK];
    for (int r = 0; r < PAIR_D; r++)
        for (int s = 0; s < PAIR_D; s++) {
            const int i = PAIR_D * r + s;
            av[i] = vv[i] + ev[i];
            be[i] = ev[i] + ee[i];
            aa[i] = av[i] + ev[PAIR_D * s + r] + ee[i];
        }
    for (int d = 0; d < PAIR_D; d++) {
        sum->g[x + d] += k * w[0] * g[d];
        sum->g[x + PAIR_D + d] += k * w[1] * g[d];
        sum->g[y + d] -= k * (g[d] + g[PAIR_D + d]);
        sum->g[y + PAIR_D + d] += k * g[PAIR_D + d];
    }
    sp_pair_add_block(sum->h[at[0]], k * w[0] * w[0], vv);
    sp_pair_add_block(sum->h[at[1]], k * w[0] * w[1], vv);
    sp_pair_add_block(sum->h[at[2]], k * w[1] * w[1], vv);
    if (back) {
        sp_pair_add_transposed(sum->h[at[3]], -k * w[0], av);
        sp_pair_add_transposed(sum->h[at[4]], -k * w[1], av);
        sp_pair_add_transposed(sum->h[at[5]], k * w[0], ev);
        sp_pair_add_transposed(sum->h[at[6]], k * w[1], ev);
    } else {
        sp_pair_add_block(sum->h[at[3]], -k * w[0], av);
        sp_pair_add_block(sum->h[at[4]], -k * w[1], av);
        sp_pair_add_block(sum->h[at[5]], k * w[0], ev);
        sp_pair_add_block(sum->h[at[6]], k * w[1], ev);
    }
    sp_pair_add_block(sum->h[at[7]], k, aa);
    sp_pair_add_block(sum->h[at[8]], -k, be);
    sp_pair_add_block(sum->h[at[9]], k, ee);
}
