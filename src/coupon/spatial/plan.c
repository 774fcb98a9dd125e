/* Find cell size, diameter and place of the spatial lattice of a case, see plan.h. */
#include "spatial/plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "case/case_parts.h"

static const double lines_most = 4e6;    /* more than any press could take */
static const double work_of_line = 50;   /* operations that placing a line takes */
static const double same_length = 1e-9;  /* relative difference of lengths that count as equal */
static const double stretch_told = 0.01; /* difference of the cell lengths along the axes */
static const int tries_most = 8;         /* corrections of the density of random cells */
/* This is a relative error; the corrections reach a much smaller one. */
static const double density_slack = 0.002;
/* Random cells are emitted so that they can shrink by this factor. */
static const double scale_span = 1.25;
/* Line length per volume of scattered cells, Meijering 1953: a first guess. */
static const double foam_density = 5.832;

static int is_given(const sp_case *request, const char *key)
{
    return request->origin[sp_case_row_find(key)] != SP_ORIGIN_DERIVED;
}

static int is_written(const sp_case *request, const char *key)
{
    return request->origin[sp_case_row_find(key)] == SP_ORIGIN_FILE;
}

typedef struct given {
    int cells, size, diameter, density;
} given;

static sp_status refuse_missing(sp_context *context, const sp_case *request, const char *key,
                                const char *valid)
{
    return sp_case_fail(context, request->source, request->line[sp_case_row_find("infill.pattern")],
                        key, "nothing", valid, NULL);
}

/* Find which values were given, and check that they are neither too many nor too few. */
static sp_status read_given(sp_context *context, const sp_case *request, given *g)
{
    static const char *const cells_key[] = {"infill.cells_x", "infill.cells_y", "infill.cells_z"};
    const int cells[] = {request->cells_x, request->cells_y, request->cells_z};
    g->cells = cells[0] || cells[1] || cells[2];
    g->size = request->cell_size > 0 && is_given(request, "infill.cell_size");
    g->diameter = request->strut_diameter > 0 && is_given(request, "infill.strut_diameter");
    g->density = is_written(request, "infill.density");
    for (int k = 0; g->cells && k < 3; k++)
        if (!cells[k])
            return refuse_missing(context, request, cells_key[k],
                                  "cells along all three axes, as cells: [3, 3, 3]");
    if (g->cells && g->size)
        return sp_case_fail_at(context, request, "infill.cell_size", NULL,
                               "either cells across the coupon or the size of a cell", NULL);
    if ((g->cells || g->size) && g->diameter && g->density)
        return sp_case_fail_at(context, request, "infill.density", NULL,
                               "two of density, cell and strut_diameter; the third follows", NULL);
    if (!g->cells && !g->size && !g->diameter)
        return refuse_missing(context, request, "infill.cells",
                              "cells: [x, y, z], cell_size or strut_diameter beside the density, "
                              "because the pattern is spatial");
    return SP_OK;
}

static sp_status find_turn(sp_context *context, sp_spatial_plan *plan, int *turned)
{
    const sp_list *list = &plan->request->direction;
    double n[3], size = 0, angle = plan->request->turn * M_PI / 180;
    for (int k = 0; k < 3; k++) n[k] = list->value[k], size += n[k] * n[k];
    if (list->count != 3 || !(size > 0))
        return sp_case_fail_at(context, plan->request, "infill.direction", NULL,
                               "[x, y, z], not all of them zero", NULL);
    for (int k = 0; k < 3; k++) n[k] /= sqrt(size);
    *turned = n[1] < 1 - 1e-12 || fabs(fmod(plan->request->turn, 360)) > 1e-9;
    /* Take the shortest turn that brings n to y, with s = n x y; it is half a turn about z when n
     * points down. */
    double tilt[3][3] = {{-1, 0, 0}, {0, -1, 0}, {0, 0, 1}};
    if (n[1] > -1 + 1e-12) {
        double s[3] = {-n[2], 0, n[0]};
        const double skew[3][3] = {{0, -s[2], s[1]}, {s[2], 0, -s[0]}, {-s[1], s[0], 0}};
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 3; j++) {
                double square = 0;
                for (int k = 0; k < 3; k++) square += skew[i][k] * skew[k][j];
                tilt[i][j] = (i == j) + skew[i][j] + square / (1 + n[1]);
            }
    }
    for (int j = 0; j < 3; j++) {
        plan->turn[0][j] = cos(angle) * tilt[0][j] + sin(angle) * tilt[2][j];
        plan->turn[1][j] = tilt[1][j];
        plan->turn[2][j] = -sin(angle) * tilt[0][j] + cos(angle) * tilt[2][j];
    }
    /* Whole numbers stay whole, so that faces of turned cells meet those of the coupon. */
    for (int i = 0; i < 9; i++)
        if (fabs(plan->turn[i / 3][i % 3] - nearbyint(plan->turn[i / 3][i % 3])) < 1e-15)
            plan->turn[i / 3][i % 3] = nearbyint(plan->turn[i / 3][i % 3]);
    return SP_OK;
}

