/* One pressed coupon, as the rooms of the library and their tests see it. */
#ifndef SP_RUN_RESULT_H
#define SP_RUN_RESULT_H

#include <strutpress/resolve.h>
#include <strutpress/run.h>

#include "press/progress.h"

/* The reason of a press that was interrupted in the work before it; the argument names that work.
 */
#define SP_NO_CURVE "%s, before the press; there is no curve"

/* First stiffness (force over travel at small strain) with the corners of the joints sharp, as the
 * case has them, and full (model.joint_zone 0.5, its own, 2). */
typedef struct sp_corners {
    double zone[3];      /* values of model.joint_zone */
    double stiffness[3]; /* [N/mm]; NaN: not found, or not taken */
} sp_corners;

enum { SP_BAND_POINTS = 141 }; /* strains at which the band of the seeds is given */

/* These are the figures of several seeds of the flaws together. */
typedef struct sp_seeds {
    int count, first; /* seeds first, first + 1, ... were pressed */
    int kept;         /* which of the seeds is the result itself, counted from 0 */
    /* 1: it is kept because the case names its seed; 0: because its figures are nearest the
     * medians. */
    int is_named;
    int early;         /* number of presses that ended early */
    int threads;       /* threads on which they were pressed */
    sp_result **press; /* count of them; NULL at `kept` */
    sp_spread *spread; /* one per row of sp_measure_rows */
    int band_count;
    sp_band band[SP_BAND_POINTS];
} sp_seeds;

struct sp_result {
    sp_case request;    /* as it was resolved */
    sp_network network; /* with flaws */
    /* This network has no flaws; it is empty where it was not built or `network` has none, either.
     * Of a drawing it is always built, since the file may change while the coupon is pressed. */
    sp_network plain;
    sp_path path;
    /* The coupon without flaws up to its critical step, with the mode in its shapes; empty
     * (step_count 0) when nobody asked for it or when `path` itself has no flaws. path.critical
     * holds its answer either way. */
    sp_path perfect;
    sp_corners corners; /* all 0 for a solid block */
    int measure_count;
    sp_measure *measure; /* one per row of sp_measure_rows */
    sp_seeds *seeds;     /* of sp_run_seeds; NULL: one seed was pressed */
};

/* Press one coupon into a result of the caller. SP_OK however the press ended: path.end and
 * path.reason tell, and the path of a press that was interrupted before its first state has no
 * steps. After any other status *result is empty; the errors are those of sp_run. What it holds is
 * freed with sp_result_clear. */
sp_status sp_result_press(sp_context *context, const sp_case *request, sp_result *result);
/* Press a case that is resolved already into a result of the caller. */
sp_status sp_result_press_resolved(sp_context *context, const sp_resolved *resolved,
                                   sp_result *result);
/* The same with a guide to the time left: another run of the coupon. An empty guide becomes that
 * of the first run that comes to its end. */
sp_status sp_result_press_guided(sp_context *context, const sp_resolved *resolved, sp_guide *guide,
                                 sp_result *result);
/* The same into a new result, freed by the caller. */
sp_status sp_run_guided(sp_context *context, const sp_resolved *resolved, sp_guide *guide,
                        sp_result **result);
/* Press a network that was built for the resolved case, with its flaws. The result has everything
 * but the network, which stays the caller's. */
sp_status sp_result_press_network(sp_context *context, const sp_resolved *resolved,
                                  const sp_network *network, sp_result *result);
void sp_result_clear(sp_result *result);
/* Make the end of a press that was interrupted in the work before it: a result without steps, whose
 * reason is in the message of the context. */
void sp_result_end_before(sp_context *context, const sp_case *request, sp_result *result);
/* Take the figures of a path once more. Errors: SP_NO_MEMORY. */
sp_status sp_result_measure(sp_context *context, sp_result *result);
/* Make the case of seed number k (from 0) of a case. Only the first searches for the critical step,
 * which is that of the coupon without flaws, and so the same for every seed. */
void sp_seeds_request(sp_case *request, int k);
/* Give the critical step that one press found to another seed, as if it had been searched for
 * there, and take the figures of that one once more. Errors: SP_NO_MEMORY. */
sp_status sp_result_share_critical(sp_context *context, const sp_result *from, sp_result *to);
/* Move the coupon without flaws, with its path and mode, from one seed to another. Where both have
 * its network, each keeps its own: of a drawing it cannot be built again. */
void sp_result_move_perfect(sp_result *from, sp_result *to);

/* Return a figure by the row of its measure: the median over the seeds where several were pressed.
 */
sp_measure sp_result_median(const sp_result *result, int row);

/* Return how many seeds sp_run_seeds presses of a case when it is asked for `count`, 0: as the case
 * says. */
int sp_seeds_wanted(const sp_resolved *resolved, int count);
/* Return 1 when all seeds of the flaws give the same coupon. */
int sp_seeds_are_alike(const sp_case *request, sp_built built);
void sp_seeds_free(sp_seeds *seeds); /* accepts NULL */

#endif
