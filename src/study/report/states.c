/* Write the shapes of one press for the page: positions as 16 bit numbers over the box of the
 * picture, fibre strains as levels of the colour map, both in base64 (RFC 4648). */
#include "report/report_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/alloc.h"
#include "shape/block.h"
#include "caution/caution.h"
#include "write/colour.h"
#include "shape/direction.h"
#include "shape/isometric.h"
#include "write/json.h"
#include "shape/shape_picture.h"
#include "write/text.h"
#include "writer/writer_list.h"

enum {
    STEPS_OF_BOX = 65535,
    POINTS_MAX = 120000, /* of all states, some 800 kB; beyond that states are left out */
    STATES_LEAST = 12,
};
static const double mode_share = 0.05; /* largest displacement of the drawn mode / coupon height */

/* The box of the picture. For a spatial coupon its axes are those of the view: right, up, towards
 * the reader. */
typedef struct box {
    double low[3], unit; /* [mm]; position = low + unit x number */
    int dimension;
} box;

json_t *sp_report_base64(const unsigned char *byte, size_t count)
{
    static const char letter[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    char *text = sp_alloc(count / 3 * 4 + 5, 1), *at = text;
    if (!text) return NULL;
    for (size_t i = 0; i < count; i += 3) {
        const unsigned second = i + 1 < count ? byte[i + 1] : 0;
        const unsigned third = i + 2 < count ? byte[i + 2] : 0;
        const unsigned three = (unsigned)byte[i] << 16 | second << 8 | third;
        *at++ = letter[three >> 18];
        *at++ = letter[three >> 12 & 63];
        *at++ = i + 1 < count ? letter[three >> 6 & 63] : '=';
        *at++ = i + 2 < count ? letter[three & 63] : '=';
    }
    json_t *made = json_stringn(text, (size_t)(at - text));
    sp_free(text);
    return made;
}

static box box_of(const sp_bounds *bounds)
{
    const double wide = bounds->high[0] - bounds->low[0], high = bounds->high[1] - bounds->low[1];
    return (box){{bounds->low[0], bounds->low[1]}, fmax(fmax(wide, high), 1e-9) / STEPS_OF_BOX, 2};
}

/* Find, for a spatial coupon, the picture of the box that holds all that is drawn, and how far it
 * reaches to the reader. */
static box box_seen(const sp_box *all, sp_bounds *bounds)
{
    double reach[2];
    *bounds = sp_box_bounds(all);
    sp_box_reach(all, reach);
    box made = box_of(bounds);
    made.unit = fmax(made.unit, (reach[1] - reach[0]) / STEPS_OF_BOX);
    made.low[2] = reach[0];
    made.dimension = 3;
    return made;
}

/* Write the places of every point, lowest byte first. */
static json_t *positions(const double *position, int count, const box *in)
{
    const int dimension = in->dimension;
    unsigned char *byte = sp_alloc((size_t)count, 2 * (size_t)dimension), *to = byte;
    for (int p = 0; byte && p < count; p++) {
        double seen[3];
        if (dimension == 3) sp_see(position + 3 * (size_t)p, seen);
        for (int k = 0; k < dimension; k++, to += 2) {
            const double at = dimension == 3 ? seen[k] : sp_finite(position[3 * p + k]);
            const double place = (at - in->low[k]) / in->unit;
            const unsigned number = (unsigned)lround(fmax(0, fmin(STEPS_OF_BOX, place)));
            to[0] = (unsigned char)(number & 255);
            to[1] = (unsigned char)(number >> 8);
        }
    }
    json_t *made = byte ? sp_report_base64(byte, (size_t)(to - byte)) : NULL;
    sp_free(byte);
    return made;
}

static json_t *levels(const double *fibre_strain, int count, double top)
{
    unsigned char *byte = sp_alloc((size_t)count, 1);
    for (int p = 0; byte && p < count; p++)
        byte[p] = (unsigned char)sp_colour_level(sp_finite(fibre_strain[p]), top);
    json_t *made = byte ? sp_report_base64(byte, (size_t)count) : NULL;
    sp_free(byte);
    return made;
}

static json_t *strut_data(const sp_shapes *shapes, int *failed)
{
    json_t *all = json_object(), *first = json_array(), *width = json_array(), *wall = json_array();
    for (int s = 0; s <= shapes->strut_count; s++)
        sp_json_append(first, json_integer(shapes->first_point[s]), failed);
    for (int s = 0; s < shapes->strut_count; s++) {
        sp_json_append(width, sp_json_number(round(1e4 * sp_shape_width(shapes, s)) / 1e4), failed);
        sp_json_append(wall, json_integer(shapes->role[s] == SP_ROLE_WALL), failed);
    }
    sp_json_put(all, "first", first, failed);
    sp_json_put(all, "width_mm", width, failed);
    sp_json_put(all, "wall", wall, failed);
    return all;
}

static json_t *box_data(const box *in, int *failed)
{
    json_t *all = json_object();
    sp_json_put(all, "left_mm", sp_json_number(in->low[0]), failed);
    sp_json_put(all, "bottom_mm", sp_json_number(in->low[1]), failed);
    sp_json_put(all, "unit_mm", sp_json_number(in->unit), failed);
    if (in->dimension == 3) sp_json_put(all, "far_mm", sp_json_number(in->low[2]), failed);
    return all;
}

/* ---- states ---------------------------------------------------------------------------------- */

static int state_count(const sp_shapes *shapes)
{
    int most = POINTS_MAX / (shapes->point_count ? shapes->point_count : 1);
    if (most < STATES_LEAST) most = STATES_LEAST;
    const int down = shapes->frame_count - shapes->back_frames; /* the slider follows the press */
    return down < most ? down : most;
}

/* List the corners of a solid block round about: x, y, x, y, ... [mm]. */
static json_t *outline(const sp_path *path, double shortening, int *failed)
{
    double point[SP_BLOCK_POINTS][2];
    json_t *all = json_array();
    sp_block_outline(path, shortening, point);
    for (int i = 0; i < SP_BLOCK_POINTS; i++)
        for (int k = 0; k < 2; k++)
            sp_json_append(all, sp_json_number(round(1e4 * point[i][k]) / 1e4), failed);
    return all;
}

static double shortening_at(const sp_path *path, int frame)
{
    const sp_step *step = sp_path_state(path, path->shapes.frame_step[frame]);
    return step ? step->shortening : 0;
}

static json_t *one_state(const sp_path *path, int frame, const box *in, double top, int *failed)
{
    const sp_shapes *shapes = &path->shapes;
    const size_t from = (size_t)frame * (size_t)shapes->point_count;
    json_t *all = json_object();
    sp_json_put(all, "step", json_integer(shapes->frame_step[frame]), failed);
    sp_json_put(all, "position",
                positions(sp_frame_position(shapes, frame), shapes->point_count, in), failed);
    sp_json_put(all, "level", levels(shapes->fibre_strain + from, shapes->point_count, top),
                failed);
    if (path->block)
        sp_json_put(all, "outline_mm", outline(path, shortening_at(path, frame), failed), failed);
    return all;
}

/* Find the box over the drawn states; `rest` and `wide` are their bounds in the picture. */
static box bound_states(const sp_path *path, int count, const int *frame, sp_bounds *rest,
                        sp_bounds *wide, sp_box *space)
{
    const sp_shapes *shapes = &path->shapes;
    if (sp_shapes_spatial(shapes)) {
        sp_box_begin(space, path->pressed);
        for (int i = 0; i < count; i++)
            sp_box_add_shape(space, shapes, sp_frame_position(shapes, frame[i]), i == 0);
        const box made = box_seen(space, wide);
        *rest = *wide;
        return made;
    }
    sp_bounds_clear(rest);
    sp_bounds_add(rest, 0, 0, 0);
    sp_bounds_add(rest, path->pressed[0], path->pressed[1], 0);
    if (count) sp_bounds_add_shape(rest, shapes, sp_frame_position(shapes, 0));
    *wide = *rest;
    for (int i = 0; i < count; i++) {
        sp_bounds_add_shape(wide, shapes, sp_frame_position(shapes, frame[i]));
        if (path->block) sp_block_bound(path, shortening_at(path, frame[i]), wide);
    }
    return box_of(wide);
}

/* List the corners of the face of a platen, unloaded: x, y, x, y, ... in the picture. */
static json_t *face(const sp_box *space, int upper, int *failed)
{
    json_t *all = json_array();
    double corner[4][2];
    sp_box_face(space, upper, corner);
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 2; k++) sp_json_append(all, sp_json_number(corner[i][k]), failed);
    return all;
}

