/* What planar graphs have of their own, see graph.h. */
#ifndef SP_PLANAR_RULES_H
#define SP_PLANAR_RULES_H

#include "graph/graph.h"

extern const sp_graph_rules sp_planar_rules;

/* ends.c, meet.c, figures.c: members of the rules. */
sp_status sp_planar_join_ends(sp_context *context, sp_graph *graph);
void sp_planar_choose_grid(const sp_graph *graph, double total, double near, sp_graph_grid *grid);
int sp_planar_lies_on(sp_graph *graph, int joint, int strut, double near, const double *loose,
                      double *along);
int sp_planar_cross(const sp_graph *graph, int s, int t, double near, double along[2],
                    double at[3]);
double sp_planar_density(const sp_graph *graph, const sp_network *network);
sp_status sp_planar_fill_solid(sp_context *context, const sp_case *request, const sp_graph *graph,
                               sp_network *network);

/* figures.c: length of the segment A B inside the box low .. high. */
double sp_length_inside(const double a[2], const double b[2], const double low[2],
                        const double high[2]);

#endif
