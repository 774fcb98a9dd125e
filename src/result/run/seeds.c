/* Press one coupon with several seeds of its flaws, and say how far their figures scatter. */
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "base/machine.h"
#include "case/case_parts.h"
#include "measure/curve.h"
#include "measure/spread.h"
#include "press/record.h"
#include "run/result.h"

static const int usual_seeds = 5;
/* Where one press is forecast to take longer [s], one seed is pressed instead of five, unless the
 * user gives a number. */
static const double long_press = 60;
static const double memory_share = 0.8; /* of the free memory: presses side by side take no more */

/* One press among several. */
typedef struct seed_press {
    struct seeds_run *run;
    double done;  /* share of it that is done */
    double begin; /* when it began; 0: it has not [s] */
    double told;  /* when it reported its time left [s] */
    sp_left left; /* time left, as reported [s] */
} seed_press;

typedef struct seeds_run {
    const sp_resolved *resolved;
    sp_context *outer;
    int count, threads;
    seed_press *one;
    sp_result **result;
    double begin;
    double ended;     /* seconds of the presses that have ended ... */
    int ended_count;  /* ... and how many they are */
    sp_guide guide;   /* the first of them */
    sp_status status; /* the first failure of a press, whose message is kept */
    char message[SP_MESSAGE_SIZE];
} seeds_run;

/* ---- how many -------------------------------------------------------------------------------- */

int sp_seeds_are_alike(const sp_case *c, sp_built built)
{
    const int has_flaws = c->bow > 0 || c->thickness_scatter > 0 || c->row_scatter > 0 ||
                          c->missing > 0 || c->joint_offset > 0;
    return built == SP_BUILT_SOLID || c->flaw_seed == 0 || !has_flaws;
}

int sp_seeds_wanted(const sp_resolved *resolved, int count)
{
    if (count == 0) count = resolved->request.seeds;
    if (sp_seeds_are_alike(&resolved->request, resolved->built)) return 1;
    if (count > 0) return count;
    return resolved->expected.seconds > long_press ? 1 : usual_seeds;
}

/* Several presses at once must fit into the memory together; one that does not fit alone is refused
 * on its own. */
static int choose_threads(const sp_resolved *resolved, int count)
{
    const int asked = omp_get_max_threads();
    const double fit = memory_share * sp_memory_free() / fmax(1, resolved->expected.bytes);
    int threads = asked < count ? asked : count;
    if (fit < threads) threads = fit > 1 ? (int)fit : 1;
    return sp_thread_room(threads);
}

/* ---- progress of several presses --------------------------------------------------------- */

static double *part_of(sp_left *left, int i)
{
    return i == 0 ? &left->low : i == 1 ? &left->middle : &left->high;
}

/* Return the seconds that a press takes, by the presses that have ended, or by those that run and
 * have reported their time left; 0: there are none. */
static double whole_press(const seeds_run *s)
{
    double sum = s->ended;
    int count = s->ended_count;
    for (int k = 0; k < s->count && s->ended_count == 0; k++) {
        const seed_press *one = &s->one[k];
        if (!(one->left.high > 0)) continue;
        sum += one->told - one->begin + one->left.middle;
        count++;
    }
    return count > 0 ? sum / count : 0;
}

/* Return what is left of one press that runs, at least, as a rule or at most. */
static double left_of_one(seed_press *one, int bound, double time, double whole)
{
    if (one->left.high > 0) return fmax(0, *part_of(&one->left, bound) - (time - one->told));
    return fmax(0, whole - (time - one->begin));
}

/* Find what is left of all presses: each thread takes the next one when it has ended its own.
 * Returns 0 while too little is known. */
static int left_of_all(const seeds_run *s, double time, sp_left *all)
{
    static const double spread[3] = {0.5, 1, 2.2}; /* nine of ten seeds, over another one */
    const double whole = whole_press(s);
    for (int bound = 0; bound < 3 && whole > 0; bound++) {
        double end[SP_SEEDS_MAX] = {0}, last = 0; /* of what each thread has to do */
        int threads = 0, waiting = 0;
        for (int k = 0; k < s->count; k++) {
            seed_press *one = &s->one[k];
            if (!(one->begin > 0))
                waiting++;
            else if (one->done < 1)
                end[threads++] = left_of_one(one, bound, time, whole);
        }
        if (threads == 0) end[threads++] = 0;
        for (; waiting > 0; waiting--) {
            int first = 0;
            for (int t = 1; t < threads; t++)
                if (end[t] < end[first]) first = t;
            end[first] += spread[bound] * whole;
        }
        for (int t = 0; t < threads; t++) last = fmax(last, end[t]);
        *part_of(all, bound) = last;
    }
    return whole > 0;
}