static void put_states(report *r, json_t *all, const sp_path *path, int *failed)
{
    const sp_shapes *shapes = &path->shapes;
    const int count = state_count(shapes);
    sp_range range = {0.01, 0};
    sp_bounds rest, wide;
    sp_box space;
    json_t *states = json_array();
    int *frame = sp_alloc((size_t)count, sizeof *frame);
    for (int i = 0; frame && i < count; i++)
        frame[i] = count > 1 ? (int)((long long)i *
                                     (shapes->frame_count - shapes->back_frames - 1) / (count - 1))
                             : 0;
    if (!frame || sp_colour_range(r->context, shapes, count, frame, &range) != SP_OK) *failed = 1;
    const box in = bound_states(path, frame ? count : 0, frame, &rest, &wide, &space);
    for (int i = 0; !*failed && i < count; i++)
        sp_json_append(states, one_state(path, frame[i], &in, range.top, failed), failed);
    sp_free(frame);
    sp_json_put(all, "struts", strut_data(shapes, failed), failed);
    sp_json_put(all, "box", box_data(&in, failed), failed);
    sp_json_put(all, "right_mm", sp_json_number(wide.high[0]), failed);
    sp_json_put(all, "rest_bottom_mm", sp_json_number(rest.low[1]), failed);
    sp_json_put(all, "rest_top_mm", sp_json_number(rest.high[1]), failed);
    if (in.dimension == 3) {
        sp_json_put(all, "lower_face_mm", face(&space, 0, failed), failed);
        sp_json_put(all, "upper_face_mm", face(&space, 1, failed), failed);
        sp_json_put(all, "rise", sp_json_number(sp_seen_rise()), failed);
    }
    sp_json_put(all, "colour_top", sp_json_number(range.top), failed);
    sp_json_put(all, "colour_clipped", json_boolean(range.clipped), failed);
    sp_json_put(all, "states", states, failed);
    if (path->block) sp_json_put(all, "block_note", sp_json_text(SP_BLOCK_NOTE), failed);
}

