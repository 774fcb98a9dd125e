/* The layer between two struts, or a strut and a platen, under a law in time (E265, E266).
 *
 * A layer that is pressed by w of line.h (U_c in docs/theory.md) has the strain e = sqrt(2 w),
 * eps_c there: the square root of its energy, which is 2 sinh|ln l| of a flat layer of stretch l,
 * so nearly twice its log strain. At once it carries its whole stiffness, w; what softens, relaxes
 * and flows of it are the same shares as of a strut, as a scalar strain (E126). A layer never
 * pulls: where what presses on it goes away quicker than it comes back it stands free, at the
 * strain of no force, and recovers.
 */
#ifndef SP_LAYER_H
#define SP_LAYER_H

#include "law/in_time.h"

/* Number of doubles that a layer stores, all 0 before it is first pressed. */
int sp_layer_count(const sp_law *law);

/* The answer of one layer, per its stiffness: potential of the step from where the layer stands
 * free (0 while it does so), and first and second derivative by w. */
typedef struct sp_layer_answer {
    double energy, by, bend;
} sp_layer_answer;

/* `modulus`: layer_modulus of the model [MPa], which stiffness is made of. `history` stands as it
 * is until sp_layer_keep. */
sp_layer_answer sp_layer_eval(const sp_law *law, double modulus, double w, const double *history);
/* The next step takes dt seconds, for n layers whose histories stand one after another. */
void sp_layer_arm(const sp_law *law, double modulus, double dt, int n, double *history);
/* Accept the layers at w[n], whose room then holds their strains; they must be made ready for a
 * step again before the next sp_layer_eval. */
void sp_layer_keep(const sp_law *law, double modulus, int n, double *w, double *history);
/* Return what is stored and dissipated so far when the step ends at w (E124), and in which ways. */
double sp_layer_spent(const sp_law *law, double modulus, double w, const double *history);
void sp_layer_add_lost(const sp_law *law, double stiffness, const double *history,
                       sp_law_lost *lost);

#endif
