/* This program measures presses of blocks of cells in space: one line of CSV per call, with the
 * columns of HEADER; benchmarks/speed/cells.sh calls it. Each line ends with the speed of the
 * machine in products of dense matrices on one thread. */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>
#include <unistd.h>

#include <cblas.h>

#include <strutpress/strutpress.h>
#include "run/result.h"

#define HEADER                                                                                     \
    "set,pattern,cells,strain,threads,unknowns,steps,last_strain,last_force_N,seconds,"            \
    "cholmod_seconds,factor_seconds,analyse_seconds,rest_seconds,ratio,analyses,factorizations,"   \
    "gflop_per_s,share_of_dgemm,peak_MB,stop,dgemm_gflop_per_s"

static const double cell_size = 5; /* mm */
static volatile sig_atomic_t stop_now;

static void stop(int signal_number)
{
    (void)signal_number;
    stop_now = 1;
}

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Return the best rate of three products of 2000 x 2000 matrices [GFLOP/s]. */
static double dgemm_rate(void)
{
    enum { SIDE = 2000 };
    const size_t size = (size_t)SIDE * SIDE;
    double *a = malloc(3 * size * sizeof *a), best = 0;
    if (!a) return 0;
    for (size_t i = 0; i < 3 * size; i++) a[i] = 1.0 / (double)(i % 1000 + 1);
    openblas_set_num_threads(1);
    for (int i = 0; i < 4; i++) { /* the first warms up */
        const double begin = now();
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, SIDE, SIDE, SIDE, 1, a, SIDE,
                    a + size, SIDE, 0, a + 2 * size, SIDE);
        const double rate = 2e-9 * SIDE * SIDE * SIDE / (now() - begin);
        if (i > 0 && rate > best) best = rate;
    }
    free(a);
    return best;
}

/* Set a value by its key as text; all others stay at their defaults. */
static int set(sp_case *request, const char *key, const char *value)
{
    sp_context context = {0};
    if (sp_case_set(&context, request, key, value) == SP_OK) return 0;
    fprintf(stderr, "bench_cells: %s\n", context.message);
    return 1;
}

static int run(char **argument, int count)
{
    const char *pattern = argument[1], *cells = argument[2], *threads = argument[4];
    sp_context context = {.interrupt = &stop_now};
    sp_result result = {0};
    sp_case request;
    char whole[64], side[64];
    sp_case_default(&request);
    snprintf(whole, sizeof whole, "[%s, %s, %s]", cells, cells, cells);
    snprintf(side, sizeof side, "%g mm", cell_size * atof(cells));
    int wrong = set(&request, "coupon.width", side) | set(&request, "coupon.height", side) |
                set(&request, "coupon.depth", side) | set(&request, "infill.pattern", pattern) |
                set(&request, "infill.cells", whole) | set(&request, "press.strain", argument[3]) |
                set(&request, "press.load_limit", "none") |
                set(&request, "press.find_critical", "no") | set(&request, "flaws.seed", "1");
    for (int i = 6; i + 1 < count; i += 2) wrong |= set(&request, argument[i], argument[i + 1]);
    if (wrong) return 2;
    signal(SIGALRM, stop);
    alarm((unsigned)atoi(argument[5]));
    const sp_status status = sp_result_press(&context, &request, &result);
    if (status != SP_OK) {
        fprintf(stderr, "bench_cells: %s\n", context.message);
        sp_result_clear(&result);
        return sp_status_exit(status);
    }
    const sp_path *p = &result.path;
    const int last = p->step_count - 1;
    const double solver = p->seconds_solver, whole_solver = solver + p->seconds_analyse;
    const double rate = 1e-9 * p->factor_operations / p->seconds_complete;
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    /* The products are run beside the press, so that both share the machine with the same other
     * programs. */
    const double dgemm = dgemm_rate();
    printf("%s,%s,%s,%s,%s,%d,%d,%.4f,%.4f,%.3f,%.3f,%.3f,%.3f,%.3f,%.3f,%d,%d,%.2f,%.3f,%.0f,%s,%."
           "2f\n",
           argument[0], pattern, cells, argument[3], threads, p->unknown_count, last,
           sp_path_strain(p, last), p->step[last].force, p->seconds_total, whole_solver,
           p->seconds_factor, p->seconds_analyse, p->seconds_total - whole_solver,
           p->seconds_total / whole_solver, p->analyses, p->factorizations, rate, rate / dgemm,
           (double)usage.ru_maxrss / 1024, sp_stop_text(p->stop), dgemm);
    sp_result_clear(&result);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 2 && strcmp(argv[1], "header") == 0) return puts(HEADER) < 0;
    if (argc >= 7 && argc % 2 == 1) return run(argv + 1, argc - 1);
    fprintf(stderr,
            "usage: bench_cells header | SET PATTERN CELLS STRAIN THREADS SECONDS [KEY VALUE].."
            "\n");
    return 2;
}
