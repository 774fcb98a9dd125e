/* Unite beads by GEOS, cut the union into triangles, and raise it to a slab.
 *
 * Beads are rectangles from end to end. Where only two beads meet at a turn, the outer corner is
 * filled by a fan about their joint, round as a bead that turns. A bead that ends on a face of the
 * coupon is extended through it and cut by it. */
#include "printing/slab.h"

#include <geos_c.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"

static const double grid = 1e-5; /* mm: corners of the union lie on it */
/* Where two parts of a body meet in one corner only, they are joined by a small disc of this radius
 * [mm]: a surface that touches itself is not closed in the sense of the formats. */
static const double dab = 0.02;
static const int rounds_most = 8; /* rounds of adding discs: a disc may touch another part */
enum { FAN = 6, DAB_CORNERS = 8 };

typedef struct sheet {
    sp_context *context;
    GEOSContextHandle_t geos;
    char why[200]; /* what GEOS said last */
    GEOSGeometry **part;
    int part_count, part_room;
} sheet;

static void hear(const char *message, void *user)
{
    sheet *s = user;
    snprintf(s->why, sizeof s->why, "%s", message);
}

static sp_status fail_geos(const sheet *s)
{
    if (!s->why[0] || strstr(s->why, "alloc"))
        return sp_fail(s->context, SP_NO_MEMORY, "no memory for a union of beads");
    return sp_fail(s->context, SP_INTERNAL, "the beads could not be united: %s", s->why);
}

static sp_status make_room(sheet *s)
{
    if (s->part_count < s->part_room) return SP_OK;
    const int room = s->part_room ? 2 * s->part_room : 256;
    GEOSGeometry **more = sp_resize(s->part, (size_t)room, sizeof *more);
    if (!more) return sp_fail(s->context, SP_NO_MEMORY, "no memory for %d beads", room);
    s->part = more;
    s->part_room = room;
    return SP_OK;
}

static sp_status add_polygon(sheet *s, double (*corner)[2], int count)
{
    sp_status status = make_room(s);
    if (status != SP_OK) return status;
    GEOSCoordSequence *ring = GEOSCoordSeq_create_r(s->geos, (unsigned)count + 1, 2);
    if (!ring) return fail_geos(s);
    for (int k = 0; k <= count; k++)
        GEOSCoordSeq_setXY_r(s->geos, ring, (unsigned)k, corner[k % count][0],
                             corner[k % count][1]);
    GEOSGeometry *line = GEOSGeom_createLinearRing_r(s->geos, ring);
    GEOSGeometry *polygon = line ? GEOSGeom_createPolygon_r(s->geos, line, NULL, 0) : NULL;
    if (!polygon) return fail_geos(s);
    s->part[s->part_count++] = polygon;
    return SP_OK;
}

static sp_status add_box(sheet *s, double x0, double y0, double x1, double y1)
{
    double corner[4][2] = {{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}};
    return x1 > x0 && y1 > y0 ? add_polygon(s, corner, 4) : SP_OK;
}

/* --- beads --- */

/* Find the sides of the coupon on which a point lies: bits. */
static int sides_of(const sp_slab *slab, const double p[2])
{
    const double same = 1e-9 * slab->size[0];
    return (p[0] <= same) + 2 * (p[0] >= slab->size[0] - same) + 4 * (p[1] <= same) +
           8 * (p[1] >= slab->size[1] - same);
}

static sp_status add_bead(sheet *s, const sp_slab *slab, const sp_bead *bead)
{
    const double *a = bead->end[0], *b = bead->end[1];
    const double length = hypot(b[0] - a[0], b[1] - a[1]);
    if (!(length > grid)) return SP_OK;
    const double u[2] = {(b[0] - a[0]) / length, (b[1] - a[1]) / length};
    const int side[2] = {sides_of(slab, a), sides_of(slab, b)};
    /* A plate in a face ends where it was drawn. */
    const int through = slab->wall <= 0 && !(side[0] & side[1]);
    double corner[4][2];
    for (int e = 0; e < 2; e++) {
        const double half = 0.5 * bead->width[e], sign = e ? 1 : -1;
        const double more = through && side[e] ? sign * bead->width[e] : 0;
        for (int k = 0; k < 2; k++) {
            const double n = half * (k ? u[0] : -u[1]), p = bead->end[e][k] + more * u[k];
            corner[e][k] = p - n;
            corner[3 - e][k] = p + n;
        }
    }
    return add_polygon(s, corner, 4);
}

