/* The letters psi, g, n, m and z = (e, sigma, c) mean what they mean in spatial.c; spins are in the
 * axes of the midpoint rotation R_m. The 9 x 9 second derivative by z is kept as blocks of 3 x 3.
 * The part that comes from the strains is found first, then the part that comes from the geometry
 * (E47). */
#include "beam/panel.h"

#include <math.h>
#include <string.h>

#include "base/so3.h"
#include "beam/linear_part.h"

/* This is the factor s of the barrier: a bar that has turned over holds this share of its axial
 * stiffness as energy. */
static const double turn_over_share = 1.0;

typedef struct kinematics {
    double axes[9]; /* matrix of R_m */
    double psi[3];
    sp_so3_chord chord;
    double jacobian[9]; /* J of E42 */
    double g[3], k[3];
} kinematics;

/* This is the energy per length with its derivatives by the strains (G1 G2 G3 K1 K2 K3). */
typedef struct strained {
    double energy, force[6], tangent[6][6];
    double eps, axial;
} strained;

/* Find the chord of two rotations, up to a whole turn. A bar is some thicknesses long and may be
 * folded by more than half a turn; the sign of the quaternions, which nodes keep as they turn,
 * tells which way the bar was turned. */
static void find_chord(const double relative[4], double psi[3])
{
    if (relative[0] >= 0) {
        sp_so3_log(relative, psi);
        return;
    }
    const double sine = sqrt(sp_dot(relative + 1, relative + 1));
    for (int i = 0; i < 3; i++) psi[i] = 2 * atan2(sine, relative[0]) / sine * relative[1 + i];
}

static void find_kinematics(const sp_spatial_element *e, const double *xa, const double *xb,
                            kinematics *q)
{
    double a[4], b[4], relative[4], middle[4];
    sp_so3_multiply(xa + 3, e->frame, a);
    sp_so3_multiply(xb + 3, e->frame, b);
    sp_so3_between(a, b, relative);
    find_chord(relative, q->psi);
    for (int i = 0; i < 4; i++) middle[i] = a[i] + b[i];
    for (int i = 0; i < 4; i++) middle[i] /= 2 * cos(0.25 * sqrt(sp_dot(q->psi, q->psi)));
    sp_so3_matrix(middle, q->axes);
    q->chord = sp_so3_chord_of(q->psi);
    for (int i = 0; i < 3; i++) {
        q->g[i] = 0;
        for (int d = 0; d < 3; d++) q->g[i] += q->axes[3 * d + i] * (xb[d] - xa[d]) / e->length;
        q->k[i] = q->psi[i] / e->length - e->curvature[i];
        for (int k = 0; k < 3; k++)
            q->jacobian[3 * i + k] = (i == k ? q->chord.s : 0) + q->chord.j * q->psi[i] * q->psi[k];
    }
}

/* Add the barrier h that keeps bars from turning over, with its first and second derivatives by G.
 * E105 */
static void add_barrier(double stiffness, const double g[3], double chord, strained *s)
{
    const double inv = 1 / chord, inv3 = inv * inv * inv, h = 1 - g[0] * inv;
    double by[3];
    for (int i = 0; i < 3; i++) by[i] = -(i == 0) * inv + g[0] * g[i] * inv3;
    s->energy += stiffness * h * h;
    for (int i = 0; i < 3; i++) {
        s->force[i] += 2 * stiffness * h * by[i];
        for (int k = 0; k < 3; k++) {
            const double second = ((i == 0) * g[k] + (k == 0) * g[i]) * inv3 +
                                  g[0] * ((i == k) * inv3 - 3 * g[i] * g[k] * inv3 * inv * inv);
            s->tangent[i][k] += 2 * stiffness * (by[i] * by[k] + h * second);
        }
    }
}

/* Find the axial strain, including what bowing adds to it, and the forces of the section at that
 * strain. E103, E104 */
