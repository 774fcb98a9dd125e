/* The user's own lines, in mm as drawn; see meshes/README.md. The network places them, see network/build.c. */
#include "pattern/parts.h"
#include "pattern/read_lines.h"

#include "case/case_parts.h"

/* 0: drawn to scale. */
double sp_drawn_line_density(const sp_case *request)
{
    (void)request;
    return 0;
}

sp_status sp_drawn_emit(sp_context *context, const sp_case *request, double radius,
                        sp_pieces *pieces)
{
    (void)radius;
    if (!request->network_file[0])
        return sp_case_fail_at(context, request, "infill.network", "",
                               "a VTK or OBJ file of lines, see meshes/README.md", NULL);
    return sp_read_lines(context, request->network_file, pieces);
}
