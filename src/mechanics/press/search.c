/* The critical step is searched for along the path of the coupon without flaws, until stability is
 * lost (docs/theory.md, section 5).
 *
 * lambda is the softest stiffness of K against D (E18). A loss of stability is distinguished from a
 * corner of the path, which a contact or a grip makes, by three things: whether lambda fades as the
 * bracket around the loss is narrowed, how many negative pivots there are on both sides of it, and
 * how much energy is released when the path has no state beyond. */
#include <math.h>

#include "base/alloc.h"
#include "press/record.h"
#include "press/walker.h"
#include "stability/critical.h"
#include "state/softest.h"

static const double longest_share = 2.5e-3; /* of the height: longest step of the search */
/* Friction needs shorter steps, because slides depend on them. */
static const double longest_friction = 6.25e-4;
static const double bracket_share = 1e-4; /* of the height, see bracket() */
/* The pivots are counted again this share of the height ahead. */
static const double ahead_share = 1e-3;
static const double most_turn = 0.3; /* largest change of the tangent in one step, of the tangent */
static const double jump_share = 5e-3; /* of the stored energy: a jump that releases less belongs to
                                          a contact, not to the coupon */
static const double narrowing = 1.0 / 64; /* of the bracket: it is narrowed to this */
/* lambda has faded at this share of its value before the bracket was narrowed; the root of the
 * narrowing is 1/8. */
static const double fading = 1.0 / 4;
static const double vanished = 1e-5; /* of lambda unloaded: a smaller lambda has faded */
/* On both sides of a bifurcation lambda fades linearly, to this share. */
static const double linear_fading = 1.0 / 16;
static const double grow = 1.5;
static const int follow_iterations = 10, descend_iterations = 14;
static const double branch_push = 0.05; /* along the critical mode, of the thinnest strut */

/* This is what was found `step` ahead of the accepted state. */
typedef struct reached {
    sp_attempt attempt;
    int on_path;  /* 1: an equilibrium that continues the path smoothly */
    int unstable; /* 1: K has negative pivots there */
    sp_step step;
} reached;

/* Return how closely a loss of stability is located: to a share of the height, or to a share of the
 * travel where stiff lattices lose stability early. */
static double bracket(const sp_walker *w)
{
    const double height = w->system->model->height;
    return fmin(bracket_share * height,
                fmax(10 * bracket_share * w->at.shortening, 1e-4 * bracket_share * height));
}

/* Return 1 when the path has turned so little since the accepted state that no other branch can
 * have been taken for it. */
static int hardly_turned(const sp_walker *w)
{
    double change = 0, size = 0;
    for (size_t i = 0; i < sp_walker_unknowns(w); i++) {
        const double d = w->candidate_tangent[i] - w->tangent[i];
        change += d * d;
        size += w->tangent[i] * w->tangent[i];
    }
    return change <= most_turn * most_turn * size;
}

/* Factor K at the evaluated state in order to judge its stability. For this one evaluation a grip
 * that sticks counts only as stiff as it is against a small push (E78): with its
 * full stiffness, the least friction would hold every branch back, and the critical step would jump
 * between no friction and a little of it. */
static sp_status factor_judged(sp_context *context, sp_walker *w, int *negative)
{
    sp_system *system = w->system;
    sp_status status = SP_OK;
    if (system->contact.friction.first)
        status = sp_system_evaluate_nudged(context, system, branch_push * system->model->thinnest);
    return status == SP_OK ? sp_system_factor(context, system, 0, negative) : status;
}

/* Judge whether the state that the attempt found is on the path, and whether it is stable. */
static sp_status judge(sp_context *context, sp_walker *w, reached *r)
{
    w->iterations += r->attempt.iterations;
    w->factorizations += r->attempt.factorizations;
    sp_walker_tell_progress(context, w);
    if (r->attempt.end != SP_FOUND) return SP_OK;
    sp_status status = sp_walker_describe(context, w, &r->step);
    if (status != SP_OK) return status;
    const double travel = r->step.shortening - w->at.shortening;
    r->on_path = sp_walker_balanced(&w->at, &r->step) && (hardly_turned(w) || travel <= bracket(w));
    r->step.negative_pivots = r->attempt.negative;
    int negative = r->attempt.negative;
    if (w->system->contact.friction.first) status = factor_judged(context, w, &negative);
    r->unstable = negative > 0;
    return status;
}