static int strain(const sp_spatial_element *e, const sp_spatial_section *section,
                  const kinematics *q, const double *history, strained *s)
{
    const double l = e->length, *g = q->g, k3 = q->k[2], chord = sqrt(sp_dot(g, g));
    const double phi = e->shear[0] * l * l / (12 * section->bending_stiffness[1]);
    const int is_bar = section->shape == SP_SHAPE_PANEL;
    const double bowed = phi * phi / 5, curved = is_bar ? l * l / 12 : 0;
    double by[3] = {g[0] / chord, g[1] / chord + bowed * g[1], g[2] / chord};
    const double by_k = curved * k3;
    sp_spatial_resultants r;
    memset(s, 0, sizeof *s);
    s->eps = chord - 1 + 0.5 * bowed * g[1] * g[1] + 0.5 * curved * k3 * k3;
    sp_spatial_section_eval(section, (double[3]){s->eps, 0, k3}, history, &r);
    if (!(r.energy < INFINITY)) return 0;
    const double n = s->axial = r.force[0], nn = r.tangent[0][0], nk = r.tangent[0][2];
    const sp_law *law = section->law;
    const int points = section->points;
    const sp_law_scalar part[3] = {sp_linear_part(law, points, 0, 1, e->shear[0], g[1], history),
                                   sp_linear_part(law, points, 1, 1, e->shear[1], g[2], history),
                                   sp_linear_part(law, points, 2, sp_twist_radius(section),
                                                  section->torsion_stiffness, q->k[0], history)};
    const double held[3] = {0, part[0].force, part[1].force};
    const double diagonal[3] = {0, part[0].slope, part[1].slope};
    s->energy = r.energy + part[0].energy + part[1].energy + part[2].energy;
    for (int i = 0; i < 3; i++) {
        s->force[i] = n * by[i] + held[i];
        for (int k = 0; k < 3; k++)
            s->tangent[i][k] = nn * by[i] * by[k] - n * g[i] * g[k] / (chord * chord * chord);
        s->tangent[i][i] += n / chord + diagonal[i];
        s->tangent[i][5] = s->tangent[5][i] = by[i] * (nn * by_k + nk);
    }
    s->tangent[1][1] += n * bowed;
    s->force[3] = part[2].force;
    s->tangent[3][3] = part[2].slope;
    s->force[5] = r.force[2] + n * by_k;
    s->tangent[5][5] = nn * by_k * by_k + 2 * nk * by_k + r.tangent[2][2] + n * curved;
    s->energy += 0.5 * section->bending_stiffness[0] * q->k[1] * q->k[1];
    s->force[4] = section->bending_stiffness[0] * q->k[1];
    s->tangent[4][4] = section->bending_stiffness[0];
    if (is_bar) add_barrier(turn_over_share * section->axial_stiffness, g, chord, s);
    return 1;
}

/* Set out = (a), the matrix for which (a) b = a x b. */
static void spin_of(const double a[3], double out[9])
{
    out[0] = out[4] = out[8] = 0;
    out[1] = -a[2], out[2] = a[1], out[5] = -a[0];
    out[3] = a[2], out[6] = -a[1], out[7] = a[0];
}

