/* These tests check the figures of `check` against closed forms, and what happens when memory is
 * lacking. */
#include "check.h"
#include "coupon.h"

#include <strutpress/forecast.h>
#include <strutpress/inspect.h>
#include <strutpress/resolve.h>

#include "base/alloc.h"
#include "law/law.h"
#include "model/model.h"
#include "run/mesh.h"

static int cautions;
static void count_caution(void *user, const char *line)
{
    (void)user;
    check_true(line[0] != 0);
    cautions++;
}

static void build(sp_context *context, sp_case *request, sp_network *network)
{
    assert_int_equal(coupon_settle(context, request), SP_OK);
    assert_int_equal(sp_network_build(context, request, 0, network), SP_OK);
}

/* A square tiling of density p and bead t has the spacing l = 2 t/p; joint zone of a right-angled
 * crossing t/2 at each end, so the free length is l - t and the slenderness (l - t) sqrt 12/t. In
 * plane strain an incompressible wall has 4 E/3. */
static void test_square_tiling(void **state)
{
    (void)state;
    sp_context context = {.warn = count_caution};
    sp_case request;
    sp_network network;
    sp_inspection in;
    cautions = 0;
    sp_case_default(&request);
    request.width = request.height = 80; /* [mm] most struts are whole */
    build(&context, &request, &network);
    assert_int_equal(sp_inspect(&context, &request, &network, &in), SP_OK);
    const double t = request.bead_width, l = 2 * t / request.density;
    check_relative(in.cell_size, l, 1e-9);
    check_relative(in.cells_across, 80 / l, 1e-9);
    check_relative(in.free_length_median, l - 0.9 * t, 1e-6); /* 0.45 t at either end, E145 */
    check_relative(in.slenderness_median, (l - 0.9 * t) * sqrt(12) / t, 1e-6);
    check_relative(in.nominal_density, 0.2, 0.03); /* the cut cells at the wall */
    check_relative(in.mass, in.solid_fraction * 80 * 80 * 20 * 1.2e-3, 1e-12);
    check_relative(in.law_modulus, 4.0 / 3 * 30, 1e-6);
    assert_int_equal(in.infill_struts + in.wall_struts, network.strut_count);
    check_close(in.modulus_high, 0, 0);
    assert_int_equal(cautions, 0);
    sp_network_free(&network);
}

/* Hexagons of side l lie on a lattice of (sqrt 3, 0) l and (sqrt 3/2, 3/2) l (plane
 * geometry), turned with the pattern; a block of cells in space has no such vectors. */
static void test_lattice_vectors(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    sp_network network;
    sp_inspection in;
    sp_case_default(&request);
    strcpy(request.pattern, "hexagonal");
    for (int i = 0; i < 2; i++) {
        request.angle = i ? 90 : 0;
        build(&context, &request, &network);
        assert_int_equal(sp_inspect(&context, &request, &network, &in), SP_OK);
        const double l = network.cell_size,
                     want[2][2] = {{sqrt(3) * l, 0}, {sqrt(0.75) * l, 1.5 * l}};
        for (int k = 0; k < 2; k++) {
            check_close(in.lattice[k][i ? 1 : 0], want[k][0], 1e-12);
            check_close(in.lattice[k][i ? 0 : 1], i ? -want[k][1] : want[k][1], 1e-12);
        }
        sp_network_free(&network);
    }
    strcpy(request.pattern, "kelvin");
    request.cells_x = request.cells_y = request.cells_z = 2;
    build(&context, &request, &network);
    assert_int_equal(sp_inspect(&context, &request, &network, &in), SP_OK);
    check_true(isnan(in.lattice[0][0]) && isnan(in.lattice[1][1]));
    sp_network_free(&network);
}

/* A dense coupon, one of few cells, and a modulus outside its hardness band get one caution
 * each. */
