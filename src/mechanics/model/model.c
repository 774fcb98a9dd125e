/* This file meshes a network: struts are cut into elements, with joint zones as rigid arms, and
 * chains for contact and pictures. */
#include <math.h>
#include <string.h>

#include "base/alloc.h"
#include "base/poll.h"
#include "base/so3.h"
#include "model/cut.h"
#include "section/panel.h"
#include "section/skin.h"

static const double work_of_element = 2000; /* operations to set its section and fibres */
static const double least_sheared = 0.2;    /* share of the length that bends */
static const double most_spread = 2;        /* as far as solid elements were asked */
static const double level_share = 1e-3;     /* off an axis: less is along the other */
/* These were measured on blocks of 4^3 to 16^3 cells and on square infills of up to 9000 struts:
 * 6.5 to 8 kB and 3 to 4.4 kB, the more, the larger (make bench-cells, make bench). */
static const double bytes_per_element[2] = {3000, 6500};

/* Struts in space that are at most this many thicknesses long bend without folds, and three
 * elements are enough for them: blocks of 2^3 cells of 20 % with three are within 2.6 % of those
 * with eight up to 60 % strain (docs/theory.md, mesh). */
static const double stout_aspect = 5;
static const int elements_of_stout = 3;

double sp_model_bytes(int dimension, double elements)
{
    return bytes_per_element[dimension - 2] * elements;
}

int sp_model_elements(const sp_model_options *options, int in_space, double free_length,
                      double thickness)
{
    if (options->elements_per_strut > 0) return options->elements_per_strut;
    const int count = sp_network_elements(free_length, thickness);
    const int is_stout = in_space && free_length <= stout_aspect * thickness;
    return is_stout && count > elements_of_stout ? elements_of_stout : count;
}

/* Return the free length of the whole strut to which a piece between bonds belongs [mm]. */
static double free_length_of(const sp_layer_piece *piece)
{
    return piece->length - piece->zone[0] - piece->zone[1];
}

/* Return the number of elements of a piece between bonds, so that the whole strut is meshed as in a
 * coupon without layers; a bow takes two elements. */
static int elements_of_piece(const sp_model_options *options, const sp_layer_piece *piece,
                             double length, double thickness, double bow)
{
    const double whole = free_length_of(piece);
    const int count = sp_model_elements(options, 0, whole, thickness);
    if (length >= whole) return count;
    return (int)fmax(bow != 0 ? 2 : 1, ceil(count * length / whole - 1e-9));
}

static int is_tapered(const sp_network *network, int strut)
{
    return network->strut_taper && network->strut_taper[strut] > 0 &&
           (fabs(network->strut_end_extra[2 * strut]) > 0 ||
            fabs(network->strut_end_extra[2 * strut + 1]) > 0);
}

/* Return how many elements a strut has in the model `like`, which this one is to match. */
static int elements_of_like(const sp_model *like, int strut)
{
    return like->strut_element[strut + 1] - like->strut_element[strut];
}

static int elements_of_whole(const sp_network *network, const sp_model_options *options, int strut)
{
    if (options->like) return elements_of_like(options->like, strut);
    return sp_model_elements(options, network->dimension == 3 && !network->strut_piece,
                             sp_network_free_length(network, strut),
                             network->strut_thickness[strut]);
}

/* Find where a tapered strut is cut, as shares of its free length: its ends into pieces of half
 * their taper, what is between them like any strut. `at` has room
 * for most_cuts + 1 numbers from 0 to 1. Returns the number of elements, 0 for a strut that is cut
 * evenly. */
enum { TAPER_ELEMENTS = 2 };
static int cut_unevenly(const sp_network *network, const sp_model_options *options, int strut,
                        double at[SP_CUTS_MAX + 1])
{
    const double free_length = sp_network_free_length(network, strut);
    if (options->elements_per_strut > 0 || network->strut_piece || !is_tapered(network, strut))
        return 0;
    double share[2];
    for (int k = 0; k < 2; k++)
        share[k] = fabs(network->strut_end_extra[2 * strut + k]) > 0
                       ? fmin(0.5, network->strut_taper[strut] / free_length)
                       : 0;
    const double between = fmax(0, 1 - share[0] - share[1]);
    const double thickness = network->strut_thickness[strut];
    int count = 0;
    at[0] = 0;
    for (int i = 1; share[0] > 0 && i <= TAPER_ELEMENTS; i++)
        at[++count] = share[0] * i / TAPER_ELEMENTS;
    if (between * free_length > 0.25 * thickness) {
        const int middle = (int)fmax(share[0] > 0 && share[1] > 0 ? 2 : 3,
                                     sp_network_elements(between * free_length, thickness) - 2);
        for (int i = 1; i <= middle; i++) at[++count] = share[0] + between * i / middle;
    }
    for (int i = 1; share[1] > 0 && i <= TAPER_ELEMENTS; i++)
        at[++count] = 1 - share[1] * (1 - (double)i / TAPER_ELEMENTS);
    at[count] = 1;
    return count;
}

