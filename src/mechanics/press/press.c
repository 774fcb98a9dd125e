/* This is the press, from the unloaded state to its end, and the way back. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/machine.h"
#include "base/poll.h"
#include "press/block.h"
#include "press/record.h"
#include "press/walker.h"

/* The first step back is this share of a planned step: where yield ends, the tangent changes at the
 * turn. */
static const double first_back = 0.1;

/* Move the platen up until the coupon carries nothing. The path of the press stays as it is; a way
 * back that ends early is kept as far as it came. */
static sp_status unload(sp_context *context, sp_walker *w)
{
    sp_judgement end = SP_GO_ON;
    sp_status status = SP_OK;
    w->back = 1;
    w->before_step = 0;
    w->step = first_back * w->planned;
    while (status == SP_OK && end == SP_GO_ON && !sp_interrupted(context))
        status = sp_walker_descend_step(context, w, &end);
    w->path->unloaded = end == SP_END_TARGET;
    if (status == SP_OK && w->path->unloaded) {
        const int before = w->path->shapes.frame_count;
        sp_path_add_frame(w->system, w->path);
        w->path->shapes.back_frames = w->path->shapes.frame_count - before;
    }
    if (status == SP_OK && (end == SP_GO_ON || end == SP_END_STOPPED))
        sp_path_end(w->path, SP_STOP_INTERRUPTED,
                    "interrupted on the way back at a shortening of %.4g mm; the curve so far is "
                    "kept",
                    w->at.shortening);
    if (status == SP_OK && (end == SP_END_GAVE_UP || end == SP_END_RANGE))
        sp_warn(context,
                "the way back finds no equilibrium below a shortening of %.4g mm, so the set of "
                "the coupon is not known",
                w->at.shortening);
    return status;
}

/* Say in one line that a way down ended before its target. */
static void tell_end(const sp_walker *w, sp_judgement end)
{
    const double shortening = w->at.shortening, strain = shortening / w->system->model->height;
    sp_path *path = w->path;
    if (end == SP_END_RANGE)
        sp_path_end(path, SP_STOP_RANGE,
                    "the press ends at a strain of %.4g %%, where %s; the curve so far is kept",
                    100 * strain, sp_range_text(w->range));
    if (end == SP_END_GAVE_UP)
        sp_path_end(path, SP_STOP_GAVE_UP,
                    "no convergence at the smallest step after a shortening of %.4g mm (strain "
                    "%.4g); the curve so far is kept",
                    shortening, strain);
    if (end == SP_END_STOPPED)
        sp_path_end(path, SP_STOP_INTERRUPTED,
                    "interrupted at a shortening of %.4g mm; the curve so far is kept", shortening);
}

static void close_path(sp_walker *w, sp_judgement end)
{
    sp_path *path = w->path;
    const sp_sparse_counts count = sp_sparse_count(w->system->sparse);
    static const sp_stop stop[] = {
        [SP_GO_ON] = SP_STOP_GAVE_UP,         [SP_END_TARGET] = SP_STOP_STRAIN,
        [SP_END_LOAD] = SP_STOP_LOAD,         [SP_END_BOUNCED] = SP_STOP_BOUNCED,
        [SP_END_CRITICAL] = SP_STOP_CRITICAL, [SP_END_RANGE] = SP_STOP_RANGE,
        [SP_END_GAVE_UP] = SP_STOP_GAVE_UP,   [SP_END_STOPPED] = SP_STOP_INTERRUPTED};
    path->stop = stop[end];
    if (path->end != SP_STOP_INTERRUPTED) path->end = path->stop;
    tell_end(w, end);
    if (w->search_critical) path->critical.strain = sp_path_strain(path, path->step_count - 1);
    sp_buckle_watch_first(&w->watch, w->system->model, &path->buckled);
    if (path->buckled.found) path->buckled.strain = sp_path_strain(path, path->buckled.step);
    path->analyses = count.analyses;
    path->seconds_analyse = count.seconds_analyse;
    path->factorizations = count.factorizations;
    path->seconds_factor = count.seconds_factor;
    path->factor_operations = count.operations;
    path->seconds_complete = count.seconds_complete;
    path->seconds_solver = count.seconds_factor + count.seconds_solve;
    path->seconds_total = sp_clock_seconds() - w->begin;
}

sp_status sp_press(sp_context *context, const sp_model *model, const sp_press_options *options,
                   sp_path *path)
{
    sp_system system = {0};
    sp_walker w = {.options = options, .system = &system, .path = path};
    sp_judgement end = SP_GO_ON;
    const int more = options->protocol ? 2 * options->protocol->count : options->unload;
    sp_status status =
        sp_path_begin(context, model, options->frames ? options->frames + more : 0, path);
    if (status == SP_OK)
        status = sp_system_create(context, model, options->follow_perfect, &system);
    w.pace = options->pace ? options->pace : &w.own_pace;
    if (!(w.pace->clock > 0)) w.pace->clock = sp_clock_seconds();
    if (status == SP_OK) status = sp_walker_begin(context, &w);
    if (status == SP_OK && options->protocol) status = sp_walker_begin_protocol(context, &w);
    const sp_segment *first = options->protocol ? &options->protocol->segment[0] : NULL;
    const int drops = first && first->kind == SP_SEGMENT_DROP && !options->follow_perfect;
    while (status == SP_OK && end == SP_GO_ON) {
        if (sp_interrupted(context))
            end = SP_END_STOPPED;
        else if (drops)
            status = sp_walker_drop(context, &w, first, &end);
        else if (w.search_critical)
            status = sp_search_step(context, &w, &end);
        else {
            status = sp_walker_descend_step(context, &w, &end);
            if (status == SP_OK && end == SP_GO_ON) status = sp_walker_branch(context, &w);
        }
    }
    if (status == SP_OK) {
        if (end != SP_END_STOPPED && end != SP_END_GAVE_UP) sp_path_add_frame(&system, path);
        const int reached = end == SP_END_TARGET || end == SP_END_LOAD || end == SP_END_BOUNCED;
        if (drops && end == SP_END_BOUNCED) path->unloaded = 1;
        path->read_cycle = options->protocol ? options->protocol->read_cycle : 0;
        if (options->protocol && options->frames) {
            sp_path_end_stage(path, reached);
            if (reached) status = sp_walker_follow(context, &w);
        } else if (options->unload && (end == SP_END_TARGET || end == SP_END_LOAD))
            status = unload(context, &w);
        close_path(&w, end);
        sp_branches_compare(path);
        sp_path_stand_for(model->network, path);
    }
    sp_buckle_watch_free(&w.watch);
    sp_walker_free_room(&w);
    sp_free(w.crossing);
    sp_system_free(&system);
    if (status != SP_OK) sp_path_free(path);
    return status;
}