static void test_doubts(void **state)
{
    (void)state;
    sp_context context = {.warn = count_caution};
    sp_case request;
    sp_network network;
    sp_inspection in;
    sp_case_default(&request);
    request.density = 0.9;
    build(&context, &request, &network);
    cautions = 0;
    assert_int_equal(sp_inspect(&context, &request, &network, &in), SP_OK);
    assert_int_equal(cautions, 1);
    check_true(in.short_struts > in.infill_struts / 2);
    sp_network_free(&network);

    sp_case_default(&request);
    request.width = 12;
    request.shore_a = 85;
    assert_int_equal(sp_case_set(&context, &request, "material.modulus", "100 MPa"), SP_OK);
    build(&context, &request, &network);
    cautions = 0;
    assert_int_equal(sp_inspect(&context, &request, &network, &in), SP_OK);
    assert_int_equal(cautions, 2);
    check_true(in.modulus_low > 0 && in.modulus_low < in.modulus_high && in.modulus_high < 100);
    sp_network_free(&network);
}

static void test_law_is_checked(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    sp_network network;
    sp_inspection in;
    sp_case_default(&request);
    assert_int_equal(sp_case_set(&context, &request, "material.law", "ogden"), SP_OK);
    build(&context, &request, &network);
    long before = sp_alloc_count();
    assert_int_equal(sp_inspect(&context, &request, &network, &in), SP_BAD_CASE);
    assert_int_equal(sp_alloc_count(), before);
    sp_network_free(&network);
}

static void test_out_of_memory(void **state)
{
    (void)state;
    sp_context context = {0};
    sp_case request;
    sp_network network;
    sp_inspection in;
    sp_case_default(&request);
    build(&context, &request, &network);
    long before = sp_alloc_count(), nth = 0;
    sp_status status;
    do {
        sp_alloc_fail_at(++nth);
        status = sp_inspect(&context, &request, &network, &in);
        sp_alloc_fail_at(0);
        assert_int_equal(sp_alloc_count(), before);
        check_true(status == SP_OK || status == SP_NO_MEMORY);
    } while (status != SP_OK && nth < 100);
    assert_int_equal(status, SP_OK);
    check_true(nth > 2);
    sp_network_free(&network);
}

/* ---- forecast ----------------------------------------------- */

static sp_forecast forecast_with(const char *const *set, int built)
{
    sp_context context = {0};
    sp_case request;
    sp_forecast forecast;
    sp_case_default(&request);
    for (int i = 0; set && set[i]; i += 2)
        assert_int_equal(sp_case_set(&context, &request, set[i], set[i + 1]), SP_OK);
    if (built) {
        sp_network network;
        build(&context, &request, &network);
        assert_int_equal(sp_forecast_network(&context, &request, &network, &forecast), SP_OK);
        sp_network_free(&network);
    } else {
        sp_resolved resolved;
        assert_int_equal(sp_case_resolve(&context, &request, &resolved), SP_OK);
        forecast = resolved.expected;
        sp_resolved_free(&resolved);
    }
    check_true(isfinite(forecast.seconds) && forecast.seconds > 0);
    check_true(isfinite(forecast.bytes) && forecast.bytes > 0);
    check_true(forecast.strain > 0 && forecast.strain <= request.strain);
    return forecast;
}

#define FORECAST(built, ...) forecast_with((const char *const[]){__VA_ARGS__, NULL}, built)

/* The counts of a forecast are those of the mesh that a press makes, in the plane and in space. */
static void test_forecast_counts(void **state)
{
    (void)state;
    static const char *const pattern[] = {"square", "voronoi", "kelvin", "voronoi-foam"};
    for (int i = 0; i < 4; i++) {
        sp_context context = {0};
        sp_case request;
        sp_network network;
        sp_forecast forecast;
        sp_law law;
        sp_model model;
        sp_case_default(&request);
        snprintf(request.pattern, sizeof request.pattern, "%s", pattern[i]);
        if (i > 1) request.cells_x = request.cells_y = request.cells_z = 2;
        build(&context, &request, &network);
        assert_int_equal(sp_forecast_network(&context, &request, &network, &forecast), SP_OK);
        const sp_model_options mesh = sp_mesh_of(&request);
        assert_int_equal(sp_law_prepare(&context, &request, &law), SP_OK);
        assert_int_equal(sp_model_build(&context, &network, &law, &mesh, &model), SP_OK);
        check_close(forecast.struts, network.strut_count, 0);
        check_close(forecast.elements, model.element_count, 0);
        check_close(forecast.unknowns, model.unknown_count, 0);
        assert_int_equal(forecast.dimension, network.dimension);
        sp_model_free(&model);
        sp_law_free(&law);
        sp_network_free(&network);
    }
}

