/* These tests check writers: their files are complete, can be read again, hold no NaN, and are
 * never half-written.
 *
 * The result that is written here is made up: two struts, three kept states and a curve with a
 * snap. */
#include "check.h"

#include <dirent.h>
#include <errno.h>
#include <jansson.h>
#include <locale.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <strutpress/strutpress.h>

#include "base/alloc.h"
#include "spatial_block.h"
#include "caution/caution.h"
#include "write/colour.h"
#include "write/text.h"
#include "writer/vtu_series.h"

enum { STRUTS = 2, POINTS = 6, FRAMES = 3, STEPS = 9, MEASURES_MAX = 96 };

typedef struct made {
    sp_result result;
    double joint[9];
    unsigned char face[3], role[STRUTS];
    int strut_joint[2 * STRUTS], first_point[STRUTS + 1], frame_step[FRAMES];
    double thickness[STRUTS], zone[2 * STRUTS], bow[STRUTS];
    double position[FRAMES * POINTS * 3], fibre_strain[FRAMES * POINTS];
    double mode[POINTS * 3], mode_position[POINTS * 3];
    sp_step step[STEPS];
    sp_event event[2];
    sp_measure measure[MEASURES_MAX];
} made;

static void make_network(made *m)
{
    static const double joint[9] = {0.0, 0.0, 0.0, 5.0, 5.0, 0.0, 0.0, 10.0, 0.0};
    memcpy(m->joint, joint, sizeof joint);
    for (int s = 0; s < STRUTS; s++) {
        m->strut_joint[2 * s] = s;
        m->strut_joint[2 * s + 1] = s + 1;
        m->thickness[s] = 0.4 + 0.4 * s;
        m->zone[2 * s] = m->zone[2 * s + 1] = 0.3;
        m->bow[s] = 0.1;
        m->role[s] = s ? SP_ROLE_WALL : SP_ROLE_INFILL;
    }
    m->result.network = (sp_network){.dimension = 2,
                                     .size = {10.0, 10.0, 20.0},
                                     .joint_count = 3,
                                     .joint_position = m->joint,
                                     .joint_face = m->face,
                                     .strut_count = STRUTS,
                                     .strut_joint = m->strut_joint,
                                     .strut_thickness = m->thickness,
                                     .strut_role = m->role,
                                     .strut_zone = m->zone,
                                     .strut_bow = m->bow,
                                     .cell_size = 5.0,
                                     .nominal_density = 0.2,
                                     .solid_fraction = 0.25};
}

static void make_shapes(made *m)
{
    for (int s = 0; s <= STRUTS; s++) m->first_point[s] = 3 * s;
    for (int f = 0; f < FRAMES; f++) {
        m->frame_step[f] = 4 * f;
        for (int p = 0; p < POINTS; p++) {
            double share = 0.5 * (p % 3), *point = m->position + 3 * (f * POINTS + p);
            const double *a = m->joint + 3 * (p / 3), *b = a + 3;
            point[0] = a[0] + share * (b[0] - a[0]) + 0.5 * f;
            point[1] = (a[1] + share * (b[1] - a[1])) * (1.0 - 0.25 * f);
            m->fibre_strain[f * POINTS + p] = 0.1 * f * p;
        }
    }
    memcpy(m->mode_position, m->position + 3 * POINTS, sizeof m->mode_position);
    for (int p = 0; p < POINTS; p++) m->mode[3 * p] = p == 2 ? 1.0 : 0.3;
    m->result.plain = m->result.network; /* it has no flaws */
    m->result.path.shapes = (sp_shapes){.strut_count = STRUTS,
                                        .point_count = POINTS,
                                        .first_point = m->first_point,
                                        .thickness = m->thickness,
                                        .role = m->role,
                                        .frame_count = FRAMES,
                                        .frame_capacity = FRAMES,
                                        .frame_step = m->frame_step,
                                        .position = m->position,
                                        .fibre_strain = m->fibre_strain,
                                        .mode = m->mode,
                                        .mode_position = m->mode_position};
}

static void make_path(made *m)
{
    static const double strain[STEPS] = {0.0, 0.1, 0.2, 0.2, 0.3, 0.4, 0.45, 0.48, 0.5};
    static const double force[STEPS] = {0.0, 10.0, 12.0, 9.0, 9.5, 11.0, 30.0, 90.0, 400.0};
    for (int i = 0; i < STEPS; i++)
        m->step[i] = (sp_step){.shortening = 10.0 * strain[i],
                               .force = force[i],
                               .stiffness = 10.0,
                               .stored = 1.0 + i,
                               .work = 1.0 + i,
                               .fibre_strain = 0.1 * i,
                               .contacts = i,
                               .iterations = 4,
                               .factorizations = 5};
    m->event[0] = (sp_event){SP_EVENT_SNAP, 3, -1, 1.5};
    m->event[1] = (sp_event){SP_EVENT_BUCKLED_STRUT, 1, 0, 0.9};
    sp_path *path = &m->result.path;
    *path = (sp_path){.size = {10.0, 10.0, 20.0},
                      .pressed = {10.0, 10.0, 20.0},
                      .step_count = STEPS,
                      .step = m->step,
                      .event_count = 2,
                      .event = m->event,
                      .stop = SP_STOP_STRAIN,
                      .strut_count = STRUTS,
                      .joint_count = 3,
                      .seconds_total = 0.25};
    path->critical = (sp_critical){.found = 1,
                                   .shortening = 0.8,
                                   .strain = 0.08,
                                   .force = 8.0,
                                   .strut_count = 1,
                                   .strut = {1},
                                   .share = {0.75}};
    path->buckled = (sp_buckled){.found = 1,
                                 .strut = 0,
                                 .step = 1,
                                 .strain = 0.1,
                                 .strut_force = 1.25,
                                 .slenderness = 30.0,
                                 .euler_ratio = 0.9};
}

