/* One pressed coupon, as the rooms of the library and their tests see it. */
#ifndef SP_RUN_RESULT_H
#define SP_RUN_RESULT_H

#include <strutpress/resolve.h>
#include <strutpress/run.h>

/* What is said of a press that was interrupted in the work before it; the argument says in what. */
#define SP_NO_CURVE "%s, before the press; there is no curve"

/* First stiffness, force over travel at small strain, with the corners of the joints sharp, as the
 * case has them, and full (model.joint_zone 0.5, its own, 2). */
typedef struct sp_corners {
    double zone[3];      /* values of model.joint_zone */
    double stiffness[3]; /* [N/mm]; NaN: not found, or not taken */
} sp_corners;

/* A figure over several seeds of the flaws. */
typedef struct sp_spread {
    int count;                /* seeds whose curves get there */
    double median, low, high; /* of these; NaN: none */
} sp_spread;

struct sp_result {
    sp_case request;    /* as it was resolved */
    sp_network network; /* with flaws */
    sp_path path;
    /* The coupon without flaws up to its critical step, with the mode in its shapes; empty
     * (step_count 0) when not asked for or when `path` itself has no flaws. path.critical holds its
     * answer either way. */
    sp_path perfect;
    sp_corners corners; /* all 0 for a solid block */
    int measure_count;
    sp_measure *measure; /* one per row of sp_measure_rows */
    /* of sp_run_seeds alone: how many seeds were pressed, how many of these ended early, 1 per
     * measure; NULL: one seed */
    int seeds, seeds_early;
    sp_spread *spread;
    /* of sp_run alone */
    sp_stop stop;
    char reason[SP_MESSAGE_SIZE];
};

/* Press one coupon into a result of the caller. SP_OK also when the load limit ended it; SP_GAVE_UP
 * and SP_INTERRUPTED leave a result whose path holds what stands, or an empty *result when there is
 * no curve yet; after any other status *result is empty. What it holds is freed with
 * sp_result_clear. */
sp_status sp_result_press(sp_context *context, const sp_case *request, sp_result *result);
/* The same of a case that is resolved already. */
sp_status sp_result_press_resolved(sp_context *context, const sp_resolved *resolved,
                                   sp_result *result);
void sp_result_clear(sp_result *result);

#endif
