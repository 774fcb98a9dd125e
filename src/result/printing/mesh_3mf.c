/* Write a 3MF package with one mesh object and the beam lattice of a spatial network in it. */
#include "printing/mesh_3mf.h"

#include <math.h>
#include <stdlib.h>

#include "drawing/names_3mf.h"
#include "drawing/package.h"
#include "printing/round_section.h"
#include "printing/taper.h"
#include "write/text.h"

#define XML "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
static const double shortest = 1e-3; /* minlength in mm; every strut of a network is longer */

static void print_head(FILE *stream, const sp_mesh_file *file)
{
    sp_print(stream, XML "<model unit=\"millimeter\" xml:lang=\"en-US\" xmlns=\"" SP_3MF_CORE "\"");
    if (file->beams) sp_print(stream, " xmlns:b=\"" SP_3MF_LATTICE "\"");
    if (file->lines) sp_print(stream, " xmlns:s=\"" SP_3MF_LINES "\"");
    sp_print(stream,
             ">\n<metadata name=\"Title\">%s</metadata>\n"
             "<metadata name=\"Application\">strutpress %s</metadata>\n"
             "<metadata name=\"Description\">%s</metadata>\n",
             file->title, sp_version(), file->description);
}

static void print_vertices(FILE *stream, const double *position, int count)
{
    for (int i = 0; i < count; i++) {
        const double *p = position + 3 * (size_t)i;
        sp_print(stream, "<vertex x=\"%.9g\" y=\"%.9g\" z=\"%.9g\"/>\n", sp_finite(p[0]),
                 sp_finite(p[1]), sp_finite(p[2]));
    }
}

static void print_cut_vertices(FILE *stream, const sp_network *network)
{
    double at[SP_CUTS_MAX];
    for (int s = 0; s < network->strut_count; s++) {
        const double *p = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
        const double *q = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
        const double length = sp_network_strut_length(network, s);
        const int count = sp_taper_cuts(network, s, at);
        for (int i = 0; i < count; i++) {
            double x[3];
            for (int k = 0; k < 3; k++) x[k] = p[k] + at[i] / length * (q[k] - p[k]);
            print_vertices(stream, x, 1);
        }
    }
}

static int count_cuts(const sp_network *network)
{
    double at[SP_CUTS_MAX];
    int count = 0;
    for (int s = 0; s < network->strut_count; s++) count += sp_taper_cuts(network, s, at);
    return count;
}

static void print_beam(FILE *stream, int from, int to, double first, double last)
{
    sp_print(stream, "<b:beam v1=\"%d\" v2=\"%d\" r1=\"%.9g\"", from, to, 0.5 * first);
    if (fabs(last - first) > 0) sp_print(stream, " r2=\"%.9g\"", 0.5 * last);
    sp_print(stream, "/>\n");
}

/* Write a strut as one beam, or as one for each of its pieces; `vertex` is that of its first cut.
 * Returns the next free vertex. */
static int print_strut(FILE *stream, const sp_network *network, int s, int vertex)
{
    double at[SP_CUTS_MAX], along = 0;
    const int count = sp_taper_cuts(network, s, at);
    int from = network->strut_joint[2 * s];
    for (int i = 0; i <= count; i++) {
        const double next = i < count ? at[i] : sp_network_strut_length(network, s);
        const int to = i < count ? vertex + i : network->strut_joint[2 * s + 1];
        print_beam(stream, from, to, sp_finite(sp_round_diameter_at(network, s, along)),
                   sp_finite(sp_round_diameter_at(network, s, next)));
        from = to, along = next;
    }
    return vertex + count;
}

static void print_beams(FILE *stream, const sp_network *network)
{
    int vertex = network->joint_count;
    sp_print(stream, "<b:beamlattice radius=\"%.9g\" minlength=\"%g\" cap=\"sphere\">\n<b:beams>\n",
             network->strut_count ? 0.5 * sp_round_diameter(network, 0) : 1, shortest);
    for (int s = 0; s < network->strut_count; s++) vertex = print_strut(stream, network, s, vertex);
    sp_print(stream, "</b:beams>\n</b:beamlattice>\n");
}

