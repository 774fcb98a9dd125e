/* Planar Reissner element. Symbols: d = (pB - pA)/L, e1 = (c, s) and e2 = (-s, c) the section's
 * normal and tangent at mid-length, th = phi0 + (tA + tB)/2; N, Q, M and the tangents C from the
 * section. eps = d.e1 - 1, gamma = d.e2, kappa = (tB - tA)/L (Reissner 1972; E1). The strain of the
 * fibres is eps plus what the bent strut is longer than its chord (E91). */
#include <math.h>

#include "beam/linear_part.h"
#include "beam/planar_energy.h"
#include "section/spread.h"

typedef struct ends {
    double pa[2], pb[2]; /* ends of the element */
    double arm[2][2];    /* turned arms R(t) a */
    int has_arm[2];
} ends;

static void turn_arm(const double *node, const double *arm, double *point, double *turned, int *has)
{
    *has = arm[0] != 0 || arm[1] != 0;
    turned[0] = turned[1] = 0;
    if (*has) {
        const double c = cos(node[2]), s = sin(node[2]);
        turned[0] = c * arm[0] - s * arm[1];
        turned[1] = s * arm[0] + c * arm[1];
    }
    point[0] = node[0] + turned[0];
    point[1] = node[1] + turned[1];
}

static sp_planar_strain strains(const sp_element *e, const double *xa, const double *xb, ends *w,
                                double *c, double *s)
{
    turn_arm(xa, e->arm[0], w->pa, w->arm[0], &w->has_arm[0]);
    turn_arm(xb, e->arm[1], w->pb, w->arm[1], &w->has_arm[1]);
    const double th = e->direction + 0.5 * (xa[2] + xb[2]), inv = 1 / e->length;
    *c = cos(th);
    *s = sin(th);
    const double dx = (w->pb[0] - w->pa[0]) * inv, dy = (w->pb[1] - w->pa[1]) * inv;
    return (sp_planar_strain){
        .eps = dx * *c + dy * *s - 1, .gamma = dy * *c - dx * *s, .kappa = (xb[2] - xa[2]) * inv};
}

sp_planar_strain sp_planar_strains(const sp_element *element, const double *xa, const double *xb)
{
    ends w;
    double c, s;
    return strains(element, xa, xb, &w, &c, &s);
}

/* An end stands at p = x + R(t) a, so that dp/dt = (-ay, ax) and d2p/dt2 = -a (a turned). Fold both
 * into row and column of t. E4 */
static void fold_arm(int end, const double *arm, double g[6], double h[36])
{
    const int x = 3 * end, y = x + 1, t = x + 2;
    const double wx = -arm[1], wy = arm[0];
    const double bend = -(g[x] * arm[0] + g[y] * arm[1]);
    for (int j = 0; j < 6; j++) h[6 * t + j] += wx * h[6 * x + j] + wy * h[6 * y + j];
    for (int i = 0; i < 6; i++) h[6 * i + t] += wx * h[6 * i + x] + wy * h[6 * i + y];
    h[6 * t + t] += bend;
    g[t] += wx * g[x] + wy * g[y];
}

/* A bent element is longer than its chord; these are the factors of gamma^2 / 2 and kappa^2 / 2 in
 * that. E91 */
static void find_bowing(const sp_element *element, const sp_section *section, double *by_gamma,
                        double *by_kappa)
{
    const double shear = section->shear_stiffness;
    const double bent = shear > 0 ? 1 - element->shear / shear : 0; /* share of bending in gamma */
    *by_gamma = 1.2 * bent * bent;
    *by_kappa = element->length * element->length / 12;
}

double sp_planar_chord(const sp_element *element, const sp_section *section,
                       const sp_beam_state *state)
{
    const double gamma = state->shear[0], kappa = state->curvature[1];
    double by_gamma, by_kappa;
    if (section->two.first > 0) return sp_planar_end_chord(element, section, state);
    find_bowing(element, section, &by_gamma, &by_kappa);
    return sp_spread_chord(section->spread, state->eps) -
           0.5 * (by_gamma * gamma * gamma + by_kappa * kappa * kappa);
}

/* The bowing is a function of gamma and kappa, so the derivatives of U by the strain of the chord
 * follow by the chain rule. E91 */
