/* These functions sum over the contact points of a pair in the plane, and turn derivatives by
 * positions into blocks of node values. */
#ifndef SP_PLANAR_PAIR_H
#define SP_PLANAR_PAIR_H

#include "contact/parts.h"

/* This is the sum of one pair of segments by the positions of its four points: the gradient, and
 * lower 2 x 2 blocks of the Hessian in the order (0,0) (1,0) (1,1) (2,0) ... (3,3), rows of a block
 * first. */
typedef struct sp_planar_sum {
    double energy, g[8], h[10][4];
} sp_planar_sum;

static inline void sp_planar_add_block(double *out, double k, const double *m)
{
    for (int i = 0; i < 4; i++) out[i] += k * m[i];
}

/* Add one contact point p = (1-f) x0 + f x1 against the piece from a to b, from derivatives by v =
 * p - a and e = b - a; rows of `ev` are e, columns v. The points of the pair are (x0 x1 a b), or (a
 * b x0 x1) when `back`. */
static inline void sp_planar_add_point(sp_planar_sum *sum, int back, double f, double k,
                                       const double g[4], const double vv[4], const double by_e[4],
                                       const double ee[4])
{
    const int *at = sp_contact_pair_place[back], x = back ? 4 : 0, y = 4 - x;
    const double w[2] = {1 - f, f};
    double ev[4] = {by_e[0], by_e[1], by_e[2], by_e[3]}, av[4], aa[4], be[4];
    for (int i = 0; i < 4; i++) {
        const int t = i == 1 ? 2 : i == 2 ? 1 : i;
        av[i] = vv[i] + ev[i];
        aa[i] = av[i] + ev[t] + ee[i];
        be[i] = ev[i] + ee[i];
    }
    for (int d = 0; d < 2; d++) {
        sum->g[x + d] += k * w[0] * g[d];
        sum->g[x + 2 + d] += k * w[1] * g[d];
        sum->g[y + d] -= k * (g[d] + g[2 + d]);
        sum->g[y + 2 + d] += k * g[2 + d];
    }
    sp_planar_add_block(sum->h[at[0]], k * w[0] * w[0], vv);
    sp_planar_add_block(sum->h[at[1]], k * w[0] * w[1], vv);
    sp_planar_add_block(sum->h[at[2]], k * w[1] * w[1], vv);
    sp_planar_add_block(sum->h[at[7]], k, aa);
    sp_planar_add_block(sum->h[at[8]], -k, be);
    sp_planar_add_block(sum->h[at[9]], k, ee);
    if (back) { /* rows are the point's then: transpose */
        double swap = av[1];
        av[1] = av[2];
        av[2] = swap;
        swap = ev[1];
        ev[1] = ev[2];
        ev[2] = swap;
    }
    sp_planar_add_block(sum->h[at[3]], -k * w[0], av);
    sp_planar_add_block(sum->h[at[4]], -k * w[1], av);
    sp_planar_add_block(sum->h[at[5]], k * w[0], ev);
    sp_planar_add_block(sum->h[at[6]], k * w[1], ev);
}

/* Turn derivatives by positions into those by node values: an arm e turned with its node gives
 * dp/dtheta = (-ey, ex) and the curvature -e.g. `count`, 2 or 4, is how many of the four chain
 * points there are. */
static inline void sp_planar_scatter(const sp_contact *contact, const int *point, int count,
                                     const int *block, const sp_planar_sum *sum, double *gradient,
                                     sp_blocks *blocks)
{
    int node[4], armed[4];
    double jx[4], jy[4];
    for (int i = 0; i < count; i++) {
        const double *e = contact->turned + 2 * point[i], *g = sum->g + 2 * i;
        node[i] = contact->model->point_node[point[i]];
        jx[i] = -e[1];
        jy[i] = e[0];
        armed[i] = e[0] != 0 || e[1] != 0;
        double *out = gradient + 3 * node[i];
        out[0] += g[0];
        out[1] += g[1];
        if (!armed[i]) continue;
        out[2] += jx[i] * g[0] + jy[i] * g[1];
        blocks->value[9 * block[i * (i + 1) / 2 + i] + 8] -= e[0] * g[0] + e[1] * g[1];
    }
    for (int i = 0, b = 0; i < count; i++)
        for (int j = 0; j <= i; j++, b++) {
            const double *h = sum->h[b];
            double *v = blocks->value + 9 * block[b],
                   m[9] = {h[0], h[1], 0, h[2], h[3], 0, 0, 0, 0};
            if (!armed[i] && !armed[j] && node[i] >= node[j] && (i == j || node[i] != node[j])) {
                v[0] += h[0], v[1] += h[1], v[3] += h[2], v[4] += h[3];
                continue;
            }
            m[2] = m[0] * jx[j] + m[1] * jy[j];
            m[5] = m[3] * jx[j] + m[4] * jy[j];
            for (int s = 0; s < 3; s++) m[6 + s] = jx[i] * m[s] + jy[i] * m[3 + s];
            sp_contact_put_block(v, m, 3, node[i], node[j], i == j);
        }
}

#endif
