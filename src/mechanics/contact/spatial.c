/* This is the contact of pairs of segments in space, and of segments with the platens (E56 to E59).
 * Positions have 3 numbers per chain point, pieces 7, unknowns of nodes 6. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/so3.h"
#include "gap/line.h"
#include "gap/line_points.h"
#include "contact/panel.h"
#include "contact/spatial.h"
#include "contact/wall.h"

/* The search goes no further than to a point nearer than `enough`. */
static double points_of_one(sp_contact *contact, const sp_candidate *c, int back, double enough)
{
    const int from = back ? c->to : c->from, to = back ? c->from : c->to;
    const double *piece = contact->piece + 7 * to;
    double nearest = INFINITY;
    for (int i = 0; i < contact->spread[from] && nearest >= enough * enough; i++) {
        const double f = sp_contact_place_of(contact->spread[from], i);
        if (!(sp_contact_layer_at(contact, c, from, f, to, i) > 0)) continue;
        double v[3];
        sp_contact_reach(3, contact->position, from, f, to, v);
        nearest = fmin(nearest, sp_line_square_spatial(v, piece + 4, piece[3]));
    }
    return nearest;
}

/* Return the square of the distance, from the other segment, of those contact points of either that
 * may press on it at all; it serves two that overlap unloaded, at a joint. A point nearer than
 * `enough` will do. */
static double points_square(sp_contact *contact, const sp_candidate *c, double enough)
{
    const double one = points_of_one(contact, c, 0, enough);
    return one < enough * enough ? one : fmin(one, points_of_one(contact, c, 1, enough));
}

/* The distance is that of the segments, which are put into *apart, or of points that overlap
 * unloaded; of these, one nearer than `enough` will do. */
static int comes_within(sp_contact *contact, sp_candidate *c, double limit, double enough,
                        double *apart, double *distance)
{
    double square =
        sp_contact_segment_square(contact, 3, c->from, c->to); /* points are no nearer */
    if (square >= limit * limit || !sp_contact_presses(contact, c)) return 0;
    *apart = *distance = sqrt(square);
    if (c->overlaps) *distance = sqrt(points_square(contact, c, enough));
    return *distance < limit;
}

/* Judge the distance of the segments, or, where they overlap in the unloaded coupon, that of their
 * contact points. */
static int is_within(sp_contact *contact, sp_candidate *c, double limit, double *distance)
{
    if (c->walls) return sp_wall_is_within(contact, c, limit, distance);
    double apart;
    if (sp_contact_is_aside(contact, 3, c->from, c->to, limit)) return 0;
    return comes_within(contact, c, limit, 0, &apart, distance);
}

int sp_contact_comes_within(sp_contact *contact, sp_candidate *c, double limit, double *apart)
{
    double distance;
    return comes_within(contact, c, limit, limit, apart, &distance);
}

/* Pairs this close to touching, as a share of the thinnest strut, have blocks in the stiffness. In
 * space a pair fills more of the factor than in the plane, and every joint has dozens of pairs that
 * overlap and never press: those get blocks when they nearly press. */
static const double near_share = 0.1, nearly_pressing = 1.03;

static int any_point_near(sp_contact *contact, const sp_candidate *c, int back)
{
    const int from = back ? c->to : c->from, to = back ? c->from : c->to;
    const double *piece = contact->piece + 7 * to;
    for (int i = 0; i < contact->spread[from]; i++) {
        const double f = sp_contact_place_of(contact->spread[from], i);
        /* The layers that are kept for walls belong to other points. */
        const double layer = c->walls ? sp_contact_layer(contact, c, from, f, to)
                                      : sp_contact_layer_at(contact, c, from, f, to, i);
        const double reach = nearly_pressing * layer;
        if (!(reach > 0)) continue;
        double v[3];
        sp_contact_reach(3, contact->position, from, f, to, v);
        if (sp_line_square_spatial(v, piece + 4, piece[3]) < reach * reach) return 1;
    }
    return 0;
}

static int is_near(sp_contact *contact, sp_candidate *c)
{
    const double limit = c->touch + near_share * contact->model->thinnest;
    double distance;
    if (!c->overlaps || c->walls)
        return is_within(contact, c, limit, &distance) &&
               (!c->overlaps || any_point_near(contact, c, 0) || any_point_near(contact, c, 1));
    /* A point that nearly presses is nearer than `limit`, and so are the segments. */
    return !sp_contact_is_aside(contact, 3, c->from, c->to, limit) &&
           sp_contact_segment_square(contact, 3, c->from, c->to) < limit * limit &&
           sp_contact_presses(contact, c) &&
           (any_point_near(contact, c, 0) || any_point_near(contact, c, 1));
}

