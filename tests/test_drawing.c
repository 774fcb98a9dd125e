/* These tests check drawings in files: diameters from VTK, good and bad 3MF packages, and written
 * files that are read again.
 *
 * Packages follow ISO/IEC 25422 (3MF core 1.3) and the beam lattice extension of 2017/02; the small
 * ones here are made by hand from the text of the specifications. */
#include "check.h"

#include <strutpress/strutpress.h>

#include "base/alloc.h"
#include "pattern/pattern.h"
#include "pattern/drawn.h"
#include "drawing/drawing.h"
#include "drawing/names_3mf.h"
#include "drawing/package.h"
#include "pattern/cell.h"
#include "temporary_file.h"

static sp_context context;
static int cautions;

static void count_caution(void *user, const char *line)
{
    (void)user;
    cautions += line[0] != 0;
}

/* ---- VTK ----------------------------------------------- */

#define HEAD "# vtk DataFile Version 3.0\ntitle\nASCII\nDATASET POLYDATA\n"
#define POINTS "POINTS 4 double\n0 0 0 2 0 0 2 3 0 0 3 5\n"
#define LINES "LINES 2 7\n3 0 1 2\n2 3 0\n"

static void diameters_in_every_spelling(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double want[3];
    } row[] = {
        {HEAD POINTS LINES, {NAN, NAN, NAN}},
        {HEAD POINTS LINES
         "CELL_DATA 2\nSCALARS diameter double 1\nLOOKUP_TABLE default\n0.5 0.8\n",
         {0.5, 0.5, 0.8}},
        {HEAD POINTS LINES "CELL_DATA 2\nSCALARS role int\nLOOKUP_TABLE default\n1 2\n"
                           "SCALARS Diameter float\nLOOKUP_TABLE default\n0.5\n0.8\n",
         {0.5, 0.5, 0.8}},
        {HEAD POINTS LINES "CELL_DATA 2\nFIELD values 2\nrole 1 2 int\n0 0\n"
                           "diameter 1 2 double\n0.5 0.8\n",
         {0.5, 0.5, 0.8}},
        {HEAD POINTS LINES "POINT_DATA 4\nVECTORS v double\n0 0 0 0 0 0 0 0 0 0 0 0\n"
                           "SCALARS diameter double 1\nLOOKUP_TABLE default\n1 2 3 5\n",
         {1.5, 2.5, 3}},
        {"# vtk DataFile Version 5.1\nt\nASCII\nDATASET UNSTRUCTURED_GRID\n" POINTS
         "CELLS 3 5\nOFFSETS vtktypeint64\n0 3 5\nCONNECTIVITY vtktypeint64\n0 1 2 3 0\n"
         "CELL_TYPES 2\n4 3\nPOINT_DATA 4\nCELL_DATA 2\nFIELD FieldData 1\n"
         "diameter 1 2 double\n0.5 0.8\nMETADATA\nINFORMATION 0\n",
         {0.5, 0.5, 0.8}},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_drawing drawing;
        if (sp_drawing_parse(&context, "a.vtk", row[i].text, strlen(row[i].text), &drawing) !=
            SP_OK)
            fail_msg("row %zu: %s", i, context.message);
        assert_true(drawing.is_spatial);
        assert_int_equal(drawing.line_count, 3);
        for (int k = 0; k < 3; k++)
            if (isnan(row[i].want[k]))
                assert_true(isnan(drawing.line_diameter[k]));
            else
                check_close(drawing.line_diameter[k], row[i].want[k], 1e-15);
        sp_drawing_free(&drawing);
    }
}

static void check_refusal(size_t row, sp_status status, const char *want)
{
    if (status != SP_BAD_NETWORK || !strstr(context.message, want))
        fail_msg("row %zu: status %d, '%s', wanted '%s'", row, (int)status, context.message, want);
    if (strchr(context.message, '\n') || !strstr(context.message, "valid: "))
        fail_msg("row %zu: '%s' is not the one line of a refusal", row, context.message);
}

