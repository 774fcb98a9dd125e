/* The law of Yeoh, incompressible: W = c10 J + c20 J^2 + c30 J^3 with J = I1 - 3. Yeoh 1993; E31.
 *
 * constant[0..2] = c10 c20 c30; G = 2 c10, so without c10 it is E/6. */
#include "law/invariants.h"

sp_status sp_law_yeoh_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    if (isnan(request->c20) || isnan(request->c30))
        return sp_fail(context, SP_BAD_CASE,
                       "law yeoh: material.%s is missing; give material.c20, material.c30 and "
                       "material.c10 [MPa] (without c10 it is modulus/6)",
                       isnan(request->c20) ? "c20" : "c30");
    law->constant[0] = isnan(request->c10) ? request->modulus / 6 : request->c10;
    law->constant[1] = request->c20;
    law->constant[2] = request->c30;
    law->shear_modulus = 2 * law->constant[0];
    return SP_OK;
}

SP_INLINE void eval(int strain_state, const double c[3], int n, const double *restrict stretch,
                    double *restrict w, double *restrict p, double *restrict a)
{
    const double c10 = c[0], c20 = c[1], c30 = c[2];
    for (int i = 0; i < n; i++) {
        const sp_invariant i1 = sp_first_invariant(strain_state, sp_law_inside(stretch[i]));
        const double j = i1.v;
        const double dw = c10 + j * (2 * c20 + 3 * c30 * j); /* dW/dI1 */
        w[i] = sp_law_energy(stretch[i], j * (c10 + j * (c20 + c30 * j)));
        p[i] = dw * i1.d;
        a[i] = dw * i1.dd + (2 * c20 + 6 * c30 * j) * i1.d * i1.d;
    }
}

void sp_law_yeoh_eval(const sp_law *law, int n, const double *stretch, double *w, double *p,
                      double *a)
{
    if (law->strain_state == SP_UNIAXIAL)
        eval(SP_UNIAXIAL, law->constant, n, stretch, w, p, a);
    else
        eval(SP_PLANE_STRAIN, law->constant, n, stretch, w, p, a);
}
