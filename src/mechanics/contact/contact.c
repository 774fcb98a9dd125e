/* Planar and spatial contact share this file: places, blocks, and how far points may move. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/so3.h"
#include "contact/parts.h"

/* Candidates reach this share of the thinnest strut beyond touching, in the plane and in space:
 * searches cost more than the pairs they add, and there are more pairs in space. */
static const double margin_share[2] = {2.2, 1.2};
/* Candidates on the short list reach this share. */
static const double near_margin_share[2] = {1.5, 0.4};
/* No pair of struts comes nearer in one move than by this share of its distance. */
static const double approach_share = 0.4;
/* Contact points in space stand this close on their segment, as a share of the thinnest strut, so
 * that a strut that crosses does not slip between them. */
static const double spread_share = 0.15;
/* Contact points on the bars of panels stand this close, as a share of the thinnest strut: there
 * are three families of bars. */
static const double panel_spread_share = 0.4;
/* In the plane, and on walls of one layer, where no strut comes across, contact points stand this
 * close. Twice as many points change the force at 50 and 65 % strain by less than 2 % while folds
 * lie alike. E248 */
static const double side_spread_share = 0.32;

/* Pairs are left out only when they are out of reach by more than round-off. */
static const double round_off = 1e-9;

static sp_status allocate(sp_context *context, sp_contact *contact)
{
    const sp_model *model = contact->model;
    const size_t points = (size_t)model->point_count, d = (size_t)model->dimension;
    contact->position = sp_alloc(d * points, sizeof(double));
    contact->turned = sp_alloc(d * points, sizeof(double));
    contact->searched = sp_alloc(d * points, sizeof(double));
    contact->listed = sp_alloc(d * points, sizeof(double));
    contact->piece = sp_alloc((2 * d + 1) * points, sizeof(double));
    contact->rest_position = sp_alloc(d * points, sizeof(double));
    contact->strut_axis = sp_alloc(3 * (size_t)model->network->strut_count, sizeof(double));
    if (sp_contact_has_walls(model)) {
        contact->depth_axis = sp_alloc(3 * points, sizeof(double));
        contact->searched_axis = sp_alloc(3 * points, sizeof(double));
        contact->listed_axis = sp_alloc(3 * points, sizeof(double));
        contact->wall_spread = sp_alloc(points, sizeof(int));
        if (!contact->depth_axis || !contact->searched_axis || !contact->listed_axis ||
            !contact->wall_spread)
            return sp_fail(context, SP_NO_MEMORY, "no memory for the contact of %d points",
                           model->point_count);
    }
    if (d == 2) {
        contact->judged_first = sp_alloc(points + 1, sizeof(int));
        contact->judged_mark = sp_alloc(points, sizeof(int));
        if (!contact->judged_first || !contact->judged_mark)
            return sp_fail(context, SP_NO_MEMORY, "no memory for the contact of %d points",
                           model->point_count);
    }
    contact->spread = sp_alloc(points, sizeof(int));
    contact->platen_block = sp_alloc(3 * points, sizeof(int));
    contact->moves = sp_alloc(4 * points, sizeof(double));
    contact->cell_item = sp_alloc(points, sizeof(int));
    contact->cell_ball = sp_alloc(4 * points, sizeof(double));
    if (!contact->position || !contact->turned || !contact->searched || !contact->listed ||
        !contact->piece || !contact->rest_position || !contact->strut_axis || !contact->spread ||
        !contact->platen_block || !contact->moves || !contact->cell_item || !contact->cell_ball)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the contact of %d points",
                       model->point_count);
    return SP_OK;
}

/* Choose the number of contact points of every segment, two at least, so that they stand no further
 * apart than `share` of the thinnest strut. */
static void spread_points(const sp_model *model, double share, int *spread)
{
    for (int k = 0; k + 1 < model->point_count; k++) {
        const double length = model->point_arc[k + 1] - model->point_arc[k];
        spread[k] = (int)fmax(2, ceil(length / (share * model->thinnest) - 1e-9));
    }
}

