/* 3MF (ISO/IEC 25422) with its beam lattice extension: the beams of what the build names, in mm,
 * each as a line.
 *
 * A model holds objects: meshes with vertices and a beam lattice, or components that place earlier
 * objects. Build items place objects once more. A row vector p is placed by p' = p M + t with the
 * twelve numbers M, t of a transform. */
#include "drawing/read_parts.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/alloc.h"
#include "base/decimal.h"
#include "drawing/names_3mf.h"
#include "drawing/package.h"

#define VALID_INDEX "a vertex of this mesh, from 0"
#define VALID_RADIUS "a radius above 0"

enum {
    OBJECTS_MAX = 10000,
    PLACED_MAX = 1000000, /* components in the file, and objects placed by them */
    NESTED_MAX = 32,      /* components within components */
    TEXT_SIZE = 640       /* of an attribute: twelve numbers */
};
/* A transform may differ from a turn with one scale by this share. */
static const double same_shape = 1e-4;

enum { DEPTH_MAX = 8 };
typedef enum element {
    NONE,
    MODEL,
    RESOURCES,
    OBJECT,
    MESH,
    VERTICES,
    VERTEX,
    TRIANGLES,
    TRIANGLE,
    BEAM_LATTICE,
    BEAMS,
    BEAM,
    LINES,
    LINE,
    COMPONENTS,
    COMPONENT,
    BUILD,
    ITEM
} element;

typedef struct placed {
    int object;
    double transform[12];
} placed;

typedef struct object {
    long id;
    int first_point, point_count; /* of the local drawing */
    int first_line, line_count;
    int first_part, part_count; /* of the components */
    int first_triangle;
    long triangles;
} object;

typedef struct placed_list {
    int count, capacity;
    placed *item;
} placed_list;

typedef struct model_reader {
    sp_context *context;
    sp_package *package;
    char model[SP_WORD_SIZE * 4]; /* name of the model part */
    element open[DEPTH_MAX];      /* known elements around the present one */
    int depth, passed_over;       /* open elements that are not known */
    double unit;                  /* [mm] */
    sp_drawing local;             /* all meshes in the unit of the model, also the diameters */
    sp_drawing flat;              /* lines of a planar coupon that this program wrote [mm] */
    int is_flat;                  /* 1: `flat` is the drawing */
    object *objects;
    int *by_id; /* objects in the order of their numbers */
    int object_count, object_capacity;
    placed_list parts, items;
    double radius, shortest; /* of the lattice being read */
    long tapered, short_beams, triangles, visits;
    sp_drawing *drawing;
    sp_take_triangle *take; /* NULL: lines are wanted, no triangles */
    void *user;
    int *corner; /* 3 per triangle of all meshes: points of the local drawing; owned */
    int corner_count, corner_capacity;
} model_reader;

/* ---- values of attributes -------------------------------------------------------------------- */

/* Read a decimal number as the schema defines it: not nan, inf or hexadecimal. */
static int parse_number(const char *text, char **stop, double *value)
{
    return sp_decimal(text, stop, value) && isfinite(*value);
}

static sp_status need_number(const model_reader *reader, const sp_tag *tag, const char *name,
                             const char *valid, double *value)
{
    char text[TEXT_SIZE] = "nothing", *stop;
    if (sp_tag_attribute(tag, name, text, sizeof text) && parse_number(text, &stop, value) &&
        !*stop)
        return SP_OK;
    return sp_package_fail(reader->package, text, valid);
}

/* Read an attribute; *value stays as it is when there is none. */
static sp_status take_radius(const model_reader *reader, const sp_tag *tag, const char *name,
                             double *value)
{
    char text[TEXT_SIZE];
    if (!sp_tag_attribute(tag, name, text, sizeof text)) return SP_OK;
    sp_status status = need_number(reader, tag, name, VALID_RADIUS, value);
    if (status == SP_OK && !(*value > 0))
        return sp_package_fail(reader->package, text, VALID_RADIUS);
    return status;
}

