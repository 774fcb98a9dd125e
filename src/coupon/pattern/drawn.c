/* The user's own lines, in mm; meshes/README.md says in which formats. The network places them, see
 * build/build.c. */
#include "pattern/drawn.h"
#include "pattern/parts.h"

#include <string.h>

#include "case/case_parts.h"
#include "toolpath/toolpath.h"

/* A line density of 0 means that a drawing keeps its scale. */
double sp_drawn_line_density(const sp_case *request)
{
    (void)request;
    return 0;
}

sp_status sp_drawn_read(sp_context *context, const sp_case *request, sp_drawing *drawing)
{
    *drawing = (sp_drawing){0};
    if (sp_toolpath_is_used(request)) return sp_toolpath_drawing(context, request, drawing, NULL);
    if (!request->network_file[0])
        return sp_case_fail_at(context, request, "infill.network", "",
                               "a VTK, OBJ or 3MF file of lines, see meshes/README.md", NULL);
    return sp_drawing_read(context, request->network_file, drawing);
}

int sp_drawn_is_used(const sp_case *request)
{
    if (sp_case_is_solid(request)) return 0;
    return !strcmp(request->pattern, "drawn") || sp_toolpath_is_used(request) ||
           (request->layers > 0 && !strcmp(request->layer_pattern, "drawn"));
}

sp_status sp_drawn_pieces(sp_context *context, const sp_drawing *drawing, sp_pieces *pieces)
{
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < drawing->line_count; i++) {
        const double *a = drawing->point + 3 * (size_t)drawing->line_point[2 * i];
        const double *b = drawing->point + 3 * (size_t)drawing->line_point[2 * i + 1];
        status = sp_pieces_add(context, pieces, a[0], a[1], b[0], b[1]);
    }
    return status;
}

/* A drawing is not shifted. */
void sp_drawn_lattice(const sp_case *request, double vector[2][2])
{
    (void)request;
    memset(vector, 0, 2 * sizeof vector[0]);
}

sp_status sp_drawn_emit(sp_context *context, const sp_case *request, double radius,
                        sp_pieces *pieces)
{
    sp_drawing drawing;
    (void)radius;
    sp_status status = sp_drawn_read(context, request, &drawing);
    if (status == SP_OK && drawing.is_spatial)
        status = sp_case_fail_at(context, request, "infill.network", NULL,
                                 "a drawing with one z (a layer is planar)", NULL);
    if (status == SP_OK) status = sp_drawn_pieces(context, &drawing, pieces);
    sp_drawing_free(&drawing);
    return status;
}
