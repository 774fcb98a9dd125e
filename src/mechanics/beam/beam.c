#include "beam/beam.h"

#include <math.h>

#include "beam/linear_part.h"
#include "beam/panel.h"
#include "beam/planar.h"
#include "beam/spatial.h"

/* These parts of an element are linear: shear, and in space two shears and the twist. */
enum { LINEAR_MAX = 3 };

/* These are the parts of an element that its history standss for. */
typedef struct parts {
    const sp_law *law;
    int points;
    const double *weight; /* of the fibres */
    double length;        /* of the element */
    int linear;           /* scalars behind the fibres */
    int two;              /* 1: asked at two places, whose difference stands behind the scalars */
    double stiffness[LINEAR_MAX], radius[LINEAR_MAX];
} parts;

static const sp_section *planar_section(const sp_model *model, int element)
{
    return &model->section[sp_model_section(model, model->element[element].strut, element)];
}

static const sp_spatial_section *spatial_section(const sp_model *model, int element)
{
    return &model->spatial_section[sp_model_section(model, model->spatial[element].strut, element)];
}

static parts parts_of(const sp_model *model, int element)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        const sp_section *section = planar_section(model, element);
        return (parts){
            .law = section->law,
            .points = section->points,
            .weight = section->weight,
            .length = e->length,
            .linear = 1,
            .two = section->two.first > 0,
            .stiffness = {e->shear},
            .radius = {1},
        };
    }
    const sp_spatial_element *e = &model->spatial[element];
    const sp_spatial_section *section = spatial_section(model, element);
    return (parts){section->law,
                   section->points,
                   section->weight,
                   e->length,
                   3,
                   0,
                   {e->shear[0], e->shear[1], section->torsion_stiffness},
                   {1, 1, sp_twist_radius(section)}};
}

size_t sp_beam_history(const sp_model *model, int element)
{
    const parts p = parts_of(model, element);
    return sp_linear_place(p.law, p.points, p.linear) + (p.two ? SP_PLANAR_MORE : 0);
}

static sp_section_strain planar_strain(const sp_beam_state *state)
{
    return (sp_section_strain){state->eps, state->curvature[1], state->more[0], state->more[1]};
}

static double fibres_keep(const sp_model *model, int element, const sp_beam_state *state,
                          double *history)
{
    const double *k = state->curvature;
    const sp_section_strain planar = planar_strain(state);
    if (model->dimension == 2)
        return sp_section_keep(planar_section(model, element), &planar, history);
    return sp_spatial_section_keep(spatial_section(model, element),
                                   (double[3]){state->eps, k[0], k[1]}, history);
}

static double fibres_spent(const sp_model *model, int element, const sp_beam_state *state,
                           const double *history)
{
    const double *k = state->curvature;
    const sp_section_strain planar = planar_strain(state);
    if (model->dimension == 2)
        return sp_section_spent(planar_section(model, element), &planar, history);
    return sp_spatial_section_spent(spatial_section(model, element),
                                    (double[3]){state->eps, k[0], k[1]}, history);
}

static void linear_lost(const parts *p, const double *history, sp_law_lost *lost)
{
    for (int i = 0; p->law->time.on && i < p->linear; i++)
        sp_law_scalar_add_lost(p->stiffness[i], history + sp_linear_place(p->law, p->points, i),
                               lost);
}

double sp_beam_keep(const sp_model *model, int element, const sp_beam_state *state, double *history)
{
    const parts p = parts_of(model, element);
    sp_law_lost lost = {0};
    double dissipated = fibres_keep(model, element, state, history);
    double *more = history + sp_linear_place(p.law, p.points, p.linear);
    for (int i = 0; p.two && i < SP_PLANAR_MORE; i++) more[i] = state->more[i];
    if (p.law->time.on) {
        for (int i = 0; i < p.linear; i++)
            sp_law_scalar_keep(p.law, p.radius[i], state->shear[i],
                               history + sp_linear_place(p.law, p.points, i));
        linear_lost(&p, history, &lost);
        dissipated += lost.relaxed + lost.flowed;
    }
    return p.length * dissipated;
}

void sp_beam_arm(const sp_model *model, int element, double dt, double *history)
{
    const parts p = parts_of(model, element);
    if (!p.law->time.on) return;
    sp_law_arm(p.law, dt, p.points, history);
    for (int i = 0; i < p.linear; i++)
        sp_law_scalar_arm(p.law, dt, history + sp_linear_place(p.law, p.points, i));
}

double sp_beam_spent(const sp_model *model, int element, const sp_beam_state *state,
                     const double *history)
{
    const parts p = parts_of(model, element);
    double sum = fibres_spent(model, element, state, history);
    for (int i = 0; i < p.linear; i++)
        sum += p.stiffness[i] * sp_law_scalar_spent(p.law, p.radius[i], state->shear[i],
                                                    history + sp_linear_place(p.law, p.points, i));
    return p.length * sum;
}

void sp_beam_add_lost(const sp_model *model, int element, const double *history, sp_law_lost *lost)
{
    const parts p = parts_of(model, element);
    sp_law_lost own = {0};
    sp_law_add_lost(p.law, p.points, p.weight, history, &own);
    linear_lost(&p, history, &own);
    lost->softened += p.length * own.softened;
    lost->relaxed += p.length * own.relaxed;
    lost->flowed += p.length * own.flowed;
}

