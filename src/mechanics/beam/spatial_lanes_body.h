/* These are the functions of spatial_lanes.c for one instruction set: LANES_TARGET is its
 * attribute, and LANES_NAME(f) names the function f built for it. A block is named by two letters:
 * se has rows sigma and columns e. (v) stands for the matrix of a cross product: (v) w = v x w.
 * Matrices are 3 x 3, row-major. Vectors are passed by address, because the way to pass them by
 * value depends on the instruction set. */
#define FLAT LANES_TARGET static inline __attribute__((always_inline))

FLAT void LANES_NAME(cross)(const sp_lanes8 a[3], const sp_lanes8 b[3], sp_lanes8 out[3])
{
    out[0] = a[1] * b[2] - a[2] * b[1];
    out[1] = a[2] * b[0] - a[0] * b[2];
    out[2] = a[0] * b[1] - a[1] * b[0];
}

/* Copy the lower triangle to the upper one, so that both are equal to the last digit. */
FLAT void LANES_NAME(mirror)(sp_lanes8 a[9])
{
    a[1] = a[3];
    a[2] = a[6];
    a[5] = a[7];
}

/* Add scale (a b^T + b a^T) to the lower triangle of sum. */
FLAT void LANES_NAME(add_both)(const sp_lanes8 *scale, const sp_lanes8 a[3], const sp_lanes8 b[3],
                               sp_lanes8 sum[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k <= i; k++) sum[3 * i + k] += *scale * (a[i] * b[k] + b[i] * a[k]);
}

FLAT void LANES_NAME(add_unit)(const sp_lanes8 *scale, sp_lanes8 sum[9])
{
    sum[0] += *scale;
    sum[4] += *scale;
    sum[8] += *scale;
}

FLAT void LANES_NAME(spin)(const sp_lanes8 v[3], sp_lanes8 out[9])
{
    out[0] = out[4] = out[8] = none;
    out[1] = -v[2], out[2] = v[1], out[5] = -v[0];
    out[3] = v[2], out[6] = -v[1], out[7] = v[0];
}

FLAT void LANES_NAME(turn)(const sp_lanes8 m[9], const sp_lanes8 v[3], sp_lanes8 out[3])
{
    for (int i = 0; i < 3; i++) out[i] = DOT(m + 3 * i, v);
}

/* Set out = (v) a, the cross product of v with every column. */
FLAT void LANES_NAME(cross_columns)(const sp_lanes8 v[3], const sp_lanes8 a[9], sp_lanes8 out[9])
{
    for (int k = 0; k < 3; k++) {
        out[k] = v[1] * a[6 + k] - v[2] * a[3 + k];
        out[3 + k] = v[2] * a[k] - v[0] * a[6 + k];
        out[6 + k] = v[0] * a[3 + k] - v[1] * a[k];
    }
}

FLAT void LANES_NAME(times)(const sp_lanes8 a[9], const sp_lanes8 b[9], sp_lanes8 out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[3 * i] * b[k] + a[3 * i + 1] * b[3 + k] + a[3 * i + 2] * b[6 + k];
}

/* Set m to b m b^T in place. */
FLAT void LANES_NAME(turn_block)(const sp_lanes8 m[9], sp_lanes8 b[9])
{
    sp_lanes8 half[9];
    LANES_NAME(times)(m, b, half);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) b[3 * i + k] = DOT(half + 3 * i, m + 3 * k);
}

/* Do the same where m is symmetric. */
FLAT void LANES_NAME(turn_symmetric)(const sp_lanes8 m[9], sp_lanes8 b[9])
{
    sp_lanes8 half[9];
    LANES_NAME(times)(m, b, half);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k <= i; k++) b[3 * i + k] = DOT(half + 3 * i, m + 3 * k);
    LANES_NAME(mirror)(b);
}

/* Find the blocks by e, in both parts of E46 and E47. G by (e, sigma, c) is (1, (g), by_c), K by c
 * is J/L, and dn/de = D is diagonal. */
