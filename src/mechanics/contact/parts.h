/* The files of this folder share these. */
#ifndef SP_CONTACT_PARTS_H
#define SP_CONTACT_PARTS_H

#include <math.h>

#include "base/machine.h"
#include "contact/contact.h"
#include "gap/line.h"
#include "gap/segment.h"

/* These functions differ between planar and spatial contact. */
typedef struct sp_contact_law {
    /* Return 1 when the two segments may press on each other at all and are nearer than `limit` at
     * their placed positions. Then *distance gets their distance, without points that never
     * press. */
    int (*is_within)(sp_contact *contact, sp_candidate *c, double limit, double *distance);
    /* Return 1 when the pair, at its placed positions, belongs in the pattern of the stiffness. */
    int (*is_near)(sp_contact *contact, sp_candidate *c);
    /* Add up all pairs of the short list and all platen points; see sp_contact_eval. Sets
     * closest_square, active and missing. */
    double (*press)(sp_contact *contact, double *gradient, sp_blocks *blocks, sp_platen_push *push,
                    double *coupling);
    /* Add what a grip has to gradient and blocks; returns its energy [mJ]. */
    double (*rub)(sp_contact *contact, sp_grip *grip, double *gradient, sp_blocks *blocks);
} sp_contact_law;

extern const sp_contact_law sp_contact_planar, sp_contact_spatial;

/* Return the function that adds up the pairs of the short list in the plane for each instruction
 * set, in the order of SP_WAY_LIST, for tests. All of them give the same numbers to the last digit.
 */
typedef double sp_pairs_way(sp_contact *contact, double *gradient, sp_blocks *blocks);
sp_pairs_way *const *sp_contact_pairs_ways(void);

double sp_contact_rub_planar(sp_contact *contact, sp_grip *grip, double *gradient,
                             sp_blocks *blocks);
double sp_contact_rub_spatial(sp_contact *contact, sp_grip *grip, double *gradient,
                              sp_blocks *blocks);

/* Return 1 when two segments in space may press on each other at all and come nearer than `limit`,
 * as `is_within` does where a search has found that they are not aside of each other (see below)
 * and asks for no distance. Then *apart gets a distance that the segments keep at least. */
int sp_contact_comes_within(sp_contact *contact, sp_candidate *c, double limit, double *apart);

/* Make room for the sums of pairs in space that several threads work out. Errors: SP_NO_MEMORY. */
sp_status sp_contact_reserve_sums(sp_context *context, sp_contact *contact);

/* Note what a contact point bears on a segment; scale times g is the derivative of its energy by
 * its position. */
void sp_contact_note_planar(sp_contact *contact, sp_load load, double scale, const double g[2]);
void sp_contact_note_spatial(sp_contact *contact, sp_load load, double scale, const double g[3]);

/* These are the places in the sum of a pair of the ten blocks of a contact point against a piece,
 * when the point is on the first of the two segments and when it is on the second: (0,0) (1,0)
 * (1,1) of the point's own ends, then (2,0) .. (3,3). */
static const int sp_contact_pair_place[2][10] = {{0, 1, 2, 3, 4, 6, 7, 5, 8, 9},
                                                 {5, 8, 9, 3, 6, 4, 7, 0, 1, 2}};

/* Return the place, 0 to 1, of contact point `which` on a segment that has `points` of them. */
static inline double sp_contact_place_of(int points, int which)
{
    return (which + 0.5) / points;
}

/* Find the vector from the beginning of segment `to` to the place f (0 to 1) on segment `from`, at
 * `position` (d, the dimension, per chain point). */
static inline void sp_contact_reach(int d, const double *position, int from, double f, int to,
                                    double *v)
{
    const double *x = position + d * from, *y = position + d * to;
    for (int i = 0; i < d; i++) v[i] = (1 - f) * x[i] + f * x[d + i] - y[i];
}

/* Return the square of the distance of two segments where they are placed; d is the dimension. */
static inline double sp_contact_segment_square(const sp_contact *contact, int d, int from, int to)
{
    const double *p = contact->position + d * from, *q = contact->position + d * to;
    double one[3], two[3];
    for (int i = 0; i < d; i++) one[i] = p[d + i] - p[i], two[i] = q[d + i] - q[i];
    return sp_segment_square_of(d, p, one, q, two);
}

