/* Pairs of segments in the plane and under the platens (E8 to E11). Positions: 2 per chain point; pieces: 5. */
#include <math.h>

#include "contact/line.h"
#include "contact/parts.h"

/* Height of one of the two contact points of a segment, where it is placed [mm]. */
static double height(const sp_contact *contact, int segment, int which)
{
    const double f = sp_contact_place_at[which], *a = contact->position + 2 * segment;
    return (1 - f) * a[1] + f * a[3];
}

/* Pairs this close to touching (of the thinnest strut) have their place in the stiffness: more would only fill it. */
static const double near_share = 0.5;

/* The distance is that of the contact points. */
static int is_within(sp_contact *contact, sp_candidate *c, double limit, double *distance)
{
    if (!sp_contact_may_press(contact, c, limit)) return 0;
    double nearest = INFINITY;
    for (int back = 0; back < 2; back++) {
        const int from = back ? c->to : c->from, to = back ? c->from : c->to;
        const double *piece = contact->piece + 5 * to;
        for (int i = 0; i < 2; i++) {
            double v[2];
            sp_contact_reach(contact->position, from, i, to, v);
            nearest = fmin(nearest, sp_line_square(v, piece + 3, piece[2]));
        }
    }
    *distance = sqrt(nearest);
    return *distance < limit;
}

static int is_near(sp_contact *contact, sp_candidate *c)
{
    double distance;
    return is_within(contact, c, c->touch + near_share * contact->model->thinnest, &distance);
}

/* What one pair of segments adds, in the positions of its four points: gradient and lower 2 x 2 blocks of the Hessian
 * in the order (0,0) (1,0) (1,1) (2,0) ... (3,3), rows of a block first. */
typedef struct pair_sum {
    int empty; /* nothing added yet, the rest is not set */
    double energy, g[8], h[10][4];
} pair_sum;

static void add_block(double *out, double k, const double *m)
{
    for (int i = 0; i < 4; i++) out[i] += k * m[i];
}

/* Sums of one contact point p = (1-f) x0 + f x1 against the piece from a to b, from derivatives by v = p - a, e = b - a.
 * The pair's points are (x0 x1 a b), or (a b x0 x1) when `back`. */
static void add_point(pair_sum *sum, int back, double f, double k, const double g[4],
                      const double h[16])
{
    const int *at = sp_contact_pair_place[back], x = back ? 4 : 0, y = 4 - x;
    const double w[2] = {1 - f, f};
    const double vv[4] = {h[0], h[1], h[4], h[5]}, ee[4] = {h[10], h[11], h[14], h[15]};
    double ev[4] = {h[8], h[9], h[12], h[13]}, av[4], aa[4], be[4]; /* row e, column v */
    for (int i = 0; i < 4; i++) {
        const int t = i == 1 ? 2 : i == 2 ? 1 : i;
        av[i] = vv[i] + ev[i];
        aa[i] = av[i] + ev[t] + ee[i];
        be[i] = ev[i] + ee[i];
    }
    for (int d = 0; d < 2; d++) {
        sum->g[x + d] += k * w[0] * g[d];
        sum->g[x + 2 + d] += k * w[1] * g[d];
        sum->g[y + d] -= k * (g[d] + g[2 + d]);
        sum->g[y + 2 + d] += k * g[2 + d];
    }
    add_block(sum->h[at[0]], k * w[0] * w[0], vv);
    add_block(sum->h[at[1]], k * w[0] * w[1], vv);
    add_block(sum->h[at[2]], k * w[1] * w[1], vv);
    add_block(sum->h[at[7]], k, aa);
    add_block(sum->h[at[8]], -k, be);
    add_block(sum->h[at[9]], k, ee);
    if (back) { /* rows are the point's then: transpose */
        double swap = av[1];
        av[1] = av[2];
        av[2] = swap;
        swap = ev[1];
        ev[1] = ev[2];
        ev[2] = swap;
    }
    add_block(sum->h[at[3]], -k * w[0], av);
    add_block(sum->h[at[4]], -k * w[1], av);
    add_block(sum->h[at[5]], k * w[0], ev);
    add_block(sum->h[at[6]], k * w[1], ev);
}

