/* Put a spatial drawing into the box of the coupon: to scale, with its lower corner in the corner
 * of the box. */
#include "spatial/drawn.h"

#include <math.h>

#include "spatial/rules.h"

/* Find the corners of the box around all lines; points that no line uses do not count. */
static void bounds(const sp_drawing *drawing, double low[3], double high[3])
{
    for (int k = 0; k < 3; k++) low[k] = INFINITY, high[k] = -INFINITY;
    for (int i = 0; i < 2 * drawing->line_count; i++) {
        const double *p = drawing->point + 3 * (size_t)drawing->line_point[i];
        for (int k = 0; k < 3; k++) low[k] = fmin(low[k], p[k]), high[k] = fmax(high[k], p[k]);
    }
}

static void warn_of_cuts(sp_context *context, const sp_case *request, const double extent[3])
{
    const double size[3] = {request->width, request->height, request->depth};
    int larger = 0;
    for (int k = 0; k < 3; k++) larger |= extent[k] > size[k] + request->bead_width;
    if (larger)
        sp_warn(context, "%s: the drawing of %.4g x %.4g x %.4g mm is cut to %.4g x %.4g x %.4g mm",
                request->network_file, extent[0], extent[1], extent[2], size[0], size[1], size[2]);
}

sp_status sp_spatial_build_drawn(sp_context *context, const sp_case *request, int with_flaws,
                                 const sp_drawing *drawing, sp_network *network)
{
    const double given =
        isnan(request->strut_diameter) ? request->bead_width : request->strut_diameter;
    const double size[3] = {request->width, request->height, request->depth};
    sp_graph graph = sp_spatial_graph(size);
    double low[3], high[3], extent[3];
    sp_status status = SP_OK;
    *network = (sp_network){0};
    bounds(drawing, low, high);
    for (int k = 0; k < 3; k++) extent[k] = high[k] - low[k];
    warn_of_cuts(context, request, extent);
    for (int i = 0; status == SP_OK && i < drawing->line_count; i++) {
        double end[2][3], diameter = drawing->line_diameter[i];
        for (int e = 0; e < 2; e++)
            for (int k = 0; k < 3; k++)
                end[e][k] =
                    drawing->point[3 * (size_t)drawing->line_point[2 * i + e] + (size_t)k] - low[k];
        const sp_strut like = {.thickness = isnan(diameter) ? given : diameter,
                               .role = SP_ROLE_INFILL};
        status = sp_graph_add_clipped(context, &graph, end[0], end[1], &like);
    }
    if (status == SP_OK) status = sp_graph_clean(context, request, "infill.network", &graph);
    if (status == SP_OK) status = sp_graph_finish(context, request, with_flaws, &graph, network);
    sp_graph_free(&graph);
    return status;
}
