/* network.3mf: the struts of a spatial network as a beam lattice (ISO/IEC 25422 with the extension
 * of 2017/02), so that a chosen coupon can be printed. It holds the unloaded network as it is
 * pressed, with its flaws but for the bows; flaws.seed=0 gives the coupon as designed. Pressing is
 * along y of the file. */
#include <stdlib.h>

#include "drawing/names_3mf.h"
#include "drawing/package.h"
#include "caution/caution.h"
#include "writer/round_section.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define XML "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
static const double shortest = 1e-3; /* minlength in mm; every strut of a network is longer */

static void print_head(FILE *stream, const sp_result *result)
{
    const sp_network *network = &result->network;
    int rectangles = 0;
    for (int s = 0; s < network->strut_count; s++) rectangles += sp_strut_height(network, s) > 0;
    sp_print(stream, XML "<model unit=\"millimeter\" xml:lang=\"en-US\" xmlns=\"" SP_3MF_CORE
                         "\" xmlns:b=\"" SP_3MF_LATTICE "\" requiredextensions=\"b\">\n");
    sp_print(
        stream,
        "<metadata name=\"Title\">coupon of %.6g x %.6g x %.6g mm, pressed along y</metadata>\n"
        "<metadata name=\"Application\">strutpress %s</metadata>\n"
        "<metadata name=\"Description\">" SP_CAUTION_SAFETY,
        sp_finite(network->size[0]), sp_finite(network->size[1]), sp_finite(network->size[2]),
        sp_version());
    if (result->request.flaw_seed)
        sp_print(stream, " Flaws of seed %d are in it; flaws.seed=0 gives the coupon as designed.",
                 result->request.flaw_seed);
    if (rectangles)
        sp_print(stream, " %d rectangular struts are round here, with the same area.", rectangles);
    sp_print(stream, "</metadata>\n");
}

/* Where a strut with thicker ends is cut into beams: at the edges of its joint zones and where its tapers end. Distances from
 * joint A [mm], without the ends; returns how many. */
enum { CUTS_MAX = 4 };
static int find_cuts(const sp_network *network, int s, double at[CUTS_MAX])
{
    if (!network->strut_taper || !(network->strut_taper[s] > 0)) return 0;
    const sp_layer_piece *piece = network->strut_piece ? &network->strut_piece[s] : NULL;
    const double own = sp_network_strut_length(network, s), from = piece ? piece->from : 0;
    const double *zone = piece ? piece->zone : network->strut_zone + 2 * (size_t)s;
    const double length = piece ? piece->length : own;
    const double reach = fmin(network->strut_taper[s], 0.5 * (length - zone[0] - zone[1]));
    const double place[CUTS_MAX] = {zone[0], zone[0] + reach, length - zone[1] - reach,
                                    length - zone[1]};
    int count = 0;
    for (int i = 0; i < CUTS_MAX; i++) {
        const double here = place[i] - from, before = count ? at[count - 1] : 0;
        if (here > before + 2 * shortest && here < own - 2 * shortest) at[count++] = here;
    }
    return count;
}

static void print_cut_vertices(FILE *stream, const sp_network *network)
{
    double at[CUTS_MAX];
    for (int s = 0; network->strut_taper && s < network->strut_count; s++) {
        const double *p = network->joint_position + 3 * (size_t)network->strut_joint[2 * s];
        const double *q = network->joint_position + 3 * (size_t)network->strut_joint[2 * s + 1];
        const double length = sp_network_strut_length(network, s);
        const int count = find_cuts(network, s, at);
        for (int i = 0; i < count; i++) {
            double x[3];
            for (int k = 0; k < 3; k++) x[k] = p[k] + at[i] / length * (q[k] - p[k]);
            sp_print(stream, "<vertex x=\"%.9g\" y=\"%.9g\" z=\"%.9g\"/>\n", sp_finite(x[0]),
                     sp_finite(x[1]), sp_finite(x[2]));
        }
    }
}

static void print_beam(FILE *stream, int from, int to, double first, double last)
{
    sp_print(stream, "<b:beam v1=\"%d\" v2=\"%d\" r1=\"%.9g\"", from, to, 0.5 * first);
    if (fabs(last - first) > 0) sp_print(stream, " r2=\"%.9g\"", 0.5 * last);
    sp_print(stream, "/>\n");
}

/* A strut as one beam, or as one for each of its pieces; `vertex`: of its first cut. Returns the next free one. */
static int print_strut(FILE *stream, const sp_network *network, int s, int vertex)
{
    double at[CUTS_MAX], along = 0;
    const int count = find_cuts(network, s, at);
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

static void print_mesh(FILE *stream, const sp_network *network)
{
    int vertex = network->joint_count;
    sp_print(stream, "<vertices>\n");
    for (int n = 0; n < network->joint_count; n++) {
        const double *p = network->joint_position + 3 * (size_t)n;
        sp_print(stream, "<vertex x=\"%.9g\" y=\"%.9g\" z=\"%.9g\"/>\n", sp_finite(p[0]),
                 sp_finite(p[1]), sp_finite(p[2]));
    }
    print_cut_vertices(stream, network);
    sp_print(stream,
             "</vertices>\n<triangles/>\n"
             "<b:beamlattice radius=\"%.9g\" minlength=\"%g\" cap=\"sphere\">\n<b:beams>\n",
             network->strut_count ? 0.5 * sp_round_diameter(network, 0) : 1, shortest);
    for (int s = 0; s < network->strut_count; s++) vertex = print_strut(stream, network, s, vertex);
    sp_print(stream, "</b:beams>\n</b:beamlattice>\n");
}

sp_status sp_writer_network_3mf(sp_context *context, const sp_result *result, FILE *stream)
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
    print_head(text, result);
    sp_print(text, "<resources>\n<object id=\"1\" type=\"model\" name=\"coupon\">\n<mesh>\n");
    print_mesh(text, &result->network);
    sp_print(text, "</mesh>\n</object>\n</resources>\n"
                   "<build>\n<item objectid=\"1\"/>\n</build>\n</model>\n");
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
