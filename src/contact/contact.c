/* Contact energy, gradient and Hessian: pairs of segments, then platens (E8 to E11). */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "contact/contact.h"
#include "contact/line.h"

/* Candidates reach this share of the thinnest strut beyond touching: searches cost more than the pairs they add. */
static const double skin_share = 2.2;
/* Those on the short list this share. */
static const double near_skin_share = 0.6;
/* Pairs this close to touching (of the thinnest strut) have their place in the stiffness: more would only fill it. */
static const double near_share = 0.5;
/* No pair of struts comes nearer in one move than by this share of its distance. */
static const double approach_share = 0.4;

sp_status sp_contact_create(sp_context *context, const sp_model *model, sp_contact *contact)
{
    memset(contact, 0, sizeof *contact);
    contact->model = model;
    contact->skin = skin_share * model->thinnest;
    contact->near_skin = near_skin_share * model->thinnest;
    const size_t points = (size_t)model->point_count;
    contact->position = sp_alloc((size_t)model->dimension * points, sizeof(double));
    contact->turned = sp_alloc((size_t)model->dimension * points, sizeof(double));
    contact->searched = sp_alloc(2 * points, sizeof(double));
    contact->listed = sp_alloc(2 * points, sizeof(double));
    contact->piece = sp_alloc(5 * points, sizeof(double));
    contact->rest_position = sp_alloc(2 * points, sizeof(double));
    contact->platen_rest = sp_alloc(4 * points, sizeof(double));
    contact->platen_block = sp_alloc(3 * points, sizeof(int));
    contact->cell_item = sp_alloc(points, sizeof(int));
    if (!contact->position || !contact->turned || !contact->searched || !contact->listed ||
        !contact->piece || !contact->rest_position || !contact->platen_rest ||
        !contact->platen_block || !contact->cell_item) {
        sp_contact_free(contact);
        return sp_fail(context, SP_NO_MEMORY, "no memory for the contact of %d points",
                       model->point_count);
    }
    sp_contact_place(contact, model->reference, model->height);
    if (model->dimension == 3) return SP_OK;
    memcpy(contact->rest_position, contact->position, 2 * points * sizeof(double));
    sp_contact_set_platens(contact);
    return SP_OK;
}

void sp_contact_free(sp_contact *contact)
{
    sp_free(contact->candidate);
    sp_free(contact->near);
    sp_free(contact->position);
    sp_free(contact->turned);
    sp_free(contact->searched);
    sp_free(contact->listed);
    sp_free(contact->piece);
    sp_free(contact->rest_position);
    sp_free(contact->platen_rest);
    sp_free(contact->platen_block);
    sp_free(contact->cell_first);
    sp_free(contact->cell_item);
    memset(contact, 0, sizeof *contact);
}

void sp_contact_place(sp_contact *contact, const double *x, double gap)
{
    const sp_model *model = contact->model;
    contact->gap = gap;
    sp_model_points(model, x, contact->position);
    const int n = model->dimension;
    for (int k = 0; k < model->point_count; k++)
        for (int d = 0; d < n; d++)
            contact->turned[n * k + d] =
                contact->position[n * k + d] - x[model->values * model->point_node[k] + d];
    if (n == 3) return;
    for (int k = 0; k + 1 < model->point_count; k++) {
        const double *a = contact->position + 2 * k, dx = a[2] - a[0], dy = a[3] - a[1];
        double *piece = contact->piece + 5 * k;
        piece[0] = 0.5 * (a[0] + a[2]);
        piece[1] = 0.5 * (a[1] + a[3]);
        piece[2] = sqrt(dx * dx + dy * dy);
        const double inverse = piece[2] > 0 ? 1 / piece[2] : 0;
        piece[3] = dx * inverse;
        piece[4] = dy * inverse;
    }
}

void sp_contact_nodes(const sp_model *model, const sp_candidate *candidate, int node[4])
{
    for (int i = 0; i < 2; i++) {
        node[i] = model->point_node[candidate->from + i];
        node[2 + i] = model->point_node[candidate->to + i];
    }
}

/* All blocks of one candidate, or none. */
static void find_candidate_blocks(const sp_model *model, const sp_blocks *blocks, sp_candidate *c)
{
    int node[4];
    sp_contact_nodes(model, c, node);
    for (int a = 0, k = 0; a < 4; a++)
        for (int b = 0; b <= a; b++, k++) {
            c->block[k] = sp_blocks_find(blocks, node[a], node[b]);
            if (c->block[k] < 0) {
                c->block[0] = -1;
                return;
            }
        }
}

void sp_contact_find_blocks(sp_contact *contact, const sp_blocks *blocks)
{
    const sp_model *model = contact->model;
    if (model->dimension == 3) return;
    for (int i = 0; i < contact->candidate_count; i++) contact->candidate[i].block[0] = -1;
    for (int k = 0; k + 1 < model->point_count; k++) {
        const int a = model->point_node[k], b = model->point_node[k + 1];
        if (model->point_strut[k] != model->point_strut[k + 1]) continue;
        contact->platen_block[3 * k] = sp_blocks_find(blocks, a, a);
        contact->platen_block[3 * k + 1] = sp_blocks_find(blocks, a, b);
        contact->platen_block[3 * k + 2] = sp_blocks_find(blocks, b, b);
    }
}