static void set_points(sp_contact *contact)
{
    const sp_model *model = contact->model;
    const double asked = model->contact_spacing;
    const double share = model->dimension == 2         ? side_spread_share
                         : model->network->strut_panel ? panel_spread_share
                                                       : spread_share;
    spread_points(model, asked > 0 ? asked : share, contact->spread);
    if (contact->wall_spread)
        spread_points(model, asked > 0 ? asked : side_spread_share, contact->wall_spread);
}

sp_status sp_contact_create(sp_context *context, const sp_model *model, sp_contact *contact)
{
    memset(contact, 0, sizeof *contact);
    contact->model = model;
    contact->law = model->dimension == 2 ? &sp_contact_planar : &sp_contact_spatial;
    contact->margin = margin_share[model->dimension - 2] * model->thinnest;
    contact->near_margin = near_margin_share[model->dimension - 2] * model->thinnest;
    sp_status status = allocate(context, contact);
    if (status == SP_OK) status = sp_friction_create(context, model, &contact->friction);
    if (status == SP_OK)
        status = sp_layer_memory_create(context, sp_model_law(model), model->layer_modulus,
                                        &contact->layers);
    if (status != SP_OK) {
        sp_contact_free(contact);
        return status;
    }
    sp_contact_place(contact, model->reference, model->height);
    memcpy(contact->rest_position, contact->position,
           (size_t)(model->dimension * model->point_count) * sizeof(double));
    sp_contact_set_axes(contact);
    set_points(contact);
    return SP_OK;
}

static void forget_pairs(sp_contact *contact)
{
    sp_free(contact->known_first);
    sp_free(contact->known);
    sp_free(contact->known_mark);
    contact->known_first = contact->known_mark = NULL;
    contact->known = NULL;
    contact->known_count = contact->known_capacity = contact->known_layers = 0;
}

void sp_contact_free(sp_contact *contact)
{
    sp_free_large(contact->candidate, (size_t)contact->candidate_capacity,
                  sizeof *contact->candidate);
    sp_contact_free_short_list(contact);
    sp_free(contact->layer);
    sp_free(contact->bucket);
    sp_free(contact->clear);
    for (int i = 0; i < SP_SEARCH_PARTS; i++) sp_free(contact->part[i].found);
    sp_free(contact->sums);
    sp_free(contact->position);
    sp_free(contact->turned);
    sp_free(contact->searched);
    sp_free(contact->listed);
    sp_free(contact->piece);
    sp_free(contact->rest_position);
    sp_free(contact->depth_axis);
    sp_free(contact->searched_axis);
    sp_free(contact->listed_axis);
    sp_free(contact->strut_axis);
    sp_free(contact->platen_block);
    sp_free(contact->spread);
    sp_free(contact->wall_spread);
    sp_free(contact->moves);
    sp_free(contact->cell_first);
    sp_free(contact->cell_item);
    sp_free(contact->cell_ball);
    sp_free(contact->judged);
    sp_free(contact->judged_first);
    sp_free(contact->judged_mark);
    forget_pairs(contact);
    sp_friction_free(&contact->friction);
    sp_layer_memory_free(&contact->layers);
    memset(contact, 0, sizeof *contact);
}

/* Find the middle, the length and the direction of a segment from `a`, with `d` coordinates. */
static void place_piece(const double *a, int d, double *piece)
{
    double along[3], square = 0;
    for (int i = 0; i < d; i++) {
        along[i] = a[d + i] - a[i];
        square += along[i] * along[i];
        piece[i] = 0.5 * (a[i] + a[d + i]);
    }
    piece[d] = sqrt(square);
    const double inverse = piece[d] > 0 ? 1 / piece[d] : 0;
    for (int i = 0; i < d; i++) piece[d + 1 + i] = along[i] * inverse;
}

void sp_contact_place_pieces(sp_contact *contact)
{
    const int d = contact->model->dimension;
    for (int k = 0; k + 1 < contact->model->point_count; k++)
        place_piece(contact->position + d * k, d, contact->piece + (2 * d + 1) * k);
}

/* Find the depth directions. Layers are stacked along z, so their depth direction is the third
 * column of the rotation of each point's node. */