/* The corner of a cell lies in the corner of the coupon, or in its middle when cells are turned or
 * random. */
static void find_origin(sp_spatial_plan *plan, const double size[3], int turned)
{
    const sp_case *request = plan->request;
    const double offset[3] = {request->offset_x, request->offset_y, request->offset_z};
    for (int i = 0; i < 3; i++) {
        plan->origin[i] = turned || !plan->row->lattice ? 0.5 * size[i] : 0;
        for (int k = 0; k < 3; k++) plan->origin[i] += plan->turn[i][k] * offset[k] * plan->cell[k];
    }
}

/* Find the box of the coupon in cell lengths of the lattice. */
static void find_reach(const sp_spatial_plan *plan, const double size[3], double low[3],
                       double high[3])
{
    for (int k = 0; k < 3; k++) {
        low[k] = INFINITY, high[k] = -INFINITY;
        for (int corner = 0; corner < 8; corner++) {
            double x = 0;
            for (int i = 0; i < 3; i++)
                x += plan->turn[i][k] * ((corner >> i & 1) * size[i] - plan->origin[i]);
            low[k] = fmin(low[k], x / plan->cell[k]);
            high[k] = fmax(high[k], x / plan->cell[k]);
        }
    }
}

static void case_size(const sp_case *request, double size[3])
{
    size[0] = request->width, size[1] = request->height, size[2] = request->depth;
}

static const char *cell_key(const sp_case *request)
{
    return request->cells_x                               ? "infill.cells_x"
           : is_written(request, "infill.cell_size")      ? "infill.cell_size"
           : is_written(request, "infill.strut_diameter") ? "infill.strut_diameter"
                                                          : "infill.density";
}

/* Check that the cells fit the coupon, and their lines into memory. */
static sp_status check_cell(sp_context *context, const sp_spatial_plan *plan, const double low[3],
                            const double high[3])
{
    char text[160];
    const sp_case *request = plan->request;
    double size[3], lines = plan->row->lattice ? plan->lattice.edge_count : 8;
    double smallest, box[3] = {1, 1, 1};
    case_size(request, size);
    smallest = fmin(size[0], fmin(size[1], size[2]));
    if (plan->row->lattice) memcpy(box, plan->lattice.box, sizeof box);
    double widest =
        fmax(plan->cell[0] * box[0], fmax(plan->cell[1] * box[1], plan->cell[2] * box[2]));
    if (!plan->whole && !(widest <= smallest * (1 + 1e-6))) {
        snprintf(text, sizeof text,
                 "cells that fit the coupon (cells of %.4g mm, smallest side %.4g mm)", widest,
                 smallest);
        return sp_case_fail_at(context, request, cell_key(request), NULL, text, NULL);
    }
    for (int k = 0; k < 3; k++) lines *= high[k] - low[k] + 1;
    if (lines < lines_most) return SP_OK;
    snprintf(text, sizeof text, "cells that take fewer than %.2g lines (cells of %.4g mm)",
             lines_most, plan->cell[0]);
    return sp_case_fail_at(context, request, cell_key(request), NULL, text, NULL);
}

static sp_status emit(sp_context *context, sp_spatial_plan *plan)
{
    double size[3], low[3], high[3], half[3];
    case_size(plan->request, size);
    find_reach(plan, size, low, high);
    sp_status status = check_cell(context, plan, low, high);
    if (status != SP_OK) return status;
    if (plan->row->lattice)
        return sp_lattice_emit(context, &plan->lattice, low, high, &plan->lines);
    for (int k = 0; k < 3; k++) half[k] = fmax(-low[k], high[k]);
    return plan->row->emit(context, plan->request, half, &plan->lines);
}

/* A lattice whose own struts are shorter than they are thick is solid in print, so it is refused.
 */
static sp_status check_shortest(sp_context *context, const sp_spatial_plan *plan)
{
    char text[160];
    double shortest = INFINITY;
    for (int e = 0; e < plan->lattice.edge_count; e++) {
        double a[3], b[3], square = 0;
        sp_lattice_edge(&plan->lattice, e, a, b);
        for (int k = 0; k < 3; k++)
            square += (b[k] - a[k]) * (b[k] - a[k]) * plan->cell[k] * plan->cell[k];
        shortest = fmin(shortest, sqrt(square));
    }
    if (plan->diameter <= shortest * (1 + same_length)) return SP_OK;
    double most = plan->density * shortest * shortest / (plan->diameter * plan->diameter);
    snprintf(text, sizeof text,
             "at most %.4g %% or %.4g mm of diameter (%s has struts of %.4g mm, %.4g mm thick)",
             100 * most, shortest, plan->row->name, shortest, plan->diameter);
    return sp_case_fail_at(context, plan->request,
                           is_written(plan->request, "infill.strut_diameter")
                               ? "infill.strut_diameter"
                               : "infill.density",
                           NULL, text, NULL);
}

