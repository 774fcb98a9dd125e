/* What a press costs: measured, and fitted (src/result/run/forecast.c).
 *
 *   forecast --head                       the names of the columns
 *   forecast NAME SECONDS [KEY=VALUE]...  press the default case with these values, one row of CSV;
 * stop after so many seconds forecast --fit FILE                   coefficients by least squares
 * over the coupons 1-*, and how many of the coupons 2-*, which the fit has not seen, lie within a
 * factor of 2, 3 and 4
 *
 * benchmarks/speed/forecast.sh runs it over random coupons of soak.c, one process each, so that the
 * peak memory is that of one press. Times are processor time of one thread: a machine with other
 * work to do measures nearly the same. `t0` .. `t100` are those at which the press itself, after
 * the search for the critical step, had come so far. A press that was stopped counts with the
 * strain that it had reached. */
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include <strutpress/strutpress.h>

#include "law/law.h"
#include "model/model.h"
#include "run/mesh.h"
#include "run/result.h"

enum { PARTS = 20, ROWS = 2000, FEATURES = 10, COLUMNS = 64, STEPS = 100000 };

static volatile sig_atomic_t stop_flag;
static double most_seconds;
static double step_time[STEPS]; /* of each state of the press [s] */
static int step_times;

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
    (void)share;
    const double time = processor_time();
    if (time > most_seconds) stop_flag = 1;
    if (text && !strcmp(text, "pressing") && step_times < STEPS) step_time[step_times++] = time;
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

static void print_head(void)
{
    printf("name,pattern,law,dimension,built,struts,elements,unknowns,solid_fraction,points,strain,"
           "steps,limit_stress,friction_struts,friction_platens,hold,unload,critical,flaws,history,"
           "length,thickness,status,reached,iterations,factorizations,contacts,operations,seconds,"
           "build,bytes,stress10,stress25,stress40,stress60");
    for (int i = 0; i <= PARTS; i++) printf(",t%d", i * 100 / PARTS);
    printf("\n");
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
                        double build, double modulus)
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
           path->factor_operations / fmax(1, path->factorizations), seconds, build, peak_bytes());
    static const double at[] = {0.1, 0.25, 0.4, 0.6};
    for (int i = 0; i < 4; i++) printf(",%.4g", stress_share(result, at[i], modulus));
    for (int i = 0; i <= PARTS; i++)
        printf(",%.4g", time_at(result, result->request.strain * i / PARTS) - begin);
    printf("\n");
}

static sp_status make(sp_context *context, int count, char **word, sp_case *request)
{
    sp_resolved resolved;
    sp_status status = SP_OK;
    sp_case_default(request);
    for (int i = 0; i < count && status == SP_OK; i++) {
        char *value = strchr(word[i], '=');
        if (!value) return sp_fail(context, SP_BAD_USAGE, "%s: no value", word[i]);
        *value++ = 0;
        status = sp_case_set(context, request, word[i], value);
    }
    if (status != SP_OK) return status;
    status = sp_case_resolve(context, request, &resolved);
    *request = resolved.request;
    sp_resolved_free(&resolved);
    return status;
}

static int measure(const char *name, double most, int count, char **word)
{
    sp_context context = {.interrupt = &stop_flag, .progress = follow};
    sp_case request;
    sp_network network = {0};
    sp_model model = {0};
    sp_law law = {0};
    sp_result result = {0};
    omp_set_num_threads(1);
    most_seconds = INFINITY;
    sp_status status = make(&context, count, word, &request);
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
    if (result.path.step_count > 0) {
        printf("%s,", name);
        print_case(&request, &network, &model, &law);
        print_press(&result, status, begin, seconds, begin - before, law.modulus);
    } else {
        fprintf(stderr, "%s: %s\n", name, context.message);
    }
    sp_model_free(&model);
    sp_law_free(&law);
    sp_network_free(&network);
    sp_result_clear(&result);
    return result.path.step_count > 0 ? 0 : 1;
}

/* ---- fit ----------------------------------------------- */

static const char *const feature_name[FEATURES] = {"CONSTANT", "SIZE",   "DENSITY", "FOLDED",
                                                   "STEPS",    "STRAIN", "SPACE",   "SPACE_SIZE",
                                                   "FRICTION", "UNLOAD"};
static const double ridge = 1; /* few coupons: what they do not tell stays near 0 */
static const double search_share = 0.3;

typedef struct row {
    int kept_back;
    double feature[FEATURES], press, seconds; /* the press without the search; all of it [s] */
} row;

