/* Struts as numbers for the page; see reply.h. */
#include <math.h>

#include "reply/reply.h"
#include "write/json.h"

enum { LINES_MAX = 40000 }; /* lines of one picture; of more struts only the ends are given */
enum {
    STRUTS_MAX = 12000
}; /* struts of one picture: when walls have a finer mesh, only every n-th line is given */
static const double unit = 1e-4; /* [mm]: places are rounded to it */

static json_t *rounded(double value)
{
    return sp_json_number(isfinite(value) ? unit * round(value / unit) : 0);
}

static void put_line(json_t *lines, const double *a, const double *b, double thickness, int *failed)
{
    for (int k = 0; k < 3; k++) sp_json_append(lines, rounded(a[k]), failed);
    for (int k = 0; k < 3; k++) sp_json_append(lines, rounded(b[k]), failed);
    sp_json_append(lines, rounded(thickness), failed);
}

static void put_size(json_t *to, const double size[3], int *failed)
{
    json_t *all = json_array();
    for (int k = 0; k < 3; k++) sp_json_append(all, rounded(size[k]), failed);
    sp_json_put(to, "size_mm", all, failed);
}

static const char *kind_of(const sp_network *network)
{
    return network->built == SP_BUILT_SOLID    ? "solid"
           : network->built == SP_BUILT_PANELS ? "panel"
           : network->dimension == 3           ? "spatial"
                                               : "planar";
}

/* For walls that stand along the load, give the lines on the lower platen alone. */
static int is_drawn(const sp_network *network, const double *a, const double *b)
{
    return !network->panel || (fabs(a[1]) < 1e-9 && fabs(b[1]) < 1e-9);
}

void sp_lines_of_network(json_t *to, const sp_network *network, int *failed)
{
    json_t *lines = json_array();
    for (int s = 0; s < network->strut_count; s++) {
        const double *a = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
        const double *b = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
        const double thickness = network->panel && network->strut_panel[s].panel >= 0
                                     ? network->panel[network->strut_panel[s].panel].thickness
                                     : network->strut_thickness[s];
        if (is_drawn(network, a, b)) put_line(lines, a, b, thickness, failed);
    }
    put_size(to, network->size, failed);
    sp_json_put(to, "kind", sp_json_text(kind_of(network)), failed);
    sp_json_put(to, "lines", lines, failed);
}

json_t *sp_lines_of_shape(const sp_desk_shape *shape, int *failed)
{
    json_t *to = json_object(), *lines = json_array();
    const int coarse = shape->point_count > LINES_MAX;
    double deepest = 0;
    for (int p = 0; p < shape->point_count; p++)
        deepest = fmax(deepest, fabs(shape->position[3 * (size_t)p + 2]));
    const int every = 1 + shape->strut_count / STRUTS_MAX;
    for (int s = 0; s < shape->strut_count; s += every) {
        const int first = shape->first_point[s], last = shape->first_point[s + 1] - 1;
        const int step = coarse && last > first ? last - first : 1;
        for (int p = first; p + step <= last; p += step)
            put_line(lines, shape->position + 3 * (size_t)p,
                     shape->position + 3 * (size_t)(p + step), shape->thickness[s], failed);
    }
    put_size(to, shape->size, failed);
    sp_json_put(to, "kind", sp_json_text(deepest > 1e-9 ? "spatial" : "planar"), failed);
    sp_json_put(to, "lines", lines, failed);
    sp_json_put(to, "shortening_mm", rounded(shape->shortening), failed);
    sp_json_put(to, "force_N", sp_json_number(shape->force), failed);
    sp_json_put(to, "strain", sp_json_number(shape->shortening / shape->size[1]), failed);
    sp_json_put(to, "step", json_integer(shape->step), failed);
    return to;
}
