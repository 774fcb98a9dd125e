/* Spatial strut element. Everything is set up in the axes of the midpoint rotation R_m:
 *   psi = log(R_A^T R_B), g = R_m^T (pB - pA)/L; n, m the forces and moments to (G, K)
 *   z = (e, sigma, c): e = R_m^T (uB - uA)/L, sigma = (wA + wB)/2, c = wB - wA, spins in the axes of R_m
 * Blocks are named by their two letters: se = rows sigma, columns e. (v) as a matrix: (v) w = v x w. */
#include "beam/spatial.h"

#include <string.h>

#include "base/so3.h"

typedef struct place { /* of the ends, before strains */
    double arm[2][3];  /* turned arms */
    double p[2][3];
    double middle[4];
    double axes[9]; /* matrix of R_m */
    double psi[3], g[3];
} place;

typedef struct blocks {
    double ee[9], se[9], ce[9], ss[9], sc[9], cc[9];
} blocks;

/* --- 3 x 3 matrices, row-major --- */

static void times(const double a[9], const double b[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[3 * i] * b[k] + a[3 * i + 1] * b[3 + k] + a[3 * i + 2] * b[6 + k];
}

static void add_transposed_times(double scale, const double a[9], const double b[9], double sum[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            sum[3 * i + k] += scale * (a[i] * b[k] + a[3 + i] * b[3 + k] + a[6 + i] * b[6 + k]);
}

static void add(double scale, const double a[9], double sum[9])
{
    for (int i = 0; i < 9; i++) sum[i] += scale * a[i];
}

static void add_pair(double scale, const double a[3], const double b[3], double sum[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) sum[3 * i + k] += scale * a[i] * b[k];
}

static void add_unit(double scale, double sum[9])
{
    sum[0] += scale;
    sum[4] += scale;
    sum[8] += scale;
}

static void spin(const double v[3], double out[9])
{
    const double m[9] = {0, -v[2], v[1], v[2], 0, -v[0], -v[1], v[0], 0};
    memcpy(out, m, sizeof m);
}

/* (a)(b) = b a^T - a.b 1 */
static void add_spin_spin(double scale, const double a[3], const double b[3], double sum[9])
{
    add_pair(scale, b, a, sum);
    add_unit(-scale * sp_dot(a, b), sum);
}

static void turn(const double m[9], const double v[3], double out[3])
{
    for (int i = 0; i < 3; i++) out[i] = sp_dot(m + 3 * i, v);
}

/* m b m^T in place */
static void turn_block(const double m[9], double b[9])
{
    double half[9];
    times(m, b, half);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) b[3 * i + k] = sp_dot(half + 3 * i, m + 3 * k);
}

/* --- strains --- */

static void find_place(const sp_spatial_element *e, const double *xa, const double *xb, place *w)
{
    double frame[2][4], relative[4];
    const double *x[2] = {xa, xb};
    for (int end = 0; end < 2; end++) {
        double turned[9];
        sp_so3_matrix(x[end] + 3, turned);
        turn(turned, e->arm[end], w->arm[end]);
        for (int i = 0; i < 3; i++) w->p[end][i] = x[end][i] + w->arm[end][i];
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

/* B^T C B, with B of E46: G by (e, sigma, c) = (1, (g), -tau (g)(psi)), K by c = J/L. */
static void material_part(const sp_spatial_element *e, const sp_spatial_section *section,
                          const sp_spatial_resultants *r, const place *w, const sp_so3_chord *chord,
                          const double jacobian[9], blocks *h)
{
    const double l = e->length;
    const double gg[9] = {r->tangent[0][0], 0, 0, 0, e->shear[0], 0, 0, 0, e->shear[1]};
    const double gk[9] = {0, r->tangent[0][1], r->tangent[0][2], 0, 0, 0, 0, 0, 0};
    const double kk[9] = {section->torsion_stiffness,
                          0,
                          0,
                          0,
                          r->tangent[1][1],
                          r->tangent[1][2],
                          0,
                          r->tangent[2][1],
                          r->tangent[2][2]};
    double by_s[9], by_c[9] = {0}, twist[9], g_by_s[9], g_by_c[9], k_by_c[9], part[9];
    spin(w->g, by_s);
    add_spin_spin(-chord->tau, w->g, w->psi, by_c);
    for (int i = 0; i < 9; i++) twist[i] = jacobian[i] / l;

    times(gg, by_s, g_by_s); /* dn/dsigma, dn/dc, dm/dc */
    times(gg, by_c, g_by_c);
    times(gk, twist, part);
    add(1, part, g_by_c);
    times(kk, twist, k_by_c);
    add_transposed_times(1, gk, by_c, k_by_c);

    add(l, gg, h->ee);
    add_transposed_times(l, by_s, gg, h->se);
    add_transposed_times(l, by_c, gg, h->ce);
    add_transposed_times(l, twist,
                         (double[9]){gk[0], gk[3], gk[6], gk[1], gk[4], gk[7], gk[2], gk[5], gk[8]},
                         h->ce);
    add_transposed_times(l, by_s, g_by_s, h->ss);
    add_transposed_times(l, by_s, g_by_c, h->sc);
    add_transposed_times(l, by_c, g_by_c, h->cc);
    add_transposed_times(l, twist, k_by_c, h->cc);
}

/* n.d2G + m.d2K. f = n x g, t = J m. E47 */
static void geometric_part(double l, const double n[3], const double m[3], const double f[3],
                           const double t[3], const place *w, const sp_so3_chord *chord, blocks *h)
{
    const double *psi = w->psi, tau = chord->tau, m_psi = sp_dot(m, psi);
    double n_spin[9], psi_spin[9], t_spin[9], s[9] = {0}, s_psi[9], f_psi[3];
    spin(n, n_spin);
    spin(psi, psi_spin);
    spin(t, t_spin);
    sp_cross(f, psi, f_psi);
    add_pair(0.5, n, w->g, s);
    add_pair(0.5, w->g, n, s);
    add_unit(-sp_dot(n, w->g), s);
    times(s, psi_spin, s_psi);

    add(l, n_spin, h->se);
    add_spin_spin(l * tau, psi, n, h->ce);
    add(l, s, h->ss);
    add(-l * tau, s_psi, h->sc);
    add_pair(0.5 * l * tau, f, psi, h->sc);
    add_unit(-0.5 * l * tau * sp_dot(f, psi), h->sc);
    add(0.5, t_spin, h->sc);
    add_transposed_times(l * tau * tau, psi_spin, s_psi, h->cc); /* (psi)^T = -(psi) */
    add_pair(-0.5 * l * tau * tau, psi, f_psi, h->cc);
    add_pair(-0.5 * l * tau * tau, f_psi, psi, h->cc);
    add_unit(2 * chord->a * m_psi, h->cc);
    add_pair(-2 * chord->bent * m_psi, psi, psi, h->cc);
    add_pair(chord->b, psi, m, h->cc);
    add_pair(chord->b, m, psi, h->cc);
}

static void put(double *h, int row, int column, double scale, const double b[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) h[12 * (row + i) + column + k] += scale * b[3 * i + k];
}

static void put_transposed(double *h, int row, int column, double scale, const double b[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) h[12 * (row + i) + column + k] += scale * b[3 * k + i];
}

/* From z to the unknowns (uA wA uB wB); blocks already in fixed axes. Lower triangle of blocks and more. */
static void spread(const blocks *b, double length, double h[144])
{
    const double inv = 1 / length;
    memset(h, 0, 144 * sizeof *h);
    for (int i = 0; i < 2; i++)
        for (int k = 0; k < 2; k++) {
            const double si = i ? 1 : -1, sk = k ? 1 : -1;
            const int u = 6 * i, v = 6 * k; /* displacements of ends i and k; spins 3 further */
            put(h, u, v, si * sk * inv * inv, b->ee);
            put(h, u + 3, v, 0.5 * sk * inv, b->se);
            put(h, u + 3, v, si * sk * inv, b->ce);
            put_transposed(h, v, u + 3, 0.5 * sk * inv, b->se);
            put_transposed(h, v, u + 3, si * sk * inv, b->ce);
            put(h, u + 3, v + 3, 0.25, b->ss);
            put(h, u + 3, v + 3, 0.5 * sk, b->sc);
            put_transposed(h, u + 3, v + 3, 0.5 * si, b->sc);
            put(h, u + 3, v + 3, si * sk, b->cc);
        }
}

/* p = x + R a: dp = u + w x r + w x (w x r)/2 with r = R a. E48 */
static void fold_arm(int end, const double r[3], double g[12], double h[144])
{
    const int u = 6 * end, w = u + 3;
    double moment[3], bend[9] = {0};
    for (int k = 0; k < 12; k++) {
        const double force[3] = {h[12 * u + k], h[12 * (u + 1) + k], h[12 * (u + 2) + k]};
        sp_cross(r, force, moment);
        for (int i = 0; i < 3; i++) h[12 * (w + i) + k] += moment[i];
    }
    for (int k = 0; k < 12; k++) {
        double *row = h + 12 * k;
        sp_cross(r, row + u, moment);
        for (int i = 0; i < 3; i++) row[w + i] += moment[i];
    }
    add_pair(0.5, g + u, r, bend);
    add_pair(0.5, r, g + u, bend);
    add_unit(-sp_dot(g + u, r), bend);
    put(h, w, w, 1, bend);
    sp_cross(r, g + u, moment);
    for (int i = 0; i < 3; i++) g[w + i] += moment[i];
}

/* Equal to the last digit on both sides of the diagonal. */
static void mirror(double h[144])
{
    for (int i = 0; i < 12; i++)
        for (int k = 0; k < i; k++) h[12 * k + i] = h[12 * i + k];
}

static void gradient_of(const place *w, double length, const double n[3], const double f[3],
                        const double t[3], double tau, double g[12])
{
    double f_psi[3], by_s[3], by_c[3], force[3], sum[3], difference[3];
    sp_cross(f, w->psi, f_psi);
    for (int i = 0; i < 3; i++) {
        by_s[i] = 0.5 * length * f[i];
        by_c[i] = t[i] - length * tau * f_psi[i];
    }
    turn(w->axes, n, force);
    turn(w->axes, by_s, sum);
    turn(w->axes, by_c, difference);
    for (int i = 0; i < 3; i++) {
        g[i] = -force[i];
        g[6 + i] = force[i];
        g[3 + i] = sum[i] - difference[i];
        g[9 + i] = sum[i] + difference[i];
    }
}

double sp_spatial_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                       const double *xa, const double *xb, double gradient[12], double hessian[144],
                       sp_beam_state *state)
{
    place w;
    sp_spatial_resultants r;
    find_place(element, xa, xb, &w);
    const sp_spatial_strain z = strains_of(element, &w);
    sp_spatial_section_eval(section, (double[3]){z.g[0] - 1, z.k[1], z.k[2]}, &r);
    if (!(r.energy < INFINITY)) return INFINITY;
    *state = (sp_beam_state){r.force[0], z.g[0] - 1, {z.k[1], z.k[2]}};

    const double l = element->length, twist = section->torsion_stiffness * z.k[0];
    const double n[3] = {r.force[0], element->shear[0] * z.g[1], element->shear[1] * z.g[2]};
    const double m[3] = {twist, r.force[1], r.force[2]};
    const sp_so3_chord chord = sp_so3_chord_of(w.psi);
    double jacobian[9] = {0}, f[3], t[3];
    add_unit(chord.s, jacobian);
    add_pair(chord.j, w.psi, w.psi, jacobian);
    sp_cross(n, w.g, f);
    turn(jacobian, m, t);

    gradient_of(&w, l, n, f, t, chord.tau, gradient);
    blocks b = {0};
    material_part(element, section, &r, &w, &chord, jacobian, &b);
    geometric_part(l, n, m, f, t, &w, &chord, &b);
    double *block[] = {b.ee, b.se, b.ce, b.ss, b.sc, b.cc};
    for (int i = 0; i < 6; i++) turn_block(w.axes, block[i]);
    spread(&b, l, hessian);
    for (int end = 0; end < 2; end++)
        if (sp_dot(w.arm[end], w.arm[end]) > 0) fold_arm(end, w.arm[end], gradient, hessian);
    mirror(hessian);
    return l * (r.energy + 0.5 * (n[1] * z.g[1] + n[2] * z.g[2] + twist * z.k[0]));
}

void sp_spatial_move(const double step[6], double *x)
{
    for (int i = 0; i < 3; i++) x[i] += step[i];
    sp_so3_turn(step + 3, x + 3);
}

double sp_spatial_bending(const sp_spatial_element *element, const sp_spatial_section *section,
                          const double *xa, const double *xb, const sp_beam_state *state,
                          const double spin_a[3], const double spin_b[3])
{
    place w;
    sp_spatial_resultants r;
    double k[3] = {0};
    find_place(element, xa, xb, &w);
    sp_spatial_section_eval(section,
                            (double[3]){state->eps, state->curvature[0], state->curvature[1]}, &r);
    for (int i = 0; i < 3; i++)
        for (int d = 0; d < 3; d++)
            k[i] += w.axes[3 * d + i] * (spin_b[d] - spin_a[d]) / element->length;
    return element->length *
           (section->torsion_stiffness * k[0] * k[0] + r.tangent[1][1] * k[1] * k[1] +
            2 * r.tangent[1][2] * k[1] * k[2] + r.tangent[2][2] * k[2] * k[2]);
}
