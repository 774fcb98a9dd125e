/* These tests check files of triangles that are read as bodies: closed forms of cubes, of cubes
 * that overlap (volume by inclusion and exclusion) and of crossing rods (Steinmetz bodies), in STL,
 * text and binary, and in 3MF; files that `mesh` writes of every pattern, read back; and files that
 * are refused. */
#include "check.h"

#include <math.h>
#include <stdint.h>
#include <sys/stat.h>
#include <unistd.h>

#include <strutpress/strutpress.h>

#include "base/alloc.h"
#include "coupon.h"
#include "drawing/names_3mf.h"
#include "drawing/package.h"
#include "pattern/cell.h"
#include "pattern/pattern.h"
#include "printing/overlap.h"
#include "printing/struts.h"
#include "temporary_file.h"

static sp_context context;
static char folder[64], name[128];

/* Return the name of a file in the folder of this test. */
static const char *in_folder(const char *file)
{
    snprintf(name, sizeof name, "%s/%s", folder, file);
    return name;
}

static void put(const char *file, const void *bytes, size_t size)
{
    FILE *stream = fopen(in_folder(file), "wb");
    assert_non_null(stream);
    assert_int_equal(fwrite(bytes, 1, size, stream), size);
    assert_int_equal(fclose(stream), 0);
}

static sp_mesh_figures read_well(const char *file)
{
    sp_mesh_figures f;
    context.message[0] = 0;
    if (sp_mesh_read(&context, in_folder(file), &f) != SP_OK) fail_msg("%s", context.message);
    return f;
}

/* ---- cubes ----------------------------------------------- */

/* These are the faces of a cube as triangles that look outwards; the bits of a corner are its
 * coordinates. */
static const int face[12][3] = {{0, 2, 1}, {1, 2, 3}, {4, 5, 6}, {5, 7, 6}, {0, 1, 4}, {1, 5, 4},
                                {2, 6, 3}, {3, 6, 7}, {0, 4, 2}, {2, 4, 6}, {1, 3, 5}, {3, 7, 5}};

typedef struct text {
    char *bytes;
    size_t size;
    FILE *stream;
} text;

static void begin(text *t)
{
    t->stream = open_memstream(&t->bytes, &t->size);
    assert_non_null(t->stream);
}

/* Write the triangles of a cube. `turned` 1: inside out; `without`: a triangle that is left out,
 * -1: none. */
static void facet_cube(FILE *stream, double at, double side, int turned, int without)
{
    for (int t = 0; t < 12; t++) {
        if (t == without) continue;
        fprintf(stream, "  facet normal nan 0 0\n  outer loop\n");
        for (int k = 0; k < 3; k++) {
            const int corner = face[t][turned ? 2 - k : k];
            fprintf(stream, "    vertex %.9g %.9g %.9g\n", at + side * (corner & 1),
                    at + side * (corner >> 1 & 1), at + side * (corner >> 2));
        }
        fprintf(stream, "  endloop\n  endfacet\n");
    }
}

static sp_mesh_figures read_cubes(double at, double side, int turned, int without, double other)
{
    text t;
    begin(&t);
    fprintf(t.stream, "solid any name, facet and all\n");
    facet_cube(t.stream, at, side, turned, without);
    if (other > 0) facet_cube(t.stream, at + other, side, 0, -1);
    fprintf(t.stream, "endsolid\n");
    fclose(t.stream);
    put("cube.stl", t.bytes, t.size);
    free(t.bytes);
    return read_well("cube.stl");
}

static void cubes_have_the_volume_of_cubes(void **state)
{
    (void)state;
    sp_mesh_figures f = read_cubes(-300, 2.5, 0, -1, 0);
    assert_string_equal(f.format, "STL in text");
    assert_int_equal(f.triangles, 12);
    assert_int_equal(f.corners, 8);
    assert_int_equal(f.parts, 1);
    assert_int_equal(f.open_edges, 0);
    check_relative(f.volume, 2.5 * 2.5 * 2.5, 1e-6);
    check_true(f.uncertain == 0 && !f.has_unit);
    for (int k = 0; k < 3; k++) check_close(f.low[k], -300, 1e-9);
    /* The cubes are two that overlap in a cube of 1.5 (inclusion and exclusion), two apart, and two
     * that touch in a corner. */
    f = read_cubes(7, 2.5, 0, -1, 1);
    check_relative(f.enclosed, 2 * 15.625, 1e-6);
    check_true(fabs(f.volume - (2 * 15.625 - 3.375)) <= f.uncertain);
    check_true(f.uncertain < 2e-3 * f.volume);
    assert_int_equal(f.parts, 2);
    f = read_cubes(7, 2.5, 0, -1, 4);
    check_true(f.parts == 2 && f.uncertain == 0 && !f.open_edges);
    check_relative(f.volume, 2 * 15.625, 1e-6);
    f = read_cubes(7, 2.5, 0, -1, 2.5);
    check_true(f.parts == 1 && f.uncertain == 0 && !f.open_edges);
    /* One cube is inside out, and one is open. */
    f = read_cubes(0, 2, 1, -1, 0);
    check_relative(f.volume, -8, 1e-9);
    f = read_cubes(0, 2, 0, 4, 0);
    assert_int_equal(f.open_edges, 3);
    check_true(isnan(f.volume) && isnan(f.enclosed));
    check_true(f.open_from[1] == 0 && f.open_to[1] == 0); /* of the face that lacks a half */
}

