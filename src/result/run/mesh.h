/* How a case is meshed, with its coupon a little narrower and a little wider beside it. */
#ifndef SP_RUN_MESH_H
#define SP_RUN_MESH_H

#include <strutpress/resolve.h>

#include "law/law.h"
#include "model/model.h"
#include "state/width.h"

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

typedef struct sp_widths {
    /* Mean printed width of the struts, weighted by their length; 0: there is no pair [mm]. */
    double width;
    sp_network network[2];
    sp_model model[2];
    sp_width_pair pair;
} sp_widths;

/* Build both coupons beside a model of the resolved case with flaws. There is no pair where one of
 * the two cannot be built or is meshed in another way. Errors: SP_NO_MEMORY, SP_INTERRUPTED. */
sp_status sp_widths_build(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                          const sp_model *model, sp_widths *widths);
void sp_widths_free(sp_widths *widths);

#endif
