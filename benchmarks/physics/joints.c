/* How stiff a joint body is: solid elements beside the rigid zone of E39 (docs/theory.md, section 8). `joints FOLDER` writes
 * joints.csv and joints.md into it.
 *
 * A quarter of a square grid in shear (plane strain, one layer of elements), its corners sharp or rounded, and an eighth of a
 * body-centred cell; both are the half of a strut between two joints that do not turn. Linear elastic, bricks with incompatible
 * modes (Taylor, Beresford & Wilson 1976) on a regular grid, each weighted by the share of it that is solid. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { CORNERS = 8, SIDE = 24, INNER = 9, FULL = SIDE + INNER, SAMPLES = 5 };

static const double least_share = 0.02; /* of an element; emptier ones are left out */
static const double converged = 1e-9;   /* of the first residual */

typedef struct solid {
    int n[3];       /* elements along x, y, z */
    double h;       /* edge of an element / thickness of the strut */
    double poisson; /* ratio */
    double half;    /* side of the box / thickness */
    double fillet;  /* radius of the corners / thickness */
    int is_cell;    /* eighth of a body-centred cell, else quarter of a grid */
} solid;

typedef struct mesh {
    int node_count, element_count;
    int (*element)[CORNERS]; /* nodes */
    double *share;           /* per element: how much of it is solid */
    int (*place)[3];         /* per node: its place in the grid */
} mesh;

static void *room(size_t count, size_t size)
{
    void *memory = calloc(count ? count : 1, size);
    if (memory) return memory;
    fprintf(stderr, "joints: no memory\n");
    exit(7);
}

/* ---- stiffness of one element with modulus 1 and edge 1 ---- */

static double sign_of(int corner, int axis)
{
    return corner >> axis & 1 ? 1 : -1;
}

/* Derivatives by x, y, z of the shape function of a corner, or of an inner mode, at q in -1 .. 1. */
static void shape_slope(int mode, const double q[3], double d[3])
{
    for (int i = 0; i < 3; i++) {
        const int j = (i + 1) % 3, k = (i + 2) % 3;
        d[i] = mode < CORNERS ? 0.25 * sign_of(mode, i) * (1 + sign_of(mode, j) * q[j]) *
                                    (1 + sign_of(mode, k) * q[k])
               : mode - CORNERS == i ? -4 * q[i]
                                     : 0;
    }
}

static void strain_matrix(const double q[3], double b[6][FULL])
{
    memset(b, 0, 6 * sizeof b[0]);
    for (int mode = 0; mode < FULL / 3; mode++) {
        double d[3];
        shape_slope(mode, q, d);
        for (int i = 0; i < 3; i++) {
            const int next = (i + 1) % 3;
            b[i][3 * mode + i] = d[i];
            b[3 + i][3 * mode + i] = d[next];
            b[3 + i][3 * mode + next] = d[i];
        }
    }
}

static void element_stiffness(double poisson, double k[SIDE][SIDE])
{
    const double c = 1 / ((1 + poisson) * (1 - 2 * poisson)), g = 0.5 / (1 + poisson);
    const double gauss = 1 / sqrt(3);
    static double full[FULL][FULL], b[6][FULL], stress[6][FULL];
    memset(full, 0, sizeof full);
    for (int point = 0; point < CORNERS; point++) {
        const double q[3] = {gauss * sign_of(point, 0), gauss * sign_of(point, 1),
                             gauss * sign_of(point, 2)};
        strain_matrix(q, b);
        for (int col = 0; col < FULL; col++)
            for (int i = 0; i < 3; i++) {
                stress[i][col] = c * ((1 - poisson) * b[i][col] +
                                      poisson * (b[(i + 1) % 3][col] + b[(i + 2) % 3][col]));
                stress[3 + i][col] = g * b[3 + i][col];
            }
        for (int row = 0; row < FULL; row++)
            for (int col = 0; col < FULL; col++)
                for (int i = 0; i < 6; i++) full[row][col] += b[i][row] * stress[i][col] / CORNERS;
    }
    for (int out = FULL - 1; out >= SIDE; out--) /* the inner modes find their least energy */
        for (int row = 0; row < out; row++) {
            const double factor = full[row][out] / full[out][out];
            for (int col = 0; col < out; col++) full[row][col] -= factor * full[out][col];
        }
    for (int row = 0; row < SIDE; row++) memcpy(k[row], full[row], sizeof k[row]);
}

