/* The finished network: lengths, release. */
#include <strutpress/network.h>

#include <math.h>

#include "base/alloc.h"

void sp_network_free(sp_network *network)
{
    sp_free(network->joint_position);
    sp_free(network->joint_face);
    sp_free(network->strut_joint);
    sp_free(network->strut_thickness);
    sp_free(network->strut_height);
    sp_free(network->strut_up);
    sp_free(network->strut_role);
    sp_free(network->strut_zone);
    sp_free(network->strut_bow);
    *network = (sp_network){0};
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