/* A state is looked for by one of these: sp_equilibrium_descend, which may jump, or
 * sp_equilibrium_roll. */
typedef sp_status way_down(sp_context *context, sp_system *system, const double *x,
                           double shortening, int most_iterations, sp_attempt *attempt);

static sp_status descend_to(sp_context *context, sp_walker *w, double step, way_down *go,
                            reached *r)
{
    sp_status status = sp_walker_predict(context, w, step);
    *r = (reached){0};
    if (status == SP_OK)
        status = go(context, w->system, w->guess, w->at.shortening + step, descend_iterations,
                    &r->attempt);
    return status == SP_OK ? judge(context, w, r) : status;
}

/* Find the state `step` ahead on the path, by plain Newton, which follows the path through a
 * bifurcation. Where contacts and grips keep it from converging, a descent is tried instead, as
 * long as K stays positive definite. */
static sp_status reach_for(sp_context *context, sp_walker *w, double step, reached *r)
{
    *r = (reached){0};
    sp_status status = sp_walker_predict(context, w, step);
    if (status == SP_OK)
        status = sp_equilibrium_follow(context, w->system, w->guess, w->at.shortening + step,
                                       follow_iterations, &r->attempt);
    if (status == SP_OK) status = judge(context, w, r);
    if (status != SP_OK || r->on_path || r->attempt.end == SP_STOPPED) return status;
    return descend_to(context, w, step, sp_equilibrium_roll, r);
}

/* Stability is lost between the accepted state and `high` ahead of it. */
typedef struct loss {
    double high;    /* [mm] */
    reached beyond; /* what was found there */
    double wide;    /* lambda at the lower end, before the bracket was narrowed */
    double low;     /* the same, after that */
    int fades;      /* 1: lambda at the lower end goes to zero as the bracket is narrowed */
} loss;

/* Halve the bracket until it is at most `width` wide. At the end the accepted state is just below
 * the loss. */
static sp_status close_in(sp_context *context, sp_walker *w, double width, loss *lost)
{
    while (lost->high > width) {
        reached r;
        const double step = 0.5 * lost->high;
        sp_status status = reach_for(context, w, step, &r);
        if (status == SP_OK && r.on_path && !r.unstable) {
            status = sp_walker_accept_smooth(context, w, &r.step);
            lost->high -= step;
        } else {
            lost->beyond = r;
            lost->high = step;
        }
        if (status != SP_OK || r.attempt.end == SP_STOPPED) return status;
    }
    return SP_OK;
}

/* Find lambda of the accepted state, which is evaluated again; its direction stays in
 * system->softest. */
static sp_status softest_below(sp_context *context, sp_walker *w, double *lambda)
{
    int negative;
    sp_status status = sp_system_restore(context, w->system);
    if (status == SP_OK) status = factor_judged(context, w, &negative);
    return status == SP_OK ? sp_softest_direction(context, w->system, lambda) : status;
}

/* Narrow a closed bracket to see whether lambda fades there. */
static sp_status narrow(sp_context *context, sp_walker *w, loss *lost)
{
    const double width = bracket(w);
    sp_status status = softest_below(context, w, &lost->wide);
    /* A corner may stand just before a loss: lambda before the corner is compared. */
    if (w->at.shortening - w->seen_at < 2 * width) lost->wide = fmax(lost->wide, w->seen_softest);
    w->seen_softest = lost->wide;
    w->seen_at = w->at.shortening;
    const double low = w->at.shortening, least = narrowing * narrowing * width;
    /* A state that happens to lie just below the loss does not show how lambda fades. */
    for (double far = width; status == SP_OK && lost->high > fmax(narrowing * far, least);
         far = w->at.shortening + lost->high - low)
        status = close_in(context, w, 0.5 * lost->high, lost);
    if (status == SP_OK) status = softest_below(context, w, &lost->low);
    lost->fades = lost->low <= fmax(fading * lost->wide, vanished * w->unloaded_softest);
    return status;
}