static int energy_of(const sp_element *element, const sp_section *section,
                     const sp_planar_strain *z, const double *history, sp_planar_energy *u,
                     sp_beam_state *state)
{
    sp_resultants r;
    double by_gamma, by_kappa;
    if (section->two.first > 0) return sp_planar_end_eval(element, section, z, history, u, state);
    find_bowing(element, section, &by_gamma, &by_kappa);
    const double bg = by_gamma * z->gamma, bk = by_kappa * z->kappa; /* first derivatives */
    sp_spread_strain fibre;
    if (!sp_spread_eval(section->spread, z->eps + 0.5 * (bg * z->gamma + bk * z->kappa), &fibre))
        return 0;
    sp_section_eval(section, &(sp_section_strain){fibre.eps, z->kappa, 0, 0}, history, &r);
    if (!(r.energy < INFINITY)) return 0;
    r.c_ee = fibre.slope * fibre.slope * r.c_ee + fibre.bend * r.force;
    r.force *= fibre.slope, r.c_ek *= fibre.slope;
    const sp_law_scalar linear =
        sp_linear_part(section->law, section->points, 0, 1, element->shear, z->gamma, history);
    *state = (sp_beam_state){r.force, fibre.eps, {0, z->kappa}, {z->gamma, 0, 0}, {0, 0}};
    u->value = r.energy + linear.energy;
    u->n = r.force;
    u->q = linear.force + r.force * bg;
    u->m = r.moment + r.force * bk;
    u->ee = r.c_ee;
    u->eg = r.c_ee * bg;
    u->ek = r.c_ek + r.c_ee * bk;
    u->gg = linear.slope + r.force * by_gamma + u->eg * bg;
    u->gk = u->ek * bg;
    u->kk = r.c_kk + r.force * by_kappa + bk * (r.c_ek + u->ek);
    return 1;
}

double sp_planar_eval(const sp_element *element, const sp_section *section, const double *xa,
                      const double *xb, const double *history, double g[6], double h[36],
                      sp_beam_state *state)
{
    ends w;
    double c, s;
    const sp_planar_strain z = strains(element, xa, xb, &w, &c, &s);
    sp_planar_energy u;
    if (!energy_of(element, section, &z, history, &u, state)) return INFINITY;

    /* The unknowns are p = pB - pA and the two rotations. e and f are the first derivatives of eps
     * and gamma by p, et and ft those by either rotation. */
    const double length = element->length, inv = 1 / length;
    const double n = u.n, q = u.q;
    const double e[2] = {c * inv, s * inv}, f[2] = {-s * inv, c * inv};
    const double et = 0.5 * z.gamma, ft = -0.5 * (1 + z.eps);
    const double turn = length * (n * et + q * ft);
    for (int i = 0; i < 2; i++) {
        g[3 + i] = length * (n * e[i] + q * f[i]);
        g[i] = -g[3 + i];
    }
    g[2] = turn - u.m;
    g[5] = turn + u.m;

    /* The second derivatives have a material part and a geometric one, N d2eps + Q d2gamma. The
     * derivative d2/dp dt is half the turned first derivative. */
    const double ee = length * u.ee, eg = length * u.eg, gg = length * u.gg;
    const double geometric[2] = {0.5 * (-n * s - q * c), 0.5 * (n * c - q * s)};
    const double both = ee * et * et + 2 * eg * et * ft + gg * ft * ft -
                        0.25 * length * (n * (1 + z.eps) + q * z.gamma);
    const double bend = inv * u.kk, mixed = 2 * (u.ek * et + u.gk * ft);
    double pp[2][2], pt[2][2]; /* pt: row p, column which rotation */
    for (int i = 0; i < 2; i++) {
        for (int j = 0; j < 2; j++)
            pp[i][j] = ee * (e[i] * e[j]) + eg * (e[i] * f[j] + f[i] * e[j]) + gg * (f[i] * f[j]);
        const double common =
            (ee * et + eg * ft) * e[i] + (eg * et + gg * ft) * f[i] + geometric[i];
        const double turned = u.ek * e[i] + u.gk * f[i];
        pt[i][0] = common - turned;
        pt[i][1] = common + turned;
    }
    const double tt[2][2] = {{both + bend - mixed, both - bend},
                             {both - bend, both + bend + mixed}};
    for (int a = 0; a < 2; a++)
        for (int b = 0; b < 2; b++) {
            double *block = h + 18 * a + 3 * b; /* rows of end a, columns of end b */
            const double sign = a == b ? 1 : -1;
            for (int i = 0; i < 2; i++) {
                for (int j = 0; j < 2; j++) block[6 * i + j] = sign * pp[i][j];
                block[6 * i + 2] = a ? pt[i][b] : -pt[i][b];
                block[12 + i] = b ? pt[i][a] : -pt[i][a];
            }
            block[14] = tt[a][b];
        }
    for (int end = 0; end < 2; end++)
        if (w.has_arm[end]) fold_arm(end, w.arm[end], g, h);
    return length * u.value;
}

double sp_planar_bending(const sp_element *element, const sp_section *section,
                         const sp_beam_state *state, const double *history, double turn_a,
                         double turn_b)
{
    sp_resultants r;
    const sp_section_strain z = {state->eps, state->curvature[1], state->more[0], state->more[1]};
    sp_section_eval(section, &z, history, &r);
    const double kappa = (turn_b - turn_a) / element->length;
    return element->length * r.c_kk * kappa * kappa;
}
