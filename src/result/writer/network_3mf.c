/* network.3mf: the unloaded coupon as a closed surface of triangles, with its flaws but for the
 * bows; of a spatial network its struts as a beam lattice besides. A coupon that is to be printed
 * is better written by `strutpress mesh`, which leaves flaws out: they come with the print. */
#include "caution/caution.h"
#include "printing/body.h"
#include "printing/mesh_3mf.h"
#include "write/text.h"
#include "writer/writer_list.h"

sp_status sp_writer_network_3mf(sp_context *context, const sp_result *result, FILE *stream)
{
    const sp_network *network = &result->network;
    const sp_body_options options = {0};
    char title[SP_MESSAGE_SIZE], flaws[160] = "";
    sp_surface surface;
    sp_status status =
        sp_body_build(context, network, sp_body_wall(&result->request), &options, &surface);
    if (status != SP_OK) return status;
    sp_body_title(network, title);
    if (result->request.flaw_seed)
        sp_format(flaws, sizeof flaws,
                  " Flaws of seed %d are in it; flaws.seed=0 gives the coupon as designed.",
                  result->request.flaw_seed);
    char description[2 * SP_MESSAGE_SIZE];
    sp_format(description, sizeof description, "%s%s", SP_CAUTION_SAFETY, flaws);
    const sp_mesh_file file = {.surface = &surface,
                               .beams = network->built == SP_BUILT_SPATIAL ? network : NULL,
                               .title = title,
                               .description = description};
    status = sp_mesh_3mf(context, &file, stream);
    sp_surface_free(&surface);
    return status;
}