static int elements_of(const sp_network *network, const sp_model_options *options, int strut)
{
    double at[SP_CUTS_MAX + 1];
    if (options->like && !is_tapered(network, strut)) return elements_of_like(options->like, strut);
    const int cut = cut_unevenly(network, options, strut, at);
    if (cut) return cut;
    const double thickness = network->strut_thickness[strut];
    const double length = sp_network_free_length(network, strut);
    if (network->strut_panel) return 1; /* a bar of a panel cut in two would fold in the panel */
    if (!network->strut_piece || network->strut_piece[strut].layer < 0)
        return elements_of_whole(network, options, strut);
    return elements_of_piece(options, &network->strut_piece[strut], length, thickness,
                             network->strut_bow[strut]);
}

/* Return 1 when a strut has two elements at its ends that are asked at two places each, as its law
 * yields. E222 */
static int has_hinges(const sp_network *network, const sp_law *law, int strut, int elements)
{
    return network->dimension == 2 && law->row && law->row->history && elements > 1 &&
           !network->strut_piece && !is_tapered(network, strut);
}

/* Make room for the sections of elements that have another one than their strut, and for the
 * thicknesses of tapered ends. */
static sp_status allocate_ends(sp_context *context, sp_model *model, int struts)
{
    const int tapers = model->network->strut_taper != NULL;
    if (tapers || model->section_count > struts)
        model->element_section = sp_alloc((size_t)model->element_count, sizeof(int));
    if (tapers) model->piece_thickness = sp_alloc((size_t)model->point_count, sizeof(double));
    if ((model->element_section || (!tapers && model->section_count == struts)) &&
        (model->piece_thickness || !tapers))
        return SP_OK;
    return sp_fail(context, SP_NO_MEMORY, "no memory for a mesh of %d elements",
                   model->element_count);
}

static sp_status allocate(sp_context *context, sp_model *model, int struts)
{
    const size_t nodes = (size_t)model->node_count, points = (size_t)model->point_count;
    const size_t elements = (size_t)model->element_count, strut_count = (size_t)struts;
    const int planar = model->dimension == 2;
    model->reference = sp_alloc((size_t)model->values * nodes, sizeof(double));
    model->hold = sp_alloc((size_t)model->unknowns * nodes, 1);
    model->unknown = sp_alloc((size_t)model->unknowns * nodes, sizeof(int));
    if (planar) {
        model->element = sp_alloc(elements, sizeof *model->element);
        model->section = sp_alloc((size_t)model->section_count, sizeof *model->section);
    } else {
        model->spatial = sp_alloc(elements, sizeof *model->spatial);
        model->spatial_section =
            sp_alloc((size_t)model->section_count, sizeof *model->spatial_section);
    }
    model->strut_element = sp_alloc(strut_count + 1, sizeof(int));
    model->strut_width = sp_alloc(strut_count, sizeof(double));
    model->strut_foot = sp_alloc(strut_count, sizeof(double));
    model->chain_first = sp_alloc(strut_count + 1, sizeof(int));
    model->point_node = sp_alloc(points, sizeof(int));
    model->point_strut = sp_alloc(points, sizeof(int));
    model->point_arm = sp_alloc((size_t)model->dimension * points, sizeof(double));
    model->point_arc = sp_alloc(points, sizeof(double));
    const int table =
        planar ? model->element && model->section : model->spatial && model->spatial_section;
    if (!model->reference || !model->hold || !model->unknown || !table || !model->strut_element ||
        !model->strut_width || !model->strut_foot || !model->chain_first || !model->point_node ||
        !model->point_strut || !model->point_arm || !model->point_arc)
        return sp_fail(context, SP_NO_MEMORY, "no memory for a mesh of %d elements",
                       model->element_count);
    return allocate_ends(context, model, struts);
}

void sp_cut_add_point(sp_model *model, sp_cut *next, int node, int strut, const double *arm,
                      double arc)
{
    const int at = next->point++;
    model->point_node[at] = node;
    model->point_strut[at] = strut;
    for (int d = 0; arm && d < model->dimension; d++)
        model->point_arm[model->dimension * at + d] = arm[d];
    model->point_arc[at] = arc;
}

