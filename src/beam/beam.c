#include "beam/beam.h"

#include "beam/planar.h"
#include "beam/spatial.h"

double sp_beam_eval(const sp_model *model, int element, const double *x, double *gradient,
                    double *hessian, sp_beam_state *state)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_eval(e, &model->section[e->strut], x + 3 * e->node[0], x + 3 * e->node[1],
                              gradient, hessian, state);
    }
    const sp_spatial_element *e = &model->spatial[element];
    return sp_spatial_eval(e, &model->spatial_section[e->strut], x + SP_SPATIAL_VALUES * e->node[0],
                           x + SP_SPATIAL_VALUES * e->node[1], gradient, hessian, state);
}

double sp_beam_fibre_strain(const sp_model *model, int strut, const sp_beam_state *state)
{
    if (model->dimension == 2)
        return sp_section_fibre_strain(&model->section[strut], state->eps, state->curvature[1]);
    return sp_spatial_fibre_strain(
        &model->spatial_section[strut],
        (double[3]){state->eps, state->curvature[0], state->curvature[1]});
}

double sp_beam_bending(const sp_model *model, int element, const double *x,
                       const sp_beam_state *state, const double *mode)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_bending(e, &model->section[e->strut], state, mode[3 * e->node[0] + 2],
                                 mode[3 * e->node[1] + 2]);
    }
    const sp_spatial_element *e = &model->spatial[element];
    return sp_spatial_bending(
        e, &model->spatial_section[e->strut], x + SP_SPATIAL_VALUES * e->node[0],
        x + SP_SPATIAL_VALUES * e->node[1], state, mode + SP_SPATIAL_UNKNOWNS * e->node[0] + 3,
        mode + SP_SPATIAL_UNKNOWNS * e->node[1] + 3);
}