/* Return 1 when the segments are certainly further apart than `limit`, because their distance along
 * the line of their middles is, by more than round-off. d is the dimension. */
static inline int sp_contact_is_aside(const sp_contact *contact, int d, int from, int to,
                                      double limit)
{
    static const double round_off = 1e-9;
    const double *p = contact->piece + (2 * d + 1) * from, *q = contact->piece + (2 * d + 1) * to;
    double square = 0, one = 0, two = 0;
    for (int i = 0; i < d; i++) {
        const double m = p[i] - q[i];
        square += m * m;
        one += p[d + 1 + i] * m;
        two += q[d + 1 + i] * m;
    }
    const double left = square - 0.5 * (p[d] * fabs(one) + q[d] * fabs(two));
    return left > 0 && left * left >= limit * limit * square * (1 + round_off);
}

/* Return the push of one contact point of a segment, per squash of its layer [N/mm/mm]: the modulus
 * of the layer and its width times the stretch of strut that the point stands for. */
static inline double sp_contact_weight(const sp_model *model, int points, int segment, double width)
{
    return (model->point_arc[segment + 1] - model->point_arc[segment]) / points *
           model->layer_modulus * width;
}

/* Turn energy w of a contact point (U_c in docs/theory.md), its gradient g (n) and Hessian h (n x
 * n) into those of its layer under a law in time (E265). Returns 0 when the layer carries nothing.
 */
static inline int sp_contact_relax(sp_contact *contact, sp_layer_place place, double stiffness,
                                   int n, double *w, double *g, double *h)
{
    const sp_layer_answer at = sp_layer_press(&contact->layers, &place, stiffness, *w);
    *w = at.energy;
    if (!(at.by > 0)) return 0;
    for (int i = 0; i < n; i++)
        for (int j = 0; j < n; j++) h[n * i + j] = at.by * h[n * i + j] + at.bend * g[i] * g[j];
    for (int i = 0; i < n; i++) g[i] *= at.by;
    return 1;
}

/* Do the same where g holds the derivatives by v and by e, two vectors of d values, and the Hessian
 * consists of the blocks by v and v, e and v, e and e. */
static inline int sp_contact_relax_pair(sp_contact *contact, sp_layer_place place, double stiffness,
                                        int d, double *w, double *g, double *vv, double *ev,
                                        double *ee)
{
    const sp_layer_answer at = sp_layer_press(&contact->layers, &place, stiffness, *w);
    *w = at.energy;
    if (!(at.by > 0)) return 0;
    for (int i = 0; i < d; i++)
        for (int j = 0; j < d; j++) {
            vv[d * i + j] = at.by * vv[d * i + j] + at.bend * g[i] * g[j];
            ev[d * i + j] = at.by * ev[d * i + j] + at.bend * g[d + i] * g[j];
            ee[d * i + j] = at.by * ee[d * i + j] + at.bend * g[d + i] * g[d + j];
        }
    for (int i = 0; i < 2 * d; i++) g[i] *= at.by;
    return 1;
}

/* Return the layer of point `which` of segment `from` of a pair against the other segment, at one
 * level. */
static inline sp_layer_place sp_contact_layer_place(const sp_candidate *c, int from, int level,
                                                    int which, const int *spread)
{
    const int side = from != c->from;
    return (sp_layer_place){sp_layer_pair(c->from, c->to, level), side, which, spread[from],
                            spread[side ? c->from : c->to]};
}

/* Return the layer of the point at f on a platen. */
static inline sp_layer_place sp_contact_platen_place(int segment, int upper, int level, double f,
                                                     const int *spread)
{
    const int points = spread[segment];
    return (sp_layer_place){sp_layer_pair(segment, upper ? -2 : -1, level), 0, (int)(f * points),
                            points, 0};
}

/* This is a contact point in reach, which waits until there are enough of them to be worked out
 * together. */
typedef struct sp_waiting_point {
    sp_candidate *of;
    int back, which; /* 1: on the second segment of the pair; number of the point on its segment */
    double place, weight; /* 0 to 1 along its segment; of its layer [N/mm] */
} sp_waiting_point;

static inline sp_layer_place sp_waiting_layer(const sp_contact *contact, const sp_waiting_point *p)
{
    return sp_contact_layer_place(p->of, p->back ? p->of->to : p->of->from, 0, p->which,
                                  contact->spread);
}

