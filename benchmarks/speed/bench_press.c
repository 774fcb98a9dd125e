/* This program measures the press: `bench_press reference` presses the four reference coupons,
 * `bench_press size` shows the cost by the number of struts.
 *
 * Every coupon runs in a child process of its own, so that its peak memory is its own. It prints
 * one line of CSV per coupon on stdout, with the columns of HEADER. Seconds are wall time,
 * cpu_seconds those of the process; run it on an idle machine. A coupon of the size set that takes
 * longer than `patience` is stopped; its line says how far it came. */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <strutpress/strutpress.h>

#define HEADER                                                                                     \
    "set,coupon,density,struts,elements,unknowns,steps,seconds,cpu_seconds,solver_seconds,"        \
    "analyse_seconds,ratio,factorizations,factorizations_per_step_to_50,"                          \
    "factorizations_per_step_beyond,last_strain,last_force_N,stop,peak_MB"

static const unsigned patience = 1800; /* s */
static volatile sig_atomic_t stop_now;

static void stop(int signal_number)
{
    (void)signal_number;
    stop_now = 1;
}

typedef struct coupon {
    const char *set, *name;
    double width, height, density, strain;
    int steps;
} coupon;

/* Set the reference coupon: 28 x 24 x 20 mm, squares at 45 deg, bead 0.42 mm, two wall beads,
 * neo-Hookean E 30 MPa, bonded, flaw seed 1. */
static void reference_case(sp_case *request, const coupon *c)
{
    sp_case_default(request);
    request->width = c->width;
    request->height = c->height;
    request->depth = 20;
    snprintf(request->pattern, sizeof request->pattern, "square");
    snprintf(request->law, sizeof request->law, "neo-hookean");
    request->density = c->density;
    request->angle = 45;
    request->bead_width = 0.42;
    request->wall_beads = 2;
    request->modulus = 30;
    request->platens = SP_PLATENS_BONDED;
    request->flaw_seed = 1;
    request->strain = c->strain;
    request->load_limit = 6000;
    if (c->steps > 0) request->steps = c->steps;
    request->find_critical = 0; /* the second press, to the critical step, is not measured */
}

/* Write the factorizations per accepted step whose strain is within (low, high] as text; "" without
 * such a step. */
static void per_step(const sp_path *path, double low, double high, char text[16])
{
    int steps = 0, factorizations = 0;
    for (int i = 1; i < path->step_count; i++) {
        double strain = sp_path_strain(path, i);
        if (strain <= low || strain > high) continue;
        steps++;
        factorizations += path->step[i].factorizations;
    }
    text[0] = 0;
    if (steps > 0) snprintf(text, 16, "%.2f", (double)factorizations / steps);
}

static int run_one(const coupon *c)
{
    sp_context context = {.interrupt = &stop_now};
    sp_result *result = NULL;
    sp_case request;
    reference_case(&request, c);
    if (strcmp(c->set, "size") == 0) {
        signal(SIGALRM, stop);
        alarm(patience);
    }
    sp_status status = sp_run(&context, &request, &result);
    if (status != SP_OK) {
        fprintf(stderr, "%s: %s: %s\n", c->name, sp_status_text(status), context.message);
        return sp_status_exit(status);
    }
    const sp_path *p = sp_result_path(result);
    int last = p->step_count - 1, factorizations = 0;
    for (int i = 1; i <= last; i++) factorizations += p->step[i].factorizations;
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    const double cpu = (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
                       1e-6 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
    char early[16], late[16];
    per_step(p, 0, 0.5, early);
    per_step(p, 0.5, 1, late);
    printf("%s,%s,%g,%d,%d,%d,%d,%.4f,%.4f,%.4f,%.4f,%.3f,%d,%s,%s,%.4f,%.2f,%s,%.1f\n", c->set,
           c->name, c->density, p->strut_count, p->element_count, p->unknown_count, last,
           p->seconds_total, cpu, p->seconds_solver, p->seconds_analyse,
           p->seconds_total / p->seconds_solver, factorizations, early, late,
           sp_path_strain(p, last), p->step[last].force, sp_stop_text(p->stop),
           (double)usage.ru_maxrss / 1024);
    sp_result_free(result);
    return 0;
}

static int run_child(const coupon *c)
{
    fflush(stdout);
    pid_t child = fork();
    if (child < 0) {
        perror("fork");
        return 1;
    }
    if (child == 0) {
        int code = run_one(c);
        fflush(stdout);
        _exit(code);
    }
    int state = 0;
    waitpid(child, &state, 0);
    return state != 0;
}

static int run_reference(void)
{
    static const double density[] = {0.12, 0.20, 0.28, 0.45};
    int failed = 0;
    for (size_t i = 0; i < sizeof density / sizeof *density; i++) {
        coupon c = {"reference", "28x24", 28, 24, density[i], 0.7, 0};
        failed |= run_child(&c);
    }
    return failed;
}

/* Press the same 20 % infill in coupons of growing size, from about 10 to 10^4 struts, each to 20 %
 * in 10 steps. */
static int run_size(void)
{
    static const double side[] = {7, 13, 24, 42, 75, 133, 275};
    int failed = 0;
    for (size_t i = 0; i < sizeof side / sizeof *side; i++) {
        char name[32];
        snprintf(name, sizeof name, "%gx%g", side[i], side[i]);
        coupon c = {"size", name, side[i], side[i], 0.2, 0.2, 10};
        failed |= run_child(&c);
    }
    return failed;
}

int main(int argc, char **argv)
{
    const char *set = argc == 2 ? argv[1] : "";
    if (strcmp(set, "header") == 0) return puts(HEADER) < 0;
    if (strcmp(set, "reference") == 0) return run_reference();
    if (strcmp(set, "size") == 0) return run_size();
    fprintf(stderr, "usage: bench_press header|reference|size\n");
    return 2;
}
