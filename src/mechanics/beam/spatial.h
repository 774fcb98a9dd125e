/* The spatial strut element has two nodes (position and rotation), one quadrature point at the
 * midpoint of the two rotations, and rigid arms at its ends (E44 to E48 of docs/theory.md).
 *
 * The energy is L [ U(G1 - 1, K2, K3) + (S2 G2^2 + S3 G3^2 + GJ K1^2)/2 ] with the strains in the
 * axes of the section (Gamma and kappa in docs/theory.md)
 *
 *     G = R_m^T (pB - pA)/L,    K = log(R_A^T R_B)/L - K0
 *
 * The two ends of one element are turned against each other by less than half a turn. The unknowns
 * are (uA wA uB wB): displacements and spins in fixed axes. */
#ifndef SP_BEAM_SPATIAL_H
#define SP_BEAM_SPATIAL_H

#include "beam/beam_state.h"
#include "model/spatial.h"

typedef struct sp_spatial_strain {
    double g[3]; /* stretch and shears; 1 0 0 unloaded */
    double k[3]; /* twist and curvatures, 0 unloaded [1/mm] */
} sp_spatial_strain;

/* Find the strains at node values xa and xb (7 each). */
sp_spatial_strain sp_spatial_strains(const sp_spatial_element *element, const double *xa,
                                     const double *xb);

/* Find energy [mJ], gradient (12) by displacements and spins [N, N mm] and Hessian (144, row-major,
 * both triangles) of one element, after the history of its fibres (NULL: none). The Hessian is the
 * second derivative along geodesics p + t u, exp(t w) q, which is symmetric. Returns +inf, and
 * leaves all of these untouched, when a fibre leaves the domain of its law. */
double sp_spatial_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                       const double *xa, const double *xb, const double *history,
                       double gradient[12], double hessian[144], sp_beam_state *state);

/* Do the same for several elements, SP_SPATIAL_LANES (spatial_lanes.h) at most. This is much faster
 * than one element at a time, and gives the same to the last digit. */
typedef struct sp_spatial_job {
    const sp_spatial_element *element;
    const sp_spatial_section *section;
    const double *xa, *xb, *history;
    double *gradient, *hessian;
    sp_beam_state *state;
    double energy; /* what is found; +inf as above */
} sp_spatial_job;
void sp_spatial_eval_several(int count, sp_spatial_job *job);

/* Return the bending and twisting energy, to second order, of small spins of the ends (fixed axes)
 * on top of the state [mJ], without what the curvature of the element itself adds. */
double sp_spatial_bending(const sp_spatial_element *element, const sp_spatial_section *section,
                          const double *xa, const double *xb, const sp_beam_state *state,
                          const double *history, const double spin_a[3], const double spin_b[3]);

/* Move x (7): to position + step[0..2], and the rotation to exp(step[3..5]) q. */
void sp_spatial_move(const double step[6], double *x);

/* Return for a spatial element what sp_planar_chord returns for a planar one. E92 */
double sp_spatial_chord(const sp_spatial_element *element, const sp_spatial_section *section,
                        const sp_beam_state *state);

#endif
