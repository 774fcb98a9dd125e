/* Panels. Letters, and their names in docs/theory.md:
 *   a, b   side_x, side_y: sides of a cell, along the panel and upright [mm]
 *   n, m   cells along a panel and over its height; the height is cut alike everywhere, because
 *          panels share joint lines
 *   h      h_s: thickness of a skin [mm] */
#include "panel/panels.h"

#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "network/parts.h"

static const int cells_across = 4; /* of a panel of mean length */
/* Side of a cell / thinnest panel: a shorter cell would only shear. */
static const double least_aspect = 1.25;
/* Strip of a cell along a free edge that its bars do not twist, as a share. It was found with
 * plates that have free edges: their twist and their critical loads with one side free are then
 * within 2 % with 4 cells and within 0.3 % with 8 (test_panel). */
static const double rim_share = 0.125;
static const int fewest_up = 4;
static const double highest_flank = 0.95; /* height of a layer / thickness of a wall */
/* Ratio of the sides of a cell: in a longer cell Poisson's ratio is not kept. */
static const double long_cell = 1.5;

typedef struct builder {
    const sp_network *plan;
    const sp_panel_mesh *mesh;
    sp_network *network;
    double height;  /* of the panels [mm] */
    double side;    /* side that a cell should have [mm] */
    int up;         /* m */
    int *meeting;   /* 1 per line: number of panels that meet there */
    int next_joint; /* of the inner nodes of the next panel */
    int first_foot; /* joint on the lower platen under the first column of joints; with skins */
} builder;

/* With the densities of the three families the plane stress tensor of the framework is C_xx along,
 * soft C_xx upright and C_xy = C_66. Uniaxial stress along the panel needs
 * C_xx - C_xy^2/(soft C_xx) = 1, and upright it is soft then; C_xy = 3/8 sqrt soft is a plate.
 * E100, E170 */
void sp_panel_widths(double along, double up, double across_layers, double width[3])
{
    const double a = along, b = up, d = hypot(a, b), f = across_layers;
    const double lower = a / b * sqrt(sqrt(f)), ratio = fmax(lower, 1 / lower);
    const double give = ratio <= long_cell ? 1 : long_cell * long_cell / (ratio * ratio);
    const double c = 3.0 / 8 * sqrt(f) * give, big = 0.5 + sqrt(0.25 + c * c / f);
    width[0] = b * (big - c * a * a / (b * b));
    width[1] = a * (f * big - c * b * b / (a * a));
    width[2] = 0.5 * c * d * d * d / (a * b);
}

/* The mean of t^power over a layer, over that of the widest place: at the height sin(angle) h/2 in
 * a layer its wall is t = w - h (1 - cos(angle)) thick. E273 */
static double mean_power(double thickness, double flanks, int power)
{
    enum { PARTS = 64 }; /* of Simpson's rule over a quarter turn */
    double sum = 0;
    for (int i = 0; i <= PARTS; i++) {
        const double cosine = cos(0.5 * M_PI * i / PARTS);
        const double t = 1 - fmin(highest_flank, flanks / thickness) * (1 - cosine);
        sum += (i % PARTS == 0 ? 1 : i % 2 ? 4 : 2) * pow(t, power) * cosine;
    }
    return sum * M_PI / 6 / PARTS;
}

void sp_panel_flanks(double thickness, double flanks, double section[2], double bending[2])
{
    section[0] = mean_power(thickness, flanks, 1);
    section[1] = 1 / mean_power(thickness, flanks, -1);
    bending[0] = mean_power(thickness, flanks, 3);
    bending[1] = 1 / mean_power(thickness, flanks, -3);
}

static const double *joint_at(const sp_network *plan, int joint)
{
    return plan->joint_position + 3 * (size_t)joint;
}

/* 1 when a plane of symmetry cuts the line at this end. */
static int is_cut(const sp_network *plan, const sp_panel_mesh *mesh, int strut, int end)
{
    static const double on_side = 1e-6; /* [mm] */
    const double *p = joint_at(plan, plan->strut_joint[2 * strut + end]);
    int on = 0;
    for (int k = 0; k < 2; k++) on |= p[k] < on_side || p[k] > plan->size[k] - on_side;
    return mesh->mirror && on;
}

/* Find the mean length of the infill's lines, each weighted by what is there of it; of all lines
 * where there is no infill. */
static double mean_length(const sp_network *plan, const sp_panel_mesh *mesh)
{
    double sum[2] = {0}, square[2] = {0};
    for (int s = 0; s < plan->strut_count; s++) {
        const double l = sp_network_strut_length(plan, s);
        const int role = plan->strut_role[s] == SP_ROLE_INFILL;
        const int halved = is_cut(plan, mesh, s, 0) || is_cut(plan, mesh, s, 1);
        sum[role] += l, square[role] += (halved ? 2 : 1) * l * l;
    }
    const int role = sum[1] > 0;
    return square[role] / sum[role];
}

