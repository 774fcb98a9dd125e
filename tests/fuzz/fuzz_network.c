/* libFuzzer on the network readers: every refusal is one line, and what is accepted builds a network that keeps its
 * basic rules or is refused in one line. The first byte picks walls and bead. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <strutpress/network.h>

#include "drawing/drawing.h"

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

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    char file[64];
    if (size < 1) return 0;
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
