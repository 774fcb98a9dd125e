/* A file of triangles: corners at one place are made one, then the surface is measured. */
#include <strutpress/mesh_file.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "drawing/triangles.h"
#include "printing/overlap.h"

/* An overlap is reported from this share of the sum over the parts on, where the rays can show it.
 */
static const double overlap_share = 0.002;

typedef struct gathering {
    sp_context *context;
    sp_surface surface;
    int *slot; /* corner + 1 at its place by its hash, 0: empty; owned */
    size_t slots;
    long flat;
} gathering;

int sp_mesh_is_named(const char *file)
{
    return sp_triangles_are_in(file);
}

/* ---- corners --------------------------------------------------------------------------------- */

static size_t slot_of(const gathering *g, const double *p)
{
    uint64_t hash = UINT64_C(0xcbf29ce484222325), word;
    for (int k = 0; k < 3; k++) {
        memcpy(&word, p + k, sizeof word);
        hash = (hash ^ word ^ word >> 32) * UINT64_C(0x9e3779b97f4a7c15);
    }
    size_t at = (size_t)(hash ^ hash >> 29) & (g->slots - 1);
    while (g->slot[at] &&
           memcmp(g->surface.vertex + 3 * (size_t)(g->slot[at] - 1), p, 3 * sizeof *p) != 0)
        at = (at + 1) & (g->slots - 1);
    return at;
}

static sp_status grow_slots(gathering *g)
{
    const size_t more = g->slots ? 2 * g->slots : 4096;
    int *before = g->slot;
    g->slot = sp_alloc(more, sizeof *g->slot);
    if (!g->slot) {
        g->slot = before;
        return sp_fail(g->context, SP_NO_MEMORY, "no memory for %zu corners", more);
    }
    g->slots = more;
    for (int i = 0; i < g->surface.vertex_count; i++)
        g->slot[slot_of(g, g->surface.vertex + 3 * (size_t)i)] = i + 1;
    sp_free(before);
    return SP_OK;
}

static int corner_of(gathering *g, const double at[3])
{
    const double p[3] = {at[0] + 0.0, at[1] + 0.0, at[2] + 0.0}; /* no minus zero */
    const size_t slot = slot_of(g, p);
    if (!g->slot[slot]) g->slot[slot] = sp_surface_vertex(&g->surface, p[0], p[1], p[2]) + 1;
    return g->slot[slot] - 1;
}

static sp_status take_triangle(void *user, const double corner[9])
{
    gathering *g = user;
    int at[3];
    sp_status status = sp_surface_reserve(g->context, &g->surface, 3, 1);
    if (status == SP_OK && 2 * ((size_t)g->surface.vertex_count + 3) > g->slots)
        status = grow_slots(g);
    if (status != SP_OK) return status;
    for (int k = 0; k < 3; k++) at[k] = corner_of(g, corner + 3 * k);
    if (at[0] == at[1] || at[1] == at[2] || at[2] == at[0])
        g->flat++;
    else
        sp_surface_triangle(&g->surface, at[0], at[1], at[2]);
    return SP_OK;
}

/* ---- edges and parts ------------------------------------------------------------------------- */

typedef struct open_edges {
    const sp_surface *surface;
    sp_mesh_figures *figures;
} open_edges;

/* An edge is open where not as many triangles pass it one way as the other. */
static void take_edge(void *user, int low, int high, int up, int down)
{
    const open_edges *all = user;
    sp_mesh_figures *f = all->figures;
    if (up == down || f->open_edges++) return;
    memcpy(f->open_from, all->surface->vertex + 3 * (size_t)low, sizeof f->open_from);
    memcpy(f->open_to, all->surface->vertex + 3 * (size_t)high, sizeof f->open_to);
}

static sp_status count_open(sp_context *context, const sp_surface *surface, sp_mesh_figures *f)
{
    open_edges all = {surface, f};
    if (sp_surface_edges(surface, take_edge, &all)) return SP_OK;
    return sp_fail(context, SP_NO_MEMORY, "no memory for the edges of %d triangles",
                   surface->triangle_count);
}

static int root_of(int *parent, int i)
{
    while (parent[i] != i) i = parent[i] = parent[parent[i]];
    return i;
}

static sp_status count_parts(sp_context *context, const sp_surface *surface, sp_mesh_figures *f)
{
    int *parent = sp_alloc((size_t)surface->vertex_count, sizeof *parent);
    if (!parent)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d corners", surface->vertex_count);
    for (int i = 0; i < surface->vertex_count; i++) parent[i] = -1; /* in no triangle yet */
    for (int i = 0; i < 3 * surface->triangle_count; i++) {
        const int corner = surface->triangle[i];
        if (parent[corner] < 0) parent[corner] = corner, f->parts++;
        const int a = root_of(parent, corner), b = root_of(parent, surface->triangle[i - i % 3]);
        if (a != b) parent[a > b ? a : b] = a > b ? b : a, f->parts--;
    }
    sp_free(parent);
    return SP_OK;
}

/* ---- measures -------------------------------------------------------------------------------- */

/* Move the box to 0, so that nothing is lost to a place far out. */
static void find_box(sp_surface *surface, sp_mesh_figures *f)
{
    for (int k = 0; k < 3; k++) f->low[k] = INFINITY, f->high[k] = -INFINITY;
    for (int i = 0; i < 3 * surface->vertex_count; i++) {
        f->low[i % 3] = fmin(f->low[i % 3], surface->vertex[i]);
        f->high[i % 3] = fmax(f->high[i % 3], surface->vertex[i]);
    }
    for (int i = 0; i < 3 * surface->vertex_count; i++) surface->vertex[i] -= f->low[i % 3];
}

static sp_status measure(sp_context *context, sp_surface *surface, sp_mesh_figures *f)
{
    double by_rays = 0, uncertain = 0;
    sp_status status = count_open(context, surface, f);
    f->volume = f->enclosed = NAN;
    find_box(surface, f);
    if (status == SP_OK) status = count_parts(context, surface, f);
    if (status != SP_OK || f->open_edges) return status;
    f->volume = f->enclosed = sp_surface_volume(surface);
    if (!(f->enclosed > 0)) return SP_OK; /* inside out */
    status = sp_surface_body_volume(context, surface, &by_rays, &uncertain);
    if (status == SP_OK &&
        fabs(by_rays - f->enclosed) > overlap_share * f->enclosed + 3 * uncertain) {
        f->volume = by_rays;
        f->uncertain = fmax(uncertain, 1e-4 * by_rays);
    }
    return status;
}

sp_status sp_mesh_read(sp_context *context, const char *file, sp_mesh_figures *figures)
{
    sp_context own = {0};
    sp_triangle_source source;
    gathering g = {.context = context ? context : &own};
    *figures = (sp_mesh_figures){.format = ""};
    sp_status status = sp_triangles_read(g.context, file, take_triangle, &g, &source);
    if (status == SP_OK && !g.surface.triangle_count)
        status = sp_fail(g.context, SP_BAD_NETWORK,
                         "%.300s: received triangles without extent alone; valid: at least four "
                         "with three corners each",
                         file);
    if (status == SP_OK) {
        figures->format = source.format;
        figures->has_unit = source.has_unit;
        figures->triangles = source.triangles;
        figures->corners = g.surface.vertex_count;
        figures->flat = g.flat;
        status = measure(g.context, &g.surface, figures);
    }
    sp_surface_free(&g.surface);
    sp_free(g.slot);
    return status;
}
