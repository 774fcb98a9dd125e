/* The planar element has two nodes (x, y, theta), one quadrature point, the strains of Reissner
 * (1972) and rigid arms at its ends.
 *
 * Its unknowns are q = (xA yA tA xB yB tB), its energy is L [U(eps, kappa) + shear gamma^2 / 2]
 * (E1-E5 of docs/theory.md). */
#ifndef SP_BEAM_PLANAR_H
#define SP_BEAM_PLANAR_H

#include "beam/beam_state.h"
#include "model/model.h"

enum { SP_PLANAR_MORE = 2 }; /* numbers of sp_beam_state.more, which a history keeps */

typedef struct sp_planar_strain {
    double eps, gamma, kappa;
} sp_planar_strain;

/* Find the strains at node values xa and xb (3 each). */
sp_planar_strain sp_planar_strains(const sp_element *element, const double *xa, const double *xb);

/* Find energy [mJ], gradient (6), symmetric Hessian (36, row-major, both triangles) and state of
 * one element, after the history of its fibres (NULL: none). Returns +inf, and leaves all of these
 * untouched, when a fibre leaves the domain of its law. */
double sp_planar_eval(const sp_element *element, const sp_section *section, const double *xa,
                      const double *xb, const double *history, double gradient[6],
                      double hessian[36], sp_beam_state *state);

/* Return the bending energy, to second order, of a change of the two turns on top of the state z
 * [mJ]. */
double sp_planar_bending(const sp_element *element, const sp_section *section,
                         const sp_beam_state *state, const double *history, double turn_a,
                         double turn_b);

/* Return the length of the chord in a state as a share of its unloaded length: its stretch without
 * the bowing. E91 */
double sp_planar_chord(const sp_element *element, const sp_section *section,
                       const sp_beam_state *state);

#endif
