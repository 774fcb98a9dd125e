/* network.svg: the unloaded network to scale. Struts are as wide as their beads; flaws (bow,
 * thickness) are in it. */
#include <math.h>
#include <string.h>

#include "shape/block.h"
#include "caution/caution.h"
#include "shape/direction.h"
#include "shape/shape_picture.h"
#include "shape/sheets.h"
#include "shape/state.h"
#include "write/text.h"
#include "writer/writer_list.h"

#define PICTURE_WIDTH 900.0
#define MARGIN 40.0
#define HEAD 76.0
#define BODY_MAX 900.0 /* largest height of the drawn coupon */
#define BOW_POINTS 8   /* pieces that draw a bowed strut */
#define LETTER 14.0
#define SMALL 12.0
#define NUMBERS 22.0 /* of the line on the numbers below the legend */

static const char *const role_colour[] = {SP_BLUE, SP_ORANGE};

/* Find the point at share s of a strut with its half-sine bow to the left of A -> B. */
static void strut_point(const sp_network *network, int strut, double s, double point[2])
{
    const double *a = network->joint_position + 3 * network->strut_joint[2 * strut];
    const double *b = network->joint_position + 3 * network->strut_joint[2 * strut + 1];
    double dx = b[0] - a[0], dy = b[1] - a[1], length = hypot(dx, dy);
    double bow = length > 0.0 ? network->strut_bow[strut] * sin(acos(-1.0) * s) / length : 0.0;
    point[0] = sp_finite(a[0] + s * dx - bow * dy);
    point[1] = sp_finite(a[1] + s * dy + bow * dx);
}

static void draw_role(sp_svg *svg, const sp_network *network, int role, double share,
                      const char *colour)
{
    for (int s = 0; s < network->strut_count; s++) {
        if (network->strut_role[s] != role) continue;
        int pieces = network->strut_bow[s] == 0.0 ? 1 : BOW_POINTS;
        sp_print(svg->stream, "<polyline stroke=\"%s\" stroke-width=\"%.4g\" points=\"", colour,
                 sp_finite(share * network->strut_thickness[s]));
        for (int i = 0; i <= pieces; i++) {
            double point[2];
            strut_point(network, s, (double)i / pieces, point);
            sp_print(svg->stream, i ? " %.3f,%.3f" : "%.3f,%.3f", point[0], point[1]);
        }
        sp_svg_raw(svg, "\"/>\n");
    }
}

static void draw_block(sp_svg *svg, const sp_view *view, const sp_network *network)
{
    sp_path path = {.block = SP_BLOCK_SLIDING};
    memcpy(path.size, network->size, sizeof path.size);
    sp_draw_block(svg, view, &path, 0.0);
}

static void draw_struts(sp_svg *svg, const sp_network *network, const sp_view *view)
{
    sp_view_begin(svg, view);
    for (int role = SP_ROLE_INFILL; role <= SP_ROLE_WALL;
         role++) { /* the infill ends inside the wall, so it is drawn first */
        draw_role(svg, network, role, 1.0, SP_INK);
        draw_role(svg, network, role, 0.84, role_colour[role]);
    }
    sp_view_end(svg);
}

static sp_bounds network_bounds(const sp_network *network)
{
    sp_bounds bounds;
    sp_bounds_clear(&bounds);
    sp_bounds_add(&bounds, 0.0, 0.0, 0.0);
    sp_bounds_add(&bounds, network->size[0], network->size[1], 0.0);
    for (int s = 0; s < network->strut_count; s++)
        for (int i = 0; i <= BOW_POINTS; i++) {
            double point[2];
            strut_point(network, s, (double)i / BOW_POINTS, point);
            sp_bounds_add(&bounds, point[0], point[1], 0.5 * network->strut_thickness[s]);
        }
    return bounds;
}

/* ---- spatial --------------------------------------------------------------------------------- */

static sp_box network_box(const sp_network *network)
{
    sp_box box;
    sp_box_begin(&box, network->size);
    for (int s = 0; s < network->strut_count; s++)
        for (int i = 0; i < SP_STRAND_POINTS; i++) {
            double point[3];
            sp_strand_point(network, s, (double)i / (SP_STRAND_POINTS - 1), point);
            sp_box_add(&box, point,
                       0.5 * fmax(network->strut_thickness[s], network->strut_height[s]));
        }
    return box;
}

typedef struct space {
    sp_box box;
    sp_strand_set set; /* empty for a planar network */
    sp_scene scene;
} space;

static sp_status look_at(sp_context *context, const sp_network *network, space *made)
{
    made->box = network_box(network);
    made->scene.edge = SP_INK;
    made->scene.top = 1.0;
    sp_box_reach(&made->box, made->scene.reach);
    if (network->panel) return SP_OK; /* sheets need no strands */
    sp_status status = sp_strands_of_network(context, network, role_colour, &made->set);
    if (status == SP_OK)
        made->scene.detail =
            sp_detail_within(&made->scene, made->set.strand, made->set.count, SP_PIECES_MAX);
    return status;
}

