/* Spatial strut element. Everything is set up in the axes of the midpoint rotation R_m:
 *   psi = log(R_A^T R_B), g = R_m^T (pB - pA)/L; n, m the forces and moments to (G, K)
 *   z = (e, sigma, c): e = R_m^T (uB - uA)/L, sigma = (wA + wB)/2, c = wB - wA, spins in the axes
 * of R_m Blocks are named by their two letters: se = rows sigma, columns e. (v) as a matrix: (v) w
 * = v x w. */
#include "beam/linear_part.h"
#include "beam/spatial.h"

#include <string.h>

#include "base/so3.h"
#include "section/spread.h"

typedef struct place { /* of the ends, before strains */
    double arm[2][3];  /* turned arms */
    int armed[2];      /* 0: the arm is zero */
    double p[2][3];
    double middle[4];
    double axes[9]; /* matrix of R_m */
    double psi[3], g[3];
} place;

/* ee, ss and cc are symmetric: all nine entries are kept. */
typedef struct blocks {
    double ee[9], se[9], ce[9], ss[9], sc[9], cc[9];
} blocks;

/* --- 3 x 3 matrices, row-major; a few hundred products per element, so all of it is inlined --- */

#define FLAT static inline __attribute__((always_inline))

/* Lower triangle to the upper one, so that both are equal to the last digit. */
FLAT void mirror(double a[9])
{
    a[1] = a[3];
    a[2] = a[6];
    a[5] = a[7];
}

/* sum += scale (a b^T + b a^T), lower triangle */
FLAT void add_both(double scale, const double a[3], const double b[3], double sum[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k <= i; k++) sum[3 * i + k] += scale * (a[i] * b[k] + b[i] * a[k]);
}

FLAT void add_unit(double scale, double sum[9])
{
    sum[0] += scale;
    sum[4] += scale;
    sum[8] += scale;
}

FLAT void spin(const double v[3], double out[9])
{
    out[0] = out[4] = out[8] = 0;
    out[1] = -v[2], out[2] = v[1], out[5] = -v[0];
    out[3] = v[2], out[6] = -v[1], out[7] = v[0];
}

FLAT void turn(const double m[9], const double v[3], double out[3])
{
    for (int i = 0; i < 3; i++) out[i] = sp_dot(m + 3 * i, v);
}

/* out = (v) a: the cross product with every column */
FLAT void cross_columns(const double v[3], const double a[9], double out[9])
{
    for (int k = 0; k < 3; k++) {
        out[k] = v[1] * a[6 + k] - v[2] * a[3 + k];
        out[3 + k] = v[2] * a[k] - v[0] * a[6 + k];
        out[6 + k] = v[0] * a[3 + k] - v[1] * a[k];
    }
}

/* out = a (v)^T: the cross product with every row */
FLAT void cross_rows(const double v[3], const double a[9], double out[9])
{
    for (int i = 0; i < 3; i++) sp_cross(v, a + 3 * i, out + 3 * i);
}

FLAT void times(const double a[9], const double b[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[3 * i] * b[k] + a[3 * i + 1] * b[3 + k] + a[3 * i + 2] * b[6 + k];
}

/* m b m^T in place */
FLAT void turn_block(const double m[9], double b[9])
{
    double half[9];
    times(m, b, half);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) b[3 * i + k] = sp_dot(half + 3 * i, m + 3 * k);
}

/* The same of a symmetric one. */
FLAT void turn_symmetric(const double m[9], double b[9])
{
    double half[9];
    times(m, b, half);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k <= i; k++) b[3 * i + k] = sp_dot(half + 3 * i, m + 3 * k);
    mirror(b);
}

/* --- strains --- */

