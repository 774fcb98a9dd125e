/* This file says which segments press on each other, and from which distance (E11, E12). */
#include <math.h>
#include <stdlib.h>

#include "base/so3.h"
#include "gap/line.h"
#include "contact/panel.h"
#include "gap/segment.h"

/* Two parts of one strut, or of two struts that go on into each other at a joint, press on each
 * other when they are at least this far apart along it, in touching distances. */
static const double own_reach = 3.0;
/* Two struts at a joint go on into each other when the angle between them is wider than this
 * (cosine). */
static const double goes_on = -0.1;
/* Pairs that are nearer than this in the unloaded coupon are one body, as a share of the touching
 * distance. */
static const double one_body = 0.25;
/* Pieces in one straight line are one body, too, when their offset is less than this share of the
 * touching distance. */
static const double in_line = 0.3;
/* The layer of an overlapping pair is this share of its unloaded distance, so that neither
 * round-off nor the first strains load it. */
static const double rest_slack = 0.97;
static const double rest_dust = 1e-6; /* of the thickness of a skin: round-off of a place on it */

/* This is a whole strut, which bonds between layers may cut into pieces, with the place of a
 * segment on it. */
typedef struct part {
    const int *joint;
    double from, to, length; /* of the segment along the strut, length of the strut [mm] */
    int in_zone;
} part;

static part part_of(const sp_model *model, int segment)
{
    const sp_network *network = model->network;
    const int s = model->point_strut[segment];
    const double from = model->point_arc[segment], to = model->point_arc[segment + 1];
    if (!network->strut_piece)
        return (part){network->strut_joint + 2 * s, from, to,
                      model->point_arc[model->chain_first[s + 1] - 1],
                      model->point_node[segment] == model->point_node[segment + 1]};
    const sp_layer_piece *piece = &network->strut_piece[s];
    const double middle = piece->from + 0.5 * (from + to);
    return (part){piece->joint, piece->from + from, piece->from + to, piece->length,
                  middle < piece->zone[0] || middle > piece->length - piece->zone[1]};
}

/* Return the distance along the strut from its end `end` (0: joint A) to the nearer end of a
 * segment. */
static double arc_from(const part *at, int end)
{
    return end == 0 ? at->from : at->length - at->to;
}

/* Find the shared joint of two struts as ends (0: A, 1: B) of either; returns 0 when they share
 * none. */
static int share_joint(const part *s, const part *r, int *end_s, int *end_r)
{
    for (*end_s = 0; *end_s < 2; ++*end_s)
        for (*end_r = 0; *end_r < 2; ++*end_r)
            if (s->joint[*end_s] == r->joint[*end_r]) return 1;
    return 0;
}

/* Return the cosine of the angle between two struts at their shared joint. */
static double cosine_at(const sp_contact *contact, int s, int end_s, int r, int end_r)
{
    const double cosine = sp_dot(contact->strut_axis + 3 * s, contact->strut_axis + 3 * r);
    return end_s == end_r ? cosine : -cosine;
}

void sp_contact_set_axes(sp_contact *contact)
{
    const sp_network *network = contact->model->network;
    for (int s = 0; s < network->strut_count; s++) {
        const int *joint = network->strut_joint + 2 * s;
        double *axis = contact->strut_axis + 3 * s;
        for (int i = 0; i < 3; i++)
            axis[i] = network->joint_position[3 * joint[1] + i] -
                      network->joint_position[3 * joint[0] + i];
        const double inverse = 1 / sqrt(sp_dot(axis, axis));
        for (int i = 0; i < 3; i++) axis[i] *= inverse;
    }
}

/* Return the layer of a point `apart` from a piece and `offset` from the line through it, unloaded.
 */
static double layer(double apart, double offset, double touch)
{
    if (apart < one_body * touch || (apart < touch && offset < in_line * touch)) return 0;
    return fmin(touch, rest_slack * apart);
}

/* Return that layer for a planar network, or for struts of one stacked layer. */
static double layer_in_plane(const sp_contact *contact, int from, double f, int to, double touch)
{
    const int d = contact->model->dimension;
    const double *x = contact->rest_position + d * from, *y = contact->rest_position + d * to;
    const double v[2] = {(1 - f) * x[0] + f * x[d] - y[0], (1 - f) * x[1] + f * x[d + 1] - y[1]};
    const double e[2] = {y[d] - y[0], y[d + 1] - y[1]};
    return layer(sp_line_distance(v, e), fabs(v[0] * e[1] - v[1] * e[0]) / hypot(e[0], e[1]),
                 touch);
}