static void place_depth_axes(sp_contact *contact, const double *x)
{
    const sp_model *model = contact->model;
    for (int k = 0; k < model->point_count; k++) {
        double turn[9];
        sp_so3_matrix(x + SP_SPATIAL_VALUES * model->point_node[k] + 3, turn);
        for (int d = 0; d < 3; d++) contact->depth_axis[3 * k + d] = turn[3 * d + 2];
    }
}

void sp_contact_place(sp_contact *contact, const double *x, double gap)
{
    const sp_model *model = contact->model;
    const int d = model->dimension;
    contact->gap = gap;
    sp_model_points(model, x, contact->position);
    if (contact->depth_axis) place_depth_axes(contact, x);
    for (int k = 0; k < model->point_count; k++)
        for (int i = 0; i < d; i++)
            contact->turned[d * k + i] =
                contact->position[d * k + i] - x[model->values * model->point_node[k] + i];
    sp_contact_place_pieces(contact);
}

void sp_contact_nodes(const sp_model *model, int from, int to, int node[4])
{
    for (int i = 0; i < 2; i++) {
        node[i] = model->point_node[from + i];
        node[2 + i] = model->point_node[to + i];
    }
}

int sp_contact_has_blocks(sp_contact *contact, const sp_blocks *blocks, int from, int to,
                          int block[10])
{
    int node[4];
    if (block[0] >= 0) return 1;
    sp_contact_nodes(contact->model, from, to, node);
    for (int a = 0, k = 0; a < 4; a++)
        for (int b = 0; b <= a; b++, k++) {
            block[k] = sp_blocks_find(blocks, node[a], node[b]);
            if (block[k] >= 0) continue;
            block[0] = -1;
            contact->missing++;
            return 0;
        }
    return 1;
}

void sp_contact_find_blocks(sp_contact *contact, const sp_blocks *blocks)
{
    const sp_model *model = contact->model;
    for (int i = 0; i < contact->near_count; i++) contact->near_block[10 * (size_t)i] = -1;
    for (int i = 0; i < contact->friction.count; i++) contact->friction.grip[i].block[0] = -1;
    for (int k = 0; k + 1 < model->point_count; k++) {
        const int a = model->point_node[k], b = model->point_node[k + 1];
        if (model->point_strut[k] != model->point_strut[k + 1]) continue;
        contact->platen_block[3 * k] = sp_blocks_find(blocks, a, a);
        contact->platen_block[3 * k + 1] = sp_blocks_find(blocks, a, b);
        contact->platen_block[3 * k + 2] = sp_blocks_find(blocks, b, b);
    }
}

int sp_contact_is_near(sp_contact *contact, sp_candidate *c)
{
    return contact->law->is_near(contact, c);
}

int sp_contact_press_platen(sp_contact *contact, const sp_platen_point *point,
                            sp_platen_layer *layer)
{
    const sp_model *model = contact->model;
    const double d = point->distance;
    *layer = (sp_platen_layer){0};
    if (d >= 0.5 * sp_model_piece_thickness(model, point->segment)) return 0;
    const double rest = sp_contact_platen_layer(model, point->segment, point->height, point->upper);
    if (rest <= 0 || d >= rest) return 0;
    if (d <= 0) {
        layer->energy = INFINITY;
        return 0;
    }
    const double k = sp_contact_weight(model, point->points, point->segment, point->width);
    double w[3];
    sp_layer_smooth(point->faces, d / rest, w);
    if (contact->layers.on &&
        !sp_contact_relax(contact,
                          sp_contact_platen_place(point->segment, point->upper, point->level,
                                                  point->place, point->spread),
                          k * rest, 1, w, w + 1, w + 2))
        return 0;
    const double push = -k * w[1];
    *layer = (sp_platen_layer){.energy = k * rest * w[0],
                               .push = push,
                               .slope = point->upper ? push : -push,
                               .stiffness = k * w[2] / rest,
                               .grip = k / rest};
    return 1;
}