static void choose_mesh(builder *b)
{
    const int across = b->mesh->across > 0 ? b->mesh->across : cells_across;
    double thinnest = INFINITY;
    for (int s = 0; s < b->plan->strut_count; s++)
        thinnest = fmin(thinnest, b->plan->strut_thickness[s]);
    b->side = mean_length(b->plan, b->mesh) / across;
    if (b->mesh->across == 0) b->side = fmax(b->side, least_aspect * thinnest);
    b->up = (int)fmax(fewest_up, ceil(b->height / b->side - 1e-6));
}

static int cells_along(const builder *b, int strut)
{
    return (int)fmax(1, round(sp_network_strut_length(b->plan, strut) / b->side));
}

static sp_status make_room(sp_context *context, builder *b)
{
    const sp_network *plan = b->plan;
    sp_network *network = b->network;
    const size_t m = (size_t)b->up;
    size_t joints = (size_t)plan->joint_count * (m + 1), struts = 0;
    for (int s = 0; s < plan->strut_count; s++) {
        const size_t n = (size_t)cells_along(b, s);
        joints += (n - 1) * (m + 1);
        struts += n * (m + 1) + (n + 1) * m + 2 * n * m;
        if (b->mesh->skin > 0) struts += 2 * (n + 1);
    }
    b->first_foot = (int)joints;
    if (b->mesh->skin > 0) joints += 2 * joints / (m + 1);
    network->dimension = 3;
    sp_status status = sp_network_room(context, network, joints, struts);
    if (status != SP_OK) return status;
    network->panel = sp_alloc((size_t)plan->strut_count, sizeof *network->panel);
    network->strut_panel = sp_alloc(struts, sizeof *network->strut_panel);
    if (!network->panel || !network->strut_panel)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d panels", plan->strut_count);
    network->joint_count = (int)joints;
    return SP_OK;
}

static sp_status count_meeting(sp_context *context, builder *b)
{
    const sp_network *plan = b->plan;
    b->meeting = sp_alloc((size_t)plan->joint_count, sizeof *b->meeting);
    if (!b->meeting)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %d joints", plan->joint_count);
    for (int i = 0; i < 2 * plan->strut_count; i++) b->meeting[plan->strut_joint[i]]++;
    return SP_OK;
}

/* A panel while its bars are made. */
typedef struct panel_plan {
    int strut; /* number of the strut in the plan */
    int n, m, first_inner;
    double from[2], unit[2]; /* in x and z of the coupon */
    double length, bow, a, b;
    double width[3], line_width;
    double flank[3][2]; /* of the bars along, upright and across, see sp_panel_bar */
    int is_free[2];     /* no other panel meets it at that line */
    int is_cut[2];      /* a plane of symmetry cuts it there */
} panel_plan;

/* The three families of bars make a plate with these sections, or one with these bending
 * stiffnesses. */
static void share_flanks(const builder *b, double thickness, panel_plan *at)
{
    const double f = b->mesh->across_layers;
    double section[2], bending[2], pulls[3], bends[3];
    for (int k = 0; k < 3; k++) at->flank[k][0] = at->flank[k][1] = 1;
    if (!(b->mesh->flanks > 0)) return;
    sp_panel_flanks(thickness, b->mesh->flanks, section, bending);
    sp_panel_widths(at->a, at->b, f * section[1] / section[0], pulls);
    sp_panel_widths(at->a, at->b, f * bending[1] / bending[0], bends);
    for (int k = 0; k < 3; k++) {
        at->flank[k][0] = section[0] * pulls[k] / at->width[k];
        at->flank[k][1] = bending[0] * bends[k] / at->width[k];
    }
}

static panel_plan plan_panel(const builder *b, int strut)
{
    const sp_network *plan = b->plan;
    const double *p = joint_at(plan, plan->strut_joint[2 * strut]);
    const double *q = joint_at(plan, plan->strut_joint[2 * strut + 1]);
    const double depth = b->network->size[2];
    panel_plan at = {.strut = strut,
                     .n = cells_along(b, strut),
                     .m = b->up,
                     .first_inner = b->next_joint,
                     .from = {p[0], depth - p[1]},
                     .length = sp_network_strut_length(plan, strut),
                     .bow = plan->strut_bow[strut]};
    for (int end = 0; end < 2; end++) {
        at.is_cut[end] = is_cut(plan, b->mesh, strut, end);
        at.is_free[end] = !at.is_cut[end] && b->meeting[plan->strut_joint[2 * strut + end]] == 1;
    }
    at.unit[0] = (q[0] - p[0]) / at.length;
    at.unit[1] = -(q[1] - p[1]) / at.length;
    at.a = at.length / at.n;
    at.b = b->height / at.m;
    sp_panel_widths(at.a, at.b, b->mesh->across_layers, at.width);
    share_flanks(b, plan->strut_thickness[strut], &at);
    /* the sum is the line length per area of the three families */
    const double density = 1 / at.a + 1 / at.b + 2 * hypot(at.a, at.b) / (at.a * at.b);
    at.line_width = 1.47 / (density * density * plan->strut_thickness[strut]); /* E107 */
    return at;
}

