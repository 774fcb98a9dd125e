/* libFuzzer on the network readers: every refusal is one line, and what is accepted builds a network that keeps its
 * basic rules or is refused in one line. The first byte picks walls and bead; from 128 on the rest are not lines but the
 * settings of a spatial pattern. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <strutpress/network.h>

#include "drawing/drawing.h"
#include "pattern/cell.h"

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size);

static void require(int condition)
{
    if (!condition) abort();
}

static void check_message(const sp_context *context, sp_status status, sp_status other)
{
    require(status == SP_OK || status == SP_BAD_NETWORK || status == other);
    require((status == SP_OK) == (context->message[0] == 0));
    require(!strchr(context->message, '\n'));
}

static void build(const char *file, unsigned char choice)
{
    sp_context context = {0};
    sp_case request;
    sp_network network;
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "drawn");
    snprintf(request.network_file, sizeof request.network_file, "%s", file);
    request.wall_beads = choice % 4;
    request.bead_width = choice & 4 ? 0.42 : 1.3;
    request.missing = choice & 8 ? 0.1 : 0;
    sp_status status = sp_network_build(&context, &request, 1, &network);
    check_message(&context, status, SP_BAD_CASE);
    for (int s = 0; s < network.strut_count; s++) {
        double length = sp_network_strut_length(&network, s);
        require(length > 0.3 * request.bead_width && isfinite(length));
        require(sp_network_free_length(&network, s) > 0);
        require(isfinite(network.strut_bow[s]) && network.strut_thickness[s] > 0);
    }
    require(status != SP_OK || (network.solid_fraction > 0 && network.solid_fraction <= 1));
    require(status != SP_OK || isfinite(network.nominal_density));
    sp_network_free(&network);
}

/* Cells in a coupon from twelve bytes: small ones, so that a run takes milliseconds. */
static void build_cells(const unsigned char *byte)
{
    sp_context context = {0};
    sp_case request;
    sp_network network;
    int count;
    const sp_cell_row *row = sp_cell_rows(&count);
    sp_case_default(&request);
    snprintf(request.pattern, sizeof request.pattern, "%s", row[byte[0] % count].name);
    request.width = 2 + byte[1] % 64, request.height = 2 + byte[2] % 64,
    request.depth = 2 + byte[3] % 64;
    request.cells_x = byte[4] % 5, request.cells_y = byte[4] / 5 % 4, request.cells_z = byte[5] % 5;
    if (byte[5] > 127) request.strut_diameter = 0.02 * (1 + byte[6]);
    if (!request.cells_x) request.cell_size = fmax(1, 0.4 * request.width) + byte[7];
    request.density = 0.01 + byte[8] / 260.0;
    for (int k = 0; k < 3; k++) request.direction.value[k] = (byte[9] >> (2 * k) & 3) - 1;
    request.turn = byte[10];
    request.offset_z = byte[10] / 256.0;
    request.face_plates = byte[11] & 1, request.side_frames = byte[11] >> 1 & 1;
    request.missing = (byte[11] >> 2 & 3) / 8.0;
    request.joint_offset = (byte[11] >> 4 & 3) / 3.0;
    sp_status status = sp_network_build(&context, &request, 1, &network);
    check_message(&context, status, SP_BAD_CASE);
    for (int s = 0; s < network.strut_count; s++) {
        require(sp_network_strut_length(&network, s) > 0);
        require(sp_network_free_length(&network, s) > 0);
        require(isfinite(network.strut_bow[s]) && network.strut_thickness[s] > 0);
        for (int k = 0; k < 3; k++) require(fabs(network.strut_up[3 * s + k]) <= 1 + 1e-9);
    }
    require(status != SP_OK || (network.solid_fraction > 0 && network.solid_fraction <= 1));
    require(status != SP_OK || isfinite(network.nominal_density));
    sp_network_free(&network);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    char file[64];
    if (size < 1) return 0;
    if (data[0] > 127) {
        if (size > 12) build_cells(data + 1);
        return 0;
    }
    char *text = malloc(size);
    require(text != NULL);
    memcpy(text, data + 1, size - 1);
    text[size - 1] = 0;
    int obj = size > 1 && text[0] != '#';
    snprintf(file, sizeof file, "/tmp/fuzz_network_%ld.%s", (long)getpid(), obj ? "obj" : "vtk");

    sp_context context = {0};
    sp_drawing drawing;
    sp_status status = sp_drawing_parse(&context, file, text, size - 1, &drawing);
    check_message(&context, status, SP_BAD_NETWORK);
    for (int i = 0; i < 3 * drawing.point_count; i++) require(fabs(drawing.point[i]) <= 1e6);
    for (int i = 0; i < drawing.line_count; i++)
        require(isnan(drawing.line_diameter[i]) || drawing.line_diameter[i] > 0);
    sp_drawing_free(&drawing);
    if (status == SP_OK) {
        FILE *stream = fopen(file, "wb");
        require(stream && fwrite(text, 1, size - 1, stream) == size - 1 && fclose(stream) == 0);
        build(file, data[0]);
        remove(file);
    }
    free(text);
    return 0;
}
