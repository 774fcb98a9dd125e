/* The straight line, top to bottom. */
#include "run/result.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <strutpress/protocol.h>
#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "base/memory.h"
#include "base/poll.h"
#include "law/law.h"
#include "model/model.h"
#include "press/press.h"
#include "run/corners.h"
#include "run/mesh.h"
#include "solid/solid.h"
#include "state/equilibrium.h"

static const int kept_shapes = 32;

/* Refuse what does not fit into memory before anything large is made of it. */
static sp_status expect_memory(sp_context *context, const sp_forecast *expected)
{
    char what[80];
    snprintf(what, sizeof what, "a press of %.3g struts, %.0f elements each,", expected->struts,
             expected->elements / fmax(1, expected->struts));
    return sp_memory_expect(context, expected->bytes, what);
}

static const double farthest = 0.95; /* strain to which a press to a force goes at most */

/* A press in time goes to the target of its first segment. */
static void take_protocol(const sp_case *request, const sp_protocol *protocol,
                          sp_press_options *options)
{
    const sp_segment *first = &protocol->segment[0];
    if (!sp_protocol_takes_time(request)) return;
    options->protocol = protocol;
    options->strain = first->to_strain >= 0   ? first->to_strain
                      : first->to_travel >= 0 ? first->to_travel / request->height
                                              : farthest;
    if (first->to_force > 0) options->load_limit = fmin(options->load_limit, first->to_force);
}

/* A search for the critical step that has factored so often, and taken so long (half a minute),
 * moves from one jump of a grip to the next: it ends there, and the press goes on. */
static const int search_factorizations = 2500;
static const double search_unknowns = 1.2e7;

/* What tells the time left of a run: its search and its press together. */
typedef struct timing {
    sp_pace pace;
    sp_guide *guide; /* NULL: none */
    sp_pace_plan plan;
} timing;

static void begin_timing(const sp_resolved *resolved, sp_guide *guide, timing *time)
{
    const sp_forecast *expected = &resolved->expected;
    const double told = expected->seconds > 0 ? expected->seconds : 1;
    *time = (timing){.guide = guide,
                     .plan = {.forecast = sp_forecast_without_search(expected),
                              .low = expected->low / told,
                              .high = expected->high / told}};
}

/* Press one network of the case under its law. */
static sp_status press_network(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                               const sp_network *network, int follow_perfect, int stop_at_critical,
                               timing *time, sp_path *path)
{
    const sp_case *request = &resolved->request;
    const sp_model_options mesh = sp_mesh_of(request);
    sp_protocol protocol;
    sp_press_options options = {.strain = request->strain,
                                .load_limit = request->load_limit,
                                .steps = request->steps,
                                .follow_perfect = follow_perfect,
                                .stop_at_critical = stop_at_critical,
                                .search_factorizations = search_factorizations,
                                .search_unknowns = search_unknowns,
                                .unload = request->unload && !stop_at_critical,
                                .branches = request->branches && !stop_at_critical &&
                                            !sp_built_is_flat(network->built),
                                .frames = stop_at_critical ? 0 : kept_shapes,
                                .pace = &time->pace,
                                .guide = time->guide,
                                .plan = time->plan};
    sp_model model;
    sp_widths widths = {0};
    sp_status status = sp_protocol_of_case(context, request, &protocol);
    if (status == SP_OK) status = sp_model_build(context, network, law, &mesh, &model);
    if (status != SP_OK) return status;
    take_protocol(request, &protocol, &options);
    const int drops = options.protocol && protocol.segment[0].kind == SP_SEGMENT_DROP;
    if (!stop_at_critical && !drops)
        status = sp_widths_build(context, resolved, law, &model, &widths);
    if (widths.width > 0) options.width = &widths.pair;
    if (status == SP_OK) status = sp_press(context, &model, &options, path);
    path->width.width = widths.width;
    sp_widths_free(&widths);
    sp_model_free(&model);
    return status;
}

/* The critical step belongs to the coupon without flaws, which is pressed up to it on its own. */
static sp_status find_critical(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                               timing *time, sp_result *result)
{
    const sp_status status = sp_resolved_network(context, resolved, 0, &result->plain);
    if (status != SP_OK) return status;
    return press_network(context, resolved, law, &result->plain, 1, 1, time, &result->perfect);
}

sp_status sp_result_measure(sp_context *context, sp_result *result)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    sp_free(result->measure);
    result->measure = sp_alloc((size_t)count, sizeof *result->measure);
    if (!result->measure) return sp_fail(context, SP_NO_MEMORY, "no memory for %d measures", count);
    result->measure_count = count;
    for (int i = 0; i < count; i++)
        result->measure[i] =
            sp_measure_take(&row[i], &result->path, &result->network, &result->request);
    return SP_OK;
}

sp_status sp_result_share_critical(sp_context *context, const sp_result *from, sp_result *to)
{
    to->request.find_critical = from->request.find_critical;
    if (!from->perfect.step_count || !to->path.step_count) return SP_OK;
    to->path.critical = from->perfect.critical;
    return sp_result_measure(context, to);
}

void sp_result_move_perfect(sp_result *from, sp_result *to)
{
    sp_path_free(&to->perfect);
    to->perfect = from->perfect;
    from->perfect = (sp_path){0};
    if (to->plain.joint_count) return;
    to->plain = from->plain;
    from->plain = (sp_network){0};
}