static void find_place(const sp_spatial_element *e, const double *xa, const double *xb, place *w)
{
    double frame[2][4], relative[4];
    const double *x[2] = {xa, xb};
    for (int end = 0; end < 2; end++) {
        const double *arm = e->arm[end];
        memcpy(w->p[end], x[end], sizeof w->p[end]);
        w->armed[end] = arm[0] != 0 || arm[1] != 0 || arm[2] != 0;
        if (w->armed[end]) {
            double turned[9];
            sp_so3_matrix(x[end] + 3, turned);
            turn(turned, arm, w->arm[end]);
            for (int i = 0; i < 3; i++) w->p[end][i] += w->arm[end][i];
        }
        sp_so3_multiply(x[end] + 3, e->frame, frame[end]);
    }
    sp_so3_between(frame[0], frame[1], relative);
    sp_so3_log(relative, w->psi);
    sp_so3_middle(frame[0], frame[1], w->middle);
    sp_so3_matrix(w->middle, w->axes);
    const double inv = 1 / e->length;
    for (int k = 0; k < 3; k++) {
        w->g[k] = 0;
        for (int i = 0; i < 3; i++) w->g[k] += w->axes[3 * i + k] * (w->p[1][i] - w->p[0][i]) * inv;
    }
}

static sp_spatial_strain strains_of(const sp_spatial_element *e, const place *w)
{
    sp_spatial_strain s;
    for (int i = 0; i < 3; i++) {
        s.g[i] = w->g[i];
        s.k[i] = w->psi[i] / e->length - e->curvature[i];
    }
    return s;
}

sp_spatial_strain sp_spatial_strains(const sp_spatial_element *element, const double *xa,
                                     const double *xb)
{
    place w;
    find_place(element, xa, xb, &w);
    return strains_of(element, &w);
}

/* --- Hessian --- */

/* By e, in both parts of E46 and E47: G by (e, sigma, c) = (1, (g), by_c), K by c = J/L, dn/de = D
 * diagonal. */
FLAT void blocks_by_e(double l, const double d[3], const double n[3], const double by_c[9],
                      const place *w, double tau, blocks *h)
{
    double g_spin[9], n_spin[9];
    spin(w->g, g_spin);
    spin(n, n_spin);
    const double lt = l * tau, unit = lt * sp_dot(w->psi, n);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            h->ee[3 * i + k] = i == k ? l * d[i] : 0;
            h->se[3 * i + k] = l * (n_spin[3 * i + k] + g_spin[3 * k + i] * d[k]);
            h->ce[3 * i + k] = l * by_c[3 * k + i] * d[k] + lt * n[i] * w->psi[k];
        }
    add_unit(-unit, h->ce);
}

/* sum_j l d_j r_j r_j^T with the rows r_j of (g), and n.d2G: l ((n g^T + g n^T)/2 - n.g). `s`: the
 * latter less l. */
FLAT void block_ss(double l, const double d[3], const double g[3], const double s[9], double ss[9])
{
    ss[0] = l * (s[0] + d[1] * g[2] * g[2] + d[2] * g[1] * g[1]);
    ss[4] = l * (s[4] + d[0] * g[2] * g[2] + d[2] * g[0] * g[0]);
    ss[8] = l * (s[8] + d[0] * g[1] * g[1] + d[1] * g[0] * g[0]);
    ss[3] = l * (s[3] - d[2] * g[1] * g[0]);
    ss[6] = l * (s[6] - d[1] * g[2] * g[0]);
    ss[7] = l * (s[7] - d[0] * g[2] * g[1]);
    mirror(ss);
}

/* dn/dc = D by_c;   -l (g) dn/dc - l tau s (psi) + l tau (f psi^T - f.psi)/2 + (t)/2 */
FLAT void block_sc(double l, const double d[3], const double by_c[9], const double f[3],
                   const double t[3], const double s_psi[9], const place *w, double tau,
                   double sc[9])
{
    double n_by_c[9], moment[9], t_spin[9];
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) n_by_c[3 * i + k] = l * d[i] * by_c[3 * i + k];
    cross_columns(w->g, n_by_c, moment);
    spin(t, t_spin);
    const double lt = l * tau;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            sc[3 * i + k] = -moment[3 * i + k] - lt * s_psi[3 * i + k] +
                            0.5 * (lt * f[i] * w->psi[k] + t_spin[3 * i + k]);
    add_unit(-0.5 * lt * sp_dot(f, w->psi), sc);
}