static int is_round(const sp_model *model, int segment)
{
    return !(model->network->strut_height[model->point_strut[segment]] > 0);
}

#define PAIR_POINTS sp_line_points_spatial
#define PAIR_EVAL sp_line_points_spatial_eval
#define PAIR_NOTE sp_contact_note_spatial
#include "contact/waiting_body.h"

/* Pairs are worked out so many at a time, in parts that threads take; where there are fewer,
 * threads cost more than they bring. */
enum { PART_PAIRS = 128, PARTS = 64, FEWEST_SHARED = 1024 };

/* Press the points of one segment on the other; both ways count half. */
static void press_on(sp_contact *contact, sp_candidate *c, int back, double width, waiting *w,
                     double *gradient, sp_blocks *blocks)
{
    const int from = back ? c->to : c->from, to = back ? c->from : c->to;
    const int points = contact->spread[from];
    const double *piece = contact->piece + 7 * to;
    const double weight = 0.5 * sp_contact_weight(contact->model, points, from, width);
    const sp_faces faces = is_round(contact->model, from) || is_round(contact->model, to)
                               ? SP_ROUND_FACES
                               : SP_FLAT_FACES;
    for (int i = 0; i < points; i++) {
        const double f = sp_contact_place_of(contact->spread[from], i);
        const double rest =
            c->overlaps ? sp_contact_layer_at(contact, c, from, f, to, i) : c->touch;
        double v[3];
        if (!(rest > 0)) continue;
        sp_contact_reach(3, contact->position, from, f, to, v);
        const double square = sp_line_square_spatial(v, piece + 4, piece[3]);
        if (square >= c->touch * c->touch) continue;
        if (c->overlaps) w->closest_square = fmin(w->closest_square, square);
        if (square >= rest * rest) continue;
        if (square == 0) {
            w->energy = INFINITY;
            continue;
        }
        if (w->count == SP_LINE_POINTS) work_out(contact, w, gradient, blocks);
        const int at = w->count++;
        w->point[at] = (sp_waiting_point){c, back, i, f, weight};
        sp_line_put_spatial(&w->points, at, faces, v, piece + 4, piece[3], rest);
    }
}

/* Return 1 when the two are out of reach of each other. Keeps the closest distance, but for that of
 * pairs that overlap unloaded; see press_on. */
static int is_clear(const sp_contact *contact, const sp_brief *b, double *closest_square)
{
    if (b->walls) return 0;
    if (sp_contact_is_aside(contact, 3, b->from, b->to, b->touch)) return 1;
    if (b->overlaps) return 0;
    const double square = sp_contact_segment_square(contact, 3, b->from, b->to);
    *closest_square = fmin(*closest_square, square);
    return square >= b->touch * b->touch;
}

static double piece_width(const sp_model *model, int piece)
{
    return sp_model_piece_width(model, piece, model->strut_width[model->point_strut[piece]]);
}

static void strut_contact(sp_contact *contact, sp_candidate *c, waiting *w, double *gradient,
                          sp_blocks *blocks)
{
    const sp_model *model = contact->model;
    const double width = model->network->strut_panel
                             ? sp_panel_pair_width(model, c->from, c->to)
                             : 0.5 * (piece_width(model, c->from) + piece_width(model, c->to));
    press_on(contact, c, 0, width, w, gradient, blocks);
    press_on(contact, c, 1, width, w, gradient, blocks);
}

/* This is a segment that may press on a platen: its two ends, and their arms to the nodes. A wall
 * of a layer lies flat on a platen, too: it presses at two levels of its depth. */
typedef struct foot {
    int segment, level;
    int points;                  /* contact points that share its push */
    double end[2][3], arm[2][3]; /* [mm] */
} foot;

