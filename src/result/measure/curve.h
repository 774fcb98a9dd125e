/* Read a load curve: values, areas and characteristic points that more than one measure needs.
 *
 * u is the shortening [mm], F the force [N]; between steps the curve is straight. u never
 * decreases, but several steps may share one u: a snap drops the force vertically. A reading at
 * such a u is the state after the snap. */
#ifndef SP_MEASURE_CURVE_H
#define SP_MEASURE_CURVE_H

#include <strutpress/measure.h>

sp_measure sp_not_reached(void);
sp_measure sp_reached(double value); /* not reached when the value is not finite */

double sp_curve_end(const sp_curve *curve); /* last shortening, 0 without steps  [mm] */
sp_measure sp_curve_force(const sp_curve *curve,
                          double u); /* force at shortening u             [N] */
/* Return the force at u by the cubic through the tangents of the states around it, where both are
 * known. */
sp_measure sp_curve_force_by_tangents(const sp_curve *curve, double u);
/* Return the length of the step in which u lies [mm]; 0 outside. */
double sp_curve_step_at(const sp_curve *curve, double u);
sp_measure sp_curve_work(const sp_curve *curve, double a,
                         double b); /* integral of F du from a to b [mJ] */
sp_measure sp_curve_work_to(const sp_curve *curve, double u); /* from zero to u [mJ] */
sp_measure sp_curve_mean_stress(const sp_curve *curve, double from, double to); /* strains [MPa] */

sp_measure sp_curve_shortening(const sp_curve *curve,
                               double force); /* the first one with this force [mm] */
/* Return the work per volume before the stress first passes a peak [MPa], or all of it when it
 * never does [MJ/m3]. */
sp_measure sp_curve_energy_before(const sp_curve *curve, double peak);
sp_measure sp_curve_stiffness(const sp_curve *curve, double u); /* [N/mm] */
/* Return the mean force between two shortenings [N]; NaN when the curve does not cover them. */
double sp_curve_mean_force(const sp_curve *curve, double from, double to);

/* Find the step of the first maximum of the force that is followed by a drop of 1 % or more; -1
 * when there is none. */
int sp_curve_first_maximum(const sp_curve *curve);

typedef struct sp_start {
    double stiffness; /* tangent after toe compensation [N/mm]; 0: the curve has no rising start */
    double toe;       /* shortening where that tangent meets zero force, 0 without a toe [mm] */
} sp_start;
sp_start sp_curve_start(const sp_curve *curve);

typedef struct sp_efficiency {
    int reached;   /* the efficiency has a maximum before the end of the curve */
    double strain; /* of the maximum */
    double value;  /* efficiency there */
} sp_efficiency;
sp_efficiency sp_curve_efficiency(const sp_curve *curve);

#endif
