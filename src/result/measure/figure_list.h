/* Figures that need an argument, and so are no measures: X(name, unit, unit of the argument,
 * another unit of it or "", function, one line). Each is a function of measure/curve.h; when the
 * argument is given in %, it is a strain, and the function is handed its shortening. */
#ifndef SP_MEASURE_FIGURE_LIST_H
#define SP_MEASURE_FIGURE_LIST_H

#include "measure/curve.h"

#define SP_FIGURE_LIST(X)                                                                          \
    X(force_at, "N", "mm", "%", sp_curve_force,                                                    \
      "force at a shortening or a strain; at a snap, after it (own)")                              \
    X(shortening_at, "mm", "N", "", sp_curve_shortening,                                           \
      "shortening at which the force first comes up to this one (own)")                            \
    X(stiffness_at, "N/mm", "%", "mm", sp_curve_stiffness,                                         \
      "slope of the chord over 1 % of strain about a strain or a shortening (common practice, "    \
      "no source)")                                                                                \
    X(energy_to, "mJ", "mm", "%", sp_curve_work_to, "work up to a shortening or a strain (own)")   \
    X(energy_before, "MJ/m3", "MPa", "", sp_curve_energy_before,                                   \
      "work per coupon volume before the stress first passes a peak (own)")

enum {
#define SP_FIGURE_INDEX(name, unit, first, second, take, doc) SP_FIGURE_##name,
    SP_FIGURE_LIST(SP_FIGURE_INDEX)
#undef SP_FIGURE_INDEX
};

extern const sp_figure_row sp_figure_row_of[];

#endif
