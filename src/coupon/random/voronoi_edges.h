/* Edges of the Voronoi cells of points (Qhull). */
#ifndef SP_RANDOM_VORONOI_EDGES_H
#define SP_RANDOM_VORONOI_EDGES_H

#include <strutpress/context.h>

/* Hand both ends of every bounded edge to `add`, each edge once; `point` has `dimension` (2 or 3)
 * numbers for each point. Stops at the first failure of `add`. Errors: SP_NO_MEMORY, SP_INTERNAL
 * (Qhull), those of `add`. */
sp_status sp_voronoi_edges(sp_context *context, int dimension, double *point, int count,
                           sp_status (*add)(void *user, const double *a, const double *b),
                           void *user);

#endif
