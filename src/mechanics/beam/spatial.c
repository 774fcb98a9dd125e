/* The spatial strut element is set up in the axes of the midpoint rotation R_m:
 *   psi = log(R_A^T R_B), g = R_m^T (pB - pA)/L; n, m the forces and moments to (G, K)
 *   z = (e, sigma, c): e = R_m^T (uB - uA)/L, sigma = (wA + wB)/2, c = wB - wA, spins in the axes
 *   of R_m
 * docs/theory.md has longer names for these letters: R_m Rot_M, g Gamma, n N, m M, e dp_d, sigma
 * w_m, c w_d, J J_psi, tau j_3, and w_s for sigma - tau psi x c. Derivatives by z are found several
 * elements at a time, in spatial_lanes.c. */
#include "beam/spatial.h"
#include "beam/linear_part.h"
#include "beam/spatial_lanes.h"

#include <string.h>

#include "base/so3.h"
#include "section/spread.h"

typedef struct place { /* positions of the ends, found before the strains */
    double arm[2][3];  /* turned arms */
    int armed[2];      /* 0: the arm is zero */
    double p[2][3];
    double middle[4];
    double axes[9]; /* matrix of R_m */
    double psi[3], g[3];
} place;

/* --- 3 x 3 matrices, row-major --- */

#define FLAT static inline __attribute__((always_inline))

/* Copy the lower triangle to the upper one, so that both are equal to the last digit. */
FLAT void mirror(double a[9])
{
    a[1] = a[3];
    a[2] = a[6];
    a[5] = a[7];
}

/* Add scale (a b^T + b a^T) to the lower triangle of sum. */
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

FLAT void turn(const double m[9], const double v[3], double out[3])
{
    for (int i = 0; i < 3; i++) out[i] = sp_dot(m + 3 * i, v);
}

/* Set out = (v) a, the cross product of v with every column. */
FLAT void cross_columns(const double v[3], const double a[9], double out[9])
{
    for (int k = 0; k < 3; k++) {
        out[k] = v[1] * a[6 + k] - v[2] * a[3 + k];
        out[3 + k] = v[2] * a[k] - v[0] * a[6 + k];
        out[6 + k] = v[0] * a[3 + k] - v[1] * a[k];
    }
}

/* Set out = a (v)^T, the cross product of v with every row. */
FLAT void cross_rows(const double v[3], const double a[9], double out[9])
{
    for (int i = 0; i < 3; i++) sp_cross(v, a + 3 * i, out + 3 * i);
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

/* These are the blocks of the Hessian of one element, taken from sp_spatial_output. */
typedef struct ends {
    double u[9], p[2][9], w[3][9];
} ends;

/* Add scale a, or its transpose, to sum. */
FLAT void add(double scale, const double a[9], int transposed, double sum[9])
{
    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) sum[3 * i + k] += scale * a[transposed ? 3 * k + i : 3 * i + k];
}

/* An end stands at p = x + R a, and dp = u + w x r + w x (w x r)/2 with r = R a. Fold the spins of
 * one end into rows and columns. E48 */
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

/* Return the square of the share of bending in the flexibility of E5, times 6/5: the chord becomes
 * shorter by half of this times the square of G2 or G3. */
static double bowing_by_shear(const sp_spatial_element *e, const sp_spatial_section *section,
                              int axis)
{
    const double whole = section->shear_stiffness[axis];
    const double bent = whole > 0 ? 1 - e->shear[axis] / whole : 0;
    return 1.2 * bent * bent;
}

/* The gradient and the Hessian of an element are made from these; sp_spatial_input says what the
 * members are. */
typedef struct forces {
    double n[3], m[3], shear[2], bending[2][2];
    double twist, linear; /* stiffness of the twist; energy of both shears and the twist */
    double by_g[3], by_k[3];
} forces;

/* Find the strains of the fibres (e, k2, k3), and the derivatives of the axial one by (G, K). E92
 */
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

/* Find n, m and the second derivatives other than those of N. */
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

