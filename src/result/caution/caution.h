/* What a reader of a result must know: one list for the table, the JSON and the pictures. */
#ifndef SP_CAUTION_CAUTION_H
#define SP_CAUTION_CAUTION_H

#include <stddef.h>

#include "run/result.h"

#define SP_CAUTION_SAFETY                                                                          \
    "Predictions for choosing coupons to print, not proof of a protective part: test the printed " \
    "part before anyone relies on it."

#define SP_CAUTION_SIZE 320
#define SP_CAUTION_MAX 17

/* Fill lines[0 .. count) and return count (at least 1: the safety line). */
int sp_cautions(const sp_result *result, char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE]);

/* solid_caution.c: for a coupon that is the solid block, say where the relation between its force
 * and shortening ends to hold. At most four lines. */
int sp_block_cautions(const sp_result *result, char lines[][SP_CAUTION_SIZE]);

/* The two answers to "when does it buckle first", each in words with its definition. */
void sp_critical_text(const sp_path *path, char *text, size_t size);
void sp_buckled_text(const sp_result *result, char *text, size_t size);
#define SP_CRITICAL_DEFINITION                                                                     \
    "critical step: where the tangent of the coupon without flaws first stops being positive "     \
    "definite"
#define SP_BUCKLED_DEFINITION                                                                      \
    "first buckled strut: in the coupon with flaws, the first strut whose axial compression "      \
    "passes its maximum while its ends keep approaching"

/* "square, 20.1 % dense, 28 x 24 x 20 mm, bonded platens, seed 1", for headings. */
void sp_coupon_text(const sp_result *result, char *text, size_t size);

#endif