static inline sp_load sp_waiting_load(const sp_waiting_point *p, double rest)
{
    return (sp_load){.from = p->back ? p->of->to : p->of->from,
                     .on = p->back ? p->of->from : p->of->to,
                     .place = p->place,
                     .stiffness = p->weight / rest};
}

/* Work out contact->piece from contact->position. */
void sp_contact_place_pieces(sp_contact *contact);

/* Work out contact->strut_axis. */
void sp_contact_set_axes(sp_contact *contact);

/* Return the least distance, less the thinnest strut, of pairs that the last search (margin) or the
 * short list (near_margin) left out [mm]. */
double sp_contact_margin_left(const sp_contact *contact, double margin);

/* Free the arrays of the short list. */
void sp_contact_free_short_list(sp_contact *contact);

/* Return how many pairs at the head of the short list may press: all others whose `touch` is this
 * one or more are further apart than `distance`, which is at least `touch` less than the reach of
 * the list. */
int sp_contact_near_within(const sp_contact *contact, double distance, double touch);

/* Return the layer between a platen and the strut of a segment, at a point of height `y` in the
 * unloaded coupon [mm]; 0: there is none. */
double sp_contact_platen_layer(const sp_model *model, int segment, double y, int upper);

/* This is a contact point under a platen, which is a plane. */
typedef struct sp_platen_point {
    int segment, level, upper;
    sp_faces faces;
    double place, distance; /* 0 to 1 along its segment; distance from the platen [mm] */
    double height, width;   /* height in the unloaded coupon; width of its layer [mm] */
    int points;             /* how many points share the segment's push */
    const int *spread;      /* 1 per chain point: points of a segment at this level */
} sp_platen_point;

/* This is the load of the layer between such a point and the platen. */
typedef struct sp_platen_layer {
    double energy, push, slope; /* slope of the energy by the point's height [mJ N N] */
    double stiffness, grip;     /* stiffness of the layer, and against slip [N/mm] */
} sp_platen_layer;

/* Find the load of a point under a platen (E10); returns 0 where it does not push: its energy is
 * then 0, or INFINITY where the point has passed the platen. */
int sp_contact_press_platen(sp_contact *contact, const sp_platen_point *point,
                            sp_platen_layer *layer);

/* Add the push of a point on a platen to the gradient and to the loads of the platens, and its
 * stiffness to the coupling with the upper platen. dy: 2 x side, d(height of the point) /
 * d(unknowns) of the segment's two nodes; dy[side i + 1] is the point's share of node i. */
void sp_contact_pull_platen_nodes(sp_contact *contact, const sp_platen_point *point,
                                  const sp_platen_layer *layer, int side, const double *dy,
                                  double *gradient, double *coupling, sp_platen_push *push);

/* Note the load of a platen at x and z, if there is friction. */
static inline void sp_contact_note_platen(sp_contact *contact, const sp_platen_point *point,
                                          const sp_platen_layer *layer, double x, double z)
{
    if (!contact->friction.first) return;
    sp_friction_note(&contact->friction,
                     (sp_load){.from = point->segment,
                               .on = point->upper ? SP_ON_UPPER_PLATEN : SP_ON_LOWER_PLATEN,
                               .place = point->place,
                               .push = {0, layer->push, 0},
                               .stiffness = layer->grip,
                               .foot = {x, z}});
}

/* Return 1 for a segment of a bond between stacked layers, which lies inside the struts that it
 * bonds and presses on nothing. */
static inline int sp_contact_is_bond(const sp_model *model, int segment)
{
    const sp_layer_piece *piece = model->network->strut_piece;
    return piece && piece[model->point_strut[segment]].layer < 0;
}

/* Return 1 when stacked layers are walls through their depth, which press on each other side by
 * side. Layers that are pressed through the stack are beads instead. */
static inline int sp_contact_has_walls(const sp_model *model)
{
    return model->network->strut_piece && model->network->built != SP_BUILT_STACK;
}

/* Return 1 for two segments of one layer of a stack. */
static inline int sp_contact_are_walls(const sp_model *model, int from, int to)
{
    const sp_layer_piece *piece = model->network->strut_piece;
    return sp_contact_has_walls(model) &&
           piece[model->point_strut[from]].layer == piece[model->point_strut[to]].layer;
}

