/* Forecast the cost of a press in two ways.
 *
 * Before anything is pressed: a power law of its size, raised or lowered by what the case asks for,
 *
 *   ln seconds = constant + sum of coefficient x feature
 *
 * with the features of the rows below. What a press costs depends on what is not known before, on
 * the search for the critical step above all, which takes from a hundredth to ten times the press,
 * and on jumps and contacts: two coupons of three lie within a factor of 2, and neither the loads
 * of the struts of the unloaded coupon, nor their slenderness, nor the law bring it nearer.
 *
 * By a coarse press of the same coupon (sp_forecast_try), which meets the same jumps, contacts and
 * corners of the search: nine of ten lie within a factor of 2. It takes a third of the time.
 *
 * `make forecast` presses random coupons in both ways (benchmarks/speed/forecast.csv), finds the
 * coefficients by least absolute distances, and writes them with their bands to run/forecast.h. */
#include <strutpress/forecast.h>
#include <strutpress/protocol.h>

#include <math.h>
#include <omp.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "base/machine.h"
#include "law/law.h"
#include "model/model.h"
#include "pattern/pattern.h"
#include "run/forecast.h"
#include "run/mesh.h"
#include "run/resolve_parts.h"
#include "run/result.h"

/* Values from which the features are computed. */
typedef struct cost {
    const sp_case *request;
    int dimension;
    double struts, elements, unknowns, density;
    double strain; /* strain at which the press ends */
    double modulus;
} cost;

enum {
    COST_CONSTANT,
    COST_SIZE,
    COST_DENSITY,
    COST_FOLDED,
    COST_STEPS,
    COST_STRAIN,
    COST_SPACE,
    COST_SPACE_SIZE,
    COST_FRICTION,
    COST_UNLOAD,
    COST_COUNT
};

/* The cost of the press itself; the search for the critical step comes on top. */
static const struct {
    int number;                 /* 1: its number stands between the words */
    const char *before, *after; /* how a feature is named that makes a press long; NULL: never */
} rows[COST_COUNT] = {
    [COST_CONSTANT] = {0, NULL, NULL},
    [COST_SIZE] = {1, "", " struts"},
    [COST_DENSITY] = {1, "", " % of it solid"},
    [COST_FOLDED] = {0, NULL, NULL},
    [COST_STEPS] = {1, "press.steps ", ""},
    [COST_STRAIN] = {1, "pressed to ", " %"},
    [COST_SPACE] = {0, NULL, NULL},
    [COST_SPACE_SIZE] = {0, NULL, NULL},
    [COST_FRICTION] = {0, "friction between struts", ""},
    [COST_UNLOAD] = {0, "the way back", ""},
};

/* The search takes next to nothing or several times the press: half of those measured took less
 * than 0.23 of it, a tenth took more than 2.5. Nothing that is known before the press says which.
 */
static const double search_share = 0.3;
/* What a kind of press takes, as a share of what as many struts in space do, and between which
 * shares of that nine of ten such presses lie. */
typedef struct kind_share {
    double more, low, high;
} kind_share;
/* These were pressed by `make told` (benchmarks/speed/told.csv). */
static const kind_share panels_share = {4.3, 0.4, 3}, in_time_share = {1, 0.34, 4.5};
/* Layers pressed through their stack: four random coupons took 6 to 37 times. */
static const kind_share stack_share = {12, 0.5, 3.2};
/* Factor of press.branches: 7 to 22 times the factorizations (benchmarks/physics/branches.csv). */
static const double branches_more = 10;

/* ln(stress / modulus) = k0 + k1 ln p + k2 ln e + k3 p e, p the solid fraction, e the strain: in
 * the plane, in space. */
static const double stress_fit[2][4] = {{-1.93, 3.33, 0.09, 5.79}, {-0.11, 2.72, 0.92, -0.19}};

static const double bytes_of_a_run = 12.3e6; /* program, libraries, curve [B] */
static const double small_more = 1.4; /* small coupons take more per element than large ones */
static const double seconds_of_solid_step = 1e-5;

/* The features are near 0 for a usual press: a planar coupon of 1000 unknowns, one fifth of it
 * solid, 200 steps to 60 %. */