static void bad_diameters_are_refused(void **state)
{
    (void)state;
#define VALUES HEAD POINTS LINES "CELL_DATA 2\nSCALARS diameter double 1\nLOOKUP_TABLE default\n"
    static const char *const row[][2] = {
        {VALUES "0.5 nan\n", "a.vtk:13: received 'nan'; valid: a diameter"},
        {VALUES "0.5 0\n", "received '0'; valid: a diameter"},
        {VALUES "-0.5 1\n", "received '-0.5'; valid: a diameter"},
        {VALUES "1e9 1\n", "received '1e9'; valid: a diameter"},
        {VALUES "0.5", "received the end of the file; valid: a diameter"},
        {HEAD POINTS LINES "CELL_DATA 3\n",
         "a.vtk:10: received '3'; valid: a whole number, 2 .. 2"},
        {HEAD POINTS LINES "CELL_DATA 2\nSCALARS diameter double 2\n", "received '2'"},
        {HEAD POINTS LINES "CELL_DATA 2\nSCALARS diameter double 1\n0.5 0.8\n",
         "received '0.5'; valid: LOOKUP_TABLE"},
        {HEAD POINTS LINES "CELL_DATA 2\nFIELD f 1\ndiameter 1 3 double\n", "received '3'"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_drawing drawing;
        check_refusal(i,
                      sp_drawing_parse(&context, "a.vtk", row[i][0], strlen(row[i][0]), &drawing),
                      row[i][1]);
        assert_true(drawing.point_count == 0 && !drawing.point);
    }
}

/* ---- 3MF ----------------------------------------------- */

#define TYPES                                                                                      \
    "<Types xmlns=\"" SP_OPC_TYPES                                                                 \
    "\"><Default Extension=\"model\" ContentType=\"" SP_3MF_MODEL_TYPE "\"/></Types>"
#define RELATION(target)                                                                           \
    "<Relationships xmlns=\"" SP_OPC_RELATIONS "\"><Relationship Target=\"" target                 \
    "\" Id=\"a\" Type=\"" SP_3MF_MODEL_RELATION "\"/></Relationships>"
#define SPACES " xmlns=\"" SP_3MF_CORE "\" xmlns:b=\"" SP_3MF_LATTICE "\" requiredextensions=\"b\">"
#define VERTICES                                                                                   \
    "<vertices><vertex x=\"0\" y=\"0\" z=\"0\"/><vertex x=\"3\" y=\"4\" z=\"0\"/>"                 \
    "<vertex x=\"0\" y=\"0\" z=\"1e1\"/></vertices>"
#define LATTICE(beams)                                                                             \
    "<b:beamlattice radius=\"0.5\" minlength=\"0.01\"><b:beams>" beams "</b:beams></"              \
    "b:beamlattice>"
#define BEAM "<b:beam v1=\"0\" v2=\"1\"/>"
#define MESH(beams) "<mesh>" VERTICES LATTICE(beams) "</mesh>"
#define MODEL(attributes, objects, build)                                                          \
    "<model" attributes SPACES "<resources>" objects "</resources><build>" build "</build></"      \
    "model>"
#define OBJECT(id, content) "<object id=\"" id "\" type=\"model\">" content "</object>"
#define ITEM "<item objectid=\"1\"/>"
#define ONE(beams) MODEL("", OBJECT("1", MESH(beams)), ITEM)

/* Pack an archive of these parts; the caller frees the bytes. A part without text is left out. */
static char *pack(const char *types, const char *relations, const char *model, size_t model_size,
                  size_t *size)
{
    sp_part parts[3];
    char *bytes = NULL;
    int count = 0;
    if (types) parts[count++] = (sp_part){"[Content_Types].xml", types, strlen(types)};
    if (relations) parts[count++] = (sp_part){"_rels/.rels", relations, strlen(relations)};
    if (model) parts[count++] = (sp_part){SP_3MF_MODEL_PART, model, model_size};
    FILE *stream = open_memstream(&bytes, size);
    assert_non_null(stream);
    if (sp_package_write(&context, parts, count, stream) != SP_OK) fail_msg("%s", context.message);
    fclose(stream);
    return bytes;
}

static char *pack_model(const char *model, size_t *size)
{
    return pack(TYPES, RELATION("/3D/3dmodel.model"), model, strlen(model), size);
}

static sp_status read_model(const char *model, sp_drawing *drawing)
{
    size_t size;
    char *bytes = pack_model(model, &size);
    context.message[0] = 0;
    sp_status status = sp_drawing_parse(&context, "a.3mf", bytes, size, drawing);
    free(bytes);
    return status;
}

static sp_drawing good_model(const char *model)
{
    sp_drawing drawing;
    if (read_model(model, &drawing) != SP_OK) fail_msg("%s", context.message);
    assert_true(drawing.is_spatial);
    return drawing;
}

static double length_of(const sp_drawing *drawing, int line)
{
    const double *a = drawing->point + 3 * drawing->line_point[2 * line];
    const double *b = drawing->point + 3 * drawing->line_point[2 * line + 1];
    return hypot(hypot(b[0] - a[0], b[1] - a[1]), b[2] - a[2]);
}

static void radii_have_the_defaults_of_the_specification(void **state)
{
    (void)state;
    cautions = 0;
    sp_drawing drawing = good_model(ONE(BEAM "<b:beam v1=\"1\" v2=\"2\" r1=\"0.75\" cap1=\"butt\"/>"
                                             "<b:beam v1=\"2\" v2=\"0\" r1=\"0.2\" r2=\"0.6\"/>"));
    assert_int_equal(drawing.line_count, 3);
    assert_int_equal(drawing.point_count, 3);
    check_close(drawing.line_diameter[0], 1, 1e-15);   /* of the lattice */
    check_close(drawing.line_diameter[1], 1.5, 1e-15); /* r2 is r1 */
    check_close(drawing.line_diameter[2], 0.8, 1e-15); /* tapered: the mean, with a caution */
    check_close(length_of(&drawing, 0), 5, 1e-15);
    check_close(length_of(&drawing, 2), 10, 1e-15);
    assert_int_equal(cautions, 1);
    sp_drawing_free(&drawing);
}

static void every_unit_is_honoured(void **state)
{
    (void)state;
    static const struct {
        const char *unit;
        double mm;
        const char *radius;
    } row[] = {{"micron", 1e-3, "500"}, {"millimeter", 1, "0.5"}, {"centimeter", 10, "0.5"},
               {"inch", 25.4, "0.5"},   {"foot", 304.8, "0.05"},  {"meter", 1000, "0.005"}};
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        char model[2000];
        snprintf(model, sizeof model,
                 "<model unit=\"%s\"" SPACES "<resources><object id=\"1\"><mesh>" VERTICES
                 "<b:beamlattice radius=\"%s\" minlength=\"1e-3\"><b:beams>" BEAM
                 "</b:beams></b:beamlattice></mesh></object></resources><build>" ITEM
                 "</build></model>",
                 row[i].unit, row[i].radius);
        sp_drawing drawing = good_model(model);
        check_relative(length_of(&drawing, 0), 5 * row[i].mm, 1e-14);
        check_relative(drawing.line_diameter[0], 2 * atof(row[i].radius) * row[i].mm, 1e-14);
        sp_drawing_free(&drawing);
    }
}

