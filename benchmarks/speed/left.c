/* This program judges the time left that the progress line shows: it records presses, and works out
 * what the line would have shown in each of their states.
 *
 *   left NAME SECONDS [KEY=VALUE]...  press the default case with these values, one thread, and
 *                                     print the states of the search, the press and the way back;
 *                                     a press that takes longer is stopped and has no rows
 *   left --judge FILE [only SEEDS]    how far the time left was off, for all runs, or for those of
 *                                     these seeds of soak.c
 *
 * benchmarks/speed/left.sh records random coupons, coarse presses of them (names with t- before)
 * and other seeds of their flaws (-b behind). Times are processor time: a machine with other work
 * to do measures nearly the same. A coupon is one row that begins with `coupon`, and rows of states
 * that begin with s (search), p (press) or b (way back): letter, seconds, shortening over that of
 * the target, force over the load limit. The time left is judged between a quarter and 95 % of the
 * time, of the press with its way back, or with the search before it. */
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <strutpress/strutpress.h>

#include "case_words.h"
#include "press/progress.h"
#include "run/forecast.h"
#include "run/result.h"

enum { STATES = 200000, PHASES = 3 };

static volatile sig_atomic_t stop_flag;
static double begin, whole_seconds, most_seconds = INFINITY;
static double told[PHASES][STATES]; /* when a state was accepted [s] */
static int told_count[PHASES];

