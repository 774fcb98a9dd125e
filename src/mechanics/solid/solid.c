/* The solid block has a closed form; see solid.h and docs/theory.md, section 15. */
#include "solid/solid.h"

#include <math.h>

double sp_solid_shape_factor(const double size[3])
{
    return size[0] * size[2] / (2 * size[1] * (size[0] + size[2])); /* E84 */
}

/* For a body that keeps its volume the factor is 1 + 2 S^2 (Gent & Lindley 1959). A body that does
 * not gives way in bulk as well: then 2 S^2 is laid in series with what a fully enclosed body adds,
 * so that both ends and S = 0 are exact. E85 */
double sp_solid_raise(double shape_factor, double poisson_ratio)
{
    const double added = 2 * shape_factor * shape_factor, nu = poisson_ratio;
    if (!(nu < 0.5) || !(added > 0)) return 1 + added;
    const double enclosed = (1 - nu) / ((1 + nu) * (1 - 2 * nu)) - 1;
    return 1 + added * enclosed / (added + enclosed);
}

sp_status sp_solid_prepare(sp_context *context, const sp_case *request, sp_solid *solid)
{
    const sp_law_row *row = sp_law_find(request->law);
    sp_case free_bar = *request;
    /* Warnings of the law are given for the coupon; here they would be given twice. */
    sp_context quiet = {.interrupt = context ? context->interrupt : NULL};
    *solid = (sp_solid){.size = {request->width, request->height, request->depth}};
    if (row && row->history) return SP_OK;
    free_bar.strain_state = SP_UNIAXIAL;
    const sp_status status = sp_law_prepare(&quiet, &free_bar, &solid->law);
    if (status != SP_OK) return sp_fail(context, status, "%s", quiet.message);
    solid->modelled = 1;
    solid->shape_factor = sp_solid_shape_factor(solid->size);
    solid->raise = sp_solid_raise(solid->shape_factor, solid->law.poisson_ratio);
    return SP_OK;
}

void sp_solid_free(sp_solid *solid)
{
    if (solid->modelled) sp_law_free(&solid->law);
    *solid = (sp_solid){0};
}

sp_step sp_solid_at(const sp_solid *solid, double strain, int bonded)
{
    const double *size = solid->size, face = size[0] * size[2], stretch = 1 - strain;
    const double factor = bonded ? solid->raise : 1;
    double w, p, a;
    sp_law_eval(&solid->law, 1, &stretch, NULL, &w, &p, &a);
    const double energy = factor * w * face * size[1];
    return (sp_step){.shortening = strain * size[1],
                     .force = strain > 0 ? -factor * p * face : 0,
                     .stiffness = factor * a * face / size[1],
                     .stored = energy,
                     .work = energy,
                     .fibre_strain = bonded ? NAN : strain};
}

void sp_solid_sample(const sp_solid *solid, sp_solid_curve *curve)
{
    *curve = (sp_solid_curve){
        .modelled = solid->modelled, .shape_factor = solid->shape_factor, .raise = solid->raise};
    for (int i = 0; solid->modelled && i < SP_SOLID_STRAINS; i++) {
        const sp_step at = sp_solid_at(solid, 0.01 * i, 0);
        if (!isfinite(at.force) || !isfinite(at.work)) return;
        curve->force[curve->count++] = at.force;
    }
}
