/* These functions read a plan of many coupons and press all of it into a store.
 *
 * Units: seconds, bytes; those of sp_case. Ownership: a plan belongs to the caller, who frees it
 * with sp_plan_free. Errors: each function names its own; a coupon that cannot be pressed is a row
 * of the store and no error. Threads: plans are read by several at once and changed by one;
 * functions of the context are called one at a time, from any thread of the batch. */
#ifndef STRUTPRESS_BATCH_H
#define STRUTPRESS_BATCH_H

#include <strutpress/case.h>
#include <strutpress/forecast.h>
#include <strutpress/store.h>

SP_PUBLIC_BEGIN

typedef struct sp_plan sp_plan;

/* Read and check a YAML plan (docs/batch.md). Every value of every axis is checked here, so that a
 * wrong value is refused at once and not when its coupon is pressed. Errors: SP_NO_READ,
 * SP_BAD_CASE ("file:line: ... received ...; valid: ..."), SP_NO_MEMORY. */
sp_status sp_plan_read(sp_context *context, const char *file, sp_plan **plan);
sp_status sp_plan_parse(sp_context *context, const char *name, const char *text, size_t size,
                        sp_plan **plan);
void sp_plan_free(sp_plan *plan); /* accepts NULL */

int sp_plan_count(const sp_plan *plan);    /* coupons that pass the filters */
int sp_plan_left_out(const sp_plan *plan); /* combinations that do not */
/* Give the case of coupon `index`. The last axis changes fastest, and seeds faster still. Checks of
 * several values together are left to the press: a coupon that fails them becomes a row of the
 * store with its reason. */
void sp_plan_case(const sp_plan *plan, int index, sp_case *request);

/* Return the number of coupon `index` in the whole plan, from 1. In a share it differs from index
 * + 1. */
int sp_plan_number(const sp_plan *plan, int index);

/* Reduce the plan to share `share` (1 .. shares), so that each share can be pressed on a machine of
 * its own. Equal coupons are in one share. The coupons are dealt to the shares in turn, the one
 * with the most expected work first, so that all shares take about the same time; the deal depends
 * on nothing but the plan and the number of shares. A plan with fewer coupons than shares leaves
 * some shares empty. Errors: SP_BAD_USAGE (no such share), SP_NO_MEMORY; the plan is unchanged
 * then. */
sp_status sp_plan_share(sp_context *context, sp_plan *plan, int share, int shares);

/* This is one reason why coupons cannot be built. Reasons with the same words are one kind,
 * whatever the numbers in them. */
enum { SP_REFUSAL_MAX = 12 };
typedef struct sp_refusal {
    int count, first; /* coupons; number of the first of them, from 1 */
    char text[SP_MESSAGE_SIZE];
} sp_refusal;

/* What a plan, or a search, will take. */
typedef struct sp_outlook {
    /* equal coupons count once; looked_at is less than coupons after an interruption */
    int coupons, looked_at, refused;
    /* presses of coupons that can be built; a search presses a coupon in several variants */
    int presses;
    double seconds;      /* processor time of all presses */
    sp_forecast longest; /* press */
    int longest_number;  /* its number, from 1; 0: no coupon can be built */
    double most_bytes;   /* of one press */
    int refusal_count;
    sp_refusal refusal[SP_REFUSAL_MAX]; /* the first kinds; others are only counted in `refused` */
} sp_outlook;

/* Add one coupon or candidate to the outlook: its forecast and the number of its presses, or, with
 * forecast NULL, the reason why it cannot be built. */
void sp_outlook_add(sp_outlook *outlook, int number, const sp_forecast *forecast, int presses,
                    const char *reason);

/* Build the network of every coupon of the plan and forecast its press. Nothing is pressed. Errors:
 * SP_INTERRUPTED (*outlook holds what was looked at), SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_plan_outlook(sp_context *context, const sp_plan *plan, sp_outlook *outlook);

/* Tell the kind of a file by the names at its top. A file that cannot be read, or that is of no
 * kind, counts as a case, because the reader of cases says what is wrong with it. */
typedef enum { SP_FILE_CASE, SP_FILE_PLAN, SP_FILE_TARGET } sp_file_kind;
sp_file_kind sp_file_kind_of(const char *file);

typedef struct sp_batch_report {
    int planned;    /* coupons of the plan, equal ones once */
    int stored;     /* of these, found in the store */
    int pressed;    /* pressed now and stored */
    int failed;     /* of the pressed: no result, the row holds the reason */
    int ended;      /* of the pressed: ended before their target, curve kept */
    int not_stored; /* left for the next time: interrupted, out of memory */
    int threads;
} sp_batch_report;

/* Press what the store does not hold yet, `threads` coupons at once (0: as many as OpenMP offers),
 * the largest first. context->say gets the forecast of what is left. A coupon that fails is stored
 * with its reason and reported through context->warn. context->progress gets its share after each
 * commit. Figures do not depend on the threads. Errors: SP_INTERRUPTED (what is finished is
 * stored), SP_NO_WRITE, SP_NO_READ, SP_NO_MEMORY; *report is filled in any case. */
sp_status sp_batch_press(sp_context *context, const sp_plan *plan, sp_store *store, int threads,
                         sp_batch_report *report);
/* Press a list of `count` cases in the same way. */
sp_status sp_batch_press_cases(sp_context *context, const sp_case *request, int count,
                               sp_store *store, int threads, sp_batch_report *report);

SP_PUBLIC_END

#endif
