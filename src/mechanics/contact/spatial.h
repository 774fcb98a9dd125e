/* These functions sum over the contact points of a pair in space, and turn derivatives by positions
 * into blocks of node values. */
#ifndef SP_CONTACT_SPATIAL_H
#define SP_CONTACT_SPATIAL_H

#include <string.h>

#include "base/so3.h"
#define PAIR_D 3
#define PAIR_PART static inline
#include "contact/pair_body.h"

enum { SIDE = SP_SPATIAL_UNKNOWNS };

/* Add the same from one Hessian (6 x 6) by v and e. */
static inline void sp_spatial_add_whole(sp_pair_sum *sum, int back, double f, double k,
                                        const double g[6], const double h[36])
{
    double vv[9], ev[9], ee[9];
    for (int r = 0; r < 3; r++)
        for (int s = 0; s < 3; s++) {
            vv[3 * r + s] = h[6 * r + s];
            ev[3 * r + s] = h[6 * (3 + r) + s];
            ee[3 * r + s] = h[6 * (3 + r) + 3 + s];
        }
    sp_pair_add_point(sum, back, f, k, g, vv, ev, ee);
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
                                           const sp_pair_sum *sum, double *gradient,
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

static inline void sp_pair_scatter(const sp_contact *contact, const int *point, int count,
                                   const int *block, const sp_pair_sum *sum, double *gradient,
                                   sp_blocks *blocks)
{
    const double *arm[4] = {0};
    for (int i = 0; i < count; i++) arm[i] = contact->turned + 3 * point[i];
    sp_spatial_scatter_arms(contact, point, count, arm, block, sum, gradient, blocks);
}

#endif