static void put_word(FILE *stream, uint32_t word)
{
    for (int k = 0; k < 4; k++) fputc((int)(word >> 8 * k & 255), stream);
}

/* Write a binary file that begins like text, of a cube of 3, which states that it holds `said`
 * triangles. */
static void put_binary(unsigned said, const double *spoil)
{
    text t;
    begin(&t);
    fprintf(t.stream, "%-80s", "solid cube");
    put_word(t.stream, said);
    for (int i = 0; i < 12; i++) {
        for (int k = 0; k < 3; k++) put_word(t.stream, 0);
        for (int k = 0; k < 9; k++) {
            const int corner = face[i][k / 3];
            const float value =
                spoil && i == 5 && k == 4 ? (float)*spoil : (float)(3 * (corner >> k % 3 & 1));
            uint32_t word;
            memcpy(&word, &value, sizeof word);
            put_word(t.stream, word);
        }
        fputc(0, t.stream), fputc(0, t.stream);
    }
    fclose(t.stream);
    put("binary.stl", t.bytes, t.size);
    free(t.bytes);
}

static void binary_reads_as_text_does(void **state)
{
    (void)state;
    put_binary(12, NULL);
    const sp_mesh_figures f = read_well("binary.stl");
    assert_string_equal(f.format, "binary STL");
    check_true(f.corners == 8 && !f.open_edges && f.parts == 1);
    check_relative(f.volume, 27, 1e-6);
}

/* ---- 3MF ----------------------------------------------- */

static void put_package(const char *model)
{
    static const char types[] = "<Types xmlns=\"" SP_OPC_TYPES "\"/>";
    static const char relations[] =
        "<Relationships xmlns=\"" SP_OPC_RELATIONS "\"><Relationship Target=\"/" SP_3MF_MODEL_PART
        "\" Id=\"a\" Type=\"" SP_3MF_MODEL_RELATION "\"/></Relationships>";
    const sp_part part[] = {{"[Content_Types].xml", types, sizeof types - 1},
                            {"_rels/.rels", relations, sizeof relations - 1},
                            {SP_3MF_MODEL_PART, model, strlen(model)}};
    FILE *stream = fopen(in_folder("model.3mf"), "wb");
    assert_non_null(stream);
    assert_int_equal(sp_package_write(&context, part, 3, stream), SP_OK);
    assert_int_equal(fclose(stream), 0);
}

/* A cube of an inch is placed by a component and an item: doubled, mirrored, moved, and once more
 * unchanged. A mirror does not turn a body inside out. */
static void placed_cubes(const char *last_corner)
{
    text t;
    begin(&t);
    fprintf(t.stream, "<model unit=\"inch\" xmlns=\"" SP_3MF_CORE "\"><resources>"
                      "<object id=\"7\"><mesh><vertices>");
    for (int i = 0; i < 8; i++)
        fprintf(t.stream, "<vertex x=\"%d\" y=\"%d\" z=\"%d\"/>", i & 1, i >> 1 & 1, i >> 2);
    fprintf(t.stream, "</vertices><triangles>");
    for (int i = 0; i < 11; i++)
        fprintf(t.stream, "<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>", face[i][0], face[i][1],
                face[i][2]);
    fprintf(t.stream,
            "<triangle v1=\"3\" v2=\"7\" v3=\"%s\"/></triangles></mesh></object>"
            "<object id=\"9\"><components><component objectid=\"7\" "
            "transform=\"-2 0 0 0 2 0 0 0 2 9 0 0\"/></components></object></resources><build>"
            "<item objectid=\"9\"/><item objectid=\"7\"/></build></model>",
            last_corner);
    fclose(t.stream);
    put_package(t.bytes);
    free(t.bytes);
}

