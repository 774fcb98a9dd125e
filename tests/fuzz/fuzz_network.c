/* This target runs the readers of line drawings: every refusal is one line, and an accepted drawing
 * builds a network that keeps its basic rules or is refused in one line. The first byte picks walls
 * and bead. */
#include <math.h>

#include <strutpress/network.h>

#include "drawing/drawing.h"
#include "fuzz.h"

static void check_message(const sp_context *context, sp_status status, sp_status other)
{
    require(status == SP_OK || status == SP_BAD_NETWORK || status == other);
    require_line(context->message, status != SP_OK);
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
    /* Joints in the plane are a bead apart, joints in space 0.3 of the slimmest strut at them;
     * flaws move each end by 0.3 of what is left. */
    double least = 0.3 * request.bead_width;
    for (int s = 0; network.dimension == 3 && s < network.strut_count; s++) {
        const double height = network.strut_height[s]; /* 0: round */
        least = fmin(least, 0.1 * fmin(network.strut_thickness[s], height > 0 ? height : INFINITY));
    }
    for (int s = 0; s < network.strut_count; s++) {
        double length = sp_network_strut_length(&network, s);
        require(length > least && isfinite(length));
        require(sp_network_free_length(&network, s) > 0);
        require(isfinite(network.strut_bow[s]) && network.strut_thickness[s] > 0);
    }
    require(status != SP_OK || (network.solid_fraction > 0 && network.solid_fraction <= 1));
    require(status != SP_OK || isfinite(network.nominal_density));
    sp_network_free(&network);
}

int LLVMFuzzerTestOneInput(const unsigned char *data, size_t size)
{
    static fuzz_file as_vtk, as_obj;
    sp_context context = {0};
    sp_drawing drawing;
    if (size < 1) return 0;
    const char *text = (const char *)data + 1;
    const int obj = size > 1 && text[0] != '#';
    const sp_status status =
        sp_drawing_parse(&context, obj ? "a.obj" : "a.vtk", text, size - 1, &drawing);
    check_message(&context, status, SP_BAD_NETWORK);
    for (int i = 0; i < 3 * drawing.point_count; i++) require(fabs(drawing.point[i]) <= 1e6);
    for (int i = 0; i < drawing.line_count; i++)
        require(isnan(drawing.line_diameter[i]) || drawing.line_diameter[i] > 0);
    sp_drawing_free(&drawing);
    if (status != SP_OK) return 0;
    fuzz_file *file = obj ? &as_obj : &as_vtk;
    fuzz_put(file, obj ? ".obj" : ".vtk", text, size - 1);
    build(file->name, data[0]);
    return 0;
}
