/* Periodic lines in space, see lattice.h. */
#include "pattern/lattice.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/so3.h"

static const double same = 1e-9; /* round-off of coordinates of order one */

sp_status sp_lines_add(sp_context *context, sp_lines *lines, const double a[3], const double b[3])
{
    double *grown = sp_grow(lines->end, lines->count, &lines->capacity, 256, 6 * sizeof *grown);
    if (!grown) return sp_fail(context, SP_NO_MEMORY, "no memory for %d lines", lines->count + 1);
    lines->end = grown;
    double *end = lines->end + 6 * (size_t)lines->count++;
    memcpy(end, a, 3 * sizeof *a);
    memcpy(end + 3, b, 3 * sizeof *b);
    return SP_OK;
}

void sp_lines_free(sp_lines *lines)
{
    sp_free(lines->end);
    *lines = (sp_lines){0};
}

static void ends_of(const sp_lattice *lattice, const int e[5], double a[3], double b[3])
{
    for (int k = 0; k < 3; k++) {
        a[k] = lattice->vertex[e[0]][k];
        b[k] = lattice->vertex[e[1]][k];
        for (int n = 0; n < 3; n++) b[k] += e[2 + n] * lattice->basis[n][k];
    }
}

void sp_lattice_edge(const sp_lattice *lattice, int edge, double a[3], double b[3])
{
    ends_of(lattice, lattice->edge[edge], a, b);
}

static double edge_length(const sp_lattice *lattice, const int edge[5], const double scale[3])
{
    double a[3], b[3], square = 0;
    ends_of(lattice, edge, a, b);
    for (int k = 0; k < 3; k++) square += scale[k] * scale[k] * (b[k] - a[k]) * (b[k] - a[k]);
    return sqrt(square);
}

void sp_lattice_link(sp_lattice *lattice, double distance)
{
    const double unit[3] = {1, 1, 1};
    lattice->edge_count = 0;
    for (int a = 0; a < lattice->vertex_count; a++)
        for (int b = a; b < lattice->vertex_count; b++)
            for (int n = 0; n < 27; n++) {
                /* Each edge inside one class of vertices appears with both signs of the shift: keep
                 * one of them. */
                if (a == b && n <= 13) continue;
                const int edge[5] = {a, b, n / 9 - 1, n / 3 % 3 - 1, n % 3 - 1};
                if (fabs(edge_length(lattice, edge, unit) - distance) > same) continue;
                memcpy(lattice->edge[lattice->edge_count++], edge, sizeof edge);
            }
}

void sp_lattice_cubic(sp_lattice *lattice, int vertex_count, const double (*vertex)[3],
                      double distance)
{
    *lattice = (sp_lattice){
        .box = {1, 1, 1}, .basis = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, .vertex_count = vertex_count};
    memcpy(lattice->vertex, vertex, (size_t)vertex_count * sizeof *vertex);
    sp_lattice_link(lattice, distance);
}

/* Find the rows of the inverse basis: the cell of a point p has the indices inverse[n] . p. Returns
 * the volume of a cell. */
static double invert(const sp_lattice *lattice, double inverse[3][3])
{
    double volume = 0;
    for (int n = 0; n < 3; n++)
        sp_cross(lattice->basis[(n + 1) % 3], lattice->basis[(n + 2) % 3], inverse[n]);
    for (int k = 0; k < 3; k++) volume += inverse[0][k] * lattice->basis[0][k];
    for (int n = 0; n < 9; n++) inverse[n / 3][n % 3] /= volume;
    return fabs(volume);
}

double sp_lattice_line_density(const sp_lattice *lattice, const double scale[3])
{
    double inverse[3][3], total = 0;
    for (int e = 0; e < lattice->edge_count; e++)
        total += edge_length(lattice, lattice->edge[e], scale);
    return total / (invert(lattice, inverse) * scale[0] * scale[1] * scale[2]);
}

static int apart(const double a[3], const double b[3], const double low[3], const double high[3])
{
    for (int k = 0; k < 3; k++)
        if (fmax(a[k], b[k]) < low[k] - same || fmin(a[k], b[k]) > high[k] + same) return 1;
    return 0;
}

/* Find the ranges of indices of the cells whose edges may reach the box: those of the box, wider by
 * the reach of a cell's edges. */
static void find_range(const sp_lattice *lattice, const double low[3], const double high[3],
                       int from[3], int to[3])
{
    double inverse[3][3];
    invert(lattice, inverse);
    for (int n = 0; n < 3; n++) {
        double least = 0, most = 0, back = 0, forth = 0;
        for (int k = 0; k < 3; k++) {
            least += fmin(inverse[n][k] * low[k], inverse[n][k] * high[k]);
            most += fmax(inverse[n][k] * low[k], inverse[n][k] * high[k]);
        }
        for (int e = 0; e < 2 * lattice->edge_count; e++) {
            double end[2][3], index = 0;
            sp_lattice_edge(lattice, e / 2, end[0], end[1]);
            for (int k = 0; k < 3; k++) index += inverse[n][k] * end[e % 2][k];
            back = fmin(back, index), forth = fmax(forth, index);
        }
        from[n] = (int)floor(least - forth - same);
        to[n] = (int)ceil(most - back + same);
    }
}

sp_status sp_lattice_emit(sp_context *context, const sp_lattice *lattice, const double low[3],
                          const double high[3], sp_lines *lines)
{
    int from[3], to[3], at[3];
    find_range(lattice, low, high, from, to);
    for (at[0] = from[0]; at[0] <= to[0]; at[0]++)
        for (at[1] = from[1]; at[1] <= to[1]; at[1]++)
            for (at[2] = from[2]; at[2] <= to[2]; at[2]++)
                for (int e = 0; e < lattice->edge_count; e++) {
                    double a[3], b[3];
                    sp_lattice_edge(lattice, e, a, b);
                    for (int k = 0; k < 3; k++) {
                        double shift = 0;
                        for (int n = 0; n < 3; n++) shift += at[n] * lattice->basis[n][k];
                        a[k] += shift, b[k] += shift;
                    }
                    if (apart(a, b, low, high)) continue;
                    sp_status status = sp_lines_add(context, lines, a, b);
                    if (status != SP_OK) return status;
                }
    return SP_OK;
}