/* Fill the input of one lane. */
static void put_lane(int lane, const place *w, double length, const sp_spatial_resultants *r,
                     const forces *a, sp_spatial_input *in)
{
    const sp_so3_chord chord = sp_so3_chord_of(w->psi);
    in->length[lane] = length;
    for (int i = 0; i < 3; i++) {
        in->g[i][lane] = w->g[i];
        in->psi[i][lane] = w->psi[i];
        in->n[i][lane] = a->n[i];
        in->m[i][lane] = a->m[i];
        in->by_g[i][lane] = a->by_g[i];
        in->by_k[i][lane] = a->by_k[i];
        in->tangent[i][lane] = r->tangent[0][i];
    }
    for (int i = 0; i < 9; i++) in->axes[i][lane] = w->axes[i];
    for (int i = 0; i < 2; i++) {
        in->shear[i][lane] = a->shear[i];
        for (int k = 0; k < 2; k++) in->bending[i][k][lane] = a->bending[i][k];
    }
    in->twist[lane] = a->twist;
    in->chord_s[lane] = chord.s;
    in->chord_j[lane] = chord.j;
    in->chord_a[lane] = chord.a;
    in->chord_b[lane] = chord.b;
    in->chord_bent[lane] = chord.bent;
    in->chord_tau[lane] = chord.tau;
}

/* Put the strains and forces of an element into its lane; returns its energy, +inf outside its law.
 */
static double prepare(int lane, const sp_spatial_job *job, place *w, sp_spatial_input *in)
{
    const sp_spatial_element *element = job->element;
    const sp_spatial_section *section = job->section;
    sp_spatial_resultants r;
    forces a;
    double strain[3];
    find_place(element, job->xa, job->xb, w);
    const sp_spatial_strain z = strains_of(element, w);
    bow(element, section, &z, strain, &a);
    sp_spread_strain fibre;
    if (!sp_spread_eval(section->spread, strain[0], &fibre)) return INFINITY;
    strain[0] = fibre.eps;
    sp_spatial_section_eval(section, strain, job->history, &r);
    if (!(r.energy < INFINITY)) return INFINITY;
    r.tangent[0][0] = fibre.slope * fibre.slope * r.tangent[0][0] + fibre.bend * r.force[0];
    for (int i = 1; i < 3; i++) r.tangent[0][i] *= fibre.slope;
    r.force[0] *= fibre.slope;
    *job->state =
        (sp_beam_state){r.force[0], strain[0], {z.k[1], z.k[2]}, {z.g[1], z.g[2], z.k[0]}, {0, 0}};
    find_forces(element, section, &z, &r, job->history, &a);
    put_lane(lane, w, element->length, &r, &a, in);
    return element->length * (r.energy + a.linear);
}

static void take_lane(int lane, const place *w, const sp_spatial_output *out,
                      const sp_spatial_job *job)
{
    ends h;
    for (int i = 0; i < 12; i++) job->gradient[i] = out->gradient[i][lane];
    for (int i = 0; i < 9; i++) {
        h.u[i] = out->u[i][lane];
        for (int k = 0; k < 2; k++) h.p[k][i] = out->p[k][i][lane];
        for (int k = 0; k < 3; k++) h.w[k][i] = out->w[k][i][lane];
    }
    for (int end = 0; end < 2; end++)
        if (w->armed[end]) fold_arm(end, w->arm[end], job->gradient, &h);
    put_ends(&h, job->hessian);
}

void sp_spatial_eval_several(int count, sp_spatial_job *job)
{
    place w[SP_SPATIAL_LANES];
    sp_spatial_input in = {.length = {1, 1, 1, 1, 1, 1, 1, 1}};
    sp_spatial_output out;
    for (int i = 0; i < count; i++) job[i].energy = prepare(i, &job[i], &w[i], &in);
    sp_spatial_lanes_eval(&in, &out);
    for (int i = 0; i < count; i++)
        if (job[i].energy < INFINITY) take_lane(i, &w[i], &out, &job[i]);
}

double sp_spatial_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                       const double *xa, const double *xb, const double *history,
                       double gradient[12], double hessian[144], sp_beam_state *state)
{
    sp_spatial_job job = {element, section, xa, xb, history, gradient, hessian, state, 0};
    sp_spatial_eval_several(1, &job);
    return job.energy;
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