/* Let a platen hold the height of a node, or all its unknowns. */
static void hold_node(sp_model *model, int node, int face, int platens)
{
    unsigned char *hold = model->hold + model->unknowns * node;
    if (platens == SP_PLATENS_BONDED)
        for (int k = 0; k < model->unknowns; k++) hold[k] = SP_HELD;
    hold[1] = face & SP_FACE_UPPER ? SP_MOVED : SP_HELD;
}

/* Hold stacked layers upright: a layer stands on a platen with its whole depth, so its joints there
 * do not tilt across it (about x). */
static void hold_upright(sp_model *model)
{
    const sp_network *network = model->network;
    for (int s = 0; network->strut_piece && s < network->strut_count; s++)
        for (int k = 0; network->strut_piece[s].layer >= 0 && k < 2; k++) {
            const int j = network->strut_joint[2 * s + k];
            if (network->joint_face[j]) model->hold[model->unknowns * j + 3] = SP_HELD;
        }
}

/* Hold panels upright: a panel stands on a platen with its whole thickness, and so does the foot of
 * a bead, so neither tilts there about a level axis. */
static void hold_panels(sp_model *model)
{
    const sp_network *network = model->network;
    const int lies = network->strut_panel || network->built == SP_BUILT_STACK;
    for (int j = 0; lies && j < network->joint_count; j++) {
        unsigned char *hold = model->hold + SP_SPATIAL_UNKNOWNS * j;
        if (network->joint_face[j]) hold[3] = hold[5] = SP_HELD;
    }
}

/* Hold the edges of panels on skins: a skin does not stretch, so on its inner face they sink and
 * tilt (sp_model_tilts), and do nothing else. */
static void hold_on_skins(sp_model *model)
{
    const sp_network *network = model->network;
    for (int s = 0; network->skin > 0 && s < network->strut_count; s++) {
        if (!network->strut_panel[s].is_foot) continue;
        const int *joint = network->strut_joint + 2 * s;
        unsigned char *hold =
            model->hold + SP_SPATIAL_UNKNOWNS * joint[network->joint_face[joint[0]] ? 1 : 0];
        hold[0] = hold[2] = hold[4] = SP_HELD;
    }
}

/* Hold joints on planes of symmetry: they stay in the plane, and turn only about the direction
 * across it. E267 */
static void hold_mirrors(sp_model *model)
{
    static const double on_side = 1e-6; /* [mm] */
    const sp_network *network = model->network;
    for (int j = 0; network->mirror && j < network->joint_count; j++)
        for (int k = 0; k < 3; k += 2) {
            const double at = network->joint_position[3 * j + k];
            unsigned char *hold = model->hold + SP_SPATIAL_UNKNOWNS * j;
            if (at > on_side && at < network->size[k] - on_side) continue;
            hold[k] = hold[4] = hold[5 - k] = SP_HELD;
        }
}

/* Hold the joint zones of a strut in space that lies on a platen: they lie on it, too, so their
 * joints do not tilt along the strut. */
static void hold_flat_zones(sp_model *model, int strut)
{
    const sp_network *network = model->network;
    const int *joint = network->strut_joint + 2 * strut;
    const double *a = network->joint_position + 3 * joint[0],
                 *b = network->joint_position + 3 * joint[1];
    const double length = sp_network_strut_length(network, strut);
    for (int end = 0; end < 2; end++) {
        unsigned char *hold = model->hold + SP_SPATIAL_UNKNOWNS * joint[end];
        if (network->strut_zone[2 * strut + end] <= 0) continue;
        if (fabs(b[0] - a[0]) > level_share * length) hold[5] = SP_HELD;
        if (fabs(b[2] - a[2]) > level_share * length) hold[3] = SP_HELD;
    }
}

/* Find the middles of the pieces, x y z each: that of the coupon where there is one piece, else
 * those of the boxes around the pieces. `piece` gives the piece of each joint; `high` is work
 * space, 3 per piece. */
static void find_middles(const sp_model *model, const int *piece, int count, double *middle,
                         double *high)
{
    const sp_network *network = model->network;
    const int depth = model->dimension == 3;
    if (count == 1) {
        middle[0] = network->size[0] / 2, middle[2] = depth ? network->size[2] / 2 : 0;
        return;
    }
    for (int i = 0; i < 3 * count; i++) middle[i] = INFINITY, high[i] = -INFINITY;
    for (int j = 0; j < network->joint_count; j++)
        for (int d = 0; d < 3; d++) {
            const int i = 3 * piece[j] + d;
            middle[i] = fmin(middle[i], network->joint_position[3 * j + d]);
            high[i] = fmax(high[i], network->joint_position[3 * j + d]);
        }
    for (int i = 0; i < 3 * count; i++) middle[i] = 0.5 * (middle[i] + high[i]);
}