/* E52: density = line length per volume x pi d^2/4; a cubic cell c has line_density(1)/c^2. */
static void find_third(sp_spatial_plan *plan, const given *g, const double box[3])
{
    const sp_case *request = plan->request;
    const double unit[3] = {1, 1, 1};
    const int cells[3] = {request->cells_x, request->cells_y, request->cells_z};
    double size[3],
        one = plan->row->lattice ? sp_lattice_line_density(&plan->lattice, unit) : foam_density;
    case_size(request, size);
    plan->whole = g->cells;
    plan->density = request->density;
    plan->diameter = request->strut_diameter;
    for (int k = 0; k < 3; k++)
        plan->cell[k] = g->cells  ? size[k] / (cells[k] * box[k])
                        : g->size ? request->cell_size
                                  : plan->diameter * sqrt(0.25 * M_PI * one / request->density);
    if (!g->cells && !g->size) return;
    double line_density = plan->row->lattice
                              ? sp_lattice_line_density(&plan->lattice, plan->cell)
                              : one / pow(plan->cell[0] * plan->cell[1] * plan->cell[2], 2.0 / 3);
    if (g->diameter)
        plan->density = line_density * sp_spatial_area(plan->diameter, 0);
    else
        plan->diameter = sqrt(request->density / (0.25 * M_PI * line_density));
}

/* Find the density of random cells after clipping and cleaning. */
static sp_status measure_density(sp_context *context, const sp_spatial_plan *plan, double *density)
{
    sp_graph graph = {0};
    double size[3], total = 0;
    case_size(plan->request, size);
    sp_status status = sp_spatial_plan_place(context, plan, &graph);
    for (int s = 0; status == SP_OK && s < graph.strut_count; s++)
        total += sp_graph_length(&graph, s);
    *density = total / (size[0] * size[1] * size[2]) * sp_spatial_area(plan->diameter, 0);
    sp_graph_free(&graph);
    return status;
}

/* The density of random cells is that of what clipping and cleaning leave of them. So the diameter,
 * or the scale of the same cells, is corrected until it is met. */
static sp_status fit_random(sp_context *context, const given *g, sp_spatial_plan *plan)
{
    double size[3], found, smallest = plan->cell[0] / scale_span;
    int scaled = !g->cells && !g->size;
    case_size(plan->request, size);
    for (int k = 0; scaled && k < 3; k++) plan->cell[k] = smallest;
    find_origin(plan, size, 1);
    sp_status status = emit(context, plan);
    for (int k = 0; scaled && k < 3; k++) plan->cell[k] = smallest * scale_span;
    for (int i = 0; status == SP_OK && i < tries_most; i++) {
        find_origin(plan, size, 1);
        status = measure_density(context, plan, &found);
        if (status != SP_OK) break;
        if (g->diameter && !scaled) {
            plan->density = found;
            break;
        }
        double ratio = found / plan->request->density;
        if (fabs(ratio - 1) <= density_slack) break;
        if (!scaled) plan->diameter /= sqrt(ratio);
        for (int k = 0; scaled && k < 3; k++)
            plan->cell[k] = fmax(smallest, plan->cell[k] * sqrt(ratio));
    }
    return status;
}

static sp_status check_density(sp_context *context, const sp_spatial_plan *plan)
{
    char text[160];
    if (plan->density <= 1 && plan->density > 0) return SP_OK;
    snprintf(text, sizeof text, "struts thinner than %.4g mm (density %.4g %%)",
             plan->diameter / sqrt(plan->density), 100 * plan->density);
    return sp_case_fail_at(context, plan->request, "infill.strut_diameter", NULL, text, NULL);
}

sp_status sp_spatial_plan_make(sp_context *context, const sp_case *request, sp_spatial_plan *plan)
{
    given g = {0};
    int turned = 0;
    double size[3], box[3] = {1, 1, 1};
    *plan = (sp_spatial_plan){.request = request, .row = sp_cell_find(request->pattern)};
    case_size(request, size);
    sp_status status = read_given(context, request, &g);
    if (status == SP_OK) status = find_turn(context, plan, &turned);
    if (status == SP_OK && plan->row->lattice) {
        status = plan->row->lattice(context, request, &plan->lattice);
        memcpy(box, plan->lattice.box, sizeof box);
    }
    if (status != SP_OK) return status;
    find_third(plan, &g, box);
    if (plan->row->lattice) {
        status = check_shortest(context, plan);
        find_origin(plan, size, turned);
        if (status == SP_OK) status = emit(context, plan);
    } else {
        status = fit_random(context, &g, plan);
    }
    return status == SP_OK ? check_density(context, plan) : status;
}

