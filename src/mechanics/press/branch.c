/* This file looks for other stable states at the same shortening (E253 to E256).
 *
 * A press goes on from state to state downhill, so it stays on the branch it is on. Where a fold
 * begins, the accepted state is pushed aside to find others: one layer is squashed at the cost of
 * the rest, or the coupon is moved along the softest direction, whole or cut to one layer. Then it
 * is let go at the same shortening. Where it comes to rest in another state, all states are pressed
 * on for a few per cent of strain. The press goes on from the one that then holds least energy, and
 * the others show how far forces may lie from those of the press. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "press/record.h"
#include "press/walker.h"
#include "stability/layers.h"
#include "state/kept.h"
#include "state/softest.h"

static const double soft_share = 0.25; /* of the first stiffness: a coupon that is softer folds */
static const double every = 0.05, after_jump = 0.01; /* of the height, from one look to the next */
static const double ahead = 0.05; /* of the height: other states are pressed on by this */
static const double squash_share = 0.4, push_share = 1; /* of a layer; of the thickest strut */
/* Two states differ when a node lies this share of the thinnest strut apart in them. */
static const double differs = 0.1;
static const double alike = 1e-6; /* of the energy: two others are the same state */
static const double less = 1e-4;  /* of the energy: a state must hold this much less to be taken */
static const int most_iterations = 60;
static const int most_steps = 200;        /* of another state that is pressed on */
static const double smallest_part = 0.05; /* of a push: shorter ones are not tried */
static const double first_step = 0.1;     /* of a planned step, after the state was exchanged */
enum { OTHERS_MAX = 4 };                  /* other states kept of one look: those of least energy */

typedef struct other {
    double energy; /* stored, as sp_system_stored [mJ] */
    double *x;     /* values of the nodes */
} other;

typedef struct looking {
    sp_walker *w;
    sp_look *look;
    sp_layers layers;
    sp_kept kept;
    double *mode, *move; /* `unknowns` per node */
    int count;
    other found[OTHERS_MAX];
} looking;

/* Return 1 where a fold begins or goes on: the press has jumped, or has become soft, or another
 * state comes to hold less energy than this one. */
static int is_due(const sp_walker *w)
{
    const double height = w->system->model->height, since = w->at.shortening - w->looked_at;
    const int jumped = !(fabs(w->before_step) > 0);
    if (w->crossing_at > 0 && w->at.shortening >= w->crossing_at &&
        w->path->branches.look_count < SP_LOOKS_MAX)
        return 1;
    if (w->path->step_count < 2 || w->path->branches.look_count == SP_LOOKS_MAX) return 0;
    if (w->path->branches.look_count > 0 && since < (jumped ? after_jump : every) * height)
        return 0;
    return jumped || w->at.stiffness < soft_share * w->path->step[0].stiffness;
}

/* Return the distance of the node that is furthest from its place in the accepted state. */
static double moved(const sp_system *system, const double *x)
{
    const sp_model *model = system->model;
    double largest = 0;
    for (int n = 0; n < model->node_count; n++) {
        double square = 0;
        for (int d = 0; d < model->dimension; d++) {
            const double t = x[model->values * n + d] - system->accepted[model->values * n + d];
            square += t * t;
        }
        largest = fmax(largest, square);
    }
    return sqrt(largest);
}

/* Keep the evaluated state, which is stable, unless it is the accepted one or one that was found
 * before. */
static void keep_other(looking *l)
{
    sp_system *system = l->w->system;
    const double energy = sp_system_stored(system);
    if (moved(system, system->x) < differs * system->model->thinnest) return;
    int place = 0;
    for (int i = 0; i < l->count; i++) {
        if (fabs(energy - l->found[i].energy) <= alike * fabs(energy)) return;
        place += l->found[i].energy < energy;
    }
    l->look->others++;
    if (place == OTHERS_MAX) return;
    double *x = l->found[OTHERS_MAX - 1].x; /* taken from the state that drops out, or unused */
    for (int i = OTHERS_MAX - 1; i > place; i--) l->found[i] = l->found[i - 1];
    l->found[place] = (other){energy, x};
    memcpy(x, system->x, sp_system_values(system) * sizeof *x);
    if (l->count < OTHERS_MAX) l->count++;
}

/* Let go the state in w->guess at the shortening of the accepted state: find where it comes to
 * rest. */
static sp_status let_go(sp_context *context, looking *l)
{
    sp_walker *w = l->w;
    sp_attempt attempt;
    const sp_status status = sp_equilibrium_descend(context, w->system, w->guess, w->at.shortening,
                                                    most_iterations, &attempt);
    if (status != SP_OK) return status;
    w->iterations += attempt.iterations;
    w->factorizations += attempt.factorizations;
    sp_walker_tell_progress(context, w);
    if (attempt.end == SP_FOUND)
        keep_other(l);
    else if (attempt.end != SP_STOPPED)
        l->look->lost++;
    return SP_OK;
}

