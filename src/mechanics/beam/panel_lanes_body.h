/* These are the functions of panel_lanes.h for one instruction set. spatial_lanes_body.h, whose
 * macros and products of vectors they use, includes this file. The second derivative by z = (e,
 * sigma, c) is kept as blocks of 3 x 3: the part that comes from the strains is found first, then
 * the part that comes from the geometry (E47). */

/* Set out = a^T b. */
FLAT void LANES_NAME(times_turned)(const sp_lanes8 a[9], const sp_lanes8 b[9], sp_lanes8 out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[i] * b[k] + a[3 + i] * b[3 + k] + a[6 + i] * b[6 + k];
}

FLAT void LANES_NAME(find_rows)(const sp_panel_input *in, rows *row)
{
    const sp_lanes8 *g = in->g, *psi = in->psi, tau = in->chord_tau, along = tau * DOT(g, psi);
    LANES_NAME(spin)(g, row->by_sigma);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k;
            row->jacobian[at] = (i == k ? in->chord_s : none) + in->chord_j * psi[i] * psi[k];
            row->by_c[at] = (i == k ? along : none) - tau * psi[i] * g[k];
            row->k_by_c[at] = row->jacobian[at] / in->length;
        }
}

FLAT void LANES_NAME(set_forces)(const sp_panel_input *in, const rows *row, by_z *d)
{
    const sp_lanes8 *force = in->force, length = in->length;
    for (int i = 0; i < 3; i++) {
        d->e[i] = length * force[i];
        d->sigma[i] = d->c[i] = none;
        for (int k = 0; k < 3; k++) {
            d->sigma[i] += length * force[k] * row->by_sigma[3 * k + i];
            d->c[i] +=
                length * (force[k] * row->by_c[3 * k + i] + force[3 + k] * row->k_by_c[3 * k + i]);
        }
    }
}

/* Find rows^T C rows. Of the strains, only K3 is coupled with G, and no K with another. */
FLAT void LANES_NAME(set_material)(const sp_panel_input *in, const rows *row, by_z *d)
{
    const sp_lanes8 *k3 = row->k_by_c + 6, length = in->length;
    sp_lanes8 by_k[3], turned[3], by_c[9];
    for (int i = 0; i < 3; i++) {
        by_k[i] = length * in->coupled[i];
        for (int k = 0; k < 3; k++) d->ee[3 * i + k] = length * in->tangent[3 * i + k];
    }
    for (int i = 0; i < 3; i++)
        turned[i] =
            row->by_c[i] * by_k[0] + row->by_c[3 + i] * by_k[1] + row->by_c[6 + i] * by_k[2];
    LANES_NAME(times)(d->ee, row->by_sigma, d->es);
    LANES_NAME(times)(d->ee, row->by_c, d->ec);
    LANES_NAME(times_turned)(row->by_sigma, d->es, d->ss);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) d->ec[3 * i + k] += by_k[i] * k3[k];
    LANES_NAME(times_turned)(row->by_sigma, d->ec, d->sc);
    LANES_NAME(times_turned)(row->by_c, d->ec, by_c);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            sp_lanes8 sum = by_c[3 * i + k] + k3[i] * turned[k];
            for (int j = 0; j < 3; j++)
                sum += length * in->bending[j] * row->k_by_c[3 * j + i] * row->k_by_c[3 * j + k];
            d->cc[3 * i + k] = sum;
        }
}

/* Add w.(n x e) + ((n.w)(g.w) - (n.g) w.w)/2 of E47, with w = sigma - tau psi x c. */
FLAT void LANES_NAME(add_turn)(const sp_panel_input *in, by_z *d)
{
    const sp_lanes8 *n = in->force, *g = in->g, length = in->length;
    const sp_lanes8 tau_psi[3] = {in->chord_tau * in->psi[0], in->chord_tau * in->psi[1],
                                  in->chord_tau * in->psi[2]};
    const sp_lanes8 n_g = length * DOT(n, g);
    sp_lanes8 n_spin[9], turn[9], by_c[9], s[9], cs[9], cc[9];
    LANES_NAME(spin)(n, n_spin);
    LANES_NAME(spin)(tau_psi, turn); /* (-(tau psi))^T */
    for (int i = 0; i < 9; i++) n_spin[i] *= length;
    LANES_NAME(times)(turn, n_spin, by_c);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            s[3 * i + k] = 0.5 * length * (n[i] * g[k] + g[i] * n[k]) - (i == k ? n_g : none);
    LANES_NAME(times)(turn, s, cs);
    LANES_NAME(times)(cs, turn, cc); /* turn s turn^T is less this, turn being skew */
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k, turned = 3 * k + i;
            d->es[at] += n_spin[turned];
            d->ec[at] += by_c[turned];
            d->ss[at] += s[at];
            d->sc[at] += cs[turned];
            d->cc[at] -= cc[at];
        }
}