static int read_rows(const char *file, row *rows)
{
    FILE *stream = fopen(file, "r");
    char line[4096];
    int count = 0;
    while (stream && count < ROWS && fgets(line, sizeof line, stream)) {
        double c[COLUMNS];
        int n = 0;
        for (char *word = strtok(line, ",\n"); word && n < COLUMNS; word = strtok(NULL, ",\n"))
            c[n++] = atof(word);
        if (n < 36 || !(c[23] > 0.02) || !(c[28] - c[35] > 0.003)) continue;
        row *r = &rows[count++];
        const double size = log(fmax(30, c[7]) / 1000), strain = c[23];
        const int space = c[3] > 2;
        *r = (row){.kept_back = line[0] == '2', .press = c[28] - c[35], .seconds = c[28]};
        const double feature[FEATURES] = {1,
                                          size,
                                          log(c[8] / 0.2),
                                          c[8] * strain * strain,
                                          log(c[11] / 200),
                                          log(strain / 0.6),
                                          space,
                                          space ? size : 0,
                                          c[13] > 0,
                                          c[16]};
        memcpy(r->feature, feature, sizeof feature);
    }
    if (stream) fclose(stream);
    return count;
}

static double guess(const row *r, const double *coefficient)
{
    double sum = 0;
    for (int i = 0; i < FEATURES; i++) sum += coefficient[i] * r->feature[i];
    return sum;
}

/* Normal equations, rows weighed; elimination without pivots, the matrix is positive definite. */
static void solve(const row *rows, int count, const double *weight, double *x)
{
    double a[FEATURES][FEATURES + 1] = {{0}};
    for (int k = 0; k < count; k++)
        for (int i = 0; i < FEATURES; i++) {
            const double w = weight[k] * rows[k].feature[i];
            for (int j = 0; j < FEATURES; j++) a[i][j] += w * rows[k].feature[j];
            a[i][FEATURES] += w * log(rows[k].press);
        }
    for (int i = 1; i < FEATURES; i++) a[i][i] += ridge;
    for (int i = 0; i < FEATURES; i++)
        for (int k = 0; k < FEATURES; k++) {
            const double f = a[k][i] / a[i][i];
            for (int j = i; k != i && j <= FEATURES; j++) a[k][j] -= f * a[i][j];
        }
    for (int i = 0; i < FEATURES; i++) x[i] = a[i][FEATURES] / a[i][i];
}

static void print_shares(const row *rows, int count, int kept_back, const double *x)
{
    int all = 0, within[3] = {0};
    for (int k = 0; k < count; k++) {
        if (rows[k].kept_back != kept_back) continue;
        const double off = fabs(guess(&rows[k], x) + log(1 + search_share) - log(rows[k].seconds));
        all++;
        for (int i = 0; i < 3; i++) within[i] += off < log(2 + i);
    }
    printf("%s: %d coupons, %d %% within 2, %d %% within 3, %d %% within 4\n",
           kept_back ? "kept back" : "fitted", all, 100 * within[0] / (all ? all : 1),
           100 * within[1] / (all ? all : 1), 100 * within[2] / (all ? all : 1));
}

/* Least absolute distances of the logarithms, by weights that are made anew: a search or a snap
 * more must not pull the rest. */
static int fit(const char *file)
{
    static row rows[ROWS];
    static double weight[ROWS];
    double x[FEATURES] = {0};
    const int count = read_rows(file, rows);
    for (int k = 0; k < count; k++) weight[k] = !rows[k].kept_back;
    for (int round = 0; round < 16 && count; round++) {
        solve(rows, count, weight, x);
        for (int k = 0; k < count; k++)
            weight[k] = rows[k].kept_back
                            ? 0
                            : 1 / fmax(0.25, fabs(guess(&rows[k], x) - log(rows[k].press)));
    }
    for (int i = 0; i < FEATURES; i++) printf("%-12s %6.2f\n", feature_name[i], x[i]);
    print_shares(rows, count, 0, x);
    print_shares(rows, count, 1, x);
    return count ? 0 : 1;
}

int main(int count, char **word)
{
    if (count == 2 && !strcmp(word[1], "--head")) {
        print_head();
        return 0;
    }
    if (count == 3 && !strcmp(word[1], "--fit")) return fit(word[2]);
    if (count >= 3) return measure(word[1], atof(word[2]), count - 3, word + 3);
    fprintf(stderr, "forecast: see the top of benchmarks/speed/forecast.c\n");
    return 2;
}
