/* These functions find the gradient and Hessian of elements in space from their strains and forces,
 * for SP_SPATIAL_LANES elements at a time, one in each lane of a vector. Each element takes a few
 * hundred products of 3 x 3 matrices and no branch. E46 to E48
 *
 * The symbols are those of spatial.c. */
#ifndef SP_SPATIAL_LANES_H
#define SP_SPATIAL_LANES_H

#include "base/machine.h"

enum { SP_SPATIAL_LANES = 8 };

/* A vector holds one number of each element; the compiler turns it into registers of the
 * instruction set. */
typedef double sp_lanes8 __attribute__((vector_size(64)));

/* The gradient and the Hessian are made from this input. n and m are derivatives of the energy per
 * length by (G, K), with the bowing. `shear` and `bending` are second derivatives of the quadratic
 * terms, and of the bowing times N; `twist` is the stiffness of the twist. by_g and by_k are
 * derivatives of the axial strain by (G, K), and `tangent` those of N by the strains of the fibres.
 * E92 */
typedef struct sp_spatial_input {
    sp_lanes8 length, g[3], psi[3], axes[9];
    sp_lanes8 n[3], m[3], shear[2], bending[2][2], twist, by_g[3], by_k[3], tangent[3];
    sp_lanes8 chord_s, chord_j, chord_a, chord_b, chord_bent, chord_tau; /* sp_so3_chord */
} sp_spatial_input;

/* This output holds the derivatives by the unknowns (uA wA uB wB) in fixed axes, without arms. Ends
 * i and k have the signs - and +. Two displacements have the block +-u, the spin of i and the
 * displacement of k have +-p[i], and two spins have w[i + k] (w[1]: of B by A). */
typedef struct sp_spatial_output {
    sp_lanes8 gradient[12], u[9], p[2][9], w[3][9];
} sp_spatial_output;

void sp_spatial_lanes_eval(const sp_spatial_input *in, sp_spatial_output *out);

/* Return the same function for each instruction set, in the order of SP_WAY_LIST, for tests. All
 * of them give the same numbers to the last digit. */
typedef void sp_spatial_way(const sp_spatial_input *in, sp_spatial_output *out);
sp_spatial_way *const *sp_spatial_ways(void);

#endif
