/* A mass falls on the coupon (E180 .. E182, E238). The travel of the platen is that of the mass, an
 * unknown of the Newton step like the nodes; the mass of the coupon is left out.
 *
 * A time step is as long as its work agrees with the change of the energy, and short enough to
 * follow the speed. */
#include <math.h>
#include <string.h>

#include "base/poll.h"
#include "press/record.h"
#include "press/walker.h"

/* The longest step is a planned step of travel, a share of the speed at contact, and a share of the
 * time 1/w of the mass on the stiffness of the coupon, whose period Newmark's rule makes longer by
 * (w dt)^2/12 of itself. */
static const double speed_share = 0.03, period_share = 0.06, step_growth = 1.5;
static const double cut = 0.3;
/* The shortest step has these shares of the time to fall the height of the coupon, and of the time
 * of a swing on the unloaded coupon. */
static const double shortest_share = 1e-9, shortest_swing = 1e-7;
/* The balance of a step may miss these shares of its work and of the energy of the fall, and no
 * more than done_share of the work so far and first_share of the fall: a damper resists from the
 * first step on. */
static const double work_share = 5e-4, fall_share = 1e-5;
static const double done_share = 2e-4, first_share = 1e-7;
static const double force_share = 1e-7;      /* of the largest force: a force is met to this */
static const double place_round_off = 1e-15; /* of the height, in the travel of the mass */
/* A cut takes 0.97 of a smooth error away. Where more than this share of the miss is left after a
 * cut, the step misses its balance however short it is. In the same way a cut takes at least 0.7 of
 * a pull away in which a force that falls steadily ends. */
static const double persists = 0.7;
static const double free_share = 1e-4; /* of the largest force: a force below it counts as none */
static const double near_turn = 1e-3;  /* of the speed at contact */
static const double at_rest = 1e-4;    /* of the speed at contact */
/* A mass that stays is taken off at this share of the speed at contact. */
static const double off_share = 0.1;
static const double farthest = 0.95; /* of the height: pressed flat */
static const int most_iterations = 14;

typedef struct mass_in_fall {
    double weight;               /* [N] */
    double inertia;              /* mass in N s2/mm */
    double contact_speed, speed; /* downwards [mm/s] */
    double energy;               /* of the fall [mJ] */
    double step, shortest;       /* [s] */
    double fading;               /* fall of the force over the last step; 0: it grew [N/s] */
    double missed; /* by the last attempt at this step, which was cut; 0: no attempt [mJ] */
    double pulled; /* by the coupon in that attempt; 0: it pushed, or no attempt [N] */
    int up;        /* 1: the mass has turned */
} mass_in_fall;

double sp_drop_speed(const sp_segment *segment)
{
    return sqrt(2 * 1e3 * SP_GRAVITY * segment->height);
}

static double acceleration(const mass_in_fall *m, double force)
{
    return (m->weight - force) / m->inertia;
}

/* This is Newmark's rule with mean acceleration, as the load on the platen at the end of a step of
 * dt (E180). In a short step the round-off of the travel alone is a force. */
static sp_platen_load load_after(const sp_walker *w, const mass_in_fall *m, double dt)
{
    const double inertia = 4 * m->inertia / (dt * dt);
    return (sp_platen_load){
        .force = m->weight,
        .energy = fmin(m->energy, w->at.stored),
        .inertia = inertia,
        .drift = w->at.shortening + dt * m->speed + 0.25 * dt * dt * acceleration(m, w->at.force),
        .tolerance = fmax(force_share * fmax(w->largest_force, m->weight),
                          inertia * place_round_off * w->system->model->height)};
}

static sp_status predict(sp_context *context, sp_walker *w, double travel, double dt)
{
    if (fabs(travel) > 3 * fabs(w->before_step)) w->before_step = 0;
    const sp_status status = sp_walker_predict(context, w, travel);
    sp_system_arm(w->system, dt);
    return status;
}

