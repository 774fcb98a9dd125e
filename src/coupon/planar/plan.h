/* The planar network of a case; see plan.c. */
#ifndef SP_PLANAR_PLAN_H
#define SP_PLANAR_PLAN_H

#include <strutpress/network.h>

#include "drawing/drawing.h"

/* Build the planar network of a case, whatever infill.layers says, of its pattern or of `drawing`
 * (NULL when it has none). Errors as sp_network_build. On failure *network is empty. */
sp_status sp_planar_build(sp_context *context, const sp_case *request, const sp_drawing *drawing,
                          int with_flaws, sp_network *network);

/* Build the planar network of a tool path, whose lines have thicknesses (toolpath/toolpath.h). For
 * a path whose layers repeat, `layer` is less than drawing->repeat, and lines that are loose in it
 * or reach no platen stay; `layer` is 0 for a path whose layers are all alike. */
sp_status sp_planar_build_path(sp_context *context, const sp_case *request,
                               const sp_drawing *drawing, int layer, int with_flaws,
                               sp_network *network);
/* Find the thickness that half of the length of all lines of that layer does not exceed [mm]; 0
 * without memory. */
double sp_planar_usual_thickness(const sp_drawing *drawing, int layer);

#endif