/* Set out = a b, all of them 3 x 3. */
static inline void times(const double a[9], const double b[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[3 * i] * b[k] + a[3 * i + 1] * b[3 + k] + a[3 * i + 2] * b[6 + k];
}

/* Set out = a^T b, all of them 3 x 3. */
static inline void times_turned(const double a[9], const double b[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            out[3 * i + k] = a[i] * b[k] + a[3 + i] * b[3 + k] + a[6 + i] * b[6 + k];
}

/* Find how the strains follow z: dG = e + g x sigma + T c with T = tau ((g.psi) 1 - psi g^T), which
 * is g x (-tau psi x c), and dK = J c/L. E46 */
typedef struct rows {
    double by_sigma[9], by_c[9], k_by_c[9];
} rows;

static void find_rows(const kinematics *q, double length, rows *row)
{
    const double tau = q->chord.tau, along = tau * sp_dot(q->g, q->psi);
    spin_of(q->g, row->by_sigma);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            row->by_c[3 * i + k] = (i == k ? along : 0) - tau * q->psi[i] * q->g[k];
            row->k_by_c[3 * i + k] = q->jacobian[3 * i + k] / length;
        }
}

/* Find the first and second derivatives by z. The first letter of a block names its rows, the
 * second its columns. */
typedef struct by_z {
    double e[3], sigma[3], c[3];
    double ee[9], es[9], ec[9], ss[9], sc[9], cc[9];
} by_z;

static void add_forces(const strained *s, double length, const rows *row, by_z *d)
{
    for (int i = 0; i < 3; i++) {
        d->e[i] = length * s->force[i];
        d->sigma[i] = d->c[i] = 0;
        for (int k = 0; k < 3; k++) {
            d->sigma[i] += length * s->force[k] * row->by_sigma[3 * k + i];
            d->c[i] += length * (s->force[k] * row->by_c[3 * k + i] +
                                 s->force[3 + k] * row->k_by_c[3 * k + i]);
        }
    }
}

/* Find rows^T C rows. Of the strains, only K3 is coupled with G, and no K with another. */
static void set_material(const strained *s, double length, const rows *row, by_z *d)
{
    const double *k3 = row->k_by_c + 6;
    double by_k[3], turned[3], by_c[9];
    for (int i = 0; i < 3; i++) {
        by_k[i] = length * s->tangent[i][5];
        for (int k = 0; k < 3; k++) d->ee[3 * i + k] = length * s->tangent[i][k];
    }
    for (int i = 0; i < 3; i++)
        turned[i] =
            row->by_c[i] * by_k[0] + row->by_c[3 + i] * by_k[1] + row->by_c[6 + i] * by_k[2];
    times(d->ee, row->by_sigma, d->es);
    times(d->ee, row->by_c, d->ec);
    times_turned(row->by_sigma, d->es, d->ss);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) d->ec[3 * i + k] += by_k[i] * k3[k];
    times_turned(row->by_sigma, d->ec, d->sc);
    times_turned(row->by_c, d->ec, by_c);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            double sum = by_c[3 * i + k] + k3[i] * turned[k];
            for (int j = 0; j < 3; j++)
                sum += length * s->tangent[3 + j][3 + j] * row->k_by_c[3 * j + i] *
                       row->k_by_c[3 * j + k];
            d->cc[3 * i + k] = sum;
        }
}

/* Add w.(n x e) + ((n.w)(g.w) - (n.g) w.w)/2 of E47, with w = sigma - tau psi x c. */
static void add_turn(const kinematics *q, const double n[3], double length, by_z *d)
{
    double n_spin[9], turn[9], by_c[9], s[9], cs[9], cc[9];
    const double tau_psi[3] = {q->chord.tau * q->psi[0], q->chord.tau * q->psi[1],
                               q->chord.tau * q->psi[2]};
    const double n_g = length * sp_dot(n, q->g);
    spin_of(n, n_spin);
    spin_of(tau_psi, turn); /* (-(tau psi))^T */
    for (int i = 0; i < 9; i++) n_spin[i] *= length;
    times(turn, n_spin, by_c);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            s[3 * i + k] = 0.5 * length * (n[i] * q->g[k] + q->g[i] * n[k]) - (i == k ? n_g : 0);
    times(turn, s, cs);
    times(cs, turn, cc); /* turn s turn^T is less this, turn being skew */
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
static void add_chord(const kinematics *q, const double n[3], const double m[3], double length,
                      by_z *d)
{
    const sp_so3_chord *a = &q->chord;
    const double *psi = q->psi, m_psi = sp_dot(m, psi), half = 0.5 * length * a->tau;
    double f[3], f_psi[3], t[3], turn[9], cc[9];
    sp_cross(n, q->g, f);
    sp_cross(f, psi, f_psi);
    for (int i = 0; i < 3; i++) t[i] = sp_dot(q->jacobian + 3 * i, m);
    spin_of(t, turn);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            d->sc[3 * i + k] += 0.5 * turn[3 * i + k] + half * f[i] * psi[k];
            cc[3 * i + k] = -half * a->tau * psi[i] * f_psi[k] - a->bent * m_psi * psi[i] * psi[k] +
                            a->b * psi[i] * m[k];
        }
    for (int i = 0; i < 3; i++) {
        d->sc[4 * i] -= half * sp_dot(f, psi);
        cc[4 * i] += a->a * m_psi;
    }
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) d->cc[3 * i + k] += cc[3 * i + k] + cc[3 * k + i];
}

