/* The element table: planar and spatial struts behind the same calls. Node values, unknowns and
 * elements are those of the model. */
#ifndef SP_BEAM_H
#define SP_BEAM_H

#include "beam/beam_state.h"
#include "law/in_time.h"
#include "model/model.h"

/* Doubles of history that the fibres of one element keep; 0: its law is reversible. */
size_t sp_beam_history(const sp_model *model, int element);

/* Energy [mJ], gradient (2 unknowns) and symmetric Hessian (4 unknowns^2, row-major, both
 * triangles) of one element, and its state, after the history of its fibres (NULL: none). Returns
 * +inf, with all of them untouched, when a fibre leaves the domain of its law. */
double sp_beam_eval(const sp_model *model, int element, const double *x, const double *history,
                    double *gradient, double *hessian, sp_beam_state *state);

/* The same of elements `first` to first + count - 1, SP_BEAM_SEVERAL at most, into arrays that
 * begin with the first of them; `history` of each. In space that is much faster than one by one. */
enum { SP_BEAM_SEVERAL = 8 };
void sp_beam_eval_several(const sp_model *model, int first, int count, const double *x,
                          const double *const *history, double *gradient, double *hessian,
                          double *energy, sp_beam_state *state);

/* The state of one element into the history of its fibres; returns the energy they have dissipated
 * so far [mJ]. */
double sp_beam_keep(const sp_model *model, int element, const sp_beam_state *state,
                    double *history);

/* Of a law in time (in_time.h): make the history of one element ready for a step of `dt` seconds;
 * energy that it stores and has dissipated when the step ends at `state` [mJ]; what it has
 * dissipated by each way, added to `lost` [mJ]. */
void sp_beam_arm(const sp_model *model, int element, double dt, double *history);
double sp_beam_spent(const sp_model *model, int element, const sp_beam_state *state,
                     const double *history);
void sp_beam_add_lost(const sp_model *model, int element, const double *history, sp_law_lost *lost);

/* Largest |fibre strain| on the outline of its section. */
double sp_beam_fibre_strain(const sp_model *model, int element, const sp_beam_state *state);

/* Bending energy of a mode (`unknowns` per node) in one element, to second order [mJ]. */
double sp_beam_bending(const sp_model *model, int element, const double *x,
                       const sp_beam_state *state, const double *history, const double *mode);

/* What is left of the length of the chord of an element, as a share of it: the stretch without the
 * bowing (E91, E92); of a bar of a panel the stretch. */
double sp_beam_chord(const sp_model *model, int element, const sp_beam_state *state);

/* 1 when every fibre of an element stays in the domain of its law under `times` the strains of a
 * state. */
int sp_beam_within_law(const sp_model *model, int element, const sp_beam_state *state,
                       double times);

#endif
