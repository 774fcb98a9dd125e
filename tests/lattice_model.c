/* These are lattices made by hand; see lattice_model.h. The modulus is 1 MPa and the depth 1 mm
 * throughout, so that forces per width are stresses over the modulus. */
#include "check.h"
#include "lattice_model.h"

#include "base/alloc.h"
#include "press/press.h"
#include "state/equilibrium.h"
#include "whole_press.h"

enum { MOST_JOINTS = 20000, MOST_STRUTS = 40000, MOST_LINKS = 64 };
static const double same_place = 1e-9; /* of the height */
/* These are the force per displacement of a link over that of a strut of length 1, and the moment
 * per turn of a link that turns over EA x 1 mm. Links carry forces that bend struts, whose
 * stiffness is about tau^2 smaller. */
static const double link_stiffness = 100, turn_stiffness = 10;

void lattice_begin(lattice *l, double width, double height, double nu, int strain_state)
{
    memset(l, 0, sizeof *l);
    l->network.dimension = 2;
    l->network.size[0] = width, l->network.size[1] = height, l->network.size[2] = 1;
    l->network.joint_position = sp_alloc(3 * MOST_JOINTS, sizeof(double));
    l->network.joint_face = sp_alloc(MOST_JOINTS, 1);
    l->network.strut_joint = sp_alloc(2 * MOST_STRUTS, sizeof(int));
    l->network.strut_thickness = sp_alloc(MOST_STRUTS, sizeof(double));
    l->network.strut_role = sp_alloc(MOST_STRUTS, 1);
    l->network.strut_zone = sp_alloc(2 * MOST_STRUTS, sizeof(double));
    l->network.strut_bow = sp_alloc(MOST_STRUTS, sizeof(double));
    sp_case request;
    sp_case_default(&request);
    snprintf(request.law, sizeof request.law, "linear");
    request.modulus = 1, request.poisson_ratio = nu, request.strain_state = strain_state;
    assert_int_equal(sp_law_prepare(&l->context, &request, &l->law), SP_OK);
}

void lattice_end(lattice *l)
{
    sp_model_free(&l->model);
    sp_law_free(&l->law);
    sp_network_free(&l->network);
}

int lattice_extra_joint(lattice *l, double x, double y)
{
    const int joint = l->network.joint_count++;
    assert_true(joint < MOST_JOINTS);
    l->network.joint_position[3 * joint] = x;
    l->network.joint_position[3 * joint + 1] = y;
    return joint;
}

int lattice_joint(lattice *l, double x, double y)
{
    const double height = l->network.size[1], near = same_place * height;
    for (int j = 0; j < l->network.joint_count; j++) {
        const double *p = l->network.joint_position + 3 * j;
        if (fabs(p[0] - x) < near && fabs(p[1] - y) < near) return j;
    }
    const int joint = lattice_extra_joint(l, x, y);
    if (fabs(y) < near) l->network.joint_face[joint] = SP_FACE_LOWER;
    if (fabs(y - height) < near) l->network.joint_face[joint] = SP_FACE_UPPER;
    return joint;
}

int lattice_strut(lattice *l, double xa, double ya, double xb, double yb, double thickness)
{
    const int strut = l->network.strut_count++;
    assert_true(strut < MOST_STRUTS);
    l->network.strut_joint[2 * strut] = lattice_joint(l, xa, ya);
    l->network.strut_joint[2 * strut + 1] = lattice_joint(l, xb, yb);
    l->network.strut_thickness[strut] = thickness;
    return strut;
}

static void make_shear_rigid(sp_model *model)
{
    for (int e = 0; e < model->element_count; e++) {
        sp_element *element = &model->element[e];
        model->section[element->strut].shear_stiffness = 1e12 * model->stiffest;
        element->shear = 12 * model->section[element->strut].bending_stiffness /
                         (element->length * element->length);
    }
}

void lattice_mesh(lattice *l, int elements_per_strut)
{
    sp_model *model = &l->model;
    const sp_model_options options = {.platens = SP_PLATENS_SLIDING,
                                      .elements_per_strut = elements_per_strut,
                                      .section_points = 2};
    assert_int_equal(sp_model_build(&l->context, &l->network, &l->law, &options, model), SP_OK);
    if (l->shear_rigid) make_shear_rigid(model);
    for (int n = 0; n < model->node_count; n++) model->hold[3 * n + LATTICE_X] = SP_FREE;
    model->element = sp_resize(model->element, (size_t)model->element_count + MOST_LINKS,
                               sizeof *model->element);
    model->section = sp_resize(model->section, (size_t)l->network.strut_count + MOST_LINKS,
                               sizeof *model->section);
    assert_non_null(model->element);
    assert_non_null(model->section);
    /* Struts have no thickness for contact: the sources use centrelines only. */
    for (int s = 0; s < l->network.strut_count; s++) l->network.strut_thickness[s] *= 1e-6;
}

void lattice_half(lattice *l, int strut)
{
    sp_section *section = &l->model.section[strut];
    for (int i = 0; i < section->points; i++) section->weight[i] *= 0.5;
    section->axial_stiffness *= 0.5;
    section->bending_stiffness *= 0.5;
    section->shear_stiffness *= 0.5;
    for (int e = l->model.strut_element[strut]; e < l->model.strut_element[strut + 1]; e++)
        l->model.element[e].shear *= 0.5;
}