/* Let go the state that an earlier look kept: one on another branch that holds less energy from
 * here on. */
static sp_status let_go_crossing(sp_context *context, looking *l)
{
    sp_walker *w = l->w;
    if (!(w->crossing_at > 0 && w->at.shortening >= w->crossing_at)) return SP_OK;
    w->crossing_at = 0;
    const sp_status status = sp_system_try(context, w->system, 0, 0);
    memcpy(w->guess, w->crossing, sp_system_values(w->system) * sizeof *w->guess);
    l->look->pushes++;
    return status == SP_OK ? let_go(context, l) : status;
}

/* Push the accepted state, let it go at the same shortening, and keep the state in which it comes
 * to rest. `by_order` 1: the move keeps the order of heights; 0: it goes as far as is safe. */
static sp_status push(sp_context *context, looking *l, double amount, int by_order)
{
    sp_walker *w = l->w;
    sp_system *system = w->system;
    sp_status status = sp_system_try(context, system, 0, 0);
    double part = 1;
    l->look->pushes++;
    for (; status == SP_OK && part >= smallest_part; part *= 0.5) {
        sp_model_move(system->model, system->accepted, part * amount, l->move, w->guess);
        if (by_order || sp_system_is_safe(system, w->guess)) break;
    }
    if (status != SP_OK || part >= smallest_part)
        return status == SP_OK ? let_go(context, l) : status;
    l->look->lost++;
    return SP_OK;
}

/* Make all pushes from the accepted state. */
static sp_status push_all(sp_context *context, looking *l)
{
    sp_system *system = l->w->system;
    const sp_model *model = system->model;
    int negative;
    sp_status status = sp_system_restore(context, system);
    if (status == SP_OK) status = sp_system_factor(context, system, 0, &negative);
    if (status == SP_OK && negative == 0) status = sp_softest_direction(context, system, NULL);
    for (size_t i = 0; i < sp_walker_unknowns(l->w); i++)
        l->mode[i] = model->unknown[i] >= 0 ? system->softest[model->unknown[i]] : 0;
    if (status == SP_OK) status = let_go_crossing(context, l);
    for (int layer = 0; layer < l->layers.count && l->layers.count > 1; layer++) {
        if (status != SP_OK || sp_interrupted(context)) return status;
        sp_layers_squash(system, &l->layers, layer, squash_share, l->move);
        status = push(context, l, 1, 1);
    }
    for (int layer = -1; layer < l->layers.count; layer++)
        for (int sign = -1; sign <= 1; sign += 2) {
            if (status != SP_OK || sp_interrupted(context)) return status;
            if (layer < 0)
                memcpy(l->move, l->mode, sp_walker_unknowns(l->w) * sizeof *l->move);
            else
                sp_layers_mask(model, &l->layers, layer, l->mode, l->move);
            status = push(context, l, sign * push_share * model->thickest, 0);
        }
    return status;
}

/* Make another state the accepted one, with its own tangent. */
static sp_status stand_in(sp_context *context, sp_walker *w, const double *x)
{
    sp_system *system = w->system;
    int negative;
    double stiffness;
    memcpy(system->accepted, x, sp_system_values(system) * sizeof *x);
    sp_status status = sp_system_restore(context, system);
    if (status == SP_OK) status = sp_system_factor(context, system, 0, &negative);
    if (status == SP_OK) status = sp_system_tangent(context, system, w->tangent, &stiffness);
    w->before_step = 0;
    w->step = first_step * w->planned;
    w->switched = 1;
    return status;
}

/* Find the state of a press after which a shortening was reached, and its share of the way from the
 * one before; 0: beyond them. */
static int place_on(const sp_step *state, int count, double shortening, double *share)
{
    for (int i = 1; i < count; i++) {
        const sp_step *a = &state[i - 1], *b = &state[i];
        if (shortening < a->shortening || shortening > b->shortening) continue;
        const double way = b->shortening - a->shortening;
        *share = way > 0 ? (shortening - a->shortening) / way : 1;
        return i;
    }
    return 0;
}

/* Return the force [N], or the energy [mJ], of a list of states at one shortening; NaN beyond
 * them. */
static double force_on(const sp_step *state, int count, double shortening)
{
    double share;
    const int i = place_on(state, count, shortening, &share);
    return i ? state[i - 1].force + share * (state[i].force - state[i - 1].force) : NAN;
}

