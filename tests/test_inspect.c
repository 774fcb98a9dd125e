/* The figures of `check` against closed forms, and what happens without memory. */
#include "check.h"

#include <strutpress/inspect.h>

#include "base/alloc.h"

static int cautions;
static void count_caution(void *user, const char *line)
{
    (void)user;
    check_true(line[0] != 0);
    cautions++;
}

static void build(sp_context *context, sp_case *request, sp_network *network)
{
    assert_int_equal(sp_case_validate_names(context, request), SP_OK);
    assert_int_equal(sp_network_build(context, request, 0, network), SP_OK);
}

/* Square tiling of density p and bead t: spacing l = 2 t/p; joint zone of a right-angled crossing t/2 at each end, so the
 * free length is l - t and the slenderness (l - t) sqrt 12/t. In plane strain an incompressible wall has 4 E/3. */
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
    check_relative(in.free_length_median, l - t, 1e-6);
    check_relative(in.slenderness_median, (l - t) * sqrt(12) / t, 1e-6);
    check_relative(in.nominal_density, 0.2, 0.03); /* the cut cells at the wall */
    check_relative(in.mass, in.solid_fraction * 80 * 80 * 20 * 1.2e-3, 1e-12);
    check_relative(in.law_modulus, 4.0 / 3 * 30, 1e-6);
    assert_int_equal(in.infill_struts + in.wall_struts, network.strut_count);
    check_close(in.modulus_high, 0, 0);
    assert_int_equal(cautions, 0);
    sp_network_free(&network);
}

/* Hexagons of side l lie on a lattice of (sqrt 3, 0) l and (sqrt 3/2, 3/2) l (Gruenbaum & Shephard 1987, from memory), turned with
 * the pattern; a block of cells in space has none to show. */
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

/* Dense, few cells, a modulus outside its hardness band: one caution each. */
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_square_tiling), cmocka_unit_test(test_lattice_vectors),
        cmocka_unit_test(test_doubts),        cmocka_unit_test(test_law_is_checked),
        cmocka_unit_test(test_out_of_memory), cmocka_unit_test(test_lists),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
