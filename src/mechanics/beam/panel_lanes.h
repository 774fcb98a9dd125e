/* These functions find the gradient and Hessian of the bars of panels from their strains and
 * forces, for SP_SPATIAL_LANES bars at a time, one in each lane of a vector. E46, E47
 *
 * The symbols are those of panel.c. */
#ifndef SP_PANEL_LANES_H
#define SP_PANEL_LANES_H

#include "beam/spatial_lanes.h"

/* The first and second derivatives of the energy per length by the strains (G1 G2 G3 K1 K2 K3) are
 * `force` and these: `tangent` by G and G, `coupled` by G and K3, `bending` by each K and itself.
 */
typedef struct sp_panel_input {
    sp_lanes8 length, g[3], psi[3], axes[9];
    sp_lanes8 force[6], tangent[9], coupled[3], bending[3];
    sp_lanes8 chord_s, chord_j, chord_a, chord_b, chord_bent, chord_tau; /* sp_so3_chord */
} sp_panel_input;

/* This output holds the derivatives by (uA wA uB wB) in fixed axes: of the Hessian the lower
 * triangle, row by row. */
enum { SP_PANEL_TRIANGLE = 78 };
typedef struct sp_panel_output {
    sp_lanes8 gradient[12], hessian[SP_PANEL_TRIANGLE];
} sp_panel_output;

void sp_panel_lanes_eval(const sp_panel_input *in, sp_panel_output *out);

/* Return the same function for each instruction set; see sp_spatial_ways. */
typedef void sp_panel_way(const sp_panel_input *in, sp_panel_output *out);
sp_panel_way *const *sp_panel_ways(void);

#endif
