/* The law of Gent, incompressible: W = -G Jm/2 ln(1 - J/Jm) with J = I1 - 3. Gent 1996, equation 3;
 * E33.
 *
 * constant[0] = G = E/3, constant[1] = Jm. Where J reaches Jm the energy is infinite. */
#include "law/invariants.h"

sp_status sp_law_gent_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    if (!(request->gent_limit > 0) || isinf(request->gent_limit))
        return sp_fail(context, SP_BAD_CASE,
                       "law gent: material.gent_limit: received %g; valid: above 0, the largest "
                       "I1 - 3 (30 to 100 for unfilled rubber)",
                       request->gent_limit);
    law->shear_modulus = request->modulus / 3;
    law->constant[0] = law->shear_modulus;
    law->constant[1] = request->gent_limit;
    return SP_OK;
}

SP_INLINE void eval(int strain_state, double g, double limit, int n, const double *restrict stretch,
                    double *restrict w, double *restrict p, double *restrict a)
{
    /* Beyond this share of the limit p and a are held constant, so that they stay finite. */
    const double last = limit * (1 - 1e-9);
    for (int i = 0; i < n; i++) {
        const sp_invariant i1 = sp_first_invariant(strain_state, sp_law_inside(stretch[i]));
        const double j = i1.v < last ? i1.v : last;
        const double dw = 0.5 * g * limit / (limit - j); /* dW/dI1 */
        const double energy = -0.5 * g * limit * log1p(-j / limit);
        w[i] = i1.v < last ? sp_law_energy(stretch[i], energy) : (double)INFINITY;
        p[i] = dw * i1.d;
        a[i] = dw * (i1.dd + i1.d * i1.d / (limit - j));
    }
}

void sp_law_gent_eval(const sp_law *law, int n, const double *stretch, double *w, double *p,
                      double *a)
{
    const double g = law->constant[0], limit = law->constant[1];
    if (law->strain_state == SP_UNIAXIAL)
        eval(SP_UNIAXIAL, g, limit, n, stretch, w, p, a);
    else
        eval(SP_PLANE_STRAIN, g, limit, n, stretch, w, p, a);
}
