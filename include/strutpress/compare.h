/* What a store says: coupons side by side, replicates over flaw seeds taken together.
 *
 * Units: those of the measures; mass in g. Ownership: sp_compare_read gives a comparison to the
 * caller, who frees it; the store must outlive it. Errors: each function names its own. Threads:
 * one comparison serves one call at a time. */
#ifndef STRUTPRESS_COMPARE_H
#define STRUTPRESS_COMPARE_H

#include <stdio.h>

#include <strutpress/measure.h>
#include <strutpress/records.h>
#include <strutpress/store.h>

SP_PUBLIC_BEGIN

typedef struct sp_compare sp_compare;

typedef struct sp_compare_coupon {
    char key[SP_KEY_SIZE]; /* of sp_coupon_key_of_case */
    const char *name;      /* how it is called in tables and pictures */
} sp_compare_coupon;

typedef struct sp_compare_options {
    /* These are the figures (sp_figure_find) with commas between them; NULL stands for a few usual
     * ones. */
    const char *measures;
    const char *rank; /* measure of the ranking, largest value first; NULL: energy_per_volume_50 */
    const sp_compare_coupon *only; /* NULL: all coupons of the store */
    int only_count;
    double mass; /* of the ranking [g]; 0: the middle of what all series reach */
    /* Curves of a rig, with the height and area of what was tested: they are drawn in curves.svg,
     * and each coupon is compared with their mean. They and their name must outlive the comparison.
     */
    const sp_curve *tested; /* tested_count */
    int tested_count;       /* 0: none */
    const char *tested_name;
} sp_compare_options;

/* Read a store and group its coupons. The store must stay open, because its curves are read later.
 * Errors: SP_BAD_USAGE (unknown measure), SP_NO_READ (also: no coupons), SP_NO_MEMORY. */
sp_status sp_compare_read(sp_context *context, sp_store *store, const sp_compare_options *options,
                          sp_compare **compare);
void sp_compare_free(sp_compare *compare); /* accepts NULL */

/* Print a table for people: medians with their spread, exponents, the ranking, and which coupons
 * failed. Errors: SP_NO_WRITE. */
sp_status sp_compare_table(sp_context *context, const sp_compare *compare, FILE *stream);

/* Write the rows of the table, one record per coupon, with a column for each key in which the
 * coupons differ, like compare.csv. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_compare_records(sp_context *context, const sp_compare *compare,
                             sp_record_format format, FILE *stream);

/* Write compare.csv, fits.csv, ranking.csv, curves.csv (every state of every press, one a line),
 * curves.svg, energy.svg, stiffness.svg and plateau.svg into a folder, all or none. Errors:
 * SP_NO_WRITE, SP_NO_READ, SP_NO_MEMORY. */
sp_status sp_compare_write(sp_context *context, const sp_compare *compare, const char *folder);

SP_PUBLIC_END

#endif