/* Pick for each piece the joint on the face that is nearest to `from` (x y z for each piece), or
 * furthest from it (`sign` -1). It is written into `pick` (1 per piece), which stays as it was
 * where no joint is nearer or further than `off`. */
static void pick_joints(const sp_network *network, const int *piece, int face, const double *from,
                        double sign, int *pick, double *off)
{
    for (int j = 0; j < network->joint_count; j++) {
        const int k = piece[j];
        if (network->joint_face[j] != face) continue;
        const double *p = network->joint_position + 3 * j;
        const double far = hypot(p[0] - from[3 * k], p[2] - from[3 * k + 2]);
        if (sign * far < off[k]) off[k] = sign * far, pick[k] = j;
    }
}

/* Nothing stops a piece between two platens that hold nothing sideways from drifting and turning,
 * and nothing drives it. (A piece that slides against friction is the business of
 * friction_drift.c.) So hold the lower joint nearest to its middle sideways and, in space, the
 * lower joint furthest from that one in the direction across; for a piece with one foot, an upper
 * joint. `piece` gives the piece of each joint; `pick` and `work` are work space, 1 and 7 per
 * piece. */
static void stop_drift(sp_model *model, const int *piece, int count, int *pick, double *work)
{
    const sp_network *network = model->network;
    double *from = work, *off = work + 3 * count;
    find_middles(model, piece, count, from, work + 4 * count);
    for (int k = 0; k < count; k++) off[k] = INFINITY, pick[k] = -1;
    pick_joints(network, piece, SP_FACE_LOWER, from, 1, pick, off);
    for (int k = 0; k < count; k++) {
        off[k] = pick[k] < 0 ? -INFINITY : 0; /* a piece that stands on nothing is left to itself */
        if (pick[k] < 0) continue;
        model->hold[model->unknowns * pick[k]] = SP_HELD;
        if (model->dimension == 3) model->hold[model->unknowns * pick[k] + 2] = SP_HELD;
        memcpy(from + 3 * k, network->joint_position + 3 * pick[k], 3 * sizeof *from);
        pick[k] = -1;
    }
    if (model->dimension == 2) return;
    pick_joints(network, piece, SP_FACE_LOWER, from, -1, pick, off);
    for (int k = 0; k < count; k++)
        if (pick[k] >= 0) off[k] = -INFINITY; /* this piece needs no upper joint */
    pick_joints(network, piece, SP_FACE_UPPER, from, -1, pick, off);
    for (int k = 0; k < count; k++) {
        if (pick[k] < 0) continue;
        const double *p = network->joint_position + 3 * pick[k], *m = from + 3 * k;
        model->hold[model->unknowns * pick[k] + (fabs(p[0] - m[0]) > fabs(p[2] - m[2]) ? 2 : 0)] =
            SP_HELD;
    }
}

/* Return the number of pieces with joints on both faces; `faces` is work space, 1 per piece. */
static int count_carriers(const sp_network *network, const int *piece, int count, int *faces)
{
    int carriers = 0;
    for (int k = 0; k < count; k++) faces[k] = 0;
    for (int j = 0; j < network->joint_count; j++) faces[piece[j]] |= network->joint_face[j];
    for (int k = 0; k < count; k++) carriers += faces[k] == (SP_FACE_LOWER | SP_FACE_UPPER);
    return carriers;
}

static sp_status treat_pieces(sp_context *context, sp_model *model, int platens)
{
    const size_t joints = (size_t)model->network->joint_count;
    int *piece = sp_alloc(2 * joints, sizeof *piece);
    double *work = sp_alloc(joints, 7 * sizeof *work);
    sp_status status = SP_OK;
    if (piece && work) {
        const int count = sp_network_pieces(model->network, piece);
        model->carriers = count_carriers(model->network, piece, count, piece + joints);
        if (platens == SP_PLATENS_SLIDING && !model->network->mirror)
            stop_drift(model, piece, count, piece + joints, work);
    } else {
        status = sp_fail(context, SP_NO_MEMORY, "no memory for %zu joints", joints);
    }
    sp_free(piece);
    sp_free(work);
    return status;
}

/* Let platens hold the joints on the faces, and all of a strut between two of them that lies on the
 * face: in the plane walls and plates, in space any strut. */
static void hold_faces(sp_model *model, int platens)
{
    const sp_network *network = model->network;
    for (int j = 0; j < network->joint_count; j++)
        if (network->joint_face[j]) hold_node(model, j, network->joint_face[j], platens);
    for (int s = 0; s < network->strut_count; s++) {
        const int *joint = &network->strut_joint[2 * s];
        const int face = network->joint_face[joint[0]] & network->joint_face[joint[1]];
        if (!face || (model->dimension == 2 && network->strut_role[s] != SP_ROLE_WALL)) continue;
        for (int e = model->strut_element[s]; e < model->strut_element[s + 1]; e++)
            for (int k = 0; k < 2; k++)
                hold_node(model, sp_model_nodes(model, e)[k], face, platens);
        if (model->dimension == 3 && !network->strut_piece) hold_flat_zones(model, s);
    }
    hold_upright(model);
    hold_panels(model);
    hold_on_skins(model);
    hold_mirrors(model);
}

