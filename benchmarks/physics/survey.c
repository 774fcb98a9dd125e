/* The survey of critical steps asks whether the critical step of a coupon depends on the step width
 * of the press, and whether it goes to that of sliding platens as the friction vanishes.
 *
 *   survey [--coupons N] [--friction N] [--strain S] [--tolerance T] [--csv FILE]
 *   survey one KEY=VALUE ..   one coupon, for example
 *                             infill.pattern=kagome infill.angle=0 platens.hold=sliding
 *
 *   --coupons N     coupons on bonded and sliding platens (160), spread evenly over the planar
 *                   patterns, angles, densities, walls and platens below; 0 = none. The coupons of
 *                   `known` come before them.
 *   --friction N    coupons with friction on the platens (72): N / 6 shapes, with six coefficients
 *                   each; 0 = none
 *   --strain S      how far they are pressed at most (0.28); a coupon without a critical step
 *                   counts with this strain
 *   --tolerance T   how far the critical strains of one coupon may be apart (1e-3)
 *   --csv FILE      write one line per press
 *
 * Every coupon is without flaws and pressed to its critical step with the step widths of 70, 140,
 * 280, 560 and 1120 steps to 70 % strain. The relation is broken where the critical strains of one
 * coupon are further apart than the tolerance, where the step is a limit point at one step width
 * and a bifurcation at another, where a strain is zero, where a press fails, and where friction of
 * at most 1e-5 moves the critical step away from that of sliding platens. Exit status: 0 holds, 1
 * broken, 2 wrong call. Coupons are made by rule, without random numbers; OMP_NUM_THREADS presses
 * run at a time. */
#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <strutpress/inspect.h>
#include <strutpress/resolve.h>
#include <strutpress/network.h>

#include "law/law.h"
#include "model/model.h"
#include "press/press.h"

#define COUNT(a) ((int)(sizeof(a) / sizeof(a)[0]))
enum { STRIDES = 5, PATTERNS_MAX = 64, RUNGS_MAX = 17 };

static const int steps_to_70[STRIDES] = {70, 140, 280, 560, 1120};
static const double angle[] = {0, 17, 45, 90};
static const double density[] = {0.12, 0.2};
static const int walls[] = {0, 1, 2};
static const int hold[] = {SP_PLATENS_BONDED, SP_PLATENS_SLIDING};
static const double coefficient[] = {1e-6, 1e-3, 0.03, 0.1, 0.2, 0.3};
/* These are coefficients of friction: the first rung stands for sliding platens, the last for
 * bonded ones. */
static const double rung[] = {0,    1e-6, 1e-5, 1e-4, 1e-3, 0.01, 0.03, 0.06,    0.1,
                              0.15, 0.2,  0.25, 0.3,  0.4,  0.6,  1,    INFINITY};
static const double no_friction = 1e-5; /* up to this the step is that of sliding platens */
static const double no_strain = 1e-6;   /* a critical step below this counts as one at 0 % */
static const double jump = 5e-3; /* strain between neighbours of the ladder that is examined */
static const int halvings = 6;

/* Coupons whose critical step was wrong in 0.6.0. */
static const char *const known[][10] = {
    {"infill.pattern=re-entrant", "infill.angle=17", "infill.density=20 %", NULL},
    {"infill.pattern=triangular", "infill.angle=17", "infill.density=20 %", "bead.walls=2",
     "platens.hold=sliding", NULL},
    {"infill.pattern=kagome", "infill.angle=0", "infill.density=14 %", "bead.walls=0",
     "platens.hold=sliding", NULL},
};
/* These are the same for friction; the ladder sets the coefficient. */
static const char *const known_friction[][10] = {
    {"coupon.width=40 mm", "coupon.height=20 mm", "coupon.depth=30 mm", "infill.pattern=hexagonal",
     "infill.density=20 %", "infill.angle=0", "bead.walls=1", "material.law=mooney-rivlin",
     "material.c10=4 MPa", "material.c01=1 MPa"}, /* docs/demo/transport-pad.yaml */
    {"infill.pattern=kagome", "infill.angle=0", "infill.density=14 %", "bead.walls=0", NULL},
};

typedef struct options {
    int coupons, friction;
    double strain, tolerance;
    const char *csv;
} options;

typedef struct press_job {
    sp_case request;
    int coupon; /* whose press it is */
    int steps;  /* to 70 % strain */
    sp_status status;
    sp_critical critical;
    double seconds;
    char message[768];
} press_job;

