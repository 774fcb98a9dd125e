/* A surface in files for printers: 3MF (ISO/IEC 25422) and STL, both in millimetres. */
#ifndef SP_PRINTING_MESH_3MF_H
#define SP_PRINTING_MESH_3MF_H

#include <stdio.h>

#include <strutpress/network.h>

#include "printing/surface.h"

typedef struct sp_mesh_file {
    const sp_surface *surface;
    /* Struts of a spatial network beside the triangles, NULL: none. A tool that knows the beam
     * lattice extension may take them for the same body; any other tool skips them. */
    const sp_network *beams;
    /* Lines of a planar network, from which this program reads it again as a drawing, NULL: none;
     * any other tool skips them. */
    const sp_network *lines;
    const char *title, *description; /* plain text without markup */
} sp_mesh_file;

/* Write one object named "coupon" as one build item. Errors: SP_NO_WRITE, SP_NO_MEMORY. */
sp_status sp_mesh_3mf(sp_context *context, const sp_mesh_file *file, FILE *stream);

/* Write binary STL. The format has no unit, so 1 is 1 mm. Errors: SP_NO_WRITE. */
sp_status sp_mesh_stl(sp_context *context, const sp_surface *surface, FILE *stream);

#endif
