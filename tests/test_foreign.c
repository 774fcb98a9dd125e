/* These tests check files from anywhere. A file that is not a sound store is refused before it is
 * read or written to. A store is a file, whatever its name. A coupon is known by the content of its
 * files, whatever their size. */
#include "check.h"

#include <fcntl.h>
#include <math.h>
#include <sys/stat.h>
#include <unistd.h>

#include <strutpress/batch.h>
#include <strutpress/compare.h>
#include <strutpress/report.h>
#include <strutpress/store.h>

#include "base/alloc.h"
#include "base/rng.h"
#include "drawing/drawing.h"
#include "drawing/names_3mf.h"
#include "drawing/package.h"
#include "drawing/tag_length.h"
#include "graph/near.h"
#include "store_folder.h"

static const char sp_plan_text[] =
    "case:\n"
    "  coupon: {width: 10 mm, height: 8 mm, depth: 5 mm}\n"
    "  press: {strain: 4 %, steps: 2, find_critical: no}\n"
    "axes:\n"
    "  bead.walls: [1, 9]\n"; /* nine do not fit: a row with a reason */

static void press_into(const char *name)
{
    sp_context context = {0};
    sp_plan *plan = NULL;
    sp_store *store = NULL;
    sp_batch_report report = {0};
    if (sp_plan_parse(&context, "p.yaml", sp_plan_text, strlen(sp_plan_text), &plan) != SP_OK ||
        sp_store_open(&context, in_folder(name), SP_STORE_WRITE, &store) != SP_OK ||
        sp_batch_press(&context, plan, store, 1, &report) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(report.planned, 2);
    sp_store_close(store);
    sp_plan_free(plan);
}

/* Return the bytes of a file and of the log beside it. */
static char *bytes_of(const char *name, size_t *size)
{
    FILE *stream = fopen(in_folder(name), "rb");
    assert_non_null(stream);
    assert_int_equal(fseek(stream, 0, SEEK_END), 0);
    *size = (size_t)ftell(stream);
    rewind(stream);
    char *bytes = malloc(*size + 1);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, *size, stream), *size);
    fclose(stream);
    return bytes;
}

static void write_bytes(const char *name, const char *bytes, size_t size)
{
    FILE *stream = fopen(in_folder(name), "wb");
    assert_non_null(stream);
    assert_int_equal(fwrite(bytes, 1, size, stream), size);
    assert_int_equal(fclose(stream), 0);
}

static void expect_refused(const char *name, const char *words)
{
    size_t size, after_size;
    char *before = bytes_of(name, &size);
    const long blocks = sp_alloc_count();
    for (int mode = SP_STORE_READ; mode <= SP_STORE_WRITE; mode++) {
        sp_context context = {0};
        sp_store *store;
        const sp_status status =
            sp_store_open(&context, in_folder(name), (sp_store_mode)mode, &store);
        assert_null(store);
        if (status != SP_NO_READ || !strstr(context.message, words))
            fail_msg("status %d: '%s' lacks '%s'", (int)status, context.message, words);
    }
    char *after = bytes_of(name, &after_size);
    assert_int_equal(size, after_size);
    assert_memory_equal(before, after, size); /* nothing was written to it */
    assert_int_equal(sp_alloc_count(), blocks);
    free(before);
    free(after);
}

/* Make a table again without the conditions on its columns, and restore its old text in the
 * schema. */
#define LOOSEN(table, columns)                                                                     \
    "CREATE TEMP TABLE kept AS SELECT sql FROM sqlite_schema WHERE name = '" table "';"            \
    "DROP TABLE " table "; CREATE TABLE " table " (" columns ");"                                  \
    "PRAGMA writable_schema = ON;"                                                                 \
    "UPDATE sqlite_schema SET sql = (SELECT sql FROM temp.kept) WHERE name = '" table "';"

