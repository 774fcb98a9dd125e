/* The energy of a planar element per length, by its strains; what planar.c and planar_end.c share.
 */
#ifndef SP_BEAM_PLANAR_ENERGY_H
#define SP_BEAM_PLANAR_ENERGY_H

#include "beam/planar.h"

/* Derivatives of the energy per length by (eps, gamma, kappa): the first ones are n q m, the second
 * ones ee eg ek gg gk kk. */
typedef struct sp_planar_energy {
    double value, n, q, m;
    double ee, eg, ek, gg, gk, kk;
} sp_planar_energy;

/* Find the energy of an element that is asked at two places, and its state. Between the places eps
 * and kappa differ by what makes the energy least; the search for that begins at the difference
 * that the history keeps. Returns 0 when a fibre leaves the domain of its law. E222, E223 */
int sp_planar_end_eval(const sp_element *element, const sp_section *section,
                       const sp_planar_strain *z, const double *history, sp_planar_energy *u,
                       sp_beam_state *state);

/* Do for such an element what sp_planar_chord does. */
double sp_planar_end_chord(const sp_element *element, const sp_section *section,
                           const sp_beam_state *state);

#endif
