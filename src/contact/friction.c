/* Grips: made where an accepted state bears load, and how much one holds (E68 to E74). */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "contact/friction.h"

static int slides_on_face(const sp_model *model, int node)
{
    const unsigned char *hold = model->hold + model->unknowns * node;
    return hold[1] != SP_FREE &&
           (hold[0] == SP_FREE || (model->dimension == 3 && hold[2] == SP_FREE));
}

static int on_node(const sp_model *model, int point)
{
    const double *arm = model->point_arm + model->dimension * point;
    return arm[0] == 0 && arm[1] == 0 && (model->dimension == 2 || arm[2] == 0);
}

/* One chain point for every joint or node that slides on a platen. */
static sp_status find_faces(sp_context *context, const sp_model *model, sp_friction *friction)
{
    unsigned char *seen = sp_alloc((size_t)model->node_count, 1);
    friction->face_point = sp_alloc((size_t)model->node_count, sizeof(int));
    if (!seen || !friction->face_point) {
        sp_free(seen);
        return sp_fail(context, SP_NO_MEMORY, "no memory for friction on the platens");
    }
    for (int k = 0; k < model->point_count && model->friction_platens > 0; k++) {
        const int node = model->point_node[k];
        if (seen[node] || !slides_on_face(model, node) || !on_node(model, k)) continue;
        seen[node] = 1;
        friction->face_point[friction->face_count++] = k;
    }
    sp_free(seen);
    return SP_OK;
}

sp_status sp_friction_create(sp_context *context, const sp_model *model, sp_friction *friction)
{
    memset(friction, 0, sizeof *friction);
    if (model->friction_struts <= 0 && model->friction_platens <= 0) return SP_OK;
    friction->first = sp_alloc((size_t)model->point_count, sizeof(int));
    if (!friction->first)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the friction of %d points",
                       model->point_count);
    sp_status status = find_faces(context, model, friction);
    if (status == SP_OK) status = sp_friction_reserve(context, friction, 64);
    return status;
}

void sp_friction_free(sp_friction *friction)
{
    sp_free(friction->load);
    sp_free(friction->grip);
    sp_free(friction->before);
    sp_free(friction->first);
    sp_free(friction->face_point);
    memset(friction, 0, sizeof *friction);
}

sp_status sp_friction_reserve(sp_context *context, sp_friction *friction, int loads)
{
    if (!friction->first || loads <= friction->load_capacity) return SP_OK;
    const size_t most = 2 * (size_t)loads, grips = most + (size_t)friction->face_count;
    sp_load *load = sp_resize(friction->load, most, sizeof *load);
    if (load) friction->load = load;
    sp_grip *grip = load ? sp_resize(friction->grip, grips, sizeof *grip) : NULL;
    if (grip) friction->grip = grip;
    sp_grip *before = grip ? sp_resize(friction->before, grips, sizeof *before) : NULL;
    if (!before)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the friction of %d points", loads);
    friction->before = before;
    friction->load_capacity = 2 * loads;
    return SP_OK;
}

static double square(int n, const double *v)
{
    return v[0] * v[0] + (n > 1 ? v[1] * v[1] : 0);
}

static int directions(const sp_model *model, const sp_load *load)
{
    return model->dimension == 3 && load->on < 0 ? 2 : 1;
}

/* Energy of a layer that would be under the force `trial` if it did not slide: E69. */
static double energy_of(const sp_grip *grip, int n, const double *trial)
{
    const double k = grip->load.stiffness, most = grip->limit, full = square(n, trial);
    return full <= most * most ? 0.5 * full / k : most * (sqrt(full) - 0.5 * most) / k;
}

/* Force of a grip at this trial force. */
static void force_of(const sp_grip *grip, int n, const double *trial, double force[2])
{
    const double full = sqrt(square(n, trial)), share = full > grip->limit ? grip->limit / full : 1;
    for (int i = 0; i < n; i++) force[i] = share * trial[i];
}

/* Force that Newton's method expects of a grip that slides: that of the last iterate goes along with the linear step from there,
 * though never beyond the limit, see E74. */
static void expected_force(const sp_grip *grip, int n, double fraction, double force[2])
{
    const double *q = grip->mark, size = sqrt(square(n, q)), most = grip->limit;
    double moved[2] = {0, 0}, along = 0;
    for (int i = 0; i < n; i++) moved[i] = (grip->trial[i] - q[i]) / fraction;
    for (int i = 0; i < n && size > most; i++) along += q[i] * moved[i] / size;
    for (int i = 0; i < n; i++)
        force[i] = size > most ? (most * (q[i] + moved[i]) - along * grip->dual[i]) / size
                               : q[i] + moved[i];
    const double full = sqrt(square(n, force));
    for (int i = 0; i < n && full > most; i++) force[i] *= most / full;
}

