/* These are cells of struts; see strut_cell.h. */
#include "strut_cell.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "beam/planar.h"
#include "beam/spatial.h"
#include "model/model.h"
#include "network/parts.h"

const char *const strut_cell_name[STRUT_CELL_COUNT] = {
    "square",      "triangles", "hexagons", "kagome", "simple cubic", "body-centred cubic",
    "octet truss", "Kelvin",    "rhombs"};

static void fail(const char *text)
{
    fprintf(stderr, "strut_cell: %s\n", text);
    exit(7);
}

/* ---- the bodies ---- */

static int same(const strut_cell_bar *a, const strut_cell_bar *b)
{
    double forth = 0, back = 0;
    for (int k = 0; k < 2; k++)
        for (int d = 0; d < 3; d++) {
            forth = fmax(forth, fabs(a->end[k][d] - b->end[k][d]));
            back = fmax(back, fabs(a->end[k][d] - b->end[1 - k][d]));
        }
    return fmin(forth, back) < 1e-9;
}

static void add_bar(strut_cell *cell, const strut_cell_bar *bar)
{
    for (int i = 0; i < cell->bar_count; i++)
        if (same(&cell->bar[i], bar)) return;
    if (cell->bar_count == STRUT_CELL_BARS) fail("too many struts");
    cell->bar[cell->bar_count++] = *bar;
}

static void add_rows(strut_cell *cell, int count, const double (*row)[6])
{
    for (int i = 0; i < count; i++) {
        strut_cell_bar bar;
        memcpy(&bar, row[i], sizeof bar);
        add_bar(cell, &bar);
    }
}

/* List all pairs of these places (in cell edges) that are 1 apart. */
static void add_pairs(strut_cell *cell, double edge, int count, const double (*place)[3])
{
    for (int i = 0; i < count; i++)
        for (int k = 0; k < i; k++) {
            strut_cell_bar bar;
            double square = 0;
            for (int d = 0; d < 3; d++) {
                bar.end[0][d] = edge * place[i][d], bar.end[1][d] = edge * place[k][d];
                square += pow(bar.end[0][d] - bar.end[1][d], 2);
            }
            if (fabs(square - 1) < 1e-9) add_bar(cell, &bar);
        }
}

static void add_named(strut_cell *cell, int which)
{
    const double q = sqrt(3), h = q / 2, c = 1 / q;
    const double square[2][6] = {{0, 0, 0, 0.5, 0, 0}, {0, 0, 0, 0, 0.5, 0}};
    const double triangles[3][6] = {
        {0, 0, 0, 0.5, 0, 0}, {0, 0, 0, 0.5, h, 0}, {0.5, h, 0, 0, h, 0}};
    const double hexagons[3][6] = {
        {0, 0, 0, 0, 0.5, 0}, {0, 0.5, 0, h, 1, 0}, {h, 1, 0, h, 1.5, 0}};
    const double kagome[4][6] = {
        {1, 0, 0, 0.5, h, 0}, {0.5, h, 0, 0, h, 0}, {0.5, h, 0, 1, h, 0}, {0.5, h, 0, 0, q, 0}};
    const double rhombs[1][6] = {{0, h, 0, 0.5, 0, 0}};
    const double simple[3][6] = {{0, 0, 0, 0.5, 0, 0}, {0, 0, 0, 0, 0.5, 0}, {0, 0, 0, 0, 0, 0.5}};
    const double centred[1][6] = {{0, 0, 0, c, c, c}};
    const double octet[4][3] = {{0, 0, 0}, {0.5, 0.5, 0}, {0.5, 0, 0.5}, {0, 0.5, 0.5}};
    const double kelvin[6][3] = {{0, 0.25, 0.5}, {0.25, 0, 0.5}, {0, 0.5, 0.25},
                                 {0.5, 0.25, 0}, {0.5, 0, 0.25}, {0.25, 0.5, 0}};
    const double side[STRUT_CELL_COUNT][2] = {{0.5, 0.5},     {0.5, h},     {h, 1.5},
                                              {1, q},         {0.5, 0},     {c, 0},
                                              {sqrt(0.5), 0}, {sqrt(2), 0}, {0.5, h}};
    cell->dimension = which < 4 || which == 8 ? 2 : 3;
    cell->oblong = which == 8;
    for (int d = 0; d < 3; d++)
        cell->side[d] = cell->dimension == 3 ? side[which][0] : d < 2 ? side[which][d] : 1;
    if (which == 0) add_rows(cell, 2, square);
    if (which == 1) add_rows(cell, 3, triangles);
    if (which == 2) add_rows(cell, 3, hexagons);
    if (which == 3) add_rows(cell, 4, kagome);
    if (which == 4) add_rows(cell, 3, simple);
    if (which == 5) add_rows(cell, 1, centred);
    if (which == 6) add_pairs(cell, sqrt(2), 4, octet);
    if (which == 7) add_pairs(cell, 2 * sqrt(2), 6, kelvin);
    if (which == 8) add_rows(cell, 1, rhombs);
}