static const struct {
    const char *sql, *words;
} sabotage[] = {
    {"UPDATE coupon SET id = -5000000 WHERE outcome = 0", "coupon.id: received '-5000000'"},
    {"UPDATE coupon SET id = 9223372036854775807 WHERE outcome = 0", "coupon.id: received '9223"},
    {"UPDATE coupon SET id = 9000000000000 WHERE outcome = 0", "coupon.id: received '9000"},
    {"UPDATE coupon SET key = upper(key)", "coupon.key: received"},
    {"UPDATE coupon SET key = x'00112233445566778899aabbccddeeff'", "coupon.key: received"},
    {"UPDATE coupon SET family = substr(family, 2)", "coupon.family: received"},
    {"UPDATE coupon SET flaw_seed = -1", "coupon.flaw_seed: received '-1'"},
    {"UPDATE coupon SET flaw_seed = 1.5", "coupon.flaw_seed: received '1.5'"},
    {"UPDATE coupon SET program = '0.6.0' || char(27) || '[2J'", "coupon.program: received"},
    {"UPDATE coupon SET program = '0.6.0 of a very long name that has no end'", "coupon.program"},
    {"UPDATE coupon SET settings = settings || char(27)", "coupon.settings: received"},
    {"UPDATE coupon SET settings = settings || char(0)", "coupon.settings: received"},
    {"UPDATE coupon SET settings = replace(hex(zeroblob(10000)), '00', 'ab')", "coupon.settings"},
    {"UPDATE coupon SET outcome = 'well'", "coupon.outcome: received 'well'"},
    {"UPDATE coupon SET reason = 'a' || char(10) || 'b'", "coupon.reason: received"},
    {"UPDATE coupon SET seconds = 9e999", "coupon.seconds: received 'Inf'"},
    {"UPDATE measure_name SET name = name || char(27)", "measure_name.name: received"},
    {"UPDATE measure SET value = -9e999", "measure.value: received '-Inf'"},
    {"UPDATE measure SET value = 'heavy'", "measure.value: received 'heavy'"},
    {"UPDATE measure SET coupon = coupon + 7", "measure.coupon: received"},
    {"DELETE FROM measure_name WHERE name = 'mass'", "measure.name: received"},
    {"UPDATE curve SET coupon = coupon + 7", "curve.coupon: received"},
    {"UPDATE curve SET points = substr(points, 2)", "curve.points: received"},
    {"UPDATE curve SET points = 'a line'", "curve.points: received 'a line'"},
    /* This puts a NaN in the place of the first strain. */
    {"UPDATE curve SET points = CAST(x'000000000000f87f' || substr(points, 9) AS BLOB)",
     "curve.points: received"},
    {"PRAGMA user_version = -5", "store of format -5; valid: formats 1 .. "},
    {"PRAGMA user_version = 0", "store of format 0; valid: formats 1 .. "},
    {"CREATE TRIGGER t AFTER INSERT ON coupon BEGIN DELETE FROM coupon; END", "'trigger t'"},
    {"CREATE VIEW v AS SELECT 1", "'view v'"},
    {"CREATE TABLE more (a)", "'table more'"},
    {"ALTER TABLE curve ADD COLUMN twice AS (coupon * 2)", "'table curve'"},
    {"DROP INDEX coupon_family", "tables: received"},
    {"DROP TABLE curve", "tables: received"},
    {"DROP TABLE curve; CREATE VIEW curve AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i +"
     " 1 FROM n) SELECT i AS coupon, x'' AS points FROM n",
     "tables: received"},
    {LOOSEN("curve",
            "coupon INTEGER PRIMARY KEY, points BLOB") "INSERT INTO curve VALUES (1, NULL)",
     "pages: received 'NULL value in curve.points'"},
};

