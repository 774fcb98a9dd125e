#include "panel_model.h"

#include "base/alloc.h"
#include "network/parts.h"
#include "panel/panels.h"
#include "state/equilibrium.h"

enum { MOST_LINES = 64 };

void plate_begin(plate *p, double height, double poisson_ratio)
{
    sp_case request;
    memset(p, 0, sizeof *p);
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "linear");
    request.modulus = 1;
    request.poisson_ratio = poisson_ratio;
    request.strain_state = SP_UNIAXIAL;
    assert_int_equal(sp_law_prepare(&p->context, &request, &p->law), SP_OK);
    p->across_layers = 1;
    p->plan.dimension = 2;
    p->plan.size[2] = height;
    assert_int_equal(sp_network_room(&p->context, &p->plan, MOST_LINES, MOST_LINES), SP_OK);
}

void plate_end(plate *p)
{
    sp_system_free(&p->system);
    sp_model_free(&p->model);
    sp_network_free(&p->network);
    sp_network_free(&p->plan);
    sp_law_free(&p->law);
    sp_free(p->start);
}

int plate_line(plate *p, double x, double y)
{
    const int line = p->plan.joint_count++;
    assert_true(line < MOST_LINES);
    p->plan.joint_position[3 * line] = x;
    p->plan.joint_position[3 * line + 1] = y;
    return line;
}

void plate_wall(plate *p, int from, int to, double thickness)
{
    const int s = p->plan.strut_count++;
    assert_true(s < MOST_LINES);
    p->plan.strut_joint[2 * s] = from, p->plan.strut_joint[2 * s + 1] = to;
    p->plan.strut_thickness[s] = thickness;
}

void plate_mesh(plate *p, int across)
{
    const sp_panel_mesh mesh = {.height = p->plan.size[2],
                                .skin = p->skin,
                                .across = across,
                                .across_layers = p->across_layers,
                                .flanks = p->flanks};
    const sp_model_options options = {.platens = SP_PLATENS_FRICTION, .section_points = 5};
    assert_int_equal(sp_panels_build(&p->context, &p->plan, &mesh, &p->network), SP_OK);
    assert_int_equal(sp_model_build(&p->context, &p->network, &p->law, &options, &p->model), SP_OK);
    for (int n = 0; n < p->model.node_count; n++)
        for (int k = 0; k < SP_SPATIAL_UNKNOWNS; k++)
            if (k != 1) p->model.hold[SP_SPATIAL_UNKNOWNS * n + k] = SP_FREE;
    /* Nothing presses on anything, because all is far out of reach of the layers. */
    p->model.layer_modulus = 0;
}

void plate_hold(plate *p, int (*is_there)(const plate *p, const double at[3]), int directions)
{
    for (int n = 0; n < p->model.node_count; n++)
        for (int k = 0; k < SP_SPATIAL_UNKNOWNS; k++)
            if ((directions & 1 << k) && is_there(p, p->model.reference + SP_SPATIAL_VALUES * n) &&
                p->model.hold[SP_SPATIAL_UNKNOWNS * n + k] == SP_FREE)
                p->model.hold[SP_SPATIAL_UNKNOWNS * n + k] = SP_HELD;
}

void plate_not_free(plate *p, int (*is_there)(const plate *p, const double at[3]))
{
    for (int e = 0; e < p->model.element_count; e++) {
        const int *node = p->model.spatial[e].node;
        if (is_there(p, p->model.reference + SP_SPATIAL_VALUES * node[0]) &&
            is_there(p, p->model.reference + SP_SPATIAL_VALUES * node[1]))
            p->model.spatial_section[e].torsion_stiffness = 0;
    }
}

int plate_node(const plate *p, double x, double y, double z)
{
    int nearest = 0;
    double least = INFINITY;
    for (int n = 0; n < p->model.node_count; n++) {
        const double *at = p->model.reference + SP_SPATIAL_VALUES * n;
        const double far = hypot(hypot(at[0] - x, at[1] - y), at[2] - z);
        if (far < least) least = far, nearest = n;
    }
    return nearest;
}

void plate_ready(plate *p)
{
    sp_model *model = &p->model;
    model->unknown_count = 0;
    for (int i = 0; i < SP_SPATIAL_UNKNOWNS * model->node_count; i++)
        model->unknown[i] = model->hold[i] == SP_FREE ? model->unknown_count++ : -1;
    assert_int_equal(sp_system_create(&p->context, model, 1, &p->system), SP_OK);
    const size_t values = sp_system_values(&p->system);
    p->start = sp_alloc(values, sizeof *p->start);
    memcpy(p->start, model->reference, values * sizeof *p->start);
}

double plate_compliance(plate *p, int node, int direction)
{
    const int u = p->model.unknown[SP_SPATIAL_UNKNOWNS * node + direction];
    double *force = sp_alloc((size_t)p->model.unknown_count, sizeof *force);
    int negative;
    assert_true(u >= 0);
    assert_int_equal(sp_system_evaluate(&p->context, &p->system, p->start, 0), SP_OK);
    assert_int_equal(sp_system_factor(&p->context, &p->system, 0, &negative), SP_OK);
    assert_int_equal(negative, 0);
    force[u] = 1;
    assert_int_equal(sp_sparse_solve(&p->context, p->system.sparse, force, p->system.direction),
                     SP_OK);
    sp_free(force);
    return p->system.direction[u];
}

static int follow(plate *p, double travel)
{
    sp_attempt attempt;
    if (sp_equilibrium_follow(&p->context, &p->system, p->start, travel, 30, &attempt) != SP_OK)
        fail_msg("%s", p->context.message);
    if (attempt.end != SP_FOUND) fail_msg("no equilibrium at travel %g", travel);
    return attempt.negative;
}

static void keep(plate *p, double travel)
{
    memcpy(p->start, p->system.x, sp_system_values(&p->system) * sizeof *p->start);
    p->travel = travel;
}

double plate_follow(plate *p, double travel)
{
    follow(p, travel);
    keep(p, travel);
    return p->system.force;
}

double plate_descend(plate *p, double travel, double widening,
                     int (*is_there)(const plate *p, const double at[3]), int node, double bow,
                     double *across)
{
    sp_attempt attempt;
    const int side = SP_SPATIAL_VALUES;
    for (int n = 0; n < p->model.node_count; n++)
        if (is_there(p, p->model.reference + side * n)) p->model.reference[side * n] += widening;
    p->start[side * node + 2] += bow;
    assert_int_equal(
        sp_equilibrium_descend(&p->context, &p->system, p->start, travel, 200, &attempt), SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
    keep(p, travel);
    *across = 0;
    for (int n = 0; n < p->model.node_count; n++)
        if (is_there(p, p->model.reference + side * n))
            *across += p->system.gradient[SP_SPATIAL_UNKNOWNS * n];
    return p->system.force;
}

double plate_critical(plate *p, double most)
{
    enum { PARTS = 4, HALVINGS = 20 };
    double low = 0, high = 0;
    for (int i = 1; i <= PARTS && high == 0; i++) {
        const double travel = most * i / PARTS;
        if (follow(p, travel) > 0)
            high = travel;
        else
            keep(p, low = travel);
    }
    if (high == 0) fail_msg("no instability up to the travel %g", most);
    for (int i = 0; i < HALVINGS && high - low > 1e-5 * high; i++) {
        const double middle = 0.5 * (low + high);
        if (follow(p, middle) > 0)
            high = middle;
        else
            keep(p, low = middle);
    }
    follow(p, low);
    return p->system.force;
}
