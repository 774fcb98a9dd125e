/* Bar of a panel: the spatial strut element with what a plate as a framework of bars needs (E103 to
 * E105 of docs/theory.md).
 *
 *   eps  = |G| - 1 + (phi G2)^2/10 + (K3 L)^2/24
 *   lean = 1 - G1/|G|
 *   V    = L [ U(eps, K3) + (GJ K1^2 + EI2 K2^2)/2 + (S2 G2^2 + S3 G3^2)/2 + EA lean^2 ]
 *
 * eps is the strain of the chord and how much longer the bent axis is ("bowing"); lean goes from 0
 * to 2 as the bar turns over against its nodes. G and K are those of spatial.h, phi the share of
 * bending in G2. No arms. Unknowns as in spatial.h; the two ends may be turned against each other
 * by up to a whole turn.
 *
 * What a skin is under an edge (sp_skin_section) is the same without bowing and without the last
 * term: it neither bends as a bar nor turns over (E228). */
#ifndef SP_BEAM_PANEL_H
#define SP_BEAM_PANEL_H

#include "beam/spatial.h"

/* Do the same as sp_spatial_eval, for a section of sp_panel_section or sp_skin_section. */
double sp_panel_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                     const double *xa, const double *xb, const double *history, double gradient[12],
                     double hessian[144], sp_beam_state *state);

#endif