static sp_status need_integer(const model_reader *reader, const sp_tag *tag, const char *name,
                              long high, const char *valid, long *value)
{
    char text[TEXT_SIZE] = "nothing", *stop = text;
    if (sp_tag_attribute(tag, name, text, sizeof text) && text[0] >= '0' && text[0] <= '9') {
        *value = strtol(text, &stop, 10);
        if (!*stop && *value >= 0 && *value <= high) return SP_OK;
    }
    return sp_package_fail(reader->package, text, valid);
}

static sp_status take_transform(const model_reader *reader, const sp_tag *tag, double transform[12])
{
    static const char valid[] =
        "twelve numbers: a turn, a mirror, one scale and a shift (so that round struts stay round)";
    static const double same[12] = {1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0};
    char text[TEXT_SIZE], *at = text;
    memcpy(transform, same, sizeof same);
    if (!sp_tag_attribute(tag, "transform", text, sizeof text)) return SP_OK;
    for (int k = 0; k < 12; k++) {
        at += strspn(at, " \t\r\n");
        if (!parse_number(at, &at, &transform[k]))
            return sp_package_fail(reader->package, text, valid);
    }
    if (at[strspn(at, " \t\r\n")]) return sp_package_fail(reader->package, text, valid);
    double scale2 =
        transform[0] * transform[0] + transform[1] * transform[1] + transform[2] * transform[2];
    for (int i = 0; i < 3; i++)
        for (int j = i; j < 3; j++) {
            const double *a = transform + 3 * i, *b = transform + 3 * j;
            double off = a[0] * b[0] + a[1] * b[1] + a[2] * b[2] - (i == j ? scale2 : 0);
            if (!(fabs(off) <= same_shape * scale2) || !(scale2 > 0) || !isfinite(scale2))
                return sp_package_fail(reader->package, text, valid);
        }
    return SP_OK;
}

/* ---- elements -------------------------------------------------------------------------------- */

static object *present(const model_reader *reader)
{
    return &reader->objects[reader->object_count - 1];
}

static sp_status begin_model(model_reader *reader, const sp_tag *tag)
{
    static const struct {
        const char *name;
        double mm;
    } unit[] = {{"micron", 1e-3}, {"millimeter", 1}, {"centimeter", 10},
                {"inch", 25.4},   {"foot", 304.8},   {"meter", 1000}};
    char text[TEXT_SIZE] = "millimeter", *rest = NULL;
    reader->unit = 0;
    sp_tag_attribute(tag, "unit", text, sizeof text);
    for (size_t i = 0; i < sizeof unit / sizeof *unit; i++)
        if (strcmp(text, unit[i].name) == 0) reader->unit = unit[i].mm;
    if (reader->unit <= 0)
        return sp_package_fail(reader->package, text,
                               "micron, millimeter, centimeter, inch, foot or meter as the unit");
    if (!sp_tag_attribute(tag, "requiredextensions", text, sizeof text)) return SP_OK;
    for (char *word = strtok_r(text, " \t\r\n", &rest); word;
         word = strtok_r(NULL, " \t\r\n", &rest)) {
        const char *space = sp_tag_prefix(tag, word);
        if (!space || strcmp(space, SP_3MF_LATTICE) != 0)
            return sp_package_fail(reader->package, space ? space : word,
                                   "no required extension but the beam lattice of 2017/02");
    }
    return SP_OK;
}