FLAT void LANES_NAME(blocks_by_e)(const sp_spatial_input *in, const sp_lanes8 d[3],
                                  const sp_lanes8 by_c[9], blocks *h)
{
    const sp_lanes8 *g = in->g, *psi = in->psi, *n = in->n, l = in->length;
    sp_lanes8 g_spin[9], n_spin[9];
    LANES_NAME(spin)(g, g_spin);
    LANES_NAME(spin)(n, n_spin);
    const sp_lanes8 lt = l * in->chord_tau, unit = -(lt * DOT(psi, n));
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            h->ee[3 * i + k] = i == k ? l * d[i] : none;
            h->se[3 * i + k] = l * (n_spin[3 * i + k] + g_spin[3 * k + i] * d[k]);
            h->ce[3 * i + k] = l * by_c[3 * k + i] * d[k] + lt * n[i] * psi[k];
        }
    LANES_NAME(add_unit)(&unit, h->ce);
}

/* Add sum_j l d_j r_j r_j^T with the rows r_j of (g), and n.d2G, which is l ((n g^T + g n^T)/2 -
 * n.g). `s` is the second of the two without the factor l. */
FLAT void LANES_NAME(block_ss)(const sp_spatial_input *in, const sp_lanes8 d[3],
                               const sp_lanes8 s[9], sp_lanes8 ss[9])
{
    const sp_lanes8 *g = in->g, l = in->length;
    ss[0] = l * (s[0] + d[1] * g[2] * g[2] + d[2] * g[1] * g[1]);
    ss[4] = l * (s[4] + d[0] * g[2] * g[2] + d[2] * g[0] * g[0]);
    ss[8] = l * (s[8] + d[0] * g[1] * g[1] + d[1] * g[0] * g[0]);
    ss[3] = l * (s[3] - d[2] * g[1] * g[0]);
    ss[6] = l * (s[6] - d[1] * g[2] * g[0]);
    ss[7] = l * (s[7] - d[0] * g[2] * g[1]);
    LANES_NAME(mirror)(ss);
}

/* Find dn/dc = D by_c, and add -l (g) dn/dc - l tau s (psi) + l tau (f psi^T - f.psi)/2 + (t)/2. */
FLAT void LANES_NAME(block_sc)(const sp_spatial_input *in, const forces *a, const sp_lanes8 d[3],
                               const sp_lanes8 by_c[9], const sp_lanes8 s_psi[9], sp_lanes8 sc[9])
{
    const sp_lanes8 *psi = in->psi, l = in->length;
    sp_lanes8 n_by_c[9], moment[9], t_spin[9];
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) n_by_c[3 * i + k] = l * d[i] * by_c[3 * i + k];
    LANES_NAME(cross_columns)(in->g, n_by_c, moment);
    LANES_NAME(spin)(a->t, t_spin);
    const sp_lanes8 lt = l * in->chord_tau;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            sc[3 * i + k] = -moment[3 * i + k] - lt * s_psi[3 * i + k] +
                            0.5 * (lt * a->f[i] * psi[k] + t_spin[3 * i + k]);
    const sp_lanes8 unit = -0.5 * lt * DOT(a->f, psi);
    LANES_NAME(add_unit)(&unit, sc);
}