/* ---- mode ------------------------------------------------------------------------------------ */

/* Write the critical state and the state displaced by the mode, on the coupon without flaws. */
static json_t *mode_data(const sp_result *result, int *failed)
{
    const sp_path *path = result->perfect.step_count > 0 ? &result->perfect : &result->path;
    const sp_shapes *shapes = &path->shapes;
    const sp_critical *critical = &result->path.critical;
    if (!critical->found || !shapes->mode || !shapes->mode_position) return json_null();
    const size_t count = 3 * (size_t)shapes->point_count;
    double *moved = sp_alloc(count, sizeof *moved);
    json_t *all = json_object();
    const int spatial = sp_shapes_spatial(shapes);
    sp_bounds bounds;
    sp_box space;
    sp_bounds_clear(&bounds);
    sp_bounds_add_shape(&bounds, shapes, shapes->mode_position);
    sp_box_begin(&space, path->pressed);
    sp_box_add_shape(&space, shapes, shapes->mode_position, 1);
    for (int side = -1; moved && side <= 1; side += 2) { /* the side that is drawn comes last */
        for (size_t i = 0; i < count; i++)
            moved[i] = shapes->mode_position[i] +
                       side * mode_share * path->size[1] * sp_finite(shapes->mode[i]);
        sp_bounds_add_shape(&bounds, shapes, moved);
        sp_box_add_shape(&space, shapes, moved, 1);
    }
    const box in = spatial ? box_seen(&space, &bounds) : box_of(&bounds);
    sp_json_put(all, "struts", strut_data(shapes, failed), failed);
    sp_json_put(all, "box", box_data(&in, failed), failed);
    sp_json_put(all, "right_mm", sp_json_number(bounds.high[0]), failed);
    sp_json_put(all, "top_mm", sp_json_number(bounds.high[1]), failed);
    sp_json_put(all, "base", positions(shapes->mode_position, shapes->point_count, &in), failed);
    sp_json_put(all, "moved", moved ? positions(moved, shapes->point_count, &in) : NULL, failed);
    sp_json_put(all, "strut", json_integer(critical->strut_count ? critical->strut[0] : -1),
                failed);
    sp_free(moved);
    return all;
}

/* ---- words and curve ------------------------------------------------------------------------- */

static json_t *mark(const sp_path *path, int step, double strain, double force, const char *kind,
                    int *failed)
{
    json_t *one = json_object();
    if (step >= 0 && step < path->step_count) {
        strain = sp_path_strain(path, step);
        force = path->step[step].force;
    }
    sp_json_put(one, "kind", sp_json_text(kind), failed);
    sp_json_put(one, "shortening_mm", sp_json_number(strain * path->size[1]), failed);
    sp_json_put(one, "force_N", sp_json_number(force), failed);
    return one;
}

