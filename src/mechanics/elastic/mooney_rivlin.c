/* The law of Mooney and Rivlin, incompressible: W = c10 (I1 - 3) + c01 (I2 - 3). Mooney 1940;
 * Rivlin 1948; E30.
 *
 * constant[0] = c10, constant[1] = c01; G = 2 (c10 + c01), so without c10 it is E/6 - c01. */
#include "law/invariants.h"

sp_status sp_law_mooney_rivlin_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    if (isnan(request->c01))
        return sp_fail(context, SP_BAD_CASE,
                       "law mooney-rivlin: material.c01 is missing; give material.c01 [MPa] and "
                       "material.c10 [MPa] (without c10 it is modulus/6 - c01)");
    const double c01 = request->c01;
    const double c10 = isnan(request->c10) ? request->modulus / 6 - c01 : request->c10;
    law->constant[0] = c10;
    law->constant[1] = c01;
    law->shear_modulus = 2 * (c10 + c01);
    return SP_OK;
}

SP_INLINE void eval(int strain_state, double c10, double c01, int n, const double *restrict stretch,
                    double *restrict w, double *restrict p, double *restrict a)
{
    for (int i = 0; i < n; i++) {
        const double l = sp_law_inside(stretch[i]);
        const sp_invariant i1 = sp_first_invariant(strain_state, l);
        const sp_invariant i2 = sp_second_invariant(strain_state, l);
        w[i] = sp_law_energy(stretch[i], c10 * i1.v + c01 * i2.v);
        p[i] = c10 * i1.d + c01 * i2.d;
        a[i] = c10 * i1.dd + c01 * i2.dd;
    }
}

void sp_law_mooney_rivlin_eval(const sp_law *law, int n, const double *stretch, double *w,
                               double *p, double *a)
{
    const double c10 = law->constant[0], c01 = law->constant[1];
    if (law->strain_state == SP_UNIAXIAL)
        eval(SP_UNIAXIAL, c10, c01, n, stretch, w, p, a);
    else
        eval(SP_PLANE_STRAIN, c10, c01, n, stretch, w, p, a);
}