/* A transform is a row vector times the matrix, then the shift (3MF core, 3.3): that of the
 * component first, then that of the item. */
static void transforms_are_honoured(void **state)
{
    (void)state;
    static const char model[] =
        MODEL("",
              OBJECT("1", MESH(BEAM)) OBJECT("7", "<components><component objectid=\"1\" "
                                                  "transform=\"2 0 0 0 2 0 0 0 2 1 0 0\"/>"
                                                  "<component objectid=\"1\"/></components>"),
              "<item objectid=\"7\" transform=\"0 1 0 -1 0 0 0 0 1 0 0 5\"/>");
    static const double want[][3] = {{0, 1, 5}, {-8, 7, 5}, {0, 0, 5}, {-4, 3, 5}};
    sp_drawing drawing = good_model(model);
    assert_int_equal(drawing.line_count, 2);
    for (int k = 0; k < 4; k++)
        for (int d = 0; d < 3; d++)
            check_close(drawing.point[3 * drawing.line_point[k] + d], want[k][d], 1e-14);
    check_close(drawing.line_diameter[0], 2, 1e-14); /* scaled by 2 */
    check_close(drawing.line_diameter[1], 1, 1e-14);
    sp_drawing_free(&drawing);
}

static void what_is_no_beam_is_passed_over(void **state)
{
    (void)state;
    cautions = 0;
    sp_drawing drawing =
        good_model("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- a foot -->" MODEL(
            " unit=\"millimeter\" xmlns:q=\"urn:q\"",
            "<basematerials id=\"5\"><base name=\"x\" "
            "displaycolor=\"#FF0000\"/></basematerials>"
            "<q:object id=\"1\"><vertex/></q:object>" OBJECT(
                "1", "<mesh>" VERTICES "<triangles><triangle v1=\"0\" v2=\"1\" v3=\"2\"/>"
                     "</triangles>" LATTICE(BEAM "<b:beam v1=\"2\" v2=\"1\" q:r1=\"9\" "
                                                 "pid=\"5\"/>") "<b:beamsets><b:beamset><b:ref "
                                                                "index=\"0\"/></b:beamset></"
                                                                "b:beamsets></mesh>"),
            ITEM));
    assert_int_equal(drawing.line_count, 2);
    check_close(drawing.line_diameter[1], 1, 0);
    assert_int_equal(cautions, 1); /* the triangle */
    sp_drawing_free(&drawing);
    drawing = good_model(
        MODEL("",
              OBJECT("1", "<mesh>" VERTICES "<b:beamlattice radius=\"0.5\" "
                          "minlength=\"6\"><b:beams>" BEAM "<b:beam v1=\"0\" v2=\"2\"/></b:beams>"
                          "</b:beamlattice></mesh>"),
              ITEM));
    assert_int_equal(drawing.line_count, 1); /* 5 mm is shorter than minlength */
    assert_int_equal(cautions, 2);
    sp_drawing_free(&drawing);
}