void sp_contact_pull_platen_nodes(sp_contact *contact, const sp_platen_point *point,
                                  const sp_platen_layer *layer, int side, const double *dy,
                                  double *gradient, double *coupling, sp_platen_push *push)
{
    const sp_model *model = contact->model;
    double moved = 0; /* share of the height that goes down with the upper platen */
    for (int i = 0; i < 2; i++) {
        const int first = side * model->point_node[point->segment + i];
        if (model->hold[first + 1] == SP_MOVED) moved += dy[side * i + 1];
        for (int r = 0; r < side; r++) {
            const int unknown = model->unknown[first + r];
            gradient[first + r] += layer->slope * dy[side * i + r];
            if (point->upper && unknown >= 0) /* the upper platen comes down */
                coupling[unknown] += layer->stiffness * dy[side * i + r];
        }
    }
    if (point->upper) {
        push->upper += layer->push;
        push->tangent += layer->stiffness * (1 - 2 * moved);
    } else {
        push->lower += layer->push;
    }
    contact->active++;
}

/* Add what all grips have to gradient and blocks; returns their energy. */
static double rub(sp_contact *contact, double *gradient, sp_blocks *blocks)
{
    sp_friction *friction = &contact->friction;
    double energy = 0;
    friction->energy = friction->work = 0;
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        const int on = grip->load.on;
        if (on >= 0 && !sp_contact_has_blocks(contact, blocks, grip->load.from, on, grip->block))
            continue;
        energy += contact->law->rub(contact, grip, gradient, blocks);
    }
    return energy;
}

double sp_contact_eval(sp_contact *contact, double *gradient, sp_blocks *blocks,
                       sp_platen_push *push, double *coupling)
{
    contact->active = contact->missing = 0;
    contact->closest_square = contact->model->thinnest * contact->model->thinnest;
    contact->friction.load_count = 0;
    if (contact->layers.on) sp_layer_begin(&contact->layers);
    *push = (sp_platen_push){0};
    double energy = contact->law->press(contact, gradient, blocks, push, coupling);
    if (contact->friction.first && energy < INFINITY) energy += rub(contact, gradient, blocks);
    return energy;
}

sp_status sp_contact_reserve(sp_context *context, sp_contact *contact)
{
    return sp_layer_reserve(context, &contact->layers);
}

sp_status sp_contact_copy_layers(sp_context *context, const sp_contact *from, sp_contact *to)
{
    const size_t points = (size_t)from->model->point_count;
    if (!from->layers.on) return SP_OK;
    memcpy(to->spread, from->spread, points * sizeof *to->spread);
    if (to->wall_spread) memcpy(to->wall_spread, from->wall_spread, points * sizeof *to->spread);
    forget_pairs(to);
    return sp_layer_memory_copy(context, &from->layers, &to->layers);
}

void sp_contact_keep(sp_contact *contact, const double *gradient, double travel)
{
    sp_layer_memory_keep(&contact->layers);
    sp_friction_keep(&contact->friction, contact->model, contact->position, gradient, travel);
}

/* Return the furthest move of a point that cannot take it through one that the last search left out
 * [mm]. */
static double move_cap(const sp_contact *contact)
{
    /* The segments of a pair that was left out are still apart by a thickness and what is left of
     * the margin, and both of them may move. */
    return 0.45 * (contact->model->thinnest + sp_contact_margin_left(contact, contact->margin));
}

/* Return the square of the largest relative move of any two ends of the two segments. */
static double relative_move(int d, const sp_candidate *c, const double *from, const double *to)
{
    double largest = 0;
    for (int p = 0; p < 2; p++)
        for (int q = 0; q < 2; q++) {
            const int one = d * (c->from + p), two = d * (c->to + q);
            double square = 0;
            for (int i = 0; i < d; i++) {
                const double move = to[one + i] - from[one + i] - to[two + i] + from[two + i];
                square += move * move;
            }
            largest = fmax(largest, square);
        }
    return largest;
}

/* Return how far the point moves that moves furthest. */
static double furthest_move(const sp_model *model, const double *from, const double *to)
{
    const int d = model->dimension;
    double furthest = 0;
    for (int k = 0; k < model->point_count; k++) {
        double square = 0;
        for (int i = d * k; i < d * (k + 1); i++) square += (to[i] - from[i]) * (to[i] - from[i]);
        if (square > furthest) furthest = square;
    }
    return sqrt(furthest);
}

/* Find how every segment moves: first the move of its middle, then half of the move of its ends
 * against each other (4 numbers per segment). */