/* Find the joint in column i (0 .. n) and level j (0 .. m) of a panel. */
static int joint_of(const builder *b, const panel_plan *at, int i, int j)
{
    const int *line = b->plan->strut_joint + 2 * at->strut;
    if (i == 0) return line[0] * (at->m + 1) + j;
    if (i == at->n) return line[1] * (at->m + 1) + j;
    return at->first_inner + (i - 1) * (at->m + 1) + j;
}

static void place_joint(builder *b, int joint, double x, double y, double z, int level)
{
    double *to = b->network->joint_position + 3 * (size_t)joint;
    to[0] = x, to[1] = y, to[2] = z;
    const int on_platen = level == 0 ? SP_FACE_LOWER : level == b->up ? SP_FACE_UPPER : 0;
    b->network->joint_face[joint] = (unsigned char)(b->mesh->skin > 0 ? 0 : on_platen);
}

/* Return the height of a level of a column. */
static double level_at(const builder *b, int level)
{
    return b->mesh->skin + b->height * level / b->up;
}

/* Find the joint on the platen that holds a joint on the inner face of a skin, at the foot (upper
 * 0) or the head (1) of a column. */
static int foot_joint(const builder *b, int joint, int upper)
{
    return b->first_foot + 2 * (joint / (b->up + 1)) + upper;
}

/* Where there are skins, give every column a joint on either platen. */
static void place_feet(builder *b)
{
    sp_network *network = b->network;
    for (int j = 0; b->mesh->skin > 0 && j < b->first_foot; j += b->up + 1)
        for (int upper = 0; upper < 2; upper++) {
            const int foot = foot_joint(b, j, upper);
            double *to = network->joint_position + 3 * (size_t)foot;
            memcpy(to, joint_at(network, j), 3 * sizeof *to);
            to[1] = upper ? b->mesh->height : 0;
            network->joint_face[foot] = upper ? SP_FACE_UPPER : SP_FACE_LOWER;
        }
}

static void place_lines(builder *b)
{
    for (int j = 0; j < b->plan->joint_count; j++) {
        const double *p = joint_at(b->plan, j);
        for (int k = 0; k <= b->up; k++)
            place_joint(b, j * (b->up + 1) + k, p[0], level_at(b, k), b->network->size[2] - p[1],
                        k);
    }
    b->next_joint = b->plan->joint_count * (b->up + 1);
}

/* Bow a panel: its flaw is one half wave along it and as many over its height as are about as long.
 * A plane of symmetry cuts that half wave in its middle. E106 */
static void place_inner(builder *b, const panel_plan *at)
{
    const int parts = 1 + (at->is_cut[0] || at->is_cut[1]);
    const double waves = fmax(1, round(b->height / (parts * at->length)));
    for (int i = !at->is_cut[0]; i <= at->n - !at->is_cut[1]; i++)
        for (int j = 0; j <= at->m; j++) {
            const double s = at->a * i, along = M_PI * i / at->n;
            const double wave = at->is_cut[0] && at->is_cut[1] ? 1
                                : parts == 1                   ? sin(along)
                                : at->is_cut[0]                ? cos(0.5 * along)
                                                               : sin(0.5 * along);
            const double out = at->bow * wave * (j % at->m ? sin(M_PI * waves * j / at->m) : 0);
            place_joint(b, joint_of(b, at, i, j), at->from[0] + s * at->unit[0] + out * at->unit[1],
                        level_at(b, j), at->from[1] + s * at->unit[1] - out * at->unit[0], j);
        }
    b->next_joint += (at->n - 1) * (at->m + 1);
}

/* Add a bar from column i, level j to column k, level l. Only half of a bar on an edge belongs to
 * the panel. */
static sp_panel_bar *add_bar(builder *b, const panel_plan *at, const int from[2], const int to[2],
                             int family, double width, double share)
{
    sp_network *network = b->network;
    const int s = network->strut_count++;
    network->strut_joint[2 * s] = joint_of(b, at, from[0], from[1]);
    network->strut_joint[2 * s + 1] = joint_of(b, at, to[0], to[1]);
    network->strut_thickness[s] = b->plan->strut_thickness[at->strut];
    network->strut_height[s] = share * width;
    network->strut_up[3 * s] = at->unit[1];
    network->strut_up[3 * s + 2] = -at->unit[0];
    network->strut_role[s] = b->plan->strut_role[at->strut];
    network->strut_panel[s] = (sp_panel_bar){.panel = at->strut,
                                             .along = {at->a * from[0], at->a * to[0]},
                                             .line_width = share * share * at->line_width,
                                             .flank = {at->flank[family][0], at->flank[family][1]}};
    return &network->strut_panel[s];
}