static void number_unknowns(sp_model *model)
{
    model->unknown_count = 0;
    for (int i = 0; i < model->unknowns * model->node_count; i++)
        model->unknown[i] = model->hold[i] == SP_FREE ? model->unknown_count++ : -1;
    for (int n = 0; model->dimension == 3 && n < model->node_count; n++)
        if (sp_model_lone_spin(model, n) >= 0) model->some_follow = 1;
}

static void count_parts(sp_model *model, const sp_law *law, const sp_model_options *options)
{
    const sp_network *network = model->network;
    model->node_count = network->joint_count;
    model->thinnest = INFINITY;
    for (int s = 0; s < network->strut_count; s++) {
        const int count = elements_of(network, options, s);
        const int hinges = has_hinges(network, law, s, count);
        const double *zone = network->strut_zone + 2 * s;
        model->element_count += count;
        model->node_count += count - 1;
        model->point_count += count + 1 + (hinges || zone[0] > 0) + (hinges || zone[1] > 0);
        model->section_count += 1 + (is_tapered(network, s) ? count : 0) + hinges;
        for (int k = 0; k < 2; k++) {
            const double extra = network->strut_taper ? network->strut_end_extra[2 * s + k] : 0;
            const double thickness = network->strut_thickness[s];
            model->thinnest = fmin(model->thinnest, fmin(thickness, thickness + extra));
            model->thickest = fmax(model->thickest, fmax(thickness, thickness + extra));
        }
    }
}

/* Find what the bodies of the joints of a strut do. *spread is the length that stretches over the
 * length that bends, at most 2; *sheared is the length that shears over the length that bends, at
 * least a fifth. E148 */
static void joint_bodies(const sp_network *network, int strut, double *spread, double *sheared)
{
    double free_length = sp_network_free_length(network, strut);
    double length = sp_network_strut_length(network, strut);
    *spread = *sheared = 1;
    if (!network->strut_firm) return;
    const double *firm = network->strut_firm + 4 * strut;
    if (network->strut_piece && network->strut_piece[strut].layer >= 0) {
        const sp_layer_piece *piece = &network->strut_piece[strut]; /* like all of its strut */
        free_length = free_length_of(piece), length = piece->length, firm = piece->firm;
    }
    const double most = length - firm[1] - firm[3];
    *spread = fmin((length - firm[0] - firm[2]) / free_length, most_spread);
    *sheared = fmin(fmax(most / free_length, least_sheared), 1);
}

/* Set the section of a bar of a panel. All bars together have three times the volume of the panel,
 * and lie under a platen as wide as it. E100 */
static double set_panel(sp_model *model, const sp_law *law, const sp_model_options *options,
                        int strut)
{
    const sp_network *network = model->network;
    sp_spatial_section *section = &model->spatial_section[strut];
    const double width = network->strut_height[strut], thickness = network->strut_thickness[strut];
    const double *flank = network->strut_panel[strut].flank;
    if (network->strut_panel[strut].is_foot) {
        sp_skin_section(section, law, width, thickness, network->skin);
    } else if (fabs(flank[0] - 1) > 0 || fabs(flank[1] - 1) > 0) { /* what bends and pulls alike */
        const double even = thickness * sqrt(flank[1] / flank[0]);
        sp_panel_section(section, law, width * flank[0] * thickness / even, even,
                         network->strut_panel[strut].rim, options->section_points);
    } else {
        sp_panel_section(section, law, width, thickness, network->strut_panel[strut].rim,
                         options->section_points);
    }
    model->strut_width[strut] = network->strut_panel[strut].line_width;
    model->strut_foot[strut] = network->strut_height[strut] / 3;
    return section->axial_stiffness;
}