static double energy_on(const sp_step *state, int count, double shortening)
{
    double share;
    const int i = place_on(state, count, shortening, &share);
    return i ? state[i - 1].stored + share * (state[i].stored - state[i - 1].stored) : NAN;
}

/* This is what a state came to that was pressed on. */
typedef struct beside {
    double end; /* energy at the end of the way, INFINITY: not reached [mJ] */
    double at;  /* travel from which it holds less energy than the press itself; 0: nowhere [mm] */
    double force[SP_LOOK_POINTS]; /* at the strains of the look; NaN: not reached [N] */
} beside;

static sp_status create_beside(sp_context *context, const sp_walker *w, sp_walker *o)
{
    *o = *w;
    o->iterations = o->factorizations = 0;
    o->later = 1; /* states go to path.back: without events, shapes and buckles */
    o->target = fmin(w->target, w->at.shortening + ahead * w->system->model->height);
    return sp_walker_room(context, o);
}

/* Return 1 when a state that was found holds less energy than the accepted one. */
static int is_lower(const looking *l, const other *found)
{
    return found->energy < l->w->at.stored * (1 - less);
}

/* Press a state on into `path`, beside the press; the system is left where that ends. `from` NULL:
 * press the accepted state itself. Else `own` is the path of the accepted state, and where `from`
 * holds more energy than that, it is replaced by the first state on its path that holds less at the
 * same shortening. */
static sp_status press_beside(sp_context *context, const looking *l, const other *from,
                              const sp_path *own, sp_path *path, beside *result)
{
    sp_walker *w = l->w, walker, *o = &walker;
    const double height = w->system->model->height;
    sp_press_options options = *w->options;
    sp_context quiet = *context;
    sp_judgement end = SP_GO_ON;
    quiet.accepted = NULL;
    quiet.warn = NULL;
    quiet.progress = NULL;
    options.width = NULL;
    options.frames = 0;
    *result = (beside){.end = INFINITY};
    sp_status status = create_beside(&quiet, w, o);
    o->options = &options;
    o->path = path;
    if (status == SP_OK) status = sp_kept_put_back(&quiet, &l->kept, w->system);
    if (status == SP_OK) status = stand_in(&quiet, o, from ? from->x : l->kept.accepted);
    o->switched = from != NULL;
    for (int i = 0; status == SP_OK && end == SP_GO_ON && i < most_steps; i++) {
        status = sp_walker_descend_step(&quiet, o, &end);
        sp_walker_tell_progress(context, w);
        if (status != SP_OK || !from || is_lower(l, from) || result->at > 0) continue;
        if (o->at.stored < (1 - less) * energy_on(own->back, own->back_count, o->at.shortening)) {
            result->at = o->at.shortening;
            memcpy(from->x, w->system->accepted, sp_system_values(w->system) * sizeof *from->x);
        }
    }
    if (end == SP_END_TARGET || end == SP_END_LOAD) result->end = o->at.stored;
    for (int i = 0; i < SP_LOOK_POINTS; i++)
        result->force[i] = force_on(path->back, path->back_count, l->look->at[i] * height);
    for (int i = 0; i < path->back_count; i++) {
        w->iterations += path->back[i].iterations;
        w->factorizations += path->back[i].factorizations;
    }
    if (status != SP_OK) memcpy(context->message, quiet.message, sizeof context->message);
    sp_walker_free_room(o);
    return status;
}

static void take_forces(const beside *side, sp_look *look)
{
    for (int i = 0; i < SP_LOOK_POINTS; i++) {
        if (!isfinite(side->force[i])) continue;
        look->low[i] = isfinite(look->low[i]) ? fmin(look->low[i], side->force[i]) : side->force[i];
        look->high[i] =
            isfinite(look->high[i]) ? fmax(look->high[i], side->force[i]) : side->force[i];
    }
}

/* Press on the accepted state and all states that were found. */
static sp_status press_all(sp_context *context, const looking *l, beside *own, beside *found)
{
    sp_path own_path = {0};
    sp_status status = press_beside(context, l, NULL, NULL, &own_path, own);
    for (int i = 0; i < l->count && status == SP_OK; i++) {
        sp_path path = {0};
        status = press_beside(context, l, &l->found[i], &own_path, &path, &found[i]);
        sp_path_free(&path);
    }
    sp_path_free(&own_path);
    return status;
}

/* Go on from the accepted state or from one that holds less energy: the one that holds least at the
 * end of the way. A state that holds less only from a later travel on is kept for a look there
 * (E255). */
