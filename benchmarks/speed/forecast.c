/* This program measures what a press costs, forecasts it by a coarse press, and fits the
 * coefficients of the forecast (src/result/run/forecast.c).
 *
 *   forecast --head                       the names of the columns
 *   forecast NAME SECONDS [KEY=VALUE]...  press the default case with these values, then coarsely,
 *                                         one row of CSV; stop either after that many seconds
 *   forecast --fit FILE [HEADER]          fit the coefficients by least absolute distances over
 *                                         all coupons, into HEADER; shares and bands of every
 *                                         tenth coupon come from a fit to the others
 *
 * benchmarks/speed/forecast.sh runs it over random coupons of soak.c, one process each, so that the
 * peak memory is that of one press. Times are processor time of one thread: a machine with other
 * work to do measures nearly the same. `t0` .. `t100` are the times at which the press itself,
 * after the search for the critical step, had come so far. A press that was stopped counts with the
 * strain that it had reached, but not for the coarse press.
 *
 * Between a quarter and 95 % of press and way back, `left_worst` is the largest factor by which the
 * progress line was off in the time left, and `left_share` is the share of that time in which it
 * was off by less than 2. */
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include <strutpress/strutpress.h>

#include "case_words.h"
#include "law/law.h"
#include "model/model.h"
#include "run/mesh.h"
#include "run/result.h"

enum { PARTS = 20, ROWS = 2000, FEATURES = 10, COLUMNS = 64, STEPS = 100000 };

static volatile sig_atomic_t stop_flag;
static double most_seconds;
static double step_time[STEPS]; /* of each state of the press [s] */
static int step_times;

/* These are the shares of the work that the progress line was given, see tell_left. */
static struct {
    double time, share;
} told[STEPS];
static int told_count;

