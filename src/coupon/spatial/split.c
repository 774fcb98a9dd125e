/* Cut struts where a joint lies on them and where two of them cross, within a share of the thinner one.
 *
 * A grid of cubes holds, for each cube, the struts that come near it; a strut is entered piece by piece, so that a long
 * slanted one does not fill the grid. */
#include "spatial/space.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "network/join.h"
#include "network/near.h"

static const int cells_max = 2000000;
static const double entries_max = 1e9;
/* comparisons in the time that a round takes for each strut and joint */
static const int work_of_one = 10;
#define MORE (1 + 1e-9)

typedef struct grid {
    double low[3], edge;
    int n[3];
    int *first, *list; /* struts of cell c: list[first[c]] .. */
} grid;

static int cell_along(const grid *cells, double x, int k)
{
    int i = (int)floor((x - cells->low[k]) / cells->edge);
    return i < 0 ? 0 : i >= cells->n[k] ? cells->n[k] - 1 : i;
}

static int cell_of(const grid *cells, const double at[3])
{
    return (cell_along(cells, at[2], 2) * cells->n[1] + cell_along(cells, at[1], 1)) * cells->n[0] +
           cell_along(cells, at[0], 0);
}

/* Cells about a size as long as the mean strut, but not many more than struts. */
static void grid_size(const sp_space *space, grid *cells)
{
    double total = 0, volume = 1;
    for (int s = 0; s < space->strut_count; s++) total += sp_space_length(space, s);
    cells->edge = total / (space->strut_count > 0 ? space->strut_count : 1);
    for (int k = 0; k < 3; k++) volume *= fmax(space->size[k], cells->edge);
    cells->edge = fmax(cells->edge, cbrt(volume / cells_max));
    if (!(cells->edge > 0)) cells->edge = 1;
    for (int k = 0; k < 3; k++) {
        cells->low[k] = 0;
        cells->n[k] = 1 + (int)(space->size[k] / cells->edge);
    }
}

/* Cells from .. to that part p of a strut comes near. */
static void cells_near(const sp_space *space, const grid *cells, int s, double near, int p,
                       int parts, int from[3], int to[3])
{
    const double *a = space->joint[space->strut[s].joint[0]].at;
    const double *b = space->joint[space->strut[s].joint[1]].at;
    for (int k = 0; k < 3; k++) {
        double x = a[k] + (b[k] - a[k]) * p / parts, y = a[k] + (b[k] - a[k]) * (p + 1) / parts;
        from[k] = cell_along(cells, fmin(x, y) - near, k);
        to[k] = cell_along(cells, fmax(x, y) + near, k);
    }
}

static int parts_of(const sp_space *space, const grid *cells, int s)
{
    return 1 + (int)(sp_space_length(space, s) / cells->edge);
}

/* Count (list NULL) or enter the cells of one strut, each once: `mark` holds the last strut seen in a cell. */
static void enter(const sp_space *space, const grid *cells, int s, double near, int *mark,
                  int *start, int *list)
{
    const int parts = parts_of(space, cells, s);
    for (int p = 0; p < parts; p++) {
        int from[3], to[3];
        cells_near(space, cells, s, near, p, parts, from, to);
        for (int z = from[2]; z <= to[2]; z++)
            for (int y = from[1]; y <= to[1]; y++)
                for (int x = from[0]; x <= to[0]; x++) {
                    int c = (z * cells->n[1] + y) * cells->n[0] + x;
                    if (mark[c] == s + 1) continue;
                    mark[c] = s + 1;
                    if (list)
                        list[start[c]++] = s;
                    else
                        start[c + 1]++;
                }
    }
}

/* A thick strut among fine ones comes near very many cells: how many is known before they are entered. */
static sp_status check_cells(sp_context *context, const sp_space *space, const grid *cells,
                             double near)
{
    double count = 0;
    for (int s = 0; s < space->strut_count; s++) {
        const int parts = parts_of(space, cells, s);
        for (int p = 0; p < parts; p++) {
            int from[3], to[3];
            cells_near(space, cells, s, near, p, parts, from, to);
            count += (to[0] - from[0] + 1.0) * (to[1] - from[1] + 1.0) * (to[2] - from[2] + 1.0);
        }
    }
    if (count <= entries_max) return SP_OK;
    return sp_network_too_many(context, count, "cells of a grid that struts come near",
                               entries_max);
}

static sp_status no_memory(sp_context *context, const sp_space *space)
{
    return sp_fail(context, SP_NO_MEMORY, "no memory for %d struts", space->strut_count);
}

