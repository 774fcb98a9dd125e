/* This is the contact of pairs of segments in the plane, and of segments with the platens (E8 to
 * E11). Positions have 2 numbers per chain point, pieces 5. */
#include <math.h>

#include "gap/line.h"
#include "gap/line_points.h"
#include "contact/planar.h"

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
    if (!sp_contact_may_press(contact, c, limit) ||
        sp_contact_is_aside(contact, 2, c->from, c->to, limit))
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

enum { AT_A_TIME = 8 }; /* points of a segment that are looked at together */

#define PAIR_POINTS sp_line_points
#define PAIR_EVAL sp_line_points_eval
#define PAIR_NOTE sp_contact_note_planar
#include "contact/waiting_body.h"

/* Press the points of one segment on the other; both ways count half. Candidates are scattered over
 * the memory, so only those that press are fetched. */
PAIR_PART void press_on(sp_contact *contact, const sp_brief *b, sp_candidate *c, int back,
                        waiting *w, double *gradient, sp_blocks *blocks)
{
    const int from = back ? b->to : b->from, to = back ? b->from : b->to;
    const double *x = contact->position + 2 * from, *y = contact->position + 2 * to;
    const double *piece = contact->piece + 5 * to, *n = piece + 3;
    const int points = contact->spread[from];
    for (int first = 0; first < points; first += AT_A_TIME) {
        double place[AT_A_TIME], v[2][AT_A_TIME], square[AT_A_TIME];
        int hit[AT_A_TIME], hits = 0;
        for (int i = 0; i < AT_A_TIME; i++) {
            const double f = sp_contact_place_of(points, first + i);
            const double at[2] = {(1 - f) * x[0] + f * x[2] - y[0],
                                  (1 - f) * x[1] + f * x[3] - y[1]};
            square[i] = sp_line_square(at, n, piece[2]);
            place[i] = f, v[0][i] = at[0], v[1][i] = at[1];
        }
        /* Most points are out of reach: noting all of them without a branch is faster. */
        for (int i = 0; i < AT_A_TIME && first + i < points; i++) {
            w->closest_square = square[i] < w->closest_square ? square[i] : w->closest_square;
            hit[hits] = i;
            hits += square[i] < b->touch * b->touch;
        }
        for (int h = 0; h < hits; h++) {
            const int i = hit[h], which = first + i;
            double rest = b->touch;
            if (b->overlaps) {
                const int before = back ? contact->spread[b->from] : 0;
                rest =
                    sp_contact_layer_kept(contact, c, b->layers, before, from, place[i], to, which);
                if (square[i] >= rest * rest) continue;
            }
            if (square[i] == 0) {
                w->energy = INFINITY;
                continue;
            }
            if (w->count == SP_LINE_POINTS) work_out(contact, w, gradient, blocks);
            const int at = w->count++;
            __builtin_prefetch(sp_contact_block(contact, c));
            w->point[at] = (sp_waiting_point){
                c, back, which, place[i],
                0.5 * sp_contact_weight(contact->model, points, from, contact->model->depth)};
            sp_line_put_point(&w->points, at, (double[2]){v[0][i], v[1][i]}, n, piece[2], rest);
        }
    }
}

/* Add all pairs of the short list; returns their energy. */
PAIR_PART double press_pairs(sp_contact *contact, double *gradient, sp_blocks *blocks)
{
    const double touch = contact->model->thickest; /* of a thinner pair: the more so */
    const int near = sp_contact_near_within(contact, touch, touch);
    waiting w;
    begin_waiting(&w, NULL);
    for (int i = 0; i < near; i++) {
        const sp_brief *b = &contact->brief[i];
        if (sp_contact_is_aside(contact, 2, b->from, b->to, b->touch)) continue;
        sp_candidate *c = &contact->candidate[contact->near[i]];
        for (int back = 0; back < 2; back++) press_on(contact, b, c, back, &w, gradient, blocks);
        if (contact->missing > 0) break; /* all is evaluated again with another pattern */
    }
    work_out(contact, &w, gradient, blocks);
    finish_pair(contact, &w, gradient, blocks);
    contact->closest_square = fmin(contact->closest_square, w.closest_square);
    return w.energy;
}

#define WAY(NAME, TARGET)                                                                          \
    TARGET static double press_pairs_##NAME(sp_contact *contact, double *gradient,                 \
                                            sp_blocks *blocks)                                     \
    {                                                                                              \
        return press_pairs(contact, gradient, blocks);                                             \
    }

