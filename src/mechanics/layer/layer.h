/* This is the layer between two struts, or a strut and a platen, under a law in time (E265, E266).
 * A layer whose energy is w of line.h (U_c in docs/theory.md) has the strain e = sqrt(2 w) (eps_c
 * there). For a flat layer of stretch l that is 2 sinh|ln l|, nearly twice its log strain. At first
 * the layer answers with its whole stiffness and the energy w; then the same shares of it soften,
 * relax and flow as of a strut, as a scalar strain (E126). A layer never pulls: where the strut or
 * platen moves away quicker than the layer recovers, the layer stands free at the strain of no
 * force, and recovers from there. */
#ifndef SP_LAYER_H
#define SP_LAYER_H

#include "law/in_time.h"

/* Return the number of doubles that a layer stores, all 0 before it is first pressed. */
int sp_layer_count(const sp_law *law);

/* This is the answer of one layer, per its stiffness: the potential of the step from where the
 * layer stands free (0 while it does so), and its first and second derivative by w. */
typedef struct sp_layer_answer {
    double energy, by, bend;
} sp_layer_answer;

/* Find the answer of a layer at w. `modulus` is the layer_modulus of the model [MPa], from which
 * the stiffness is made. `history` stays as it is until sp_layer_keep. */
sp_layer_answer sp_layer_eval(const sp_law *law, double modulus, double w, const double *history);
/* Make n layers ready for a step of dt seconds; their histories stand one after another. */
void sp_layer_arm(const sp_law *law, double modulus, double dt, int n, double *history);
/* Accept the layers at w[n], which is overwritten with their strains; they must be made ready for a
 * step again before the next sp_layer_eval. */
void sp_layer_keep(const sp_law *law, double modulus, int n, double *w, double *history);
/* Return what is stored and dissipated so far when the step ends at w (E124), and in which ways. */
double sp_layer_spent(const sp_law *law, double modulus, double w, const double *history);
void sp_layer_add_lost(const sp_law *law, double stiffness, const double *history,
                       sp_law_lost *lost);

#endif
