/* Periodic lines in space: three lattice vectors, the vertices of one cell and the edges that start
 * in it. */
#ifndef SP_PATTERN_LATTICE_H
#define SP_PATTERN_LATTICE_H

#include <strutpress/case.h>
#include <strutpress/context.h>

#define SP_LATTICE_VERTICES 12
#define SP_LATTICE_EDGES 32

typedef struct sp_lines {
    int count, capacity;
    double *end; /* 6 per line: A, B, in cell lengths */
} sp_lines;

sp_status sp_lines_add(sp_context *context, sp_lines *lines, const double a[3], const double b[3]);
void sp_lines_free(sp_lines *lines);

typedef struct sp_lattice {
    double box[3];      /* sides along x, y, z of the box that repeats it              [cells] */
    double basis[3][3]; /* lattice vectors a1, a2, a3                                  [cells] */
    int vertex_count;
    double vertex[SP_LATTICE_VERTICES][3]; /*                                          [cells] */
    int edge_count;
    int edge[SP_LATTICE_EDGES][5]; /* from vertex, to vertex, shifted by i a1 + j a2 + k a3 */
} sp_lattice;

/* Make a cubic cell of side 1 with these vertices, and join every pair of them at `distance`. */
void sp_lattice_cubic(sp_lattice *lattice, int vertex_count, const double (*vertex)[3],
                      double distance);
/* Make an edge of every pair of vertices at `distance`. */
void sp_lattice_link(sp_lattice *lattice, double distance);

/* Find the ends of an edge of the cell at the origin. */
void sp_lattice_edge(const sp_lattice *lattice, int edge, double a[3], double b[3]);

/* Find the line length per volume of the endless lattice, stretched to scale[k] mm per cell length
 * along the axes [1/mm2]. */
double sp_lattice_line_density(const sp_lattice *lattice, const double scale[3]);

/* Emit every edge that may touch the box low .. high (in cell lengths), each of them once. */
sp_status sp_lattice_emit(sp_context *context, const sp_lattice *lattice, const double low[3],
                          const double high[3], sp_lines *lines);

#endif