/* A press tells its range before its share. */
static void take_left(void *user, double low, double high)
{
    seed_press *one = user;
#pragma omp critical(sp_seeds)
    {
        one->left = (sp_left){low, sqrt(low * high), high};
        one->told = sp_clock_seconds();
    }
}

static void tell_progress(void *user, double fraction, const char *text)
{
    seed_press *one = user;
    seeds_run *s = one->run;
#pragma omp critical(sp_seeds)
    {
        const double time = sp_clock_seconds();
        double sum = 0;
        sp_left left;
        one->done = fraction;
        if (fraction > 0 && fraction < 1)
            one->left.middle = (time - one->begin) * (1 - fraction) / fraction;
        for (int k = 0; k < s->count; k++) sum += s->one[k].done;
        double share = sum / s->count;
        if (share < 1 && left_of_all(s, time, &left)) {
            share = (time - s->begin) / (time - s->begin + left.middle);
            if (s->outer->left) s->outer->left(s->outer->user, left.low, left.high);
        }
        if (s->outer->progress) s->outer->progress(s->outer->user, share, text);
    }
}

static void pass_caution(void *user, const char *line)
{
    const seed_press *one = user;
#pragma omp critical(sp_seeds)
    sp_warn(one->run->outer, "%s", line);
}

/* Progress and states that are shown as a press grows are those of the first press. */
static void pass_state(void *user, const sp_path *path)
{
    const sp_context *outer = ((const seed_press *)user)->run->outer;
#pragma omp critical(sp_seeds)
    outer->accepted(outer->user, path);
}

/* Tell the forecast of the first press, with the number of presses before it. */
static void pass_line(void *user, const char *line)
{
    const seeds_run *s = ((const seed_press *)user)->run;
    const int first = s->resolved->request.flaw_seed;
#pragma omp critical(sp_seeds)
    sp_say(s->outer, "%d presses (flaw seeds %d to %d) on %d core%s, each %s", s->count, first,
           first + s->count - 1, s->threads, s->threads == 1 ? "" : "s", line);
}

/* ---- the presses ----------------------------------------------------------------------------- */

void sp_seeds_request(sp_case *request, int k)
{
    if (k == 0) return;
    request->flaw_seed += k;
    request->find_critical = 0;
    request->origin[sp_case_row_find("flaws.seed")] = SP_ORIGIN_DERIVED;
}

/* The first press reports for all of them. */
static void press_seed(seeds_run *s, int k)
{
    sp_resolved resolved = *s->resolved; /* the drawing still belongs to the original */
    seed_press *one = &s->one[k];
    sp_context own = {.interrupt = s->outer->interrupt,
                      .progress = tell_progress,
                      .left = take_left,
                      .user = one};
#pragma omp critical(sp_seeds)
    one->begin = sp_clock_seconds();
    if (k == 0) {
        own.warn = pass_caution;
        own.say = s->outer->say ? pass_line : NULL;
        own.accepted = s->outer->accepted ? pass_state : NULL;
    }
    sp_seeds_request(&resolved.request, k);
    const sp_status status = sp_run_guided(&own, &resolved, &s->guide, &s->result[k]);
#pragma omp critical(sp_seeds)
    if (!resolved.request.find_critical) { /* only the first searches, and takes longer */
        s->ended += sp_clock_seconds() - one->begin;
        s->ended_count++;
    }
    tell_progress(one, 1, "pressing");
    if (status == SP_OK) return;
#pragma omp critical(sp_seeds)
    if (s->status == SP_OK) {
        s->status = status;
        memcpy(s->message, own.message, sizeof s->message);
    }
}

static void press_all(seeds_run *s)
{
    const int asked = omp_get_max_threads();
    s->threads = choose_threads(s->resolved, s->count);
    s->begin = sp_clock_seconds();
#pragma omp parallel num_threads(s->threads)
    {
        omp_set_num_threads(asked > s->threads ? asked / s->threads : 1);
#pragma omp for schedule(dynamic, 1)
        for (int k = 0; k < s->count; k++) press_seed(s, k);
    }
    omp_set_num_threads(asked);
}

/* ---- results of all seeds together ----------------------------------------------------------- */

static double figure_of(const sp_result *result, int row)
{
    const int is_there = row < result->measure_count && result->measure[row].reached;
    return is_there ? result->measure[row].value : NAN;
}

/* Measure how far the figures of one press are from the medians, each in shares of its own range; a
 * figure that others reach and this press does not is as far away as can be. */
static double distance(const sp_result *one, const sp_spread *spread, int rows)
{
    double sum = one->path.step_count ? 0 : INFINITY;
    for (int i = 0; i < rows; i++) {
        const double value = figure_of(one, i), range = spread[i].high - spread[i].low;
        if (spread[i].count == 0) continue;
        if (!isfinite(value))
            sum += 1;
        else if (range > 0)
            sum += fabs(value - spread[i].median) / range;
    }
    return sum;
}