static sp_status draw_spatial(sp_context *context, sp_svg *svg, const sp_view *view,
                              const sp_network *network, const space *seen, double floor)
{
    sp_draw_face(svg, view, &seen->box, 0.0, 1);
    sp_status status =
        network->panel
            ? sp_draw_network_sheets(context, svg, view, network, role_colour)
            : sp_draw_strands(context, svg, view, &seen->scene, seen->set.strand, seen->set.count);
    sp_draw_face(svg, view, &seen->box, 0.0, 0);
    sp_draw_axes(svg, MARGIN, floor);
    return status;
}

/* ---- the picture ----------------------------------------------------------------------------- */

/* Plates of a planar coupon are drawn without a wall, because all of them lie in the faces of the
 * platens. */
static const char *name_of_walls(const sp_network *network)
{
    int plates = 0, walls = 0;
    if (network->panel) return "perimeter wall";
    if (network->dimension == 3) return "wall, face plate";
    for (int s = 0; s < network->strut_count; s++) {
        const int *joint = network->strut_joint + 2 * s;
        if (network->strut_role[s] != SP_ROLE_WALL) continue;
        if (network->joint_face[joint[0]] & network->joint_face[joint[1]])
            plates++;
        else
            walls++;
    }
    return plates && !walls ? "plate" : "perimeter wall";
}

static int has_role(const sp_network *network, int role)
{
    for (int p = 0; network->panel && p < network->panel_count; p++)
        if (network->panel[p].role == role) return 1;
    for (int s = 0; !network->panel && s < network->strut_count; s++)
        if (network->strut_role[s] == role) return 1;
    return network->built == SP_BUILT_SOLID && role == SP_ROLE_INFILL;
}

/* Say what the numbers in the picture mean; "" when there are none. */
static void numbers_in_words(const sp_path *path, char *words, size_t size)
{
    words[0] = '\0';
    if (!path) return;
    if (path->buckled.found)
        sp_format(words, size, "strut %d, in the ring, buckles first", path->buckled.strut);
    for (int i = 0; i < sp_critical_quoted(&path->critical); i++) {
        const size_t used = strlen(words);
        sp_format(words + used, size - used, "%s%d",
                  i                          ? ", "
                  : used                     ? "; largest shares of the mode: "
                  : path->shapes.sheet_count ? "largest shares of the mode: walls "
                                             : "largest shares of the mode: struts ",
                  path->critical.strut[i]);
    }
}

static void draw_number(sp_svg *svg, const sp_view *view, const sp_network *network, int strut,
                        int is_first_buckled)
{
    double point[3] = {0};
    if (strut < 0 || strut >= network->strut_count) return;
    if (network->dimension == 3)
        sp_strand_point(network, strut, 0.5, point);
    else
        strut_point(network, strut, 0.5, point);
    sp_draw_number(svg, view, point, network->dimension == 3, strut, is_first_buckled);
}

/* Write the numbers of the struts that tables quote. */
static void draw_numbers(sp_svg *svg, const sp_view *view, const sp_network *network,
                         const sp_path *path)
{
    if (!path) return;
    if (path->shapes.sheet_count) {
        if (path->shapes.frame_count)
            sp_draw_wall_numbers(svg, view, &path->shapes, sp_frame_position(&path->shapes, 0),
                                 &path->critical);
        return;
    }
    for (int i = 0; i < sp_critical_quoted(&path->critical); i++)
        draw_number(svg, view, network, path->critical.strut[i], 0);
    if (path->buckled.found) draw_number(svg, view, network, path->buckled.strut, 1);
}

static void draw_legend(sp_svg *svg, double y, const sp_network *network, const sp_path *path)
{
    const int spatial = network->dimension == 3, solid = network->built == SP_BUILT_SOLID;
    const char *const name[] = {solid ? "solid block" : "infill", name_of_walls(network)};
    double x = MARGIN;
    char words[160];
    for (int role = SP_ROLE_INFILL; role <= SP_ROLE_WALL; role++) {
        if (!has_role(network, role)) continue;
        sp_svg_box(svg, x, y - 10.0, 26.0, 11.0, solid ? SP_SKY : role_colour[role], SP_INK);
        sp_svg_text(svg, x + 34.0, y, LETTER, SP_SVG_LEFT, SP_INK, name[role]);
        x += 60.0 + sp_svg_text_width(LETTER, name[role]);
    }
    sp_svg_box(svg, x, y - 10.0, 26.0, 11.0, spatial ? SP_PLATEN_FACE : "url(#hatch)", SP_GREY);
    sp_svg_text(svg, x + 34.0, y, LETTER, SP_SVG_LEFT, SP_INK,
                spatial ? "face of a platen" : "platen (not to scale)");
    numbers_in_words(path, words, sizeof words);
    sp_svg_text(svg, MARGIN, y + NUMBERS, LETTER, SP_SVG_LEFT, SP_INK, words);
}

