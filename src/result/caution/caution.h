/* What a reader of a result must know: one list for the table, the JSON and the pictures. */
#ifndef SP_CAUTION_CAUTION_H
#define SP_CAUTION_CAUTION_H

#include <stddef.h>

#include "run/result.h"

#define SP_CAUTION_SAFETY                                                                          \
    "Predictions for choosing coupons to print, not proof of a protective part: test the printed " \
    "part before anyone relies on it."

#define SP_CAUTION_SIZE 480
#define SP_CAUTION_MAX 24

/* Fill lines[0 .. count) and return count (at least 1: the line on safety). */
int sp_cautions(const sp_result *result, char lines[SP_CAUTION_MAX][SP_CAUTION_SIZE]);
/* Hand every caution to `take`, except for the one on safety, which holds for all results. */
void sp_cautions_each(const sp_result *result, void (*take)(void *user, const char *line),
                      void *user);

/* solid_caution.c: for a coupon that is the solid block, say where the relation between its force
 * and shortening ceases to hold. At most four lines. */
int sp_block_cautions(const sp_result *result, char lines[][SP_CAUTION_SIZE]);

/* So many struts of the critical mode are named: those with the largest shares. */
int sp_critical_quoted(const sp_critical *critical);
/* The two answers to "when does it buckle first", each in words with its definition. */
void sp_critical_text(const sp_path *path, char *text, size_t size);
void sp_buckled_text(const sp_result *result, char *text, size_t size);
#define SP_CRITICAL_DEFINITION                                                                     \
    "critical step: where the tangent of the coupon without flaws first stops being positive "     \
    "definite"
#define SP_BUCKLED_DEFINITION                                                                      \
    "first buckled strut: in the coupon with flaws, the first strut whose axial compression "      \
    "passes its maximum while its ends keep approaching"

/* weight.c: a platen that is held stands still where a weight would go on falling. */
#define SP_WEIGHT_DEFINITION                                                                       \
    "under a weight (the force held, the platen free) the flawed coupon also loses its stability " \
    "where the force has a maximum"
typedef struct sp_weight {
    /* Strain and force of the first maximum that is followed by a drop of 1 % or more [-], [N].
     */
    double strain, force;
} sp_weight;

/* Return whether the curve has such a maximum. */
int sp_weight_of(const sp_result *result, sp_weight *weight);
void sp_weight_text(const sp_result *result, char *text, size_t size);

/* Return how many snaps the path has, with the energy that all of them released [mJ]. It is a
 * record of this path, not a figure of the coupon: which minimum a snap falls into changes with the
 * mesh, the steps and the flaws. */
int sp_snaps_of(const sp_path *path, double *released);
#define SP_SNAPS_NOTE                                                                              \
    "a record of this path, no figure of the coupon: another mesh, step or flaw seed gives "       \
    "another amount"

/* Return the value of a measure by its name; NaN when the press did not reach it. */
double sp_measure_value(const sp_result *result, const char *name);

/* seeds_text.c: say for which seeds of the flaws the figures stand; "" for a coupon without flaws.
 */
void sp_seeds_text(const sp_result *result, char *text, size_t size);

/* branches.c: describe the other stable states that were looked for; "" where nobody asked for
 * them. Forces are apart by the largest share of any look. */
double sp_branches_apart(const sp_branches *branches);
void sp_branches_text(const sp_branches *branches, char *text, size_t size);

/* words.c: describe the press in one or two plain sentences; "" when there is no curve. */
#define SP_WORDS_SIZE 900
void sp_words(const sp_result *result, char *text, size_t size);

/* Write "square, 20.1 % dense, 28 x 24 x 20 mm, bonded platens, seed 1", for headings. */
void sp_coupon_text(const sp_result *result, char *text, size_t size);

#endif
