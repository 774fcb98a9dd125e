/* This file solves a cell between planes of symmetry by solid elements; see solid_cell.h. */
#include "solid_cell.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CORNERS = 8, SIDE = 24, FULL = SIDE + 9, SAMPLES = 5, LOADS = 6 };

static const double least_share = 0.02; /* of an element; emptier ones are left out */
static const double converged = 1e-7;   /* of the first residual */

typedef struct mesh {
    int dimension, corners, side; /* side: displacements of an element */
    int n[3];                     /* elements along x, y, z */
    double h[3];                  /* edges of an element */
    int node_count, element_count;
    int (*element)[CORNERS]; /* nodes */
    double *share;           /* per element: how much of it is solid */
    int (*place)[3];         /* per node: its place in the grid */
    double k[SIDE][SIDE];    /* stiffness of a full element with modulus 1 */
} mesh;

static void *room(size_t count, size_t size)
{
    void *memory = calloc(count ? count : 1, size);
    if (memory) return memory;
    fprintf(stderr, "solid_cell: no memory\n");
    exit(7);
}

/* ---- what is solid ---- */

static double dot3(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

static double distance(const strut_cell_bar *bar, const double p[3])
{
    double along[3], off[3];
    for (int d = 0; d < 3; d++) {
        along[d] = bar->end[1][d] - bar->end[0][d];
        off[d] = p[d] - bar->end[0][d];
    }
    const double at = fmin(1, fmax(0, dot3(off, along) / dot3(along, along)));
    for (int d = 0; d < 3; d++) off[d] -= at * along[d];
    return sqrt(dot3(off, off));
}

/* Return the distance from the surface of the struts, negative inside. */
static double depth_of(const strut_cell *cell, const double p[3])
{
    double nearest = INFINITY;
    for (int i = 0; i < cell->bar_count; i++) nearest = fmin(nearest, distance(&cell->bar[i], p));
    return nearest - 0.5 * cell->thickness;
}

/* Find the joint where end `end` of a bar meets another bar, and the directions of both from there.
 * Returns 0 when they do not meet. */
static int corner_of(const strut_cell_bar *a, int end, const strut_cell_bar *b, double u[2],
                     double v[2])
{
    for (int other = 0; other < 2; other++) {
        const double *p = a->end[end], *q = b->end[other];
        if (fabs(p[0] - q[0]) + fabs(p[1] - q[1]) > 1e-9) continue;
        const double *to[2] = {a->end[1 - end], b->end[1 - other]};
        double *way[2] = {u, v};
        for (int k = 0; k < 2; k++) {
            const double x = to[k][0] - p[0], y = to[k][1] - p[1], size = hypot(x, y);
            way[k][0] = x / size, way[k][1] = y / size;
        }
        return 1;
    }
    return 0;
}

/* Return 1 when the place q off a joint lies in the round corner between two struts along u and v:
 * beyond neither tangent point, and outside the circle that touches both edges. */
static int in_corner(const double u[2], const double v[2], const double q[2], double half,
                     double radius)
{
    const double cosine = u[0] * v[0] + u[1] * v[1], alpha = acos(fmax(-1, fmin(1, cosine)));
    if (alpha > 3.1 || alpha < 0.1) return 0;
    const double far = (half + radius) / sin(alpha / 2), tangent = (half + radius) / tan(alpha / 2);
    const double size = 2 * cos(alpha / 2);
    const double c[2] = {far * (u[0] + v[0]) / size, far * (u[1] + v[1]) / size};
    const double along_u = q[0] * u[0] + q[1] * u[1], along_v = q[0] * v[0] + q[1] * v[1];
    const double turn = u[0] * v[1] - u[1] * v[0];
    const double beside_u = (u[0] * q[1] - u[1] * q[0]) * turn; /* same side as the other */
    const double beside_v = (q[0] * v[1] - q[1] * v[0]) * turn;
    return beside_u > 0 && beside_v > 0 && along_u < tangent && along_v < tangent &&
           hypot(q[0] - c[0], q[1] - c[1]) > radius;
}

static int in_any_corner(const strut_cell *cell, const double p[3])
{
    for (int i = 0; i < cell->bar_count; i++)
        for (int k = i + 1; k < cell->bar_count; k++)
            for (int end = 0; end < 2; end++) {
                const double *joint = cell->bar[i].end[end];
                const double q[2] = {p[0] - joint[0], p[1] - joint[1]};
                double u[2], v[2];
                if (hypot(q[0], q[1]) > 6 * (cell->thickness + cell->fillet)) continue;
                if (corner_of(&cell->bar[i], end, &cell->bar[k], u, v) &&
                    in_corner(u, v, q, 0.5 * cell->thickness, cell->fillet))
                    return 1;
            }
    return 0;
}

static double solid_share(const strut_cell *cell, const mesh *m, const int at[3])
{
    const int flat = m->dimension == 2;
    const int samples = SAMPLES * SAMPLES * (flat ? 1 : SAMPLES);
    double p[3], diagonal = 0;
    for (int d = 0; d < m->dimension; d++) diagonal += 0.25 * m->h[d] * m->h[d];
    for (int d = 0; d < 3; d++) p[d] = d < m->dimension ? (at[d] + 0.5) * m->h[d] : 0;
    const double depth = depth_of(cell, p);
    if (depth < -sqrt(diagonal)) return 1;
    if (depth > sqrt(diagonal) && cell->fillet == 0) return 0;
    int inside = 0;
    for (int i = 0; i < samples; i++) {
        const int step[3] = {i % SAMPLES, i / SAMPLES % SAMPLES, i / (SAMPLES * SAMPLES)};
        for (int d = 0; d < m->dimension; d++) p[d] = (at[d] + (step[d] + 0.5) / SAMPLES) * m->h[d];
        inside += depth_of(cell, p) < 0 || (cell->fillet > 0 && in_any_corner(cell, p));
    }
    return (double)inside / samples;
}

/* ---- stiffness of one element ---- */

static double sign_of(int corner, int axis)
{
    return corner >> axis & 1 ? 1 : -1;
}

/* Find the derivatives by x, y, z of the shape function of a corner, or of an inner mode, at q in
 * -1 .. 1. */
static void shape_slope(const mesh *m, int mode, const double q[3], double d[3])
{
    const double share = m->dimension == 2 ? 0.25 : 0.125;
    for (int i = 0; i < m->dimension; i++) {
        double slope = share;
        for (int k = 0; k < m->dimension; k++)
            slope *= k == i ? sign_of(mode, i) : 1 + sign_of(mode, k) * q[k];
        if (mode >= m->corners) slope = mode - m->corners == i ? -2 * q[i] : 0;
        d[i] = slope * 2 / m->h[i];
    }
}

static void strain_matrix(const mesh *m, const double q[3], double b[6][FULL])
{
    const int dim = m->dimension;
    memset(b, 0, 6 * sizeof b[0]);
    for (int mode = 0; mode < m->corners + dim; mode++) {
        double d[3];
        shape_slope(m, mode, q, d);
        for (int i = 0; i < dim; i++) {
            const int next = (i + 1) % 3;
            b[i][dim * mode + i] = d[i];
            if (next >= dim) continue;
            b[3 + i][dim * mode + i] = d[next];
            b[3 + i][dim * mode + next] = d[i];
        }
    }
}

static void element_stiffness(mesh *m, double poisson)
{
    const double c = 1 / ((1 + poisson) * (1 - 2 * poisson)), g = 0.5 / (1 + poisson);
    const double gauss = 1 / sqrt(3);
    const int total = m->side + m->dimension * m->dimension;
    static double full[FULL][FULL], b[6][FULL], stress[6][FULL];
    double volume = 1;
    for (int d = 0; d < m->dimension; d++) volume *= m->h[d];
    memset(full, 0, sizeof full);
    for (int point = 0; point < m->corners; point++) {
        const double q[3] = {gauss * sign_of(point, 0), gauss * sign_of(point, 1),
                             gauss * sign_of(point, 2)};
        strain_matrix(m, q, b);
        for (int col = 0; col < total; col++)
            for (int i = 0; i < 3; i++) {
                stress[i][col] = c * ((1 - poisson) * b[i][col] +
                                      poisson * (b[(i + 1) % 3][col] + b[(i + 2) % 3][col]));
                stress[3 + i][col] = g * b[3 + i][col];
            }
        for (int row = 0; row < total; row++)
            for (int col = 0; col < total; col++)
                for (int i = 0; i < 6; i++)
                    full[row][col] += volume * b[i][row] * stress[i][col] / m->corners;
    }
    for (int out = total - 1; out >= m->side; out--) /* the inner modes find their least energy */
        for (int row = 0; row < out; row++) {
            const double factor = full[row][out] / full[out][out];
            for (int col = 0; col < out; col++) full[row][col] -= factor * full[out][col];
        }
    for (int row = 0; row < SIDE; row++) memcpy(m->k[row], full[row], sizeof m->k[row]);
}

/* ---- mesh ---- */

static int node_at(mesh *m, int *number, const int at[3])
{
    const long grid = ((long)at[2] * (m->n[1] + 1) + at[1]) * (m->n[0] + 1) + at[0];
    if (number[grid] == 0) {
        memcpy(m->place[m->node_count], at, sizeof m->place[0]);
        number[grid] = ++m->node_count;
    }
    return number[grid] - 1;
}

static void set_grid(const strut_cell *cell, int per_thickness, mesh *m)
{
    m->dimension = cell->dimension;
    m->corners = 1 << m->dimension;
    m->side = m->dimension * m->corners;
    for (int d = 0; d < 3; d++) {
        m->n[d] = (int)lround(cell->side[d] / cell->thickness * per_thickness);
        if (d >= m->dimension) m->n[d] = 1;
        if (m->n[d] < 1) m->n[d] = 1;
        m->h[d] = cell->side[d] / m->n[d];
    }
}

static void make_mesh(const strut_cell *cell, int per_thickness, mesh *m)
{
    memset(m, 0, sizeof *m);
    set_grid(cell, per_thickness, m);
    const int boxes = m->n[0] * m->n[1] * m->n[2];
    double *share = room((size_t)boxes, sizeof *share);
    size_t used = 0;
#pragma omp parallel for schedule(dynamic, 64) reduction(+ : used)
    for (int box = 0; box < boxes; box++) {
        const int at[3] = {box % m->n[0], box / m->n[0] % m->n[1], box / (m->n[0] * m->n[1])};
        share[box] = solid_share(cell, m, at);
        used += share[box] >= least_share;
    }
    const size_t nodes = (size_t)(m->n[0] + 1) * (size_t)(m->n[1] + 1) * (size_t)(m->n[2] + 1);
    int *number = room(nodes, sizeof *number);
    m->element = room(used, sizeof *m->element);
    m->share = room(used, sizeof *m->share);
    m->place = room((size_t)m->corners * used, sizeof *m->place);
    for (int box = 0; box < boxes; box++) {
        if (share[box] < least_share) continue;
        const int at[3] = {box % m->n[0], box / m->n[0] % m->n[1], box / (m->n[0] * m->n[1])};
        for (int c = 0; c < m->corners; c++) {
            const int corner[3] = {at[0] + (c & 1), at[1] + (c >> 1 & 1), at[2] + (c >> 2)};
            m->element[m->element_count][c] = node_at(m, number, corner);
        }
        m->share[m->element_count++] = share[box];
    }
    free(number);
    free(share);
    element_stiffness(m, cell->poisson);
}

static void free_mesh(mesh *m)
{
    free(m->element);
    free(m->share);
    free(m->place);
}

/* ---- equilibrium by conjugate gradients ---- */

static void times(const mesh *m, const double *u, double *f)
{
    const int dim = m->dimension;
    memset(f, 0, (size_t)(dim * m->node_count) * sizeof *f);
    for (int e = 0; e < m->element_count; e++) {
        double local[SIDE], sum[SIDE] = {0};
        for (int c = 0; c < m->corners; c++)
            for (int d = 0; d < dim; d++) local[dim * c + d] = u[dim * m->element[e][c] + d];
        for (int j = 0; j < m->side; j++)
            for (int i = 0; i < m->side; i++) sum[i] += m->k[j][i] * local[j];
        for (int c = 0; c < m->corners; c++)
            for (int d = 0; d < dim; d++)
                f[dim * m->element[e][c] + d] += m->share[e] * sum[dim * c + d];
    }
}

static double dot(size_t n, const double *a, const double *b)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

/* Relax from displacements u, of which the held ones are given; leaves all forces in f. */
static void relax(const mesh *m, const char *held, double *u, double *f)
{
    const int dim = m->dimension;
    const size_t n = (size_t)(dim * m->node_count);
    double *pivot = room(n, sizeof *pivot), *left = room(n, sizeof *left);
    double *scaled = room(n, sizeof *scaled), *way = room(n, sizeof *way);
    for (int e = 0; e < m->element_count; e++)
        for (int i = 0; i < m->side; i++)
            pivot[dim * m->element[e][i / dim] + i % dim] += m->share[e] * m->k[i][i];
    times(m, u, f);
    for (size_t i = 0; i < n; i++) {
        left[i] = held[i] ? 0 : -f[i];
        way[i] = scaled[i] = left[i] / pivot[i];
    }
    double rate = dot(n, left, scaled);
    const double goal = converged * converged * rate;
    while (rate > goal) {
        times(m, way, f);
        for (size_t i = 0; i < n; i++)
            if (held[i]) f[i] = 0;
        const double step = rate / dot(n, way, f);
        for (size_t i = 0; i < n; i++) {
            u[i] += step * way[i];
            left[i] -= step * f[i];
            scaled[i] = left[i] / pivot[i];
        }
        const double next = dot(n, left, scaled);
        for (size_t i = 0; i < n; i++) way[i] = scaled[i] + next / rate * way[i];
        rate = next;
    }
    times(m, u, f);
    free(pivot);
    free(left);
    free(scaled);
    free(way);
}

/* Set the displacements of an even strain of 1, and those of them that the planes of symmetry hold:
 * along their normals under a normal strain; under a shear (of axes a and b), which is
 * antisymmetric about planes across a and across b, along these planes. Loads 0 .. 2: normal, 3 ..
 * 5: shear yz, zx, xy. */
static void set_load(const mesh *m, int load, double *u, char *held)
{
    const int dim = m->dimension, a = (load + 1) % 3, b = (load + 2) % 3;
    for (int i = 0; i < m->node_count; i++) {
        double p[3];
        for (int d = 0; d < dim; d++) p[d] = m->place[i][d] * m->h[d];
        for (int d = 0; d < dim; d++) {
            double value = 0;
            if (load < 3) value = d == load ? p[d] : 0;
            if (load >= 3) value = d == a ? 0.5 * p[b] : d == b ? 0.5 * p[a] : 0;
            u[dim * i + d] = value;
            int is_held = 0;
            for (int k = 0; k < dim; k++) {
                if (m->place[i][k] != 0 && m->place[i][k] != m->n[k]) continue;
                is_held |= load >= 3 && (k == a || k == b) ? d != k : d == k;
            }
            held[dim * i + d] = (char)is_held;
        }
    }
}

/* Return the normal stress on the far face across an axis. */
static double face_stress(const strut_cell *cell, const mesh *m, const double *f, int axis)
{
    double sum = 0, area = 1;
    for (int i = 0; i < m->node_count; i++)
        if (m->place[i][axis] == m->n[axis]) sum += f[m->dimension * i + axis];
    for (int d = 0; d < m->dimension; d++)
        if (d != axis) area *= cell->side[d];
    return sum / area;
}

void solid_solve(const strut_cell *cell, int per_thickness, strut_cell_constants *constants)
{
    mesh m;
    make_mesh(cell, per_thickness, &m);
    const int dim = m.dimension;
    const size_t n = (size_t)(dim * m.node_count);
    double *u[LOADS] = {0}, *f[LOADS] = {0}, box = 1, volume = 0;
    for (int d = 0; d < dim; d++) box *= cell->side[d];
    for (int e = 0; e < m.element_count; e++) volume += m.share[e];
    for (int d = 0; d < dim; d++) volume *= m.h[d];
    *constants = (strut_cell_constants){.share = volume / box};
#pragma omp parallel for schedule(dynamic, 1)
    for (int load = 0; load < LOADS; load++) {
        if (load >= (dim == 2 ? 2 : 1) && load != LOADS - 1)
            continue; /* a cubic cell has equal constants */
        char *held = room(n, 1);
        u[load] = room(n, sizeof **u);
        f[load] = room(n, sizeof **f);
        set_load(&m, load, u[load], held);
        relax(&m, held, u[load], f[load]);
        free(held);
    }
    for (int i = 0; i < 3; i++)
        for (int k = 0; u[i] && k < dim; k++)
            constants->normal[i][k] = face_stress(cell, &m, f[i], k);
    for (int i = 0; i < 3; i++)
        if (u[3 + i]) constants->shear[i] = dot(n, u[3 + i], f[3 + i]) / box;
    for (int load = 0; load < LOADS; load++) free(u[load]), free(f[load]);
    free_mesh(&m);
}

void solid_refined(const strut_cell *cell, int coarse, int fine, strut_cell_constants *constants,
                   double *change)
{
    strut_cell_constants first;
    solid_solve(cell, coarse, &first);
    solid_solve(cell, fine, constants);
    const double scale = (double)coarse / (fine - coarse);
    double *to = (double *)constants;
    const double *from = (const double *)&first;
    *change = 0;
    for (size_t i = 0; i < sizeof first / sizeof(double); i++) {
        const double by = scale * (to[i] - from[i]);
        to[i] += by;
        if (to[i] != 0 && i < 12) *change = fmax(*change, fabs(by / to[i]));
    }
}