/* Add l by_c^T D by_c + J kk J/l, and the second derivatives of E47. */
FLAT void LANES_NAME(block_cc)(const sp_spatial_input *in, const forces *a, const sp_lanes8 d[3],
                               const sp_lanes8 kj[9], const sp_lanes8 by_c[9],
                               const sp_lanes8 s_psi[9], sp_lanes8 cc[9])
{
    const sp_lanes8 *psi = in->psi, *m = in->m, *jacobian = a->jacobian, l = in->length;
    const sp_lanes8 m_psi = DOT(m, psi), ltt = l * in->chord_tau * in->chord_tau;
    sp_lanes8 psi_s_psi[9];
    LANES_NAME(cross_columns)(psi, s_psi, psi_s_psi); /* (psi)^T = -(psi) */
    const sp_lanes8 inv = 1 / l;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k <= i; k++) {
            sp_lanes8 material = none, twist = none;
            for (int j = 0; j < 3; j++) {
                material += d[j] * by_c[3 * j + i] * by_c[3 * j + k];
                twist += jacobian[3 * i + j] * kj[3 * j + k];
            }
            cc[3 * i + k] = l * material + inv * twist - ltt * psi_s_psi[3 * i + k] -
                            2 * in->chord_bent * m_psi * psi[i] * psi[k];
        }
    const sp_lanes8 half = -0.5 * ltt, unit = 2 * in->chord_a * m_psi;
    LANES_NAME(add_both)(&half, psi, a->f_psi, cc);
    LANES_NAME(add_both)(&in->chord_b, psi, m, cc);
    LANES_NAME(add_unit)(&unit, cc);
    LANES_NAME(mirror)(cc);
}

/* Carry a vector that stands at (G, K) to z. */
FLAT void LANES_NAME(to_z)(const sp_spatial_input *in, const sp_lanes8 by_g[3],
                           const sp_lanes8 by_k[3], const sp_lanes8 by_c[9],
                           const sp_lanes8 jacobian[9], sp_lanes8 z[3][3])
{
    for (int i = 0; i < 3; i++) z[0][i] = by_g[i];
    LANES_NAME(cross)(by_g, in->g, z[1]);
    for (int i = 0; i < 3; i++)
        z[2][i] = by_c[i] * by_g[0] + by_c[3 + i] * by_g[1] + by_c[6 + i] * by_g[2] +
                  DOT(jacobian + 3 * i, by_k) / in->length;
}

/* Add l (b q^T + q b^T), where b are the derivatives of the axial strain and q those of N less half
 * of what b adds. E92 */
FLAT void LANES_NAME(add_axial)(const sp_spatial_input *in, const forces *a,
                                const sp_lanes8 by_c[9], blocks *h)
{
    const sp_lanes8 l = in->length;
    sp_lanes8 b[3][3], q[3][3], by_g[3], by_k[3];
    for (int i = 0; i < 3; i++) {
        by_g[i] = 0.5 * in->tangent[0] * in->by_g[i];
        by_k[i] = 0.5 * in->tangent[0] * in->by_k[i] + (i > 0 ? in->tangent[i] : none);
    }
    LANES_NAME(to_z)(in, in->by_g, in->by_k, by_c, a->jacobian, b);
    LANES_NAME(to_z)(in, by_g, by_k, by_c, a->jacobian, q);
    sp_lanes8 *const block[3][3] = {{h->ee, 0, 0}, {h->se, h->ss, h->sc}, {h->ce, 0, h->cc}};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            for (int row = 0; block[i][k] && row < 3; row++)
                for (int column = 0; column < 3; column++)
                    block[i][k][3 * row + column] +=
                        l * (b[i][row] * q[k][column] + q[i][row] * b[k][column]);
            if (block[i][k] && i == k) LANES_NAME(mirror)(block[i][k]);
        }
}

