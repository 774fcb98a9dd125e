/* One press goes from the unloaded state in displacement steps to the target strain or the load
 * limit, and back when asked. */
#ifndef SP_PRESS_H
#define SP_PRESS_H

#include <strutpress/path.h>

#include "model/model.h"
#include "press/progress.h"
#include "state/width.h"

typedef struct sp_press_options {
    double strain;        /* target nominal strain */
    double load_limit;    /* [N], infinity: none */
    int steps;            /* planned steps to the target */
    int follow_perfect;   /* 1: coupon without flaws: follow its path, find the critical step, then
                             branch */
    int stop_at_critical; /* with follow_perfect: end there */
    /* With follow_perfect the search is cut short when it has factored K this often and
     * factorizations times unknowns reach the second number; both 0: never. */
    int search_factorizations;
    double search_unknowns;
    int unload;   /* 1: then go back until the coupon carries nothing */
    int branches; /* 1: look for other stable states where folds begin */
    const sp_protocol
        *protocol; /* in time; its first segment goes to `strain` or `load_limit`, then follow the
                      others and `unload` is not read. NULL: a press without time */
    int frames;    /* shapes kept, evenly over the target strain */
    /* These serve the forecast of the time left. `pace` is that of the whole run, of which the
     * search is one press and the main press another; NULL: this press is the whole run. `guide` is
     * a run that shows how the work is spread along the way; NULL: none. */
    sp_pace *pace;
    sp_guide *guide;
    sp_pace_plan plan;
    /* For path->width, how forces change with the width; NULL: none. Its models are freed as soon
     * as all forces are told. */
    sp_width_pair *width;
} sp_press_options;

/* Press the model. The status is SP_OK however the press ended: path->end and path->reason say how.
 * Errors: SP_NO_MEMORY, SP_INTERNAL; the path is empty then. */
sp_status sp_press(sp_context *context, const sp_model *model, const sp_press_options *options,
                   sp_path *path);

#endif
