/* Make a cushion curve: one slow press, and a drop on a fresh coupon for every mass and height. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/protocol.h>
#include <strutpress/run.h>

#include "base/alloc.h"
#include "case/case_parts.h"
#include "cushion/cushion_parts.h"
#include "measure/stages.h"

static const double about_the_best[] = {0.5, 1, 2};

double sp_cushion_peak(const sp_cushion *cushion, int i, double fall, double *mass)
{
    const cushion_state *s = &cushion->state[i];
    const double weight = s->work / (fall + s->shortening);
    *mass = weight / SP_GRAVITY;
    return s->force / weight;
}

int sp_cushion_best(const sp_cushion *cushion, double fall)
{
    int best = 0;
    double least = INFINITY, mass;
    for (int i = 1; i < cushion->count; i++) {
        const double peak = sp_cushion_peak(cushion, i, fall, &mass);
        if (peak < least) {
            least = peak;
            best = i;
        }
    }
    return best;
}

double sp_cushion_peak_of(const sp_cushion *cushion, double fall, double mass)
{
    const double weight = mass * SP_GRAVITY;
    for (int i = 1; i < cushion->count; i++) {
        const cushion_state *a = &cushion->state[i - 1], *b = &cushion->state[i];
        const double before = a->work - weight * (fall + a->shortening),
                     after = b->work - weight * (fall + b->shortening);
        if (after < 0) continue;
        const double share = after > before ? -before / (after - before) : 1;
        return (a->force + share * (b->force - a->force)) / weight;
    }
    return NAN;
}

/* --- reading the options --- */

/* Read quantities with commas between them; `unit` is what they are read in. Returns how many there
 * are, 0 when they are invalid. */
static int read_list(const char *text, const char *unit, double low, double high, int most,
                     double *value)
{
    int count = 0;
    for (const char *at = text; at;) {
        char one[40];
        const char *comma = strchr(at, ',');
        size_t length = comma ? (size_t)(comma - at) : strlen(at);
        while (length && *at == ' ') at++, length--;
        if (!length || length >= sizeof one || count == most) return 0;
        snprintf(one, sizeof one, "%.*s", (int)length, at);
        const char last = one[length - 1];
        if ((last >= '0' && last <= '9') || !sp_case_unit_parse(unit, one, &value[count]) ||
            !(value[count] >= low && value[count] <= high))
            return 0;
        count++;
        at = comma ? comma + 1 : NULL;
    }
    return count;
}

int sp_cushion_read_heights(const char *text, sp_cushion_asked *asked)
{
    asked->height_count = read_list(text, "mm", 1, 1e5, SP_CUSHION_HEIGHTS, asked->height);
    return asked->height_count > 0;
}

int sp_cushion_read_masses(const char *text, sp_cushion_asked *asked)
{
    asked->mass_count = read_list(text, "g", 0.1, 1e7, SP_CUSHION_MASSES, asked->mass);
    for (int i = 0; i < asked->mass_count; i++) asked->mass[i] *= 1e-3;
    return asked->mass_count > 0;
}

/* --- pressing --- */

static void plain(const char *key, sp_case *request)
{
    request->origin[sp_case_row_find(key)] = SP_ORIGIN_DEFAULT;
}

static sp_status run(sp_context *context, const sp_case *request, sp_result **result)
{
    /* A forecast of every press would disturb the progress line. */
    void (*const say)(void *, const char *) = context->say;
    context->say = NULL;
    const sp_status status = sp_run(context, request, result);
    context->say = say;
    if (status != SP_OK || sp_result_stop(*result) != SP_STOP_INTERRUPTED) return status;
    sp_result_free(*result);
    *result = NULL;
    return sp_fail(context, SP_INTERRUPTED, "interrupted; nothing is written");
}

