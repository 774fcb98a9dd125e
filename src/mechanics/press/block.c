/* In this file r is the ratio of the force on the coupon to that on the block (E171). */
#include "press/block.h"

#include <math.h>
#include <stddef.h>
#include <string.h>

double sp_whole_force(const sp_network *network, const sp_step *step)
{
    if (!network->block) return step->force;
    const double *times = network->stands_for;
    return times[SP_ROLE_INFILL] * (step->force - step->wall_force) +
           times[SP_ROLE_WALL] * step->wall_force;
}

static double ratio(const sp_network *network, const sp_step *step)
{
    return sp_whole_force(network, step) / step->force;
}

/* Return step i of the press, or, behind the last of these, of the way back. */
static sp_step *step_at(sp_path *path, int i)
{
    return i < path->step_count ? &path->step[i] : &path->back[i - path->step_count];
}

/* Return the ratio r at step i. The unloaded state carries nothing, so it takes the ratio of the
 * first state that carries load. Where next to nothing is carried on the way back, the last ratio
 * stays. */
static double ratio_at(const sp_network *network, sp_path *path, int i, double largest, double last)
{
    static const double nothing = 1e-6; /* of the largest force */
    const sp_step *step = step_at(path, i);
    if (fabs(step->force) > nothing * largest) return ratio(network, step);
    if (i == 0 && path->step_count > 1) return ratio(network, &path->step[1]);
    return last;
}

/* Find the energies of the coupon: those of the step before (`from`), and what the block has gained
 * since its own step before (`before`) times r. */
static void gain(sp_step *step, const sp_step *before, const sp_step *from, double r)
{
    const size_t energy[] = {offsetof(sp_step, stored),   offsetof(sp_step, dissipated),
                             offsetof(sp_step, work),     offsetof(sp_step, released),
                             offsetof(sp_step, softened), offsetof(sp_step, relaxed),
                             offsetof(sp_step, flowed)};
    for (size_t i = 0; i < sizeof energy / sizeof *energy; i++) {
        double *value = (double *)((char *)step + energy[i]);
        const double old = *(const double *)((const char *)before + energy[i]),
                     whole = *(const double *)((const char *)from + energy[i]);
        *value = whole + r * (*value - old);
    }
}

void sp_path_stand_for(const sp_network *network, sp_path *path)
{
    if (!network->block || path->step_count == 0) return;
    const int count = path->step_count + path->back_count;
    double largest = 0, r = network->stands_for[SP_ROLE_INFILL];
    sp_step before = {0}, whole = {0}; /* the step before, of the block and of the coupon */
    memcpy(path->size, network->whole, sizeof path->size);
    for (int i = 0; i < count; i++) largest = fmax(largest, step_at(path, i)->force);
    for (int i = 0; i < count; i++) {
        sp_step *step = step_at(path, i);
        const double last = r, travel = step->shortening - before.shortening;
        const sp_step as_block = *step;
        r = ratio_at(network, path, i, largest, last);
        /* The ratio changes along the path, which adds to the slope of the force. */
        const double slope = i > 0 && fabs(travel) > 0 ? (r - last) / travel : 0;
        gain(step, &before, &whole, i > 0 ? 0.5 * (r + last) : r);
        step->stiffness = r * as_block.stiffness + slope * as_block.force;
        step->force = r * as_block.force;
        step->wall_force = network->stands_for[SP_ROLE_WALL] * as_block.wall_force;
        for (int e = 0; i < path->step_count && e < path->event_count; e++)
            if (path->event[e].step == i && path->event[e].kind == SP_EVENT_SNAP)
                path->event[e].value *= r;
        before = as_block;
        whole = *step;
    }
    if (!path->critical.found) return;
    const int at = path->shapes.mode_frame_step;
    const double critical = at > 0 && at < path->step_count && path->critical.force > 0
                                ? path->step[at].force / path->critical.force
                                : r;
    path->critical.force *= critical;
    path->critical.jump_released *= critical;
}