double sp_beam_chord(const sp_model *model, int element, const sp_beam_state *state)
{
    if (model->network->strut_panel) return 1 + state->eps;
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_chord(e, planar_section(model, element), state);
    }
    const sp_spatial_element *e = &model->spatial[element];
    return sp_spatial_chord(e, spatial_section(model, element), state);
}

int sp_beam_within_law(const sp_model *model, int element, const sp_beam_state *state,
                       const double *history, double times)
{
    const double eps = times * state->eps, *k = state->curvature;
    if (model->dimension == 2) {
        sp_resultants r;
        const sp_section_strain planar = {eps, times * k[1], times * state->more[0],
                                          times * state->more[1]};
        sp_section_eval(planar_section(model, element), &planar, history, &r);
        return r.energy < INFINITY;
    }
    sp_spatial_resultants r;
    sp_spatial_section_eval(spatial_section(model, element),
                            (double[3]){eps, times * k[0], times * k[1]}, history, &r);
    return r.energy < INFINITY;
}

double sp_beam_eval(const sp_model *model, int element, const double *x, const double *history,
                    double *gradient, double *hessian, sp_beam_state *state)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_eval(e, planar_section(model, element), x + 3 * e->node[0],
                              x + 3 * e->node[1], history, gradient, hessian, state);
    }
    const sp_spatial_element *e = &model->spatial[element];
    const sp_spatial_section *section = spatial_section(model, element);
    const double *xa = x + SP_SPATIAL_VALUES * e->node[0], *xb = x + SP_SPATIAL_VALUES * e->node[1];
    return section->shape >= SP_SHAPE_PANEL
               ? sp_panel_eval(e, section, xa, xb, history, gradient, hessian, state)
               : sp_spatial_eval(e, section, xa, xb, history, gradient, hessian, state);
}

void sp_beam_eval_several(const sp_model *model, int first, int count, const double *x,
                          const double *const *history, double *gradient, double *hessian,
                          double *energy, sp_beam_state *state)
{
    const int side = 2 * model->unknowns;
    sp_spatial_job job[SP_BEAM_SEVERAL];
    if (model->dimension == 2) {
        for (int i = 0; i < count; i++)
            energy[i] = sp_beam_eval(model, first + i, x, history[i], gradient + side * i,
                                     hessian + side * side * i, &state[i]);
        return;
    }
    for (int i = 0; i < count; i++) {
        const sp_spatial_element *e = &model->spatial[first + i];
        job[i] = (sp_spatial_job){e,
                                  spatial_section(model, first + i),
                                  x + SP_SPATIAL_VALUES * e->node[0],
                                  x + SP_SPATIAL_VALUES * e->node[1],
                                  history[i],
                                  gradient + side * i,
                                  hessian + side * side * i,
                                  &state[i],
                                  0};
    }
    /* In a network of panels every element is a bar or the strip of a skin. */
    if (model->network->strut_panel)
        sp_panel_eval_several(count, job);
    else
        sp_spatial_eval_several(count, job);
    for (int i = 0; i < count; i++) energy[i] = job[i].energy;
}

double sp_beam_fibre_strain(const sp_model *model, int element, const sp_beam_state *state)
{
    const sp_section_strain planar = planar_strain(state);
    if (model->dimension == 2)
        return sp_section_fibre_strain(planar_section(model, element), &planar);
    return sp_spatial_fibre_strain(
        spatial_section(model, element),
        (double[3]){state->eps, state->curvature[0], state->curvature[1]});
}

void sp_beam_fibre_range(const sp_model *model, int element, const sp_beam_state *state,
                         double *least, double *most)
{
    const sp_section *section = model->dimension == 2 ? planar_section(model, element) : NULL;
    const int places = section && section->two.first > 0 ? 2 : 1;
    for (int i = 0; i < places; i++) {
        sp_beam_state at = *state;
        if (places == 2) {
            const double times = i == 0 ? 1 : -section->two.back;
            at.eps += times * state->more[0];
            at.curvature[1] += times * state->more[1];
            at.more[0] = at.more[1] = 0;
        }
        const double bend = sp_beam_fibre_strain(model, element, &at) - fabs(at.eps);
        *most = fmax(*most, 1 + at.eps + bend);
        *least = fmin(*least, 1 + at.eps - bend);
    }
}

double sp_beam_bending(const sp_model *model, int element, const double *x,
                       const sp_beam_state *state, const double *history, const double *mode)
{
    if (model->dimension == 2) {
        const sp_element *e = &model->element[element];
        return sp_planar_bending(e, planar_section(model, element), state, history,
                                 mode[3 * e->node[0] + 2], mode[3 * e->node[1] + 2]);
    }
    const sp_spatial_element *e = &model->spatial[element];
    return sp_spatial_bending(
        e, spatial_section(model, element), x + SP_SPATIAL_VALUES * e->node[0],
        x + SP_SPATIAL_VALUES * e->node[1], state, history,
        mode + SP_SPATIAL_UNKNOWNS * e->node[0] + 3, mode + SP_SPATIAL_UNKNOWNS * e->node[1] + 3);
}