static void take_measures(made *m)
{
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    assert_true(count <= MEASURES_MAX);
    m->result.measure_count = count;
    m->result.measure = m->measure;
    for (int i = 0; i < count; i++)
        m->measure[i] =
            sp_measure_take(&row[i], &m->result.path, &m->result.network, &m->result.request);
}

static void make(made *m)
{
    memset(m, 0, sizeof *m);
    sp_case_default(&m->result.request);
    snprintf(m->result.request.source, SP_FILE_SIZE, "made_up.yaml");
    m->result.request.width = 10.0; /* differs from its default */
    m->result.request.origin[0] = SP_ORIGIN_FILE;
    m->result.request.line[0] = 3;
    make_network(m);
    make_path(m);
    make_shapes(m);
    take_measures(m);
}

/* Put NaN or infinity in every place where a press could leave one. */
static void poison(made *m)
{
    double bad[] = {NAN, INFINITY, -INFINITY};
    for (int i = 1; i < STEPS; i++) {
        sp_step *step = &m->step[i];
        step->stiffness = step->residual = step->imbalance = bad[i % 3];
        step->stored = step->work = step->released = bad[(i + 1) % 3];
        if (i % 2) step->force = step->fibre_strain = bad[(i + 2) % 3];
    }
    m->step[4].shortening = NAN;
    for (int i = 0; i < FRAMES * POINTS; i++) m->fibre_strain[i] = bad[i % 3];
    for (int i = 4; i < FRAMES * POINTS * 3; i += 5) m->position[i] = bad[i % 3];
    for (int i = 0; i < POINTS * 3; i += 2) m->mode[i] = m->mode_position[i] = bad[i % 3];
    m->joint[4] = m->bow[0] = m->thickness[1] = m->event[0].value = NAN;
    m->result.network.nominal_density = m->result.network.solid_fraction = NAN;
    m->result.network.cell_size = INFINITY;
    m->result.path.critical.force = m->result.path.critical.strain = NAN;
    m->result.path.critical.share[0] = m->result.path.critical.shortening = NAN;
    m->result.path.buckled.strain = m->result.path.buckled.strut_force = INFINITY;
    m->result.path.buckled.euler_ratio = m->result.path.buckled.slenderness = NAN;
    m->result.path.seconds_total = NAN;
    for (int i = 0; i < m->result.measure_count; i++) m->measure[i] = (sp_measure){1, bad[i % 3]};
}

/* ---- reading again ----------------------------------------------- */

static char *whole_stream(FILE *stream)
{
    long size = ftell(stream);
    assert_true(size >= 0);
    char *text = test_malloc((size_t)size + 1);
    rewind(stream);
    assert_int_equal(fread(text, 1, (size_t)size, stream), size);
    text[size] = '\0';
    return text;
}

/* Return what a row writes; the caller frees it with test_free. */
static char *written(const sp_writer_row *row, const sp_result *result)
{
    sp_context context = {0};
    FILE *stream = tmpfile();
    assert_non_null(stream);
    sp_status status = row->write(&context, result, stream);
    if (status != SP_OK) fail_msg("%s: %s", row->name, context.message);
    char *text = whole_stream(stream);
    fclose(stream);
    return text;
}

static const sp_writer_row *row_named(const char *name)
{
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    for (int i = 0; i < count; i++)
        if (strcmp(row[i].name, name) == 0) return &row[i];
    fail_msg("no writer %s", name);
    return NULL;
}

static int is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/* Check that there is no word "nan" or "inf"; "infill" and "infinity" of a doc are other words. */
static void check_numbers(const char *name, const char *text)
{
    for (const char *c = text; *c; c++)
        if ((strncmp(c, "nan", 3) == 0 || strncmp(c, "inf", 3) == 0) && !is_letter(c[3]) &&
            (c == text || !is_letter(c[-1])))
            fail_msg("%s holds %.20s", name, c);
}

/* Return the length of the entity at `text` ("&amp;" and its kin), 0 when it is none. */
static size_t entity(const char *text)
{
    static const char *known[] = {"&amp;", "&lt;", "&gt;", "&quot;"};
    for (int i = 0; i < 4; i++)
        if (strncmp(text, known[i], strlen(known[i])) == 0) return strlen(known[i]);
    return 0;
}

/* Read one tag from '<' to '>': attributes are quoted and free of '<' and bare '&'. Returns its
 * end. */
static const char *tag_end(const char *text)
{
    int quoted = 0;
    for (const char *c = text + 1; *c; c++) {
        if (*c == '"') quoted = !quoted;
        if (*c == '&' && !entity(c)) fail_msg("bare & in %.40s", text);
        if (*c == '<') fail_msg("< inside a tag: %.40s", text);
        if (*c == '>' && !quoted) return c;
    }
    fail_msg("tag without end: %.40s", text);
    return text;
}

/* Check for well-formed XML of the kind written here: no comments, no CDATA. Returns the number of
 * elements. */
