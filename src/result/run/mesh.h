/* How a case is meshed. */
#ifndef SP_RUN_MESH_H
#define SP_RUN_MESH_H

#include <strutpress/case.h>

#include "model/model.h"

static inline sp_model_options sp_mesh_of(const sp_case *request)
{
    return (sp_model_options){.platens = request->platens,
                              .elements_per_strut = request->elements_per_strut,
                              .section_points = request->section_points,
                              .contact_spacing = request->contact_spacing,
                              .friction_struts = request->strut_friction,
                              .friction_platens = request->platen_friction,
                              .shear_factor = request->shear_factor};
}

#endif
