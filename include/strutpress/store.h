/* A store holds every pressed coupon of one or many batches in one SQLite file, each committed when
 * it is finished.
 *
 * Units: mm, N, MPa, mJ. Ownership: sp_store_open gives a store to the caller, who closes it; what
 * a visit is shown belongs to the store and lives as long as the visit. Errors: each function names
 * its own. Threads: as said below.
 *
 * A coupon is known by its resolved case (every value, and the content of the files it names) and
 * the version of the program. A store may be used by several threads through one sp_store and by
 * several programs at once. */
#ifndef STRUTPRESS_STORE_H
#define STRUTPRESS_STORE_H

#include <stdio.h>

#include <strutpress/run.h>

SP_PUBLIC_BEGIN

enum { SP_KEY_SIZE = 33, SP_PROGRAM_SIZE = 32, SP_COUPON_TEXT_SIZE = 16384 };

typedef struct sp_store sp_store;

typedef enum { SP_STORE_READ, SP_STORE_WRITE, SP_STORE_MEMORY } sp_store_mode;

/* Open a store. `file` is always the name of a file, even where it looks like a URI. The whole
 * store is checked before anything in it is believed or anything is written to it: its mark, format
 * and tables, its pages, every value (docs/safety.md). SP_STORE_WRITE makes the file when it is
 * missing (its folder must exist) and brings an older format up to date. SP_STORE_MEMORY is a store
 * without a file, gone when it is closed; `file` is not used. Errors: SP_NO_READ (missing, not a
 * whole store, from a newer version), SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_store_open(sp_context *context, const char *file, sp_store_mode mode,
                        sp_store **store);
void sp_store_close(sp_store *store); /* accepts NULL */

/* What a coupon is known by. */
typedef struct sp_coupon_key {
    char key[SP_KEY_SIZE];    /* hash of the program's version and the text */
    char family[SP_KEY_SIZE]; /* the same without the flaw seed: equal for replicates */
    int flaw_seed;
    /* "section.name value" lines, one per parameter row, numbers in mm, N, MPa, ... */
    char text[SP_COUPON_TEXT_SIZE];
} sp_coupon_key;

/* Names are brought to one spelling, a modulus derived from a hardness is written out; a file
 * stands as its name, its size and the hash of its content, a drawing as the bytes that were
 * parsed. A case that could not be resolved has a text as well, but one that names a file that
 * cannot be read has none: without its content nobody knows which coupon it is. Errors:
 * SP_NO_READ. */
sp_status sp_coupon_key_of(sp_context *context, const sp_resolved *resolved, sp_coupon_key *known);
/* The same of a case that is resolved for its key alone. Errors: SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_coupon_key_of_case(sp_context *context, const sp_case *request, sp_coupon_key *known);

/* 1 in *found when this very coupon is stored, whatever came of it. Errors: SP_NO_READ. */
sp_status sp_store_has(sp_context *context, sp_store *store, const sp_coupon_key *known,
                       int *found);

/* Find the outcome of this very coupon by its key. */
typedef struct sp_found {
    int found;    /* 0: not stored, the rest is empty */
    long long id; /* for sp_store_curve */
    int outcome;  /* as in sp_stored */
    char reason[SP_MESSAGE_SIZE];
} sp_found;

/* Find one coupon and its measures, one per row of sp_measure_rows (room is the caller's; all "not
 * reached" without a result). Errors: SP_NO_READ, also when the store was written before a measure
 * existed. */
sp_status sp_store_get(sp_context *context, sp_store *store, const sp_coupon_key *known,
                       sp_found *found, sp_measure *measure);

/* Commit one coupon: the status of sp_run, the failure line or the reason why the press ended
 * early, cautions (lines, or ""), and the result, NULL when there is none. A coupon that is stored
 * already stays as it is. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_store_put(sp_context *context, sp_store *store, const sp_coupon_key *known,
                       sp_status outcome, const char *reason, const char *cautions,
                       const sp_result *result);

/* Print every stored figure as text, ordered by key, without times: equal stores give equal
 * bytes. */
sp_status sp_store_dump(sp_context *context, sp_store *store, FILE *stream);

typedef struct sp_gather_report {
    int added;     /* coupons that `into` did not have */
    int same;      /* it had them with the same figures: nothing to do */
    int different; /* it had them with other figures: both stores keep theirs */
} sp_gather_report;

/* Bring every coupon of `from` into `into`, in one transaction: all of them or none. `from` is not
 * changed. A coupon that both have is compared: outcome, measures and curve, to the last bit; the
 * first ten that differ are reported through context->warn. Errors: SP_NO_READ (also: coupons of
 * another version of the program), SP_NO_WRITE, SP_INTERRUPTED, SP_NO_MEMORY. */
sp_status sp_store_gather(sp_context *context, sp_store *into, sp_store *from,
                          sp_gather_report *report);
/* Fail with SP_NO_READ when a store holds coupons of another version of the program. */
sp_status sp_store_check_program(sp_context *context, sp_store *store);

/* This is one stored coupon; its texts are valid during the visit. */
typedef struct sp_stored {
    long long id; /* of this coupon in this store */
    const char *key, *family, *program, *text, *reason, *cautions;
    int flaw_seed;
    int outcome; /* an exit status: 0 pressed to its end, 8 ended early, else no result */
} sp_stored;

/* Read how many coupons a store holds, and the id of the last one that came (0: none). Both stay as
 * they are as long as no coupon comes. Errors: SP_NO_READ. */
sp_status sp_store_extent(sp_context *context, sp_store *store, long long *count, long long *last);
/* Visit all coupons, ordered by program, family, flaw seed and key, so that replicates follow each
 * other. A visit that fails ends the walk, and its status is returned. */
sp_status sp_store_each(sp_context *context, sp_store *store,
                        sp_status (*visit)(void *user, const sp_stored *coupon), void *user);
/* Visit the values of one measure (a name of sp_measure_rows) of all coupons. Values that were not
 * reached are left out. */
sp_status sp_store_each_value(sp_context *context, sp_store *store, const char *measure,
                              sp_status (*visit)(void *user, long long id, double value),
                              void *user);

typedef struct sp_curve_point {
    double strain, stress;    /* nominal [-], [MPa] */
    double shortening, force; /* [mm], [N] */
    double work;              /* of the platens [mJ] */
} sp_curve_point;

/* Read the curve of a coupon; *point is freed with sp_store_free_curve. A coupon without a curve
 * gives no points. */
sp_status sp_store_curve(sp_context *context, sp_store *store, long long id, int *count,
                         sp_curve_point **point);
void sp_store_free_curve(sp_curve_point *point);
/* Make a view of these points for figures, as the curve of a coupon of this case. */
sp_curve sp_curve_of_points(const sp_case *request, int count, const sp_curve_point *point);

SP_PUBLIC_END

#endif
