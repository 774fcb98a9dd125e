/* A soak draws coupons at random, presses them to their end and checks every accepted state again.
 *
 *   soak [--count N] [--seed S] [--first I] [--seconds T] [--csv FILE]
 *   soak --seed S --show I   the settings of one coupon, as options of `strutpress press`; a
 *                            table that they name is left in /tmp for it
 *
 *   --count N          coupons to press (1000)
 *   --seed S           seed of the generator (1); coupon I of a seed is the same for every count
 *   --first I          number of the first coupon (0)
 *   --seconds T        a press that takes longer is stopped and counts as a failure (300, of
 *                      processor time, so that other work of the machine does not count)
 *   --struts N         coupons of more struts are drawn again (1200)
 *   --kind any         every pattern, pressed across the extrusion (the default)
 *   --kind time        under laws in time: pressed, held, let go and left alone for a day, or
 *                      dropped on three times
 *   --kind flat        planar patterns printed flat and loaded from above: walls along the load,
 *                      with and without skins and flanks, and stacks of layers pressed through
 *   --kind dense       coupons that gave up most often: planar patterns of 40 to 50 % to beyond
 *                      60 % strain, and face-centred cells of 35 %, on friction platens and with
 *                      friction between struts, without a load limit
 *   --csv FILE         write one line per coupon
 *   --refusals FILE    write one line per draw that was refused, with the reason
 *   --row FILE         add one line on this run, with --commit C in front: soak.sh sums these up.
 *                      Ctrl-C or SIGTERM ends the run early; the line then counts the coupons up
 *                      to the first that was not pressed
 *
 * Coupons have every pattern, law, hold, friction, way back and flaws (bow up to 5 %, up to 10 %
 * missing), 5 to 60 % density and 5 to 60 mm; they are pressed to 50 to 80 % strain, with and
 * without load limit. A coupon that the program refuses (a density that does not fit the size, a
 * mechanism) is drawn again, and counted. A press fails when it ends before its strain and its load
 * limit and not where the model ends, or when a state is not an equilibrium, or when its energies
 * do not balance. Exit status: 0 all pressed, 1 failures, 2 wrong call. */
#include <math.h>
#include <omp.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <strutpress/strutpress.h>

#include "base/rng.h"
#include "law/law.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "run/result.h"

enum { SETTINGS = 40, LENGTH = 240, DRAWS = 200, THREADS = 64 };

typedef struct options {
    int count, first, show, struts;
    unsigned seed;
    double seconds;
    const char *csv, *refusals, *row, *commit;
} options;

typedef struct draw {
    int count;
    char text[SETTINGS][LENGTH];
} draw;

typedef struct outcome {
    int refused, failed, struts;
    int is_named, is_done; /* ended where the model of the coupon does; pressed, not interrupted */
    int steps, searched,
        pressed; /* states of press and way back; factorizations of search and press */
    double strain, seconds, search, residual, imbalance, balance; /* search: its seconds */
    char why[300];
} outcome;

typedef struct files {
    FILE *csv, *refusals; /* NULL: not asked for */
} files;

static char table_name[2][64];

/* What is drawn (--kind). */
typedef enum kind { KIND_ANY, KIND_TIME, KIND_CYCLES, KIND_FLAT, KIND_DENSE, KINDS } kind;
static const char *const kind_name[KINDS] = {"any", "time", "cycles", "flat", "dense"};
static kind drawn;

/* --- drawing a coupon --- */

static void set(draw *d, const char *key, const char *format, double value)
{
    int n = snprintf(d->text[d->count], LENGTH, "%s=", key);
    snprintf(d->text[d->count++] + n, (size_t)(LENGTH - n), format, value);
}

static void set_text(draw *d, const char *key, const char *value)
{
    snprintf(d->text[d->count++], LENGTH, "%s=%s", key, value);
}

static double between(sp_rng *rng, double low, double high)
{
    return low + (high - low) * sp_rng_uniform(rng);
}

static int one_of(sp_rng *rng, int count)
{
    return (int)(count * sp_rng_uniform(rng));
}