/* Return the layer between struts of two stacked layers, which pass over each other without
 * touching; INFINITY for struts of one layer, and for a network without layers. */
static double layer_between(const sp_model *model, int from, int to)
{
    const sp_layer_piece *piece = model->network->strut_piece;
    if (!piece) return INFINITY;
    const sp_network *network = model->network;
    const int s = model->point_strut[from], r = model->point_strut[to];
    const double *p = network->joint_position + 3 * (size_t)piece[s].joint[0];
    const double *q = network->joint_position + 3 * (size_t)piece[r].joint[0];
    const int layers = abs(piece[s].layer - piece[r].layer);
    if (network->built == SP_BUILT_STACK) { /* flat beads, which are not as high as wide */
        const double high = 0.5 * (network->strut_height[s] + network->strut_height[r]);
        return layers == 0 ? INFINITY : layers == 1 ? rest_slack * high : high;
    }
    const double apart = fabs(p[2] - q[2]);
    const double alike = layers * network->strut_height[s];
    /* Layers of a tool path may be of several heights. */
    return rest_slack * (fabs(apart - alike) > 1e-9 * alike ? apart : alike);
}

/* Return 1 when a bond carries at a point that is pressed through the stack: when, seen from above,
 * it lies on the bead of segment `to` in the layer next to its own, from which it is at v. E272 */
static int lies_on_bond(const sp_model *model, int from, int to, const double v[3],
                        const double n[3], double length)
{
    const sp_network *network = model->network;
    const sp_layer_piece *piece = network->strut_piece;
    const int s = model->point_strut[from], r = model->point_strut[to];
    if (network->built != SP_BUILT_STACK || abs(piece[s].layer - piece[r].layer) != 1) return 0;
    const double level[3] = {v[0], 0, v[2]};
    return sp_line_square_spatial(level, n, length) <
           0.25 * network->strut_thickness[r] * network->strut_thickness[r];
}

static double layer_in_space(const sp_contact *contact, int from, double f, int to, double touch)
{
    const double *y = contact->rest_position + 3 * to;
    const double e[3] = {y[3] - y[0], y[4] - y[1], y[5] - y[2]}, length = sqrt(sp_dot(e, e));
    const double n[3] = {e[0] / length, e[1] / length, e[2] / length};
    double v[3], off[3];
    if (contact->model->network->strut_panel && sp_panel_is_in_joint(contact, from, f, to, touch))
        return 0;
    sp_contact_reach(3, contact->rest_position, from, f, to, v);
    if (lies_on_bond(contact->model, from, to, v, n, length)) return 0;
    sp_cross(v, n, off);
    return fmin(layer(sqrt(sp_line_square_spatial(v, n, length)), sqrt(sp_dot(off, off)), touch),
                layer_between(contact->model, from, to));
}

double sp_contact_layer(const sp_contact *contact, const sp_candidate *c, int from, double f,
                        int to)
{
    return contact->model->dimension == 2 || c->walls
               ? layer_in_plane(contact, from, f, to, c->touch)
               : layer_in_space(contact, from, f, to, c->touch);
}

/* Return 1 when the layers of two segments are not all `touch`, because the segments are nearer
 * than that in the unloaded coupon; walls are seen along the depth. */
static int overlap_unloaded(const sp_contact *contact, const sp_candidate *c)
{
    const int dimension = contact->model->dimension, flat = dimension == 2 || c->walls;
    double p[2][3] = {{0}}, d[2][3] = {{0}};
    for (int k = 0; k < 2; k++) {
        const double *x = contact->rest_position + dimension * (k ? c->to : c->from);
        for (int i = 0; i < (flat ? 2 : 3); i++) {
            p[k][i] = x[i];
            d[k][i] = x[dimension + i] - x[i];
        }
    }
    return rest_slack * sqrt(sp_segment_square(p[0], d[0], p[1], d[1])) < c->touch ||
           (!flat && layer_between(contact->model, c->from, c->to) < c->touch);
}

/* Return 1 when some point of either segment has a layer against the other. Most pairs at a joint
 * overlap and have none. This depends on the unloaded coupon only. */