/* Positions to node values: an arm e turned with its node gives dp/dtheta = (-ey, ex) and the curvature -e.g. */
static void scatter(const sp_contact *contact, const sp_candidate *c, const pair_sum *sum,
                    double *gradient, sp_blocks *blocks)
{
    const int point[4] = {c->from, c->from + 1, c->to, c->to + 1};
    int node[4], armed[4];
    double jx[4], jy[4];
    for (int i = 0; i < 4; i++) {
        const double *e = contact->turned + 2 * point[i], *g = sum->g + 2 * i;
        node[i] = contact->model->point_node[point[i]];
        jx[i] = -e[1];
        jy[i] = e[0];
        armed[i] = e[0] != 0 || e[1] != 0;
        double *out = gradient + 3 * node[i];
        out[0] += g[0];
        out[1] += g[1];
        if (!armed[i]) continue;
        out[2] += jx[i] * g[0] + jy[i] * g[1];
        blocks->value[9 * c->block[i * (i + 1) / 2 + i] + 8] -= e[0] * g[0] + e[1] * g[1];
    }
    for (int i = 0, b = 0; i < 4; i++)
        for (int j = 0; j <= i; j++, b++) {
            const double *h = sum->h[b];
            double *v = blocks->value + 9 * c->block[b],
                   m[9] = {h[0], h[1], 0, h[2], h[3], 0, 0, 0, 0};
            if (!armed[i] && !armed[j] && node[i] >= node[j] && (i == j || node[i] != node[j])) {
                v[0] += h[0], v[1] += h[1], v[3] += h[2], v[4] += h[3];
                continue;
            }
            m[2] = m[0] * jx[j] + m[1] * jy[j];
            m[5] = m[3] * jx[j] + m[4] * jy[j];
            for (int s = 0; s < 3; s++) m[6 + s] = jx[i] * m[s] + jy[i] * m[3 + s];
            sp_contact_put_block(v, m, 3, node[i], node[j], i == j);
        }
}

/* The two points of one segment against the other; returns whether any presses. */
static int press_on(sp_contact *contact, const sp_candidate *c, int back, pair_sum *sum)
{
    const sp_model *model = contact->model;
    const int from = back ? c->to : c->from, to = back ? c->from : c->to;
    const double *piece = contact->piece + 5 * to;
    /* two points, two ways */
    const double weight = 0.25 * (model->point_arc[from + 1] - model->point_arc[from]) *
                          model->layer_modulus * model->depth;
    int presses = 0;
    for (int i = 0; i < 2; i++) {
        const double rest = c->rest[2 * back + i];
        double v[2];
        sp_contact_reach(contact->position, from, i, to, v);
        const double square = sp_line_square(v, piece + 3, piece[2]);
        if (square < contact->closest_square) contact->closest_square = square;
        if (square >= rest * rest) continue;
        double g[4], h[16];
        const double energy = sp_line_energy(v, piece + 3, piece[2], rest, g, h);
        if (sum->empty) *sum = (pair_sum){0};
        presses = 1;
        sum->energy += weight * rest * energy;
        if (energy < INFINITY) add_point(sum, back, sp_contact_place_at[i], weight * rest, g, h);
    }
    return presses;
}

static double strut_contact(sp_contact *contact, sp_candidate *c, double *gradient,
                            sp_blocks *blocks)
{
    if (!sp_contact_may_press(contact, c, c->touch)) return 0;
    pair_sum sum;
    sum.empty = 1;
    sum.energy = 0;
    const int one = press_on(contact, c, 0, &sum), other = press_on(contact, c, 1, &sum);
    if ((!one && !other) || !(sum.energy < INFINITY)) return sum.energy;
    if (c->block[0] < 0) sp_contact_find_candidate_blocks(contact->model, blocks, c);
    if (c->block[0] < 0)
        contact->missing++;
    else
        scatter(contact, c, &sum, gradient, blocks);
    contact->active++;
    return sum.energy;
}