typedef struct job_list {
    press_job *job;
    int count, capacity;
} job_list;

/* --- one press --- */

static int set(sp_case *request, const char *setting)
{
    char key[256];
    sp_context context = {0};
    snprintf(key, sizeof key, "%s", setting);
    char *value = strchr(key, '=');
    if (value) *value++ = 0;
    if (value && sp_case_set(&context, request, key, value) == SP_OK) return 1;
    fprintf(stderr, "survey: %s\n", value ? context.message : "a setting is KEY=VALUE");
    return 0;
}

static sp_status press_model(sp_context *context, const sp_case *request, const sp_law *law,
                             const sp_network *network, int steps, sp_path *path)
{
    const sp_model_options mesh = {.platens = request->platens,
                                   .elements_per_strut = request->elements_per_strut,
                                   .section_points = request->section_points,
                                   .friction_struts = request->strut_friction,
                                   .friction_platens = request->platen_friction,
                                   .shear_factor = request->shear_factor};
    const sp_press_options to_critical = {.strain = request->strain,
                                          .load_limit = INFINITY,
                                          .steps = steps,
                                          .follow_perfect = 1,
                                          .stop_at_critical = 1};
    sp_model model;
    sp_status status = sp_model_build(context, network, law, &mesh, &model);
    if (status != SP_OK) return status;
    status = sp_press(context, &model, &to_critical, path);
    const sp_status outcome = status == SP_OK ? sp_stop_outcome(path->end) : SP_OK;
    if (outcome != SP_OK) status = sp_fail(context, outcome, "%s", path->reason);
    sp_model_free(&model);
    return status;
}

static double now(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec + 1e-9 * (double)time.tv_nsec;
}

static void press(press_job *job)
{
    sp_context context = {0};
    sp_law law = {0};
    sp_network network = {0};
    sp_path path = {0};
    sp_resolved resolved;
    const double begin = now();
    const int steps = (int)lround(fmax(1, job->steps * job->request.strain / 0.7));
    job->status = sp_case_resolve(&context, &job->request, &resolved);
    job->request = resolved.request;
    if (job->status == SP_OK) job->status = sp_law_prepare(&context, &job->request, &law);
    if (job->status == SP_OK) job->status = sp_resolved_network(&context, &resolved, 0, &network);
    if (job->status == SP_OK)
        job->status = press_model(&context, &job->request, &law, &network, steps, &path);
    job->critical = path.critical;
    if (!job->critical.found) job->critical.strain = job->request.strain;
    if (job->status != SP_OK) snprintf(job->message, sizeof job->message, "%s", context.message);
    sp_path_free(&path);
    sp_network_free(&network);
    sp_law_free(&law);
    sp_resolved_free(&resolved);
    job->seconds = now() - begin;
}

static void press_all(job_list *list, const char *what)
{
    int done = 0;
    const int told = isatty(STDERR_FILENO);
#pragma omp parallel for schedule(dynamic)
    for (int i = 0; i < list->count; i++) {
        omp_set_num_threads(1);
        press(&list->job[i]);
#pragma omp critical(told)
        if (told) fprintf(stderr, "\r%s: %d / %d presses ", what, ++done, list->count);
    }
    if (told && list->count) fprintf(stderr, "\n");
}

static press_job *add(job_list *list, const sp_case *request, int coupon, int steps)
{
    if (list->count == list->capacity) {
        list->capacity = list->capacity ? 2 * list->capacity : 256;
        list->job = realloc(list->job, (size_t)list->capacity * sizeof *list->job);
        if (!list->job) abort();
    }
    press_job *job = &list->job[list->count++];
    *job = (press_job){.request = *request, .coupon = coupon, .steps = steps};
    return job;
}

/* --- which coupons --- */

static void plain_case(const options *asked, sp_case *request)
{
    sp_case_default(request);
    request->width = 20, request->height = 16, request->depth = 20;
    request->flaw_seed = 0;
    request->strain = asked->strain;
}

static void settings_case(const options *asked, const char *const *setting, int most,
                          sp_case *request)
{
    plain_case(asked, request);
    for (int i = 0; i < most && setting[i]; i++)
        if (!set(request, setting[i])) exit(2);
}

static int planar_patterns(const char *name[PATTERNS_MAX])
{
    int count = 0;
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        if (row.dimension == 2 && strcmp(row.name, "drawn") && count < PATTERNS_MAX)
            name[count++] = row.name;
    }
    return count;
}

static int common_divisor(int a, int b)
{
    return b ? common_divisor(b, a % b) : a;
}