static void test_sabotage(void **state)
{
    size_t size;
    (void)state;
    press_into("sound.store");
    char *sound = bytes_of("sound.store", &size);
    for (size_t i = 0; i < sizeof sabotage / sizeof sabotage[0]; i++) {
        write_bytes("wrong.store", sound, size);
        change_store(in_folder("wrong.store"), "PRAGMA journal_mode = DELETE");
        change_store(in_folder("wrong.store"), sabotage[i].sql);
        expect_refused("wrong.store", sabotage[i].words);
    }
    free(sound);
}

/* Whatever page is overwritten, and with whatever bytes, a store that can be opened can be read to
 * its end by everything that reads stores. */
static void read_all(const char *name)
{
    sp_context context = {0};
    sp_store *store, *into;
    sp_compare *found = NULL;
    sp_gather_report gathered;
    sp_report_summary summary;
    const sp_compare_options how = {0};
    const sp_report_options page = {.states = 0};
    FILE *sink = fopen("/dev/null", "w");
    assert_non_null(sink);
    if (sp_store_open(&context, in_folder(name), SP_STORE_READ, &store) == SP_OK) {
        sp_store_dump(&context, store, sink);
        if (sp_compare_read(&context, store, &how, &found) == SP_OK)
            sp_compare_table(&context, found, sink);
        sp_compare_free(found);
        sp_report_store(&context, store, &page, in_folder("page.html"), &summary);
        assert_int_equal(sp_store_open(&context, "", SP_STORE_MEMORY, &into), SP_OK);
        sp_store_gather(&context, into, store, &gathered);
        sp_store_close(into);
        sp_store_close(store);
    }
    fclose(sink);
}

static void test_overwritten(void **state)
{
    static const unsigned char values[] = {0x00, 0x01, 0x0d, 0x7f, 0x80, 0xff};
    size_t size;
    (void)state;
    press_into("sound.store");
    change_store(in_folder("sound.store"), "PRAGMA journal_mode = DELETE");
    char *sound = bytes_of("sound.store", &size);
    unsigned random = 12345;
    for (int i = 0; i < 400; i++) {
        random = random * 1103515245u + 12345u;
        const size_t page = (random >> 8) % (size / 4096) * 4096, at = page + (random >> 20) % 128;
        const char kept = sound[at];
        sound[at] = (char)values[(unsigned)i % sizeof values];
        write_bytes("wrong.store", sound, size);
        read_all("wrong.store");
        sound[at] = kept;
    }
    free(sound);
}

/* ---- a store is a file ----------------------------------------------- */

static void test_names(void **state)
{
    static const char *const names[] = {":memory:", "file:x?mode=memory", "file::memory:", "a%20b",
                                        "c?immutable=1"};
    char back[512];
    (void)state;
    assert_non_null(getcwd(back, sizeof back));
    assert_int_equal(chdir(store_folder), 0);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        sp_context context = {0};
        sp_store *store;
        struct stat about;
        if (sp_store_open(&context, names[i], SP_STORE_WRITE, &store) != SP_OK)
            fail_msg("%s", context.message);
        sp_store_close(store);
        assert_int_equal(stat(names[i], &about), 0);
        assert_true(about.st_size > 0);
        assert_int_equal(sp_store_open(&context, names[i], SP_STORE_READ, &store), SP_OK);
        sp_store_close(store);
    }
    assert_int_equal(chdir(back), 0);
}

static void test_no_file(void **state)
{
    sp_context context = {0};
    sp_store *store;
    (void)state;
    assert_int_equal(mkfifo(in_folder("pipe"), 0600), 0);
    assert_int_equal(sp_store_open(&context, in_folder("pipe"), SP_STORE_READ, &store), SP_NO_READ);
    assert_non_null(strstr(context.message, "no regular file"));
    assert_int_equal(sp_store_open(&context, "/dev/zero", SP_STORE_READ, &store), SP_NO_READ);
    assert_int_equal(sp_store_open(&context, "", SP_STORE_WRITE, &store), SP_NO_WRITE);
}

/* ---- content of files ----------------------------------------------- */