static void print_lines(FILE *stream, const sp_network *network)
{
    sp_print(stream, "<s:lines>\n");
    for (int s = 0; s < network->strut_count; s++) {
        const double *p = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
        const double *q = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
        sp_print(stream,
                 "<s:line x1=\"%.9g\" y1=\"%.9g\" x2=\"%.9g\" y2=\"%.9g\" width=\"%.9g\"/>\n",
                 sp_finite(p[0]), sp_finite(p[1]), sp_finite(q[0]), sp_finite(q[1]),
                 sp_finite(network->strut_thickness[s]));
    }
    sp_print(stream, "</s:lines>\n");
}

/* Joints come first, so that beams have the numbers of the network, then the cuts of struts with
 * thicker ends. */
static void print_mesh(FILE *stream, const sp_mesh_file *file)
{
    const sp_surface *surface = file->surface;
    const int joints = file->beams ? file->beams->joint_count : 0;
    const int before = joints + (file->beams ? count_cuts(file->beams) : 0);
    sp_print(stream, "<resources>\n<object id=\"1\" type=\"model\" name=\"coupon\">\n<mesh>\n"
                     "<vertices>\n");
    if (file->beams) {
        print_vertices(stream, file->beams->joint_position, joints);
        print_cut_vertices(stream, file->beams);
    }
    print_vertices(stream, surface->vertex, surface->vertex_count);
    sp_print(stream, "</vertices>\n<triangles>\n");
    for (int t = 0; t < surface->triangle_count; t++) {
        const int *corner = surface->triangle + 3 * (size_t)t;
        sp_print(stream, "<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>\n", before + corner[0],
                 before + corner[1], before + corner[2]);
    }
    sp_print(stream, "</triangles>\n");
    if (file->beams) print_beams(stream, file->beams);
    if (file->lines) print_lines(stream, file->lines);
    sp_print(stream, "</mesh>\n</object>\n</resources>\n"
                     "<build>\n<item objectid=\"1\"/>\n</build>\n</model>\n");
}

sp_status sp_mesh_3mf(sp_context *context, const sp_mesh_file *file, FILE *stream)
{
    static const char types[] =
        XML "<Types xmlns=\"" SP_OPC_TYPES "\">\n"
            "<Default Extension=\"rels\" ContentType=\"" SP_OPC_RELATIONS_TYPE "\"/>\n"
            "<Default Extension=\"model\" ContentType=\"" SP_3MF_MODEL_TYPE "\"/>\n</Types>\n";
    static const char relations[] = XML
        "<Relationships xmlns=\"" SP_OPC_RELATIONS "\">\n<Relationship Target=\"/" SP_3MF_MODEL_PART
        "\" Id=\"model\" Type=\"" SP_3MF_MODEL_RELATION "\"/>\n</Relationships>\n";
    char *model = NULL;
    size_t size = 0;
    FILE *text = open_memstream(&model, &size);
    if (!text) return sp_fail(context, SP_NO_MEMORY, "no memory for a 3MF model");
    print_head(text, file);
    print_mesh(text, file);
    int failed = ferror(text) != 0;
    failed |= fclose(text) != 0;
    sp_status status = SP_OK;
    if (failed) status = sp_fail(context, SP_NO_MEMORY, "no memory for a 3MF model");
    const sp_part parts[] = {{"[Content_Types].xml", types, sizeof types - 1},
                             {"_rels/.rels", relations, sizeof relations - 1},
                             {SP_3MF_MODEL_PART, model, size}};
    if (status == SP_OK) status = sp_package_write(context, parts, 3, stream);
    free(model);
    return status == SP_OK ? sp_stream_end(context, stream) : status;
}