static int chance(sp_rng *rng, double share)
{
    return sp_rng_uniform(rng) < share;
}

/* Draw a law. `is_planar` 1: one layer of a planar pattern, whose struts may be held along the
 * extrusion. */
static void draw_law(sp_rng *rng, draw *d, int is_planar)
{
    int count;
    const sp_law_row *row = sp_law_rows(&count);
    const char *law = row[one_of(rng, count)].name;
    const double modulus = exp(between(rng, log(3), log(150)));
    set_text(d, "material.law", law);
    if (!strcmp(law, "tabulated")) set_text(d, "material.table", table_name[0]);
    if (!strcmp(law, "yielding")) set_text(d, "material.table", table_name[1]);
    if (!strcmp(law, "linear") || !strcmp(law, "neo-hookean") || !strcmp(law, "gent"))
        set(d, "material.modulus", "%.4g MPa", modulus);
    if (!strcmp(law, "linear")) set(d, "material.poisson_ratio", "%.3g", between(rng, 0.2, 0.5));
    if (!strcmp(law, "mooney-rivlin")) {
        set(d, "material.c10", "%.4g MPa", modulus / 7.5);
        set(d, "material.c01", "%.4g MPa", modulus / 30);
    }
    if (!strcmp(law, "yeoh")) {
        set(d, "material.c10", "%.4g MPa", modulus / 6);
        set(d, "material.c20", "%.4g MPa", -modulus / 120);
        set(d, "material.c30", "%.4g MPa", modulus / 600);
    }
    if (!strcmp(law, "ogden")) {
        char text[64];
        snprintf(text, sizeof text, "[%.4g MPa, %.4g MPa]", modulus / 2.4, -modulus / 120);
        set_text(d, "material.ogden_modulus", text);
        set_text(d, "material.ogden_exponent", "[1.6, -2]");
    }
    if (!strcmp(law, "gent")) set(d, "material.gent_limit", "%.4g", between(rng, 5, 60));
    if (chance(rng, 0.3))
        set_text(d, "material.strain_state",
                 chance(rng, 0.5) || !is_planar ? "uniaxial" : "plane_strain");
    if (chance(rng, 0.3)) set(d, "material.friction", "%.3g", between(rng, 0, 0.8));
}

/* Return 1 when the law that was drawn yields. */
static int draws_yielding(const draw *d)
{
    for (int i = 0; i < d->count; i++)
        if (!strcmp(d->text[i], "material.law=yielding")) return 1;
    return 0;
}

/* Draw a protocol. Half of the coupons only relax, the others soften, too. */
static void draw_protocol(sp_rng *rng, draw *d, int softens)
{
    char text[LENGTH - 20];
    const double strain = between(rng, 20, 75), speed = exp(between(rng, log(1), log(300)));
    set(d, "material.relaxation.exponent", "%.3g", between(rng, 0.03, 0.15));
    if (softens && chance(rng, 0.5)) {
        set(d, "material.softening.ratio", "%.3g", between(rng, 1.2, 3));
        set_text(d, "material.softening.share", "0.2");
    }
    if (chance(rng, 0.25))
        snprintf(text, sizeof text, "repeat 3, drop %.4g g from %.4g mm, rest for 1 min, end",
                 exp(between(rng, log(5), log(1000))), between(rng, 20, 600));
    else
        snprintf(text, sizeof text,
                 "press to %.3g %% at %.3g mm/min, hold for 10 min, release at %.3g mm/min, rest "
                 "for 24 h",
                 strain, speed, speed);
    set_text(d, "press.protocol", text);
}

static int draws_time(void)
{
    return drawn == KIND_TIME || drawn == KIND_CYCLES;
}

