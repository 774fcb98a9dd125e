/* What spatial graphs have of their own, see graph.h. */
#ifndef SP_SPATIAL_RULES_H
#define SP_SPATIAL_RULES_H

#include "graph/graph.h"

extern const sp_graph_rules sp_spatial_rules;

/* Make an empty graph whose box is a coupon of this size [mm]. */
sp_graph sp_spatial_graph(const double size[3]);

/* figures.c: find the section of a strut [mm2]. */
double sp_spatial_area(double thickness, double height);
/* figures.c: members of the rules. A strut in a face counts half in the density, one on an edge
 * counts a quarter; the solid fraction is the volume of the union of all struts inside the box
 * (docs/theory.md E54). */
double sp_spatial_density(const sp_graph *graph, const sp_network *network);
sp_status sp_spatial_fill_solid(sp_context *context, const sp_case *request, const sp_graph *graph,
                                sp_network *network);

#endif