static void draw_heading(sp_svg *svg, const sp_network *network)
{
    char line[256];
    const int solid = network->built == SP_BUILT_SOLID;
    sp_svg_text_bold(svg, MARGIN, 32.0, 18.0, SP_INK,
                     solid ? "Solid block, unloaded" : "Strut network, unloaded");
    if (solid)
        sp_format(line, sizeof line, "%.4g x %.4g x %.4g mm, without holes", network->size[0],
                  network->size[1], network->size[2]);
    else
        sp_format(
            line, sizeof line,
            "%s%.4g x %.4g x %.4g mm, %d %s, %d joints, nominal density %.3g %%, solid fraction "
            "%.3g %%",
            network->block ? "block of " : "", network->size[0], network->size[1], network->size[2],
            network->panel ? network->panel_count : network->strut_count,
            network->panel ? "walls" : "struts", network->joint_count,
            100.0 * sp_finite(network->nominal_density),
            100.0 * sp_finite(network->solid_fraction));
    sp_svg_text(svg, MARGIN, 54.0, LETTER, SP_SVG_LEFT, SP_GREY, line);
}

/* `path` is the press whose quoted struts are numbered, NULL: none. */
static sp_status draw(sp_context *context, const sp_network *network, const sp_path *path,
                      FILE *stream)
{
    const int spatial = network->dimension == 3;
    space seen = {.set = {0}};
    sp_status status = spatial ? look_at(context, network, &seen) : SP_OK;
    if (status != SP_OK) return status;
    sp_bounds bounds = spatial ? sp_box_bounds(&seen.box) : network_bounds(network);
    double wide = bounds.high[0] - bounds.low[0], high = bounds.high[1] - bounds.low[1];
    double scale = fmin((PICTURE_WIDTH - 2.0 * MARGIN) / wide, BODY_MAX / high);
    double body = scale * high + 2.0 * SP_PLATEN_THICKNESS,
           text_width = PICTURE_WIDTH - 2.0 * MARGIN;
    char words[160], drawn[SP_DRAWN_SIZE], note[SP_STATE_NOTE_SIZE];
    sp_drawn_text(network, drawn, sizeof drawn);
    sp_format(note, sizeof note, "%s%s", drawn,
              network->panel ? SP_SHEET_NOTE ". " SP_CAUTION_SAFETY
              : spatial      ? sp_spatial_note(&seen.scene)
                             : SP_CAUTION_SAFETY);
    double foot = sp_svg_paragraph_height(SMALL, text_width, note);
    double axes = spatial ? fmax(0.0, SP_AXES_SIZE - scale * sp_box_corner(&seen.box)) : 0.0;
    numbers_in_words(path, words, sizeof words);
    const double floor = HEAD + body + axes, numbers = words[0] ? NUMBERS : 0.0;
    const double below = floor + numbers;
    sp_svg svg =
        sp_svg_begin(stream, PICTURE_WIDTH, below + 56.0 + SP_DIRECTION_HEIGHT + foot + 10.0,
                     "Strut network, unloaded");
    draw_heading(&svg, network);
    sp_view view = {0.5 * (PICTURE_WIDTH - scale * (bounds.low[0] + bounds.high[0])),
                    HEAD + SP_PLATEN_THICKNESS + scale * bounds.high[1], scale};
    if (spatial) {
        status = draw_spatial(context, &svg, &view, network, &seen, floor);
    } else {
        sp_draw_platens(&svg, &view, &bounds, network->size[1], 0.0, bounds.low[0], bounds.high[0]);
        if (network->built == SP_BUILT_SOLID) draw_block(&svg, &view, network);
        draw_struts(&svg, network, &view);
    }
    draw_numbers(&svg, &view, network, path);
    draw_legend(&svg, floor + 30.0, network, path);
    sp_draw_direction(&svg, MARGIN, below + 44.0, text_width, network);
    sp_svg_paragraph(&svg, MARGIN, below + 60.0 + SP_DIRECTION_HEIGHT, SMALL, text_width, SP_GREY,
                     note);
    sp_svg_end(&svg);
    sp_strand_set_free(&seen.set);
    return status == SP_OK ? sp_stream_end(context, stream) : status;
}

sp_status sp_write_network_svg(sp_context *context, const sp_network *network, FILE *stream)
{
    return draw(context, network, NULL, stream);
}

sp_status sp_writer_network_svg(sp_context *context, const sp_result *result, FILE *stream)
{
    return draw(context, &result->network, &result->path, stream);
}