/* A file that is larger than any buffer and differs in its last byte only gives another coupon. */
static void test_large_file(void **state)
{
    enum { SIZE = 136 << 20 };
    sp_context context = {0};
    sp_case request;
    sp_coupon_key one, two;
    (void)state;
    sp_case_default(&request);
    snprintf(request.table_file, sizeof request.table_file, "%s", in_folder("large.csv"));
    const int file = open(request.table_file, O_WRONLY | O_CREAT, 0600);
    assert_true(file >= 0);
    assert_int_equal(ftruncate(file, SIZE), 0);
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &one), SP_OK);
    assert_non_null(strstr(one.text, "large.csv 142606336 bytes "));
    assert_int_equal(pwrite(file, "1", 1, SIZE - 1), 1);
    close(file);
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &two), SP_OK);
    assert_string_not_equal(one.key, two.key);
    remove(request.table_file);
}

static void test_unreadable_file(void **state)
{
    static const char *const files[] = {"/nowhere/table.csv", "/tmp", "/dev/zero"};
    (void)state;
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        sp_context context = {0};
        sp_case request;
        sp_coupon_key known;
        sp_case_default(&request);
        strcpy(request.table_file, files[i]);
        assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_NO_READ);
        assert_non_null(strstr(context.message, files[i]));
        assert_non_null(strstr(context.message, "material.table"));
    }
}

/* ---- drawings ----------------------------------------------- */

/* These are lines of a VTK file, two points each. */
typedef struct lines {
    int count;
    double (*end)[2][3];
} lines;

static void write_lines(const char *name, const lines *all)
{
    FILE *stream = fopen(in_folder(name), "w");
    assert_non_null(stream);
    fprintf(stream, "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\nPOINTS %d double\n",
            2 * all->count);
    for (int i = 0; i < all->count; i++)
        for (int e = 0; e < 2; e++)
            fprintf(stream, "%.17g %.17g %.17g\n", all->end[i][e][0], all->end[i][e][1],
                    all->end[i][e][2]);
    fprintf(stream, "LINES %d %d\n", all->count, 3 * all->count);
    for (int i = 0; i < all->count; i++) fprintf(stream, "2 %d %d\n", 2 * i, 2 * i + 1);
    assert_int_equal(fclose(stream), 0);
}

static lines make_lines(int count)
{
    const lines made = {count, calloc((size_t)count, sizeof *made.end)};
    assert_non_null(made.end);
    return made;
}

static sp_status build_file(const char *name, sp_context *context, sp_network *network)
{
    sp_case request;
    sp_case_default(&request);
    strcpy(request.pattern, "drawn");
    request.width = 28, request.height = 24, request.depth = 20;
    snprintf(request.network_file, sizeof request.network_file, "%s", in_folder(name));
    return sp_network_build(context, &request, 1, network);
}

static void check_equal_networks(const sp_network *a, const sp_network *b)
{
    assert_int_equal(a->joint_count, b->joint_count);
    assert_int_equal(a->strut_count, b->strut_count);
    assert_memory_equal(a->joint_position, b->joint_position,
                        3 * (size_t)a->joint_count * sizeof *a->joint_position);
    assert_memory_equal(a->strut_joint, b->strut_joint,
                        2 * (size_t)a->strut_count * sizeof *a->strut_joint);
    assert_memory_equal(a->strut_bow, b->strut_bow, (size_t)a->strut_count * sizeof *a->strut_bow);
}

/* A line that is drawn very often, there and back, counts as drawn a few times; a look at every
 * pair would take 10^10 steps. */
