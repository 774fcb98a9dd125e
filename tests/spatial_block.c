/* These are blocks of cubic cells; see spatial_block.h. Joints lie on a grid of quarter cells. */
#include "spatial_block.h"

#include <math.h>
#include <stdlib.h>

#include "base/alloc.h"
#include "check.h"

enum { POINTS = 9, STEPS_PER_FRAME = 2 };

typedef struct grid {
    int kind, side; /* points along a side */
    int *joint;     /* at every grid point: its number, -1 for none */
} grid;

static int grid_at(const grid *g, const int at[3])
{
    for (int k = 0; k < 3; k++)
        if (at[k] < 0 || at[k] >= g->side) return -1;
    return g->joint[(at[0] * g->side + at[1]) * g->side + at[2]];
}

static int all_equal(const int at[3], int value)
{
    return at[0] == value && at[1] == value && at[2] == value;
}

/* List the vertices of truncated octahedra about a body-centred lattice: permutations of (0, +-1,
 * +-2) quarters of a cell. */
static int is_joint(int kind, const int at[3])
{
    const int rest[3] = {at[0] % 4, at[1] % 4, at[2] % 4};
    if (kind == BLOCK_SIMPLE) return all_equal(rest, 0);
    if (kind == BLOCK_BODY_CENTRED) return all_equal(rest, 0) || all_equal(rest, 2);
    int seen = 0;
    for (int k = 0; k < 3; k++) seen |= rest[k] == 0 ? 1 : rest[k] == 2 ? 2 : 4;
    return seen == 7;
}

static int is_strut(int kind, const int step[3])
{
    const int square = step[0] * step[0] + step[1] * step[1] + step[2] * step[2];
    const int plane = !step[0] || !step[1] || !step[2];
    if (kind == BLOCK_SIMPLE) return square == 16 && (!!step[0] + !!step[1] + !!step[2] == 1);
    if (kind == BLOCK_BODY_CENTRED) return square == 12 && !plane;
    return square == 2;
}

static void make_joints(sp_network *n, grid *g, double quarter)
{
    const size_t all = (size_t)g->side * (size_t)g->side * (size_t)g->side;
    g->joint = sp_alloc(all, sizeof *g->joint);
    n->joint_position = sp_alloc(all, 3 * sizeof(double));
    n->joint_face = sp_alloc(all, 1);
    for (size_t i = 0; i < all; i++) {
        const int side = g->side,
                  at[3] = {(int)i / side / side, (int)i / side % side, (int)i % side};
        g->joint[i] = is_joint(g->kind, at) ? n->joint_count++ : -1;
        if (g->joint[i] < 0) continue;
        for (int k = 0; k < 3; k++) n->joint_position[3 * g->joint[i] + k] = quarter * at[k];
        n->joint_face[g->joint[i]] = (unsigned char)((at[1] == 0 ? SP_FACE_LOWER : 0) |
                                                     (at[1] == side - 1 ? SP_FACE_UPPER : 0));
    }
}

static void add_strut(sp_network *n, int a, int b, double diameter, int rectangles)
{
    const int s = n->strut_count++;
    const double *from = n->joint_position + 3 * a, *to = n->joint_position + 3 * b;
    double along[3], length = 0.0, *up = n->strut_up + 3 * s;
    for (int k = 0; k < 3; k++) length += (to[k] - from[k]) * (to[k] - from[k]);
    length = sqrt(length);
    for (int k = 0; k < 3; k++) along[k] = (to[k] - from[k]) / length;
    const int wall = n->joint_face[a] && n->joint_face[a] == n->joint_face[b];
    n->strut_joint[2 * s] = a;
    n->strut_joint[2 * s + 1] = b;
    n->strut_role[s] = wall ? SP_ROLE_WALL : SP_ROLE_INFILL;
    n->strut_thickness[s] = diameter;
    n->strut_height[s] = wall && rectangles ? 2.0 * diameter : 0.0;
    /* The axis up is y without its share along the strut, or x for an upright strut. */
    const double ahead = along[1];
    for (int k = 0; k < 3; k++) up[k] = (k == 1) - ahead * along[k];
    const double size = sqrt(up[0] * up[0] + up[1] * up[1] + up[2] * up[2]);
    for (int k = 0; k < 3; k++) up[k] = size > 1e-9 ? up[k] / size : k == 0;
}

static void make_struts(sp_network *n, const grid *g, double diameter, int rectangles)
{
    const size_t most = 16 * (size_t)n->joint_count;
    n->strut_joint = sp_alloc(most, 2 * sizeof(int));
    n->strut_thickness = sp_alloc(most, sizeof(double));
    n->strut_height = sp_alloc(most, sizeof(double));
    n->strut_up = sp_alloc(most, 3 * sizeof(double));
    n->strut_role = sp_alloc(most, 1);
    n->strut_zone = sp_alloc(most, 2 * sizeof(double));
    n->strut_bow = sp_alloc(most, sizeof(double));
    const int side = g->side, all = side * side * side;
    for (int i = 0; i < all; i++) {
        const int at[3] = {i / side / side, i / side % side, i % side};
        for (int turn = 0; g->joint[i] >= 0 && turn < 729; turn++) {
            const int step[3] = {turn / 81 - 4, turn / 9 % 9 - 4, turn % 9 - 4};
            const int to[3] = {at[0] + step[0], at[1] + step[1], at[2] + step[2]};
            const int other = grid_at(g, to);
            if (other > g->joint[i] && is_strut(g->kind, step))
                add_strut(n, g->joint[i], other, diameter, rectangles);
        }
    }
}