/* Every other coupon has one branch that flows, the others two. */
static void draw_cycles(sp_rng *rng, draw *d, int softens)
{
    char text[LENGTH - 20];
    const double strain = between(rng, 20, 65), speed = exp(between(rng, log(1), log(300)));
    const int two = chance(rng, 0.5);
    if (chance(rng, 0.5)) set(d, "material.relaxation.exponent", "%.3g", between(rng, 0.03, 0.1));
    for (int i = 0; i <= two; i++) {
        static const char *const key[2][3] = {
            {"material.flow.share", "material.flow.stress", "material.flow.time"},
            {"material.second_flow.share", "material.second_flow.stress",
             "material.second_flow.time"}};
        set(d, key[i][0], "%.3g", between(rng, 0.05, 0.35));
        set(d, key[i][1], "%.3g MPa", exp(between(rng, log(0.02), log(3))));
        set(d, key[i][2], "%.3g s", exp(between(rng, log(0.1), log(1e6))));
    }
    if (softens && chance(rng, 0.5)) {
        set(d, "material.softening.ratio", "%.3g", between(rng, 1.2, 3));
        set(d, "material.softening.energy", "%.3g MPa", exp(between(rng, log(0.01), log(1))));
    }
    if (chance(rng, 0.5))
        snprintf(
            text, sizeof text,
            "repeat 3, press to %.3g %% at %.3g mm/min, release at %.3g mm/min, end, rest for 1 h",
            strain, speed, speed);
    else
        snprintf(text, sizeof text,
                 "press to %.3g N at %.3g mm/min, hold force for 10 min, release to %.3g %% at "
                 "%.3g mm/min, hold for 1 min, release at %.3g mm/min, rest for 1 h",
                 exp(between(rng, log(1), log(300))), speed, 0.1 * strain, speed, speed);
    set_text(d, "press.protocol", text);
}

static void draw_platens(sp_rng *rng, draw *d, int softens)
{
    static const char *const hold[] = {"bonded", "sliding", "friction"};
    const int which = one_of(rng, 3);
    set_text(d, "platens.hold", hold[which]);
    if (which == 2 || (which == 0 && chance(rng, 0.3)))
        set(d, "platens.friction", "%.3g", between(rng, 0.05, 1));
    if (drawn == KIND_TIME)
        draw_protocol(rng, d, softens);
    else if (drawn == KIND_CYCLES)
        draw_cycles(rng, d, softens);
    else
        set(d, "press.strain", "%.3g %%", between(rng, drawn == KIND_DENSE ? 62 : 50, 80));
    if (draws_time() || drawn == KIND_DENSE || chance(rng, 0.5))
        set_text(d, "press.load_limit", "none");
    else
        set(d, "press.load_limit", "%.4g N", exp(between(rng, log(100), log(20000))));
    if (!draws_time() && chance(rng, 0.3)) set_text(d, "press.unload", "yes");
    set(d, "press.steps", "%.0f", between(rng, 80, 400));
}

static void draw_flaws(sp_rng *rng, draw *d)
{
    if (chance(rng, 0.15)) {
        set_text(d, "flaws.seed", "0");
        return;
    }
    set(d, "flaws.seed", "%.0f", 1 + floor(between(rng, 0, 1e6)));
    set(d, "flaws.bow", "%.3g %%", between(rng, 0, 5));
    set(d, "flaws.thickness_scatter", "%.3g %%", between(rng, 0, 8));
    set(d, "flaws.joint_offset", "%.3g %%", between(rng, 0, 20));
    if (chance(rng, 0.4)) set(d, "flaws.missing", "%.3g %%", between(rng, 0, 10));
}

/* Draw a size, evenly on a log scale, so that small coupons are as frequent as large ones. */
static void draw_size(sp_rng *rng, draw *d)
{
    static const char *const key[] = {"coupon.width", "coupon.height", "coupon.depth"};
    for (int i = 0; i < 3; i++) set(d, key[i], "%.4g mm", exp(between(rng, log(5), log(60))));
}

