/* Walls of one layer press on each other side by side (E80 to E82). Positions and depth axes have 3
 * numbers per chain point. */
#include "contact/wall.h"

#include <math.h>
#include <string.h>

#include "gap/line.h"
#include "contact/spatial.h"

/* This is one contact point: its v and e in the plane across n, and their parts along n. */
typedef struct flat {
    double v[3], e[3]; /* v and e without their parts along n */
    double v_n, e_n;   /* parts of v and e along n */
    double length, along[3];
} flat;

static flat flatten(const double v[3], const double e[3], const double n[3])
{
    flat at = {.v_n = sp_dot(v, n), .e_n = sp_dot(e, n)};
    for (int i = 0; i < 3; i++) {
        at.v[i] = v[i] - at.v_n * n[i];
        at.e[i] = e[i] - at.e_n * n[i];
    }
    at.length = sqrt(sp_dot(at.e, at.e));
    for (int i = 0; i < 3; i++) at.along[i] = at.e[i] / at.length;
    return at;
}

double sp_wall_square(const double v[3], const double e[3], const double n[3])
{
    const flat at = flatten(v, e, n);
    return sp_line_square_spatial(at.v, at.along, at.length);
}

/* Find which share of the height of two sections still lies side by side when one has slipped by x
 * of the height, 1 to 0, with its derivatives. The share is smooth, where the overlap itself, 1 -
 * x, has an edge at x = 0. E81 */
static void side_by_side(double x, double out[3])
{
    const double r = 1 - x;
    out[0] = 1 - x * x * x * (10 - 15 * x + 6 * x * x);
    out[1] = -30 * x * x * r * r;
    out[2] = -60 * x * r * (1 - 2 * x);
}

/* Add k (a b^T + b a^T) to h (9 x 9) between the threes of rows and columns that begin at r and s,
 * and mirror it. */
static void add_outer(double *h, int r, int s, double k, const double a[3], const double b[3])
{
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            h[9 * (r + i) + s + j] += k * a[i] * b[j];
            h[9 * (s + j) + r + i] += k * a[i] * b[j];
        }
}

/* Find the rows of d(v', e') by v, e and the spin w of n: v' = v - (v.n) n, dn = w x n. */
static void flat_rows(const double x[3], const double n[3], double x_n, int part, double t[6][9])
{
    double turn[3];
    const double spin[3][3] = {{0, n[2], -n[1]}, {-n[2], 0, n[0]}, {n[1], -n[0], 0}}; /* w x n */
    sp_cross(n, x, turn); /* x.(w x n) = w.(n x x) */
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) {
            t[3 * part + i][3 * part + j] = (i == j) - n[i] * n[j];
            t[3 * part + i][6 + j] = -x_n * spin[i][j] - n[i] * turn[j];
        }
}

/* Add the second-order part of x' = x - (x.n) n under the force f, which is across n: which is
 * -(dx.n)(f.dn) - (x.dn)(f.dn) - (x.n)(f.d2n). */
static void add_bend(double *h, int part, const double x[3], double x_n, const double f[3],
                     const double n[3])
{
    double turn_f[3], turn_x[3];
    sp_cross(n, f, turn_f);
    sp_cross(n, x, turn_x);
    add_outer(h, 3 * part, 6, -1, n, turn_f);
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++)
            h[9 * (6 + i) + 6 + j] -= turn_x[i] * turn_f[j] + turn_f[i] * turn_x[j] +
                                      0.5 * x_n * (f[i] * n[j] + n[i] * f[j]);
}

/* Turn derivatives by v' and e' into those by v, e and w. */
static void unflatten(const double v[3], const double e[3], const double n[3], const flat *at,
                      const double g[6], const double k[36], double gradient[9], double hessian[81])
{
    double t[6][9] = {{0}}, kt[6][9];
    flat_rows(v, n, at->v_n, 0, t);
    flat_rows(e, n, at->e_n, 1, t);
    for (int j = 0; j < 9; j++) {
        gradient[j] = 0;
        for (int i = 0; i < 6; i++) {
            gradient[j] += g[i] * t[i][j];
            kt[i][j] = 0;
            for (int m = 0; m < 6; m++) kt[i][j] += k[6 * i + m] * t[m][j];
        }
    }
    for (int i = 0; i < 9; i++)
        for (int j = 0; j < 9; j++) {
            hessian[9 * i + j] = 0;
            for (int m = 0; m < 6; m++) hessian[9 * i + j] += t[m][i] * kt[m][j];
        }
    add_bend(hessian, 0, v, at->v_n, g, n);
    add_bend(hessian, 1, e, at->e_n, g + 3, n);
}

