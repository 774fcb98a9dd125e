/* This file makes grips where an accepted state bears load, with the forces that the grips before
 * them held (E68, E73, E247). */
#include <math.h>
#include <string.h>

#include "friction/friction.h"

static double dot(const double *a, const double *b)
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Return 1 when two loads belong to one contact point and come from one side. Such loads share one
 * force, whether a platen or pieces of one strut or more press there. */
static int same_place(const sp_load *a, const double *push_a, const sp_load *b,
                      const double *push_b)
{
    if (a->from != b->from || a->place != b->place) return 0;
    return a->on < 0 || b->on < 0 ? a->on == b->on : dot(push_a, push_b) > 0;
}

/* Find the direction of a segment. */
static void direction_of(const sp_model *model, const double *position, int segment, double n[3])
{
    const int d = model->dimension;
    for (int i = 0; i < 3; i++)
        n[i] = i < d ? position[d * (segment + 1) + i] - position[d * segment + i] : 0;
    const double inverse = 1 / sqrt(dot(n, n));
    for (int i = 0; i < 3; i++) n[i] *= inverse;
}

/* From this sine of the angle at which two struts cross, seen along the push, friction acts in full
 * on slip across the strut; below SP_ROLLS such slip is free. */
static const double crosses = 0.3;

/* Find the directions of the slip of a grip that lies on a strut in space. Returns the part of the
 * push that is square to both struts, once they cross; `push` where they do not. */
static double set_axes(sp_grip *grip, const sp_model *model, const double *position, double push)
{
    double own[3], normal[3], size = 0;
    direction_of(model, position, grip->load.on, grip->axis);
    direction_of(model, position, grip->load.from, own);
    const double *n = grip->axis, along = dot(own, n);
    for (int i = 0; i < 3; i++) {
        const int j = (i + 1) % 3, k = (i + 2) % 3;
        normal[i] = n[j] * own[k] - n[k] * own[j];
        grip->aside[i] = own[i] - along * n[i];
        size += normal[i] * normal[i];
    }
    const double sine = sqrt(size), seen = fabs(dot(normal, grip->side));
    const double x = fmin(1, fmax(0, (seen - SP_ROLLS) / (crosses - SP_ROLLS)));
    grip->across = grip->load.may_cross ? x * x * (3 - 2 * x) : 0;
    for (int i = 0; i < 3; i++) grip->aside[i] /= sine > 0 ? sine : 1;
    if (grip->across == 0) return push;
    const double square = fabs(dot(grip->load.push, normal)) / sine;
    return (1 - grip->across) * push + grip->across * square;
}

/* The push of one piece on a point has a part along that piece, which the push of the next piece
 * takes off again: only their sum is across the strut. Find the unit direction of the sum over all
 * loads in the same place as `load`; returns its length. */
static double side_of(const sp_friction *friction, const sp_load *load, double side[3])
{
    memset(side, 0, 3 * sizeof(double));
    for (int k = friction->first[load->from]; k >= 0; k = friction->load[k].next)
        if (same_place(&friction->load[k], friction->load[k].push, load, load->push))
            for (int i = 0; i < 3; i++) side[i] += friction->load[k].push[i];
    const double whole = sqrt(dot(side, side));
    for (int i = 0; i < 3 && whole > 0; i++) side[i] /= whole;
    return whole;
}

static void put_grip(sp_friction *friction, sp_grip grip)
{
    grip.block[0] = -1;
    friction->grip[friction->count++] = grip;
}

static void grip_loads(sp_friction *friction, const sp_model *model, const double *position)
{
    for (int i = 0; i < friction->load_count; i++) {
        const sp_load *load = &friction->load[i];
        const double coefficient = load->on < 0 ? model->friction_platens : model->friction_struts;
        sp_grip grip = {.load = *load};
        const double whole = side_of(friction, load, grip.side), push = dot(load->push, grip.side);
        if (!(coefficient * push > 0)) continue;
        grip.most = coefficient * push;
        grip.load.stiffness *= push / whole;
        if (load->on >= 0 && model->dimension == 3)
            grip.most = coefficient * set_axes(&grip, model, position, push);
        if (load->on >= 0 && model->dimension == 2) { /* across: to the right of the push */
            direction_of(model, position, load->on, grip.axis);
            const double *n = grip.axis, *w = grip.side;
            grip.along[0] = n[0] * w[1] - n[1] * w[0];
            grip.along[1] = -(n[0] * w[0] + n[1] * w[1]);
        }
        put_grip(friction, grip);
    }
}

