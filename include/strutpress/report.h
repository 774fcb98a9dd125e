/* The report page is one HTML file that needs no network, for whoever has to choose a coupon.
 *
 * Units on the page: mm, N, MPa, mJ, named beside each figure. Ownership: options and summary are
 * the caller's, and texts of the options must outlive the call. Errors: each function names its
 * own; after one there is no new page. Threads: from several at once, each with its own context and
 * file. */
#ifndef STRUTPRESS_REPORT_H
#define STRUTPRESS_REPORT_H

#include <stddef.h>

#include <strutpress/compare.h>
#include <strutpress/store.h>

SP_PUBLIC_BEGIN

enum {
    SP_REPORT_STATES_MAX = 12, /* coupons whose states are drawn */
    SP_REPORT_CASES_MAX = 64,
};

typedef struct sp_report_options {
    const char *title, *question; /* NULL: usual ones */
    sp_compare_options compare;   /* columns of the table, ranking */
    /* coupons whose states are drawn, 0 .. SP_REPORT_STATES_MAX; negative: 4 of a store, all of
     * case files */
    int states;
    int show_count;
    const char *const *show; /* draw the coupons whose label contains one of these */
    int threads;             /* coupons pressed at once; 0: as many as OpenMP offers */
    /* draw the same coupons side by side at one nominal strain [-], or under one force [N], in a
     * picture beside the page, its name with .svg; both 0: no picture */
    double beside_strain, beside_force;
    int seeds; /* flaw seeds pressed of each case file; 0: as many as sp_run_seeds takes of it */
} sp_report_options;

typedef struct sp_report_summary {
    int rows;   /* coupons in the table, replicates taken together */
    int curves; /* of these, with a curve */
    int shown;  /* coupons whose states are drawn */
    int ended;  /* shown coupons whose press ended early; `reason` says why the first did */
    char reason[SP_MESSAGE_SIZE];
    size_t size; /* of the page [bytes] */
} sp_report_summary;

/* Write the page of a store. The store holds no shapes, so the few coupons whose states are drawn
 * are pressed again and compared with their stored curves. Without `show` these are the first of
 * the ranking of each pattern, then the next ones. A coupon that cannot be pressed again is named
 * through context->warn and on the page. Errors: SP_BAD_USAGE (unknown measure, nothing to show),
 * SP_NO_READ, SP_NO_WRITE, SP_INTERRUPTED (no page is written), SP_NO_MEMORY. */
sp_status sp_report_store(sp_context *context, sp_store *store, const sp_report_options *options,
                          const char *file, sp_report_summary *summary);

/* Press `count` cases, each with several seeds of its flaws, and write their page: medians, lowest
 * and highest of every figure, a band around each curve, and the states of one seed. A case is
 * called by the name of its file. A press that ends early is on the page and counted in
 * summary->ended. Errors: those of sp_run and of
 * sp_report_store. */
sp_status sp_report_cases(sp_context *context, int count, const sp_case *request,
                          const sp_report_options *options, const char *file,
                          sp_report_summary *summary);

SP_PUBLIC_END

#endif
