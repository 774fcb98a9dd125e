/* These tests check the report page: its data against the press that it shows, the choice of
 * coupons, what a store cannot give, and failures. */
#include "check.h"

#include <jansson.h>
#include <sys/stat.h>
#include <unistd.h>

#include <strutpress/report.h>

#include "base/alloc.h"
#include "report/report_parts.h"
#include "spatial_block.h"
#include "write/colour.h"
#include "shape/isometric.h"
#include "writer/writer_list.h"
#include "whole_press.h"

static char folder[64], page_file[96], store_file[96];

static int make_folder(void **state)
{
    (void)state;
    strcpy(folder, "/tmp/strutpress_report_XXXXXX");
    if (!mkdtemp(folder)) return 1;
    snprintf(page_file, sizeof page_file, "%s/page.html", folder);
    snprintf(store_file, sizeof store_file, "%s/a.store", folder);
    return 0;
}

static int remove_folder(void **state)
{
    static const char *const ending[] = {"", "-wal", "-shm"};
    char name[128];
    (void)state;
    unlink(page_file);
    for (int i = 0; i < 3; i++) {
        snprintf(name, sizeof name, "%s%s", store_file, ending[i]);
        unlink(name);
    }
    return rmdir(folder); /* fails when something was left behind */
}

/* Make a coarse coupon that is pressed within milliseconds. */
static sp_case small_case(const char *pattern, const char *density, int seed)
{
    sp_context context = {0};
    sp_case request;
    sp_case_default(&request);
    const char *const set[][2] = {
        {"coupon.width", "12 mm"}, {"coupon.height", "10 mm"},  {"coupon.depth", "5 mm"},
        {"bead.walls", "1"},       {"press.strain", "20 %"},    {"press.steps", "8"},
        {"infill.angle", "0 deg"}, {"infill.pattern", pattern}, {"infill.density", density}};
    for (size_t i = 0; i < sizeof set / sizeof set[0]; i++)
        if (sp_case_set(&context, &request, set[i][0], set[i][1]) != SP_OK)
            fail_msg("%s", context.message);
    request.flaw_seed = seed;
    return request;
}

/* ---- pages read again ----------------------------------------------- */

static char *read_file(const char *name)
{
    FILE *stream = fopen(name, "r");
    if (!stream) fail_msg("%s is not there", name);
    fseek(stream, 0, SEEK_END);
    const long size = ftell(stream);
    char *text = calloc((size_t)size + 1, 1);
    assert_non_null(text);
    rewind(stream);
    assert_int_equal(fread(text, 1, (size_t)size, stream), size);
    fclose(stream);
    return text;
}

static char *read_page(void)
{
    return read_file(page_file);
}

static json_t *page_data(void)
{
    static const char begin[] = "<script type=\"application/json\" id=\"data\">";
    char *page = read_page(), *from = strstr(page, begin);
    json_error_t error;
    assert_non_null(from);
    from += strlen(begin);
    char *end = strstr(from, "</script>");
    assert_non_null(end);
    json_t *data = json_loadb(from, (size_t)(end - from), 0, &error);
    if (!data) fail_msg("%s", error.text);
    free(page);
    return data;
}

static json_t *at(json_t *value, const char *key)
{
    json_t *found = json_object_get(value, key);
    if (!found) fail_msg("no '%s'", key);
    return found;
}

static const char *text_at(json_t *value, const char *key)
{
    return json_string_value(at(value, key));
}

static size_t count_of(const char *text, const char *part)
{
    size_t count = 0;
    for (const char *found = text; (found = strstr(found, part)); found++) count++;
    return count;
}