/* 1 when the two segments may press on each other at all, and come nearer than `limit` where they are placed;
 * *distance gets the distance of their contact points then. */
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

int sp_contact_is_near(sp_contact *contact, sp_candidate *c)
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
    static const int place[2][10] = {{0, 1, 2, 3, 4, 6, 7, 5, 8, 9},
                                     {5, 8, 9, 3, 6, 4, 7, 0, 1, 2}};
    const int *at = place[back], x = back ? 4 : 0, y = 4 - x;
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

/* Add the 3 x 3 block m of nodes i >= j in the pair's order to where it lives. */
static void put_block(double *v, const double *m, int one, int other, int diagonal)
{
    if (!diagonal && one == other) /* both triangles fall into one diagonal block */
        for (int r = 0; r < 3; r++)
            for (int s = 0; s < 3; s++) v[3 * r + s] += m[3 * r + s] + m[3 * s + r];
    else if (one < other)
        for (int r = 0; r < 3; r++)
            for (int s = 0; s < 3; s++) v[3 * r + s] += m[3 * s + r];
    else
        for (int r = 0; r < 9; r++) v[r] += m[r];
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
            put_block(v, m, node[i], node[j], i == j);
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
    if (c->block[0] < 0) find_candidate_blocks(contact->model, blocks, c);
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
    double dy[2][3]; /* d(height of the point) / d(x y theta) of both nodes */
    for (int i = 0; i < 2; i++) {
        const double *e = contact->turned + 2 * (segment + i);
        const int node = model->point_node[segment + i];
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
        push->upper += p, push->tangent += stiffness;
    contact->active++;
    return k * rest * w[0];
}

double sp_contact_eval(sp_contact *contact, double *gradient, sp_blocks *blocks,
                       sp_platen_push *push, double *coupling)
{
    const sp_model *model = contact->model;
    const double gap = contact->gap, low = model->thickest, high = gap - model->thickest;
    double energy = 0;
    contact->active = contact->missing = 0;
    contact->closest_square = model->thinnest * model->thinnest;
    *push = (sp_platen_push){0, 0, 0};
    if (model->dimension == 3) return 0;
    for (int i = 0; i < contact->near_count; i++)
        energy += strut_contact(contact, &contact->candidate[contact->near[i]], gradient, blocks);
    for (int k = 0; k + 1 < model->point_count; k++) {
        const double *rest = contact->platen_rest + 4 * k;
        const double y0 = contact->position[2 * k + 1], y1 = contact->position[2 * k + 3];
        if (y0 > low && y1 > low && y0 < high && y1 < high) continue;
        for (int i = 0; i < 2; i++) {
            const double y = sp_contact_height(contact, k, i);
            energy +=
                platen_contact(contact, k, i, rest[i], y, 1, gradient, blocks, push, coupling);
            energy += platen_contact(contact, k, i, rest[2 + i], gap - y, -1, gradient, blocks,
                                     push, coupling);
        }
    }
    return energy;
}

/* Furthest move of a point that cannot take it through one the last search left out [mm]. */
static double move_cap(const sp_contact *contact)
{
    /* Pairs left out were a thickness and a skin apart, may have come nearer by half a skin since, and both may move. */
    return 0.45 * (contact->model->thinnest + 0.5 * contact->skin);
}

/* Square of the largest relative move of any two ends of the two segments. */
static double relative_move(const sp_candidate *c, const double *from, const double *to)
{
    double largest = 0;
    for (int p = 0; p < 2; p++)
        for (int q = 0; q < 2; q++) {
            const int one = 2 * (c->from + p), two = 2 * (c->to + q);
            const double mx = to[one] - from[one] - to[two] + from[two];
            const double my = to[one + 1] - from[one + 1] - to[two + 1] + from[two + 1];
            largest = fmax(largest, mx * mx + my * my);
        }
    return largest;
}

double sp_contact_safe_fraction(sp_contact *contact, const double *to, double most)
{
    const sp_model *model = contact->model;
    if (model->dimension == 3) return most;
    const double *from = contact->position, cap = move_cap(contact);
    double fraction = most, furthest = 0;
    for (int k = 0; k < model->point_count; k++) {
        const double dx = to[2 * k] - from[2 * k], dy = to[2 * k + 1] - from[2 * k + 1];
        furthest = fmax(furthest, dx * dx + dy * dy);
    }
    furthest = sqrt(furthest);
    if (furthest * fraction > cap) fraction = cap / furthest;
    /* No two points move by more than twice the furthest: pairs beyond this reach need no look. Those left off the short
     * list have come nearer by half its skin at most. */
    const double reach = 2 * furthest * fraction / approach_share;
    if (reach * reach <= contact->closest_square) return fraction;
    const int list_will_do = reach < model->thinnest + 0.5 * contact->near_skin;
    const int count = list_will_do ? contact->near_count : contact->candidate_count;
    for (int i = 0; i < count; i++) {
        sp_candidate *c = &contact->candidate[list_will_do ? contact->near[i] : i];
        if (!sp_contact_may_press(contact, c, reach)) continue;
        const double move = sqrt(relative_move(c, from, to));
        double distance; /* neighbours mostly move together */
        if (is_within(contact, c, move * fraction / approach_share, &distance))
            fraction = approach_share * distance / move;
    }
    return fraction;
}