static sp_status keep_mode(sp_context *context, sp_walker *w, double **mode_out,
                           sp_critical *critical)
{
    sp_system *system = w->system;
    sp_shapes *shapes = &w->path->shapes;
    const size_t points = (size_t)system->model->point_count;
    double *mode = sp_alloc(sp_walker_unknowns(w), sizeof *mode);
    shapes->mode = sp_alloc(3 * points, sizeof(double));
    shapes->mode_position = sp_alloc(3 * points, sizeof(double));
    *mode_out = mode;
    if (!mode || !shapes->mode || !shapes->mode_position)
        return sp_fail(context, SP_NO_MEMORY, "no memory for the critical mode");
    int negative;
    sp_status status = sp_system_restore(context, w->system);
    if (status == SP_OK) status = factor_judged(context, w, &negative);
    if (status == SP_OK) status = sp_critical_mode(context, system, mode);
    if (status != SP_OK) return status;
    sp_critical_rank(system, mode, critical);
    sp_path_points(system->model, system->x, shapes->mode_position);
    sp_path_moves(system, mode, shapes->mode);
    shapes->mode_frame_step = w->path->step_count - 1;
    return SP_OK;
}

/* Stability is lost just beyond the accepted state: keep it with its mode and, unless the press
 * ends here, step off the path along the mode. */
static sp_status settle(sp_context *context, sp_walker *w, sp_critical_kind kind, sp_judgement *end)
{
    sp_critical *critical = &w->path->critical;
    double *mode = NULL;
    critical->found = 1;
    critical->kind = kind;
    critical->shortening = w->at.shortening;
    critical->strain = w->at.shortening / w->system->model->height;
    critical->force = w->at.force;
    sp_status status = keep_mode(context, w, &mode, critical);
    w->search_critical = 0;
    if (status == SP_OK && w->options->stop_at_critical)
        *end = SP_END_CRITICAL;
    else if (status == SP_OK) {
        const double push = branch_push * w->system->model->thinnest;
        sp_system_push(w->system, push, mode);
        w->before_step = 0;
        w->step = bracket_share * w->system->model->height;
    }
    sp_free(mode);
    return status;
}

/* Report the bracket alone: no state was found beyond it, and nothing shows that stability is
 * lost. */
static void leave_untold(sp_walker *w, double high, sp_judgement *end)
{
    sp_critical *critical = &w->path->critical;
    const double height = w->system->model->height;
    critical->untold = 1;
    critical->strain = w->at.shortening / height;
    critical->strain_beyond = (w->at.shortening + high) / height;
    w->search_critical = 0;
    w->step = fmax(high, bracket(w));
    if (w->options->stop_at_critical) *end = SP_END_CRITICAL;
}

/* Go on with the search beyond a corner of the path. */
static sp_status pass(sp_context *context, sp_walker *w, reached *r, sp_judgement *end)
{
    const double released = sp_walker_released(w, &r->step);
    sp_status status = r->on_path ? sp_walker_accept_smooth(context, w, &r->step)
                                  : sp_walker_accept_snap(context, w, &r->step);
    sp_critical *critical = &w->path->critical;
    if (!r->on_path && released > 0) {
        critical->jumps++;
        critical->jump_released = fmax(critical->jump_released, released);
    }
    w->step = bracket(w);
    if (status == SP_OK) *end = sp_walker_judge(w);
    return status;
}

/* Return 1 when a jump to this state belongs to a contact, not to the coupon. */
static int is_local(const sp_walker *w, const sp_step *found)
{
    return sp_walker_released(w, found) <= jump_share * w->at.stored || !(w->at.stored > 0);
}

/* Try a descent just beyond the closed bracket. Where K stays positive definite on its way, and it
 * releases next to nothing, it has passed a corner of the path. */
static sp_status pass_corner(sp_context *context, sp_walker *w, const loss *lost, int *passed,
                             sp_judgement *end)
{
    reached r;
    *passed = 0;
    if (lost->beyond.on_path) return SP_OK;
    sp_status status = descend_to(context, w, lost->high, sp_equilibrium_roll, &r);
    if (status != SP_OK || r.attempt.end != SP_FOUND) return status;
    *passed = !r.unstable && is_local(w, &r.step);
    return *passed ? pass(context, w, &r, end) : SP_OK;
}

/* Judge a place where the path has no state just beyond, or one that leads nowhere, by what a
 * descent finds there. */
