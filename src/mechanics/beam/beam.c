#include "beam/beam.h"

#include <math.h>

#include "beam/panel.h"
#include "beam/planar.h"
#include "beam/spatial.h"

size_t sp_beam_history(const sp_model *model, int element)
{
    const int planar = model->dimension == 2;
    const int strut = planar ? model->element[element].strut : model->spatial[element].strut;
    const sp_law *law = planar ? model->section[strut].law : model->spatial_section[strut].law;
    const int points = planar ? model->section[strut].points : model->spatial_section[strut].points;
    return law->row->history ? (size_t)(points * law->row->history->count) : 0;
}

double sp_beam_keep(const sp_model *model, int element, const sp_beam_state *state, double *history)
{
    const double *k = state->curvature;
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return e->length * sp_section_keep(&model->section[e->strut], state->eps, k[1], history);
    }
    const sp_spatial_element *e = &model->spatial[element];
    return e->length * sp_spatial_section_keep(&model->spatial_section[e->strut],
                                               (double[3]){state->eps, k[0], k[1]}, history);
}

int sp_beam_within_law(const sp_model *model, int element, const sp_beam_state *state, double times)
{
    const double eps = times * state->eps, *k = state->curvature;
    if (model->dimension == 2) {
        sp_resultants r;
        sp_section_eval(&model->section[model->element[element].strut], eps, times * k[1], NULL,
                        &r);
        return r.energy < INFINITY;
    }
    sp_spatial_resultants r;
    sp_spatial_section_eval(&model->spatial_section[model->spatial[element].strut],
                            (double[3]){eps, times * k[0], times * k[1]}, NULL, &r);
    return r.energy < INFINITY;
}

double sp_beam_eval(const sp_model *model, int element, const double *x, const double *history,
                    double *gradient, double *hessian, sp_beam_state *state)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_eval(e, &model->section[e->strut], x + 3 * e->node[0], x + 3 * e->node[1],
                              history, gradient, hessian, state);
    }
    const sp_spatial_element *e = &model->spatial[element];
    const sp_spatial_section *section = &model->spatial_section[e->strut];
    const double *xa = x + SP_SPATIAL_VALUES * e->node[0], *xb = x + SP_SPATIAL_VALUES * e->node[1];
    return section->shape == SP_SHAPE_PANEL
               ? sp_panel_eval(e, section, xa, xb, history, gradient, hessian, state)
               : sp_spatial_eval(e, section, xa, xb, history, gradient, hessian, state);
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
                       const sp_beam_state *state, const double *history, const double *mode)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_bending(e, &model->section[e->strut], state, history,
                                 mode[3 * e->node[0] + 2], mode[3 * e->node[1] + 2]);
    }
    const sp_spatial_element *e = &model->spatial[element];
    return sp_spatial_bending(
        e, &model->spatial_section[e->strut], x + SP_SPATIAL_VALUES * e->node[0],
        x + SP_SPATIAL_VALUES * e->node[1], state, history,
        mode + SP_SPATIAL_UNKNOWNS * e->node[0] + 3, mode + SP_SPATIAL_UNKNOWNS * e->node[1] + 3);
}
