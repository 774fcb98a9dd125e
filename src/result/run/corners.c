/* What the corners of the joints change: the first stiffness of the coupon with corners as sharp,
 * and as full, as a printer may leave them. */
#include <math.h>
#include <string.h>

#include "model/model.h"
#include "run/corners.h"
#include "run/mesh.h"
#include "state/equilibrium.h"

static const double small = 1e-4; /* strain over which a first stiffness is taken */
static const int most_iterations = 40;

/* Return force over travel of the network of a case at small strain [N/mm]; NaN where Newton's
 * method finds no state. */
static sp_status first_stiffness(sp_context *context, const sp_resolved *resolved,
                                 const sp_law *law, double *stiffness)
{
    const sp_model_options mesh = sp_mesh_of(&resolved->request);
    sp_network network;
    sp_model model = {0};
    sp_system system;
    sp_attempt attempt;
    *stiffness = NAN;
    sp_status status =
        sp_resolved_network(context, resolved, resolved->request.flaw_seed != 0, &network);
    if (status != SP_OK) return status;
    status = sp_model_build(context, &network, law, &mesh, &model);
    if (status == SP_OK) {
        const double travel = small * model.height;
        status = sp_system_create(context, &model, 1, &system);
        if (status == SP_OK) {
            status = sp_equilibrium_follow(context, &system, model.reference, travel,
                                           most_iterations, &attempt);
            if (status == SP_OK && attempt.end == SP_FOUND) *stiffness = system.force / travel;
            sp_system_free(&system);
        }
        sp_model_free(&model);
    }
    sp_network_free(&network);
    return status;
}

/* How round corners are depends on the printer: between sharp, as files of struts in space have
 * them, and filled, as where a bead is laid twice. */
sp_status sp_corners_take(sp_context *context, const sp_resolved *resolved, const sp_law *law,
                          sp_corners *corners)
{
    *corners =
        (sp_corners){.zone = {0.5, resolved->request.joint_zone, 2}, .stiffness = {NAN, NAN, NAN}};
    sp_status status = SP_OK;
    for (int i = 0; i < 3 && status == SP_OK; i++) {
        sp_resolved with = *resolved; /* the drawing still belongs to the original */
        with.request.joint_zone = corners->zone[i];
        status = first_stiffness(context, &with, law, &corners->stiffness[i]);
    }
    return status;
}
