/* The finished network: its arrays, the lengths of its struts, and its release. */
#include <math.h>

#include "base/alloc.h"
#include "network/parts.h"

sp_status sp_network_room(sp_context *context, sp_network *network, size_t joints, size_t struts)
{
    const int spatial = network->dimension == 3;
    network->joint_position = sp_alloc(joints, 3 * sizeof *network->joint_position);
    network->joint_face = sp_alloc(joints, sizeof *network->joint_face);
    network->strut_joint = sp_alloc(struts, 2 * sizeof *network->strut_joint);
    network->strut_thickness = sp_alloc(struts, sizeof *network->strut_thickness);
    if (spatial) {
        network->strut_height = sp_alloc(struts, sizeof *network->strut_height);
        network->strut_up = sp_alloc(struts, 3 * sizeof *network->strut_up);
    }
    network->strut_role = sp_alloc(struts, sizeof *network->strut_role);
    network->strut_zone = sp_alloc(struts, 2 * sizeof *network->strut_zone);
    network->strut_firm = sp_alloc(struts, 4 * sizeof *network->strut_firm);
    network->strut_bow = sp_alloc(struts, sizeof *network->strut_bow);
    if (!network->joint_position || !network->joint_face || !network->strut_joint ||
        !network->strut_thickness || (spatial && (!network->strut_height || !network->strut_up)) ||
        !network->strut_role || !network->strut_zone || !network->strut_firm || !network->strut_bow)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %zu struts", struts);
    return SP_OK;
}

void sp_network_free(sp_network *network)
{
    sp_free(network->joint_position);
    sp_free(network->joint_face);
    sp_free(network->strut_joint);
    sp_free(network->strut_thickness);
    sp_free(network->strut_height);
    sp_free(network->strut_up);
    sp_free(network->strut_piece);
    sp_free(network->panel);
    sp_free(network->strut_panel);
    sp_free(network->strut_role);
    sp_free(network->strut_end_extra);
    sp_free(network->strut_taper);
    sp_free(network->strut_zone);
    sp_free(network->strut_firm);
    sp_free(network->strut_bow);
    *network = (sp_network){0};
}

/* Elements follow bent struts with an error of the fourth power of their length (E91, E92), so that
 * four resolve a strut, its folds included; only long struts get more. `make mesh` measures what
 * the mesh changes (docs/theory.md, mesh). */
static const double element_aspect = 2.5, block_aspect = 1.25;
/* Pieces as short as this (between close joints) do not fold inside. */
static const int fewest_elements = 4, elements_of_block = 2, most_elements = 8;

int sp_network_elements(double free_length, double thickness)
{
    const int count = (int)ceil(free_length / (element_aspect * thickness));
    const int fewest =
        free_length <= block_aspect * thickness ? elements_of_block : fewest_elements;
    return count < fewest ? fewest : count > most_elements ? most_elements : count;
}

double sp_network_thickness_at(const sp_network *network, int strut, double along)
{
    const double thickness = network->strut_thickness[strut];
    if (!network->strut_end_extra) return thickness;
    const double taper = network->strut_taper[strut];
    if (!(taper > 0)) return thickness;
    const sp_layer_piece *piece = network->strut_piece ? &network->strut_piece[strut] : NULL;
    const double *zone = piece ? piece->zone : network->strut_zone + 2 * (size_t)strut;
    const double length = piece ? piece->length : sp_network_strut_length(network, strut);
    const double at = piece ? piece->from + along : along;
    double extra = 0;
    for (int k = 0; k < 2; k++) {
        const double from = fmax(0, (k ? length - at : at) - zone[k]);
        const double here = network->strut_end_extra[2 * strut + k] * fmax(0, 1 - from / taper);
        if (fabs(here) > fabs(extra)) extra = here;
    }
    return thickness + extra;
}

int sp_network_is_bond(const sp_network *network, int strut)
{
    return network->strut_piece && network->strut_piece[strut].layer < 0;
}

double sp_network_strut_length(const sp_network *network, int strut)
{
    const double *a = network->joint_position + 3 * (size_t)network->strut_joint[2 * strut];
    const double *b = network->joint_position + 3 * (size_t)network->strut_joint[2 * strut + 1];
    return sqrt((b[0] - a[0]) * (b[0] - a[0]) + (b[1] - a[1]) * (b[1] - a[1]) +
                (b[2] - a[2]) * (b[2] - a[2]));
}

double sp_network_free_length(const sp_network *network, int strut)
{
    return sp_network_strut_length(network, strut) - network->strut_zone[2 * strut] -
           network->strut_zone[2 * strut + 1];
}

sp_status sp_network_ends(sp_context *context, const sp_network *network, int **first, int **ends)
{
    const size_t joints = (size_t)network->joint_count, struts = (size_t)network->strut_count;
    *first = sp_alloc(joints + 2, sizeof **first);
    *ends = sp_alloc(2 * struts, sizeof **ends);
    if (!*first || !*ends)
        return sp_fail(context, SP_NO_MEMORY, "no memory for %zu struts", struts);
    int *start = *first + 1;
    for (size_t k = 0; k < 2 * struts; k++) start[network->strut_joint[k] + 1]++;
    for (size_t n = 0; n < joints; n++) start[n + 1] += start[n];
    for (size_t k = 0; k < 2 * struts; k++) (*ends)[start[network->strut_joint[k]]++] = (int)k;
    return SP_OK;
}