/* Make coupon number i of `count` coupons that lie evenly in the table of all patterns, angles,
 * densities, walls and platens: the patterns in turn, the rest by strides through the table without
 * a common divisor with its size. */
static void table_case(const options *asked, int i, sp_case *request)
{
    const char *name[PATTERNS_MAX];
    const int patterns = planar_patterns(name);
    const int rest = COUNT(angle) * COUNT(density) * COUNT(walls) * COUNT(hold);
    int stride = (int)(0.618 * rest);
    while (common_divisor(stride, rest) != 1) stride++;
    int k = (i % patterns * 7 + i / patterns * stride) % rest;
    plain_case(asked, request);
    snprintf(request->pattern, sizeof request->pattern, "%s", name[i % patterns]);
    request->angle = angle[k % COUNT(angle)], k /= COUNT(angle);
    request->density = density[k % COUNT(density)], k /= COUNT(density);
    request->wall_beads = walls[k % COUNT(walls)], k /= COUNT(walls);
    request->platens = hold[k % COUNT(hold)];
}

static void coupon_text(const sp_case *request, char text[160])
{
    char platens[32];
    snprintf(platens, sizeof platens, "friction %g", request->platen_friction);
    snprintf(text, 160, "%.20s %g deg %g %%, walls %d, %g x %g mm, %s", request->pattern,
             request->angle, 100 * request->density, request->wall_beads, request->width,
             request->height,
             request->platens == SP_PLATENS_BONDED    ? "bonded"
             : request->platens == SP_PLATENS_SLIDING ? "sliding"
                                                      : platens);
}

/* --- judged: one coupon over the step widths --- */

typedef struct tally {
    int coupons, refused, apart, kinds, at_zero, failed, limits, bifurcations, none;
    double widest;
} tally;

static const char *kind(const press_job *job)
{
    if (job->status != SP_OK) return "failed";
    if (!job->critical.found) return "none";
    return sp_critical_word(job->critical.kind);
}

static void print_coupon(const press_job *job, const char *why)
{
    char text[160];
    coupon_text(&job->request, text);
    printf("%-62s %s:", text, why);
    for (int s = 0; s < STRIDES; s++)
        printf(" %.4f%c", 100 * job[s].critical.strain, kind(&job[s])[0]);
    printf(" %%\n");
    for (int s = 0; s < STRIDES; s++)
        if (job[s].status != SP_OK && (s == 0 || strcmp(job[s].message, job[s - 1].message)))
            printf("  %s\n", job[s].message);
}

/* A network that is a mechanism, or of which nothing is left, is refused before any press: that
 * breaks no relation. */
static int is_refused(const press_job *job)
{
    for (int s = 0; s < STRIDES; s++)
        if (job[s].status != SP_BAD_NETWORK && job[s].status != SP_BAD_CASE) return 0;
    return 1;
}

/* Return 1 where the relation holds. `job` holds the presses of one coupon over all step widths. */
static int judge(const options *asked, const press_job *job, tally *sum)
{
    double low = INFINITY, high = -INFINITY;
    int zero = 0, failed = 0, mixed = 0;
    sum->coupons++;
    if (is_refused(job)) {
        print_coupon(job, "REFUSED");
        sum->refused++;
        return 1;
    }
    for (int s = 0; s < STRIDES; s++) {
        low = fmin(low, job[s].critical.strain), high = fmax(high, job[s].critical.strain);
        failed |= job[s].status != SP_OK;
        zero |= job[s].critical.found && job[s].critical.strain < no_strain;
        mixed |= job[s].critical.found && job[0].critical.found &&
                 job[s].critical.kind != job[0].critical.kind;
    }
    const press_job *finest = &job[STRIDES - 1];
    const int apart = !failed && high - low > asked->tolerance;
    sum->apart += apart, sum->kinds += mixed, sum->at_zero += zero, sum->failed += failed;
    sum->limits += finest->critical.found && finest->critical.kind != SP_CRITICAL_BIFURCATION;
    sum->bifurcations += finest->critical.found && finest->critical.kind == SP_CRITICAL_BIFURCATION;
    sum->none += !finest->critical.found;
    if (!failed) sum->widest = fmax(sum->widest, high - low);
    if (!(failed || zero || apart || mixed)) return 1;
    print_coupon(job, failed ? "FAILED" : zero ? "AT 0 %" : apart ? "APART" : "KIND");
    return 0;
}

static void add_strides(job_list *list, const sp_case *request, int coupon)
{
    for (int s = 0; s < STRIDES; s++) add(list, request, coupon, steps_to_70[s]);
}