/* Set section `at` of a strut to the thickness `thickness`; returns its axial stiffness. */
static double make_section(sp_model *model, const sp_law *law, const sp_model_options *options,
                           int strut, double thickness, int at)
{
    const sp_network *network = model->network;
    double spread, sheared;
    joint_bodies(network, strut, &spread, &sheared);
    if (model->dimension == 2) {
        sp_section *section = &model->section[at];
        sp_section_rectangle(section, law, thickness, model->depth, options->section_points);
        sp_section_spread(section, spread);
        section->shear_stiffness /= sheared;
        return section->axial_stiffness;
    }
    sp_spatial_section *section = &model->spatial_section[at];
    const double height = network->strut_height[strut];
    if (height > 0)
        sp_spatial_rectangle(section, law, thickness, height, options->section_points);
    else
        sp_spatial_circle(section, law, thickness, options->section_points / 2);
    if (network->strut_piece && network->strut_piece[strut].layer >= 0)
        sp_spatial_hold_warping(section, free_length_of(&network->strut_piece[strut]));
    if (options->shear_factor > 0) sp_spatial_set_shear_factor(section, options->shear_factor);
    sp_spatial_spread(section, spread);
    for (int i = 0; i < 2; i++) section->shear_stiffness[i] /= sheared;
    return section->axial_stiffness;
}

static void set_section(sp_model *model, const sp_law *law, const sp_model_options *options,
                        int strut)
{
    const sp_network *network = model->network;
    const double thickness = network->strut_thickness[strut];
    double *width = &model->strut_width[strut], stiffness;
    if (network->strut_panel) {
        model->stiffest = fmax(model->stiffest, set_panel(model, law, options, strut));
        return;
    }
    stiffness = make_section(model, law, options, strut, thickness, strut);
    if (model->dimension == 2)
        *width = model->depth;
    else
        *width =
            network->strut_height[strut] > 0 ? network->strut_height[strut] : M_PI / 4 * thickness;
    model->strut_foot[strut] = *width;
    model->stiffest = fmax(model->stiffest, stiffness);
}

/* Return the thickness of the even bar that bends as much, under the same moment at both ends, as a
 * piece of a strut that goes from one thickness to another. For a cone it follows from the mean of
 * d^-4, for a wedge from that of t^-3. E191 */
static double even_thickness(double one, double other, int round)
{
    const double product = one * other;
    if (!round) return cbrt(2 * product * product / (one + other));
    return pow(3 * product * product * product / (one * one + product + other * other), 0.25);
}

/* Set the sections of the elements of a tapered strut, from section `next` on, and the thickness of
 * its chain; returns the next free section. Where a taper begins or ends inside an element, it
 * takes the mean over each half. */
static int taper_sections(sp_model *model, const sp_law *law, const sp_model_options *options,
                          int strut, const double *share, int next)
{
    const sp_network *network = model->network;
    const int first = model->strut_element[strut], count = model->strut_element[strut + 1] - first;
    const int round = network->strut_height && !(network->strut_height[strut] > 0);
    const double zone = network->strut_zone[2 * strut],
                 free_length = sp_network_free_length(network, strut);
    for (int k = 0; k < count; k++) {
        const double from = share ? share[k] : (double)k / count;
        const double to = share ? share[k + 1] : (double)(k + 1) / count;
        double end[3];
        for (int i = 0; i < 3; i++)
            end[i] = sp_network_thickness_at(network, strut,
                                             zone + free_length * (from + (to - from) * i / 2));
        const double even = even_thickness(even_thickness(end[0], end[1], round),
                                           even_thickness(end[1], end[2], round), round);
        model->element_section[first + k] = next;
        model->stiffest =
            fmax(model->stiffest, make_section(model, law, options, strut, even, next++));
    }
    return next;
}

/* Find the mean thickness of every piece of the chain of a strut. */
static void taper_chain(sp_model *model, int strut)
{
    const int last = model->chain_first[strut + 1] - 1;
    for (int k = model->chain_first[strut]; k <= last; k++) {
        const double from = model->point_arc[k], to = model->point_arc[k < last ? k + 1 : k];
        model->piece_thickness[k] =
            sp_network_thickness_at(model->network, strut, 0.5 * (from + to));
    }
}

/* Set the section of the first and the last element of a strut that yields, section `next`; returns
 * the next free one. */
static int hinge_section(sp_model *model, int strut, int first, int count, int next)
{
    model->section[next] = model->section[strut];
    sp_section_split(&model->section[next], sp_network_free_length(model->network, strut) / count);
    model->element_section[first] = model->element_section[first + count - 1] = next;
    return next + 1;
}

/* Make elements, sections and chain of one strut; `section` is the next free one of those behind
 * the sections of the struts. */
static void mesh_strut(sp_model *model, const sp_law *law, const sp_model_options *options,
                       int strut, sp_cut *next, int *section)
{
    const sp_network *network = model->network;
    double share[SP_CUTS_MAX + 1];
    const int uneven = cut_unevenly(network, options, strut, share);
    const int first = model->strut_element[strut],
              count = uneven ? uneven : elements_of(network, options, strut);
    set_section(model, law, options, strut);
    model->strut_element[strut + 1] = first + count;
    next->share = uneven ? share : NULL;
    if (is_tapered(network, strut))
        *section = taper_sections(model, law, options, strut, next->share, *section);
    else
        for (int e = first; model->element_section && e < first + count; e++)
            model->element_section[e] = strut;
    if (has_hinges(network, law, strut, count))
        *section = hinge_section(model, strut, first, count, *section);
    if (model->dimension == 2)
        sp_cut_planar(model, strut, next);
    else
        sp_cut_spatial(model, strut, next);
    next->share = NULL;
    model->chain_first[strut + 1] = next->point;
    if (model->piece_thickness) taper_chain(model, strut);
}