static void test_equal_lines(void **state)
{
    (void)state;
    for (int spatial = 0; spatial < 2; spatial++) {
        sp_context context = {0};
        sp_network few, many;
        lines all = make_lines(100002);
        for (int i = 0; i < all.count; i++) {
            const double a[3] = {0, 0, 0}, b[3] = {27, 24, spatial ? 20 : 0};
            const double c[3] = {27, 0, 0}, d[3] = {0, 24, spatial ? 20 : 0};
            memcpy(all.end[i][i % 2], i < 10 ? a : c, sizeof a);
            memcpy(all.end[i][1 - i % 2], i < 10 ? b : d, sizeof a);
        }
        write_lines("many.vtk", &all);
        all.count = 18;
        write_lines("few.vtk", &all);
        if (build_file("many.vtk", &context, &many) != SP_OK ||
            build_file("few.vtk", &context, &few) != SP_OK)
            fail_msg("%s", context.message);
        check_equal_networks(&many, &few);
        sp_network_free(&many);
        sp_network_free(&few);
        free(all.end);
    }
}

/* A few equal lines stay: cells that are drawn one by one share edges, and their joints keep their
 * numbers. */
static void test_drop_equal(void **state)
{
    sp_context context = {0};
    sp_drawing drawing = {0};
    (void)state;
    for (int i = 0; i < 3; i++) {
        const double point[3] = {i, i % 2 ? -0.0 : 0.0, 0};
        assert_int_equal(sp_drawing_add_point(&context, &drawing, point), SP_OK);
    }
    for (int i = 0; i < 40; i++) { /* the same line with three diameters, and another line */
        const double diameter = i % 4 == 0 ? NAN : i % 4 == 1 ? 0.4 : 0.5;
        assert_int_equal(
            sp_drawing_add_line(&context, &drawing, i % 2, 1 - i % 2 + (i % 4 == 3), diameter),
            SP_OK);
    }
    const int before = drawing.line_count;
    assert_int_equal(sp_drawing_drop_equal(&context, &drawing, 10), SP_OK);
    assert_int_equal(drawing.line_count, before);
    assert_int_equal(sp_drawing_drop_equal(&context, &drawing, 3), SP_OK);
    assert_int_equal(drawing.line_count, 12);
    for (int i = 0; i < 12; i++) /* the first three of each kind, in their order */
        assert_int_equal(drawing.line_point[2 * i], i % 2);
    sp_drawing_free(&drawing);
}

static lines make_grid(int count)
{
    const lines all = make_lines(2 * count);
    for (int i = 0; i < count; i++) {
        const double x = 27.0 * i / count, y = 23.0 * i / count;
        all.end[2 * i][0][0] = all.end[2 * i][1][0] = x;
        all.end[2 * i][1][1] = 23.1;
        all.end[2 * i + 1][0][1] = all.end[2 * i + 1][1][1] = y;
        all.end[2 * i + 1][1][0] = 27.1;
    }
    return all;
}

/* Lines closer than a bead are drawn together, and their loose ends stay where they are drawn; nine
 * million crossings are more than any press could take. */
static void test_crossing_lines(void **state)
{
    sp_context context = {0};
    sp_network network;
    lines all = make_grid(600);
    (void)state;
    write_lines("grid.vtk", &all);
    free(all.end);
    if (build_file("grid.vtk", &context, &network) != SP_OK) fail_msg("%s", context.message);
    assert_true(network.strut_count > 0 && network.joint_count < 1000);
    sp_network_free(&network);
    all = make_grid(3000);
    write_lines("grid.vtk", &all);
    free(all.end);
    assert_int_equal(build_file("grid.vtk", &context, &network), SP_BAD_NETWORK);
    assert_non_null(strstr(context.message, "crossings of lines; valid: up to 4000000"));
}

/* A thousand lines through one point have half a million crossings there. */
static void test_star(void **state)
{
    sp_context context = {0};
    sp_network network;
    lines all = make_lines(1000);
    (void)state;
    for (int i = 0; i < all.count; i++)
        for (int e = 0; e < 2; e++) {
            const double angle = M_PI * i / all.count + e * M_PI;
            all.end[i][e][0] = 13 + 13 * cos(angle);
            all.end[i][e][1] = 11 + 11 * sin(angle);
        }
    write_lines("star.vtk", &all);
    free(all.end);
    assert_int_equal(build_file("star.vtk", &context, &network), SP_BAD_NETWORK);
    assert_non_null(strstr(context.message, "that may meet; valid: up to 2000000000"));
}

