/* The letters psi, g, n, m and z = (e, sigma, c) mean what they mean in spatial.c; spins are in the
 * axes of the midpoint rotation R_m. This file finds the strains and forces of one bar after
 * another; gradient and Hessian follow for eight of them at a time, in spatial_lanes.c. */
#include "beam/panel.h"

#include <math.h>
#include <string.h>

#include "base/so3.h"
#include "beam/linear_part.h"
#include "beam/panel_lanes.h"

/* This is the factor s of the barrier: a bar that has turned over holds this share of its axial
 * stiffness as energy. */
static const double turn_over_share = 1.0;

typedef struct kinematics {
    double axes[9]; /* matrix of R_m */
    double psi[3];
    sp_so3_chord chord;
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

/* Fill the input of one lane. */
static void put_lane(int lane, double length, const kinematics *q, const strained *s,
                     sp_panel_input *in)
{
    in->length[lane] = length;
    for (int i = 0; i < 3; i++) {
        in->g[i][lane] = q->g[i];
        in->psi[i][lane] = q->psi[i];
        in->coupled[i][lane] = s->tangent[i][5];
        in->bending[i][lane] = s->tangent[3 + i][3 + i];
        for (int k = 0; k < 3; k++) in->tangent[3 * i + k][lane] = s->tangent[i][k];
    }
    for (int i = 0; i < 6; i++) in->force[i][lane] = s->force[i];
    for (int i = 0; i < 9; i++) in->axes[i][lane] = q->axes[i];
    in->chord_s[lane] = q->chord.s;
    in->chord_j[lane] = q->chord.j;
    in->chord_a[lane] = q->chord.a;
    in->chord_b[lane] = q->chord.b;
    in->chord_bent[lane] = q->chord.bent;
    in->chord_tau[lane] = q->chord.tau;
}

/* Put the strains and forces of an element into its lane; returns its energy, +inf outside its law.
 */
static double prepare(int lane, const sp_spatial_job *job, sp_panel_input *in)
{
    const double length = job->element->length;
    kinematics q;
    strained s;
    find_kinematics(job->element, job->xa, job->xb, &q);
    if (!strain(job->element, job->section, &q, job->history, &s)) return INFINITY;
    *job->state = (sp_beam_state){s.axial, s.eps, {0, q.k[2]}, {q.g[1], q.g[2], q.k[0]}, {0, 0}};
    put_lane(lane, length, &q, &s, in);
    return length * s.energy;
}

static void take_lane(int lane, const sp_panel_output *out, const sp_spatial_job *job)
{
    const sp_lanes8 *from = out->hessian;
    for (int i = 0; i < 12; i++) job->gradient[i] = out->gradient[i][lane];
    for (int i = 0; i < 12; i++)
        for (int k = 0; k <= i; k++, from++)
            job->hessian[12 * i + k] = job->hessian[12 * k + i] = (*from)[lane];
}

void sp_panel_eval_several(int count, sp_spatial_job *job)
{
    sp_panel_input in = {.length = {1, 1, 1, 1, 1, 1, 1, 1}};
    sp_panel_output out;
    for (int i = 0; i < count; i++) job[i].energy = prepare(i, &job[i], &in);
    sp_panel_lanes_eval(&in, &out);
    for (int i = 0; i < count; i++)
        if (job[i].energy < INFINITY) take_lane(i, &out, &job[i]);
}

double sp_panel_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                     const double *xa, const double *xb, const double *history, double gradient[12],
                     double hessian[144], sp_beam_state *state)
{
    sp_spatial_job job = {element, section, xa, xb, history, gradient, hessian, state, 0};
    sp_panel_eval_several(1, &job);
    return job.energy;
}