void sp_spatial_plan_free(sp_spatial_plan *plan)
{
    sp_lines_free(&plan->lines);
    *plan = (sp_spatial_plan){0};
}

sp_status sp_spatial_plan_place(sp_context *context, const sp_spatial_plan *plan, sp_graph *graph)
{
    const sp_strut like = {.thickness = plan->diameter, .role = SP_ROLE_INFILL};
    sp_status status = SP_OK;
    int changed = 0;
    double size[3];
    sp_poll poll = {.context = context, .doing = "placing struts"};
    case_size(plan->request, size);
    *graph = sp_spatial_graph(size);
    for (int i = 0; status == SP_OK && i < plan->lines.count; i++) {
        const double *line = plan->lines.end + 6 * (size_t)i;
        double end[2][3];
        for (int n = 0; n < 6; n++) {
            end[n / 3][n % 3] = plan->origin[n % 3];
            for (int k = 0; k < 3; k++)
                end[n / 3][n % 3] += plan->turn[n % 3][k] * plan->cell[k] * line[n / 3 * 3 + k];
        }
        status = sp_graph_add_clipped(context, graph, end[0], end[1], &like);
        if (status == SP_OK) status = sp_poll_after(&poll, work_of_line);
    }
    /* Drop pieces that a side face cuts off first: merging would pull their joint beside that face
     * onto it. */
    if (status == SP_OK) status = graph->rules->join_ends(context, graph);
    if (status == SP_OK) status = sp_graph_drop(context, graph, &changed);
    if (status == SP_OK)
        status = sp_graph_clean(context, plan->request, cell_key(plan->request), graph);
    return status;
}

static void give(sp_case *request, const char *key, double value, double *field)
{
    int row = sp_case_row_find(key);
    *field = value;
    request->origin[row] = SP_ORIGIN_DERIVED;
}

static void warn_of_stretch(sp_context *context, const sp_spatial_plan *plan)
{
    const double *cell = plan->cell;
    const double least = fmin(cell[0], fmin(cell[1], cell[2]));
    const double most = fmax(cell[0], fmax(cell[1], cell[2]));
    if (most > (1 + stretch_told) * least)
        sp_warn(context,
                "the cells are stretched: cell lengths of %.4g, %.4g and %.4g mm along x, y, z",
                cell[0], cell[1], cell[2]);
}

static sp_spatial_count count_struts(const sp_spatial_plan *plan)
{
    double size[3];
    const double struts = plan->lines.count;
    case_size(plan->request, size);
    const double volume = size[0] * size[1] * size[2];
    return (sp_spatial_count){.struts = struts,
                              .length = plan->density * volume /
                                        (sp_spatial_area(plan->diameter, 0) * fmax(1, struts)),
                              .diameter = plan->diameter};
}

sp_status sp_spatial_derive(sp_context *context, sp_case *request, sp_spatial_count *count)
{
    sp_spatial_plan plan;
    given g;
    *count = (sp_spatial_count){0};
    if (!sp_cell_find(request->pattern)) return SP_OK;
    sp_status status = sp_spatial_plan_make(context, request, &plan);
    if (status == SP_OK) status = read_given(context, request, &g);
    if (status != SP_OK) goto done;
    *count = count_struts(&plan);
    warn_of_stretch(context, &plan);
    if (!g.diameter)
        give(request, "infill.strut_diameter", plan.diameter, &request->strut_diameter);
    else if (g.cells || g.size)
        give(request, "infill.density", plan.density, &request->density);
    else
        give(request, "infill.cell_size", plan.cell[0], &request->cell_size);
done:
    sp_spatial_plan_free(&plan);
    return status;
}

sp_status sp_spatial_build(sp_context *context, const sp_case *request, int with_flaws,
                           sp_network *network)
{
    sp_spatial_plan plan;
    sp_graph graph = {0};
    *network = (sp_network){0};
    sp_status status = sp_spatial_plan_make(context, request, &plan);
    if (status == SP_OK) status = sp_spatial_plan_place(context, &plan, &graph);
    if (status == SP_OK) status = sp_spatial_add_frames(context, request, plan.diameter, &graph);
    if (status == SP_OK) status = sp_graph_clean(context, request, cell_key(request), &graph);
    if (status == SP_OK) status = sp_graph_finish(context, request, with_flaws, &graph, network);
    if (status == SP_OK) network->cell_size = plan.cell[0];
    sp_graph_free(&graph);
    sp_spatial_plan_free(&plan);
    return status;
}
