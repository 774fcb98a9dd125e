/* These functions find the elastic constants of the bodies of tests/strut_cell.h by solid elements,
 * for benchmarks; they are not part of the library.
 *
 * Struts are strips with round ends in the plane (plane strain), cylinders with balls at their ends
 * in space. They are linear elastic. The elements are bricks with incompatible modes (Taylor,
 * Beresford & Wilson 1976) on a regular grid, each weighted by its solid share. */
#ifndef BENCHMARKS_SOLID_CELL_H
#define BENCHMARKS_SOLID_CELL_H

#include "../../tests/strut_cell.h"

/* Solve with `per_thickness` elements per thickness. The program ends when memory is lacking. */
void solid_solve(const strut_cell *cell, int per_thickness, strut_cell_constants *constants);
/* Extrapolate from two grids to elements of size zero: the error of struts that lie across the grid
 * is proportional to the size. *change gets the largest relative difference of a constant on the
 * finer grid from its extrapolated value. */
void solid_refined(const strut_cell *cell, int coarse, int fine, strut_cell_constants *constants,
                   double *change);

#endif
