/* These functions sum over the contact points of a pair in the plane, and turn derivatives by
 * positions into blocks of node values. */
#ifndef SP_CONTACT_PLANAR_H
#define SP_CONTACT_PLANAR_H

#define PAIR_D 2
/* All of these are inlined into functions that are built once per instruction set: the compiler
 * turns their loops into operations on vectors, each number by the same operations in the same
 * order. */
#define PAIR_PART static inline __attribute__((always_inline))
#include "contact/pair_body.h"

/* Turn derivatives by positions into those by node values: an arm e turned with its node gives
 * dp/dtheta = (-ey, ex) and the curvature -e.g. `count`, 2 or 4, is how many of the four chain
 * points there are. */
PAIR_PART void sp_pair_scatter(const sp_contact *contact, const int *point, int count,
                               const int *block, const sp_pair_sum *sum, double *gradient,
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