/* Find the two beads that meet at a joint where no third one does; -1: none. */
typedef struct meeting {
    int bead[2]; /* 2 x bead + end */
    int count;
} meeting;

/* Fill the outer corner of a turn with a fan about the joint, from the outer edge of one bead to
 * that of the other. */
static sp_status add_turn(sheet *s, const sp_slab *slab, const meeting *at)
{
    double away[2][2], half = 0;
    const double *joint = slab->bead[at->bead[0] / 2].end[at->bead[0] % 2];
    for (int k = 0; k < 2; k++) {
        const sp_bead *bead = &slab->bead[at->bead[k] / 2];
        const double *near = bead->end[at->bead[k] % 2], *far = bead->end[1 - at->bead[k] % 2];
        const double length = hypot(far[0] - near[0], far[1] - near[1]);
        for (int i = 0; i < 2; i++) away[k][i] = (far[i] - near[i]) / length;
        half = fmax(half, 0.5 * bead->width[at->bead[k] % 2]);
    }
    const double cross = away[0][0] * away[1][1] - away[0][1] * away[1][0];
    const double dot = away[0][0] * away[1][0] + away[0][1] * away[1][1];
    const double turn = M_PI - atan2(fabs(cross), dot); /* 0: straight on */
    if (turn < 1e-3) return SP_OK;
    /* The outer side of the first bead is left of the way to the joint when the turn is to the
     * right. */
    const double sign = cross > 0 ? 1 : -1;
    const double start = atan2(-sign * away[0][0], sign * away[0][1]);
    double corner[FAN + 2][2] = {{joint[0], joint[1]}};
    for (int k = 0; k <= FAN; k++) {
        const double angle = start - sign * (turn * k / FAN);
        corner[k + 1][0] = joint[0] + half * cos(angle);
        corner[k + 1][1] = joint[1] + half * sin(angle);
    }
    return add_polygon(s, corner, FAN + 2);
}

static sp_status add_turns(sheet *s, const sp_slab *slab)
{
    sp_status status = SP_OK;
    meeting *meetings = sp_alloc((size_t)slab->joint_count, sizeof *meetings);
    if (!meetings)
        return sp_fail(s->context, SP_NO_MEMORY, "no memory for %d joints", slab->joint_count);
    for (int i = 0; i < 2 * slab->bead_count; i++) {
        const int joint = slab->bead[i / 2].joint[i % 2];
        if (joint < 0) continue;
        meeting *at = &meetings[joint];
        if (at->count < 2) at->bead[at->count] = i;
        at->count++;
    }
    for (int j = 0; status == SP_OK && j < slab->joint_count; j++)
        if (meetings[j].count == 2) status = add_turn(s, slab, &meetings[j]);
    sp_free(meetings);
    return status;
}

/* --- the union --- */

/* Unite the parts that were added into one geometry, which takes the place of *area. */
static sp_status unite(sheet *s, GEOSGeometry **area)
{
    sp_status status = make_room(s);
    if (status != SP_OK) return status;
    if (*area) s->part[s->part_count++] = *area;
    *area = NULL;
    GEOSGeometry *all = GEOSGeom_createCollection_r(s->geos, GEOS_GEOMETRYCOLLECTION, s->part,
                                                    (unsigned)s->part_count);
    s->part_count = 0;
    if (!all) return fail_geos(s);
    *area = GEOSUnaryUnionPrec_r(s->geos, all, grid);
    GEOSGeom_destroy_r(s->geos, all);
    return *area ? SP_OK : fail_geos(s);
}

/* Take the polygons of an intersection, without the lines in which it may touch the box. */
static sp_status keep_polygons(sheet *s, GEOSGeometry **area)
{
    if (GEOSGeomTypeId_r(s->geos, *area) != GEOS_GEOMETRYCOLLECTION) return SP_OK;
    for (int i = 0; i < GEOSGetNumGeometries_r(s->geos, *area); i++) {
        const GEOSGeometry *part = GEOSGetGeometryN_r(s->geos, *area, i);
        if (GEOSGeomTypeId_r(s->geos, part) != GEOS_POLYGON) continue;
        sp_status status = make_room(s);
        if (status != SP_OK) return status;
        GEOSGeometry *copy = GEOSGeom_clone_r(s->geos, part);
        if (!copy) return fail_geos(s);
        s->part[s->part_count++] = copy;
    }
    GEOSGeometry *polygons =
        GEOSGeom_createCollection_r(s->geos, GEOS_MULTIPOLYGON, s->part, (unsigned)s->part_count);
    s->part_count = 0;
    GEOSGeom_destroy_r(s->geos, *area);
    *area = polygons;
    return polygons ? SP_OK : fail_geos(s);
}