static void malformed_models_are_refused(void **state)
{
    (void)state;
#define BAD(attributes) ONE("<b:beam " attributes "/>")
#define PLACED(transform)                                                                          \
    MODEL("", OBJECT("1", MESH(BEAM)), "<item objectid=\"1\" transform=\"" transform "\"/>")
    static const char *const row[][2] = {
        {"", "received '"},
        {"hello", "3D/3dmodel.model:1: received 'Document is empty"},
        {"<model>", "valid: a model of the 3MF core"},
        {"<model xmlns=\"urn:x\"/>", "received 'model'; valid: a model of the 3MF core"},
        {"<model" SPACES "<resources>", "valid: well-formed XML"},
        {"<model" SPACES "</model>", "a.3mf: received 'a build without beams'"},
        {ONE(BEAM "<b:beam v1=\"0\" v2=\"2\">"), "valid: well-formed XML"},
        {MODEL(" unit=\"furlong\"", "", ""), "received 'furlong'; valid: micron"},
        {MODEL("", OBJECT("1", "<mesh>" VERTICES "</mesh>"), ITEM), "a build without beams"},
        {MODEL("", OBJECT("1", MESH("")), ITEM), "a build without beams"},
        {MODEL("", OBJECT("1", MESH(BEAM)), ""), "a build without beams"},
        {MODEL("", OBJECT("1", MESH(BEAM)), "<item objectid=\"2\"/>"),
         "an object that is not there"},
        {MODEL("", OBJECT("1", MESH(BEAM)), "<item/>"), "received 'nothing'"},
        {MODEL("", OBJECT("1", MESH(BEAM)) OBJECT("1", MESH(BEAM)), ITEM),
         "an object number twice"},
        {MODEL("", OBJECT("x", MESH(BEAM)), ITEM), "received 'x'; valid: the number of an object"},
        {MODEL("", OBJECT("1", "<components><component objectid=\"1\"/></components>"), ITEM),
         "an object that is not there"},
        {MODEL(" xmlns:p=\"urn:p\"", OBJECT("1", MESH(BEAM)),
               "<item objectid=\"1\" p:path=\"/3D/other.model\"/>"),
         "an object of another part"},
        {BAD("v1=\"0\" v2=\"3\""),
         "3D/3dmodel.model:1: received '3'; valid: a vertex of this mesh"},
        {BAD("v1=\"-1\" v2=\"1\""), "received '-1'; valid: a vertex"},
        {BAD("v1=\"0\" v2=\"99999999999999999999\""), "valid: a vertex"},
        {BAD("v1=\"0\" v2=\"1.5\""), "received '1.5'; valid: a vertex"},
        {BAD("v1=\"0\""), "received 'nothing'; valid: a vertex"},
        {BAD("v1=\"1\" v2=\"1\""), "a beam from a vertex to itself"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"-0.5\""), "received '-0.5'; valid: a radius above 0"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"0\""), "received '0'; valid: a radius above 0"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"nan\""), "received 'nan'; valid: a radius"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"inf\""), "received 'inf'; valid: a radius"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"0x1\""), "received '0x1'; valid: a radius"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"1e308\" r2=\"1e308\""), "a beam of inf mm"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"60\""), "a beam of 120 mm"},
        {BAD("v1=\"0\" v2=\"1\" r1=\"0.001\""), "a beam of 0.002 mm"},
        {MODEL("",
               OBJECT("1", "<mesh><vertices><vertex x=\"nan\" y=\"0\" z=\"0\"/></vertices></mesh>"),
               ITEM),
         "received 'nan'; valid: vertices"},
        {MODEL("", OBJECT("1", "<mesh><vertices><vertex x=\"1\" y=\"0\"/></vertices></mesh>"),
               ITEM),
         "received 'nothing'; valid: vertices"},
        {MODEL("",
               OBJECT("1", "<mesh><vertices><vertex x=\"1e7\" y=\"0\" z=\"0\"/><vertex x=\"0\" "
                           "y=\"0\" z=\"0\"/></vertices>" LATTICE(BEAM) "</mesh>"),
               ITEM),
         "a vertex farther out than 1e6 mm"},
        {MODEL("", OBJECT("1", "<mesh>" VERTICES "<b:beamlattice minlength=\"1\"/></mesh>"), ITEM),
         "received 'nothing'; valid: a radius"},
        {MODEL("", OBJECT("1", "<mesh>" VERTICES "<b:beamlattice radius=\"1\"/></mesh>"), ITEM),
         "received 'nothing'; valid: the length of the shortest"},
        {MODEL("",
               OBJECT("1", "<mesh>" VERTICES "<b:beamlattice radius=\"1\" minlength=\"1\" "
                           "clippingmode=\"inside\" clippingmesh=\"3\"/></mesh>"),
               ITEM),
         "received 'inside'; valid: clippingmode none"},
        {PLACED("1 0 0 0 2 0 0 0 1 0 0 0"), "valid: twelve numbers: a turn"},
        {PLACED("1 1 0 0 1 0 0 0 1 0 0 0"), "valid: twelve numbers: a turn"},
        {PLACED("0 0 0 0 0 0 0 0 0 0 0 0"), "valid: twelve numbers: a turn"},
        {PLACED("1 0 0 0 1 0 0 0 1 0 0"), "valid: twelve numbers"},
        {PLACED("1 0 0 0 1 0 0 0 1 0 0 0 0"), "valid: twelve numbers"},
        {PLACED("1 0 0 0 1 0 0 0 1 0 0 nan"), "valid: twelve numbers"},
        {PLACED("1e200 0 0 0 1e200 0 0 0 1e200 0 0 0"), "valid: twelve numbers"},
        /* These are required extensions: one that is not known, and a prefix that stands for
         * nothing. */
        {"<model xmlns=\"" SP_3MF_CORE "\" xmlns:s=\"http://example.org/slices\" "
         "requiredextensions=\"s\"/>",
         "received 'http://example.org/slices'; valid: no required extension but"},
        {"<model xmlns=\"" SP_3MF_CORE "\" requiredextensions=\"b\"/>",
         "received 'b'; valid: no required extension but"},
        /* These use entities: none is ever expanded. */
        {"<!DOCTYPE model [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\">"
         "<!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;\"><!ENTITY d \"&c;&c;&c;&c;&c;&c;&c;&c;\">]>"
         "<model>&d;</model>",
         "received '<!DOCTYPE'; valid: XML without a document type"},
        {"<!DOCTYPE model SYSTEM \"file:///etc/passwd\"><model/>", "received '<!DOCTYPE'"},
        {"<model" SPACES "&a;</model>", "valid: well-formed XML"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        sp_drawing drawing;
        check_refusal(i, read_model(row[i][0], &drawing), row[i][1]);
        sp_drawing_free(&drawing);
    }
}