/* Stiffness of the layer, E74: k where it sticks, else k/|q| (T - f u^T, both ways) with the direction u of the slide. */
static void stiffness_of(const sp_grip *grip, int n, const double *force, double out[3])
{
    const double k = grip->load.stiffness, size = sqrt(square(n, grip->trial));
    const int slides = size > grip->limit;
    const double all = slides ? k * grip->limit / size : k, less = slides ? k / (size * size) : 0;
    const double *q = grip->trial;
    out[0] = all - less * force[0] * q[0];
    out[1] = n == 1 ? 0 : -0.5 * less * (force[0] * q[1] + force[1] * q[0]);
    out[2] = n == 1 ? 0 : all - less * force[1] * q[1];
}

double sp_friction_slide(sp_friction *friction, sp_grip *grip, int n, const double slip[2],
                         double force[2], double stiffness[3])
{
    for (int i = 0; i < n; i++) grip->trial[i] = grip->held[i] + grip->load.stiffness * slip[i];
    force_of(grip, n, grip->trial, force);
    memcpy(grip->expected, force, (size_t)n * sizeof(double));
    if (friction->fraction > 0) expected_force(grip, n, friction->fraction, grip->expected);
    stiffness_of(grip, n, grip->expected, stiffness);
    for (int i = 0; i < n; i++) friction->work += 0.5 * (grip->began[i] + force[i]) * slip[i];
    const double energy = energy_of(grip, n, grip->trial) - energy_of(grip, n, grip->held);
    friction->energy += energy;
    return energy;
}

void sp_friction_mark(sp_friction *friction)
{
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        memcpy(grip->mark, grip->trial, sizeof grip->mark);
        memcpy(grip->dual, grip->expected, sizeof grip->dual);
    }
}

static double dot(const double *a, const double *b)
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Loads of one contact point from one side, by a platen or by pieces of one strut or more, share one force. */
static int same_place(const sp_load *a, const double *push_a, const sp_load *b,
                      const double *push_b)
{
    if (a->from != b->from || a->place != b->place) return 0;
    return a->on < 0 || b->on < 0 ? a->on == b->on : dot(push_a, push_b) > 0;
}

/* Direction of a segment. */
static void direction_of(const sp_model *model, const double *position, int segment, double n[3])
{
    const int d = model->dimension;
    for (int i = 0; i < 3; i++)
        n[i] = i < d ? position[d * (segment + 1) + i] - position[d * segment + i] : 0;
    const double inverse = 1 / sqrt(dot(n, n));
    for (int i = 0; i < 3; i++) n[i] *= inverse;
}

/* Two struts that cross touch with half their points each way, and either way resists sliding along one of them: E72. */
static double crossing_factor(const sp_model *model, const sp_load *load, const double *position)
{
    double one[3], other[3];
    if (model->dimension == 2) return 1;
    direction_of(model, position, load->from, one);
    direction_of(model, position, load->on, other);
    return 2 / (1 + fabs(dot(one, other)));
}

/* What one piece adds to the push of a point along itself the next takes off: only their sum is across the strut. Unit direction
 * of that sum over the place of a load; returns how long it is. */
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
    grip.block[0] = grip.next = -1;
    friction->grip[friction->count++] = grip;
}

static void grip_loads(sp_friction *friction, const sp_model *model, const double *position)
{
    for (int i = 0; i < friction->load_count; i++) {
        const sp_load *load = &friction->load[i];
        const double coefficient =
            load->on < 0 ? model->friction_platens
                         : model->friction_struts * crossing_factor(model, load, position);
        sp_grip grip = {.load = *load};
        const double whole = side_of(friction, load, grip.side), push = dot(load->push, grip.side);
        grip.most = coefficient * push;
        if (!(grip.most > 0)) continue;
        grip.load.stiffness *= push / whole;
        if (load->on >= 0) direction_of(model, position, load->on, grip.axis);
        if (load->on >= 0 && model->dimension == 2) { /* to the right of the push */
            const double *n = grip.axis, *w = grip.side;
            grip.along[0] = n[0] * w[1] - n[1] * w[0];
            grip.along[1] = -(n[0] * w[0] + n[1] * w[1]);
        }
        put_grip(friction, grip);
    }
}

