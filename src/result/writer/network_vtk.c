/* Write network.vtk: the unloaded network as it is pressed (moved joints, scattered thickness,
 * missing struts; bows are left out, struts are straight), as legacy VTK for any reader and for
 * `pattern: drawn`. */
#include "writer/network_vtk.h"
#include "printing/round_section.h"
#include "write/text.h"
#include "writer/writer_list.h"

static void print_values(FILE *stream, const sp_network *network, const char *name,
                         double (*value)(const sp_network *network, int strut))
{
    sp_print(stream, "SCALARS %s double 1\nLOOKUP_TABLE default\n", name);
    for (int s = 0; s < network->strut_count; s++)
        sp_print(stream, "%.9g\n", sp_finite(value(network, s)));
}

static double thickness(const sp_network *network, int strut)
{
    return network->strut_thickness[strut];
}

static double role(const sp_network *network, int strut)
{
    return network->strut_role[strut];
}

void sp_vtk_network(const sp_network *network, const char *title, FILE *stream)
{
    sp_print(stream, "# vtk DataFile Version 3.0\n%s\nASCII\nDATASET POLYDATA\nPOINTS %d double\n",
             title, network->joint_count);
    for (int n = 0; n < network->joint_count; n++) {
        const double *p = network->joint_position + 3 * (size_t)n;
        sp_print(stream, "%.9g %.9g %.9g\n", sp_finite(p[0]), sp_finite(p[1]), sp_finite(p[2]));
    }
    sp_print(stream, "LINES %d %d\n", network->strut_count, 3 * network->strut_count);
    for (int s = 0; s < network->strut_count; s++)
        sp_print(stream, "2 %d %d\n", network->strut_joint[2 * s], network->strut_joint[2 * s + 1]);
    sp_print(stream, "CELL_DATA %d\n", network->strut_count);
    if (network->strut_height) {
        print_values(stream, network, "diameter", sp_round_diameter);
        print_values(stream, network, "height", sp_strut_height);
    }
    print_values(stream, network, "thickness", thickness);
    print_values(stream, network, "role", role);
}

sp_status sp_writer_network_vtk(sp_context *context, const sp_result *result, FILE *stream)
{
    sp_vtk_network(
        &result->network,
        "strutpress, mm: predictions for choosing coupons to print, no proof of protection",
        stream);
    return sp_stream_end(context, stream);
}
