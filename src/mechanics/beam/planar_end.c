/* The planar element at the end of a strut that yields. Its section is asked at two places, one at
 * or near the joint, where hinges are (E222).
 *
 * Symbols: z = (eps, gamma, kappa) of the element, more = (d, c) by how much eps and kappa are more
 * at the place by the joint; `by` what they are times at the other. The bent share of gamma is
 * side g c with g = turn L, and the energy per length is
 *
 *   sum of W + S (gamma - side g c)^2 / 2,   strain of the chord e = eps + kappa^2 L^2/24 + x c^2
 *
 * at the least by (d, c), which Newton's method finds (E223). */
#include <math.h>

#include "beam/linear_part.h"
#include "beam/planar_energy.h"
#include "section/spread.h"

enum { MOST_STEPS = 60, MOST_HALVINGS = 40 };
static const double close_enough = 1e-8; /* strain; what is left goes by its square */
static const double armijo = 1e-4, round_off = 1e-14;

/* These are derivatives of the energy per length by e (of the chord), kappa and more = (d, c): the
 * first ones, and the second ones. */
typedef struct parts {
    double value, eps, e, k, d, c, q;
    double ee, ek, ed, ec, kk, kd, kc, dd, dc, cc, slope;
} parts;

/* What is fixed while (d, c) are searched for. */
typedef struct end {
    const sp_section *section;
    const double *history;
    sp_planar_strain z;
    double stiffness, side, turn, bow, bow_kappa; /* side g; x; L^2/12 */
} end;

static end end_of(const sp_element *element, const sp_section *section)
{
    const double l = element->length;
    return (end){.section = section,
                 .stiffness = element->shear,
                 .side = element->joint_end,
                 .turn = element->joint_end * section->two.turn * l,
                 .bow = section->two.bow * l * l,
                 .bow_kappa = l * l / 12};
}

/* Find the energy and its derivatives at more = (d, c). Returns 0 when a fibre leaves the domain of
 * its law. */
static int find_parts(const end *w, const double more[SP_PLANAR_MORE], parts *u)
{
    const sp_section *section = w->section;
    const double d = more[0], c = more[1], kappa = w->z.kappa, by = -section->two.back;
    const double bk = w->bow_kappa * kappa, bc = 2 * w->bow * c; /* derivatives of the bowing */
    sp_spread_strain fibre;
    sp_resultants r[2];
    if (!sp_spread_eval(section->spread, w->z.eps + 0.5 * (bk * kappa + bc * c), &fibre)) return 0;
    sp_section_eval_two(section, &(sp_section_strain){fibre.eps, kappa, d, c}, w->history, r);
    const sp_resultants *a = &r[0], *b = &r[1];
    const sp_law_scalar shear = sp_linear_part(section->law, section->points, 0, 1, w->stiffness,
                                               w->z.gamma - w->turn * c, w->history);
    u->value = a->energy + b->energy + shear.energy;
    if (!(u->value < INFINITY)) return 0;
    const double s = fibre.slope, n = a->force + b->force, ee = a->c_ee + b->c_ee;
    const double force = s * n;
    u->eps = fibre.eps;
    u->q = shear.force;
    u->slope = shear.slope;
    u->e = force;
    u->k = a->moment + b->moment + force * bk;
    u->d = a->force + by * b->force;
    u->c = a->moment + by * b->moment + force * bc - shear.force * w->turn;
    /* By the strains of the places, and then with what the bowing adds. */
    const double e_k = s * (a->c_ek + b->c_ek), e_d = s * (a->c_ee + by * b->c_ee),
                 e_c = s * (a->c_ek + by * b->c_ek), k_d = a->c_ek + by * b->c_ek,
                 k_c = a->c_kk + by * b->c_kk;
    u->ee = s * s * ee + fibre.bend * n;
    u->ek = e_k + u->ee * bk;
    u->ed = e_d;
    u->ec = e_c + u->ee * bc;
    u->kk = a->c_kk + b->c_kk + force * w->bow_kappa + bk * (e_k + u->ek);
    u->kd = k_d + e_d * bk;
    u->kc = k_c + e_c * bk + u->ek * bc;
    u->dd = a->c_ee + by * by * b->c_ee;
    u->dc = a->c_ek + by * by * b->c_ek + e_d * bc;
    u->cc = a->c_kk + by * by * b->c_kk + 2 * force * w->bow + bc * (e_c + u->ec) +
            shear.slope * w->turn * w->turn;
    return 1;
}

/* Find Newton's step of (d, c). Where the energy is no bowl, every one of them goes downhill by its
 * own curvature. Returns 1 where it is a bowl. */
static int find_step(const parts *u, double step[SP_PLANAR_MORE])
{
    const double det = u->dd * u->cc - u->dc * u->dc;
    const int bowl = u->cc > 0 && u->dd > 0 && det > 0;
    step[0] = bowl ? (u->dc * u->c - u->cc * u->d) / det : -u->d / fabs(u->dd);
    step[1] = bowl ? (u->dc * u->d - u->dd * u->c) / det : -u->c / fabs(u->cc);
    return bowl;
}

