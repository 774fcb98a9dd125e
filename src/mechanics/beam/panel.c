/* Letters as in spatial.c: psi, g, n, m; z = (e, sigma, c), spins in the axes of the midpoint
 * rotation R_m; 3 x 3 blocks of the 9 x 9 second derivative by z, first those of the strains, then
 * those of the geometry (E47). */
#include "beam/panel.h"

#include <math.h>
#include <string.h>

#include "base/so3.h"
#include "beam/linear_part.h"

/* s of the barrier: what the energy of a bar that has turned over is, of its axial stiffness. */
static const double turn_over_share = 1.0;

typedef struct kinematics {
    double axes[9]; /* matrix of R_m */
    double psi[3];
    sp_so3_chord chord;
    double jacobian[9]; /* J of E42 */
    double g[3], k[3];
} kinematics;

/* Energy per length and its derivatives by the strains (G1 G2 G3 K1 K2 K3). */
typedef struct strained {
    double energy, force[6], tangent[6][6];
    double eps, axial;
} strained;

/* The chord of two rotations, up to a whole turn. A bar is some thicknesses long and may be folded
 * by more than half a turn; which way it has come is in the sign of the quaternions, which nodes
 * keep as they turn. */
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

/* The barrier against bars that turn over, with h its first and second derivatives by G. E105 */
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

/* The axial strain with what bowing adds, and the section under it. E103, E104 */
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

/* out = (a): (a) b = a x b */
static void spin_of(const double a[3], double out[9])
{
    out[0] = out[4] = out[8] = 0;
    out[1] = -a[2], out[2] = a[1], out[5] = -a[0];
    out[3] = a[2], out[6] = -a[1], out[7] = a[0];
}

/* Rows: the six strains by z. dG = e + g x (sigma - tau psi x c), dK = J c/L. E46 */
static void find_rows(const kinematics *q, double length, double row[6][9])
{
    double g[9];
    memset(row, 0, 54 * sizeof **row);
    spin_of(q->g, g);
    for (int i = 0; i < 3; i++) {
        row[i][i] = 1;
        for (int k = 0; k < 3; k++) {
            row[i][3 + k] = g[3 * i + k];
            /* -tau g x (psi x c) = -tau [ psi (g.c) - c (g.psi) ] */
            row[i][6 + k] = -q->chord.tau * q->psi[i] * q->g[k];
            row[3 + i][6 + k] = q->jacobian[3 * i + k] / length;
        }
        row[i][6 + i] += q->chord.tau * sp_dot(q->g, q->psi);
    }
}

/* h (9 x 9) = L rows^T C rows */
static void add_material(const strained *s, double length, double row[6][9], double h[9][9])
{
    double c_row[6][9];
    for (int i = 0; i < 6; i++)
        for (int z = 0; z < 9; z++) {
            c_row[i][z] = 0;
            for (int k = 0; k < 6; k++) c_row[i][z] += s->tangent[i][k] * row[k][z];
        }
    for (int y = 0; y < 9; y++)
        for (int z = 0; z <= y; z++) {
            double sum = 0;
            for (int i = 0; i < 6; i++) sum += row[i][y] * c_row[i][z];
            h[y][z] = h[z][y] = length * sum;
        }
}

/* h += a + a^T, with a the 3 x 3 block `a` at rows r and columns c. */
static void add_both(double h[9][9], int r, int c, const double a[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            h[r + i][c + k] += a[3 * i + k];
            h[c + k][r + i] += a[3 * i + k];
        }
}

/* out = w^T a, with w = (1, -tau (psi)) taking (sigma, c) to w of E47: the part of c, as (tau psi)
 * a. */
static void turned_rows(const double turn[9], const double a[9], double out[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            out[3 * i + k] = 0;
            for (int j = 0; j < 3; j++) out[3 * i + k] += turn[3 * i + j] * a[3 * j + k];
        }
}

/* w.(n x e) + ((n.w)(g.w) - (n.g) w.w)/2 of E47, w = sigma - tau psi x c. */
static void add_turn(const kinematics *q, const double n[3], double length, double h[9][9])
{
    double n_spin[9], turn[9], by_c[9], s[9], cs[9], cc[9], across[9];
    const double tau_psi[3] = {q->chord.tau * q->psi[0], q->chord.tau * q->psi[1],
                               q->chord.tau * q->psi[2]};
    spin_of(n, n_spin);
    spin_of(tau_psi, turn); /* (-(tau psi))^T */
    for (int i = 0; i < 9; i++) n_spin[i] *= length;
    add_both(h, 3, 0, n_spin);
    turned_rows(turn, n_spin, by_c);
    add_both(h, 6, 0, by_c);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++)
            s[3 * i + k] = 0.25 * length * (n[i] * q->g[k] + q->g[i] * n[k]) -
                           0.5 * length * (i == k) * sp_dot(n, q->g);
    add_both(h, 3, 3, s);
    turned_rows(turn, s, cs);
    for (int i = 0; i < 9; i++) cs[i] *= 2;
    add_both(h, 6, 3, cs);
    /* cc = turn s turn^T = turn (turn s)^T, s symmetric */
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) across[3 * i + k] = 0.5 * cs[3 * k + i];
    turned_rows(turn, across, cc);
    add_both(h, 6, 6, cc);
}

