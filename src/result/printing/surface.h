/* A closed surface of triangles, made of shells that may overlap: this is what a printer fills.
 *
 * Each shell is closed and its triangles look outwards: seen from outside, their vertices go round
 * counter-clockwise. Where shells overlap, the body is filled once (positive fill rule of the 3MF
 * core specification 1.3, section 4.1.1). */
#ifndef SP_PRINTING_SURFACE_H
#define SP_PRINTING_SURFACE_H

#include <stddef.h>

#include <strutpress/context.h>

typedef struct sp_surface {
    int vertex_count, vertex_room;
    double *vertex; /* 3 per vertex [mm] */
    int triangle_count, triangle_room;
    int *triangle; /* 3 per triangle: its vertices */
    int shell_count;
} sp_surface;

/* Make room for this many vertices and triangles more. Errors: SP_NO_MEMORY. */
sp_status sp_surface_reserve(sp_context *context, sp_surface *surface, size_t vertices,
                             size_t triangles);
/* Add to the room that was made; sp_surface_vertex returns the number of the vertex. */
int sp_surface_vertex(sp_surface *surface, double x, double y, double z);
void sp_surface_triangle(sp_surface *surface, int a, int b, int c);
void sp_surface_free(sp_surface *surface);

/* Sum what each shell encloses, by the divergence theorem: this is the volume of the body where no
 * two shells overlap [mm3]. */
double sp_surface_volume(const sp_surface *surface);

/* Hand every edge to `take`: its lower and its higher vertex, and how many triangles pass it from
 * the lower to the higher one (`up`) and the other way (`down`). Returns 0 without memory. */
typedef void sp_take_edge(void *user, int low, int high, int up, int down);
int sp_surface_edges(const sp_surface *surface, sp_take_edge *take, void *user);

/* Count the edges that are not passed exactly once in each direction: 0 when every shell is closed,
 * one-sided, and no edge belongs to more than two triangles. -1 without memory. */
int sp_surface_open_edges(const sp_surface *surface);

#endif
