/* A growing list of triangles, its volume, and whether it is closed. */
#include "printing/surface.h"

#include <limits.h>
#include <stdlib.h>

#include "base/alloc.h"

static sp_status grow(sp_context *context, void **array, int count, int *room, size_t more,
                      size_t size)
{
    const size_t wanted = (size_t)count + more;
    if (wanted <= (size_t)*room) return SP_OK;
    const size_t larger = wanted > 2 * (size_t)*room ? wanted : 2 * (size_t)*room;
    void *grown = larger > INT_MAX / 4 ? NULL : sp_resize(*array, larger, size);
    if (!grown)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a surface of %zu triangles", larger);
    *array = grown;
    *room = (int)larger;
    return SP_OK;
}

sp_status sp_surface_reserve(sp_context *context, sp_surface *surface, size_t vertices,
                             size_t triangles)
{
    void *vertex = surface->vertex, *triangle = surface->triangle;
    sp_status status = grow(context, &vertex, surface->vertex_count, &surface->vertex_room,
                            vertices, 3 * sizeof(double));
    surface->vertex = vertex;
    if (status != SP_OK) return status;
    status = grow(context, &triangle, surface->triangle_count, &surface->triangle_room, triangles,
                  3 * sizeof(int));
    surface->triangle = triangle;
    return status;
}

int sp_surface_vertex(sp_surface *surface, double x, double y, double z)
{
    double *to = surface->vertex + 3 * (size_t)surface->vertex_count;
    to[0] = x, to[1] = y, to[2] = z;
    return surface->vertex_count++;
}

void sp_surface_triangle(sp_surface *surface, int a, int b, int c)
{
    int *to = surface->triangle + 3 * (size_t)surface->triangle_count++;
    to[0] = a, to[1] = b, to[2] = c;
}

void sp_surface_free(sp_surface *surface)
{
    sp_free(surface->vertex);
    sp_free(surface->triangle);
    *surface = (sp_surface){0};
}

double sp_surface_volume(const sp_surface *surface)
{
    double six = 0;
    for (int t = 0; t < surface->triangle_count; t++) {
        const int *corner = surface->triangle + 3 * (size_t)t;
        const double *a = surface->vertex + 3 * (size_t)corner[0];
        const double *b = surface->vertex + 3 * (size_t)corner[1];
        const double *c = surface->vertex + 3 * (size_t)corner[2];
        six += a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) +
               a[2] * (b[0] * c[1] - b[1] * c[0]);
    }
    return six / 6;
}

/* An edge from its lower to its higher vertex, and whether a triangle passes it in that direction.
 */
typedef struct edge {
    int low, high, up;
} edge;

static int compare_edges(const void *left, const void *right)
{
    const edge *a = left, *b = right;
    return a->low != b->low ? (a->low > b->low) - (a->low < b->low)
                            : (a->high > b->high) - (a->high < b->high);
}

int sp_surface_edges(const sp_surface *surface, sp_take_edge *take, void *user)
{
    const size_t count = 3 * (size_t)surface->triangle_count;
    edge *edges = sp_alloc(count, sizeof *edges);
    if (!edges) return 0;
    for (size_t i = 0; i < count; i++) {
        const int from = surface->triangle[i];
        const int to = surface->triangle[i % 3 == 2 ? i - 2 : i + 1];
        edges[i] = from < to ? (edge){from, to, 1} : (edge){to, from, 0};
    }
    qsort(edges, count, sizeof *edges, compare_edges);
    for (size_t i = 0, next; i < count; i = next) {
        int up = 0;
        for (next = i; next < count && compare_edges(&edges[i], &edges[next]) == 0; next++)
            up += edges[next].up;
        take(user, edges[i].low, edges[i].high, up, (int)(next - i) - up);
    }
    sp_free(edges);
    return 1;
}

static void count_open(void *open, int low, int high, int up, int down)
{
    (void)low;
    (void)high;
    *(int *)open += up != 1 || down != 1;
}

int sp_surface_open_edges(const sp_surface *surface)
{
    int open = 0;
    return sp_surface_edges(surface, count_open, &open) ? open : -1;
}
