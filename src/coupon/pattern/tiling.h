/* Periodic line patterns: two lattice vectors, the vertices of one primitive cell and the edges
 * that start in it. */
#ifndef SP_PATTERN_TILING_H
#define SP_PATTERN_TILING_H

#include "pattern/pattern.h"

#define SP_TILING_VERTICES 12
#define SP_TILING_EDGES 24

typedef struct sp_tiling {
    double basis[2][2]; /* lattice vectors a1, a2                  [cells] */
    int vertex_count;
    double vertex[SP_TILING_VERTICES][2]; /*                                         [cells] */
    int edge_count;
    int edge[SP_TILING_EDGES][4]; /* from vertex, to vertex, shifted by i a1 + j a2 */
} sp_tiling;

/* Make an edge of every pair of vertices that are one cell length apart (tilings by regular
 * polygons of side 1). */
void sp_tiling_link(sp_tiling *tiling);

/* Emit every edge that touches the disc of `radius` about the origin, each once. */
sp_status sp_tiling_emit(sp_context *context, const sp_tiling *tiling, double radius,
                         sp_pieces *pieces);

#endif
