/* The law of Ogden, incompressible, n terms: W = sum mu/alpha (l1^alpha + l2^alpha + l3^alpha - 3).
 * Ogden 1972; E32.
 *
 *   uniaxial      l, l^-1/2, l^-1/2      plane strain  l, 1/l, 1
 *
 * constant[2 k] = mu_k, constant[2 k + 1] = alpha_k; G = 1/2 sum mu alpha. */
#include "law/invariants.h"

sp_status sp_law_ogden_prepare(sp_context *context, const sp_case *request, sp_law *law)
{
    const sp_list *mu = &request->ogden_modulus, *alpha = &request->ogden_exponent;
    if (mu->count < 1 || alpha->count < 1)
        return sp_fail(context, SP_BAD_CASE,
                       "law ogden: material.%s is missing; give material.ogden_modulus [MPa] and "
                       "material.ogden_exponent, one value per term",
                       mu->count < 1 ? "ogden_modulus" : "ogden_exponent");
    if (mu->count != alpha->count || mu->count > SP_LIST_MAX)
        return sp_fail(context, SP_BAD_CASE,
                       "law ogden: material.ogden_modulus has %d values, material.ogden_exponent "
                       "%d; valid: as many of one as of the other, at most %d",
                       mu->count, alpha->count, SP_LIST_MAX);
    law->term_count = mu->count;
    law->shear_modulus = 0;
    for (int k = 0; k < mu->count; k++) {
        if (!(fabs(alpha->value[k]) >= 1e-6 && fabs(alpha->value[k]) <= 100))
            return sp_fail(context, SP_BAD_CASE,
                           "law ogden: material.ogden_exponent, term %d: received %g; valid: not "
                           "0, at most 100 either way",
                           k + 1, alpha->value[k]);
        law->constant[2 * k] = mu->value[k];
        law->constant[2 * k + 1] = alpha->value[k];
        law->shear_modulus += 0.5 * mu->value[k] * alpha->value[k];
    }
    return SP_OK;
}

/* With y = l^(-alpha/2) - 1 every difference becomes a product with y, so that nothing cancels near
 * l = 1. */
SP_INLINE void add_uniaxial(double mu, double alpha, double i, double log_l, double *w, double *p,
                            double *a)
{
    const double y = expm1(-0.5 * alpha * log_l), q = 1 + y;
    const double power = 1 / (q * q); /* l^alpha */
    *w += mu / alpha * y * y * (3 + 2 * y) * power;
    *p -= mu * i * y * (2 + y + q * q) * power;
    *a += mu * i * i * ((alpha - 1) * power + (0.5 * alpha + 1) * q);
}

/* The same with z = l^alpha - 1. */
SP_INLINE void add_plane_strain(double mu, double alpha, double i, double log_l, double *w,
                                double *p, double *a)
{
    const double z = expm1(alpha * log_l), power = 1 + z;
    const double inverse = 1 / power;
    *w += mu / alpha * z * z * inverse;
    *p += mu * i * z * (2 + z) * inverse;
    *a += mu * i * i * ((alpha - 1) * power + (alpha + 1) * inverse);
}

void sp_law_ogden_eval(const sp_law *law, int n, const double *restrict stretch, double *restrict w,
                       double *restrict p, double *restrict a)
{
    for (int f = 0; f < n; f++) {
        const double l = sp_law_inside(stretch[f]), i = 1 / l, log_l = log(l);
        double energy = 0, stress = 0, tangent = 0;
        for (int k = 0; k < law->term_count; k++) {
            const double mu = law->constant[2 * k], alpha = law->constant[2 * k + 1];
            if (law->strain_state == SP_UNIAXIAL)
                add_uniaxial(mu, alpha, i, log_l, &energy, &stress, &tangent);
            else
                add_plane_strain(mu, alpha, i, log_l, &energy, &stress, &tangent);
        }
        w[f] = sp_law_energy(stretch[f], energy);
        p[f] = stress;
        a[f] = tangent;
    }
}