/* Set m = k R m R^T, which turns it into fixed axes. */
static inline void into_fixed(const double axes[9], double k, double m[9])
{
    double half[9];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            half[3 * i + j] = k * (m[3 * i] * axes[3 * j] + m[3 * i + 1] * axes[3 * j + 1] +
                                   m[3 * i + 2] * axes[3 * j + 2]);
    times(axes, half, m);
}

/* Turn derivatives by z into those by (uA wA uB wB) in fixed axes: e = R_m^T (uB - uA)/L, sigma =
 * R_m^T (wA + wB)/2, c = R_m^T (wB - wA). */
static void to_unknowns(const kinematics *q, double length, by_z *d, double gradient[12],
                        double hessian[144])
{
    const double *r = q->axes, inverse = 1 / length;
    for (int i = 0; i < 3; i++) {
        const double e = inverse * sp_dot(r + 3 * i, d->e), s = 0.5 * sp_dot(r + 3 * i, d->sigma),
                     c = sp_dot(r + 3 * i, d->c);
        gradient[i] = -e, gradient[3 + i] = s - c;
        gradient[6 + i] = e, gradient[9 + i] = s + c;
    }
    into_fixed(r, inverse * inverse, d->ee);
    into_fixed(r, 0.5 * inverse, d->es);
    into_fixed(r, inverse, d->ec);
    into_fixed(r, 0.25, d->ss);
    into_fixed(r, 0.5, d->sc);
    into_fixed(r, 1, d->cc);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            const int at = 3 * i + k, turned = 3 * k + i;
            const double ee = d->ee[at], minus = d->es[turned] - d->ec[turned],
                         plus = d->es[turned] + d->ec[turned];
            const double even = d->ss[at] + d->cc[at], odd = d->ss[at] - d->cc[at],
                         mixed = d->sc[at] + d->sc[turned], skew = d->sc[turned] - d->sc[at];
            double *to = hessian + 12 * i + k;
            if (k <= i) {
                to[0] = to[12 * 6 + 6] = ee;
                to[12 * 3 + 3] = even - mixed;
                to[12 * 9 + 9] = even + mixed;
            }
            to[12 * 6] = -ee;                       /* uB uA */
            to[12 * 3] = -minus;                    /* wA uA */
            to[12 * 6 + 3] = d->es[at] - d->ec[at]; /* uB wA */
            to[12 * 9] = -plus;                     /* wB uA */
            to[12 * 9 + 6] = plus;                  /* wB uB */
            to[12 * 9 + 3] = odd + skew;            /* wB wA */
        }
    for (int i = 0; i < 12; i++)
        for (int k = 0; k < i; k++) hessian[12 * k + i] = hessian[12 * i + k];
}

double sp_panel_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                     const double *xa, const double *xb, const double *history, double gradient[12],
                     double hessian[144], sp_beam_state *state)
{
    const double length = element->length;
    kinematics q;
    strained s;
    rows row;
    by_z d;
    find_kinematics(element, xa, xb, &q);
    if (!strain(element, section, &q, history, &s)) return INFINITY;
    *state = (sp_beam_state){s.axial, s.eps, {0, q.k[2]}, {q.g[1], q.g[2], q.k[0]}, {0, 0}};
    find_rows(&q, length, &row);
    add_forces(&s, length, &row, &d);
    set_material(&s, length, &row, &d);
    add_turn(&q, s.force, length, &d);
    add_chord(&q, s.force, s.force + 3, length, &d);
    to_unknowns(&q, length, &d, gradient, hessian);
    return length * s.energy;
}