static foot foot_of(const sp_contact *contact, int segment, int level)
{
    const int layered = contact->depth_axis != NULL;
    foot at = {segment,
               level,
               layered ? contact->wall_spread[segment] * SP_WALL_LEVELS : contact->spread[segment],
               {{0}},
               {{0}}};
    memcpy(at.end, contact->position + 3 * segment, sizeof at.end);
    memcpy(at.arm, contact->turned + 3 * segment, sizeof at.arm);
    if (layered) {
        const int strut = contact->model->point_strut[segment];
        const double z = sp_wall_level[level] * contact->model->strut_width[strut];
        for (int i = 0; i < 6; i++) {
            at.end[i / 3][i % 3] += z * contact->depth_axis[3 * segment + i];
            at.arm[i / 3][i % 3] += z * contact->depth_axis[3 * segment + i];
        }
    }
    return at;
}

/* Add `stiffness` dy dy' of a segment's two nodes, and what their arms add where the energy has the
 * slope `g` by the height. */
static void add_platen_blocks(const sp_contact *contact, const foot *at, double stiffness, double g,
                              const double share[2], double dy[2][SIDE], sp_blocks *blocks)
{
    const int *node = contact->model->point_node + at->segment,
              *block = contact->platen_block + 3 * at->segment;
    double m[SIDE * SIDE];
    for (int i = 0, b = 0; i < 2; i++)
        for (int j = 0; j <= i; j++, b++) {
            double *v = blocks->value + SIDE * SIDE * block[b];
            for (int r = 0; r < SIDE; r++)
                for (int s = 0; s < SIDE; s++) m[SIDE * r + s] = stiffness * dy[i][r] * dy[j][s];
            sp_contact_put_block(v, m, SIDE, node[i], node[j], i == j);
            if (i == j) sp_spatial_bend_arm((const double[]){0, share[i] * g, 0}, at->arm[i], v);
        }
}

/* Add the layer between a platen, which is a plane, and the contact point at f of a segment. E10 */
static double platen_contact(sp_contact *contact, const foot *at, double f, int upper,
                             double *gradient, sp_blocks *blocks, sp_platen_push *push,
                             double *coupling)
{
    const sp_model *model = contact->model;
    const int segment = at->segment, strut = model->point_strut[segment];
    const double *a = contact->position + 3 * segment, *y = contact->rest_position + 3 * segment;
    const double share[2] = {1 - f, f};
    const double height = share[0] * at->end[0][1] + share[1] * at->end[1][1];
    const sp_platen_point point = {
        .segment = segment,
        .level = at->level,
        .upper = upper,
        .faces = is_round(model, segment) ? SP_ROUND_FACES : SP_FLAT_FACES,
        .place = f,
        .distance = (upper ? contact->gap - height : height) - model->network->skin,
        .height = share[0] * y[1] + share[1] * y[4],
        .width = sp_model_piece_width(model, segment, model->strut_foot[strut]),
        .points = at->points,
        .spread = contact->depth_axis ? contact->wall_spread : contact->spread};
    sp_platen_layer layer;
    if (!sp_contact_press_platen(contact, &point, &layer)) return layer.energy;
    double dy[2][SIDE]; /* d(height of the point) / d(displacement, spin) of both nodes */
    for (int i = 0; i < 2; i++) {
        const double *r = at->arm[i], by[SIDE] = {0, 1, 0, -r[2], 0, r[0]};
        for (int s = 0; s < SIDE; s++) dy[i][s] = share[i] * by[s];
    }
    sp_contact_pull_platen_nodes(contact, &point, &layer, SIDE, dy[0], gradient, coupling, push);
    add_platen_blocks(contact, at, layer.stiffness, layer.slope, share, dy, blocks);
    if (upper && model->network->strut_role[strut] == SP_ROLE_WALL)
        push->upper_on_walls += layer.push;
    /* The push on the struts is -slope. It acts where the height was taken: for a wall that leans
     * this is aside of its middle. */
    push->moment[0] += layer.slope * (share[0] * at->end[0][2] + share[1] * at->end[1][2]);
    push->moment[1] -= layer.slope * (share[0] * at->end[0][0] + share[1] * at->end[1][0]);
    sp_contact_note_platen(contact, &point, &layer, share[0] * a[0] + share[1] * a[3],
                           share[0] * a[2] + share[1] * a[5]);
    return layer.energy;
}

sp_status sp_contact_reserve_sums(sp_context *context, sp_contact *contact)
{
    const size_t most = (size_t)PARTS * PART_PAIRS;
    if (contact->sums) return SP_OK;
    contact->sums = sp_alloc(most, sizeof *contact->sums);
    if (contact->sums) return SP_OK;
    return sp_fail(context, SP_NO_MEMORY, "no memory for the sums of %zu contact pairs", most);
}

