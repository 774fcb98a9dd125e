/* What a press costs: one row of CSV for one case, from which the constants of src/run/forecast.c are fitted.
 *
 *   forecast --head                       the names of the columns
 *   forecast NAME SECONDS [KEY=VALUE]...  press the default case with these values; stop after so many seconds of processor time
 *
 * benchmarks/forecast.sh runs it over random coupons of soak.c, one process each, so that the peak memory is that of one press.
 * Times are processor time of one thread: a machine with other work to do measures the same. */
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

enum { PARTS = 20 };

static volatile sig_atomic_t stop_flag;
static double most_seconds, pressed_from;
static double reached_at[PARTS + 1]; /* processor time at which the main press had come so far */

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

static double last_fraction;

static void follow(void *user, double fraction, const char *text)
{
    (void)user;
    (void)text;
    const double time = processor_time();
    if (time > most_seconds) stop_flag = 1;
    if (fraction < last_fraction - 1e-12) /* the search for the critical step is over */
        for (int i = 0; i <= PARTS; i++) reached_at[i] = NAN;
    if (!(fraction > 0)) pressed_from = time;
    last_fraction = fraction;
    for (int i = 0; i <= PARTS && i <= PARTS * fraction + 1e-9; i++)
        if (isnan(reached_at[i])) reached_at[i] = time;
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

static void print_head(void)
{
    printf("name,pattern,law,dimension,built,struts,elements,unknowns,solid_fraction,points,strain,"
           "steps,limit_stress,friction_struts,friction_platens,hold,unload,critical,flaws,history,"
           "length,thickness,status,reached,iterations,factorizations,contacts,operations,seconds,"
           "build,bytes,"
           "stress10,stress25,stress40,stress60,forecast_seconds,forecast_bytes");
    for (int i = 0; i <= PARTS; i++) printf(",t%d", i * 100 / PARTS);
    printf("\n");
}

int main(int count, char **word)
{
    if (count == 2 && !strcmp(word[1], "--head")) return print_head(), 0;
    if (count < 3) return 2;
    omp_set_num_threads(1);
    most_seconds = atof(word[2]);
    sp_context context = {.interrupt = &stop_flag, .progress = follow};
    sp_case request;
    sp_network network;
    sp_model model;
    sp_law law;
    sp_result result;
    sp_case_default(&request);
    sp_status status = SP_OK;
    for (int i = 3; i < count && status == SP_OK; i++) {
        char *value = strchr(word[i], '=');
        if (!value) return 2;
        *value++ = 0;
        status = sp_case_set(&context, &request, word[i], value);
    }
    if (status == SP_OK) status = sp_case_check(&context, &request);
    if (status == SP_OK) status = sp_case_validate_names(&context, &request);
    double begin = processor_time();
    if (status == SP_OK)
        status = sp_network_build(&context, &request, request.flaw_seed != 0, &network);
    if (status == SP_OK) status = sp_law_prepare(&context, &request, &law);
    const sp_model_options mesh = {.platens = request.platens,
                                   .elements_per_strut = request.elements_per_strut,
                                   .section_points = request.section_points,
                                   .friction_struts = request.strut_friction,
                                   .friction_platens = request.platen_friction,
                                   .shear_factor = request.shear_factor};
    if (status == SP_OK) status = sp_model_build(&context, &network, &law, &mesh, &model);
    if (status != SP_OK) {
        fprintf(stderr, "%s: %s\n", word[1], context.message);
        return 1;
    }
    const double build = processor_time() - begin, before = peak_bytes();
    double length = 0, thick = 0;
    for (int s = 0; s < network.strut_count; s++) {
        length += sp_network_free_length(&network, s);
        thick += network.strut_thickness[s];
    }
    for (int i = 0; i <= PARTS; i++) reached_at[i] = NAN;
    begin = processor_time();
    most_seconds += begin;
    status = sp_run(&context, &request, &result);
    const double seconds = processor_time() - begin;
    if (result.path.step_count < 1) {
        fprintf(stderr, "%s: %s\n", word[1], context.message);
        return 1;
    }
    int iterations = 0, factors = 0, contacts = 0;
    for (int i = 0; i < result.path.step_count; i++) {
        iterations += result.path.step[i].iterations;
        factors += result.path.step[i].factorizations;
        contacts = result.path.step[i].contacts;
    }
    const double area = request.width * request.depth;
    printf("%s,%s,%s,%d,%d,%d,%d,%d,%.4f,%d,%.4g,%d,%.4g,%.3g,%.3g,%d,%d,%d,%d,%d,%.4g,%.4g,%d,%."
           "4g,%d,%d,%d,%.4g,%.4g,%.3g,%.4g",
           word[1], request.pattern, request.law, network.dimension, network.built,
           network.strut_count, model.element_count, model.unknown_count, network.solid_fraction,
           request.section_points, request.strain, request.steps,
           request.load_limit / area / law.modulus, request.strut_friction, request.platen_friction,
           request.platens, request.unload, request.find_critical, request.flaw_seed != 0,
           law.row->history != NULL, length / network.strut_count, thick / network.strut_count,
           status, sp_path_strain(&result.path, result.path.step_count - 1), iterations, factors,
           contacts, result.path.factor_operations / fmax(1, result.path.factorizations), seconds,
           build, peak_bytes() - 0 * before);
    printf(",%.4g,%.4g,%.4g,%.4g", stress_share(&result, .1, law.modulus),
           stress_share(&result, .25, law.modulus), stress_share(&result, .4, law.modulus),
           stress_share(&result, .6, law.modulus));
    printf(",0,0");
    for (int i = 0; i <= PARTS; i++) printf(",%.4g", reached_at[i] - begin);
    printf("\n");
    (void)pressed_from;
    return 0;
}