static sp_status press_slowly(sp_context *context, const sp_case *given, sp_cushion *c)
{
    sp_case request = *given;
    sp_result *result;
    int count;
    request.protocol[0] = '\0';
    request.unload = request.find_critical = 0;
    sp_begin(context, "pressing slowly");
    sp_status status = run(context, &request, &result);
    if (status != SP_OK) return status;
    const sp_step *step = sp_result_steps(result, &count);
    const sp_path *path = sp_result_path(result);
    c->state = sp_alloc((size_t)count, sizeof *c->state);
    if (!c->state) status = sp_fail(context, SP_NO_MEMORY, "no memory for a cushion curve");
    for (int i = 0; status == SP_OK && i < count; i++) {
        if (i > 0 && !(step[i].work > 0)) continue;
        const double before = c->count ? c->state[c->count - 1].force : 0;
        c->state[c->count++] =
            (cushion_state){step[i].shortening, step[i].work, fmax(before, step[i].force)};
    }
    c->area = path->size[0] * path->size[2];
    c->height = path->size[1];
    if (status == SP_OK && path->stage_count > 0) c->speed = given->press_speed / 60 / c->height;
    if (status == SP_OK && c->count < 3)
        status = sp_fail(context, SP_GAVE_UP, "the press ends before anything is absorbed: %s",
                         sp_result_reason(result));
    sp_result_free(result);
    return status;
}

static sp_status drop(sp_context *context, const sp_case *given, sp_cushion *c, int height,
                      double mass)
{
    sp_case request = *given;
    sp_result *result;
    cushion_drop *d = &c->drop[c->drop_count++];
    *d = (cushion_drop){.height = height, .mass = mass, .rebound = NAN};
    plain("press.strain", &request);
    plain("press.unload", &request);
    request.unload = request.find_critical = 0;
    snprintf(request.protocol, sizeof request.protocol, "drop %.9g g from %.9g mm", 1e3 * mass,
             c->asked.height[height]);
    sp_begin(context, "dropping");
    const sp_status status = run(context, &request, &result);
    if (status != SP_OK) return status;
    const sp_path *path = sp_result_path(result);
    const sp_stage *stage = sp_stage_first(path, SP_SEGMENT_DROP);
    if (stage && stage->last > sp_stage_deepest(path, stage)) {
        const sp_impact impact = sp_stage_impact(path, stage);
        d->told = 1;
        d->peak = impact.peak_share;
        d->depth = impact.deepest / c->height;
        d->bottoming = sp_stage_bottoming(path, stage);
        if (stage->reached) d->rebound = impact.rebound;
    }
    sp_result_free(result);
    return SP_OK;
}

sp_status sp_cushion_press(sp_context *context, const sp_case *request,
                           const sp_cushion_asked *asked, sp_cushion **cushion)
{
    sp_cushion *c = sp_alloc(1, sizeof *c);
    *cushion = NULL;
    if (!c) return sp_fail(context, SP_NO_MEMORY, "no memory for a cushion curve");
    c->asked = *asked;
    c->knows_rate = request->relaxation_exponent > 0 || request->relaxation_set > 0 ||
                    request->relaxation_shares.count > 0 || request->flow_share > 0 ||
                    request->second_flow_share > 0 || request->filament[0];
    sp_status status = press_slowly(context, request, c);
    for (int h = 0; status == SP_OK && h < asked->height_count; h++) {
        double best;
        const int masses = asked->mass_count ? asked->mass_count : 3;
        sp_cushion_peak(c, sp_cushion_best(c, asked->height[h]), asked->height[h], &best);
        for (int m = 0; status == SP_OK && m < masses; m++)
            status = drop(context, request, c, h,
                          asked->mass_count ? asked->mass[m] : about_the_best[m] * best);
    }
    if (status == SP_OK)
        *cushion = c;
    else
        sp_cushion_free(c);
    return status;
}

void sp_cushion_free(sp_cushion *cushion)
{
    if (!cushion) return;
    sp_free(cushion->state);
    sp_free(cushion);
}