/* Draw a planar coupon; returns 1 when it has one layer. */
static int draw_planar(sp_rng *rng, draw *d, const char *name)
{
    static const double angle[] = {0, 45, 90};
    set_text(d, "infill.pattern", name);
    set(d, "infill.density", "%.3g %%", between(rng, 5, 60));
    set(d, "infill.angle", "%.3g deg",
        chance(rng, 0.5) ? angle[one_of(rng, 3)] : between(rng, 0, 90));
    set(d, "bead.width", "%.3g mm", between(rng, 0.3, 0.9));
    set(d, "bead.walls", "%.0f", floor(between(rng, 0, 4)));
    if (!chance(rng, 0.15)) return 1;
    set(d, "infill.layers", "%.0f", 1 + floor(between(rng, 0, 4)));
    set(d, "infill.layer_turn", "%.3g deg", chance(rng, 0.5) ? 90 : 45);
    return 0;
}

static void draw_spatial(sp_rng *rng, draw *d, const char *name)
{
    char cells[64];
    snprintf(cells, sizeof cells, "[%d, %d, %d]", 1 + one_of(rng, 3), 1 + one_of(rng, 3),
             1 + one_of(rng, 3));
    set_text(d, "infill.pattern", name);
    set_text(d, "infill.cells", cells);
    set(d, "infill.density", "%.3g %%", between(rng, 5, 40));
    if (chance(rng, 0.2)) set_text(d, "infill.face_plates", "grillage");
}

/* Draw a coupon that is printed flat. Walls along the load are frameworks of many bars, so coupons
 * are smaller than those of the other kinds. Stacks have beads at most one and a half times as high
 * as wide. */
static void draw_flat(sp_rng *rng, draw *d)
{
    int planar;
    const sp_pattern_row *pattern = sp_pattern_rows(&planar);
    const int stack = chance(rng, 0.3);
    const double bead = between(rng, 0.3, 0.9), layers = 2 + floor(between(rng, 0, 7));
    const double most = stack ? 30 : 16;
    set(d, "coupon.width", "%.4g mm", exp(between(rng, log(4), log(most))));
    set(d, "coupon.depth", "%.4g mm", exp(between(rng, log(4), log(most))));
    if (stack)
        set(d, "coupon.height", "%.4g mm", layers * bead * between(rng, 0.5, 1.4));
    else
        set(d, "coupon.height", "%.4g mm", exp(between(rng, log(2), log(10))));
    set_text(d, "press.direction", stack ? "through" : "along");
    set_text(d, "infill.pattern", pattern[one_of(rng, planar)].name);
    set(d, "infill.density", "%.3g %%", between(rng, 5, 45));
    set(d, "infill.angle", "%.3g deg", chance(rng, 0.5) ? 45 : between(rng, 0, 90));
    set(d, "bead.width", "%.3g mm", bead);
    set(d, "bead.walls", "%.0f", floor(between(rng, 0, 3)));
    if (stack) {
        set(d, "infill.layers", "%.0f", layers);
        set(d, "infill.layer_turn", "%.3g deg", chance(rng, 0.7) ? 90 : 45);
    } else {
        if (chance(rng, 0.4)) set(d, "coupon.skins", "%.3g mm", between(rng, 0.3, 1));
        if (chance(rng, 0.3)) set(d, "bead.flanks", "%.3g mm", between(rng, 0.3, 0.7) * bead);
        if (chance(rng, 0.3)) set(d, "material.across_layers", "%.3g", between(rng, 0.5, 1));
    }
}

/* Draw a dense coupon; returns 1 when it has one layer. */
static int draw_dense(sp_rng *rng, draw *d)
{
    int planar;
    const sp_pattern_row *pattern = sp_pattern_rows(&planar);
    draw_size(rng, d);
    if (chance(rng, 0.2)) {
        draw_spatial(rng, d, "face-centred-cubic");
        set_text(d, "infill.density", "35 %");
        return 0;
    }
    const int one_layer = draw_planar(rng, d, pattern[one_of(rng, planar)].name);
    set(d, "infill.density", "%.3g %%", between(rng, 40, 50));
    return one_layer;
}