static void take_features(const cost *c, double feature[COST_COUNT])
{
    const sp_case *request = c->request;
    const double size = log(fmax(30, c->unknowns) / 1000);
    const int space = c->dimension == 3;
    feature[COST_CONSTANT] = 1;
    feature[COST_SIZE] = size;
    feature[COST_DENSITY] = log(fmax(0.01, c->density) / 0.2);
    feature[COST_FOLDED] = c->density * c->strain * c->strain;
    feature[COST_STEPS] = log(request->steps / 200.0);
    feature[COST_STRAIN] = log(fmax(0.01, c->strain) / 0.6);
    feature[COST_SPACE] = space;
    feature[COST_SPACE_SIZE] = space ? size : 0;
    feature[COST_FRICTION] = request->strut_friction > 0;
    feature[COST_UNLOAD] = request->unload;
}

static double number_of(const cost *c, int row)
{
    return row == COST_SIZE      ? c->struts
           : row == COST_DENSITY ? 100 * c->density
           : row == COST_STEPS   ? c->request->steps
                                 : 100 * c->strain;
}

/* ---- what makes a press long ----------------------------------------------- */

/* Ln of the factor by which a feature makes a press longer. */
static const double worth_a_word = 0.4;

static void say_row(const cost *c, int row, char *text, size_t size)
{
    if (rows[row].number)
        snprintf(text, size, "%s%.0f%s", rows[row].before, number_of(c, row), rows[row].after);
    else
        snprintf(text, size, "%s", rows[row].before);
}

/* Find the two features that make a press longest. */
static void find_reason(const cost *c, const double *feature, char *reason)
{
    char text[2][64] = {"", ""};
    int first = -1, second = -1;
    double share[COST_COUNT];
    for (int i = 0; i < COST_COUNT; i++) {
        share[i] = sp_forecast_fit[i] * feature[i];
        if (i == COST_SIZE) share[i] += sp_forecast_fit[COST_SPACE_SIZE] * feature[COST_SPACE_SIZE];
        if (!rows[i].before || share[i] < worth_a_word) continue;
        if (first < 0 || share[i] > share[first]) {
            second = first;
            first = i;
        } else if (second < 0 || share[i] > share[second]) {
            second = i;
        }
    }
    if (first >= 0) say_row(c, first, text[0], sizeof text[0]);
    if (second >= 0) say_row(c, second, text[1], sizeof text[1]);
    snprintf(reason, SP_FORECAST_REASON_SIZE, "%s%s%s", text[0], second >= 0 ? " and " : "",
             text[1]);
}

/* ---- the forecast ----------------------------------------------- */

/* Return the stress over the modulus of the law at a strain: a power of the solid fraction, in the
 * plane and in space, fitted as above. */
static double stress_share(const cost *c, double strain)
{
    const double *k = stress_fit[c->dimension - 2];
    return exp(k[0] + k[1] * log(c->density) + k[2] * log(strain) + k[3] * c->density * strain);
}

/* Find where the load limit ends the press. */
static double end_strain(const cost *c)
{
    const sp_case *request = c->request;
    const double limit = request->load_limit / (request->width * request->depth * c->modulus);
    double low = 0, high = request->strain;
    if (!(limit < INFINITY) || stress_share(c, high) <= limit) return high;
    for (int i = 0; i < 40; i++) {
        const double middle = 0.5 * (low + high);
        if (stress_share(c, middle) > limit)
            high = middle;
        else
            low = middle;
    }
    return high;
}

/* Count the segments of a protocol: each takes as long as a press. */
static int count_segments(const sp_case *request)
{
    sp_context quiet = {0};
    sp_protocol protocol;
    const sp_status status = sp_protocol_of_case(&quiet, request, &protocol);
    return status == SP_OK ? protocol.count : 1;
}

static kind_share share_of(const sp_case *request, const sp_forecast *forecast)
{
    const kind_share plain = {1, sp_forecast_band[0], sp_forecast_band[1]};
    return forecast->panels && request->layers > 0 ? stack_share
           : forecast->panels                      ? panels_share
           : forecast->in_time                     ? in_time_share
                                                   : plain;
}

/* Contacts are kept, too: their memory grows with the solid fraction and the square of the
 * strain, and friction has grips to keep. */
static double expect_bytes(const cost *c)
{
    const double *fit = sp_forecast_bytes;
    const int grips = (c->request->strut_friction > 0) + (c->request->platen_friction > 0);
    return bytes_of_a_run + small_more * sp_model_bytes(c->dimension, c->elements) +
           fit[0] * c->elements * c->density * c->strain * c->strain * exp(fit[1] * grips);
}

