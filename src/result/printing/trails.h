/* Lines that are drawn without a break: the struts of a pattern as few trails, one after another.
 */
#ifndef SP_PRINTING_TRAILS_H
#define SP_PRINTING_TRAILS_H

#include <strutpress/context.h>

/* A drawing: `edge` holds two points for each of its edges, `point` x and y of each point [mm]. */
typedef struct sp_line_drawing {
    int point_count, edge_count;
    const double *point; /* 2 per point */
    const int *edge;     /* 2 per edge */
} sp_line_drawing;

/* Trails: trail t passes the points place[first[t]] .. place[first[t + 1] - 1], and comes to each
 * by the edge of the same entry in `by`, which is -1 for its first point. Every edge is passed
 * once. */
typedef struct sp_trails {
    int count;
    int *first; /* count + 1 */
    int *place; /* edge_count + count of them */
    int *by;    /* as many */
} sp_trails;

/* Find trails, as straight as they can be, and put them in an order with little travel between
 * them, beginning near `start`. As few trails are made as there can be, one for every two points
 * where an odd number of edges meet (Euler 1741); a piece without such points is one closed trail.
 * Free with sp_trails_free. Errors: SP_NO_MEMORY. */
sp_status sp_trails_find(sp_context *context, const sp_line_drawing *drawing, const double start[2],
                         sp_trails *trails);
void sp_trails_free(sp_trails *trails);

#endif