static sp_status choose(sp_context *context, looking *l, const beside *own, const beside *found)
{
    sp_walker *w = l->w;
    sp_look *look = l->look;
    const size_t values = sp_system_values(w->system);
    double least = own->end * (1 - less), later = least;
    int best = -1, next = -1;
    for (int i = 0; i < l->count; i++) {
        const int lower = is_lower(l, &l->found[i]);
        if (lower && found[i].end < least) best = i, least = found[i].end;
        if (!lower && found[i].at > 0 && found[i].end < later) next = i, later = found[i].end;
    }
    for (int i = 0; i < l->count; i++)
        if (i != best) take_forces(&found[i], look);
    if (best >= 0) {
        take_forces(own, look); /* now the state that is left counts as one of the others */
        look->taken = 1;
        look->gained = w->at.stored - l->found[best].energy;
        return stand_in(context, w, l->found[best].x);
    }
    if (next < 0) return SP_OK;
    if (!w->crossing) w->crossing = sp_alloc(values, sizeof *w->crossing);
    if (!w->crossing) return sp_fail(context, SP_NO_MEMORY, "no memory for a state to come");
    memcpy(w->crossing, l->found[next].x, values * sizeof *w->crossing);
    w->crossing_at = found[next].at;
    return SP_OK;
}

static sp_status use(sp_context *context, looking *l)
{
    const sp_walker *w = l->w;
    sp_look *look = l->look;
    const double height = w->system->model->height;
    const double end = fmin(w->target, w->at.shortening + ahead * height);
    beside own, found[OTHERS_MAX];
    if (l->count == 0) return sp_kept_put_back(context, &l->kept, w->system);
    look->points = SP_LOOK_POINTS;
    for (int i = 0; i < look->points; i++) {
        const double share = (i + 1.0) / SP_LOOK_POINTS;
        look->at[i] = (w->at.shortening + share * (end - w->at.shortening)) / height;
        look->low[i] = look->high[i] = NAN;
    }
    sp_status status = press_all(context, l, &own, found);
    if (status == SP_OK) status = sp_kept_put_back(context, &l->kept, w->system);
    return status == SP_OK ? choose(context, l, &own, found) : status;
}

static sp_status look_around(sp_context *context, looking *l)
{
    sp_walker *w = l->w;
    const size_t unknowns = sp_walker_unknowns(w), values = sp_system_values(w->system);
    int has_memory = 1;
    l->mode = sp_alloc(unknowns, sizeof(double));
    l->move = sp_alloc(unknowns, sizeof(double));
    for (int i = 0; i < OTHERS_MAX; i++) {
        l->found[i].x = sp_alloc(values, sizeof(double));
        has_memory = has_memory && l->found[i].x;
    }
    if (!l->mode || !l->move || !has_memory)
        return sp_fail(context, SP_NO_MEMORY, "no memory to look for other states of %d nodes",
                       w->system->model->node_count);
    sp_layers_find(w->system->model, &l->layers);
    sp_status status = sp_kept_take(context, w->system, &l->kept);
    if (status == SP_OK) status = push_all(context, l);
    if (status == SP_OK) status = use(context, l);
    return status;
}

sp_status sp_walker_branch(sp_context *context, sp_walker *w)
{
    sp_branches *branches = &w->path->branches;
    if (!w->options->branches) return SP_OK;
    branches->searched = 1;
    if (!is_due(w)) return SP_OK;
    looking l = {.w = w, .look = &branches->look[branches->look_count++]};
    *l.look = (sp_look){.strain = w->at.shortening / w->system->model->height};
    w->looked_at = w->at.shortening;
    w->looks = 1;
    const sp_status status = look_around(context, &l);
    w->looks = 0;
    sp_kept_free(&l.kept);
    sp_free(l.mode);
    sp_free(l.move);
    for (int i = 0; i < OTHERS_MAX; i++) sp_free(l.found[i].x);
    return status;
}

/* Compare the curve of the press with those of other states. E256 */
void sp_branches_compare(sp_path *path)
{
    for (int k = 0; k < path->branches.look_count; k++) {
        sp_look *look = &path->branches.look[k];
        double apart = 0, sum = 0;
        int count = 0;
        for (int i = 0; i < look->points; i++) {
            const double force =
                force_on(path->step, path->step_count, look->at[i] * path->size[1]);
            if (!isfinite(force) || !isfinite(look->low[i])) continue;
            apart = fmax(apart, fmax(look->high[i] - force, force - look->low[i]));
            sum += force;
            count++;
        }
        look->apart = sum > 0 ? apart * count / sum : 0;
        int kept = 0; /* only points that others reached are kept, so that no NaN is drawn */
        for (int i = 0; i < look->points; i++)
            if (isfinite(look->low[i])) {
                look->at[kept] = look->at[i];
                look->low[kept] = look->low[i];
                look->high[kept++] = look->high[i];
            }
        look->points = kept;
    }
}