/* More of anything that costs time costs more, whether the network is built or not. */
static void test_forecast_orders(void **state)
{
    (void)state;
    for (int built = 0; built < 2; built++) {
        const double plain = FORECAST(built, "flaws.seed", "1").seconds;
        check_true(FORECAST(built, "infill.density", "40 %").seconds > 2 * plain);
        check_true(FORECAST(built, "coupon.width", "80 mm").seconds > 2 * plain);
        check_true(FORECAST(built, "press.steps", "1000").seconds > plain);
        check_true(FORECAST(built, "press.strain", "20 %").seconds < plain);
        check_true(FORECAST(built, "press.unload", "yes").seconds > plain);
        check_true(FORECAST(built, "press.find_critical", "no").seconds < plain);
        check_true(FORECAST(built, "material.friction", "0.3").seconds > plain);
        check_true(FORECAST(built, "press.load_limit", "5 N").seconds < plain);
        check_true(FORECAST(built, "infill.density", "100 %").seconds < plain);
        check_true(FORECAST(built, "infill.density", "40 %").bytes >
                   FORECAST(built, "infill.density", "10 %").bytes);
    }
}

/* Cells given by their size are counted like cells given by their number, and not taken for a
 * planar coupon. */
static void test_forecast_cell_size(void **state)
{
    (void)state;
    const sp_forecast count =
        FORECAST(0, "coupon.width", "20 mm", "coupon.height", "20 mm", "coupon.depth", "20 mm",
                 "infill.pattern", "kelvin", "infill.cells", "[4, 4, 4]");
    const sp_forecast size =
        FORECAST(0, "coupon.width", "20 mm", "coupon.height", "20 mm", "coupon.depth", "20 mm",
                 "infill.pattern", "kelvin", "infill.cell_size", "5 mm");
    assert_int_equal(size.dimension, 3);
    check_relative(size.seconds, count.seconds, 1e-6);
    check_relative(size.bytes, count.bytes, 1e-6);
    check_relative(size.unknowns, count.unknowns, 1e-6);
}

/* Counts worked out from the case alone are near those of the network, for every pattern. */
static void test_forecast_without_network(void **state)
{
    (void)state;
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        const sp_listed row = sp_list_pattern_at(i);
        if (!row.dimension || !strcmp(row.name, "drawn")) continue;
        sp_forecast way[2];
        for (int built = 0; built < 2; built++)
            way[built] = row.dimension == 3 ? FORECAST(built, "infill.pattern", row.name,
                                                       "infill.cells", "[3, 3, 3]")
                                            : FORECAST(built, "infill.pattern", row.name);
        const double ratio = way[0].unknowns / way[1].unknowns;
        if (!(ratio > 1 / 2.5 && ratio < 2.5))
            print_error("%s: %g of the unknowns\n", row.name, ratio);
        check_true(ratio > 1 / 2.5 && ratio < 2.5);
    }
}

static void test_forecast_words(void **state)
{
    (void)state;
    char text[SP_MESSAGE_SIZE];
    const sp_forecast dense = FORECAST(1, "infill.density", "55 %", "coupon.width", "60 mm");
    check_true(strstr(dense.reason, "struts") != NULL);
    sp_forecast_text(&dense, text, sizeof text);
    check_true(strstr(text, "most of it: ") && strstr(text, dense.reason));
    static const struct {
        double seconds;
        const char *text;
    } time[] = {{0.01, "under 0.1 s"}, {0.52, "0.52 s"}, {12, "12 s"},
                {300, "5 min"},        {10800, "3 h"},   {864000, "10 days"}};
    for (int i = 0; i < 6; i++) {
        sp_forecast_time_text(time[i].seconds, text, sizeof text);
        assert_string_equal(text, time[i].text);
    }
}

