/* A network as legacy VTK polydata, for writers and for the answers of a search. */
#ifndef SP_WRITER_NETWORK_VTK_H
#define SP_WRITER_NETWORK_VTK_H

#include <stdio.h>

#include <strutpress/network.h>

/* Straight struts in mm with thickness and role; of spatial networks also diameter (of a rectangle
 * that of the circle of the same area) and height. `title` is one line of at most 255
 * characters. */
void sp_vtk_network(const sp_network *network, const char *title, FILE *stream);

#endif