/* ---- what is solid; lengths in thicknesses ---- */

/* Arms along x and y, half as thick as the strut (the other half is the mirror image), and the round corner between them. */
static int in_grid(const solid *s, const double p[3])
{
    if (p[0] < 0.5 || p[1] < 0.5) return 1;
    const double centre = 0.5 + s->fillet, dx = centre - p[0], dy = centre - p[1];
    return dx > 0 && dy > 0 && dx * dx + dy * dy > s->fillet * s->fillet;
}

/* A round strut along the diagonal; what its mirror images fill of this eighth is within it. */
static int in_cell(const double p[3])
{
    const double mean = (p[0] + p[1] + p[2]) / 3;
    double square = 0;
    for (int i = 0; i < 3; i++) square += (p[i] - mean) * (p[i] - mean);
    return square < 0.25;
}

static double solid_share(const solid *s, const int at[3])
{
    int inside = 0;
    for (int i = 0; i < SAMPLES * SAMPLES * SAMPLES; i++) {
        const int step[3] = {i % SAMPLES, i / SAMPLES % SAMPLES, i / (SAMPLES * SAMPLES)};
        double p[3];
        for (int d = 0; d < 3; d++) p[d] = (at[d] + (step[d] + 0.5) / SAMPLES) * s->h;
        inside += s->is_cell ? in_cell(p) : in_grid(s, p);
    }
    return (double)inside / (SAMPLES * SAMPLES * SAMPLES);
}

static int node_at(const solid *s, mesh *m, int *number, const int at[3])
{
    const long grid = ((long)at[2] * (s->n[1] + 1) + at[1]) * (s->n[0] + 1) + at[0];
    if (number[grid] == 0) {
        memcpy(m->place[m->node_count], at, sizeof m->place[0]);
        number[grid] = ++m->node_count;
    }
    return number[grid] - 1;
}

static mesh make_mesh(const solid *s)
{
    mesh m = {0};
    const size_t boxes = (size_t)s->n[0] * (size_t)s->n[1] * (size_t)s->n[2];
    double *share = room(boxes, sizeof *share);
    size_t box = 0, used = 0;
    int at[3];
    for (at[2] = 0; at[2] < s->n[2]; at[2]++)
        for (at[1] = 0; at[1] < s->n[1]; at[1]++)
            for (at[0] = 0; at[0] < s->n[0]; at[0]++, box++) {
                share[box] = solid_share(s, at);
                used += share[box] >= least_share;
            }
    const size_t nodes = (size_t)(s->n[0] + 1) * (size_t)(s->n[1] + 1) * (size_t)(s->n[2] + 1);
    int *number = room(nodes, sizeof *number);
    m.element = room(used, sizeof *m.element);
    m.share = room(used, sizeof *m.share);
    m.place = room(CORNERS * used, sizeof *m.place);
    box = 0;
    for (at[2] = 0; at[2] < s->n[2]; at[2]++)
        for (at[1] = 0; at[1] < s->n[1]; at[1]++)
            for (at[0] = 0; at[0] < s->n[0]; at[0]++, box++) {
                if (share[box] < least_share) continue;
                for (int c = 0; c < CORNERS; c++) {
                    const int corner[3] = {at[0] + (c & 1), at[1] + (c >> 1 & 1), at[2] + (c >> 2)};
                    m.element[m.element_count][c] = node_at(s, &m, number, corner);
                }
                m.share[m.element_count++] = share[box];
            }
    free(number);
    free(share);
    return m;
}

static void free_mesh(mesh *m)
{
    free(m->element);
    free(m->share);
    free(m->place);
}

/* ---- equilibrium by conjugate gradients ---- */