static sp_status reach(sp_context *context, sp_walker *w, const mass_in_fall *m, double dt,
                       sp_attempt *attempt)
{
    const sp_platen_load load = load_after(w, m, dt);
    double a = acceleration(m, w->at.force), u = w->at.shortening + dt * (m->speed + 0.5 * dt * a);
    const double guess = u;
    sp_status status = predict(context, w, guess - w->at.shortening, dt);
    if (status == SP_OK)
        status = sp_equilibrium_load(context, w->system, w->guess, &load, most_iterations,
                                     w->candidate_tangent, &u, attempt);
    w->iterations += attempt->iterations;
    w->factorizations += attempt->factorizations;
    if (status != SP_OK || attempt->end == SP_FOUND || attempt->end == SP_STOPPED) return status;
    status = predict(context, w, guess - w->at.shortening, dt);
    u = guess;
    if (status == SP_OK)
        status = sp_equilibrium_load_down(context, w->system, w->guess, &load, most_iterations,
                                          w->planned, w->candidate_tangent, &u, attempt);
    w->iterations += attempt->iterations;
    w->factorizations += attempt->factorizations;
    return status;
}

/* Note that the mass turns for the first time: what follows is the way back of the first press. */
static void turn(sp_walker *w, mass_in_fall *m)
{
    m->up = 1;
    sp_path_add_frame(w->system, w->path);
    if (w->later) return;
    w->front_frames = w->path->shapes.frame_count;
    w->later = 1;
}

/* Return 1 when a shorter step misses as much of its balance: contacts or grips have let go, for
 * which no step is short enough though K is positive definite all along (E238). */
static int goes_on_missing(const mass_in_fall *m, double missing)
{
    return m->missed * missing > 0 && fabs(missing) > persists * fabs(m->missed);
}

/* Judge the state that was just found; *taken says whether it was accepted. */
static sp_status judge(sp_context *context, sp_walker *w, mass_in_fall *m, double dt,
                       const sp_attempt *attempt, int *taken)
{
    sp_step found;
    const sp_step before = w->at;
    sp_status status = sp_walker_describe(context, w, &found);
    if (status != SP_OK) return status;
    /* By Newmark's rule the kinetic energy is exactly what the trapezoidal work leaves of it
     * (E181). */
    const double travel = found.shortening - before.shortening,
                 work = 0.5 * travel * (before.force + found.force),
                 missing = work - (found.stored - before.stored),
                 most = work_share * fabs(work) +
                        fmin(fall_share * m->energy,
                             done_share * w->most_work + first_share * m->energy);
    const int lets_go = goes_on_missing(m, missing),
              jumped = (attempt->bent > 0 || lets_go) && missing > most;
    *taken = fabs(missing) <= most || jumped || lets_go || dt * cut < m->shortest;
    m->missed = *taken ? 0 : missing;
    if (!*taken) return SP_OK;
    found.work = before.work + work;
    found.released = before.released + (jumped ? missing : 0);
    found.mass_speed =
        m->speed + 0.5 * dt * (acceleration(m, before.force) + acceleration(m, found.force));
    status = sp_walker_accept(context, w, &found, jumped);
    m->speed = w->at.mass_speed;
    m->fading = fmax(0, (before.force - w->at.force) / dt);
    if (status == SP_OK && jumped && !w->later)
        status = sp_path_add_event(context, w->path, SP_EVENT_SNAP, -1, missing);
    return status;
}

/* Return 1 when the state that was found pulls at a mass on its way up. */
static int pulls(const sp_walker *w, const mass_in_fall *m)
{
    return m->up && w->system->force < -free_share * w->largest_force;
}

/* Return 1 when a shorter step ends in next to the same pull: feet that bear nothing any more let
 * go of the platens as their grips were made anew, and the push on the mass fell below zero at
 * once. No step is short enough to end at no force, and the mass is off (E238). */
static int goes_on_pulling(const sp_walker *w, mass_in_fall *m)
{
    const double before = m->pulled;
    m->pulled = -w->system->force;
    return before > 0 && m->pulled > persists * before;
}

/* Return the longest step that follows the motion. */
static double next_step(const sp_walker *w, const mass_in_fall *m)
{
    const double a = fabs(acceleration(m, w->at.force)),
                 by_travel = w->planned / fmax(fabs(m->speed), 1e-300),
                 by_speed = speed_share * m->contact_speed / fmax(a, 1e-300);
    double dt = fmin(m->step, fmin(by_travel, by_speed));
    if (w->at.stiffness > 0) dt = fmin(dt, period_share * sqrt(m->inertia / w->at.stiffness));
    /* Do not go far past the moment at which the mass turns, nor past that at which nothing is
     * carried any more. */
    if (!m->up && w->at.force > m->weight && m->speed > near_turn * m->contact_speed)
        dt = fmin(dt, m->speed / a);
    if (m->up && m->fading * dt > w->at.force) dt = fmax(w->at.force / m->fading, m->shortest);
    return dt;
}

