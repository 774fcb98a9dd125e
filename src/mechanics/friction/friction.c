/* This file finds the force that a grip holds, and the energy that it takes (E69, E71, E74,
 * E76). */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "friction/friction.h"

static int slides_on_face(const sp_model *model, int node)
{
    const unsigned char *hold = model->hold + model->unknowns * node;
    return hold[1] != SP_FREE &&
           (hold[0] == SP_FREE || (model->dimension == 3 && hold[2] == SP_FREE));
}

static int held_sideways(const sp_model *model)
{
    for (int n = 0; n < model->node_count; n++) {
        const unsigned char *hold = model->hold + model->unknowns * n;
        if (hold[0] != SP_FREE || (model->dimension == 3 && hold[2] != SP_FREE)) return 1;
    }
    return 0;
}

static int on_node(const sp_model *model, int point)
{
    const double *arm = model->point_arm + model->dimension * point;
    return arm[0] == 0 && arm[1] == 0 && (model->dimension == 2 || arm[2] == 0);
}

/* List one chain point for every joint or node that slides on a platen. */
static sp_status find_faces(sp_context *context, const sp_model *model, sp_friction *friction)
{
    unsigned char *seen = sp_alloc((size_t)model->node_count, 1);
    friction->face_point = sp_alloc((size_t)model->node_count, sizeof(int));
    if (!seen || !friction->face_point) {
        sp_free(seen);
        return sp_fail(context, SP_NO_MEMORY, "no memory for friction on the platens");
    }
    for (int k = 0; k < model->point_count; k++) {
        const int node = model->point_node[k];
        if (seen[node] || !slides_on_face(model, node) || !on_node(model, k)) continue;
        seen[node] = 1;
        friction->face_point[friction->face_count++] = k;
    }
    sp_free(seen);
    friction->loose = friction->face_count > 0 && !held_sideways(model);
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
    sp_status status = SP_OK;
    if (model->friction_platens > 0) status = find_faces(context, model, friction);
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

static double square(const double v[2])
{
    return v[0] * v[0] + v[1] * v[1];
}

/* Return the energy of a layer whose force would be `trial` if it did not slide. E69, E76 */
static double energy_of(const sp_grip *grip, const double trial[2])
{
    const double k = grip->load.stiffness, most = grip->limit, full = square(trial);
    const double slid = full <= most * most ? 0.5 * full / k : most * (sqrt(full) - 0.5 * most) / k;
    return (1 - grip->drag) * slid + grip->drag * 0.5 * full / k;
}

/* Add what the drag adds to the force of Coulomb's law. */
static void add_drag(const sp_grip *grip, double force[2])
{
    for (int i = 0; i < 2; i++)
        force[i] = (1 - grip->drag) * force[i] + grip->drag * grip->trial[i];
}

/* Find the force of Coulomb's law. */
static void cut_off(const sp_grip *grip, double force[2])
{
    const double full = sqrt(square(grip->trial));
    const double share = full > grip->limit ? grip->limit / full : 1;
    for (int i = 0; i < 2; i++) force[i] = share * grip->trial[i];
}

void sp_friction_force(const sp_grip *grip, double force[2])
{
    cut_off(grip, force);
    add_drag(grip, force);
}

/* Find the force that Newton's method expects of a grip that slides: it goes along with the linear
 * step from that of the last iterate, though never beyond the limit; see E74. */
static void expected_force(const sp_grip *grip, double fraction, double force[2])
{
    const double *q = grip->mark, size = sqrt(square(q)), most = grip->limit;
    double moved[2];
    for (int i = 0; i < 2; i++) moved[i] = (grip->trial[i] - q[i]) / fraction;
    const double along = size > most ? q[0] * moved[0] / size + q[1] * moved[1] / size : 0;
    for (int i = 0; i < 2; i++)
        force[i] = size > most ? (most * (q[i] + moved[i]) - along * grip->dual[i]) / size
                               : q[i] + moved[i];
    const double full = sqrt(square(force));
    for (int i = 0; i < 2 && full > most; i++) force[i] *= most / full;
}

/* Find the stiffness of the layer, E74: k_g where it sticks, else k_g/|trial| (limit - hold e_q^T,
 * made symmetric) with the direction e_q of the slide. */
static void stiffness_of(const sp_grip *grip, const double force[2], double out[3])
{
    const double k = grip->load.stiffness, *q = grip->trial, size = sqrt(square(q));
    const int slides = size > grip->limit || grip->limit == 0;
    const double share = 1 - grip->drag, of = size > 0 ? size : 1;
    const double all = share * (slides ? k * grip->limit / of : k) + grip->drag * k;
    const double less = slides ? share * k / (of * of) : 0;
    out[0] = all - less * force[0] * q[0];
    out[1] = -0.5 * less * (force[0] * q[1] + force[1] * q[0]);
    out[2] = all - less * force[1] * q[1];
}

void sp_friction_tangent(const sp_grip *grip, double stiffness[3])
{
    double force[2];
    cut_off(grip, force);
    stiffness_of(grip, force, stiffness);
}

/* Soften the layer to a spring that reaches what is left of its limit at the length `nudge`. The
 * drag stays. */
static void soften(const sp_grip *grip, double nudge, double stiffness[3])
{
    const double k = grip->load.stiffness, least = grip->drag * k;
    const double left = fmax(0, grip->limit - sqrt(square(grip->trial))), share = left / nudge / k;
    for (int i = 0; i < 3 && share < 1; i++) stiffness[i] *= share;
    for (int i = 0; i < 3 && share < 1; i += 2) stiffness[i] = fmax(stiffness[i], least);
}

double sp_friction_slide(sp_friction *friction, sp_grip *grip, const double slip[2],
                         double force[2], double stiffness[3])
{
    for (int i = 0; i < 2; i++) grip->trial[i] = grip->held[i] + grip->load.stiffness * slip[i];
    cut_off(grip, force);
    memcpy(grip->expected, force, sizeof grip->expected);
    if (friction->fraction > 0) expected_force(grip, friction->fraction, grip->expected);
    stiffness_of(grip, grip->expected, stiffness);
    if (friction->nudge > 0) soften(grip, friction->nudge, stiffness);
    add_drag(grip, force);
    for (int i = 0; i < 2; i++) friction->work += 0.5 * (grip->began[i] + force[i]) * slip[i];
    const double energy = energy_of(grip, grip->trial) - energy_of(grip, grip->held);
    friction->energy += energy;
    return energy;
}

void sp_friction_rows(int n, double force, double stiffness, double *g, double *h)
{
    for (int r = 0; r < n; r++)
        for (int s = 0; s < n; s++) h[n * r + s] = force * h[n * r + s] + stiffness * g[r] * g[s];
    for (int r = 0; r < n; r++) g[r] *= force;
}

void sp_friction_mark(sp_friction *friction)
{
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        memcpy(grip->mark, grip->trial, sizeof grip->mark);
        memcpy(grip->dual, grip->expected, sizeof grip->dual);
    }
}

void sp_friction_expect(sp_friction *friction, double travel)
{
    friction->started |= travel > 0;
    for (int i = 0; i < friction->count; i++) {
        sp_grip *grip = &friction->grip[i];
        const double full = sqrt(square(grip->began)), more = grip->most + travel * grip->rate;
        grip->limit = fmin(2 * grip->most, fmax(0.5 * grip->most, more));
        if (grip->start) grip->limit = travel > 0 ? travel * grip->rate : INFINITY;
        const double share = full > grip->limit ? grip->limit / full : 1;
        for (int k = 0; k < 2; k++) grip->held[k] = share * grip->began[k];
    }
}

double sp_friction_stored(const sp_friction *friction)
{
    double stored = 0;
    for (int i = 0; i < friction->count; i++)
        stored += energy_of(&friction->grip[i], friction->grip[i].held);
    return stored;
}