static int check_xml(const char *text)
{
    const char *open[64];
    int depth = 0, elements = 0;
    for (const char *c = text; *c; c++) {
        if (*c == '&' && !entity(c)) fail_msg("bare & at %.40s", c);
        if (*c != '<') continue;
        const char *end = tag_end(c);
        if (c[1] == '/') {
            assert_true(depth > 0);
            size_t length = (size_t)(end - c) - 2;
            depth--;
            if (strncmp(open[depth], c + 2, length) != 0 || is_letter(open[depth][length]))
                fail_msg("%.20s is closed by %.20s", open[depth], c);
        } else if (c[1] != '?') {
            elements++;
            assert_true(depth < 64);
            if (end[-1] != '/') open[depth++] = c + 1;
        }
        c = end;
    }
    assert_int_equal(depth, 0);
    return elements;
}

static void check_readable(const char *file, const char *text)
{
    const char *dot = strrchr(file, '.');
    json_error_t error;
    assert_true(text[0]);
    check_numbers(file, text);
    if (strcmp(dot, ".json") == 0) {
        json_t *root = json_loads(text, 0, &error);
        if (!root) fail_msg("%s: %s", file, error.text);
        json_decref(root);
    } else if (strcmp(dot, ".svg") ==
               0) { /* test_drawing reads network.vtk and network.3mf again */
        assert_true(check_xml(text) > 3);
    }
}

static void check_every_row(const sp_result *result)
{
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    for (int i = 0; i < count; i++) {
        char *text = written(&row[i], result);
        check_readable(row[i].file, text);
        test_free(text);
        assert_true(row[i].name[0] && row[i].doc[0]);
    }
}

static char *table_text(const sp_result *result)
{
    sp_context context = {0};
    FILE *stream = tmpfile();
    assert_non_null(stream);
    assert_int_equal(sp_write_table(&context, result, stream), SP_OK);
    char *text = whole_stream(stream);
    fclose(stream);
    check_numbers("table", text);
    return text;
}

/* ---- what is written ----------------------------------------------- */

static void every_row_writes_readable_files(void **state)
{
    (void)state;
    static made m;
    make(&m);
    check_every_row(&m.result);
    m.result.perfect = m.result.path; /* the mode of a coupon without flaws */
    m.result.perfect.step_count = 2;
    check_every_row(&m.result);
}

static void nothing_but_numbers_gets_out(void **state)
{
    (void)state;
    static made m;
    make(&m);
    poison(&m);
    check_every_row(&m.result);
    test_free(table_text(&m.result));
    sp_context context = {0};
    FILE *stream = tmpfile();
    for (int f = 0; f < FRAMES; f++)
        assert_int_equal(sp_write_vtu(&context, &m.result.path, f, stream), SP_OK);
    char *text = whole_stream(stream);
    check_numbers("vtu", text);
    test_free(text);
    fclose(stream);
}

/* Poor results are written, too: a press that was interrupted at once, without states, shapes and
 * measures, and one without struts. */
static void poor_results_are_written(void **state)
{
    (void)state;
    static made m;
    make(&m);
    m.result.path.critical = (sp_critical){0};
    m.result.path.buckled = (sp_buckled){0};
    for (int i = 0; i < m.result.measure_count; i++) m.measure[i].reached = 0;
    m.result.path.stop = SP_STOP_INTERRUPTED;
    for (int kind = 0; kind < 4; kind++) {
        if (kind == 1) m.result.path.step_count = 1;
        if (kind == 2) m.result.path.step_count = m.result.path.event_count = 0;
        if (kind == 2) m.result.measure_count = m.result.path.shapes.frame_count = 0;
        if (kind == 3) {
            m.result.path.shapes = (sp_shapes){0};
            m.result.network = (sp_network){.size = {10.0, 10.0, 20.0}};
        }
        check_every_row(&m.result);
        char *text = table_text(&m.result);
        assert_non_null(strstr(text, "ended early (interrupted)"));
        test_free(text);
    }
}

static void huge_and_negative_curves_stay_in_the_picture(void **state)
{
    (void)state;
    static made m;
    make(&m);
    for (int i = 0; i < STEPS; i++) m.step[i].force = i % 2 ? -5.0 : 1e300;
    take_measures(&m);
    check_every_row(&m.result);
    for (int i = 0; i < STEPS; i++) m.step[i].force = m.step[i].shortening = 0.0;
    take_measures(&m);
    check_every_row(&m.result);
}

/* Names come from users and file systems: markup, controls and broken UTF-8 must not reach XML or
 * JSON. */
static void hostile_names_are_harmless(void **state)
{
    (void)state;
    static made m;
    char clean[64];
    make(&m);
    snprintf(m.result.request.source, SP_FILE_SIZE, "a<b>&\"'\n\x1b[31m\xff\xc3(\xed\xa0\x80.yaml");
    snprintf(m.result.request.pattern, SP_NAME_SIZE, "</svg>&\x01\xf5");
    check_every_row(&m.result);
    char *text = table_text(&m.result);
    assert_null(strchr(text, '\x1b'));
    assert_null(strchr(text, '\xff'));
    test_free(text);
    sp_printable("\xc3\xa4\xe2\x82\xac\xf0\x9f\x94\xa9|\xc0\xaf|\xc3", clean, sizeof clean);
    assert_string_equal(clean, "\xc3\xa4\xe2\x82\xac\xf0\x9f\x94\xa9|\\xc0\\xaf|\\xc3");
    assert_int_equal(sp_text_columns(clean), 17);
    sp_printable("\xc3\xa4\xc3\xa4", clean, 4); /* cut at a character, not inside it */
    assert_string_equal(clean, "\xc3\xa4");
}