static void settle(cost *c, sp_forecast *forecast)
{
    double feature[COST_COUNT], sum = 0;
    c->strain = end_strain(c);
    take_features(c, feature);
    for (int i = 0; i < COST_COUNT; i++) sum += sp_forecast_fit[i] * feature[i];
    forecast->dimension = c->dimension;
    forecast->struts = c->struts;
    forecast->elements = c->elements;
    forecast->unknowns = c->unknowns;
    forecast->strain = c->strain;
    forecast->seconds = exp(sum);
    forecast->bytes = expect_bytes(c);
    forecast->searches = c->request->find_critical && c->request->flaw_seed;
    if (forecast->searches) forecast->seconds *= 1 + search_share;
    forecast->panels = c->request->press_direction == SP_PRESS_ALONG;
    forecast->in_time = sp_protocol_takes_time(c->request);
    forecast->branches = c->request->branches && !forecast->panels;
    if (forecast->branches) forecast->seconds *= branches_more;
    if (forecast->in_time) forecast->seconds *= count_segments(c->request);
    const kind_share share = share_of(c->request, forecast);
    forecast->seconds *= share.more;
    forecast->low = share.low * forecast->seconds;
    forecast->high = share.high * forecast->seconds;
    find_reason(c, feature, forecast->reason);
}

/* The block without holes is pressed in closed form. */
static void settle_solid(const sp_case *request, sp_forecast *forecast)
{
    *forecast = (sp_forecast){.built = 1,
                              .dimension = 3,
                              .seconds = seconds_of_solid_step * request->steps,
                              .bytes = bytes_of_a_run,
                              .strain = request->strain};
    forecast->low = 0.5 * forecast->seconds;
    forecast->high = 2 * forecast->seconds;
}

sp_status sp_forecast_network(sp_context *context, const sp_case *request,
                              const sp_network *network, sp_forecast *forecast)
{
    const sp_model_options mesh = sp_mesh_of(request);
    sp_law law = {0};
    sp_model model = {0};
    *forecast = (sp_forecast){.built = 1};
    if (network->built == SP_BUILT_SOLID) {
        settle_solid(request, forecast);
        return SP_OK;
    }
    sp_status status = sp_law_prepare(context, request, &law);
    if (status == SP_OK) status = sp_model_build(context, network, &law, &mesh, &model);
    if (status == SP_OK) {
        cost c = {.request = request,
                  .dimension = network->dimension,
                  .struts = network->strut_count,
                  .elements = model.element_count,
                  .unknowns = model.unknown_count,
                  .density = network->solid_fraction,
                  .modulus = law.modulus};
        settle(&c, forecast);
    }
    sp_model_free(&model);
    sp_law_free(&law);
    return status;
}

/* ---- the forecast by a coarse press ----------------------------------------------- */

enum { TRY_ELEMENTS = 2, TRY_STEPS = 20 }; /* per strut; the fewest steps */
static const int try_coarser = 4;          /* steps of the press to one of the coarse one */

static const double worth_trying = 1; /* [s], of a forecast from the case alone */

typedef struct trial {
    sp_context *outer;
    double begin, most; /* processor time [s] */
    double clock;       /* when it began */
    /* last report: the share of its time that it had taken; then its time left, at least and at
     * most, as shares of the time gone by */
    double share, low, high;
    volatile sig_atomic_t stop;
} trial;

