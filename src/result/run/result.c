/* A result as the programs that use the library see it: making it, asking it, freeing it. */
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "press/record.h"
#include "run/result.h"

void sp_result_end_before(sp_context *context, const sp_case *request, sp_result *result)
{
    sp_result_clear(result);
    result->request = *request;
    result->path.stop = SP_STOP_INTERRUPTED;
    sp_path_end(&result->path, SP_STOP_INTERRUPTED, SP_NO_CURVE,
                context && context->message[0] ? context->message : "interrupted");
    if (context) context->message[0] = '\0';
}

/* Press into a new result. One of the two is given, the resolved case or one still to be resolved;
 * the other is NULL. A resolved one may have a guide. */
static sp_status press_new(sp_context *context, const sp_case *request, const sp_resolved *resolved,
                           sp_guide *guide, sp_result **result)
{
    sp_result *made = sp_alloc(1, sizeof *made);
    *result = NULL;
    if (!made) return sp_fail(context, SP_NO_MEMORY, "no memory for a result");
    const sp_status status = resolved ? sp_result_press_guided(context, resolved, guide, made)
                                      : sp_result_press(context, request, made);
    if (status == SP_OK)
        *result = made;
    else
        sp_result_free(made);
    return status;
}

sp_status sp_run_resolved(sp_context *context, const sp_resolved *resolved, sp_result **result)
{
    return press_new(context, NULL, resolved, NULL, result);
}

sp_status sp_run_guided(sp_context *context, const sp_resolved *resolved, sp_guide *guide,
                        sp_result **result)
{
    return press_new(context, NULL, resolved, guide, result);
}

sp_status sp_run(sp_context *context, const sp_case *request, sp_result **result)
{
    return press_new(context, request, NULL, NULL, result);
}

void sp_result_clear(sp_result *result)
{
    sp_seeds_free(result->seeds);
    sp_network_free(&result->network);
    sp_network_free(&result->plain);
    sp_path_free(&result->path);
    sp_path_free(&result->perfect);
    sp_free(result->measure);
    memset(result, 0, sizeof *result);
}

void sp_result_free(sp_result *result)
{
    if (!result) return;
    sp_result_clear(result);
    sp_free(result);
}

sp_stop sp_result_stop(const sp_result *result)
{
    return result->path.end;
}

const char *sp_result_reason(const sp_result *result)
{
    return result->path.reason;
}

const sp_step *sp_result_steps(const sp_result *result, int *count)
{
    *count = result->path.step_count;
    return result->path.step;
}

const sp_step *sp_result_back(const sp_result *result, int *count)
{
    *count = result->path.back_count;
    return result->path.back;
}

const sp_event *sp_result_events(const sp_result *result, int *count)
{
    *count = result->path.event_count;
    return result->path.event;
}

const sp_measure *sp_result_measures(const sp_result *result, int *count)
{
    *count = result->measure_count;
    return result->measure;
}

const sp_case *sp_result_case(const sp_result *result)
{
    return &result->request;
}

const sp_network *sp_result_network(const sp_result *result)
{
    return &result->network;
}

const sp_path *sp_result_path(const sp_result *result)
{
    return &result->path;
}

const sp_path *sp_result_perfect(const sp_result *result)
{
    return &result->perfect;
}

sp_status sp_result_figure(sp_context *context, const sp_result *result, const char *text,
                           sp_measure *value, const char **unit)
{
    char valid[SP_MESSAGE_SIZE], nearest[SP_NAME_SIZE] = "";
    sp_figure figure;
    *value = (sp_measure){0};
    if (!sp_figure_find(text, &figure, valid, sizeof valid, nearest))
        return sp_fail(context, SP_BAD_USAGE, "figure: received '%.60s'; valid: %s%s%s%s", text,
                       valid, nearest[0] ? " (did you mean '" : "", nearest,
                       nearest[0] ? "'?)" : "");
    const sp_curve curve = sp_curve_of_path(&result->path);
    *unit = figure.unit;
    if (result->measure_count) *value = sp_figure_take(&figure, result->measure, &curve);
    return SP_OK;
}

const double *sp_result_positions(const sp_result *result, int *frames, int *points)
{
    *frames = result->path.shapes.frame_count;
    *points = result->path.shapes.point_count;
    return result->path.shapes.position;
}

const int *sp_result_first_points(const sp_result *result, int *struts)
{
    *struts = result->path.shapes.strut_count;
    return result->path.shapes.first_point;
}

const int *sp_result_frame_steps(const sp_result *result, int *frames)
{
    *frames = result->path.shapes.frame_count;
    return result->path.shapes.frame_step;
}
