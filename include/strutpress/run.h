/* The straight line: case -> network -> model -> path -> measures.
 *
 * Units: mm, N, MPa, mJ. Errors: a status is an error; that a press ends before its target, or is
 * interrupted, is an end of its path and no error. Ownership: a result belongs to the caller, who
 * frees it with sp_result_free; what the accessors return belongs to the result and lives as long.
 * Threads: sp_run may be called from several threads at once, each with its own context and result;
 * a result that no thread frees may be read by all. While a press runs, OpenBLAS is held at one
 * thread for the whole process, and afterwards has the number it had. */
#ifndef STRUTPRESS_RUN_H
#define STRUTPRESS_RUN_H

#include <strutpress/case.h>
#include <strutpress/measure.h>
#include <strutpress/network.h>
#include <strutpress/path.h>
#include <strutpress/resolve.h>

SP_PUBLIC_BEGIN

/* This is one pressed coupon, whose structure is hidden. */
typedef struct sp_result sp_result;

/* Press one coupon. SP_OK when there is a result, however its press ended (sp_result_stop). After
 * any other status *result is NULL: SP_BAD_CASE, SP_BAD_NETWORK, SP_NO_READ (a drawing, a table of
 * a law), SP_NO_MEMORY, SP_INTERNAL. */
sp_status sp_run(sp_context *context, const sp_case *request, sp_result **result);
/* The same of a case that is resolved already. */
sp_status sp_run_resolved(sp_context *context, const sp_resolved *resolved, sp_result **result);
enum { SP_SEEDS_MAX = 99 }; /* of one call */
/* Press the coupon with `count` seeds of its flaws (flaws.seed and those that follow it), on all
 * threads of OpenMP. 0: as many as the case says (press.seeds), which by itself is five, or one
 * where a press is forecast to take over a minute. One press where all seeds give the same coupon:
 * the solid block, and a coupon without flaws.
 *
 * The result is one of these presses, with its curve, events and shapes: that of flaws.seed where
 * the case gives it, else the one whose figures are nearest the medians. It holds the other presses
 * as well, and what is written of it states the median, the lowest and the highest of every figure.
 * Errors: those of sp_run for any of the seeds, and SP_BAD_USAGE (a count outside 0 to 99). The
 * functions of the context are called by one thread at a time. */
sp_status sp_run_seeds(sp_context *context, const sp_case *request, int count, sp_result **result);
void sp_result_free(sp_result *result); /* accepts NULL */

/* How the press ended, the way back included, and one line on it; the line is "" when the target or
 * the load limit was reached. A press that was interrupted before its first state has a path
 * without steps. */
sp_stop sp_result_stop(const sp_result *result);
const char *sp_result_reason(const sp_result *result);

/* Return the accepted states, the unloaded one first, or those of the way back. The pointer is NULL
 * only when *count is 0. */
const sp_step *sp_result_steps(const sp_result *result, int *count);
const sp_step *sp_result_back(const sp_result *result, int *count);
const sp_event *sp_result_events(const sp_result *result, int *count);
/* Return one figure per row of sp_measure_rows, in its order; there are none when the path has no
 * steps. */
const sp_measure *sp_result_measures(const sp_result *result, int *count);

/* Find one figure by its text (`plateau_stress`, `force_at 25 %`, sp_figure_find); *unit lives as
 * long as the program. Errors: SP_BAD_USAGE, with what would be valid. */
sp_status sp_result_figure(sp_context *context, const sp_result *result, const char *text,
                           sp_measure *value, const char **unit);

/* How many seeds were pressed, 1 after sp_run, and which of them, from 0 on, this result is. */
int sp_result_seeds(const sp_result *result, int *kept);
/* The press of one seed, 0 to sp_result_seeds - 1, as a result of its own; it belongs to `result`
 * and lives as long. NULL: there is no such seed. */
const sp_result *sp_result_of_seed(const sp_result *result, int seed);
/* Find a figure over the seeds that reach it, by its text as for sp_result_figure. Errors:
 * SP_BAD_USAGE. */
sp_status sp_result_spread(sp_context *context, const sp_result *result, const char *text,
                           sp_spread *spread, const char **unit);
/* The force over the seeds at evenly spaced strains, as far as the shortest of their presses goes;
 * NULL and 0 after a single press. */
typedef struct sp_band {
    double strain;            /* nominal [-] */
    double median, low, high; /* force [N] */
} sp_band;
const sp_band *sp_result_band(const sp_result *result, int *count);

/* Return the joint centres and the points between them in the kept states: frames x points x 3
 * [mm], the unloaded state first; strut s has the points first_point[s] .. first_point[s + 1] - 1.
 * The solid block has no points. */
const double *sp_result_positions(const sp_result *result, int *frames, int *points);
const int *sp_result_first_points(const sp_result *result, int *struts);
/* Return the step of each kept state, see sp_path_state. */
const int *sp_result_frame_steps(const sp_result *result, int *frames);
/* Return, never NULL, the case as it was pressed, with names and defaults settled; the network with
 * its flaws; the whole path; and the path of the coupon without flaws up to its critical step,
 * which has no steps when it was not asked for or when there are no flaws. */
const sp_case *sp_result_case(const sp_result *result);
const sp_network *sp_result_network(const sp_result *result);
const sp_path *sp_result_path(const sp_result *result);
const sp_path *sp_result_perfect(const sp_result *result);

SP_PUBLIC_END

#endif