static double processor_time(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double peak_bytes(void)
{
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    return 1024.0 * (double)usage.ru_maxrss;
}

/* ---- measure ----------------------------------------------- */

static void follow(void *user, double share, const char *text)
{
    (void)user;
    const double time = processor_time();
    if (time > most_seconds) stop_flag = 1;
    if (text && !strcmp(text, "pressing") && step_times < STEPS) step_time[step_times++] = time;
    if (text && (!strcmp(text, "pressing") || !strcmp(text, "going back")) && told_count < STEPS) {
        told[told_count].time = time;
        told[told_count++].share = share;
    }
}

static double stress_share(const sp_result *result, double strain, double modulus)
{
    const sp_path *path = &result->path;
    const sp_case *request = &result->request;
    for (int i = 0; i < path->step_count; i++)
        if (sp_path_strain(path, i) >= strain)
            return path->step[i].force / (request->width * request->depth * modulus);
    return NAN;
}

static double time_at(const sp_result *result, double strain)
{
    for (int i = 0; i < result->path.step_count && i < step_times; i++)
        if (sp_path_strain(&result->path, i) >= strain - 1e-9) return step_time[i];
    return NAN;
}

/* Find how far off the progress line was: it divides the time since the press began by the share
 * that it is given. */
static void tell_left(double *worst, double *within)
{
    const double first = told_count ? told[0].time : 0,
                 whole = told_count ? told[told_count - 1].time - first : 0;
    double all = 0, good = 0;
    *worst = 1;
    for (int i = 0; i + 1 < told_count; i++) {
        const double gone = told[i].time - first, part = told[i + 1].time - told[i].time;
        if (gone < 0.25 * whole || gone > 0.95 * whole) continue;
        const double left =
            told[i].share > 0 ? gone * (1 - told[i].share) / told[i].share : INFINITY;
        const double off = fmax(left / (whole - gone), (whole - gone) / fmax(left, 1e-9));
        *worst = fmax(*worst, off);
        all += part;
        good += off < 2 ? part : 0;
    }
    *within = all > 0 ? good / all : 1;
}

static void print_head(void)
{
    printf("name,pattern,law,dimension,built,struts,elements,unknowns,solid_fraction,points,strain,"
           "steps,limit_stress,friction_struts,friction_platens,hold,unload,critical,flaws,history,"
           "length,thickness,status,reached,iterations,factorizations,contacts,operations,seconds,"
           "build,bytes,stress10,stress25,stress40,stress60");
    for (int i = 0; i <= PARTS; i++) printf(",t%d", i * 100 / PARTS);
    printf(",left_worst,left_share,tried,tried_elements\n");
}

static void print_case(const sp_case *request, const sp_network *network, const sp_model *model,
                       const sp_law *law)
{
    double length = 0, thickness = 0;
    for (int s = 0; s < network->strut_count; s++) {
        length += sp_network_free_length(network, s);
        thickness += network->strut_thickness[s];
    }
    printf("%s,%s,%d,%d,%d,%d,%d,%.4f,%d,%.4g,%d,%.4g,%.3g,%.3g,%d,%d,%d,%d,%d,%.4g,%.4g",
           request->pattern, request->law, network->dimension, network->built, network->strut_count,
           model->element_count, model->unknown_count, network->solid_fraction,
           request->section_points, request->strain, request->steps,
           request->load_limit / (request->width * request->depth * law->modulus),
           request->strut_friction, request->platen_friction, request->platens, request->unload,
           request->find_critical, request->flaw_seed != 0, law->row->history != NULL,
           length / network->strut_count, thickness / network->strut_count);
}

static void print_press(const sp_result *result, sp_status status, double begin, double seconds,
                        double build, double modulus, double bytes, const sp_forecast *forecast)
{
    const sp_path *path = &result->path;
    int iterations = 0, factors = 0;
    for (int i = 0; i < path->step_count; i++) {
        iterations += path->step[i].iterations;
        factors += path->step[i].factorizations;
    }
    printf(",%d,%.4g,%d,%d,%d,%.4g,%.4g,%.3g,%.4g", status,
           sp_path_strain(path, path->step_count - 1), iterations, factors,
           path->step[path->step_count - 1].contacts,
           path->factor_operations / fmax(1, path->factorizations), seconds, build, bytes);
    static const double at[] = {0.1, 0.25, 0.4, 0.6};
    for (int i = 0; i < 4; i++) printf(",%.4g", stress_share(result, at[i], modulus));
    for (int i = 0; i <= PARTS; i++)
        printf(",%.4g", time_at(result, result->request.strain * i / PARTS) - begin);
    double worst, within;
    tell_left(&worst, &within);
    printf(",%.3g,%.3g,%.4g,%.0f\n", worst, within, forecast->tried, forecast->tried_elements);
}

static int measure(const char *name, double most, int count, char **word)
{
    sp_context context = {.interrupt = &stop_flag, .progress = follow};
    sp_case request;
    sp_resolved resolved = {0};
    sp_network network = {0};
    sp_model model = {0};
    sp_law law = {0};
    sp_result result = {0};
    omp_set_num_threads(1);
    most_seconds = INFINITY;
    sp_status status = case_of_words(&context, count, word, &request);
    if (status == SP_OK) status = sp_case_resolve(&context, &request, &resolved);
    if (status == SP_OK) request = resolved.request;
    const double before = processor_time();
    if (status == SP_OK)
        status = sp_network_build(&context, &request, request.flaw_seed != 0, &network);
    if (status == SP_OK) status = sp_law_prepare(&context, &request, &law);
    const sp_model_options mesh = sp_mesh_of(&request);
    if (status == SP_OK) status = sp_model_build(&context, &network, &law, &mesh, &model);
    const double begin = processor_time();
    most_seconds = begin + most;
    if (status == SP_OK) status = sp_result_press(&context, &request, &result);
    if (status == SP_OK) status = sp_stop_outcome(result.path.end);
    const double seconds = processor_time() - begin;
    const double bytes = peak_bytes();
    sp_forecast forecast = {0};
    if (result.path.step_count > 0 && status != SP_INTERRUPTED) {
        sp_context quiet = {0};
        if (sp_forecast_network(&quiet, &request, &network, &forecast) == SP_OK)
            sp_forecast_try(&quiet, &resolved, &network, most, &forecast);
    }
    if (result.path.step_count > 0) {
        printf("%s,", name);
        print_case(&request, &network, &model, &law);
        print_press(&result, status, begin, seconds, begin - before, law.modulus, bytes, &forecast);
    } else {
        fprintf(stderr, "%s: %s\n", name, context.message);
    }
    sp_model_free(&model);
    sp_law_free(&law);
    sp_network_free(&network);
    sp_resolved_free(&resolved);
    sp_result_clear(&result);
    return result.path.step_count > 0 ? 0 : 1;
}

/* ---- fit ----------------------------------------------- */

enum { TRIED = 5, LINE = 4096, FOLDS = 10 };
enum { PRESS, TRY, WAYS }; /* before anything is pressed; by the coarse press */
static const int features[WAYS] = {FEATURES, TRIED};
static const char *const way_name[WAYS] = {"before any press", "by a coarse press"};
static const double ridge = 1;          /* with few coupons, unknown coefficients stay near 0 */
static const double search_share = 0.3; /* as in forecast.c */
static const double band_tail = 0.05;
static const double bytes_of_a_run = 12.3e6, small_more = 1.4; /* as in forecast.c */

typedef struct row {
    int fold; /* 0 .. FOLDS - 1: rows of one fold are left out of a fit together */
    int searches;
    double feature[WAYS][FEATURES], wanted[WAYS]; /* ln seconds; NaN: does not count */
    double seconds;                               /* all of it [s] */
    double left_worst, left_share;
    double bytes, of_model, of_contacts; /* of_contacts: elements x solid fraction x strain^2 */
    int grips;
} row;

static int find_column(char *const *name, int count, const char *wanted)
{
    for (int i = 0; i < count; i++)
        if (!strcmp(name[i], wanted)) return i;
    fprintf(stderr, "forecast: no column %s\n", wanted);
    exit(2);
}

static int split(char *line, char **word)
{
    int count = 0;
    for (char *w = strtok(line, ",\n"); w && count < COLUMNS; w = strtok(NULL, ",\n"))
        word[count++] = w;
    return count;
}

static void take_row(double (*value)(const char *), row *r)
{
    const double strain = value("reached"), size = log(fmax(30, value("unknowns")) / 1000),
                 steps = log(value("steps") / 200), tried = value("tried");
    const int space = value("dimension") > 2;
    const double press[FEATURES] = {1,
                                    size,
                                    log(value("solid_fraction") / 0.2),
                                    value("solid_fraction") * strain * strain,
                                    steps,
                                    log(strain / 0.6),
                                    space,
                                    space ? size : 0,
                                    value("friction_struts") > 0,
                                    value("unload")};
    const double coarse = fmax(1, value("tried_elements"));
    const double by_try[FEATURES] = {1, log(fmax(1e-4, tried)),
                                     log(fmax(1, value("elements") / coarse)), steps,
                                     0 /* the forecast before, see fit_way */};
    memcpy(r->feature[PRESS], press, sizeof press);
    memcpy(r->feature[TRY], by_try, sizeof by_try);
    r->seconds = value("seconds");
    r->searches = value("critical") > 0 && value("flaws") > 0;
    r->wanted[PRESS] = log(r->seconds - value("t0"));
    r->wanted[TRY] = value("tried_elements") > 0 ? log(r->seconds) : NAN;
    r->bytes = value("bytes");
    r->of_model = sp_model_bytes((int)value("dimension"), value("elements"));
    r->of_contacts = value("elements") * value("solid_fraction") * strain * strain;
    r->grips = (value("friction_struts") > 0) + (value("friction_platens") > 0);
    r->left_worst = value("left_worst");
    r->left_share = value("left_share");
    if (value("status") == SP_INTERRUPTED) r->wanted[TRY] = r->left_worst = NAN;
}

static char *head_word[COLUMNS], *row_word[COLUMNS];
static int head_count;

static double value_of(const char *name)
{
    return atof(row_word[find_column(head_word, head_count, name)]);
}

static int read_rows(const char *file, row *rows)
{
    static char head[LINE], line[LINE];
    FILE *stream = fopen(file, "r");
    int count = 0;
    if (!stream || !fgets(head, sizeof head, stream)) return 0;
    head_count = split(head, head_word);
    while (count < ROWS && fgets(line, sizeof line, stream)) {
        if (split(line, row_word) != head_count) continue;
        if (!(value_of("reached") > 0.02) || !(value_of("seconds") - value_of("t0") > 0.003))
            continue;
        rows[count] = (row){.fold = count % FOLDS};
        take_row(value_of, &rows[count++]);
    }
    fclose(stream);
    return count;
}

static double guess(const row *r, int way, const double *coefficient)
{
    double sum = 0;
    for (int i = 0; i < features[way]; i++) sum += coefficient[i] * r->feature[way][i];
    return sum;
}

/* Solve the weighted normal equations by elimination without pivoting: the matrix is positive
 * definite. */
static void solve(const row *rows, int count, int way, const double *weight, double *x)
{
    double a[FEATURES][FEATURES + 1] = {{0}};
    const int n = features[way];
    for (int k = 0; k < count; k++)
        for (int i = 0; i < n && weight[k] > 0; i++) {
            const double w = weight[k] * rows[k].feature[way][i];
            for (int j = 0; j < n; j++) a[i][j] += w * rows[k].feature[way][j];
            a[i][n] += w * rows[k].wanted[way];
        }
    for (int i = 1; i < n && way == PRESS; i++) a[i][i] += ridge;
    for (int i = 0; i < n; i++)
        for (int k = 0; k < n; k++) {
            const double f = a[k][i] / a[i][i];
            for (int j = i; k != i && j <= n; j++) a[k][j] -= f * a[i][j];
        }
    for (int i = 0; i < n; i++) x[i] = a[i][n] / a[i][i];
}

/* Return ln of the forecast of the press with its search. */
static double before_press(const row *r, const double *coefficient)
{
    return guess(r, PRESS, coefficient) + (r->searches ? log(1 + search_share) : 0);
}

static int counts(const row *r, int way, int without)
{
    return !isnan(r->wanted[way]) && r->fold != without;
}

/* Fit by least absolute distances of the logarithms, with weights that are found again after each
 * fit: one search or snap more must not pull the rest. `without` is a fold that the fit does not
 * see, or -1. The coarse press has the forecast before any press among its features, by a fit to
 * the same coupons. */
static void fit_way(row *rows, int count, int way, int without, double *x)
{
    static double weight[ROWS];
    if (way == TRY) {
        double before[FEATURES] = {0};
        fit_way(rows, count, PRESS, without, before);
        for (int k = 0; k < count; k++)
            rows[k].feature[TRY][TRIED - 1] = before_press(&rows[k], before);
    }
    for (int k = 0; k < count; k++) weight[k] = counts(&rows[k], way, without);
    for (int round = 0; round < 16; round++) {
        solve(rows, count, way, weight, x);
        for (int k = 0; k < count; k++)
            weight[k] = counts(&rows[k], way, without)
                            ? 1 / fmax(0.25, fabs(guess(&rows[k], way, x) - rows[k].wanted[way]))
                            : 0;
    }
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Find ln (time taken / time forecast) of every coupon by a fit to the other folds; returns the
 * number of coupons. */
static int distances(row *rows, int count, int way, double *off)
{
    int all = 0;
    for (int fold = 0; fold < FOLDS; fold++) {
        double x[FEATURES] = {0};
        fit_way(rows, count, way, fold, x);
        for (int k = 0; k < count; k++) {
            const row *r = &rows[k];
            if (r->fold != fold || isnan(r->wanted[way])) continue;
            off[all++] = log(r->seconds) - (way == PRESS ? before_press(r, x) : guess(r, way, x));
        }
    }
    qsort(off, (size_t)all, sizeof *off, by_size);
    return all;
}

enum { PLANS = 2000, PLAN_COUPONS = 10 };

static int draw(unsigned *state, int count)
{
    *state = *state * 1664525u + 1013904223u;
    return (int)((*state >> 8) % (unsigned)count);
}

/* Find the ratio of the time of plans to the sum of their forecasts, each by a fit to the other
 * folds. A plan is ten coupons drawn at random from those that were pressed. In a sum errors
 * average out, but the median of each coupon is below its mean, because presses that take long take
 * much longer. `x` gets the median ratio, and the two ratios, over the median, between which nine
 * of ten plans lie. */
static void sum_plans(row *rows, int count, double x[3])
{
    static double expected[ROWS], ratio[PLANS];
    unsigned state = 1;
    int within = 0, raw = 0;
    for (int fold = 0; fold < FOLDS; fold++) {
        double fitted[FEATURES] = {0};
        fit_way(rows, count, PRESS, fold, fitted);
        for (int k = 0; k < count; k++)
            if (rows[k].fold == fold) expected[k] = exp(before_press(&rows[k], fitted));
    }
    for (int i = 0; i < PLANS; i++) {
        double took = 0, forecast = 0;
        for (int j = 0; j < PLAN_COUPONS; j++) {
            const int k = draw(&state, count);
            took += rows[k].seconds;
            forecast += expected[k];
        }
        ratio[i] = took / forecast;
    }
    qsort(ratio, PLANS, sizeof *ratio, by_size);
    x[0] = ratio[PLANS / 2];
    x[1] = ratio[(int)(band_tail * PLANS)] / x[0];
    x[2] = ratio[PLANS - 1 - (int)(band_tail * PLANS)] / x[0];
    for (int i = 0; i < PLANS; i++) {
        raw += fabs(log(ratio[i])) < log(2);
        within += fabs(log(ratio[i] / x[0])) < log(2);
    }
    printf("plans of %d coupons: %d %% within 2 of the sum of their forecasts, %d %% of %.2f times "
           "it\n",
           PLAN_COUPONS, 100 * raw / PLANS, 100 * within / PLANS, x[0]);
}

static void put_plans(FILE *header, row *rows, int count)
{
    double x[3];
    sum_plans(rows, count, x);
    if (!header) return;
    fprintf(
        header,
        "/* Half of the plans of ten coupons, each forecast from its case, take more than this "
        "many "
        "times\n * the sum of the forecasts, and nine of ten take between these shares of that. "
        "*/\n"
        "static const double sp_forecast_sum = %.2f, sp_forecast_sum_band[] = {%.2f, %.2f};\n",
        x[0], x[1], x[2]);
}

static void put_way(FILE *header, const char *name, row *rows, int count, int way)
{
    static double off[ROWS];
    double x[FEATURES] = {0};
    const int all = distances(rows, count, way, off), tail = (int)(band_tail * all);
    int within[3] = {0};
    for (int k = 0; k < all; k++)
        for (int i = 0; i < 3; i++) within[i] += fabs(off[k]) < log(2 + i);
    if (!all) return;
    fit_way(rows, count, way, -1, x);
    printf("%s: %d coupons, %d %% within 2, %d %% within 3, %d %% within 4\n", way_name[way], all,
           100 * within[0] / all, 100 * within[1] / all, 100 * within[2] / all);
    if (!header) return;
    fprintf(header, "static const double sp_forecast_%sfit[] = {\n    ", name);
    for (int i = 0; i < features[way]; i++) fprintf(header, "%s%.2f", i ? ", " : "", x[i]);
    fprintf(header,
            "};\n/* 9 of 10 coupons take between these shares of a forecast that was fitted "
            "without them; %d %% of\n * %d coupons take half to twice of it. */\n",
            100 * within[0] / all, all);
    fprintf(header, "static const double sp_forecast_%sband[] = {%.2f, %.2f};\n", name,
            exp(off[tail]), exp(off[all - 1 - tail]));
}

static double guess_bytes(const row *r, const double *x)
{
    return bytes_of_a_run + small_more * r->of_model + x[0] * r->of_contacts * exp(x[1] * r->grips);
}

/* Fit by the least mean distance of the logarithms, found on a grid. */
static void fit_bytes(const row *rows, int count, int without, double best[2])
{
    double least = INFINITY;
    for (double contacts = 1e3; contacts < 2e6; contacts *= 1.1)
        for (double grip = 0; grip < 1.5; grip += 0.1) {
            const double x[2] = {contacts, grip};
            double sum = 0;
            for (int k = 0; k < count && sum < least; k++)
                if (rows[k].fold != without)
                    sum += fabs(log(rows[k].bytes / guess_bytes(&rows[k], x)));
            if (sum < least) {
                least = sum;
                memcpy(best, x, sizeof x);
            }
        }
}

static void put_bytes(FILE *header, const row *rows, int count)
{
    int within = 0;
    double x[2];
    for (int fold = 0; fold < FOLDS; fold++) {
        fit_bytes(rows, count, fold, x);
        for (int k = 0; k < count; k++)
            within += rows[k].fold == fold &&
                      fabs(log(rows[k].bytes / guess_bytes(&rows[k], x))) < log(2);
    }
    fit_bytes(rows, count, -1, x);
    printf("memory: %d %% of %d coupons within 2\n", 100 * within / count, count);
    if (!header) return;
    fprintf(header,
            "/* These are the bytes of contacts per element, solid fraction and square of the "
            "strain, and ln of\n * how many times as many there are with friction. %d %% of %d "
            "coupons take half to twice of a\n * forecast that was fitted without them. */\n",
            100 * within / count, count);
    fprintf(header, "static const double sp_forecast_bytes[] = {%.3g, %.2f};\n", x[0], x[1]);
}

static void print_left(const row *rows, int count)
{
    int all = 0, never = 0, three = 0;
    double share = 0;
    for (int k = 0; k < count; k++) {
        if (isnan(rows[k].left_worst)) continue;
        all++;
        never += rows[k].left_worst < 2;
        three += rows[k].left_worst < 3;
        share += rows[k].left_share;
    }
    if (!all) return;
    printf(
        "time left after the first quarter: off by less than 2 in %.0f %% of the time; never off "
        "by 2 in %d %% of %d presses, by 3 in %d %%\n",
        100 * share / all, 100 * never / all, all, 100 * three / all);
}

static int fit(const char *file, const char *header)
{
    static row rows[ROWS];
    const int count = read_rows(file, rows);
    FILE *stream = header && count ? fopen(header, "w") : NULL;
    if (stream)
        fprintf(stream,
                "/* Written by `make forecast` (benchmarks/speed/forecast.c). */\n"
                "#ifndef SP_RUN_FORECAST_H\n#define SP_RUN_FORECAST_H\n\n"
                "/* clang-format off */\n"
                "/* These are the coefficients of ln seconds of the press by the features of "
                "forecast.c, in order. */\n");
    put_way(stream, "", rows, count, PRESS);
    if (stream)
        fprintf(stream,
                "/* These are the coefficients of ln seconds of all: constant, ln seconds of the "
                "coarse press, ln of\n * how many times its elements there are, ln (steps / 200), "
                "ln of the forecast before. */\n");
    put_way(stream, "try_", rows, count, TRY);
    if (count) put_plans(stream, rows, count);
    if (count) put_bytes(stream, rows, count);
    print_left(rows, count);
    if (stream) {
        fprintf(stream, "/* clang-format on */\n\n#endif\n");
        fclose(stream);
    }
    return count ? 0 : 1;
}

int main(int count, char **word)
{
    if (count == 2 && !strcmp(word[1], "--head")) {
        print_head();
        return 0;
    }
    if (count >= 3 && !strcmp(word[1], "--fit")) return fit(word[2], count > 3 ? word[3] : NULL);
    if (count >= 3) return measure(word[1], atof(word[2]), count - 3, word + 3);
    fprintf(stderr, "forecast: see the top of benchmarks/speed/forecast.c\n");
    return 2;
}