/* The rest of E47: what the midpoint and the chord of the two rotations add. */
static void add_chord(const kinematics *q, const double n[3], const double m[3], double length,
                      double h[9][9])
{
    const sp_so3_chord *a = &q->chord;
    const double *psi = q->psi, m_psi = sp_dot(m, psi);
    double f[3], f_psi[3], t[3], sc[9], cc[9];
    sp_cross(n, q->g, f);
    sp_cross(f, psi, f_psi);
    for (int i = 0; i < 3; i++) t[i] = sp_dot(q->jacobian + 3 * i, m);
    spin_of(t, sc);
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            sc[3 * i + k] = 0.5 * sc[3 * i + k] + 0.5 * length * a->tau * f[i] * psi[k];
            cc[3 * i + k] = -0.5 * length * a->tau * a->tau * psi[i] * f_psi[k] -
                            a->bent * m_psi * psi[i] * psi[k] + a->b * psi[i] * m[k];
        }
    for (int i = 0; i < 3; i++) {
        sc[4 * i] -= 0.5 * length * a->tau * sp_dot(f, psi);
        cc[4 * i] += a->a * m_psi;
    }
    add_both(h, 3, 6, sc);
    add_both(h, 6, 6, cc);
}

/* From z to (uA wA uB wB) in fixed axes: e = R_m^T (uB - uA)/L, sigma = R_m^T (wA + wB)/2, c =
 * R_m^T (wB - wA). */
static void find_columns(const kinematics *q, double length, double column[12][9])
{
    memset(column, 0, 108 * sizeof **column);
    for (int d = 0; d < 3; d++)
        for (int i = 0; i < 3; i++) {
            const double axis = q->axes[3 * d + i];
            column[d][i] = -axis / length;
            column[6 + d][i] = axis / length;
            column[3 + d][3 + i] = column[9 + d][3 + i] = 0.5 * axis;
            column[3 + d][6 + i] = -axis;
            column[9 + d][6 + i] = axis;
        }
}

static void to_unknowns(double column[12][9], const double by_z[9], double h[9][9],
                        double gradient[12], double hessian[144])
{
    double half[12][9];
    for (int i = 0; i < 12; i++) {
        gradient[i] = 0;
        memset(half[i], 0, sizeof half[i]);
        const int first = i % 6 < 3 ? 0 : 3, last = i % 6 < 3 ? 3 : 9;
        for (int z = first; z < last; z++) {
            gradient[i] += column[i][z] * by_z[z];
            for (int y = 0; y < 9; y++) half[i][y] += column[i][z] * h[z][y];
        }
    }
    for (int i = 0; i < 12; i++)
        for (int k = 0; k <= i; k++) {
            const int first = k % 6 < 3 ? 0 : 3, last = k % 6 < 3 ? 3 : 9;
            double sum = 0;
            for (int z = first; z < last; z++) sum += half[i][z] * column[k][z];
            hessian[12 * i + k] = hessian[12 * k + i] = sum;
        }
}

double sp_panel_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                     const double *xa, const double *xb, const double *history, double gradient[12],
                     double hessian[144], sp_beam_state *state)
{
    const double length = element->length;
    kinematics q;
    strained s;
    double row[6][9], h[9][9], by_z[9] = {0}, column[12][9];
    find_kinematics(element, xa, xb, &q);
    if (!strain(element, section, &q, history, &s)) return INFINITY;
    *state = (sp_beam_state){s.axial, s.eps, {0, q.k[2]}, {q.g[1], q.g[2], q.k[0]}};
    find_rows(&q, length, row);
    for (int i = 0; i < 6; i++)
        for (int z = 0; z < 9; z++) by_z[z] += length * s.force[i] * row[i][z];
    add_material(&s, length, row, h);
    add_turn(&q, s.force, length, h);
    add_chord(&q, s.force, s.force + 3, length, h);
    find_columns(&q, length, column);
    to_unknowns(column, by_z, h, gradient, hessian);
    return length * s.energy;
}