/* Return a quarter of the stiffness of a layer that is squashed between flat faces. There is no
 * strain along the strut, except in planar struts and walls with the strain state uniaxial, which
 * are free along it, too (E245). */
static double layer_modulus(const sp_network *network, const sp_law *law)
{
    const double nu = law->poisson_ratio;
    const int walls = network->dimension == 2 || network->strut_piece;
    if (walls && law->strain_state == SP_UNIAXIAL) return 0.5 * law->shear_modulus * (1 + nu);
    return 0.5 * law->shear_modulus / (1 - nu);
}

sp_status sp_model_build(sp_context *context, const sp_network *network, const sp_law *law,
                         const sp_model_options *options, sp_model *model)
{
    memset(model, 0, sizeof *model);
    model->network = network;
    model->dimension = network->dimension;
    model->values = model->dimension == 2 ? 3 : SP_SPATIAL_VALUES;
    model->unknowns = model->dimension == 2 ? 3 : SP_SPATIAL_UNKNOWNS;
    model->height = network->size[1];
    model->depth = network->size[2];
    model->layer_modulus = layer_modulus(network, law);
    model->contact_spacing = options->contact_spacing;
    model->friction_struts = options->friction_struts;
    const int platens = network->skin > 0 ? SP_PLATENS_BONDED : options->platens;
    model->friction_platens =
        network->skin > 0 ? options->friction_struts : options->friction_platens;
    count_parts(model, law, options);
    sp_status status = allocate(context, model, network->strut_count);
    if (status != SP_OK) {
        sp_model_free(model);
        return status;
    }
    for (int n = 0; model->dimension == 3 && n < model->node_count; n++)
        model->reference[SP_SPATIAL_VALUES * n + 3] = 1; /* unturned */
    for (int j = 0; j < network->joint_count; j++)
        memcpy(model->reference + model->values * j, network->joint_position + 3 * j,
               (size_t)model->dimension * sizeof(double));
    sp_cut next = {.node = network->joint_count};
    int section = network->strut_count;
    sp_poll poll = {.context = context, .doing = "meshing the struts"};
    for (int s = 0; s < network->strut_count; s++) {
        mesh_strut(model, law, options, s, &next, &section);
        const double made = model->strut_element[s + 1] - model->strut_element[s];
        status = sp_poll_after(&poll, work_of_element * made);
        if (status != SP_OK) {
            sp_model_free(model);
            return status;
        }
    }
    hold_faces(model, platens);
    status = treat_pieces(context, model, platens);
    if (status == SP_OK)
        number_unknowns(model);
    else
        sp_model_free(model);
    return status;
}

void sp_model_free(sp_model *model)
{
    sp_free(model->reference);
    sp_free(model->hold);
    sp_free(model->unknown);
    sp_free(model->element);
    sp_free(model->spatial);
    sp_free(model->strut_element);
    sp_free(model->strut_width);
    sp_free(model->strut_foot);
    sp_free(model->section);
    sp_free(model->spatial_section);
    sp_free(model->element_section);
    sp_free(model->piece_thickness);
    sp_free(model->chain_first);
    sp_free(model->point_node);
    sp_free(model->point_strut);
    sp_free(model->point_arm);
    sp_free(model->point_arc);
    memset(model, 0, sizeof *model);
}

double sp_model_bending(const sp_model *model, int strut)
{
    if (model->dimension == 2) return model->section[strut].bending_stiffness;
    const double *bending = model->spatial_section[strut].bending_stiffness;
    return fmin(bending[0], bending[1]);
}

double sp_model_gyration(const sp_model *model, int strut)
{
    const double axial = model->dimension == 2 ? model->section[strut].axial_stiffness
                                               : model->spatial_section[strut].axial_stiffness;
    return sqrt(sp_model_bending(model, strut) / axial);
}

void sp_model_level_line(const double q[4], int held, double line[3])
{
    double turn[9];
    sp_so3_matrix(q, turn);
    const double x = turn[2 - held], z = turn[6 + 2 - held], length = hypot(x, z);
    line[0] = x / length, line[1] = 0, line[2] = z / length;
}