/* Nested components end: each object has 16 components of the one before it, without a vertex
 * anywhere. */
static void nested_components_end(void **state)
{
    (void)state;
    char *model = NULL;
    size_t size;
    for (int kind = 0; kind < 2; kind++) {
        sp_drawing drawing;
        FILE *stream = open_memstream(&model, &size);
        fprintf(stream, "<model" SPACES "<resources>" OBJECT("1", ""));
        for (int i = 2; i < 40; i++) {
            fprintf(stream, "<object id=\"%d\"><components>", i);
            for (int k = 0; k < (kind ? 1 : 16); k++)
                fprintf(stream, "<component objectid=\"%d\"/>", i - 1);
            fprintf(stream, "</components></object>");
        }
        fprintf(stream, "</resources><build><item objectid=\"%d\"/></build></model>",
                kind ? 39 : 20);
        fclose(stream);
        check_refusal((size_t)kind, read_model(model, &drawing),
                      kind ? "components nested over 32 deep" : "over a million placed objects");
        free(model);
    }
}

static void malformed_archives_are_refused(void **state)
{
    (void)state;
    sp_drawing drawing;
    size_t size;
    char *bytes = pack_model(ONE(BEAM), &size);
    assert_int_equal(sp_drawing_parse(&context, "a", bytes, size, &drawing),
                     SP_OK); /* by content */
    sp_drawing_free(&drawing);
    /* The file is cut short anywhere. */
    for (size_t cut = 0; cut < size; cut++) {
        sp_status status = sp_drawing_parse(&context, "a.3mf", bytes, cut, &drawing);
        check_refusal(cut, status,
                      cut ? "a.3mf: received 'no archive" : "an archive without [Content_Types]");
    }
    /* One byte is changed: the file is refused in one line, or the change does not matter. */
    for (size_t at = 0; at < size; at++) {
        bytes[at] ^= 0x55;
        sp_status status = sp_drawing_parse(&context, "a.3mf", bytes, size, &drawing);
        if (status != SP_OK) check_refusal(at, status, "a.3mf:");
        sp_drawing_free(&drawing);
        bytes[at] ^= 0x55;
    }
    free(bytes);
    static const char hello[] = "hello, this is no archive";
    check_refusal(0, sp_drawing_parse(&context, "a.3mf", hello, sizeof hello - 1, &drawing),
                  "received 'no archive");
    static const char good[] = ONE(BEAM);
    static const struct {
        const char *types, *relations, *model, *want;
    } row[] = {
        {NULL, RELATION("/3D/3dmodel.model"), good, "an archive without [Content_Types].xml"},
        {TYPES, NULL, good, "a.3mf:_rels/.rels: received 'an archive without this part'"},
        {TYPES, RELATION("/3D/3dmodel.model"), NULL,
         "a.3mf:3D/3dmodel.model: received 'an archive without this part'"},
        {TYPES, RELATION(""), good, "received ''; valid: the part of the 3MF model"},
        {TYPES, "<Relationships xmlns=\"" SP_OPC_RELATIONS "\"/>", good,
         "a package without a 3MF model"},
        {TYPES, "<Relationships", good, "a.3mf:_rels/.rels:1: received"},
    };
    for (size_t i = 0; i < sizeof row / sizeof *row; i++) {
        bytes = pack(row[i].types, row[i].relations, row[i].model,
                     row[i].model ? strlen(row[i].model) : 0, &size);
        check_refusal(i, sp_drawing_parse(&context, "a.3mf", bytes, size, &drawing), row[i].want);
        free(bytes);
    }
}