static void csv_gives_the_steps_back(void **state)
{
    (void)state;
    static made m;
    make(&m);
    m.step[2].stiffness = NAN; /* an empty field */
    char *text = written(row_named("curve-csv"), &m.result), *rest = text, *line;
    int columns = 0, i = -1;
    while ((line = strsep(&rest, "\n")) && *line) {
        int fields = 1;
        for (char *c = line; *c; c++) fields += *c == ',';
        if (i < 0) columns = fields;
        assert_int_equal(fields, columns);
        if (i >= 0) {
            int step;
            double u, force, strain, stress, energy;
            assert_int_equal(sscanf(line, "%d,%lf,%lf,%lf,%lf,%lf", &step, &u, &force, &strain,
                                    &stress, &energy),
                             6);
            assert_int_equal(step, i);
            check_close(u, m.step[i].shortening, 1e-8);
            check_close(force, m.step[i].force, 1e-6);
            check_close(strain, m.step[i].shortening / 10.0, 1e-8);
            check_close(stress, m.step[i].force / 200.0, 1e-8);
            check_close(energy, m.step[i].stored, 1e-8);
        }
        i++;
    }
    assert_int_equal(i, STEPS);
    test_free(text);
}

static void json_holds_what_was_asked_and_found(void **state)
{
    (void)state;
    static made m;
    int count;
    const sp_measure_row *row = sp_measure_rows(&count);
    make(&m);
    char *text = written(row_named("result-json"), &m.result);
    json_t *root = json_loads(text, 0, NULL), *measures = json_object_get(root, "measures");
    int applies = 0; /* figures of time are left out of a press without it */
    for (int i = 0; i < count; i++) applies += sp_measure_applies(row[i].name, &m.result.request);
    assert_int_equal(json_object_size(measures), applies);
    assert_int_equal(json_object_size(json_object_get(root, "settings")), sp_parameter_count());
    for (int i = 0; i < count; i++) {
        if (!sp_measure_applies(row[i].name, &m.result.request)) continue;
        json_t *one = json_object_get(measures, row[i].name),
               *value = json_object_get(one, "value");
        assert_string_equal(json_string_value(json_object_get(one, "unit")), row[i].unit);
        if (m.measure[i].reached)
            check_relative(json_number_value(value), m.measure[i].value, 1e-10);
        else {
            assert_true(json_is_null(value));
            char words[SP_MODELLED_SIZE];
            sp_measure_reason(row[i].name, &m.result.request, sp_measure_load_end(&m.result.path),
                              words);
            assert_string_equal(json_string_value(json_object_get(one, "reason")), words);
        }
    }
    json_t *critical = json_object_get(root, "critical_step");
    check_close(json_number_value(json_object_get(critical, "strain")), 0.08, 1e-12);
    assert_string_equal(json_string_value(json_object_get(critical, "definition")),
                        SP_CRITICAL_DEFINITION);
    assert_string_equal(json_string_value(json_array_get(json_object_get(root, "cautions"), 0)),
                        SP_CAUTION_SAFETY);
    assert_int_equal(json_array_size(json_object_get(root, "events")), 2);
    assert_string_equal(json_string_value(json_object_get(root, "stop")), "target strain reached");
    check_close(json_number_value(json_object_get(json_object_get(root, "run"), "seconds_total")),
                0.25, 1e-12);
    json_decref(root);
    test_free(text);
}

static void table_says_it_in_words(void **state)
{
    (void)state;
    static made m;
    static const char *expected[] = {"strutpress ",
                                     "made_up.yaml",
                                     "coupon.width",
                                     "2 struts, 3 joints",
                                     "not reached",
                                     "critical step: where the tangent",
                                     "at 8 % strain, 8 N (bifurcation",
                                     "first buckled strut: in the coupon with flaws",
                                     "strut 0 (infill) at 10 % strain",
                                     "MPa",
                                     "target strain reached after 8 steps, at 50 % strain",
                                     "caution: Predictions for choosing coupons to print"};
    make(&m);
    char *text = table_text(&m.result);
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
        if (!strstr(text, expected[i])) fail_msg("no \"%s\" in the table:\n%s", expected[i], text);
    assert_null(strstr(text, "coupon.height")); /* a default */
    for (char *rest = text, *line; (line = strsep(&rest, "\n"));)
        assert_true(sp_text_columns(line) <= 96);
    test_free(text);
    m.result.path.critical = (sp_critical){.strain = 0.5};
    m.result.path.buckled.found = 0;
    text = table_text(&m.result);
    assert_non_null(strstr(text, "no instability up to 50 % strain"));
    assert_non_null(strstr(text, "struts fold in bending"));
    test_free(text);
    text = written(row_named("mode-svg"), &m.result);
    assert_non_null(strstr(text, "no instability up to 50 % strain"));
    test_free(text);
}