/* Go along the step until the energy goes down enough. Returns 0 where it does not. */
static int go_down(const end *w, const double step[SP_PLANAR_MORE], double more[SP_PLANAR_MORE],
                   parts *u)
{
    const double before = u->value, slope = u->d * step[0] + u->c * step[1];
    double f = 1;
    for (int i = 0; i < MOST_HALVINGS; i++, f *= 0.5) {
        const double there[SP_PLANAR_MORE] = {more[0] + f * step[0], more[1] + f * step[1]};
        parts found;
        if (!find_parts(w, there, &found) ||
            found.value > before + armijo * f * slope + round_off * fabs(before))
            continue;
        *u = found;
        more[0] = there[0], more[1] = there[1];
        return 1;
    }
    return 0;
}

/* Find where the energy is least by (d, c), up to a last step, which is not taken: its square is
 * lost in round-off. Returns 0 when there is no such place in the domain of the law. */
static int find_least(const end *w, double more[SP_PLANAR_MORE], parts *u,
                      double step[SP_PLANAR_MORE])
{
    const double half = 0.5 * w->section->thickness;
    if (!find_parts(w, more, u)) {
        more[0] = more[1] = 0;
        if (!find_parts(w, more, u)) return 0;
    }
    for (int i = 0; i < MOST_STEPS; i++) {
        const int bowl = find_step(u, step);
        if (bowl && fabs(step[0]) + half * fabs(step[1]) <= close_enough) return 1;
        if (!go_down(w, step, more, u)) return 0;
    }
    return 0;
}

/* Turn derivatives by stretch and angle of the chord into those by (eps, gamma). E224 */
static void turn_to_section(double stretch, double angle, sp_planar_energy *u)
{
    const double c = cos(angle), s = sin(angle), inv = 1 / stretch;
    const sp_planar_energy v = *u;
    const double q = inv * v.q, eg = inv * v.eg, gg = inv * inv * v.gg, gk = inv * v.gk;
    const double bend = inv * v.n, turn = inv * q;
    u->n = c * v.n - s * q;
    u->q = s * v.n + c * q;
    u->ee = c * c * v.ee - 2 * c * s * eg + s * s * gg + s * s * bend + 2 * s * c * turn;
    u->eg = c * s * (v.ee - gg - bend) + (c * c - s * s) * (eg - turn);
    u->gg = s * s * v.ee + 2 * s * c * eg + c * c * gg + c * c * bend - 2 * s * c * turn;
    u->ek = c * v.ek - s * gk;
    u->gk = s * v.ek + c * gk;
}

int sp_planar_end_eval(const sp_element *element, const sp_section *section,
                       const sp_planar_strain *z, const double *history, sp_planar_energy *u,
                       sp_beam_state *state)
{
    end w = end_of(element, section);
    parts p;
    double more[SP_PLANAR_MORE] = {0}, step[SP_PLANAR_MORE];
    const double stretch = hypot(1 + z->eps, z->gamma), angle = atan2(z->gamma, 1 + z->eps);
    if (!(stretch > 0)) return 0;
    w.z = (sp_planar_strain){.eps = stretch - 1, .gamma = angle, .kappa = z->kappa};
    w.history = history;
    for (int i = 0; history && i < SP_PLANAR_MORE; i++)
        more[i] = history[sp_linear_place(section->law, section->points, 1) + (size_t)i];
    if (!find_least(&w, more, &p, step)) return 0;
    /* What is left of (d, c) is eliminated, with the last step in the first derivatives. */
    const double det = p.dd * p.cc - p.dc * p.dc, g_c = -p.slope * w.turn;
    const double by[3][2] = {{p.ed, p.ec}, {0, g_c}, {p.kd, p.kc}}; /* rows eps, gamma, kappa */
    double less[3][3], last[3];
    for (int i = 0; i < 3; i++) {
        const double d = (p.cc * by[i][0] - p.dc * by[i][1]) / det,
                     c = (p.dd * by[i][1] - p.dc * by[i][0]) / det;
        for (int k = 0; k < 3; k++) less[i][k] = d * by[k][0] + c * by[k][1];
        last[i] = by[i][0] * step[0] + by[i][1] * step[1];
    }
    *u = (sp_planar_energy){.value = p.value + 0.5 * (p.d * step[0] + p.c * step[1]),
                            .n = p.e + last[0],
                            .q = p.q + last[1],
                            .m = p.k + last[2],
                            .ee = p.ee - less[0][0],
                            .eg = -less[0][1],
                            .ek = p.ek - less[0][2],
                            .gg = p.slope - less[1][1],
                            .gk = -less[1][2],
                            .kk = p.kk - less[2][2]};
    const double d = more[0] + step[0], c = more[1] + step[1];
    *state = (sp_beam_state){u->n, p.eps, {0, z->kappa}, {angle - w.turn * c, 0, 0}, {d, c}};
    turn_to_section(stretch, angle, u);
    return 1;
}

double sp_planar_end_chord(const sp_element *element, const sp_section *section,
                           const sp_beam_state *state)
{
    const end w = end_of(element, section);
    const double kappa = state->curvature[1], c = state->more[1];
    return sp_spread_chord(section->spread, state->eps) -
           (0.5 * w.bow_kappa * kappa * kappa + w.bow * c * c);
}