/* l by_c^T D by_c + J kk J/l, and the second derivatives of E47. */
FLAT void block_cc(double l, const double d[3], const double kj[9], const double jacobian[9],
                   const double by_c[9], const double m[3], const double f_psi[3],
                   const double s_psi[9], const place *w, const sp_so3_chord *chord, double cc[9])
{
    const double *psi = w->psi, m_psi = sp_dot(m, psi), ltt = l * chord->tau * chord->tau;
    double psi_s_psi[9];
    cross_columns(psi, s_psi, psi_s_psi); /* (psi)^T = -(psi) */
    const double inv = 1 / l;
    for (int i = 0; i < 3; i++)
        for (int k = 0; k <= i; k++) {
            double material = 0, twist = 0;
            for (int j = 0; j < 3; j++) {
                material += d[j] * by_c[3 * j + i] * by_c[3 * j + k];
                twist += jacobian[3 * i + j] * kj[3 * j + k];
            }
            cc[3 * i + k] = l * material + inv * twist - ltt * psi_s_psi[3 * i + k] -
                            2 * chord->bent * m_psi * psi[i] * psi[k];
        }
    add_both(-0.5 * ltt, psi, f_psi, cc);
    add_both(chord->b, psi, m, cc);
    add_unit(2 * chord->a * m_psi, cc);
    mirror(cc);
}

/* What the element is made of, for the blocks. n, m: derivatives of the energy per length by (G,
 * K), with the bowing; `shear`, `bending`: second ones of what is quadratic, and of the bowing
 * times N; `by_g`, `by_k`: of the axial strain by (G, K). E92 */
typedef struct forces {
    double n[3], m[3], f[3], t[3], f_psi[3]; /* f = n x g, t = J m, f_psi = f x psi */
    double shear[2], bending[2][2];
    double twist, linear; /* stiffness of the twist; energy of both shears and the twist */
    double by_g[3], by_k[3];
    double jacobian[9];
} forces;

/* by z: a vector that stands at (G, K) */
FLAT void to_z(double l, const double by_g[3], const double by_k[3], const double by_c[9],
               const double jacobian[9], const place *w, double z[3][3])
{
    memcpy(z[0], by_g, 3 * sizeof *by_g);
    sp_cross(by_g, w->g, z[1]);
    for (int i = 0; i < 3; i++)
        z[2][i] = by_c[i] * by_g[0] + by_c[3 + i] * by_g[1] + by_c[6 + i] * by_g[2] +
                  sp_dot(jacobian + 3 * i, by_k) / l;
}

/* l (b q^T + q b^T) with b the derivatives of the axial strain and q those of N, less half of b's
 * share. E92 */
FLAT void add_axial(double l, const sp_spatial_resultants *r, const forces *a, const double by_c[9],
                    const place *w, blocks *h)
{
    double b[3][3], q[3][3], by_g[3], by_k[3];
    for (int i = 0; i < 3; i++) {
        by_g[i] = 0.5 * r->tangent[0][0] * a->by_g[i];
        by_k[i] = 0.5 * r->tangent[0][0] * a->by_k[i] + (i > 0 ? r->tangent[0][i] : 0);
    }
    to_z(l, a->by_g, a->by_k, by_c, a->jacobian, w, b);
    to_z(l, by_g, by_k, by_c, a->jacobian, w, q);
    double *const block[3][3] = {{h->ee, NULL, NULL}, {h->se, h->ss, h->sc}, {h->ce, NULL, h->cc}};
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            for (int row = 0; block[i][k] && row < 3; row++)
                for (int column = 0; column < 3; column++)
                    block[i][k][3 * row + column] +=
                        l * (b[i][row] * q[k][column] + q[i][row] * b[k][column]);
            if (block[i][k] && i == k) mirror(block[i][k]);
        }
}

