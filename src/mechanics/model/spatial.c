/* This file makes straight pieces of struts in space, and cuts a strut into them. */
#include <math.h>
#include <string.h>

#include "base/so3.h"
#include "model/cut.h"

/* Residual bending flexibility (MacNeal 1978) is taken in both planes: shear along axis 2 belongs
 * to bending about axis 3. E5 */
void sp_spatial_set_shear(sp_spatial_element *element, const sp_spatial_section *section)
{
    const double l2 = element->length * element->length;
    for (int i = 0; i < 2; i++)
        element->shear[i] =
            1 / (1 / section->shear_stiffness[i] + l2 / (12 * section->bending_stiffness[1 - i]));
}

sp_spatial_element sp_spatial_piece(const sp_spatial_section *section, const double from[3],
                                    const double to[3], const double up[3])
{
    sp_spatial_element e = {0};
    const double along[3] = {to[0] - from[0], to[1] - from[1], to[2] - from[2]};
    e.length = sqrt(sp_dot(along, along));
    sp_so3_frame(along, up, e.frame);
    sp_spatial_set_shear(&e, section);
    return e;
}

static double distance(const double a[3], const double b[3])
{
    const double d[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]};
    return sqrt(sp_dot(d, d));
}

/* Find where a strut begins and ends. Returns 1 for a bond between layers, which may end beside its
 * joints, in their zones. */
static int find_ends(const sp_network *network, int strut, double pa[3], double pb[3],
                     double offset[2][3])
{
    const sp_layer_piece *piece = network->strut_piece;
    const int is_bond = piece && piece[strut].layer < 0;
    memcpy(pa, network->joint_position + 3 * network->strut_joint[2 * strut], 3 * sizeof *pa);
    memcpy(pb, network->joint_position + 3 * network->strut_joint[2 * strut + 1], 3 * sizeof *pb);
    memset(offset, 0, 6 * sizeof **offset);
    for (int d = 0; is_bond && d < 2; d++) {
        offset[0][d] = piece[strut].arm[0][d], offset[1][d] = piece[strut].arm[1][d];
        pa[d] += offset[0][d], pb[d] += offset[1][d];
    }
    return is_bond;
}

void sp_cut_spatial(sp_model *model, int strut, sp_cut *next)
{
    const sp_network *network = model->network;
    const int a = network->strut_joint[2 * strut], b = network->strut_joint[2 * strut + 1];
    double pa[3], pb[3], offset[2][3];
    const double *up = network->strut_up + 3 * strut, bow = network->strut_bow[strut];
    const int off_joints = find_ends(network, strut, pa, pb, offset);
    const double length = off_joints ? distance(pa, pb) : sp_network_strut_length(network, strut);
    const double za = network->strut_zone[2 * strut], zb = network->strut_zone[2 * strut + 1];
    const double free_length = length - za - zb;
    const int count = model->strut_element[strut + 1] - model->strut_element[strut];
    double along[3], from[3], arm[2][3];
    for (int d = 0; d < 3; d++) {
        along[d] = (pb[d] - pa[d]) / length;
        arm[0][d] = za * along[d];
        arm[1][d] = -zb * along[d];
        from[d] = pa[d] + arm[0][d];
        if (off_joints) arm[0][d] += offset[0][d], arm[1][d] += offset[1][d];
    }

    int node_before = a;
    sp_cut_add_point(model, next, a, strut, off_joints ? offset[0] : NULL, 0);
    if (za > 0) sp_cut_add_point(model, next, a, strut, arm[0], za);
    for (int k = 1; k <= count; k++) {
        const double s = sp_cut_along(next, za, free_length, k, count);
        const double turn = next->share ? M_PI * next->share[k] : M_PI * k / count;
        const double w = k == count ? 0 : bow * sin(turn);
        const int node = k == count ? b : next->node++;
        double to[3];
        for (int d = 0; d < 3; d++)
            to[d] = k == count ? pb[d] - zb * along[d] : pa[d] + s * along[d] + w * up[d];
        if (k < count) memcpy(model->reference + SP_SPATIAL_VALUES * node, to, sizeof to);
        const int section = sp_model_section(model, strut, next->element);
        sp_spatial_element *e = &model->spatial[next->element++];
        *e = sp_spatial_piece(&model->spatial_section[section], from, to, up);
        e->node[0] = node_before;
        e->node[1] = node;
        e->strut = strut;
        if (k == 1) memcpy(e->arm[0], arm[0], sizeof arm[0]);
        if (k == count) memcpy(e->arm[1], arm[1], sizeof arm[1]);
        if (k < count) sp_cut_add_point(model, next, node, strut, NULL, s);
        node_before = node;
        memcpy(from, to, sizeof from);
    }
    if (zb > 0) sp_cut_add_point(model, next, b, strut, arm[1], length - zb);
    sp_cut_add_point(model, next, b, strut, off_joints ? offset[1] : NULL, length);
}
