/* These functions sum over the contact points of a pair in space, and turn derivatives by positions
 * into blocks of node values. */
#ifndef SP_SPATIAL_PAIR_H
#define SP_SPATIAL_PAIR_H

#include <string.h>

#include "base/so3.h"
#include "contact/parts.h"

enum { SIDE = SP_SPATIAL_UNKNOWNS };

/* This is the sum of one pair of segments by the positions of its four points: the gradient, and
 * lower 3 x 3 blocks of the Hessian in the order (0,0) (1,0) (1,1) (2,0) ... (3,3), rows of a block
 * first. */
typedef struct sp_spatial_sum {
    double energy, g[12], h[10][9];
    int presses;
} sp_spatial_sum;

static inline void sp_spatial_add_block(double *out, double k, const double m[9], int transposed)
{
    for (int r = 0; r < 3; r++)
        for (int s = 0; s < 3; s++) out[3 * r + s] += k * m[transposed ? 3 * s + r : 3 * r + s];
}

/* Add one contact point p = (1-f) x0 + f x1 against the piece from a to b, from derivatives by v =
 * p - a and e = b - a; rows of `ev` are e, columns v. The points of the pair are (x0 x1 a b), or (a
 * b x0 x1) when `back`, and then the rows of a block belong to the contact point. */
static inline void sp_spatial_add_point(sp_spatial_sum *sum, int back, double f, double k,
                                        const double g[6], const double vv[9], const double ev[9],
                                        const double ee[9])
{
    const int *at = sp_contact_pair_place[back], x = back ? 6 : 0, y = 6 - x;
    const double w[2] = {1 - f, f};
    double av[9], aa[9], be[9];
    for (int r = 0; r < 3; r++)
        for (int s = 0; s < 3; s++) {
            av[3 * r + s] = vv[3 * r + s] + ev[3 * r + s];
            be[3 * r + s] = ev[3 * r + s] + ee[3 * r + s];
            aa[3 * r + s] = av[3 * r + s] + ev[3 * s + r] + ee[3 * r + s];
        }
    for (int d = 0; d < 3; d++) {
        sum->g[x + d] += k * w[0] * g[d];
        sum->g[x + 3 + d] += k * w[1] * g[d];
        sum->g[y + d] -= k * (g[d] + g[3 + d]);
        sum->g[y + 3 + d] += k * g[3 + d];
    }
    sp_spatial_add_block(sum->h[at[0]], k * w[0] * w[0], vv, 0);
    sp_spatial_add_block(sum->h[at[1]], k * w[0] * w[1], vv, 0);
    sp_spatial_add_block(sum->h[at[2]], k * w[1] * w[1], vv, 0);
    sp_spatial_add_block(sum->h[at[3]], -k * w[0], av, back);
    sp_spatial_add_block(sum->h[at[4]], -k * w[1], av, back);
    sp_spatial_add_block(sum->h[at[5]], k * w[0], ev, back);
    sp_spatial_add_block(sum->h[at[6]], k * w[1], ev, back);
    sp_spatial_add_block(sum->h[at[7]], k, aa, 0);
    sp_spatial_add_block(sum->h[at[8]], -k, be, 0);
    sp_spatial_add_block(sum->h[at[9]], k, ee, 0);
}

/* Add the same from one Hessian (6 x 6) by v and e. */
static inline void sp_spatial_add_whole(sp_spatial_sum *sum, int back, double f, double k,
                                        const double g[6], const double h[36])
{
    double vv[9], ev[9], ee[9];
    for (int r = 0; r < 3; r++)
        for (int s = 0; s < 3; s++) {
            vv[3 * r + s] = h[6 * r + s];
            ev[3 * r + s] = h[6 * (3 + r) + s];
            ee[3 * r + s] = h[6 * (3 + r) + 3 + s];
        }
    sp_spatial_add_point(sum, back, f, k, g, vv, ev, ee);
}

static inline int sp_spatial_has_arm(const double r[3])
{
    return r[0] != 0 || r[1] != 0 || r[2] != 0;
}

/* Turn the block `m` of two positions into one of displacements and spins of nodes whose turned
 * arms are r and s: dp = u + w x r (E48). */
static inline void sp_spatial_with_arms(const double m[9], const double r[3], const double s[3],
                                        double out[36])
{
    for (int i = 0; i < 3; i++) {
        memcpy(out + SIDE * i, m + 3 * i, 3 * sizeof(double));
        sp_cross(s, m + 3 * i, out + SIDE * i + 3);
    }
    for (int k = 0; k < SIDE; k++) {
        const double column[3] = {out[k], out[SIDE + k], out[2 * SIDE + k]};
        double moment[3];
        sp_cross(r, column, moment);
        for (int i = 0; i < 3; i++) out[SIDE * (3 + i) + k] = moment[i];
    }
}

/* Add the second-order part of dp = .. + w x (w x r)/2 under the force g to the spins in the node's
 * own block. */
static inline void sp_spatial_bend_arm(const double g[3], const double r[3], double *block)
{
    const double unit = sp_dot(g, r);
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++)
            block[SIDE * (3 + i) + 3 + k] += 0.5 * (g[i] * r[k] + r[i] * g[k]);
        block[SIDE * (3 + i) + 3 + i] -= unit;
    }
}

/* Turn derivatives by the positions of the first `count` of the four chain points, 2 or 4, into
 * those by node values; the points stand at the ends of turned arms. */
static inline void sp_spatial_scatter_arms(const sp_contact *contact, const int *point, int count,
                                           const double *const arm[4], const int *block,
                                           const sp_spatial_sum *sum, double *gradient,
                                           sp_blocks *blocks)
{
    int node[4], armed[4];
    for (int i = 0; i < count; i++) {
        node[i] = contact->model->point_node[point[i]];
        const double *g = sum->g + 3 * i;
        double *out = gradient + SIDE * node[i], moment[3];
        for (int d = 0; d < 3; d++) out[d] += g[d];
        armed[i] = sp_spatial_has_arm(arm[i]);
        if (!armed[i]) continue;
        sp_cross(arm[i], g, moment);
        for (int d = 0; d < 3; d++) out[3 + d] += moment[d];
        sp_spatial_bend_arm(g, arm[i], blocks->value + SIDE * SIDE * block[i * (i + 1) / 2 + i]);
    }
    for (int i = 0, b = 0; i < count; i++)
        for (int j = 0; j <= i; j++, b++) {
            double *v = blocks->value + SIDE * SIDE * block[b], m[SIDE * SIDE];
            if (!armed[i] && !armed[j] && node[i] >= node[j] && (i == j || node[i] != node[j])) {
                for (int r = 0; r < 3; r++)
                    for (int s = 0; s < 3; s++) v[SIDE * r + s] += sum->h[b][3 * r + s];
                continue;
            }
            sp_spatial_with_arms(sum->h[b], arm[i], arm[j], m);
            sp_contact_put_block(v, m, SIDE, node[i], node[j], i == j);
        }
}

static inline void sp_spatial_scatter(const sp_contact *contact, const int *point, int count,
                                      const int *block, const sp_spatial_sum *sum, double *gradient,
                                      sp_blocks *blocks)
{
    const double *arm[4] = {0};
    for (int i = 0; i < count; i++) arm[i] = contact->turned + 3 * point[i];
    sp_spatial_scatter_arms(contact, point, count, arm, block, sum, gradient, blocks);
}

#endif