static int some_point_presses(const sp_contact *contact, const sp_candidate *c)
{
    for (int back = 0; back < 2; back++) {
        const int from = back ? c->to : c->from, to = back ? c->from : c->to;
        const int points = contact->spread[from];
        for (int i = 0; i < points; i++)
            if (sp_contact_layer(contact, c, from, sp_contact_place_of(points, i), to) > 0)
                return 1;
    }
    return 0;
}

static void set_overlap(const sp_contact *contact, sp_candidate *c)
{
    c->overlaps = (signed char)overlap_unloaded(contact, c);
    const int asks = c->overlaps && contact->model->dimension == 3 && !c->walls;
    c->presses = !asks || some_point_presses(contact, c) ? 1 : 0;
}

/* Return 1 when a segment lies before the end of the first element of its strut, counted from joint
 * A (end 0) or B. */
static int in_first_element(const sp_model *model, int segment, int end)
{
    const int s = model->point_strut[segment], joint = model->network->strut_joint[2 * s + end];
    return model->point_node[segment] == joint || model->point_node[segment + 1] == joint;
}

void sp_contact_judge_pair(const sp_contact *contact, sp_candidate *c)
{
    const sp_model *model = contact->model;
    const int s = model->point_strut[c->from], r = model->point_strut[c->to];
    const int planar = model->dimension == 2 || c->walls;
    const part from = part_of(model, c->from), to = part_of(model, c->to);
    int end_s, end_r;
    c->presses = 0;
    if (model->network->strut_panel) {
        if (!sp_panel_is_one_body(contact, c->from, c->to)) set_overlap(contact, c);
        return;
    }
    if (share_joint(&from, &to, &end_s, &end_r)) {
        if (from.in_zone || to.in_zone) return;
        if (cosine_at(contact, s, end_s, r, end_r) < goes_on) {
            const double path = arc_from(&from, end_s) + arc_from(&to, end_r);
            if (path >= own_reach * c->touch) c->presses = 1;
            return;
        }
        /* In space elements of slender struts are many thicknesses long: the chords of the first
         * ones close an angle that the bent struts keep open. */
        if (!planar && in_first_element(model, c->from, end_s) &&
            in_first_element(model, c->to, end_r))
            return;
    }
    set_overlap(contact, c);
}

/* Return 1 for a joint on a platen, or on the skin that lies on it. */
static int stands_on(const sp_model *model, int joint, unsigned char face)
{
    const sp_network *network = model->network;
    const double y = network->joint_position[3 * (size_t)joint + 1],
                 apart = face == SP_FACE_UPPER ? model->height - y : y;
    if (!(network->skin > 0)) return network->joint_face[joint] & face;
    return apart < network->skin * (1 + rest_dust);
}

/* A strut on a face lies on its platen; any other strut presses on both platens through half its
 * own thickness. A strut that stands on the platen is one body with it where the two overlap; in
 * space, where elements of slender struts are many thicknesses long, all along its first element,
 * whose chord comes nearer to the platen than the bent strut does. */
double sp_contact_platen_layer(const sp_model *model, int segment, double y, int upper)
{
    const int *joint = part_of(model, segment).joint;
    const unsigned char face = upper ? SP_FACE_UPPER : SP_FACE_LOWER;
    const int one = stands_on(model, joint[0], face), other = stands_on(model, joint[1], face);
    const double half = 0.5 * sp_model_piece_thickness(model, segment),
                 apart = (upper ? model->height - y : y) - model->network->skin;
    if (one && other) return 0;
    if (apart < (one || other ? 1 : one_body) * half) return 0;
    if (model->dimension == 3 && !model->network->strut_piece && (one || other) &&
        in_first_element(model, segment, !one))
        return 0;
    return fmin(half, rest_slack * apart);
}

int sp_contact_too_close_along(const sp_model *model, int from, int to, double touch)
{
    return sp_contact_is_own(model, from, to) &&
           part_of(model, to).from - part_of(model, from).to < own_reach * touch;
}

int sp_contact_is_own(const sp_model *model, int from, int to)
{
    const sp_layer_piece *piece = model->network->strut_piece;
    const int s = model->point_strut[from], r = model->point_strut[to];
    return piece ? piece[s].whole == piece[r].whole : s == r;
}