static void times(const mesh *m, double k[SIDE][SIDE], const double *u, double *f)
{
    memset(f, 0, 3 * (size_t)m->node_count * sizeof *f);
    for (int e = 0; e < m->element_count; e++) {
        double local[SIDE];
        for (int i = 0; i < SIDE; i++) local[i] = u[3 * m->element[e][i / 3] + i % 3];
        for (int i = 0; i < SIDE; i++) {
            double sum = 0;
            for (int j = 0; j < SIDE; j++) sum += k[i][j] * local[j];
            f[3 * m->element[e][i / 3] + i % 3] += m->share[e] * sum;
        }
    }
}

static double dot(size_t n, const double *a, const double *b)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) sum += a[i] * b[i];
    return sum;
}

/* From displacements u whose held ones are right; leaves the forces of the held ones in f. */
static void relax(const mesh *m, double k[SIDE][SIDE], const char *held, double *u, double *f)
{
    const size_t n = 3 * (size_t)m->node_count;
    double *pivot = room(n, sizeof *pivot), *left = room(n, sizeof *left);
    double *scaled = room(n, sizeof *scaled), *way = room(n, sizeof *way);
    for (int e = 0; e < m->element_count; e++)
        for (int i = 0; i < SIDE; i++)
            pivot[3 * m->element[e][i / 3] + i % 3] += m->share[e] * k[i][i];
    times(m, k, u, f);
    for (size_t i = 0; i < n; i++) {
        left[i] = held[i] ? 0 : -f[i];
        way[i] = scaled[i] = left[i] / pivot[i];
    }
    double rate = dot(n, left, scaled);
    const double goal = converged * converged * rate;
    while (rate > goal) {
        times(m, k, way, f);
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
    times(m, k, u, f);
    free(pivot);
    free(left);
    free(scaled);
    free(way);
}

/* Sum of the forces along `axis` on the face of the box across `normal`. */
static double face_force(const solid *s, const mesh *m, const double *f, int normal, int axis)
{
    double sum = 0;
    for (int i = 0; i < m->node_count; i++)
        if (m->place[i][normal] == s->n[normal]) sum += f[3 * i + axis];
    return sum;
}

/* Force across the strut at its middle over its displacement there, with modulus, thickness (and depth) 1. */
static double solid_stiffness(const solid *s)
{
    static double k[SIDE][SIDE];
    mesh m = make_mesh(s);
    const size_t n = 3 * (size_t)m.node_count;
    double *u = room(n, sizeof *u), *f = room(n, sizeof *f), stiffness;
    char *held = room(n, 1);
    element_stiffness(s->poisson, k);
    for (int i = 0; i < m.node_count; i++) {
        const int *at = m.place[i], last = s->n[0];
        if (s->is_cell) { /* mirror planes all around; the one at the far end of x moves */
            for (int d = 0; d < 3; d++) held[3 * i + d] = at[d] == 0 || at[d] == last;
            u[3 * i] = (double)at[0] / last;
        } else { /* planes of antisymmetry: no displacement along them, but for the far ones */
            held[3 * i] = at[1] == 0 || at[1] == last;
            held[3 * i + 1] = at[0] == 0 || at[0] == last;
            held[3 * i + 2] = 1;
            u[3 * i] = at[1] == last;
            u[3 * i + 1] = at[0] == last;
        }
    }
    relax(&m, k, held, u, f);
    if (s->is_cell) /* C11 - C12 times the volume, over the square of what the far end moves across the strut */
        stiffness = s->h * (face_force(s, &m, f, 0, 0) - face_force(s, &m, f, 1, 1));
    else /* the half of the thickness */
        stiffness = 2 * face_force(s, &m, f, 0, 1);
    free(u);
    free(f);
    free(held);
    free_mesh(&m);
    return stiffness;
}

/* ---- the strut that is as stiff ---- */

/* Timoshenko strut without what is rigid; half of one with `length` between its joints for the grid, a whole one for the cell. */
static double beam_stiffness(const solid *s, double zone)
{
    const double nu = s->poisson, g = 0.5 / (1 + nu), pi = acos(-1);
    if (!s->is_cell) {
        const double l = s->half - zone, e = 1 / (1 - nu * nu); /* plane strain, shear factor 5/6 */
        return 1 / (l * l * l * 12 / (3 * e) + l * 6 / (5 * g));
    }
    const double l = s->half * sqrt(3) - 2 * zone, area = pi / 4, inertia = pi / 64;
    const double factor = 6 * (1 + nu) / (7 + 6 * nu); /* Cowper 1966 */
    return 1 / (l * l * l / (12 * inertia) + l / (factor * g * area));
}

/* Length of the rigid zone at every joint that gives the stiffness. */
static double zone_of(const solid *s, double stiffness)
{
    double low = 0, high = 0.45 * s->half * (s->is_cell ? sqrt(3) : 2);
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (beam_stiffness(s, middle) < stiffness)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

/* E39 for equal struts that meet at a right angle, and at that of a body-centred cell. */
static double rigid_zone(const solid *s)
{
    if (!s->is_cell) return 0.5;
    const double angle = acos(1.0 / 3);
    return 0.5 / sin(angle) + 0.5 / tan(angle);
}

/* ---- the table ---- */

static void set_grid(solid *s, int per_thickness)
{
    const int n = (int)lround(s->half * per_thickness);
    s->h = s->half / n;
    s->n[0] = s->n[1] = n;
    s->n[2] = s->is_cell ? n : 1;
}

/* Stiffness on a grid of no size, from two: the error of struts that lie across the grid goes with the size. */
static double refined(solid *s, int coarse, int fine)
{
    set_grid(s, coarse);
    const double h = s->h, a = solid_stiffness(s);
    set_grid(s, fine);
    const double b = solid_stiffness(s);
    return b + (b - a) * s->h / (h - s->h);
}

static FILE *open_in(const char *folder, const char *name)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    if (file) return file;
    fprintf(stderr, "joints: cannot write %s\n", path);
    exit(6);
}

static void put_row(FILE *csv, FILE *table, const solid *s, double slenderness, double stiffness)
{
    const double rigid = rigid_zone(s), zone = zone_of(s, stiffness);
    const double none = beam_stiffness(s, 0), with = beam_stiffness(s, rigid);
    const char *shape = s->is_cell ? "body-centred cell" : "square grid";
    fprintf(csv, "%s,%g,%g,%g,%.3f,%.3f,%.3f,%.3f,%.2f\n", shape, slenderness, s->fillet,
            s->poisson, stiffness / none, with / none, zone, rigid, zone / rigid);
    char corners[32] = "sharp";
    if (s->fillet > 0) snprintf(corners, sizeof corners, "%.3g t", s->fillet);
    fprintf(table, "| %s | %.3g | %s | %.2f | %.2f | %.2f |\n", shape, slenderness, corners,
            stiffness / none, with / none, zone / rigid);
}

int main(int count, char **argument)
{
    static const double slenderness[] = {10, 6, 4}, edge[] = {20 / 1.2, 20 / 1.8};
    /* the last: the corners hold all of the bead that crosses the other, t^2 = 4 (1 - pi/4) r^2 */
    const double fillet[] = {0, 0.25, 0.5, sqrt(1 / (4 - acos(-1)))};
    if (count != 2) {
        fprintf(stderr, "usage: joints FOLDER\n");
        return 2;
    }
    FILE *csv = open_in(argument[1], "joints.csv"), *table = open_in(argument[1], "joints.md");
    fprintf(csv, "shape,length_over_thickness,fillet_over_thickness,poisson_ratio,solid,e39,"
                 "zone_over_thickness,e39_zone_over_thickness,joint_zone\n");
    fprintf(table, "| struts | length / thickness t | radius of the corners | solid / centreline | "
                   "E39 / centreline | `joint_zone` that fits |\n|---|---|---|---|---|---|\n");
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 4; j++) {
            solid s = {.poisson = 0.49, .half = 0.5 * slenderness[i], .fillet = fillet[j]};
            put_row(csv, table, &s, slenderness[i], refined(&s, 16, 32));
        }
    for (int i = 0; i < 2; i++) {
        solid s = {.poisson = 0.35, .half = 0.5 * edge[i], .is_cell = 1};
        put_row(csv, table, &s, s.half * sqrt(3), refined(&s, 12, 24));
    }
    return fclose(csv) != 0 || fclose(table) != 0 ? 6 : 0;
}