/* Second derivative by z: B^T C B with B of E46, and n.d2G + m.d2K of E47. */
FLAT void find_blocks(const sp_spatial_element *e, const sp_spatial_resultants *r, const place *w,
                      const sp_so3_chord *chord, const forces *a, blocks *h)
{
    const double l = e->length, tau = chord->tau, *g = w->g, *psi = w->psi, *j = a->jacobian;
    const double d[3] = {0, a->shear[0], a->shear[1]}; /* that of N: add_axial */
    const double unit = tau * sp_dot(g, psi), n_g = sp_dot(a->n, g);
    double by_c[9], kj[9], s[9], s_psi[9];
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) {
            by_c[3 * i + k] = -tau * psi[i] * g[k]; /* -tau (g)(psi) */
            s[3 * i + k] = 0.5 * (a->n[i] * g[k] + g[i] * a->n[k]);
        }
        kj[i] = a->twist * j[i];
        kj[3 + i] = a->bending[0][0] * j[3 + i] + a->bending[0][1] * j[6 + i];
        kj[6 + i] = a->bending[1][0] * j[3 + i] + a->bending[1][1] * j[6 + i];
    }
    add_unit(unit, by_c);
    add_unit(-n_g, s);
    for (int i = 0; i < 3; i++) sp_cross(s + 3 * i, psi, s_psi + 3 * i); /* s (psi) */

    blocks_by_e(l, d, a->n, by_c, w, tau, h);
    block_ss(l, d, g, s, h->ss);
    block_sc(l, d, by_c, a->f, a->t, s_psi, w, tau, h->sc);
    block_cc(l, d, kj, j, by_c, a->m, a->f_psi, s_psi, w, chord, h->cc);
    add_axial(l, r, a, by_c, w, h);
}

/* From z to the unknowns (uA wA uB wB), in fixed axes. With signs -, + of the ends i, k:
 * displacements i, k have the block
 * +-u, spins i and displacements k +-p[i], spins i, k w[i + k] (w[1]: of B by A). */
typedef struct ends {
    double u[9], p[2][9], w[3][9];
} ends;

FLAT void find_ends(const place *w, double length, blocks *b, ends *h)
{
    const double inv = 1 / length, *m = w->axes;
    turn_symmetric(m, b->ee);
    for (int i = 0; i < 9; i++) h->u[i] = inv * inv * b->ee[i];
    turn_block(m, b->se);
    turn_block(m, b->ce);
    turn_block(m, b->sc);
    turn_symmetric(m, b->ss);
    turn_symmetric(m, b->cc);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k;
            const double se = 0.5 * inv * b->se[at], ce = inv * b->ce[at];
            const double even = 0.25 * b->ss[at], sc = 0.5 * b->sc[at], cs = 0.5 * b->sc[3 * k + i];
            h->p[0][at] = se - ce;
            h->p[1][at] = se + ce;
            h->w[0][at] = even - (sc + cs) + b->cc[at];
            h->w[1][at] = even - (sc - cs) - b->cc[at];
            h->w[2][at] = even + (sc + cs) + b->cc[at];
        }
}

/* sum += scale a, or its transpose */
FLAT void add(double scale, const double a[9], int transposed, double sum[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) sum[3 * i + k] += scale * a[transposed ? 3 * k + i : 3 * i + k];
}

/* p = x + R a: dp = u + w x r + w x (w x r)/2 with r = R a, at one end; spins to both sides of it.
 * E48 */
static void fold_arm(int end, const double r[3], double g[12], ends *h)
{
    const double sign = end ? 1 : -1, *force = g + 6 * end;
    double part[9], old[9], moment[3], *p = h->p[end], *own = h->w[2 * end];
    memcpy(old, p, sizeof old);
    cross_columns(r, h->u, part);
    add(sign, part, 0, p);
    cross_rows(r, p, part);
    add(sign, part, 0, own);
    cross_rows(r, old, part);
    add(sign, part, 1, own);
    cross_rows(r, h->p[1 - end], part);
    add(sign, part, end, h->w[1]);
    add_both(0.5, force, r, own);
    add_unit(-sp_dot(force, r), own);
    mirror(own);
    sp_cross(r, force, moment);
    for (int i = 0; i < 3; i++) g[6 * end + 3 + i] += moment[i];
}

