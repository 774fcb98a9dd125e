/* The neo-Hookean law, incompressible: W = G/2 (I1 - 3). Treloar 1943; Rivlin 1948; E29.
 *
 * constant[0] = G = E/3 */
#include "law/invariants.h"

sp_status sp_law_neo_hookean_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    (void)context;
    law->shear_modulus = request->modulus / 3;
    law->constant[0] = law->shear_modulus;
    return SP_OK;
}

SP_INLINE void eval(int strain_state, double g, int n, const double *restrict stretch,
                    double *restrict w, double *restrict p, double *restrict a)
{
    for (int i = 0; i < n; i++) {
        const sp_invariant i1 = sp_first_invariant(strain_state, sp_law_inside(stretch[i]));
        w[i] = sp_law_energy(stretch[i], 0.5 * g * i1.v);
        p[i] = 0.5 * g * i1.d;
        a[i] = 0.5 * g * i1.dd;
    }
}

void sp_law_neo_hookean_eval(const sp_law *law, int n, const double *stretch, double *w, double *p,
                             double *a)
{
    if (law->strain_state == SP_UNIAXIAL)
        eval(SP_UNIAXIAL, law->constant[0], n, stretch, w, p, a);
    else
        eval(SP_PLANE_STRAIN, law->constant[0], n, stretch, w, p, a);
}
