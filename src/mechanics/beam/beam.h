/* The element table puts planar and spatial struts behind the same calls. Node values, unknowns and
 * elements are those of the model. */
#ifndef SP_BEAM_H
#define SP_BEAM_H

#include "beam/beam_state.h"
#include "law/in_time.h"
#include "model/model.h"

/* Return how many doubles of history the fibres of one element keep: 0 when its law is
 * reversible. */
size_t sp_beam_history(const sp_model *model, int element);

/* Find the energy [mJ], the gradient (2 unknowns), the symmetric Hessian (4 unknowns^2, row-major,
 * both triangles) and the state of one element, after the history of its fibres (NULL: none).
 * Returns +inf, and leaves all of these untouched, when a fibre leaves the domain of its law. */
double sp_beam_eval(const sp_model *model, int element, const double *x, const double *history,
                    double *gradient, double *hessian, sp_beam_state *state);

/* Do the same for the elements from `first` to first + count - 1, SP_BEAM_SEVERAL at most. The
 * arrays begin with the first of them, and `history` is that of each. In space this is much faster
 * than one element at a time. */
enum { SP_BEAM_SEVERAL = 8 };
void sp_beam_eval_several(const sp_model *model, int first, int count, const double *x,
                          const double *const *history, double *gradient, double *hessian,
                          double *energy, sp_beam_state *state);

/* Take the state of one element into the history of its fibres; returns the energy that they have
 * dissipated so far [mJ]. */
double sp_beam_keep(const sp_model *model, int element, const sp_beam_state *state,
                    double *history);

/* These serve a law in time (in_time.h). The first makes the history of one element ready for a
 * step of `dt` seconds. The second returns the energy that the element stores and has dissipated
 * when the step ends at `state` [mJ]. The third adds what it has dissipated by each way to `lost`
 * [mJ]. */
void sp_beam_arm(const sp_model *model, int element, double dt, double *history);
double sp_beam_spent(const sp_model *model, int element, const sp_beam_state *state,
                     const double *history);
void sp_beam_add_lost(const sp_model *model, int element, const double *history, sp_law_lost *lost);

/* Return the largest |fibre strain| on the outline of the section. */
double sp_beam_fibre_strain(const sp_model *model, int element, const sp_beam_state *state);

/* Let *least and *most hold the stretches of the outermost fibres of one element, too. */
void sp_beam_fibre_range(const sp_model *model, int element, const sp_beam_state *state,
                         double *least, double *most);

/* Return the bending energy of a mode (`unknowns` per node) in one element, to second order [mJ].
 */
double sp_beam_bending(const sp_model *model, int element, const double *x,
                       const sp_beam_state *state, const double *history, const double *mode);

/* Return the length of the chord of an element as a share of its unloaded length: the stretch
 * without the bowing (E91, E92). For a bar of a panel this is the stretch. */
double sp_beam_chord(const sp_model *model, int element, const sp_beam_state *state);

/* Return 1 when every fibre of an element stays in the domain of its law, after its history, when
 * the strains of a state are multiplied by `times`. In time a law that has no end of its own has
 * one: branches go by the logarithm of the stretch. */
int sp_beam_within_law(const sp_model *model, int element, const sp_beam_state *state,
                       const double *history, double times);

#endif