/* Add the rest of E47, which comes from the midpoint and the chord of the two rotations. */
FLAT void LANES_NAME(add_chord)(const sp_panel_input *in, const rows *row, by_z *d)
{
    const sp_lanes8 *psi = in->psi, *m = in->force + 3, m_psi = DOT(m, psi), tau = in->chord_tau,
                    half = 0.5 * in->length * tau;
    sp_lanes8 f[3], f_psi[3], t[3], turn[9], cc[9];
    LANES_NAME(cross)(in->force, in->g, f);
    LANES_NAME(cross)(f, psi, f_psi);
    for (int i = 0; i < 3; i++) t[i] = DOT(row->jacobian + 3 * i, m);
    LANES_NAME(spin)(t, turn);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            d->sc[3 * i + k] += 0.5 * turn[3 * i + k] + half * f[i] * psi[k];
            cc[3 * i + k] = -half * tau * psi[i] * f_psi[k] -
                            in->chord_bent * m_psi * psi[i] * psi[k] + in->chord_b * psi[i] * m[k];
        }
    for (int i = 0; i < 3; i++) {
        d->sc[4 * i] -= half * DOT(f, psi);
        cc[4 * i] += in->chord_a * m_psi;
    }
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) d->cc[3 * i + k] += cc[3 * i + k] + cc[3 * k + i];
}

/* Set m = k R m R^T, which turns it into fixed axes. */
FLAT void LANES_NAME(into_fixed)(const sp_lanes8 axes[9], const sp_lanes8 *k, sp_lanes8 m[9])
{
    sp_lanes8 half[9];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            half[3 * i + j] = *k * (m[3 * i] * axes[3 * j] + m[3 * i + 1] * axes[3 * j + 1] +
                                    m[3 * i + 2] * axes[3 * j + 2]);
    LANES_NAME(times)(axes, half, m);
}

FLAT void LANES_NAME(turn_forces)(const sp_panel_input *in, const by_z *d, sp_lanes8 gradient[12])
{
    const sp_lanes8 inverse = 1 / in->length;
    for (int i = 0; i < 3; i++) {
        const sp_lanes8 *r = in->axes + 3 * i;
        const sp_lanes8 e = inverse * DOT(r, d->e), s = 0.5 * DOT(r, d->sigma), c = DOT(r, d->c);
        gradient[i] = -e, gradient[3 + i] = s - c;
        gradient[6 + i] = e, gradient[9 + i] = s + c;
    }
}

/* Put the blocks into the triangle of (uA wA uB wB), in fixed axes: e = R_m^T (uB - uA)/L, sigma =
 * R_m^T (wA + wB)/2, c = R_m^T (wB - wA). */
FLAT void LANES_NAME(turn_blocks)(const sp_panel_input *in, by_z *d,
                                  sp_lanes8 out[SP_PANEL_TRIANGLE])
{
    const sp_lanes8 inverse = 1 / in->length, half = 0.5 * inverse, square = inverse * inverse;
    const sp_lanes8 quarter = 0.25 + none, two = 0.5 + none, one = 1 + none;
    LANES_NAME(into_fixed)(in->axes, &square, d->ee);
    LANES_NAME(into_fixed)(in->axes, &half, d->es);
    LANES_NAME(into_fixed)(in->axes, &inverse, d->ec);
    LANES_NAME(into_fixed)(in->axes, &quarter, d->ss);
    LANES_NAME(into_fixed)(in->axes, &two, d->sc);
    LANES_NAME(into_fixed)(in->axes, &one, d->cc);
#define PLACE(row, column) ((row) * ((row) + 1) / 2 + (column))
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k, turned = 3 * k + i;
            const sp_lanes8 ee = d->ee[at], minus = d->es[turned] - d->ec[turned],
                            plus = d->es[turned] + d->ec[turned];
            const sp_lanes8 even = d->ss[at] + d->cc[at], odd = d->ss[at] - d->cc[at],
                            mixed = d->sc[at] + d->sc[turned], skew = d->sc[turned] - d->sc[at];
            if (k <= i) {
                out[PLACE(i, k)] = out[PLACE(6 + i, 6 + k)] = ee;
                out[PLACE(3 + i, 3 + k)] = even - mixed;
                out[PLACE(9 + i, 9 + k)] = even + mixed;
            }
            out[PLACE(6 + i, k)] = -ee;                       /* uB uA */
            out[PLACE(3 + i, k)] = -minus;                    /* wA uA */
            out[PLACE(6 + i, 3 + k)] = d->es[at] - d->ec[at]; /* uB wA */
            out[PLACE(9 + i, k)] = -plus;                     /* wB uA */
            out[PLACE(9 + i, 6 + k)] = plus;                  /* wB uB */
            out[PLACE(9 + i, 3 + k)] = odd + skew;            /* wB wA */
        }
#undef PLACE
}

LANES_TARGET static void LANES_NAME(panel_eval)(const sp_panel_input *in, sp_panel_output *out)
{
    rows row;
    by_z d;
    LANES_NAME(find_rows)(in, &row);
    LANES_NAME(set_forces)(in, &row, &d);
    LANES_NAME(set_material)(in, &row, &d);
    LANES_NAME(add_turn)(in, &d);
    LANES_NAME(add_chord)(in, &row, &d);
    LANES_NAME(turn_forces)(in, &d, out->gradient);
    LANES_NAME(turn_blocks)(in, &d, out->hessian);
}