/* Push of a platen on a joint it holds [N]; below 0: it pulls. */
static double face_push(const sp_model *model, const double *gradient, int point)
{
    const int i = model->unknowns * model->point_node[point] + 1;
    return model->hold[i] == SP_MOVED ? -gradient[i] : gradient[i];
}

/* Joints on the faces, on a layer as long as the strut is thick. */
static void grip_faces(sp_friction *friction, const sp_model *model, const double *position,
                       const double *gradient)
{
    for (int i = 0; i < friction->face_count; i++) {
        const int point = friction->face_point[i], d = model->dimension;
        const int strut = model->point_strut[point];
        const int up = model->hold[model->unknowns * model->point_node[point] + 1] == SP_MOVED;
        const double push = fmax(0, face_push(model, gradient, point));
        const int last = model->chain_first[strut + 1] - 1 == point;
        if (push == 0 && friction->started) continue;
        const sp_load load = {.from = point - last,
                              .on = up ? SP_ON_UPPER_PLATEN : SP_ON_LOWER_PLATEN,
                              .place = last,
                              .stiffness = 2 * model->layer_modulus * model->strut_width[strut],
                              .foot = {position[d * point], d == 3 ? position[d * point + 2] : 0}};
        put_grip(friction, friction->started
                               ? (sp_grip){.load = load, .most = model->friction_platens * push}
                               : (sp_grip){.load = load, .rate = INFINITY, .start = 1});
    }
}

double sp_friction_start(sp_friction *friction, const sp_model *model, const double *gradient,
                         double travel)
{
    double change = 0, largest = 0;
    for (int i = 0; i < friction->count; i++) { /* one for each face point, in their order */
        sp_grip *grip = &friction->grip[i];
        const double push = fmax(0, face_push(model, gradient, friction->face_point[i]));
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
        grip->next = friction->first[grip->load.from];
        friction->first[grip->load.from] = i;
    }
}

/* The force of a contact point goes on to where it lies now, shared as its push is; so does what it could hold, which is
 * taken off `rate`. */
static void hand_on(sp_friction *friction, const sp_model *model, const sp_grip *old,
                    const double force[2])
{
    double whole = 0;
    for (int i = friction->first[old->load.from]; i >= 0; i = friction->grip[i].next) {
        const sp_grip *grip = &friction->grip[i];
        if (same_place(&grip->load, grip->side, &old->load, old->side)) whole += grip->most;
    }
    for (int i = friction->first[old->load.from]; i >= 0 && whole > 0; i = friction->grip[i].next) {
        sp_grip *grip = &friction->grip[i];
        if (!same_place(&grip->load, grip->side, &old->load, old->side)) continue;
        const double share = grip->most / whole;
        const int turns = model->dimension == 3 && old->load.on >= 0;
        for (int k = 0; k < 2; k++)
            grip->began[k] += force[k] * share * (turns ? dot(old->axis, grip->axis) : 1);
        grip->rate -= old->most * share;
    }
}

void sp_friction_keep(sp_friction *friction, const sp_model *model, const void *contact,
                      const double *position, const double *gradient, double travel,
                      sp_slip_of *slip_of)
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
    for (int i = 0; i < old_count; i++) {
        const int n = directions(model, &old[i].load);
        double slip[2], trial[2] = {0, 0}, force[2] = {0, 0};
        slip_of(contact, &old[i], slip);
        for (int k = 0; k < n; k++) trial[k] = old[i].held[k] + old[i].load.stiffness * slip[k];
        force_of(&old[i], n, trial, force);
        hand_on(friction, model, &old[i], force);
    }
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        if (!grip->start) grip->rate = travel > 0 ? (grip->rate + grip->most) / travel : 0;
    }
    sp_friction_expect(friction, model, 0);
}

void sp_friction_expect(sp_friction *friction, const sp_model *model, double travel)
{
    friction->started |= travel > 0;
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        const int n = directions(model, &grip->load);
        const double full = sqrt(square(n, grip->began)), more = grip->most + travel * grip->rate;
        grip->limit = fmin(2 * grip->most, fmax(0.5 * grip->most, more));
        if (grip->start) grip->limit = travel > 0 ? travel * grip->rate : INFINITY;
        const double share = full > grip->limit ? grip->limit / full : 1;
        for (int k = 0; k < n; k++) grip->held[k] = share * grip->began[k];
    }
}

double sp_friction_stored(const sp_friction *friction)
{
    double stored = 0;
    for (int i = 0; i < friction->count; i++)
        stored += energy_of(&friction->grip[i], 2, friction->grip[i].held);
    return stored;
}