/* A platen is a plane: the layer under a contact point at distance d. sign +1: lower, -1: upper. */
static double platen_contact(sp_contact *contact, int segment, int which, double rest, double d,
                             double sign, double *gradient, sp_blocks *blocks, sp_platen_push *push,
                             double *coupling)
{
    const sp_model *model = contact->model;
    if (rest <= 0 || d >= rest) return 0;
    if (d <= 0) return INFINITY;
    const double k = 0.5 * (model->point_arc[segment + 1] - model->point_arc[segment]) *
                     model->layer_modulus * model->depth;
    double w[3];
    sp_layer_smooth(d / rest, w);
    const double p = -k * w[1],
                 stiffness = k * w[2] / rest; /* push, and its growth as the layer thins */
    const double share[2] = {1 - sp_contact_place_at[which], sp_contact_place_at[which]};
    double moved = 0; /* of the height of the point goes down with the upper platen */
    double dy[2][3];  /* d(height of the point) / d(x y theta) of both nodes */
    for (int i = 0; i < 2; i++) {
        const double *e = contact->turned + 2 * (segment + i);
        const int node = model->point_node[segment + i];
        if (model->hold[3 * node + 1] == SP_MOVED) moved += share[i];
        dy[i][0] = 0;
        dy[i][1] = share[i];
        dy[i][2] = share[i] * e[0];
        for (int r = 0; r < 3; r++) {
            const int unknown = model->unknown[3 * node + r];
            gradient[3 * node + r] -= sign * p * dy[i][r];
            if (sign < 0 && unknown >= 0)
                coupling[unknown] += stiffness * dy[i][r]; /* the upper platen comes down */
        }
        blocks->value[9 * contact->platen_block[3 * segment + 2 * i] + 8] +=
            sign * p * share[i] * e[1];
    }
    const int same = model->point_node[segment] == model->point_node[segment + 1];
    const int turned = model->point_node[segment] > model->point_node[segment + 1];
    double *aa = blocks->value + 9 * contact->platen_block[3 * segment],
           *ab = blocks->value + 9 * contact->platen_block[3 * segment + 1];
    double *bb = blocks->value + 9 * contact->platen_block[3 * segment + 2];
    for (int r = 0; r < 3; r++)
        for (int s = 0; s < 3; s++) {
            aa[3 * r + s] += stiffness * dy[0][r] * dy[0][s];
            bb[3 * r + s] += stiffness * dy[1][r] * dy[1][s];
            ab[3 * r + s] += stiffness * (turned ? dy[0][r] * dy[1][s] : dy[1][r] * dy[0][s]);
            if (same) ab[3 * r + s] += stiffness * dy[0][r] * dy[1][s];
        }
    if (sign > 0)
        push->lower += p;
    else
        push->upper += p, push->tangent += stiffness * (1 - 2 * moved);
    contact->active++;
    return k * rest * w[0];
}

static double press(sp_contact *contact, double *gradient, sp_blocks *blocks, sp_platen_push *push,
                    double *coupling)
{
    double energy = 0;
    for (int i = 0; i < contact->near_count; i++)
        energy += strut_contact(contact, &contact->candidate[contact->near[i]], gradient, blocks);
    for (int k = 0; k + 1 < contact->model->point_count; k++) {
        const double *rest = contact->platen_rest + 4 * k;
        const double y0 = contact->position[2 * k + 1], y1 = contact->position[2 * k + 3];
        if (!sp_contact_near_platens(contact, y0, y1)) continue;
        for (int i = 0; i < 2; i++) {
            const double y = height(contact, k, i);
            energy +=
                platen_contact(contact, k, i, rest[i], y, 1, gradient, blocks, push, coupling);
            energy += platen_contact(contact, k, i, rest[2 + i], contact->gap - y, -1, gradient,
                                     blocks, push, coupling);
        }
    }
    return energy;
}

const sp_contact_law sp_contact_plane = {is_within, is_near, press};