SP_WAY_LIST(WAY)

#define WAY_ROW(NAME, TARGET) press_pairs_##NAME,
static sp_pairs_way *const all[] = {SP_WAY_LIST(WAY_ROW)};

sp_pairs_way *const *sp_contact_pairs_ways(void)
{
    return all;
}

/* Add `stiffness` dy dy' of a segment's two nodes. */
static void add_platen_blocks(const sp_contact *contact, int segment, double stiffness,
                              double dy[2][3], sp_blocks *blocks)
{
    const int *node = contact->model->point_node + segment,
              *block = contact->platen_block + 3 * segment;
    const int same = node[0] == node[1], turned = node[0] > node[1];
    double *aa = blocks->value + 9 * block[0], *ab = blocks->value + 9 * block[1];
    double *bb = blocks->value + 9 * block[2];
    for (int r = 0; r < 3; r++)
        for (int s = 0; s < 3; s++) {
            aa[3 * r + s] += stiffness * dy[0][r] * dy[0][s];
            bb[3 * r + s] += stiffness * dy[1][r] * dy[1][s];
            ab[3 * r + s] += stiffness * (turned ? dy[0][r] * dy[1][s] : dy[1][r] * dy[0][s]);
            if (same) ab[3 * r + s] += stiffness * dy[0][r] * dy[1][s];
        }
}

/* Add the layer between a platen, which is a plane, and the contact point at f of a segment,
 * `distance` from the platen. E10 */
static double platen_contact(sp_contact *contact, int segment, double f, double distance, int upper,
                             double *gradient, sp_blocks *blocks, sp_platen_push *push,
                             double *coupling)
{
    const double *y = contact->rest_position + 2 * segment, *a = contact->position + 2 * segment;
    const double share[2] = {1 - f, f};
    const sp_platen_point point = {.segment = segment,
                                   .upper = upper,
                                   .faces = SP_FLAT_FACES,
                                   .place = f,
                                   .distance = distance,
                                   .height = share[0] * y[1] + share[1] * y[3],
                                   .width = contact->model->depth,
                                   .points = contact->spread[segment],
                                   .spread = contact->spread};
    sp_platen_layer layer;
    if (!sp_contact_press_platen(contact, &point, &layer)) return layer.energy;
    double dy[2][3]; /* d(height of the point) / d(x y theta) of both nodes */
    for (int i = 0; i < 2; i++) {
        const double *e = contact->turned + 2 * (segment + i);
        dy[i][0] = 0;
        dy[i][1] = share[i];
        dy[i][2] = share[i] * e[0];
        blocks->value[9 * contact->platen_block[3 * segment + 2 * i] + 8] -=
            layer.slope * share[i] * e[1];
    }
    sp_contact_pull_platen_nodes(contact, &point, &layer, 3, dy[0], gradient, coupling, push);
    add_platen_blocks(contact, segment, layer.stiffness, dy, blocks);
    const double x = share[0] * a[0] + share[1] * a[2];
    push->moment[1] -= layer.slope * x;
    sp_contact_note_platen(contact, &point, &layer, x, 0);
    return layer.energy;
}

static double press(sp_contact *contact, double *gradient, sp_blocks *blocks, sp_platen_push *push,
                    double *coupling)
{
    double energy = all[sp_way_count() - 1](contact, gradient, blocks);
    for (int k = 0; k + 1 < contact->model->point_count; k++) {
        const double y0 = contact->position[2 * k + 1], y1 = contact->position[2 * k + 3];
        if (contact->model->point_strut[k] != contact->model->point_strut[k + 1] ||
            !sp_contact_near_platens(contact, y0, y1))
            continue;
        /* Most points of such segments are out of reach. */
        const double reach = 0.5 * sp_model_piece_thickness(contact->model, k);
        for (int i = 0; i < contact->spread[k]; i++) {
            const double f = sp_contact_place_of(contact->spread[k], i), y = (1 - f) * y0 + f * y1,
                         above = contact->gap - y;
            if (y < reach)
                energy += platen_contact(contact, k, f, y, 0, gradient, blocks, push, coupling);
            if (above < reach)
                energy += platen_contact(contact, k, f, above, 1, gradient, blocks, push, coupling);
        }
    }
    return energy;
}

const sp_contact_law sp_contact_planar = {is_within, is_near, press, sp_contact_rub_planar};