/* The forecast is reported before the press; when it cannot be made, the press goes on. */
static void say_forecast(sp_context *context, const sp_case *request, const sp_network *network)
{
    sp_watch part;
    sp_forecast forecast;
    char text[SP_MESSAGE_SIZE];
    if (!context || !context->say) return;
    sp_watch_part(&part, context, 0, "forecasting the press");
    if (sp_forecast_network(&part.inner, request, network, &forecast) != SP_OK) return;
    sp_forecast_text(&forecast, text, sizeof text);
    sp_say(context, "%s", text);
}

/* Press the infill: up to its critical step without flaws, then to its end with them. */
static sp_status press_infill(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                              sp_guide *guide, sp_result *result)
{
    timing time;
    const sp_case *asked = &resolved->request;
    const int flaws = asked->flaw_seed != 0;
    sp_status status = SP_OK;
    begin_timing(resolved, guide, &time);
    if (asked->find_critical && flaws) {
        status = find_critical(context, resolved, law, &time, result);
        /* a search that found nothing leaves the press as it is */
        if (status == SP_OK && result->perfect.end == SP_STOP_INTERRUPTED)
            status = sp_fail(context, SP_INTERRUPTED,
                             "interrupted in the search for the critical step, before the press; "
                             "there is no curve");
    }
    /* The writers get the coupon without flaws from the drawing that was read, since its file may
     * change while the coupon is pressed. */
    if (status == SP_OK && flaws && resolved->drawing && !result->plain.joint_count)
        status = sp_resolved_network(context, resolved, 0, &result->plain);
    if (status == SP_OK) status = sp_corners_take(context, resolved, law, &result->corners);
    if (status == SP_OK)
        status = press_network(context, resolved, law, &result->network,
                               asked->find_critical && !flaws, 0, &time, &result->path);
    if (status == SP_OK && result->perfect.step_count > 0 && result->path.step_count > 0)
        result->path.critical = result->perfect.critical;
    if (status == SP_OK && guide && result->path.end != SP_STOP_INTERRUPTED)
        sp_guide_put(guide, &time.pace, 1);
    return status;
}

/* Press into a result. `built`: the network with its flaws, which the result gets a view of; NULL:
 * it is built, and is the result's. */
static sp_status press_resolved(sp_context *context, const sp_resolved *resolved,
                                const sp_network *built, sp_guide *guide, sp_result *result)
{
    const sp_case *asked = &resolved->request;
    sp_law law = {0};
    sp_solid solid = {0};
    memset(result, 0, sizeof *result);
    result->request = *asked;
    if (built) result->network = *built;
    sp_status status = sp_law_prepare(context, asked, &law);
    if (status == SP_OK) status = sp_solid_prepare(context, asked, &solid);
    if (status == SP_OK) status = expect_memory(context, &resolved->expected);
    if (status == SP_OK) sp_begin(context, "building the network");
    if (status == SP_OK && !built)
        status = sp_resolved_network(context, resolved, asked->flaw_seed != 0, &result->network);
    if (status == SP_OK) status = sp_poll_now(context, "the network was finished");
    if (status == SP_OK) say_forecast(context, asked, &result->network);
    if (status == SP_OK)
        status = resolved->built == SP_BUILT_SOLID
                     ? sp_solid_press(context, asked, &solid, &result->path)
                     : press_infill(context, resolved, &law, guide, result);
    if (status == SP_OK) {
        sp_solid_sample(&solid, &result->path.solid);
        status = sp_result_measure(context, result);
    }
    sp_law_free(&law);
    sp_solid_free(&solid);
    return status;
}

/* What is left of a press that did not come to its end by itself. */
static sp_status settle_result(sp_context *context, const sp_case *asked, sp_status status,
                               sp_result *result)
{
    if (status == SP_INTERRUPTED) {
        sp_result_end_before(context, asked, result);
        return SP_OK;
    }
    if (status != SP_OK) sp_result_clear(result);
    return status;
}

sp_status sp_result_press_guided(sp_context *context, const sp_resolved *resolved, sp_guide *guide,
                                 sp_result *result)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    const sp_status status = press_resolved(context, resolved, NULL, guide, result);
    return settle_result(context, &resolved->request, status, result);
}

sp_status sp_result_press_resolved(sp_context *context, const sp_resolved *resolved,
                                   sp_result *result)
{
    return sp_result_press_guided(context, resolved, NULL, result);
}

sp_status sp_result_press_network(sp_context *context, const sp_resolved *resolved,
                                  const sp_network *network, sp_result *result)
{
    sp_context quiet = {0};
    if (!context) context = &quiet;
    const sp_status status = press_resolved(context, resolved, network, NULL, result);
    result->network = (sp_network){0}; /* it belongs to the caller */
    return settle_result(context, &resolved->request, status, result);
}

sp_status sp_result_press(sp_context *context, const sp_case *request, sp_result *result)
{
    sp_resolved resolved;
    sp_context quiet = {0};
    if (!context) context = &quiet;
    memset(result, 0, sizeof *result);
    sp_status status = sp_case_resolve(context, request, &resolved);
    if (status == SP_OK)
        status = sp_result_press_resolved(context, &resolved, result);
    else if (status == SP_INTERRUPTED) {
        sp_result_end_before(context, request, result);
        status = SP_OK;
    }
    sp_resolved_free(&resolved);
    return status;
}