/* Set friction everywhere, whatever was drawn before. */
static void draw_friction(sp_rng *rng, draw *d)
{
    if (chance(rng, 0.6)) {
        set_text(d, "platens.hold", "friction");
        set(d, "platens.friction", "%.3g", between(rng, 0.05, 1));
    }
    if (chance(rng, 0.6)) set(d, "material.friction", "%.3g", between(rng, 0.05, 0.8));
}

static void draw_coupon(sp_rng *rng, draw *d)
{
    int planar, spatial, is_planar = 0;
    const sp_pattern_row *pattern = sp_pattern_rows(&planar);
    const sp_cell_row *cell = sp_cell_rows(&spatial);
    d->count = 0;
    if (drawn == KIND_FLAT || drawn == KIND_DENSE) {
        if (drawn == KIND_FLAT) draw_flat(rng, d);
        if (drawn == KIND_DENSE) is_planar = draw_dense(rng, d);
        draw_law(rng, d, is_planar);
        draw_platens(rng, d, 0);
        if (drawn == KIND_DENSE) draw_friction(rng, d);
        draw_flaws(rng, d);
        return;
    }
    draw_size(rng, d);
    const int which = one_of(rng, planar + spatial);
    if (which < planar)
        is_planar = draw_planar(rng, d, pattern[which].name);
    else
        draw_spatial(rng, d, cell[which - planar].name);
    draw_law(rng, d, is_planar);
    draw_platens(rng, d, !draws_yielding(d));
    draw_flaws(rng, d);
}

/* Make the case of a draw, and its network to see that it can be built and is not too large. */
static sp_status take(sp_context *context, const draw *d, int most, sp_case *request, int *struts)
{
    sp_network network;
    sp_resolved resolved;
    sp_status status = SP_OK;
    sp_case_default(request);
    for (int i = 0; i < d->count && status == SP_OK; i++) {
        char key[LENGTH];
        snprintf(key, sizeof key, "%s", d->text[i]);
        char *value = strchr(key, '=');
        *value++ = 0;
        status = sp_case_set(context, request, key, value);
    }
    if (status != SP_OK) return status;
    status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK)
        status = sp_resolved_network(context, &resolved, request->flaw_seed != 0, &network);
    sp_resolved_free(&resolved);
    if (status != SP_OK) return status;
    *struts = network.strut_count;
    sp_network_free(&network);
    return *struts > most ? SP_NO_MEMORY : SP_OK;
}

static void note_refusal(FILE *refusals, int number, const sp_case *request, const char *why)
{
    if (!refusals) return;
#pragma omp critical(soak)
    {
        fprintf(refusals, "%d,%s,%.3g,%s\n", number, request->pattern, request->density, why);
        fflush(refusals);
    }
}

/* Find the next draw that the program does not refuse; returns 0 when there is none. */
static int draw_until_built(sp_rng *rng, int number, int most, FILE *refusals, draw *d,
                            sp_case *request, outcome *out)
{
    while (out->refused < DRAWS) {
        sp_context context = {0};
        draw_coupon(rng, d);
        if (take(&context, d, most, request, &out->struts) == SP_OK) return 1;
        note_refusal(refusals, number, request,
                     out->struts > most ? "too many struts for this soak" : context.message);
        out->refused++;
    }
    return 0;
}

/* --- pressing it --- */

static volatile sig_atomic_t stop_flag[THREADS];
static double started[THREADS]; /* processor time of the thread [s]; 0: idle */
static clockid_t thread_clock[THREADS];

