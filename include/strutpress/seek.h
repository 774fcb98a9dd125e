/* To seek is to find the coupon that meets a target with the least material, in as few presses as
 * possible.
 *
 * Units: those of the figures and of sp_case. Ownership: target and answer belong to the caller,
 * who frees them. Errors: each function names its own. Threads: a target may be read by several at
 * once; an answer serves one call at a time. */
#ifndef STRUTPRESS_SEEK_H
#define STRUTPRESS_SEEK_H

#include <stdio.h>

#include <strutpress/batch.h>
#include <strutpress/records.h>
#include <strutpress/store.h>

SP_PUBLIC_BEGIN

typedef struct sp_target sp_target;

/* Read and check a YAML target (docs/seek.md): base case, candidates, what may vary, what must
 * hold, what to save. Errors: SP_NO_READ, SP_BAD_CASE ("file:line: ... received ...; valid: ..."),
 * SP_NO_MEMORY. */
sp_status sp_target_read(sp_context *context, const char *file, sp_target **target);
sp_status sp_target_parse(sp_context *context, const char *name, const char *text, size_t size,
                          sp_target **target);
void sp_target_free(sp_target *target); /* accepts NULL */

/* What a search will take: the range in which each candidate can be built is found, networks are
 * built in its middle, and their presses forecast for the points that a search takes as a rule
 * (docs/seek.md). Nothing is pressed. A number of the outlook is that of a candidate with its whole
 * numbers. Errors: SP_INTERRUPTED (*outlook holds what was looked at), SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_target_outlook(sp_context *context, const sp_target *target, sp_outlook *outlook);

typedef struct sp_answer sp_answer;

/* Search the candidates of a target; every press goes through the store, and a stored coupon is not
 * pressed again. `threads` coupons are pressed at once (0: as many as OpenMP offers); figures and
 * answer do not depend on them. That no candidate reaches the target is an answer, not an error.
 * The target must outlive the answer. Errors: SP_INTERRUPTED (what is pressed is stored),
 * SP_NO_WRITE, SP_NO_READ, SP_NO_MEMORY; *answer is NULL then. */
sp_status sp_seek(sp_context *context, const sp_target *target, sp_store *store, int threads,
                  sp_answer **answer);
void sp_answer_free(sp_answer *answer); /* accepts NULL */

int sp_answer_reached(const sp_answer *answer); /* candidates that reach the target */
int sp_answer_pressed(const sp_answer *answer); /* coupons pressed now */
int sp_answer_stored(const sp_answer *answer);  /* coupons used that were stored before */

/* Write for people the candidates in order, their figures with spread, and how many presses each
 * took. Errors: SP_NO_WRITE. */
sp_status sp_answer_table(sp_context *context, const sp_answer *answer, FILE *stream);
/* Write the same as seek.json or seek.csv. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_answer_records(sp_context *context, const sp_answer *answer, sp_record_format format,
                            FILE *stream);

/* seek.json, seek.csv, and for each candidate that reaches the target a case file for `press` and
 * its network without flaws as a legacy VTK file of centrelines with their widths, into a folder,
 * all or none. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_answer_write(sp_context *context, const sp_answer *answer, const char *folder);

SP_PUBLIC_END

#endif