/* Turn a node by spins: one whose line on a platen stays level rolls about that line and then turns
 * about y, so that the line is as level after any spins as it was before. E233 */
static void turn_node(const sp_model *model, int node, const double *base, const double spin[3],
                      double q[4])
{
    double by[3], line[3];
    const int held = sp_model_follows(model, node, base, by);
    if (held < 0) {
        sp_so3_turn(spin, q);
    } else if (held == 1) {
        sp_so3_turn((const double[]){spin[0], by[0] * spin[0] + by[2] * spin[2], spin[2]}, q);
    } else {
        sp_model_level_line(base + model->values * node + 3, held, line);
        const double roll = spin[2 - held] / line[2 - held];
        sp_so3_turn((const double[]){roll * line[0], 0, roll * line[2]}, q);
        sp_so3_turn((const double[]){0, spin[1], 0}, q);
    }
}

void sp_model_move(const sp_model *model, const double *base, double scale, const double *change,
                   double *x)
{
    if (model->dimension == 2) {
        for (int i = 0; i < 3 * model->node_count; i++) x[i] = base[i] + scale * change[i];
        return;
    }
    for (int n = 0; n < model->node_count; n++) {
        const double *c = change + SP_SPATIAL_UNKNOWNS * n;
        const double spin[3] = {scale * c[3], scale * c[4], scale * c[5]};
        double *to = x + SP_SPATIAL_VALUES * n;
        if (x != base) memcpy(to, base + SP_SPATIAL_VALUES * n, SP_SPATIAL_VALUES * sizeof(double));
        for (int d = 0; d < 3; d++) to[d] += scale * c[d];
        if (spin[0] != 0 || spin[1] != 0 || spin[2] != 0) turn_node(model, n, base, spin, to + 3);
    }
}

/* Find the spins that turn_node turns by `turned`: of a node whose line stays level from how far it
 * rolls about the line and turns about y. */
static void find_spins(const sp_model *model, int node, const double *from, const double turned[4],
                       double spin[3])
{
    double by[3], line[3];
    const int held = sp_model_follows(model, node, from, by);
    sp_so3_log(turned, spin);
    if (held != 0 && held != 2) return;
    sp_model_level_line(from + model->values * node + 3, held, line);
    const double roll = 2 * atan2(line[0] * turned[1] + line[2] * turned[3], turned[0]);
    spin[0] = roll * line[0];
    spin[1] = 2 * atan2(turned[2], turned[0]);
    spin[2] = roll * line[2];
}

void sp_model_change(const sp_model *model, const double *from, const double *to, double *change)
{
    if (model->dimension == 2) {
        for (int i = 0; i < 3 * model->node_count; i++) change[i] = to[i] - from[i];
        return;
    }
    for (int n = 0; n < model->node_count; n++) {
        const double *a = from + SP_SPATIAL_VALUES * n, *b = to + SP_SPATIAL_VALUES * n;
        double *c = change + SP_SPATIAL_UNKNOWNS * n, turned[4];
        for (int d = 0; d < 3; d++) c[d] = b[d] - a[d];
        const double back[4] = {a[3], -a[4], -a[5], -a[6]};
        sp_so3_multiply(b + 3, back, turned);
        find_spins(model, n, from, turned, c + 3);
    }
}

void sp_model_place_held(const sp_model *model, double shortening, double *x)
{
    for (int n = 0; n < model->node_count; n++) {
        const unsigned char *hold = model->hold + model->unknowns * n;
        const double *reference = model->reference + model->values * n;
        double *to = x + model->values * n;
        for (int k = 0; k < 3; k++) { /* x y theta; x y z */
            if (hold[k] == SP_HELD) to[k] = reference[k];
            if (hold[k] == SP_MOVED) to[k] = reference[k] - shortening;
        }
        if (model->dimension == 3 && hold[3] == SP_HELD && hold[4] == SP_HELD && hold[5] == SP_HELD)
            memcpy(to + 3, reference + 3, 4 * sizeof(double));
    }
}

static void place_planar(const sp_model *model, const double *x, double *position)
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

void sp_model_points(const sp_model *model, const double *x, double *position)
{
    if (model->dimension == 2) {
        place_planar(model, x, position);
        return;
    }
    for (int k = 0; k < model->point_count; k++) {
        const double *node = x + SP_SPATIAL_VALUES * model->point_node[k];
        const double *arm = model->point_arm + 3 * k;
        double turn[9];
        memcpy(position + 3 * k, node, 3 * sizeof(double));
        if (arm[0] == 0 && arm[1] == 0 && arm[2] == 0) continue;
        sp_so3_matrix(node + 3, turn);
        for (int d = 0; d < 3; d++) position[3 * k + d] += sp_dot(turn + 3 * d, arm);
    }
}