/* Return how many objects have a smaller number. */
static int place_of(const model_reader *reader, long id)
{
    int low = 0, high = reader->object_count;
    while (low < high) {
        const int middle = low + (high - low) / 2;
        if (reader->objects[reader->by_id[middle]].id < id)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Find the object of this number, -1: there is none. */
static int find_object(const model_reader *reader, long id)
{
    const int place = place_of(reader, id);
    const int found = place < reader->object_count ? reader->by_id[place] : -1;
    return found >= 0 && reader->objects[found].id == id ? found : -1;
}

static sp_status begin_object(model_reader *reader, const sp_tag *tag)
{
    long id = 0;
    sp_status status = need_integer(reader, tag, "id", INT_MAX, "the number of an object", &id);
    if (status != SP_OK) return status;
    if (find_object(reader, id) >= 0)
        return sp_package_fail(reader->package, "an object number twice",
                               "objects with numbers of their own");
    if (reader->object_count == OBJECTS_MAX)
        return sp_package_fail(reader->package, "over 10000 objects", "up to 10000");
    if (reader->object_count == reader->object_capacity) {
        int capacity = reader->object_capacity ? 2 * reader->object_capacity : 16;
        object *more = sp_resize(reader->objects, (size_t)capacity, sizeof *more);
        if (more) reader->objects = more;
        int *order = sp_resize(reader->by_id, (size_t)capacity, sizeof *order);
        if (order) reader->by_id = order;
        if (!more || !order)
            return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %d objects", capacity);
        reader->object_capacity = capacity;
    }
    const int place = place_of(reader, id);
    memmove(reader->by_id + place + 1, reader->by_id + place,
            (size_t)(reader->object_count - place) * sizeof *reader->by_id);
    reader->by_id[place] = reader->object_count;
    reader->objects[reader->object_count++] = (object){.id = id,
                                                       .first_point = reader->local.point_count,
                                                       .first_line = reader->local.line_count,
                                                       .first_part = reader->parts.count,
                                                       .first_triangle = reader->corner_count / 3};
    return SP_OK;
}

static sp_status begin_vertex(model_reader *reader, const sp_tag *tag)
{
    static const char *const name[] = {"x", "y", "z"};
    double point[3];
    for (int k = 0; k < 3; k++) {
        sp_status status =
            need_number(reader, tag, name[k], "vertices with numbers x, y, z", &point[k]);
        if (status != SP_OK) return status;
    }
    present(reader)->point_count++;
    return sp_drawing_add_point(reader->context, &reader->local, point);
}

static sp_status keep_triangle(model_reader *reader, const sp_tag *tag)
{
    static const char *const name[] = {"v1", "v2", "v3"};
    const object *mesh = present(reader);
    if (reader->corner_count >= 3 * SP_TRIANGLES_MAX)
        return sp_package_fail(reader->package, "over 4 million triangles", "up to 4 million");
    /* Three corners at a time, in a block of a multiple of three. */
    int *grown = sp_grow(reader->corner, reader->corner_count, &reader->corner_capacity, 3072,
                         sizeof *grown);
    if (!grown)
        return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %d triangles",
                       reader->corner_count / 3 + 1);
    reader->corner = grown;
    for (int k = 0; k < 3; k++) {
        long point = 0;
        const sp_status status =
            need_integer(reader, tag, name[k], mesh->point_count - 1L, VALID_INDEX, &point);
        if (status != SP_OK) return status;
        reader->corner[reader->corner_count++] = mesh->first_point + (int)point;
    }
    return SP_OK;
}

static sp_status begin_triangle(model_reader *reader, const sp_tag *tag)
{
    present(reader)->triangles++;
    return reader->take ? keep_triangle(reader, tag) : SP_OK;
}

static sp_status begin_lattice(model_reader *reader, const sp_tag *tag)
{
    char text[TEXT_SIZE];
    if (sp_tag_attribute(tag, "clippingmode", text, sizeof text) && strcmp(text, "none") != 0)
        return sp_package_fail(reader->package, text, "clippingmode none (beams as they are)");
    sp_status status = need_number(reader, tag, "radius", VALID_RADIUS, &reader->radius);
    if (status == SP_OK) status = take_radius(reader, tag, "radius", &reader->radius);
    if (status != SP_OK) return status;
    return need_number(reader, tag, "minlength", "the length of the shortest beam as minlength",
                       &reader->shortest);
}

static sp_status begin_beam(model_reader *reader, const sp_tag *tag)
{
    object *mesh = present(reader);
    long end[2] = {0, 0};
    double radius[2] = {reader->radius, 0};
    sp_status status =
        need_integer(reader, tag, "v1", mesh->point_count - 1L, VALID_INDEX, &end[0]);
    if (status == SP_OK)
        status = need_integer(reader, tag, "v2", mesh->point_count - 1L, VALID_INDEX, &end[1]);
    if (status == SP_OK) status = take_radius(reader, tag, "r1", &radius[0]);
    radius[1] = radius[0];
    if (status == SP_OK) status = take_radius(reader, tag, "r2", &radius[1]);
    if (status != SP_OK) return status;
    if (end[0] == end[1])
        return sp_package_fail(reader->package, "a beam from a vertex to itself",
                               "beams between two vertices");
    int from = mesh->first_point + (int)end[0], to = mesh->first_point + (int)end[1];
    const double *a = reader->local.point + 3 * (size_t)from;
    const double *b = reader->local.point + 3 * (size_t)to;
    if (hypot(hypot(b[0] - a[0], b[1] - a[1]), b[2] - a[2]) < reader->shortest) {
        reader->short_beams++; /* the specification says to ignore them */
        return SP_OK;
    }
    reader->tapered += fabs(radius[0] - radius[1]) > 1e-9 * radius[0];
    mesh->line_count++;
    return sp_drawing_add_line(reader->context, &reader->local, from, to, radius[0] + radius[1]);
}

/* Read a line of a planar coupon, from (x1, y1) to (x2, y2), with its width. */
static sp_status begin_line(model_reader *reader, const sp_tag *tag)
{
    static const char *const name[] = {"x1", "y1", "x2", "y2"};
    sp_drawing *flat = &reader->flat;
    double end[4], width = 0;
    sp_status status = SP_OK;
    for (int k = 0; k < 4 && status == SP_OK; k++) {
        status = need_number(reader, tag, name[k], SP_COORDINATE_VALID, &end[k]);
        if (status == SP_OK && !sp_is_coordinate(end[k]))
            status = sp_package_fail(reader->package, "a line farther out", SP_COORDINATE_VALID);
    }
    if (status == SP_OK) status = need_number(reader, tag, "width", SP_DIAMETER_VALID, &width);
    if (status == SP_OK && !sp_is_diameter(width))
        status = sp_package_fail(reader->package, "a line of another width", SP_DIAMETER_VALID);
    for (int k = 0; k < 2 && status == SP_OK; k++)
        status =
            sp_drawing_add_point(reader->context, flat, (double[]){end[2 * k], end[2 * k + 1], 0});
    if (status != SP_OK) return status;
    return sp_drawing_add_line(reader->context, flat, flat->point_count - 2, flat->point_count - 1,
                               width);
}

static sp_status add_placed(model_reader *reader, placed_list *list, const sp_tag *tag)
{
    placed made;
    long id = 0;
    if (sp_tag_has_foreign(tag, "path"))
        return sp_package_fail(reader->package, "an object of another part",
                               "objects of the same model part");
    if (list->count == PLACED_MAX)
        return sp_package_fail(reader->package, "over a million components", "up to a million");
    sp_status status =
        need_integer(reader, tag, "objectid", INT_MAX, "the number of an earlier object", &id);
    if (status == SP_OK) status = take_transform(reader, tag, made.transform);
    if (status != SP_OK) return status;
    /* An object can be used only after its end tag, so that no object contains itself. */
    int known = list == &reader->parts ? reader->object_count - 1 : reader->object_count;
    made.object = find_object(reader, id);
    if (made.object < 0 || made.object >= known)
        return sp_package_fail(reader->package, "an object that is not there",
                               "the number of an earlier object");
    placed *more = sp_grow(list->item, list->count, &list->capacity, 16, sizeof *more);
    if (!more)
        return sp_fail(reader->context, SP_NO_MEMORY, "no memory for %d components",
                       list->count + 1);
    list->item = more;
    list->item[list->count++] = made;
    return SP_OK;
}

static sp_status begin_component(model_reader *reader, const sp_tag *tag)
{
    present(reader)->part_count++;
    return add_placed(reader, &reader->parts, tag);
}

static sp_status begin_item(model_reader *reader, const sp_tag *tag)
{
    return add_placed(reader, &reader->items, tag);
}

static const struct {
    const char *name, *space;
    element parent;
    sp_status (*begin)(model_reader *reader, const sp_tag *tag);
} row[] = {
    [MODEL] = {"model", SP_3MF_CORE, NONE, begin_model},
    [RESOURCES] = {"resources", SP_3MF_CORE, MODEL, NULL},
    [OBJECT] = {"object", SP_3MF_CORE, RESOURCES, begin_object},
    [MESH] = {"mesh", SP_3MF_CORE, OBJECT, NULL},
    [VERTICES] = {"vertices", SP_3MF_CORE, MESH, NULL},
    [VERTEX] = {"vertex", SP_3MF_CORE, VERTICES, begin_vertex},
    [TRIANGLES] = {"triangles", SP_3MF_CORE, MESH, NULL},
    [TRIANGLE] = {"triangle", SP_3MF_CORE, TRIANGLES, begin_triangle},
    [BEAM_LATTICE] = {"beamlattice", SP_3MF_LATTICE, MESH, begin_lattice},
    [BEAMS] = {"beams", SP_3MF_LATTICE, BEAM_LATTICE, NULL},
    [BEAM] = {"beam", SP_3MF_LATTICE, BEAMS, begin_beam},
    [LINES] = {"lines", SP_3MF_LINES, MESH, NULL},
    [LINE] = {"line", SP_3MF_LINES, LINES, begin_line},
    [COMPONENTS] = {"components", SP_3MF_CORE, OBJECT, NULL},
    [COMPONENT] = {"component", SP_3MF_CORE, COMPONENTS, begin_component},
    [BUILD] = {"build", SP_3MF_CORE, MODEL, NULL},
    [ITEM] = {"item", SP_3MF_CORE, BUILD, begin_item},
};
enum { ROWS = sizeof row / sizeof *row };

/* Skip an element that is not known, and everything inside it (metadata, colours, sets of beams).
 */
static sp_status begin_element(void *user, const sp_tag *tag)
{
    model_reader *reader = user;
    element parent = reader->depth ? reader->open[reader->depth - 1] : NONE;
    for (int i = MODEL; !reader->passed_over && i < ROWS; i++) {
        if (row[i].parent != parent || strcmp(row[i].name, tag->name) != 0 ||
            strcmp(row[i].space, tag->space) != 0)
            continue;
        reader->open[reader->depth++] = (element)i;
        return row[i].begin ? row[i].begin(reader, tag) : SP_OK;
    }
    if (parent == NONE && !reader->passed_over)
        return sp_package_fail(reader->package, tag->name, "a model of the 3MF core of 2015/02");
    reader->passed_over++;
    return SP_OK;
}

static void end_element(void *user)
{
    model_reader *reader = user;
    if (reader->passed_over)
        reader->passed_over--;
    else
        reader->depth--;
}

/* ---- from objects to lines ------------------------------------------------------------------- */

/* Find the transform that applies `inner` first and `outer` second. */
static void combine(const double inner[12], const double outer[12], double both[12])
{
    for (int i = 0; i < 4; i++)
        for (int k = 0; k < 3; k++) {
            double sum = i == 3 ? outer[9 + k] : 0;
            for (int j = 0; j < 3; j++) sum += inner[3 * i + j] * outer[3 * j + k];
            both[3 * i + k] = sum;
        }
}

/* Add the vertices of a mesh up to the last one that a beam uses; vertices that only triangles use
 * often follow. */
static int used_points(const model_reader *reader, const object *mesh)
{
    int last = mesh->first_point - 1;
    for (int i = 2 * mesh->first_line; i < 2 * (mesh->first_line + mesh->line_count); i++)
        if (reader->local.line_point[i] > last) last = reader->local.line_point[i];
    return last - mesh->first_point + 1;
}

/* Place a point of a mesh [mm]. */
static sp_status place_point(const model_reader *reader, int point, const double transform[12],
                             double at[3])
{
    const double *p = reader->local.point + 3 * (size_t)point;
    for (int k = 0; k < 3; k++) {
        at[k] = reader->unit * (p[0] * transform[k] + p[1] * transform[3 + k] +
                                p[2] * transform[6 + k] + transform[9 + k]);
        if (!sp_is_coordinate(at[k]))
            return sp_package_fail(reader->package, "a vertex farther out than 1e6 mm",
                                   SP_COORDINATE_VALID);
    }
    return SP_OK;
}

/* A mirror turns triangles inside out: their corners then go round the other way. */
static int mirrors(const double m[12])
{
    return m[0] * (m[4] * m[8] - m[5] * m[7]) - m[1] * (m[3] * m[8] - m[5] * m[6]) +
               m[2] * (m[3] * m[7] - m[4] * m[6]) <
           0;
}

static sp_status hand_on_triangles(const model_reader *reader, const object *mesh,
                                   const double transform[12])
{
    const int turn = mirrors(transform);
    for (long t = 0; t < mesh->triangles; t++) {
        const int *corner = reader->corner + 3 * (mesh->first_triangle + t);
        double at[9];
        sp_status status = SP_OK;
        for (int k = 0; k < 3 && status == SP_OK; k++)
            status = place_point(reader, corner[turn ? 2 - k : k], transform, at + 3 * k);
        if (status == SP_OK) status = reader->take(reader->user, at);
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

static sp_status add_mesh(model_reader *reader, const object *mesh, const double transform[12])
{
    if (reader->take) return hand_on_triangles(reader, mesh, transform);
    const double scale = hypot(hypot(transform[0], transform[1]), transform[2]) * reader->unit;
    const int shift = reader->drawing->point_count - mesh->first_point;
    if (mesh->line_count == 0) return SP_OK;
    const int points = used_points(reader, mesh);
    for (int n = 0; n < points; n++) {
        double at[3];
        sp_status status = place_point(reader, mesh->first_point + n, transform, at);
        if (status == SP_OK) status = sp_drawing_add_point(reader->context, reader->drawing, at);
        if (status != SP_OK) return status;
    }
    for (int i = mesh->first_line; i < mesh->first_line + mesh->line_count; i++) {
        double diameter = reader->local.line_diameter[i] * scale;
        if (!sp_is_diameter(diameter)) {
            char received[80];
            snprintf(received, sizeof received, "a beam of %.4g mm", diameter);
            return sp_package_fail(reader->package, received, SP_DIAMETER_VALID);
        }
        const int *end = reader->local.line_point + 2 * (size_t)i;
        sp_status status = sp_drawing_add_line(reader->context, reader->drawing, end[0] + shift,
                                               end[1] + shift, diameter);
        if (status != SP_OK) return status;
    }
    return SP_OK;
}

static sp_status add_object(model_reader *reader, const placed *at, const double outer[12],
                            int nested)
{
    const object *what = &reader->objects[at->object];
    double transform[12];
    if (nested > NESTED_MAX)
        return sp_package_fail(reader->package, "components nested over 32 deep", "up to 32");
    if (++reader->visits > PLACED_MAX)
        return sp_package_fail(reader->package, "over a million placed objects", "up to a million");
    combine(at->transform, outer, transform);
    reader->triangles += what->triangles;
    sp_status status = add_mesh(reader, what, transform);
    for (int i = 0; status == SP_OK && i < what->part_count; i++)
        status =
            add_object(reader, &reader->parts.item[what->first_part + i], transform, nested + 1);
    return status;
}

static sp_status build_lines(model_reader *reader)
{
    static const double same[12] = {1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0};
    sp_status status = SP_OK;
    for (int i = 0; status == SP_OK && i < reader->items.count; i++)
        status = add_object(reader, &reader->items.item[i], same, 0);
    if (status != SP_OK || reader->take || reader->drawing->line_count) return status;
    if (!reader->flat.line_count)
        return sp_package_fail(
            reader->package, "a build without beams",
            "a build that places an object with a beam lattice, or a planar coupon that "
            "`strutpress mesh` wrote");
    sp_drawing_free(reader->drawing);
    *reader->drawing = reader->flat;
    reader->flat = (sp_drawing){0};
    reader->is_flat = 1;
    reader->triangles = 0; /* the triangles and the beams are the same body */
    return SP_OK;
}

static void warn_of_losses(const model_reader *reader, const char *name)
{
    if (reader->triangles)
        sp_warn(reader->context,
                "%s: %ld triangles beside the beams are passed over: only beams are struts", name,
                reader->triangles);
    if (reader->tapered)
        sp_warn(reader->context, "%s: %ld tapered beams are taken at their mean diameter", name,
                reader->tapered);
    if (reader->short_beams)
        sp_warn(reader->context, "%s: %ld beams shorter than minlength are left out", name,
                reader->short_beams);
}

/* ---- the package ----------------------------------------------------------------------------- */

static sp_status begin_relation(void *user, const sp_tag *tag)
{
    model_reader *reader = user;
    char text[TEXT_SIZE];
    if (strcmp(tag->name, "Relationship") != 0 || strcmp(tag->space, SP_OPC_RELATIONS) != 0)
        return SP_OK;
    if (!sp_tag_attribute(tag, "Type", text, sizeof text) ||
        strcmp(text, SP_3MF_MODEL_RELATION) != 0)
        return SP_OK;
    if (!sp_tag_attribute(tag, "Target", text, sizeof text)) text[0] = 0;
    const char *part = text + (text[0] == '/');
    if (!*part || strlen(part) >= sizeof reader->model)
        return sp_package_fail(reader->package, text, "the part of the 3MF model as target");
    strcpy(reader->model, part);
    return SP_OK;
}

static sp_status read_model(model_reader *reader, const char *name, const char *bytes, size_t size)
{
    const sp_tag_handler relations = {reader, begin_relation, NULL};
    const sp_tag_handler elements = {reader, begin_element, end_element};
    sp_status status = sp_package_open(reader->context, name, bytes, size, &reader->package);
    if (status == SP_OK) status = sp_package_parse(reader->package, "_rels/.rels", &relations);
    if (status == SP_OK && !reader->model[0])
        status = sp_package_fail(reader->package, "a package without a 3MF model",
                                 "a relation to the part of the model in _rels/.rels");
    if (status == SP_OK) status = sp_package_parse(reader->package, reader->model, &elements);
    if (status == SP_OK) status = build_lines(reader);
    sp_package_close(reader->package);
    sp_drawing_free(&reader->local);
    sp_drawing_free(&reader->flat);
    sp_free(reader->objects);
    sp_free(reader->by_id);
    sp_free(reader->parts.item);
    sp_free(reader->items.item);
    sp_free(reader->corner);
    return status;
}

sp_status sp_read_3mf(sp_context *context, const char *name, const char *bytes, size_t size,
                      sp_drawing *drawing)
{
    model_reader reader = {.context = context, .drawing = drawing};
    const sp_status status = read_model(&reader, name, bytes, size);
    if (status == SP_OK) warn_of_losses(&reader, name);
    drawing->is_spatial = !reader.is_flat;
    return status;
}

sp_status sp_read_3mf_triangles(sp_context *context, const char *name, const char *bytes,
                                size_t size, sp_take_triangle *take, void *user)
{
    sp_drawing none = {0};
    model_reader reader = {.context = context, .drawing = &none, .take = take, .user = user};
    const sp_status status = read_model(&reader, name, bytes, size);
    sp_drawing_free(&none);
    return status;
}