static json_t *marks(const sp_path *path, int *failed)
{
    json_t *all = json_array();
    const sp_critical *critical = &path->critical;
    if (critical->found)
        sp_json_append(all, mark(path, -1, critical->strain, critical->force, "critical", failed),
                       failed);
    if (path->buckled.found)
        sp_json_append(all, mark(path, path->buckled.step, 0, 0, "buckled", failed), failed);
    for (int i = 0; i < path->event_count; i++)
        if (path->event[i].kind == SP_EVENT_SNAP)
            sp_json_append(all, mark(path, path->event[i].step, 0, 0, "snap", failed), failed);
    return all;
}

static json_t *all_measures(const sp_result *result, int *failed)
{
    int count;
    const sp_measure_row *rows = sp_measure_rows(&count);
    char words[SP_MODELLED_SIZE];
    json_t *all = json_array();
    for (int i = 0; i < count && i < result->measure_count; i++) {
        const sp_measure *got = &result->measure[i];
        if (!sp_measure_applies(rows[i].name, &result->request)) continue;
        json_t *one = json_object();
        sp_json_put(one, "name", sp_json_text(rows[i].name), failed);
        sp_json_put(one, "unit", sp_json_text(rows[i].unit), failed);
        sp_json_put(one, "value", got->reached ? sp_json_number(got->value) : json_null(), failed);
        if (got->reached)
            sp_measure_modelled(rows[i].name, &result->request, words);
        else
            sp_measure_reason(rows[i].name, &result->request, sp_measure_load_end(&result->path),
                              words);
        if (words[0]) sp_json_put(one, "words", sp_json_text(words), failed);
        sp_json_append(all, one, failed);
    }
    return all;
}

static void put_words(json_t *all, const sp_result *result, int *failed)
{
    char words[512];
    sp_coupon_text(result, words, sizeof words);
    sp_json_put(all, "coupon", sp_json_text(words), failed);
    sp_drawn_text(&result->network, words, sizeof words);
    sp_json_put(all, "drawn", sp_json_text(words), failed);
    sp_critical_text(&result->path, words, sizeof words);
    sp_json_put(all, "critical", sp_json_text(words), failed);
    sp_buckled_text(result, words, sizeof words);
    sp_json_put(all, "buckled", sp_json_text(words), failed);
    sp_json_put(all, "stop", sp_json_text(sp_stop_text(result->path.stop)), failed);
}

/* Write loops, holds and rests of a press with a protocol, as in time.svg; null for any other
 * press. */
static json_t *time_picture(report *r, const sp_result *result, int *failed)
{
    char *text = NULL;
    size_t size = 0;
    if (result->path.stage_count == 0) return json_null();
    FILE *stream = open_memstream(&text, &size);
    if (!stream || sp_writer_time_svg(r->context, result, stream) != SP_OK) *failed = 1;
    if (stream && fclose(stream) != 0) *failed = 1;
    json_t *made = *failed ? NULL : sp_report_base64((const unsigned char *)text, size);
    free(text); /* it comes from the C library, not from sp_alloc */
    return made;
}

json_t *sp_report_state_data(report *r, const shown *one, int *failed)
{
    const sp_path *path = &one->result.path;
    json_t *all = json_object(), *shortening = json_array(), *force = json_array();
    for (int i = 0; i < path->step_count; i++) {
        sp_json_append(shortening, sp_json_number(path->step[i].shortening), failed);
        sp_json_append(force, sp_json_number(path->step[i].force), failed);
    }
    sp_json_put(all, "label", sp_json_text(r->compare->group[one->group].label), failed);
    sp_json_put(all, "row", json_integer(sp_report_row_of(r, one->group)), failed);
    sp_json_put(all, "height_mm", sp_json_number(path->size[1]), failed);
    sp_json_put(all, "area_mm2", sp_json_number(path->size[0] * path->size[2]), failed);
    sp_json_put(all, "shortening_mm", shortening, failed);
    sp_json_put(all, "force_N", force, failed);
    sp_json_put(all, "marks", marks(path, failed), failed);
    sp_json_put(all, "measures", all_measures(&one->result, failed), failed);
    put_words(all, &one->result, failed);
    sp_json_put(all, "direction", sp_report_direction(r, &one->result.network, failed), failed);
    put_states(r, all, path, failed);
    sp_json_put(all, "mode", mode_data(&one->result, failed), failed);
    sp_json_put(all, "time_svg", time_picture(r, &one->result, failed), failed);
    return all;
}
