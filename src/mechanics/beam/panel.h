/* A bar of a panel is the spatial strut element, with the terms added that let a framework of bars
 * stand for a plate (E103 to E105 of docs/theory.md).
 *
 *   eps  = |G| - 1 + (phi G2)^2/10 + (K3 L)^2/24
 *   lean = 1 - G1/|G|
 *   V    = L [ U(eps, K3) + (GJ K1^2 + EI2 K2^2)/2 + (S2 G2^2 + S3 G3^2)/2 + EA lean^2 ]
 *
 * eps is the strain of the chord plus what the bent axis is longer than the chord ("bowing"); lean
 * goes from 0 to 2 as the bar turns over against its nodes. G, K and the unknowns are those of
 * spatial.h; phi is the share of bending in G2. A bar has no arms. Its two ends may be turned
 * against each other by up to a whole turn.
 *
 * The strip of a skin under an edge (sp_skin_section) is the same element without bowing and
 * without the last term: it neither bends as a bar nor turns over (E228). */
#ifndef SP_BEAM_PANEL_H
#define SP_BEAM_PANEL_H

#include "beam/spatial.h"

/* Do the same as sp_spatial_eval, for a section of sp_panel_section or sp_skin_section. */
double sp_panel_eval(const sp_spatial_element *element, const sp_spatial_section *section,
                     const double *xa, const double *xb, const double *history, double gradient[12],
                     double hessian[144], sp_beam_state *state);

/* Do the same for several elements, SP_SPATIAL_LANES (spatial_lanes.h) at most. This is faster than
 * one element at a time, and gives the same to the last digit. */
void sp_panel_eval_several(int count, sp_spatial_job *job);

#endif
