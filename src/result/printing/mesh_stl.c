/* Write binary STL as its only description has it (StereoLithography Interface Specification, 3D
 * Systems, 1989; second hand, from readers of such files): 80 bytes, the number of triangles, then
 * for each triangle its normal and three corners as 32-bit floats and two bytes without meaning;
 * the lowest byte comes first. */
#include <math.h>
#include <stdint.h>
#include <string.h>

#include "printing/mesh_3mf.h"
#include "write/text.h"

static unsigned char *put_word(unsigned char *to, uint32_t word)
{
    for (int k = 0; k < 4; k++) *to++ = (unsigned char)(word >> 8 * k);
    return to;
}

static unsigned char *put_float(unsigned char *to, double value)
{
    const float narrow = (float)sp_finite(value);
    uint32_t word;
    memcpy(&word, &narrow, sizeof word);
    return put_word(to, word);
}

static void normal_of(const double *a, const double *b, const double *c, double n[3])
{
    const double u[3] = {b[0] - a[0], b[1] - a[1], b[2] - a[2]};
    const double v[3] = {c[0] - a[0], c[1] - a[1], c[2] - a[2]};
    n[0] = u[1] * v[2] - u[2] * v[1];
    n[1] = u[2] * v[0] - u[0] * v[2];
    n[2] = u[0] * v[1] - u[1] * v[0];
    const double length = sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
    for (int k = 0; k < 3; k++) n[k] = length > 0 ? n[k] / length : 0;
}

sp_status sp_mesh_stl(sp_context *context, const sp_surface *surface, FILE *stream)
{
    unsigned char head[84] = "coupon, 1 unit is 1 mm; ";
    snprintf((char *)head + strlen((char *)head), 50, "strutpress %s", sp_version());
    put_word(head + 80, (uint32_t)surface->triangle_count);
    fwrite(head, 1, sizeof head, stream);
    for (int t = 0; t < surface->triangle_count; t++) {
        unsigned char record[50] = {0}, *to = record;
        const double *corner[3];
        double normal[3];
        for (int k = 0; k < 3; k++)
            corner[k] = surface->vertex + 3 * (size_t)surface->triangle[3 * (size_t)t + (size_t)k];
        normal_of(corner[0], corner[1], corner[2], normal);
        for (int k = 0; k < 3; k++) to = put_float(to, normal[k]);
        for (int i = 0; i < 9; i++) to = put_float(to, corner[i / 3][i % 3]);
        fwrite(record, 1, sizeof record, stream);
    }
    return sp_stream_end(context, stream);
}
