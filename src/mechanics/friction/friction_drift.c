/* This file finds rigid moves of a coupon that nothing but friction holds between the platens
 * (E77). */
#include <math.h>

#include "friction/friction.h"

/* A move is let go when at most this share of its stiffness is left: far more than the drag of all
 * grips leaves, and far less than one grip that sticks. */
static const double slack = 1e-5;
static const int most_halvings = 60;

/* Find the slip of a grip by a move along x, along z and about the upright through the origin. */
static void slip_of(const sp_grip *grip, const double *position, const double move[3],
                    double slip[2])
{
    slip[0] = move[0];
    slip[1] = move[1];
    if (move[2] == 0) return;
    const double *a = position + 3 * grip->load.from, f = grip->load.place;
    slip[0] += move[2] * ((1 - f) * a[2] + f * a[5]);
    slip[1] -= move[2] * ((1 - f) * a[0] + f * a[3]);
}

int sp_friction_lets_go(const sp_friction *friction, const double *position, const double move[3])
{
    double held = 0, all = 0;
    if (!friction->loose) return 0;
    for (int i = 0; i < friction->count; i++) {
        const sp_grip *grip = &friction->grip[i];
        double s[2], k[3];
        if (grip->load.on >= 0) continue;
        slip_of(grip, position, move, s);
        sp_friction_tangent(grip, k);
        held += k[0] * s[0] * s[0] + 2 * k[1] * s[0] * s[1] + k[2] * s[1] * s[1];
        all += grip->load.stiffness * (s[0] * s[0] + s[1] * s[1]);
    }
    return held <= slack * all;
}

/* Add up the friction forces that the grips on the platens would have if all of them were `way`
 * further along the unit direction. */
static void sum_at(const sp_friction *friction, const double direction[2], double way,
                   double sum[2])
{
    sum[0] = sum[1] = 0;
    for (int i = 0; i < friction->count; i++) {
        sp_grip grip = friction->grip[i];
        double force[2];
        if (grip.load.on >= 0) continue;
        for (int k = 0; k < 2; k++) grip.trial[k] += grip.load.stiffness * way * direction[k];
        sp_friction_force(&grip, force);
        for (int k = 0; k < 2; k++) sum[k] += force[k];
    }
}

static double along(const sp_friction *friction, const double direction[2], double way)
{
    double sum[2];
    sum_at(friction, direction, way, sum);
    return sum[0] * direction[0] + sum[1] * direction[1];
}

/* Return the way along the direction at which the force is zero. The force never falls with the
 * way, and is above zero to begin with. */
static double way_to_none(const sp_friction *friction, const double direction[2], double first)
{
    double low = -first, high = 0;
    for (int i = 0; i < most_halvings && along(friction, direction, low) > 0; i++)
        high = low, low *= 2;
    for (int i = 0; i < most_halvings; i++) {
        const double middle = 0.5 * (low + high);
        if (along(friction, direction, middle) > 0)
            high = middle;
        else
            low = middle;
    }
    return low;
}

int sp_friction_drift(const sp_friction *friction, const double *position, double force,
                      double drift[2])
{
    double sum[2], all = 0;
    if (!friction->loose) return 0;
    sum_at(friction, (const double[2]){0, 0}, 0, sum);
    const double size = hypot(sum[0], sum[1]);
    if (!(size > force)) return 0;
    const double direction[3] = {sum[0] / size, sum[1] / size, 0};
    if (!sp_friction_lets_go(friction, position, direction)) return 0;
    for (int i = 0; i < friction->count; i++)
        if (friction->grip[i].load.on < 0) all += friction->grip[i].load.stiffness;
    const double way = way_to_none(friction, direction, size / all);
    for (int i = 0; i < 2; i++) drift[i] = way * direction[i];
    return 1;
}