static void note_moves(sp_contact *contact, const double *from, const double *to)
{
    const int d = contact->model->dimension;
    for (int k = 0; k + 1 < contact->model->point_count; k++) {
        double *moves = contact->moves + 4 * k, square = 0;
        for (int i = 0; i < d; i++) {
            const double one = to[d * k + i] - from[d * k + i];
            const double two = to[d * (k + 1) + i] - from[d * (k + 1) + i];
            moves[i] = 0.5 * (one + two);
            square += (two - one) * (two - one);
        }
        moves[3] = 0.5 * sqrt(square);
    }
}

/* Return 0 when no two points of the segments come nearer than the relative move of any two of
 * their ends times `factor`. That move is at most the move of the middles plus what the ends move
 * against them. Most pairs are judged here. */
static int may_come_near(const sp_contact *contact, int from, int to, double factor)
{
    const int d = contact->model->dimension;
    const double *p = contact->piece + (2 * d + 1) * from, *q = contact->piece + (2 * d + 1) * to;
    const double *one = contact->moves + 4 * from, *two = contact->moves + 4 * to;
    double apart = 0, move = 0;
    for (int i = 0; i < d; i++) {
        apart += (p[i] - q[i]) * (p[i] - q[i]);
        move += (one[i] - two[i]) * (one[i] - two[i]);
    }
    const double reach =
        (sqrt(move) + one[3] + two[3]) * factor * (1 + round_off) + 0.5 * (p[d] + q[d]);
    return apart < reach * reach;
}

double sp_contact_safe_fraction(sp_contact *contact, const double *to, double most)
{
    const sp_model *model = contact->model;
    const double *from = contact->position, cap = move_cap(contact);
    const double furthest = furthest_move(model, from, to);
    double fraction = most;
    if (furthest * fraction > cap) fraction = cap / furthest;
    /* Two points approach by at most twice the furthest move, so pairs beyond this reach are not
     * looked at. */
    const double reach = 2 * furthest * fraction / approach_share;
    if (reach * reach <= contact->closest_square) return fraction;
    const int list_will_do =
        reach < model->thinnest + sp_contact_margin_left(contact, contact->near_margin);
    const int count = list_will_do ? sp_contact_near_within(contact, reach, model->thinnest)
                                   : contact->candidate_count;
    note_moves(contact, from, to);
    for (int i = 0; i < count; i++) {
        const double factor = fraction / approach_share;
        if (list_will_do) { /* scattered over the memory */
            const sp_brief *b = &contact->brief[i];
            if (!b->walls && !may_come_near(contact, b->from, b->to, factor)) continue;
        }
        sp_candidate *c = &contact->candidate[list_will_do ? contact->near[i] : i];
        /* Walls lean, and may meet away from their middles. */
        if (!c->walls && !may_come_near(contact, c->from, c->to, factor)) continue;
        if (!sp_contact_may_press(contact, c, reach)) continue;
        const double move = sqrt(relative_move(model->dimension, c, from, to));
        double distance; /* neighbours mostly move together */
        if (contact->law->is_within(contact, c, move * fraction / approach_share, &distance))
            fraction = approach_share * distance / move;
    }
    return fraction;
}

int sp_contact_is_crushed(sp_contact *contact, double share)
{
    for (int i = 0; i < contact->near_count; i++) {
        sp_candidate *c = &contact->candidate[contact->near[i]];
        double distance;
        if (sp_contact_may_press(contact, c, share * c->touch) &&
            contact->law->is_within(contact, c, share * c->touch, &distance))
            return 1;
    }
    return 0;
}

int sp_contact_lacks_length(const sp_contact *contact, double share)
{
    const sp_model *model = contact->model;
    const int dimension = model->dimension;
    for (int k = 0; k + 1 < model->point_count; k++) {
        const double unloaded = model->point_arc[k + 1] - model->point_arc[k];
        const double *at = contact->position + (size_t)dimension * (size_t)k;
        double square = 0;
        if (model->point_strut[k] != model->point_strut[k + 1] || !(unloaded > 0)) continue;
        for (int d = 0; d < dimension; d++)
            square += (at[dimension + d] - at[d]) * (at[dimension + d] - at[d]);
        if (square <= share * share * unloaded * unloaded) return 1;
    }
    return 0;
}
