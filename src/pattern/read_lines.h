/* Line drawings from open formats: legacy VTK (ASCII POLYDATA or UNSTRUCTURED_GRID) and Wavefront OBJ (v and l).
 * What is read of each and what is refused stands in meshes/README.md. */
#ifndef SP_PATTERN_READ_LINES_H
#define SP_PATTERN_READ_LINES_H

#include "pattern/pattern.h"

/* Add the lines of a file, in mm. Errors: SP_NO_READ, SP_BAD_NETWORK ("file:line: received ...; valid: ..."),
 * SP_NO_MEMORY. */
sp_status sp_read_lines(sp_context *context, const char *file, sp_pieces *pieces);

/* The same from text already in memory; text[size] must be 0, `name` stands in messages and gives the extension. */
sp_status sp_parse_lines(sp_context *context, const char *name, const char *text, size_t size,
                         sp_pieces *pieces);

#endif
