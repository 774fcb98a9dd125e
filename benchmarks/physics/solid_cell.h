/* Elastic constants of the bodies of tests/strut_cell.h, from solid elements: for benchmarks, not
 * part of the library.
 *
 * Struts are strips with round ends in the plane (plane strain), cylinders with balls at their ends
 * in space. Linear elastic; bricks with incompatible modes (Taylor, Beresford & Wilson 1976) on a
 * regular grid, each weighted by the share of it that is solid. */
#ifndef BENCHMARKS_SOLID_CELL_H
#define BENCHMARKS_SOLID_CELL_H

#include "../../tests/strut_cell.h"

/* With so many elements to a thickness. No memory ends the program. */
void solid_solve(const strut_cell *cell, int per_thickness, strut_cell_constants *constants);
/* On a grid of no size, from two: the error of struts that lie across the grid goes with the size.
 * `change`: the largest difference of one of the constants on the finer grid from it, over that
 * constant. */
void solid_refined(const strut_cell *cell, int coarse, int fine, strut_cell_constants *constants,
                   double *change);

#endif
