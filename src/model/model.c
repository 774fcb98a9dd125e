/* Mesh of a network: struts cut into elements, joint zones as rigid arms, chains for contact and pictures. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "model/model.h"

/* An element about this many thicknesses long resolves a fold, whose radius is about a thickness. What the mesh changes
 * is measured by `make mesh` (docs/theory.md, mesh): dense coupons with short struts come out too stiff in folding. */
static const double element_aspect = 1.25;
static const int fewest_elements = 4, most_elements = 12;

static int elements_of(const sp_network *network, const sp_model_options *options, int strut)
{
    if (options->elements_per_strut > 0) return options->elements_per_strut;
    double free_length = sp_network_free_length(network, strut);
    int count = (int)ceil(free_length / (element_aspect * network->strut_thickness[strut]));
    /* Pieces shorter than that (between close joints) need no fold inside. */
    int fewest = count < 2 ? 2 : fewest_elements;
    return count < fewest ? fewest : count > most_elements ? most_elements : count;
}

static sp_status allocate(sp_context *context, sp_model *model, int struts)
{
    size_t nodes = (size_t)model->node_count, points = (size_t)model->point_count;
    model->reference = sp_alloc(3 * nodes, sizeof(double));
    model->hold = sp_alloc(3 * nodes, 1);
    model->unknown = sp_alloc(3 * nodes, sizeof(int));
    model->element = sp_alloc((size_t)model->element_count, sizeof(sp_element));
    model->strut_element = sp_alloc((size_t)struts + 1, sizeof(int));
    model->section = sp_alloc((size_t)struts, sizeof(sp_section));
    model->chain_first = sp_alloc((size_t)struts + 1, sizeof(int));
    model->point_node = sp_alloc(points, sizeof(int));
    model->point_strut = sp_alloc(points, sizeof(int));
    model->point_arm = sp_alloc(2 * points, sizeof(double));
    model->point_arc = sp_alloc(points, sizeof(double));
    if (!model->reference || !model->hold || !model->unknown || !model->element ||
        !model->strut_element || !model->section || !model->chain_first || !model->point_node ||
        !model->point_strut || !model->point_arm || !model->point_arc)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a mesh of %d elements",
                       model->element_count);
    return SP_OK;
}

static int add_point(sp_model *model, int at, int node, int strut, double ax, double ay, double arc)
{
    model->point_node[at] = node;
    model->point_strut[at] = strut;
    model->point_arm[2 * at] = ax;
    model->point_arm[2 * at + 1] = ay;
    model->point_arc[at] = arc;
    return at + 1;
}

/* Cut one strut: inner nodes on the half-sine bow, elements between them, the chain through all of it. */
static void cut_strut(sp_model *model, int strut, int *next_node, int *next_element,
                      int *next_point)
{
    const sp_network *network = model->network;
    const int a = network->strut_joint[2 * strut], b = network->strut_joint[2 * strut + 1];
    const double *pa = network->joint_position + 3 * a, *pb = network->joint_position + 3 * b;
    const double length = sp_network_strut_length(network, strut);
    const double ux = (pb[0] - pa[0]) / length, uy = (pb[1] - pa[1]) / length;
    const double za = network->strut_zone[2 * strut], zb = network->strut_zone[2 * strut + 1];
    const double free_length = length - za - zb, bow = network->strut_bow[strut];
    const int count = model->strut_element[strut + 1] - model->strut_element[strut];
    const sp_section *section = &model->section[strut];

    int at = *next_point, node_before = a;
    double xb = pa[0] + za * ux, yb = pa[1] + za * uy; /* end of the element before */
    at = add_point(model, at, a, strut, 0, 0, 0);
    if (za > 0) at = add_point(model, at, a, strut, za * ux, za * uy, za);
    for (int k = 1; k <= count; k++) {
        const double s = za + free_length * k / count, w = bow * sin(M_PI * k / count);
        const double x = k == count ? pb[0] - zb * ux : pa[0] + s * ux - w * uy;
        const double y = k == count ? pb[1] - zb * uy : pa[1] + s * uy + w * ux;
        const int node = k == count ? b : (*next_node)++;
        if (k < count) {
            model->reference[3 * node] = x;
            model->reference[3 * node + 1] = y;
        }
        sp_element *e = &model->element[(*next_element)++];
        e->node[0] = node_before;
        e->node[1] = node;
        e->strut = strut;
        if (k == 1) e->arm[0][0] = za * ux, e->arm[0][1] = za * uy;
        if (k == count) e->arm[1][0] = -zb * ux, e->arm[1][1] = -zb * uy;
        e->length = hypot(x - xb, y - yb);
        e->direction = atan2(y - yb, x - xb);
        /* Residual bending flexibility (MacNeal 1978): makes the one-point element exact for linear frames. E5 */
        e->shear = 1 / (1 / section->shear_stiffness +
                        e->length * e->length / (12 * section->bending_stiffness));
        if (k < count) at = add_point(model, at, node, strut, 0, 0, s);
        node_before = node;
        xb = x;
        yb = y;
    }
    if (zb > 0) at = add_point(model, at, b, strut, -zb * ux, -zb * uy, length - zb);
    at = add_point(model, at, b, strut, 0, 0, length);
    *next_point = at;
}