static int choose_kept(const seeds_run *s, const sp_spread *spread, int rows, int is_named)
{
    int kept = 0;
    double least = INFINITY;
    for (int k = 0; k < s->count; k++) {
        const double far = distance(s->result[k], spread, rows);
        if (far < least) kept = k, least = far;
    }
    return is_named && s->result[0]->path.step_count ? 0 : kept;
}

static void fill_band(const seeds_run *s, double *value, sp_seeds *all)
{
    double end = INFINITY;
    for (int k = 0; k < s->count; k++) {
        const sp_path *path = &s->result[k]->path;
        end = fmin(end, path->step_count ? sp_path_strain(path, path->step_count - 1) : 0);
    }
    if (!(end > 0)) return;
    for (int i = 0; i < SP_BAND_POINTS; i++) {
        const double strain = end * i / (SP_BAND_POINTS - 1);
        for (int k = 0; k < s->count; k++) {
            const sp_curve curve = sp_curve_of_path(&s->result[k]->path);
            const sp_measure force = sp_curve_force(&curve, strain * curve.height);
            value[k] = force.reached ? force.value : NAN;
        }
        const sp_spread at = sp_spread_of(value, s->count);
        if (at.count < s->count) continue; /* round-off at the end of the shortest press */
        all->band[all->band_count++] = (sp_band){strain, at.median, at.low, at.high};
    }
}

/* Ctrl-C stops all presses: the whole was interrupted even when the kept press had ended before. */
static void take_interruption(const seeds_run *s, sp_result *kept)
{
    int finished = 0;
    for (int k = 0; k < s->count; k++) finished += s->result[k]->path.end != SP_STOP_INTERRUPTED;
    if (finished == s->count || kept->path.end == SP_STOP_INTERRUPTED) return;
    sp_path_end(&kept->path, SP_STOP_INTERRUPTED,
                "interrupted: %d of %d flaw seeds were pressed to their end", finished, s->count);
}

/* Make one result of all; it owns the others. */
static sp_status gather(sp_context *context, seeds_run *s, sp_result **whole)
{
    int rows;
    sp_measure_rows(&rows);
    sp_seeds *all = sp_alloc(1, sizeof *all);
    double *value = sp_alloc((size_t)s->count, sizeof *value);
    sp_status status = SP_OK;
    if (all) all->spread = sp_alloc((size_t)rows, sizeof *all->spread);
    if (!all || !value || !all->spread) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d flaw seeds", s->count);
        goto done;
    }
    for (int k = 1; k < s->count && status == SP_OK; k++)
        status = sp_result_share_critical(context, s->result[0], s->result[k]);
    if (status != SP_OK) goto done;
    for (int i = 0; i < rows; i++) {
        for (int k = 0; k < s->count; k++) value[k] = figure_of(s->result[k], i);
        all->spread[i] = sp_spread_of(value, s->count);
    }
    const sp_case *asked = &s->resolved->request;
    all->count = s->count;
    all->first = asked->flaw_seed;
    all->threads = s->threads;
    all->is_named = asked->origin[sp_case_row_find("flaws.seed")] == SP_ORIGIN_FILE;
    all->kept = choose_kept(s, all->spread, rows, all->is_named);
    for (int k = 0; k < s->count; k++) all->early += sp_stop_exit(s->result[k]->path.end) != 0;
    fill_band(s, value, all);
    *whole = s->result[all->kept];
    if (all->kept) sp_result_move_perfect(s->result[0], *whole);
    take_interruption(s, *whole);
    s->result[all->kept] = NULL;
    all->press = s->result, s->result = NULL;
    (*whole)->seeds = all, all = NULL;
done:
    sp_seeds_free(all);
    sp_free(value);
    return status;
}

void sp_seeds_free(sp_seeds *seeds)
{
    if (!seeds) return;
    for (int k = 0; seeds->press && k < seeds->count; k++) sp_result_free(seeds->press[k]);
    sp_free(seeds->press);
    sp_free(seeds->spread);
    sp_free(seeds);
}

static sp_status press_several(sp_context *context, const sp_resolved *resolved, int count,
                               sp_result **result)
{
    seeds_run s = {.resolved = resolved,
                   .outer = context,
                   .count = count,
                   .guide = {.lock = PTHREAD_MUTEX_INITIALIZER}};
    sp_status status = SP_OK;
    s.one = sp_alloc((size_t)count, sizeof *s.one);
    s.result = sp_alloc((size_t)count, sizeof *s.result);
    if (!s.one || !s.result)
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d flaw seeds", count);
    for (int k = 0; status == SP_OK && k < count; k++) s.one[k].run = &s;
    if (status == SP_OK) {
        press_all(&s);
        status = s.status;
        if (status != SP_OK) sp_fail(context, status, "%s", s.message);
    }
    if (status == SP_OK) status = gather(context, &s, result);
    for (int k = 0; s.result && k < count; k++) sp_result_free(s.result[k]);
    sp_free(s.result);
    sp_free(s.one);
    return status;
}

