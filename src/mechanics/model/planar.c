/* This file cuts a planar strut into elements. */
#include <math.h>

#include "model/cut.h"

/* Return by how much the chain goes on with the joint beyond its zone: to the middle of the hinge
 * of a strut that yields, since contact presses on a strut that turns there and not at the zone.
 * E231
 */
static double stub_of(const sp_section *section, double element_length)
{
    return section->two.first > 0 ? 0.5 * section->two.share * element_length : 0;
}

void sp_cut_planar(sp_model *model, int strut, sp_cut *next)
{
    const sp_network *network = model->network;
    const int a = network->strut_joint[2 * strut], b = network->strut_joint[2 * strut + 1];
    const double *pa = network->joint_position + 3 * a, *pb = network->joint_position + 3 * b;
    const double length = sp_network_strut_length(network, strut);
    const double ux = (pb[0] - pa[0]) / length, uy = (pb[1] - pa[1]) / length;
    const double za = network->strut_zone[2 * strut], zb = network->strut_zone[2 * strut + 1];
    const double free_length = length - za - zb, bow = network->strut_bow[strut];
    const int count = model->strut_element[strut + 1] - model->strut_element[strut];

    const double stub = stub_of(&model->section[sp_model_section(model, strut, next->element)],
                                free_length / count);
    const double to_a = za + stub, to_b = zb + stub;

    int node_before = a;
    double xb = pa[0] + za * ux, yb = pa[1] + za * uy; /* end of the element before */
    sp_cut_add_point(model, next, a, strut, NULL, 0);
    if (to_a > 0) sp_cut_add_point(model, next, a, strut, (double[2]){to_a * ux, to_a * uy}, to_a);
    for (int k = 1; k <= count; k++) {
        const double s = sp_cut_along(next, za, free_length, k, count);
        const double w = bow * sin(next->share ? M_PI * next->share[k] : M_PI * k / count);
        const double x = k == count ? pb[0] - zb * ux : pa[0] + s * ux - w * uy;
        const double y = k == count ? pb[1] - zb * uy : pa[1] + s * uy + w * ux;
        const int node = k == count ? b : next->node++;
        if (k < count) {
            model->reference[3 * node] = x;
            model->reference[3 * node + 1] = y;
        }
        const sp_section *section = &model->section[sp_model_section(model, strut, next->element)];
        sp_element *e = &model->element[next->element++];
        e->node[0] = node_before;
        e->node[1] = node;
        e->strut = strut;
        if (k == 1) e->arm[0][0] = za * ux, e->arm[0][1] = za * uy;
        if (k == count) e->arm[1][0] = -zb * ux, e->arm[1][1] = -zb * uy;
        e->length = hypot(x - xb, y - yb);
        e->direction = atan2(y - yb, x - xb);
        /* Residual bending flexibility (MacNeal 1978) makes the one-point element exact for linear
         * frames (E5); of an element that is asked at two places it is in these. */
        if (section->two.first > 0) e->joint_end = k == 1 ? 1 : -1;
        e->shear = section->two.first > 0
                       ? section->shear_stiffness
                       : 1 / (1 / section->shear_stiffness +
                              e->length * e->length / (12 * section->bending_stiffness));
        if (k < count) sp_cut_add_point(model, next, node, strut, NULL, s);
        node_before = node;
        xb = x;
        yb = y;
    }
    if (to_b > 0)
        sp_cut_add_point(model, next, b, strut, (double[2]){-to_b * ux, -to_b * uy}, length - to_b);
    sp_cut_add_point(model, next, b, strut, NULL, length);
}