/* This share of the stiffness of its layer is left to a face joint that slides: without it the
 * unloaded coupon would drift, and so would a coupon of which everything slides. The force that
 * this makes is less than the tolerance of an equilibrium (E76). */
static const double face_drag = 1e-9;

/* Return the push of a platen on a joint that it holds [N]; below 0 it pulls. */
static double face_push(const sp_model *model, const double *gradient, int point)
{
    const int i = model->unknowns * model->point_node[point] + 1;
    return model->hold[i] == SP_MOVED ? -gradient[i] : gradient[i];
}

/* Note the loads of the joints on the faces, each on a layer as long as the strut is thick. */
static void grip_faces(sp_friction *friction, const sp_model *model, const double *position,
                       const double *gradient)
{
    for (int i = 0; i < friction->face_count; i++) {
        const int point = friction->face_point[i], d = model->dimension;
        const int strut = model->point_strut[point];
        const int up = model->hold[model->unknowns * model->point_node[point] + 1] == SP_MOVED;
        const double push = fmax(0, face_push(model, gradient, point));
        const int last = model->chain_first[strut + 1] - 1 == point;
        const double most = model->friction_platens * push;
        const sp_load load = {.from = point - last,
                              .on = up ? SP_ON_UPPER_PLATEN : SP_ON_LOWER_PLATEN,
                              .place = last,
                              .stiffness = 2 * model->layer_modulus * model->strut_width[strut],
                              .foot = {position[d * point], d == 3 ? position[d * point + 2] : 0}};
        sp_grip grip = {.load = load, .drag = face_drag, .most = most};
        if (!friction->started) grip.most = 0, grip.rate = INFINITY, grip.start = 1;
        put_grip(friction, grip);
    }
}

double sp_friction_start(sp_friction *friction, const sp_model *model, const double *gradient,
                         double travel)
{
    double change = 0, largest = 0;
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        if (!grip->start) continue;
        const int point = grip->load.from + (grip->load.place > 0);
        const double push = fmax(0, face_push(model, gradient, point));
        const double rate = model->friction_platens * push / travel;
        change = fmax(change, fabs(rate - grip->rate));
        largest = fmax(largest, rate);
        grip->rate = rate;
    }
    return largest > 0 ? change / largest : 0;
}

static void chain_loads(sp_friction *friction, const sp_model *model)
{
    for (int k = 0; k < model->point_count; k++) friction->first[k] = -1;
    for (int i = 0; i < friction->load_count; i++) {
        sp_load *load = &friction->load[i];
        load->next = friction->first[load->from];
        friction->first[load->from] = i;
    }
}

static void chain_grips(sp_friction *friction, const sp_model *model)
{
    for (int k = 0; k < model->point_count; k++) friction->first[k] = -1;
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        grip->load.next = friction->first[grip->load.from];
        friction->first[grip->load.from] = i;
    }
}

/* Return what all grips could hold that took the place of an old one [N]. */
static double whole_at(const sp_friction *friction, const sp_grip *old)
{
    double whole = 0;
    for (int i = friction->first[old->load.from]; i >= 0; i = friction->grip[i].load.next) {
        const sp_grip *grip = &friction->grip[i];
        if (same_place(&grip->load, grip->side, &old->load, old->side)) whole += grip->most;
    }
    return whole;
}

/* Return 1 when a grip took the place of an old one, on the same piece. */
static int on_same_piece(const sp_grip *grip, const sp_grip *old)
{
    return grip->load.on == old->load.on &&
           same_place(&grip->load, grip->side, &old->load, old->side);
}

/* Return what the grips could hold that took the place of an old one on the same piece [N]. */
static double piece_at(const sp_friction *friction, const sp_grip *old)
{
    double piece = 0;
    for (int i = friction->first[old->load.from]; i >= 0; i = friction->grip[i].load.next)
        if (on_same_piece(&friction->grip[i], old)) piece += friction->grip[i].most;
    return piece;
}

/* Note which part of its place the piece of each grip on a strut in space has, and which it had. A
 * point may have several grips on one piece. */
static void note_parts(sp_friction *friction, const sp_grip *old, int old_count)
{
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        if (grip->load.on < 0) continue;
        const double whole = whole_at(friction, grip), piece = piece_at(friction, grip);
        grip->part = piece > 0 ? piece / whole : 0;
        grip->own = piece > 0 ? grip->most / piece : 0;
    }
    for (int k = 0; k < old_count; k++) {
        if (old[k].load.on < 0) continue;
        for (int i = friction->first[old[k].load.from]; i >= 0; i = friction->grip[i].load.next)
            if (on_same_piece(&friction->grip[i], &old[k]))
                friction->grip[i].was += old[k].part * old[k].own;
    }
}