static sp_status clip(sheet *s, const double low[2], const double high[2], GEOSGeometry **area)
{
    GEOSGeometry *box = GEOSGeom_createRectangle_r(s->geos, low[0], low[1], high[0], high[1]);
    if (!box) return fail_geos(s);
    GEOSGeometry *inside = GEOSIntersectionPrec_r(s->geos, *area, box, grid);
    GEOSGeom_destroy_r(s->geos, box);
    GEOSGeom_destroy_r(s->geos, *area);
    *area = inside;
    return inside ? keep_polygons(s, area) : fail_geos(s);
}

static sp_status add_wall(sheet *s, const sp_slab *slab)
{
    const double w = slab->size[0], h = slab->size[1], t = slab->wall;
    if (t <= 0) return SP_OK;
    sp_status status = add_box(s, 0, 0, w, fmin(t, h));
    if (status == SP_OK) status = add_box(s, 0, fmax(0, h - t), w, h);
    if (status == SP_OK) status = add_box(s, 0, 0, fmin(t, w), h);
    if (status == SP_OK) status = add_box(s, fmax(0, w - t), 0, w, h);
    return status;
}

static sp_status unite_beads(sheet *s, const sp_slab *slab, GEOSGeometry **area)
{
    const double low[2] = {slab->margin, slab->margin};
    const double high[2] = {slab->size[0] - slab->margin, slab->size[1] - slab->margin};
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < slab->bead_count; i++)
        status = add_bead(s, slab, &slab->bead[i]);
    if (status == SP_OK) status = add_turns(s, slab);
    if (status == SP_OK) status = add_wall(s, slab);
    if (status == SP_OK) status = unite(s, area);
    return status == SP_OK ? clip(s, low, high, area) : status;
}

/* --- triangles --- */

typedef struct corner_point {
    long x, y; /* in steps of the grid */
    int place; /* among all corners, three a triangle */
} corner_point;

static int compare_points(const void *left, const void *right)
{
    const corner_point *a = left, *b = right;
    return a->x != b->x ? (a->x > b->x) - (a->x < b->x) : (a->y > b->y) - (a->y < b->y);
}

/* Flat triangles, counter-clockwise, whose corners are numbered. */
typedef struct flat {
    int point_count, triangle_count;
    double *point; /* 2 each */
    int *triangle; /* 3 each */
} flat;

static void flat_free(flat *f)
{
    sp_free(f->point);
    sp_free(f->triangle);
    *f = (flat){0};
}

static int read_triangle(const sheet *s, const GEOSGeometry *triangle, double corner[3][2])
{
    const GEOSGeometry *ring = GEOSGetExteriorRing_r(s->geos, triangle);
    const GEOSCoordSequence *points = ring ? GEOSGeom_getCoordSeq_r(s->geos, ring) : NULL;
    if (!points) return 0;
    for (unsigned k = 0; k < 3; k++)
        if (!GEOSCoordSeq_getXY_r(s->geos, points, k, &corner[k][0], &corner[k][1])) return 0;
    const double twice = (corner[1][0] - corner[0][0]) * (corner[2][1] - corner[0][1]) -
                         (corner[1][1] - corner[0][1]) * (corner[2][0] - corner[0][0]);
    if (twice >= 0) return 1;
    for (int i = 0; i < 2; i++) {
        const double held = corner[1][i];
        corner[1][i] = corner[2][i];
        corner[2][i] = held;
    }
    return 1;
}

/* A growing list of corners, three a triangle. */
typedef struct corner_list {
    int count, room;
    corner_point *point;
} corner_list;

static sp_status take_triangles(sheet *s, const GEOSGeometry *triangles, corner_list *list)
{
    const int count = GEOSGetNumGeometries_r(s->geos, triangles);
    if (list->count + 3 * count > list->room) {
        const int room = 2 * (list->count + 3 * count);
        corner_point *more = sp_resize(list->point, (size_t)room, sizeof *more);
        if (!more) return sp_fail(s->context, SP_NO_MEMORY, "no memory for %d triangles", room / 3);
        list->point = more;
        list->room = room;
    }
    for (int t = 0; t < count; t++) {
        double corner[3][2];
        if (!read_triangle(s, GEOSGetGeometryN_r(s->geos, triangles, t), corner))
            return fail_geos(s);
        for (int k = 0; k < 3; k++, list->count++)
            list->point[list->count] = (corner_point){lround(corner[k][0] / grid),
                                                      lround(corner[k][1] / grid), list->count};
    }
    return SP_OK;
}

