/* Line drawings in files: points, the lines between them and a diameter for each, in mm.
 *
 * Read from open formats: legacy VTK (ASCII POLYDATA or UNSTRUCTURED_GRID), OBJ (v and l) and 3MF
 * with a beam lattice. What is read of each and what is refused stands in meshes/README.md. */
#ifndef SP_DRAWING_DRAWING_H
#define SP_DRAWING_DRAWING_H

#include <stddef.h>

#include <strutpress/context.h>

#include "base/hash.h"

enum { SP_DRAWING_MAX = 4000000 }; /* points and lines at most, more than any press could take */

typedef struct sp_drawing {
    int point_count, point_capacity;
    double *point; /* 3 per point [mm] */
    int line_count, line_capacity;
    int *line_point;       /* 2 per line: points A, B */
    double *line_diameter; /* 1 per line [mm], NaN: not given */
    /* Of a drawing that was read from a file: the hash of the bytes that were parsed. */
    size_t file_size;
    char file_hash[SP_HASH_TEXT_SIZE];
    /* 0: all z are equal, and the drawing is a planar network that is extruded through the depth.
     */
    int is_spatial;
    /* For a tool path whose layers repeat, else 0 and NULL: the lines lie at z = 0, 1, .. repeat -
     * 1, and layer k has those at k % repeat. */
    int repeat, layer_count;
    double *layer_height;                /* 1 per layer, from below [mm] */
    struct sp_toolpath_figures *printed; /* what a tool path prints; owned */
} sp_drawing;

/* Read a file once, so that what is parsed is also what is hashed. Errors: SP_NO_READ,
 * SP_BAD_NETWORK ("file:line: received ...; valid: ..."), SP_NO_MEMORY. On failure *drawing is
 * empty. */
sp_status sp_drawing_read(sp_context *context, const char *file, sp_drawing *drawing);

/* Read bytes that are in memory already; bytes[size] must be 0, `name` stands in messages and gives
 * the extension. */
sp_status sp_drawing_parse(sp_context *context, const char *name, const char *bytes, size_t size,
                           sp_drawing *drawing);

/* Keep the first `most` of the lines that have equal ends and diameters, and drop the others.
 * Errors: SP_NO_MEMORY. */
sp_status sp_drawing_drop_equal(sp_context *context, sp_drawing *drawing, int most);
int sp_drawing_is_flat(const sp_drawing *drawing); /* 1: all points have one z */
sp_status sp_drawing_add_point(sp_context *context, sp_drawing *drawing, const double point[3]);
sp_status sp_drawing_add_line(sp_context *context, sp_drawing *drawing, int from, int to,
                              double diameter);
void sp_drawing_free(sp_drawing *drawing);

#endif