static void vtu_counts_agree(void **state)
{
    (void)state;
    static made m;
    make(&m);
    sp_context context = {0};
    FILE *stream = tmpfile();
    assert_int_equal(sp_write_vtu(&context, &m.result.path, 1, stream), SP_OK);
    char *text = whole_stream(stream);
    fclose(stream);
    assert_true(check_xml(text) > 8);
    assert_non_null(strstr(text, "NumberOfPoints=\"6\" NumberOfCells=\"4\""));
    assert_non_null(
        strstr(text, "0 1\n1 2\n3 4\n4 5\n<")); /* pieces of two struts of three points */
    assert_non_null(strstr(text, "2\n4\n6\n8\n<"));
    assert_non_null(strstr(text, "3\n3\n3\n3\n<"));         /* VTK cell type line */
    assert_non_null(strstr(text, "0.4\n0.4\n0.8\n0.8\n<")); /* thickness */
    assert_non_null(strstr(text, "0\n0.1\n0.3\n0.4\n<"));   /* fibre strain of the pieces */
    test_free(text);
}

/* ---- spatial coupons; what their pictures show is checked in test_pictures.c ------ */

static void spatial_results_are_written(void **state)
{
    (void)state;
    for (int kind = 0; kind < BLOCK_KINDS; kind++)
        for (int poor = 0; poor < 4; poor++) {
            sp_result block;
            block_make(&block, kind, 1, 10.0, 1.0, kind != BLOCK_SIMPLE, 4);
            block.network.strut_bow[0] = 0.5;
            if (poor > 0) block.path.critical.found = 0;
            if (poor > 1) block.path.shapes.frame_count = 0;
            if (poor > 2) block.network.strut_count = block.path.shapes.strut_count = 0;
            check_every_row(&block);
            block_free(&block);
        }
}

static void spatial_results_write_nothing_but_numbers(void **state)
{
    (void)state;
    const double bad[] = {NAN, INFINITY, -INFINITY, 1e300, -1e300};
    sp_result block;
    sp_context context = {0};
    block_make(&block, BLOCK_BODY_CENTRED, 1, 10.0, 1.0, 0, 4);
    sp_shapes *shapes = &block.path.shapes;
    const int numbers = 3 * shapes->point_count;
    for (int i = 0; i < 4 * numbers; i += 7) shapes->position[i] = bad[i % 5];
    for (int i = 0; i < 4 * shapes->point_count; i += 3) shapes->fibre_strain[i] = bad[i % 5];
    for (int i = 0; i < numbers; i += 4) shapes->mode[i] = shapes->mode_position[i] = bad[i % 5];
    shapes->thickness[0] = shapes->height[1] = block.network.strut_height[2] = NAN;
    block.network.strut_thickness[3] = block.network.strut_up[0] = block.network.strut_bow[1] = NAN;
    block.network.joint_position[4] = block.path.critical.shortening = INFINITY;
    check_every_row(&block);
    FILE *stream = tmpfile();
    for (int f = 0; f < 4; f++)
        assert_int_equal(sp_write_vtu(&context, &block.path, f, stream), SP_OK);
    char *text = whole_stream(stream);
    check_numbers("vtu", text);
    test_free(text);
    fclose(stream);
    block_free(&block);
}

/* Read the numbers in the array of that name. */
static int numbers_in(const char *text, const char *name, double *first)
{
    char start[64];
    snprintf(start, sizeof start, "Name=\"%s\"", name);
    const char *at = strstr(text, start);
    if (!at) return 0;
    int count = 0, taken;
    double value;
    for (at = strchr(at, '>') + 1; sscanf(at, "%lf%n", &value, &taken) == 1; at += taken)
        if (!count++) *first = value;
    return count;
}

/* The file has tubes: a radius at every point, and the section of every piece. */
static void vtu_of_a_spatial_path_holds_sections(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int per_point;
        double round, flat; /* diameter 1, bar of 1 x 2 mm */
    } array[] = {{"radius", 1, 0.5, 0.70710678},
                 {"thickness", 0, 1.0, 1.0},
                 {"thickness_mm", 0, 1.0, 1.0},
                 {"height", 0, 0.0, 2.0},
                 {"diameter", 0, 1.0, 1.41421356}};
    for (int flat = 0; flat < 2; flat++) {
        sp_result block;
        sp_context context = {0};
        block_make(&block, BLOCK_SIMPLE, 2, 10.0, 1.0, flat, 2);
        assert_int_equal(block.network.strut_role[0], SP_ROLE_WALL); /* the first is a flat bar */
        FILE *stream = tmpfile();
        assert_int_equal(sp_write_vtu(&context, &block.path, 1, stream), SP_OK);
        char *text = whole_stream(stream);
        fclose(stream);
        assert_true(check_xml(text) > 12);
        const int points = block.path.shapes.point_count, struts = block.path.shapes.strut_count;
        for (size_t i = 0; i < sizeof array / sizeof array[0]; i++) {
            double first = NAN;
            assert_int_equal(numbers_in(text, array[i].name, &first),
                             array[i].per_point ? points : points - struts);
            check_close(first, flat ? array[i].flat : array[i].round, 1e-5);
        }
        double first;
        assert_int_equal(numbers_in(text, "position_mm", &first), 3 * points);
        assert_int_equal(numbers_in(text, "connectivity", &first), 2 * (points - struts));
        test_free(text);
        block_free(&block);
    }
}