/* Give corners at the same place the same number. */
static sp_status number_corners(sheet *s, const corner_list *list, flat *f)
{
    f->point = sp_alloc(2 * (size_t)list->count + 1, sizeof *f->point);
    f->triangle = sp_alloc((size_t)list->count + 1, sizeof *f->triangle);
    if (!f->point || !f->triangle)
        return sp_fail(s->context, SP_NO_MEMORY, "no memory for %d triangles", list->count / 3);
    qsort(list->point, (size_t)list->count, sizeof *list->point, compare_points);
    for (int i = 0; i < list->count; i++) {
        const corner_point *at = &list->point[i];
        if (i == 0 || compare_points(at - 1, at) != 0) {
            f->point[2 * f->point_count] = (double)at->x * grid;
            f->point[2 * f->point_count + 1] = (double)at->y * grid;
            f->point_count++;
        }
        f->triangle[at->place] = f->point_count - 1;
    }
    f->triangle_count = list->count / 3;
    return SP_OK;
}

/* --- faces without holes --- */

/* Where a hole begins and ends along x. */
typedef struct hole {
    double low, high;
} hole;

static int compare_holes(const void *left, const void *right)
{
    const hole *a = left, *b = right;
    return (a->low > b->low) - (a->low < b->low);
}

static sp_status find_holes(sheet *s, const GEOSGeometry *area, hole **holes, int *count)
{
    const int polygons = GEOSGetNumGeometries_r(s->geos, area);
    int most = 0;
    for (int i = 0; i < polygons; i++)
        most += GEOSGetNumInteriorRings_r(s->geos, GEOSGetGeometryN_r(s->geos, area, i));
    *count = 0;
    *holes = sp_alloc((size_t)most + 1, sizeof **holes);
    if (!*holes) return sp_fail(s->context, SP_NO_MEMORY, "no memory for %d holes", most);
    for (int i = 0; i < polygons; i++) {
        const GEOSGeometry *polygon = GEOSGetGeometryN_r(s->geos, area, i);
        for (int k = 0; k < GEOSGetNumInteriorRings_r(s->geos, polygon); k++) {
            const GEOSGeometry *ring = GEOSGetInteriorRingN_r(s->geos, polygon, k);
            hole *to = &(*holes)[*count];
            if (!ring || !GEOSGeom_getXMin_r(s->geos, ring, &to->low) ||
                !GEOSGeom_getXMax_r(s->geos, ring, &to->high))
                return fail_geos(s);
            ++*count;
        }
    }
    qsort(*holes, (size_t)*count, sizeof **holes, compare_holes);
    return SP_OK;
}

static sp_status add_cut(sheet *s, const sp_slab *slab, double x)
{
    sp_status status = make_room(s);
    if (status != SP_OK) return status;
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(s->geos, 2, 2);
    if (!points) return fail_geos(s);
    for (unsigned k = 0; k < 2; k++)
        GEOSCoordSeq_setXY_r(s->geos, points, k, x, k ? slab->size[1] + 1 : -1.0);
    GEOSGeometry *line = GEOSGeom_createLineString_r(s->geos, points);
    if (!line) return fail_geos(s);
    s->part[s->part_count++] = line;
    return SP_OK;
}

/* Find the fewest upright lines such that each hole is cut by one. */
static sp_status add_cuts(sheet *s, const sp_slab *slab, const GEOSGeometry *area)
{
    hole *holes = NULL;
    int count = 0;
    sp_status status = find_holes(s, area, &holes, &count);
    for (int i = 0, next; status == SP_OK && i < count; i = next) {
        hole common = holes[i];
        for (next = i + 1; next < count && holes[next].low < common.high - 2 * grid; next++) {
            common.low = holes[next].low;
            common.high = fmin(common.high, holes[next].high);
        }
        status = add_cut(s, slab, 0.5 * (common.low + common.high));
    }
    sp_free(holes);
    return status;
}

