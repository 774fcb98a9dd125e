/* Many contact points against straight pieces in the plane, several at a time in vector registers:
 * sp_line_energy of flat faces, whose numbers it gives to the last digit on every machine. */
#ifndef SP_LINE_POINTS_H
#define SP_LINE_POINTS_H

enum { SP_LINE_POINTS = 32 }; /* so many at most */

/* Arrays by point. Each point is in reach of its piece (nearer than `rest`) and not on it. */
typedef struct sp_line_points {
    /* from the beginning of its piece to the point, direction of the piece, its length, reach */
    double v[2][SP_LINE_POINTS], n[2][SP_LINE_POINTS];
    double length[SP_LINE_POINTS], rest[SP_LINE_POINTS];
    double energy[SP_LINE_POINTS]; /* over (R G) */
    double g[4][SP_LINE_POINTS];   /* derivatives by v and e = length * n */
    /* second ones, 2 x 2: by v and v, by e (rows) and v, by e and e */
    double vv[4][SP_LINE_POINTS], ev[4][SP_LINE_POINTS], ee[4][SP_LINE_POINTS];
} sp_line_points;

static inline void sp_line_put_point(sp_line_points *points, int at, const double v[2],
                                     const double n[2], double length, double rest)
{
    for (int i = 0; i < 2; i++) points->v[i][at] = v[i], points->n[i][at] = n[i];
    points->length[at] = length;
    points->rest[at] = rest;
}

/* Work out energy and derivatives of the first `count` points. */
void sp_line_points_eval(int count, sp_line_points *points);

/* The same for each instruction set that this machine has, slowest first, for tests; returns how
 * many. */
enum { SP_LINE_WAYS_MAX = 3 };
typedef void sp_line_way(int count, sp_line_points *points);
int sp_line_ways(sp_line_way *way[SP_LINE_WAYS_MAX]);

#endif