static double thread_seconds(void)
{
    struct timespec t;
    clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void take_left(void *user, double low, double high)
{
    trial *run = user;
    const double gone = fmax(1e-3, sp_clock_seconds() - run->clock);
    run->low = low / gone;
    run->high = high / gone;
}

static void watch_trial(void *user, double share, const char *text)
{
    trial *run = user;
    (void)text;
    if (share > 0) run->share = share;
    const volatile sig_atomic_t *interrupt = run->outer->interrupt;
    if (thread_seconds() - run->begin > run->most || (interrupt && *interrupt)) run->stop = 1;
    sp_begin(run->outer, "pressing coarsely, to tell the time");
}

/* Return the seconds that the press takes, from those of the coarse one. */
static double scale_trial(const sp_case *request, const sp_forecast *forecast, double seconds,
                          double elements)
{
    const double *fit = sp_forecast_try_fit;
    return exp(fit[0] + fit[1] * log(fmax(1e-4, seconds)) +
               fit[2] * log(fmax(1, forecast->elements / fmax(1, elements))) +
               fit[3] * log(request->steps / 200.0) + fit[4] * log(forecast->seconds));
}

/* The coarse press came to its end. */
static void take_whole(const sp_case *request, double took, double elements, sp_forecast *forecast)
{
    const double seconds = scale_trial(request, forecast, took, elements);
    forecast->tried_elements = elements;
    forecast->tried_share = 1;
    forecast->seconds = seconds;
    forecast->low = sp_forecast_try_band[0] * seconds;
    forecast->high = sp_forecast_try_band[1] * seconds;
}

/* It was stopped: what it had left is not known as well as what it had taken, and the press takes
 * longer than the time that has gone by. */
static void take_part(const sp_case *request, const trial *run, double took, double elements,
                      sp_forecast *forecast)
{
    const double least = scale_trial(request, forecast, took, elements);
    if (!(run->share > 0) || !(run->high > 0)) {
        forecast->seconds = fmax(forecast->seconds, least);
        forecast->low = fmax(forecast->low, sp_forecast_try_band[0] * least);
        forecast->high = fmax(forecast->high, forecast->seconds * sp_forecast_band[1]);
        return;
    }
    const double low = scale_trial(request, forecast, took * (1 + run->low), elements),
                 high = scale_trial(request, forecast, took * (1 + run->high), elements);
    forecast->seconds = scale_trial(request, forecast, took / run->share, elements);
    forecast->tried_elements = elements;
    forecast->tried_share = run->share;
    forecast->low = sp_forecast_try_band[0] * fmin(low, forecast->seconds);
    forecast->high = sp_forecast_try_band[1] * fmax(high, forecast->seconds);
}

static int was_measured(const sp_forecast *forecast)
{
    return forecast->elements >= 1 && !forecast->panels && !forecast->in_time &&
           !forecast->branches;
}

int sp_forecast_is_worth_trying(const sp_forecast *forecast)
{
    return was_measured(forecast) && forecast->seconds > worth_trying;
}

/* Count the elements of the coarse mesh. */
static sp_status count_coarse(sp_context *context, const sp_case *coarse, const sp_network *network,
                              double *elements)
{
    sp_forecast count;
    const sp_status status = sp_forecast_network(context, coarse, network, &count);
    *elements = status == SP_OK ? count.elements : 0;
    return status;
}

sp_status sp_forecast_try(sp_context *context, const sp_resolved *resolved,
                          const sp_network *network, double seconds, sp_forecast *forecast)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    trial run = {
        .outer = context, .begin = thread_seconds(), .most = seconds, .clock = sp_clock_seconds()};
    sp_context own = {
        .interrupt = &run.stop, .progress = watch_trial, .left = take_left, .user = &run};
    const sp_case *request = &resolved->request;
    sp_resolved coarse = *resolved; /* the drawing still belongs to the original */
    sp_result result;
    double elements;
    if (!was_measured(forecast)) return SP_OK;
    if (request->elements_per_strut != 1) coarse.request.elements_per_strut = TRY_ELEMENTS;
    if (request->steps > TRY_STEPS)
        coarse.request.steps =
            request->steps > try_coarser * TRY_STEPS ? request->steps / try_coarser : TRY_STEPS;
    const int threads = omp_get_max_threads();
    omp_set_num_threads(1);
    sp_status status = count_coarse(&own, &coarse.request, network, &elements);
    if (status == SP_OK) status = sp_result_press_network(&own, &coarse, network, &result);
    omp_set_num_threads(threads);
    const double took = thread_seconds() - run.begin;
    if (status == SP_OK && (run.stop || result.path.step_count > 1)) {
        forecast->tried = took;
        if (run.stop)
            take_part(request, &run, took, elements, forecast);
        else
            take_whole(request, took, elements, forecast);
    }
    if (status == SP_OK) sp_result_clear(&result);
    if (context->interrupt && *context->interrupt)
        return sp_fail(context, SP_INTERRUPTED, "interrupted in a coarse press");
    return status == SP_NO_MEMORY ? sp_fail(context, status, "%s", own.message) : SP_OK;
}

/* ---- without the network ----------------------------------------------- */

/* Count the struts, and the elements, of struts of this length and thickness in all. */
static void count_mesh(cost *c, double struts, double free_length, double thickness)
{
    const sp_model_options mesh = sp_mesh_of(c->request);
    c->struts += struts;
    const int in_space = c->dimension == 3 && c->request->layers == 0;
    c->elements += struts * sp_model_elements(&mesh, in_space, fmax(0, free_length), thickness);
}

static void count_cells(cost *c, const sp_spatial_count *cells)
{
    const sp_case *request = c->request;
    const double volume = request->width * request->height * request->depth;
    const double diameter = cells->diameter;
    c->dimension = 3;
    c->density = cells->struts * cells->length * M_PI / 4 * diameter * diameter / volume;
    count_mesh(c, cells->struts, cells->length - diameter, diameter);
}