static double read_clock(int thread)
{
    struct timespec t;
    clock_gettime(thread_clock[thread], &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Find the worst figures of one state from its record. Errors of forces are taken as shares of the
 * platen force, or of a share of the largest one so far where next to nothing is carried, as in a
 * rest: round-off is that of the struts, which carry more. It grows with their stiffness, so a
 * force that strains the unloaded coupon by less than 5e-7 counts as none, too. The work rule of
 * every step errs by a share of the work of that step, up and back alike. So the energies may miss
 * a share of the largest work so far, and not of the work that is left when the platen has come
 * back, which may be zero. Work below a thousandth of that of the whole press counts as none. */
static void check_step(const sp_step *s, double least_force, double most_work, outcome *out)
{
    const double scale = fmax(fabs(s->force), least_force) + 1e-3;
    out->residual = fmax(out->residual, s->residual / scale);
    out->imbalance = fmax(out->imbalance, s->imbalance / scale);
    const double left = fabs(s->work - s->stored - s->released);
    out->balance = fmax(out->balance, left / (most_work + 1e-6));
    if (!isfinite(s->force + s->stored + s->work + s->released + s->stiffness + s->fibre_strain)) {
        out->failed = 1;
        snprintf(out->why, sizeof out->why, "a figure of a state is not finite");
    }
}

static void check_path(const sp_path *path, outcome *out)
{
    const double least = 1e-3 * path->step[path->step_count - 1].work,
                 round_off = 5e-7 * path->size[1] * fmax(0, path->step[0].stiffness);
    double most_work = 0, most_force = 0;
    for (int i = 0; i < path->step_count + path->back_count; i++) {
        const sp_step *s = sp_path_state(path, i);
        most_work = fmax(most_work, s->work);
        most_force = fmax(most_force, s->force);
        check_step(s, fmax(1e-4 * most_force, round_off), most_work + least, out);
    }
    if (out->failed) return;
    out->failed = !(out->residual <= 2e-6 && out->imbalance <= 2e-5 && out->balance <= 2e-3);
    if (out->failed)
        snprintf(out->why, sizeof out->why,
                 "residual %.1e, imbalance %.1e of the force, energy %.1e", out->residual,
                 out->imbalance, out->balance);
}

/* Press a coupon; returns 0 when the program refuses it. */
static int press(const sp_case *request, outcome *out)
{
    const int thread = omp_get_thread_num();
    sp_context context = {.interrupt = &stop_flag[thread]};
    sp_result result;
    stop_flag[thread] = 0;
    pthread_getcpuclockid(pthread_self(), &thread_clock[thread]);
    started[thread] = read_clock(thread);
    const sp_status status = sp_result_press(&context, request, &result);
    out->seconds = read_clock(thread) - started[thread];
    started[thread] = 0;
    if (status == SP_BAD_NETWORK || status == SP_BAD_CASE) {
        out->refused++;
        snprintf(out->why, sizeof out->why, "%.*s", (int)sizeof out->why - 1, context.message);
        return 0;
    }
    if (result.path.step_count > 0)
        out->strain = sp_path_strain(&result.path, result.path.step_count - 1);
    const sp_stop end = result.path.end;
    const int is_whole = status == SP_OK && sp_stop_outcome(end) == SP_OK;
    const int is_named = status == SP_OK && end == SP_STOP_RANGE;
    out->is_named = is_named;
    out->steps = result.path.step_count + result.path.back_count;
    out->searched = (int)result.perfect.factorizations;
    out->pressed = (int)result.path.factorizations;
    out->search = result.perfect.seconds_total;
    out->why[0] = '\0';
    if (!is_whole) {
        out->failed = !is_named;
        snprintf(out->why, sizeof out->why, "%.*s", (int)sizeof out->why - 1,
                 status == SP_OK ? result.path.reason : context.message);
    }
    if (is_whole || is_named) {
        check_path(&result.path, out);
        if (is_whole && request->unload && !result.path.unloaded && !out->failed) {
            out->failed = 1;
            snprintf(out->why, sizeof out->why,
                     "the way back ended before the coupon was unloaded");
        }
        const sp_stage *last =
            result.path.stage_count ? &result.path.stage[result.path.stage_count - 1] : NULL;
        if (is_whole && last && !last->reached && !out->failed) {
            out->failed = 1;
            snprintf(out->why, sizeof out->why, "the protocol ends in `%s`", last->segment.text);
        }
    }
    sp_result_clear(&result);
    return 1;
}

static volatile sig_atomic_t ends; /* a signal asked for the end */

static void end_soon(int unused)
{
    (void)unused;
    ends = 1;
    for (int i = 0; i < THREADS; i++) stop_flag[i] = 1;
}

static void one(const options *asked, int number, const files *file, outcome *all)
{
    draw d;
    sp_case request;
    outcome out = {0};
    sp_rng rng;
    int is_pressed = 0;
    sp_rng_seed(&rng, asked->seed, (uint64_t)number);
    /* The critical step is that of the press without time, which soaks of the other kinds look
     * for. */
    while (!is_pressed &&
           draw_until_built(&rng, number, asked->struts, file->refusals, &d, &request, &out)) {
        if (draws_time()) request.find_critical = 0;
        is_pressed = press(&request, &out);
        if (!is_pressed) note_refusal(file->refusals, number, &request, out.why);
    }
    FILE *csv = file->csv;
    if (ends) return;
    out.is_done = 1;
#pragma omp critical(soak)
    {
        all[number - asked->first] = out;
        if (csv)
            fprintf(csv, "%d,%s,%.3g,%d,%.4f,%.2f,%.2f,%d,%d,%d,%.1e,%.1e,%.1e,%s\n", number,
                    request.pattern, request.density, out.struts, out.strain, out.seconds,
                    out.search, out.steps, out.searched, out.pressed, out.residual, out.imbalance,
                    out.balance, out.why);
        if (csv) fflush(csv);
        if (out.failed)
            printf("FAILED %d: %s %.3g, %s, %d struts, to %.1f %% of %.1f %%, %.1f s: %s\n", number,
                   request.pattern, request.density, request.law, out.struts, 100 * out.strain,
                   100 * request.strain, out.seconds, out.why);
        fflush(stdout);
    }
}

/* Ask presses to end that take too long. */
static void watch(const options *asked, const int *done)
{
    for (;;) {
        int over;
#pragma omp atomic read
        over = *done;
        if (over) return;
        for (int i = 0; i < THREADS; i++)
            if (started[i] > 0 && read_clock(i) - started[i] > asked->seconds) stop_flag[i] = 1;
        usleep(200000);
    }
}

static int write_tables(void)
{
    static const char *const text[] = {
        "strain,stress\n-0.6,-7\n-0.3,-1.6\n-0.1,-0.36\n0,0\n0.1,0.27\n0.5,0.9\n1.5,1.9\n4,4.6\n",
        "0.02 0.58\n0.05 1.15\n0.1 1.5\n0.3 2\n1 2.8\n"};
    for (int i = 0; i < 2; i++) {
        snprintf(table_name[i], sizeof table_name[i], "/tmp/soak-%d-table-%d.csv", (int)getpid(),
                 i);
        FILE *file = fopen(table_name[i], "w");
        if (!file) return 0;
        fputs(text[i], file);
        fclose(file);
    }
    return 1;
}

static int show(const options *asked)
{
    draw d;
    sp_case request;
    outcome out = {0};
    sp_rng rng;
    sp_rng_seed(&rng, asked->seed, (uint64_t)asked->show);
    if (!draw_until_built(&rng, asked->show, asked->struts, NULL, &d, &request, &out)) return 1;
    for (int i = 0; i < d.count; i++) printf("--set '%s' ", d.text[i]);
    printf("\n");
    for (int i = 0; i < 2; i++)
        if (strcmp(request.table_file, table_name[i]) != 0) remove(table_name[i]);
    return 0;
}

static kind find_kind(const char *name)
{
    int k = 0;
    while (k < KINDS && strcmp(kind_name[k], name) != 0) k++;
    return (kind)k;
}

static int read_options(int count, char **word, options *asked)
{
    *asked = (options){
        .count = 1000, .seed = 1, .seconds = 300, .show = -1, .struts = 1200, .commit = "none"};
    for (int i = 1; i < count; i += 2) {
        const char *value = i + 1 < count ? word[i + 1] : "";
        if (!strcmp(word[i], "--count"))
            asked->count = atoi(value);
        else if (!strcmp(word[i], "--seed"))
            asked->seed = (unsigned)atoi(value);
        else if (!strcmp(word[i], "--first"))
            asked->first = atoi(value);
        else if (!strcmp(word[i], "--seconds"))
            asked->seconds = atof(value);
        else if (!strcmp(word[i], "--struts"))
            asked->struts = atoi(value);
        else if (!strcmp(word[i], "--kind")) {
            drawn = find_kind(value);
            if (drawn == KINDS) return 0;
        } else if (!strcmp(word[i], "--csv"))
            asked->csv = value;
        else if (!strcmp(word[i], "--refusals"))
            asked->refusals = value;
        else if (!strcmp(word[i], "--row"))
            asked->row = value;
        else if (!strcmp(word[i], "--commit"))
            asked->commit = value;
        else if (!strcmp(word[i], "--show"))
            asked->show = atoi(value);
        else
            return 0;
    }
    return 1;
}

static const double slow = 90; /* s of processor time */

/* Print the whole run in one line, with the numbers of coupons that failed or took long. Returns
 * the number of failures. */
static int sum_up(const options *asked, const outcome *all)
{
    int done = 0, failed = 0, refused = 0, named = 0, is_slow = 0, longest = 0;
    double seconds = 0;
    FILE *row = asked->row ? fopen(asked->row, "a") : NULL;
    for (; done < asked->count && all[done].is_done; done++) {
        const outcome *o = &all[done];
        failed += o->failed;
        refused += o->refused;
        named += o->is_named;
        is_slow += o->seconds > slow;
        seconds += o->seconds;
        if (o->seconds > all[longest].seconds) longest = done;
    }
    printf(
        "soak: %s, seed %u, coupons %d to %d: %d failed, %d ended where their model does, %d took "
        "over %.0f s, %d draws "
        "refused\n",
        kind_name[drawn], asked->seed, asked->first, asked->first + done - 1, failed, named,
        is_slow, slow, refused);
    if (row && done) {
        fprintf(row, "%s,%s,%u,%d,%d,%d,%.0f,%.0f,%d,%d,%d,%d,%.0f,", asked->commit,
                kind_name[drawn], asked->seed, asked->first, done, asked->struts, asked->seconds,
                seconds, named, refused, is_slow, asked->first + longest, all[longest].seconds);
        for (int i = 0; i < done; i++)
            if (all[i].failed) fprintf(row, " %d", asked->first + i);
        fprintf(row, "\n");
    }
    if (row) fclose(row);
    return failed;
}

int main(int count, char **word)
{
    options asked;
    int done = 0;
    if (!read_options(count, word, &asked) || !write_tables()) {
        fprintf(stderr, "soak: see the top of benchmarks/physics/soak.c\n");
        return 2;
    }
    if (asked.show >= 0) return show(&asked);
    outcome *all = calloc((size_t)(asked.count > 0 ? asked.count : 1), sizeof *all);
    if (!all) return 2;
    signal(SIGINT, end_soon);
    signal(SIGTERM, end_soon);
    const files file = {asked.csv ? fopen(asked.csv, "w") : NULL,
                        asked.refusals ? fopen(asked.refusals, "w") : NULL};
    if (file.refusals) fprintf(file.refusals, "coupon,pattern,density,reason\n");
    if (file.csv)
        fprintf(file.csv,
                "coupon,pattern,density,struts,strain,seconds,search_seconds,states,search_factors,"
                "press_factors,residual,imbalance,energy,end\n");
    const int workers = omp_get_max_threads();
    omp_set_max_active_levels(2);
#pragma omp parallel sections num_threads(2)
    {
#pragma omp section
        {
#pragma omp parallel for schedule(dynamic, 1) num_threads(workers)
            for (int i = asked.first; i < asked.first + asked.count; i++)
                if (!ends) one(&asked, i, &file, all);
#pragma omp atomic write
            done = 1;
        }
#pragma omp section
        watch(&asked, &done);
    }
    if (file.csv) fclose(file.csv);
    if (file.refusals) fclose(file.refusals);
    for (int i = 0; i < 2; i++) remove(table_name[i]);
    const int failures = sum_up(&asked, all);
    free(all);
    return failures > 0;
}