/* Return 1 when two segments belong to one strut, even where bonds have cut it into pieces. */
int sp_contact_is_own(const sp_model *model, int from, int to);

/* Return 1 when two segments of one strut, from < to, are too near along it to press on each other.
 */
int sp_contact_too_close_along(const sp_model *model, int from, int to, double touch);

/* Work out c->presses and c->overlaps: whether the two segments press on each other, and whether
 * the layers of some of their points are less than c->touch. */
void sp_contact_judge_pair(const sp_contact *contact, sp_candidate *c);

/* Return the layer of the point at f (0 to 1) of segment `from` against segment `to` of a pair
 * [mm]. */
double sp_contact_layer(const sp_contact *contact, const sp_candidate *c, int from, double f,
                        int to);

/* Return the same layer for the contact point with number i on its segment. It depends on the
 * unloaded coupon only, so it is worked out once and kept in contact->layer from `layers` on (see
 * sp_candidate). `before` counts the points on the first segment of the pair when this is the
 * second, else it is 0. */
static inline double sp_contact_layer_kept(sp_contact *contact, const sp_candidate *c, int layers,
                                           int before, int from, double f, int to, int i)
{
    if (layers < 0) return sp_contact_layer(contact, c, from, f, to);
    double *kept = contact->layer + layers + before + i;
    if (*kept < 0) *kept = sp_contact_layer(contact, c, from, f, to);
    return *kept;
}

static inline double sp_contact_layer_at(sp_contact *contact, const sp_candidate *c, int from,
                                         double f, int to, int i)
{
    const int *spread = c->walls ? contact->wall_spread : contact->spread;
    const int before = from == c->from ? 0 : spread[c->from];
    return sp_contact_layer_kept(contact, c, c->layers, before, from, f, to, i);
}

/* Return 0 when the two segments never press on each other. */
static inline int sp_contact_presses(const sp_contact *contact, sp_candidate *c)
{
    if (c->presses < 0) sp_contact_judge_pair(contact, c);
    return c->presses > 0;
}

/* Return 0 when the two segments never press on each other, or are certainly further apart than
 * `limit`. The function is inlined, because most pairs are. */
static inline int sp_contact_may_press(const sp_contact *contact, sp_candidate *c, double limit)
{
    const int d = contact->model->dimension;
    const double *p = contact->piece + (2 * d + 1) * c->from,
                 *q = contact->piece + (2 * d + 1) * c->to;
    const double dx = p[0] - q[0], dy = p[1] - q[1], reach = limit + 0.5 * (p[d] + q[d]);
    double square = dx * dx + dy * dy;
    if (d == 3 && !c->walls) square += (p[2] - q[2]) * (p[2] - q[2]);
    return square < reach * reach && sp_contact_presses(contact, c);
}

/* Return 0 when a segment with ends at these heights is out of reach of both platens. */
static inline int sp_contact_near_platens(const sp_contact *contact, double y0, double y1)
{
    const double low = contact->model->thickest + contact->model->network->skin,
                 high = contact->gap - low;
    return y0 <= low || y1 <= low || y0 >= high || y1 >= high;
}

/* Return where the blocks of a pair of the short list stand. */
static inline int *sp_contact_block(const sp_contact *contact, const sp_candidate *c)
{
    return contact->near_block + 10 * (size_t)c->listed;
}

/* Look up the blocks of the nodes of two segments unless they are known. Returns 0 when some of
 * them are not in the pattern: then block[0] stays -1, and the pair counts as missing. */
int sp_contact_has_blocks(sp_contact *contact, const sp_blocks *blocks, int from, int to,
                          int block[10]);

/* Add the block m (side x side) of the nodes `one` and `other` to the block v that the pattern has
 * for them. The pattern has one block for two nodes, so m is transposed where one < other. */
static inline void sp_contact_put_block(double *v, const double *m, int side, int one, int other,
                                        int diagonal)
{
    if (!diagonal && one == other) /* both triangles fall into one diagonal block */
        for (int r = 0; r < side; r++)
            for (int s = 0; s < side; s++) v[side * r + s] += m[side * r + s] + m[side * s + r];
    else if (one < other)
        for (int r = 0; r < side; r++)
            for (int s = 0; s < side; s++) v[side * r + s] += m[side * s + r];
    else
        for (int r = 0; r < side * side; r++) v[r] += m[r];
}

#endif
