/* This program measures the batch:
 *
 *   bench_batch batch PLAN FOLDER ROUNDS   the plan with one thread, with two, and as two shares
 *                                          in two processes, in turns
 *   bench_batch compare FOLDER COUPONS     a store of that many made-up coupons, compared
 *
 * Every run is a child process of its own. It prints one line of CSV per run on stdout, with the
 * columns of HEADER. The linker hands the calls of the batch on the store to the functions here
 * that begin with __wrap (see the Makefile), which time them. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <strutpress/strutpress.h>
#include "run/result.h"

#define HEADER                                                                                     \
    "set,round,threads,processes,coupons,seconds,cpu_seconds,store_seconds,coupons_per_minute"

enum { STEPS = 20, SEEDS = 4 };

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

/* ---- time in the store ----------------------------------------------- */

static double store_seconds;

static void add_store(double begin)
{
    const double seconds = now() - begin;
#pragma omp atomic
    store_seconds += seconds;
}

sp_status __real_sp_store_put(sp_context *, sp_store *, const sp_coupon_key *, sp_status,
                              const char *, const char *, const sp_result *);
sp_status __wrap_sp_store_put(sp_context *, sp_store *, const sp_coupon_key *, sp_status,
                              const char *, const char *, const sp_result *);
sp_status __real_sp_store_has(sp_context *, sp_store *, const sp_coupon_key *, int *);
sp_status __wrap_sp_store_has(sp_context *, sp_store *, const sp_coupon_key *, int *);
sp_status __real_sp_coupon_key_of(sp_context *, const sp_resolved *, sp_coupon_key *);
sp_status __wrap_sp_coupon_key_of(sp_context *, const sp_resolved *, sp_coupon_key *);

sp_status __wrap_sp_store_put(sp_context *context, sp_store *store, const sp_coupon_key *known,
                              sp_status outcome, const char *reason, const char *cautions,
                              const sp_result *result)
{
    const double begin = now();
    const sp_status status =
        __real_sp_store_put(context, store, known, outcome, reason, cautions, result);
    add_store(begin);
    return status;
}

sp_status __wrap_sp_store_has(sp_context *context, sp_store *store, const sp_coupon_key *known,
                              int *found)
{
    const double begin = now();
    const sp_status status = __real_sp_store_has(context, store, known, found);
    add_store(begin);
    return status;
}

sp_status __wrap_sp_coupon_key_of(sp_context *context, const sp_resolved *resolved,
                                  sp_coupon_key *known)
{
    const double begin = now();
    const sp_status status = __real_sp_coupon_key_of(context, resolved, known);
    add_store(begin);
    return status;
}

/* ---- the plan ----------------------------------------------- */

typedef struct run {
    const char *plan, *folder;
    int round, threads, share, shares; /* shares 0: the whole plan */
} run;

typedef struct cost {
    int coupons;
    double seconds, store_seconds;
} cost;

/* Press into a new store; opening and closing it are part of the run. */
static sp_status press(sp_context *context, const run *r, cost *c)
{
    char file[1100];
    sp_plan *plan = NULL;
    sp_store *store = NULL;
    sp_batch_report report = {0};
    const double begin = now();
    snprintf(file, sizeof file, "%s/%d-%d-%d.store", r->folder, r->round, r->threads, r->share);
    unlink(file);
    sp_status status = sp_plan_read(context, r->plan, &plan);
    if (status == SP_OK && r->shares) status = sp_plan_share(context, plan, r->share, r->shares);
    const double opening = now();
    if (status == SP_OK) status = sp_store_open(context, file, SP_STORE_WRITE, &store);
    store_seconds = now() - opening;
    if (status == SP_OK) status = sp_batch_press(context, plan, store, r->threads, &report);
    const double closing = now();
    sp_store_close(store);
    store_seconds += now() - closing;
    *c = (cost){report.pressed, now() - begin, store_seconds};
    sp_plan_free(plan);
    unlink(file);
    return status;
}

static pid_t start(const run *r, int *read_end)
{
    int ends[2];
    if (pipe(ends)) return -1;
    fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        sp_context context = {0};
        cost c;
        const sp_status status = press(&context, r, &c);
        if (status != SP_OK) fprintf(stderr, "%s\n", context.message);
        _exit(write(ends[1], &c, sizeof c) == sizeof c ? sp_status_exit(status) : 1);
    }
    close(ends[1]);
    *read_end = ends[0];
    return child;
}

/* Wait for a child and add its costs to the sums, of the seconds the longest; returns 0 when all
 * went well. */
static int finish(pid_t child, int read_end, cost *sum)
{
    int status;
    cost c;
    if (child < 0 || waitpid(child, &status, 0) != child) return 1;
    const int whole = read(read_end, &c, sizeof c) == sizeof c;
    close(read_end);
    if (!whole || !WIFEXITED(status) || WEXITSTATUS(status)) return 1;
    sum->coupons += c.coupons;
    sum->seconds = fmax(sum->seconds, c.seconds);
    sum->store_seconds += c.store_seconds;
    return 0;
}

static double children_cpu(void)
{
    struct rusage usage;
    getrusage(RUSAGE_CHILDREN, &usage);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           1e-6 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
}