static sp_status cut_face(sheet *s, const GEOSPreparedGeometry *inside, const GEOSGeometry *face,
                          corner_list *list)
{
    GEOSGeometry *point = GEOSPointOnSurface_r(s->geos, face);
    if (!point) return fail_geos(s);
    const char within = GEOSPreparedContains_r(s->geos, inside, point);
    GEOSGeom_destroy_r(s->geos, point);
    if (within != 1) return within ? fail_geos(s) : SP_OK;
    GEOSGeometry *triangles = GEOSConstrainedDelaunayTriangulation_r(s->geos, face);
    if (!triangles) return fail_geos(s);
    sp_status status = take_triangles(s, triangles, list);
    GEOSGeom_destroy_r(s->geos, triangles);
    return status;
}

/* Cut an area into triangles. It is first cut into faces without holes, because GEOS 3.11 joins
 * holes to the edge of a polygon before it cuts triangles off, which fails for some unions of
 * beads. */
static sp_status cut_triangles(sheet *s, const sp_slab *slab, const GEOSGeometry *area, flat *f)
{
    corner_list list = {0};
    GEOSGeometry *lines = NULL, *faces = NULL;
    const GEOSPreparedGeometry *inside = NULL;
    sp_status status = make_room(s);
    if (status != SP_OK) return status;
    GEOSGeometry *rim = GEOSBoundary_r(s->geos, area);
    if (!rim) return fail_geos(s);
    s->part[s->part_count++] = rim;
    status = add_cuts(s, slab, area);
    if (status == SP_OK) status = unite(s, &lines);
    if (status == SP_OK &&
        !(faces = GEOSPolygonize_r(s->geos, (const GEOSGeometry *const *)&lines, 1)))
        status = fail_geos(s);
    if (status == SP_OK && !(inside = GEOSPrepare_r(s->geos, area))) status = fail_geos(s);
    const int count = status == SP_OK ? GEOSGetNumGeometries_r(s->geos, faces) : 0;
    for (int i = 0; status == SP_OK && i < count; i++)
        status = cut_face(s, inside, GEOSGetGeometryN_r(s->geos, faces, i), &list);
    if (status == SP_OK) status = number_corners(s, &list, f);
    if (inside) GEOSPreparedGeom_destroy_r(s->geos, inside);
    if (faces) GEOSGeom_destroy_r(s->geos, faces);
    if (lines) GEOSGeom_destroy_r(s->geos, lines);
    sp_free(list.point);
    return status;
}

/* --- the rim of the triangles --- */

typedef struct rim_edge {
    int from, to;
} rim_edge;

static int compare_rim(const void *left, const void *right)
{
    const rim_edge *a = left, *b = right;
    return a->from != b->from ? (a->from > b->from) - (a->from < b->from)
                              : (a->to > b->to) - (a->to < b->to);
}

/* List, sorted, the edges that only one triangle has, with the body to their left; returns their
 * number. */
static sp_status find_rim(sheet *s, const flat *f, rim_edge **rim, int *count)
{
    const int all = 3 * f->triangle_count;
    rim_edge *edges = sp_alloc((size_t)all + 1, sizeof *edges);
    *rim = sp_alloc((size_t)all + 1, sizeof **rim);
    sp_status status = SP_OK;
    *count = 0;
    if (!edges || !*rim) {
        status = sp_fail(s->context, SP_NO_MEMORY, "no memory for %d edges", all);
        goto done;
    }
    for (int i = 0; i < all; i++)
        edges[i] = (rim_edge){f->triangle[i], f->triangle[i % 3 == 2 ? i - 2 : i + 1]};
    qsort(edges, (size_t)all, sizeof *edges, compare_rim);
    for (int i = 0; i < all; i++) {
        const rim_edge back = {edges[i].to, edges[i].from};
        if (!bsearch(&back, edges, (size_t)all, sizeof *edges, compare_rim))
            (*rim)[(*count)++] = edges[i];
    }
done:
    sp_free(edges);
    return status;
}

/* A point that the rim leaves twice is one where the body touches itself; *touched counts the discs
 * that were put on such points. */
static sp_status dab_touches(sheet *s, const flat *f, const rim_edge *rim, int count, int *touched)
{
    sp_status status = SP_OK;
    *touched = 0;
    for (int i = 1; status == SP_OK && i < count; i++) {
        if (rim[i].from != rim[i - 1].from) continue;
        double corner[DAB_CORNERS][2];
        const double *p = f->point + 2 * (size_t)rim[i].from;
        for (int k = 0; k < DAB_CORNERS; k++) {
            const double angle = 2 * M_PI * (k + 0.5) / DAB_CORNERS;
            corner[k][0] = p[0] + dab * cos(angle);
            corner[k][1] = p[1] + dab * sin(angle);
        }
        status = add_polygon(s, corner, DAB_CORNERS);
        ++*touched;
    }
    return status;
}

