/* Write network.3mf: the unloaded coupon without flaws, since a printer adds its own, as a closed
 * surface of triangles, and for a spatial network also its struts as a beam lattice. `strutpress
 * mesh` writes it with more options. */
#include "caution/caution.h"
#include "printing/body.h"
#include "printing/mesh_3mf.h"
#include "write/text.h"
#include "writer/writer_list.h"

static sp_status write_body(sp_context *context, const sp_result *result, const sp_network *network,
                            FILE *stream)
{
    const sp_body_options options = {0};
    char title[SP_MESSAGE_SIZE];
    sp_surface surface;
    sp_status status =
        sp_body_build(context, network, sp_body_wall(&result->request), &options, &surface);
    if (status != SP_OK) return status;
    sp_body_title(network, title);
    const sp_mesh_file file = {.surface = &surface,
                               .beams = network->built == SP_BUILT_SPATIAL ? network : NULL,
                               .lines = network->built == SP_BUILT_EXTRUDED ? network : NULL,
                               .title = title,
                               .description = SP_CAUTION_SAFETY};
    status = sp_mesh_3mf(context, &file, stream);
    sp_surface_free(&surface);
    return status;
}

/* The network without flaws exists where the critical step was searched for; else it is built, also
 * when the press was interrupted, because the states found so far are kept. */
sp_status sp_writer_network_3mf(sp_context *context, const sp_result *result, FILE *stream)
{
    sp_network built = {0};
    sp_context own = {0};
    if (!result->request.flaw_seed || result->network.built == SP_BUILT_SOLID)
        return write_body(context, result, &result->network, stream);
    if (result->plain.joint_count) return write_body(context, result, &result->plain, stream);
    sp_status status = sp_network_build(&own, &result->request, 0, &built);
    if (status != SP_OK) sp_fail(context, status, "%s", own.message);
    if (status == SP_OK) status = write_body(context, result, &built, stream);
    sp_network_free(&built);
    return status;
}