static void test_lists(void **state)
{
    (void)state;
    check_true(sp_list_pattern_count() > 0 && sp_list_law_count() > 0);
    for (int i = 0; i < sp_list_pattern_count(); i++) {
        sp_listed row = sp_list_pattern_at(i);
        check_true(row.name[0] && row.doc[0]);
    }
    for (int i = 0; i < sp_list_law_count(); i++) {
        sp_listed row = sp_list_law_at(i);
        check_true(row.name[0] && row.doc[0] && row.needs[0]);
    }
}

/* A coarse press has two elements per strut, and gives the time and how it was found. One that is
 * stopped at once, or for a coupon of a kind that was never measured, leaves at least the forecast
 * made before. */
static void test_forecast_try(void **state)
{
    static const char *const set[][2] = {{"coupon.width", "8 mm"},
                                         {"coupon.height", "8 mm"},
                                         {"press.strain", "20 %"},
                                         {"press.steps", "100"}};
    sp_context context = {0};
    sp_case request;
    sp_resolved resolved;
    sp_network network;
    sp_forecast forecast;
    char text[SP_MESSAGE_SIZE];
    (void)state;
    sp_case_default(&request);
    for (size_t i = 0; i < sizeof set / sizeof *set; i++)
        assert_int_equal(sp_case_set(&context, &request, set[i][0], set[i][1]), SP_OK);
    assert_int_equal(sp_case_resolve(&context, &request, &resolved), SP_OK);
    assert_int_equal(sp_resolved_network(&context, &resolved, 1, &network), SP_OK);
    assert_int_equal(sp_forecast_network(&context, &resolved.request, &network, &forecast), SP_OK);
    const sp_forecast before = forecast;
    assert_int_equal(sp_forecast_try(&context, &resolved, &network, 1000, &forecast), SP_OK);
    check_close(forecast.tried_elements, 2 * network.strut_count, 0);
    check_true(forecast.tried > 0 && isfinite(forecast.seconds) && forecast.seconds > 0);
    check_close(forecast.bytes, before.bytes, 0);
    sp_forecast_text(&forecast, text, sizeof text);
    assert_non_null(strstr(text, "found by a coarse press of"));
    forecast = before;
    assert_int_equal(sp_forecast_try(&context, &resolved, &network, 0, &forecast), SP_OK);
    check_true(forecast.tried_elements == 0 && forecast.seconds >= before.seconds);
    forecast = before;
    forecast.panels = 1;
    assert_int_equal(sp_forecast_try(&context, &resolved, &network, 1000, &forecast), SP_OK);
    check_true(forecast.tried == 0 && forecast.seconds == before.seconds);
    volatile sig_atomic_t stop = 1;
    context.interrupt = &stop;
    forecast = before;
    assert_int_equal(sp_forecast_try(&context, &resolved, &network, 1000, &forecast),
                     SP_INTERRUPTED);
    sp_network_free(&network);
    sp_resolved_free(&resolved);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_square_tiling),
        cmocka_unit_test(test_lattice_vectors),
        cmocka_unit_test(test_doubts),
        cmocka_unit_test(test_law_is_checked),
        cmocka_unit_test(test_out_of_memory),
        cmocka_unit_test(test_lists),
        cmocka_unit_test(test_forecast_counts),
        cmocka_unit_test(test_forecast_orders),
        cmocka_unit_test(test_forecast_cell_size),
        cmocka_unit_test(test_forecast_without_network),
        cmocka_unit_test(test_forecast_words),
        cmocka_unit_test(test_forecast_try),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