static void packages_place_their_cubes(void **state)
{
    (void)state;
    placed_cubes("5");
    const sp_mesh_figures f = read_well("model.3mf");
    check_true(f.has_unit && f.parts == 2 && f.triangles == 24 && !f.open_edges);
    check_relative(f.volume, 9 * 25.4 * 25.4 * 25.4, 1e-9);
    check_close(f.low[0], 0, 1e-9);
    check_close(f.high[0], 9 * 25.4, 1e-9);
}

/* ---- refusals ----------------------------------------------- */

static void check_refused(const char *file, const char *says)
{
    sp_mesh_figures f;
    const long blocks = sp_alloc_count();
    context.message[0] = 0;
    const sp_status status = sp_mesh_read(&context, in_folder(file), &f);
    if (status == SP_OK || !strstr(context.message, says))
        fail_msg("'%s' lacks '%s'", context.message, says);
    assert_null(strchr(context.message, '\n'));
    assert_int_equal(sp_alloc_count(), blocks);
}

static void what_is_no_mesh_is_refused(void **state)
{
    static const char *const bad[][2] = {
        {"", "received 0 bytes"},
        {"once", "received 4 bytes; valid: STL, text from 'solid' on"},
        {"solid\n", ":2: received 'the end of the file'; valid: endsolid before it"},
        {"solid\nendsolid\n", "received no triangle"},
        {"solid a\nfacet\nnormal 0 0 1 outer loup\n", ":3: received 'loup'; valid: loop"},
        {"solid a\nfacet normal 0 0 1 outer loop vertex 0 0 nan", ":2: received 'nan'; valid: a "
                                                                  "coordinate"},
        {"solid a\nfacet normal 0 0 1 outer loop vertex 0 0 1e300", "received '1e300'"},
        {"solid a\nfacet normal 0 0 1 outer loop vertex 0 0 0x1", "received '0x1'"},
        {"solid a\nfacet normal 0 0 1 outer loop vertex 0 0", "received 'the end of the file'"},
        {"solid a\n\nsolid b\n", ":3: received 'solid'; valid: facet or endsolid"},
        {"solid a\nfacet normal 0 0 1 outer loop vertex 1 1 1 vertex 1 1 1 vertex 1 1 1 endloop "
         "endfacet endsolid",
         "triangles without extent alone"},
        {"solid "
         "a\nxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx",
         "words of STL, which are short"},
    };
    const double spoil[] = {NAN, INFINITY, 2e6};
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        put("bad.stl", bad[i][0], strlen(bad[i][0]));
        check_refused("bad.stl", bad[i][1]);
    }
    check_refused("none.stl", "cannot be opened");
    check_refused(".", "is a folder");
    put_binary(13, NULL);
    check_refused("binary.stl", "received the end of the file in triangle 13; valid: 13 triangles");
    put_binary(11, NULL);
    check_refused("binary.stl", "received more bytes in triangle 12; valid: 11 triangles");
    for (int i = 0; i < 3; i++) {
        put_binary(12, &spoil[i]);
        check_refused("binary.stl", "received a corner that is no number or farther out in "
                                    "triangle 6");
    }
    placed_cubes("8");
    check_refused("model.3mf", "received '8'; valid: a vertex of this mesh");
    put_package("<model xmlns=\"" SP_3MF_CORE "\"><resources/><build/></model>");
    check_refused("model.3mf", "received no triangle");
    put("model.3mf", "PK", 2);
    check_refused("model.3mf", "no archive");
}

static void every_failed_allocation_is_reported(void **state)
{
    (void)state;
    placed_cubes("5");
    const long blocks = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_mesh_figures f;
        sp_alloc_fail_at(nth);
        const sp_status status = sp_mesh_read(&context, in_folder("model.3mf"), &f);
        sp_alloc_fail_at(0);
        assert_int_equal(sp_alloc_count(), blocks);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
    }
}

/* ---- bodies ----------------------------------------------- */

/* Two rods of 24 sides, with the area of a circle of diameter d, cross at a right angle: they share
 * 2 d^3/3, as round ones do (Archimedes; Steinmetz); each has half balls at its ends. */
