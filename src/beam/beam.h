/* The element table: planar and spatial struts behind the same four calls. Node values, unknowns and elements are those of
 * the model. */
#ifndef SP_BEAM_H
#define SP_BEAM_H

#include "beam/beam_state.h"
#include "model/model.h"

/* Energy [mJ], gradient (2 unknowns) and symmetric Hessian (4 unknowns^2, row-major, both triangles) of one element, and
 * its state. Returns +inf, with all of them untouched, when a fibre leaves the domain of its law. */
double sp_beam_eval(const sp_model *model, int element, const double *x, double *gradient,
                    double *hessian, sp_beam_state *state);

/* Largest |fibre strain| on the outline of its section. */
double sp_beam_fibre_strain(const sp_model *model, int strut, const sp_beam_state *state);

/* Bending energy of a mode (`unknowns` per node) in one element, to second order [mJ]. */
double sp_beam_bending(const sp_model *model, int element, const double *x,
                       const sp_beam_state *state, const double *mode);

#endif