/* ---- close pairs ----------------------------------------------- */

enum { POINTS = 300 };
static unsigned char visits[POINTS][POINTS];

static void count_visit(void *user, int a, int b)
{
    (void)user;
    visits[a][b]++, visits[b][a]++;
}

/* Every close pair is found once, for scattered points, a heap, points on a line, in one place, and
 * in cells beside each other. */
static void test_near(void **state)
{
    sp_rng rng;
    sp_near_point point[POINTS];
    (void)state;
    sp_rng_seed(&rng, 7, 0);
    for (int kind = 0; kind < 60; kind++) {
        sp_context context = {0};
        double compared = 0;
        const double reach = pow(10, -4 * sp_rng_uniform(&rng));
        for (int n = 0; n < POINTS; n++)
            for (int k = 0; k < 3; k++) {
                const double u = sp_rng_uniform(&rng);
                const double span = kind % 5 == 0                           ? 1
                                    : kind % 5 == 1                         ? 3 * reach
                                    : kind % 5 == 2 && k                    ? 0
                                    : kind % 5 == 3                         ? 1e-12
                                    : kind % 5 == 4 && n % 2 && POINTS > 10 ? 1e4
                                                                            : 10 * reach;
                point[n].at[k] = span * u - 0.5;
                if (kind > 30) point[n].at[k] = reach * round(point[n].at[k] / reach);
                if (kind % 2 && k == 2) point[n].at[k] = 0;
                point[n].joint = n;
            }
        memset(visits, 0, sizeof visits);
        assert_int_equal(sp_near_each(&context, point, POINTS, reach, &compared, count_visit, NULL),
                         SP_OK);
        for (int a = 0; a < POINTS; a++)
            for (int b = 0; b < POINTS; b++) {
                double square = 0;
                for (int k = 0; k < 3; k++)
                    square += (point[a].at[k] - point[b].at[k]) * (point[a].at[k] - point[b].at[k]);
                assert_true(visits[a][b] <= 1 && (a != b || !visits[a][b]));
                if (a != b && sqrt(square) < reach) assert_int_equal(visits[a][b], 1);
            }
    }
}

/* ---- readers ----------------------------------------------- */

static void expect_refusal(const char *name, const char *text, const char *words)
{
    sp_context context = {0};
    sp_drawing drawing;
    const sp_status status = sp_drawing_parse(&context, name, text, strlen(text), &drawing);
    if (status != SP_BAD_NETWORK || !strstr(context.message, words))
        fail_msg("status %d: '%s' lacks '%s'", (int)status, context.message, words);
}

#define HEAD "# vtk DataFile Version 3.0\nt\nASCII\nDATASET POLYDATA\nPOINTS 2 double\n"

static void test_numbers_of_drawings(void **state)
{
    (void)state;
    expect_refusal("a.vtk", HEAD "0 0 0 1 1 0\nLINES 1 3\n9223372036854775807 0 1\n",
                   "received '9223372036854775807'; valid: a whole number, 2 .. 2");
    expect_refusal("a.vtk", HEAD "0 0 0 0x10 1 0\nLINES 1 3\n2 0 1\n", "received '0x10'");
    expect_refusal("a.vtk", HEAD "0 0 0 inf 1 0\nLINES 1 3\n2 0 1\n", "received 'inf'");
    expect_refusal("a.obj", "v 0 0 0\nv 0x1p3 0 0\nl 1 2\n", "received '0x1p3'");
}

