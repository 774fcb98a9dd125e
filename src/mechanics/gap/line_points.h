/* These functions work out many contact points against straight pieces, several at a time in vector
 * registers. The results are those of sp_line_energy for flat faces in the plane, and those of
 * sp_line_energy_spatial in space, to the last digit and on every machine. */
#ifndef SP_LINE_POINTS_H
#define SP_LINE_POINTS_H

#include "base/machine.h"
#include "gap/line.h"

enum { SP_LINE_POINTS = 32 }; /* most points of one call */

/* These are arrays by point. Each point is in reach of its piece (nearer than `rest`) and not on
 * it. */
typedef struct sp_line_points {
    /* These are the vector from the beginning of the piece to the point, the direction of the
     * piece, its length, and its reach. */
    double v[2][SP_LINE_POINTS], n[2][SP_LINE_POINTS];
    double length[SP_LINE_POINTS], rest[SP_LINE_POINTS];
    double energy[SP_LINE_POINTS]; /* over (R G) */
    double g[4][SP_LINE_POINTS];   /* derivatives by v and e = length * n */
    /* These are second derivatives, 2 x 2: by v and v, by e (rows) and v, by e and e. */
    double vv[4][SP_LINE_POINTS], ev[4][SP_LINE_POINTS], ee[4][SP_LINE_POINTS];
} sp_line_points;

typedef struct sp_line_points_spatial { /* the same in space, 3 x 3 */
    double v[3][SP_LINE_POINTS], n[3][SP_LINE_POINTS];
    double length[SP_LINE_POINTS], rest[SP_LINE_POINTS];
    double is_round[SP_LINE_POINTS]; /* 1: round faces, 0: flat ones */
    double energy[SP_LINE_POINTS];
    double g[6][SP_LINE_POINTS];
    double vv[9][SP_LINE_POINTS], ev[9][SP_LINE_POINTS], ee[9][SP_LINE_POINTS];
} sp_line_points_spatial;

static inline void sp_line_put_point(sp_line_points *points, int at, const double v[2],
                                     const double n[2], double length, double rest)
{
    for (int i = 0; i < 2; i++) points->v[i][at] = v[i], points->n[i][at] = n[i];
    points->length[at] = length;
    points->rest[at] = rest;
}

static inline void sp_line_put_spatial(sp_line_points_spatial *points, int at, sp_faces faces,
                                       const double v[3], const double n[3], double length,
                                       double rest)
{
    for (int i = 0; i < 3; i++) points->v[i][at] = v[i], points->n[i][at] = n[i];
    points->length[at] = length;
    points->rest[at] = rest;
    points->is_round[at] = faces == SP_ROUND_FACES;
}

/* Work out energy and derivatives of the first `count` points. */
void sp_line_points_eval(int count, sp_line_points *points);
void sp_line_points_spatial_eval(int count, sp_line_points_spatial *points);

/* Return the same functions for each instruction set, in the order of SP_WAY_LIST, for tests. All
 * of them give the same numbers to the last digit. */
typedef struct sp_line_way {
    void (*planar)(int count, sp_line_points *points);
    void (*spatial)(int count, sp_line_points_spatial *points);
} sp_line_way;
const sp_line_way *sp_line_ways(void);

#endif
