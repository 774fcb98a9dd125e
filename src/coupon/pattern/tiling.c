/* Periodic line patterns, see tiling.h. */
#include "pattern/tiling.h"

#include <math.h>

static const double same = 1e-9; /* round-off of coordinates of order one */

void sp_tiling_link(sp_tiling *tiling)
{
    tiling->edge_count = 0;
    for (int a = 0; a < tiling->vertex_count; a++)
        for (int b = a; b < tiling->vertex_count; b++)
            for (int i = -2; i <= 2; i++)
                for (int j = -2; j <= 2; j++) {
                    /* Each edge inside one class of vertices appears with both signs of (i, j):
                     * keep one of them. */
                    if (a == b && (i < 0 || (i == 0 && j <= 0))) continue;
                    double x = tiling->vertex[b][0] - tiling->vertex[a][0] +
                               i * tiling->basis[0][0] + j * tiling->basis[1][0];
                    double y = tiling->vertex[b][1] - tiling->vertex[a][1] +
                               i * tiling->basis[0][1] + j * tiling->basis[1][1];
                    if (fabs(hypot(x, y) - 1) > same) continue;
                    int *edge = tiling->edge[tiling->edge_count++];
                    edge[0] = a, edge[1] = b, edge[2] = i, edge[3] = j;
                }
}

/* Return the distance of the origin from the segment A B. */
static double segment_distance(double xa, double ya, double xb, double yb)
{
    double dx = xb - xa, dy = yb - ya, length2 = dx * dx + dy * dy;
    double t = length2 > 0 ? -(xa * dx + ya * dy) / length2 : 0;
    t = fmin(1, fmax(0, t));
    return hypot(xa + t * dx, ya + t * dy);
}

sp_status sp_tiling_emit(sp_context *context, const sp_tiling *tiling, double radius,
                         sp_pieces *pieces)
{
    const double(*e)[2] = tiling->basis;
    double area = fabs(e[0][0] * e[1][1] - e[0][1] * e[1][0]);
    double reach = 0; /* how far an edge may lie from the corner of its cell */
    for (int k = 0; k < tiling->edge_count; k++) {
        const int *edge = tiling->edge[k];
        const double *a = tiling->vertex[edge[0]], *b = tiling->vertex[edge[1]];
        double x = b[0] + edge[2] * e[0][0] + edge[3] * e[1][0];
        double y = b[1] + edge[2] * e[0][1] + edge[3] * e[1][1];
        reach = fmax(reach, fmax(hypot(a[0], a[1]), hypot(x, y)));
    }
    /* Rows of the lattice are area / |a| apart, so that these ranges of indices cover the disc. */
    int ni = (int)ceil((radius + reach) * hypot(e[1][0], e[1][1]) / area);
    int nj = (int)ceil((radius + reach) * hypot(e[0][0], e[0][1]) / area);
    for (int i = -ni; i <= ni; i++)
        for (int j = -nj; j <= nj; j++) {
            double ox = i * e[0][0] + j * e[1][0], oy = i * e[0][1] + j * e[1][1];
            if (hypot(ox, oy) > radius + reach) continue;
            for (int k = 0; k < tiling->edge_count; k++) {
                const int *edge = tiling->edge[k];
                const double *a = tiling->vertex[edge[0]], *b = tiling->vertex[edge[1]];
                double xa = ox + a[0], ya = oy + a[1];
                double xb = ox + b[0] + edge[2] * e[0][0] + edge[3] * e[1][0];
                double yb = oy + b[1] + edge[2] * e[0][1] + edge[3] * e[1][1];
                if (segment_distance(xa, ya, xb, yb) > radius) continue;
                sp_status status = sp_pieces_add(context, pieces, xa, ya, xb, yb);
                if (status != SP_OK) return status;
            }
        }
    return SP_OK;
}