static void put_ends(const ends *b, double h[144])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k, across = 3 * k + i;
            double *one = h + 12 * i + k; /* rows: uA wA uB wB, every 3 */
            one[0] = one[12 * 6 + 6] = b->u[at];
            one[6] = one[12 * 6] = -b->u[at];
            one[3] = -b->p[0][across];
            one[9] = -b->p[1][across];
            one[12 * 6 + 3] = b->p[0][across];
            one[12 * 6 + 9] = b->p[1][across];
            one[12 * 3] = -b->p[0][at];
            one[12 * 3 + 6] = b->p[0][at];
            one[12 * 9] = -b->p[1][at];
            one[12 * 9 + 6] = b->p[1][at];
            one[12 * 3 + 3] = b->w[0][at];
            one[12 * 3 + 9] = b->w[1][across];
            one[12 * 9 + 3] = b->w[1][at];
            one[12 * 9 + 9] = b->w[2][at];
        }
}

static void gradient_of(const place *w, double length, const forces *a, double tau, double g[12])
{
    double by_s[3], by_c[3], force[3], sum[3], difference[3];
    for (int i = 0; i < 3; i++) {
        by_s[i] = 0.5 * length * a->f[i];
        by_c[i] = a->t[i] - length * tau * a->f_psi[i];
    }
    turn(w->axes, a->n, force);
    turn(w->axes, by_s, sum);
    turn(w->axes, by_c, difference);
    for (int i = 0; i < 3; i++) {
        g[i] = -force[i];
        g[6 + i] = force[i];
        g[3 + i] = sum[i] - difference[i];
        g[9 + i] = sum[i] + difference[i];
    }
}

/* Share of bending in the flexibility of E5, squared, times 6/5: what the chord loses by G2, G3. */
static double bowing_by_shear(const sp_spatial_element *e, const sp_spatial_section *section,
                              int axis)
{
    const double whole = section->shear_stiffness[axis];
    const double bent = whole > 0 ? 1 - e->shear[axis] / whole : 0;
    return 1.2 * bent * bent;
}

/* Strains of the fibres (e, k2, k3), and the derivatives of the axial one by (G, K): E92 */
static void bow(const sp_spatial_element *e, const sp_spatial_section *section,
                const sp_spatial_strain *z, double strain[3], forces *a)
{
    strain[0] = z->g[0] - 1;
    a->by_g[0] = 1;
    a->by_k[0] = 0;
    for (int i = 1; i < 3; i++) {
        const double bend = e->length * e->length / 12;
        a->by_g[i] = bowing_by_shear(e, section, i - 1) * z->g[i];
        a->by_k[i] = bend * z->k[i];
        strain[0] += 0.5 * (a->by_g[i] * z->g[i] + a->by_k[i] * z->k[i]);
        strain[i] = z->k[i];
    }
}

double sp_spatial_chord(const sp_spatial_element *element, const sp_spatial_section *section,
                        const sp_beam_state *state)
{
    const double bend = element->length * element->length / 12;
    double bowing = 0;
    for (int i = 0; i < 2; i++)
        bowing += bowing_by_shear(element, section, i) * state->shear[i] * state->shear[i] +
                  bend * state->curvature[i] * state->curvature[i];
    return sp_spread_chord(section->spread, state->eps) - 0.5 * bowing;
}

