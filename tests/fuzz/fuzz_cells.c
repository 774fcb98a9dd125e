/* This target runs the spatial patterns: twelve bytes are the settings of a coupon, and its network
 * keeps the basic rules or is refused in one line. There are at most about three cells along a
 * side, which are enough for a joint to go wrong. */
#include <math.h>

#include <strutpress/network.h>

#include "fuzz.h"
#include "pattern/cell.h"

int LLVMFuzzerTestOneInput(const unsigned char *byte, size_t size)
{
    sp_context context = {0};
    sp_case request;
    sp_network network;
    int count;
    if (size < 12) return 0;
    const sp_cell_row *row = sp_cell_rows(&count);
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "%s", row[byte[0] % count].name);
    request.width = 2 + byte[1] % 64;
    request.height = request.width * (0.5 + byte[2] / 256.0);
    request.depth = request.width * (0.5 + byte[3] / 256.0);
    request.cells_x = byte[4] % 3, request.cells_y = byte[4] / 3 % 3, request.cells_z = byte[5] % 3;
    if (byte[5] > 127) request.strut_diameter = 0.02 * (1 + byte[6]);
    if (!request.cells_x) request.cell_size = fmax(1, 0.7 * request.width) * (1 + byte[7] / 128.0);
    request.density = 0.01 + byte[8] / 260.0;
    for (int k = 0; k < 3; k++) request.direction.value[k] = (byte[9] >> (2 * k) & 3) - 1;
    request.turn = byte[10];
    request.offset_z = byte[10] / 256.0;
    request.face_plates = byte[11] & 1, request.side_frames = byte[11] >> 1 & 1;
    request.missing = (byte[11] >> 2 & 3) / 8.0;
    request.joint_offset = (byte[11] >> 4 & 3) / 3.0;
    sp_status status = sp_network_build(&context, &request, 1, &network);
    require(status == SP_OK || status == SP_BAD_NETWORK || status == SP_BAD_CASE);
    require_line(context.message, status != SP_OK);
    for (int s = 0; s < network.strut_count; s++) {
        require(sp_network_strut_length(&network, s) > 0);
        require(sp_network_free_length(&network, s) > 0);
        require(isfinite(network.strut_bow[s]) && network.strut_thickness[s] > 0);
        for (int k = 0; k < 3; k++) require(fabs(network.strut_up[3 * s + k]) <= 1 + 1e-9);
    }
    require(status != SP_OK || (network.solid_fraction > 0 && network.solid_fraction <= 1));
    require(status != SP_OK || isfinite(network.nominal_density));
    sp_network_free(&network);
    return 0;
}