/* Archives that are small and unpack to much are refused: by the size that they state, and by the
 * size that comes out. */
static void archives_that_swell_are_refused(void **state)
{
    (void)state;
    sp_drawing drawing;
    size_t size, much = SP_PART_MAX + 4096;
    char *model = malloc(much);
    assert_non_null(model);
    memset(model, ' ', much);
    memcpy(model, "<model", 6);
    char *bytes = pack(TYPES, RELATION("/3D/3dmodel.model"), model, much, &size);
    free(model);
    assert_true(size < much / 100);
    check_refusal(0, sp_drawing_parse(&context, "a.3mf", bytes, size, &drawing),
                  "over 64 MB when unpacked");
    unsigned char large[4], small[4] = {100, 0, 0, 0};
    int found = 0;
    for (int k = 0; k < 4; k++) large[k] = (unsigned char)(much >> (8 * k));
    for (size_t at = 0; at + 4 <= size; at++)
        if (memcmp(bytes + at, large, 4) == 0) {
            memcpy(bytes + at, small, 4);
            found++;
        }
    assert_int_equal(found, 2); /* beside the part and in the directory */
    check_refusal(1, sp_drawing_parse(&context, "a.3mf", bytes, size, &drawing), "a.3mf:");
    free(bytes);
}

static void every_failed_allocation_is_reported(void **state)
{
    (void)state;
    size_t size;
    long before = sp_alloc_count();
    char *bytes = pack_model(ONE(BEAM), &size);
    for (long nth = 1;; nth++) {
        sp_drawing drawing;
        sp_alloc_fail_at(nth);
        sp_status status = sp_drawing_parse(&context, "a.3mf", bytes, size, &drawing);
        sp_alloc_fail_at(0);
        sp_drawing_free(&drawing);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
    free(bytes);
}

/* ---- written and read again ----------------------------------------------- */

enum { JOINTS = 5, STRUTS = 6 };
static double joint[3 * JOINTS] = {0,  0,    0,        10, 0,          1.0 / 3, 10,  20.0 / 7,
                                   12, 0.25, 19.99999, 3,  123.456789, 7.5,     2e-3};
static int ends[2 * STRUTS] = {0, 1, 1, 2, 2, 3, 3, 0, 0, 2, 3, 4};
static double thickness[STRUTS] = {0.42, 0.8, 1.0 / 3, 2, 0.123456789, 1};
static double height[STRUTS] = {0, 0, 0, 0, 0, 0.5};
static double up[3 * STRUTS];
static unsigned char role[STRUTS], face[JOINTS];

static sp_result spatial_result(void)
{
    sp_result result = {0};
    sp_case_default(&result.request);
    result.request.flaw_seed = 0;
    result.network = (sp_network){.dimension = 3,
                                  .built = SP_BUILT_SPATIAL,
                                  .size = {124, 20, 12},
                                  .joint_count = JOINTS,
                                  .joint_position = joint,
                                  .joint_face = face,
                                  .strut_count = STRUTS,
                                  .strut_joint = ends,
                                  .strut_thickness = thickness,
                                  .strut_height = height,
                                  .strut_up = up,
                                  .strut_role = role};
    return result;
}

static char *written(const char *name, const sp_result *result, size_t *size)
{
    int count;
    char *bytes = NULL;
    const sp_writer_row *row = sp_writer_rows(&count);
    FILE *stream = open_memstream(&bytes, size);
    for (int i = 0; i < count; i++)
        if (strcmp(row[i].file, name) == 0 && row[i].write(&context, result, stream) != SP_OK)
            fail_msg("%s: %s", name, context.message);
    fclose(stream);
    assert_true(*size > 0);
    return bytes;
}

static void what_is_written_is_read_again(void **state)
{
    (void)state;
    static const char *const name[] = {"network.vtk", "network.3mf"};
    const sp_result result = spatial_result();
    for (int i = 0; i < 2; i++) {
        sp_drawing drawing;
        size_t size, again_size;
        char *bytes = written(name[i], &result, &size), *again;
        if (sp_drawing_parse(&context, name[i], bytes, size, &drawing) != SP_OK)
            fail_msg("%s", context.message);
        assert_true(drawing.is_spatial);
        assert_int_equal(drawing.point_count, JOINTS);
        assert_int_equal(drawing.line_count, STRUTS);
        for (int k = 0; k < 3 * JOINTS; k++) check_relative(drawing.point[k], joint[k], 5e-9);
        for (int k = 0; k < 2 * STRUTS; k++) assert_int_equal(drawing.line_point[k], ends[k]);
        for (int s = 0; s < STRUTS; s++) {
            double area =
                height[s] > 0 ? thickness[s] * height[s] : M_PI / 4 * thickness[s] * thickness[s];
            check_relative(M_PI / 4 * drawing.line_diameter[s] * drawing.line_diameter[s], area,
                           2e-8);
        }
        sp_drawing_free(&drawing);
        again = written(name[i], &result, &again_size);
        assert_int_equal(size, again_size);
        assert_memory_equal(bytes, again, size);
        free(bytes), free(again);
    }
}

static int fills_the_box(const sp_network *network)
{
    double low[3] = {INFINITY, INFINITY, INFINITY}, high[3] = {0};
    int fills = 1;
    for (int i = 0; i < 3 * network->joint_count; i++) {
        low[i % 3] = fmin(low[i % 3], network->joint_position[i]);
        high[i % 3] = fmax(high[i % 3], network->joint_position[i]);
    }
    for (int k = 0; k < 3; k++) fills &= low[k] < 1e-9 && high[k] > network->size[k] - 1e-9;
    return fills;
}

/* Build the coupon of a case without flaws into `result`, write it into the file called `name`, and
 * read that as the drawing of the same case. */
static void read_back(sp_case *request, const char *name, sp_result *result, sp_network *drawn)
{
    size_t size;
    char file[200], pattern[SP_NAME_SIZE];
    snprintf(pattern, sizeof pattern, "%s", request->pattern);
    sp_case_default(&result->request);
    result->request.flaw_seed = 0;
    if (sp_network_build(&context, request, 0, &result->network) != SP_OK)
        fail_msg("%s: %s", pattern, context.message);
    char *bytes = written(name, result, &size);
    write_temporary_bytes(file, sizeof file, bytes, size);
    snprintf(request->pattern, SP_NAME_SIZE, "drawn");
    snprintf(request->network_file, SP_FILE_SIZE, "%s", file);
    if (sp_network_build(&context, request, 0, drawn) != SP_OK)
        fail_msg("%s: %s", pattern, context.message);
    assert_int_equal(drawn->joint_count, result->network.joint_count);
    assert_int_equal(drawn->strut_count, result->network.strut_count);
    remove(file);
    free(bytes);
}

/* The struts of every spatial pattern, written and read as a drawing, are the same network. Random
 * cells need not reach the free sides, so that the drawing goes to the corner of the box and other
 * struts stand out of it by half their width. */
static void every_spatial_pattern_reads_back(void **state)
{
    (void)state;
    static const char *const name[] = {"network.vtk", "network.3mf"};
    int count;
    const sp_cell_row *row = sp_cell_rows(&count);
    for (int i = 0; i < 2 * count; i++) {
        sp_result result = {0};
        sp_network drawn;
        sp_case request;
        sp_case_default(&request);
        request.flaw_seed = 0;
        request.height = request.width = request.depth = 20,
        request.cells_x = request.cells_y = request.cells_z = 2;
        request.density = 0.1;
        snprintf(request.pattern, SP_NAME_SIZE, "%s", row[i / 2].name);
        read_back(&request, name[i % 2], &result, &drawn);
        check_relative(drawn.nominal_density, result.network.nominal_density,
                       fills_the_box(&result.network) ? 1e-6 : 0.02);
        check_relative(drawn.solid_fraction, result.network.solid_fraction,
                       fills_the_box(&result.network) ? 1e-6 : 0.02);
        sp_network_free(&drawn);
        sp_network_free(&result.network);
    }
}

/* The file for a printer of every planar pattern, read as a drawing with the same beads and walls,
 * gives the same network and the same mass. */
static void every_planar_pattern_reads_back(void **state)
{
    (void)state;
    int count;
    const sp_pattern_row *row = sp_pattern_rows(&count);
    for (int i = 0; i < count; i++) {
        sp_result result = {0};
        sp_network drawn;
        sp_case request;
        sp_case_default(&request);
        request.flaw_seed = 0;
        snprintf(request.pattern, SP_NAME_SIZE, "%s", row[i].name);
        if (sp_drawn_is_used(&request)) continue;
        read_back(&request, "network.3mf", &result, &drawn);
        check_relative(drawn.solid_fraction, result.network.solid_fraction, 1e-6);
        sp_network_free(&drawn);
        sp_network_free(&result.network);
    }
}

/* Both loose ends of a short line are drawn to one place of another line, and a third loose end
 * beside them still joins that line where it was drawn: the line without length has no direction
 * to be drawn along. */
static void ends_drawn_to_one_place(void **state)
{
    (void)state;
    static const char drawn[] = "v 2 10 0\nv 18 10 0\nv 10 9.8 0\nv 10 10.2 0\nv 10.9 10.1 0\n"
                                "v 14 20 0\nv 2 0 0\nv 18 20 0\n"
                                "l 1 2\nl 3 4\nl 5 6\nl 7 8\n";
    char file[200], named[210];
    sp_case request;
    sp_network network;
    int joined = 0;
    write_temporary_bytes(file, sizeof file, drawn, sizeof drawn - 1);
    snprintf(named, sizeof named, "%s.obj", file);
    assert_int_equal(rename(file, named), 0);
    sp_case_default(&request);
    request.width = request.height = 20, request.depth = 10;
    request.bead_width = 0.5, request.wall_beads = 1;
    snprintf(request.pattern, SP_NAME_SIZE, "drawn");
    snprintf(request.network_file, SP_FILE_SIZE, "%s", named);
    if (sp_network_build(&context, &request, 0, &network) != SP_OK) fail_msg("%s", context.message);
    for (int n = 0; n < network.joint_count; n++) {
        const double *at = network.joint_position + 3 * n;
        assert_true(isfinite(at[0]) && isfinite(at[1]));
        for (int m = 0; m < network.joint_count;
             m++) { /* 0.9 mm beside the crossing of two lines */
            const double *other = network.joint_position + 3 * m;
            joined += fabs(at[0] - other[0] - 0.9) < 1e-9 && fabs(at[1] - other[1]) < 1e-9;
        }
    }
    assert_int_equal(joined, 1);
    remove(named);
    sp_network_free(&network);
}

/* rewritten.3mf was made from meshes/foot-basket.3mf by the reference library of the 3MF consortium
 * (lib3mf 1.8.1 of Debian 12), which read it in strict mode without a warning: it holds the same
 * beams. */
static void another_writer_gives_the_same_beams(void **state)
{
    (void)state;
    sp_drawing ours, theirs;
    assert_int_equal(sp_drawing_read(&context, "meshes/foot-basket.3mf", &ours), SP_OK);
    if (sp_drawing_read(&context, "tests/fuzz/corpus/package/rewritten.3mf", &theirs) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(theirs.point_count, ours.point_count);
    assert_int_equal(theirs.line_count, ours.line_count);
    for (int i = 0; i < 3 * ours.point_count; i++)
        check_close(theirs.point[i], ours.point[i], 1e-5);
    for (int i = 0; i < ours.line_count; i++) {
        assert_int_equal(theirs.line_point[2 * i], ours.line_point[2 * i]);
        assert_int_equal(theirs.line_point[2 * i + 1], ours.line_point[2 * i + 1]);
        check_close(theirs.line_diameter[i], ours.line_diameter[i], 1e-5);
    }
    sp_drawing_free(&ours);
    sp_drawing_free(&theirs);
}

static void packages_say_what_they_are_for(void **state)
{
    (void)state;
    sp_result result = spatial_result();
    size_t size;
    char *bytes = written("network.vtk", &result, &size);
    assert_non_null(strstr(bytes, "predictions for choosing coupons to print"));
    free(bytes);
    /* The time and date of the first part (APPNOTE 4.3.7, offset 10) are 1980-01-01 0:00, and not
     * those of the clock. */
    bytes = written("network.3mf", &result, &size);
    assert_memory_equal(bytes + 10, "\0\0\x21\0", 4);
    free(bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(diameters_in_every_spelling),
        cmocka_unit_test(bad_diameters_are_refused),
        cmocka_unit_test(radii_have_the_defaults_of_the_specification),
        cmocka_unit_test(every_unit_is_honoured),
        cmocka_unit_test(transforms_are_honoured),
        cmocka_unit_test(what_is_no_beam_is_passed_over),
        cmocka_unit_test(malformed_models_are_refused),
        cmocka_unit_test(nested_components_end),
        cmocka_unit_test(malformed_archives_are_refused),
        cmocka_unit_test(archives_that_swell_are_refused),
        cmocka_unit_test(every_failed_allocation_is_reported),
        cmocka_unit_test(what_is_written_is_read_again),
        cmocka_unit_test(every_spatial_pattern_reads_back),
        cmocka_unit_test(every_planar_pattern_reads_back),
        cmocka_unit_test(ends_drawn_to_one_place),
        cmocka_unit_test(another_writer_gives_the_same_beams),
        cmocka_unit_test(packages_say_what_they_are_for),
    };
    context.warn = count_caution;
    return cmocka_run_group_tests(tests, NULL, NULL);
}