/* Return the pieces of a wave from rib to rib; wavy.c takes more of them where waves are steep. */
static const int pieces_of_a_wave = 8;

/* An infill of density p and bead t has lines of length p/t per area; the line density of its
 * pattern then gives the length of a cell. */
static void count_infill(cost *c, const sp_pattern_row *pattern)
{
    const sp_case *request = c->request;
    const double t = request->bead_width, wall = request->wall_beads * t;
    const double width = fmax(t, request->width - 2 * wall),
                 height = fmax(t, request->height - 2 * wall);
    const double length = request->density / t * width * height;
    const double density = pattern->line_density(request);
    const double cell = isfinite(density) && density > 0 ? density * t / request->density : 4 * t;
    const double solid = request->width * request->height - (1 - request->density) * width * height;
    const int layers = request->layers > 0 ? request->layers : 1;
    c->dimension = request->layers > 0 ? 3 : 2;
    c->density = fmin(1, solid / (request->width * request->height));
    if (strcmp(pattern->name, "wavy")) /* its waves are struts from bend to bend */
        count_mesh(c, layers * length / cell, cell - t, t);
    else
        count_mesh(c, layers * pieces_of_a_wave * length / cell, cell / pieces_of_a_wave, t);
    if (wall > 0) count_mesh(c, layers * 2 * (width + height) / cell, cell - t, wall);
    if (layers > 1) /* every crossing is a bond and cuts both struts */
        count_mesh(c, (layers - 1) * length * length / (4 * width * height), t, t);
}

/* Walls along the load have four bars and a joint for each cell of their frameworks. */
static void count_panels(cost *c, const sp_pattern_row *pattern)
{
    const sp_case *request = c->request;
    const double t = request->bead_width, wall = request->wall_beads * t;
    const double density = pattern->line_density(request);
    const double cell = isfinite(density) && density > 0 ? density * t / request->density : 4 * t;
    const double block = request->block > 0 ? request->block * cell : INFINITY;
    const double width = fmin(block, fmax(t, request->width - 2 * wall)),
                 depth = fmin(block, fmax(t, request->depth - 2 * wall)),
                 area = request->width * request->depth;
    const double length =
        request->density / t * width * depth + (wall > 0 ? 2 * (width + depth) : 0);
    const int across = request->elements_per_strut;
    const double side = across > 0 ? cell / across : fmax(cell / 4, 1.25 * t);
    c->dimension = 3;
    c->density = fmin(1, (area - (1 - request->density) * width * depth) / area);
    c->struts = c->elements = 4 * length / side * fmax(4, ceil(request->height / side));
    c->unknowns = SP_SPATIAL_UNKNOWNS * c->elements / 4;
}

/* Lines that cross or lie on each other are cut, so only the network says how many struts a drawing
 * has. */
static sp_status expect_drawn(sp_context *context, const sp_resolved *resolved,
                              sp_forecast *expected)
{
    sp_network network = {0};
    sp_status status = sp_resolved_network(context, resolved, 0, &network);
    if (status == SP_OK)
        status = sp_forecast_network(context, &resolved->request, &network, expected);
    sp_network_free(&network);
    expected->built = 0;
    return status;
}

static sp_status expect_infill(sp_context *context, const sp_resolved *resolved,
                               const sp_spatial_count *cells, sp_forecast *expected)
{
    cost c = {.request = &resolved->request};
    sp_law law = {0};
    const sp_status status = sp_law_prepare(context, c.request, &law);
    if (status != SP_OK) return status;
    c.modulus = law.modulus;
    sp_law_free(&law);
    if (cells->struts > 0)
        count_cells(&c, cells);
    else if (resolved->built == SP_BUILT_PANELS)
        count_panels(&c, sp_pattern_find(c.request->pattern));
    else
        count_infill(&c, sp_pattern_find(c.request->pattern));
    if (!(c.unknowns > 0))
        c.unknowns = (c.dimension == 3 ? 6 : 3) * fmax(1, c.elements - 0.4 * c.struts);
    settle(&c, expected);
    return SP_OK;
}