static sp_status judge_jump(sp_context *context, sp_walker *w, const loss *lost, sp_judgement *end)
{
    reached r;
    double beyond = INFINITY;
    sp_status status = descend_to(context, w, lost->high, sp_equilibrium_descend, &r);
    if (status != SP_OK) return status;
    if (r.attempt.end == SP_STOPPED) {
        *end = SP_END_STOPPED;
        return SP_OK;
    }
    if (r.attempt.end != SP_FOUND) {
        if (lost->fades) return settle(context, w, SP_CRITICAL_LIMIT_POINT, end);
        leave_untold(w, lost->high, end);
        return SP_OK;
    }
    if (!is_local(w, &r.step))
        return settle(context, w, lost->fades ? SP_CRITICAL_LIMIT_POINT : SP_CRITICAL_LET_GO, end);
    if (lost->fades) status = sp_softest_direction(context, w->system, &beyond);
    if (status == SP_OK && (r.unstable || fmax(lost->low, beyond) <= linear_fading * lost->wide))
        return settle(context, w, SP_CRITICAL_BIFURCATION, end);
    return status == SP_OK ? pass(context, w, &r, end) : status;
}

/* Judge an unstable state just beyond the bracket. It lies behind a bifurcation if the path goes
 * on, unstable, for much more than the width of the bracket; behind a limit point the path turns
 * back. Where lambda does not fade the path has to go on for longer. */
static sp_status look_ahead(sp_context *context, sp_walker *w, const loss *lost, reached *far)
{
    const double height = w->system->model->height;
    const double least = lost->fades ? 8 * lost->high : ahead_share * height;
    sp_status status = SP_OK;
    for (double ahead = ahead_share * height; !far->on_path && ahead >= least; ahead *= 0.25) {
        status = reach_for(context, w, ahead, far);
        if (status != SP_OK || far->attempt.end == SP_STOPPED) break;
    }
    return status;
}

/* Find out whether stability is lost within `high`, where it may be. */
static sp_status examine(sp_context *context, sp_walker *w, double high, const reached *beyond,
                         sp_judgement *end)
{
    loss lost = {.high = high, .beyond = *beyond};
    int passed = 0;
    sp_status status = close_in(context, w, bracket(w), &lost);
    if (status == SP_OK) status = pass_corner(context, w, &lost, &passed, end);
    if (status != SP_OK || passed) return status;
    status = narrow(context, w, &lost);
    if (status == SP_OK && lost.beyond.attempt.end == SP_STOPPED) *end = SP_END_STOPPED;
    if (status != SP_OK || *end != SP_GO_ON) return status;
    if (!lost.beyond.on_path) return judge_jump(context, w, &lost, end);
    reached far = {0};
    status = look_ahead(context, w, &lost, &far);
    if (status != SP_OK) return status;
    if (far.on_path && !far.unstable) return pass(context, w, &far, end);
    if (far.on_path) return settle(context, w, SP_CRITICAL_BIFURCATION, end);
    return judge_jump(context, w, &lost, end);
}

static double longest_step(const sp_walker *w)
{
    const double share = w->system->contact.friction.first ? longest_friction : longest_share;
    return fmin(w->planned, share * w->system->model->height);
}

static int takes_too_long(const sp_walker *w)
{
    const int factored = sp_sparse_count(w->system->sparse).factorizations;
    const double unknowns = (double)factored * w->system->model->unknown_count;
    return w->options->search_unknowns > 0 && factored > w->options->search_factorizations &&
           unknowns > w->options->search_unknowns;
}

/* End the search: no instability was found up to the accepted state. */
static void cut_short(sp_walker *w, sp_judgement *end)
{
    sp_critical *critical = &w->path->critical;
    critical->cut_short = 1;
    critical->strain = w->at.shortening / w->system->model->height;
    w->search_critical = 0;
    w->step = bracket(w);
    if (w->options->stop_at_critical) *end = SP_END_CRITICAL;
}

sp_status sp_search_step(sp_context *context, sp_walker *w, sp_judgement *end)
{
    if (takes_too_long(w)) {
        cut_short(w, end);
        return SP_OK;
    }
    reached r;
    const double longest = longest_step(w), step = fmin(longest, sp_walker_next_step(w));
    sp_status status = SP_OK;
    if (w->path->step_count == 1 && !(w->unloaded_softest > 0))
        status = softest_below(context, w, &w->unloaded_softest);
    if (status == SP_OK) status = reach_for(context, w, step, &r);
    if (status != SP_OK) return status;
    if (r.attempt.end == SP_STOPPED) {
        *end = SP_END_STOPPED;
    } else if (r.on_path && !r.unstable) {
        w->step = fmin(longest, step * grow);
        status = sp_walker_accept_smooth(context, w, &r.step);
        if (status == SP_OK) *end = sp_walker_judge(w);
    } else if (r.on_path || step <= bracket(w)) {
        status = examine(context, w, step, &r, end);
    } else {
        w->step = 0.5 * step;
    }
    return status;
}
