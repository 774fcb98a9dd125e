/* This program presses one coupon, given as keys and values of a case, and prints what the press
 * cost and the forces that it found: one line of CSV with the columns of HEADER. `make
 * bench-versus` builds this file against the library of this tree and against that of an older one,
 * so it uses only what both have. Seconds are of the processor, which hold on a busy machine as
 * well; the network is built within them. */
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include <strutpress/strutpress.h>

#define HEADER                                                                                     \
    "user_seconds,system_seconds,wall_seconds,elements,unknowns,steps,factorizations,peak_MB,"     \
    "last_strain,force_10_N,force_25_N,force_50_N,force_65_N,plateau_MPa,stop"

static double seconds_of(struct timeval t)
{
    return (double)t.tv_sec + 1e-6 * (double)t.tv_usec;
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Write the force [N] at a strain on the way down, between the two steps around it; "" when the
 * press ended before. */
static const char *force_at(const sp_path *path, double strain, char text[32])
{
    text[0] = 0;
    for (int i = 1; i < path->step_count; i++) {
        const double before = sp_path_strain(path, i - 1), here = sp_path_strain(path, i);
        if (here < strain || here <= before) continue;
        const double share = (strain - before) / (here - before);
        snprintf(text, 32, "%.6g",
                 path->step[i - 1].force + share * (path->step[i].force - path->step[i - 1].force));
        break;
    }
    return text;
}

/* Write the mean stress [MPa] from 20 to 40 % strain, by work; "" when the press ended before. */
static const char *plateau(const sp_path *path, double area, char text[32])
{
    double work = 0, reached = 0;
    text[0] = 0;
    for (int i = 1; i < path->step_count; i++) {
        const double a = sp_path_strain(path, i - 1), b = sp_path_strain(path, i);
        if (b <= a || b <= 0.2 || a >= 0.4) continue;
        const double fa = path->step[i - 1].force, fb = path->step[i].force;
        const double low = a < 0.2 ? 0.2 : a, high = b > 0.4 ? 0.4 : b, slope = (fb - fa) / (b - a);
        work += (high - low) * (fa + slope * (0.5 * (low + high) - a));
        reached = high;
    }
    if (reached >= 0.4) snprintf(text, 32, "%.6g", work / 0.2 / area);
    return text;
}

static int set(sp_case *request, const char *key, const char *value)
{
    sp_context context = {0};
    if (sp_case_set(&context, request, key, value) == SP_OK) return 0;
    fprintf(stderr, "versus: %s\n", context.message);
    return 1;
}

static void print_line(const sp_case *request, const sp_path *path, double wall)
{
    int factorizations = 0;
    char text[5][32];
    struct rusage used;
    getrusage(RUSAGE_SELF, &used);
    for (int i = 1; i < path->step_count; i++) factorizations += path->step[i].factorizations;
    printf("%.3f,%.3f,%.3f,%d,%d,%d,%d,%.1f,%.4f,%s,%s,%s,%s,%s,%s\n", seconds_of(used.ru_utime),
           seconds_of(used.ru_stime), wall, path->element_count, path->unknown_count,
           path->step_count - 1, factorizations, (double)used.ru_maxrss / 1024,
           sp_path_strain(path, path->step_count - 1), force_at(path, 0.1, text[0]),
           force_at(path, 0.25, text[1]), force_at(path, 0.5, text[2]),
           force_at(path, 0.65, text[3]), plateau(path, request->width * request->depth, text[4]),
           sp_stop_text(path->stop));
}

#ifdef SP_VERSION_NUMBER
static sp_status press(sp_context *context, const sp_case *request, double begin)
{
    sp_result *result = NULL;
    const sp_status status = sp_run(context, request, &result);
    if (status == SP_OK) print_line(request, sp_result_path(result), now() - begin);
    sp_result_free(result);
    return status;
}
#else /* before 0.7.0 */
static sp_status press(sp_context *context, const sp_case *request, double begin)
{
    sp_result result = {0};
    const sp_status status = sp_run(context, request, &result);
    if (status == SP_OK || status == SP_GAVE_UP) print_line(request, &result.path, now() - begin);
    sp_result_free(&result);
    return status;
}
#endif

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "header") == 0) return puts(HEADER) < 0;
    if (argc < 3 || argc % 2 == 0) {
        fprintf(stderr, "usage: versus header | versus KEY VALUE...\n");
        return 2;
    }
    sp_context context = {0};
    sp_case request;
    int wrong = 0;
    sp_case_default(&request);
    for (int i = 1; i + 1 < argc; i += 2) wrong |= set(&request, argv[i], argv[i + 1]);
    if (wrong) return 2;
    const sp_status status = press(&context, &request, now());
    if (status != SP_OK) fprintf(stderr, "versus: %s\n", context.message);
    return sp_status_exit(status);
}
