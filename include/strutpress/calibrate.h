/* To calibrate is to fit values of a case to the curves of coupons that were pressed on a rig. The
 * answer says how well the values predict coupons that were left out of the fit, and predicts
 * coupons that were not pressed.
 *
 * Units: mm, N, MPa; misfits are fractions. Ownership: tested coupons and calibration belong to the
 * caller, who frees them; keys belong to the calibration. Errors: each function names its own.
 * Threads: tested coupons may be read by several at once; a calibration serves one call at a
 * time. */
#ifndef STRUTPRESS_CALIBRATE_H
#define STRUTPRESS_CALIBRATE_H

#include <stdio.h>

#include <strutpress/records.h>
#include <strutpress/store.h>

SP_PUBLIC_BEGIN

typedef struct sp_tested sp_tested;

/* Read and check a YAML file of tested coupons (docs/calibrate.md) and the curves it names. Errors:
 * SP_NO_READ, SP_BAD_CASE ("file:line: ... received ...; valid: ..."), SP_NO_MEMORY. What was
 * understood of each curve goes to context->say. */
sp_status sp_tested_read(sp_context *context, const char *file, sp_tested **tested);
sp_status sp_tested_parse(sp_context *context, const char *name, const char *text, size_t size,
                          sp_tested **tested);
void sp_tested_free(sp_tested *tested); /* accepts NULL */
/* Write what was understood of each curve as measured-N.svg into a folder, all files or none.
 * Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_tested_draw(sp_context *context, const sp_tested *tested, const char *folder);

typedef struct sp_calibration sp_calibration;

/* Fit the values, fit them again without each coupon in turn, and predict. Every press goes through
 * the store, and a stored coupon is not pressed again. `threads` coupons are pressed at once (0: as
 * many as OpenMP offers); figures do not depend on them. `tested` must outlive the calibration.
 * Errors: SP_INTERRUPTED (what is pressed is stored), SP_GAVE_UP (a tested coupon has no curve),
 * SP_NO_WRITE, SP_NO_READ, SP_NO_MEMORY; *calibration is NULL then. */
sp_status sp_calibrate(sp_context *context, const sp_tested *tested, sp_store *store, int threads,
                       sp_calibration **calibration);
void sp_calibration_free(sp_calibration *calibration); /* accepts NULL */

int sp_calibration_count(const sp_calibration *calibration); /* fitted values */
const char *sp_calibration_key(const sp_calibration *calibration,
                               int index); /* "material.modulus" */
/* This is the fitted value, in the unit of sp_case (mm, MPa, degrees, fractions). */
double sp_calibration_value(const sp_calibration *calibration, int index);
/* Root mean square of prediction less measurement, over the mean measured force: with the fitted
 * values, and with those the search starts from (those of the case, or the middles of ranges they
 * lie outside of). */
double sp_calibration_misfit(const sp_calibration *calibration);
double sp_calibration_misfit_before(const sp_calibration *calibration);

/* Print a table for people: fitted values, measured, fitted and left-out figures, predictions.
 * Errors: SP_NO_WRITE. */
sp_status sp_calibration_table(sp_context *context, const sp_calibration *calibration,
                               FILE *stream);

/* How two fitted values go together in the posterior of the fit, -1 to 1 (E241): near 1 or -1 the
 * tests cannot tell them apart. 0 beyond the fitted values. */
double sp_calibration_correlation(const sp_calibration *calibration, int index, int other);

/* Write calibrate.json or calibrate.csv on a stream; not SP_FORMAT_TABLE. Errors: SP_NO_WRITE,
 * SP_NO_MEMORY. */
sp_status sp_calibration_records(sp_context *context, const sp_calibration *calibration,
                                 sp_record_format format, FILE *stream);

/* Write calibrated.yaml (the base case with the fitted values), calibrate.json, calibrate.csv and
 * curves.svg into a folder, all files or none. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_calibration_write(sp_context *context, const sp_calibration *calibration,
                               const char *folder);

SP_PUBLIC_END

#endif