static double processor_time(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void follow(void *user, double share, const char *text)
{
    static const char *const name[PHASES] = {"searching for the critical step", "pressing",
                                             "going back"};
    (void)user;
    (void)share;
    const double time = processor_time() - begin;
    if (time > most_seconds) stop_flag = 1;
    for (int i = 0; i < PHASES; i++)
        if (!strcmp(text, name[i]) && told_count[i] < STATES) told[i][told_count[i]++] = time;
}

static const double least_time = 0.015,
                    least_way = 0.03; /* from a state that is printed to the next */

static void print_states(char letter, int phase, const sp_step *step, int count, double target,
                         double limit)
{
    double time = -1, way = -1;
    const int shift = count - told_count[phase]; /* states before the first that was told */
    for (int i = 0; i < count; i++) {
        const int k = i - shift;
        if (k < 0 || k >= told_count[phase]) continue;
        const double now = told[phase][k], here = step[i].shortening / target;
        const int last = i == count - 1;
        if (!last && now - time < least_time * whole_seconds && fabs(here - way) < least_way)
            continue;
        printf("%c,%.4g,%.4g,%.3g\n", letter, now, here, step[i].force / limit);
        time = now;
        way = here;
    }
}

static int measure(const char *name, double most, int count, char **word)
{
    sp_context context = {.interrupt = &stop_flag, .progress = follow};
    sp_case request;
    sp_resolved resolved = {0};
    sp_result result = {0};
    sp_forecast forecast = {0};
    omp_set_num_threads(1);
    sp_status status = case_of_words(&context, count, word, &request);
    if (status == SP_OK) status = sp_case_resolve(&context, &request, &resolved);
    begin = processor_time();
    most_seconds = most;
    if (status == SP_OK) status = sp_result_press_resolved(&context, &resolved, &result);
    const double seconds = processor_time() - begin;
    const sp_case *c = &resolved.request;
    if (status == SP_OK && result.path.step_count > 1 && !stop_flag &&
        sp_forecast_network(&context, c, &result.network, &forecast) == SP_OK) {
        const sp_path *path = &result.path;
        const double target = c->strain * c->height;
        whole_seconds = seconds;
        printf("coupon,%s,%d,%.4f,%d,%d,%d,%.4g,%d,%.0f,%d,%.4g,%.4g\n", name, forecast.dimension,
               result.network.solid_fraction, c->strut_friction > 0, c->unload,
               c->find_critical && c->flaw_seed, c->strain, c->steps, forecast.elements, path->end,
               sp_forecast_without_search(&forecast), seconds);
        const sp_path *search = &result.perfect;
        print_states('s', 0, search->step, search->step_count, target, c->load_limit);
        print_states('p', 1, path->step, path->step_count, target, c->load_limit);
        print_states('b', 2, path->back, path->back_count, target, c->load_limit);
    } else
        fprintf(stderr, "%s: %d %s\n", name, status, context.message);
    sp_result_clear(&result);
    sp_resolved_free(&resolved);
    return 0;
}

/* ---- judge ----------------------------------------------- */

enum { RUNS = 600, LINE = 4096, RUN_STATES = 1200, WORDS = 24 };

typedef struct state {
    sp_pace_stage stage;
    double way, seconds;
} state;

typedef struct run {
    char name[32];
    int unload, search, count, steps;
    double forecast, whole, elements;
    state *at;
} run;

static run runs[RUNS];
static int run_count;

static int split(char *line, char **word)
{
    int count = 0;
    for (char *w = strtok(line, ",\n"); w && count < WORDS; w = strtok(NULL, ",\n"))
        word[count++] = w;
    return count;
}

static int read_runs(const char *file)
{
    static char line[LINE];
    char *word[WORDS];
    FILE *stream = fopen(file, "r");
    double top = 1;
    run *r = NULL;
    if (!stream) return 0;
    while (fgets(line, sizeof line, stream)) {
        const int count = split(line, word);
        if (count == 13 && !strcmp(word[0], "coupon") && run_count < RUNS) {
            r = &runs[run_count++];
            *r = (run){.unload = atoi(word[5]),
                       .search = atoi(word[6]),
                       .steps = atoi(word[8]),
                       .elements = atof(word[9]),
                       .forecast = atof(word[11]),
                       .whole = atof(word[12]),
                       .at = calloc(RUN_STATES, sizeof *r->at)};
            snprintf(r->name, sizeof r->name, "%s", word[1]);
        } else if (r && count == 4 && r->count < RUN_STATES) {
            state *s = &r->at[r->count++];
            const double way = fmax(atof(word[2]), atof(word[3]));
            s->stage = *word[0] == 's'   ? SP_PACE_SEARCH
                       : *word[0] == 'p' ? SP_PACE_PRESS
                                         : SP_PACE_BACK;
            s->seconds = atof(word[1]);
            if (s->stage == SP_PACE_PRESS) top = atof(word[2]);
            s->way = s->stage == SP_PACE_BACK ? 1 - atof(word[2]) / top : way;
        }
    }
    fclose(stream);
    return run_count;
}

static const run *find_run(const char *head, const char *name, const char *tail)
{
    char wanted[128];
    snprintf(wanted, sizeof wanted, "%.8s%.32s%.8s", head, name, tail);
    for (int i = 0; i < run_count; i++)
        if (!strcmp(runs[i].name, wanted)) return &runs[i];
    return NULL;
}

typedef struct score {
    double near;  /* share of the time in which `middle` is off by less than 2 */
    double worst; /* how far that was ever off */
    /* These are the share of the time in which the range held, the share in which the time left lay
     * less than a factor of 2 beyond it, how far it ever lay beyond it, and the mean ln of high /
     * low. */
    double inside, nearly, outside, wide;
} score;

static double factor(double a, double b)
{
    a = fmax(a, 1e-9);
    b = fmax(b, 1e-9);
    return fmax(a / b, b / a);
}

/* Find the time left as 0.12.0 did, without a range: by the rate of the last fifth of the way. */
static double told_before(const sp_pace *own, const sp_pace *back_from, int unload)
{
    const double way = own->way, elapsed = own->seconds - own->begin[SP_PACE_PRESS];
    if (own->stage == SP_PACE_BACK) {
        const double press = back_from->seconds - back_from->begin[SP_PACE_PRESS];
        return press * 0.8 * exp(-1.4 * way) * pow(1 - way, 0.13);
    }
    const int part = (int)(20 * way), from = part > 4 ? part - 4 : 0;
    const double mark = from / 20.0;
    const int place = (int)(mark * SP_PACE_PARTS);
    if (!(way > mark) || own->stage != SP_PACE_PRESS) return INFINITY;
    const double rate = (own->seconds - own->at[SP_PACE_PRESS][place]) / (way - mark);
    const double rest = rate * exp(-0.56 + 1.03 * way) * pow(1 - way, 0.94);
    return rest + (unload ? 0.93 * (elapsed + rest) : 0);
}

/* Replay a run. `live` 1: the guide runs beside the press; 0: it had come to its end before. */
static void replay(const run *r, const run *guide, int live, double times, int whole_run,
                   int before, score *s)
{
    sp_pace turn = {0};
    sp_pace own = {0}, ahead = {0};
    double all = 0, good = 0, in = 0, nearly = 0, start = 0, wide = 0;
    int at = 0;
    const sp_pace_plan plan = {r->unload, r->forecast, sp_forecast_band[0], sp_forecast_band[1]};
    *s = (score){.worst = 1, .outside = 1};
    if (!whole_run)
        for (int i = 0; i < r->count && r->at[i].stage == SP_PACE_SEARCH; i++)
            start = r->at[i].seconds;
    const double end = r->at[r->count - 1].seconds, whole = end - start;
    for (int i = 0; i + 1 < r->count; i++) {
        const state *x = &r->at[i];
        sp_pace_note(&own, x->stage, x->way, x->seconds);
        for (; guide && at < guide->count && (!live || guide->at[at].seconds <= x->seconds); at++)
            sp_pace_note(&ahead, guide->at[at].stage, guide->at[at].way, guide->at[at].seconds);
        if (guide && at == guide->count) ahead.done = 1;
        const double gone = x->seconds - start, left = end - x->seconds;
        if (gone < 0.25 * whole || gone > 0.95 * whole) continue;
        if (x->stage != SP_PACE_BACK) turn = own;
        sp_left said = sp_pace_left(&own, at ? &ahead : NULL, times, &plan);
        if (before) said.low = said.middle = said.high = told_before(&own, &turn, r->unload);
        const double off = factor(said.middle, left), time = r->at[i + 1].seconds - x->seconds;
        const double out = left < said.low    ? factor(said.low, left)
                           : left > said.high ? factor(said.high, left)
                                              : 1;
        s->worst = fmax(s->worst, off);
        s->outside = fmax(s->outside, out);
        all += time;
        good += off < 2 ? time : 0;
        in += out <= 1 ? time : 0;
        nearly += out < 2 ? time : 0;
        wide += time * log(fmax(said.high, 1e-9) / fmax(said.low, 1e-9));
    }
    s->near = all > 0 ? good / all : 1;
    s->inside = all > 0 ? in / all : 1;
    s->nearly = all > 0 ? nearly / all : 1;
    s->wide = all > 0 ? wide / all : 0;
}

static const char *only_seeds = "123456789f";

/* Judge one way to find the time left. Without `head` there is no guide, and `before` 1 does as
 * 0.12.0 did. Else the name of the guide is that of the run between head and tail. */
static void judge_way(const char *what, const char *head, const char *tail, int live, double times,
                      int whole_run, int before)
{
    static score s;
    int n = 0, never = 0, three = 0, inside = 0, outside = 0;
    double near = 0, in = 0, nearly = 0, wide = 0;
    for (int i = 0; i < run_count; i++) {
        const run *r = &runs[i];
        const run *guide = head ? find_run(head, r->name, tail) : NULL;
        if (!strchr(only_seeds, r->name[0]) || strstr(r->name, "-b") || r->count < 10) continue;
        if ((head && !guide) || (whole_run && !r->search)) continue;
        replay(r, guide, live, times, whole_run, before, &s);
        n++;
        near += s.near;
        in += s.inside;
        nearly += s.nearly;
        wide += s.wide;
        never += s.worst < 2;
        three += s.worst < 3;
        inside += s.outside <= 1;
        outside += s.outside < 2;
    }
    if (!n) return;
    printf(
        "%s: %d runs\n  middle: off by less than 2 in %.0f %% of the time; never off by 2 in %d %% "
        "of the runs, by 3 in %d %%\n",
        what, n, 100 * near / n, 100 * never / n, 100 * three / n);
    if (before) return;
    printf(
        "  range: holds in %.0f %% of the time, off by less than 2 in %.0f %%; holds always in %d "
        "%% of the runs, never off by 2 in %d %%; high / low %.1f\n",
        100 * in / n, 100 * nearly / n, 100 * inside / n, 100 * outside / n, exp(wide / n));
}

static const double search_share = 0.3; /* as in src/result/run/forecast.c */

/* Return the seconds of a press by those of a coarse one, as sp_forecast_try finds them. */
static double by_trial(const run *r, const run *trial, double seconds)
{
    const double *fit = sp_forecast_try_fit;
    return exp(fit[0] + fit[1] * log(fmax(1e-4, seconds)) +
               fit[2] * log(r->elements / trial->elements) + fit[3] * log(r->steps / 200.0) +
               fit[4] * log(r->forecast * (r->search ? 1 + search_share : 1)));
}

/* Judge coarse presses that are stopped after this share of their time. */
static void judge_trial(double share)
{
    int n = 0, within = 0, inside = 0;
    double wide = 0;
    for (int i = 0; i < run_count; i++) {
        const run *r = &runs[i], *trial = find_run("t-", r->name, "");
        sp_pace own = {0};
        if (!trial || !strchr(only_seeds, r->name[0]) || r->count < 10) continue;
        const sp_pace_plan plan = {trial->unload, trial->forecast, sp_forecast_band[0],
                                   sp_forecast_band[1]};
        for (int k = 0; k < trial->count && trial->at[k].seconds <= share * trial->whole; k++)
            sp_pace_note(&own, trial->at[k].stage, trial->at[k].way, trial->at[k].seconds);
        own.done = share >= 1;
        const sp_left left = sp_pace_left(&own, NULL, 1, &plan);
        if (!(left.high < INFINITY) || !(own.seconds > 0)) continue;
        const double middle = by_trial(r, trial, own.seconds + left.middle),
                     low = sp_forecast_try_band[0] * by_trial(r, trial, own.seconds + left.low),
                     high = sp_forecast_try_band[1] * by_trial(r, trial, own.seconds + left.high);
        n++;
        within += factor(middle, r->whole) < 2;
        inside += r->whole >= low && r->whole <= high;
        wide += log(high / low);
    }
    if (n)
        printf("told by %.0f %% of a coarse press: %d runs, %d %% within 2, range holds for %d %%, "
               "high / low %.1f\n",
               100 * share, n, 100 * within / n, 100 * inside / n, exp(wide / n));
}

static int judge(const char *file)
{
    if (!read_runs(file)) return 1;
    judge_way("as 0.12.0, press and way back", NULL, "", 0, 1, 0, 1);
    judge_way("alone, press and way back", NULL, "", 0, 1, 0, 0);
    judge_way("alone, with the search", NULL, "", 0, 1, 1, 0);
    judge_way("after another seed, press and way back", "", "-b", 0, 1, 0, 0);
    judge_way("beside a coarse press, press and way back", "t-", "", 1, 3, 0, 0);
    judge_way("beside a coarse press, with the search", "t-", "", 1, 3, 1, 0);
    static const double shares[] = {0.1, 0.25, 0.5, 0.75, 1};
    for (int i = 0; i < 5; i++) judge_trial(shares[i]);
    return 0;
}

int main(int count, char **word)
{
    if (count == 5 && !strcmp(word[3], "only")) only_seeds = word[4];
    if ((count == 3 || count == 5) && !strcmp(word[1], "--judge")) return judge(word[2]);
    if (count >= 3) return measure(word[1], atof(word[2]), count - 3, word + 3);
    fprintf(stderr, "left: see the top of benchmarks/speed/left.c\n");
    return 2;
}
