/* Add face plates, as grillages, and side frames to a clean lattice. Cleaning joins them to it. */
#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "spatial/plan.h"

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Find the rows through the joints of a face along axis k (their coordinate on the other axis):
 * rows closer than a diameter become one in their middle. Returns the number of rows. */
static int find_rows(const sp_graph *graph, int face, int k, double diameter, double *row)
{
    int count = 0, rows = 0;
    for (int n = 0; n < graph->joint_count; n++)
        if (graph->joint[n].side & face) row[count++] = graph->joint[n].at[k];
    qsort(row, (size_t)count, sizeof *row, ascending);
    for (int i = 0; i < count;) {
        double first = row[i], last = first;
        for (; i < count && row[i] < first + diameter * (1 - 1e-9); i++) last = row[i];
        double middle = 0.5 * (first + last);
        if (first == 0) middle = 0; /* a row on the edge stays there */
        if (last == graph->high[k]) middle = last;
        row[rows++] = middle;
    }
    return rows;
}

static double nearest_row(const double *row, int rows, double x)
{
    double best = row[0];
    for (int i = 1; i < rows; i++)
        if (fabs(row[i] - x) < fabs(best - x)) best = row[i];
    return best;
}

static sp_status add_rows(sp_context *context, sp_graph *graph, double y, int across,
                          const double *row, int rows, const sp_strut *like)
{
    sp_status status = SP_OK;
    int along = 2 - across;
    for (int i = 0; status == SP_OK && i < rows; i++) {
        double a[3] = {0, y, 0}, b[3] = {0, y, 0};
        a[across] = b[across] = row[i];
        b[along] = graph->high[along];
        status = sp_graph_add_clipped(context, graph, a, b, like);
    }
    return status;
}

/* Add struts along x and z through all joints of one face. */
static sp_status add_grillage(sp_context *context, sp_graph *graph, int face, const sp_strut *like)
{
    double *row[2] = {NULL, NULL};
    double y = face == SP_SIDE_LOWER ? 0 : graph->high[1];
    sp_status status = SP_OK;
    for (int k = 0; k < 2; k++) {
        row[k] = sp_alloc((size_t)graph->joint_count, sizeof *row[k]);
        if (row[k]) continue;
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", graph->joint_count);
        goto done;
    }
    int x_rows = find_rows(graph, face, 0, like->thickness, row[0]);
    int z_rows = find_rows(graph, face, 2, like->thickness, row[1]);
    for (int n = 0; n < graph->joint_count; n++) { /* move the joints of merged rows to their row */
        sp_joint *joint = &graph->joint[n];
        if (!(joint->side & face)) continue;
        joint->at[0] = nearest_row(row[0], x_rows, joint->at[0]);
        joint->at[2] = nearest_row(row[1], z_rows, joint->at[2]);
    }
    status = add_rows(context, graph, y, 0, row[0], x_rows, like);
    if (status == SP_OK) status = add_rows(context, graph, y, 2, row[1], z_rows, like);
done:
    sp_free(row[0]);
    sp_free(row[1]);
    return status;
}

/* Add the twelve edges of the box. */
static sp_status add_edges(sp_context *context, sp_graph *graph, const sp_strut *like)
{
    sp_status status = SP_OK;
    for (int n = 0; status == SP_OK && n < 12; n++) {
        int along = n / 4, i = (along + 1) % 3, j = (along + 2) % 3;
        double a[3], b[3];
        a[along] = 0, b[along] = graph->high[along];
        a[i] = b[i] = n & 1 ? graph->high[i] : 0;
        a[j] = b[j] = n & 2 ? graph->high[j] : 0;
        status = sp_graph_add_clipped(context, graph, a, b, like);
    }
    return status;
}

sp_status sp_spatial_add_frames(sp_context *context, const sp_case *request, double diameter,
                                sp_graph *graph)
{
    const sp_strut like = {.thickness = diameter, .role = SP_ROLE_WALL};
    sp_status status = SP_OK;
    if (request->face_plates == SP_PLATES_GRILLAGE)
        status = add_grillage(context, graph, SP_SIDE_LOWER, &like);
    if (status == SP_OK && request->face_plates == SP_PLATES_GRILLAGE)
        status = add_grillage(context, graph, SP_SIDE_UPPER, &like);
    if (status == SP_OK && request->side_frames) status = add_edges(context, graph, &like);
    return status;
}