static void failed_allocations_of_spatial_pictures_leave_nothing(void **state)
{
    (void)state;
    static const char *picture[] = {"network-svg", "states-svg", "mode-svg", "film-svg"};
    sp_result block;
    block_make(&block, BLOCK_SIMPLE, 1, 10.0, 1.0, 0, 2);
    const long before = sp_alloc_count();
    for (int i = 0; i < 4; i++)
        for (long nth = 1;; nth++) {
            sp_context context = {0};
            FILE *stream = tmpfile();
            sp_alloc_fail_at(nth);
            const sp_status status = row_named(picture[i])->write(&context, &block, stream);
            sp_alloc_fail_at(0);
            fclose(stream);
            assert_int_equal(sp_alloc_count(), before);
            if (status == SP_OK && nth > 4) break;
            if (status == SP_OK) fail_msg("%s: %ld allocations only", picture[i], nth - 1);
            assert_int_equal(status, SP_NO_MEMORY);
            assert_true(context.message[0]);
        }
    block_free(&block);
}

/* Take the faces of the platens out of a picture, in their order. */
static char *faces_in(const char *text)
{
    char *faces = test_calloc(strlen(text) + 1, 1);
    size_t used = 0;
    for (const char *at = text; (at = strstr(at, "<polygon points=\"")); at++) {
        const char *end = strchr(at, '>') + 1;
        const size_t length = (size_t)(end - at);
        char one[512];
        if (length >= sizeof one) continue;
        memcpy(one, at, length);
        one[length] = 0;
        if (!strstr(one, "fill-opacity=")) continue;
        memcpy(faces + used, one, length);
        used += length;
    }
    return faces;
}

/* Join the lines of the paragraphs of a picture. */
static char *joined(const char *text)
{
    static const char between[] = "</text>\n<text";
    char *flat = test_calloc(strlen(text) + 1, 1);
    size_t used = 0;
    for (const char *from = text; *from; from++) {
        const int is_next = !strncmp(from, between, strlen(between));
        flat[used++] = is_next ? ' ' : *from;
        if (is_next) from = strchr(from + strlen(between), '>');
    }
    return flat;
}

/* The platens of a block that is pressed in the place of a coupon are as wide as those of a coupon
 * of the size of the block, and the caption says what is drawn. */
static void platens_are_as_wide_as_the_block(void **state)
{
    (void)state;
    static const char *picture[] = {"network-svg", "states-svg", "mode-svg", "film-svg"};
    static const char drawn[] = "Drawn is a block of the coupon, 20 x 20 mm of its 80 x 60 mm,";
    for (int i = 0; i < 4; i++) {
        sp_result block;
        char *faces[3];
        block_make(&block, BLOCK_SIMPLE, 2, 10.0, 1.0, 0, 2);
        for (int part = 0; part < 3; part++) { /* the coupon, free sides, mirror sides */
            if (part) {
                block.network.block = 2;
                block.network.mirror = part == 2;
                block.path.size[0] = block.network.whole[0] = 80;
                block.path.size[2] = block.network.whole[2] = 60;
            }
            char *text = written(row_named(picture[i]), &block);
            char *flat = joined(text);
            assert_true((strstr(flat, drawn) != NULL) == (part > 0));
            assert_true((strstr(flat, "the sides of the block are planes of symmetry.") != NULL) ==
                        (part == 2));
            test_free(flat);
            faces[part] = faces_in(text);
            test_free(text);
        }
        assert_true(strlen(faces[0]) > 100);
        for (int part = 1; part < 3; part++) assert_string_equal(faces[part], faces[0]);
        for (int part = 0; part < 3; part++) test_free(faces[part]);
        block_free(&block);
    }
}

/* The film holds every state on one strip, and stands still without animation (CSS Animations Level
 * 1, Media Queries Level 5: prefers-reduced-motion). */
static void film_holds_states_and_stands_still_on_request(void **state)
{
    (void)state;
    sp_result block;
    int states = 0;
    char still[96];
    block_make(&block, BLOCK_SIMPLE, 1, 10.0, 1.0, 0, 2);
    char *text = written(row_named("film-svg"), &block);
    for (const char *at = text; (at = strstr(at, ">strain ")); at++) states++;
    assert_int_equal(states, block.path.shapes.frame_count);
    assert_true(states > 1 && states <= 16);
    const char *still_rule = strstr(text, ".strip { transform: translateX(");
    const char *query =
        strstr(text, "@media (prefers-reduced-motion: no-preference) {\n.strip { animation");
    assert_true(still_rule && query && still_rule < query);
    snprintf(still, sizeof still, "<g class=\"strip\" transform=\"translate(%d 0)\">",
             -1120 * (states / 2));
    assert_non_null(strstr(text, still)); /* for readers of SVG 1.1 */
    test_free(text);
    block_free(&block);
}

/* A decimal comma must not get into a file. */
static void numbers_do_not_follow_the_locale(void **state)
{
    (void)state;
    static const char *comma[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "de_DE", "nl_NL.UTF-8"};
    static made m;
    int found = 0;
    char number[SP_NUMBER_SIZE];
    make(&m);
    for (int i = 0; i < 4 && !found; i++) found = setlocale(LC_ALL, comma[i]) != NULL;
    assert_string_equal(sp_number(number, 0.25, 6), "0.25");
    assert_string_equal(sp_number(number, -0.0, 6), "0");
    assert_string_equal(sp_number(number, NAN, 6), "");
    check_every_row(&m.result);
    char *text = table_text(&m.result);
    assert_non_null(strstr(text, "         0.6  g\n")); /* 0.25 x 2 cm3 x 1.2 g/cm3 */
    test_free(text);
    setlocale(LC_ALL, "C");
    if (!found) skip(); /* no such locale here: only the C locale was seen */
}

/* The map must rise in lightness (relative luminance of sRGB, IEC 61966-2-1), so that it also reads
 * in grey. */