/* Return 1 when a strut comes so near to the box that it, or a corner beside it, may reach into the
 * box. */
static int is_near(const strut_cell *cell, const strut_cell_bar *bar)
{
    const double reach = cell->thickness + cell->fillet;
    for (int d = 0; d < cell->dimension; d++) {
        const double a = bar->end[0][d], b = bar->end[1][d];
        if (fmax(a, b) < -reach || fmin(a, b) > cell->side[d] + reach) return 0;
    }
    return 1;
}

strut_cell strut_cell_named(const char *name, double thickness, double fillet, double poisson)
{
    strut_cell cell = {.thickness = thickness, .fillet = fillet, .poisson = poisson};
    for (int i = 0; i < STRUT_CELL_COUNT; i++)
        if (strcmp(name, strut_cell_name[i]) == 0) add_named(&cell, i);
    if (cell.bar_count == 0) fail("no such cell");
    cell.inside = cell.bar_count;
    for (int axis = 0; axis < cell.dimension; axis++)
        for (int i = 0, count = cell.bar_count; i < count; i++)
            for (int far = 0; far < 2; far++) {
                strut_cell_bar image = cell.bar[i];
                for (int k = 0; k < 2; k++)
                    image.end[k][axis] = 2 * far * cell.side[axis] - image.end[k][axis];
                if (is_near(&cell, &image)) add_bar(&cell, &image);
            }
    return cell;
}

/* ---- beams ---- */

enum { MOST_JOINTS = 2 * STRUT_CELL_BARS, LOADS = 6 };

static int joint_at(sp_network *network, const double p[3])
{
    for (int j = 0; j < network->joint_count; j++) {
        const double *q = network->joint_position + 3 * j;
        if (fabs(p[0] - q[0]) + fabs(p[1] - q[1]) + fabs(p[2] - q[2]) < 1e-9) return j;
    }
    memcpy(network->joint_position + 3 * network->joint_count, p, 3 * sizeof *p);
    return network->joint_count++;
}

/* Build the network of all bars and their images to find the joint zones, so that joints in the
 * planes of symmetry have all of their struts; then that of the bars in the box. */
static void build_network(const strut_cell *cell, double rounding, sp_context *context,
                          sp_network *network)
{
    *network = (sp_network){.dimension = cell->dimension, .size = {10, 10, 1}};
    if (sp_network_room(context, network, MOST_JOINTS, STRUT_CELL_BARS) != SP_OK) fail("no memory");
    for (int i = 0; i < cell->bar_count; i++) {
        network->strut_joint[2 * i] = joint_at(network, cell->bar[i].end[0]);
        network->strut_joint[2 * i + 1] = joint_at(network, cell->bar[i].end[1]);
        network->strut_thickness[i] = cell->thickness;
        double *up = network->strut_up ? network->strut_up + 3 * i : NULL;
        if (!up) continue;
        double along[3], size = 0; /* any direction across */
        for (int d = 0; d < 3; d++) along[d] = cell->bar[i].end[1][d] - cell->bar[i].end[0][d];
        const int flat = fabs(along[0]) < fabs(along[1]) ? 0 : 1, next = (flat + 1) % 3,
                  last = (flat + 2) % 3;
        up[next] = along[last], up[last] = -along[next];
        size = sqrt(up[next] * up[next] + up[last] * up[last]);
        up[next] /= size, up[last] /= size;
    }
    network->strut_count = cell->bar_count;
    if (sp_network_zones(context, rounding, network) != SP_OK) fail("no memory");
    network->strut_count = cell->inside;
}

