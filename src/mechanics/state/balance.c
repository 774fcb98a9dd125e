/* This file finds the sum of the forces and moments of the platens from the raw data of a state. */
#include <math.h>
#include <string.h>

#include "base/so3.h"
#include "state/balance.h"

static void add_force(sp_balance *balance, const double at[3], const double force[3])
{
    double moment[3];
    sp_cross(at, force, moment);
    for (int i = 0; i < 3; i++) {
        balance->force[i] += force[i];
        balance->moment[i] += moment[i];
    }
}

/* Add the force on a node that is held. It is the gradient: the force that the struts and contacts
 * there need to stay as they are. A planar node that is held sideways but free to turn, or a
 * spatial one that is held sideways but free to turn about the direction of pressing, is held
 * against drift (stop_drift of model.c), not by a platen. */
static void add_held(sp_balance *balance, const sp_system *system, int node)
{
    const sp_model *model = system->model;
    const int d = model->dimension;
    const unsigned char *hold = model->hold + model->unknowns * node;
    const double *g = system->gradient + model->unknowns * node,
                 *x = system->x + model->values * node;
    const double at[3] = {x[0], x[1], d == 3 ? x[2] : 0};
    const int bonded = d == 3 ? hold[4] != SP_FREE : hold[2] != SP_FREE;
    double force[3] = {0};
    for (int i = 0; i < d; i++)
        if (hold[i] != SP_FREE && (i == 1 || bonded)) force[i] = g[i];
    add_force(balance, at, force);
    for (int i = 0; d == 3 && i < 3; i++)
        if (hold[3 + i] != SP_FREE) balance->moment[i] += g[3 + i];
    double by[3]; /* what holds a spin that follows lies across those that it lets go */
    const int held = d == 3 ? sp_model_follows(model, node, system->x, by) : -1;
    for (int i = 0; held >= 0 && i < 3; i++) balance->moment[i] -= by[i] * g[3 + held];
    if (d == 2 && bonded) balance->moment[2] += g[2];
}

static void add_friction(sp_balance *balance, const sp_contact *contact, const sp_grip *grip)
{
    const int d = contact->model->dimension;
    const sp_load *load = &grip->load;
    const double *a = contact->position + d * load->from, f = load->place;
    double at[3] = {0}, force[2];
    for (int i = 0; i < d; i++) at[i] = (1 - f) * a[i] + f * a[d + i];
    sp_friction_force(grip, force);
    add_force(balance, at, (const double[]){-force[0], 0, d == 3 ? -force[1] : 0});
}

void sp_balance_of_platens(const sp_system *system, sp_balance *balance)
{
    const sp_contact *contact = &system->contact;
    const sp_friction *friction = &contact->friction;
    const sp_platen_push *push = &system->push;
    *balance = (sp_balance){.force = {0, push->lower - push->upper, 0},
                            .moment = {push->moment[0], 0, push->moment[1]}};
    for (int n = 0; n < system->model->node_count; n++) add_held(balance, system, n);
    for (int i = 0; i < friction->count; i++)
        if (friction->grip[i].load.on < 0) add_friction(balance, contact, &friction->grip[i]);
}

double sp_balance_largest(const sp_balance *balance, const double size[3])
{
    const double longest = fmax(size[0], fmax(size[1], size[2]));
    double largest = 0;
    for (int i = 0; i < 3; i++) {
        const double one = fmax(fabs(balance->force[i]), fabs(balance->moment[i]) / longest);
        if (!(one <= largest)) largest = one; /* a NaN stays */
    }
    return largest;
}