static int judge_all(const options *asked, const job_list *list, const char *what)
{
    tally sum = {0};
    int broken = 0;
    for (int i = 0; i < list->count; i += STRIDES) broken += !judge(asked, &list->job[i], &sum);
    printf("%s: %d coupons, %d broken: %d further apart than %g, %d of two kinds, %d at 0 %%, "
           "%d failed; %d refused; widest %.2e; with the smallest steps %d bifurcations, "
           "%d limit points, %d without\n",
           what, sum.coupons, broken, sum.apart, asked->tolerance, sum.kinds, sum.at_zero,
           sum.failed, sum.refused, sum.widest, sum.bifurcations, sum.limits, sum.none);
    return broken;
}

static void write_csv(FILE *csv, const char *set_name, const job_list *list)
{
    if (!csv) return;
    for (int i = 0; i < list->count; i++) {
        const press_job *job = &list->job[i];
        const sp_case *r = &job->request;
        fprintf(csv, "%s,%d,%s,%g,%g,%d,%g,%g,%s,%g,%d,%s,%.6f,%.6g,%.2f\n", set_name, job->coupon,
                r->pattern, r->angle, r->density, r->wall_beads, r->width, r->height,
                r->platens == SP_PLATENS_BONDED    ? "bonded"
                : r->platens == SP_PLATENS_SLIDING ? "sliding"
                                                   : "friction",
                r->platen_friction, job->steps, kind(job), job->critical.strain,
                job->critical.force, job->seconds);
    }
}

/* --- the parts of the survey --- */

static int survey_plain(const options *asked, FILE *csv)
{
    job_list list = {0};
    sp_case request;
    if (!asked->coupons) return 0;
    for (int i = 0; i < COUNT(known); i++) {
        settings_case(asked, known[i], COUNT(known[i]), &request);
        add_strides(&list, &request, i - COUNT(known));
    }
    for (int i = 0; i < asked->coupons; i++) {
        table_case(asked, i, &request);
        add_strides(&list, &request, i);
    }
    press_all(&list, "bonded and sliding platens");
    write_csv(csv, "plain", &list);
    const int broken = judge_all(asked, &list, "bonded and sliding platens");
    free(list.job);
    return broken;
}

/* Make shape number i with friction: first the known ones, then those of the table. */
static void friction_case(const options *asked, int i, sp_case *request)
{
    if (i < COUNT(known_friction))
        settings_case(asked, known_friction[i], COUNT(known_friction[i]), request);
    else
        table_case(asked, 2 * i, request);
}

static void put_rung(sp_case *request, double mu)
{
    request->platens = mu == 0     ? SP_PLATENS_SLIDING
                       : isinf(mu) ? SP_PLATENS_BONDED
                                   : SP_PLATENS_FRICTION;
    request->platen_friction = request->platens == SP_PLATENS_FRICTION ? mu : 0;
}

static int survey_friction(const options *asked, int shapes, FILE *csv)
{
    job_list list = {0};
    sp_case request;
    for (int i = 0; i < shapes; i++)
        for (int c = 0; c < COUNT(coefficient); c++) {
            friction_case(asked, i, &request);
            put_rung(&request, coefficient[c]);
            add_strides(&list, &request, i);
        }
    press_all(&list, "friction");
    write_csv(csv, "friction", &list);
    const int broken = shapes ? judge_all(asked, &list, "friction") : 0;
    free(list.job);
    return broken;
}

/* Halve the interval of coefficients in which the critical strain jumps: a jump of the strain that
 * does not shrink with the interval is reported. */
static void look_into_jump(const press_job *from, const press_job *to)
{
    press_job low = *from, high = *to;
    for (int i = 0; i < halvings; i++) {
        press_job middle = low;
        const double a = fmax(low.request.platen_friction, 1e-7),
                     b = high.request.platens == SP_PLATENS_BONDED ? 3
                                                                   : high.request.platen_friction;
        put_rung(&middle.request, sqrt(a * b));
        press(&middle);
        const int nearer_low = fabs(middle.critical.strain - low.critical.strain) <
                               fabs(middle.critical.strain - high.critical.strain);
        *(nearer_low ? &low : &high) = middle;
    }
    if (fabs(high.critical.strain - low.critical.strain) > jump)
        printf("  jump from %.4f %% (%s) at %.4g to %.4f %% (%s) at %.4g\n",
               100 * low.critical.strain, kind(&low), low.request.platen_friction,
               100 * high.critical.strain, kind(&high), high.request.platen_friction);
}