/* n, m and the second derivatives beside those of N. */
static void find_forces(const sp_spatial_element *e, const sp_spatial_section *section,
                        const sp_spatial_strain *z, const sp_spatial_resultants *r,
                        const double *history, forces *a)
{
    const double force = r->force[0], bend = e->length * e->length / 12 * force;
    const double strain[3] = {z->g[1], z->g[2], z->k[0]};
    sp_law_scalar part[3];
    for (int i = 0; i < 3; i++)
        part[i] =
            sp_linear_part(section->law, section->points, i, i < 2 ? 1 : sp_twist_radius(section),
                           i < 2 ? e->shear[i] : section->torsion_stiffness, strain[i], history);
    a->n[0] = force;
    a->m[0] = part[2].force;
    a->twist = part[2].slope;
    a->linear = part[0].energy + part[1].energy + part[2].energy;
    for (int i = 0; i < 2; i++) {
        a->n[1 + i] = part[i].force + force * a->by_g[1 + i];
        a->m[1 + i] = r->force[1 + i] + force * a->by_k[1 + i];
        a->shear[i] = part[i].slope + force * bowing_by_shear(e, section, i);
        for (int k = 0; k < 2; k++)
            a->bending[i][k] = r->tangent[1 + i][1 + k] + (i == k ? bend : 0);
    }
}

double sp_spatial_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                       const double *xa, const double *xb, const double *history,
                       double gradient[12], double hessian[144], sp_beam_state *state)
{
    place w;
    sp_spatial_resultants r;
    forces a;
    double strain[3];
    find_place(element, xa, xb, &w);
    const sp_spatial_strain z = strains_of(element, &w);
    bow(element, section, &z, strain, &a);
    sp_spread_strain fibre;
    if (!sp_spread_eval(section->spread, strain[0], &fibre)) return INFINITY;
    strain[0] = fibre.eps;
    sp_spatial_section_eval(section, strain, history, &r);
    if (!(r.energy < INFINITY)) return INFINITY;
    r.tangent[0][0] = fibre.slope * fibre.slope * r.tangent[0][0] + fibre.bend * r.force[0];
    for (int i = 1; i < 3; i++) r.tangent[0][i] *= fibre.slope;
    r.force[0] *= fibre.slope;
    *state = (sp_beam_state){r.force[0], strain[0], {z.k[1], z.k[2]}, {z.g[1], z.g[2], z.k[0]}};

    const double l = element->length;
    const sp_so3_chord chord = sp_so3_chord_of(w.psi);
    find_forces(element, section, &z, &r, history, &a);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            a.jacobian[3 * i + k] = (i == k ? chord.s : 0) + chord.j * w.psi[i] * w.psi[k];
    sp_cross(a.n, w.g, a.f);
    turn(a.jacobian, a.m, a.t);
    sp_cross(a.f, w.psi, a.f_psi);

    blocks b;
    ends h;
    gradient_of(&w, l, &a, chord.tau, gradient);
    find_blocks(element, &r, &w, &chord, &a, &b);
    find_ends(&w, l, &b, &h);
    for (int end = 0; end < 2; end++)
        if (w.armed[end]) fold_arm(end, w.arm[end], gradient, &h);
    put_ends(&h, hessian);
    return l * (r.energy + a.linear);
}

void sp_spatial_move(const double step[6], double *x)
{
    for (int i = 0; i < 3; i++) x[i] += step[i];
    sp_so3_turn(step + 3, x + 3);
}

double sp_spatial_bending(const sp_spatial_element *element, const sp_spatial_section *section,
                          const double *xa, const double *xb, const sp_beam_state *state,
                          const double *history, const double spin_a[3], const double spin_b[3])
{
    place w;
    sp_spatial_resultants r;
    double k[3] = {0};
    find_place(element, xa, xb, &w);
    sp_spatial_section_eval(
        section, (double[3]){state->eps, state->curvature[0], state->curvature[1]}, history, &r);
    for (int i = 0; i < 3; i++)
        for (int d = 0; d < 3; d++)
            k[i] += w.axes[3 * d + i] * (spin_b[d] - spin_a[d]) / element->length;
    return element->length *
           (section->torsion_stiffness * k[0] * k[0] + r.tangent[1][1] * k[1] * k[1] +
            2 * r.tangent[1][2] * k[1] * k[2] + r.tangent[2][2] * k[2] * k[2]);
}