/* Multiply by the share that lies side by side, o(|s|/height), at the slip s = c.n, where c = v -
 * e/2 goes from the middle of the piece to the point. */
static void times_side(const double v[3], const double e[3], const double n[3], double slip,
                       const double o[3], double height, double energy, double g[9], double h[81])
{
    const double by = (slip < 0 ? -1 : 1) * o[1] / height, bend = o[2] / (height * height);
    const double c[3] = {v[0] - 0.5 * e[0], v[1] - 0.5 * e[1], v[2] - 0.5 * e[2]};
    const double spin[3][3] = {{0, n[2], -n[1]}, {-n[2], 0, n[0]}, {n[1], -n[0], 0}};
    double ds[9], turn[3];
    sp_cross(n, c, turn);
    for (int i = 0; i < 3; i++) ds[i] = n[i], ds[3 + i] = -0.5 * n[i], ds[6 + i] = turn[i];
    for (int i = 0; i < 9; i++)
        for (int j = 0; j < 9; j++)
            h[9 * i + j] = o[0] * h[9 * i + j] + by * (g[i] * ds[j] + ds[i] * g[j]) +
                           energy * bend * ds[i] * ds[j];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 3; j++) { /* derivatives of the slip: dc.(w x n) and c.d2n */
            const double k = energy * by, unit = i == j ? slip : 0;
            h[9 * i + 6 + j] += k * spin[i][j];
            h[9 * (6 + j) + i] += k * spin[i][j];
            h[9 * (3 + i) + 6 + j] -= 0.5 * k * spin[i][j];
            h[9 * (6 + j) + 3 + i] -= 0.5 * k * spin[i][j];
            h[9 * (6 + i) + 6 + j] += k * (0.5 * (c[i] * n[j] + n[i] * c[j]) - unit);
        }
    for (int i = 0; i < 9; i++) g[i] = o[0] * g[i] + energy * by * ds[i];
}

double sp_wall_energy(const double v[3], const double e[3], const double n[3], double height,
                      double rest, double gradient[9], double hessian[81])
{
    const flat at = flatten(v, e, n);
    const double slip = at.v_n - 0.5 * at.e_n, share = fabs(slip) / height;
    double g[6], k[36], side[3];
    if (share >= 1 || sp_line_square_spatial(at.v, at.along, at.length) >= rest * rest) return 0;
    const double energy =
        sp_line_energy_spatial(SP_FLAT_FACES, at.v, at.along, at.length, rest, g, k);
    if (!(energy < INFINITY)) return energy;
    side_by_side(share, side);
    unflatten(v, e, n, &at, g, k, gradient, hessian);
    times_side(v, e, n, slip, side, height, energy, gradient, hessian);
    return side[0] * energy;
}

/* ---- pairs ----------------------------------------------- */

/* These are the four chain points of a pair, those of `from` first, at one level of the depth. */
typedef struct level {
    int number;
    double position[4][3], arm[4][3];
    const double *axis[4];
} level;

static double height_of(const sp_contact *contact, const sp_candidate *c)
{
    return contact->model->strut_width[contact->model->point_strut[c->from]];
}

static void lift(const sp_contact *contact, const sp_candidate *c, int number, level *at)
{
    const double z = sp_wall_level[number] * height_of(contact, c);
    at->number = number;
    for (int i = 0; i < 4; i++) {
        const int k = i < 2 ? c->from + i : c->to + i - 2;
        at->axis[i] = contact->depth_axis + 3 * k;
        for (int d = 0; d < 3; d++) {
            at->position[i][d] = contact->position[3 * k + d] + z * at->axis[i][d];
            at->arm[i][d] = contact->turned[3 * k + d] + z * at->axis[i][d];
        }
    }
}

/* Return how far the sides of a wall reach along the depth, its slip included. */
static double span_of(const sp_contact *contact, int point)
{
    const sp_model *model = contact->model;
    return (1 + sp_wall_level[SP_WALL_LEVELS - 1]) * model->strut_width[model->point_strut[point]];
}

double sp_wall_aslant(const sp_contact *contact, int segment)
{
    double most = 0;
    if (!contact->depth_axis) return 0;
    for (int i = 0; i < 2; i++) {
        const double *n = contact->depth_axis + 3 * (segment + i);
        most = fmax(most, n[0] * n[0] + n[1] * n[1]);
    }
    return span_of(contact, segment) * sqrt(most);
}

double sp_wall_turned(const sp_contact *contact, int point, const double *before)
{
    const double *n = contact->depth_axis + 3 * point, *b = before + 3 * point;
    const double turn[3] = {n[0] - b[0], n[1] - b[1], n[2] - b[2]};
    return span_of(contact, point) * sqrt(sp_dot(turn, turn));
}