/* Judge one shape over all coefficients: returns 1 where the least friction gives the critical step
 * of sliding platens and none is at 0 %. */
static int judge_ladder(const options *asked, const press_job *job)
{
    char text[160];
    int broken = 0;
    coupon_text(&job->request, text);
    printf("%s and up to bonded, coefficient: critical strain [%%]", text);
    for (int r = 0; r < COUNT(rung); r++) {
        const int near_sliding =
            fabs(job[r].critical.strain - job[0].critical.strain) <= asked->tolerance;
        const int wrong = job[r].status != SP_OK ||
                          (job[r].critical.found && job[r].critical.strain < no_strain) ||
                          (rung[r] <= no_friction && !near_sliding);
        printf(" %.3g: %.4f%c%s", rung[r], 100 * job[r].critical.strain, kind(&job[r])[0],
               wrong ? " BROKEN" : "");
        broken |= wrong;
    }
    printf("\n");
    for (int r = 0; r + 1 < COUNT(rung); r++)
        if (fabs(job[r + 1].critical.strain - job[r].critical.strain) > jump)
            look_into_jump(&job[r], &job[r + 1]);
    return broken;
}

static int survey_ladder(const options *asked, int shapes, FILE *csv)
{
    job_list list = {0};
    sp_case request;
    int broken = 0;
    for (int i = 0; i < shapes; i++)
        for (int r = 0; r < COUNT(rung); r++) {
            friction_case(asked, i, &request);
            put_rung(&request, rung[r]);
            add(&list, &request, i, 280);
        }
    press_all(&list, "ladder of coefficients");
    write_csv(csv, "ladder", &list);
    for (int i = 0; i < shapes; i++) broken += judge_ladder(asked, &list.job[i * COUNT(rung)]);
    if (shapes) printf("ladder of coefficients: %d shapes, %d broken\n", shapes, broken);
    free(list.job);
    return broken;
}

static int survey_one(const options *asked, char **setting, int count)
{
    job_list list = {0};
    tally sum = {0};
    sp_case request;
    plain_case(asked, &request);
    for (int i = 0; i < count; i++)
        if (!set(&request, setting[i])) return 2;
    add_strides(&list, &request, 0);
    press_all(&list, "one coupon");
    print_coupon(list.job, "over the step widths");
    const int holds = judge(asked, list.job, &sum);
    free(list.job);
    return !holds;
}

/* --- the command line --- */

static int usage(void)
{
    fprintf(stderr,
            "usage: survey [--coupons N] [--friction N] [--strain S] [--tolerance T] [--csv "
            "FILE] | survey one KEY=VALUE ..\n");
    return 2;
}

static int read_option(const char *name, const char *value, options *asked)
{
    if (!strcmp(name, "--coupons"))
        asked->coupons = atoi(value);
    else if (!strcmp(name, "--friction"))
        asked->friction = atoi(value);
    else if (!strcmp(name, "--strain"))
        asked->strain = atof(value);
    else if (!strcmp(name, "--tolerance"))
        asked->tolerance = atof(value);
    else if (!strcmp(name, "--csv"))
        asked->csv = value;
    else
        return 0;
    return 1;
}

int main(int argc, char **argv)
{
    options asked = {.coupons = 160, .friction = 72, .strain = 0.28, .tolerance = 1e-3};
    if (argc >= 2 && !strcmp(argv[1], "one")) return survey_one(&asked, argv + 2, argc - 2);
    for (int i = 1; i < argc; i += 2)
        if (i + 1 == argc || !read_option(argv[i], argv[i + 1], &asked)) return usage();
    FILE *csv = asked.csv ? fopen(asked.csv, "w") : NULL;
    if (asked.csv && !csv) {
        fprintf(stderr, "survey: %s cannot be written\n", asked.csv);
        return 2;
    }
    if (csv)
        fprintf(csv, "set,coupon,pattern,angle_deg,density,walls,width_mm,height_mm,platens,"
                     "coefficient,steps_to_70,kind,critical_strain,critical_force_N,seconds\n");
    const int shapes = (asked.friction + COUNT(coefficient) - 1) / COUNT(coefficient);
    int broken = survey_plain(&asked, csv);
    broken += survey_friction(&asked, shapes, csv);
    broken += survey_ladder(&asked, shapes, csv);
    if (csv) fclose(csv);
    printf("survey: %s\n", broken ? "BROKEN" : "holds");
    return broken > 0;
}
