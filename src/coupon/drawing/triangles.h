/* Triangles of the surface of a body in a file: STL, binary or text, and the meshes of 3MF.
 *
 * They are handed on one by one, so that a large file takes no memory here; only a 3MF package is
 * unpacked in memory, and is small (package.h). */
#ifndef SP_DRAWING_TRIANGLES_H
#define SP_DRAWING_TRIANGLES_H

#include <stddef.h>

#include <strutpress/context.h>

enum { SP_TRIANGLES_MAX = 4000000 };

/* Take a triangle: three corners of x, y, z, finite and at most 1e6 mm in size; seen from outside
 * they go round counter-clockwise. A failure ends the reading. */
typedef sp_status sp_take_triangle(void *user, const double corner[9]);

typedef struct sp_triangle_source {
    const char *format; /* in words */
    long triangles;
    int has_unit; /* 0: the file names none, and 1 is taken as 1 mm */
} sp_triangle_source;

/* Return 1 when the name ends as those of files with triangles do. */
int sp_triangles_are_in(const char *file);

/* Read all triangles of a file, at most SP_TRIANGLES_MAX. Errors: SP_NO_READ, SP_BAD_NETWORK
 * ("file:line: received ...; valid: ..." of text, the number of the triangle of binary data),
 * SP_NO_MEMORY, SP_INTERRUPTED, those of `take`. */
sp_status sp_triangles_read(sp_context *context, const char *file, sp_take_triangle *take,
                            void *user, sp_triangle_source *source);

#endif
