/* This is the contact of pairs of segments in the plane, and of segments with the platens (E8 to
 * E11). Positions have 2 numbers per chain point, pieces 5. */
#include <math.h>

#include "gap/line.h"
#include "gap/line_points.h"
#include "contact/planar_pair.h"

/* Pairs this close to touching, as a share of the thinnest strut, have blocks in the stiffness:
 * more pairs would only fill it. */
static const double near_share = 0.5;
/* Return the square of the distance of the contact points from the other segment. */
static double points_square(const sp_contact *contact, const sp_candidate *c)
{
    double nearest = INFINITY;
    for (int back = 0; back < 2; back++) {
        const int from = back ? c->to : c->from, to = back ? c->from : c->to;
        const double *piece = contact->piece + 5 * to;
        for (int i = 0; i < contact->spread[from]; i++) {
            double v[2];
            const double f = sp_contact_place_of(contact->spread[from], i);
            sp_contact_reach(2, contact->position, from, f, to, v);
            nearest = fmin(nearest, sp_line_square(v, piece + 3, piece[2]));
        }
    }
    return nearest;
}

/* Judge the distance of the segments, or, where they overlap in the unloaded coupon, that of their
 * contact points. */
static int is_within(sp_contact *contact, sp_candidate *c, double limit, double *distance)
{
    if (sp_contact_is_aside(contact, 2, c->from, c->to, limit) || !sp_contact_presses(contact, c))
        return 0;
    *distance = sqrt(c->overlaps ? points_square(contact, c)
                                 : sp_contact_segment_square(contact, 2, c->from, c->to));
    return *distance < limit;
}

static int is_near(sp_contact *contact, sp_candidate *c)
{
    double distance;
    return is_within(contact, c, c->touch + near_share * contact->model->thinnest, &distance);
}

/* These are points that wait to be worked out: the points of a pair follow each other, and pairs
 * stay in order. */
typedef struct waiting {
    int count;
    sp_waiting_point point[SP_LINE_POINTS];
    sp_line_points points;
    sp_candidate *pair; /* pair whose sum is being made, NULL: none */
    sp_planar_sum sum;
    double energy; /* energy of the pairs that are finished */
} waiting;

/* Add the sum of the present pair to the potential. */
static void finish_pair(sp_contact *contact, waiting *w, double *gradient, sp_blocks *blocks)
{
    sp_candidate *c = w->pair;
    if (!c) return;
    w->pair = NULL;
    w->energy += w->sum.energy;
    if (!(w->sum.energy < INFINITY)) return;
    const int point[4] = {c->from, c->from + 1, c->to, c->to + 1};
    if (sp_contact_has_blocks(contact, blocks, c->from, c->to, c->block))
        sp_planar_scatter(contact, point, 4, c->block, &w->sum, gradient, blocks);
    contact->active++;
}

static void work_out(sp_contact *contact, waiting *w, double *gradient, sp_blocks *blocks)
{
    const sp_line_points *at = &w->points;
    sp_line_points_eval(w->count, &w->points);
    for (int i = 0; i < w->count; i++) {
        const sp_waiting_point *p = &w->point[i];
        const double rest = at->rest[i], scale = p->weight * rest;
        double energy = at->energy[i];
        double g[4] = {at->g[0][i], at->g[1][i], at->g[2][i], at->g[3][i]};
        double vv[4] = {at->vv[0][i], at->vv[1][i], at->vv[2][i], at->vv[3][i]};
        double ev[4] = {at->ev[0][i], at->ev[1][i], at->ev[2][i], at->ev[3][i]};
        double ee[4] = {at->ee[0][i], at->ee[1][i], at->ee[2][i], at->ee[3][i]};
        if (contact->layers.on && energy < INFINITY &&
            !sp_contact_relax_pair(contact, sp_waiting_layer(contact, p), scale, 2, &energy, g, vv,
                                   ev, ee))
            continue;
        if (p->of != w->pair) {
            finish_pair(contact, w, gradient, blocks);
            w->pair = p->of;
            w->sum = (sp_planar_sum){0};
        }
        w->sum.energy += scale * energy;
        if (!(energy < INFINITY)) continue;
        sp_planar_add_point(&w->sum, p->back, p->place, scale, g, vv, ev, ee);
        if (contact->friction.first)
            sp_contact_note_planar(contact, sp_waiting_load(p, rest), scale, g);
    }
    w->count = 0;
}

/* Find which of the points of a segment, first to last, can be nearer than `reach` to the line
 * through a piece: all others are certainly out of reach. */
static void find_reach(const sp_contact *contact, int from, int to, double reach, int points,
                       int *first, int *last)
{
    static const double round_off = 1e-9;
    const double *x = contact->position + 2 * from, *y = contact->position + 2 * to;
    const double *n = contact->piece + 5 * to + 3;
    /* The distance from the line is linear in the place on the segment. */
    const double one = (x[1] - y[1]) * n[0] - (x[0] - y[0]) * n[1];
    const double other = (x[3] - y[1]) * n[0] - (x[2] - y[0]) * n[1];
    const double wide = reach * (1 + round_off) + round_off * (fabs(one) + fabs(other));
    *first = 0;
    *last = points - 1;
    if ((one > wide && other > wide) || (one < -wide && other < -wide)) {
        *last = -1;
        return;
    }
    if (fabs(one) <= wide && fabs(other) <= wide) return;
    const double inverse = 1 / (other - one);
    const double low = (-wide - one) * inverse, high = (wide - one) * inverse;
    const double begin = points * fmin(low, high) - 0.5, end = points * fmax(low, high) - 0.5;
    if (begin > 0) *first = (int)begin;
    if (end + 1 < *last) *last = (int)(end + 1);
}