/* Add the skin under a panel's edge, column by column, with half a cell of it at either end. */
static void add_feet(builder *b, const panel_plan *at)
{
    for (int upper = 0; b->mesh->skin > 0 && upper < 2; upper++)
        for (int i = 0; i <= at->n; i++) {
            const int place[2] = {i, upper ? at->m : 0};
            const int s = b->network->strut_count;
            sp_panel_bar *foot = add_bar(b, at, place, place, 0, at->a, i % at->n ? 1 : 0.5);
            foot->is_foot = 1;
            b->network->strut_joint[2 * s + upper] =
                foot_joint(b, b->network->strut_joint[2 * s], upper);
        }
}

static void add_bars(builder *b, const panel_plan *at)
{
    for (int j = 0; j <= at->m; j++)
        for (int i = 0; i < at->n; i++)
            add_bar(b, at, (int[]){i, j}, (int[]){i + 1, j}, 0, at->width[0], j % at->m ? 1 : 0.5);
    for (int j = 0; j < at->m; j++)
        for (int i = 0; i <= at->n; i++) {
            const int inner = i % at->n;
            sp_panel_bar *bar =
                add_bar(b, at, (int[]){i, j}, (int[]){i, j + 1}, 1, at->width[1], inner ? 1 : 0.5);
            if (!inner && at->is_free[i > 0]) bar->rim = rim_share * at->a;
        }
    for (int j = 0; j < at->m; j++)
        for (int i = 0; i < at->n; i++) {
            add_bar(b, at, (int[]){i, j}, (int[]){i + 1, j + 1}, 2, at->width[2], 1);
            add_bar(b, at, (int[]){i + 1, j}, (int[]){i, j + 1}, 2, at->width[2], 1);
        }
}

/* Find what round flanks leave of all walls. */
static double flanks_leave(const sp_network *plan, double flanks)
{
    double section[2], bending[2], all = 0, left = 0;
    for (int s = 0; s < plan->strut_count; s++) {
        const double t = plan->strut_thickness[s], area = sp_network_strut_length(plan, s) * t;
        sp_panel_flanks(t, flanks, section, bending);
        all += area, left += section[0] * area;
    }
    return left / all;
}

static void copy_figures(const sp_network *plan, const sp_panel_mesh *mesh, sp_network *network)
{
    const double skins = 2 * mesh->skin / mesh->height; /* of the height */
    network->size[0] = plan->size[0];
    network->size[1] = mesh->height;
    network->skin = mesh->skin;
    network->size[2] = plan->size[1];
    network->cell_size = plan->cell_size;
    network->nominal_density = plan->nominal_density;
    network->solid_fraction = skins + (1 - skins) * plan->solid_fraction;
    if (mesh->flanks > 0)
        network->solid_fraction =
            skins + (1 - skins) * plan->solid_fraction * flanks_leave(plan, mesh->flanks);
    network->piece_count = plan->piece_count;
    network->dropped_stubs = plan->dropped_stubs;
    network->dropped_pieces = plan->dropped_pieces;
    network->panel_count = plan->strut_count;
}

sp_status sp_panels_build(sp_context *context, const sp_network *plan, const sp_panel_mesh *mesh,
                          sp_network *network)
{
    builder b = {
        .plan = plan, .mesh = mesh, .network = network, .height = mesh->height - 2 * mesh->skin};
    *network = (sp_network){0};
    choose_mesh(&b);
    sp_status status = make_room(context, &b);
    if (status == SP_OK) status = count_meeting(context, &b);
    if (status != SP_OK) {
        sp_network_free(network);
        return status;
    }
    copy_figures(plan, mesh, network);
    place_lines(&b);
    for (int s = 0; s < plan->strut_count; s++) {
        const panel_plan at = plan_panel(&b, s);
        network->panel[s] =
            (sp_panel){.line = {plan->strut_joint[2 * s], plan->strut_joint[2 * s + 1]},
                       .role = plan->strut_role[s],
                       .thickness = plan->strut_thickness[s],
                       .length = at.length,
                       .halved = at.is_cut[0] || at.is_cut[1],
                       .across = at.n,
                       .up = at.m};
        place_inner(&b, &at);
        add_bars(&b, &at);
        add_feet(&b, &at);
    }
    place_feet(&b);
    sp_free(b.meeting);
    return SP_OK;
}
