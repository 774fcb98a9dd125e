/* The solid block beside an infill: its forces between bonded and between sliding platens, and the
 * band between the curve of the beams and that of the block. */
#ifndef SP_CAUTION_SOLID_H
#define SP_CAUTION_SOLID_H

#include "run/result.h"

/* The strains of the table, in percent. */
#define SP_SOLID_TABLE_ROWS 3
extern const int sp_solid_percent[SP_SOLID_TABLE_ROWS];

/* Return the force of the block between bonded or sliding platens at a whole percent of strain; NaN
 * beyond the end of its law. */
double sp_solid_force(const sp_solid_curve *solid, int percent, int bonded);
/* Return 1 when the platens of the case hold the faces: bonded ones, or ones with friction, for
 * which the bonded block is nearest. */
int sp_solid_is_bonded(const sp_case *request);
/* Say why there is no block to compare with, or "". */
void sp_solid_words(const sp_result *result, char *text, size_t size);

/* Return the force of the coupon at a whole percent of strain that is a measure; NaN when it is not
 * reached. */
double sp_measured_force(const sp_result *result, int percent);

/* Return the share of the infill struts that are shorter than two beads (in space: diameters)
 * between their joint zones. */
double sp_short_strut_share(const sp_result *result);
/* Return 1 when more than half of them are short, and there is a block: then the band between the
 * curve of the beams and that of the block is shown in place of the beams alone. With struts in
 * space this holds only where they fill 30 % and more. */
int sp_has_band(const sp_result *result);
/* Find the band of one measure: of forces, stresses, stiffnesses and energies that both curves
 * reach. */
int sp_band_of(const sp_result *result, int measure, double *low, double *high);

#endif