/* Find the second derivative by z: B^T C B with B of E46, and n.d2G + m.d2K of E47. */
FLAT void LANES_NAME(find_blocks)(const sp_spatial_input *in, const forces *a, blocks *h)
{
    const sp_lanes8 *g = in->g, *psi = in->psi, *j = a->jacobian, tau = in->chord_tau;
    const sp_lanes8 d[3] = {none, in->shear[0], in->shear[1]}; /* that of N: add_axial */
    const sp_lanes8 unit = tau * DOT(g, psi), n_g = -DOT(in->n, g);
    sp_lanes8 by_c[9], kj[9], s[9], s_psi[9];
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) {
            by_c[3 * i + k] = -tau * psi[i] * g[k]; /* -tau (g)(psi) */
            s[3 * i + k] = 0.5 * (in->n[i] * g[k] + g[i] * in->n[k]);
        }
        kj[i] = in->twist * j[i];
        kj[3 + i] = in->bending[0][0] * j[3 + i] + in->bending[0][1] * j[6 + i];
        kj[6 + i] = in->bending[1][0] * j[3 + i] + in->bending[1][1] * j[6 + i];
    }
    LANES_NAME(add_unit)(&unit, by_c);
    LANES_NAME(add_unit)(&n_g, s);
    for (int i = 0; i < 3; i++) LANES_NAME(cross)(s + 3 * i, psi, s_psi + 3 * i); /* s (psi) */

    LANES_NAME(blocks_by_e)(in, d, by_c, h);
    LANES_NAME(block_ss)(in, d, s, h->ss);
    LANES_NAME(block_sc)(in, a, d, by_c, s_psi, h->sc);
    LANES_NAME(block_cc)(in, a, d, kj, by_c, s_psi, h->cc);
    LANES_NAME(add_axial)(in, a, by_c, h);
}

FLAT void LANES_NAME(find_ends)(const sp_spatial_input *in, blocks *b, sp_spatial_output *h)
{
    const sp_lanes8 inv = 1 / in->length, *m = in->axes;
    LANES_NAME(turn_symmetric)(m, b->ee);
    for (int i = 0; i < 9; i++) h->u[i] = inv * inv * b->ee[i];
    LANES_NAME(turn_block)(m, b->se);
    LANES_NAME(turn_block)(m, b->ce);
    LANES_NAME(turn_block)(m, b->sc);
    LANES_NAME(turn_symmetric)(m, b->ss);
    LANES_NAME(turn_symmetric)(m, b->cc);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k;
            const sp_lanes8 se = 0.5 * inv * b->se[at], ce = inv * b->ce[at];
            const sp_lanes8 even = 0.25 * b->ss[at], sc = 0.5 * b->sc[at],
                            cs = 0.5 * b->sc[3 * k + i];
            h->p[0][at] = se - ce;
            h->p[1][at] = se + ce;
            h->w[0][at] = even - (sc + cs) + b->cc[at];
            h->w[1][at] = even - (sc - cs) - b->cc[at];
            h->w[2][at] = even + (sc + cs) + b->cc[at];
        }
}

FLAT void LANES_NAME(find_gradient)(const sp_spatial_input *in, const forces *a, sp_lanes8 g[12])
{
    sp_lanes8 by_s[3], by_c[3], force[3], sum[3], difference[3];
    for (int i = 0; i < 3; i++) {
        by_s[i] = 0.5 * in->length * a->f[i];
        by_c[i] = a->t[i] - in->length * in->chord_tau * a->f_psi[i];
    }
    LANES_NAME(turn)(in->axes, in->n, force);
    LANES_NAME(turn)(in->axes, by_s, sum);
    LANES_NAME(turn)(in->axes, by_c, difference);
    for (int i = 0; i < 3; i++) {
        g[i] = -force[i];
        g[6 + i] = force[i];
        g[3 + i] = sum[i] - difference[i];
        g[9 + i] = sum[i] + difference[i];
    }
}

LANES_TARGET static void LANES_NAME(eval)(const sp_spatial_input *in, sp_spatial_output *out)
{
    forces a;
    blocks b;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            a.jacobian[3 * i + k] =
                (i == k ? in->chord_s : none) + in->chord_j * in->psi[i] * in->psi[k];
    LANES_NAME(cross)(in->n, in->g, a.f);
    LANES_NAME(turn)(a.jacobian, in->m, a.t);
    LANES_NAME(cross)(a.f, in->psi, a.f_psi);
    LANES_NAME(find_gradient)(in, &a, out->gradient);
    LANES_NAME(find_blocks)(in, &a, &b);
    LANES_NAME(find_ends)(in, &b, out);
}

#include "beam/panel_lanes_body.h"

#undef FLAT
#undef LANES_TARGET
#undef LANES_NAME
