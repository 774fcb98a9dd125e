/* The linear law: P = E' (l - 1), with E' = E in a free strut and E/(1 - nu^2) in plane strain. The
 * stretch has no limit. E28
 *
 * constant[0] = E' */
#include "law/law_list.h"

sp_status sp_law_linear_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    const double nu = request->poisson_ratio;
    if (!(nu > -1 && nu <= 0.5))
        return sp_fail(context, SP_BAD_CASE,
                       "material.poisson_ratio: received %g; valid: above -1, at most 0.5", nu);
    law->poisson_ratio = nu;
    law->shear_modulus = request->modulus / (2 * (1 + nu));
    law->constant[0] = request->modulus;
    if (law->strain_state == SP_PLANE_STRAIN) law->constant[0] /= 1 - nu * nu;
    return SP_OK;
}

void sp_law_linear_eval(const sp_law *law, int n, const double *restrict stretch,
                        double *restrict w, double *restrict p, double *restrict a)
{
    const double modulus = law->constant[0];
    for (int i = 0; i < n; i++) {
        const double e = stretch[i] - 1;
        w[i] = 0.5 * modulus * e * e;
        p[i] = modulus * e;
        a[i] = modulus;
    }
}