static void crossing_rods_share_a_steinmetz_body(void **state)
{
    (void)state;
    double position[] = {-9, 0, 0, 9, 0, 0, 0, 0, -9, 0, 0, 9}, thickness[] = {3, 3},
           height[] = {0, 0}, up[] = {0, 1, 0, 0, 1, 0}, volume, uncertain;
    int joint[] = {0, 1, 2, 3};
    const sp_network network = {.dimension = 3,
                                .built = SP_BUILT_SPATIAL,
                                .size = {18, 3, 18},
                                .joint_count = 4,
                                .joint_position = position,
                                .strut_count = 2,
                                .strut_joint = joint,
                                .strut_thickness = thickness,
                                .strut_height = height,
                                .strut_up = up};
    sp_surface rods = {0};
    assert_int_equal(sp_struts_add(&context, &network, 1, &rods), SP_OK);
    const double apart = sp_surface_volume(&rods);
    assert_int_equal(sp_surface_body_volume(&context, &rods, &volume, &uncertain), SP_OK);
    check_relative(apart - volume, 2.0 / 3 * 27, 0.03); /* flat faces */
    check_true(uncertain < 1e-3 * volume);
    sp_surface_free(&rods);
}

static void check_read_back(const sp_case *request, double within)
{
    sp_resolved resolved;
    sp_print_summary written;
    const sp_print_options options = {0};
    static const char *const file[] = {SP_PRINT_STL, SP_PRINT_3MF};
    sp_network network;
    if (sp_case_resolve(&context, request, &resolved) != SP_OK ||
        sp_resolved_network(&context, &resolved, 0, &network) != SP_OK ||
        sp_print_mesh(&context, &resolved, &options, folder, &written) != SP_OK)
        fail_msg("%s: %s", request->pattern, context.message);
    const double drawn =
        network.solid_fraction * network.size[0] * network.size[1] * network.size[2];
    for (int i = 0; i < 2; i++) {
        const sp_mesh_figures f = read_well(file[i]);
        check_true(!f.open_edges && f.triangles == written.triangles && f.has_unit == i);
        for (int k = 0; k < 3; k++) check_close(f.high[k] - f.low[k], written.size[k], 1e-4);
        if (!(fabs(f.volume / written.volume - 1) <= within))
            fail_msg("%s: %s holds %g mm3, %g were written", request->pattern, file[i], f.volume,
                     written.volume);
        if (network.built != SP_BUILT_SPATIAL) check_relative(f.volume, drawn, 0.005);
        /* Struts on the faces of a block stand out of it. */
        if (network.built == SP_BUILT_SPATIAL) {
            check_relative(written.within, drawn, 1e-9);
            check_true(f.volume > drawn);
        }
    }
    sp_network_free(&network);
    sp_resolved_free(&resolved);
}

/* Every pattern that goes through STL and 3MF is closed, of the same size, and as heavy as the
 * coupon. */
static void every_pattern_reads_back(void **state)
{
    (void)state;
    int planar, spatial;
    const sp_pattern_row *row = sp_pattern_rows(&planar);
    const sp_cell_row *cell = sp_cell_rows(&spatial);
    for (int i = 0; i < planar; i++) {
        sp_case request;
        sp_case_default(&request);
        if (!strcmp(row[i].name, "drawn") || (coupon_quick() && i % 5)) continue;
        snprintf(request.pattern, sizeof request.pattern, "%s", row[i].name);
        request.density = 0.2;
        request.wall_beads = i % 3;
        check_read_back(&request, 1e-5);
    }
    for (int i = 0; i < spatial; i++) {
        sp_case request;
        sp_case_default(&request);
        if (i % (coupon_quick() ? 6 : 2)) continue;
        snprintf(request.pattern, sizeof request.pattern, "%s", cell[i].name);
        request.height = request.width = request.depth = 20;
        request.cells_x = request.cells_y = request.cells_z = 2;
        request.density = 0.1;
        check_read_back(&request, 1e-3);
    }
}

static int make_folder(void **state)
{
    (void)state;
    snprintf(folder, sizeof folder, "/tmp/strutpress_mesh_XXXXXX");
    return mkdtemp(folder) ? 0 : -1;
}

static int remove_folder(void **state)
{
    static const char *const file[] = {"cube.stl",   "binary.stl", "bad.stl",          "model.3mf",
                                       SP_PRINT_STL, SP_PRINT_3MF, ".strutpress-files"};
    (void)state;
    for (size_t i = 0; i < sizeof file / sizeof *file; i++) unlink(in_folder(file[i]));
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(cubes_have_the_volume_of_cubes),
        cmocka_unit_test(binary_reads_as_text_does),
        cmocka_unit_test(packages_place_their_cubes),
        cmocka_unit_test(what_is_no_mesh_is_refused),
        cmocka_unit_test(every_failed_allocation_is_reported),
        cmocka_unit_test(crossing_rods_share_a_steinmetz_body),
        cmocka_unit_test(every_pattern_reads_back),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