/* Return how much the parts of all pieces that took the place of an old grip have grown, but for
 * those that have become less. */
static double grown_at(const sp_friction *friction, const sp_grip *old)
{
    double grown = 0;
    for (int i = friction->first[old->load.from]; i >= 0; i = friction->grip[i].load.next) {
        const sp_grip *grip = &friction->grip[i];
        if (same_place(&grip->load, grip->side, &old->load, old->side))
            grown += grip->own * fmax(0, grip->part - grip->was);
    }
    return grown;
}

/* Return the part of an old grip that its own piece goes on to bear: all of it where the part of
 * the piece grows, nothing where the point has left it. */
static double stays_at(const sp_friction *friction, const sp_grip *old, double grown)
{
    for (int i = friction->first[old->load.from]; i >= 0; i = friction->grip[i].load.next) {
        const sp_grip *grip = &friction->grip[i];
        if (on_same_piece(grip, old)) return grown > 0 ? fmin(1, grip->part / old->part) : 1;
    }
    return 0;
}

/* Return the share of the force of an old grip on a strut in space that a grip takes on. A piece
 * takes what lies along its own directions. So a force stays with its piece as far as that still
 * bears its part, and only what the piece loses goes to those that have gained: if all were shared
 * anew in every state, pieces at an angle would lose a part of the force in each of them (E259). */
static double share_of(const sp_grip *grip, const sp_grip *old, double stays, double grown)
{
    const double rest = grown > 0 ? fmax(0, grip->part - grip->was) / grown : grip->part;
    return grip->own * ((grip->load.on == old->load.on ? stays : 0) + (1 - stays) * rest);
}

/* Hand the force of an old grip on to where its point lies now, on a platen or in the plane shared
 * as the push of the point is; hand on the force that it could hold as well, which is taken off
 * `rate`. A force on a strut in space turns with the struts that it lies between. */
static void hand_on(sp_friction *friction, const sp_model *model, const double *position,
                    const sp_grip *old, const double force[2])
{
    const int turns = model->dimension == 3 && old->load.on >= 0;
    const double whole = whole_at(friction, old), grown = turns ? grown_at(friction, old) : 0,
                 stays = turns ? stays_at(friction, old, grown) : 0;
    double vector[3] = {0};
    if (turns) {
        sp_grip now = *old; /* with its directions as the struts lie now */
        const double counts = old->across > 0;
        set_axes(&now, model, position, 0);
        for (int i = 0; i < 3; i++)
            vector[i] = force[0] * now.axis[i] + counts * force[1] * now.aside[i];
    }
    for (int i = friction->first[old->load.from]; i >= 0 && whole > 0;
         i = friction->grip[i].load.next) {
        sp_grip *grip = &friction->grip[i];
        if (!same_place(&grip->load, grip->side, &old->load, old->side)) continue;
        const double share = grip->most / whole;
        if (turns) {
            const double takes = share_of(grip, old, stays, grown);
            grip->began[0] += takes * dot(vector, grip->axis);
            if (grip->across > 0) grip->began[1] += takes * dot(vector, grip->aside);
        } else {
            for (int k = 0; k < 2; k++) grip->began[k] += force[k] * share;
        }
        grip->rate -= old->most * share;
    }
}

void sp_friction_keep(sp_friction *friction, const sp_model *model, const double *position,
                      const double *gradient, double travel)
{
    if (!friction->first) return;
    sp_grip *old = friction->grip;
    const int old_count = friction->count;
    friction->done += friction->work;
    friction->energy = friction->work = 0;
    friction->grip = friction->before;
    friction->before = old;
    friction->count = 0;
    chain_loads(friction, model);
    grip_loads(friction, model, position);
    grip_faces(friction, model, position, gradient);
    chain_grips(friction, model);
    if (model->dimension == 3) note_parts(friction, old, old_count);
    for (int i = 0; i < old_count; i++) {
        double force[2];
        sp_friction_force(&old[i], force);
        hand_on(friction, model, position, &old[i], force);
    }
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        if (!grip->start) grip->rate = fabs(travel) > 0 ? (grip->rate + grip->most) / travel : 0;
    }
    sp_friction_expect(friction, 0);
}