static void colour_map_rises_in_lightness(void **state)
{
    (void)state;
    double before = -1.0;
    char text[8];
    for (int level = 0; level < SP_COLOUR_LEVELS; level++) {
        unsigned rgb[3];
        assert_int_equal(
            sscanf(sp_colour_text(level, text), "#%2x%2x%2x", &rgb[0], &rgb[1], &rgb[2]), 3);
        double linear[3];
        for (int k = 0; k < 3; k++) {
            double c = rgb[k] / 255.0;
            linear[k] = c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
        }
        double luminance = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2];
        assert_true(luminance > before);
        before = luminance;
    }
    assert_int_equal(sp_colour_level(-1.0, 1.0), 0);
    assert_int_equal(sp_colour_level(NAN, 1.0), 0);
    assert_int_equal(sp_colour_level(9.0, 1.0), SP_COLOUR_LEVELS - 1);
}

/* ---- folders and failures ----------------------------------------------- */

static char folder[128];

static int make_folder(void **state)
{
    (void)state;
    const char *base = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%.90s/strutpress_write_XXXXXX", base ? base : "/tmp");
    return mkdtemp(folder) ? 0 : -1;
}

/* Count the files in a folder, -1 when it does not exist; a name that begins with '.' counts as
 * `hidden`. */
static int files_in(const char *path, int *hidden)
{
    DIR *directory = opendir(path);
    if (!directory) return -1;
    int count = 0;
    *hidden = 0;
    for (struct dirent *entry; (entry = readdir(directory));) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0) continue;
        count++;
        *hidden += entry->d_name[0] == '.';
    }
    closedir(directory);
    return count;
}

static void empty_folder(const char *path)
{
    char name[512];
    DIR *directory = opendir(path);
    if (!directory) return;
    for (struct dirent *entry; (entry = readdir(directory));) {
        snprintf(name, sizeof name, "%.200s/%.250s", path, entry->d_name);
        if (entry->d_name[0] != '.' || !strcmp(entry->d_name, ".strutpress-files")) unlink(name);
    }
    closedir(directory);
    rmdir(path);
}

static int remove_folder(void **state)
{
    (void)state;
    empty_folder(folder);
    return 0;
}

static int all_files(void)
{
    int count, files = FRAMES + 2; /* press.pvd, the list of the files */
    const sp_writer_row *row = sp_writer_rows(&count);
    for (int i = 0; i < count; i++) files += !(row[i].takes & SP_WRITER_TIME);
    return files;
}

static void a_folder_gets_every_file(void **state)
{
    (void)state;
    static made m;
    char path[200], file[300];
    int hidden, count;
    sp_context context = {0};
    const sp_writer_row *row = sp_writer_rows(&count);
    make(&m);
    snprintf(path, sizeof path, "%s/new", folder);
    for (int twice = 0; twice < 2; twice++) { /* into a new folder, then over the same files */
        assert_int_equal(sp_write_all(&context, &m.result, path), SP_OK);
        assert_int_equal(files_in(path, &hidden), all_files());
        assert_int_equal(hidden, 1);
    }
    for (int i = 0; i < count; i++) {
        snprintf(file, sizeof file, "%s/%s", path, row[i].file);
        const int takes = row[i].takes & SP_WRITER_TIME;
        assert_int_equal(access(file, R_OK), takes ? -1 : 0);
    }
    snprintf(file, sizeof file, "%s/press.pvd", path);
    FILE *stream = fopen(file, "r");
    assert_non_null(stream);
    fseek(stream, 0, SEEK_END);
    char *text = whole_stream(stream);
    fclose(stream);
    assert_int_equal(check_xml(text), 2 + FRAMES);
    assert_non_null(strstr(text, "state_002.vtu"));
    test_free(text);
    empty_folder(path);
}

static void failed_allocations_leave_nothing(void **state)
{
    (void)state;
    static made m;
    char path[200];
    int hidden, failures = 0;
    make(&m);
    snprintf(path, sizeof path, "%s/memory", folder);
    long before = sp_alloc_count();
    for (long nth = 1;; nth++) {
        sp_context context = {0};
        sp_alloc_fail_at(nth);
        sp_status status = sp_write_all(&context, &m.result, path);
        sp_alloc_fail_at(0);
        assert_int_equal(sp_alloc_count(), before);
        if (status == SP_OK) break;
        assert_int_equal(status, SP_NO_MEMORY);
        assert_true(context.message[0]);
        assert_int_equal(files_in(path, &hidden), -1);
        failures++;
    }
    assert_true(failures >= 3);
    empty_folder(path);
}

static long json_fail_at, json_blocks;

static void *failing_malloc(size_t size)
{
    if (json_fail_at > 0 && --json_fail_at == 0) return NULL;
    json_blocks++;
    return malloc(size);
}

static void counting_free(void *block)
{
    json_blocks -= block != NULL;
    free(block);
}

static void failed_json_allocations_leave_nothing(void **state)
{
    (void)state;
    static made m;
    json_malloc_t old_malloc;
    json_free_t old_free;
    make(&m);
    const sp_writer_row *row = row_named("result-json");
    json_get_alloc_funcs(&old_malloc, &old_free);
    json_set_alloc_funcs(failing_malloc, counting_free);
    int done = 0;
    for (long nth = 1; !done; nth++) {
        sp_context context = {0};
        FILE *stream = tmpfile();
        json_fail_at = nth;
        sp_status status = row->write(&context, &m.result, stream);
        done = json_fail_at > 0 || status == SP_OK;
        json_fail_at = 0;
        assert_int_equal(json_blocks, 0);
        if (!done) assert_int_equal(status, SP_NO_MEMORY);
        fclose(stream);
    }
    json_set_alloc_funcs(old_malloc, old_free);
}