static sp_status raise_slab(sp_context *context, const sp_slab *slab, const flat *f,
                            const rim_edge *rim, int rim_count, sp_surface *surface)
{
    const int first = surface->vertex_count, n = f->point_count;
    sp_status status = sp_surface_reserve(context, surface, 2 * (size_t)n,
                                          2 * ((size_t)f->triangle_count + (size_t)rim_count));
    if (status != SP_OK) return status;
    for (int level = 0; level < 2; level++)
        for (int i = 0; i < n; i++)
            sp_surface_vertex(surface, f->point[2 * i], f->point[2 * i + 1],
                              level ? slab->upto : slab->from);
    for (int t = 0; t < f->triangle_count; t++) {
        const int *c = f->triangle + 3 * (size_t)t;
        sp_surface_triangle(surface, first + c[0], first + c[2], first + c[1]);
        sp_surface_triangle(surface, first + n + c[0], first + n + c[1], first + n + c[2]);
    }
    for (int i = 0; i < rim_count; i++) {
        const int a = first + rim[i].from, b = first + rim[i].to;
        sp_surface_triangle(surface, a, b, b + n);
        sp_surface_triangle(surface, a, b + n, a + n);
    }
    return SP_OK;
}

static double area_of(const flat *f)
{
    double twice = 0;
    for (int t = 0; t < f->triangle_count; t++) {
        const int *c = f->triangle + 3 * (size_t)t;
        const double *p = f->point + 2 * (size_t)c[0], *q = f->point + 2 * (size_t)c[1];
        const double *r = f->point + 2 * (size_t)c[2];
        twice += (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    }
    return twice / 2;
}

static sp_status triangles_to_surface(sheet *s, const sp_slab *slab, GEOSGeometry **area,
                                      sp_surface *surface)
{
    sp_status status = SP_OK;
    int touched = 1;
    for (int round = 0; status == SP_OK && touched; round++) {
        flat f = {0};
        rim_edge *rim = NULL;
        int rim_count = 0;
        double exact = 0, around = 0;
        status = cut_triangles(s, slab, *area, &f);
        if (status == SP_OK) status = find_rim(s, &f, &rim, &rim_count);
        if (status == SP_OK) status = dab_touches(s, &f, rim, rim_count, &touched);
        if (status == SP_OK && touched && round == rounds_most)
            status = sp_fail(s->context, SP_INTERNAL,
                             "a body touches itself in %d corners after %d rounds", touched, round);
        if (status == SP_OK && touched) status = unite(s, area);
        if (status == SP_OK && !touched) {
            GEOSArea_r(s->geos, *area, &exact);
            GEOSLength_r(s->geos, *area, &around);
            if (fabs(area_of(&f) - exact) >
                grid * around) /* the corners of the cuts are on the grid */
                status = sp_fail(s->context, SP_INTERNAL,
                                 "triangles cover %g mm2 of a body of %g mm2", area_of(&f), exact);
        }
        if (status == SP_OK && !touched) {
            status = raise_slab(s->context, slab, &f, rim, rim_count, surface);
            surface->shell_count += GEOSGetNumGeometries_r(s->geos, *area);
        }
        sp_free(rim);
        flat_free(&f);
    }
    return status;
}

sp_status sp_slab_add(sp_context *context, const sp_slab *slab, sp_surface *surface)
{
    GEOSGeometry *area = NULL;
    sheet s = {.context = context, .geos = GEOS_init_r()};
    if (!s.geos) return sp_fail(context, SP_NO_MEMORY, "no memory for a union of beads");
    GEOSContext_setErrorMessageHandler_r(s.geos, hear, &s);
    sp_status status = unite_beads(&s, slab, &area);
    if (status == SP_OK) status = triangles_to_surface(&s, slab, &area, surface);
    for (int i = 0; i < s.part_count; i++) GEOSGeom_destroy_r(s.geos, s.part[i]);
    if (area) GEOSGeom_destroy_r(s.geos, area);
    sp_free(s.part);
    GEOS_finish_r(s.geos);
    return status;
}
