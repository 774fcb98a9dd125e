/* A network as legacy VTK polydata, for writers and for the answers of a search. */
#ifndef SP_WRITER_NETWORK_VTK_H
#define SP_WRITER_NETWORK_VTK_H

#include <stdio.h>

#include <strutpress/network.h>

/* Write straight struts in mm with thickness and role; for spatial networks also diameter (for a
 * rectangle that of the circle of the same area) and height. `title` is one line of at most 255
 * characters. */
void sp_vtk_network(const sp_network *network, const char *title, FILE *stream);

#endif