/* Platens hold face joints, and the whole of a wall strut that lies on the face between two of them. */
static void hold_faces(sp_model *model, int platens)
{
    const sp_network *network = model->network;
    int middle = -1;
    double nearest = INFINITY;
    for (int n = 0; n < model->node_count; n++) {
        unsigned char face = 0;
        if (n < network->joint_count) face = network->joint_face[n];
        if (!face) continue;
        unsigned char how = face & SP_FACE_UPPER ? SP_MOVED : SP_HELD;
        model->hold[3 * n + 1] = how;
        if (platens == SP_PLATENS_BONDED) model->hold[3 * n] = model->hold[3 * n + 2] = SP_HELD;
        double off = fabs(model->reference[3 * n] - network->size[0] / 2);
        if (how == SP_HELD && off < nearest) nearest = off, middle = n;
    }
    for (int e = 0; e < model->element_count; e++) {
        const int s = model->element[e].strut, *joint = &network->strut_joint[2 * s];
        const unsigned char face = network->joint_face[joint[0]] & network->joint_face[joint[1]];
        if (!face || network->strut_role[s] != SP_ROLE_WALL) continue;
        for (int k = 0; k < 2; k++) {
            unsigned char *hold = model->hold + 3 * model->element[e].node[k];
            hold[1] = face & SP_FACE_UPPER ? SP_MOVED : SP_HELD;
            if (platens == SP_PLATENS_BONDED) hold[0] = hold[2] = SP_HELD;
        }
    }
    /* Between two sliding platens nothing stops the coupon from drifting sideways: hold its middle. */
    if (platens == SP_PLATENS_SLIDING && middle >= 0) model->hold[3 * middle] = SP_HELD;
}

static void number_unknowns(sp_model *model)
{
    model->unknown_count = 0;
    for (int i = 0; i < 3 * model->node_count; i++)
        model->unknown[i] = model->hold[i] == SP_FREE ? model->unknown_count++ : -1;
}

sp_status sp_model_build(sp_context *context, const sp_network *network, const sp_law *law,
                         const sp_model_options *options, sp_model *model)
{
    memset(model, 0, sizeof *model);
    model->network = network;
    model->dimension = network->dimension;
    model->height = network->size[1];
    model->depth = network->size[2];
    model->layer_modulus = law->shear_modulus;
    model->thinnest = INFINITY;
    model->node_count = network->joint_count;
    for (int s = 0; s < network->strut_count; s++) {
        int count = elements_of(network, options, s);
        model->element_count += count;
        model->node_count += count - 1;
        model->point_count +=
            count + 1 + (network->strut_zone[2 * s] > 0) + (network->strut_zone[2 * s + 1] > 0);
        model->thinnest = fmin(model->thinnest, network->strut_thickness[s]);
        model->thickest = fmax(model->thickest, network->strut_thickness[s]);
    }
    sp_status status = allocate(context, model, network->strut_count);
    if (status != SP_OK) {
        sp_model_free(model);
        return status;
    }
    for (int j = 0; j < network->joint_count; j++)
        memcpy(model->reference + 3 * j, network->joint_position + 3 * j, 2 * sizeof(double));
    int node = network->joint_count, element = 0, point = 0;
    for (int s = 0; s < network->strut_count; s++) {
        sp_section_rectangle(&model->section[s], law, network->strut_thickness[s], model->depth,
                             options->section_points);
        model->strut_element[s] = element;
        model->strut_element[s + 1] = element + elements_of(network, options, s);
        model->chain_first[s] = point;
        cut_strut(model, s, &node, &element, &point);
        model->chain_first[s + 1] = point;
    }
    hold_faces(model, options->platens);
    number_unknowns(model);
    return SP_OK;
}

void sp_model_free(sp_model *model)
{
    sp_free(model->reference);
    sp_free(model->hold);
    sp_free(model->unknown);
    sp_free(model->element);
    sp_free(model->strut_element);
    sp_free(model->section);
    sp_free(model->chain_first);
    sp_free(model->point_node);
    sp_free(model->point_strut);
    sp_free(model->point_arm);
    sp_free(model->point_arc);
    memset(model, 0, sizeof *model);
}

void sp_model_points(const sp_model *model, const double *x, double *position)
{
    for (int k = 0; k < model->point_count; k++) {
        const double *node = x + 3 * model->point_node[k], *arm = model->point_arm + 2 * k;
        double px = node[0], py = node[1];
        if (arm[0] != 0 || arm[1] != 0) {
            const double c = cos(node[2]), s = sin(node[2]);
            px += c * arm[0] - s * arm[1];
            py += s * arm[0] + c * arm[1];
        }
        position[2 * k] = px;
        position[2 * k + 1] = py;
    }
}