static void a_full_device_is_reported(void **state)
{
    (void)state;
    static made m;
    int count;
    const sp_writer_row *row = sp_writer_rows(&count);
    make(&m);
    for (int i = 0; i <= count; i++) {
        sp_context context = {0};
        FILE *stream = fopen("/dev/full", "w");
        if (!stream) skip();
        sp_status status = i < count ? row[i].write(&context, &m.result, stream)
                                     : sp_write_table(&context, &m.result, stream);
        assert_int_equal(status, SP_NO_WRITE);
        assert_non_null(strstr(context.message, strerror(ENOSPC)));
        fclose(stream);
    }
}

/* A limit on the size of files stands for a disk that fills up: files begun are removed, older ones
 * stay as they were. */
static void a_full_disk_leaves_the_folder_as_it_was(void **state)
{
    (void)state;
    static made m;
    char path[200], csv[300];
    int hidden;
    struct rlimit old, small;
    struct stat before, after;
    sp_context context = {0};
    make(&m);
    snprintf(path, sizeof path, "%s/disk", folder);
    snprintf(csv, sizeof csv, "%s/curve.csv", path);
    signal(SIGXFSZ, SIG_IGN);
    getrlimit(RLIMIT_FSIZE, &old);
    for (int existing = 0; existing < 2; existing++) {
        for (rlim_t bytes = 0; bytes < 4500; bytes += 1500) {
            if (existing) stat(csv, &before);
            small = (struct rlimit){bytes, old.rlim_max};
            setrlimit(RLIMIT_FSIZE, &small);
            sp_status status = sp_write_all(&context, &m.result, path);
            setrlimit(RLIMIT_FSIZE, &old);
            assert_int_equal(status, SP_NO_WRITE);
            assert_non_null(strstr(context.message, path));
            assert_non_null(strstr(context.message, strerror(EFBIG)));
            assert_int_equal(files_in(path, &hidden), existing ? all_files() : -1);
            if (!existing) continue;
            stat(csv, &after);
            assert_int_equal(before.st_ino, after.st_ino);
            assert_int_equal(before.st_size, after.st_size);
        }
        if (!existing) assert_int_equal(sp_write_all(&context, &m.result, path), SP_OK);
    }
    empty_folder(path);
}

static void a_folder_that_cannot_be_used_is_named(void **state)
{
    (void)state;
    static made m;
    char path[200];
    int hidden;
    sp_context context = {0};
    make(&m);
    assert_int_equal(sp_write_all(&context, &m.result, "/dev/null"), SP_NO_WRITE);
    assert_non_null(strstr(context.message, "/dev/null"));
    snprintf(path, sizeof path, "%s/no/such", folder);
    assert_int_equal(sp_write_all(&context, &m.result, path), SP_NO_WRITE);
    assert_non_null(strstr(context.message, strerror(ENOENT)));
    snprintf(path, sizeof path, "%s/locked", folder);
    assert_int_equal(mkdir(path, 0555), 0);
    assert_int_equal(chmod(folder, 0755), 0);
    int root = geteuid() == 0; /* permissions do not hold root back */
    if (root && seteuid(65534) != 0) skip();
    sp_status status = sp_write_all(&context, &m.result, path);
    if (root) assert_int_equal(seteuid(0), 0);
    assert_int_equal(status, SP_NO_WRITE);
    assert_non_null(strstr(context.message, path));
    assert_non_null(strstr(context.message, strerror(EACCES)));
    assert_int_equal(files_in(path, &hidden), 0);
    rmdir(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_writes_readable_files),
        cmocka_unit_test(nothing_but_numbers_gets_out),
        cmocka_unit_test(poor_results_are_written),
        cmocka_unit_test(huge_and_negative_curves_stay_in_the_picture),
        cmocka_unit_test(hostile_names_are_harmless),
        cmocka_unit_test(csv_gives_the_steps_back),
        cmocka_unit_test(json_holds_what_was_asked_and_found),
        cmocka_unit_test(table_says_it_in_words),
        cmocka_unit_test(vtu_counts_agree),
        cmocka_unit_test(spatial_results_are_written),
        cmocka_unit_test(spatial_results_write_nothing_but_numbers),
        cmocka_unit_test(vtu_of_a_spatial_path_holds_sections),
        cmocka_unit_test(failed_allocations_of_spatial_pictures_leave_nothing),
        cmocka_unit_test(platens_are_as_wide_as_the_block),
        cmocka_unit_test(film_holds_states_and_stands_still_on_request),
        cmocka_unit_test(numbers_do_not_follow_the_locale),
        cmocka_unit_test(colour_map_rises_in_lightness),
        cmocka_unit_test(a_folder_gets_every_file),
        cmocka_unit_test(failed_allocations_leave_nothing),
        cmocka_unit_test(failed_json_allocations_leave_nothing),
        cmocka_unit_test(a_full_device_is_reported),
        cmocka_unit_test(a_full_disk_leaves_the_folder_as_it_was),
        cmocka_unit_test(a_folder_that_cannot_be_used_is_named),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