/* Find the contact point at f of the first segment of a pair (of the second, when `back`): its
 * vector from the other piece, and that piece; returns the depth direction at its nearer node. */
static const double *point_of(const level *at, int back, double f, double v[3], double e[3])
{
    const int x = back ? 2 : 0, y = 2 - x;
    for (int d = 0; d < 3; d++) {
        v[d] = (1 - f) * at->position[x][d] + f * at->position[x + 1][d] - at->position[y][d];
        e[d] = at->position[y + 1][d] - at->position[y][d];
    }
    return at->axis[x + (f > 0.5)];
}

/* The spins of the four chain points add this to the sum of a pair: the gradient, the Hessian of
 * each, and that of the positions (rows) with each; `presses` is 1 when any point presses. */
typedef struct spin_sum {
    double g[4][3], own[4][9], mixed[4][4][9];
    int presses;
} spin_sum;

/* Return 1 when two walls are certainly out of reach, however far they have slipped through the
 * depth. Their middles are `m` apart, across the depth direction of one node. Another depth
 * direction leans against this one by an angle a: across it they are no less than |across| cos a -
 * |m.n| sin a apart, and at a level of the depth they are nearer by the difference of their
 * directions. */
static int is_aside(const sp_contact *contact, const sp_candidate *c, double limit)
{
    const double *p = contact->piece + 7 * c->from, *q = contact->piece + 7 * c->to;
    const double *n = contact->depth_axis + 3 * c->from;
    const double *other[3] = {n + 3, contact->depth_axis + 3 * c->to,
                              contact->depth_axis + 3 * (c->to + 1)};
    const double m[3] = {p[0] - q[0], p[1] - q[1], p[2] - q[2]}, m_n = sp_dot(m, n);
    const double across = sqrt(fmax(0, sp_dot(m, m) - m_n * m_n));
    const double reach = limit + 0.5 * (p[3] + q[3]);
    if (across <= reach) return 0;
    double most = 0;
    for (int i = 0; i < 3; i++) {
        const double turn[3] = {other[i][0] - n[0], other[i][1] - n[1], other[i][2] - n[2]};
        most = fmax(most, sp_dot(turn, turn));
    }
    const double chord = sqrt(most); /* 2 sin(a / 2), and sin a is no more */
    const double deep = sp_wall_level[SP_WALL_LEVELS - 1] * height_of(contact, c);
    return across * (1 - 0.5 * most) - (fabs(m_n) + 2 * deep) * chord > reach;
}

int sp_wall_is_within(sp_contact *contact, sp_candidate *c, double limit, double *distance)
{
    if (is_aside(contact, c, limit) || !sp_contact_presses(contact, c)) return 0;
    double nearest = INFINITY;
    for (int k = 0; k < 2 * SP_WALL_LEVELS; k++) { /* levels, ways */
        level at;
        const int points = contact->wall_spread[k % 2 ? c->to : c->from];
        lift(contact, c, k / 2, &at);
        for (int i = 0; i < points; i++) {
            double v[3], e[3];
            const double *n = point_of(&at, k % 2, sp_contact_place_of(points, i), v, e);
            nearest = fmin(nearest, sp_wall_square(v, e, n));
        }
    }
    *distance = sqrt(nearest);
    return *distance < limit;
}

/* Add k times the derivatives of the contact point at f of the first (or second) segment, by the
 * spin of its node. */
static void add_spin(spin_sum *sum, int back, double f, double k, const double g[9],
                     const double h[81])
{
    const int x = back ? 2 : 0, y = 2 - x, own = x + (f > 0.5);
    const double w[2] = {1 - f, f};
    for (int i = 0; i < 3; i++) {
        sum->g[own][i] += k * g[6 + i];
        for (int j = 0; j < 3; j++) {
            const int at = 3 * i + j;
            const double v = k * h[9 * i + 6 + j], e = k * h[9 * (3 + i) + 6 + j];
            sum->own[own][at] += k * h[9 * (6 + i) + 6 + j];
            sum->mixed[x][own][at] += w[0] * v;
            sum->mixed[x + 1][own][at] += w[1] * v;
            sum->mixed[y][own][at] -= v + e;
            sum->mixed[y + 1][own][at] += e;
        }
    }
}

/* Add m (rows: displacement and spin of the node of a position, columns: of a node that spins) to
 * the displacement and, by its arm, to the spin of that node; or add the transposed. */