/* Decode base64 (RFC 4648), the reverse of what the program does. */
static size_t decode(const char *text, unsigned char *byte, size_t room)
{
    static const char letter[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    size_t count = 0;
    unsigned bits = 0;
    int held = 0;
    for (; *text && *text != '='; text++) {
        bits = bits << 6 | (unsigned)(strchr(letter, *text) - letter);
        held += 6;
        if (held < 8) continue;
        held -= 8;
        assert_true(count < room);
        byte[count++] = (unsigned char)(bits >> held);
    }
    return count;
}

/* ---- case files ----------------------------------------------- */

/* Check that the number is as curve.csv prints it. */
static void check_printed(json_t *list, size_t i, double value)
{
    char text[32];
    snprintf(text, sizeof text, "%.9g", value);
    check_close(json_number_value(json_array_get(list, i)), strtod(text, NULL), 1e-15);
}

static void check_curve(json_t *curve, const sp_path *path)
{
    assert_int_equal(json_array_size(at(curve, "force_N")), path->step_count);
    for (int i = 0; i < path->step_count; i++) {
        check_printed(at(curve, "strain"), (size_t)i, sp_path_strain(path, i));
        check_printed(at(curve, "stress_MPa"), (size_t)i, sp_path_stress(path, i));
        check_printed(at(curve, "shortening_mm"), (size_t)i, path->step[i].shortening);
        check_printed(at(curve, "force_N"), (size_t)i, path->step[i].force);
        check_printed(at(curve, "work_mJ"), (size_t)i, path->step[i].work);
    }
}

static void check_states(json_t *state, const sp_path *path)
{
    const sp_shapes *shapes = &path->shapes;
    const size_t points = (size_t)shapes->point_count;
    unsigned char *byte = calloc(points, 4);
    json_t *states = at(state, "states"), *box = at(state, "box");
    const double unit = json_number_value(at(box, "unit_mm"));
    const double low[] = {json_number_value(at(box, "left_mm")),
                          json_number_value(at(box, "bottom_mm"))};
    assert_non_null(byte);
    assert_int_equal(json_array_size(states), shapes->frame_count);
    assert_true(unit < 1e-3);
    for (size_t f = 0; f < json_array_size(states); f++) {
        json_t *one = json_array_get(states, f);
        assert_int_equal(json_integer_value(at(one, "step")), shapes->frame_step[f]);
        assert_int_equal(decode(text_at(one, "position"), byte, 4 * points), 4 * points);
        for (size_t k = 0; k < 2 * points; k++)
            check_close(low[k % 2] + unit * (byte[2 * k] + 256 * byte[2 * k + 1]),
                        shapes->position[3 * (f * points + k / 2) + k % 2], 0.6 * unit);
        assert_int_equal(decode(text_at(one, "level"), byte, 4 * points), points);
        for (size_t p = 0; p < points; p++)
            assert_int_equal(byte[p], sp_colour_level(shapes->fibre_strain[f * points + p],
                                                      json_number_value(at(state, "colour_top"))));
    }
    free(byte);
}

static void test_case_page(void **state)
{
    sp_context context = {0};
    sp_result result;
    sp_report_summary summary;
    sp_case request[2] = {small_case("square", "16 %", 1), small_case("hexagonal", "40 %", 0)};
    const sp_report_options options = {
        .title = "a </script><!-- \"b\" & \xff\x01", .states = -1, .threads = 1, .seeds = 1};
    (void)state;
    strcpy(request[0].source, "some/where/soft.foot.yaml");
    if (sp_report_cases(&context, 2, request, &options, page_file, &summary) != SP_OK)
        fail_msg("%s", context.message);
    assert_int_equal(summary.rows, 2);
    assert_int_equal(summary.curves, 2);
    assert_int_equal(summary.shown, 2);
    json_t *data = page_data();
    assert_string_equal(text_at(data, "title"), "a </script><!-- \"b\" & \\xff\\x01");
    int seen = 0;
    for (size_t i = 0; i < 2; i++) {
        json_t *line = json_array_get(at(data, "rows"), i);
        const int k = strcmp(text_at(line, "label"), "soft.foot") != 0;
        seen |= 1 << k;
        assert_int_equal(press_whole(&context, &request[k], &result), SP_OK);
        check_curve(at(line, "curve"), &result.path);
        json_t *drawn = json_array_get(at(data, "states"), 0);
        if (strcmp(text_at(drawn, "label"), text_at(line, "label")))
            drawn = json_array_get(at(data, "states"), 1);
        check_states(drawn, &result.path);
        assert_string_equal(text_at(line, "stop"), "target strain reached");
        json_t *caution = json_array_get(at(line, "cautions"), 0); /* as `check` has it */
        if (!k) assert_non_null(strstr(json_string_value(caution), "cells across the width"));
        sp_result_clear(&result);
    }
    assert_int_equal(seen, 3);
    json_decref(data);
    /* The data do not end an element of the page. */
    char *page = read_page();
    assert_int_equal(strlen(page), summary.size);
    assert_int_equal(count_of(page, "</script>"),
                     count_of(sp_report_part("page.html", 9), "</script>"));
    assert_null(strstr(page, "@data@"));
    assert_null(strstr(page, "http-equiv=\"refresh\""));
    free(page);
}

/* The picture beside the page: one coupon of which the press ends before the strain, and one under
 * a force, each drawn in the kept state that its caption names. */
static void test_side_by_side(void **state)
{
    sp_context context = {0};
    sp_report_summary summary;
    sp_case request[2] = {small_case("square", "16 %", 1), small_case("hexagonal", "40 %", 0)};
    sp_report_options options = {.states = -1, .threads = 1, .beside_strain = 0.1};
    char picture[96], *text;
    (void)state;
    strcpy(request[0].source, "soft.yaml");
    strcpy(request[1].source, "firm.yaml");
    request[1].strain = 0.05;
    snprintf(picture, sizeof picture, "%s/page.svg", folder);
    assert_int_equal(sp_report_cases(&context, 2, request, &options, page_file, &summary), SP_OK);
    text = read_file(picture);
    assert_non_null(strstr(text, ">soft<"));
    assert_non_null(strstr(text, ">firm<"));
    assert_int_equal(count_of(text, "strain 10.0 %,  "), 1);
    assert_int_equal(count_of(text, "strain 5.0 %,  "), 1);
    assert_int_equal(count_of(text, "(its press ends here)"), 1);
    assert_non_null(strstr(text, "not proof of a protective part"));
    free(text);
    options.beside_strain = 0;
    options.beside_force = 1;
    assert_int_equal(sp_report_cases(&context, 2, request, &options, page_file, &summary), SP_OK);
    text = read_file(picture);
    assert_non_null(strstr(text, "under 1 N"));
    free(text);
    unlink(picture);
}

/* Medians, lowest and highest of figures and forces over the flaw seeds of a case file are those of
 * sp_run_seeds, and the state of one of its presses is drawn. */
static void test_seeds_of_a_case(void **state)
{
    sp_context context = {0};
    sp_result *several;
    sp_report_summary summary;
    sp_spread wanted;
    const char *unit;
    const sp_case request = small_case("square", "30 %", 3);
    const sp_report_options options = {
        .states = -1, .seeds = 3, .compare.measures = "initial_stiffness"};
    (void)state;
    assert_int_equal(sp_report_cases(&context, 1, &request, &options, page_file, &summary), SP_OK);
    assert_int_equal(summary.rows, 1);
    assert_int_equal(summary.shown, 1);
    assert_int_equal(sp_run_seeds(&context, &request, 3, &several), SP_OK);
    json_t *data = page_data(), *line = json_array_get(at(data, "rows"), 0);
    assert_int_equal(json_integer_value(at(line, "seeds")), 3);
    assert_int_equal(sp_result_spread(&context, several, "initial_stiffness", &wanted, &unit),
                     SP_OK);
    size_t column = 0;
    while (
        strcmp(text_at(json_array_get(at(data, "columns"), column), "name"), "initial_stiffness"))
        column++;
    json_t *told = json_array_get(at(line, "figures"), column);
    check_relative(json_number_value(at(told, "median")), wanted.median, 1e-8);
    check_relative(json_number_value(at(told, "low")), wanted.low, 1e-8);
    check_relative(json_number_value(at(told, "high")), wanted.high, 1e-8);
    check_true(wanted.high > wanted.low);
    int count;
    const sp_band *band = sp_result_band(several, &count);
    json_t *drawn = at(line, "band");
    const size_t points = json_array_size(at(drawn, "strain"));
    assert_int_equal(points, (count + 1) / 2); /* 71 of 141 strains */
    for (size_t i = 0; i < points; i++) {
        const double area = request.width * request.depth;
        const sp_band *one = &band[2 * i];
        check_close(json_number_value(json_array_get(at(drawn, "strain"), i)), one->strain, 1e-8);
        const char *const name[] = {"low_MPa", "median_MPa", "high_MPa"};
        const double force[] = {one->low, one->median, one->high};
        for (int k = 0; k < 3; k++)
            check_close(area * json_number_value(json_array_get(at(drawn, name[k]), i)), force[k],
                        1e-6 * band[count - 1].high);
    }
    json_decref(data);
    sp_result_free(several);
    const sp_report_options wrong = {.states = -1, .seeds = 100};
    assert_int_equal(sp_report_cases(&context, 1, &request, &wrong, page_file, &summary),
                     SP_BAD_USAGE);
    assert_non_null(strstr(context.message, "received 100 flaw seeds; valid: 1 .. 99"));
}

/* A curve of a rig that equals the pressed one is drawn unchanged, and its row shows no
 * difference. */
static void test_tested_curves(void **state)
{
    sp_context context = {0};
    sp_result result;
    sp_report_summary summary;
    const sp_case request = small_case("square", "30 %", 1);
    (void)state;
    assert_int_equal(press_whole(&context, &request, &result), SP_OK);
    const sp_curve curve = sp_curve_of_path(&result.path);
    const sp_report_options options = {.states = 0,
                                       .seeds = 1,
                                       .compare.tested = &curve,
                                       .compare.tested_count = 1,
                                       .compare.tested_name = "rig/foot.csv"};
    assert_int_equal(sp_report_cases(&context, 1, &request, &options, page_file, &summary), SP_OK);
    json_t *data = page_data(), *line = json_array_get(at(data, "rows"), 0);
    json_t *tested = json_array_get(at(data, "tested"), 0);
    const size_t column = json_array_size(at(data, "columns")) - 1;
    assert_string_equal(text_at(json_array_get(at(data, "columns"), column), "name"),
                        "tested_misfit");
    json_t *told = json_array_get(at(line, "figures"), column);
    assert_int_equal(json_integer_value(at(told, "count")), 1);
    check_close(json_number_value(at(told, "median")), 0, 1e-6);
    assert_non_null(strstr(text_at(told, "words"), "% strain"));
    assert_string_equal(text_at(tested, "label"), "tested: foot.csv");
    json_t *force = at(at(tested, "curve"), "force_N"), *strain = at(at(tested, "curve"), "strain");
    assert_int_equal(json_array_size(force), result.path.step_count);
    for (int i = 0; i < result.path.step_count; i++) {
        const size_t k = (size_t)i;
        check_close(json_number_value(json_array_get(force, k)), result.path.step[i].force, 1e-6);
        check_close(json_number_value(json_array_get(strain, k)), sp_path_strain(&result.path, i),
                    1e-8);
    }
    json_decref(data);
    sp_result_clear(&result);
}

static void test_broken_case(void **state)
{
    struct stat info;
    sp_context context = {0};
    sp_report_summary summary;
    sp_case request = small_case("square", "30 %", 1);
    const sp_report_options options = {.states = -1, .seeds = 1};
    (void)state;
    request.wall_beads = 19;
    assert_int_equal(sp_report_cases(&context, 1, &request, &options, page_file, &summary),
                     SP_BAD_CASE);
    assert_non_null(strstr(context.message, "bead.walls"));
    assert_int_equal(stat(page_file, &info), -1);
}

/* ---- stores ----------------------------------------------- */

static void put(sp_store *store, const sp_case *request, const char *forged_key)
{
    sp_context context = {0};
    sp_result result;
    sp_coupon_key known;
    const sp_status outcome = press_whole(&context, request, &result);
    assert_int_equal(sp_coupon_key_of_case(&context, request, &known), SP_OK);
    if (forged_key) strcpy(known.key, forged_key);
    assert_int_equal(sp_store_put(&context, store, &known, outcome, context.message, "",
                                  result.path.step_count ? &result : NULL),
                     SP_OK);
    sp_result_clear(&result);
}

/* Make a store of two patterns in two densities with two seeds each, a coupon that cannot be built,
 * and one of another version. */
static sp_store *make_store(void)
{
    static const char *const pattern[] = {"square", "triangular"};
    static const char *const density[] = {"30 %", "40 %"};
    sp_context context = {0};
    sp_store *store;
    if (sp_store_open(&context, store_file, SP_STORE_WRITE, &store) != SP_OK)
        fail_msg("%s", context.message);
    for (int i = 0; i < 8; i++) {
        sp_case request = small_case(pattern[i & 1], density[i >> 1 & 1], 1 + (i >> 2));
        request.find_critical = 0;
        put(store, &request, NULL);
    }
    sp_case broken = small_case("square", "30 %", 1), old = small_case("kagome", "35 %", 1);
    broken.wall_beads = 19;
    put(store, &broken, NULL);
    put(store, &old, "00000000000000000000000000000000");
    return store;
}

static json_t *store_page(sp_context *context, sp_store *store, const sp_report_options *options,
                          sp_report_summary *summary)
{
    if (sp_report_store(context, store, options, page_file, summary) != SP_OK)
        fail_msg("%s", context->message);
    return page_data();
}

static void test_store_page(void **state)
{
    sp_context context = {0};
    sp_report_summary summary;
    sp_store *store = make_store();
    json_t *line;
    size_t i;
    int failed = 0, old = 0;
    notes kept = {0};
    const sp_report_options options = {.states = -1, .threads = 2};
    (void)state;
    context.warn = sp_notes_take;
    context.user = &kept;
    json_t *data = store_page(&context, store, &options, &summary);
    assert_int_equal(summary.rows, 6);
    assert_int_equal(summary.curves, 5);
    assert_int_equal(summary.shown, 3); /* four chosen, of which one cannot be pressed again */
    assert_non_null(strstr(kept.text, "kagome"));
    json_array_foreach(at(data, "rows"), i, line)
    {
        json_t *first_figure = json_array_get(at(line, "figures"), 0);
        if (json_integer_value(at(line, "failed"))) {
            failed++;
            assert_true(json_is_null(at(line, "curve")));
            assert_true(json_is_null(at(first_figure, "median")));
            assert_non_null(strstr(text_at(line, "stop"), "bead.walls"));
        } else if (strstr(text_at(line, "label"), "kagome")) {
            old++;
            assert_true(json_array_size(at(line, "cautions")) > 0);
        } else {
            assert_int_equal(json_integer_value(at(line, "seeds")), 2);
            assert_int_equal(json_integer_value(at(first_figure, "count")), 2);
            assert_true(json_number_value(at(first_figure, "low")) <=
                        json_number_value(at(first_figure, "median")));
        }
        for (size_t k = 0; k < json_array_size(at(line, "cautions"));
             k++) /* the same curve again */
            assert_null(strstr(json_string_value(json_array_get(at(line, "cautions"), k)),
                               "differs from its stored curve"));
    }
    assert_int_equal(failed, 1);
    assert_int_equal(old, 1);
    /* The mode is searched for although the batch did not ask for it, and every pattern comes once
     * before any comes twice. */
    const char *first = text_at(json_array_get(at(data, "states"), 0), "label");
    const char *second = text_at(json_array_get(at(data, "states"), 1), "label");
    assert_true((strstr(first, "square") != NULL) != (strstr(second, "square") != NULL));
    assert_string_not_equal(text_at(json_array_get(at(data, "states"), 0), "critical"),
                            "not searched");
    json_decref(data);
    sp_store_close(store);
}

static void test_choice(void **state)
{
    static const char *const named[] = {"triangular, density 40 %"}, *const unknown[] = {"octagon"};
    sp_context context = {0};
    sp_report_summary summary;
    sp_store *store = make_store();
    sp_report_options options = {.states = 0, .threads = 1};
    (void)state;
    json_decref(store_page(&context, store, &options, &summary));
    assert_int_equal(summary.shown, 0);
    options = (sp_report_options){.states = -1, .show_count = 1, .show = named, .threads = 1};
    json_t *data = store_page(&context, store, &options, &summary);
    assert_int_equal(summary.shown, 1);
    assert_non_null(strstr(text_at(json_array_get(at(data, "states"), 0), "label"), named[0]));
    json_decref(data);
    options.show = unknown;
    assert_int_equal(sp_report_store(&context, store, &options, page_file, &summary), SP_BAD_USAGE);
    assert_non_null(strstr(context.message, "received 'octagon'"));
    options = (sp_report_options){.compare = {.measures = "stiffnes"}};
    assert_int_equal(sp_report_store(&context, store, &options, page_file, &summary), SP_BAD_USAGE);
    sp_store_close(store);
}

/* A curve that another build pressed: the page says that its states are of another press. */
static void test_other_curve(void **state)
{
    sp_context context = {0};
    sp_report_summary summary;
    sp_store *store;
    sp_result result;
    sp_coupon_key known;
    const sp_case request = small_case("square", "30 %", 1);
    const sp_report_options options = {.states = 1};
    (void)state;
    assert_int_equal(sp_store_open(&context, "", SP_STORE_MEMORY, &store), SP_OK);
    assert_int_equal(press_whole(&context, &request, &result), SP_OK);
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
    result.path.step[3].force *= 1.01;
    assert_int_equal(sp_store_put(&context, store, &known, SP_OK, "", "", &result), SP_OK);
    sp_result_clear(&result);
    json_t *data = store_page(&context, store, &options, &summary);
    char *page = read_page();
    assert_non_null(strstr(page, "differs from its stored curve ("));
    free(page);
    json_decref(data);
    sp_store_close(store);
}

/* A case that is read again from its resolved text is the same case. */
static void test_case_of_text(void **state)
{
    static const char *const set[][2] = {{"material.shore_a", "85"},
                                         {"press.load_limit", "none"},
                                         {"infill.density", "12.3456789 %"},
                                         {"material.law", "ogden"},
                                         {"material.ogden_modulus", "[1.5, -0.25]"},
                                         {"platens.hold", "sliding"},
                                         {"infill.pattern", "kagome"},
                                         {"press.find_critical", "no"}};
    sp_context context = {0};
    sp_case request, again;
    sp_coupon_key known;
    (void)state;
    sp_case_default(&request);
    for (size_t i = 0; i <= sizeof set / sizeof set[0]; i++) {
        assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
        assert_int_equal(sp_report_case_of(known.text, known.key, &again), 1);
        check_close(again.density, request.density, 0);
        assert_string_equal(again.pattern, request.pattern);
        if (i < sizeof set / sizeof set[0] &&
            sp_case_set(&context, &request, set[i][0], set[i][1]) != SP_OK)
            fail_msg("%s", context.message);
    }
    strcpy(request.table_file, "/proc/self/exe"); /* any file: a store does not hold it */
    assert_int_equal(sp_coupon_key_of_case(&context, &request, &known), SP_OK);
    assert_int_equal(sp_report_case_of(known.text, known.key, &again), 0);
}

/* ---- failures ----------------------------------------------- */

static void test_no_place(void **state)
{
    sp_context context = {0};
    sp_report_summary summary;
    const sp_case request = small_case("square", "30 %", 1);
    const sp_report_options options = {.states = 0, .seeds = 1};
    char name[480];
    (void)state;
    snprintf(name, sizeof name, "%s/page.html/below.html", folder);
    FILE *stream = fopen(page_file, "w");
    assert_non_null(stream);
    fputs("old", stream);
    fclose(stream);
    assert_int_equal(sp_report_cases(&context, 1, &request, &options, name, &summary), SP_NO_WRITE);
    snprintf(name, sizeof name, "%s/%0300d.html", folder, 0);
    assert_int_equal(sp_report_cases(&context, 1, &request, &options, name, &summary), SP_NO_WRITE);
    assert_non_null(strstr(context.message, "received a name of 305 bytes"));
    char *page = read_page();
    assert_string_equal(page, "old");
    free(page);
}

static sp_status report_once(const sp_case *request, long nth)
{
    sp_context context = {0};
    sp_report_summary summary;
    const sp_report_options options = {.states = -1, .threads = 1, .seeds = 1};
    const long before = sp_alloc_count();
    sp_alloc_fail_at(nth);
    const sp_status status = sp_report_cases(&context, 1, request, &options, page_file, &summary);
    sp_alloc_fail_at(0);
    assert_int_equal(sp_alloc_count(), before);
    return status;
}

/* Every allocation after the press (that of the press is tested in test_memory) fails once. */
static void test_memory(void **state)
{
    struct stat info;
    sp_case request = small_case("square", "30 %", 1);
    long low = 0, high = 1;
    const long step = coupon_quick() ? 3 : 1;
    (void)state;
    request.steps = 2;
    while (report_once(&request, high) != SP_OK) low = high, high *= 2;
    while (high - low > 1) {
        const long middle = low + (high - low) / 2;
        if (report_once(&request, middle) == SP_OK)
            high = middle;
        else
            low = middle;
    }
    assert_int_equal(report_once(&request, 0), SP_OK);
    unlink(page_file);
    for (long nth = low > 400 ? low - 400 : 1; nth <= low; nth += step) {
        const sp_status status = report_once(&request, nth);
        if (status != SP_NO_MEMORY) fail_msg("allocation %ld: status %d", nth, status);
        assert_int_equal(stat(page_file, &info), -1);
    }
}

/* ---- spatial coupons ----------------------------------------------- */

/* Check that points are given as they are seen, with their depth towards the reader. */
static void check_seen(const char *text, const double *position, int points, json_t *box)
{
    const double unit = json_number_value(at(box, "unit_mm"));
    const double low[] = {json_number_value(at(box, "left_mm")),
                          json_number_value(at(box, "bottom_mm")),
                          json_number_value(at(box, "far_mm"))};
    unsigned char *byte = calloc((size_t)points, 6);
    assert_non_null(byte);
    assert_int_equal(decode(text, byte, 6 * (size_t)points), 6 * points);
    for (int p = 0; p < points; p++) {
        double seen[3];
        sp_see(position + 3 * p, seen);
        for (int k = 0; k < 3; k++) {
            const unsigned char *two = byte + 2 * (3 * p + k);
            check_close(low[k] + unit * (two[0] + 256 * two[1]), seen[k], 0.6 * unit);
        }
    }
    free(byte);
}

static void test_spatial_states(void **state)
{
    (void)state;
    for (int kind = 0; kind < BLOCK_KINDS; kind++) {
        sp_context context = {0};
        group only = {.label = "block"};
        sp_compare compare = {.group_count = 1, .group = &only};
        report page = {.context = &context, .compare = &compare};
        shown one = {.key = "", .group = 0};
        int failed = 0;
        block_make(&one.result, kind, 2, 10.0, 1.0, 1, 5);
        const sp_shapes *shapes = &one.result.path.shapes;
        json_t *data = sp_report_state_data(&page, &one, &failed), *mode = at(data, "mode");
        assert_int_equal(failed, 0);
        assert_int_equal(json_array_size(at(data, "states")), shapes->frame_count);
        for (int f = 0; f < shapes->frame_count; f++)
            check_seen(text_at(json_array_get(at(data, "states"), (size_t)f), "position"),
                       sp_frame_position(shapes, f), shapes->point_count, at(data, "box"));
        assert_int_equal(json_array_size(at(data, "upper_face_mm")), 8);
        assert_int_equal(json_array_size(at(data, "lower_face_mm")), 8);
        check_close(json_number_value(at(data, "rise")), sp_seen_rise(), 1e-9);
        check_seen(text_at(mode, "base"), shapes->mode_position, shapes->point_count,
                   at(mode, "box"));
        json_decref(data);
        block_free(&one.result);
    }
}

/* A press with a protocol shows its loops, holds and rests: the bytes of time.svg. */
static void test_press_in_time(void **state)
{
    static const char *const set[][2] = {
        {"coupon.width", "12 mm"},
        {"coupon.height", "10 mm"},
        {"coupon.depth", "5 mm"},
        {"bead.walls", "1"},
        {"press.find_critical", "no"},
        {"press.steps", "8"},
        {"press.strain", "5 %"},
        {"material.relaxation.exponent", "0.06"},
        {"press.protocol", "press to 5 % at 10 mm/min, hold for 10 s, release at 10 mm/min"}};
    (void)state;
    for (int timed = 0; timed < 2; timed++) {
        sp_context context = {0};
        group only = {.label = "foot"};
        sp_compare compare = {.group_count = 1, .group = &only};
        report page = {.context = &context, .compare = &compare};
        shown one = {.key = "", .group = 0};
        sp_case request;
        int failed = 0;
        sp_case_default(&request);
        for (int i = 0; i < (timed ? 9 : 7); i++) {
            if (timed && i == 6) continue; /* a protocol says it */
            if (sp_case_set(&context, &request, set[i][0], set[i][1]) != SP_OK)
                fail_msg("%s", context.message);
        }
        if (sp_result_press(&context, &request, &one.result) != SP_OK)
            fail_msg("%s", context.message);
        json_t *data = sp_report_state_data(&page, &one, &failed), *picture = at(data, "time_svg");
        assert_int_equal(failed, 0);
        if (timed) {
            size_t size;
            char *text = NULL;
            FILE *stream = open_memstream(&text, &size);
            assert_int_equal(sp_writer_time_svg(&context, &one.result, stream), SP_OK);
            fclose(stream);
            json_t *want = sp_report_base64((const unsigned char *)text, size);
            check_true(strstr(text, "Force while held") && json_equal(picture, want));
            json_decref(want);
            free(text);
        } else {
            check_true(json_is_null(picture));
        }
        json_decref(data);
        sp_result_clear(&one.result);
    }
}

/* A store keeps the curve and the measures; shapes, planar or spatial, are not stored. */
static void test_spatial_store(void **state)
{
    (void)state;
    int count;
    const sp_measure_row *rows = sp_measure_rows(&count);
    sp_context context = {0};
    sp_result made;
    sp_store *store;
    sp_measure *got = sp_alloc((size_t)count, sizeof *got);
    assert_non_null(got);
    assert_int_equal(sp_store_open(&context, store_file, SP_STORE_WRITE, &store), SP_OK);
    block_make(&made, BLOCK_BODY_CENTRED, 1, 10.0, 1.0, 0, 5);
    made.measure_count = count;
    made.measure = sp_alloc((size_t)count, sizeof *made.measure);
    assert_non_null(made.measure);
    for (int i = 0; i < count; i++)
        made.measure[i] = sp_measure_take(&rows[i], &made.path, &made.network, &made.request);
    for (int planar = 0; planar < 2; planar++) {
        static sp_coupon_key known;
        sp_found found;
        sp_curve_point *point;
        int points;
        double *height = made.path.shapes.height;
        made.request.flaw_seed = 1 + planar;
        if (planar) made.path.shapes.height = NULL;
        assert_int_equal(sp_coupon_key_of_case(&context, &made.request, &known), SP_OK);
        assert_int_equal(sp_store_put(&context, store, &known, SP_OK, "", "", &made), SP_OK);
        made.path.shapes.height = height;
        assert_int_equal(sp_store_get(&context, store, &known, &found, got), SP_OK);
        assert_true(found.found);
        assert_int_equal(sp_store_curve(&context, store, found.id, &points, &point), SP_OK);
        assert_int_equal(points, made.path.step_count);
        for (int i = 0; i < count; i++) assert_int_equal(got[i].reached, made.measure[i].reached);
        sp_store_free_curve(point);
    }
    sp_store_close(store);
    sp_free(made.measure);
    block_free(&made);
    sp_free(got);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        TEST(test_case_page),      TEST(test_side_by_side),  TEST(test_seeds_of_a_case),
        TEST(test_tested_curves),  TEST(test_broken_case),   TEST(test_store_page),
        TEST(test_choice),         TEST(test_other_curve),   TEST(test_case_of_text),
        TEST(test_no_place),       TEST(test_memory),        TEST(test_press_in_time),
        TEST(test_spatial_states), TEST(test_spatial_store),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