static sp_status grid_build(sp_context *context, const sp_space *space, double near, grid *cells)
{
    grid_size(space, cells);
    sp_status status = check_cells(context, space, cells, near);
    if (status != SP_OK) return status;
    size_t count = (size_t)cells->n[0] * (size_t)cells->n[1] * (size_t)cells->n[2];
    int *mark = sp_alloc(count, sizeof *mark);
    cells->first = sp_alloc(count + 2, sizeof *cells->first);
    if (!mark || !cells->first) {
        status = no_memory(context, space);
        goto done;
    }
    int *start = cells->first + 1;
    for (int s = 0; s < space->strut_count; s++) enter(space, cells, s, near, mark, start, NULL);
    for (size_t c = 0; c < count; c++) start[c + 1] += start[c], mark[c] = 0;
    cells->list = sp_alloc((size_t)start[count], sizeof *cells->list);
    if (!cells->list) {
        status = no_memory(context, space);
        goto done;
    }
    for (int s = 0; s < space->strut_count; s++)
        enter(space, cells, s, near, mark, start, cells->list);
done:
    sp_free(mark);
    return status;
}

/* What there is to compare: every two struts of a cell, and every joint with the struts of its cell. */
static sp_status check_work(sp_context *context, sp_space *space, const grid *cells)
{
    const int count = cells->n[0] * cells->n[1] * cells->n[2];
    double pairs = 0;
    for (int c = 0; c < count; c++) {
        const double here = cells->first[c + 1] - cells->first[c];
        pairs += 0.5 * here * (here - 1);
    }
    for (int n = 0; n < space->joint_count; n++) {
        const int c = cell_of(cells, space->joint[n].at);
        pairs += cells->first[c + 1] - cells->first[c];
    }
    /* and a round in which nothing is compared is not for nothing */
    pairs += work_of_one * ((double)space->joint_count + space->strut_count);
    return sp_network_compare(context, &space->compared, pairs);
}

/* Foot of a point on a strut as a share of its length; *distance from the strut's line. */
static double foot(const sp_space *space, int s, const double at[3], double *distance)
{
    const double *a = space->joint[space->strut[s].joint[0]].at;
    const double *b = space->joint[space->strut[s].joint[1]].at;
    double dot = 0, square = 0, on[3];
    for (int k = 0; k < 3; k++) {
        dot += (at[k] - a[k]) * (b[k] - a[k]);
        square += (b[k] - a[k]) * (b[k] - a[k]);
    }
    double along = dot / square;
    for (int k = 0; k < 3; k++) on[k] = a[k] + along * (b[k] - a[k]);
    *distance = sp_space_distance(at, on);
    return along;
}

/* Joints that lie on a strut, away from its ends. */
static sp_status find_joints_on_struts(sp_context *context, const sp_space *space,
                                       const grid *cells, const double *reach, double share,
                                       sp_cuts *cuts)
{
    sp_status status = SP_OK;
    double count = 0;
    for (int n = 0; n < space->joint_count; n++) {
        const double *at = space->joint[n].at;
        int c = cell_of(cells, at);
        for (int i = cells->first[c]; status == SP_OK && i < cells->first[c + 1]; i++) {
            int s = cells->list[i];
            double distance, near = fmin(reach[n], share * sp_space_slimmest(&space->strut[s]));
            if (space->strut[s].joint[0] == n || space->strut[s].joint[1] == n) continue;
            double along = foot(space, s, at, &distance);
            /* a foot beside an end would cut a flat triangle's long sides in turn for ever */
            double length = sp_space_length(space, s);
            if (distance >= near || along * length <= near * MORE ||
                (1 - along) * length <= near * MORE)
                continue;
            if (++count > SP_CROSSINGS_MAX) continue;
            status = sp_cuts_add(context, cuts, s, n, along);
        }
    }
    if (status == SP_OK && count > SP_CROSSINGS_MAX)
        status = sp_network_too_many(context, count, "joints that lie on struts", SP_CROSSINGS_MAX);
    return status;
}