/* Find the place at the share 0 .. 1 of a strut that is bent by `wave` along its section axis and
 * squashed along y. */
static void place(const sp_network *n, int s, double share, double wave, double squash,
                  double *point)
{
    const double *a = n->joint_position + 3 * n->strut_joint[2 * s];
    const double *b = n->joint_position + 3 * n->strut_joint[2 * s + 1];
    const double *up = n->strut_up + 3 * s;
    for (int k = 0; k < 3; k++)
        point[k] = a[k] + share * (b[k] - a[k]) + wave * sin(acos(-1.0) * share) * up[k];
    point[1] *= 1.0 - squash;
}

static double bend_of(const sp_network *n, int s)
{
    return n->strut_role[s] == SP_ROLE_WALL
               ? 0.0
               : 0.12 * (s % 2 ? 1.0 : -1.0) * sp_network_strut_length(n, s);
}

static void make_frame(sp_path *path, const sp_network *n, int frame, double share)
{
    sp_shapes *shapes = &path->shapes;
    const size_t from = (size_t)frame * (size_t)shapes->point_count;
    shapes->frame_step[frame] = STEPS_PER_FRAME * frame;
    for (int s = 0; s < n->strut_count; s++)
        for (int i = 0; i < POINTS; i++) {
            const size_t at = from + (size_t)(s * POINTS + i);
            const double t = (double)i / (POINTS - 1),
                         y = n->joint_position[3 * n->strut_joint[2 * s] + 1];
            place(n, s, t, share * bend_of(n, s), 0.5 * share, shapes->position + 3 * at);
            if (i + 1 < POINTS)
                shapes->fibre_strain[at] =
                    share * (0.02 + 0.3 * fabs(bend_of(n, s)) / n->cell_size * sin(acos(-1.0) * t) +
                             0.1 * y / n->size[1]);
        }
}

static void make_path(sp_result *made, int frames)
{
    const sp_network *n = &made->network;
    sp_path *path = &made->path;
    sp_shapes *shapes = &path->shapes;
    const size_t struts = (size_t)n->strut_count, points = struts * POINTS;
    for (int k = 0; k < 3; k++) path->size[k] = path->pressed[k] = n->size[k];
    path->step_count = STEPS_PER_FRAME * (frames - 1) + 1;
    path->step = sp_alloc((size_t)path->step_count, sizeof *path->step);
    for (int i = 0; i < path->step_count; i++) {
        path->step[i].shortening = 0.5 * n->size[1] * i / (path->step_count - 1);
        path->step[i].force = 40.0 * i / (1.0 + 0.2 * i);
    }
    *shapes = (sp_shapes){.strut_count = n->strut_count,
                          .point_count = (int)points,
                          .frame_count = frames,
                          .frame_capacity = frames};
    shapes->first_point = sp_alloc(struts + 1, sizeof(int));
    shapes->thickness = sp_alloc(struts, sizeof(double));
    shapes->height = sp_alloc(struts, sizeof(double));
    shapes->role = sp_alloc(struts, 1);
    shapes->frame_step = sp_alloc((size_t)frames, sizeof(int));
    shapes->position = sp_alloc((size_t)frames * points, 3 * sizeof(double));
    shapes->fibre_strain = sp_alloc((size_t)frames * points, sizeof(double));
    memcpy(shapes->thickness, n->strut_thickness, struts * sizeof(double));
    memcpy(shapes->height, n->strut_height, struts * sizeof(double));
    memcpy(shapes->role, n->strut_role, struts);
    for (int s = 0; s <= n->strut_count; s++) shapes->first_point[s] = s * POINTS;
    for (int f = 0; f < frames; f++)
        make_frame(path, n, f, frames > 1 ? (double)f / (frames - 1) : 0);
}

static void make_mode(sp_result *made)
{
    const sp_network *n = &made->network;
    sp_shapes *shapes = &made->path.shapes;
    const size_t count = 3 * (size_t)shapes->point_count;
    shapes->mode = sp_alloc(count, sizeof(double));
    shapes->mode_position = sp_alloc(count, sizeof(double));
    memcpy(shapes->mode_position, shapes->position, count * sizeof(double));
    for (int p = 0; p < shapes->point_count; p++) {
        const double *at = shapes->position + 3 * (size_t)p;
        shapes->mode[3 * p] = sin(acos(-1.0) * at[1] / n->size[1]);
    }
    made->path.critical = (sp_critical){.found = 1,
                                        .shortening = 0.0,
                                        .strain = 0.03,
                                        .force = 12.5,
                                        .strut_count = 1,
                                        .strut = {n->strut_count / 2},
                                        .share = {0.1}};
}

void block_make(sp_result *made, int kind, int cells, double cell, double diameter, int rectangles,
                int frames)
{
    const double side = cells * cell;
    grid g = {.kind = kind, .side = 4 * cells + 1};
    *made = (sp_result){.network = {.dimension = 3,
                                    .built = SP_BUILT_SPATIAL,
                                    .size = {side, side, side},
                                    .cell_size = cell,
                                    .nominal_density = 0.1,
                                    .solid_fraction = 0.1}};
    sp_case_default(&made->request);
    make_joints(&made->network, &g, cell / 4.0);
    make_struts(&made->network, &g, diameter, rectangles);
    sp_free(g.joint);
    make_path(made, frames);
    make_mode(made);
    assert_true(made->network.strut_count > 0);
}

void block_free(sp_result *made)
{
    sp_network_free(&made->network);
    sp_path_free(&made->path);
    *made = (sp_result){0};
}