/* Press the pairs from `first` on the short list, before `last`. */
static void press_part(sp_contact *contact, int first, int last, waiting *w, double *gradient,
                       sp_blocks *blocks)
{
    for (int i = first; i < last; i++) {
        sp_candidate *c = &contact->candidate[contact->near[i]];
        if (is_clear(contact, &contact->brief[i], &w->closest_square)) continue;
        if (c->walls) { /* what waits goes first: pairs stay in order */
            work_out(contact, w, gradient, blocks);
            finish_pair(contact, w, gradient, blocks);
            w->energy += sp_wall_contact(contact, c, gradient, blocks);
            continue;
        }
        strut_contact(contact, c, w, gradient, blocks);
    }
    work_out(contact, w, gradient, blocks);
    finish_pair(contact, w, gradient, blocks);
}

/* Press the same pairs on several threads, and add their sums in the order of the list, so that
 * figures do not depend on the number of threads. */
static double press_shared(sp_contact *contact, int count, double *gradient, sp_blocks *blocks)
{
    double energy = 0;
    for (int begin = 0; begin < count; begin += PARTS * PART_PAIRS) {
        const int left = count - begin, parts = (left + PART_PAIRS - 1) / PART_PAIRS;
        const int used = parts < PARTS ? parts : PARTS;
        int kept[PARTS];
        double lost[PARTS], closest[PARTS];
#pragma omp parallel for schedule(dynamic, 1) num_threads(contact->threads)
        for (int p = 0; p < used; p++) {
            waiting w;
            const int first = begin + p * PART_PAIRS;
            begin_waiting(&w, contact->sums + p * PART_PAIRS);
            /* The sums are kept, so that neither gradient nor blocks are written here. */
            press_part(contact, first, first + PART_PAIRS < count ? first + PART_PAIRS : count, &w,
                       gradient, blocks);
            kept[p] = w.kept_count, lost[p] = w.energy, closest[p] = w.closest_square;
        }
        for (int p = 0; p < used; p++) {
            const struct sp_kept_sum *sum = contact->sums + p * PART_PAIRS;
            for (int i = 0; i < kept[p]; i++)
                energy += add_pair(contact, sum[i].pair, &sum[i].sum, gradient, blocks);
            energy += lost[p];
            contact->closest_square = fmin(contact->closest_square, closest[p]);
        }
    }
    return energy;
}

/* What friction notes of a pair, and what its layers have seen, is kept as pairs follow each other:
 * on one thread. */
static double press_pairs(sp_contact *contact, double *gradient, sp_blocks *blocks)
{
    const double thickest = contact->model->thickest;
    const int count = sp_contact_near_within(contact, thickest, thickest);
    if (contact->sums && count >= FEWEST_SHARED && !contact->friction.first && !contact->layers.on)
        return press_shared(contact, count, gradient, blocks);
    waiting w;
    begin_waiting(&w, NULL);
    press_part(contact, 0, count, &w, gradient, blocks);
    contact->closest_square = fmin(contact->closest_square, w.closest_square);
    return w.energy;
}

static double press(sp_contact *contact, double *gradient, sp_blocks *blocks, sp_platen_push *push,
                    double *coupling)
{
    const sp_model *model = contact->model;
    double energy = press_pairs(contact, gradient, blocks);
    for (int k = 0; k + 1 < model->point_count; k++) {
        const double *a = contact->position + 3 * k;
        if (model->point_strut[k] != model->point_strut[k + 1] || sp_contact_is_bond(model, k) ||
            !sp_contact_near_platens(contact, a[1], a[4]))
            continue;
        for (int level = 0; level < (contact->depth_axis ? SP_WALL_LEVELS : 1); level++) {
            const foot at = foot_of(contact, k, level);
            const int points = contact->depth_axis ? contact->wall_spread[k] : at.points;
            for (int i = 0; i < 2 * points; i++)
                energy += platen_contact(contact, &at, (i / 2 + 0.5) / points, i % 2, gradient,
                                         blocks, push, coupling);
        }
    }
    return energy;
}

const sp_contact_law sp_contact_spatial = {is_within, is_near, press, sp_contact_rub_spatial};