static int measure(run r, int processes)
{
    enum { PROCESSES_MAX = 2 };
    pid_t child[PROCESSES_MAX];
    int read_end[PROCESSES_MAX], failed = 0;
    cost sum = {0};
    const double cpu = children_cpu();
    for (int p = 0; p < processes; p++) {
        r.share = p + 1;
        r.shares = processes > 1 ? processes : 0;
        child[p] = start(&r, &read_end[p]);
    }
    for (int p = 0; p < processes; p++) failed |= finish(child[p], read_end[p], &sum);
    printf("batch,%d,%d,%d,%d,%.3f,%.3f,%.4f,%.1f\n", r.round, r.threads, processes, sum.coupons,
           sum.seconds, children_cpu() - cpu, sum.store_seconds,
           sum.seconds > 0 ? 60 * sum.coupons / sum.seconds : 0);
    return failed;
}

/* Run the kinds in turns, so that other work of the machine slows all of them alike. */
static int run_batch(const char *plan, const char *folder, int rounds)
{
    int failed = 0;
    for (int round = 1; round <= rounds && !failed; round++) {
        const run one = {.plan = plan, .folder = folder, .round = round, .threads = 1};
        const run two = {.plan = plan, .folder = folder, .round = round, .threads = 2};
        failed |= measure(one, 1);
        failed |= measure(two, 1);
        failed |= measure(one, 2);
    }
    return failed;
}

/* ---- many coupons ----------------------------------------------- */

static const char *const patterns[] = {"square", "triangular", "hexagonal", "kagome", "bricks"};
enum { PATTERNS = sizeof patterns / sizeof patterns[0] };

/* Store coupon `i`, which runs through patterns, seeds, then ever more densities. Every measure is
 * reached and follows a power of the density. */
static sp_status put_made_up(sp_context *context, sp_store *store, int i, sp_measure *measure)
{
    int count;
    sp_coupon_key known;
    sp_step step[STEPS] = {{0}};
    sp_result result = {0};
    sp_measure_rows(&count);
    sp_case_default(&result.request);
    snprintf(result.request.pattern, sizeof result.request.pattern, "%s", patterns[i % PATTERNS]);
    result.request.flaw_seed = 1 + i / PATTERNS % SEEDS;
    result.request.density = 0.05 + 1e-5 * (i / PATTERNS / SEEDS);
    for (int k = 0; k < count; k++)
        measure[k] = (sp_measure){1, pow(result.request.density, 1 + k % 3) * (1 + i % 7 * 0.01)};
    for (int k = 0; k < STEPS; k++) step[k] = (sp_step){.shortening = k, .force = k, .work = k * k};
    result.measure = measure;
    result.measure_count = count;
    result.path = (sp_path){.size = {28, 24, 20}, .step_count = STEPS, .step = step};
    sp_status status = sp_coupon_key_of_case(context, &result.request, &known);
    return status == SP_OK ? sp_store_put(context, store, &known, SP_OK, "", "", &result) : status;
}

static sp_status make_store(sp_context *context, const char *file, int coupons)
{
    int count;
    sp_store *store = NULL;
    sp_measure_rows(&count);
    sp_measure *measure = calloc((size_t)count, sizeof *measure);
    if (!measure) return SP_NO_MEMORY;
    unlink(file);
    sp_status status = sp_store_open(context, file, SP_STORE_WRITE, &store);
    for (int i = 0; i < coupons && status == SP_OK; i++)
        status = put_made_up(context, store, i, measure);
    sp_store_close(store);
    free(measure);
    return status;
}

/* Do what `strutpress compare STORE` does, into a file that nobody reads. */
static sp_status compare_once(sp_context *context, const char *file)
{
    const sp_compare_options options = {0};
    sp_compare *compare = NULL;
    sp_store *store = NULL;
    FILE *table = fopen("/dev/null", "w");
    sp_status status = sp_store_open(context, file, SP_STORE_READ, &store);
    if (status == SP_OK) status = sp_compare_read(context, store, &options, &compare);
    if (status == SP_OK && table) status = sp_compare_table(context, compare, table);
    if (table) fclose(table);
    sp_compare_free(compare);
    sp_store_close(store);
    return status;
}

static int run_compare(const char *folder, int coupons)
{
    enum { ROUNDS = 3 };
    char file[1100];
    sp_context context = {0};
    snprintf(file, sizeof file, "%s/compare.store", folder);
    sp_status status = make_store(&context, file, coupons);
    for (int round = 1; round <= ROUNDS && status == SP_OK; round++) {
        const double begin = now();
        const clock_t cpu = clock();
        status = compare_once(&context, file);
        printf("compare,%d,1,1,%d,%.3f,%.3f,,\n", round, coupons, now() - begin,
               (double)(clock() - cpu) / CLOCKS_PER_SEC);
    }
    unlink(file);
    if (status != SP_OK) fprintf(stderr, "%s\n", context.message);
    return sp_status_exit(status);
}

int main(int argc, char **argv)
{
    const char *set = argc > 1 ? argv[1] : "";
    if (argc == 2 && !strcmp(set, "header")) return puts(HEADER) < 0;
    if (argc == 5 && !strcmp(set, "batch")) return run_batch(argv[2], argv[3], atoi(argv[4]));
    if (argc == 4 && !strcmp(set, "compare")) return run_compare(argv[2], atoi(argv[3]));
    fprintf(stderr,
            "usage: bench_batch header | batch PLAN FOLDER ROUNDS | compare FOLDER COUPONS\n");
    return 2;
}