static sp_status read_model(const char *model, size_t size, sp_context *context)
{
    static const char types[] = "<Types xmlns=\"" SP_OPC_TYPES "\"/>";
    static const char relations[] =
        "<Relationships xmlns=\"" SP_OPC_RELATIONS "\"><Relationship Target=\"/" SP_3MF_MODEL_PART
        "\" Id=\"a\" Type=\"" SP_3MF_MODEL_RELATION "\"/></Relationships>";
    const sp_part parts[] = {{"[Content_Types].xml", types, sizeof types - 1},
                             {"_rels/.rels", relations, sizeof relations - 1},
                             {SP_3MF_MODEL_PART, model, size}};
    sp_drawing drawing;
    char *bytes = NULL;
    size_t length;
    FILE *stream = open_memstream(&bytes, &length);
    assert_non_null(stream);
    assert_int_equal(sp_package_write(context, parts, 3, stream), SP_OK);
    fclose(stream);
    const sp_status status = sp_drawing_parse(context, "a.3mf", bytes, length, &drawing);
    sp_drawing_free(&drawing);
    free(bytes);
    return status;
}

/* The parser compares every attribute of a tag with every other. */
static void test_attributes_without_end(void **state)
{
    sp_context context = {0};
    char *model = NULL;
    size_t size;
    (void)state;
    FILE *stream = open_memstream(&model, &size);
    assert_non_null(stream);
    fprintf(stream, "<model xmlns=\"" SP_3MF_CORE "\"");
    for (int i = 0; i < 300000; i++) fprintf(stream, " a%d=\">\"", i);
    fprintf(stream, "/>");
    fclose(stream);
    assert_int_equal(read_model(model, size, &context), SP_BAD_NETWORK);
    assert_non_null(strstr(context.message, "a tag of over 16384 bytes"));
    free(model);
    static const char wide[] = "<\0?\0x\0m\0l\0?\0>\0";
    assert_int_equal(read_model(wide, sizeof wide - 1, &context), SP_BAD_NETWORK);
    assert_non_null(strstr(context.message, "valid: XML in UTF-8"));
}

/* A long text that is not a tag is read on. */
static void test_tag_length(void **state)
{
    static const struct {
        const char *before, *fill, *after;
        int fits;
    } rows[] = {
        {"<a>", "text ' \" ", "</a>", 1},       {"<!-- don't ", "comment > ' ", "--><a/>", 1},
        {"<?do ", "it ' > ", "?><a/>", 1},      {"<![CDATA[", "any ] > ' ", "]]><a/>", 1},
        {"<a b='", "> \" ", "'/>", 0},          {"<a ", "b='>' ", "/>", 0},
        {"<a b=\"", "' > ", "\"/>", 0},         {"</a", " ", ">", 0},
        {"<!-- x --><!ELEMENT ", "a ", ">", 0}, {"", "<a b='1'/>", "", 1},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        for (size_t piece = 1; piece < 8; piece += 3) { /* cut anywhere */
            sp_tag_length at = {0};
            int fits = sp_tag_length_read(&at, rows[i].before, strlen(rows[i].before));
            for (int k = 0; k < SP_TAG_MAX; k++)
                for (const char *c = rows[i].fill; *c; c += strnlen(c, piece))
                    fits &= sp_tag_length_read(&at, c, strnlen(c, piece));
            fits &= sp_tag_length_read(&at, rows[i].after, strlen(rows[i].after));
            if (fits != rows[i].fits) fail_msg("row %zu: %d", i, fits);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sabotage),
        cmocka_unit_test(test_overwritten),
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_no_file),
        cmocka_unit_test(test_large_file),
        cmocka_unit_test(test_unreadable_file),
        cmocka_unit_test(test_equal_lines),
        cmocka_unit_test(test_drop_equal),
        cmocka_unit_test(test_crossing_lines),
        cmocka_unit_test(test_star),
        cmocka_unit_test(test_near),
        cmocka_unit_test(test_numbers_of_drawings),
        cmocka_unit_test(test_attributes_without_end),
        cmocka_unit_test(test_tag_length),
    };
    return cmocka_run_group_tests(tests, make_store_folder, remove_store_folder);
}