static int is_free(const sp_walker *w, const mass_in_fall *m)
{
    return m->up && m->speed < 0 && w->at.force <= free_share * w->largest_force;
}

static int has_come_to_rest(const sp_walker *w, const mass_in_fall *m)
{
    const double swing = sqrt(m->inertia / fmax(w->at.stiffness, 1e-300));
    const double slow = at_rest * m->contact_speed;
    return fabs(m->speed) <= slow && swing * fabs(acceleration(m, w->at.force)) <= slow;
}

/* Lift off a mass that stays on the coupon. */
static sp_status take_off(sp_context *context, sp_walker *w, const mass_in_fall *m,
                          sp_judgement *end)
{
    const sp_segment lift = {.kind = SP_SEGMENT_RELEASE,
                             .to_strain = NAN,
                             .to_force = NAN,
                             .to_travel = NAN,
                             .speed = off_share * m->contact_speed,
                             .strain_rate = NAN};
    sp_say(context, "the mass does not bounce off: it comes to rest on the coupon and is lifted");
    const sp_status status = sp_walker_move(context, w, &lift, end);
    w->back = 0;
    if (*end == SP_END_TARGET) *end = SP_END_BOUNCED;
    return status;
}

static mass_in_fall begin_fall(const sp_walker *w, const sp_segment *segment)
{
    const double height = w->system->model->height;
    mass_in_fall m = {.weight = segment->mass * SP_GRAVITY,
                      .inertia = 1e-3 * segment->mass,
                      .contact_speed = sp_drop_speed(segment)};
    m.speed = m.contact_speed;
    m.energy = m.weight * segment->height;
    m.step = 0.1 * w->planned / m.contact_speed;
    m.shortest = shortest_share * height / m.contact_speed;
    if (w->at.stiffness > 0)
        m.shortest = fmin(m.shortest, shortest_swing * sqrt(m.inertia / w->at.stiffness));
    return m;
}

sp_status sp_walker_drop(sp_context *context, sp_walker *w, const sp_segment *segment,
                         sp_judgement *end)
{
    const double height = w->system->model->height;
    mass_in_fall m = begin_fall(w, segment);
    sp_status status = SP_OK;
    w->back = 0;
    w->before_step = 0;
    w->largest_force = fmax(w->largest_force, m.weight);
    *end = SP_GO_ON;
    while (status == SP_OK && *end == SP_GO_ON) {
        const double dt = next_step(w, &m);
        int taken = 0;
        sp_attempt attempt;
        if (sp_interrupted(context)) {
            *end = SP_END_STOPPED;
            break;
        }
        w->speed = 1; /* read by the prediction alone; the step is armed with its own time */
        status = reach(context, w, &m, dt, &attempt);
        if (status != SP_OK) break;
        if (attempt.end == SP_STOPPED) {
            *end = SP_END_STOPPED;
        } else if (attempt.end == SP_FOUND && !pulls(w, &m)) {
            const int was_down = m.speed >= 0;
            status = judge(context, w, &m, dt, &attempt, &taken);
            if (taken && was_down && m.speed < 0 && !m.up) turn(w, &m);
            if (taken && ((m.up && !was_down && m.speed >= 0) || has_come_to_rest(w, &m))) {
                if (!m.up) turn(w, &m);
                status = take_off(context, w, &m, end);
                break;
            }
        } else if (attempt.end == SP_FOUND && goes_on_pulling(w, &m)) {
            status = sp_system_restore(context, w->system);
            *end = SP_END_BOUNCED;
            break;
        } else if (dt * cut < m.shortest) {
            status = sp_walker_end_early(context, w, end);
        }
        if (taken) m.pulled = 0;
        m.step = taken ? step_growth * fmax(dt, m.shortest) : cut * dt;
        if (taken && is_free(w, &m)) *end = SP_END_BOUNCED;
        if (taken && w->at.shortening > farthest * height) {
            *end = SP_END_RANGE;
            w->range = SP_RANGE_FLAT;
        }
    }
    if (*end == SP_END_RANGE || *end == SP_END_GAVE_UP)
        sp_warn(
            context,
            "`%s` does not end: at a strain of %.3g %% the mass still moves at %.3g m/s, with %.3g "
            "%% of the energy of its fall",
            segment->text, 100 * w->at.shortening / height, 1e-3 * fabs(m.speed),
            100 * 0.5 * m.inertia * m.speed * m.speed / m.energy);
    w->before_step = 0;
    return status;
}
