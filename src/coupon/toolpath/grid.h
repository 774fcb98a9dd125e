/* Find the straight pieces near a given one: a grid whose squares list the pieces that pass through
 * them. */
#ifndef SP_TOOLPATH_GRID_H
#define SP_TOOLPATH_GRID_H

#include <strutpress/context.h>

typedef struct path_grid {
    int count;
    const double *end; /* 4 per piece, `stride` doubles apart */
    int stride;
    double low[2], cell;
    int across[2];
    int *first, *item, *seen; /* owned */
    int stamp;
    int *near; /* the pieces that the last question found; owned */
    int near_count;
} path_grid;

/* Make a grid that finds pieces within `reach` of each other. SP_NO_MEMORY; free it also after a
 * failure. */
sp_status sp_toolpath_grid_make(sp_context *context, const double *end, int stride, int count,
                                double reach, path_grid *grid);
void sp_toolpath_grid_free(path_grid *grid);
/* Put the pieces near the piece a, b, and maybe some farther ones, into grid->near. */
void sp_toolpath_grid_ask(path_grid *grid, const double a[2], const double b[2]);

/* Return the least distance of two pieces [mm]. */
double sp_toolpath_distance(const double a[2], const double b[2], const double c[2],
                            const double d[2]);
/* Return the distance of a point from a piece; *along is the share of the piece at which its foot
 * lies. */
double sp_toolpath_foot(const double p[2], const double a[2], const double b[2], double *along);

#endif