/* Where five presses would be the rule and one is made, say before it why. */
static void say_single(void *user, const char *line)
{
    const seeds_run *s = ((const seed_press *)user)->run;
    char all[32];
    sp_forecast_time_text(usual_seeds * s->resolved->expected.seconds, all, sizeof all);
    sp_say(
        s->outer,
        "one press: %d flaw seeds, which would say how far figures scatter, are forecast to take "
        "%s of processor time (--seeds %d presses them); %s",
        usual_seeds, all, usual_seeds, line);
}

static void pass_progress(void *user, double fraction, const char *text)
{
    const sp_context *outer = ((const seed_press *)user)->run->outer;
    outer->progress(outer->user, fraction, text);
}

static void pass_left(void *user, double low, double high)
{
    const sp_context *outer = ((const seed_press *)user)->run->outer;
    outer->left(outer->user, low, high);
}

static sp_status press_single(sp_context *context, const sp_resolved *resolved, int is_usual,
                              sp_result **result)
{
    seeds_run s = {.resolved = resolved, .outer = context, .count = 1};
    seed_press one = {.run = &s};
    s.one = &one;
    sp_context own = *context;
    own.user = &one;
    own.warn = pass_caution;
    own.left = context->left ? pass_left : NULL;
    own.progress = context->progress ? pass_progress : NULL;
    own.say = context->say ? say_single : NULL;
    own.accepted = context->accepted ? pass_state : NULL;
    if (!is_usual) return sp_run_resolved(context, resolved, result);
    const sp_status status = sp_run_resolved(&own, resolved, result);
    memcpy(context->message, own.message, sizeof context->message);
    return status;
}

sp_status sp_run_seeds(sp_context *context, const sp_case *request, int count, sp_result **result)
{
    sp_resolved resolved;
    sp_context quiet = {0};
    if (!context) context = &quiet;
    *result = NULL;
    if (count < 0 || count > SP_SEEDS_MAX)
        return sp_fail(context, SP_BAD_USAGE,
                       "received %d flaw seeds; valid: 1 .. %d, or 0: as "
                       "the case says",
                       count, SP_SEEDS_MAX);
    sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK) {
        const int wanted = sp_seeds_wanted(&resolved, count);
        const int is_usual = count == 0 && resolved.request.seeds == 0 &&
                             !sp_seeds_are_alike(&resolved.request, resolved.built);
        status = wanted > 1 ? press_several(context, &resolved, wanted, result)
                            : press_single(context, &resolved, is_usual, result);
    } else if (status == SP_INTERRUPTED) {
        *result = sp_alloc(1, sizeof **result);
        status = *result ? SP_OK : sp_fail(context, SP_NO_MEMORY, "no memory for a result");
        if (*result) sp_result_end_before(context, request, *result);
    }
    sp_resolved_free(&resolved);
    return status;
}

/* ---- how many were asked for ------------------------------------------------------------- */

int sp_result_seeds(const sp_result *result, int *kept)
{
    *kept = result->seeds ? result->seeds->kept : 0;
    return result->seeds ? result->seeds->count : 1;
}

const sp_result *sp_result_of_seed(const sp_result *result, int seed)
{
    int kept;
    const int count = sp_result_seeds(result, &kept);
    if (seed < 0 || seed >= count) return NULL;
    return seed == kept ? result : result->seeds->press[seed];
}

sp_status sp_result_spread(sp_context *context, const sp_result *result, const char *text,
                           sp_spread *spread, const char **unit)
{
    double value[SP_SEEDS_MAX];
    int kept;
    const int count = sp_result_seeds(result, &kept);
    *spread = (sp_spread){0, NAN, NAN, NAN};
    for (int k = 0; k < count; k++) {
        sp_measure one;
        const sp_status status =
            sp_result_figure(context, sp_result_of_seed(result, k), text, &one, unit);
        if (status != SP_OK) return status;
        value[k] = one.reached ? one.value : NAN;
    }
    *spread = sp_spread_of(value, count);
    return SP_OK;
}

sp_measure sp_result_median(const sp_result *result, int row)
{
    if (!result->seeds) return result->measure[row];
    const sp_spread *s = &result->seeds->spread[row];
    return (sp_measure){s->count > 0, s->count > 0 ? s->median : 0};
}

const sp_band *sp_result_band(const sp_result *result, int *count)
{
    *count = result->seeds ? result->seeds->band_count : 0;
    return *count ? result->seeds->band : NULL;
}
