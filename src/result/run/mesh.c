/* Two coupons beside the one that is pressed, for one derivative by the width (E235). */
#include "run/mesh.h"

#include <math.h>
#include <string.h>

#include "base/memory.h"

static const double share = 1e-3; /* of the width, by which the coupons are wider and narrower */

/* Return the mean width of the struts, weighted by their length. */
static double mean_width(const sp_network *network)
{
    double sum = 0, length = 0;
    for (int s = 0; s < network->strut_count; s++) {
        const double own = sp_network_strut_length(network, s);
        sum += own * network->strut_thickness[s];
        length += own;
    }
    return length > 0 ? sum / length : 0;
}

static sp_status build_one(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                           const sp_model *model, double offset, sp_network *network,
                           sp_model *other)
{
    sp_resolved with = *resolved; /* the drawing still belongs to the original */
    sp_model_options mesh = sp_mesh_of(&resolved->request);
    mesh.like = model;
    with.request.width_offset += offset;
    with.request.diameter_offset += offset;
    sp_status status =
        sp_resolved_network(context, &with, resolved->request.flaw_seed != 0, network);
    if (status == SP_OK && network->strut_count != model->network->strut_count) {
        sp_network_free(network);
        return SP_OK;
    }
    if (status == SP_OK) status = sp_model_build(context, network, law, &mesh, other);
    return status;
}

sp_status sp_widths_build(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                          const sp_model *model, sp_widths *widths)
{
    sp_context quiet = {.interrupt = context ? context->interrupt : NULL};
    sp_status status = SP_OK;
    memset(widths, 0, sizeof *widths);
    const double width = mean_width(model->network);
    const double bytes = 4 * sp_model_bytes(model->dimension, model->element_count);
    if (!(width > 0)) return SP_OK;
    status = sp_memory_expect(context, bytes, "a coupon printed narrower and one printed wider");
    if (status != SP_OK)
        return status; /* too little memory is a failure, so that the figures do not depend on the
                          memory */
    widths->pair.step = share * width;
    for (int i = 0; i < 2 && status == SP_OK; i++) {
        const double offset = i ? widths->pair.step : -widths->pair.step;
        status =
            build_one(&quiet, resolved, law, model, offset, &widths->network[i], &widths->model[i]);
        widths->pair.model[i] = &widths->model[i];
    }
    if (status == SP_OK && sp_width_is_alike(model, &widths->pair)) widths->width = width;
    if (widths->width > 0) return SP_OK;
    sp_widths_free(widths);
    if (status != SP_NO_MEMORY && status != SP_INTERRUPTED) return SP_OK;
    return sp_fail(context, status, "%s", quiet.message);
}

void sp_widths_free(sp_widths *widths)
{
    for (int i = 0; i < 2; i++) {
        if (widths->model[i].network) sp_model_free(&widths->model[i]);
        sp_network_free(&widths->network[i]);
    }
    memset(widths, 0, sizeof *widths);
}