sp_status sp_expect(sp_context *context, const sp_resolved *resolved, const sp_spatial_count *cells,
                    sp_forecast *expected)
{
    sp_context quiet = {.interrupt = context ? context->interrupt : NULL};
    sp_status status = SP_OK;
    *expected = (sp_forecast){0};
    if (resolved->built == SP_BUILT_SOLID)
        settle_solid(&resolved->request, expected);
    else if (!strcmp(resolved->request.pattern, "drawn") ||
             !strcmp(resolved->request.pattern, SP_PRINTED_NAME))
        status = expect_drawn(&quiet, resolved, expected);
    else
        status = expect_infill(&quiet, resolved, cells, expected);
    if (status != SP_OK) *expected = (sp_forecast){0};
    return status == SP_NO_MEMORY || status == SP_INTERRUPTED
               ? sp_fail(context, status, "%s", quiet.message)
               : SP_OK;
}

enum { SUM_COUPONS = 10 }; /* of the plans that were measured */

sp_forecast_all sp_forecast_of_all(double sum, int coupons)
{
    const double share = fmin(1, fmax(0, (coupons - 1.0) / (SUM_COUPONS - 1)));
    const double seconds = sum * pow(sp_forecast_sum, share);
    return (sp_forecast_all){
        seconds,
        seconds * pow(sp_forecast_sum_band[0], share) * pow(sp_forecast_band[0], 1 - share),
        seconds * pow(sp_forecast_sum_band[1], share) * pow(sp_forecast_band[1], 1 - share)};
}

double sp_forecast_without_search(const sp_forecast *forecast)
{
    return forecast->seconds / (forecast->searches ? 1 + search_share : 1);
}

/* ---- in words ----------------------------------------------- */

void sp_forecast_time_text(double seconds, char *text, size_t size)
{
    static const struct {
        double above, unit;
        const char *name;
    } unit[] = {{2 * 86400, 86400, "days"}, {2 * 3600, 3600, "h"}, {120, 60, "min"}, {0, 1, "s"}};
    int i = 0;
    while (seconds < unit[i].above) i++;
    const double value = seconds / unit[i].unit;
    if (value < 0.1)
        snprintf(text, size, "under 0.1 s");
    else
        snprintf(text, size, value < 10 ? "%.2g %s" : "%.0f %s", value, unit[i].name);
}

void sp_forecast_range_text(double low, double high, char *text, size_t size)
{
    char from[32], to[32];
    sp_forecast_time_text(low, from, sizeof from);
    sp_forecast_time_text(high, to, sizeof to);
    char *unit = strrchr(from, ' ');
    const char *same = strrchr(to, ' ');
    const int alike = !strcmp(from, to);
    if (unit && same && !strcmp(unit, same)) *unit = '\0';
    snprintf(text, size, "%s%s%s", alike ? "" : from, alike ? "" : " to ", to);
}

void sp_forecast_left_text(double low, double high, char *text, size_t size)
{
    static const double narrow_range = 1.6;
    char range[72];
    const int narrow = high <= narrow_range * low;
    if (narrow)
        sp_forecast_time_text(sqrt(low * high), range, sizeof range);
    else
        sp_forecast_range_text(low, high, range, sizeof range);
    snprintf(text, size, "%s%s left", narrow ? "about " : "", range);
}

void sp_forecast_text(const sp_forecast *forecast, char *text, size_t size)
{
    char time[32], range[80], band[300], tried[32] = "";
    const double share = forecast->tried_share;
    sp_forecast_time_text(forecast->seconds, time, sizeof time);
    sp_forecast_range_text(forecast->low, forecast->high, range, sizeof range);
    sp_forecast_time_text(forecast->tried, tried, sizeof tried);
    const int begun = snprintf(band, sizeof band, "9 of 10 such coupons take %s; ", range);
    char *how = band + begun;
    const size_t room = sizeof band - (size_t)begun;
    if (share >= 1)
        snprintf(how, room, "found by a coarse press of %s on this machine, as busy as it is",
                 tried);
    else if (share > 0)
        snprintf(how, room,
                 "found by the first %s of a coarse press on this machine, about %.0f %% of it",
                 tried, 100 * share);
    else if (forecast->tried > 0)
        snprintf(how, room, "found from the case alone; a coarse press showed nothing in %s",
                 tried);
    else
        snprintf(how, room, "found from the case alone");
    snprintf(text, size, "%s and %.0f MB on a workstation core; %s%s%s%s%s", time,
             1e-6 * forecast->bytes, band, forecast->reason[0] ? "; most of it: " : "",
             forecast->reason,
             forecast->searches && !(share > 0) ? "; the search for the critical step may double it"
                                                : "",
             forecast->branches
                 ? "; of that nine tenths are the search for other stable states (press.branches)"
                 : "");
}