/* Return the share by which a bar counts: a half in a plane of symmetry, a quarter in two of
 * them. */
static double weight_of(const strut_cell *cell, int bar)
{
    double weight = 1;
    for (int d = 0; d < cell->dimension; d++) {
        const double a = cell->bar[bar].end[0][d], b = cell->bar[bar].end[1][d];
        if (fabs(a - b) < 1e-9 && (fabs(a) < 1e-9 || fabs(a - cell->side[d]) < 1e-9)) weight *= 0.5;
    }
    return weight;
}

typedef struct beams {
    const strut_cell *cell;
    const sp_model *model;
    int per_node, count; /* unknowns of a node, of all */
    double *stiffness;   /* count x count */
} beams;

static void assemble(const beams *b)
{
    const sp_model *model = b->model;
    double g[12], h[144];
    sp_beam_state state;
    for (int e = 0; e < model->element_count; e++) {
        const int *node = sp_model_nodes(model, e), n = 2 * b->per_node;
        const double *xa = model->reference + model->values * node[0],
                     *xb = model->reference + model->values * node[1];
        int strut;
        if (model->dimension == 2) {
            const sp_element *element = &model->element[e];
            strut = element->strut;
            sp_planar_eval(element, &model->section[strut], xa, xb, NULL, g, h, &state);
        } else {
            const sp_spatial_element *element = &model->spatial[e];
            strut = element->strut;
            sp_spatial_eval(element, &model->spatial_section[strut], xa, xb, NULL, g, h, &state);
        }
        const double weight = weight_of(b->cell, strut);
        for (int i = 0; i < n; i++)
            for (int k = 0; k < n; k++) {
                const int row = b->per_node * node[i / b->per_node] + i % b->per_node;
                const int column = b->per_node * node[k / b->per_node] + k % b->per_node;
                b->stiffness[row * b->count + column] += weight * h[n * i + k];
            }
    }
}

/* Set the displacements of an even strain of 1, and the unknowns that the planes hold: a plane of
 * symmetry holds the displacement along its normal and turns about other axes, a plane of
 * antisymmetry holds the others. Loads are numbered as in solid_cell.c. */
static void set_load(const beams *b, int load, double *u, char *held)
{
    const strut_cell *cell = b->cell;
    const int dim = cell->dimension, a = (load + 1) % 3, c = (load + 2) % 3;
    for (int n = 0; n < b->model->node_count; n++) {
        const double *p = b->model->reference + b->model->values * n;
        double *to = u + b->per_node * n;
        char *hold = held + b->per_node * n;
        memset(to, 0, (size_t)b->per_node * sizeof *to);
        memset(hold, 0, (size_t)b->per_node);
        for (int d = 0; d < dim; d++)
            to[d] = load < 3 ? (d == load ? p[d] : 0)
                    : d == a ? 0.5 * p[c]
                    : d == c ? 0.5 * p[a]
                             : 0;
        for (int k = 0; k < dim; k++) {
            if (fabs(p[k]) > 1e-9 && fabs(p[k] - cell->side[k]) > 1e-9) continue;
            const int anti = load >= 3 && (k == a || k == c);
            for (int d = 0; d < dim; d++) hold[d] |= anti ? d != k : d == k;
            if (dim == 2) hold[2] |= (char)!anti;
            for (int d = 0; dim == 3 && d < 3; d++) hold[3 + d] |= anti ? d == k : d != k;
        }
    }
}

/* Find the least energy with the held unknowns fixed, by elimination of the rows of the free ones,
 * because Gauss-Seidel is slow. Nodes without stiffness (of images) are left out. */
