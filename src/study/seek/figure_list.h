/* Figures that need an argument and so are no measures: X(name, unit, unit of the argument, one line). Each is a function
 * seek_<name> of the curve in figures.c. */
#ifndef SP_SEEK_FIGURE_LIST_H
#define SP_SEEK_FIGURE_LIST_H

#include <strutpress/measure.h>
#include <strutpress/store.h>

#define SEEK_FIGURE_LIST(X)                                                                        \
    X(force_at, "N", "mm", "force at a shortening; at a snap, after it")                           \
    X(energy_before, "MJ/m3", "MPa", "work per coupon volume before the stress first passes a peak")

#define SEEK_FIGURE_DECLARE(name, unit, argument_unit, doc)                                        \
    sp_measure sp_seek_##name(const sp_curve_point *point, int count, double argument);
SEEK_FIGURE_LIST(SEEK_FIGURE_DECLARE)
#undef SEEK_FIGURE_DECLARE

#endif