void lattice_halve_rim(lattice *l)
{
    const double *size = l->network.size, near = same_place * size[1];
    for (int s = 0; s < l->network.strut_count; s++) {
        const int *joint = l->network.strut_joint + 2 * s;
        const double *a = l->network.joint_position + 3 * joint[0];
        const double *b = l->network.joint_position + 3 * joint[1];
        for (int axis = 0; axis < 2; axis++)
            if (fabs(a[axis] - b[axis]) < near &&
                (fabs(a[axis]) < near || fabs(a[axis] - size[axis]) < near))
                lattice_half(l, s);
    }
}

void lattice_hold(lattice *l, int node, int direction, int how)
{
    l->model.hold[3 * node + direction] = (unsigned char)how;
}

void lattice_hold_line(lattice *l, int axis, double at, int direction)
{
    for (int j = 0; j < l->network.joint_count; j++) {
        if (fabs(l->network.joint_position[3 * j + axis] - at) > same_place * l->network.size[1])
            continue;
        if (l->model.hold[3 * j + direction] == SP_FREE) lattice_hold(l, j, direction, SP_HELD);
    }
}

/* The section of a link has two fibres at +-eta of weight w, with EA = 2 w and EI = 2 w eta^2. When
 * they are far apart and light, it only resists a turn. */
static void link_section(const lattice *l, int stiff, sp_section *section)
{
    const double eta = stiff & LINK_TURN ? 1e4 * l->model.height : 0;
    const double unit = l->model.section[0].axial_stiffness * l->link_reach;
    double weight = 0;
    assert_false((stiff & LINK_TURN) && (stiff & LINK_AXIAL));
    if (stiff & LINK_TURN) weight = 0.5 * turn_stiffness * unit / (eta * eta);
    if (stiff & LINK_AXIAL) weight = 0.5 * link_stiffness * unit;
    *section = l->model.section[0];
    section->points = 2;
    section->eta[0] = -eta, section->eta[1] = eta;
    section->weight[0] = section->weight[1] = weight;
    section->shear_stiffness = stiff & LINK_SHEAR ? link_stiffness * unit : 0;
}

void lattice_link(lattice *l, int from, int to, const double place[2], int facing, int stiff)
{
    sp_model *model = &l->model;
    assert_true(l->link_count < MOST_LINKS);
    const int index = l->network.strut_count + l->link_count++;
    sp_section *section = &model->section[index];
    link_section(l, stiff, section);
    sp_element *e = &model->element[model->element_count++];
    *e = (sp_element){.node = {from, to}, .strut = index, .length = l->link_reach};
    if (facing < 0) e->node[0] = to, e->node[1] = from;
    e->shear = section->shear_stiffness;
    for (int end = 0; end < 2; end++) {
        const double *node = model->reference + 3 * e->node[end];
        e->arm[end][0] = place[0] + (end - (facing < 0)) * l->link_reach - node[0];
        e->arm[end][1] = place[1] - node[1];
    }
}

void lattice_ready(lattice *l)
{
    sp_model *model = &l->model;
    model->unknown_count = 0;
    for (int i = 0; i < 3 * model->node_count; i++)
        model->unknown[i] = model->hold[i] == SP_FREE ? model->unknown_count++ : -1;
}

/* Find the forces on platen and right side for one travel of either. */
static void forces(lattice *l, double travel, double widening, double force[2])
{
    sp_model *model = &l->model;
    const double width = l->network.size[0], near = same_place * model->height;
    sp_system system;
    sp_attempt attempt;
    for (int j = 0; j < model->node_count; j++)
        if (fabs(model->reference[3 * j] - width) < near) model->reference[3 * j] += widening;
    assert_int_equal(sp_system_create(&l->context, model, 1, &system), SP_OK);
    assert_int_equal(
        sp_equilibrium_follow(&l->context, &system, model->reference, travel, 20, &attempt), SP_OK);
    assert_int_equal(attempt.end, SP_FOUND);
    force[0] = 0;
    force[1] = system.force;
    for (int n = 0; n < model->node_count; n++) {
        double *x = &model->reference[3 * n];
        if (fabs(*x - width - widening) > near) continue;
        *x -= widening;
        force[0] -= system.gradient[3 * n]; /* compression positive, as at the platen */
    }
    sp_system_free(&system);
}

void lattice_stiffness(lattice *l, double strain, double c[4])
{
    const double width = l->network.size[0], height = l->network.size[1];
    double up[2], down[2];
    forces(l, strain * height, 0, up);
    forces(l, -strain * height, 0, down);
    c[1] = (up[1] - down[1]) / (2 * strain * width);
    c[2] = (up[0] - down[0]) / (2 * strain * height);
    forces(l, 0, strain * width, up);
    forces(l, 0, -strain * width, down);
    c[0] = (down[0] - up[0]) / (2 * strain * height);
    c[3] = (down[1] - up[1]) / (2 * strain * width);
}

double lattice_critical_stress(lattice *l, double strain, int steps, sp_critical *critical)
{
    const sp_press_options options = {.strain = strain,
                                      .load_limit = INFINITY,
                                      .steps = steps,
                                      .follow_perfect = 1,
                                      .stop_at_critical = 1,
                                      .frames = 2};
    sp_path path;
    assert_int_equal(press_whole_model(&l->context, &l->model, &options, &path), SP_OK);
    *critical = path.critical;
    if (!critical->found)
        fail_msg("no instability up to strain %g, stress %g", path.critical.strain,
                 sp_path_stress(&path, path.step_count - 1));
    assert_int_equal(critical->kind, SP_CRITICAL_BIFURCATION);
    /* The last accepted state lies at most about 1e-6 of the height before the loss. */
    const double stress = path.step[path.step_count - 1].force / l->network.size[0];
    sp_path_free(&path);
    return stress;
}