/* Press the points of one segment on the other; both ways count half. Candidates are scattered over
 * the memory, so only those that press are fetched. */
static void press_on(sp_contact *contact, const sp_brief *b, sp_candidate *c, int back, waiting *w,
                     double *gradient, sp_blocks *blocks)
{
    const sp_model *model = contact->model;
    const int from = back ? b->to : b->from, to = back ? b->from : b->to;
    const double *piece = contact->piece + 5 * to;
    const int points = contact->spread[from];
    const double weight = 0.5 * sp_contact_weight(model, points, from, model->depth);
    int first, last;
    find_reach(contact, from, to, fmax(b->touch, model->thinnest), points, &first, &last);
    for (int i = first; i <= last; i++) {
        const double f = sp_contact_place_of(points, i);
        double rest = b->touch, v[2];
        sp_contact_reach(2, contact->position, from, f, to, v);
        const double square = sp_line_square(v, piece + 3, piece[2]);
        if (square < contact->closest_square) contact->closest_square = square;
        if (square >= rest * rest) continue;
        if (b->overlaps) {
            const int before = back ? contact->spread[b->from] : 0;
            rest = sp_contact_layer_kept(contact, c, b->layers, before, from, f, to, i);
            if (square >= rest * rest) continue;
        }
        if (square == 0) {
            w->energy = INFINITY;
            continue;
        }
        if (w->count == SP_LINE_POINTS) work_out(contact, w, gradient, blocks);
        const int at = w->count++;
        __builtin_prefetch(&c->block);
        w->point[at] = (sp_waiting_point){c, back, i, f, weight};
        sp_line_put_point(&w->points, at, v, piece + 3, piece[2], rest);
    }
}

/* Add the layer between a platen, which is a plane, and a contact point at distance d. `sign` is +1
 * for the lower platen, -1 for the upper. */
static double platen_contact(sp_contact *contact, int segment, double f, double d, double sign,
                             double *gradient, sp_blocks *blocks, sp_platen_push *push,
                             double *coupling)
{
    const sp_model *model = contact->model;
    const double *y = contact->rest_position + 2 * segment;
    if (d >= 0.5 * sp_model_piece_thickness(model, segment)) return 0;
    const double rest =
        sp_contact_platen_layer(model, segment, (1 - f) * y[1] + f * y[3], sign < 0);
    if (rest <= 0 || d >= rest) return 0;
    if (d <= 0) return INFINITY;
    const double k = sp_contact_weight(model, contact->spread[segment], segment, model->depth);
    double w[3];
    sp_layer_smooth(SP_FLAT_FACES, d / rest, w);
    if (contact->layers.on &&
        !sp_contact_relax(contact,
                          sp_contact_platen_place(segment, sign < 0, 0, f, contact->spread),
                          k * rest, 1, w, w + 1, w + 2))
        return 0;
    const double p = -k * w[1],
                 stiffness = k * w[2] / rest; /* push, and its growth as the layer thins */
    const double share[2] = {1 - f, f};
    double moved = 0; /* share of the height that goes down with the upper platen */
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
    const double *a = contact->position + 2 * segment, x = share[0] * a[0] + share[1] * a[2];
    push->moment[1] += sign * p * x;
    contact->active++;
    if (contact->friction.first)
        sp_friction_note(&contact->friction,
                         (sp_load){.from = segment,
                                   .on = sign > 0 ? SP_ON_LOWER_PLATEN : SP_ON_UPPER_PLATEN,
                                   .place = share[1],
                                   .push = {0, p, 0},
                                   .stiffness = k / rest,
                                   .foot = {x}});
    return k * rest * w[0];
}

static double press(sp_contact *contact, double *gradient, sp_blocks *blocks, sp_platen_push *push,
                    double *coupling)
{
    const double touch = contact->model->thickest; /* of a thinner pair: the more so */
    const int near = sp_contact_near_within(contact, touch, touch);
    waiting w;
    w.count = 0;
    w.pair = NULL;
    w.energy = 0;
    for (int i = 0; i < near; i++) {
        const sp_brief *b = &contact->brief[i];
        if (sp_contact_is_aside(contact, 2, b->from, b->to, b->touch)) continue;
        sp_candidate *c = &contact->candidate[contact->near[i]];
        press_on(contact, b, c, 0, &w, gradient, blocks);
        press_on(contact, b, c, 1, &w, gradient, blocks);
    }
    work_out(contact, &w, gradient, blocks);
    finish_pair(contact, &w, gradient, blocks);
    double energy = w.energy;
    for (int k = 0; k + 1 < contact->model->point_count; k++) {
        const double y0 = contact->position[2 * k + 1], y1 = contact->position[2 * k + 3];
        if (contact->model->point_strut[k] != contact->model->point_strut[k + 1] ||
            !sp_contact_near_platens(contact, y0, y1))
            continue;
        for (int i = 0; i < contact->spread[k]; i++) {
            const double f = sp_contact_place_of(contact->spread[k], i), y = (1 - f) * y0 + f * y1;
            energy += platen_contact(contact, k, f, y, 1, gradient, blocks, push, coupling);
            energy += platen_contact(contact, k, f, contact->gap - y, -1, gradient, blocks, push,
                                     coupling);
        }
    }
    return energy;
}

const sp_contact_law sp_contact_planar = {is_within, is_near, press, sp_contact_rub_planar};
