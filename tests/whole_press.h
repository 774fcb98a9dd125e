/* These presses must reach their target: an end before it is returned as a status, with its reason
 * as the message of the context. */
#ifndef TESTS_WHOLE_PRESS_H
#define TESTS_WHOLE_PRESS_H

#include "press/press.h"
#include "run/result.h"

static inline sp_status whole_path(sp_context *context, sp_status status, const sp_path *path)
{
    if (status != SP_OK || sp_stop_outcome(path->end) == SP_OK) return status;
    return sp_fail(context, sp_stop_outcome(path->end), "%s", path->reason);
}

/* Call sp_press or sp_result_press. With SP_GAVE_UP and SP_INTERRUPTED the path is kept. */
static inline sp_status press_whole_model(sp_context *context, const sp_model *model,
                                          const sp_press_options *options, sp_path *path)
{
    return whole_path(context, sp_press(context, model, options, path), path);
}

static inline sp_status press_whole(sp_context *context, const sp_case *request, sp_result *result)
{
    return whole_path(context, sp_result_press(context, request, result), &result->path);
}

#endif