/* Nearest points of the lines through two struts as shares of their lengths; 0 when they are nearly parallel. */
static int nearest(const sp_space *space, int s, int t, double along[2], double middle[3],
                   double *distance)
{
    const double *a = space->joint[space->strut[s].joint[0]].at;
    const double *b = space->joint[space->strut[s].joint[1]].at;
    const double *c = space->joint[space->strut[t].joint[0]].at;
    const double *d = space->joint[space->strut[t].joint[1]].at;
    double uu = 0, vv = 0, uv = 0, uw = 0, vw = 0, p[3], q[3];
    for (int k = 0; k < 3; k++) {
        double u = b[k] - a[k], v = d[k] - c[k], w = a[k] - c[k];
        uu += u * u, vv += v * v, uv += u * v, uw += u * w, vw += v * w;
    }
    double det = uu * vv - uv * uv;
    if (det <= 1e-6 * uu * vv) return 0;
    along[0] = (uv * vw - vv * uw) / det;
    along[1] = (uu * vw - uv * uw) / det;
    for (int k = 0; k < 3; k++) {
        p[k] = a[k] + along[0] * (b[k] - a[k]);
        q[k] = c[k] + along[1] * (d[k] - c[k]);
        middle[k] = 0.5 * (p[k] + q[k]);
    }
    *distance = sp_space_distance(p, q);
    return 1;
}

/* 1 when struts s and t cross away from their joints; the joint that cuts both would lie at `middle`. */
static int crossing(const sp_space *space, int s, int t, double share, double along[2],
                    double middle[3])
{
    const sp_space_strut *p = &space->strut[s], *q = &space->strut[t];
    double distance, near = share * fmin(sp_space_slimmest(p), sp_space_slimmest(q));
    if (p->joint[0] == q->joint[0] || p->joint[0] == q->joint[1] || p->joint[1] == q->joint[0] ||
        p->joint[1] == q->joint[1])
        return 0;
    if (!nearest(space, s, t, along, middle, &distance) || distance >= near) return 0;
    for (int k = 0; k < 2; k++) {
        double length = sp_space_length(space, k ? t : s);
        if (along[k] * length <= near * MORE || (1 - along[k]) * length <= near * MORE) return 0;
    }
    return 1;
}

static sp_status find_crossings(sp_context *context, sp_space *space, const grid *cells,
                                double share, sp_cuts *cuts)
{
    const int count = cells->n[0] * cells->n[1] * cells->n[2];
    double crossings = 0;
    for (int c = 0; c < count; c++)
        for (int i = cells->first[c]; i < cells->first[c + 1]; i++)
            for (int j = i + 1; j < cells->first[c + 1]; j++) {
                double along[2], middle[3];
                int s = cells->list[i], t = cells->list[j];
                if (!crossing(space, s, t, share, along, middle)) continue;
                /* two struts meet in several cells: the one that holds the crossing counts */
                if (cell_of(cells, middle) != c) continue;
                if (++crossings > SP_CROSSINGS_MAX) continue;
                int joint = space->joint_count;
                sp_status status = sp_space_add_joint(context, space, middle);
                if (status == SP_OK) status = sp_cuts_add(context, cuts, s, joint, along[0]);
                if (status == SP_OK) status = sp_cuts_add(context, cuts, t, joint, along[1]);
                if (status != SP_OK) return status;
            }
    if (crossings <= SP_CROSSINGS_MAX) return SP_OK;
    return sp_network_too_many(context, crossings, "crossings of struts", SP_CROSSINGS_MAX);
}

/* Replace each cut strut by its parts. */
static sp_status apply(sp_context *context, sp_space *space, sp_cuts *cuts)
{
    sp_cuts_sort(cuts);
    for (int i = 0; i < cuts->count; i++) {
        int s = cuts->item[i].strut, last = space->strut[s].joint[1];
        space->strut[s].joint[1] = cuts->item[i].joint;
        const sp_space_strut like = space->strut[s];
        for (; i < cuts->count && cuts->item[i].strut == s; i++) {
            int next = sp_cuts_next(cuts, i, last);
            sp_status status = sp_space_add_strut(context, space, cuts->item[i].joint, next, &like);
            if (status != SP_OK) return status;
        }
        i--;
    }
    return SP_OK;
}

sp_status sp_space_split(sp_context *context, sp_space *space, double share, int *changed)
{
    grid cells = {0};
    sp_cuts cuts = {0};
    double near = 0, *reach = sp_space_reach(space, share);
    sp_status status = SP_OK;
    if (!reach) {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", space->joint_count);
        goto done;
    }
    for (int s = 0; s < space->strut_count; s++)
        near = fmax(near, share * sp_space_slimmest(&space->strut[s]));
    status = grid_build(context, space, near, &cells);
    if (status == SP_OK) status = check_work(context, space, &cells);
    if (status == SP_OK)
        status = find_joints_on_struts(context, space, &cells, reach, share, &cuts);
    if (status == SP_OK) status = find_crossings(context, space, &cells, share, &cuts);
    if (status == SP_OK && cuts.count) status = apply(context, space, &cuts);
    *changed += cuts.count;
done:
    sp_free(cells.first);
    sp_free(cells.list);
    sp_free(cuts.item);
    sp_free(reach);
    return status;
}
