/* This is the press of a coupon that is a solid block: every state has a closed form. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "solid/solid.h"

enum { SHAPES = 32, HALVINGS = 60 };

static sp_status make_room(sp_context *context, const sp_case *request, sp_path *path)
{
    const size_t steps = (size_t)request->steps + 1;
    sp_shapes *shapes = &path->shapes;
    path->step = sp_alloc(steps, sizeof *path->step);
    path->back = sp_alloc(steps, sizeof *path->back);
    path->step_capacity = path->back_capacity = (int)steps;
    shapes->first_point = sp_alloc(1, sizeof *shapes->first_point);
    shapes->frame_step = sp_alloc(SHAPES + 1, sizeof *shapes->frame_step);
    shapes->position = sp_alloc(1, sizeof *shapes->position);
    shapes->fibre_strain = sp_alloc(1, sizeof *shapes->fibre_strain);
    shapes->frame_capacity = SHAPES + 1;
    if (path->step && path->back && shapes->first_point && shapes->frame_step && shapes->position &&
        shapes->fibre_strain)
        return SP_OK;
    return sp_fail(context, SP_NO_MEMORY, "no memory for %zu steps", steps);
}

static int is_within_law(const sp_step *step)
{
    return isfinite(step->force) && isfinite(step->work) && isfinite(step->stiffness);
}

/* Find the state on the load limit, between a strain below and one above. */
static sp_step at_limit(const sp_solid *solid, double below, double above, int bonded, double limit)
{
    for (int i = 0; i < HALVINGS; i++) {
        const double middle = 0.5 * (below + above);
        if (sp_solid_at(solid, middle, bonded).force < limit)
            below = middle;
        else
            above = middle;
    }
    return sp_solid_at(solid, above, bonded);
}

/* Press down to the target, the load limit or the end of the law. */
static void press_down(const sp_case *request, const sp_solid *solid, int bonded, sp_path *path)
{
    path->stop = SP_STOP_STRAIN;
    for (int i = 0; i <= request->steps; i++) {
        const double strain = request->strain * i / request->steps;
        sp_step next = sp_solid_at(solid, strain, bonded);
        if (!is_within_law(&next)) {
            path->stop = SP_STOP_RANGE;
            return;
        }
        if (i && next.force >= request->load_limit) {
            next = at_limit(solid, request->strain * (i - 1) / request->steps, strain, bonded,
                            request->load_limit);
            path->stop = SP_STOP_LOAD;
        }
        path->step[path->step_count++] = next;
        if (!bonded) path->fibre_least = 1 - next.shortening / solid->size[1];
        if (path->stop == SP_STOP_LOAD) return;
    }
}

/* Add the way back: with a reversible law it passes the same states. */
static void go_back(sp_path *path)
{
    for (int i = path->step_count - 2; i >= 0; i--) path->back[path->back_count++] = path->step[i];
    path->unloaded = path->back_count > 0;
}

/* Choose the steps that are drawn; the picture of a block follows from its shortening. */
static void choose_frames(sp_path *path)
{
    sp_shapes *shapes = &path->shapes;
    const int last = path->step_count - 1, count = last < SHAPES ? last + 1 : SHAPES;
    for (int i = 0; i < count; i++)
        shapes->frame_step[i] = count > 1 ? (int)((long long)i * last / (count - 1)) : 0;
    shapes->frame_count = count > 0 ? count : 0;
    if (!path->back_count) return;
    shapes->frame_step[shapes->frame_count++] = last + path->back_count;
    shapes->back_frames = 1;
}

sp_status sp_solid_press(sp_context *context, const sp_case *request, const sp_solid *solid,
                         sp_path *path)
{
    const int bonded = request->platens != SP_PLATENS_SLIDING;
    *path = (sp_path){.block = bonded ? SP_BLOCK_BONDED : SP_BLOCK_SLIDING};
    memcpy(path->size, solid->size, sizeof path->size);
    memcpy(path->pressed, solid->size, sizeof path->pressed);
    path->rows_most = solid->law.rows_most;
    path->rows_least = solid->law.rows_least;
    path->fibre_most = path->fibre_least = 1;
    const sp_status status = make_room(context, request, path);
    if (status != SP_OK) return status;
    press_down(request, solid, bonded, path);
    if (request->unload) go_back(path);
    choose_frames(path);
    path->end = path->stop;
    if (path->stop == SP_STOP_RANGE)
        snprintf(path->reason, sizeof path->reason,
                 "law %s ends between %.4g and %.4g %% strain of the block", solid->law.row->name,
                 100 * sp_path_strain(path, path->step_count - 1),
                 100 * request->strain * path->step_count / request->steps);
    return SP_OK;
}