static void add_mixed(double m[36], const double x[9], const double arm[3], int transposed)
{
    for (int j = 0; j < 3; j++) {
        const double column[3] = {x[j], x[3 + j], x[6 + j]};
        double moment[3];
        sp_cross(arm, column, moment);
        for (int i = 0; i < 3; i++) {
            m[transposed ? SIDE * (3 + j) + i : SIDE * i + 3 + j] += column[i];
            m[transposed ? SIDE * (3 + j) + 3 + i : SIDE * (3 + i) + 3 + j] += moment[i];
        }
    }
}

static void scatter_spins(const sp_contact *contact, const int point[4], const level *at,
                          const int *block, const spin_sum *sum, double *gradient,
                          sp_blocks *blocks)
{
    const int *node = contact->model->point_node;
    for (int i = 0, b = 0; i < 4; i++) {
        for (int d = 0; d < 3; d++) gradient[SIDE * node[point[i]] + 3 + d] += sum->g[i][d];
        for (int j = 0; j <= i; j++, b++) {
            double m[SIDE * SIDE] = {0};
            add_mixed(m, sum->mixed[i][j], at->arm[i], 0);
            add_mixed(m, sum->mixed[j][i], at->arm[j], 1);
            for (int r = 0; i == j && r < 3; r++)
                for (int s = 0; s < 3; s++) m[SIDE * (3 + r) + 3 + s] += sum->own[i][3 * r + s];
            sp_contact_put_block(blocks->value + SIDE * SIDE * block[b], m, SIDE, node[point[i]],
                                 node[point[j]], i == j);
        }
    }
}

/* Press the points of one segment on the other at one level, as in the plane. */
static void press_on(sp_contact *contact, const sp_candidate *c, int back, const level *at,
                     sp_pair_sum *sum, spin_sum *spins)
{
    const sp_model *model = contact->model;
    const int from = back ? c->to : c->from, to = back ? c->from : c->to;
    const int points = contact->wall_spread[from];
    const double height = height_of(contact, c); /* two levels, two ways */
    const double weight = 0.25 * (model->point_arc[from + 1] - model->point_arc[from]) / points *
                          model->layer_modulus * height;
    for (int i = 0; i < points; i++) {
        const double f = sp_contact_place_of(points, i);
        double rest = c->touch, v[3], e[3], g[9], h[81], flat_h[36];
        const double *n = point_of(at, back, f, v, e), square = sp_wall_square(v, e, n);
        if (square < contact->closest_square) contact->closest_square = square;
        if (square >= rest * rest) continue;
        if (c->overlaps) {
            rest = sp_contact_layer_at(contact, c, from, f, to, i);
            if (square >= rest * rest) continue;
        }
        double energy = sp_wall_energy(v, e, n, height, rest, g, h);
        if (contact->layers.on && energy > 0 && energy < INFINITY &&
            !sp_contact_relax(contact,
                              sp_contact_layer_place(c, from, at->number, i, contact->wall_spread),
                              weight * rest, 9, &energy, g, h))
            continue;
        sum->energy += weight * rest * energy;
        if (!(energy > 0) || !(energy < INFINITY)) continue;
        spins->presses = 1;
        for (int r = 0; r < 6; r++) memcpy(flat_h + 6 * r, h + 9 * r, 6 * sizeof *h);
        sp_spatial_add_whole(sum, back, f, weight * rest, g, flat_h);
        add_spin(spins, back, f, weight * rest, g, h);
        if (!contact->friction.first) continue;
        const sp_load load = {.from = from, .on = to, .place = f, .stiffness = weight / rest};
        sp_contact_note_spatial(contact, load, weight * rest, g);
    }
}

double sp_wall_contact(sp_contact *contact, sp_candidate *c, double *gradient, sp_blocks *blocks)
{
    const int point[4] = {c->from, c->from + 1, c->to, c->to + 1};
    double energy = 0;
    int presses = 0, *block = sp_contact_block(contact, c);
    if (is_aside(contact, c, c->touch)) return 0;
    for (int k = 0; k < SP_WALL_LEVELS; k++) {
        level at;
        sp_pair_sum sum = {0};
        spin_sum spins = {0};
        lift(contact, c, k, &at);
        press_on(contact, c, 0, &at, &sum, &spins);
        press_on(contact, c, 1, &at, &sum, &spins);
        energy += sum.energy;
        if (!spins.presses || !(sum.energy < INFINITY)) continue;
        presses = 1;
        if (!sp_contact_has_blocks(contact, blocks, c->from, c->to, block)) break;
        const double *arm[4] = {at.arm[0], at.arm[1], at.arm[2], at.arm[3]};
        sp_spatial_scatter_arms(contact, point, 4, arm, block, &sum, gradient, blocks);
        scatter_spins(contact, point, &at, block, &spins, gradient, blocks);
    }
    contact->active += presses;
    return energy;
}
