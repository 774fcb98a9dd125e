/* These functions fill a path, step by step. */
#ifndef SP_RECORD_H
#define SP_RECORD_H

#include <strutpress/path.h>

#include "state/system.h"

/* Make an empty path with room for `frames` shapes; adds grow steps and events. Errors:
 * SP_NO_MEMORY. */
sp_status sp_path_begin(sp_context *context, const sp_model *model, int frames, sp_path *path);
sp_status sp_path_add_step(sp_context *context, sp_path *path, const sp_step *step);
sp_status sp_path_add_back(sp_context *context, sp_path *path, const sp_step *step);
/* Begin a segment of a protocol at the last state. It ends at the last state before the next
 * segment. */
sp_status sp_path_begin_stage(sp_context *context, sp_path *path, const sp_segment *segment);
void sp_path_end_stage(sp_path *path, int reached);
/* Add an event, which belongs to the last step. */
sp_status sp_path_add_event(sp_context *context, sp_path *path, sp_event_kind kind, int strut,
                            double value);

/* Say how the whole press ended, in one line when it ended before its target. */
void sp_path_end(sp_path *path, sp_stop end, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Keep the present shape for the last step, while there is room and it is not kept yet. */
void sp_path_add_frame(const sp_system *system, sp_path *path);

/* Find the chain points (3 per point) at node values x. */
void sp_path_points(const sp_model *model, const double *x, double *position);

/* Find first-order moves of the chain points (3 per point) in a mode (`unknowns` per node) from the
 * placed state, arms included. */
void sp_path_moves(const sp_system *system, const double *mode, double *move);

#endif