static void relax(const beams *b, const char *held, double *u)
{
    const int n = b->count;
    int *free_one = calloc((size_t)n, sizeof *free_one), m = 0;
    for (int i = 0; i < n; i++)
        if (!held[i] && b->stiffness[i * n + i] > 0) free_one[m++] = i;
    double *k = calloc((size_t)(m * m + 1), sizeof *k), *x = calloc((size_t)m + 1, sizeof *x);
    for (int i = 0; i < m; i++) {
        for (int j = 0; j < n; j++) x[i] -= b->stiffness[free_one[i] * n + j] * u[j];
        for (int j = 0; j < m; j++) k[i * m + j] = b->stiffness[free_one[i] * n + free_one[j]];
    }
    for (int p = 0; p < m; p++)
        for (int i = p + 1; i < m; i++) {
            const double factor = k[i * m + p] / k[p * m + p];
            for (int j = p; factor != 0 && j < m; j++) k[i * m + j] -= factor * k[p * m + j];
            x[i] -= factor * x[p];
        }
    for (int i = m - 1; i >= 0; i--) {
        for (int j = i + 1; j < m; j++) x[i] -= k[i * m + j] * x[j];
        x[i] /= k[i * m + i];
        u[free_one[i]] += x[i];
    }
    free(free_one);
    free(k);
    free(x);
}

static double product(const beams *b, const double *u, const double *v)
{
    double sum = 0;
    for (int i = 0; i < b->count; i++)
        for (int k = 0; k < b->count; k++) sum += u[i] * b->stiffness[i * b->count + k] * v[k];
    return sum;
}

static void solve(beams *b, strut_cell_constants *constants)
{
    const size_t n = (size_t)b->count;
    double *u[LOADS], box = 1;
    char *held = calloc(n, 1);
    for (int d = 0; d < b->cell->dimension; d++) box *= b->cell->side[d];
    b->stiffness = calloc(n * n, sizeof *b->stiffness);
    assemble(b);
    for (int load = 0; load < LOADS; load++) {
        u[load] = calloc(n, sizeof **u);
        if (b->cell->dimension == 2 && load >= 2 && load < 5) continue;
        set_load(b, load, u[load], held);
        relax(b, held, u[load]);
    }
    for (int i = 0; i < 3; i++) {
        for (int k = 0; k < 3; k++) constants->normal[i][k] = product(b, u[i], u[k]) / box;
        constants->shear[i] = product(b, u[3 + i], u[3 + i]) / box;
    }
    for (int load = 0; load < LOADS; load++) free(u[load]);
    free(held);
    free(b->stiffness);
}

void strut_cell_beams(const strut_cell *cell, double rounding, strut_cell_constants *constants)
{
    sp_context context = {0};
    sp_case request;
    sp_law law;
    sp_network network;
    sp_model model;
    const sp_model_options options = {
        .platens = SP_PLATENS_BONDED, .elements_per_strut = 1, .section_points = 4};
    memset(constants, 0, sizeof *constants);
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "linear");
    request.modulus = 1, request.poisson_ratio = cell->poisson;
    request.strain_state = cell->dimension == 2 ? SP_PLANE_STRAIN : SP_UNIAXIAL;
    if (sp_law_prepare(&context, &request, &law) != SP_OK) fail("no law");
    build_network(cell, rounding, &context, &network);
    if (sp_model_build(&context, &network, &law, &options, &model) != SP_OK) fail("no model");
    beams b = {.cell = cell, .model = &model, .per_node = model.unknowns};
    b.count = b.per_node * model.node_count;
    solve(&b, constants);
    sp_model_free(&model);
    sp_network_free(&network);
    sp_law_free(&law);
}

double strut_cell_along(const strut_cell *cell, const strut_cell_constants *c)
{
    const double c12 = c->normal[0][1];
    if (cell->dimension == 2) return c->normal[0][0] - c12 * c12 / c->normal[1][1];
    return c->normal[0][0] - 2 * c12 * c12 / (c->normal[0][0] + c12);
}

/* In pulling at 45 degrees half of the stress pulls on either axis, and half of it shears. */
double strut_cell_across(const strut_cell *cell, const strut_cell_constants *c)
{
    const double c11 = c->normal[0][0], c12 = c->normal[0][1], s = 4 * c->shear[2];
    if (cell->oblong) return c->normal[1][1] - c12 * c12 / c11;
    if (cell->dimension == 2) return 1 / (0.5 / (c11 + c12) + 1 / s);
    const double e = strut_cell_along(cell, c), nu = c12 / (c11 + c12);
    return 1 / (0.5 * (1 - nu) / e + 1 / s);
}
